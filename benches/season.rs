//! How long thirty years of ten beds take; the bench checks its answer. Run with `cargo bench --bench season`.

use divan::Bencher;
use hosewright::moment::Date;
use hosewright::season::{Bed, Plan, season};
use hosewright::soil::{Crop, Soil};
use hosewright::weather::{Place, Weather};
use std::fmt::Write;

fn main() {
    divan::main();
}

/// Thirty years without a file: warm and dry summers.
fn weather() -> Weather {
    let first = Date::new(1990, 1, 1).expect("a day");
    let mut text = String::from("date,tmin_C,tmax_C,rain_mm,dew_point_C,wind_2m_m_per_s\n");
    for step in 0..10_957 {
        let season = (f64::from(step) / 365.25 * std::f64::consts::TAU).cos();
        let rain = if step % 5 == 0 { 7.0 + 5.0 * season } else { 0.0 };
        let (low, high) = (8.0 - 7.0 * season, 18.0 - 10.0 * season);
        let _ = writeln!(text, "{},{low:.1},{high:.1},{rain:.1},{:.1},2.3", first.plus(step), low - 1.0);
    }
    Weather::read("years", &text).expect("weather").at(Place::new(45.0, 100.0).expect("a place"))
}

#[divan::bench]
fn thirty_years_of_ten_beds(bencher: Bencher) {
    let weather = weather();
    let bed = |n: usize| {
        let crop = Crop { planted: None, ..Crop::named("lawn", None).expect("a crop") };
        Bed { ground_m: 0.2 + 0.05 * n as f64, ..Bed::new(&format!("bed {n}"), crop, Soil::named("loam").expect("a soil")) }
    };
    let beds: Vec<Bed> = (0..10).map(bed).collect();
    bencher.bench(|| {
        let found = season(&beds, &weather, &Plan::default()).expect("a season");
        assert_eq!(found.beds.iter().map(|bed| bed.days.len()).sum::<usize>(), 109_570);
        assert!(found.beds.iter().all(|bed| bed.days.iter().all(|day| day.imbalance_mm().abs() < 1e-9)));
        found
    });
}

#[divan::bench]
fn thirty_years_are_read(bencher: Bencher) {
    let mut text = String::from("date,tmin_C,tmax_C,rain_mm\n");
    for step in 0..10_957 {
        let _ = writeln!(text, "{},10.0,20.0,1.0", Date::new(1990, 1, 1).expect("a day").plus(step));
    }
    bencher.bench(|| Weather::read("years", &text).expect("weather"));
}
