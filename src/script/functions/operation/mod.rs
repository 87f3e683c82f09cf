//! Operation over time as scripts see it: timers, schedules, failures, and the log of a run.
//!
//! The run itself is in `crate::operation`, its findings in `crate::findings`.

mod faults; // parts that fail
mod logs;
pub mod read; // from values of a script to times, days and schedules
mod runs; // letting a garden run
mod schedules; // what opens when // what a log is asked

pub use read::as_schedule;

use crate::operation::{Fault, Log, Schedule, Timer};
use crate::report;
use crate::report::schedule::{fault_in_words, schedule_in_words, timer_in_words};
use crate::script::language::calling::look_of;
use crate::script::language::error::Answer;
use rhai::{Engine, INT, NativeCallContext};

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
A schedule lists what opens when: timers (controllers), each of which runs its zones one after another, and demands opened by hand. Time starts
at midnight of day 1. `garden.operate(schedule, duration)` runs the garden over time: pressure switches start and stop their
pumps, tanks and compliant hoses fill and drain, open tanks run dry. A run starts without flow, with tanks filled by the supply.

```hw
let plot = supply(40.psi).measured(25.psi, 8.gpm) >> backflow_preventer().diameter((3/4).inch)
    >> booster([[0.gpm, 50.psi], [6.gpm, 40.psi], [12.gpm, 10.psi]]).named("pump").input_power(600.W)
    >> pressure_tank(5.gal, 40.psi) >> pressure_switch(42.psi, 62.psi) >> relief(80.psi) >> leak("drip", 2.gph, 40.psi)
    >> valve("beds") >> hose(60.ft, (1/2).inch) >> head("bed", (1/8).inch);
let night = plot.operate(timer("east").start("05:30").zone("beds", 20.min), 1.days);
night.starts             // => 72
night.shortest_run()     // => 9.3 s
```

Water is stored in pressure tanks, in hoses and pipes with a `compliance` (at their far end), and in open tanks
with a `volume`; `inflow` is the inflow of an open tank, such as the recovery rate of a well. Without any storage
the water in the line counts as slightly elastic, and a switch chatters. `dry_run_cutoff` locks a booster out
when its inlet pressure falls to that value. Failures are a list after the duration.
"#;

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    engine
        .register_type_with_name::<Timer>("a timer")
        .register_type_with_name::<Schedule>("a schedule")
        .register_type_with_name::<Fault>("a failure")
        .register_type_with_name::<Log>("a log");
    engine.register_get("starts", |log: &mut Log| log.starts() as INT);
    for word in ["to_debug", "to_string"] {
        engine
            .register_fn(word, |timer: Timer| timer_in_words(&timer))
            .register_fn(word, |schedule: Schedule| schedule_in_words(&schedule))
            .register_fn(word, |fault: Fault| fault_in_words(&fault));
    }
    engine
        .register_fn("to_debug", |call: NativeCallContext, log: Log| -> Answer<String> {
            Ok(report::log::in_words(&log, look_of(&call)?))
        })
        .register_fn("to_string", |log: Log| format!("a log of {} events", log.number_of_events()));
    schedules::register(engine);
    faults::register(engine);
    runs::register(engine);
    logs::register(engine);
}
