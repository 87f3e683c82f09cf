//! Charts as scripts see them: the columns of a table on the axes, marks, and the saved file.
//!
//! `crate::report::chart` decides what is drawn.

mod axes; // functions that set the axes of a chart
mod content; // functions that set what a chart shows
mod options; // sizes and limits as scripts write them
mod picture; // a figure into a file beside the script
mod style; // functions that set the kind of a figure

pub use options::{limits_of, pixels, whole_ratio};
pub use picture::save_picture;

use crate::report::chart::Chart;
use rhai::Engine;

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
A chart shows columns of a table; `save` writes it to the folder of the script as .svg, .png or .pdf. Numbers on the x axis
give lines, strings give bars. The axes show the units, times of the day as 05:30 and the next midnight as day 2.
A drawing (.svg) has its font inside and follows the light or dark setting of the screen; on paper it is light.

```hw
let t = table([#{ length: 50.ft, p: 36.psi }, #{ length: 100.ft, p: 33.psi }, #{ length: 150.ft, p: 29.psi }]);
chart(t).x("length").y("p").mark(30.psi, "stalls below").save("length.svg")   // => saved length.svg
```
"#;

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Chart>("a chart");
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |chart: Chart| chart.in_words());
    }
    axes::register(engine);
    content::register(engine);
    style::register(engine);
}
