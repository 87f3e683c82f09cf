//! Options side by side: differences to the first, needs met or not, what a gain costs, and a conclusion in words.

use crate::quantity::{Preference, Quantity, UnitSystem, dim};
use crate::table::{Cell, Column, ColumnKind, Table, TableError, Values};
use crate::told::Told;
use thiserror::Error;

/// What a column needs to be.
#[derive(Clone, Debug)]
pub struct Need {
    /// Name of the column.
    pub column: String,
    /// What it must not be below; nothing where there is no such bound.
    pub low: Option<Quantity>,
    /// What it must not be above; nothing where there is no such bound.
    pub high: Option<Quantity>,
}

/// What a comparison looks at besides the differences.
#[derive(Clone, Debug, Default)]
pub struct Wanted {
    /// What the options must keep to.
    pub needs: Vec<Need>,
    /// The column of costs.
    pub cost: Option<String>,
    /// The column in which more is better.
    pub gain: Option<String>,
}

/// Options side by side.
#[derive(Clone, Debug, PartialEq)]
pub struct Compared {
    /// The options with their differences to the first.
    pub table: Table,
    /// The conclusion, a sentence each.
    pub words: Vec<String>,
}

/// Why options cannot be compared so.
#[derive(Debug, Error)]
pub enum CompareError {
    /// A column is missing, or the tables do not fit each other.
    #[error(transparent)]
    Table(#[from] TableError),
    /// A need is of another dimension than the column that it is on.
    #[error("compare: '{column}' holds {found}, and the need is {need}")]
    Need {
        /// Name of the column.
        column: String,
        /// What it holds, in words.
        found: String,
        /// The bound, in words.
        need: String,
    },
    /// A column of costs or gains holds no numbers.
    #[error("compare: '{column}' holds {found}, so it cannot be the {role}")]
    NotNumeric {
        /// Name of the column.
        column: String,
        /// What it holds, in words.
        found: String,
        /// What it was to be, in words.
        role: &'static str,
    },
}

impl Told for CompareError {
    fn hint(&self) -> Option<String> {
        match self {
            CompareError::Table(error) => error.hint(),
            _ => None,
        }
    }
}

/// The name of the column of options.
pub const OPTION: &str = "option";

/// Compares the rows of a table with its first; a column `option` names them.
///
/// After the columns of the table come the differences of all numbers to the first row, whether each need is met, and what
/// a unit of the gain costs against the first row.
/// Errors: unknown columns, a need of another dimension.
pub fn compared(table: &Table, wanted: &Wanted, system: UnitSystem) -> Result<Compared, CompareError> {
    let options: Vec<String> = table.column(OPTION)?.cells().map(|cell| cell.show(system)).collect();
    let mut columns = table.columns()?;
    let changes: Vec<Column> = columns.iter().filter(|column| column.name != OPTION).filter_map(change).collect();
    columns.extend(changes);
    let mut met = vec![Vec::new(); options.len()];
    for need in &wanted.needs {
        let flags = flags(table, need, &options, system, &mut met)?;
        columns.push(Column { name: format!("{} ok", need.column), values: Values::Flags(flags) });
    }
    let mut words = Vec::new();
    if !wanted.needs.is_empty() {
        words.extend(about_needs(&options, &met));
    }
    let cost = wanted.cost.as_deref().map(|name| numbers(table, name, "cost")).transpose()?;
    let gain = wanted.gain.as_deref().map(|name| numbers(table, name, "gain")).transpose()?;
    if let Some(costs) = &cost {
        words.extend(about_cost(&options, costs, &met, wanted.needs.is_empty(), system));
    }
    if let (Some(costs), Some(gains)) = (&cost, &gain) {
        let prices: Vec<Option<Price>> = (0..options.len()).map(|row| price(costs, gains, row, system)).collect();
        let texts = prices.iter().map(|price| price.as_ref().map(|price| price.text.clone())).collect();
        columns.push(Column { name: "cost of the gain".into(), values: Values::Texts(texts) });
        words.extend(about_gain(&options, &prices));
    }
    Ok(Compared { table: Table::new(columns)?, words })
}

type Numbers = Vec<Option<Quantity>>;

fn numbers(table: &Table, name: &str, role: &'static str) -> Result<Numbers, CompareError> {
    let column = table.column(name)?;
    if !column.kind().is_numeric() {
        return Err(CompareError::NotNumeric { column: name.into(), found: column.kind().to_string(), role });
    }
    Ok(column.cells().map(|cell| if let Cell::Quantity(quantity) = cell { Some(quantity) } else { None }).collect())
}

/// The differences of a column of numbers to its first row.
fn change(column: &Column) -> Option<Column> {
    let Values::Quantities { si, dimension, preference } = &column.values else { return None };
    let first = si.first().copied().flatten()?;
    let (dimension, preference) =
        if dimension.absolute { (dim::TEMPERATURE_DIFFERENCE, Preference::Usual) } else { (*dimension, *preference) };
    let changes = si.iter().map(|value| value.map(|value| value - first));
    Some(Column::quantities(format!("{} change", column.name), changes, dimension, preference))
}

/// Whether each option meets a need; what is not met is noted in words.
fn flags(
    table: &Table,
    need: &Need,
    options: &[String],
    system: UnitSystem,
    unmet: &mut [Vec<String>],
) -> Result<Vec<Option<bool>>, CompareError> {
    let column = table.column(&need.column)?;
    for limit in [need.low, need.high].into_iter().flatten() {
        let asked = ColumnKind::Quantity { dimension: limit.dimension, preference: limit.preference };
        if !column.kind().fits(asked) {
            let found = column.kind().to_string();
            return Err(CompareError::Need { column: need.column.clone(), found, need: limit.described() });
        }
    }
    let flag = |row: usize| {
        let Cell::Quantity(value) = column.cell(row) else {
            unmet[row].push(format!("{} has no value", need.column));
            return None;
        };
        let too_low = need.low.filter(|low| value.si < low.si);
        let too_high = need.high.filter(|high| value.si > high.si);
        if let Some(low) = too_low {
            unmet[row].push(format!("{} is {}, under {}", need.column, value.show(system), low.show(system)));
        }
        if let Some(high) = too_high {
            unmet[row].push(format!("{} is {}, over {}", need.column, value.show(system), high.show(system)));
        }
        Some(too_low.is_none() && too_high.is_none())
    };
    Ok((0..options.len()).map(flag).collect())
}

fn about_needs(options: &[String], unmet: &[Vec<String>]) -> Vec<String> {
    let fine: Vec<&str> = options.iter().zip(unmet).filter(|(_, why)| why.is_empty()).map(|(name, _)| name.as_str()).collect();
    let mut words = vec![match fine.as_slice() {
        [] => "no option meets every need".to_string(),
        [one] => format!("only {one} meets every need"),
        all if all.len() == options.len() => "every option meets every need".to_string(),
        some => format!("{} meet every need", listed(some)),
    }];
    for (name, why) in options.iter().zip(unmet).filter(|(_, why)| !why.is_empty()) {
        words.push(format!("{name} does not: {}", why.join("; ")));
    }
    words
}

fn about_cost(options: &[String], costs: &Numbers, unmet: &[Vec<String>], no_needs: bool, system: UnitSystem) -> Option<String> {
    let fit = (0..options.len()).filter(|row| unmet[*row].is_empty());
    let (row, cost) = fit.filter_map(|row| Some((row, costs[row]?))).min_by(|(_, a), (_, b)| a.si.total_cmp(&b.si))?;
    let that = if no_needs { "" } else { " that meets every need" };
    Some(format!("the cheapest{that} is {}, at {}", options[row], cost.show(system)))
}

/// What an option gains against the first, and what that costs.
struct Price {
    text: String,
    gained: String,
    more: String,
    /// Cost of a unit of gain, SI over SI.
    rate: f64,
}

fn price(costs: &Numbers, gains: &Numbers, row: usize, system: UnitSystem) -> Option<Price> {
    let (cost, gain) = (costs[row]?, gains[row]?);
    let (more, gained) = (cost.si - costs[0]?.si, gain.si - gains[0]?.si);
    if row == 0 || gained <= 0.0 {
        return None;
    }
    let more = Quantity { si: more, ..cost };
    let gained = Quantity { si: gained, ..gain };
    let unit = gained.shown_unit(system);
    let one = unit.map_or(1.0, |unit| unit.to_si(1.0) - unit.to_si(0.0));
    let rate = Quantity { si: more.si / gained.si * one, ..cost };
    let name = unit.map_or("unit", |unit| unit.symbol);
    Some(Price {
        text: format!("{} per {name}", rate.show(system)),
        gained: gained.show(system),
        more: more.show(system),
        rate: more.si / gained.si,
    })
}

fn about_gain(options: &[String], prices: &[Option<Price>]) -> Vec<String> {
    let priced: Vec<(&String, &Price)> =
        options.iter().zip(prices).filter_map(|(name, price)| Some((name, price.as_ref()?))).collect();
    let Some(first) = options.first() else { return Vec::new() };
    let one = |(name, price): &(&String, &Price)| {
        if price.rate <= 0.0 {
            return format!("{name} gains {} over {first} at no extra cost", price.gained);
        }
        format!("{name} gains {} against {first} for {} more, {}", price.gained, price.more, price.text)
    };
    if priced.is_empty() {
        return vec![format!("no option has a gain over {first}")];
    }
    let mut words: Vec<String> = priced.iter().map(one).collect();
    let cheapest = priced.iter().min_by(|(_, a), (_, b)| a.rate.total_cmp(&b.rate));
    if let (Some((name, _)), true) = (cheapest, priced.len() > 1) {
        words.push(format!("{name} gains most cheaply"));
    }
    words
}

/// Names in a row, the last one joined by "and".
pub(super) fn listed(names: &[&str]) -> String {
    match names {
        [] => String::new(),
        [one] => (*one).to_string(),
        [most @ .., last] => format!("{} and {last}", most.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::find_unit;

    fn q(value: f64, unit: &str) -> Quantity {
        Quantity::written(value, find_unit(unit).expect("a unit"))
    }

    fn pumps() -> Table {
        let unit = |name: &str| find_unit(name).expect("a unit");
        Table::new(vec![
            Column::texts("option", ["bare", "small", "middling", "strong"]),
            Column::written("price", [0.0, 95.0, 150.0, 260.0], unit("USD")),
            Column::written("berry", [20.0, 29.0, 38.0, 64.0], unit("psi")),
        ])
        .expect("a table")
    }

    #[test]
    fn the_words_are_drawn_from_the_numbers() {
        let need = Need { column: "berry".into(), low: Some(q(30.0, "psi")), high: Some(q(60.0, "psi")) };
        let wanted = Wanted { needs: vec![need], cost: Some("price".into()), gain: Some("berry".into()) };
        let found = compared(&pumps(), &wanted, UnitSystem::AsWritten).expect("a comparison");
        assert_eq!(
            found.words,
            [
                "only middling meets every need",
                "bare does not: berry is 20 psi, under 30 psi",
                "small does not: berry is 29 psi, under 30 psi",
                "strong does not: berry is 64 psi, over 60 psi",
                "the cheapest that meets every need is middling, at $150.00",
                // 95/9, 150/18 and 260/44.
                "small gains 9 psi against bare for $95.00 more, $10.56 per psi",
                "middling gains 18 psi against bare for $150.00 more, $8.33 per psi",
                "strong gains 44 psi against bare for $260.00 more, $5.91 per psi",
                "strong gains most cheaply",
            ]
        );
        assert_eq!(
            found.table.names(),
            ["option", "price", "berry", "price change", "berry change", "berry ok", "cost of the gain"]
        );
        assert_eq!(found.table.cell(2, "berry change").expect("a cell").show(UnitSystem::AsWritten), "18 psi");
        assert_eq!(found.table.cell(2, "berry ok").expect("a cell"), Cell::Flag(true));
    }

    #[test]
    fn a_need_of_another_dimension_is_refused() {
        let need = Need { column: "berry".into(), low: Some(q(30.0, "ft")), high: None };
        let wanted = Wanted { needs: vec![need], ..Wanted::default() };
        let error = compared(&pumps(), &wanted, UnitSystem::AsWritten).expect_err("refused");
        assert_eq!(error.to_string(), "compare: 'berry' holds a pressure, and the need is 30 ft (a length)");
        let wanted = Wanted { cost: Some("option".into()), ..Wanted::default() };
        let error = compared(&pumps(), &wanted, UnitSystem::AsWritten).expect_err("refused");
        assert_eq!(error.to_string(), "compare: 'option' holds a string, so it cannot be the cost");
    }
}
