//! Functions for the axes of a chart: limits, logarithms, the line of equality, panels; and for its paper.

use super::options::{limits_of, whole_ratio};
use crate::figure::description as in_words;
use crate::report::chart::Chart;
use crate::script::language::calling::context_of;
use crate::script::language::error::raise;
use rhai::plugin::*;
use rhai::{Dynamic, EvalAltResult, INT};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// The limits of the axis of the x column: from a low to a high value; times may be texts. Marks beyond it have an arrow at its end.
    ///
    /// ```hw
    /// let t = table([#{ l: 1.ft, p: 9.psi }, #{ l: 2.ft, p: 8.psi }, #{ l: 3.ft, p: 7.psi }]);
    /// chart(t).x("l").y("p").x_limits(1.ft, 2.ft).save("near.svg")   // => saved near.svg
    /// chart(t).x("l").y("p").x_limits(1.psi, 2.psi).save("near.svg")   // => error: x_limits: 1 psi (a pressure) does not fit the column on x
    /// ```
    #[rhai_fn(return_raw)]
    pub fn x_limits(chart: Chart, low: Dynamic, high: Dynamic) -> Result<Chart, Box<EvalAltResult>> {
        Ok(Chart { x_limits: Some(limits_of("x_limits", &low, &high)?), ..chart })
    }

    /// The limits of the axis of the y columns: from a low to a high value.
    ///
    /// ```hw
    /// let t = table([#{ l: 1.ft, p: 9.psi }, #{ l: 2.ft, p: 8.psi }]);
    /// chart(t).x("l").y("p").y_limits(0.psi, 20.psi).mark(30.psi, "needed").save("whole.svg")   // => saved whole.svg
    /// ```
    #[rhai_fn(return_raw)]
    pub fn y_limits(chart: Chart, low: Dynamic, high: Dynamic) -> Result<Chart, Box<EvalAltResult>> {
        Ok(Chart { y_limits: Some(limits_of("y_limits", &low, &high)?), ..chart })
    }

    /// A logarithmic x axis.
    ///
    /// ```hw
    /// let t = table([#{ re: 2000, f: 0.032 }, #{ re: 20000, f: 0.026 }, #{ re: 200000, f: 0.016 }]);
    /// chart(t).x("re").y("f").x_log().y_log().save("friction.svg")   // => saved friction.svg
    /// ```
    pub fn x_log(chart: Chart) -> Chart {
        Chart { x_log: true, ..chart }
    }

    /// A logarithmic y axis.
    ///
    /// ```hw
    /// chart(table([#{ a: 1, b: 2 }, #{ a: 2, b: 300 }])).x("a").y("b").y_log().save("log.svg")   // => saved log.svg
    /// chart(table([#{ a: "x", b: 2 }])).x("a").y("b").y_log().save("log.svg")   // => error: y_log has no meaning for bars
    /// ```
    pub fn y_log(chart: Chart) -> Chart {
        Chart { y_log: true, ..chart }
    }

    /// The line of equality in a scatter chart of computed against measured values.
    ///
    /// ```hw
    /// let t = table([#{ measured: 31.psi, computed: 32.psi }, #{ measured: 44.psi, computed: 42.psi }]);
    /// chart(t).x("measured").y("computed").points().equality_line().save("fit.svg")   // => saved fit.svg
    /// ```
    pub fn equality_line(chart: Chart) -> Chart {
        Chart { equality: true, ..chart }
    }

    /// Several panels, one for each value of a column, all on the same axes; at most 24.
    ///
    /// ```hw
    /// let t = table([#{ l: 1.ft, zone: "beds", p: 9.psi }, #{ l: 2.ft, zone: "beds", p: 8.psi }, #{ l: 1.ft, zone: "berries", p: 7.psi }, #{ l: 2.ft, zone: "berries", p: 5.psi }]);
    /// chart(t).x("l").y("p").panels("zone").save("zones.svg")   // => saved zones.svg
    /// ```
    pub fn panels(chart: Chart, column: &str) -> Chart {
        Chart { panels: Some(column.to_string()), ..chart }
    }

    /// The caption below a chart.
    ///
    /// ```hw
    /// chart(table([#{ a: 1, b: 2 }])).x("a").y("b").caption("Two numbers, made up.").save("c.svg")   // => saved c.svg
    /// ```
    pub fn caption(chart: Chart, text: &str) -> Chart {
        Chart { caption: Some(text.to_string()), ..chart }
    }

    /// The pixel ratio of a .png: 2 gives two pixels each way for one of the size of the chart, for a sharp screen; at most 4.
    ///
    /// ```hw
    /// chart(table([#{ a: 1, b: 2 }])).x("a").y("b").pixel_ratio(2).save("sharp.png")   // => saved sharp.png
    /// chart(table([#{ a: 1, b: 2 }])).x("a").y("b").pixel_ratio(9).save("sharp.png")   // => error: a pixel ratio of 9 cannot be drawn; expected 1 to 4
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pixel_ratio(chart: Chart, ratio: INT) -> Result<Chart, Box<EvalAltResult>> {
        Ok(Chart { pixel_ratio: Some(whole_ratio(ratio)?), ..chart })
    }

    /// A dark chart as .png or .pdf. A .svg needs none: it follows the setting of the screen.
    ///
    /// ```hw
    /// chart(table([#{ a: 1, b: 2 }])).x("a").y("b").dark().save("dark.png")   // => saved dark.png
    /// ```
    pub fn dark(chart: Chart) -> Chart {
        Chart { dark: true, ..chart }
    }

    /// The description (alt text) of a chart: what it shows, in words. Every drawing has it inside.
    ///
    /// ```hw
    /// chart(table([#{ a: 1, b: 2 }, #{ a: 2, b: 5 }])).x("a").y("b").description()   // => b by a. b: 2 points, from 2 at 1 to 5 at 2.
    /// ```
    #[rhai_fn(return_raw)]
    pub fn description(call: NativeCallContext, chart: Chart) -> Result<String, Box<EvalAltResult>> {
        let figure = chart.figure(context_of(&call)?.units()).map_err(raise)?;
        in_words(&figure).map_err(raise)
    }
}
