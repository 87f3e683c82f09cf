//! Functions that run a garden by a schedule: once, with each failure, for many cases; and the tank that its pump needs.
//!
//! Functions of a log are in `logs.rs`.

use super::super::findings::judged;
use super::faults::as_faults;
use super::read::as_schedule;
use crate::garden::Garden;
use crate::operation::{Fault, Log, Options, TankNeeds, operate_with, tank_for};
use crate::quantity::dim;
use crate::report::log as report;
use crate::script::language::calling::context_of;
use crate::script::language::error::{Answer, ScriptError, raise, raise_as};
use crate::script::language::values::{expect_number, expect_quantity};
use crate::study::{Axes, SweepOptions};
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Array, Dynamic, EvalAltResult, Map};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// Runs a garden over time by a schedule, from midnight for a duration, optionally with a list of failures. Gives the log.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// line.operate(timer("east").start("05:30").zone("bed", 20.min), 1.days).water("spray")   // => 62 gal
    /// line.operate(timer("east").start("05:30").zone("bde", 20.min), 1.days)   // => error: there is no valve called 'bde' in this garden
    /// ```
    #[rhai_fn(return_raw)]
    pub fn operate(
        call: NativeCallContext,
        garden: Garden,
        schedule: Dynamic,
        duration: Dynamic,
    ) -> Result<Log, Box<EvalAltResult>> {
        run(&judged(&call, &garden)?, &schedule, &duration, &[])
    }

    #[rhai_fn(name = "operate", return_raw)]
    pub fn operate_with_faults(
        call: NativeCallContext,
        garden: Garden,
        schedule: Dynamic,
        duration: Dynamic,
        faults: Array,
    ) -> Result<Log, Box<EvalAltResult>> {
        run(&judged(&call, &garden)?, &schedule, &duration, &as_faults(&faults)?)
    }

    /// A failure study: each possible failure of each part, one at a time and for the whole run, with its effect:
    /// highest pressure and its place, water lost (through relief valves, or beyond the use without a failure), backflow
    /// into the supply, lowest pressure at the house tap.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> backflow_preventer() >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// line.failure_study(timer("east").start("05:30").zone("bed", 20.min), 1.days)["failure"]   // => ["none", "supply fails", "supply loses pressure", "backflow_preventer stuck open", "bed stuck open", "bed stuck closed"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn failure_study(
        call: NativeCallContext,
        garden: Garden,
        schedule: Dynamic,
        duration: Dynamic,
    ) -> Result<Table, Box<EvalAltResult>> {
        let duration_s = expect_quantity(&duration, dim::TIME, "failure_study: duration")?;
        let options = SweepOptions { threads: context_of(&call)?.threads(), ..SweepOptions::default() };
        let found = crate::study::failure_study(&garden, &as_schedule(&schedule)?, duration_s, &options);
        found.map_err(raise_as("failure_study"))
    }

    /// A sweep of runs over time: one row per case, the garden with other parameters run by the schedule, or by each of several named
    /// schedules, on all cores.
    ///
    /// ```hw
    /// let well = supply(20.psi) >> backflow_preventer().diameter(1.inch) >> booster([[0.gpm, 50.psi], [12.gpm, 10.psi]]).named("pump")
    ///     >> pressure_tank(5.gal, 28.psi).named("tank") >> pressure_switch(30.psi, 50.psi) >> relief(65.psi) >> leak("drip", 6.gph, 40.psi);
    /// sweep_operation(well, vary("tank.volume", [2.gal, 5.gal, 10.gal]), schedule([]), 1.days)["starts"]   // => [236, 95, 48]
    /// let bed = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> valve("bed") >> head("spray", (1/8).inch);
    /// let on = |time| timer("east").start("05:30").zone("bed", time);
    /// let t = sweep_operation(bed, #{ brief: on.call(10.min), long: on.call(30.min) }, 1.days);
    /// t["schedule"]   // => ["brief", "long"]
    /// t["water"]       // => [31 gal, 92.9 gal]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn sweep_operation(
        call: NativeCallContext,
        garden: Garden,
        axes: Axes,
        schedule: Dynamic,
        duration: Dynamic,
    ) -> Result<Table, Box<EvalAltResult>> {
        sweep_over(&call, &garden, &axes, &schedule, &duration)
    }

    #[rhai_fn(name = "sweep_operation", return_raw)]
    pub fn sweep_programmes(
        call: NativeCallContext,
        garden: Garden,
        schedules: Map,
        duration: Dynamic,
    ) -> Result<Table, Box<EvalAltResult>> {
        sweep_over(&call, &garden, &Axes::default(), &schedules.into(), &duration)
    }

    /// Sizes a pressure tank for a limit of pump starts per hour and a run time of at least one minute: its volume, precharge and drawdown
    /// at the worst flow. It replaces all storage now in the garden.
    ///
    /// ```hw
    /// let well = supply(20.psi) >> backflow_preventer().diameter(1.inch) >> booster([[0.gpm, 50.psi], [12.gpm, 10.psi]]).named("pump")
    ///     >> pressure_switch(30.psi, 50.psi) >> relief(65.psi) >> hose(50.ft, 1.inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// tank_for(well, 20.per_hour)["volume"]   // => [29.7 gal]
    /// ```
    #[rhai_fn(name = "tank_for", return_raw)]
    pub fn tank_for_garden(garden: Garden, starts_per_hour: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        tank(&garden, &starts_per_hour, 60.0)
    }

    #[rhai_fn(name = "tank_for", return_raw)]
    pub fn tank_for_run(garden: Garden, starts_per_hour: Dynamic, shortest_run: Dynamic) -> Result<Table, Box<EvalAltResult>> {
        tank(&garden, &starts_per_hour, expect_quantity(&shortest_run, dim::TIME, "tank_for: shortest run")?)
    }
}

