//! Functions for the content of a chart: its columns, marks, bands, title, size, and the file.
//!
//! Functions for the kind of figure are in `style.rs`.

use super::options::pixels;
use super::picture::save_picture;
use crate::figure::Graphic;
use crate::quantity::Quantity;
use crate::report::Saved;
use crate::report::chart::Chart;
use crate::script::language::calling::context_of;
use crate::script::language::error::{ScriptError, raise};
use crate::script::language::values::{as_names, as_quantity, describe};
use crate::table::Table;
use rhai::plugin::*;
use rhai::{Dynamic, EvalAltResult};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// A chart (graph, plot) of a table: set the columns on `x` and `y`, optionally one line per value of a column with `by`, and `save` it.
    ///
    /// ```hw
    /// let t = table([#{ pump: "small", p: 40.psi }, #{ pump: "large", p: 55.psi }]);
    /// chart(t).x("pump").y("p").save("pumps.png")   // => saved pumps.png
    /// ```
    pub fn chart(table: Table) -> Chart {
        Chart::of(table)
    }

    /// The column on the x axis; strings give bars.
    ///
    /// ```hw
    /// chart(table([#{ a: 1, b: 2 }])).x("a").y("b")   // => a chart of b over a; .save("name.svg") draws it
    /// ```
    pub fn x(chart: Chart, column: &str) -> Chart {
        Chart { x: Some(column.to_string()), ..chart }
    }

    /// The column on the y axis, or a list of columns of one dimension.
    ///
    /// ```hw
    /// chart(table([#{ a: 1, b: 2, c: 3 }])).x("a").y(["b", "c"])   // => a chart of b, c over a; .save("name.svg") draws it
    /// ```
    #[rhai_fn(return_raw)]
    pub fn y(chart: Chart, columns: Dynamic) -> Result<Chart, Box<EvalAltResult>> {
        Ok(Chart { y: as_names(&columns, "y")?, ..chart })
    }

    /// A line, a set of bars, a histogram or a box for each value of this column; five or more numbers are colored from sand (low) to blue (high).
    ///
    /// ```hw
    /// let t = table([#{ l: 1.ft, diameter: "half", p: 9.psi }, #{ l: 2.ft, diameter: "half", p: 8.psi }, #{ l: 1.ft, diameter: "wide", p: 9.psi }]);
    /// chart(t).x("l").y("p").by("diameter").save("by-diameter.svg")   // => saved by-diameter.svg
    /// ```
    pub fn by(chart: Chart, column: &str) -> Chart {
        Chart { by: Some(column.to_string()), ..chart }
    }

    /// A line across the chart at a value, with a label; on the axis of the same dimension, y where both match.
    ///
    /// ```hw
    /// let t = table([#{ l: 1.ft, p: 9.psi }, #{ l: 2.ft, p: 8.psi }]);
    /// chart(t).x("l").y("p").mark(1.gpm, "too much").save("m.svg")   // => error: mark: 1 gpm (a flow) fits neither axis: x is a length, y is a pressure
    /// ```
    #[rhai_fn(return_raw)]
    pub fn mark(chart: Chart, value: Dynamic, label: &str) -> Result<Chart, Box<EvalAltResult>> {
        let mut chart = chart;
        let value = as_quantity(&value)
            .ok_or_else(|| ScriptError::new(format!("mark needs a number or quantity, found {}", describe(&value))))?;
        chart.marks.push((value, label.to_string()));
        Ok(chart)
    }

    /// Labels each point of a chart over numbers with a name from a column of the table; at most 30 points.
    ///
    /// ```hw
    /// let t = table([#{ pump: "small", cost: 90.USD, p: 40.psi }, #{ pump: "large", cost: 150.USD, p: 55.psi }]);
    /// chart(t).x("cost").y("p").points().names_from("pump").save("pumps.svg")   // => saved pumps.svg
    /// ```
    pub fn names_from(chart: Chart, column: &str) -> Chart {
        Chart { names: Some(column.to_string()), ..chart }
    }

    /// The title above a chart.
    ///
    /// ```hw
    /// chart(table([#{ a: 1, b: 2 }])).x("a").y("b").titled("Two numbers").save("t.svg")   // => saved t.svg
    /// ```
    pub fn titled(chart: Chart, title: &str) -> Chart {
        Chart { title: Some(title.to_string()), ..chart }
    }

    /// A row below the curves that shows on times, for example of a pump: a list of starts and ends along x.
    ///
    /// ```hw
    /// let t = table([#{ time: 0.s, p: 40.psi }, #{ time: 60.s, p: 60.psi }, #{ time: 120.s, p: 45.psi }]);
    /// chart(t).x("time").y("p").bands("pump", [[0.s, 60.s], [110.s, 120.s]]).save("trace.svg")   // => saved trace.svg
    /// ```
    #[rhai_fn(return_raw)]
    pub fn bands(chart: Chart, name: &str, spans: rhai::Array) -> Result<Chart, Box<EvalAltResult>> {
        let mut chart = chart;
        let span = |span: &Dynamic| -> Option<(Quantity, Quantity)> {
            let ends = span.read_lock::<rhai::Array>()?;
            let [start, end] = &ends[..] else { return None };
            Some((as_quantity(start)?, as_quantity(end)?))
        };
        let read: Option<Vec<(Quantity, Quantity)>> = spans.iter().map(span).collect();
        let read = read.ok_or_else(|| {
            ScriptError::new("bands needs a list of pairs of start and end").with_hint("write [[0.s, 30.s], [60.s, 90.s]]")
        })?;
        chart.bands.push((name.to_string(), read));
        Ok(chart)
    }

    /// Bars of a column that reach down from the upper edge over the curves, on a scale of their own, as rain over the course of the soil.
    ///
    /// ```hw
    /// let t = table([#{ day: 1, missing: 0.2.inch, rain: 0.inch }, #{ day: 2, missing: 0.4.inch, rain: 0.1.inch }, #{ day: 3, missing: 0.3.inch, rain: 0.3.inch }]);
    /// chart(t).x("day").y("missing").from_above("rain").save("course.svg")   // => saved course.svg
    /// ```
    pub fn from_above(chart: Chart, column: &str) -> Chart {
        Chart { above: Some(column.into()), ..chart }
    }

    /// The width and height of a chart, in pixels (default 760 by 480) or as lengths such as `160.mm`, at 96 pixels an inch.
    ///
    /// ```hw
    /// chart(table([#{ a: 1, b: 2 }])).x("a").y("b").sized(400, 300).save("s.svg")   // => saved s.svg
    /// chart(table([#{ a: 1, b: 2 }])).x("a").y("b").sized(160.mm, 100.mm).save("s.pdf")   // => saved s.pdf
    /// ```
    #[rhai_fn(return_raw)]
    pub fn sized(chart: Chart, width: Dynamic, height: Dynamic) -> Result<Chart, Box<EvalAltResult>> {
        Ok(Chart { size: Some((pixels(&width)?, pixels(&height)?)), ..chart })
    }

    /// Saves a chart in the folder of the script, as .svg, .png or .pdf.
    ///
    /// ```hw
    /// chart(table([#{ a: 1, b: 2 }, #{ a: 2, b: 3 }])).x("a").y("b").save("ab.png")   // => saved ab.png
    /// ```
    #[rhai_fn(name = "save", return_raw)]
    pub fn save_chart(call: NativeCallContext, chart: Chart, file: &str) -> Result<Saved, Box<EvalAltResult>> {
        let context = context_of(&call)?;
        if let Some(left_out) = context.leaves_out(file) {
            return Ok(left_out);
        }
        let figure = context.axes.on_held_axes(chart.figure(context.units()).map_err(raise)?);
        save_picture(&context, file, Graphic::Figure(figure))
    }
}
