//! Settings of controls that are computed ahead, so that they work in a page without a server.
//!
//! Every control gets a few stops; the study is run for each combination of them, and what its cells show is kept once for all
//! combinations in which it is the same. How many stops there are follows from how many combinations may be computed and how
//! large the page may become.

use super::Moment;
use super::page::panel::{Standing, standing};
use super::page::{Ahead, CellView, CodeShown, Page, Use, glyphs_of};
use super::workbook::Workbook;
use crate::figure::Glyphs;
use crate::script::controls::{Control, ControlKind};
use serde_json::json;
use std::collections::HashMap;

/// Most stops of a control between two ends.
const MOST_STOPS: usize = 21;
/// Bytes that the kept texts may have: more is slow to open on a phone.
const MOST_BYTES: usize = 3_000_000;

/// A control and the settings that are computed.
struct Stops {
    control: Control,
    settings: Vec<f64>,
}

impl Stops {
    fn at(&self, index: usize) -> Standing {
        let mut control = self.control.clone();
        control.set(self.settings[index]);
        standing(&control)
    }
}

/// Runs a study for up to `most` settings of its controls, and leaves it at their starts. Nothing for a study without controls.
pub fn ahead(book: &mut Workbook, shown: CodeShown, most: usize) -> Option<Ahead> {
    let controls: Vec<Control> = book.controls().into_iter().cloned().collect();
    if controls.is_empty() {
        return None;
    }
    let mut finest = MOST_STOPS;
    loop {
        let stops = stops(&controls, most, finest);
        let computed = compute(book, shown, &stops);
        back_to_the_starts(book, &controls);
        if let Some((data, glyphs)) = computed {
            return Some(Ahead { data, said: said(&controls, &stops), glyphs });
        }
        finest = stops.iter().map(|one| one.settings.len()).max().unwrap_or(1).min(finest) / 2;
        if finest < 2 {
            let said = "The settings of the controls take too much room for a page; the live page shows them.".to_string();
            return Some(Ahead { said, ..Ahead::default() });
        }
    }
}

fn back_to_the_starts(book: &mut Workbook, controls: &[Control]) {
    let starts: Vec<(String, Option<f64>)> = controls.iter().map(|control| (control.name.clone(), None)).collect();
    book.set_controls(&starts, &mut |_, _, _| {});
}

/// The stops of all controls: as many as `most` combinations allow, in ranges up to `finest`. A control for which there is no room
/// stays at its start.
fn stops(controls: &[Control], most: usize, finest: usize) -> Vec<Stops> {
    let fixed = |control: &Control| match &control.kind {
        ControlKind::Range { .. } => None,
        ControlKind::Choice { options, .. } => Some(options.len().min(finest.max(2))),
        ControlKind::Check { .. } => Some(2),
    };
    // Choices have the options that they have; ranges share what is left.
    let mut counts: Vec<usize> = vec![1; controls.len()];
    let mut combinations = 1;
    for (count, control) in counts.iter_mut().zip(controls) {
        if let Some(n) = fixed(control).filter(|n| combinations * n <= most) {
            *count = n;
            combinations *= n;
        }
    }
    let ranges: Vec<usize> = (0..controls.len()).filter(|at| fixed(&controls[*at]).is_none()).collect();
    for used in (1..=ranges.len()).rev() {
        let room = (most / combinations.max(1)) as f64;
        let each = (room.powf(1.0 / used as f64) + 1e-9) as usize;
        if each >= 3 || (used == 1 && each >= 2) {
            ranges.iter().take(used).for_each(|at| counts[*at] = each.min(finest.max(2)));
            break;
        }
    }
    controls
        .iter()
        .zip(counts)
        .map(|(control, count)| Stops { control: control.clone(), settings: settings(control, count) })
        .collect()
}

/// Settings of a control: evenly from end to end, the nearest of them in the place of the start.
fn settings(control: &Control, count: usize) -> Vec<f64> {
    let start = control.start();
    if count < 2 {
        return vec![start];
    }
    match &control.kind {
        ControlKind::Range { low, high, .. } => {
            let whole = low.dimension.is_number() && [low.si, high.si, start].iter().all(|end| end.fract() == 0.0);
            let step = (high.si - low.si) / (count - 1) as f64;
            let even = (0..count).map(|index| low.si + step * index as f64);
            let mut all: Vec<f64> = even.map(|setting| if whole { setting.round() } else { setting }).collect();
            all.dedup();
            let inner = 1..all.len().saturating_sub(1);
            let away = |at: &usize| (all[*at] - start).abs();
            let nearest = inner.min_by(|one, other| away(one).total_cmp(&away(other)));
            if let Some(at) = nearest.filter(|_| !all.contains(&start)) {
                all[at] = start;
            }
            all
        }
        ControlKind::Choice { options, start, .. } => {
            let mut all: Vec<f64> = (0..options.len()).map(|at| at as f64).take(count).collect();
            if *start >= all.len() {
                all.pop();
                all.push(*start as f64);
            }
            all
        }
        ControlKind::Check { .. } => vec![0.0, 1.0],
    }
}

/// Each text once, with its number.
#[derive(Default)]
struct Texts {
    numbers: HashMap<String, usize>,
    texts: Vec<String>,
    bytes: usize,
}

impl Texts {
    fn number(&mut self, text: &str) -> usize {
        if let Some(number) = self.numbers.get(text) {
            return *number;
        }
        self.bytes += text.len();
        self.texts.push(text.to_string());
        self.numbers.insert(text.to_string(), self.texts.len() - 1);
        self.texts.len() - 1
    }
}

