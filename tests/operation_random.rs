//! Random gardens over time: whatever stands where, a run of a day comes to an end in few steps, and its water adds up. Days that repeat
//! earlier ones are to the last bit what running them gives.
//!
//! `CASES=5000 SEED=7 cargo test --profile bench --no-default-features --test operation_random of_any_garden -- --nocapture` tries other ones in the
//! optimized build and tells how long they took; HOURS=1 runs an hour of each, TELL_MS=50 tells which took longer, ONLY=1302 runs that one and
//! draws it.

mod support;

use hosewright::garden::{Garden, drawing};
use hosewright::moment::Date;
use hosewright::operation::{CalendarDays, CutShort, Fault, Log, OperationError, Options, Schedule, Timer, operate_with};
use hosewright::parts::{Id, Kind};
use hosewright::quantity::{Quantity, dim};
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
use std::fmt;
use std::time::Instant;
use support::logs::told;
use support::{Growth, Join, grow, growths, hose, joins, line, part, q, supply, with_loops};

const HOUR: f64 = 3600.0;
const DAY: f64 = 24.0 * HOUR;

/// One more part that has to do with time.
#[derive(Clone, Copy, Debug)]
enum Timely {
    Tank { gal: f64, precharge_psi: f64 },
    Switch { cut_in_psi: f64, span_psi: f64 },
    Relay { delay_s: f64 },
    Control { cut_in_psi: f64 },
    Valve,
    Leak { gph: f64 },
    Stretchy { ml_per_bar_m: f64 },
    Barrel { gal: f64 },
}

fn timely() -> impl Strategy<Value = Timely> {
    prop_oneof![
        2 => (1.0f64..40.0, 5.0f64..60.0).prop_map(|(gal, precharge_psi)| Timely::Tank { gal, precharge_psi }),
        2 => (10.0f64..60.0, 1.0f64..40.0).prop_map(|(cut_in_psi, span_psi)| Timely::Switch { cut_in_psi, span_psi }),
        1 => (0.0f64..20.0).prop_map(|delay_s| Timely::Relay { delay_s }),
        1 => (10.0f64..60.0).prop_map(|cut_in_psi| Timely::Control { cut_in_psi }),
        4 => Just(Timely::Valve),
        1 => (0.1f64..20.0).prop_map(|gph| Timely::Leak { gph }),
        2 => (1.0f64..60.0).prop_map(|ml_per_bar_m| Timely::Stretchy { ml_per_bar_m }),
        1 => (5.0f64..100.0).prop_map(|gal| Timely::Barrel { gal }),
    ]
}

fn of_time(timely: Timely, number: usize) -> Garden {
    let psi = |value: f64| q(value, "psi");
    match timely {
        Timely::Tank { gal, precharge_psi } => {
            part(Kind::PressureTank, &format!("tank {number}"), &[("volume", q(gal, "gal")), ("precharge", psi(precharge_psi))])
        }
        Timely::Switch { cut_in_psi, span_psi } => part(
            Kind::PressureSwitch,
            &format!("switch {number}"),
            &[("cut_in", psi(cut_in_psi)), ("cut_out", psi(cut_in_psi + span_psi))],
        ),
        Timely::Relay { delay_s } => part(Kind::PumpStart, &format!("relay {number}"), &[("delay", q(delay_s, "s"))]),
        Timely::Control { cut_in_psi } => part(Kind::PumpControl, &format!("control {number}"), &[("cut_in", psi(cut_in_psi))]),
        Timely::Valve => part(Kind::Valve, &format!("zone {number}"), &[]),
        Timely::Leak { gph } => part(Kind::Leak, &format!("leak {number}"), &[("flow", q(gph, "gph")), ("pressure", psi(40.0))]),
        Timely::Stretchy { ml_per_bar_m } => {
            let stretch = Quantity::new(ml_per_bar_m * 1e-11, dim::COMPLIANCE);
            let numbers = [("length", q(30.0, "ft")), ("diameter", q(0.5, "inch")), ("compliance", stretch)];
            part(Kind::Hose, &format!("soft hose {number}"), &numbers)
        }
        Timely::Barrel { gal } => part(
            Kind::OpenTank,
            &format!("barrel {number}"),
            &[("volume", q(gal, "gal")), ("level", q(2.0, "ft")), ("inflow", q(20.0, "gph"))],
        ),
    }
}

