//! What would help most: every number of a garden by what a change of it does to one solution.
//!
//! The derivatives come from `hydraulics`; here they become effects of usual steps, in order of size.

use crate::garden::{Garden, GardenError, ParameterPath};
use crate::hydraulics::{Network, NoSlope, Probe, ProbeKind, RunError, SolveError, Switches};
use crate::parts::{Id, Part};
use crate::quantity::{Dimension, Quantity, UnitSystem, dim};
use crate::table::{Column, Table, TableError};
use crate::told::Told;
use thiserror::Error;

/// A number of the garden and what it does to the solution.
#[derive(Clone, Debug)]
pub struct SensitivityRow {
    /// The path of the parameter, such as `feed.length`.
    pub path: String,
    /// What it is now.
    pub value: Quantity,
    /// Derivative of the solution to the parameter, SI over SI.
    pub slope: f64,
    /// Change of the solution when the parameter grows by a tenth of itself, to first order, SI; nothing for a number of zero.
    pub tenth: f64,
    /// Change of the solution for each unit of currency more, SI: for the length of a hose or pipe that has a price.
    pub per_currency_unit: Option<f64>,
}

/// The levers of one solution, the largest first.
#[derive(Clone, Debug)]
pub struct SensitivityTable {
    /// One for each parameter that moves the solution.
    pub sensitivity_table: Vec<SensitivityRow>,
    /// The solution as it is, SI.
    pub value: f64,
    dimension: Dimension,
    /// The units in which the garden was given.
    units: UnitSystem,
}

/// Why there are no levers.
#[derive(Debug, Error)]
pub enum LeverError {
    /// The steady state of the garden was not found.
    #[error(transparent)]
    Run(#[from] RunError),
    /// The solution has no derivative there.
    #[error("sensitivity of '{what}' cannot be determined: {reason}")]
    NoSlope {
        /// The solution, such as `berry.pressure`.
        what: String,
        /// Why it has none.
        reason: NoSlope,
    },
    /// All derivatives of the solution are zero.
    #[error("no parameter affects '{what}' in this state: it is {state}")]
    Still {
        /// The solution, such as `berry.pressure`.
        what: String,
        /// What holds it as it is, in words.
        state: &'static str,
    },
}

impl Told for LeverError {
    fn hint(&self) -> Option<String> {
        match self {
            LeverError::Run(error) => error.hint(),
            LeverError::NoSlope { reason: NoSlope::NotFed, .. } => Some("open the valve of its zone".into()),
            LeverError::NoSlope { reason: NoSlope::Trapped, .. } => None,
            LeverError::NoSlope { .. } => Some("change a parameter slightly, or compare both sides with a sweep".into()),
            LeverError::Still { .. } => Some("run another zone, or try a larger change with a sweep".into()),
        }
    }
}

impl From<GardenError> for LeverError {
    fn from(error: GardenError) -> LeverError {
        LeverError::Run(error.into())
    }
}

impl From<SolveError> for LeverError {
    fn from(error: SolveError) -> LeverError {
        LeverError::Run(error.into())
    }
}

/// The parameters that change the pressure or flow of a part while these zones run, largest effect first.
///
/// Parameters without effect are left out, as are those whose effect cannot be determined, such as a leak of zero size.
/// Errors: as for a run, or the solution is just turning or cannot move at all.
pub fn sensitivity_table(garden: &Garden, zones: &[&str], probe: &Probe) -> Result<SensitivityTable, LeverError> {
    let open = garden.opened(zones)?;
    let at_rest = garden.supplies().map(|place| ParameterPath { place, parameter: Id::StaticPressure });
    let mut network = Network::new(&garden.with_tests_kept(&at_rest.collect::<Vec<_>>()), &open)?;
    Switches::of(garden).settle(&mut network).map_err(|error| error.named(garden))?;
    let value = network.probe(probe);
    let what = || garden.name(probe.place).to_string();
    let slopes = network.slopes(probe).map_err(|reason| LeverError::NoSlope { what: what(), reason: reason.named(garden) })?;
    let mut sensitivity_table = Vec::new();
    for (place, part) in garden.parts().iter().enumerate() {
        for spec in part.spec().parameters.iter() {
            let (Ok(slope), Some(value)) = (slopes.to(&network, place, spec.id), part.shown(spec.id, garden.units())) else {
                continue;
            };
            if slope == 0.0 {
                continue;
            }
            let per_currency_unit = price_of_length(part, spec.id).map(|price_per_m| slope / price_per_m);
            let path = format!("{}.{}", garden.name(place), spec.name());
            sensitivity_table.push(SensitivityRow { path, value, slope, tenth: 0.1 * slope * value.si, per_currency_unit });
        }
    }
    if sensitivity_table.is_empty() {
        let state = if value == 0.0 { "without flow or pressure" } else { "fixed by another part" };
        return Err(LeverError::Still { what: what(), state });
    }
    sensitivity_table.sort_by(|a, b| b.tenth.abs().total_cmp(&a.tenth.abs()));
    let dimension = if probe.kind == ProbeKind::Flow { dim::FLOW } else { dim::PRESSURE };
    Ok(SensitivityTable { sensitivity_table, value, dimension, units: garden.units() })
}

/// What a meter of hose costs, when the parameter is its length and it has a price; a price is that of the whole part.
fn price_of_length(part: &Part, number: Id) -> Option<f64> {
    if number != Id::Length || !part.spec().is_line() {
        return None;
    }
    let price_per_m = part.si(Id::Price)? / part.si(Id::Length)?;
    (price_per_m > 0.0).then_some(price_per_m)
}

impl SensitivityTable {
    /// Number, what it is now, what a tenth more does, what one of its units does, and what one more of the currency of its price does.
    pub fn table(&self, system: UnitSystem) -> Result<Table, TableError> {
        let texts = |text: &dyn Fn(&SensitivityRow) -> String| self.sensitivity_table.iter().map(text).collect::<Vec<_>>();
        let effects = |name: &str, effect: &dyn Fn(&SensitivityRow) -> Option<f64>| {
            Column::quantities(
                name,
                self.sensitivity_table.iter().map(effect),
                self.dimension,
                self.units.preference(self.dimension),
            )
        };
        let mut columns = vec![
            Column::texts("parameter", texts(&|lever| lever.path.clone())),
            Column::texts("now", texts(&|lever| lever.value.show(system))),
            effects("ten_percent", &|lever| Some(lever.tenth).filter(|_| lever.value.si != 0.0)),
            Column::texts("per_unit", texts(&|lever| self.per_unit(lever, system))),
        ];
        if self.sensitivity_table.iter().any(|lever| lever.per_currency_unit.is_some()) {
            columns.push(effects("per_currency_unit", &|lever| lever.per_currency_unit));
        }
        Table::new(columns)
    }

