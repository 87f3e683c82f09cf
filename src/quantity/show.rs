//! How numbers and quantities are shown to people: significant digits, unit choice, US or metric.
//!
//! The one place where rounding for people happens.

use super::currency::DOLLAR;
use super::digits::{GIVEN_DIGITS, Precision, given_decimals};
use super::dimension::Dimension;
use super::find::{find_unit, unit_for, unit_for_size};
use super::unit::Unit;
use super::value::{Preference, Quantity};
use crate::clock;
use crate::unit_system::{UnitSystem, units_of_texts};
use std::fmt;

impl UnitSystem {
    /// How a computed value of a dimension holds on to its unit when it leaves what was given in these units.
    pub fn preference(self, dimension: Dimension) -> Preference {
        let unit = if self.is_metric() { unit_for(dimension, true) } else { None };
        unit.map_or(Preference::Usual, Preference::Written)
    }

    /// That of a value that is best read in another unit than the usual one, given by its US symbol: `gph`, or L/h in metric units.
    pub fn preference_of(self, us: &str) -> Preference {
        let unit = find_unit(us).and_then(|unit| if self.is_metric() { find_unit(unit.metric) } else { Some(unit) });
        unit.map_or(Preference::Usual, Preference::Written)
    }

    /// A computed value in SI, in the usual unit of these.
    pub fn quantity(self, si: f64, dimension: Dimension) -> Quantity {
        Quantity { preference: self.preference(dimension), ..Quantity::new(si, dimension) }
    }
}

/// Significant digits of a shown number without a unit.
const DIGITS: usize = 4;
/// Sizes of numbers that are shown with decimals, as powers of ten; others get an exponent.
const PLAIN: std::ops::Range<f64> = -4.0..9.0;
/// Inches up to which a size is sold as a fraction.
const FRACTIONS_BELOW_IN: f64 = 2.0;
/// Parts of an inch in the finest fraction.
const FINEST: f64 = 64.0;

/// A number with four significant digits, whole digits kept: `58`, `0.625`, `1.138e-6`, `12345`.
pub fn show_number(value: f64) -> String {
    show_number_with(value, DIGITS)
}

/// A number with this many significant digits; trailing zeros are dropped and very large or small numbers get an exponent.
pub fn show_number_with(value: f64, digits: usize) -> String {
    let magnitude = value.abs().log10().floor();
    show_with(value, digits, (digits as f64 - 1.0 - magnitude).clamp(0.0, 20.0) as usize)
}

/// A number with these decimals, or with these significant digits where it is too large or too small for decimals.
fn show_with(value: f64, digits: usize, decimals: usize) -> String {
    if value.is_nan() {
        return "not a number".into();
    }
    if value.is_infinite() {
        return if value > 0.0 { "infinite".into() } else { "-infinite".into() };
    }
    if value == 0.0 {
        return "0".into();
    }
    if !PLAIN.contains(&value.abs().log10().floor()) {
        let text = format!("{value:.*e}", digits - 1);
        let (mantissa, exponent) = text.split_once('e').unwrap_or((&text, "0"));
        return format!("{}e{exponent}", trim_zeros(mantissa));
    }
    let text = format!("{value:.decimals$}");
    let trimmed = trim_zeros(&text);
    if trimmed == "-0" { "0".into() } else { trimmed.to_string() }
}

fn trim_zeros(text: &str) -> &str {
    if !text.contains('.') {
        return text;
    }
    text.trim_end_matches('0').trim_end_matches('.')
}

/// A number in a unit with the digits of the trade, trailing zeros dropped: `51.8` for psi.
pub fn show_in(value: f64, unit: &Unit) -> String {
    let precision = Precision::of(Some(unit));
    show_with(value, precision.significant(), precision.decimals_for(value))
}

