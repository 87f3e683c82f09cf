//! How long a water hammer takes, with short hoses and slow valves too; every bench checks its answer. Run with
//! `cargo bench --bench water_hammer`.

mod support;

use divan::Bencher;
use hosewright::garden::Garden;
use hosewright::parts::Kind;
use hosewright::water_hammer::{WaterHammer, water_hammer};
use support::*;

fn main() {
    divan::main();
}

fn hose(name: &str, length_mm: f64, diameter_in: f64) -> Garden {
    part(
        Kind::Hose,
        name,
        &[("length", q(length_mm, "mm")), ("diameter", q(diameter_in, "inch")), ("compliance", q(3.0, "mL/bar/m"))],
    )
}

fn tap() -> Garden {
    let numbers = [("static_pressure", q(58.0, "psi")), ("measured_pressure", q(44.0, "psi")), ("measured_flow", q(6.0, "gpm"))];
    part(Kind::Supply, "tap", &numbers)
}

fn zone(name: &str, length_mm: f64) -> Garden {
    let head = part(Kind::Head, &format!("head of {name}"), &[("nozzle", q(0.125, "inch"))]);
    line(&[part(Kind::Valve, name, &[]), hose(&format!("line of {name}"), length_mm, 0.5), head])
}

/// A valve right behind a short hose at the tap, and beside it 300 ft of an ordinary garden.
fn short_beside_long(length_mm: f64) -> Garden {
    let long = line(&[hose("long", 91_440.0, 0.625), zone("berries", 18_288.0)]);
    line(&[tap(), hose("short", length_mm, 0.625)]).then_branches(&[zone("beds", 12_192.0), long]).expect("joins")
}

fn struck(garden: &Garden, closing_s: f64) -> WaterHammer {
    let found = water_hammer(garden, &["beds"], Some(closing_s)).expect("a knock");
    let valve = found.at_valve().expect("the valve");
    let rise_psi = (valve.highest_pa - valve.before_pa) / PSI;
    assert!((0.0..100.0).contains(&rise_psi), "{rise_psi} psi");
    found
}

#[divan::bench(args = [152.4, 76.2, 25.4, 1.0, 0.01], sample_count = 10)]
fn a_short_hose_beside_300_ft(bencher: Bencher, length_mm: f64) {
    let garden = short_beside_long(length_mm);
    bencher.bench(|| struck(&garden, 0.3));
}

#[divan::bench(args = [0.0, 0.3, 10.0, 600.0, 86_400.0], sample_count = 10)]
fn an_ordinary_garden_by_closing_time(bencher: Bencher, closing_s: f64) {
    let trunk = line(&[tap(), hose("feed", 30_480.0, 0.75)]);
    let garden = trunk.then_branches(&[zone("beds", 12_192.0), zone("berries", 18_288.0)]).expect("joins");
    bencher.bench(|| struck(&garden, closing_s));
}

#[divan::bench(args = [100, 1000], sample_count = 10)]
fn a_garden_of_many_zones(bencher: Bencher, zones: usize) {
    let zones: Vec<Garden> = (0..zones).map(|n| zone(&format!("zone {n}"), 10_000.0)).chain([zone("beds", 12_192.0)]).collect();
    let garden = line(&[tap(), hose("feed", 30_480.0, 0.75)]).then_branches(&zones).expect("joins");
    bencher.bench(|| struck(&garden, 0.3));
}