/// Runs all combinations, the last control the fastest. Nothing where the texts become too large, or somebody stops the run.
fn compute(book: &mut Workbook, shown: CodeShown, stops: &[Stops]) -> Option<(String, Glyphs)> {
    let combinations: usize = stops.iter().map(|one| one.settings.len()).product();
    let (mut texts, mut rows, mut results) = (Texts::default(), Vec::new(), Vec::new());
    let (mut before, mut glyphs) = (Vec::new(), Glyphs::default());
    for combination in 0..combinations {
        let mut rest = combination;
        let mut wanted = Vec::new();
        for one in stops.iter().rev() {
            wanted.push((one.control.name.clone(), Some(one.settings[rest % one.settings.len()])));
            rest /= one.settings.len();
        }
        book.set_controls(&wanted, &mut |_, _, _| {});
        let page = Page::of(book, Use::Ahead, shown, &Moment::now(), &before);
        rows.push(page.views.iter().map(|view: &std::sync::Arc<CellView>| texts.number(&view.body)).collect::<Vec<usize>>());
        results.push(texts.number(&page.results));
        glyphs.add(&glyphs_of(&page.views));
        before = page.views;
        if texts.bytes > MOST_BYTES || book.context().stopped() {
            return None;
        }
    }
    // A cell that shows the same in all combinations is left as it stands in the page.
    let cells: Vec<usize> =
        (0..rows.first().map_or(0, Vec::len)).filter(|at| rows.iter().any(|row| row[*at] != rows[0][*at])).collect();
    let columns: Vec<Vec<usize>> = cells.iter().map(|at| rows.iter().map(|row| row[*at]).collect()).collect();
    let stops: Vec<Vec<Standing>> = stops.iter().map(|one| (0..one.settings.len()).map(|at| one.at(at)).collect()).collect();
    let mut used: Vec<Option<&str>> = vec![None; texts.texts.len()];
    columns.iter().flatten().chain(&results).for_each(|number| used[*number] = Some(&texts.texts[*number]));
    let data = json!({ "stops": stops, "cells": cells, "columns": columns, "results": results, "texts": used });
    Some((data.to_string(), glyphs))
}

fn said(controls: &[Control], stops: &[Stops]) -> String {
    let combinations: usize = stops.iter().map(|one| one.settings.len()).product();
    let counts: Vec<String> = stops
        .iter()
        .map(|one| format!("{} {}", one.settings.len(), one.control.name))
        .filter(|text| !text.starts_with("1 "))
        .collect();
    let mut said = format!("{combinations} settings were computed ahead: {}.", counts.join(" x "));
    let left: Vec<&str> =
        controls.iter().zip(stops).filter(|(_, one)| one.settings.len() == 1).map(|(control, _)| control.name.as_str()).collect();
    if !left.is_empty() {
        said.push_str(&format!(" There was no room for others: {} stays at its start.", left.join(", ")));
    }
    said
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::Folder;
    use crate::script::Context;
    use std::sync::Arc;

    const STUDY: &str = "let l = slider(\"length\", 25.ft, 300.ft, 100.ft);\nlet b = checkbox(\"boost\", true);\nlet n = slider(\"heads\", 1, 8, 4);\n\
        // ## Length\n`${l}, ${b}`;\n// ## Heads\n`${n} heads`;\n// ## Apart\n5;\n";

    fn book() -> Workbook {
        let mut book = Workbook::new("study.rhai", Arc::new(Context::new(Folder::new("."))));
        book.renew(STUDY, &mut |_, _, _| {});
        book
    }

    fn data(ahead: &Ahead) -> serde_json::Value {
        serde_json::from_str(&ahead.data).expect("JSON")
    }

    #[test]
    fn all_combinations_of_the_stops_show_what_the_study_shows_there() {
        let mut book = book();
        let found = ahead(&mut book, CodeShown::Folded, 60).expect("controls");
        let data = data(&found);
        // 60 / 2 leaves 30 for two ranges: 5 each.
        let lengths: Vec<&str> =
            data["stops"][0].as_array().expect("stops").iter().filter_map(|one| one["words"].as_str()).collect();
        assert_eq!(lengths, ["25 ft", "100 ft", "162.5 ft", "231.25 ft", "300 ft"], "the start is one of them");
        assert_eq!(found.said, "50 settings were computed ahead: 5 length x 2 boost x 5 heads.");
        let text = |cell: usize, combination: usize| {
            data["texts"][data["columns"][cell][combination].as_u64().expect("a number") as usize]
                .as_str()
                .expect("a text")
                .to_string()
        };
        // Cells 2 and 3 differ; the first control is the slowest: combination 2 * 10 + 1 * 5 + 3.
        assert_eq!(data["cells"], json!([1, 2]));
        assert!(text(0, 28).contains("162.5 ft, true") && text(1, 28).contains("6 heads"), "{} {}", text(0, 28), text(1, 28));
        assert!(!book.is_stale() && book.controls().iter().all(|control| control.setting() == control.start()));
    }

    #[test]
    fn controls_for_which_there_is_no_room_stay_and_that_is_said() {
        let found = ahead(&mut book(), CodeShown::Folded, 7).expect("controls");
        assert_eq!(
            found.said,
            "6 settings were computed ahead: 3 length x 2 boost. There was no room for others: heads stays at its start."
        );
        let mut plain = Workbook::new("study.rhai", Arc::new(Context::new(Folder::new("."))));
        plain.renew("5;", &mut |_, _, _| {});
        assert_eq!(ahead(&mut plain, CodeShown::Folded, 100), None);
    }
}
