//! Words that say what kind of figure a chart is: lines, points, bars, histogram, boxes, heat map, tornado, front.

use crate::figure::CurveStyle;
use crate::report::chart::{Better, Chart, Front, Style};
use crate::script::language::error::ScriptError;
use crate::script::language::values::{as_quantity, describe};
use rhai::plugin::*;
use rhai::{Dynamic, EvalAltResult};

/// Registers these words.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(words).into());
}

#[export_module]
mod words {
    /// Lines between the points, which is usual for numbers along x.
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

    /// Bars, which is usual for texts along x.
    ///
    /// ```hw
    /// chart(table([#{ a: 1, b: 2 }, #{ a: 2, b: 3 }])).x("a").y("b").bars().save("b.svg")   // => saved b.svg
    /// ```
    pub fn bars(chart: Chart) -> Chart {
        Chart { style: Some(Style::Bars), ..chart }
    }

    /// How often the values of the x column fall into each step.
    ///
    /// ```hw
    /// let t = table([#{ p: 31.psi }, #{ p: 33.psi }, #{ p: 34.psi }, #{ p: 38.psi }]);
    /// chart(t).x("p").histogram().mark(32.psi, "stalls below").save("h.svg")   // => saved h.svg
    /// ```
    pub fn histogram(chart: Chart) -> Chart {
        Chart { style: Some(Style::Histogram), ..chart }
    }

    /// A box for each name on x: the middle half of its y values, the median, and whiskers to the least and greatest.
    ///
    /// ```hw
    /// let t = table([#{ pump: "small", p: 31.psi }, #{ pump: "small", p: 35.psi }, #{ pump: "large", p: 44.psi }]);
    /// chart(t).x("pump").y("p").boxes().save("boxes.svg")   // => saved boxes.svg
    /// ```
    pub fn boxes(chart: Chart) -> Chart {
        Chart { style: Some(Style::Boxes), ..chart }
    }

    /// Colours of a column over two others that make a grid, with contours; marks are strong contours.
    ///
    /// ```hw
    /// let plot = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named("feed") >> head("berry", (5/32).inch);
    /// let t = sweep(plot, vary("feed.length", steps(50.ft, 300.ft, 50.ft)).vary("feed.diameter", [(1/2).inch, (5/8).inch, (3/4).inch]));
    /// chart(t).x("feed.length").y("feed.diameter").heat("berry.pressure").mark(30.psi, "stalls below").save("heat.svg")   // => saved heat.svg
    /// ```
    pub fn heat(chart: Chart, column: &str) -> Chart {
        Chart { style: Some(Style::Heat(column.to_string())), ..chart }
    }

    /// A tornado: for each name on x a bar from the value of today to the two values on y, when the number is low and high.
    /// A table that the word `tornado` made needs no `x` and `y`; `by` says what the bars show.
    ///
    /// ```hw
    /// let t = table([#{ what: "feed length", low: 42.psi, high: 35.psi }, #{ what: "street pressure", low: 30.psi, high: 44.psi }]);
    /// chart(t).x("what").y(["low", "high"]).by("pressure at the berry").tornado(38.psi).save("tornado.svg")   // => saved tornado.svg
    /// let swings = tornado(#{ x: [1, 2, 4], y: [0, 5, 6] }, |k| k.x * k.y);
    /// chart(swings).tornado(10).save("swings.svg")   // => saved swings.svg
    /// ```
    #[rhai_fn(return_raw)]
    pub fn tornado(chart: Chart, today: Dynamic) -> Result<Chart, Box<EvalAltResult>> {
        let base = as_quantity(&today)
            .ok_or_else(|| ScriptError::new(format!("tornado needs the value of today, found {}", describe(&today))))?;
        Ok(Chart { style: Some(Style::Swings(base)), ..chart })
    }

    /// Points with the line along those that no other beats; "less" or "more" says which is better on x and on y.
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
            _ => Err(ScriptError::new(format!("front: expected \"less\" or \"more\", found \"{word}\"")).about(axis)),
        };
        let front = Front { x: better(x, "x")?, y: better(y, "y")? };
        Ok(Chart { front: Some(front), style: Some(Style::Curves(CurveStyle::Points)), ..chart })
    }
}
