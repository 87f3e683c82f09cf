//! Bills, prices by the time of day and worth over years against their check values.

use crate::harness::{Answer, Found, Row, check};
use crate::weather::weather_of;
use hosewright::moment::Date;
use hosewright::money::*;
use hosewright::operation::clock_time_s;
use hosewright::quantity::{GALLON_M3, Quantity, find_unit};
use hosewright::season::*;
use hosewright::soil::*;
use hosewright::weather::{Method, Place};

const KGAL_M3: f64 = 1000.0 * GALLON_M3;

fn value(value: f64) -> Answer {
    Some(Ok(Found::InUnitOfRow(value)))
}

fn quantity(value: f64, unit: &str) -> Quantity {
    Quantity::written(value, find_unit(unit).unwrap_or_else(|| panic!("no unit {unit}")))
}

fn money(column: &str, row: &Row, unit: &str) -> Quantity {
    quantity(row.need(column), unit)
}

/// The blocks of a row, `end:price` in thousands of gallons or cubic meters.
fn tariff(row: &Row, unit: &str) -> Tariff {
    let blocks = row.text("blocks").split(' ').map(|block| {
        let (end, price) = block.split_once(':').expect("an end and a price");
        let (factor, unit_of_end) = if unit == "m3" { (1.0, "m3") } else { (1000.0, "gal") };
        let up_to = end.parse().ok().map(|end: f64| quantity(factor * end, unit_of_end));
        Block { up_to, price: quantity(price.parse().expect("a price"), &format!("USD/{unit}")) }
    });
    Tariff::new(blocks.collect()).expect("a tariff")
}

fn flows(row: &Row) -> Vec<f64> {
    row.text("flows").split(' ').map(|number| number.parse().expect("a number")).collect()
}

/// A number, or the word for a price that nothing repays.
fn years(found: Payback) -> Answer {
    Some(Ok(found.years.map_or(Found::Word("never".into()), Found::InUnitOfRow)))
}

fn of_money(row: &Row) -> Answer {
    let tariff = || {
        let unit = if row.text("block_unit") == "m3" { "m3" } else { "kgal" };
        let charge = quantity(row.number("fixed_per_month").unwrap_or(0.0), "USD");
        tariff(row, unit).with_fixed(charge).expect("a charge")
    };
    // The house of these rows takes 6000 gal a month.
    let added = || {
        let garden = flows(row).iter().enumerate().map(|(at, kgal)| ((2015, at as u32 + 5), kgal * KGAL_M3)).collect();
        Bills::new(&tariff(), &House::steady(6.0 * KGAL_M3), &garden)
    };
    let rate = || row.need("rate_pct") / 100.0;
    match row.quantity() {
        "water_bill" => {
            let volume_m3 = row.number("volume_m3").unwrap_or_else(|| row.need("volume_gal") * GALLON_M3);
            value(tariff().bill(volume_m3) * row.need("months"))
        }
        "garden_share_of_water_bill" => value(added().total().si),
        "mean_price_of_garden_water" => value(added().total().si / (added().garden_m3() / KGAL_M3)),
        "electricity_of_one_run" => {
            let [from_s, to_s] = ["peak_from", "peak_to"].map(|column| clock_time_s(row.text(column)).expect("a time"));
            let peak = Peak { from_s, to_s, price: money("peak_price", row, "USD/kWh"), weekdays: None };
            let power = Electricity::new(money("other_price", row, "USD/kWh")).and_then(|power| power.with_peak(peak));
            let start_s = clock_time_s(row.text("run_from")).expect("a time");
            value(power.expect("prices").cost(row.need("power_W"), start_s, start_s + 60.0 * row.need("run_min"), 0))
        }
        "electricity" => {
            let power = Electricity::new(money("other_price", row, "USD/kWh")).expect("a price");
            value(power.cost(1000.0 * row.need("energy_kWh"), 0.0, 3600.0, 0))
        }
        "net_present_value" => value(present_value(&flows(row), rate()).expect("a value")),
        "internal_rate_of_return" => value(100.0 * rate_of_return(&flows(row)).expect("a rate")),
        "simple_payback" | "discounted_payback" => {
            let [price, saving] = ["investment", "saving_per_year"].map(|column| money(column, row, "USD"));
            years(payback(price, saving, row.number("rate_pct").unwrap_or(0.0) / 100.0, 0.0).expect("a payback"))
        }
        "yearly_cost_of_a_purchase" => {
            value(yearly_cost(row.need("investment"), row.need("life_years"), rate()).expect("a cost"))
        }
        "present_value_of_savings" => {
            let savings = std::iter::repeat_n(row.need("saving_per_year"), row.need("years") as usize);
            let flows: Vec<f64> = std::iter::once(0.0).chain(savings).collect();
            value(present_value(&flows, rate()).expect("a value"))
        }
        _ => None,
    }
}

fn of_cost(row: &Row) -> Answer {
    let crop = Crop {
        coefficients: [0.6, 1.15, 0.8],
        roots_m: [0.25, 0.7],
        share: 0.4,
        planted: Date::read("2015-05-15"),
        ..Crop::named("tomato", Some([30, 40, 45, 30])).expect("a crop")
    };
    let rate_mm_per_h = 25.4 * row.need("rate_in_h");
    let ground = Soil { field_capacity: 0.23, wilting_point: 0.11, ..Soil::named("loam").expect("a texture") };
    let bed = Bed {
        ground_m: 5.0,
        area_m2: Some(row.need("ground_ft2") * 0.3048 * 0.3048),
        water: Some(Water { rate_mm_per_h, du: row.need("du_low_quarter") }),
        ..Bed::new("bed", crop, ground)
    };
    let weather = weather_of("seattle_2012_to_2015.csv").at(Place::new(47.45, 130.0).expect("a place")).by(Method::Hargreaves);
    let season = season(&[bed], &weather, &Plan::default()).expect("a season").beds.remove(0);
    let tariff = tariff(row, "kgal");
    let house_m3 = row.need("house_1000_gal") * KGAL_M3;
    let wanted = row.number("month").map(|month| month as u32);
    let months = season.by_month().into_iter().filter(|((_, month), _)| wanted.is_none_or(|wanted| wanted == *month));
    let (mut net_mm, mut volume_m3, mut added) = (0.0, 0.0, 0.0);
    for (_, totals) in months {
        let volume = season.volume_m3(totals.given_mm).expect("an area");
        (net_mm, volume_m3, added) = (net_mm + totals.given_mm, volume_m3 + volume, added + tariff.added(house_m3, volume));
    }
    let minutes = 60.0 * season.bed.gross_mm(net_mm) / rate_mm_per_h;
    match row.quantity() {
        "net_depth" => value(net_mm),
        "run_time" | "run_time_of_season" => value(minutes),
        "water" | "water_of_season" => value(1000.0 * volume_m3 / KGAL_M3),
        "electricity_of_season" => {
            let power = Electricity::new(money("price_per_kWh", row, "USD/kWh")).expect("a price");
            value(power.cost(row.need("booster_W"), 0.0, 60.0 * minutes, 0))
        }
        "added_water_bill" | "added_water_bill_of_season" => value(added),
        _ => None,
    }
}

#[test]
fn bills_power_and_worth_agree() {
    check("season_money.csv", 28, &[], of_money);
}

#[test]
fn the_cost_of_a_season_agrees() {
    check("season_cost.csv", 24, &[], of_cost);
}