#[derive(Clone)]
struct Drawn(Garden);

impl fmt::Debug for Drawn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "\n{}", drawing(&self.0, Default::default()))?;
        for (part, place) in self.0.parts().iter().zip(&self.0.layout().places) {
            let numbers: Vec<String> = part.given().map(|(number, value)| format!("{} {:e}", number.name(), value.si)).collect();
            writeln!(f, "{} {}-{}: {}", part.spec().word, place.from, place.to, numbers.join(", "))?;
        }
        Ok(())
    }
}

fn garden(growths: &[(usize, Growth)], timely: &[(usize, Timely)], joins: &[Join]) -> Garden {
    let mut garden = line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 60.0, 0.75)]);
    let mut timely = timely.iter().enumerate().peekable();
    for (index, (at, growth)) in growths.iter().enumerate() {
        let name = |garden: &Garden, at: usize| garden.name(at % garden.parts().len()).to_string();
        garden = garden.branch(&name(&garden, *at), &grow(growth)).expect("joins");
        // Spread over the garden, the first ones near the tap.
        while let Some((number, (at, what))) = timely.next_if(|(number, _)| *number <= index) {
            let new = of_time(*what, number);
            let joined = match what {
                Timely::Barrel { .. } => {
                    garden.add_source(&name(&garden, *at), &line(&[new, hose(&format!("pipe {number}"), 20.0, 0.5)]))
                }
                _ => garden.branch(&name(&garden, *at), &new),
            };
            garden = joined.unwrap_or(garden);
        }
    }
    with_loops(garden, joins)
}

fn gardens() -> impl Strategy<Value = Drawn> {
    (growths(14), prop::collection::vec((0usize..1000, timely()), 1..10), joins(), prop::bool::ANY).prop_map(
        |(growths, timely, joins, looped)| {
            if !looped {
                return Drawn(garden(&growths, &timely, &[]));
            }
            let flat: Vec<_> = growths.into_iter().filter(|(_, growth)| !matches!(growth, Growth::Climb { .. })).collect();
            Drawn(garden(&flat, &timely, &joins))
        },
    )
}

/// How many storages a garden has, as a gardener counts them.
fn storages(garden: &Garden) -> usize {
    let stretches = |place: &usize| garden.parts()[*place].si(Id::Compliance).is_some_and(|stretch| stretch > 0.0);
    [Kind::PressureTank, Kind::OpenTank].into_iter().map(|kind| garden.of_kind(kind).count()).sum::<usize>()
        + garden.of_kind(Kind::Hose).filter(stretches).count()
}

/// Every zone for a while, twice a day.
fn schedule(garden: &Garden) -> Schedule {
    let zones = garden.of_kind(Kind::Valve).map(|place| (garden.name(place).to_string(), 420.0)).collect::<Vec<_>>();
    let timer = Timer { starts_s: vec![600.0, 12.0 * HOUR], pause_s: 30.0, zones, ..Timer::new("east") };
    let timers = if timer.zones.is_empty() { vec![] } else { vec![timer] };
    Schedule { timers, ..Schedule::default() }
}

fn number(name: &str, or: u64) -> u64 {
    std::env::var(name).ok().and_then(|text| text.parse().ok()).unwrap_or(or)
}

/// Water in m3 that counts as none where hardly any has moved: a thousandth of a drop.
const ROUNDING_M3: f64 = 5e-11;
/// Steady solves that a run of a day may take; each takes a few microseconds.
const MOST_SOLVES: usize = 500_000;

#[derive(Default)]
struct Seen {
    runs: usize,
    several: usize,
    cut_short: usize,
    worst_balance: f64,
    took_s: Vec<f64>,
    solves: Vec<f64>,
}

