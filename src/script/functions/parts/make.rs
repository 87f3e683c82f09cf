//! From values of a script to parts: numbers with their units checked, lists of points, refinements.
//!
//! Has no functions of scripts; those of each kind of part are in its siblings.

use crate::parts::{Id, Kind, Parameter, Part, PartError};
use crate::quantity::{Dimension, Preference, Quantity, find_unit};
use crate::script::language::error::{Answer, ScriptError, raise, raise_about};
use crate::script::language::values::{argument, as_quantity, describe, expect_quantity};
use rhai::{Array, Dynamic, EvalAltResult};

pub fn build(kind: Kind, name: Option<&str>, numbers: &[(Id, &Dynamic)]) -> Answer<Part> {
    let word = kind.spec().word;
    let mut checked = Vec::with_capacity(numbers.len());
    for (id, value) in numbers {
        let dimension = id.dimension();
        let what = format!("{word}: {}", id.word().replace('_', " "));
        if let (Some(plain), Some(spec)) =
            (as_quantity(value).filter(|found| found.dimension.is_number()), kind.spec().parameter(*id))
            && !dimension.is_number()
        {
            return Err(without_unit(plain, spec, &what));
        }
        let si = expect_quantity(value, dimension, &what)?;
        let preference = as_quantity(value).map_or(Preference::Usual, |quantity| quantity.preference);
        checked.push((*id, Quantity { si, dimension, preference }));
    }
    Part::build(kind, name, &checked).map_err(raise)
}

pub fn refine(part: Part, id: Id, value: &Dynamic) -> Answer<Part> {
    let quantity = quantity_for(&part, id, value)?;
    part.with(&[(id, quantity)]).map_err(|error| match error {
        PartError::UnknownParameter { .. } => raise(error),
        _ => raise_about(error, id.word()),
    })
}

/// A value for a parameter: plain numbers stay plain, everything else must be a quantity.
pub fn quantity_for(part: &Part, id: Id, value: &Dynamic) -> Answer<Quantity> {
    as_quantity(value).ok_or_else(|| {
        ScriptError::new(format!("{}: {id} must be a number or quantity, found {}", part.title(), describe(value)))
            .about(id.word())
            .into()
    })
}

/// The error for a plain number where a quantity belongs; advises the unit in which that number is usually written.
fn without_unit(plain: Quantity, spec: &Parameter, what: &str) -> Box<EvalAltResult> {
    let unit = find_unit(spec.unit).map_or("unit", |unit| unit.names[0]);
    let number = if plain.si.fract() == 0.0 { format!("{plain}") } else { format!("({plain})") };
    ScriptError::new(format!("{what} must be {}, found {}", spec.dimension(), plain.described()))
        .with_hint(format!("give it a unit, as in {number}.{unit}"))
        .about(argument(what))
        .into()
}

/// The unit of the first or second value of the first pair in a list of pairs.
pub fn unit_of_pairs(points: &Array, side: usize) -> Preference {
    let first = points.first().and_then(|pair| pair.read_lock::<Array>().map(|pair| pair.clone()));
    first.and_then(|pair| pair.get(side).and_then(as_quantity)).map_or(Preference::Usual, |quantity| quantity.preference)
}

/// Pairs of quantities, in SI, from a list of lists of two.
pub fn pairs(points: &Array, word: &str, first: (&str, Dimension), second: (&str, Dimension)) -> Answer<Vec<(f64, f64)>> {
    let mut found = Vec::with_capacity(points.len());
    for (index, point) in points.iter().enumerate() {
        let number = index + 1;
        let pair = point.read_lock::<Array>().map(|pair| pair.clone()).filter(|pair| pair.len() == 2);
        let Some(pair) = pair else {
            let what =
                format!("{word}: point {number} must be a pair of {} and {}, found {}", first.0, second.0, describe(point));
            return Err(ScriptError::new(what)
                .with_hint(
                    "write a list of pairs, as in {[[0.gpm, 40.psi], [10.gpm, 20.psi]]|[[0.lpm, 3.bar], [40.lpm, 1.5.bar]]}",
                )
                .into());
        };
        let a = expect_quantity(&pair[0], first.1, &format!("{word}: {} of point {number}", first.0))?;
        let b = expect_quantity(&pair[1], second.1, &format!("{word}: {} of point {number}", second.0))?;
        found.push((a, b));
    }
    Ok(found)
}
