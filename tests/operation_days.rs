//! Days that repeat others are taken over from them: a run with them is to the last bit one that runs every day, whatever begins, ends or
//! drifts meanwhile.

mod support;

use approx::assert_relative_eq;
use hosewright::garden::Garden;
use hosewright::moment::Date;
use hosewright::operation::{
    CalendarDays, EventKind, Fault, FaultKind, HandOpening, Log, Options, PowerOfDays, Schedule, Timer, operate_with,
};
use hosewright::parts::{Kind, Part};
use hosewright::quantity::{Quantity, dim};
use support::logs::{closes, times, told};
use support::{GPM, PSI, booster, head, hose, line, part, q, supply, valve};

const HOUR: f64 = 3600.0;
const DAY: f64 = 86_400.0;

/// A pump on a switch with a tank and a leak, and two zones.
fn pumped(starter: Garden, pump: Garden) -> Garden {
    let tank = part(Kind::PressureTank, "tank", &[("volume", q(10.0, "gal")), ("precharge", q(43.0, "psi"))]);
    let leak = part(Kind::Leak, "drip", &[("flow", q(1.0, "gph")), ("pressure", q(40.0, "psi"))]);
    let zone = |name: &str, nozzle_in: f64| {
        line(&[valve(name), hose(&format!("{name} hose"), 40.0, 0.625), head(&format!("{name} head"), nozzle_in)])
    };
    let check = part(Kind::CheckValve, "check", &[("diameter", q(0.75, "inch"))]);
    let tub = part(Kind::Demand, "tub", &[("flow", q(2.0, "gpm"))]);
    let zones = [zone("lawn", 0.12), zone("beds", 0.09), tub, leak];
    line(&[supply("main", 40.0, 25.0, 8.0), check, pump, tank, starter]).then_branches(&zones).expect("joins")
}

fn pump() -> Garden {
    booster("pump", &[(0.0, 50.0), (6.0, 40.0), (12.0, 10.0)])
}

fn switch() -> Garden {
    part(Kind::PressureSwitch, "switch", &[("cut_in", q(45.0, "psi")), ("cut_out", q(65.0, "psi"))])
}

fn timer(name: &str, start_s: f64, zone: &str, minutes: f64) -> Timer {
    Timer { starts_s: vec![start_s], zones: vec![(zone.into(), 60.0 * minutes)], ..Timer::new(name) }
}

/// A program of every morning, and a second one.
fn mornings(second: Timer) -> Schedule {
    let first_date = Some(Date::new(2026, 5, 28).expect("a date").moment());
    Schedule { timers: vec![timer("east", 5.5 * HOUR, "lawn", 25.0), second], first_date, ..Schedule::default() }
}

/// Runs with and without what is known of earlier days, compares the two with the power of the pumps, and gives the first.
fn alike(garden: &Garden, schedule: &Schedule, days: f64, faults: &[Fault]) -> Log {
    let (log, plain) = both(garden, schedule, days, faults);
    let (powers, plainly) = (energies_j(&log), energies_j(&plain));
    for (one, other) in powers.iter().zip(plainly) {
        assert_relative_eq!(*one, other, max_relative = 1e-12);
    }
    log
}

/// A run with what is known of earlier days and one without, which tell the same.
fn both(garden: &Garden, schedule: &Schedule, days: f64, faults: &[Fault]) -> (Log, Log) {
    let run = |every_day| {
        operate_with(garden, schedule, days * DAY, &Options { every_day, faults, ..Options::default() }).expect("runs")
    };
    let (log, plain) = (run(false), run(true));
    let (one, other) = (told(&log), told(&plain));
    for (told, plainly) in one.iter().zip(&other) {
        assert_eq!(told, plainly);
    }
    assert_eq!(one.len(), other.len());
    closes(&log);
    (log, plain)
}

/// Energy of the pumps in each hour of each day of the week, J.
fn energies_j(log: &Log) -> Vec<f64> {
    let mut sums_j = vec![0.0; 7 * 24];
    for PowerOfDays { powers, days } in log.powers().expect("a power at each moment") {
        for (power, hour) in powers.iter().flat_map(|power| (0..24).map(move |hour| (power, hour))) {
            let begin_s = HOUR * hour as f64;
            let within_s = (power.to_s.min(begin_s + HOUR) - power.from_s.max(begin_s)).max(0.0);
            days.iter().enumerate().for_each(|(day, &days)| sums_j[24 * day + hour] += days as f64 * within_s * power.power_w);
        }
    }
    sums_j
}

