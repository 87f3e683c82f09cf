//! Charts as scripts see them: what stands on which axis of which table, marks, and the file beside the script.
//!
//! What is drawn of them is found in `crate::report::chart`.

mod picture; // a figure into a file beside the script
mod say; // words that say what a chart shows
mod style; // words that say what kind of figure a chart is

pub use picture::save_picture;

use crate::report::chart::Chart;
use rhai::Engine;

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
A chart takes a table and is told what stands where; `save` writes it beside the script as .svg or .png. Numbers along x
make lines, texts make bars. Units stand on the axes.

```hw
let t = table([#{ length: 50.ft, p: 36.psi }, #{ length: 100.ft, p: 33.psi }, #{ length: 150.ft, p: 29.psi }]);
chart(t).x("length").y("p").mark(30.psi, "stalls below").save("length.svg")   // => saved length.svg
```
"#;

/// Registers the words of this area.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Chart>("a chart");
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |chart: Chart| chart.in_words());
    }
    say::register(engine);
    style::register(engine);
}
