//! Functions for what starts a booster beside a pressure switch: the relay of the timer, the flow-and-pressure control, the drive.

use super::make::build;
use crate::parts::{Id, Kind, Part};
use rhai::plugin::*;
use rhai::{Dynamic, Engine, EvalAltResult};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// A pump start relay: the timer runs the nearest booster upstream as long as it opens a zone downstream of that booster, `delay` after the
    /// zone has opened (default 0 s). It needs no settings and no tank.
    ///
    /// ```hw
    /// let plot = supply(58.psi).measured(44.psi, 6.gpm) >> backflow_preventer() >> hose(50.ft, (3/4).inch)
    ///     >> booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]).named("pump") >> relief(110.psi) >> pump_start()
    ///     >> valve("beds") >> head("bed", (5/32).inch);
    /// let log = plot.operate(timer("east").start("06:00").zone("beds", 20.min), 2.days);
    /// log.starts                         // => 2
    /// log.runs("pump").len               // => 2
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pump_start() -> Result<Part, Box<EvalAltResult>> {
        build(Kind::PumpStart, None, &[])
    }

    /// A flow-and-pressure control (automatic pump control): starts the nearest booster upstream at or below cut-in, stops it `delay` (default 10 s)
    /// after the flow has fallen below `minimum_flow` (default 0.25 gpm), and locks it out where it then has no pressure either.
    ///
    /// ```hw
    /// let control = pump_control(45.psi).delay(15.s);
    /// control.minimum_flow   // => 0.25 gpm
    /// control.delay          // => 15 s
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pump_control(cut_in: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::PumpControl, None, &[(Id::CutIn, &cut_in)])
    }

    /// A variable-speed drive (VFD, constant-pressure control): lowers the speed of the nearest booster upstream so that the pressure at its
    /// outlet is the set pressure. Starts it when the line has fallen `start_margin` (default 5 psi) below that, stops it `delay` (default 10 s)
    /// after the flow has fallen below `minimum_flow` (default 0.5 gpm). `efficiency` (default 0.95) is its own. Right after the pump.
    ///
    /// ```hw
    /// let plot = supply(40.psi).measured(32.psi, 6.gpm) >> backflow_preventer() >> hose(20.ft, 1.inch)
    ///     >> booster([[0.gpm, 45.psi], [10.gpm, 25.psi]]).named("pump").efficiency(0.4) >> drive(60.psi) >> relief(100.psi)
    ///     >> valve("beds") >> head("bed", (5/32).inch);
    /// let beds = plot.run("beds");
    /// beds.pressure("pump")        // => 60 psi
    /// beds.pump_speed("pump") < 1   // => true
    /// beds.power("pump")           // => 168 W
    /// ```
    #[rhai_fn(return_raw)]
    pub fn drive(set: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Drive, None, &[(Id::Set, &set)])
    }
}
