//! Coverage of heads on the ground, as scripts see it: application rate, uniformity, wind, depths over a schedule, catch cans.
//!
//! The computation is in `crate::coverage`.
//!
//! - `rain`: coverage of a result
//! - `depth`: depths over a schedule
//! - `cans`: catch-can tests
//! - `read`: beds, places and bearings from values of a script

mod cans;
mod depth;
mod rain;
mod read;

use rhai::Engine;

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
`result.coverage(..)` adds up the water of all running heads on a bed. `r.application_rate` is the mean application (precipitation) rate,
`r.lowest` and `r.highest` the extremes of its cells (60 along the longer side), `r.driest` the place `[x, y]` of the lowest, `r.cu`
Christiansen's uniformity coefficient (CU) and `r.du` the low-quarter distribution uniformity (DU), both in percent, `r.overspray` the percentage of
water that falls off the bed, `r.dry_area` the percentage of the ground without water, `r.area` the ground. A head throws its rated radius at its rated
pressure and above, and less below; `.throws([[20.psi, 13.ft], [30.psi, 15.ft]])` gives several pressures. A head below its operating range waters
nothing. `r.wind(6.mph, 270)` is the same in wind; `r.shift` is how far that moves the water. Wind is taken as even all over; hedges, gusts and water
that evaporates in the air are left out.

```hw
let spray = |name, x, y| head(name, (3/32).inch).throws(20.ft, 30.psi).arc(90).at(x, y);
let lawn = supply(50.psi) >> hose(50.ft, (3/4).inch) >> valve("lawn")
    >> [ spray.call("a", 0.ft, 0.ft), spray.call("b", 20.ft, 0.ft), spray.call("c", 20.ft, 20.ft), spray.call("d", 0.ft, 20.ft) ];
let r = lawn.run("lawn").coverage([0.ft, 20.ft], [0.ft, 20.ft]);
r.application_rate          // => 1.65 in/h
round_to(r.cu, 0.1)      // => 96.4
round_to(r.du, 0.1)   // => 95
round_to(r.overspray, 0.1)        // => 0
```

Without a garden: application rate is flow over area, and run time is depth over rate:

```hw
(4.gpm / (30.ft * 30.ft)).to("in/h")   // => 0.43 in/h
(0.5.inch / 0.4.in_per_h).to("min")    // => 75 min
```
"#;

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    rain::register(engine);
    depth::register(engine);
    cans::register(engine);
}
