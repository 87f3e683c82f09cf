//! How long runs over time take; every bench checks its answer too. Run with `cargo bench --bench operation`.

mod support;

use divan::Bencher;
use hosewright::garden::Garden;
use hosewright::moment::Date;
use hosewright::money::{Electricity, Peak};
use hosewright::operation::{CalendarDays, EventKind, PowerOfDays, Schedule, Timer, operate};
use hosewright::parts::Kind;
use hosewright::quantity::{Quantity, dim, read_quantity};
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
                &[("nozzle", q(0.1 + 0.01 * number as f64, "inch")), ("range_low", q(30.0, "psi"))],
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
    log.events().filter(|event| matches!(event.kind, EventKind::PumpStarts | EventKind::PumpStops)).count()
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

const YEARS_S: f64 = 20.0 * 365.25 * DAY_S;

/// Twenty years of a garden with tank and leak by its two timers and others beside them.
fn twenty_years(bencher: Bencher, garden: &Garden, others: Vec<Timer>) {
    let (_, mut schedule) = six_zones();
    schedule.timers.extend(others);
    schedule.first_date = Some(Date::new(2026, 1, 1).expect("a date").moment());
    let log = operate(garden, &schedule, YEARS_S).expect("runs");
    println!("  {:?}, {} events, {} solves", log.cycle(), log.number_of_events(), log.solves());
    bencher.bench(|| {
        let log = operate(garden, &schedule, YEARS_S).expect("runs");
        assert!(log.cut_short().is_none() && log.number_of_events() > 100_000, "{} events", log.number_of_events());
        log
    });
}

fn noon(zone: &str) -> Timer {
    Timer { starts_s: vec![43_200.0], zones: vec![(zone.into(), 900.0)], ..Timer::new("noon") }
}

/// The same with a weekly program beside it; the cycle of the weeks is found and carried forward.
#[divan::bench(sample_count = 5)]
fn twenty_years_with_tank_timers_and_leak(bencher: Bencher) {
    twenty_years(bencher, &six_zones().0, vec![Timer { calendar: Some(CalendarDays::Weekdays(vec![0, 3])), ..noon("zone2") }]);
}

/// A program of every second and one of every third day, adjusted to the season.
#[divan::bench(sample_count = 5)]
fn twenty_years_with_programs_of_every_second_and_third_day(bencher: Bencher) {
    let second = Timer { every_s: 2.0 * DAY_S, adjustment: 0.8, ..noon("zone2") };
    let third = Timer { starts_s: vec![50_400.0], every_s: 3.0 * DAY_S, adjustment: 1.3, ..noon("zone5") };
    twenty_years(bencher, &six_zones().0, vec![second, third]);
}

/// Beside it an odd program: 30 and 31 days, leap years.
#[divan::bench(sample_count = 5)]
fn twenty_years_with_a_main_by_the_clock_and_odd_days(bencher: Bencher) {
    let (garden, _) = six_zones();
    let main = &garden.parts()[garden.find("main").expect("the supply")];
    let clock = [(0.0, 42.0 * PSI), (21_600.0, 36.0 * PSI), (79_200.0, 40.0 * PSI)];
    let main = main.as_ref().clone().with_clock(&clock).expect("a supply");
    let garden = garden.replace("main", &main).expect("the same garden");
    twenty_years(bencher, &garden, vec![Timer { calendar: Some(CalendarDays::Odd), ..noon("zone2") }]);
}

/// What power costs over twenty years that have been run, where its price depends on the time of the day and the day of the week.
#[divan::bench(sample_count = 5)]
fn power_of_twenty_years_by_time_of_use(bencher: Bencher) {
    let (garden, mut schedule) = six_zones();
    let garden = garden.with("pump.efficiency", Quantity::number(0.3)).expect("a number of a booster");
    schedule.timers.push(Timer { every_s: 3.0 * DAY_S, ..noon("zone2") });
    let log = operate(&garden, &schedule, YEARS_S).expect("runs");
    let price = |text: &str| read_quantity(text).expect("a price");
    let weekdays = Some([true, true, true, true, true, false, false]);
    let peak = Peak { from_s: 57_600.0, to_s: 75_600.0, price: price("0.4 USD/kWh"), weekdays };
    let prices = Electricity::new(price("0.2 USD/kWh")).and_then(|prices| prices.with_peak(peak)).expect("prices");
    let all_j: f64 = log.energy_j().iter().filter_map(|(_, energy_j)| *energy_j).sum();
    bencher.bench(|| {
        let of_day = |of_days: &PowerOfDays, weekday: usize| -> f64 {
            of_days.powers.iter().map(|power| prices.cost(power.power_w, power.from_s, power.to_s, weekday)).sum()
        };
        let powers = log.powers().expect("a power at each moment");
        let of_all = |of_days: &PowerOfDays| -> f64 {
            of_days.days.iter().enumerate().map(|(day, &days)| days as f64 * of_day(of_days, 3 + day)).sum()
        };
        let cost: f64 = powers.iter().map(of_all).sum();
        assert!(cost > 0.2 / 3.6e6 * all_j && cost < 0.4 / 3.6e6 * all_j, "{cost} for {all_j} J");
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
