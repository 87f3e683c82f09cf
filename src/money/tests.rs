//! Properties of bills, prices by the time of day, and payback.

use super::*;
use crate::quantity::{DAY_S, Quantity, read_quantity};
use proptest::prelude::*;
use std::collections::BTreeMap;

fn q(text: &str) -> Quantity {
    read_quantity(text).unwrap_or_else(|error| panic!("{text}: {error}"))
}

fn block(end: &str, price: &str) -> Block {
    Block { up_to: (!end.is_empty()).then(|| q(end)), price: q(price) }
}

fn tariff() -> Tariff {
    Tariff::new(vec![block("10 m3", "1.35 EUR/m3"), block("25 m3", "1.9 EUR/m3"), block("", "3.1 EUR/m3")]).expect("a tariff")
}

fn sewage(garden_share: f64) -> Sewage {
    Sewage { price: q("2 EUR/m3"), garden_share }
}

proptest! {
    #[test]
    fn a_bill_is_the_integral_of_the_marginal_price(house in 0.0..60.0, garden in 0.0..60.0) {
        let price = |at: f64| if at < 10.0 { 1.35 } else if at < 25.0 { 1.9 } else { 3.1 };
        let steps = 20_000;
        let sum: f64 = (0..steps).map(|step| price(house + garden * (f64::from(step) + 0.5) / f64::from(steps))).sum();
        prop_assert!((tariff().added(house, garden) - sum * garden / f64::from(steps)).abs() < 2e-3 * garden.max(1.0));
        prop_assert!(tariff().added(house + 1.0, garden) >= tariff().added(house, garden) - 1e-9);
        let with_meter = tariff().with_sewage(sewage(0.0)).expect("sewage");
        prop_assert!((with_meter.added(house, garden) - tariff().added(house, garden)).abs() < 1e-9);
        let without = tariff().with_sewage(sewage(1.0)).expect("sewage");
        prop_assert!((without.added(house, garden) - tariff().added(house, garden) - 2.0 * garden).abs() < 1e-9);
    }

    #[test]
    fn bills_of_any_length_hold_the_same_water(volumes in prop::collection::vec(0.0..9.0, 1..30), first in 1u32..13, start in 0i32..12) {
        let months: BTreeMap<(i32, u32), f64> =
            volumes.iter().enumerate().map(|(at, volume)| { let month = start + at as i32; ((2015 + month / 12, (month % 12) as u32 + 1), *volume) }).collect();
        let house = House(std::array::from_fn(|month| 1.0 + month as f64));
        for (_, period) in BillingPeriod::ALL {
            let tariff = tariff().billed(period, first).expect("bills");
            let bills = Bills::new(&tariff, &house, &months);
            prop_assert!((bills.garden_m3() - volumes.iter().sum::<f64>()).abs() < 1e-9);
            prop_assert!(bills.list.windows(2).all(|two| two[0].last < two[1].first));
            for bill in &bills.list {
                let months = 12 * (bill.last.0 - bill.first.0) + bill.last.1 as i32 - bill.first.1 as i32 + 1;
                prop_assert_eq!(months as u32, period.months());
                prop_assert_eq!((bill.first.1 + 12 - first) % period.months(), 0);
                prop_assert!(bill.added() >= 1.35 * bill.garden_m3 - 1e-9 && bill.added() <= 3.1 * bill.garden_m3 + 1e-9);
            }
        }
    }

    #[test]
    fn every_second_has_one_price(from in 0.0..4.0 * DAY_S, lasting in 0.0..2.0 * DAY_S, weekday in 0usize..7, a in 0.0..DAY_S, b in 0.0..DAY_S, c in 0.0..DAY_S) {
        prop_assume!((a - b).abs() > 1.0 && (b - c).abs() > 1.0 && (a - c).abs() > 1.0);
        let weekdays = Some(std::array::from_fn(|day| day < 5));
        let mut power = Electricity::new(q("0.2 EUR/kWh")).expect("a price");
        let peaks = [Peak { from_s: a, to_s: b, price: q("0.5 EUR/kWh"), weekdays }, Peak { from_s: b, to_s: c, price: q("0.1 EUR/kWh"), weekdays: None }];
        let mut taken = Vec::new();
        for peak in peaks {
            if let Ok(more) = power.clone().with_peak(peak) {
                power = more;
                taken.push(peak);
            }
        }
        let to = from + lasting;
        let found = power.seconds(from, to, weekday);
        // The same by looking at the clock in the middle of each of many short times.
        let steps = 4000;
        let mut sampled = vec![0.0; found.len()];
        for step in 0..steps {
            let at = from + lasting * (f64::from(step) + 0.5) / f64::from(steps);
            let (day, clock) = ((weekday + (at / DAY_S) as usize) % 7, at % DAY_S);
            let holds = |peak: &Peak| {
                let within = if peak.from_s < peak.to_s { peak.from_s <= clock && clock < peak.to_s } else { clock >= peak.from_s || clock < peak.to_s };
                within && peak.weekdays.is_none_or(|days| days[day])
            };
            sampled[taken.iter().position(holds).map_or(0, |at| at + 1)] += lasting / f64::from(steps);
        }
        for (found, sampled) in found.iter().zip(&sampled) {
            prop_assert!((found - sampled).abs() < 12.0 * lasting / f64::from(steps) + 1e-6, "{found} {sampled}");
        }
    }

    #[test]
    fn savings_until_the_payback_are_worth_the_price(price in 1.0..1000.0, saving in 1.0..300.0, rate in 0.0..0.2, rise in -0.1..0.2) {
        let of = |value: f64| amount(value, q("1 EUR").dimension.currency);
        let found = payback(of(price), of(saving), rate, rise).expect("a payback");
        // What is saved up to a whole number of years, year by year.
        let worth = |years: i32| (1..=years).map(|year| saving * (1.0 + rise).powi(year - 1) / (1.0 + rate).powi(year)).sum::<f64>();
        match found.years {
            Some(years) if years < 500.0 => {
                prop_assert!(worth(years.floor() as i32) <= price * (1.0 + 1e-9), "{years}");
                prop_assert!(worth(years.ceil() as i32) >= price * (1.0 - 1e-9), "{years}");
            }
            Some(_) => {}
            None => prop_assert!(worth(3000) < price),
        }
    }

    #[test]
    fn a_yearly_cost_repays_the_price(price in 1.0..1000.0, years in 1usize..40, rate in -0.05..0.2) {
        let each = yearly_cost(price, years as f64, rate).expect("a cost");
        let flows: Vec<f64> = std::iter::once(-price).chain(std::iter::repeat_n(each, years)).collect();
        prop_assert!(present_value(&flows, rate).expect("a value").abs() < 1e-6 * price);
        prop_assert!((rate_of_return(&flows).expect("a rate") - rate).abs() < 1e-6);
    }
}

