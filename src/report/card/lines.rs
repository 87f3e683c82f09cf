//! What all cards share: the sheet with its cautions, values in both systems of units, clocks, names, rows; and a card as plain text.

use crate::figure::{Paper, Sheet, SheetBlock, SheetCell, SheetTable};
use crate::findings::{CautionSet, ESTIMATES, FOLLOW};
use crate::garden::Garden;
use crate::quantity::{Quantity, UnitSystem};

/// A sheet with the cautions of a garden at its foot, on the paper of its units.
pub(super) fn sheet(garden: &Garden, title: &str, subtitle: String, blocks: Vec<SheetBlock>) -> Sheet {
    let cautions = CautionSet::of(garden).by_subject().map(|(subject, cautions)| {
        let short: Vec<&str> = cautions.iter().map(|caution| caution.short).collect();
        format!("{}: {}.", subject.words(), short.join("; "))
    });
    let foot = cautions.chain([format!("{FOLLOW} {ESTIMATES}")]).collect();
    let paper = garden.units().pick(Paper::Letter, Paper::A4);
    Sheet { paper, title: title.into(), subtitle, blocks, foot }
}

/// A value in the units of the garden and, in brackets, in the other system.
pub(super) fn both(value: Quantity, garden: &Garden) -> String {
    let own = garden.units();
    let first = value.show(own);
    let other = match value.shown_unit(own).and_then(|unit| unit.suggests_metric()) {
        Some(true) => UnitSystem::Us,
        Some(false) => UnitSystem::Metric,
        None => return first,
    };
    match value.shown_unit(other) {
        Some(_) => format!("{first} ({})", value.show(other)),
        None => first,
    }
}

/// A time of the day to the minute, on a clock of twelve hours and one of 24, the one of the garden's country first.
pub(super) fn clocks(time_s: f64, garden: &Garden) -> String {
    let minutes = (time_s / 60.0).round().max(0.0) as u64;
    let later = if minutes >= 1440 { ", next day" } else { "" };
    let (hour, minute) = (minutes / 60 % 24, minutes % 60);
    let half = if hour < 12 { "AM" } else { "PM" };
    let (short, long) = (format!("{}:{minute:02} {half}", (hour + 11) % 12 + 1), format!("{hour:02}:{minute:02}"));
    garden.units().pick(format!("{short} ({long}{later})"), format!("{long} ({short}{later})"))
}

/// Names in words: the first few, and how many more.
pub(super) fn names(names: &[&str]) -> String {
    const MOST: usize = 14;
    let quoted: Vec<String> = names.iter().take(MOST).map(|name| format!("'{name}'")).collect();
    match (names.len(), quoted.split_last()) {
        (count, _) if count > MOST => format!("{} and {} more", quoted.join(", "), count - MOST),
        (_, Some((last, others))) if !others.is_empty() => format!("{} and {last}", others.join(", ")),
        _ => quoted.join(""),
    }
}

pub(super) fn text(text: impl Into<String>) -> SheetCell {
    SheetCell::Text(text.into())
}

pub(super) fn heads(heads: &[&str]) -> Vec<String> {
    heads.iter().map(|head| head.to_string()).collect()
}

pub(super) fn table(head: &[&str], rows: Vec<Vec<SheetCell>>) -> SheetBlock {
    SheetBlock::Table(SheetTable { heads: heads(head), right: Vec::new(), rows, sums: 0 })
}

/// A sheet as plain text, a line each.
pub fn in_words(sheet: &Sheet) -> String {
    let mut lines = vec![sheet.title.clone()];
    lines.extend((!sheet.subtitle.is_empty()).then(|| sheet.subtitle.clone()));
    for block in &sheet.blocks {
        match block {
            SheetBlock::Heading(heading) => lines.extend([String::new(), heading.clone()]),
            SheetBlock::Text(text) => lines.push(text.clone()),
            SheetBlock::Table(table) => {
                lines.push(table.heads.join(" | "));
                let cell = |cell: &SheetCell| match cell {
                    SheetCell::Text(text) => text.clone(),
                    SheetCell::Blank => "____".into(),
                };
                lines.extend(table.rows.iter().map(|row| row.iter().map(cell).collect::<Vec<_>>().join(" | ")));
            }
            SheetBlock::Steps(steps) => lines.extend(steps.iter().enumerate().map(|(at, step)| format!("{}. {step}", at + 1))),
            SheetBlock::Blanks(labels) => lines.extend(labels.iter().map(|label| format!("{label} ____"))),
        }
    }
    lines.push(String::new());
    lines.extend(sheet.foot.iter().cloned());
    lines.join("\n")
}
