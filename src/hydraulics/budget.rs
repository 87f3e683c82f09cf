//! The pressure budget: what becomes of the pressure of the main on the way to a part, step by step.
//!
//! Each part on the way gives one step for its change of height, if it has any, and one for what it loses or adds; the sum of all steps
//! is the pressure that is left.

use super::solution::Solution;
use crate::garden::GardenError;
use crate::laws::section::pressure_of_head_pa;
use crate::parts::Law;

/// Why the pressure changes in a step of a budget.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum BudgetCause {
    /// The fall of the working pressure at the supply below its static pressure: main, meter, service line and house plumbing.
    ServiceLine,
    /// Friction along a hose or pipe, with its couplings.
    Friction,
    /// What a device in line takes: preventer, filter, valve, regulator.
    Device,
    /// What a booster adds.
    Boost,
    /// The weight of the water column: less uphill, more downhill.
    Elevation,
}

/// One step of a budget.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BudgetStep {
    /// The part, by its place in the garden.
    pub place: usize,
    /// Why the pressure changes.
    pub cause: BudgetCause,
    /// By how much, Pa; below zero where it falls.
    pub change_pa: f64,
}

/// What becomes of the static pressure of a supply on the way to a part.
#[derive(Clone, Debug, PartialEq)]
pub struct PressureBudget {
    /// The supply, by its place in the garden.
    pub source: usize,
    /// The part to which the way leads.
    pub goal: usize,
    /// Pressure of the supply at no flow, Pa.
    pub static_pa: f64,
    /// The steps in the order of the way, without those that change nothing.
    pub steps: Vec<BudgetStep>,
    /// Pressure at the part, Pa: the static pressure and all steps added up.
    pub left_pa: f64,
}

impl BudgetCause {
    /// The cause in words, to follow the name of the part.
    pub fn words(self) -> &'static str {
        match self {
            BudgetCause::ServiceLine => "service line",
            BudgetCause::Friction => "friction loss",
            BudgetCause::Device => "pressure loss",
            BudgetCause::Boost => "boost",
            BudgetCause::Elevation => "elevation",
        }
    }
}

impl Solution {
    /// The pressure budget of the way from a source to the named part; none where no source is connected.
    ///
    /// Errors: [`GardenError::UnknownName`].
    pub fn pressure_budget(&self, name: &str) -> Result<Option<PressureBudget>, GardenError> {
        let goal = self.garden.find(name)?;
        let points = self.pressure_profile(name)?;
        let (Some(first), Some(last)) = (points.first(), points.last()) else { return Ok(None) };
        let source = first.place;
        let static_pa = match self.garden.law_of(source) {
            Law::Source { pressure_pa, .. } => pressure_pa,
            _ => first.pressure_pa,
        };
        let weight_pa_per_m = pressure_of_head_pa(1.0, self.garden.water().density_kg_per_m3);
        let mut steps =
            vec![BudgetStep { place: source, cause: BudgetCause::ServiceLine, change_pa: first.pressure_pa - static_pa }];
        for pair in points.windows(2) {
            let (before, after) = (&pair[0], &pair[1]);
            let place = after.place;
            let rise_pa = -weight_pa_per_m * (after.height_m - before.height_m);
            steps.push(BudgetStep { place, cause: BudgetCause::Elevation, change_pa: rise_pa });
            let change_pa = after.pressure_pa - before.pressure_pa - rise_pa;
            let cause = match self.garden.spec(place) {
                spec if spec.is_line() => BudgetCause::Friction,
                spec if spec.traits.pumps && change_pa > 0.0 => BudgetCause::Boost,
                _ => BudgetCause::Device,
            };
            // A change of height alone leaves only rounding.
            let is_rounding = change_pa.abs() < 1e-9 * (before.pressure_pa.abs() + rise_pa.abs());
            match steps.last_mut() {
                Some(step) if is_rounding && rise_pa != 0.0 => step.change_pa += change_pa,
                _ => steps.push(BudgetStep { place, cause, change_pa }),
            }
        }
        steps.retain(|step| step.change_pa != 0.0);
        Ok(Some(PressureBudget { source, goal, static_pa, steps, left_pa: last.pressure_pa }))
    }
}

