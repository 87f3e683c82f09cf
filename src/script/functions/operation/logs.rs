//! Words that ask the log of a run: events, traces, starts and rests, water, pressures, findings.
//!
//! What they give is made in `crate::report::log`.

use super::super::findings::judged;
use super::read::moment;
use crate::operation::Log;
use crate::quantity::Quantity;
use crate::report::{FindingList, log as report};
use crate::script::language::error::raise;
use crate::script::language::values::as_names;
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Array, Dynamic, EvalAltResult, INT};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// The events of a run, one row each: time, part and event; optionally only of the named parts. Times count from the first midnight and show
    /// with their day; a schedule with a date (`starts_on`) adds the column `date`.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// let events = line.operate(timer("east").start("05:30").zone("bed", 20.min), 1.days).events();
    /// events["time"]    // => [05:30, 05:50]
    /// events["event"]   // => ["opens", "closes"]
    /// line.operate(timer("east").start("05:30").zone("bed", 20.min), 2.days).events(["bed"])["time"][2]   // => day 2, 05:30
    /// ```
    #[rhai_fn(return_raw)]
    pub fn events(log: Log) -> Result<Table, Box<EvalAltResult>> {
        report::events(&log, None).map_err(raise)
    }

    #[rhai_fn(name = "events", return_raw)]
    pub fn events_of(log: Log, names: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        report::events(&log, Some(&as_names(&names, "events")?)).map_err(raise)
    }

    /// The trace of a run: time, pumps (1 on, 0 off), pressures at switches, tanks and outlets, flows of sources.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// line.operate(timer("east").start("05:30").zone("bed", 20.min), 1.days).table().names   // => ["time", "supply.flow", "spray.pressure"]
    /// ```
    #[rhai_fn(name = "table", return_raw)]
    pub fn table_of_log(log: Log) -> Result<Table, Box<EvalAltResult>> {
        report::trace_of_all(&log).map_err(raise)
    }

    /// The trace of a run at named parts: pressures, and for boosters 1 when they run; optionally only between two times, each a time
    /// of day on day 1 or a time after the first midnight.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// let log = line.operate(timer("east").start("05:30").zone("bed", 20.min), 1.days);
    /// log.trace(["spray"], "05:00", 6.h).names   // => ["time", "spray.pressure"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn trace(log: Log, names: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        let until_s = log.duration_s();
        report::trace(&log, &as_names(&names, "trace")?, 0.0, until_s).map_err(raise)
    }

    #[rhai_fn(name = "trace", return_raw)]
    pub fn trace_between(log: Log, names: Dynamic, from: Dynamic, to: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        let (from_s, to_s) = (moment(&from, "trace: from")?.0, moment(&to, "trace: to")?.0);
        report::trace(&log, &as_names(&names, "trace")?, from_s, to_s).map_err(raise)
    }

    /// Pump starts per hour, the average over the run; `log.starts` is their number.
    ///
    /// ```hw
    /// let well = supply(20.psi) >> backflow_preventer().diameter(1.inch) >> booster([[0.gpm, 50.psi], [12.gpm, 10.psi]]).named("pump").input_power(500.W)
    ///     >> pressure_tank(5.gal, 28.psi) >> pressure_switch(30.psi, 50.psi) >> relief(65.psi) >> leak("drip", 6.gph, 40.psi);
    /// let log = well.operate(schedule([]), 10.h);
    /// log.starts_per_hour()   // => 4 per h
    /// log.peak_starts_per_hour()      // => 4
    /// log.shortest_run()      // => 10.2 s
    /// log.shortest_off_time()     // => 15.1 min
    /// log.duty_cycle()       // => 0.0113935
    /// log.energy()            // => 0.057 kWh
    /// ```
    pub fn starts_per_hour(log: Log) -> Quantity {
        report::starts_per_hour(&log)
    }

    /// Pump starts per day, the average over the run.
    ///
    /// ```hw
    /// let well = supply(20.psi) >> check_valve().diameter(1.inch) >> booster([[0.gpm, 50.psi], [12.gpm, 10.psi]]).named("pump")
    ///     >> pressure_tank(5.gal, 28.psi) >> pressure_switch(30.psi, 50.psi) >> leak("drip", 6.gph, 40.psi);
    /// well.operate(schedule([]), 10.h).starts_per_day()   // => 96
    /// ```
    pub fn starts_per_day(log: Log) -> f64 {
        log.starts_per_day()
    }

    /// The highest number of starts of a pump in any sixty minutes (short cycling).
    ///
    /// ```hw
    /// let well = supply(20.psi) >> backflow_preventer().diameter(1.inch) >> booster([[0.gpm, 50.psi], [12.gpm, 10.psi]]).named("pump")
    ///     >> pressure_tank(5.gal, 28.psi) >> pressure_switch(30.psi, 50.psi) >> relief(65.psi) >> leak("drip", 6.gph, 40.psi);
    /// well.operate(schedule([]), 10.h).peak_starts_per_hour()   // => 4
    /// ```
    pub fn peak_starts_per_hour(log: Log) -> INT {
        log.peak_starts_per_hour() as INT
    }

    /// The shortest run time of a pump from start to stop.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// line.operate(schedule([]), 1.h).shortest_run()   // => error: no pump was started and stopped in this run
    /// ```
    #[rhai_fn(return_raw)]
    pub fn shortest_run(log: Log) -> Result<Quantity, Box<EvalAltResult>> {
        report::shortest_run(&log).map_err(raise)
    }

    /// The shortest off time of a pump between two runs.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// line.operate(schedule([]), 1.h).shortest_off_time()   // => error: no pump was started twice in this run
    /// ```
    #[rhai_fn(return_raw)]
    pub fn shortest_off_time(log: Log) -> Result<Quantity, Box<EvalAltResult>> {
        report::shortest_off_time(&log).map_err(raise)
    }

    /// The duty cycle: the share of the time that pumps ran.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> backflow_preventer() >> booster([[0.gpm, 50.psi], [12.gpm, 10.psi]]) >> relief(95.psi) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// line.operate(schedule([]), 1.h).duty_cycle()   // => 1
    /// ```
    pub fn duty_cycle(log: Log) -> f64 {
        log.duty_cycle()
    }

    /// Electrical energy of all pumps, from their `input_power`, or water power divided by `efficiency`.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> backflow_preventer() >> booster([[0.gpm, 50.psi], [12.gpm, 10.psi]]).input_power(500.W) >> relief(95.psi) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// line.operate(schedule([]), 2.h).energy()   // => 1 kWh
    /// ```
    #[rhai_fn(return_raw)]
    pub fn energy(log: Log) -> Result<Quantity, Box<EvalAltResult>> {
        report::energy(&log).map_err(raise)
    }

    /// Water use of a run: the volume through a head, leak, demand, relief, supply or open tank, or, for a valve,
    /// through its zone; without a name a table of all.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// let log = line.operate(timer("east").start("05:30").zone("bed", 20.min), 1.days);
    /// log.water("bed")        // => 62 gal
    /// log.water()["kind"]     // => ["supply", "head"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn water(log: Log) -> Result<Table, Box<EvalAltResult>> {
        report::whole_water(&log).map_err(raise)
    }

    #[rhai_fn(name = "water", return_raw)]
    pub fn water_of(log: Log, name: &str) -> Result<Quantity, Box<EvalAltResult>> {
        report::water_of(&log, name).map_err(raise)
    }

    /// The highest pressure at a part in a run; without a name a table of all parts, the highest first, with the time.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// let log = line.operate(timer("east").start("05:30").zone("bed", 20.min), 1.days);
    /// log.highest("spray")   // => 47.9 psi
    /// log.lowest("hose")     // => 48.1 psi
    /// ```
    #[rhai_fn(name = "highest", return_raw)]
    pub fn highest_of(log: Log, name: &str) -> Result<Quantity, Box<EvalAltResult>> {
        report::highest_of(&log, name).map_err(raise)
    }

    #[rhai_fn(return_raw)]
    pub fn highest(log: Log) -> Result<Table, Box<EvalAltResult>> {
        report::highest(&log).map_err(raise)
    }

    /// The lowest pressure downstream of a part in a run.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// line.operate(timer("east").start("05:30").zone("bed", 20.min), 1.days).lowest("supply")   // => 47.5 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn lowest(log: Log, name: &str) -> Result<Quantity, Box<EvalAltResult>> {
        report::lowest_of(&log, name).map_err(raise)
    }

    /// The runs of a pump: pairs of start and stop, for `bands` of a chart.
    ///
    /// ```hw
    /// let well = supply(20.psi) >> backflow_preventer().diameter(1.inch) >> booster([[0.gpm, 50.psi], [12.gpm, 10.psi]]).named("pump")
    ///     >> pressure_tank(5.gal, 28.psi).named("tank") >> pressure_switch(30.psi, 50.psi) >> relief(65.psi) >> leak("drip", 6.gph, 40.psi);
    /// let log = well.operate(schedule([]), 1.h);
    /// log.runs("pump").len   // => 4
    /// chart(log.trace(["tank"])).x("time").y("tank.pressure").bands("pump", log.runs("pump")).save("trace.svg")   // => saved trace.svg
    /// ```
    #[rhai_fn(return_raw)]
    pub fn runs(log: Log, name: &str) -> Result<Array, Box<EvalAltResult>> {
        let runs = report::runs_of(&log, name).map_err(raise)?;
        Ok(runs.into_iter().map(|span| Dynamic::from_array(span.map(Dynamic::from).into())).collect())
    }

    /// The time below the operating range, for each head with an `operating_range`: how long its zone was on, and how long the pressure was too low.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch).operating_range(30.psi, 60.psi);
    /// line.operate(timer("east").start("05:30").zone("bed", 20.min), 1.days).time_below_range()["below"]   // => [0 s]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn time_below_range(log: Log) -> Result<Table, Box<EvalAltResult>> {
        report::time_below_range(&log).map_err(raise)
    }

    /// Problems found in a run: pumps that short-cycle, never start or never stop, relief valves that
    /// open, low pressure at heads or in the house, backflow.
    ///
    /// ```hw
    /// let well = supply(40.psi) >> backflow_preventer() >> booster([[0.gpm, 50.psi], [12.gpm, 10.psi]]).named("pump").input_power(500.W)
    ///     >> pressure_tank(5.gal, 28.psi) >> pressure_switch(30.psi, 50.psi) >> relief(65.psi).capacity(12.gpm, 10.psi) >> hose(50.ft, 1.inch) >> leak("drip", 6.gph, 40.psi);
    /// well.operate(schedule([]), 10.h).findings().table()["code"]   // => ["no-low-suction-cutoff", "cautions"]
    /// ```
    #[rhai_fn(name = "findings", return_raw)]
    pub fn findings_of_log(call: NativeCallContext, log: Log) -> Result<FindingList, Box<EvalAltResult>> {
        let mut log = log;
        log.garden = judged(&call, &log.garden)?;
        let list = crate::findings::of_log(&log);
        Ok(FindingList::of(log.garden, &list))
    }
}
