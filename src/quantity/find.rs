//! Units by their names, for a dimension, and for "did you mean".

use super::dimension::{Dimension, dim};
use super::money::{find_money_unit, money_unit_for, money_units};
use super::unit::{DAY_S, FOOT_M, HOUR_S, MINUTE_S, UNITS, Unit, plain_unit};
use crate::nearest::{meaning, nearest};

/// All units, those of money after the others.
pub fn all_units() -> impl Iterator<Item = &'static Unit> {
    UNITS.iter().chain(money_units())
}

/// The unit of that symbol or script name; the symbol `in` and the name `inch` both find the inch.
pub fn find_unit(name: &str) -> Option<&'static Unit> {
    plain_unit(name).or_else(|| find_money_unit(name))
}

/// The unit in which a computed value of this dimension is shown, US or metric; none for unusual dimensions.
pub fn unit_for(dimension: Dimension, metric: bool) -> Option<&'static Unit> {
    if dimension.money != 0 {
        return money_unit_for(dimension, metric);
    }
    let first = UNITS.iter().find(|unit| unit.dimension == dimension)?;
    find_unit(if metric { first.metric } else { first.us })
}

/// The unit that fits a computed value of this size: times in seconds to days, lengths below a foot in inches and below a tenth of a
/// meter in millimeters, anything else as by [`unit_for`].
pub fn unit_for_size(dimension: Dimension, metric: bool, si: f64) -> Option<&'static Unit> {
    let symbol = match dimension {
        dim::TIME if si.is_finite() => match si.abs() {
            size if size < MINUTE_S => "s",
            size if size < 2.0 * HOUR_S => "min",
            size if size < 2.0 * DAY_S => "h",
            _ => "day",
        },
        dim::LENGTH if metric && si != 0.0 && si.abs() < 0.1 => "mm",
        dim::LENGTH if !metric && si != 0.0 && si.abs() < FOOT_M => "in",
        _ => return unit_for(dimension, metric),
    };
    find_unit(symbol)
}

/// Up to three unit names that look like the given one, best first, for "did you mean": a unit that means the same first, then units
/// that are spelt almost like it; those of money only where no other is.
pub fn nearest_units(name: &str) -> Vec<&'static str> {
    let of = |units: &'static [Unit]| units.iter().flat_map(|unit| unit.names.iter().copied().chain([unit.symbol]));
    nearest_of(name, of(UNITS), of(money_units()))
}

/// As [`nearest_units`], of the names for which `takes` is true; symbols, as `in`, are no names.
pub fn nearest_unit_names(name: &str, takes: impl Fn(&str) -> bool) -> Vec<&'static str> {
    let of = |units: &'static [Unit]| units.iter().flat_map(|unit| unit.names.iter().copied());
    nearest_of(name, of(UNITS).filter(|name| takes(name)), of(money_units()).filter(|name| takes(name)))
}

fn nearest_of(
    name: &str,
    plain: impl Iterator<Item = &'static str>,
    money: impl Iterator<Item = &'static str>,
) -> Vec<&'static str> {
    let meant: Vec<&str> = meaning(name).iter().copied().filter(|meant| find_unit(meant).is_some()).collect();
    if !meant.is_empty() {
        return meant;
    }
    let found = nearest(name, plain, 3);
    if found.is_empty() { nearest(name, money, 3) } else { found }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_metric_unit_of_every_unit_is_metric() {
        for unit in UNITS {
            let metric = find_unit(unit.metric).expect("a unit");
            assert_eq!((metric.symbol, metric.is_metric()), (unit.metric, true), "{}", unit.symbol);
        }
    }

    #[test]
    fn no_name_or_symbol_stands_for_two_units() {
        let mut seen = std::collections::HashMap::new();
        for unit in UNITS {
            let mut all: Vec<&str> = unit.names.to_vec();
            if !unit.names.contains(&unit.symbol) {
                all.push(unit.symbol);
            }
            for name in all {
                assert_eq!(seen.insert(name, unit.symbol), None, "{name} stands twice");
            }
        }
    }

    #[test]
    fn every_counterpart_exists_and_has_the_same_dimension() {
        for unit in UNITS {
            for other in [unit.us, unit.metric] {
                let found = find_unit(other).unwrap_or_else(|| panic!("{} names {other}", unit.symbol));
                assert_eq!(found.dimension, unit.dimension, "{} and {other}", unit.symbol);
            }
        }
    }

    #[test]
    fn a_misspelled_unit_finds_its_neighbors() {
        assert!(nearest_units("gmp").contains(&"gpm"));
        assert!(nearest_units("PSI").contains(&"psi"));
        assert!(nearest_units("EUR_per_m").contains(&"EUR_per_m"));
        assert_eq!(nearest_units("dollars"), ["USD"]);
        assert_eq!(nearest_units("dollars_per_kWh"), ["USD_per_kWh"]);
        assert_eq!(nearest_unit_names("inh", |name| !name.ends_with(['2', '3']))[0], "inch");
    }
}