/// One row of several budgets beside each other.
#[derive(Clone, Debug, PartialEq)]
pub struct BudgetRow {
    /// Name of the part.
    pub part: String,
    /// Why the pressure changes there.
    pub cause: &'static str,
    /// The change in each budget, Pa; none where it has no such step.
    pub changes_pa: Vec<Option<f64>>,
}

/// The steps of several results, a row for each part and cause, in the order of the ways: a step that only a later way has stands where
/// that way has it.
pub fn budget_rows(results: &[(&Solution, &PressureBudget)]) -> Vec<BudgetRow> {
    let mut rows: Vec<BudgetRow> = Vec::new();
    for (index, (solution, budget)) in results.iter().enumerate() {
        let mut after = 0;
        for step in &budget.steps {
            let (part, cause) = (solution.garden.name(step.place), step.cause.words());
            let found = rows.iter().position(|row| row.part == part && row.cause == cause);
            let at = found.unwrap_or_else(|| {
                rows.insert(after, BudgetRow { part: part.into(), cause, changes_pa: vec![None; results.len()] });
                after
            });
            rows[at].changes_pa[index] = Some(step.change_pa);
            after = after.max(at + 1);
        }
    }
    rows
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::hydraulics::run;
    use crate::support::*;
    use proptest::prelude::*;

    fn causes(budget: &PressureBudget) -> Vec<(BudgetCause, f64)> {
        budget.steps.iter().map(|step| (step.cause, step.change_pa / crate::quantity::PSI_PA)).collect()
    }

    /// The weight of 10 ft of water at 15 degC: 999.1 kg/m3 (CRC Handbook, from memory) x 9.80665 x 3.048 m = 29,864 Pa = 4.331 psi.
    #[test]
    fn the_steps_add_up_and_each_has_its_cause() {
        let garden =
            line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 100.0, 0.625), climb("slope", 10.0), head("bed", 0.125)]);
        let solution = run(&garden, &[]).expect("a state");
        let budget = solution.pressure_budget("bed").expect("known").expect("reached");
        let found = causes(&budget);
        let kinds: Vec<BudgetCause> = found.iter().map(|(cause, _)| *cause).collect();
        assert_eq!(kinds, [BudgetCause::ServiceLine, BudgetCause::Friction, BudgetCause::Elevation]);
        assert!((found[2].1 + 4.331).abs() < 0.005, "{}", found[2].1);
        assert!(found[0].1 < 0.0 && found[1].1 < 0.0, "{found:?}");
        assert!((budget.static_pa / crate::quantity::PSI_PA - 58.0).abs() < 1e-9);
        let sum_pa: f64 = budget.static_pa + budget.steps.iter().map(|step| step.change_pa).sum::<f64>();
        assert!((sum_pa - budget.left_pa).abs() < 1e-6, "{sum_pa} and {}", budget.left_pa);
        assert_eq!(Some(budget.left_pa), solution.pressure_pa("bed").expect("known"));
    }

    #[test]
    fn where_no_water_comes_there_is_no_budget() {
        let garden = line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 100.0, 0.625), valve("off"), head("bed", 0.125)]);
        let solution = run(&garden, &[]).expect("a state");
        assert_eq!(solution.pressure_budget("bed"), Ok(None));
        assert!(solution.pressure_budget("bet").is_err());
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(64) })]

        #[test]
        fn the_sum_of_every_budget_closes(growths in growths(12)) {
            let garden = tree(&growths);
            // A demand may be more than a supply can give.
            let Ok(solution) = run(&garden, &[]) else { return Ok(()) };
            for place in 0..garden.parts().len() {
                let Some(budget) = solution.pressure_budget(garden.name(place)).expect("known") else { continue };
                let sum_pa = budget.steps.iter().fold(budget.static_pa, |sum_pa, step| sum_pa + step.change_pa);
                let size_pa = budget.steps.iter().fold(budget.static_pa.abs(), |sum_pa, step| sum_pa + step.change_pa.abs());
                prop_assert!((sum_pa - budget.left_pa).abs() <= 1e-12 * size_pa, "{}: {sum_pa} and {}", garden.name(place), budget.left_pa);
            }
        }
    }
}
