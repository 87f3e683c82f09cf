//! Soil, crops, beds, seasons and weeks as scripts see them.
//!
//! - `ground`: soils, crops and beds
//! - `runs`: seasons and weeks
//! - `rules`: days and hours on which watering is allowed
//! - `years`: what dry and wet years need
//! - `paths`: numbers of a season by their paths; sweeps, tornado and calibration of seasons
//! - `barrel`: a rain barrel over a season

mod barrel;
mod ground;
mod paths;
mod rules;
mod runs;
mod years;

pub use barrel::BarrelAnswer;
pub use ground::day_of;
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
`area`, `losses`, `wets`, `depletion`, `soil_depth`, `mulch`, `exposure`, `soil.field_capacity`, `soil.wilting_point`, `soil.intake`, `soil.suction`,
`soil.empty`, `soil.puddle`, `soil.curve_number`, `crop.kc_initial`, `crop.kc_mid`, `crop.kc_end`, `crop.initial`, `crop.development`, `crop.middle`,
`crop.late` (days), `crop.first_roots`, `crop.roots`, `crop.height`, `crop.allowed_depletion`; shares are in percent.

A season has them by the name of the bed, as in `season["tomatoes.crop.kc_mid"]` and `season.with("tomatoes.soil", "clay")`, or `*.mulch` for all beds;
besides `crop`, `soil` and `crop.planted` of a bed, and for all `year` (planted in that year), `weather.rain` and `weather.et0` in percent, `rule.depth`,
`rule.days`, `rule.percent`. `sweep`, `tornado` and `sobol_indices` vary them; `calibrate` finds them from readings of the soil.

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
    rules::register(engine);
    years::register(engine);
    paths::register(engine);
    barrel::register(engine);
}