/// Runs a garden and tells how long that took, s. One that takes long is run again, twice: what the machine does besides is not to count.
fn timed(run: impl Fn() -> Result<Log, OperationError>) -> (Result<Log, OperationError>, f64) {
    let once = || {
        let start = Instant::now();
        (run(), start.elapsed().as_secs_f64())
    };
    let (found, took_s) = once();
    let again = if took_s > 0.01 { 2 } else { 0 };
    (found, (0..again).map(|_| once().1).fold(took_s, f64::min))
}

/// Median, 99 percent and most of some numbers.
fn spread(mut numbers: Vec<f64>) -> [f64; 3] {
    numbers.sort_by(f64::total_cmp);
    let at = |share: f64| numbers.get((share * (numbers.len() - 1) as f64).round() as usize).copied().unwrap_or(f64::NAN);
    if numbers.is_empty() { [f64::NAN; 3] } else { [at(0.5), at(0.99), at(1.0)] }
}

/// Errors: what is wrong with the run.
fn look_at(log: &Log, duration_s: f64, seen: &mut Seen) -> Result<(), String> {
    let totals = log.totals();
    let off = totals.error_m3().abs();
    seen.worst_balance = seen.worst_balance.max((off - ROUNDING_M3) / totals.moved_m3.max(1e-3));
    if off > 1e-9 * totals.moved_m3 + ROUNDING_M3 {
        return Err(format!("{off:e} m3 of {} are lost: {totals:?}", totals.moved_m3));
    }
    if !log.events().map(|event| event.time_s).is_sorted() {
        return Err("events are not in order".into());
    }
    match log.cut_short() {
        Some(CutShort::Chatters { .. }) => seen.cut_short += 1,
        Some(other) => return Err(format!("{other:?}")),
        None if (log.duration_s() - duration_s).abs() > 1e-6 => return Err(format!("ends after {} s", log.duration_s())),
        None => {}
    }
    seen.solves.push(log.solves() as f64);
    if log.solves() > MOST_SOLVES { Err(format!("{} solves, {} events", log.solves(), log.number_of_events())) } else { Ok(()) }
}

fn runner(seed: u64) -> TestRunner {
    let mut bytes = [0u8; 32];
    bytes[..8].copy_from_slice(&seed.to_le_bytes());
    TestRunner::new_with_rng(Config::default(), TestRng::from_seed(RngAlgorithm::ChaCha, &bytes))
}

/// The program of every day, some of its zones on days of the week, odd days or every 36 hours, and a day that is left out.
fn weekly(garden: &Garden, which: usize) -> Schedule {
    let every_day = schedule(garden);
    let zones = every_day.timers.first().map(|timer| timer.zones.clone()).unwrap_or_default();
    let others = (!zones.is_empty()).then(|| {
        let timer = Timer {
            starts_s: vec![7.0 * HOUR + 0.1],
            adjustment: 0.73,
            zones: zones.into_iter().rev().collect(),
            ..Timer::new("west")
        };
        match which % 4 {
            0 => Timer { calendar: Some(CalendarDays::Weekdays(vec![0, 3])), ..timer },
            1 => Timer { calendar: Some(CalendarDays::Odd), ..timer },
            2 => Timer { every_s: 36.0 * HOUR, ..timer },
            _ => Timer { skipped_days: vec![4], ..timer },
        }
    });
    let first_date = Some(Date::new(2026, 5, 28).expect("a date").moment());
    Schedule { timers: every_day.timers.into_iter().chain(others).collect(), first_date, ..Schedule::default() }
}

/// In half of all gardens a part fails for some time, when most days are known.
fn faults(garden: &Garden, which: usize) -> Vec<Fault> {
    let failing: Vec<usize> = garden.of_spec(|spec| !spec.faults.is_empty()).collect();
    let Some(&place) = failing.get(which / 2 % failing.len().max(1)).filter(|_| which.is_multiple_of(2)) else { return vec![] };
    let kinds = garden.spec(place).faults;
    let from_s = if which.is_multiple_of(4) { 5.0 * DAY } else { 6.4 * DAY };
    vec![Fault { from_s, lasting_s: 1.5 * DAY, ..Fault::new(garden.name(place), kinds[which % kinds.len()]) }]
}

