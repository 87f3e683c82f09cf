//! Dimensions as exponents of length, mass, time, temperature and money.
//!
//! Knows nothing of units: see `unit.rs` for those.

use super::currency::Currency;
use std::fmt;

/// The largest power of a base unit; what is multiplied beyond it is a slip.
const LARGEST_EXPONENT: u8 = 60;

/// The dimension of a quantity: exponents of the base dimensions.
///
/// An absolute temperature (a solution of a thermometer) is kept apart from a temperature difference by `absolute`, since
/// two readings cannot be added.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Dimension {
    /// Exponent of the length, whose unit is the meter.
    pub length: i8,
    /// Exponent of the mass, whose unit is the kilogram.
    pub mass: i8,
    /// Exponent of the time, whose unit is the second.
    pub time: i8,
    /// Exponent of the temperature, whose unit is the kelvin.
    pub temperature: i8,
    /// Exponent of the money, whose unit is that of its currency.
    pub money: i8,
    /// The currency of the money; none without money, and for money of any currency.
    pub currency: Currency,
    /// True for a solution on a temperature scale, false for everything else.
    pub absolute: bool,
}

/// The named dimensions of the trade.
pub mod dim {
    use super::{Currency, Dimension};

    const fn of(length: i8, mass: i8, time: i8, temperature: i8, money: i8) -> Dimension {
        Dimension { length, mass, time, temperature, money, currency: Currency::NONE, absolute: false }
    }

    /// A number without a unit: a count, a share, a coefficient. SI: 1.
    pub const NUMBER: Dimension = of(0, 0, 0, 0, 0);
    /// A distance, a diameter, a height, a head of water. SI: m.
    pub const LENGTH: Dimension = of(1, 0, 0, 0, 0);
    /// A piece of ground, a cross-section. SI: m2.
    pub const AREA: Dimension = of(2, 0, 0, 0, 0);
    /// An amount of water or air. SI: m3.
    pub const VOLUME: Dimension = of(3, 0, 0, 0, 0);
    /// A duration or a time of the day. SI: s.
    pub const TIME: Dimension = of(0, 0, 1, 0, 0);
    /// A mass. SI: kg.
    pub const MASS: Dimension = of(0, 1, 0, 0, 0);
    /// A velocity of water, or an application rate. SI: m/s.
    pub const SPEED: Dimension = of(1, 0, -1, 0, 0);
    /// A volume a time. SI: m3/s.
    pub const FLOW: Dimension = of(3, 0, -1, 0, 0);
    /// A gauge pressure, or a difference of pressures. SI: Pa.
    pub const PRESSURE: Dimension = of(-1, 1, -2, 0, 0);
    /// What a pump or a motor takes or gives. SI: W.
    pub const POWER: Dimension = of(2, 1, -3, 0, 0);
    /// Work, and what a meter of electricity counts. SI: J.
    pub const ENERGY: Dimension = of(2, 1, -2, 0, 0);
    /// A solution of a thermometer; two of them cannot be added. SI: K.
    pub const TEMPERATURE: Dimension = Dimension { absolute: true, ..of(0, 0, 0, 1, 0) };
    /// How far apart two readings of a thermometer are. SI: K.
    pub const TEMPERATURE_DIFFERENCE: Dimension = of(0, 0, 0, 1, 0);
    /// Stored volume for each pressure: what a store gives as the pressure falls. SI: m3/Pa.
    pub const VOLUME_PER_PRESSURE: Dimension = of(4, -1, 2, 0, 0);
    /// Stored volume for each pressure and each length: the stretch of a hose.
    pub const COMPLIANCE: Dimension = of(3, -1, 2, 0, 0);
    /// A price or a cost, in any currency. Unit inside: that of the currency.
    pub const MONEY: Dimension = of(0, 0, 0, 0, 1);
    /// What a hose costs by its length. Unit inside: money/m.
    pub const MONEY_PER_LENGTH: Dimension = of(-1, 0, 0, 0, 1);
    /// What water costs. Unit inside: money/m3.
    pub const MONEY_PER_VOLUME: Dimension = of(-3, 0, 0, 0, 1);
    /// What electricity costs. Unit inside: money/J.
    pub const MONEY_PER_ENERGY: Dimension = of(-2, -1, 2, 0, 1);
    /// A frequency, such as starts in an hour. SI: 1/s.
    pub const PER_TIME: Dimension = of(0, 0, -1, 0, 0);

    /// Names for people, one for each dimension above.
    pub const NAMES: &[(Dimension, &str)] = &[
        (NUMBER, "a plain number"),
        (LENGTH, "a length"),
        (AREA, "an area"),
        (VOLUME, "a volume"),
        (TIME, "a time"),
        (MASS, "a mass"),
        (SPEED, "a velocity or application rate"),
        (FLOW, "a flow"),
        (PRESSURE, "a pressure"),
        (POWER, "a power"),
        (ENERGY, "an energy"),
        (TEMPERATURE, "a temperature"),
        (TEMPERATURE_DIFFERENCE, "a temperature difference"),
        (VOLUME_PER_PRESSURE, "a volume per pressure"),
        (COMPLIANCE, "a volume per pressure and length"),
        (MONEY, "an amount of money"),
        (MONEY_PER_LENGTH, "a price per length"),
        (MONEY_PER_VOLUME, "a price per volume"),
        (MONEY_PER_ENERGY, "a price per energy"),
        (PER_TIME, "a frequency"),
    ];
}

