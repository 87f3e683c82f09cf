//! The garden over time as scripts see it: timers, programmes, faults, and the log of a run.
//!
//! The run itself is in `crate::operation`, what it warns of in `crate::findings`.

use super::Context;
use super::engine::{check_stop, context_of};
use super::error::{Answer, ScriptError, raise};
use super::findings::FindingList;
use super::garden::as_names;
use super::log::{self, summary};
use super::quantities::{describe, expect_number, expect_quantity, value_of};
use crate::garden::Garden;
use crate::operation::{
    DrawTime, Fault, FaultKind, Log, OperationError, Options, Programme, TankNeeds, Timer, clock_time_s, operate_with, tank_for,
    time_in_words,
};
use crate::quantity::{Quantity, dim};
use crate::study::{Axes, SweepOptions};
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, INT};
use std::sync::Arc;

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
A programme says what opens when: timers, each of which runs its zones one after another, and draws opened by hand. Time begins
at midnight of day 1. `garden.operate(programme, duration)` lets the garden run: pressure switches start and stop their
pumps, tanks and stretching hoses fill and empty, open tanks run dry. A run begins at rest, tanks filled by the supply.

```hw
let plot = supply(40.psi).measured(25.psi, 8.gpm) >> check_valve().bore((3/4).inch)
    >> booster([[0.gpm, 50.psi], [6.gpm, 40.psi], [12.gpm, 10.psi]]).named("pump").watts(600.W)
    >> pressure_tank(5.gal, 40.psi) >> pressure_switch(42.psi, 62.psi) >> leak("drip", 2.gph, 40.psi)
    >> valve("beds") >> hose(60.ft, (1/2).inch) >> head("bed", (1/8).inch);
let night = plot.operate(timer("east").start("05:30").zone("beds", 20.min), 1.days);
night.starts             // => 73
night.shortest_run()     // => 9.096 s
```

Stored water is that of pressure tanks, of hoses and pipes that say their `stretch` (it sits at their far end), and of open tanks
that say their `volume`; `inflow` is what comes into an open tank by itself, such as the recovery of a well. Where nothing stores
water, that in the line is taken as slightly elastic, and a switch chatters. A booster with `dry_stop` is stopped for good
when the pressure at its inlet falls to it. Faults are given as a list behind the duration.
"#;

impl From<OperationError> for ScriptError {
    fn from(error: OperationError) -> Self {
        ScriptError::new(error.to_string()).with_hint(error.hint().unwrap_or_default())
    }
}

/// Registers the words of this area.
pub fn register(engine: &mut Engine, context: &Arc<Context>) {
    engine
        .register_type_with_name::<Timer>("a timer")
        .register_type_with_name::<Programme>("a programme")
        .register_type_with_name::<Fault>("a fault")
        .register_type_with_name::<Log>("a log");
    engine.register_get("starts", |log: &mut Log| log.starts() as INT);
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |timer: Timer| log::timer_in_words(&timer));
        engine.register_fn(word, |programme: Programme| log::programme_in_words(&programme));
        engine.register_fn(word, |fault: Fault| format!("{} {}", fault.part, fault.kind.words()));
    }
    let shared = context.clone();
    engine.register_fn("to_debug", move |log: Log| summary(&log, &shared));
    engine.register_fn("to_string", |log: Log| format!("a log of {} events", log.events().len()));
    engine.register_global_module(exported_module!(words).into());
}

/// A time of the day or a time since the first midnight, in seconds, and whether it was a time of the day.
fn moment(value: &Dynamic, what: &str) -> Answer<(f64, bool)> {
    if let Ok(text) = value.as_immutable_string_ref() {
        return Ok((clock_time_s(&text).map_err(raise)?, true));
    }
    Ok((expect_quantity(value, dim::TIME, what)?, false))
}

