//! Sizes out of all reason for a garden, with the value that was probably meant.

use super::catalog::sizes as say;
use super::finding::{Book, like};
use super::limits::{USUAL, Usual};
use super::phrase::{Limit, Value};
use crate::parts::Id;
use crate::quantity::{Preference, Quantity, Unit, find_unit};

pub(super) fn look(book: &mut Book) {
    let garden = book.garden;
    for (place, part) in garden.parts().iter().enumerate() {
        for usual in USUAL.iter().filter(|usual| usual.kind == part.kind()) {
            let Some(value) = part.quantity(usual.id).filter(|value| value.si.abs() < usual.low || value.si.abs() > usual.high)
            else {
                continue;
            };
            let entry = if usual.low > 0.0 { &say::UNLIKELY } else { &say::UNLIKELY_LARGE };
            let limit = |si: f64| Limit::of_practice(like(si, value), usual.unit);
            let finding = book.about(entry, place).with("parameter", words_of(usual.id)).with("value", value);
            let meant = meant(value, usual);
            let meant =
                (!meant.is_empty()).then(|| Value::List { items: meant.into_iter().map(Value::from).collect(), between: " or " });
            let low = (usual.low > 0.0).then(|| limit(usual.low));
            book.add(finding.with_some("low", low).with("high", limit(usual.high)).with_some("meant", meant));
        }
    }
}

fn words_of(id: Id) -> String {
    id.word().replace('_', " ")
}

/// Pairs of units that are taken for one another.
const MISTAKEN: &[[&str; 2]] =
    &[["inch", "mm"], ["ft", "m"], ["psi", "bar"], ["gpm", "lpm"], ["m", "mm"], ["m", "cm"], ["cm", "mm"]];

/// A quantity that shows in that unit, whatever the reader has chosen: the unit is what was mistaken.
fn asked(number: f64, unit: &'static Unit) -> Quantity {
    Quantity { preference: Preference::Asked(unit), ..Quantity::written(number, unit) }
}

/// Up to two values that would be usual: a fraction of an inch, the same number with another unit, a point in another place.
fn meant(value: Quantity, usual: &Usual) -> Vec<Quantity> {
    let Some(unit) = value.preference.unit() else { return Vec::new() };
    let number = unit.from_si(value.si);
    let number = if (number - number.round()).abs() < 1e-9 { number.round() } else { number };
    let is_usual = |quantity: &Quantity| (usual.low.max(f64::MIN_POSITIVE)..=usual.high).contains(&quantity.si);
    let is_inch = unit.symbol == "in";
    let fraction = match number {
        _ if !is_inch || number.fract() != 0.0 => None,
        1.0..8.0 => Some(number / 8.0),
        8.0 | 16.0 | 32.0 | 64.0 => Some(1.0 / number),
        _ => None,
    };
    if let Some(fraction) = fraction.map(|fraction| Quantity::written(fraction, unit)).filter(is_usual) {
        return vec![fraction];
    }
    let other_units = MISTAKEN.iter().filter_map(|pair| pair.iter().map(|name| find_unit(name)).collect::<Option<Vec<_>>>());
    let others = other_units
        .filter_map(|pair| pair.iter().position(|one| one.symbol == unit.symbol).map(|at| asked(number, pair[1 - at])));
    let shifted = [0.1, 10.0, 0.01, 100.0].map(|factor| Quantity::written(number * factor, unit));
    let mut found: Vec<Quantity> = others.filter(is_usual).chain(shifted.into_iter().filter(is_usual)).collect();
    found.truncate(2);
    found
}
