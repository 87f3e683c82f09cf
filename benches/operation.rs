//! How long runs over time take; every bench checks its answer too. Run with `cargo bench --bench operation`.

mod support;

use divan::Bencher;
use hosewright::garden::Garden;
use hosewright::operation::{EventKind, Schedule, Timer, operate};
use hosewright::parts::Kind;
use hosewright::quantity::{Quantity, dim};
use support::*;

const DAY_S: f64 = 86_400.0;

fn main() {
    divan::main();
}

/// Supply, check valve, booster with its switch, and what stores water.
fn station(storage: Garden) -> Garden {
    line(&[
        part(
            Kind::Supply,
            "main",
            &[("static_pressure", q(40.0, "psi")), ("measured_pressure", q(25.0, "psi")), ("measured_flow", q(8.0, "gpm"))],
        ),
        part(Kind::CheckValve, "check", &[("diameter", q(0.75, "inch"))]),
        Garden::of(pump("pump", &[(0.0, 50.0), (6.0, 40.0), (12.0, 10.0)])),
        storage,
        part(Kind::PressureSwitch, "switch", &[("cut_in", q(45.0, "psi")), ("cut_out", q(65.0, "psi"))]),
    ])
}

/// A feed hose whose stretch lets the pump cycle every eight seconds while a small head runs.
fn cycling() -> Garden {
    let stretch = Quantity::new(7.4e-6 / 1e5, dim::COMPLIANCE);
    let feed = part(Kind::Hose, "feed", &[("length", q(100.0, "ft")), ("diameter", q(0.75, "inch")), ("compliance", stretch)]);
    let head = part(Kind::Head, "mist", &[("nozzle", q(0.057, "inch"))]);
    line(&[station(feed), part(Kind::Hose, "line", &[("length", q(20.0, "ft")), ("diameter", q(0.5, "inch"))]), head])
}

fn six_zones() -> (Garden, Schedule) {
    let tank = part(Kind::PressureTank, "tank", &[("volume", q(10.0, "gal")), ("precharge", q(43.0, "psi"))]);
    let zone = |number: usize| {
        line(&[
            part(Kind::Valve, &format!("zone{number}"), &[]),
            part(
                Kind::Hose,
                &format!("line{number}"),
                &[("length", q(30.0 + 10.0 * number as f64, "ft")), ("diameter", q(0.625, "inch"))],
            ),
            part(
                Kind::Head,
                &format!("head{number}"),
                &[("diameter", q(0.1 + 0.01 * number as f64, "inch")), ("range_low", q(30.0, "psi"))],
            ),
        ])
    };
    let leak = part(Kind::Leak, "drip", &[("flow", q(1.0, "gph")), ("pressure", q(40.0, "psi"))]);
    let zones: Vec<Garden> = (1..=6).map(zone).chain([leak]).collect();
    let timer = |name: &str, start_s: f64, first: usize| Timer {
        starts_s: vec![start_s],
        zones: (first..first + 3).map(|number| (format!("zone{number}"), 1200.0)).collect(),
        ..Timer::new(name)
    };
    let schedule = Schedule { timers: vec![timer("east", 19_800.0, 1), timer("west", 64_800.0, 4)], ..Schedule::default() };
    (station(tank).then_branches(&zones).expect("joins"), schedule)
}

fn switch_events(log: &hosewright::operation::Log) -> usize {
    log.events().iter().filter(|event| matches!(event.kind, EventKind::PumpStarts | EventKind::PumpStops)).count()
}

#[divan::bench]
fn an_hour_with_about_900_switch_events(bencher: Bencher) {
    let garden = cycling();
    bencher.bench(|| {
        let log = operate(&garden, &Schedule::default(), 3600.0).expect("runs");
        let events = switch_events(&log);
        assert!((700..1100).contains(&events), "{events} switch events");
        log
    });
}

#[divan::bench]
fn a_day_with_two_timers_and_six_zones(bencher: Bencher) {
    let (garden, schedule) = six_zones();
    bencher.bench(|| {
        let log = operate(&garden, &schedule, DAY_S).expect("runs");
        assert!(switch_events(&log) > 20, "{} switch events", switch_events(&log));
        log
    });
}

#[divan::bench]
fn a_season_of_90_days(bencher: Bencher) {
    let (garden, schedule) = six_zones();
    bencher.bench(|| {
        let log = operate(&garden, &schedule, 90.0 * DAY_S).expect("runs");
        assert!(switch_events(&log) > 2000, "{} switch events", switch_events(&log));
        log
    });
}
