//! A quantity: an SI number, its dimension, and the unit its writer prefers.
//!
//! Knows the arithmetic of dimensions; solution and showing live beside it.

use super::dimension::{Dimension, dim};
use super::find::{find_unit, nearest_units, unit_for};
use super::unit::Unit;
use crate::told::Told;
use crate::unit_system::{chosen, units_of_texts};
use std::cmp::Ordering;
use thiserror::Error;

/// How strongly a quantity holds on to a unit when it is shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Preference {
    /// Computed: shown in the usual unit of the chosen system.
    Usual,
    /// Written in this unit: shown in it, or in its counterpart when the other system is chosen.
    Written(&'static Unit),
    /// Converted by request: always shown in this unit.
    Asked(&'static Unit),
    /// Seconds after midnight, shown as a time of the day, `05:30`.
    Clock,
}

impl Preference {
    /// Whether the unit that somebody wrote is a metric one; none for computed values and for units of both systems.
    pub fn suggests_metric(self) -> Option<bool> {
        self.unit().and_then(Unit::suggests_metric)
    }

    /// That of a result of another dimension: metric where its first operand with a unit of one system is.
    fn of_result(dimension: Dimension, operands: [Preference; 2]) -> Preference {
        let metric = operands.into_iter().find_map(Preference::suggests_metric).unwrap_or(false);
        let unit = unit_for(dimension, true).filter(|unit| metric && unit.suggests_metric().is_some());
        unit.map_or(Preference::Usual, Preference::Written)
    }

    /// As if somebody had written it in the unit of that name.
    pub fn written_in(unit_name: &str) -> Preference {
        find_unit(unit_name).map_or(Preference::Usual, Preference::Written)
    }

    /// The unit that somebody wrote or asked for.
    pub fn unit(self) -> Option<&'static Unit> {
        match self {
            Preference::Written(unit) | Preference::Asked(unit) => Some(unit),
            Preference::Usual | Preference::Clock => None,
        }
    }

    /// That of a length of time, which a multiple of a time of the day is, or the difference of two.
    pub fn of_length(self) -> Preference {
        if self == Preference::Clock { Preference::written_in("min") } else { self }
    }
}

/// A number with a dimension. Pressures are gauge; temperatures are readings, in kelvin inside. Equal are those that are shown alike.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Quantity {
    /// The value in SI units of the dimension; finite wherever it was checked.
    pub si: f64,
    /// What kind of thing it is a number of.
    pub dimension: Dimension,
    /// The unit in which it is shown.
    pub preference: Preference,
}

