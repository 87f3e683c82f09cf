//! Studies as scripts see them: axes, native and closure sweeps, seeking and comparing.
//!
//! The native work is in `crate::study`; here closures of the script are called.

mod axes; // what varies, and through which values
pub mod cases; // a closure for every case, on all cores
pub mod compare; // options side by side
mod distributions; // numbers that are not known exactly
mod gather; // parts of a divided study
mod look; // how long a sweep would take
mod partial; // what is kept of a sweep that was stopped
mod seek; // the value at which something is zero
mod sweeps; // all cases of the axes

pub use seek::seek_between;
pub use sweeps::{sweep_garden, sweep_native, sweep_native_into};

use crate::study::{Axes, Distribution};
use rhai::Engine;

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
`vary` names a parameter and its values; chained, it makes a grid of all combinations. A sweep over a garden
solves every case and gives a table with the pressure and flow of every supply, booster and outlet; a sweep with
a closure calls it for every case and makes columns of the map it returns.

```hw
let plot = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named("feed")
    >> valve("berries") >> head("berry", (5/32).inch);
let axes = vary("feed.length", steps(50.ft, 150.ft, 50.ft)).vary("feed.diameter", [(1/2).inch, (5/8).inch]);
sweep(plot, axes, "berries").rows   // => 6
sweep(vary("length", [50.ft, 100.ft]), |case| #{ p: plot.with("feed.length", case.length).run("berries").pressure("berry") })["p"]   // => [45 psi, 42.1 psi]
```

A long sweep with a closure runs on all cores. A failed case stays in the table, with the error in
the column `reason`; if every case fails, the sweep is an error. Ctrl-C stops a sweep and keeps the finished cases; a
second one ends the script. A sweep that takes over a second shows its progress on a terminal.

Vary an uncertain parameter by a distribution: `normal`, `between`, `triangular` or `resampled`. All of them
are sampled together, by default 1000 times with the seed 1; `samples` changes both. A sample depends only on the seed, its
index and the axis (the generator is Philox4x32-10), so it is the same on any machine and any number of threads.

```hw
let readings = vary("supply.static_pressure", normal(58.psi, 1.psi)).vary("feed.length", between(95.ft, 105.ft)).samples(200, 7);
readings   // => supply.static_pressure: normal around 58 psi, deviation 1 psi
// => feed.length: between 95 ft and 105 ft
// => 200 samples from the seed 7
// => 200 cases
```
"#;

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Axes>("the axes of a study");
    engine.register_get("cases", |axes: &mut Axes| axes.cases() as rhai::INT);
    engine.register_type_with_name::<Distribution>("a distribution");
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |axes: Axes| axes.to_string());
        engine.register_fn(word, |distribution: Distribution| distribution.to_string());
    }
    axes::register(engine);
    distributions::register(engine);
    sweeps::register(engine);
    seek::register(engine);
    compare::register(engine);
    gather::register(engine);
    partial::register(engine);
}
