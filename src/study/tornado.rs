//! One parameter at a time: what an answer does between the ends of each parameter's range.

use super::{Axes, Axis, NativeStudy, SeasonSweep, SweepError, SweepOptions, SweepPlan, solution_column};
use crate::garden::Garden;
use crate::quantity::{Quantity, UnitSystem};
use crate::season::Scenario;
use crate::table::{Cell, Column, Order, Table, TableError, Values};

/// A parameter and what the answer is at the ends of its range.
#[derive(Clone, Debug)]
pub struct TornadoRow {
    /// The path of the parameter, such as `feed.length`.
    pub name: String,
    /// The lower end of its range.
    pub low: Quantity,
    /// The upper end of its range.
    pub high: Quantity,
    /// Nothing where the case has no answer.
    pub at_low: Option<f64>,
    /// The answer at the upper end, SI; nothing where the case has none.
    pub at_high: Option<f64>,
}

/// Sweeps the range of each number while the others stay as they are.
///
/// `usual` gives the present value of a number, `answers` the column of an answer for all cases of some axes. The table has a row for
/// each parameter, the widest swing first: the range, the answer at both ends, and their difference.
/// Errors: those of `usual` and `answers`.
pub fn tornado(
    ranges: &[(String, Quantity, Quantity)],
    system: UnitSystem,
    usual: impl Fn(&str) -> Result<Quantity, SweepError>,
    answers: impl Fn(&Axes) -> Result<Column, SweepError>,
) -> Result<Table, SweepError> {
    let mut zipped = Vec::with_capacity(ranges.len());
    for (place, (name, low, high)) in ranges.iter().enumerate() {
        let mut values = vec![usual(name)?; 2 * ranges.len()];
        (values[2 * place], values[2 * place + 1]) = (*low, *high);
        zipped.push(Axis::of_quantities(name, &values)?);
    }
    let column = answers(&Axes::default().and_paired(zipped)?)?;
    let si = |row: usize| if let Cell::Quantity(quantity) = column.cell(row) { Some(quantity.si) } else { None };
    let swing = |(place, (name, low, high)): (usize, &(String, Quantity, Quantity))| TornadoRow {
        name: name.clone(),
        low: *low,
        high: *high,
        at_low: si(2 * place),
        at_high: si(2 * place + 1),
    };
    let swings: Vec<TornadoRow> = ranges.iter().enumerate().map(swing).collect();
    Ok(tornado_table(&swings, &column, system)?)
}

/// The column of a garden's answer, such as `berry.pressure`, for all cases of some axes. Errors: as for a sweep; an unknown column.
pub fn garden_answers(
    garden: &Garden,
    zones: &[&str],
    what: &str,
    axes: &Axes,
    options: &SweepOptions,
) -> Result<Column, SweepError> {
    let answers = SweepPlan::new(garden, axes, Some(zones))?.run(0..axes.cases(), options)?.table;
    Ok(answers.column(&solution_column(what, axes))?)
}

/// The column of an answer of a season, such as `tomatoes.given`, for all cases of some axes. Errors: as for [`garden_answers`].
pub fn season_answers(scenario: &Scenario, what: &str, axes: &Axes, options: &SweepOptions) -> Result<Column, SweepError> {
    Ok(SeasonSweep::new(scenario, axes)?.run(0..axes.cases(), options)?.table.column(what)?)
}

/// The swings as a table, the widest first; answers have the unit of `like`.
pub fn tornado_table(swings: &[TornadoRow], like: &Column, system: UnitSystem) -> Result<Table, TableError> {
    let answers = |name: &str, of: fn(&TornadoRow) -> Option<f64>| {
        let values = swings.iter().map(of);
        match &like.values {
            Values::Quantities { dimension, preference, .. } => Column::quantities(name, values, *dimension, *preference),
            _ => Column::numbers(name, values.map(|value| value.unwrap_or(f64::NAN))),
        }
    };
    let table = Table::new(vec![
        Column::texts("parameter", swings.iter().map(|swing| swing.name.clone())),
        Column::texts("low", swings.iter().map(|swing| swing.low.show(system))),
        Column::texts("high", swings.iter().map(|swing| swing.high.show(system))),
        answers("at_low", |swing| swing.at_low),
        answers("at_high", |swing| swing.at_high),
        answers("swing", |swing| Some((swing.at_high? - swing.at_low?).abs())),
    ])?;
    table.sort_by("swing", Order::Falling)
}
