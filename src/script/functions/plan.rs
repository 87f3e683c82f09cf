//! Plans as scripts see them: a garden or a result drawn from above, saved in the folder of the script.
//!
//! Places and texts come from `crate::plan`, the drawing from `crate::figure`.

use super::figures::save_picture;
use crate::coverage::{CatchCans, Coverage, Depth};
use crate::figure::{Figure, map_pdf, map_png, map_svg, pdf, png, svg};
use crate::garden::Garden;
use crate::hydraulics::Solution;
use crate::parts::Part;
use crate::plan::{Color, Wet, grade_figure, plan as draw_plan, pump_figure, put_rain, tap_figure};
use crate::report::Saved;
use crate::script::language::calling::context_of;
use crate::script::language::context::Context;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::as_names;
use rhai::plugin::*;
use rhai::{Dynamic, Engine, EvalAltResult, INT};
use std::sync::Arc;

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
`plan(garden)` draws the garden from above, `plan(result)` draws it in operation: lines are colored by pressure, their
width shows the flow, dashed lines have no flow. When at least two parts have a position by `.at(x, y)`, the plan is to
scale, y to the north, with circles or sectors of throw; otherwise it is a schematic, from the supply to the right.

```hw
let plot = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named("feed")
    >> [ valve("beds") >> head("bed", (1/8).inch).throws(28.ft, 40.psi).at(10.ft, 10.ft),
         valve("berries") >> head("berry", (5/32).inch).throws(30.ft, 40.psi).arc(90).at(60.ft, 10.ft) ];
plan(plot).save("plot.svg")                        // => saved plot.svg
plan(plot.run("berries")).by("flow").save("berries.png")   // => saved berries.png
```
"#;

/// A plan in the making.
#[derive(Clone, Debug)]
pub struct Plan {
    garden: Garden,
    solution: Option<Arc<Solution>>,
    color: Color,
    rain: Option<Ground>,
    cans: Option<CatchCans>,
    title: String,
}

/// Water on the ground of a plan.
#[derive(Clone, Debug)]
enum Ground {
    Coverage(Coverage),
    Depth(Depth),
}

impl Plan {
    fn of(garden: Garden, solution: Option<Arc<Solution>>) -> Plan {
        Plan { garden, solution, color: Color::default(), rain: None, cans: None, title: String::new() }
    }
}

/// A chart that is drawn from a garden or a result, in the making.
#[derive(Clone, Debug)]
pub struct GardenChart {
    what: Subject,
    title: Option<String>,
    size: Option<(u32, u32)>,
}

#[derive(Clone, Debug)]
enum Subject {
    Grade { solution: Arc<Solution>, name: String },
    Pump { garden: Garden, zones: Vec<String> },
    Tap { garden: Garden, place: usize },
}

impl GardenChart {
    fn figure(&self, context: &Context) -> Answer<Figure> {
        let mut figure = match &self.what {
            Subject::Grade { solution, name } => match grade_figure(solution, name, context.units()).map_err(raise)? {
                Some(figure) => figure,
                None => {
                    return Err(ScriptError::new(format!("no supply reaches '{name}'"))
                        .with_hint("open the valve of its zone in run(..)")
                        .into());
                }
            },
            Subject::Pump { garden, zones } => {
                let zones: Vec<&str> = zones.iter().map(String::as_str).collect();
                pump_figure(garden, &zones, context.units()).map_err(raise)?
            }
            Subject::Tap { garden, place } => tap_figure(garden, *place, context.units()).ok_or_else(|| no_tap("tap_chart"))?,
        };
        if let Some(title) = &self.title {
            figure = figure.titled(title.as_str());
        }
        if let Some((width, height)) = self.size {
            figure = figure.sized(width, height);
        }
        Ok(figure)
    }
}

