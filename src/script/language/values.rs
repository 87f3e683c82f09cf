//! Values of a script as the other rooms know them: quantities, names; and what a message calls them.
//!
//! The units and the laws of dimensions are in `crate::quantity`.

use super::error::{Answer, ScriptError};
use super::types::rust_type_in_words;
use crate::moment::WEEKDAYS;
use crate::nearest::did_you_mean;
use crate::quantity::{Dimension, Quantity, UnitSystem, dim, show_number, unit_for};
use crate::table::{Cell, TableColumn};
use rhai::{Array, Dynamic, Map};

/// Characters of a text that a message repeats.
const LONGEST_TEXT: usize = 60;

/// A number or quantity as a quantity; nothing for other values.
pub fn as_quantity(value: &Dynamic) -> Option<Quantity> {
    if let Ok(whole) = value.as_int() {
        return Some(Quantity::number(whole as f64));
    }
    if let Ok(number) = value.as_float() {
        return Some(Quantity::number(number));
    }
    value.read_lock::<Quantity>().map(|quantity| *quantity)
}

/// A quantity as a script value: a plain number when it has no dimension.
///
/// Errors: a result that is not finite.
pub fn value_of(quantity: Quantity) -> Answer<Dynamic> {
    if !quantity.si.is_finite() {
        return Err(too_large().into());
    }
    if quantity.dimension.is_number() {
        return Ok(Dynamic::from_float(quantity.si));
    }
    Ok(Dynamic::from(quantity))
}

/// A cell of a table as a script value; missing is `()`.
pub fn cell_value(cell: &Cell) -> Answer<Dynamic> {
    Ok(match cell {
        Cell::Missing => Dynamic::UNIT,
        Cell::Quantity(quantity) => return value_of(*quantity),
        Cell::Text(text) => text.clone().into(),
        Cell::Flag(flag) => (*flag).into(),
        Cell::Date(date) => Dynamic::from(*date),
    })
}

/// The cells of a column as a list.
pub fn column_list(series: &TableColumn) -> Answer<Array> {
    series.cells().map(|cell| cell_value(&cell)).collect()
}

/// The error of a result that is not finite.
pub(super) fn too_large() -> ScriptError {
    ScriptError::new("the result is too large or not a number").with_hint("check the numbers and their units")
}

/// The SI value of an argument that must have a dimension; `what` names function and argument, as in `hose: length`.
///
/// Errors name what was found: a value of another dimension, a plain number without its unit, or something else.
pub fn expect_quantity(value: &Dynamic, dimension: Dimension, what: &str) -> Answer<f64> {
    let Some(quantity) = as_quantity(value) else {
        let error = ScriptError::new(format!("{what} must be {dimension}, found {}", describe(value))).about(argument(what));
        return Err(error.with_hint(example_of(dimension)).into());
    };
    if quantity.dimension == dimension && quantity.si.is_finite() {
        return Ok(quantity.si);
    }
    let error = ScriptError::new(format!("{what} must be {dimension}, found {}", quantity.described())).about(argument(what));
    let inverse = dimension.power(-1) == quantity.dimension && !dimension.is_number();
    let hint = if inverse {
        let unit = if dimension == dim::LENGTH { "inch".to_string() } else { usual_name(dimension) };
        format!("write (5/8).{unit}: in 5/8.{unit} the unit binds to the 8 alone")
    } else if quantity.dimension.is_number() {
        let shown = show_number(quantity.si);
        let number = if quantity.si.fract() == 0.0 { shown } else { format!("({shown})") };
        format!("give it a unit, as in {number}.{}", name_for(dimension, what))
    } else if argument(what) == "nozzle" && quantity.dimension == dim::FLOW {
        "give its diameter, or the flow at a pressure: head(name).rated_flow({2.gpm, 40.psi|8.lpm, 2.bar})".into()
    } else if dimension.is_number() {
        "give a number without a unit".into()
    } else if (dimension, quantity.dimension) == (dim::SPEED, dim::LENGTH) {
        "a rate is a depth in a time: divide the depth by that time, as in {0.5.inch / 1.h|12.mm / 1.h}".into()
    } else {
        format!("give {dimension}, as in 30.{}", name_for(dimension, what))
    };
    Err(error.with_hint(hint).into())
}