/// A programme, a timer, or a list of timers and programmes.
fn as_programme(value: &Dynamic) -> Answer<Programme> {
    if let Some(programme) = value.read_lock::<Programme>() {
        return Ok(programme.clone());
    }
    if let Some(timer) = value.read_lock::<Timer>() {
        return Ok(Programme { timers: vec![timer.clone()], ..Programme::default() });
    }
    if let Some(list) = value.read_lock::<Array>() {
        let mut programme = Programme::default();
        for item in list.iter() {
            let more = as_programme(item)?;
            programme.timers.extend(more.timers);
            programme.draws.extend(more.draws);
            programme.held_pa = more.held_pa.or(programme.held_pa);
        }
        return Ok(programme);
    }
    let error = ScriptError::new(format!("a programme is made of timers, found {}", describe(value)));
    Err(error.with_hint("write timer(\"east\").start(\"05:30\").zone(\"beds\", 20.min)").into())
}

fn as_faults(values: &Array) -> Answer<Vec<Fault>> {
    let one = |value: &Dynamic| match value.read_lock::<Fault>() {
        Some(fault) => Ok(fault.clone()),
        None => {
            let error = ScriptError::new(format!("operate takes a list of faults, found {}", describe(value)));
            Err(error.with_hint("write [fault(\"switch\", \"will not stop\")]").into())
        }
    };
    values.iter().map(one).collect()
}

fn run(call: &NativeCallContext, garden: &Garden, programme: &Dynamic, duration: &Dynamic, faults: &[Fault]) -> Answer<Log> {
    let context = context_of(call)?;
    let duration_s = expect_quantity(duration, dim::TIME, "operate: duration")?;
    let options = Options { faults, stop: Some(&context.stop), ..Options::default() };
    let found = operate_with(garden, &as_programme(programme)?, duration_s, &options);
    found.map_err(|error| stopped_or(error, &context))
}

/// The engine's own error when the user has stopped, else the one given.
fn stopped_or(error: OperationError, context: &Arc<Context>) -> Box<EvalAltResult> {
    match check_stop(context) {
        Err(stopped) if error == OperationError::Stopped => stopped,
        _ => raise(error),
    }
}

fn time(seconds: f64) -> Dynamic {
    Dynamic::from(time_in_words(seconds))
}

fn days(value: &Dynamic, word: &str) -> Answer<Vec<u32>> {
    if let Some(list) = value.read_lock::<Array>() {
        let mut all = Vec::new();
        for item in list.iter() {
            all.extend(days(item, word)?);
        }
        return Ok(all);
    }
    let number = expect_number(value, &format!("{word}: day"))?;
    if number < 1.0 || number.fract() != 0.0 || number > 1e6 {
        return Err(ScriptError::new(format!("{word}: days are counted 1, 2, 3, found {number}")).into());
    }
    Ok(vec![number as u32])
}

#[export_module]
mod words {
    /// A timer that opens zones one after another: `start` says when, `zone` what and how long, `every` how often.
    ///
    /// ```hw
    /// timer("east").start("05:30").every(2.days).zone("beds", 20.min).zone("berries", 15.min).pause(1.min)   // => east: 05:30 every 2 day: beds 20 min, berries 15 min, 1 min between
    /// ```
    pub fn timer(name: &str) -> Timer {
        Timer::new(name)
    }

    /// A time of the day at which a timer starts; said more than once, it starts more than once a day.
    ///
    /// ```hw
    /// timer("east").start("05:30").start("18:00").zone("beds", 10.min)   // => east: 05:30, 18:00 every 1 day: beds 10 min
    /// timer("east").start("half past five")   // => error: 'half past five' is not a time of the day
    /// ```
    #[rhai_fn(return_raw)]
    pub fn start(timer: Timer, clock: &str) -> Result<Timer, Box<EvalAltResult>> {
        let mut timer = timer;
        timer.starts_s.push(clock_time_s(clock).map_err(raise)?);
        Ok(timer)
    }

    /// How often a timer starts; every day unless said.
    ///
    /// ```hw
    /// timer("east").start("05:30").every(3.days).zone("beds", 20.min)   // => east: 05:30 every 3 day: beds 20 min
    /// ```
    #[rhai_fn(return_raw)]
    pub fn every(timer: Timer, period: Dynamic) -> Result<Timer, Box<EvalAltResult>> {
        Ok(Timer { every_s: expect_quantity(&period, dim::TIME, "every: time")?, ..timer })
    }

