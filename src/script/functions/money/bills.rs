//! Tariffs of water, and the bills of seasons, volumes and leaks.

use super::read::{amount_of, house_of, volume, water_price};
use crate::findings::of_bills;
use crate::garden::Accepted;
use crate::money::{BillingPeriod, Bills, Block, Sewage, Tariff, amount};
use crate::operation::Log;
use crate::quantity::{Quantity, dim};
use crate::report::{FindingList, money as report};
use crate::script::functions::watering::SeasonAnswer;
use crate::script::language::calling::look_of;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{as_quantity, expect_number, expect_quantity};
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, INT};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Tariff>("a tariff").register_type_with_name::<Bills>("bills");
    engine.register_get("total", |bills: &mut Bills| bills.total());
    for word in ["to_debug", "to_string"] {
        engine
            .register_fn(word, |call: NativeCallContext, tariff: Tariff| -> Answer<String> {
                Ok(report::tariff_in_words(&tariff, look_of(&call)?.system))
            })
            .register_fn(word, |call: NativeCallContext, bills: Bills| -> Answer<String> {
                Ok(report::bills_in_words(&bills, look_of(&call)?.system))
            });
    }
    engine.register_global_module(exported_module!(functions).into());
}

/// The volume and the price of a block.
fn block(value: &Dynamic) -> Answer<Block> {
    let pair = value.clone().into_array().unwrap_or_default();
    let [end, price] = pair.as_slice() else {
        let error = ScriptError::new("tariff: expected blocks of an end and a price").about("blocks");
        return Err(error.with_hint("give them as in {[5000.gal, 4.20.USD_per_kgal]|[20.m3, 1.10.EUR_per_m3]}").into());
    };
    let price = water_price(price, "tariff: price")?;
    if end.is_unit() {
        return Ok(Block { up_to: None, price });
    }
    expect_quantity(end, dim::VOLUME, "tariff: end")?;
    Ok(Block { up_to: as_quantity(end), price })
}

fn billing(tariff: Tariff, period: &str, first_month: INT) -> Answer<Tariff> {
    let found = BillingPeriod::ALL.into_iter().find(|(name, _)| *name == period.trim());
    let (_, period) = found.ok_or_else(|| {
        let names: Vec<String> = BillingPeriod::ALL.iter().map(|(name, _)| format!("\"{name}\"")).collect();
        let error = ScriptError::new(format!("billed: there is no period '{period}'")).about("period");
        error.with_hint(format!("its periods are {}", names.join(", ")))
    })?;
    tariff.billed(period, u32::try_from(first_month).unwrap_or(0)).map_err(raise)
}

fn with_sewage(tariff: Tariff, price: &Dynamic, percent: f64) -> Answer<Tariff> {
    let price = water_price(price, "sewage: price")?;
    tariff.with_sewage(Sewage { price, garden_share: percent / 100.0 }).map_err(raise)
}

#[export_module]
mod functions {
    /// A water tariff by blocks of one bill: each block ends at a volume, the last has no end, `()`. One price is
    /// `tariff([[(), price]])`. Bills are monthly without charge unless `billed` and `fixed` give others.
    ///
    /// ```hw
    /// tariff([[5000.gal, 4.20.USD_per_kgal], [(), 8.10.USD_per_kgal]]).fixed(9.50.USD)   // => water billed by the month: 4.2 $/kgal up to 5000 gal, 8.1 $/kgal above, $9.50 a bill
    /// tariff([[10.m3, 1.35.EUR_per_m3], [(), 3.10.EUR_per_m3]]).bill_for(15.m3)          // => 29.00 EUR
    /// tariff([[20.ccf, 3.60.USD_per_ccf]])   // => error: the last block ends at 20 ccf; expected a last block without an end
    /// ```
    #[rhai_fn(return_raw)]
    pub fn tariff(blocks: Array) -> Result<Tariff, Box<EvalAltResult>> {
        Tariff::new(blocks.iter().map(block).collect::<Answer<_>>()?).map_err(raise)
    }