/// A computed value in the units of a given one: metric where that was written in a metric unit.
pub fn like_given(si: f64, dimension: Dimension, given: &Dynamic) -> Dynamic {
    let metric = as_quantity(given).and_then(|given| given.preference.suggests_metric()).unwrap_or(false);
    let units = if metric { UnitSystem::AsWrittenMetric } else { UnitSystem::AsWritten };
    Dynamic::from(units.quantity(si, dimension))
}

/// An argument that must be a plain finite number.
pub fn expect_number(value: &Dynamic, what: &str) -> Answer<f64> {
    match as_quantity(value) {
        Some(quantity) if quantity.dimension.is_number() && quantity.si.is_finite() => Ok(quantity.si),
        _ => {
            let error = ScriptError::new(format!("{what} must be a plain number, found {}", describe(value)));
            let error = error.about(argument(what));
            Err(if as_quantity(value).is_some() { error.with_hint("give a number without a unit") } else { error }.into())
        }
    }
}

/// The name of the argument in `hose: length`.
pub fn argument(what: &str) -> &str {
    what.split_once(": ").map_or(what, |(_, argument)| argument)
}

/// A value in words, for messages.
pub fn describe(value: &Dynamic) -> String {
    if let Some(quantity) = as_quantity(value) {
        return quantity.described();
    }
    if let Ok(text) = value.as_immutable_string_ref() {
        let short: String = text.chars().take(LONGEST_TEXT).collect();
        let more = if short.len() < text.len() { "..." } else { "" };
        return format!("the string \"{short}{more}\"");
    }
    rust_type_in_words(value.type_name())
}

/// The unit that is likely meant: times of watering are minutes, those between waterings days.
fn name_for(dimension: Dimension, what: &str) -> String {
    let word = what.split(':').next().unwrap_or_default();
    match word {
        "takes_in" if dimension == dim::SPEED => "{in_per_h|mm_per_h}".into(),
        _ if dimension == dim::LENGTH && matches!(argument(what), "nozzle" | "diameter" | "bore") => "{inch|mm}".into(),
        "zone" | "delay_between_zones" | "open_by_hand" | "lasts_for" if dimension == dim::TIME => "min".into(),
        "every" | "operate" | "sweep_operation" | "failure_study" if dimension == dim::TIME => "days".into(),
        _ => usual_name(dimension),
    }
}

fn example_of(dimension: Dimension) -> String {
    if dimension.is_number() { String::new() } else { format!("give a number with a unit, as in 30.{}", usual_name(dimension)) }
}

/// The script name of the unit in which people usually write this dimension, for a hint: one in each system where they differ.
fn usual_name(dimension: Dimension) -> String {
    let name = |metric| unit_for(dimension, metric).map_or("unit", |unit| unit.names[0]);
    let (us, metric) = (name(false), name(true));
    if us == metric { us.into() } else { format!("{{{us}|{metric}}}") }
}

/// The place in the week of a day by its name, from Monday; three letters of it are enough.
pub fn weekday(name: &str, word: &str, hint: &str) -> Answer<usize> {
    let found = WEEKDAYS.iter().position(|day| name.get(..3).is_some_and(|start| start.eq_ignore_ascii_case(day)));
    found.ok_or_else(|| {
        ScriptError::new(format!("{word}: '{name}' is not a day of the week")).about("days").with_hint(hint).into()
    })
}

