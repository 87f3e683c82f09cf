//! The pressure budget as a table: from the static pressure of the main to what is left at a head, for one result or several.

use super::solution::unreached;
use super::{ReportError, given_by};
use crate::garden::Garden;
use crate::hydraulics::{BudgetStep, PressureBudget, Solution, budget_rows};
use crate::parts::Id;
use crate::quantity::dim;
use crate::table::{Column, Table};

/// A budget of a result. Errors: an unknown name; no supply reaches it.
pub fn budget(solution: &Solution, name: &str) -> Result<PressureBudget, ReportError> {
    solution.pressure_budget(name)?.ok_or_else(|| unreached(solution, name))
}

/// The budget of one result: each step with the pressure after it, then what is left over the least that the part needs.
/// Errors: an unknown name; no supply reaches it.
pub fn table(solution: &Solution, name: &str) -> Result<Table, ReportError> {
    let budget = budget(solution, name)?;
    let garden = &solution.garden;
    let mut rows = vec![(garden.name(budget.source), "static pressure", None, budget.static_pa)];
    let mut pressure_pa = budget.static_pa;
    for BudgetStep { place, cause, change_pa } in &budget.steps {
        pressure_pa += change_pa;
        rows.push((garden.name(*place), cause.words(), Some(*change_pa), pressure_pa));
    }
    let goal = garden.name(budget.goal);
    rows.push((goal, "left", None, budget.left_pa));
    if let Some(least_pa) = least_pa(garden, budget.goal) {
        rows.push((goal, "needed at least", Some(-least_pa), budget.left_pa - least_pa));
    }
    Ok(Table::new(vec![
        Column::texts("part", rows.iter().map(|row| row.0)),
        Column::texts("cause", rows.iter().map(|row| row.1)),
        given_by(garden, "change", rows.iter().map(|row| row.2), dim::PRESSURE),
        given_by(garden, "pressure", rows.iter().map(|row| Some(row.3)), dim::PRESSURE),
    ])?)
}

/// Budgets of several results to parts of one name, a column for each: the static pressure, the changes, and what is left, which is
/// their sum. Errors: no result; an unknown name; no supply reaches it in one of them.
pub fn side_by_side(results: &[(String, Solution)], name: &str) -> Result<Table, ReportError> {
    let budgets: Vec<PressureBudget> = results.iter().map(|(_, solution)| budget(solution, name)).collect::<Result<_, _>>()?;
    let pairs: Vec<(&Solution, &PressureBudget)> = results.iter().map(|(_, solution)| solution).zip(&budgets).collect();
    let Some((first, first_budget)) = pairs.first() else { return Err(ReportError::NoResult) };
    let (garden, rows) = (&first.garden, budget_rows(&pairs));
    let (source, goal) = (garden.name(first_budget.source), garden.name(first_budget.goal));
    let least: Vec<Option<f64>> = pairs.iter().map(|(solution, budget)| least_pa(&solution.garden, budget.goal)).collect();
    let has_least = least.iter().any(Option::is_some);
    let mut parts = vec![source];
    let mut causes = vec!["static pressure"];
    parts.extend(rows.iter().map(|row| row.part.as_str()));
    causes.extend(rows.iter().map(|row| row.cause));
    parts.push(goal);
    causes.push("left");
    if has_least {
        parts.push(goal);
        causes.push("above what is needed");
    }
    let mut columns = vec![Column::texts("part", parts), Column::texts("cause", causes)];
    for (index, ((option, _), budget)) in results.iter().zip(&budgets).enumerate() {
        let mut values = vec![Some(budget.static_pa)];
        values.extend(rows.iter().map(|row| row.changes_pa[index]));
        values.push(Some(budget.left_pa));
        if has_least {
            values.push(least[index].map(|least_pa| budget.left_pa - least_pa));
        }
        columns.push(given_by(garden, option, values, dim::PRESSURE));
    }
    Ok(Table::new(columns)?)
}

/// The lower end of the operating range of a part, Pa.
fn least_pa(garden: &Garden, place: usize) -> Option<f64> {
    let part = &garden.parts()[place];
    part.si(Id::RangeLow).filter(|_| part.traits().waters)
}