    /// What each bill of a tariff costs without any water.
    ///
    /// ```hw
    /// tariff([[(), 4.20.USD_per_kgal]]).fixed(9.50.USD).bill_for(0.gal)   // => $9.50
    /// tariff([[(), 4.20.USD_per_kgal]]).fixed(9.EUR)   // => error: 4.2 $/kgal and 9.00 EUR are of two currencies
    /// ```
    #[rhai_fn(return_raw)]
    pub fn fixed(tariff: Tariff, charge: Dynamic) -> Result<Tariff, Box<EvalAltResult>> {
        tariff.with_fixed(amount_of(&charge, "fixed: charge")?).map_err(raise)
    }

    /// The price of sewage on all water of the house, and on a percentage of garden water: 100 by default, 0 with a deduct meter.
    ///
    /// ```hw
    /// let bill = tariff([[(), 4.20.USD_per_kgal]]);
    /// bill.sewage(6.USD_per_kgal).added_cost(2000.gal, 5000.gal)      // => $20.40
    /// bill.sewage(6.USD_per_kgal, 0).added_cost(2000.gal, 5000.gal)   // => $8.40
    /// ```
    #[rhai_fn(return_raw)]
    pub fn sewage(tariff: Tariff, price: Dynamic) -> Result<Tariff, Box<EvalAltResult>> {
        with_sewage(tariff, &price, 100.0)
    }

    #[rhai_fn(name = "sewage", return_raw)]
    pub fn sewage_of_a_share(tariff: Tariff, price: Dynamic, percent: Dynamic) -> Result<Tariff, Box<EvalAltResult>> {
        with_sewage(tariff, &price, expect_number(&percent, "sewage: percent")?)
    }

    /// The billing period of a tariff: "month" (the default), "two months" or "quarter", and optionally a month, 1 to 12, in which a bill begins.
    ///
    /// ```hw
    /// let bill = tariff([[10000.gal, 4.20.USD_per_kgal], [(), 8.10.USD_per_kgal]]).billed("two months", 2);
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam")).rate(0.5.in_per_h, 70).area(600.ft2);
    /// season([beans], w).cost(bill, 4500.gal).table()["bill"]   // => ["2015-04 to 2015-05", "2015-06 to 2015-07", "2015-08 to 2015-09"]
    /// bill.billed("week")   // => error: billed: there is no period 'week'
    /// ```
    #[rhai_fn(return_raw)]
    pub fn billed(tariff: Tariff, period: &str) -> Result<Tariff, Box<EvalAltResult>> {
        billing(tariff, period, 1)
    }

    #[rhai_fn(name = "billed", return_raw)]
    pub fn billed_from(tariff: Tariff, period: &str, first_month: INT) -> Result<Tariff, Box<EvalAltResult>> {
        billing(tariff, period, first_month)
    }

    /// The percentage by which all prices of a tariff rise from year to year, from the first year of a season on.
    ///
    /// ```hw
    /// tariff([[(), 4.20.USD_per_kgal]]).rises(3)   // => water billed by the month: 4.2 $/kgal, rising 3 % a year
    /// ```
    #[rhai_fn(return_raw)]
    pub fn rises(tariff: Tariff, percent: Dynamic) -> Result<Tariff, Box<EvalAltResult>> {
        tariff.rising(expect_number(&percent, "rises: percent")? / 100.0).map_err(raise)
    }

    /// One bill of a volume.
    ///
    /// ```hw
    /// tariff([[5000.gal, 4.20.USD_per_kgal], [(), 8.10.USD_per_kgal]]).bill_for(7000.gal)   // => $37.20
    /// ```
    #[rhai_fn(name = "bill_for", return_raw)]
    pub fn bill_for_volume(tariff: Tariff, water: Dynamic) -> Result<Quantity, Box<EvalAltResult>> {
        Ok(amount(tariff.bill(volume(&water, "bill_for: water")?), tariff.currency()))
    }

    /// What garden water adds to one bill of a house: the difference of the bill with the garden and that of the house alone.
    ///
    /// ```hw
    /// tariff([[5000.gal, 4.20.USD_per_kgal], [(), 8.10.USD_per_kgal]]).added_cost(2000.gal, 4000.gal)   // => $12.30
    /// ```
    #[rhai_fn(return_raw)]
    pub fn added_cost(tariff: Tariff, garden: Dynamic, house: Dynamic) -> Result<Quantity, Box<EvalAltResult>> {
        let (garden_m3, house_m3) = (volume(&garden, "added_cost: garden")?, volume(&house, "added_cost: house")?);
        Ok(amount(tariff.added(house_m3, garden_m3), tariff.currency()))
    }