fn no_tap(word: &str) -> ScriptError {
    ScriptError::new(format!("{word} draws a supply, and there is none"))
        .with_hint("begin with supply({58.psi).measured(44.psi, 6.gpm|4.bar).measured(3.bar, 23.lpm})")
}

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Plan>("a plan").register_type_with_name::<GardenChart>("a chart of a garden");
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |plan: Plan| {
            format!("a plan of {} parts; .save(\"name.svg\") draws it", plan.garden.parts().len())
        });
        engine.register_fn(word, |_: GardenChart| "a chart of a garden; .save(\"name.svg\") draws it");
    }
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
    /// A plan (layout drawing) of a garden, or of a result with pressures and flows; `save` it as .svg, .png or .pdf.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// plan(line).save("line.svg")              // => saved line.svg
    /// plan(line.run("bed")).titled("One head at work").save("running.png")   // => saved running.png
    /// ```
    #[rhai_fn(name = "plan")]
    pub fn plan_of_garden(garden: Garden) -> Plan {
        Plan::of(garden, None)
    }

    #[rhai_fn(name = "plan")]
    pub fn plan_of_solution(solution: Solution) -> Plan {
        let garden = solution.garden.clone();
        Plan::of(garden, Some(Arc::new(solution)))
    }

    /// The title above a plan or a chart of a garden.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// plan(line).titled("One spray").save("one.svg")   // => saved one.svg
    /// ```
    #[rhai_fn(name = "titled")]
    pub fn title_plan(plan: Plan, title: &str) -> Plan {
        Plan { title: title.to_string(), ..plan }
    }

    /// Colors the lines of the plan of a result by "pressure" (the default) or by "flow"; or colors the ground of a plan to scale by a coverage, in
    /// calm air or in wind, or by depths over a schedule.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// plan(line.run()).by("speed")   // => error: a plan cannot be colored by 'speed'
    /// let lawn = supply(50.psi) >> hose(50.ft, (3/4).inch)
    ///     >> [ head("west", (1/8).inch).throws(25.ft, 30.psi).at(0.ft, 10.ft), head("east", (1/8).inch).throws(25.ft, 30.psi).at(30.ft, 10.ft) ];
    /// plan(lawn).by(lawn.run().coverage([0.ft, 30.ft], [0.ft, 20.ft]).wind(6.mph, "west")).save("wind.svg")   // => saved wind.svg
    /// ```
    #[rhai_fn(name = "by", return_raw)]
    pub fn color_plan(plan: Plan, what: &str) -> Result<Plan, Box<EvalAltResult>> {
        let color = match what {
            "pressure" => Color::Pressure,
            "flow" => Color::Flow,
            _ => {
                let error = ScriptError::new(format!("a plan cannot be colored by '{what}'"));
                return Err(error.with_hint("write .by(\"pressure\") or .by(\"flow\")").into());
            }
        };
        Ok(Plan { color, ..plan })
    }

    #[rhai_fn(name = "by")]
    pub fn plan_by_coverage(plan: Plan, rain: Coverage) -> Plan {
        Plan { rain: Some(Ground::Coverage(rain)), ..plan }
    }

    #[rhai_fn(name = "by")]
    pub fn plan_by_depth(plan: Plan, found: Depth) -> Plan {
        Plan { rain: Some(Ground::Depth(found)), ..plan }
    }

    /// Puts the cans of a test on a plan that is colored by a coverage, each in the color of what it caught.
    ///
    /// ```hw
    /// let lawn = supply(50.psi) >> hose(50.ft, (3/4).inch)
    ///     >> [ head("west", (1/8).inch).throws(25.ft, 30.psi).at(0.ft, 10.ft), head("east", (1/8).inch).throws(25.ft, 30.psi).at(30.ft, 10.ft) ];
    /// let cans = catch_cans([[6.mL, 7.mL, 6.mL], [9.mL, 7.mL, 8.mL]]).spaced(10.ft).mouth(16.6.in2).lasted(15.min);
    /// plan(lawn).by(lawn.run().coverage([0.ft, 30.ft], [0.ft, 20.ft])).cans(cans).save("cans.svg")   // => saved cans.svg
    /// ```
    pub fn cans(plan: Plan, cans: CatchCans) -> Plan {
        Plan { cans: Some(cans), ..plan }
    }

    /// Saves a plan or a chart of a garden in the folder of the script, as .svg, .png or .pdf.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// plan(line).save("line.pdf")   // => saved line.pdf
    /// plan(line).save("line.doc")   // => error: cannot draw a chart into 'line.doc'
    /// ```
    #[rhai_fn(name = "save", return_raw)]
    pub fn save_plan(call: NativeCallContext, plan: Plan, file: &str) -> Result<Saved, Box<EvalAltResult>> {
        let context = context_of(&call)?;
        let mut map = draw_plan(&plan.garden, plan.solution.as_deref(), plan.color, context.units()).map_err(raise)?;
        map.title = plan.title.clone();
        let wet = plan.rain.as_ref().map(|rain| match rain {
            Ground::Coverage(coverage) => Wet::Coverage(coverage),
            Ground::Depth(depth) => Wet::Depth(depth),
        });
        match (wet, &plan.cans) {
            (Some(wet), cans) => put_rain(&mut map, wet, cans.as_ref(), context.units()).map_err(raise)?,
            (None, Some(_)) => {
                let error = ScriptError::new("cans are drawn on a plan that is colored by a coverage");
                return Err(error.with_hint("write plan(garden).by(coverage).cans(cans)").into());
            }
            (None, None) => {}
        }
        save_picture(&context, file, || map_svg(&map), || map_png(&map), || map_pdf(&map))
    }

    /// A chart of the pressure profile (hydraulic grade line) from the supply to the named part, with pressure ratings of the hoses and the operating
    /// range of the head.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch).pressure_rating(150.psi) >> uphill(6.ft) >> hose(60.ft, (1/2).inch) >> head("spray", (1/8).inch);
    /// pressure_profile_chart(line.run(), "spray").titled("On the way to the spray").save("way.svg")   // => saved way.svg
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pressure_profile_chart(solution: Solution, name: &str) -> Result<GardenChart, Box<EvalAltResult>> {
        solution.garden.find(name).map_err(raise)?;
        let what = Subject::Grade { solution: Arc::new(solution), name: name.to_string() };
        Ok(GardenChart { what, title: None, size: None })
    }

    /// A chart of the pump curve, the system curve of each zone, and their operating points; a pressure switch counts as on.
    ///
    /// ```hw
    /// let pump = booster([[0.gpm, 45.psi], [5.gpm, 35.psi], [10.gpm, 15.psi]]).named("pump");
    /// let plot = supply(30.psi) >> backflow_preventer() >> hose(50.ft, (3/4).inch) >> pump >> relief(85.psi)
    ///     >> [ valve("beds") >> head("bed", (3/16).inch), valve("berries") >> hose(60.ft, (1/2).inch) >> head("berry", (1/8).inch) ];
    /// pump_chart(plot, ["beds", "berries"]).save("pump.svg")   // => saved pump.svg
    /// pump_chart(supply(30.psi) >> head("x", (1/8).inch), "x").save("none.svg")   // => error: the garden has 0 boosters; a pump chart shows one
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pump_chart(garden: Garden, zones: Dynamic) -> Result<GardenChart, Box<EvalAltResult>> {
        let what = Subject::Pump { garden, zones: as_names(&zones, "pump_chart")? };
        Ok(GardenChart { what, title: None, size: None })
    }

    /// A chart of the supply curve of a tap: working pressure against flow, with the readings it was measured by. Of a garden its
    /// first supply is drawn.
    ///
    /// ```hw
    /// let tap = supply(58.psi).measured([[44.psi, 6.gpm], [52.psi, 4.gpm]]);
    /// tap_chart(tap).titled("What the tap gives").save("tap.svg")   // => saved tap.svg
    /// tap_chart(head("x", (1/8).inch))   // => error: tap_chart draws a supply, and there is none
    /// ```
    #[rhai_fn(return_raw)]
    pub fn tap_chart(garden: Garden) -> Result<GardenChart, Box<EvalAltResult>> {
        let place = garden.supplies().next().ok_or_else(|| no_tap("tap_chart"))?;
        Ok(GardenChart { what: Subject::Tap { garden, place }, title: None, size: None })
    }

    #[rhai_fn(name = "tap_chart", return_raw)]
    pub fn tap_chart_of_part(part: Part) -> Result<GardenChart, Box<EvalAltResult>> {
        tap_chart(Garden::of(part))
    }

    #[rhai_fn(name = "titled")]
    pub fn title_garden_chart(chart: GardenChart, title: &str) -> GardenChart {
        GardenChart { title: Some(title.to_string()), ..chart }
    }

    /// The width and height of a chart of a garden in pixels; default 760 by 480. A plan has the size it needs.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// pressure_profile_chart(line.run(), "spray").sized(600, 400).save("way.svg")   // => saved way.svg
    /// ```
    #[rhai_fn(name = "sized")]
    pub fn size_garden_chart(chart: GardenChart, width: INT, height: INT) -> GardenChart {
        let pixels = |value: INT| u32::try_from(value).unwrap_or(0);
        GardenChart { size: Some((pixels(width), pixels(height))), ..chart }
    }

    #[rhai_fn(name = "save", return_raw)]
    pub fn save_garden_chart(call: NativeCallContext, chart: GardenChart, file: &str) -> Result<Saved, Box<EvalAltResult>> {
        let context = context_of(&call)?;
        let figure = chart.figure(&context)?;
        save_picture(&context, file, || svg(&figure), || png(&figure), || pdf(&figure))
    }
}