    /// The effect of one unit of the parameter, such as `-0.05 psi per ft`.
    fn per_unit(&self, lever: &SensitivityRow, system: UnitSystem) -> String {
        let unit = lever.value.shown_unit(system).filter(|_| !lever.value.dimension.is_number());
        let size = unit.map_or(1.0, |unit| unit.to_si(1.0) - unit.to_si(0.0));
        let effect = self.units.quantity(lever.slope * size, self.dimension).show(system);
        format!("{effect} per {}", unit.map_or("1", |unit| unit.symbol))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parts::Kind;
    use crate::quantity::find_unit;

    fn written(value: f64, unit: &str) -> Quantity {
        Quantity::written(value, find_unit(unit).expect("a unit"))
    }

    fn part(kind: Kind, name: &str, numbers: &[(&str, Quantity)]) -> Garden {
        Garden::of(Part::of_words(kind, Some(name), numbers).expect("a part"))
    }

    fn plot() -> Garden {
        let supply = [
            ("static_pressure", written(58.0, "psi")),
            ("measured_pressure", written(44.0, "psi")),
            ("measured_flow", written(6.0, "gpm")),
        ];
        let feed = [("length", written(100.0, "ft")), ("diameter", written(0.5, "in")), ("price", written(40.0, "$"))];
        let hose = part(Kind::Hose, "feed", &feed);
        let head = part(Kind::Head, "berry", &[("nozzle", written(0.15, "in"))]);
        let line = part(Kind::Supply, "tap", &supply).then(&hose).and_then(|line| line.then(&part(Kind::Valve, "zone", &[])));
        line.and_then(|line| line.then(&head)).expect("joins")
    }

    #[test]
    fn the_table_of_levers_says_what_a_tenth_a_unit_and_one_of_the_currency_do() {
        let plot = plot();
        let probe = Probe { place: plot.find("berry").expect("known"), kind: ProbeKind::Pressure };
        let sensitivity_table = sensitivity_table(&plot, &["zone"], &probe).expect("levers");
        insta::assert_snapshot!(
            sensitivity_table.table(UnitSystem::AsWritten).expect("a table").show(UnitSystem::AsWritten, None)
        );
        // 100 ft for $40: a dollar buys 2.5 ft.
        let length = sensitivity_table.sensitivity_table.iter().find(|lever| lever.path == "feed.length").expect("a lever");
        approx::assert_relative_eq!(length.per_currency_unit.expect("told"), length.slope * 2.5 * 0.3048, max_relative = 1e-12);
    }

    #[test]
    fn a_shut_zone_has_no_levers_and_the_message_says_so() {
        let plot = plot();
        let probe = |kind| Probe { place: plot.find("berry").expect("known"), kind };
        let dry = sensitivity_table(&plot, &[], &probe(ProbeKind::Pressure)).expect_err("shut");
        insta::assert_snapshot!(dry, @"sensitivity of 'berry' cannot be determined: no supply reaches it");
        let still = sensitivity_table(&plot, &[], &probe(ProbeKind::Flow)).expect_err("shut");
        insta::assert_snapshot!(still, @"no parameter affects 'berry' in this state: it is without flow or pressure");
    }
}