impl Dimension {
    /// The dimension of a product.
    pub fn times(self, other: Dimension) -> Dimension {
        self.combine(other, 1)
    }

    /// The dimension of a quotient.
    pub fn over(self, other: Dimension) -> Dimension {
        self.combine(other, -1)
    }

    /// The dimension of a whole power.
    pub fn power(self, exponent: i8) -> Dimension {
        dim::NUMBER.combine(self, exponent)
    }

    /// The dimension of an n-th root, or nothing where an exponent does not divide.
    pub fn root(self, n: i8) -> Option<Dimension> {
        let all = [self.length, self.mass, self.time, self.temperature, self.money];
        if n < 1 || all.iter().any(|exponent| exponent % n != 0) {
            return None;
        }
        Some(Dimension {
            length: self.length / n,
            mass: self.mass / n,
            time: self.time / n,
            temperature: self.temperature / n,
            money: self.money / n,
            currency: self.currency,
            absolute: false,
        })
    }

    /// The same dimension; none for powers of a base unit that no quantity has.
    pub fn sound(self) -> Option<Dimension> {
        let all = [self.length, self.mass, self.time, self.temperature, self.money];
        all.iter().all(|exponent| exponent.unsigned_abs() <= LARGEST_EXPONENT).then_some(self)
    }

    /// True for a plain number.
    pub fn is_number(self) -> bool {
        self == dim::NUMBER
    }

    fn combine(self, other: Dimension, sign: i8) -> Dimension {
        let add = |a: i8, b: i8| a.saturating_add(b.saturating_mul(sign));
        Dimension {
            length: add(self.length, other.length),
            mass: add(self.mass, other.mass),
            time: add(self.time, other.time),
            temperature: add(self.temperature, other.temperature),
            money: add(self.money, other.money),
            currency: match add(self.money, other.money) {
                0 => Currency::NONE,
                _ if self.currency.is_none() => other.currency,
                _ => self.currency,
            },
            absolute: false,
        }
    }

    /// True for an amount of money.
    pub fn is_amount(self) -> bool {
        self.without_currency() == dim::MONEY
    }

    /// The same dimension for any currency.
    pub fn without_currency(self) -> Dimension {
        Dimension { currency: Currency::NONE, ..self }
    }

    /// True for a value of this dimension, or of one of its currencies where it is money of any.
    pub fn takes(self, value: Dimension) -> bool {
        self == value || self.currency.is_none() && self == value.without_currency()
    }

    /// True when both have money of two different currencies.
    pub fn differs_in_currency(self, other: Dimension) -> bool {
        self.currency != other.currency && !self.currency.is_none() && !other.currency.is_none()
    }

    /// The product of base units, such as `kg m^-1 s^-2`; empty for a plain number.
    pub fn base_units(self) -> String {
        let parts = [
            (self.mass, "kg"),
            (self.length, "m"),
            (self.time, "s"),
            (self.temperature, "K"),
            (self.money, self.currency.symbol()),
        ];
        let words: Vec<String> = parts
            .iter()
            .filter(|(exponent, _)| *exponent != 0)
            .map(|(exponent, unit)| if *exponent == 1 { (*unit).to_string() } else { format!("{unit}^{exponent}") })
            .collect();
        words.join(" ")
    }
}

impl fmt::Display for Dimension {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if !self.currency.is_none() {
            return write!(f, "{} in {}", self.without_currency(), self.currency.code());
        }
        if let Some((_, name)) = dim::NAMES.iter().find(|(known, _)| known == self) {
            return f.write_str(name);
        }
        if let Some((_, name)) = dim::NAMES.iter().find(|(known, _)| known.power(-1) == *self && !known.absolute) {
            let name = name.split_once(' ').map_or(*name, |(_, rest)| rest);
            return write!(f, "one over a {name}");
        }
        write!(f, "a quantity in {}", self.base_units())
    }
}

impl fmt::Debug for Dimension {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pressure_times_a_flow_is_a_power() {
        assert_eq!(dim::PRESSURE.times(dim::FLOW), dim::POWER);
        assert_eq!(dim::VOLUME.over(dim::TIME), dim::FLOW);
    }

    #[test]
    fn the_square_root_of_an_area_is_a_length_and_of_a_length_is_nothing() {
        assert_eq!(dim::AREA.root(2), Some(dim::LENGTH));
        assert_eq!(dim::LENGTH.root(2), None);
    }

    #[test]
    fn dimensions_are_named_for_people() {
        assert_eq!(dim::PRESSURE.to_string(), "a pressure");
        assert_eq!(dim::LENGTH.power(-1).to_string(), "one over a length");
        assert_eq!(dim::MASS.times(dim::LENGTH).to_string(), "a quantity in kg m");
    }
}