#[test]
fn a_tariff_says_which_block_is_wrong() {
    let error = |blocks: Vec<Block>| Tariff::new(blocks).expect_err("no tariff").to_string();
    assert_eq!(error(vec![]), "a tariff needs at least one block");
    let (first, last) = (block("5000 gal", "4.2 USD/kgal"), block("", "8.1 USD/kgal"));
    assert_eq!(error(vec![first]), "the last block ends at 5000 gal; expected a last block without an end");
    assert_eq!(
        error(vec![first, block("3000 gal", "5 USD/kgal"), last]),
        "block 2 ends at 3000 gal, and the one before it at 5000 gal"
    );
    assert_eq!(error(vec![last, first, last]), "block 1 has no end, and 2 follow");
    assert_eq!(error(vec![last, last]), "block 1 has no end, and 1 follows");
    assert_eq!(error(vec![block("0 gal", "1 USD/kgal"), last]), "block 1 ends at 0 gal; expected a volume above zero");
    assert_eq!(error(vec![block("", "-1 USD/kgal")]), "the price of a block is -1 $/kgal; expected zero or above");
    assert_eq!(error(vec![first, block("", "3 EUR/m3")]), "4.2 $/kgal and 3 EUR/m3 are of two currencies");
    let charge = tariff().with_fixed(q("9.5 USD")).expect_err("two currencies").to_string();
    assert_eq!(charge, "1.35 EUR/m3 and $9.50 are of two currencies");
    assert!(
        tariff().with_sewage(sewage(1.2)).is_err()
            && tariff().rising(2.0).is_err()
            && tariff().billed(BillingPeriod::Month, 13).is_err()
    );
}

