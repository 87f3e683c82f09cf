//! Bills, electricity and payback as tables and in words; what a season or a run takes, for the bills.

use super::ReportError;
use crate::moment::WEEKDAYS;
use crate::money::{Bill, Bills, Electricity, House, MONTH_S, MoneyError, Payback, Tariff, amount};
use crate::operation::{Log, PowerOfDays, clock};
use crate::quantity::{DAY_S, Dimension, Preference, Quantity, UnitSystem, dim, show_number};
use crate::season::Season;
use crate::table::{Column, Table};
use std::collections::BTreeMap;

/// Water of the beds of a season in each month, m3, by year and month. Errors: a bed that is watered and whose ground is not given.
pub fn water_by_month(season: &Season) -> Result<BTreeMap<(i32, u32), f64>, MoneyError> {
    let mut months: BTreeMap<(i32, u32), f64> = BTreeMap::new();
    for bed in &season.beds {
        for (month, totals) in bed.by_month() {
            let no_ground = || MoneyError::NoGround { bed: bed.bed.name.clone() };
            let volume_m3 = if totals.given_mm == 0.0 { 0.0 } else { bed.volume_m3(totals.given_mm).ok_or_else(no_ground)? };
            *months.entry(month).or_default() += volume_m3;
        }
    }
    Ok(months)
}

/// One row a bill: water of house and garden, what it costs with the garden and without, the difference, the price of the block it reaches.
pub fn bills_table(bills: &Bills) -> Result<Table, ReportError> {
    let currency = bills.tariff.currency();
    let list = || bills.list.iter();
    let volumes = |name: &str, value: fn(&Bill) -> f64| {
        let preference =
            bills.tariff.blocks().iter().find_map(|block| block.up_to).map_or(Preference::Usual, |end| end.preference);
        Column::quantities(name, list().map(|bill| Some(value(bill))), dim::VOLUME, preference)
    };
    let money = |name: &str, value: fn(&Bill) -> f64| {
        let dimension = Dimension { currency, ..dim::MONEY };
        Column::quantities(name, list().map(|bill| Some(value(bill))), dimension, Preference::Usual)
    };
    let price = bills.tariff.blocks()[0].price;
    Ok(Table::new(vec![
        Column::texts("bill", list().map(Bill::months)),
        volumes("house", |bill| bill.house_m3),
        volumes("garden", |bill| bill.garden_m3),
        money("alone", |bill| bill.alone),
        money("with_garden", |bill| bill.with_garden),
        money("cost", Bill::added),
        Column::quantities("block_price", list().map(|bill| Some(bill.price.si)), price.dimension, price.preference),
    ])?)
}

/// Bills in a line.
pub fn bills_in_words(bills: &Bills, system: UnitSystem) -> String {
    let count = match bills.list.len() {
        1 => "1 bill".to_string(),
        count => format!("{count} bills"),
    };
    format!("{} for the garden in {count}", bills.total().show(system))
}

/// A tariff in words: its blocks, and what is added.
pub fn tariff_in_words(tariff: &Tariff, system: UnitSystem) -> String {
    let blocks = tariff.blocks();
    let block = |(index, block): (usize, &crate::money::Block)| {
        let price = block.price.show(system);
        let before = index.checked_sub(1).and_then(|before| blocks[before].up_to);
        match (before, block.up_to) {
            (_, Some(end)) => format!("{price} up to {}", end.show(system)),
            (Some(_), None) => format!("{price} above"),
            (None, None) => price,
        }
    };
    let mut pieces: Vec<String> = blocks.iter().enumerate().map(block).collect();
    let period = tariff.period().word();
    if tariff.fixed() > 0.0 {
        pieces.push(format!("{} a bill", amount(tariff.fixed(), tariff.currency()).show(system)));
    }
    if let Some(sewage) = tariff.sewage() {
        let share = show_number(100.0 * sewage.garden_share);
        pieces.push(format!("sewage {}, on {share} % of garden water", sewage.price.show(system)));
    }
    if tariff.rise() != 0.0 {
        pieces.push(format!("rising {} % a year", show_number(100.0 * tariff.rise())));
    }
    format!("water billed by the {period}: {}", pieces.join(", ")).replace("by the two months", "every two months")
}

/// Prices of electricity in words.
pub fn electricity_in_words(prices: &Electricity, system: UnitSystem) -> String {
    let all: Vec<Quantity> = prices.prices().collect();
    let mut text = format!("electricity {}", all[0].show(system));
    for (peak, price) in prices.peaks().iter().zip(&all[1..]) {
        let days = peak.weekdays.map(|days| {
            let names = WEEKDAYS.iter().zip(days).filter(|(_, holds)| *holds).map(|(name, _)| *name);
            format!(" on {}", names.collect::<Vec<_>>().join(", "))
        });
        let (from, to) = (clock(peak.from_s), clock(peak.to_s));
        text += &format!(", {} from {from} to {to}{}", price.show(system), days.unwrap_or_default());
    }
    text
}

