//! Functions for timers, schedules and demands opened by hand.

use super::read::{as_schedule, calendar_days, days, hours_between, moment};
use crate::clock::is_of_day;
use crate::moment::{Moment, Period};
use crate::operation::{Allowed, HandOpening, OperationError, Schedule, Timer, clock_time_s};
use crate::quantity::{DAY_S, Quantity, dim};
use crate::report::schedule::overlaps as overlaps_of;
use crate::script::language::error::{Answer, ScriptError, raise, raise_about};
use crate::script::language::values::{argument, as_quantity, describe, expect_number, expect_quantity};
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Array, Dynamic, EvalAltResult, INT};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

/// A timer with one more start, in seconds after midnight.
fn starting(timer: Timer, start_s: f64) -> Answer<Timer> {
    room_for_more(timer.starts_s.len(), MOST_OF_A_TIMER, "starts of a timer")?;
    let mut timer = timer;
    timer.starts_s.push(start_s);
    Ok(timer)
}

/// Zones, starts and skipped days of a timer, and openings by hand, at most: each function returns a copy with one more.
const MOST_OF_A_TIMER: usize = 1_000;
const MOST_BY_HAND: usize = 5_000;

/// Errors: there are as many as there may be.
fn room_for_more(n: usize, most: usize, what: &str) -> Answer<()> {
    if n < most {
        return Ok(());
    }
    let hint = if most == MOST_OF_A_TIMER {
        "use more timers, as in schedule([east, west])"
    } else {
        "use a timer for what comes again"
    };
    Err(ScriptError::new(format!("there are more than {most} {what}")).with_hint(hint).into())
}

/// A span of time. Errors: it is not above zero; `what` says what it is.
fn span_s(value: &Dynamic, word: &str, what: impl FnOnce() -> String) -> Answer<f64> {
    let seconds = expect_quantity(value, dim::TIME, word)?;
    if seconds > 0.0 {
        return Ok(seconds);
    }
    Err(raise_about(OperationError::NotPositive { what: what(), found: shown(value) }, argument(word)))
}

/// A value as it is written.
fn shown(value: &Dynamic) -> String {
    as_quantity(value).map_or_else(|| describe(value), |quantity| quantity.to_string())
}

#[export_module]
mod functions {
    /// A timer (irrigation controller) that runs zones one after another: `start` sets the start times, `zone` the stations and run times, `every` the interval.
    ///
    /// ```hw
    /// timer("east").start("05:30").every(2.days).zone("beds", 20.min).zone("berries", 15.min).delay_between_zones(1.min)   // => east: 05:30 every 2 days: beds 20 min, berries 15 min, 1 min between
    /// ```
    pub fn timer(name: &str) -> Timer {
        Timer::new(name)
    }

    /// A start time of a timer; call it again for several starts a day.
    ///
    /// ```hw
    /// timer("east").start("5:30 AM").start("18:00").zone("beds", 10.min)   // => east: 05:30, 18:00 every day: beds 10 min
    /// timer("east").start("half past five")   // => error: 'half past five' is not a time of day
    /// ```
    #[rhai_fn(return_raw)]
    pub fn start(timer: Timer, clock: &str) -> Result<Timer, Box<EvalAltResult>> {
        starting(timer, clock_time_s(clock).map_err(raise)?)
    }

    #[rhai_fn(name = "start", return_raw)]
    pub fn start_at(timer: Timer, clock: Quantity) -> Result<Timer, Box<EvalAltResult>> {
        if clock.dimension != dim::TIME || !is_of_day(clock.si) {
            return Err(raise_about(OperationError::NotAClock { text: clock.to_string() }, "clock"));
        }
        starting(timer, clock.si)
    }

    /// The interval between the watering days of a timer; default every day.
    ///
    /// ```hw
    /// timer("east").start("05:30").every(3.days).zone("beds", 20.min)   // => east: 05:30 every 3 days: beds 20 min
    /// ```
    #[rhai_fn(return_raw)]
    pub fn every(timer: Timer, period: Dynamic) -> Result<Timer, Box<EvalAltResult>> {
        let every_s = span_s(&period, "every: time", || format!("the interval between starts of timer '{}'", timer.name))?;
        Ok(Timer { every_s, ..timer })
    }

