//! The units people write: one table with their names, sizes and the counterpart in the other system.
//!
//! Sizes are the exact definitions: foot 0.3048 m, pound 0.45359237 kg, US gallon 231 in3, imperial gallon 4.54609 L,
//! standard gravity 9.80665 m/s2, standard atmosphere 101325 Pa, hp = 550 ft lbf/s (NIST SP 811, appendix B).
//! A column of water is at 4 degC and 1000 kg/m3, the convention of "meter of water" in NIST SP 811.

use super::dimension::{Dimension, dim};
use std::collections::HashMap;
use std::sync::LazyLock;

/// Acceleration of gravity, standard value, m/s2 (ISO 80000-3).
pub const STANDARD_GRAVITY_M_PER_S2: f64 = 9.80665;

/// Standard atmosphere, Pa: that of sea level.
pub const STANDARD_ATMOSPHERE_PA: f64 = 101_325.0;
/// Zero degrees Celsius, K.
pub const ZERO_CELSIUS_K: f64 = 273.15;
/// An international foot, m; exact by definition (1959).
pub const FOOT_M: f64 = 0.3048;
/// A mile an hour, m/s.
pub const MPH_M_PER_S: f64 = 5280.0 * FOOT_M / HOUR_S;
/// An inch, m: a twelfth of a foot; exact by definition (1959).
pub const INCH_M: f64 = 0.0254;
/// A US gallon, m3: 231 cubic inches, exact by definition.
pub const GALLON_M3: f64 = 231.0 * INCH_M * INCH_M * INCH_M;
const IMPERIAL_GALLON_M3: f64 = 4.54609e-3;
const POUND_FORCE_N: f64 = 0.45359237 * STANDARD_GRAVITY_M_PER_S2;
/// A pound-force on a square inch, Pa.
pub const PSI_PA: f64 = POUND_FORCE_N / (INCH_M * INCH_M);
const HORSEPOWER_W: f64 = 550.0 * FOOT_M * POUND_FORCE_N;
/// A US gallon a minute, m3/s.
pub const GPM_M3_PER_S: f64 = GALLON_M3 / MINUTE_S;
pub(super) const MINUTE_S: f64 = 60.0;
pub(super) const HOUR_S: f64 = 3600.0;
/// A day, s.
pub const DAY_S: f64 = 86400.0;
const WATER_COLUMN_PA_PER_M: f64 = 1000.0 * STANDARD_GRAVITY_M_PER_S2;

/// A unit that people write and read.
#[derive(Debug, PartialEq)]
pub struct Unit {
    /// How it is shown after a number and in the head of a column.
    pub symbol: &'static str,
    /// How scripts write it as a property, the first one preferred; these are read in texts as well.
    pub names: &'static [&'static str],
    /// What it measures.
    pub dimension: Dimension,
    /// SI value = factor x value + offset.
    pub factor: f64,
    /// SI value of its zero: that of degC in K, that of degF in K; zero for all other units.
    pub offset: f64,
    /// Symbol of the unit that shows the same thing in the US way; its own where it is a US unit.
    pub us: &'static str,
    /// Symbol of the unit that shows the same thing in the metric way; its own where it is metric.
    pub metric: &'static str,
}

impl Unit {
    /// A value in this unit, in SI.
    pub fn to_si(&self, value: f64) -> f64 {
        value * self.factor + self.offset
    }

    /// An SI value, in this unit.
    pub fn from_si(&self, si: f64) -> f64 {
        (si - self.offset) / self.factor
    }

    /// True for the unit in which the metric system shows its dimension.
    pub fn is_metric(&self) -> bool {
        self.metric == self.symbol
    }

    /// Whether whoever wrote it writes metric units; none for a unit of both systems, such as the hour.
    pub fn suggests_metric(&self) -> Option<bool> {
        (self.us != self.metric).then(|| self.is_metric())
    }
}

const fn unit(
    symbol: &'static str,
    names: &'static [&'static str],
    dimension: Dimension,
    factor: f64,
    us: &'static str,
    metric: &'static str,
) -> Unit {
    Unit { symbol, names, dimension, factor, offset: 0.0, us, metric }
}