    /// One more zone of a timer, by the name of its valve, and how long it runs.
    ///
    /// ```hw
    /// timer("east").start("05:30").zone("beds", 20.min).zone("berries", 15.min)   // => east: 05:30 every 1 day: beds 20 min, berries 15 min
    /// ```
    #[rhai_fn(return_raw)]
    pub fn zone(timer: Timer, valve: &str, lasting: Dynamic) -> Result<Timer, Box<EvalAltResult>> {
        let mut timer = timer;
        timer.zones.push((valve.to_string(), expect_quantity(&lasting, dim::TIME, "zone: time")?));
        Ok(timer)
    }

    /// The rest of a timer between two of its zones.
    ///
    /// ```hw
    /// timer("east").start("05:30").zone("beds", 20.min).zone("berries", 15.min).pause(30.s)   // => east: 05:30 every 1 day: beds 20 min, berries 15 min, 30 s between
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pause(timer: Timer, lasting: Dynamic) -> Result<Timer, Box<EvalAltResult>> {
        Ok(Timer { pause_s: expect_quantity(&lasting, dim::TIME, "pause: time")?, ..timer })
    }

    /// Days that a timer leaves out, counted from 1: a number or a list.
    ///
    /// ```hw
    /// timer("east").start("05:30").zone("beds", 20.min).skip([2, 5])   // => east: 05:30 every 1 day: beds 20 min, not on day 2, 5
    /// ```
    #[rhai_fn(return_raw)]
    pub fn skip(timer: Timer, day: Dynamic) -> Result<Timer, Box<EvalAltResult>> {
        let mut timer = timer;
        timer.skipped_days.extend(days(&day, "skip")?);
        Ok(timer)
    }

    /// The day on which a timer starts for the first time; 1 unless said.
    ///
    /// ```hw
    /// timer("east").start("05:30").every(2.days).first_day(2).zone("beds", 20.min)   // => east: 05:30 every 2 day from day 2: beds 20 min
    /// ```
    #[rhai_fn(return_raw)]
    pub fn first_day(timer: Timer, day: INT) -> Result<Timer, Box<EvalAltResult>> {
        Ok(Timer { first_day: days(&Dynamic::from_int(day), "first_day")?[0], ..timer })
    }