/// What can be wrong with a calculation on quantities.
#[derive(Debug, Error, Clone, PartialEq)]
pub enum QuantityError {
    /// The two are of dimensions that do not go together in this calculation or comparison.
    #[error("cannot {operation} {left} and {right}")]
    Mixed {
        /// What was tried: `add`, `subtract`, `compare`, `raise`.
        operation: &'static str,
        /// The first value with its dimension in words.
        left: String,
        /// The second value with its dimension in words.
        right: String,
    },
    /// The two are money of two currencies.
    #[error("cannot {operation} {left} and {right}: they are of two currencies")]
    TwoCurrencies {
        /// What was tried: `add`, `subtract`, `compare`, `multiply`, `divide`, `convert`.
        operation: &'static str,
        /// The first value, with its currency.
        left: String,
        /// The second value, or the unit, with its currency.
        right: String,
    },
    /// Money of one currency was asked for in a unit of another.
    #[error("cannot convert {value} to {unit} without a rate")]
    OtherCurrency {
        /// The value in its currency.
        value: String,
        /// Symbol of the unit.
        unit: String,
    },
    /// Two readings of a thermometer were to be added.
    #[error("cannot add two temperatures, {left} and {right}: a temperature is a reading on a scale")]
    TwoTemperatures {
        /// The first solution, in the unit it is shown in.
        left: String,
        /// The second solution, in the unit it is shown in.
        right: String,
    },
    /// A solution of a thermometer was to be multiplied, divided, raised or negated.
    #[error("cannot {operation} a temperature ({value}): it is a reading on a scale; only differences can be scaled")]
    ScaledTemperature {
        /// What was tried, such as `multiply` or `take the root of`.
        operation: &'static str,
        /// The solution, in the unit it is shown in.
        value: String,
    },
    /// The exponents of the dimension do not divide by n, or n is not a number from 1 to 127.
    #[error("cannot take root {n} of {value}, which is {dimension}")]
    Root {
        /// Which root: 2 is the square root.
        n: i64,
        /// The value in the unit it is shown in.
        value: String,
        /// What the value is.
        dimension: Dimension,
    },
    /// No unit has that name.
    #[error("unknown unit '{name}'")]
    UnknownUnit {
        /// The name as it was given.
        name: String,
        /// Units that are spelt almost like it; empty where none is near.
        nearest: Vec<&'static str>,
    },
    /// A value in a unit is infinite in SI units, or so small that it loses its digits.
    #[error("{value} {unit} is too {size} to calculate with")]
    OutOfRange {
        /// The number as it was given, in `unit`.
        value: f64,
        /// Symbol of the unit.
        unit: &'static str,
        /// `large` or `small`.
        size: &'static str,
    },
    /// A calculation comes to infinity or to no number.
    #[error("{calculation} {}", if result.is_nan() { "has no value" } else { "is too large to calculate with" })]
    NotFinite {
        /// The calculation in words, such as `30 psi * 1e300`.
        calculation: String,
        /// What it came to: infinite or NaN.
        result: f64,
    },
    /// The powers of the base units have grown beyond those of any quantity.
    #[error("{calculation} has a dimension that no quantity has")]
    NoDimension {
        /// The calculation in words.
        calculation: String,
    },
    /// A unit was asked for that measures something else.
    #[error("cannot show {dimension} ({value}) in {unit}")]
    WrongUnit {
        /// The value in the unit it is shown in.
        value: String,
        /// What the value is.
        dimension: Dimension,
        /// Symbol of the unit that was asked for.
        unit: &'static str,
    },
}

impl Told for QuantityError {
    fn hint(&self) -> Option<String> {
        match self {
            QuantityError::Mixed { .. } => {
                Some(chosen("give both the same dimension; a plain number needs a unit, as in {30.psi|2.bar}"))
            }
            QuantityError::TwoCurrencies { .. } | QuantityError::OtherCurrency { .. } => {
                Some("state a rate and convert one of them, as in 50.EUR.to(\"USD\", rate(1.EUR, 1.08.USD))".into())
            }
            QuantityError::TwoTemperatures { .. } => Some("add a difference instead, as in 15.degC + 5.kelvin".into()),
            QuantityError::ScaledTemperature { .. } => {
                Some("take the difference to a reference first, as in (25.degC - 15.degC) * 2".into())
            }
            QuantityError::Root { .. } => None,
            QuantityError::UnknownUnit { nearest, .. } if nearest.is_empty() => Some("help(\"units\") lists all units".into()),
            QuantityError::UnknownUnit { nearest, .. } => Some(format!("did you mean {}?", nearest.join(" or "))),
            QuantityError::OutOfRange { .. } => Some("check the number and its unit".into()),
            QuantityError::NotFinite { .. } | QuantityError::NoDimension { .. } => {
                Some("check the numbers and their units".into())
            }
            QuantityError::WrongUnit { .. } => Some("choose a unit of the same dimension; help(\"units\") lists them".into()),
        }
    }
}

/// The result of a calculation, which its words name, as in `30 psi * 1e300`.
///
/// Errors: a result that is infinite or not a number.
#[inline]
pub fn finite(result: f64, calculation: impl FnOnce() -> String) -> Result<f64, QuantityError> {
    if result.is_finite() { Ok(result) } else { Err(QuantityError::NotFinite { calculation: calculation(), result }) }
}

/// Relative difference below which two numbers count as equal, so that `1.ft == 12.inch`.
const EQUAL_WITHIN: f64 = 1e-12;

/// True for two numbers that differ by rounding alone.
#[inline]
pub fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= EQUAL_WITHIN * a.abs().max(b.abs())
}

