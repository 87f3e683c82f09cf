//! Values as a notebook shows them: texts, tables, findings, figures.
//!
//! Knows the types of script values, and nothing of pages: what is shown is made of the core's own types.

use crate::figure::{Drawn, Graphic};
use crate::findings::{of_log, of_run};
use crate::hydraulics::Solution;
use crate::money::Bills;
use crate::operation::Log;
use crate::report::chart::Chart;
use crate::report::{FindingList, Saved, log, money, solution};
use crate::script::functions::cards::Card;
use crate::script::functions::garden_charts::GardenChart;
use crate::script::functions::pages::NamedResult;
use crate::script::functions::plan::Plan;
use crate::script::functions::tables::WholeTable;
use crate::script::functions::watering::{BarrelAnswer, SeasonAnswer, WeekAnswer};
use crate::script::language::context::Context;
use crate::script::language::values::as_quantity;
use crate::study::Compared;
use crate::table::Table;
use rhai::{Array, Dynamic};
use std::sync::Arc;

/// One thing to show.
#[derive(Clone, Debug)]
pub enum Shown {
    /// As it stands, line by line.
    Text(String),
    /// A table with its units; whoever shows it cuts it to size.
    Table(Table),
    /// What to mind, the most severe first.
    Findings(FindingList),
    /// A drawing made by this program.
    Figure(Arc<Drawn>),
    /// A file that the study wrote beside itself.
    Saved {
        /// Its name.
        file: String,
        /// The drawing in it; nothing for other files.
        drawn: Option<Arc<Drawn>>,
    },
    /// A result with the name that the study gives it.
    Named {
        /// What it is.
        name: String,
        /// The value, in words.
        value: String,
    },
}

/// Whether a value is nothing but numbers, of which nobody sees what they are: a number, a quantity, a truth, a list of them.
pub fn is_bare(value: &Dynamic) -> bool {
    as_quantity(value).is_some()
        || value.is_bool()
        || value.read_lock::<Array>().is_some_and(|list| !list.is_empty() && list.iter().all(is_bare))
}

/// What a value shows; `text` is the value as the shell prints it.
pub fn present(value: &Dynamic, text: String, context: &Context) -> Vec<Shown> {
    if let Some(table) = value.read_lock::<Table>() {
        return vec![Shown::Table(table.clone())];
    }
    if let Some(table) = value.read_lock::<WholeTable>() {
        return vec![Shown::Table(table.0.clone())];
    }
    if let Some(solution) = value.read_lock::<Solution>() {
        let mut shown = vec![Shown::Text(solution::zones_in_words(&solution))];
        shown.extend(solution::table(&solution).ok().map(Shown::Table));
        shown.push(Shown::Findings(FindingList::of(solution.garden.clone(), &of_run(&solution))));
        return shown;
    }
    if let Some(log) = value.read_lock::<Log>() {
        let mut shown = vec![Shown::Text(log::headline(&log, context.units()))];
        shown.extend(log::water(&log).ok().map(Shown::Table));
        shown.push(Shown::Findings(FindingList::of(log.garden.clone(), &of_log(&log))));
        return shown;
    }
    if let Some(season) = value.read_lock::<SeasonAnswer>() {
        return season.table().map(Shown::Table).into_iter().chain([Shown::Findings(season.findings())]).collect();
    }
    if let Some(week) = value.read_lock::<WeekAnswer>() {
        return week.table().map(Shown::Table).into_iter().chain([Shown::Findings(week.findings())]).collect();
    }
    if let Some(barrel) = value.read_lock::<BarrelAnswer>() {
        return vec![Shown::Text(barrel.in_words()), Shown::Findings(barrel.findings())];
    }
    if let Some(bills) = value.read_lock::<Bills>() {
        let table = money::bills_table(&bills).ok().map(Shown::Table);
        return [Shown::Text(money::bills_in_words(&bills, context.units()))].into_iter().chain(table).collect();
    }
    if let Some(Ok(drawn)) = graphic(value, context).map(Graphic::drawn) {
        return vec![Shown::Figure(Arc::new(drawn))];
    }
    if let Some(compared) = value.read_lock::<Compared>() {
        let words: Vec<String> = compared.words.iter().map(|sentence| format!("- {sentence}")).collect();
        return vec![Shown::Table(compared.table.clone()), Shown::Text(words.join("\n"))];
    }
    if let Some(findings) = value.read_lock::<FindingList>() {
        return vec![Shown::Findings(findings.clone())];
    }
    if let Some(named) = value.read_lock::<NamedResult>() {
        return vec![Shown::Named { name: named.name.clone(), value: named.value_in_words(context.units()) }];
    }
    if let Some(Saved::File(file)) = value.read_lock::<Saved>().as_deref() {
        let is_picture = [".svg", ".png", ".pdf"].iter().any(|ending| file.to_lowercase().ends_with(ending));
        let drawn = context.take_picture().filter(|_| is_picture);
        return vec![Shown::Saved { file: file.clone(), drawn }];
    }
    vec![Shown::Text(text)]
}

/// What a value that can be drawn shows; nothing for others, and for one that cannot be drawn.
fn graphic(value: &Dynamic, context: &Context) -> Option<Graphic> {
    if let Some(chart) = value.read_lock::<Chart>() {
        return Some(Graphic::Figure(context.axes.on_held_axes(chart.figure(context.units()).ok()?)));
    }
    if let Some(chart) = value.read_lock::<GardenChart>() {
        return Some(Graphic::Figure(context.axes.on_held_axes(chart.figure(context.units()).ok()?)));
    }
    if let Some(plan) = value.read_lock::<Plan>() {
        return Some(Graphic::Map(plan.map(context.units()).ok()?));
    }
    Some(Graphic::Sheet(value.read_lock::<Card>()?.sheet().ok()?))
}