    /// Adds a zone (station) to a timer: the name of its valve and its run time.
    ///
    /// ```hw
    /// timer("east").start("05:30").zone("beds", 20.min).zone("berries", 15.min)   // => east: 05:30 every day: beds 20 min, berries 15 min
    /// ```
    #[rhai_fn(return_raw)]
    pub fn zone(timer: Timer, valve: &str, time: Dynamic) -> Result<Timer, Box<EvalAltResult>> {
        room_for_more(timer.zones.len(), MOST_OF_A_TIMER, "zones of a timer")?;
        let mut timer = timer;
        let what = || format!("the time of zone '{valve}' of timer '{}'", timer.name);
        let time_s = span_s(&time, "zone: time", what)?;
        timer.zones.push((valve.to_string(), time_s));
        Ok(timer)
    }

    /// The delay of a timer between two zones (station delay).
    ///
    /// ```hw
    /// timer("east").start("05:30").zone("beds", 20.min).zone("berries", 15.min).delay_between_zones(30.s)   // => east: 05:30 every day: beds 20 min, berries 15 min, 30 s between
    /// ```
    #[rhai_fn(return_raw)]
    pub fn delay_between_zones(timer: Timer, time: Dynamic) -> Result<Timer, Box<EvalAltResult>> {
        let pause_s = expect_quantity(&time, dim::TIME, "delay_between_zones: time")?;
        if pause_s < 0.0 {
            let what = format!("the delay of timer '{}' must be zero or above, found {}", timer.name, shown(&time));
            return Err(ScriptError::new(what).with_hint("put zones that run at the same time on two timers").into());
        }
        Ok(Timer { pause_s, ..timer })
    }

    /// Days without watering by a timer, counted from 1: a number or a list.
    ///
    /// ```hw
    /// timer("east").start("05:30").zone("beds", 20.min).skip([2, 5])   // => east: 05:30 every day: beds 20 min, not on day 2, 5
    /// ```
    #[rhai_fn(return_raw)]
    pub fn skip(timer: Timer, day: Dynamic) -> Result<Timer, Box<EvalAltResult>> {
        let mut timer = timer;
        timer.skipped_days.extend(days(&day, "skip")?);
        Ok(timer)
    }

    /// The lowest and the highest pressure at which a timer with its own valves works, as printed on a hose-end timer (often 10 to 120 psi).
    /// Findings of a run then check the inlets of its valves, as with `operating_range` of a valve.
    ///
    /// ```hw
    /// let line = supply(58.psi).measured(20.psi, 4.gpm) >> hose(150.ft, (1/2).inch) >> valve("bed") >> head("spray", (3/16).inch);
    /// let east = timer("east").operating_range(20.psi, 120.psi).start("05:30").zone("bed", 20.min);
    /// line.accept("no-backflow-preventer", "our own well").operate(east, 1.days).findings().table()["code"][0]   // => valve-may-not-close
    /// timer("east").operating_range(120.psi, 20.psi)   // => error: the operating range of timer 'east' from 120 psi to 20 psi is empty
    /// ```
    #[rhai_fn(return_raw)]
    pub fn operating_range(timer: Timer, low: Dynamic, high: Dynamic) -> Result<Timer, Box<EvalAltResult>> {
        let low_pa = expect_quantity(&low, dim::PRESSURE, "operating_range: low")?;
        let high_pa = expect_quantity(&high, dim::PRESSURE, "operating_range: high")?;
        if low_pa >= high_pa {
            let what = format!("the operating range of timer '{}' from {} to {} is empty", timer.name, shown(&low), shown(&high));
            return Err(ScriptError::new(what).with_hint("give the lower pressure first").about("low").into());
        }
        let range = as_quantity(&low).zip(as_quantity(&high)).map(|(low, high)| [low, high]);
        Ok(Timer { range, ..timer })
    }

