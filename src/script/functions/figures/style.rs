//! Functions for the kind of a chart: lines, points, bars, histogram, boxes, heat map, tornado, Pareto front.

use crate::figure::CurveStyle;
use crate::report::chart::{Better, Chart, ParetoFront, Style};
use crate::script::language::error::ScriptError;
use crate::script::language::values::{as_quantity, describe};
use rhai::plugin::*;
use rhai::{Dynamic, EvalAltResult};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// Lines between the points; the default for numbers on the x axis.
    ///
    /// ```hw
    /// chart(table([#{ a: 1, b: 2 }, #{ a: 2, b: 3 }])).x("a").y("b").lines().save("l.svg")   // => saved l.svg
    /// ```
    pub fn lines(chart: Chart) -> Chart {
        Chart { style: Some(Style::Curves(CurveStyle::Lines)), ..chart }
    }

    /// Points without lines.
    ///
    /// ```hw
    /// chart(table([#{ a: 1, b: 2 }, #{ a: 2, b: 3 }])).x("a").y("b").points().save("p.svg")   // => saved p.svg
    /// ```
    pub fn points(chart: Chart) -> Chart {
        Chart { style: Some(Style::Curves(CurveStyle::Points)), ..chart }
    }

    /// Bars; the default for strings on the x axis.
    ///
    /// ```hw
    /// chart(table([#{ a: 1, b: 2 }, #{ a: 2, b: 3 }])).x("a").y("b").bars().save("b.svg")   // => saved b.svg
    /// ```
    pub fn bars(chart: Chart) -> Chart {
        Chart { style: Some(Style::Bars), ..chart }
    }

    /// A histogram of the x column.
    ///
    /// ```hw
    /// let t = table([#{ p: 31.psi }, #{ p: 33.psi }, #{ p: 34.psi }, #{ p: 38.psi }]);
    /// chart(t).x("p").histogram().mark(32.psi, "stalls below").save("h.svg")   // => saved h.svg
    /// ```
    pub fn histogram(chart: Chart) -> Chart {
        Chart { style: Some(Style::Histogram), ..chart }
    }

    /// The cumulative share (empirical distribution, ecdf) of the x column: how many of the values are at or below each value.
    ///
    /// ```hw
    /// let t = table([#{ p: 31.psi }, #{ p: 33.psi }, #{ p: 34.psi }, #{ p: 38.psi }]);
    /// chart(t).x("p").ecdf().mark(32.psi, "stalls below").save("e.svg")   // => saved e.svg
    /// ```
    pub fn ecdf(chart: Chart) -> Chart {
        Chart { style: Some(Style::Ecdf), ..chart }
    }

    /// A fan chart: the median of y at each x with bands that hold 50 % and 90 % of the values (percentiles).
    ///
    /// ```hw
    /// let t = table([#{ day: 1, p: 31.psi }, #{ day: 1, p: 35.psi }, #{ day: 1, p: 36.psi }, #{ day: 2, p: 28.psi }, #{ day: 2, p: 34.psi }]);
    /// chart(t).x("day").y("p").fan().save("fan.svg")   // => saved fan.svg
    /// chart(t).x("p").histogram().fan().save("fan.svg")   // => error: fan has no meaning for a histogram
    /// ```
    pub fn fan(chart: Chart) -> Chart {
        Chart { fan: true, ..chart }
    }

    /// A box plot for each name on x: the middle half of its y values, the median, and whiskers to the lowest and highest.
    ///
    /// ```hw
    /// let t = table([#{ pump: "small", p: 31.psi }, #{ pump: "small", p: 35.psi }, #{ pump: "large", p: 44.psi }]);
    /// chart(t).x("pump").y("p").boxes().save("boxes.svg")   // => saved boxes.svg
    /// ```
    pub fn boxes(chart: Chart) -> Chart {
        Chart { style: Some(Style::Boxes), ..chart }
    }

    /// A heat map: colors of a column over two others that form a grid, with contours; marks are bold contours.
    ///
    /// ```hw
    /// let plot = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named("feed") >> head("berry", (5/32).inch);
    /// let t = sweep(plot, vary("feed.length", steps(50.ft, 300.ft, 50.ft)).vary("feed.diameter", [(1/2).inch, (5/8).inch, (3/4).inch]));
    /// chart(t).x("feed.length").y("feed.diameter").heat("berry.pressure").mark(30.psi, "stalls below").save("heat.svg")   // => saved heat.svg
    /// ```
    pub fn heat(chart: Chart, column: &str) -> Chart {
        Chart { style: Some(Style::Heat(column.to_string())), ..chart }
    }

    /// A tornado chart: for each parameter on x a bar from the present value to the two values on y, for the low and the high end.
    /// A table from the function `tornado` needs no `x` and `y`; `by` names the axis.
    ///
    /// ```hw
    /// let t = table([#{ what: "feed length", low: 42.psi, high: 35.psi }, #{ what: "main pressure", low: 30.psi, high: 44.psi }]);
    /// chart(t).x("what").y(["low", "high"]).by("pressure at the berry").tornado(38.psi).save("tornado.svg")   // => saved tornado.svg
    /// let swings = tornado(#{ x: [1, 2, 4], y: [0, 5, 6] }, |k| k.x * k.y);
    /// chart(swings).tornado(10).save("swings.svg")   // => saved swings.svg
    /// ```
    #[rhai_fn(return_raw)]
    pub fn tornado(chart: Chart, today: Dynamic) -> Result<Chart, Box<EvalAltResult>> {
        let base = as_quantity(&today)
            .ok_or_else(|| ScriptError::new(format!("tornado needs the present value, found {}", describe(&today))))?;
        Ok(Chart { style: Some(Style::Tornado(base)), ..chart })
    }

    /// A chart of the Pareto front: points, with a line along those that no other beats; "less" or "more" is what is better on x and on y.
    ///
    /// ```hw
    /// let t = table([#{ cost: 20, p: 30.psi }, #{ cost: 40, p: 38.psi }, #{ cost: 50, p: 35.psi }]);
    /// chart(t).x("cost").y("p").pareto_front("less", "more").save("front.svg")   // => saved front.svg
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pareto_front(chart: Chart, x: &str, y: &str) -> Result<Chart, Box<EvalAltResult>> {
        let better = |word: &str, axis: &str| match word {
            "less" => Ok(Better::Less),
            "more" => Ok(Better::More),
            _ => Err(ScriptError::new(format!("pareto_front: expected \"less\" or \"more\", found \"{word}\"")).about(axis)),
        };
        let front = ParetoFront { x: better(x, "x")?, y: better(y, "y")? };
        Ok(Chart { front: Some(front), style: Some(Style::Curves(CurveStyle::Points)), ..chart })
    }
}