/// A value as it stands in a calculation: in brackets where it begins with a minus.
pub fn operand(value: Quantity) -> String {
    let text = value.to_string();
    if text.starts_with('-') { format!("({text})") } else { text }
}

/// [`finite`] for an operator between two quantities.
fn finite_between(result: f64, left: Quantity, operator: &str, right: Quantity) -> Result<f64, QuantityError> {
    finite(result, || between(left, operator, right))
}

fn between(left: Quantity, operator: &str, right: Quantity) -> String {
    format!("{} {operator} {}", operand(left), operand(right))
}

/// A dimension that is the result of a calculation. Errors: powers of base units that no quantity has.
fn sound(dimension: Dimension, calculation: impl FnOnce() -> String) -> Result<Dimension, QuantityError> {
    dimension.sound().ok_or_else(|| QuantityError::NoDimension { calculation: calculation() })
}

impl Quantity {
    /// A computed quantity; `si` is in SI units of the dimension.
    pub fn new(si: f64, dimension: Dimension) -> Quantity {
        Quantity { si, dimension, preference: Preference::Usual }
    }

    /// A plain number.
    pub fn number(value: f64) -> Quantity {
        Quantity::new(value, dim::NUMBER)
    }

    /// A quantity as somebody wrote it: a value in a unit.
    pub fn written(value: f64, unit: &'static Unit) -> Quantity {
        Quantity { si: unit.to_si(value), dimension: unit.dimension, preference: Preference::Written(unit) }
    }

    /// Like [`Quantity::written`], for a value of which nothing is known.
    ///
    /// Errors: a value that is infinite in SI units, or so small that it loses its digits.
    pub fn checked(value: f64, unit: &'static Unit) -> Result<Quantity, QuantityError> {
        let quantity = Quantity::written(value, unit);
        match quantity.misfit(value) {
            None => Ok(quantity),
            Some(size) => Err(QuantityError::OutOfRange { value, unit: unit.symbol, size }),
        }
    }