fn sweep_over(call: &NativeCallContext, garden: &Garden, axes: &Axes, schedule: &Dynamic, duration: &Dynamic) -> Answer<Table> {
    let duration_s = expect_quantity(duration, dim::TIME, "sweep_operation: duration")?;
    let options = SweepOptions { threads: context_of(call)?.threads(), ..SweepOptions::default() };
    let schedules = match schedule.read_lock::<Map>() {
        Some(named) if named.is_empty() => {
            let error = ScriptError::new("sweep_operation: there is no schedule in the map");
            return Err(error.with_hint("write #{ early: timer(..), late: timer(..) }").into());
        }
        Some(named) => {
            let one = |(name, schedule): (&_, &Dynamic)| Ok((format!("{name}"), as_schedule(schedule)?));
            named.iter().map(one).collect::<Answer<Vec<_>>>()?
        }
        None => vec![(String::new(), as_schedule(schedule)?)],
    };
    let found = crate::study::sweep_operation(garden, axes, &schedules, duration_s, &options);
    found.map_err(raise_as("sweep_operation"))
}

fn run(garden: &Garden, schedule: &Dynamic, duration: &Dynamic, faults: &[Fault]) -> Answer<Log> {
    let duration_s = expect_quantity(duration, dim::TIME, "operate: duration")?;
    let options = Options { faults, ..Options::default() };
    operate_with(garden, &as_schedule(schedule)?, duration_s, &options).map_err(raise)
}

fn tank(garden: &Garden, starts_per_hour: &Dynamic, shortest_run_s: f64) -> Answer<Table> {
    let starts_per_s = match expect_number(starts_per_hour, "tank_for: starts per hour") {
        Ok(number) => number / 3600.0,
        Err(_) => expect_quantity(starts_per_hour, dim::PER_TIME, "tank_for: starts per hour")?,
    };
    let needs = TankNeeds { starts_per_s, shortest_run_s };
    report::tanks(garden, &tank_for(garden, &needs).map_err(raise)?).map_err(raise)
}
