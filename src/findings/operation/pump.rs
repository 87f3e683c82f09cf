//! Pumps and switches in a run: starts too many or none, unneeded starts, no stop, heat against a closed line.

use crate::findings::catalog::{Entry, pump as of_pump, switch as say};
use crate::findings::finding::{Book, Finding, like, rule_pa};
use crate::findings::heating::rise_k_per_s;
use crate::findings::limits::{BOILING_WATER_K, HOT_WATER_K, PUMP_WATER_M3, RELIEF_MARGIN};
use crate::findings::limits::{FEWER_STARTS_PER_DAY, FEWER_STARTS_PER_HOUR, HORSEPOWER_INPUT_W, LONGER_RUN, STARTS_SPAN_S};
use crate::findings::limits::{GAUGE_MARGIN, LEAST_RUN, MOST_STARTS, SHUT_OFF_MARGIN, STARTS_PER_DAY, STARTS_PER_HOUR};
use crate::findings::phrase::{Phrase, Value};
use crate::findings::rest::AtRest;
use crate::garden::{Garden, booster_of, starters_of};
use crate::operation::{Log, PumpRun, time_in_words};
use crate::parts::{Id, Start};
use crate::quantity::Quantity;

/// A pump that runs this long with nothing open does not stop, s.
const IDLE_S: f64 = 3600.0;
/// A pump may run this long without water, s: while a line fills.
const DRY_S: f64 = 10.0;

pub(super) fn starts(log: &Log, book: &mut Book, booster: usize) {
    let starts = |number: usize| Value::Count { number, word: "start" };
    // A run at the very beginning only shows how the garden stood before.
    let later = log.runs(booster).filter(|run| run.from_s > 0.0);
    let shortest_s = later.filter_map(|run| Some(run.to_s? - run.from_s)).reduce(f64::min);
    let runs = log.runs(booster).count();
    let busiest = log.peak_starts_per_hour();
    let by_pressure =
        starters_of(&log.garden).iter().any(|starter| starter.booster == booster && starter.start == Start::Pressure);
    let is_stiff = log.is_stiff && by_pressure;
    if is_stiff && (1..=2).contains(&runs) {
        book.add(book.about(&say::NO_PRESSURE_TANK, booster));
    }
    if is_stiff && runs > 2 {
        return book.add(book.about(&say::CHATTERS, booster).with("starts", starts(runs)));
    }
    let shortest = shortest_s.map(time_in_words);
    let motor = Motor::of(&log.garden, booster);
    let whole = |number: f64| Value::Number { value: number, decimals: 0 };
    if busiest as f64 > motor.most_per_hour {
        let finding = book.about(&say::SHORT_CYCLED, booster).with("starts", busiest.to_string());
        book.add(finding.with("most", whole(motor.most_per_hour)).with_some("shortest", shortest));
    } else if busiest as f64 > motor.per_hour || (runs > 1 && shortest_s.is_some_and(|shortest_s| shortest_s < motor.least_run_s))
    {
        let finding = book.about(&say::MANY_STARTS, booster).with("starts", starts(busiest)).with("usual", whole(motor.per_hour));
        book.add(finding.with("least", time_in_words(motor.least_run_s)).with_some("shortest", shortest));
    } else if let of_day @ 1.. = log.most_starts(booster, STARTS_SPAN_S)
        && of_day as f64 > motor.per_day
    {
        let finding = book.about(&say::STARTS_OF_DAY, booster).with("starts", starts(of_day));
        book.add(finding.with("most", whole(motor.per_day)));
    }
    wakes(log, book, booster);
}

/// How often a motor may start, and how long it has to run.
struct Motor {
    per_hour: f64,
    most_per_hour: f64,
    per_day: f64,
    least_run_s: f64,
}

impl Motor {
    /// By the electrical power of a booster; one whose power is not known counts as small.
    fn of(garden: &Garden, booster: usize) -> Motor {
        let is_large = garden.parts()[booster].si(Id::InputPower).is_some_and(|watts| watts >= HORSEPOWER_INPUT_W);
        let [fewer, fewer_of_day, longer] =
            if is_large { [FEWER_STARTS_PER_HOUR, FEWER_STARTS_PER_DAY, LONGER_RUN] } else { [1.0; 3] };
        Motor {
            per_hour: fewer * STARTS_PER_HOUR.of(garden),
            most_per_hour: fewer * MOST_STARTS.of(garden),
            per_day: fewer_of_day * STARTS_PER_DAY.of(garden),
            least_run_s: longer * LEAST_RUN.of(garden),
        }
    }
}

