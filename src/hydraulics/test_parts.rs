//! Parts for the tests of this room, in the units of the garden.

use crate::parts::{Kind, Part};
use crate::quantity::{Quantity, find_unit};

/// A part of a kind, named, with numbers and their units.
pub fn part(kind: Kind, name: &str, numbers: &[(&str, f64, &str)]) -> Part {
    let quantity = |value: f64, unit: &str| match unit {
        "" => Quantity::number(value),
        unit => Quantity::written(value, find_unit(unit).expect("a unit")),
    };
    let numbers: Vec<_> = numbers.iter().map(|&(number, value, unit)| (number, quantity(value, unit))).collect();
    Part::of_words(kind, Some(name), &numbers).expect("a sound part")
}