    /// The first day of a timer; default 1.
    ///
    /// ```hw
    /// timer("east").start("05:30").every(2.days).first_day(2).zone("beds", 20.min)   // => east: 05:30 every 2 days from day 2: beds 20 min
    /// ```
    #[rhai_fn(return_raw)]
    pub fn first_day(timer: Timer, day: INT) -> Result<Timer, Box<EvalAltResult>> {
        Ok(Timer { first_day: days(&Dynamic::from_int(day), "first_day")?[0], ..timer })
    }

    /// The days of the week on which a timer starts, or "odd" or "even" days of the month; the schedule gives the date of its first day
    /// with `starts_on`.
    ///
    /// ```hw
    /// timer("east").start("05:30").zone("beds", 20.min).on(["Mon", "Thu"])   // => east: 05:30 on Mon, Thu: beds 20 min
    /// timer("east").start("05:30").zone("beds", 20.min).on("odd")            // => east: 05:30 on odd days: beds 20 min
    /// ```
    #[rhai_fn(return_raw)]
    pub fn on(timer: Timer, days: Dynamic) -> Result<Timer, Box<EvalAltResult>> {
        let calendar = calendar_days(&days, "on", ["Mon", "Thu"])?;
        Ok(Timer { calendar: Some(calendar), ..timer })
    }

    /// The seasonal adjustment of a timer (water budget): the percentage of its run time that each zone runs.
    ///
    /// ```hw
    /// timer("east").start("05:30").zone("beds", 20.min).seasonal_adjustment(80)   // => east: 05:30 every day: beds 20 min, adjusted to 80 %
    /// ```
    #[rhai_fn(return_raw)]
    pub fn seasonal_adjustment(timer: Timer, percent: Dynamic) -> Result<Timer, Box<EvalAltResult>> {
        let percent = expect_number(&percent, "seasonal_adjustment: percent")?;
        if percent <= 0.0 {
            let error = ScriptError::new(format!("seasonal_adjustment: the percentage must be above zero, found {percent}"));
            return Err(error.about("percent").with_hint("write 80 for 80 % of the run time").into());
        }
        Ok(Timer { adjustment: percent / 100.0, ..timer })
    }