/// All units, by dimension; the first of a dimension shows a computed value in the US way.
pub const UNITS: &[Unit] = &[
    unit("ft", &["ft", "foot", "feet"], dim::LENGTH, FOOT_M, "ft", "m"),
    unit("in", &["inch", "inches"], dim::LENGTH, INCH_M, "in", "mm"),
    unit("yd", &["yd", "yard", "yards"], dim::LENGTH, 3.0 * FOOT_M, "yd", "m"),
    unit("mile", &["mile", "miles"], dim::LENGTH, 5280.0 * FOOT_M, "mile", "km"),
    unit("m", &["m", "metre", "metres", "meter", "meters"], dim::LENGTH, 1.0, "ft", "m"),
    unit("cm", &["cm", "centimeter", "centimeters", "centimetre", "centimetres"], dim::LENGTH, 0.01, "in", "cm"),
    unit("mm", &["mm", "millimeter", "millimeters", "millimetre", "millimetres"], dim::LENGTH, 0.001, "in", "mm"),
    unit("km", &["km", "kilometer", "kilometers", "kilometre", "kilometres"], dim::LENGTH, 1000.0, "mile", "km"),
    unit("ft2", &["ft2", "sqft"], dim::AREA, FOOT_M * FOOT_M, "ft2", "m2"),
    unit("in2", &["in2", "sqin"], dim::AREA, INCH_M * INCH_M, "in2", "mm2"),
    unit("acre", &["acre", "acres"], dim::AREA, 43560.0 * FOOT_M * FOOT_M, "acre", "hectare"),
    unit("m2", &["m2"], dim::AREA, 1.0, "ft2", "m2"),
    unit("cm2", &["cm2"], dim::AREA, 1e-4, "in2", "cm2"),
    unit("mm2", &["mm2"], dim::AREA, 1e-6, "in2", "mm2"),
    unit("hectare", &["hectare", "hectares"], dim::AREA, 1e4, "acre", "hectare"),
    unit("gal", &["gal", "gallon", "gallons"], dim::VOLUME, GALLON_M3, "gal", "L"),
    unit("qt", &["qt", "quart", "quarts"], dim::VOLUME, GALLON_M3 / 4.0, "qt", "L"),
    unit("imperial gal", &["imperial_gal", "imperial_gallon", "imperial_gallons"], dim::VOLUME, IMPERIAL_GALLON_M3, "gal", "L"),
    unit("ft3", &["ft3"], dim::VOLUME, FOOT_M * FOOT_M * FOOT_M, "ft3", "m3"),
    // Of water bills in the US (common practice): 100 cubic feet, and 1000 gallons.
    unit("ccf", &["ccf"], dim::VOLUME, 100.0 * FOOT_M * FOOT_M * FOOT_M, "ccf", "m3"),
    unit("kgal", &["kgal"], dim::VOLUME, 1000.0 * GALLON_M3, "kgal", "m3"),
    unit("in3", &["in3"], dim::VOLUME, INCH_M * INCH_M * INCH_M, "in3", "mL"),
    unit("L", &["L", "l", "litre", "litres", "liter", "liters"], dim::VOLUME, 1e-3, "gal", "L"),
    unit("mL", &["mL", "ml"], dim::VOLUME, 1e-6, "in3", "mL"),
    unit("m3", &["m3"], dim::VOLUME, 1.0, "gal", "m3"),
    unit("gpm", &["gpm", "gal_per_min"], dim::FLOW, GPM_M3_PER_S, "gpm", "L/min"),
    unit("gph", &["gph", "gal_per_h"], dim::FLOW, GALLON_M3 / HOUR_S, "gph", "L/h"),
    unit("gal/day", &["gal_per_day"], dim::FLOW, GALLON_M3 / DAY_S, "gal/day", "L/day"),
    unit("imperial gpm", &["imperial_gpm"], dim::FLOW, IMPERIAL_GALLON_M3 / MINUTE_S, "gpm", "L/min"),
    unit("L/min", &["lpm", "L_per_min"], dim::FLOW, 1e-3 / MINUTE_S, "gpm", "L/min"),
    unit("L/h", &["lph", "L_per_h"], dim::FLOW, 1e-3 / HOUR_S, "gph", "L/h"),
    unit("L/day", &["L_per_day"], dim::FLOW, 1e-3 / DAY_S, "gal/day", "L/day"),
    unit("L/s", &["L_per_s"], dim::FLOW, 1e-3, "gpm", "L/s"),
    unit("m3/h", &["m3_per_h"], dim::FLOW, 1.0 / HOUR_S, "gpm", "m3/h"),
    unit("m3/s", &["m3_per_s"], dim::FLOW, 1.0, "gpm", "m3/s"),
    unit("psi", &["psi"], dim::PRESSURE, PSI_PA, "psi", "bar"),
    unit("bar", &["bar"], dim::PRESSURE, 1e5, "psi", "bar"),
    unit("mbar", &["mbar"], dim::PRESSURE, 100.0, "psi", "mbar"),
    unit("Pa", &["Pa"], dim::PRESSURE, 1.0, "psi", "Pa"),
    unit("kPa", &["kPa"], dim::PRESSURE, 1e3, "psi", "kPa"),
    unit("MPa", &["MPa"], dim::PRESSURE, 1e6, "psi", "MPa"),
    unit("atm", &["atm"], dim::PRESSURE, STANDARD_ATMOSPHERE_PA, "psi", "bar"),
    unit("ft water", &["ft_water"], dim::PRESSURE, WATER_COLUMN_PA_PER_M * FOOT_M, "ft water", "m water"),
    unit("m water", &["m_water"], dim::PRESSURE, WATER_COLUMN_PA_PER_M, "ft water", "m water"),
    unit("ft/s", &["ft_per_s"], dim::SPEED, FOOT_M, "ft/s", "m/s"),
    unit("m/s", &["m_per_s"], dim::SPEED, 1.0, "ft/s", "m/s"),
    unit("mph", &["mph"], dim::SPEED, MPH_M_PER_S, "mph", "km/h"),
    unit("km/h", &["km_per_h"], dim::SPEED, 1000.0 / HOUR_S, "mph", "km/h"),
    unit("in/h", &["in_per_h", "inch_per_h"], dim::SPEED, INCH_M / HOUR_S, "in/h", "mm/h"),
    unit("mm/h", &["mm_per_h"], dim::SPEED, 1e-3 / HOUR_S, "in/h", "mm/h"),
    unit("in/day", &["in_per_day", "inch_per_day"], dim::SPEED, INCH_M / DAY_S, "in/day", "mm/day"),
    unit("mm/day", &["mm_per_day"], dim::SPEED, 1e-3 / DAY_S, "in/day", "mm/day"),
    unit("s", &["s", "sec", "second", "seconds"], dim::TIME, 1.0, "s", "s"),
    unit("min", &["min", "minute", "minutes"], dim::TIME, MINUTE_S, "min", "min"),
    unit("h", &["h", "hour", "hours"], dim::TIME, HOUR_S, "h", "h"),
    unit("day", &["day", "days"], dim::TIME, DAY_S, "day", "day"),
    unit("week", &["week", "weeks"], dim::TIME, 7.0 * DAY_S, "week", "week"),
    unit("W", &["W", "watt", "watts"], dim::POWER, 1.0, "W", "W"),
    unit("kW", &["kW"], dim::POWER, 1e3, "kW", "kW"),
    unit("hp", &["hp"], dim::POWER, HORSEPOWER_W, "hp", "kW"),
    unit("kWh", &["kWh"], dim::ENERGY, 1e3 * HOUR_S, "kWh", "kWh"),
    unit("Wh", &["Wh"], dim::ENERGY, HOUR_S, "Wh", "Wh"),
    unit("J", &["J"], dim::ENERGY, 1.0, "J", "J"),
    unit("kJ", &["kJ"], dim::ENERGY, 1e3, "kJ", "kJ"),
    unit("MJ", &["MJ"], dim::ENERGY, 1e6, "MJ", "MJ"),
    unit("lb", &["lb", "pound", "pounds"], dim::MASS, 0.453_592_37, "lb", "kg"),
    unit("kg", &["kg"], dim::MASS, 1.0, "lb", "kg"),
    Unit {
        symbol: "degF",
        names: &["degF"],
        dimension: dim::TEMPERATURE,
        factor: 5.0 / 9.0,
        offset: ZERO_CELSIUS_K - 32.0 * 5.0 / 9.0,
        us: "degF",
        metric: "degC",
    },
    Unit {
        symbol: "degC",
        names: &["degC"],
        dimension: dim::TEMPERATURE,
        factor: 1.0,
        offset: ZERO_CELSIUS_K,
        us: "degF",
        metric: "degC",
    },
    unit("K", &["kelvin"], dim::TEMPERATURE_DIFFERENCE, 1.0, "K", "K"),
    unit("degF difference", &["degF_difference"], dim::TEMPERATURE_DIFFERENCE, 5.0 / 9.0, "degF difference", "degC difference"),
    unit("degC difference", &["degC_difference"], dim::TEMPERATURE_DIFFERENCE, 1.0, "degF difference", "degC difference"),
    unit("gal/psi", &["gal_per_psi"], dim::VOLUME_PER_PRESSURE, GALLON_M3 / PSI_PA, "gal/psi", "L/bar"),
    unit("L/bar", &["L_per_bar"], dim::VOLUME_PER_PRESSURE, 1e-8, "gal/psi", "L/bar"),
    unit("mL/kPa", &["mL_per_kPa"], dim::VOLUME_PER_PRESSURE, 1e-9, "gal/psi", "mL/kPa"),
    unit("gal/psi/ft", &["gal_per_psi_ft"], dim::COMPLIANCE, GALLON_M3 / PSI_PA / FOOT_M, "gal/psi/ft", "mL/bar/m"),
    unit("mL/bar/m", &["mL_per_bar_m"], dim::COMPLIANCE, 1e-11, "gal/psi/ft", "mL/bar/m"),
    unit("per h", &["per_h", "per_hour"], dim::PER_TIME, 1.0 / HOUR_S, "per h", "per h"),
    unit("per s", &["per_s"], dim::PER_TIME, 1.0, "per s", "per s"),
];

/// The unit of that symbol or script name, without those of money.
pub(super) fn plain_unit(name: &str) -> Option<&'static Unit> {
    // Of two units that share a name the first counts.
    static BY_NAME: LazyLock<HashMap<&str, &Unit>> = LazyLock::new(|| {
        let names = |unit: &'static Unit| unit.names.iter().chain([&unit.symbol]).map(move |name| (*name, unit));
        UNITS.iter().rev().flat_map(names).collect()
    });
    BY_NAME.get(name).copied()
}