#[test]
fn programs_of_some_days_are_run_on_those_and_no_others() {
    let garden = pumped(switch(), pump());
    let noon = || timer("noon", 12.0 * HOUR + 0.1, "beds", 11.0);
    let programs = [
        ("every second day", Timer { every_s: 2.0 * DAY, ..noon() }),
        ("every third day from day 5 on", Timer { every_s: 3.0 * DAY, first_day: 5, ..noon() }),
        ("every 36 hours", Timer { every_s: 36.0 * HOUR, ..noon() }),
        ("odd days over the end of May", Timer { calendar: Some(CalendarDays::Odd), ..noon() }),
        ("even days", Timer { calendar: Some(CalendarDays::Even), ..noon() }),
        (
            "Mondays and Fridays, adjusted",
            Timer { calendar: Some(CalendarDays::Weekdays(vec![0, 4])), adjustment: 0.731, ..noon() },
        ),
        ("not on day 17", Timer { skipped_days: vec![17], ..noon() }),
        ("over midnight every third day", Timer { every_s: 3.0 * DAY, ..timer("noon", 23.9 * HOUR, "beds", 13.0) }),
        ("for longer than a day", Timer { every_s: 5.0 * DAY, ..timer("noon", 12.0 * HOUR, "beds", 2000.0) }),
        ("on day 15 alone", Timer { every_s: 400.0 * DAY, first_day: 15, ..noon() }),
    ];
    for (name, program) in programs {
        let schedule = mornings(program);
        let (log, _) = both(&garden, &schedule, 19.0, &[]);
        let expected = schedule.intervals(19.0 * DAY).expect("sound").len();
        assert_eq!(times(&log, EventKind::ValveOpens).len(), expected, "{name}");
    }
}

#[test]
fn a_part_that_fails_when_all_days_are_known_fails_all_the_same() {
    let garden = pumped(switch(), pump());
    let schedule = mornings(timer("west", 18.0 * HOUR, "beds", 15.0));
    let faults = [
        ("lawn", FaultKind::SticksOpen),
        ("lawn", FaultKind::SticksClosed),
        ("switch", FaultKind::WillNotStop),
        ("switch", FaultKind::Blocked),
        ("pump", FaultKind::WillNotStart),
        ("check", FaultKind::SticksOpen),
        ("main", FaultKind::Fails),
        ("main", FaultKind::LosesPressure),
    ];
    // From a midnight to a midnight, from the middle of a day on for less than one, and for ever.
    for (from_s, lasting_s) in
        [(9.0 * DAY, 2.0 * DAY), (9.3 * DAY, 0.4 * DAY), (10.0 * DAY - 1.0, 2.0), (11.5 * DAY, f64::INFINITY)]
    {
        for (part, kind) in faults {
            let fault = Fault { from_s, lasting_s, ..Fault::new(part, kind) };
            let log = alike(&garden, &schedule, 15.0, std::slice::from_ref(&fault));
            let begins = times(&log, EventKind::FaultBegins);
            assert!(begins.len() == 1 && (begins[0] - from_s).abs() < 1e-6, "{part} {}: {begins:?}", kind.words());
            let ends = times(&log, EventKind::FaultEnds);
            assert_eq!(ends.len(), usize::from(lasting_s.is_finite()), "{part} {}", kind.words());
            assert!(ends.iter().all(|end_s| (end_s - from_s - lasting_s).abs() < 1e-6), "{part} {}: {ends:?}", kind.words());
        }
    }
}

#[test]
fn a_guard_that_has_locked_the_pump_out_keeps_it_so_on_days_that_were_known() {
    let guarded = pump().with("pump.dry_run_cutoff", q(5.0, "psi")).expect("a number of a booster");
    let faults = [Fault { from_s: 6.0 * DAY + 5.6 * HOUR, lasting_s: HOUR, ..Fault::new("main", FaultKind::Fails) }];
    let schedule = mornings(timer("west", 18.0 * HOUR, "beds", 15.0));
    let log = alike(&pumped(switch(), guarded), &schedule, 12.0, &faults);
    let stopped = times(&log, EventKind::PumpStopsDry);
    assert_eq!(stopped.len(), 1);
    assert!(times(&log, EventKind::PumpStarts).iter().all(|&start_s| start_s < stopped[0]), "it never starts again");
}

#[test]
fn what_waits_over_midnight_acts_on_the_next_day() {
    let schedule = mornings(Timer { every_s: 2.0 * DAY, ..timer("west", DAY - 5.0, "beds", 4.0) });
    let relay = part(Kind::PumpStart, "relay", &[("delay", q(20.0, "s"))]);
    let control = part(
        Kind::PumpControl,
        "control",
        &[("cut_in", q(42.0, "psi")), ("minimum_flow", q(0.3, "gpm")), ("delay", q(12.0, "s"))],
    );
    for starter in [relay, control] {
        let log = alike(&pumped(starter, pump()), &schedule, 16.0, &[]);
        assert!(log.cycle().is_some());
    }
    // The valve opens five seconds before midnight, and the relay starts its pump twenty seconds after that.
    let relay = part(Kind::PumpStart, "relay", &[("delay", q(20.0, "s"))]);
    let starts = times(&alike(&pumped(relay, pump()), &schedule, 9.0, &[]), EventKind::PumpStarts);
    let late = starts.iter().filter(|&&start_s| (start_s % DAY - 15.0).abs() < 1e-6).count();
    assert_eq!(late, 4, "{starts:?}");
}

