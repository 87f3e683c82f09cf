//! Prices of electricity by the time of day, and what runs over time cost.

use super::read::power_price;
use crate::money::{Electricity, Peak, amount};
use crate::operation::{Log, clock_time_s};
use crate::quantity::{Quantity, dim};
use crate::report::money as report;
use crate::script::language::calling::look_of;
use crate::script::language::error::{Answer, raise};
use crate::script::language::values::{as_names, expect_quantity, weekday};
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Dynamic, Engine, EvalAltResult};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Electricity>("prices of electricity");
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |call: NativeCallContext, prices: Electricity| -> Answer<String> {
            Ok(report::electricity_in_words(&prices, look_of(&call)?.system))
        });
    }
    engine.register_global_module(exported_module!(functions).into());
}

/// Days of the week by their names, from Monday.
fn weekdays(days: &Dynamic) -> Answer<[bool; 7]> {
    let mut holds = [false; 7];
    for name in as_names(days, "peak")? {
        holds[weekday(&name, "peak", "write \"Mon\" or a list such as [\"Mon\", \"Thu\"]")?] = true;
    }
    Ok(holds)
}

fn with_peak(prices: Electricity, clocks: [&str; 2], price: &Dynamic, weekdays: Option<[bool; 7]>) -> Answer<Electricity> {
    let [from_s, to_s] = clocks.map(clock_time_s);
    let (from_s, to_s) = (from_s.map_err(raise)?, to_s.map_err(raise)?);
    prices.with_peak(Peak { from_s, to_s, price: power_price(price, "peak: price")?, weekdays }).map_err(raise)
}

#[export_module]
mod functions {
    /// Prices of electricity: one at all times, and with `peak` others at times of the day.
    ///
    /// ```hw
    /// electricity(0.19.USD_per_kWh).peak("16:00", "21:00", 0.42.USD_per_kWh)   // => electricity 0.19 $/kWh, 0.42 $/kWh from 16:00 to 21:00
    /// electricity(0.19.USD)   // => error: electricity: price must be a price of energy, found $0.19 (an amount of money in USD)
    /// ```
    #[rhai_fn(return_raw)]
    pub fn electricity(price: Quantity) -> Result<Electricity, Box<EvalAltResult>> {
        Electricity::new(power_price(&Dynamic::from(price), "electricity: price")?).map_err(raise)
    }

    /// Another price of electricity from one time of day to another, also past midnight; optionally only on days of the week.
    ///
    /// ```hw
    /// let power = electricity(0.19.USD_per_kWh).peak("16:00", "21:00", 0.42.USD_per_kWh, ["Mon", "Tue", "Wed", "Thu", "Fri"]);
    /// power.peak("22:00", "06:00", 0.11.USD_per_kWh).cost(650.W, "05:30", 60.min)   // => $0.10
    /// power.peak("20:00", "22:00", 0.3.USD_per_kWh)   // => error: the times from 16:00 to 21:00 and from 20:00 to 22:00 overlap
    /// ```
    #[rhai_fn(return_raw)]
    pub fn peak(prices: Electricity, from: &str, to: &str, price: Dynamic) -> Result<Electricity, Box<EvalAltResult>> {
        with_peak(prices, [from, to], &price, None)
    }

    #[rhai_fn(name = "peak", return_raw)]
    pub fn peak_on_days(
        prices: Electricity,
        from: &str,
        to: &str,
        price: Dynamic,
        days: Dynamic,
    ) -> Result<Electricity, Box<EvalAltResult>> {
        with_peak(prices, [from, to], &price, Some(weekdays(&days)?))
    }

    #[rhai_fn(name = "cost", return_raw)]
    pub fn cost_of_power(
        prices: Electricity,
        power: Dynamic,
        start: &str,
        time: Dynamic,
    ) -> Result<Quantity, Box<EvalAltResult>> {
        let power_w = expect_quantity(&power, dim::POWER, "cost: power")?;
        let (from_s, lasting_s) = (clock_time_s(start).map_err(raise)?, expect_quantity(&time, dim::TIME, "cost: time")?);
        Ok(amount(prices.cost(power_w.max(0.0), from_s, from_s + lasting_s.max(0.0), 0), prices.currency()))
    }

    #[rhai_fn(name = "cost", return_raw)]
    pub fn cost_of_log(log: Log, prices: Electricity) -> Result<Quantity, Box<EvalAltResult>> {
        report::power_cost(&log, &prices).map_err(raise)
    }

    #[rhai_fn(name = "monthly_cost", return_raw)]
    pub fn monthly_power(log: Log, prices: Electricity) -> Result<Quantity, Box<EvalAltResult>> {
        report::monthly_power_cost(&log, &prices).map_err(raise)
    }

    /// What the pumps of a run would cost if the whole run began at another hour: a row for each time at which the first timer starts, or else the first pump.
    ///
    /// ```hw
    /// let pumped = supply(50.psi) >> backflow_preventer() >> booster([[0.gpm, 50.psi], [12.gpm, 10.psi]]).input_power(500.W) >> relief(95.psi)
    ///     >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// let power = electricity(0.19.USD_per_kWh).peak("16:00", "21:00", 0.42.USD_per_kWh);
    /// let t = pumped.operate(schedule([]), 2.h).cost_by_start(power);
    /// t.filter(|row| row.start == "05:00" || row.start == "18:00")["cost"]   // => [$0.19, $0.42]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn cost_by_start(log: Log, prices: Electricity) -> Result<Table, Box<EvalAltResult>> {
        report::cost_by_start(&log, &prices).map_err(raise)
    }
}
