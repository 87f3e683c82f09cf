//! How long thirty years of ten beds and a sweep of seasons take; the benches check their answers. Run with `cargo bench --bench season`,
//! beside plain numerical Python with `python benches/peer/season.py`.

use divan::Bencher;
use hosewright::moment::Date;
use hosewright::season::{Bed, Plan, season};
use hosewright::soil::{Crop, Soil};
use hosewright::weather::{Place, Weather};
use std::fmt::Write;
use std::time::Instant;

fn main() {
    if std::env::args().any(|argument| argument == "--answers") {
        answers();
    } else {
        divan::main();
    }
}

/// The best time of thirty years of ten beds and what each bed was given, as a line for the comparison with other programs.
fn answers() {
    let (weather, beds) = (weather(), lawns());
    let mut best_s = f64::INFINITY;
    let mut given = Vec::new();
    for _ in 0..20 {
        let began = Instant::now();
        let found = season(&beds, &weather, &Plan::default()).expect("a season");
        best_s = best_s.min(began.elapsed().as_secs_f64());
        given = found.beds.iter().map(|bed| bed.totals().given_mm).collect();
    }
    println!("{{\"seconds\": {best_s}, \"given_mm\": {given:?}}}");
}

/// Ten lawns on ever deeper loam.
fn lawns() -> Vec<Bed> {
    let bed = |n: usize| {
        let crop = Crop { planted: None, ..Crop::named("lawn", None).expect("a crop") };
        Bed { ground_m: 0.2 + 0.05 * n as f64, ..Bed::new(&format!("bed {n}"), crop, Soil::named("loam").expect("a soil")) }
    };
    (0..10).map(bed).collect()
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
    let beds = lawns();
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

/// A thousand values of a crop coefficient in each of four years, two beds each, on all cores.
#[cfg(feature = "app")]
#[divan::bench]
fn a_thousand_seasons_in_four_years(bencher: Bencher) {
    use hosewright::quantity::{Quantity, dim};
    use hosewright::season::Scenario;
    use hosewright::study::{Axes, Axis, NativeStudy, SeasonSweep, SweepOptions};
    let planted = |name: &str, crop: &str| {
        let crop = Crop { planted: Date::new(2015, 5, 15), ..Crop::named(crop, None).expect("a crop") };
        Bed::new(name, crop, Soil::named("sandy loam").expect("a soil"))
    };
    let beds = vec![planted("tomatoes", "tomato"), planted("beans", "bean")];
    let scenario = Scenario { beds, weather: weather().into(), plan: Plan::default() };
    let values = |n: i32, of: fn(i32) -> f64| (0..n).map(|at| Quantity::new(of(at), dim::NUMBER)).collect::<Vec<_>>();
    let axis = |name: &str, values: &[Quantity]| Axis::of_quantities(name, values).expect("an axis");
    let axes = Axes::default()
        .and(axis("tomatoes.crop.kc_mid", &values(1000, |at| 0.9 + 0.0004 * f64::from(at))))
        .and_then(|axes| axes.and(axis("year", &values(4, |at| f64::from(2012 + at)))))
        .expect("axes");
    bencher.bench(|| {
        let sweep = SeasonSweep::new(&scenario, &axes).expect("a sweep");
        let table = sweep.run(0..sweep.cases(), &SweepOptions::default()).expect("a table").table;
        assert_eq!(table.rows(), 4000);
        assert!(table.column("tomatoes.given").expect("a column").cells().all(|cell| !cell.is_missing()));
        table
    });
}
