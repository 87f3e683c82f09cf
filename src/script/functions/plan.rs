//! Plans as scripts see them: a garden or a result drawn from above, saved in the folder of the script.
//!
//! Places and texts come from `crate::plan`, the drawing from `crate::figure`.

use super::figures::{save_picture, whole_ratio};
use super::garden_charts;
use crate::coverage::{CatchCans, Coverage, Depth};
use crate::figure::{Graphic, Map, USUAL_WIDTH};
use crate::garden::Garden;
use crate::hydraulics::Solution;
use crate::plan::{Color, Wet, plan as draw_plan, put_rain};
use crate::quantity::UnitSystem;
use crate::report::Saved;
use crate::script::language::calling::context_of;
use crate::script::language::error::{Answer, ScriptError, raise};
use rhai::plugin::*;
use rhai::{Engine, EvalAltResult, INT};
use std::sync::Arc;

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
`plan(garden)` draws the garden from above, `plan(result)` draws it in operation: lines are colored by pressure, their
width shows the flow, dashed lines have no flow. When at least two parts have a position by `.at(x, y)`, the plan is to
scale, y to the north, with circles or sectors of throw; otherwise it is a schematic, from the supply to the right. Of more
than six heads each has a number, and a table has their names, pressures, flows, throws and states; symbols in a heap are drawn side by side.
`titled`, `caption`, `sized`, `pixel_ratio` and `dark` are as for charts; a report and the live page show a plan without `save` too.

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
    caption: Option<String>,
    width: u32,
    pixel_ratio: u32,
    dark: bool,
}

/// Water on the ground of a plan.
#[derive(Clone, Debug)]
enum Ground {
    Coverage(Coverage),
    Depth(Depth),
}

impl Plan {
    fn of(garden: Garden, solution: Option<Arc<Solution>>) -> Plan {
        Plan {
            garden,
            solution,
            color: Color::default(),
            rain: None,
            cans: None,
            title: String::new(),
            caption: None,
            width: USUAL_WIDTH,
            pixel_ratio: 1,
            dark: false,
        }
    }

    /// What is drawn. Errors: a garden that cannot be drawn; cans without a coverage.
    pub fn map(&self, system: UnitSystem) -> Answer<Map> {
        let mut map = draw_plan(&self.garden, self.solution.as_deref(), self.color, system).map_err(raise)?;
        map.title.clone_from(&self.title);
        map.caption.clone_from(&self.caption);
        (map.width, map.pixel_ratio, map.dark) = (self.width, self.pixel_ratio, self.dark);
        let wet = self.rain.as_ref().map(|rain| match rain {
            Ground::Coverage(coverage) => Wet::Coverage(coverage),
            Ground::Depth(depth) => Wet::Depth(depth),
        });
        match (wet, &self.cans) {
            (Some(wet), cans) => put_rain(&mut map, wet, cans.as_ref(), system).map_err(raise)?,
            (None, Some(_)) => {
                let error = ScriptError::new("cans are drawn on a plan that is colored by a coverage");
                return Err(error.with_hint("write plan(garden).by(coverage).cans(cans)").into());
            }
            (None, None) => {}
        }
        Ok(map)
    }
}

/// Registers the functions of this topic.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<Plan>("a plan");
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |plan: Plan| {
            format!("a plan of {} parts; .save(\"name.svg\") draws it", plan.garden.parts().len())
        });
    }
    engine.register_global_module(exported_module!(functions).into());
    garden_charts::register(engine);
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

    /// The title above a plan.
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

    /// Saves a plan in the folder of the script, as .svg, .png or .pdf.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// plan(line).save("line.pdf")   // => saved line.pdf
    /// plan(line).save("line.doc")   // => error: cannot draw a chart into 'line.doc'
    /// ```
    #[rhai_fn(name = "save", return_raw)]
    pub fn save_plan(call: NativeCallContext, plan: Plan, file: &str) -> Result<Saved, Box<EvalAltResult>> {
        let context = context_of(&call)?;
        save_picture(&context, file, Graphic::Map(plan.map(context.units())?))
    }

    #[rhai_fn(name = "caption")]
    pub fn caption_plan(plan: Plan, text: &str) -> Plan {
        Plan { caption: Some(text.to_string()), ..plan }
    }

    #[rhai_fn(name = "pixel_ratio", return_raw)]
    pub fn set_ratio_of_plan(plan: Plan, ratio: INT) -> Result<Plan, Box<EvalAltResult>> {
        Ok(Plan { pixel_ratio: whole_ratio(ratio)?, ..plan })
    }

    #[rhai_fn(name = "dark")]
    pub fn darken_plan(plan: Plan) -> Plan {
        Plan { dark: true, ..plan }
    }

    #[rhai_fn(name = "sized", return_raw)]
    pub fn size_plan(plan: Plan, width: INT) -> Result<Plan, Box<EvalAltResult>> {
        match u32::try_from(width) {
            Ok(width @ 320..=4000) => Ok(Plan { width, ..plan }),
            _ => Err(ScriptError::new(format!("a plan is 320 to 4000 pixels wide; found {width}"))
                .with_hint("write .sized(760)")
                .into()),
        }
    }
}