/// The power of all pumps over a run. Errors: the run was cut short; a pump of unknown power; a state without a solution.
fn powers(log: &Log) -> Result<Vec<PowerOfDays>, ReportError> {
    super::log::energy(log)?;
    Ok(log.powers().map_err(|error| error.named(&log.garden))?)
}

/// The day of the week of the first day of a run, from Monday. Errors: it is needed, and the run has no date.
fn first_weekday(log: &Log, prices: &Electricity) -> Result<usize, MoneyError> {
    match log.schedule.first_date {
        Some(date) => Ok(date.date().days_since_monday()),
        None if prices.needs_weekday() => Err(MoneyError::NoDate),
        None => Ok(0),
    }
}

/// What the powers cost when all of it begins later, s.
fn cost_of(powers: &[PowerOfDays], prices: &Electricity, first_weekday: usize, later_s: f64) -> f64 {
    let on_a_day = |kind: &PowerOfDays, weekday: usize| -> f64 {
        kind.powers.iter().map(|power| prices.cost(power.power_w, power.from_s + later_s, power.to_s + later_s, weekday)).sum()
    };
    let of_kind = |kind: &PowerOfDays| -> f64 {
        let days = kind.days.iter().enumerate().filter(|(_, days)| **days > 0);
        days.map(|(day, &days)| days as f64 * on_a_day(kind, (first_weekday + day) % WEEKDAYS.len())).sum()
    };
    powers.iter().map(of_kind).sum()
}

/// What the pumps of a run cost. Errors: those of [`super::log::energy`]; no date where prices depend on the day of the week.
pub fn power_cost(log: &Log, prices: &Electricity) -> Result<Quantity, ReportError> {
    let weekday = first_weekday(log, prices)?;
    Ok(amount(cost_of(&powers(log)?, prices, weekday, 0.0), prices.currency()))
}

/// What the pumps of a run would cost if everything began at each hour later, a row for each time at which the first timer starts.
///
/// Errors: as [`power_cost`], and no pump runs.
pub fn cost_by_start(log: &Log, prices: &Electricity) -> Result<Table, ReportError> {
    let weekday = first_weekday(log, prices)?;
    let powers = powers(log)?;
    // By the clock of the timers; a run without them begins with its first pump.
    let first_start = || powers.iter().find_map(|kind| kind.powers.iter().map(|power| power.from_s).reduce(f64::min));
    let timers = log.schedule.timers.iter().flat_map(|timer| timer.starts_s.iter().copied()).reduce(f64::min);
    let first_s = timers.or_else(first_start).ok_or(ReportError::NoRun)?;
    let of_hour = |hour: u32| {
        let later_s = f64::from(hour) * 3600.0;
        ((first_s + later_s) % DAY_S, cost_of(&powers, prices, weekday, later_s))
    };
    let mut rows: Vec<(f64, f64)> = (0..24).map(of_hour).collect();
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    let dimension = Dimension { currency: prices.currency(), ..dim::MONEY };
    Ok(Table::new(vec![
        Column::texts("start", rows.iter().map(|(start_s, _)| clock(*start_s))),
        Column::quantities("cost", rows.iter().map(|(_, cost)| Some(*cost)), dimension, Preference::Usual),
    ])?)
}

/// What a run costs in a mean month of its kind: electricity. Errors: as [`power_cost`].
pub fn monthly_power_cost(log: &Log, prices: &Electricity) -> Result<Quantity, ReportError> {
    let cost = power_cost(log, prices)?;
    Ok(Quantity { si: cost.si * MONTH_S / log.duration_s(), ..cost })
}

/// What a run costs in a mean month of its kind: water from the supplies. Errors: the run was cut short.
pub fn monthly_water_cost(log: &Log, tariff: &Tariff, house: &House) -> Result<Quantity, ReportError> {
    super::log::is_whole(log, "water")?;
    let from_mains = log.drawn_m3().iter().filter(|(place, _)| !log.garden.spec(*place).traits.fills);
    let volume_m3: f64 = from_mains.map(|(_, volume_m3)| volume_m3.max(0.0)).sum();
    Ok(Bills::of_flow(tariff, house, volume_m3 / log.duration_s()))
}

/// A payback in words.
pub fn payback_in_words(payback: &Payback, system: UnitSystem) -> String {
    let Payback { price, saving, years, .. } = payback;
    let (price, saved) = (price.show(system), saving.show(system));
    match years {
        Some(years) => format!("{} years until {saved} a year has paid {price}", show_number(*years)),
        None if saving.si <= 0.0 => format!("never: {saved} a year saves nothing of {price}"),
        None => {
            format!("never: {saved} a year does not cover the interest on {price}, {} a year", payback.interest().show(system))
        }
    }
}