#[test]
fn a_main_by_the_clock_an_opening_by_hand_and_a_run_of_part_of_a_day_are_in_their_places() {
    let garden = pumped(switch(), pump());
    let clock = [(0.0, 40.0 * PSI), (6.0 * HOUR, 34.0 * PSI), (22.0 * HOUR, 43.0 * PSI)];
    let place = garden.find("main").expect("the supply");
    let main: Part = garden.parts()[place].as_ref().clone().with_clock(&clock).expect("a supply");
    let garden = garden.replace("main", &main).expect("the same garden");
    let by_hand = vec![HandOpening { name: "tub".into(), at_s: 8.4 * DAY, lasting_s: 1800.0, every_s: None }];
    let schedule = Schedule { by_hand, ..mornings(Timer { every_s: 3.0 * DAY, ..timer("west", 18.0 * HOUR, "beds", 15.0) }) };
    let log = alike(&garden, &schedule, 13.37, &[]);
    assert_eq!(times(&log, EventKind::DemandStarts), [8.4 * DAY]);
    assert_relative_eq!(
        log.water_m3(garden.find("tub").expect("known")).expect("a demand"),
        2.0 * GPM * 1800.0,
        max_relative = 1e-3
    );
    let levels = log.events().filter(|event| matches!(event.kind, EventKind::MainRises(_) | EventKind::MainFalls(_))).count();
    // At midnight nothing but the pressure of 22:00 ends.
    assert_eq!(levels, 3 * 13 + 2, "{levels}");
}

#[test]
fn what_drifts_from_day_to_day_is_no_repetition() {
    // A barrel that gets less than is taken: every day begins with less water.
    let barrel =
        part(Kind::OpenTank, "barrel", &[("volume", q(300.0, "gal")), ("level", q(6.0, "ft")), ("inflow", q(0.05, "gph"))]);
    let garden = line(&[barrel, hose("feed", 20.0, 0.75), valve("beds"), head("rose", 0.1)]);
    let schedule = Schedule { timers: vec![timer("east", 6.0 * HOUR, "beds", 40.0)], ..Schedule::default() };
    assert_eq!(alike(&garden, &schedule, 12.0, &[]).cycle(), None);
    // A tank behind a check valve that only leaks: no day is like the one before, and none is taken over.
    let tank = part(Kind::PressureTank, "tank", &[("volume", q(80.0, "gal")), ("precharge", q(5.0, "psi"))]);
    let drip = part(Kind::Leak, "drip", &[("flow", q(0.01, "gph")), ("pressure", q(40.0, "psi"))]);
    let check = part(Kind::CheckValve, "check", &[("diameter", q(0.75, "inch"))]);
    let garden = line(&[supply("main", 40.0, 25.0, 8.0), check, tank, drip]);
    let faults = [Fault { from_s: 0.0, ..Fault::new("main", FaultKind::Fails) }];
    assert_eq!(alike(&garden, &Schedule::default(), 8.0, &faults).cycle(), None);
}

#[test]
fn a_pump_that_runs_against_a_closed_line_for_days_does_so_for_the_sum_of_them() {
    // Welded contacts: it runs from day 4 on, and lifts no relief.
    let faults = [Fault { from_s: 4.25 * DAY, lasting_s: 5.0 * DAY, ..Fault::new("switch", FaultKind::WillNotStop) }];
    let tight = line(&[
        supply("main", 40.0, 25.0, 8.0),
        pump(),
        part(Kind::PressureTank, "tank", &[("volume", q(10.0, "gal")), ("precharge", q(43.0, "psi"))]),
        switch(),
        hose("feed", 40.0, 0.625),
        valve("lawn"),
        head("lawn head", 0.12),
    ]);
    let log = alike(&tight, &Schedule::default(), 12.0, &faults);
    let pump = log.garden.find("pump").expect("the pump");
    assert!(log.dead_head_s(pump) > 4.9 * DAY, "{}", log.dead_head_s(pump));
}

#[test]
fn several_storages_repeat_their_days_too() {
    let stretch = Quantity::new(3e-11, dim::COMPLIANCE);
    let soft = part(Kind::Hose, "soft", &[("length", q(100.0, "ft")), ("diameter", q(0.625, "inch")), ("compliance", stretch)]);
    let garden = pumped(switch(), pump()).branch("beds hose", &soft).expect("joins");
    let schedule = mornings(Timer { every_s: 2.0 * DAY, ..timer("west", 18.0 * HOUR, "beds", 15.0) });
    let faults = [Fault { from_s: 1.3 * DAY, lasting_s: 0.5 * DAY, ..Fault::new("beds", FaultKind::SticksOpen) }];
    alike(&garden, &schedule, 3.0, &faults);
}