/// Starts while nothing is meant to be open.
fn wakes(log: &Log, book: &mut Book, booster: usize) {
    let Ok(intervals) = log.schedule.intervals(log.duration_s()) else { return };
    let parts = log.garden.parts();
    let always = (0..parts.len())
        .filter(|&place| parts[place].spec().traits.waters)
        .any(|place| log.water_m3(place).is_some_and(|volume| volume > 0.0) && intervals.is_empty());
    // Openings and starts both come in the order of time.
    let (mut begun, mut open_until_s) = (0, f64::NEG_INFINITY);
    let woken = log.runs(booster).map(|run| run.from_s).filter(|&from_s| {
        while let Some(interval) = intervals.get(begun).filter(|interval| interval.from_s - 1.0 <= from_s) {
            open_until_s = open_until_s.max(interval.to_s + 60.0);
            begun += 1;
        }
        from_s > 0.0 && from_s > open_until_s
    });
    let (first_s, number) = woken.fold((None, 0), |(first_s, number), from_s| (first_s.or(Some(from_s)), number + 1));
    if let Some(first_s) = first_s.filter(|_| !always) {
        let starts = Value::Count { number, word: "start" };
        let finding =
            book.about(&say::UNNEEDED_STARTS, booster).with("starts", starts).with("when", log.schedule.moment(first_s));
        let (rest, cut_in) = street_below_cut_in(log, booster).unzip();
        book.add(finding.with_some("rest", rest).with_some("cut_in", cut_in));
    }
}

/// What main pressure alone holds at a switch, and its cut-in, where that would not let the pump rest.
fn street_below_cut_in(log: &Log, booster: usize) -> Option<(Quantity, Quantity)> {
    let garden = &log.garden;
    let mut switches = garden.switches();
    let switch = switches.find(|&switch| booster_of(garden, switch) == Some(booster))?;
    let (cut_in, rest_pa) = (garden.parts()[switch].get(Id::CutIn).ok()?, at_rest_pa(log, switch)?);
    (rest_pa <= cut_in.si).then_some((like(rest_pa, cut_in), cut_in))
}

pub(super) fn switch(log: &Log, book: &mut Book, switch: usize) {
    let Some(booster) = booster_of(&log.garden, switch) else { return };
    let part = &log.garden.parts()[switch];
    let (Ok(cut_in), Ok(cut_out)) = (part.get(Id::CutIn), part.get(Id::CutOut)) else { return };
    let about = |book: &Book, entry| book.about(entry, switch).with("pump", book.title(booster));
    let (lowest, highest) = (log.lowest(switch), log.highest(switch));
    if log.runs(booster).next().is_none()
        && is_used(log)
        && let Some(lowest) = lowest
    {
        let entry = if all_have_what_they_need(log) { &say::NEEDED_NO_PUMP } else { &say::NEVER_STARTED };
        let finding = about(book, entry).with("lowest", like(lowest.pressure_pa, cut_in)).with("cut_in", cut_in);
        book.add(finding.with("margin", like(lowest.pressure_pa - cut_in.si, cut_in)));
    } else {
        rests(log, book, switch);
    }
    let runs_on = log.runs(booster).last().filter(|run| run.to_s.is_none());
    let (Some(run), Some(highest)) = (runs_on, highest) else { return };
    let dead = log.dead_head_s(booster) > LEAST_RUN.of(&log.garden);
    if (dead || idle_at_end_s(log, &run) > IDLE_S) && highest.pressure_pa < cut_out.si {
        let settled_pa = log.last_pa(switch).unwrap_or(highest.pressure_pa);
        let lost = log.garden.reliefs().find(|&relief| log.water_m3(relief).is_some_and(|lost| lost > 0.0));
        let relief = lost.filter(|_| !dead);
        let finding = ran_on(log, |entry| about(book, entry), relief, cut_out);
        let finding = finding.with("when", log.schedule.moment(run.from_s)).with("settled", like(settled_pa, cut_out));
        let finding = finding.with("short", like(cut_out.si - settled_pa, cut_out)).with("cut_out", cut_out);
        book.add(finding.with_some("relief", relief.map(|relief| book.title(relief))));
    }
}