    /// Timers together; what is opened by hand is added with `draw_at`.
    ///
    /// ```hw
    /// let east = timer("east").start("05:30").zone("beds", 20.min);
    /// let west = timer("west").start("05:40").zone("herbs", 10.min);
    /// programme([east, west]).overlaps(1.days)["first"]   // => ["beds"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn programme(timers: Array) -> Result<Programme, Box<EvalAltResult>> {
        as_programme(&Dynamic::from_array(timers))
    }

    /// A valve or draw that is opened by hand for a while: every day at a time of the day, or once at a time after the first
    /// midnight. A draw that no programme speaks of is open throughout.
    ///
    /// ```hw
    /// programme([]).draw_at("kitchen", "07:15", 10.min).draw_at("kitchen", 31.h, 2.min)   // => by hand: kitchen 07:15 daily for 10 min; kitchen once at day 2, 07:00:00 for 2 min
    /// ```
    #[rhai_fn(return_raw)]
    pub fn draw_at(programme: Dynamic, name: &str, at: Dynamic, lasting: Dynamic) -> Result<Programme, Box<EvalAltResult>> {
        let mut programme = as_programme(&programme)?;
        let (at_s, daily) = moment(&at, "draw_at: time")?;
        let lasting_s = expect_quantity(&lasting, dim::TIME, "draw_at: how long")?;
        programme.draws.push(DrawTime { name: name.to_string(), at_s, lasting_s, every_s: daily.then_some(86_400.0) });
        Ok(programme)
    }

    /// The pressure that the garden holds when the run begins, where that is more than the supply gives at rest.
    ///
    /// ```hw
    /// let line = supply(20.psi) >> check_valve().bore(1.inch) >> pressure_tank(5.gal, 28.psi) >> leak("drip", 1.gph, 40.psi);
    /// line.operate(programme([]).held(50.psi), 1.h).highest("pressure_tank")   // => 50 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn held(programme: Dynamic, pressure: Dynamic) -> Result<Programme, Box<EvalAltResult>> {
        let held_pa = Some(expect_quantity(&pressure, dim::PRESSURE, "held: pressure")?);
        Ok(Programme { held_pa, ..as_programme(&programme)? })
    }

    /// Times in which two openings of a programme overlap, within a duration from the first midnight.
    ///
    /// ```hw
    /// let east = timer("east").start("05:30").zone("beds", 20.min);
    /// programme([east]).draw_at("hand", "05:45", 20.min).overlaps(1.days)["to"]   // => ["day 1, 05:50:00"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn overlaps(programme: Dynamic, duration: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        let until_s = expect_quantity(&duration, dim::TIME, "overlaps: duration")?;
        log::overlaps(&as_programme(&programme)?, until_s)
    }

    /// A part that fails: a switch or booster `"will not stop"` or `"will not start"`, a switch is `"blocked"`, a relief or
    /// valve `"sticks open"` or `"sticks shut"`, a check valve `"passes"`, a supply `"fails"`.
    ///
    /// ```hw
    /// fault("switch", "will not stop")   // => switch will not stop
    /// fault("switch", "explodes")   // => error: there is no fault called 'explodes'
    /// ```
    #[rhai_fn(return_raw)]
    pub fn fault(part: &str, how: &str) -> Result<Fault, Box<EvalAltResult>> {
        Ok(Fault::new(part, FaultKind::of_words(how).map_err(raise)?))
    }

    /// When a fault begins: a time of the first day, or a time after the first midnight; at once unless said.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> backflow_preventer() >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// line.operate(programme([]), 2.h, [fault("supply", "fails").begins(30.min).lasts(1.h)]).events()["event"]   // => ["fails", "shuts", "works again", "opens"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn begins(fault: Fault, at: Dynamic) -> Result<Fault, Box<EvalAltResult>> {
        Ok(Fault { from_s: moment(&at, "begins: time")?.0, ..fault })
    }

    /// How long a fault lasts; for ever unless said.
    ///
    /// ```hw
    /// fault("supply", "fails").begins("01:00").lasts(3.h)   // => supply fails
    /// ```
    #[rhai_fn(return_raw)]
    pub fn lasts(fault: Fault, lasting: Dynamic) -> Result<Fault, Box<EvalAltResult>> {
        Ok(Fault { lasting_s: expect_quantity(&lasting, dim::TIME, "lasts: time")?, ..fault })
    }

    /// Lets a garden run by a programme for a time, which begins at midnight; faults may follow in a list. Gives the log.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// line.operate(timer("east").start("05:30").zone("bed", 20.min), 1.days).water("spray")   // => 61.95 gal
    /// line.operate(timer("east").start("05:30").zone("bde", 20.min), 1.days)   // => error: there is no valve called 'bde' in this garden
    /// ```
    #[rhai_fn(return_raw)]
    pub fn operate(
        call: NativeCallContext,
        garden: Garden,
        programme: Dynamic,
        duration: Dynamic,
    ) -> Result<Log, Box<EvalAltResult>> {
        run(&call, &garden, &programme, &duration, &[])
    }

    #[rhai_fn(name = "operate", return_raw)]
    pub fn operate_with_faults(
        call: NativeCallContext,
        garden: Garden,
        programme: Dynamic,
        duration: Dynamic,
        faults: Array,
    ) -> Result<Log, Box<EvalAltResult>> {
        run(&call, &garden, &programme, &duration, &as_faults(&faults)?)
    }

    /// Tries every fault that the parts of a garden can have, one at a time and for the whole run, and tells what each does:
    /// highest pressure and where, water lost, water that ran back into the supply, lowest pressure at the house tap.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> backflow_preventer() >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// line.try_faults(timer("east").start("05:30").zone("bed", 20.min), 1.days)["fault"]   // => ["none", "supply fails", "backflow_preventer sticks open", "bed sticks open", "bed sticks shut"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn try_faults(
        call: NativeCallContext,
        garden: Garden,
        programme: Dynamic,
        duration: Dynamic,
    ) -> Result<Table, Box<EvalAltResult>> {
        let context = context_of(&call)?;
        let duration_s = expect_quantity(&duration, dim::TIME, "try_faults: duration")?;
        let options = SweepOptions { stop: Some(&context.stop), ..SweepOptions::default() };
        let found = crate::study::try_faults(&garden, &as_programme(&programme)?, duration_s, &options);
        found.map_err(|error| ScriptError::new(format!("try_faults: {error}")).with_hint(error.hint().unwrap_or_default()).into())
    }

    /// A table with a row for each case: the garden with other numbers, operated by the programme. All native, on all cores.
    ///
    /// ```hw
    /// let well = supply(20.psi) >> check_valve().bore(1.inch) >> booster([[0.gpm, 50.psi], [12.gpm, 10.psi]]).named("pump")
    ///     >> pressure_tank(5.gal, 28.psi).named("tank") >> pressure_switch(30.psi, 50.psi) >> leak("drip", 6.gph, 40.psi);
    /// sweep_operation(well, vary("tank.volume", [2.gal, 5.gal, 10.gal]), programme([]), 1.days)["starts"]   // => [236, 95, 48]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn sweep_operation(
        call: NativeCallContext,
        garden: Garden,
        axes: Axes,
        programme: Dynamic,
        duration: Dynamic,
    ) -> Result<Table, Box<EvalAltResult>> {
        let context = context_of(&call)?;
        let duration_s = expect_quantity(&duration, dim::TIME, "sweep_operation: duration")?;
        let options = SweepOptions { stop: Some(&context.stop), ..SweepOptions::default() };
        let found = crate::study::sweep_operation(&garden, &axes, &as_programme(&programme)?, duration_s, &options);
        found.map_err(|error| {
            ScriptError::new(format!("sweep_operation: {error}")).with_hint(error.hint().unwrap_or_default()).into()
        })
    }

    /// The tank that keeps the starts of the pump within a limit for each hour, and each run to at least a minute: its volume and
    /// precharge, for the worst flow that can be drawn. It takes the place of what the garden stores now.
    ///
    /// ```hw
    /// let well = supply(20.psi) >> check_valve().bore(1.inch) >> booster([[0.gpm, 50.psi], [12.gpm, 10.psi]]).named("pump")
    ///     >> pressure_switch(30.psi, 50.psi) >> hose(50.ft, 1.inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// tank_for(well, 20.per_hour)["volume"]   // => [30.39 gal]
    /// ```
    #[rhai_fn(name = "tank_for", return_raw)]
    pub fn tank_for_garden(garden: Garden, starts_per_hour: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        tank(&garden, &starts_per_hour, 60.0)
    }

    #[rhai_fn(name = "tank_for", return_raw)]
    pub fn tank_for_run(garden: Garden, starts_per_hour: Dynamic, shortest_run: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        tank(&garden, &starts_per_hour, expect_quantity(&shortest_run, dim::TIME, "tank_for: shortest run")?)
    }

    /// What happened, one row an event: when, to which part, what.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// let events = line.operate(timer("east").start("05:30").zone("bed", 20.min), 1.days).events();
    /// events["at"]      // => ["day 1, 05:30:00", "day 1, 05:50:00"]
    /// events["event"]   // => ["opens", "shuts"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn events(log: Log) -> Result<Table, Box<EvalAltResult>> {
        log::events(&log)
    }

    /// The trace of a run: time, pumps (1 on, 0 off), pressures at switches, tanks and outlets, flows of sources.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// line.operate(timer("east").start("05:30").zone("bed", 20.min), 1.days).table().names   // => ["time", "supply.flow", "spray.pressure"]
    /// ```
    #[rhai_fn(name = "table", return_raw)]
    pub fn table_of_log(log: Log) -> Result<Table, Box<EvalAltResult>> {
        log::trace_of_all(&log)
    }

    /// The trace of a run at named parts: pressures, and for boosters 1 when they run; perhaps only between two times, each a time
    /// of the first day or a time after the first midnight.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// let log = line.operate(timer("east").start("05:30").zone("bed", 20.min), 1.days);
    /// log.trace(["spray"], "05:00", 6.h).names   // => ["time", "spray.pressure"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn trace(log: Log, names: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        let until_s = log.duration_s();
        log::trace(&log, &as_names(&names, "trace")?, 0.0, until_s)
    }

    #[rhai_fn(name = "trace", return_raw)]
    pub fn trace_between(log: Log, names: Dynamic, from: Dynamic, to: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        let (from_s, to_s) = (moment(&from, "trace: from")?.0, moment(&to, "trace: to")?.0);
        log::trace(&log, &as_names(&names, "trace")?, from_s, to_s)
    }

    /// Starts of all pumps for each hour, on average over the run; `log.starts` is their number.
    ///
    /// ```hw
    /// let well = supply(20.psi) >> check_valve().bore(1.inch) >> booster([[0.gpm, 50.psi], [12.gpm, 10.psi]]).named("pump").watts(500.W)
    ///     >> pressure_tank(5.gal, 28.psi) >> pressure_switch(30.psi, 50.psi) >> leak("drip", 6.gph, 40.psi);
    /// let log = well.operate(programme([]), 10.h);
    /// log.starts_per_hour()   // => 4 1/h
    /// log.busiest_hour()      // => 4
    /// log.shortest_run()      // => 9.99 s
    /// log.shortest_rest()     // => 15.12 min
    /// log.on_fraction()       // => 0.0111308
    /// log.energy()            // => 0.05565 kWh
    /// ```
    #[rhai_fn(return_raw)]
    pub fn starts_per_hour(log: Log) -> Result<Dynamic, Box<EvalAltResult>> {
        value_of(Quantity::new(log.starts_per_hour() / 3600.0, dim::PER_TIME))
    }

    /// The most starts of one pump in any sixty minutes.
    ///
    /// ```hw
    /// let well = supply(20.psi) >> check_valve().bore(1.inch) >> booster([[0.gpm, 50.psi], [12.gpm, 10.psi]]).named("pump")
    ///     >> pressure_tank(5.gal, 28.psi) >> pressure_switch(30.psi, 50.psi) >> leak("drip", 6.gph, 40.psi);
    /// well.operate(programme([]), 10.h).busiest_hour()   // => 4
    /// ```
    pub fn busiest_hour(log: Log) -> INT {
        log.busiest_hour() as INT
    }

    /// The shortest run of a pump from start to stop.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// line.operate(programme([]), 1.h).shortest_run()   // => error: no pump was started and stopped in this run
    /// ```
    #[rhai_fn(return_raw)]
    pub fn shortest_run(log: Log) -> Result<Dynamic, Box<EvalAltResult>> {
        log.shortest_run_s().map(time).ok_or_else(|| ScriptError::new("no pump was started and stopped in this run").into())
    }

    /// The shortest rest of a pump between two runs.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// line.operate(programme([]), 1.h).shortest_rest()   // => error: no pump was started twice in this run
    /// ```
    #[rhai_fn(return_raw)]
    pub fn shortest_rest(log: Log) -> Result<Dynamic, Box<EvalAltResult>> {
        log.shortest_rest_s().map(time).ok_or_else(|| ScriptError::new("no pump was started twice in this run").into())
    }

    /// The share of the time that pumps ran.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> booster([[0.gpm, 50.psi], [12.gpm, 10.psi]]) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// line.operate(programme([]), 1.h).on_fraction()   // => 1
    /// ```
    pub fn on_fraction(log: Log) -> f64 {
        log.on_fraction()
    }

    /// Electrical energy of all pumps: their watts, or water power over efficiency.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> booster([[0.gpm, 50.psi], [12.gpm, 10.psi]]).watts(500.W) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// line.operate(programme([]), 2.h).energy()   // => 1 kWh
    /// ```
    #[rhai_fn(return_raw)]
    pub fn energy(log: Log) -> Result<Dynamic, Box<EvalAltResult>> {
        log::energy(&log)
    }

    /// Water of a run: with the name of a head, leak, draw, relief, supply or open tank what went through it, with that of a valve
    /// what its zone took; without a name a table of all.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// let log = line.operate(timer("east").start("05:30").zone("bed", 20.min), 1.days);
    /// log.water("bed")        // => 61.95 gal
    /// log.water()["kind"]     // => ["supply", "head"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn water(log: Log) -> Result<Table, Box<EvalAltResult>> {
        log::water(&log)
    }

    #[rhai_fn(name = "water", return_raw)]
    pub fn water_of(log: Log, name: &str) -> Result<Dynamic, Box<EvalAltResult>> {
        log::water_of(&log, name)
    }

    /// The highest pressure at a part in a run; without a name a table of all parts, the highest first, with the time.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// let log = line.operate(timer("east").start("05:30").zone("bed", 20.min), 1.days);
    /// log.highest("spray")   // => 47.9 psi
    /// log.lowest("hose")     // => 48.06 psi
    /// ```
    #[rhai_fn(name = "highest", return_raw)]
    pub fn highest_of(log: Log, name: &str) -> Result<Dynamic, Box<EvalAltResult>> {
        log::highest_of(&log, name)
    }

    #[rhai_fn(return_raw)]
    pub fn highest(log: Log) -> Result<Table, Box<EvalAltResult>> {
        log::highest(&log)
    }

    /// The lowest pressure behind a part in a run.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// line.operate(timer("east").start("05:30").zone("bed", 20.min), 1.days).lowest("supply")   // => 47.47 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn lowest(log: Log, name: &str) -> Result<Dynamic, Box<EvalAltResult>> {
        log::lowest_of(&log, name)
    }

    /// When a pump ran: pairs of its start and stop, as `bands` of a chart takes them.
    ///
    /// ```hw
    /// let well = supply(20.psi) >> check_valve().bore(1.inch) >> booster([[0.gpm, 50.psi], [12.gpm, 10.psi]]).named("pump")
    ///     >> pressure_tank(5.gal, 28.psi).named("tank") >> pressure_switch(30.psi, 50.psi) >> leak("drip", 6.gph, 40.psi);
    /// let log = well.operate(programme([]), 1.h);
    /// log.runs("pump").len   // => 4
    /// chart(log.trace(["tank"])).x("time").y("tank.pressure").bands("pump", log.runs("pump")).save("trace.svg")   // => saved trace.svg
    /// ```
    #[rhai_fn(return_raw)]
    pub fn runs(log: Log, name: &str) -> Result<Array, Box<EvalAltResult>> {
        log::runs_of(&log, name)
    }

    /// For each head that says what it needs: how long its line was open, and how long of that it had too little.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch).needs(30.psi, 60.psi);
    /// line.operate(timer("east").start("05:30").zone("bed", 20.min), 1.days).starved()["below"]   // => [0 s]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn starved(log: Log) -> Result<Table, Box<EvalAltResult>> {
        log::starved(&log)
    }

    /// What a careful practitioner would warn of in a run: pumps that start too often, never start or never stop, reliefs that
    /// weep, heads and houses that get too little, water that runs back.
    ///
    /// ```hw
    /// let well = supply(40.psi) >> backflow_preventer() >> booster([[0.gpm, 50.psi], [12.gpm, 10.psi]]).named("pump").watts(500.W)
    ///     >> pressure_tank(5.gal, 28.psi) >> pressure_switch(30.psi, 50.psi) >> hose(50.ft, 1.inch) >> leak("drip", 6.gph, 40.psi);
    /// well.operate(programme([]), 10.h).findings().table()["code"]   // => ["never-starts"]
    /// ```
    #[rhai_fn(name = "findings", return_raw)]
    pub fn findings_of_log(call: NativeCallContext, log: Log) -> Result<FindingList, Box<EvalAltResult>> {
        let list = crate::findings::of_log(&log, context_of(&call)?.units());
        Ok(FindingList::of(log.garden, list))
    }
}

fn tank(garden: &Garden, starts_per_hour: &Dynamic, shortest_run_s: f64) -> Answer<Table> {
    let starts_per_s = match expect_number(starts_per_hour, "tank_for: starts per hour") {
        Ok(number) => number / 3600.0,
        Err(_) => expect_quantity(starts_per_hour, dim::PER_TIME, "tank_for: starts per hour")?,
    };
    let needs = TankNeeds { starts_per_s, shortest_run_s };
    log::tanks(garden, &tank_for(garden, &needs).map_err(raise)?)
}
