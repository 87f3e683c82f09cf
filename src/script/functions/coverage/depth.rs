//! Depths of water over a schedule, from several zones on the same ground.

use super::read::{beds, percent, span};
use crate::coverage::{Bed, Depth, Ground};
use crate::garden::Garden;
use crate::operation::Log;
use crate::quantity::dim;
use crate::report::coverage as report;
use crate::script::functions::operation::as_schedule;
use crate::script::language::calling::look_of;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::expect_quantity;
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Depth>("depths");
    engine
        .register_get("mean", |found: &mut Depth| report::depth(found.units, found.uniformity.mean))
        .register_get("lowest", |found: &mut Depth| report::depth(found.units, found.uniformity.lowest))
        .register_get("highest", |found: &mut Depth| report::depth(found.units, found.uniformity.highest))
        .register_get("driest", |found: &mut Depth| -> Array {
            report::place(found.units, found.grid.place_m(found.driest())).map(Dynamic::from).into()
        })
        .register_get("cu", |found: &mut Depth| percent(found.uniformity.christiansen))
        .register_get("du", |found: &mut Depth| percent(found.uniformity.du))
        .register_get("dry_area", |found: &mut Depth| percent(found.bare_share()));
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |call: NativeCallContext, found: Depth| -> Answer<String> {
            Ok(report::depth_in_words(&found, look_of(&call)?.system))
        });
    }
    engine.register_global_module(exported_module!(functions).into());
}

fn time_of(duration: &Dynamic) -> Answer<f64> {
    let time_s = expect_quantity(duration, dim::TIME, "depth_over: duration")?;
    if time_s > 0.0 {
        return Ok(time_s);
    }
    Err(ScriptError::new("depth_over: the duration must be above zero").with_hint("write 7.days").about("duration").into())
}

fn rectangle_of(x: &Array, y: &Array) -> Answer<Ground> {
    let ((left_m, right_m), (bottom_m, top_m)) = (span(x, "depth_over: x")?, span(y, "depth_over: y")?);
    Ok(Ground::from(Bed { left_m, right_m, bottom_m, top_m }))
}

#[export_module]
mod functions {
    /// The depth of water on a bed after a time, added up over all zones of a schedule: `mean`, `lowest`, `highest`, `driest`, `cu`, `du`,
    /// `dry_area`; the bed is given as for `coverage`. What is open together is solved together. Of a log it is the depth of its schedule and
    /// duration. Filling of lines and pumps that cycle are left out.
    ///
    /// ```hw
    /// let spray = |name, x, y| head(name, (3/32).inch).throws(20.ft, 30.psi).at(x, y);
    /// let lawn = supply(50.psi) >> hose(50.ft, (3/4).inch)
    ///     >> [ valve("south") >> [ spray.call("a", 0.ft, 0.ft), spray.call("b", 20.ft, 0.ft) ],
    ///          valve("north") >> [ spray.call("c", 20.ft, 20.ft), spray.call("d", 0.ft, 20.ft) ] ];
    /// let mornings = timer("lawn").start("05:00").every(2.days).zone("south", 20.min).zone("north", 30.min);
    /// let week = lawn.depth_over(mornings, 7.days, [0.ft, 20.ft], [0.ft, 20.ft]);
    /// week.mean               // => 0.706 in
    /// round_to(week.du, 1)    // => 82
    /// week.by_zone()["zones"] // => ["north", "south"]
    /// lawn.depth_over(mornings, 0.days, [0.ft, 20.ft], [0.ft, 20.ft])   // => error: depth_over: the duration must be above zero
    /// ```
    #[rhai_fn(name = "depth_over", return_raw)]
    pub fn depth_over(
        garden: Garden,
        schedule: Dynamic,
        duration: Dynamic,
        x: Array,
        y: Array,
    ) -> Result<Depth, Box<EvalAltResult>> {
        Depth::over(&garden, &as_schedule(&schedule)?, time_of(&duration)?, rectangle_of(&x, &y)?).map_err(raise)
    }

    #[rhai_fn(name = "depth_over", return_raw)]
    pub fn depth_over_beds(
        garden: Garden,
        schedule: Dynamic,
        duration: Dynamic,
        outlines: Array,
    ) -> Result<Depth, Box<EvalAltResult>> {
        let ground = beds(&outlines, "depth_over")?;
        Depth::over(&garden, &as_schedule(&schedule)?, time_of(&duration)?, ground).map_err(raise)
    }

    #[rhai_fn(name = "depth_over", return_raw)]
    pub fn depth_over_log(log: Log, x: Array, y: Array) -> Result<Depth, Box<EvalAltResult>> {
        Depth::over(&log.garden, &log.schedule, log.duration_s(), rectangle_of(&x, &y)?).map_err(raise)
    }

    #[rhai_fn(name = "depth_over", return_raw)]
    pub fn depth_over_log_on_beds(log: Log, outlines: Array) -> Result<Depth, Box<EvalAltResult>> {
        Depth::over(&log.garden, &log.schedule, log.duration_s(), beds(&outlines, "depth_over")?).map_err(raise)
    }

    /// What ran together under the schedule of `depth_over`: zones, time, and the mean depth that it gave.
    ///
    /// ```hw
    /// let lawn = supply(50.psi) >> hose(50.ft, (3/4).inch) >> valve("lawn") >> head("a", (1/8).inch).throws(20.ft, 30.psi).at(0.ft, 0.ft);
    /// lawn.depth_over(timer("t").start("05:00").zone("lawn", 20.min), 7.days, [0.ft, 10.ft], [0.ft, 10.ft]).by_zone()["time"]   // => [140 min]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn by_zone(found: Depth) -> Result<Table, Box<EvalAltResult>> {
        report::together_table(&found).map_err(raise)
    }

    #[rhai_fn(name = "table", return_raw)]
    pub fn depth_table(found: Depth) -> Result<Table, Box<EvalAltResult>> {
        report::depth_table(&found).map_err(raise)
    }
}
