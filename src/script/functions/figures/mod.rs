//! Charts as scripts see them: what stands on which axis of which table, marks, and the file beside the script.
//!
//! Drawing is the work of `crate::figure`; here columns of a table become its description.

mod drawing; // from a chart to the description of its figure
mod front; // the line along points that no other beats
mod marks; // marks and bands in the units of the axes
mod picture; // a figure into a file beside the script
mod say; // words that say what a chart shows
mod series; // lines, points and bars from columns
mod special; // histograms, boxes, tornados, heat maps
mod style; // words that say what kind of figure a chart is

pub use picture::save_picture;

use crate::figure;
use crate::figure::{CurveStyle, Figure};
use crate::quantity::Quantity;
use crate::script::language::context::Context;
use crate::script::language::error::{Answer, raise};
use crate::table::Table;
use drawing::Drawing;
use front::Front;
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

/// A chart in the making.
#[derive(Clone, Debug)]
pub struct Chart {
    table: Table,
    x: Option<String>,
    y: Vec<String>,
    by: Option<String>,
    marks: Vec<(Quantity, String)>,
    title: Option<String>,
    style: Option<Style>,
    size: Option<(u32, u32)>,
    bands: Vec<(String, Vec<(Quantity, Quantity)>)>,
    front: Option<Front>,
    /// The column of the names at the points.
    names: Option<String>,
}

/// The kind of figure that a chart is.
#[derive(Clone, Debug)]
enum Style {
    Curves(CurveStyle),
    Bars,
    Histogram,
    Boxes,
    /// The column of the colours.
    Heat(String),
    /// The value of today.
    Swings(Quantity),
}

impl Chart {
    /// What is drawn. Errors: columns that are missing or cannot be drawn.
    pub fn figure(&self, context: &Context) -> Answer<Figure> {
        Drawing { chart: self, system: context.units() }.figure()
    }

    /// The chart of a table that the word `tornado` made, where it is not said what stands where.
    fn of_a_tornado(&self) -> Option<Chart> {
        let known = self.table.names();
        let has = |name: &str| known.iter().any(|known| known == name);
        let silent = self.x.is_none() && self.y.is_empty() && ["number", "at_low", "at_high"].into_iter().all(has);
        silent.then(|| Chart { x: Some("number".into()), y: vec!["at_low".into(), "at_high".into()], ..self.clone() })
    }

    /// The chart as SVG. Errors: columns that are missing or cannot be drawn.
    pub fn svg(&self, context: &Context) -> Answer<String> {
        figure::svg(&self.figure(context)?).map_err(raise)
    }
}

/// Registers the words of this area.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Chart>("a chart");
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |chart: Chart| in_words(&chart));
    }
    say::register(engine);
    style::register(engine);
}

fn in_words(chart: &Chart) -> String {
    let x = chart.x.as_deref().unwrap_or("?");
    let y = if chart.y.is_empty() { "?".to_string() } else { chart.y.join(", ") };
    format!("a chart of {y} over {x}; .save(\"name.svg\") draws it")
}