    /// The date of the first day of a schedule, for timers that water on days of the week or of the month.
    ///
    /// ```hw
    /// let east = timer("east").start("05:30").zone("beds", 20.min).on("Mon");
    /// let west = timer("west").start("05:40").zone("herbs", 10.min).on(["Mon", "Fri"]);
    /// schedule([east, west]).starts_on(date("2026-07-01")).overlaps(14.days)["from"]   // => ["Mon 2026-07-06, 05:40:00", "Mon 2026-07-13, 05:40:00"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn starts_on(schedule: Dynamic, date: Moment) -> Result<Schedule, Box<EvalAltResult>> {
        Ok(Schedule { first_date: Some(date.start_of(Period::Day)), ..as_schedule(&schedule)? })
    }

    /// The days and hours in which the water supplier allows timers to water: "odd" or "even" days, days of the week or "daily", and two
    /// times of the day. Hours may go over midnight. Findings of a run then report the first opening outside of them; what is opened by hand is
    /// not restricted. Days other than "daily" need the date of the first day, so `starts_on` comes first.
    ///
    /// ```hw
    /// let line = supply(58.psi).measured(44.psi, 6.gpm) >> double_check() >> pipe(50.ft, "1 in sch 40") >> valve("beds") >> head("spray", (1/8).inch);
    /// let east = schedule([timer("east").start("9:50").zone("beds", 20.min)]).starts_on(date("2026-07-01")).allowed("odd", "18:00", "10:00");
    /// line.operate(east, 2.days).findings().table()["code"]   // => ["restriction", "cautions"]
    /// schedule([]).allowed("odd", "18:00", "10:00")           // => error: allowed: odd days need the date of the first day
    /// ```
    #[rhai_fn(return_raw)]
    pub fn allowed(schedule: Dynamic, days: Dynamic, from: &str, to: &str) -> Result<Schedule, Box<EvalAltResult>> {
        let schedule = as_schedule(&schedule)?;
        let hours = hours_between(from, to)?;
        let daily = days.as_immutable_string_ref().is_ok_and(|days| days.as_str() == "daily");
        let days = if daily { None } else { Some(calendar_days(&days, "allowed", ["Mon", "Thu"])?) };
        if let Some(days) = days.as_ref().filter(|_| schedule.first_date.is_none()) {
            let what = format!("allowed: {} need the date of the first day", days.in_words().trim_start_matches("on "));
            return Err(ScriptError::new(what)
                .with_hint("write .starts_on(date(\"2026-07-01\")) before it")
                .about("days")
                .into());
        }
        Ok(Schedule { allowed: Some(Allowed { days, hours }), ..schedule })
    }

    /// A schedule (program) of several timers; add demands opened by hand with `open_by_hand`.
    ///
    /// ```hw
    /// let east = timer("east").start("05:30").zone("beds", 20.min);
    /// let west = timer("west").start("05:40").zone("herbs", 10.min);
    /// schedule([east, west]).overlaps(1.days)["first"]   // => ["beds"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn schedule(timers: Array) -> Result<Schedule, Box<EvalAltResult>> {
        as_schedule(&Dynamic::from_array(timers))
    }

    /// Opens a valve or demand by hand for a time: every day at a time of day, or once at a time after the first
    /// midnight. A demand that is in no schedule is open for the whole run.
    ///
    /// ```hw
    /// schedule([]).open_by_hand("kitchen", "07:15", 10.min).open_by_hand("kitchen", 31.h, 2.min)   // => by hand: kitchen 07:15 daily for 10 min; kitchen once at day 2, 07:00:00 for 2 min
    /// ```
    #[rhai_fn(return_raw)]
    pub fn open_by_hand(schedule: Dynamic, name: &str, at: Dynamic, lasting: Dynamic) -> Result<Schedule, Box<EvalAltResult>> {
        let mut schedule = as_schedule(&schedule)?;
        room_for_more(schedule.by_hand.len(), MOST_BY_HAND, "openings by hand")?;
        let (at_s, daily) = moment(&at, "open_by_hand: time")?;
        let lasting_s = span_s(&lasting, "open_by_hand: how long", || format!("how long '{name}' is opened"))?;
        schedule.by_hand.push(HandOpening { name: name.to_string(), at_s, lasting_s, every_s: daily.then_some(DAY_S) });
        Ok(schedule)
    }

    /// The initial pressure of the garden at the start of the run, if it is above static supply pressure. It applies at the
    /// elevation of the supply: lower parts have a higher pressure, higher parts a lower one.
    ///
    /// ```hw
    /// let line = supply(20.psi) >> check_valve().diameter(1.inch) >> pressure_tank(5.gal, 28.psi) >> leak("drip", 1.gph, 40.psi);
    /// line.operate(schedule([]).initial_pressure(50.psi), 1.h).highest("pressure_tank")   // => 50 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn initial_pressure(schedule: Dynamic, pressure: Dynamic) -> Result<Schedule, Box<EvalAltResult>> {
        let held_pa = Some(expect_quantity(&pressure, dim::PRESSURE, "initial_pressure: pressure")?);
        Ok(Schedule { held_pa, ..as_schedule(&schedule)? })
    }

    /// Times at which zones of a schedule overlap, within a duration from the first midnight.
    ///
    /// ```hw
    /// let east = timer("east").start("05:30").zone("beds", 20.min);
    /// schedule([east]).open_by_hand("hand", "05:45", 20.min).overlaps(1.days)["to"]   // => ["day 1, 05:50:00"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn overlaps(schedule: Dynamic, duration: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        let until_s = expect_quantity(&duration, dim::TIME, "overlaps: duration")?;
        overlaps_of(&as_schedule(&schedule)?, until_s).map_err(raise)
    }
}
