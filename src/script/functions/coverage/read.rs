//! From values of a script to beds, places and bearings.
//!
//! Contains no script functions; those are in its siblings.

use crate::coverage::{Ground, GroundError, Outline};
use crate::quantity::{Preference, Quantity, dim};
use crate::script::language::error::{Answer, ScriptError, raise_as};
use crate::script::language::values::{as_quantity, describe, expect_number, expect_quantity};
use rhai::{Array, Dynamic};

/// A share in percent.
pub fn percent(share: f64) -> f64 {
    100.0 * share
}

/// Two lengths, the smaller first; `what` names function and argument, as in `coverage: x`.
pub fn span(list: &Array, what: &str) -> Answer<(f64, f64)> {
    let [from, to] = list.as_slice() else {
        let word = what.split(':').next().unwrap_or_default();
        let error = ScriptError::new(format!("{what} has {} values; expected two", list.len()));
        let hint = format!("give the bed as in {word}({{[0.ft, 30.ft], [0.ft, 20.ft]|[0.m, 9.m], [0.m, 6.m]}})");
        return Err(error.with_hint(hint).into());
    };
    let ends = [from, to].map(|end| expect_quantity(end, dim::LENGTH, what));
    let [from, to] = ends;
    let (from, to) = (from?, to?);
    Ok((from.min(to), from.max(to)))
}

/// A list, without its lock.
fn list_of(value: &Dynamic) -> Option<Array> {
    value.read_lock::<Array>().map(|list| list.clone())
}

/// One outline or several: a list of corners, each a list of x and y, or a list of such lists.
pub fn outlines(list: &Array, word: &str) -> Answer<Vec<Outline>> {
    let is_corner = |value: &Dynamic| list_of(value).is_some_and(|corner| corner.first().and_then(as_quantity).is_some());
    if list.iter().any(is_corner) || list.is_empty() {
        return Ok(vec![outline(list, word)?]);
    }
    let one = |(index, value): (usize, &Dynamic)| {
        let corners = list_of(value).ok_or_else(|| {
            let what = format!("{word}: bed {} must be a list of corners, found {}", index + 1, describe(value));
            ScriptError::new(what).with_hint(EXAMPLE)
        })?;
        outline(&corners, word)
    };
    list.iter().enumerate().map(one).collect()
}

const EXAMPLE: &str =
    "give the corners in order, as in {[[0.ft, 0.ft], [30.ft, 0.ft], [30.ft, 20.ft]]|[[0.m, 0.m], [9.m, 0.m], [9.m, 6.m]]}";

fn outline(list: &Array, word: &str) -> Answer<Outline> {
    let mut corners = Vec::with_capacity(list.len());
    for (index, value) in list.iter().enumerate() {
        let Some([x, y]) = list_of(value).and_then(|corner| <[Dynamic; 2]>::try_from(corner).ok()) else {
            let what = format!("{word}: corner {} must be a list of x and y, found {}", index + 1, describe(value));
            return Err(ScriptError::new(what).with_hint(EXAMPLE).into());
        };
        let number = index + 1;
        let x_m = expect_quantity(&x, dim::LENGTH, &format!("{word}: x of corner {number}"))?;
        let y_m = expect_quantity(&y, dim::LENGTH, &format!("{word}: y of corner {number}"))?;
        corners.push((x_m, y_m));
    }
    let first = list.first().and_then(list_of).and_then(|corner| corner.first().and_then(as_quantity));
    let preference = first.map_or(Preference::Usual, |x| x.preference);
    Outline::new(corners).map_err(|error| raise_as(word)(in_unit(error, preference)))
}

/// The error with its places in the unit in which the corners were given.
fn in_unit(error: GroundError, preference: Preference) -> GroundError {
    match error {
        GroundError::Crossing { first, second, x, y } => {
            let [x, y] = [x, y].map(|length| Quantity { preference, ..length });
            GroundError::Crossing { first, second, x, y }
        }
        other => other,
    }
}

/// Ground of one bed or several.
pub fn beds(list: &Array, word: &str) -> Answer<Ground> {
    Ground::new(outlines(list, word)?, Vec::new()).map_err(|error| raise_as(word)(error))
}

/// The words for bearings, every eighth of a turn.
const BEARINGS: [(&str, &str); 8] = [
    ("north", "N"),
    ("northeast", "NE"),
    ("east", "E"),
    ("southeast", "SE"),
    ("south", "S"),
    ("southwest", "SW"),
    ("west", "W"),
    ("northwest", "NW"),
];

/// A bearing from which wind blows, degrees clockwise from the y axis: a number, or a name.
pub fn from_bearing(value: &Dynamic) -> Answer<f64> {
    let Ok(text) = value.as_immutable_string_ref() else { return expect_number(value, "wind: bearing") };
    let asked = text.to_lowercase();
    let found = BEARINGS.iter().position(|(word, short)| *word == asked || short.to_lowercase() == asked);
    found.map(|eighth| 45.0 * eighth as f64).ok_or_else(|| {
        let error = ScriptError::new(format!("wind: there is no bearing '{}'", &*text)).about("bearing");
        error.with_hint("write degrees clockwise from north, as in 270, or a name such as \"west\" or \"NW\"").into()
    })
}