#[test]
fn prices_rise_from_the_first_year_on() {
    let rising = tariff().with_fixed(q("4 EUR")).and_then(|tariff| tariff.rising(0.1)).expect("a tariff");
    let months = BTreeMap::from([((2015, 7), 8.0), ((2016, 7), 8.0), ((2017, 7), 8.0)]);
    let bills = Bills::new(&rising, &House::steady(5.0), &months);
    let first = rising.added(5.0, 8.0);
    let expected = [first, 1.1 * first, 1.21 * first];
    assert!(bills.list.iter().zip(expected).all(|(bill, expected)| (bill.added() - expected).abs() < 1e-9));
    assert!((bills.list[2].alone - 1.21 * rising.bill(5.0)).abs() < 1e-9);
    assert_eq!(bills.list[0].months(), "2015-07");
}

#[test]
fn a_leak_costs_its_water_at_the_price_it_is_billed_at() {
    let flow = 9.0 / MONTH_S;
    let cost = |tariff: &Tariff, house: &House| Bills::of_flow(tariff, house, flow).si;
    assert!((cost(&tariff(), &House::steady(30.0)) - 9.0 * 3.1).abs() < 1e-9);
    assert!((cost(&tariff(), &House::steady(0.0)) - 9.0 * 1.35).abs() < 1e-9);
    // Half of a year in the first block, half in the last; two months make a bill.
    let uneven = House(std::array::from_fn(|month| if month < 6 { 0.0 } else { 30.0 }));
    assert!((cost(&tariff(), &uneven) - 9.0 * (1.35 + 3.1) / 2.0).abs() < 1e-9);
    let long = tariff().billed(BillingPeriod::TwoMonths, 1).expect("bills");
    assert!((cost(&long, &House::steady(30.0)) - 9.0 * 3.1).abs() < 1e-9);
    assert!((cost(&long, &House::steady(0.0)) - (10.0 * 1.35 + 8.0 * 1.9) / 2.0).abs() < 1e-9);
}

#[test]
fn prices_of_power_are_one_at_each_time() {
    let peak =
        |from: f64, to: f64, price: &str| Peak { from_s: 3600.0 * from, to_s: 3600.0 * to, price: q(price), weekdays: None };
    let power = Electricity::new(q("0.19 USD/kWh")).expect("a price");
    let with = |peak| power.clone().with_peak(peak);
    let evening = with(peak(16.0, 21.0, "0.42 USD/kWh")).expect("a peak");
    let error = evening.clone().with_peak(peak(20.0, 6.0, "0.1 USD/kWh")).expect_err("two prices").to_string();
    assert_eq!(error, "the times from 16:00 to 21:00 and from 20:00 to 06:00 overlap");
    assert!(evening.with_peak(peak(21.0, 6.0, "0.1 USD/kWh")).is_ok());
    assert!(matches!(with(peak(4.0, 4.0, "0.1 USD/kWh")), Err(MoneyError::EmptyPeak { .. })));
    assert!(matches!(with(peak(4.0, 5.0, "0.1 EUR/kWh")), Err(MoneyError::TwoCurrencies { .. })));
    assert!(matches!(with(peak(4.0, 5.0, "-0.1 USD/kWh")), Err(MoneyError::Negative { .. })));
}

#[test]
fn flows_of_one_sign_have_no_rate() {
    assert_eq!(rate_of_return(&[10.0, 20.0]), Err(MoneyError::NoRate));
    assert_eq!(rate_of_return(&[0.0, 0.0]), Err(MoneyError::NoRate));
    assert!(present_value(&[1.0], f64::NAN).is_err() && yearly_cost(1.0, 0.0, 0.05).is_err());
}