    /// Why a quantity that was made from this value cannot be calculated with; none when it can.
    pub(super) fn misfit(self, value: f64) -> Option<&'static str> {
        if !self.si.is_finite() {
            return Some("large");
        }
        let lost = self.si == 0.0 && value != 0.0 || self.si.is_subnormal();
        lost.then_some("small")
    }

    /// The same quantity, shown in the named unit from now on.
    ///
    /// Errors: an unknown unit names the nearest ones; a unit of another dimension is refused.
    pub fn to(self, unit_name: &str) -> Result<Quantity, QuantityError> {
        let unit = self.checked_unit(unit_name)?;
        finite(unit.from_si(self.si), || format!("{self} in {}", unit.symbol))?;
        Ok(Quantity { preference: Preference::Asked(unit), ..self })
    }

    /// The plain value in the named unit. Errors as for [`Quantity::to`], and a value that is infinite in that unit.
    pub fn in_unit(self, unit_name: &str) -> Result<f64, QuantityError> {
        let unit = self.checked_unit(unit_name)?;
        finite(unit.from_si(self.si), || format!("{self} in {}", unit.symbol))
    }

    /// The sum. Errors: two dimensions, two readings of a thermometer, a sum that is infinite.
    pub fn plus(self, other: Quantity) -> Result<Quantity, QuantityError> {
        if self.dimension == dim::TEMPERATURE && other.dimension == dim::TEMPERATURE {
            return Err(QuantityError::TwoTemperatures { left: self.to_string(), right: other.to_string() });
        }
        let dimension = self.sum_dimension(other, "add")?;
        let later = other.preference == Preference::Clock;
        let preference = if self.dimension == dimension && !later { self.preference } else { other.preference };
        let si = finite_between(self.si + other.si, self, "+", other)?;
        Ok(Quantity { si, dimension, preference })
    }

    /// The difference; that of two readings of a thermometer is a temperature difference. Errors: as for [`Quantity::plus`].
    pub fn minus(self, other: Quantity) -> Result<Quantity, QuantityError> {
        if self.dimension == dim::TEMPERATURE && other.dimension == dim::TEMPERATURE {
            let degrees = match self.preference.unit().map(|unit| unit.symbol) {
                Some("degF") => "degF difference",
                Some("degC") => "degC difference",
                _ => "K",
            };
            let preference = Preference::written_in(degrees);
            return Ok(Quantity { preference, ..Quantity::new(self.si - other.si, dim::TEMPERATURE_DIFFERENCE) });
        }
        if other.dimension == dim::TEMPERATURE {
            return Err(QuantityError::Mixed { operation: "subtract", left: self.described(), right: other.described() });
        }
        let dimension = self.sum_dimension(other, "subtract")?;
        let si = finite_between(self.si - other.si, self, "-", other)?;
        let preference = if other.preference == Preference::Clock { self.preference.of_length() } else { self.preference };
        Ok(Quantity { si, dimension, preference })
    }

    /// The product. Errors: a solution of a thermometer, a product that is infinite or of a dimension that no quantity has.
    pub fn times(self, other: Quantity) -> Result<Quantity, QuantityError> {
        self.refuse_temperature("multiply")?;
        other.refuse_temperature("multiply")?;
        self.refuse_two_currencies("multiply", other)?;
        let si = finite_between(self.si * other.si, self, "*", other)?;
        let dimension = sound(self.dimension.times(other.dimension), || between(self, "*", other))?;
        let preference = if other.dimension.is_number() {
            self.preference.of_length()
        } else if self.dimension.is_number() {
            other.preference.of_length()
        } else {
            Preference::of_result(dimension, [self.preference, other.preference])
        };
        Ok(Quantity { si, dimension, preference })
    }

    /// The quotient. Errors: as for [`Quantity::times`]; a divisor of zero gives a quotient that is infinite or no number.
    pub fn over(self, other: Quantity) -> Result<Quantity, QuantityError> {
        self.refuse_temperature("divide")?;
        other.refuse_temperature("divide")?;
        self.refuse_two_currencies("divide", other)?;
        let si = finite_between(self.si / other.si, self, "/", other)?;
        let dimension = sound(self.dimension.over(other.dimension), || between(self, "/", other))?;
        let preference =
            if other.dimension.is_number() { self.preference.of_length() } else { self.preference_of_quotient(other, dimension) };
        Ok(Quantity { si, dimension, preference })
    }

    /// Flow by area is an application rate and shows as one: in/h, or mm/h where the flow was written in a metric unit.
    fn preference_of_quotient(self, other: Quantity, dimension: Dimension) -> Preference {
        if (self.dimension, other.dimension) != (dim::FLOW, dim::AREA) {
            return Preference::of_result(dimension, [self.preference, other.preference]);
        }
        let metric = self.preference.suggests_metric() == Some(true);
        Preference::written_in(if metric { "mm/h" } else { "in/h" })
    }

    /// A whole power. Errors: a solution of a thermometer, a power beyond 12 of what has a unit, a result that is not finite.
    pub fn power(self, exponent: i64) -> Result<Quantity, QuantityError> {
        self.refuse_temperature("raise")?;
        let small = i8::try_from(exponent).ok().filter(|e| e.abs() <= 12);
        let Some(small) = small.or(if self.dimension.is_number() { Some(0) } else { None }) else {
            return Err(QuantityError::Mixed {
                operation: "raise",
                left: self.described(),
                right: format!("the power {exponent}"),
            });
        };
        let calculation = || format!("{} ** {exponent}", operand(self));
        let si = finite(self.si.powf(exponent as f64), calculation)?;
        Ok(self.result(si, sound(self.dimension.power(small), calculation)?))
    }

    /// The n-th root; the exponents of the dimension must divide by n.
    pub fn root(self, n: i64) -> Result<Quantity, QuantityError> {
        self.refuse_temperature("take the root of")?;
        let fail = || QuantityError::Root { n, value: self.to_string(), dimension: self.dimension };
        let small = i8::try_from(n).map_err(|_| fail())?;
        let dimension = self.dimension.root(small).ok_or_else(fail)?;
        let si = finite(self.si.powf(1.0 / n as f64), || format!("root {n} of {self}"))?;
        Ok(self.result(si, dimension))
    }

    /// A result of this quantity alone.
    fn result(self, si: f64, dimension: Dimension) -> Quantity {
        let preference = Preference::of_result(dimension, [self.preference, Preference::Usual]);
        Quantity { preference, ..Quantity::new(si, dimension) }
    }

    /// The value with its sign turned. Errors: a solution of a thermometer.
    pub fn negated(self) -> Result<Quantity, QuantityError> {
        self.refuse_temperature("negate")?;
        Ok(Quantity { si: -self.si, preference: self.preference.of_length(), ..self })
    }

    /// Order of two quantities of the same dimension; none when one is not a number.
    pub fn order(self, other: Quantity) -> Result<Option<Ordering>, QuantityError> {
        if self.dimension != other.dimension {
            return Err(self.mixed("compare", other));
        }
        Ok(self.si.partial_cmp(&other.si))
    }

    /// The value with its dimension in words, for messages: `30 psi (a pressure)`.
    pub fn described(self) -> String {
        if self.dimension.is_number() {
            return format!("{self} (a plain number)");
        }
        format!("{} ({})", self.show(units_of_texts()), self.dimension)
    }

    fn checked_unit(self, unit_name: &str) -> Result<&'static Unit, QuantityError> {
        let unit = find_unit(unit_name.trim())
            .ok_or_else(|| QuantityError::UnknownUnit { name: unit_name.to_string(), nearest: nearest_units(unit_name) })?;
        if unit.dimension != self.dimension {
            if unit.dimension.without_currency() == self.dimension.without_currency() {
                let (left, right) = (self.to_string(), unit.symbol.to_string());
                return Err(QuantityError::OtherCurrency { value: left, unit: right });
            }
            return Err(QuantityError::WrongUnit { value: self.to_string(), dimension: self.dimension, unit: unit.symbol });
        }
        Ok(unit)
    }

    fn sum_dimension(self, other: Quantity, operation: &'static str) -> Result<Dimension, QuantityError> {
        let pair = (self.dimension, other.dimension);
        if pair.0 == pair.1 {
            return Ok(pair.0);
        }
        if pair == (dim::TEMPERATURE, dim::TEMPERATURE_DIFFERENCE) || pair == (dim::TEMPERATURE_DIFFERENCE, dim::TEMPERATURE) {
            return Ok(dim::TEMPERATURE);
        }
        Err(self.mixed(operation, other))
    }

    /// The error for two values that do not go together.
    fn mixed(self, operation: &'static str, other: Quantity) -> QuantityError {
        if self.dimension.without_currency() == other.dimension.without_currency() {
            return QuantityError::TwoCurrencies { operation, left: self.to_string(), right: other.to_string() };
        }
        QuantityError::Mixed { operation, left: self.described(), right: other.described() }
    }

    fn refuse_two_currencies(self, operation: &'static str, other: Quantity) -> Result<(), QuantityError> {
        if self.dimension.differs_in_currency(other.dimension) {
            return Err(QuantityError::TwoCurrencies { operation, left: self.to_string(), right: other.to_string() });
        }
        Ok(())
    }

    fn refuse_temperature(self, operation: &'static str) -> Result<(), QuantityError> {
        if self.dimension.absolute {
            return Err(QuantityError::ScaledTemperature { operation, value: self.to_string() });
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn q(value: f64, name: &str) -> Quantity {
        Quantity::written(value, find_unit(name).expect("a unit of the test"))
    }

    #[test]
    fn adding_pressure_to_length_names_both() {
        let error = q(30.0, "psi").plus(q(100.0, "ft")).unwrap_err();
        assert_eq!(error.to_string(), "cannot add 30 psi (a pressure) and 100 ft (a length)");
    }

    #[test]
    fn temperatures_subtract_to_a_difference_but_do_not_add() {
        let warm = q(25.0, "degC");
        let cool = q(15.0, "degC");
        assert!(warm.plus(cool).is_err());
        let difference = warm.minus(cool).expect("temperatures subtract");
        assert_eq!(difference.dimension, dim::TEMPERATURE_DIFFERENCE);
        assert!((difference.si - 10.0).abs() < 1e-12);
        let back = cool.plus(difference).expect("a difference can be added");
        assert!((back.si - warm.si).abs() < 1e-12);
        assert!(warm.times(Quantity::number(2.0)).is_err());
    }

    #[test]
    fn a_difference_of_temperatures_shows_in_their_degrees() {
        use crate::quantity::UnitSystem;
        let warmer = q(70.0, "degF").minus(q(60.0, "degF")).expect("temperatures subtract");
        assert_eq!(warmer.to_string(), "10 degF difference");
        assert_eq!(warmer.show(UnitSystem::Metric), "5.6 degC difference");
        assert_eq!(q(20.0, "degC").minus(q(15.0, "degC")).expect("they subtract").to_string(), "5 degC difference");
    }

    #[test]
    fn flow_by_area_shows_as_a_rate_of_rain() {
        use crate::quantity::UnitSystem;
        let rate = q(5.0, "gpm").over(q(396.0, "ft2")).expect("a rate");
        // 96.25 gpm/ft2 are 1 in/h: 231 in3/gal x 60 min/h / 144 in2/ft2 (exact definitions).
        assert_eq!(rate.to_string(), "1.22 in/h");
        assert_eq!(rate.show(UnitSystem::Metric), "30.9 mm/h");
        assert_eq!(q(20.0, "L/min").over(q(36.0, "m2")).expect("a rate").to_string(), "33.3 mm/h");
    }

    #[test]
    fn what_is_computed_of_metric_values_shows_in_metric_units() {
        assert_eq!(q(3.0, "m").times(q(4.0, "m")).expect("an area").to_string(), "12 m2");
        assert_eq!(q(10.0, "L").over(q(48.0, "s")).expect("a flow").to_string(), "12.5 L/min");
        assert_eq!(q(30.0, "m").over(q(10.0, "s")).expect("a speed").to_string(), "3 m/s");
        assert_eq!(q(2.0, "m2").root(2).expect("a length").to_string(), "1.41 m");
        assert_eq!(q(3.0, "ft").power(2).expect("an area").to_string(), "9 ft2");
        assert_eq!(q(10.0, "ft").times(q(3.048, "m")).expect("an area").to_string(), "100 ft2");
    }

    #[test]
    fn numbers_that_no_calculation_holds_are_refused() {
        let of = |value: f64, name: &str| Quantity::checked(value, find_unit(name).expect("a unit of the test"));
        assert_eq!(of(1e308, "bar").unwrap_err().to_string(), format!("{} bar is too large to calculate with", 1e308));
        assert!(of(1e-308, "mm").unwrap_err().to_string().ends_with("mm is too small to calculate with"));
        assert!(of(f64::NAN, "psi").is_err() && of(f64::INFINITY, "psi").is_err());
        assert!(of(0.0, "mm").is_ok() && of(-0.0, "mm").is_ok() && of(0.0, "degC").is_ok());
        assert!(Quantity::new(1e305, dim::LENGTH).in_unit("mm").is_ok_and(f64::is_finite));
        assert!(Quantity::new(1e306, dim::LENGTH).in_unit("mm").is_err());
    }

    #[test]
    fn a_sum_keeps_the_unit_of_its_left_side() {
        let sum = q(100.0, "ft").plus(q(1.0, "m")).expect("lengths add");
        assert_eq!(sum.to_string(), "103.3 ft");
    }

    #[test]
    fn an_unknown_unit_names_the_nearest() {
        let error = q(1.0, "psi").to("pis").unwrap_err();
        assert!(error.hint().is_some_and(|hint| hint.contains("psi")), "{error:?}");
    }

    #[test]
    fn converting_there_and_back_is_identity_for_every_unit() {
        for unit in crate::quantity::UNITS {
            let value = 12.75;
            let back = Quantity::written(value, unit).in_unit(unit.symbol).expect("same unit");
            assert!((back - value).abs() < 1e-11, "{}", unit.symbol);
        }
    }
}