    /// What a leak or a valve that does not close costs a month: its flow, day and night, on top of the water of the house.
    ///
    /// ```hw
    /// let bill = tariff([[5000.gal, 4.20.USD_per_kgal], [(), 8.10.USD_per_kgal]]);
    /// bill.leak_cost(0.5.gph, 5000.gal)   // => $2.96
    /// bill.leak_cost(3.gpm, 5000.gal)     // => $1065.07
    /// ```
    #[rhai_fn(return_raw)]
    pub fn leak_cost(tariff: Tariff, flow: Dynamic, house: Dynamic) -> Result<Quantity, Box<EvalAltResult>> {
        let flow = expect_quantity(&flow, dim::FLOW, "leak_cost: flow")?;
        Ok(Bills::of_flow(&tariff, &house_of(&house, "leak_cost")?, flow.max(0.0)))
    }

    /// What the water of a season adds to the bills of a house, or what the pumps of a run cost. For a season the last value is what the house takes
    /// each month without the garden, or a list of twelve months. Beds that are watered need `area` or `watered_by`. `.total` is the sum, `.table()` has
    /// the bills, `.findings()` reports the dearest block.
    ///
    /// ```hw
    /// let bill = tariff([[5000.gal, 4.20.USD_per_kgal], [(), 8.10.USD_per_kgal]]).fixed(9.50.USD);
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam")).rate(0.5.in_per_h, 70).area(600.ft2);
    /// let bills = season([beans], w).cost(bill, 4500.gal);
    /// bills                       // => $44.25 for the garden in 4 bills
    /// bills.table()["cost"]       // => [$2.31, $14.54, $22.62, $4.78]
    /// ```
    #[rhai_fn(name = "cost", return_raw)]
    pub fn cost_of_season(season: SeasonAnswer, tariff: Tariff, house: Dynamic) -> Result<Bills, Box<EvalAltResult>> {
        let house = house_of(&house, "cost")?;
        let months = report::water_by_month(season.season()).map_err(raise)?;
        Ok(Bills::new(&tariff, &house, &months))
    }

    /// What a run over time costs in a month of its kind: the water of its supplies on top of that of the house, or its electricity.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// let bill = tariff([[5000.gal, 4.20.USD_per_kgal], [(), 8.10.USD_per_kgal]]);
    /// let log = line.operate(timer("east").start("05:30").zone("bed", 20.min), 1.days);
    /// log.monthly_cost(bill, 4000.gal)   // => $11.37
    /// let power = electricity(0.19.USD_per_kWh);
    /// let pumped = supply(50.psi) >> backflow_preventer() >> booster([[0.gpm, 50.psi], [12.gpm, 10.psi]]).input_power(500.W) >> relief(95.psi)
    ///     >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// pumped.operate(schedule([]), 2.h).monthly_cost(power)   // => $69.40
    /// ```
    #[rhai_fn(name = "monthly_cost", return_raw)]
    pub fn monthly_water(log: Log, tariff: Tariff, house: Dynamic) -> Result<Quantity, Box<EvalAltResult>> {
        report::monthly_water_cost(&log, &tariff, &house_of(&house, "monthly_cost")?).map_err(raise)
    }

    /// The bills one by one: water of house and garden, the bill alone and with the garden, their difference `cost`, the price of the block that it reaches.
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam")).rate(0.5.in_per_h, 70).area(600.ft2);
    /// season([beans], w).cost(tariff([[(), 4.20.USD_per_kgal]]), 0.gal).table().names   // => ["bill", "house", "garden", "alone", "with_garden", "cost", "block_price"]
    /// ```
    #[rhai_fn(name = "table", return_raw)]
    pub fn table_of_bills(bills: Bills) -> Result<Table, Box<EvalAltResult>> {
        report::bills_table(&bills).map_err(raise)
    }

    /// Problems found with bills or a payback: the dearest block is reached, a purchase never pays back.
    ///
    /// ```hw
    /// payback(500.USD, 0.USD).findings().table()["code"]   // => ["never-pays-back"]
    /// ```
    #[rhai_fn(name = "findings")]
    pub fn findings_of_bills(bills: Bills) -> FindingList {
        FindingList::of_ground(&Accepted::default(), &of_bills(&bills))
    }
}