/// Why a pump ran on, with the values of the advice.
fn ran_on(log: &Log, about: impl Fn(&'static Entry) -> Finding, relief: Option<usize>, cut_out: Quantity) -> Finding {
    match (log.faults.first(), relief) {
        (Some(fault), _) => {
            let finding = about(&say::FAILURE_KEPT_IT_RUNNING).with("failed", fault.part.as_str());
            finding.with("failure", fault.kind.words())
        }
        (None, Some(_)) => {
            about(&say::RELIEF_KEPT_IT_RUNNING).with("margin", rule_pa(RELIEF_MARGIN.of(&log.garden)).like(cut_out))
        }
        (None, None) => about(&say::NEVER_STOPPED).with("margin", rule_pa(SHUT_OFF_MARGIN.of(&log.garden)).like(cut_out)),
    }
}

/// Whether anything was meant to be open at any time.
fn is_used(log: &Log) -> bool {
    let used = |place: usize| log.water_m3(place).is_some_and(|volume_m3| volume_m3 > 0.0);
    let parts = log.garden.parts();
    (0..parts.len()).filter(|&place| parts[place].spec().traits.gives_water).any(used)
}

/// True when every outlet that ran says what it needs and had it all the time.
fn all_have_what_they_need(log: &Log) -> bool {
    let parts = log.garden.parts();
    let ran = |place: &usize| log.water_m3(*place).is_some_and(|volume_m3| volume_m3 > 0.0);
    let waters = (0..parts.len()).filter(|&place| parts[place].spec().traits.waters).filter(ran).collect::<Vec<_>>();
    let has = |place: &usize| parts[*place].si(Id::RangeLow).is_some() && log.need_s(*place).1 == 0.0;
    !waters.is_empty() && waters.iter().all(has)
}

/// How long a pump that runs at the end has run since the last opening ended, s.
fn idle_at_end_s(log: &Log, run: &PumpRun) -> f64 {
    let end_s = log.duration_s();
    let Ok(intervals) = log.schedule.intervals(end_s) else { return 0.0 };
    let last_s = intervals.iter().map(|interval| interval.to_s.min(end_s)).fold(run.from_s, f64::max);
    if intervals.is_empty() { 0.0 } else { end_s - last_s }
}

/// What a switch reads with nothing open and the pump off, Pa.
fn at_rest_pa(log: &Log, switch: usize) -> Option<f64> {
    AtRest::of(&log.garden)?.off.at(&log.garden, switch)
}

/// A cut-in near the pressure at the switch while nothing is open.
fn rests(log: &Log, book: &mut Book, switch: usize) {
    let garden = &log.garden;
    let Ok(cut_in) = garden.parts()[switch].get(Id::CutIn) else { return };
    let Some(rest_pa) = at_rest_pa(log, switch) else { return };
    let above_pa = cut_in.si - rest_pa;
    let gauge_pa = GAUGE_MARGIN.of(garden);
    if above_pa.abs() > 0.999 * gauge_pa {
        return;
    }
    let finding = if above_pa.abs() < 0.05 * gauge_pa {
        book.about(&say::CUT_IN_AT_STATIC, switch)
    } else {
        let way = if above_pa < 0.0 { "above" } else { "below" };
        book.about(&say::CUT_IN_NEAR_STATIC, switch).with("by", like(above_pa.abs(), cut_in)).with("way", way)
    };
    let finding = finding.with("rest", like(rest_pa, cut_in)).with("cut_in", cut_in);
    book.add(finding.with("margin", rule_pa(gauge_pa).like(cut_in)));
}

/// A pump to which no water can come.
pub(super) fn dry(log: &Log, book: &mut Book, booster: usize) {
    let dry_s = log.dry_s(booster);
    if dry_s > DRY_S {
        book.add(book.about(&of_pump::RAN_DRY, booster).with("time", time_in_words(dry_s)));
    }
}

/// Heat of a pump that ran against a closed line for so long that the water in it would be hot.
pub(super) fn heat(log: &Log, book: &mut Book, booster: usize) {
    let dead_s = log.dead_head_s(booster);
    let Ok(power) = log.garden.parts()[booster].get(Id::InputPower) else { return };
    let water = log.garden.water();
    let rise_k_per_s = rise_k_per_s(power.si, PUMP_WATER_M3 * water.density_kg_per_m3);
    let rise_k = rise_k_per_s * dead_s;
    if dead_s <= 0.0 || water.temperature_k + rise_k < HOT_WATER_K {
        return;
    }
    let boils_k = BOILING_WATER_K - water.temperature_k;
    let (rise, time_s): (Value, f64) = if rise_k > boils_k {
        ("to boiling".into(), boils_k / rise_k_per_s)
    } else {
        (Phrase::new(of_pump::BY_KELVIN).with("kelvin", Value::Number { value: rise_k, decimals: 0 }).into(), dead_s)
    };
    let finding = book.about(&of_pump::HEATED, booster).with("dead", time_in_words(dead_s));
    book.add(finding.with("power", power).with("rise", rise).with("time", time_in_words(time_s)));
}
