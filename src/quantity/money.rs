//! The units of money and of prices: for each currency an amount, and what it is for.
//!
//! Knows no rate between currencies.

use super::currency::Currency;
use super::dimension::{Dimension, dim};
use super::unit::{Unit, plain_unit};
use std::sync::LazyLock;

/// What a price is for: the name after `_per_`, the symbol, its size, and the counterparts in the US and the metric system.
pub(super) struct Per {
    name: &'static str,
    dimension: Dimension,
    si: f64,
    us: &'static str,
    metric: &'static str,
}

/// What prices are for, beside a whole piece; the first of a dimension is that of computed prices.
pub(super) static PER: LazyLock<Vec<Per>> = LazyLock::new(|| {
    let rows = [
        ("ft", "ft", 1.0, "ft", "m"),
        ("m", "m", 1.0, "ft", "m"),
        ("ft2", "ft2", 1.0, "ft2", "m2"),
        ("m2", "m2", 1.0, "ft2", "m2"),
        ("gal", "gal", 1.0, "gal", "m3"),
        ("kgal", "kgal", 1.0, "kgal", "m3"),
        ("ccf", "ccf", 1.0, "ccf", "m3"),
        ("ft3", "ft3", 1.0, "ft3", "m3"),
        ("L", "L", 1.0, "gal", "L"),
        ("m3", "m3", 1.0, "gal", "m3"),
        ("kWh", "kWh", 1.0, "kWh", "kWh"),
        ("h", "h", 1.0, "h", "h"),
        ("day", "day", 1.0, "day", "day"),
        ("kW", "kW", 1.0, "kW", "kW"),
        ("lb", "lb", 1.0, "lb", "kg"),
        ("kg", "kg", 1.0, "lb", "kg"),
    ];
    let per = |(name, unit, times, us, metric): (_, &str, f64, _, _)| {
        let unit = plain_unit(unit)?;
        Some(Per { name, dimension: unit.dimension, si: times * unit.factor, us, metric })
    };
    rows.into_iter().filter_map(per).collect()
});

/// The units of money: for each currency that of an amount, followed by those of its prices.
pub fn money_units() -> &'static [Unit] {
    static UNITS: LazyLock<Vec<Unit>> = LazyLock::new(|| Currency::all().flat_map(units_of).collect());
    &UNITS
}

fn units_of(currency: Currency) -> Vec<Unit> {
    let (code, symbol) = (currency.code(), currency.symbol());
    let money = Dimension { currency, ..dim::MONEY };
    // They live as long as the program, and are made once.
    let kept = |text: String| -> &'static str { Box::leak(text.into_boxed_str()) };
    let names = |name: &'static str| -> &'static [&'static str] { Box::leak(Box::new([name])) };
    let amount = Unit { symbol, names: names(code), dimension: money, factor: 1.0, offset: 0.0, us: symbol, metric: symbol };
    let price = |per: &Per| Unit {
        symbol: kept(format!("{symbol}/{}", per.name)),
        names: names(kept(format!("{code}_per_{}", per.name))),
        dimension: money.over(per.dimension),
        factor: 1.0 / per.si,
        offset: 0.0,
        us: kept(format!("{symbol}/{}", per.us)),
        metric: kept(format!("{symbol}/{}", per.metric)),
    };
    std::iter::once(amount).chain(PER.iter().map(price)).collect()
}

/// The unit of money that is written so: `EUR`, `$`, `EUR/m3`, `USD/m3`, `EUR_per_m3`.
pub fn find_money_unit(text: &str) -> Option<&'static Unit> {
    let (code, per) = match text.split_once('/').or_else(|| text.split_once("_per_")) {
        Some((code, per)) => (code, Some(per)),
        None => (text, None),
    };
    let currency = Currency::of_code(code)?;
    let place = per.map_or(Some(0), |per| PER.iter().position(|known| known.name == per).map(|at| at + 1))?;
    money_units().get(currency.place()? * (PER.len() + 1) + place)
}

/// The unit in which a computed amount or price is shown; none for unusual dimensions.
pub fn money_unit_for(dimension: Dimension, metric: bool) -> Option<&'static Unit> {
    let currency = dimension.currency;
    let start = currency.place()? * (PER.len() + 1);
    let first = money_units().get(start..start + PER.len() + 1)?.iter().find(|unit| unit.dimension == dimension)?;
    find_money_unit(if metric { first.metric } else { first.us })
}
