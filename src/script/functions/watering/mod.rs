//! Soil, crops, beds, seasons and weeks as scripts see them.
//!
//! - `ground`: soils, crops and beds
//! - `runs`: seasons and weeks

mod ground;
mod runs;

pub use runs::{SeasonAnswer, WeekAnswer};

use rhai::Engine;

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
How long must each zone run this week? `week(beds, weather, "2015-07-13")` answers it: the water that a bed is short by, the depth to give, minutes by
the driest quarter of its zone, runs and pauses that never run off, and a schedule for `operate`. `season(beds, weather)` does the same for every day from
planting to harvest. Both follow the water balance of FAO paper 56 with single crop coefficients. Depths and minutes are estimates for planning:
follow local watering rules, and look at the soil with a spade.

A bed is watered when its crop would begin to suffer, with all that is missing; `.gives(0.5.inch)`, `.every(3.days)`, `.deficit(60)` and
`.no_water()` are other rules. Numbers of a bed are read and set by path: `bed["crop.kc_mid"]`, `bed.with("mulch", 80)`. The paths are `rate`, `du`,
`area`, `losses`, `depletion`, `soil_depth`, `mulch`, `exposure`, `soil.field_capacity`, `soil.wilting_point`, `soil.intake`, `soil.puddle`,
`soil.curve_number`, `crop.kc_initial`, `crop.kc_mid`, `crop.kc_end`, `crop.initial`, `crop.development`, `crop.middle`, `crop.late` (days),
`crop.first_roots`, `crop.roots`, `crop.allowed_depletion`; shares are in percent.

```hw
let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
let tomatoes = bed("tomatoes", crop("tomato").planted("2015-05-15"), soil("sandy loam")).rate(0.55.in_per_h, 72).area(240.ft2);
let jobs = week([tomatoes], w, "2015-07-13");
jobs.table()["run_time"]   // => [336.2 min]
jobs.table()["days"]       // => ["Mon Sun"]
tomatoes.with("crop.kc_mid", 1.0)["crop.kc_mid"]   // => 1
```
"#;

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    ground::register(engine);
    runs::register(engine);
}
