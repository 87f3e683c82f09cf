//! Where the pressure goes, as a waterfall: from the static pressure of the main to what is left at a head, for one result or several.

use super::Color;
use super::view::View;
use crate::figure::{Axis, Fall, Falls, Figure, MarkedAxis, Plot, Waterfall};
use crate::findings::CautionSet;
use crate::hydraulics::{PressureBudget, Solution, budget_rows};
use crate::parts::Id;
use crate::quantity::{UnitSystem, dim};

/// Changes smaller than this share of the static pressure have no row of their own; they are added up in one.
const SMALL: f64 = 0.003;
/// Height of a row for each result, and of all else, pixels.
const ROW: u32 = 26;
const REST: u32 = 130;

/// The figure of budgets to parts of one name, each with the name of its result; empty for a single one.
pub fn budget_figure(results: &[(String, &Solution, PressureBudget)], system: UnitSystem) -> Option<Figure> {
    let (_, first, first_budget) = results.first()?;
    let garden = &first.garden;
    let view = View { garden, solution: Some(first), color: Color::Pressure, system: system.or_own(garden.units()) };
    let shown = |pa: f64| view.shown(pa, dim::PRESSURE);
    let pairs: Vec<(&Solution, &PressureBudget)> = results.iter().map(|(_, solution, budget)| (*solution, budget)).collect();
    let (large, small): (Vec<_>, Vec<_>) = budget_rows(&pairs).into_iter().partition(|row| {
        row.changes_pa.iter().flatten().any(|change_pa| change_pa.abs() >= SMALL * first_budget.static_pa.abs().max(1.0))
    });
    let goal = garden.name(first_budget.goal);
    let mut names = vec![format!("{}: static pressure", garden.name(first_budget.source))];
    names.extend(large.iter().map(|row| format!("{}: {}", row.part, row.cause)));
    if !small.is_empty() {
        names.push(format!("{} smaller {}", small.len(), if small.len() == 1 { "change" } else { "changes" }));
    }
    names.push(format!("left at {goal}"));
    let things = results.iter().enumerate().map(|(index, (name, _, budget))| {
        let mut falls = vec![Some(Fall::Total(shown(budget.static_pa)))];
        falls.extend(large.iter().map(|row| row.changes_pa[index].map(|change_pa| Fall::Change(shown(change_pa)))));
        if !small.is_empty() {
            let sum_pa: f64 = small.iter().filter_map(|row| row.changes_pa[index]).sum();
            falls.push(Some(Fall::Change(shown(sum_pa))));
        }
        falls.push(Some(Fall::Total(shown(budget.left_pa))));
        Falls { name: name.clone(), rows: falls }
    });
    let things: Vec<Falls> = things.collect();
    let height = REST + ROW * (names.len() * things.len()).max(4) as u32;
    let x = Axis::new("pressure").unit(view.unit_text(dim::PRESSURE)).from_zero();
    let mut figure =
        Figure::new(x, Axis::new(""), Plot::Waterfall(Waterfall { names, things })).sized(760, height.clamp(240, 2000));
    figure.remarks = CautionSet::of(garden).in_sentences();
    let part = &garden.parts()[first_budget.goal];
    for (id, words) in [(Id::RangeLow, "stalls below"), (Id::RangeHigh, "mists above")] {
        if let Some(value) = part.si(id).filter(|_| part.traits().waters) {
            figure = figure.marked(MarkedAxis::X, shown(value), words);
        }
    }
    Some(figure)
}