#[test]
fn days_that_repeat_others_are_what_running_them_gives_to_the_last_bit() {
    let (cases, days) = (number("REPEATED", 60) as usize, number("DAYS", 12) as f64);
    let mut runner = runner(number("SEED", 1));
    let (mut runs, mut repeat) = (0, 0);
    while runs < cases {
        let drawn = gardens().new_tree(&mut runner).expect("a garden").current();
        if !(1..=3).contains(&storages(&drawn.0)) {
            continue;
        }
        runs += 1;
        let (schedule, faults) = (weekly(&drawn.0, runs), faults(&drawn.0, runs));
        let run = |every_day| {
            operate_with(&drawn.0, &schedule, days * DAY, &Options { every_day, faults: &faults, ..Options::default() })
        };
        let (Ok(log), Ok(plain)) = (run(false), run(true)) else { continue };
        repeat += usize::from(log.cycle().is_some());
        assert_eq!(plain.cycle(), None);
        for (told, plainly) in told(&log).iter().zip(&told(&plain)) {
            assert_eq!(told, plainly, "garden {runs}\n{drawn:?}");
        }
        assert_eq!(told(&log).len(), told(&plain).len());
        assert!(log.solves() <= plain.solves());
    }
    println!("{repeat} of {runs} come to a cycle");
    assert!(3 * repeat > cases, "{repeat} of {runs} come to a cycle");
}

#[test]
fn a_day_of_any_garden_comes_to_its_end_in_few_steps_and_its_water_adds_up() {
    let (cases, seed, duration_s) = (number("CASES", 500) as usize, number("SEED", 0), number("HOURS", 24) as f64 * HOUR);
    let mut runner = runner(seed);
    let (mut seen, mut wrong) = (Seen::default(), Vec::new());
    let only = std::env::var("ONLY").ok().and_then(|text| text.parse::<usize>().ok());
    while seen.runs < cases {
        let drawn = gardens().new_tree(&mut runner).expect("a garden").current();
        if !(1..=6).contains(&storages(&drawn.0)) {
            continue;
        }
        let schedule = schedule(&drawn.0);
        seen.runs += 1;
        if only.is_some_and(|only| only != seen.runs) {
            continue;
        }
        if only.is_some() {
            println!("{drawn:?}");
        }
        let (found, took_s) = timed(|| operate_with(&drawn.0, &schedule, duration_s, &Options::default()));
        if took_s > number("TELL_MS", 1_000_000) as f64 * 1e-3 {
            let told = found.as_ref().map(|log| (log.solves(), log.number_of_events(), log.events().last()));
            println!("garden {} took {took_s:.3} s: {told:?}", seen.runs);
        }
        seen.took_s.push(took_s);
        seen.several += usize::from(storages(&drawn.0) > 1);
        let fault = match found {
            Ok(log) => look_at(&log, duration_s, &mut seen).err(),
            Err(OperationError::Garden(_)) => None,
            Err(error) => Some(error.to_string()),
        };
        if let Some(fault) = fault {
            wrong.push(format!("garden {}: {fault}", seen.runs));
            println!("{} ({took_s:.3} s)", wrong[wrong.len() - 1]);
        }
    }
    let (ms, solves) = (spread(seen.took_s.iter().map(|took_s| 1e3 * took_s).collect()), spread(seen.solves.clone()));
    println!(
        "{} runs, {} of several storages, {} chatter, water off by {:.1e}",
        seen.runs, seen.several, seen.cut_short, seen.worst_balance
    );
    println!("median, 99 % and most: {ms:.3?} ms, {solves:?} solves");
    assert!(only.is_some() || seen.several * 2 > cases, "{} of {cases}", seen.several);
    assert!(wrong.is_empty(), "{} of {cases} gardens:\n{}", wrong.len(), wrong.join("\n"));
}