impl Quantity {
    /// The unit this quantity is shown in; none for plain numbers and unusual dimensions.
    pub fn shown_unit(&self, system: UnitSystem) -> Option<&'static Unit> {
        let computed = || unit_for(self.dimension, system.is_metric());
        match (self.preference, system) {
            (Preference::Asked(unit), _) => Some(unit),
            (Preference::Written(unit), UnitSystem::AsWritten | UnitSystem::AsWrittenMetric) => Some(unit),
            (Preference::Written(unit), UnitSystem::Us) => find_unit(unit.us),
            (Preference::Written(unit), UnitSystem::Metric) => find_unit(unit.metric),
            (Preference::Clock, _) => find_unit("h"),
            (Preference::Usual, _) => computed(),
        }
    }

    /// Number and unit for people, such as `44 psi`. What somebody gave shows as it was given, sizes below 2 inches as the fractions
    /// in which they are sold, `5/8 in`; what was computed shows with the digits of the trade, times and lengths in a unit that fits them.
    pub fn show(&self, system: UnitSystem) -> String {
        if self.dimension.is_number() {
            return show_number(self.si);
        }
        if let (Preference::Clock, Some(text)) = (self.preference, clock::text_with_day(self.si)) {
            return text;
        }
        let fits = || unit_for_size(self.dimension, system.is_metric(), self.si);
        let unit = if self.preference == Preference::Usual { fits() } else { self.shown_unit(system) };
        let Some(unit) = unit.filter(|unit| unit.from_si(self.si).is_finite() || !self.si.is_finite()) else {
            return format!("{} {}", show_number(self.si), self.dimension.base_units());
        };
        let value = unit.from_si(self.si);
        if unit.dimension.is_amount() {
            let (sign, decimals) = (if value < 0.0 { "-" } else { "" }, unit.dimension.currency.decimals());
            let amount = format!("{:.decimals$}", value.abs());
            return match unit.symbol {
                DOLLAR => format!("{sign}{DOLLAR}{amount}"),
                code => format!("{sign}{amount} {code}"),
            };
        }
        let fraction = if unit.symbol == "in" { show_fraction(value) } else { None };
        let given = || self.given_decimals(value, unit).map(|decimals| show_with(value, GIVEN_DIGITS, decimals));
        let number = fraction.or_else(given).unwrap_or_else(|| show_in(value, unit));
        let unit = if unit.symbol == "day" && number != "1" { "days" } else { unit.symbol };
        format!("{number} {unit}")
    }

    /// The decimals of a value that somebody wrote in the unit, or asked for in it; none for one that was computed or converted.
    fn given_decimals(&self, value: f64, unit: &Unit) -> Option<usize> {
        let own = self.preference.unit().is_some_and(|own| own.symbol == unit.symbol);
        if own { given_decimals(value) } else { None }
    }
}

/// Inches below 2 in whole 64ths, as in 3 and 32, or 5 and 4; none for others and for whole numbers of inches.
pub fn inch_fraction(inches: f64) -> Option<(u32, u32)> {
    let parts = (inches * FINEST).round();
    if !(0.0..FRACTIONS_BELOW_IN).contains(&inches) || (inches * FINEST - parts).abs() > 1e-9 || parts % FINEST == 0.0 {
        return None;
    }
    let (mut top, mut bottom) = (parts as u32, FINEST as u32);
    while top % 2 == 0 {
        (top, bottom) = (top / 2, bottom / 2);
    }
    Some((top, bottom))
}

/// Inches as the fraction in which a size is sold, `5/8` or `1 1/4`; none where [`inch_fraction`] has none.
pub fn show_fraction(inches: f64) -> Option<String> {
    let (top, bottom) = inch_fraction(inches)?;
    Some(if top > bottom { format!("1 {}/{bottom}", top - bottom) } else { format!("{top}/{bottom}") })
}

/// In the units of the text around it, as of an error: see [`told_in`](crate::unit_system::told_in).
impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.show(units_of_texts()))
    }
}

