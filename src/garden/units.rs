//! In which units a garden answers: in those in which it was given.
//!
//! Knows what was written, and nothing of what is shown: `quantity` chooses the unit of each value, `UnitSystem` says how.

use super::Garden;
use crate::parts::{Part, Placing};
use crate::quantity::{Dimension, Preference, Quantity, UnitSystem, dim};

impl Garden {
    /// The units in which the garden was given, metric or US: those of the pressure of its first supply, else of the first value of a
    /// source (the level of a tank), else of most of its values; US where nothing was given in a unit of one system.
    pub fn units(&self) -> UnitSystem {
        let sources = || self.parts().iter().filter(|part| part.spec().placing == Placing::Source);
        let pressure = |part: &Part| told(part).find(|(dimension, _)| *dimension == dim::PRESSURE).map(|(_, metric)| metric);
        let by_source =
            sources().find_map(|part| pressure(part)).or_else(|| sources().find_map(|part| Some(told(part).next()?.1)));
        let metric = by_source.unwrap_or_else(|| {
            let (metric, us) = self
                .parts()
                .iter()
                .flat_map(|part| told(part))
                .fold((0, 0), |(metric, us), (_, is_metric)| if is_metric { (metric + 1, us) } else { (metric, us + 1) });
            metric > us
        });
        if metric { UnitSystem::AsWrittenMetric } else { UnitSystem::AsWritten }
    }

    /// A value that the garden gives, in SI, to be shown in its units.
    pub fn quantity(&self, si: f64, dimension: Dimension) -> Quantity {
        self.units().quantity(si, dimension)
    }
}

impl Part {
    /// The units in which most of its values were given, metric or US; US where none was given in a unit of one system.
    pub fn units(&self) -> UnitSystem {
        let (metric, us): (Vec<bool>, Vec<bool>) = told(self).map(|(_, metric)| metric).partition(|metric| *metric);
        if metric.len() > us.len() { UnitSystem::AsWrittenMetric } else { UnitSystem::AsWritten }
    }
}

/// Dimensions of the values that somebody gave in a unit of one system, and whether it is the metric one. Sizes of hoses and nozzles
/// do not count: the trade has them in inches in metric countries too.
fn told(part: &Part) -> impl Iterator<Item = (Dimension, bool)> + '_ {
    let sizes = |unit: &str| matches!(unit, "in" | "mm");
    part.written().filter_map(move |quantity| match quantity.preference {
        Preference::Written(unit) | Preference::Asked(unit) if !sizes(unit.symbol) => {
            Some((quantity.dimension, unit.suggests_metric()?))
        }
        _ => None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parts::Kind;
    use crate::quantity::find_unit;

    fn written(value: f64, unit: &str) -> Quantity {
        Quantity::written(value, find_unit(unit).expect("a unit"))
    }

    fn part(kind: Kind, numbers: &[(&str, Quantity)]) -> Garden {
        Garden::of(Part::of_words(kind, None, numbers).expect("a part"))
    }

    fn hose(length: Quantity) -> Garden {
        part(Kind::Hose, &[("length", length), ("diameter", written(0.5, "in"))])
    }

    #[test]
    fn a_garden_answers_in_the_units_of_its_supply() {
        let supply = |pressure| part(Kind::Supply, &[("static_pressure", pressure)]);
        for (pressure, units) in [
            (written(4.0, "bar"), UnitSystem::AsWrittenMetric),
            (written(400.0, "kPa"), UnitSystem::AsWrittenMetric),
            (written(40.0, "m water"), UnitSystem::AsWrittenMetric),
            (written(58.0, "psi"), UnitSystem::AsWritten),
        ] {
            for length in [written(30.0, "m"), written(100.0, "ft")] {
                let garden = supply(pressure).then(&hose(length)).expect("joined");
                assert_eq!(garden.units(), units, "{pressure}, {length}");
            }
        }
    }

    #[test]
    fn a_line_without_a_supply_answers_in_the_units_of_most_values() {
        assert_eq!(hose(written(30.0, "m")).units(), UnitSystem::AsWrittenMetric);
        assert_eq!(hose(written(100.0, "ft")).units(), UnitSystem::AsWritten);
        let mixed = hose(written(30.0, "m")).then(&hose(written(50.0, "ft"))).expect("joined");
        assert_eq!(mixed.units(), UnitSystem::AsWritten);
        assert_eq!(part(Kind::Point, &[]).units(), UnitSystem::AsWritten);
    }

    #[test]
    fn chosen_units_override_those_of_the_garden() {
        let own = UnitSystem::AsWrittenMetric;
        assert_eq!(UnitSystem::AsWritten.or_own(own), own);
        assert_eq!(UnitSystem::Us.or_own(own), UnitSystem::Us);
        let pressure = own.quantity(3e5, dim::PRESSURE);
        assert_eq!((pressure.to_string(), pressure.show(UnitSystem::Us)), ("3 bar".into(), "43.5 psi".into()));
    }
}