/// Refuses a map with a key that is not known; `refusal` says so of it, and the hint is the nearest known key or else `otherwise`.
pub fn only_keys(map: &Map, known: &[&str], refusal: impl Fn(&str) -> String, otherwise: &str) -> Answer<()> {
    let Some(other) = map.keys().find(|key| !known.contains(&key.as_str())) else { return Ok(()) };
    let hint = did_you_mean(other, known.iter().copied()).unwrap_or_else(|| otherwise.into());
    Err(ScriptError::new(refusal(other)).with_hint(hint).into())
}

/// The names in a text or a list of texts; nothing for an empty list.
pub fn as_names(value: &Dynamic, word: &str) -> Answer<Vec<String>> {
    if let Ok(text) = value.as_immutable_string_ref() {
        return Ok(vec![text.to_string()]);
    }
    let column = value.read_lock::<TableColumn>().map(|series| column_list(&series)).transpose()?;
    if let Some(list) = column.or_else(|| value.read_lock::<Array>().map(|list| list.clone())) {
        return list.iter().map(|item| Ok(as_names(item, word)?.remove(0))).collect();
    }
    let error = ScriptError::new(format!("{word} takes a name or a list of names, found {}", describe(value)));
    Err(error.with_hint("write \"beds\" or [\"beds\", \"berries\"]").into())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::read_quantity;

    fn refused(value: impl Into<Dynamic>, dimension: Dimension) -> ScriptError {
        let error = expect_quantity(&value.into(), dimension, "hose: length").expect_err("it is refused");
        ScriptError::inside(&error).expect("an error of ours")
    }

    fn quantity(text: &str) -> Dynamic {
        Dynamic::from(read_quantity(text).expect("a quantity of the test"))
    }

    #[test]
    fn a_time_of_watering_is_taken_for_minutes() {
        assert_eq!(name_for(dim::TIME, "zone: time"), "min");
        assert_eq!(
            (name_for(dim::TIME, "every: time"), name_for(dim::TIME, "water_hammer: closing time")),
            ("days".to_string(), "s".to_string())
        );
    }

    #[test]
    fn an_argument_of_another_dimension_is_named() {
        let error = refused(quantity("30 psi"), dim::LENGTH);
        assert_eq!(error.to_string(), "hose: length must be a length, found 30 psi (a pressure)");
        assert_eq!(error.told(UnitSystem::AsWritten).1.as_deref(), Some("give a length, as in 30.ft"));
    }

    #[test]
    fn a_plain_number_is_told_to_take_a_unit() {
        assert_eq!(refused(100_i64, dim::LENGTH).told(UnitSystem::AsWritten).1.as_deref(), Some("give it a unit, as in 100.ft"));
        assert_eq!(
            refused(0.625, dim::LENGTH).told(UnitSystem::AsWritten).1.as_deref(),
            Some("give it a unit, as in (0.625).ft")
        );
    }

    #[test]
    fn a_fraction_without_brackets_is_explained() {
        let inverse = Dynamic::from(Quantity::new(5.0 / (8.0 * 0.0254), dim::LENGTH.power(-1)));
        let error = refused(inverse, dim::LENGTH);
        assert_eq!(
            error.told(UnitSystem::AsWritten).1.as_deref(),
            Some("write (5/8).inch: in 5/8.inch the unit binds to the 8 alone")
        );
    }

    #[test]
    fn a_text_is_told_what_is_wanted() {
        let error = refused("100 ft", dim::LENGTH);
        assert_eq!(error.to_string(), "hose: length must be a length, found the string \"100 ft\"");
        assert_eq!(error.told(UnitSystem::AsWritten).1.as_deref(), Some("give a number with a unit, as in 30.ft"));
    }

    #[test]
    fn a_right_argument_comes_out_in_si() {
        let length = expect_quantity(&quantity("100 ft"), dim::LENGTH, "hose: length").expect("a length");
        assert!((length - 30.48).abs() < 1e-12);
        assert_eq!(expect_number(&Dynamic::from(3_i64), "k").ok(), Some(3.0));
    }
}
