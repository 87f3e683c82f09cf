//! The garden over time as scripts see it: timers, schedules, faults, and the log of a run.
//!
//! The run itself is in `crate::operation`, what it warns of in `crate::findings`.

mod faults; // parts that fail
mod read; // from values of a script to times, days and schedules
mod runs; // letting a garden run
mod schedules; // what opens when
mod tell; // what a log is asked

use crate::operation::{Fault, Log, Schedule, Timer};
use crate::report;
use crate::report::schedule::{fault_in_words, schedule_in_words, timer_in_words};
use crate::script::language::calling::look_of;
use crate::script::language::error::Answer;
use rhai::{Engine, INT, NativeCallContext};

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
A schedule says what opens when: timers, each of which runs its zones one after another, and draws opened by hand. Time begins
at midnight of day 1. `garden.operate(schedule, duration)` lets the garden run: pressure switches start and stop their
pumps, tanks and stretching hoses fill and empty, open tanks run dry. A run begins at rest, tanks filled by the supply.

```hw
let plot = supply(40.psi).measured(25.psi, 8.gpm) >> check_valve().diameter((3/4).inch)
    >> booster([[0.gpm, 50.psi], [6.gpm, 40.psi], [12.gpm, 10.psi]]).named("pump").input_power(600.W)
    >> pressure_tank(5.gal, 40.psi) >> pressure_switch(42.psi, 62.psi) >> leak("drip", 2.gph, 40.psi)
    >> valve("beds") >> hose(60.ft, (1/2).inch) >> head("bed", (1/8).inch);
let night = plot.operate(timer("east").start("05:30").zone("beds", 20.min), 1.days);
night.starts             // => 73
night.shortest_run()     // => 9.096 s
```

Stored water is that of pressure tanks, of hoses and pipes that say their `stretch` (it sits at their far end), and of open tanks
that say their `volume`; `inflow` is what comes into an open tank by itself, such as the recovery of a well. Where nothing stores
water, that in the line is taken as slightly elastic, and a switch chatters. A booster with `dry_run_cutoff` is stopped for good
when the pressure at its inlet falls to it. Faults are given as a list behind the duration.
"#;

/// Registers the words of this area.
pub fn register(engine: &mut Engine) {
    engine
        .register_type_with_name::<Timer>("a timer")
        .register_type_with_name::<Schedule>("a schedule")
        .register_type_with_name::<Fault>("a fault")
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
        .register_fn("to_string", |log: Log| format!("a log of {} events", log.events().len()));
    schedules::register(engine);
    faults::register(engine);
    runs::register(engine);
    tell::register(engine);
}