/// A whole number with commas between its thousands.
pub fn with_commas(n: usize) -> String {
    let digits = n.to_string();
    let mut text = String::new();
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::dim;

    #[test]
    fn days_are_counted_as_people_do() {
        let written = |days: f64| Quantity {
            preference: Preference::Written(find_unit("day").expect("known")),
            ..Quantity::new(days * 86_400.0, dim::TIME)
        };
        assert_eq!((written(1.0).to_string(), written(2.5).to_string()), ("1 day".into(), "2.5 days".into()));
    }

    #[test]
    fn numbers_show_four_digits_and_never_lose_whole_ones() {
        for (value, text) in [
            (58.0, "58"),
            (0.625, "0.625"),
            (44.127, "44.13"),
            (123_456.7, "123457"),
            (-0.000_02, "-2e-5"),
            (1.138e-3, "0.001138"),
            (0.0, "0"),
            (2.5e12, "2.5e12"),
        ] {
            assert_eq!(show_number(value), text);
        }
    }

    #[test]
    fn a_written_unit_is_kept_and_follows_the_chosen_system() {
        let diameter = Quantity::written(0.625, find_unit("inch").expect("inch"));
        assert_eq!(diameter.show(UnitSystem::AsWritten), "5/8 in");
        assert_eq!(diameter.show(UnitSystem::Metric), "15.9 mm");
        let asked = diameter.to("cm").expect("a length");
        assert_eq!(asked.show(UnitSystem::Us), "1.5875 cm");
    }

    #[test]
    fn sizes_that_are_sold_as_fractions_show_as_fractions() {
        let inch = find_unit("inch").expect("inch");
        let size = |value: f64| Quantity::written(value, inch).to_string();
        let shown = [3.0 / 32.0, 5.0 / 64.0, 0.625, 1.25, 1.0, 2.5, 0.1, -0.5].map(size);
        assert_eq!(shown, ["3/32 in", "5/64 in", "5/8 in", "1 1/4 in", "1 in", "2.5 in", "0.1 in", "-0.5 in"]);
        let computed = Quantity { preference: Preference::Usual, ..Quantity::written(0.625, inch) };
        assert_eq!((computed.show(UnitSystem::Us), computed.show(UnitSystem::Metric)), ("5/8 in".into(), "15.9 mm".into()));
    }

    #[test]
    fn what_was_given_shows_as_given_and_what_was_computed_with_the_digits_of_the_trade() {
        let psi = find_unit("psi").expect("psi");
        let written = |value: f64| Quantity::written(value, psi).to_string();
        assert_eq!([51.75, 51.7842, 51.784_213_9].map(written), ["51.75 psi", "51.7842 psi", "51.8 psi"]);
        let computed = |value: f64, symbol: &str| {
            let unit = find_unit(symbol).expect("a unit");
            Quantity::new(unit.to_si(value), unit.dimension).to_string()
        };
        let shown = [computed(51.784, "psi"), computed(0.0342, "psi"), computed(2.8311, "gpm"), computed(12.37, "gpm")];
        assert_eq!(shown, ["51.8 psi", "0.034 psi", "2.83 gpm", "12.4 gpm"]);
        let times = [computed(41.26, "s"), computed(4572.3, "s"), computed(26_412.0, "s"), computed(259_200.0, "s")];
        assert_eq!(times, ["41.3 s", "76.2 min", "7.34 h", "3 days"]);
        assert_eq!([computed(396.31, "ft"), computed(0.35, "ft")], ["396.3 ft", "4.2 in"]);
    }

    #[test]
    fn computed_values_show_in_the_usual_unit() {
        let pressure = Quantity::new(3e5, dim::PRESSURE);
        assert_eq!(pressure.show(UnitSystem::AsWritten), "43.5 psi");
        assert_eq!(pressure.show(UnitSystem::Metric), "3 bar");
        assert_eq!(Quantity::new(1.0, dim::LENGTH.times(dim::MASS)).to_string(), "1 kg m");
        let dollars = find_unit("USD").expect("a unit").dimension;
        assert_eq!(Quantity::new(12.5, dollars).to_string(), "$12.50");
    }
}
