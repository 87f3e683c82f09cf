//! Plans as scripts see them: a garden or a reading drawn from above, saved beside the script.
//!
//! Places and words come from `crate::plan`, the drawing from `crate::figure`.

use super::Context;
use super::engine::context_of;
use super::error::{ScriptError, raise};
use super::figures::save_picture;
use crate::figure::{map_png, map_svg};
use crate::garden::Garden;
use crate::hydraulics::Reading;
use crate::plan::{Colour, PlanError, plan as draw_plan};
use rhai::plugin::*;
use rhai::{Engine, EvalAltResult};
use std::sync::Arc;

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
`plan(garden)` draws the garden from above, `plan(reading)` draws it running: lines take their colour from the pressure and
their width from the flow, dashed lines are still. When at least two parts have a place by `.at(x, y)`, the plan is to
scale, y to the north, with circles or sectors of throw; else it is a scheme, from the supply to the right.

```hw
let plot = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named("feed")
    >> [ valve("beds") >> head("bed", (1/8).inch).throws(28.ft, 40.psi).at(10.ft, 10.ft),
         valve("berries") >> head("berry", (5/32).inch).throws(30.ft, 40.psi).arc(90).at(60.ft, 10.ft) ];
plan(plot).save("plot.svg")                        // => saved plot.svg
plan(plot.run("berries")).by("flow").save("berries.png")   // => saved berries.png
```
"#;

impl From<PlanError> for ScriptError {
    fn from(error: PlanError) -> Self {
        ScriptError::new(error.to_string()).with_hint(error.hint())
    }
}

/// A plan in the making.
#[derive(Clone, Debug)]
pub struct Plan {
    garden: Garden,
    reading: Option<Arc<Reading>>,
    colour: Colour,
    title: String,
}

/// Registers the words of this area.
pub fn register(engine: &mut Engine, _context: &Arc<Context>) {
    engine.register_type_with_name::<Plan>("a plan");
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |plan: Plan| {
            format!("a plan of {} parts; .save(\"name.svg\") draws it", plan.garden.parts().len())
        });
    }
    engine.register_global_module(exported_module!(words).into());
}

#[export_module]
mod words {
    /// The plan of a garden, or of a reading with pressures and flows; `save` it as .svg or .png.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// plan(line).save("line.svg")              // => saved line.svg
    /// plan(line.run("bed")).titled("One head at work").save("running.png")   // => saved running.png
    /// ```
    #[rhai_fn(name = "plan")]
    pub fn plan_of_garden(garden: Garden) -> Plan {
        Plan { garden, reading: None, colour: Colour::default(), title: String::new() }
    }

    #[rhai_fn(name = "plan")]
    pub fn plan_of_reading(reading: Reading) -> Plan {
        let garden = reading.garden.clone();
        Plan { garden, reading: Some(Arc::new(reading)), colour: Colour::default(), title: String::new() }
    }

    #[rhai_fn(name = "titled")]
    pub fn title_plan(plan: Plan, title: &str) -> Plan {
        Plan { title: title.to_string(), ..plan }
    }

    #[rhai_fn(name = "by", return_raw)]
    pub fn colour_plan(plan: Plan, what: &str) -> Result<Plan, Box<EvalAltResult>> {
        let colour = match what {
            "pressure" => Colour::Pressure,
            "flow" => Colour::Flow,
            _ => {
                let error = ScriptError::new(format!("a plan cannot be coloured by '{what}'"));
                return Err(error.with_hint("say .by(\"pressure\") or .by(\"flow\")").into());
            }
        };
        Ok(Plan { colour, ..plan })
    }

    #[rhai_fn(name = "save", return_raw)]
    pub fn save_plan(call: NativeCallContext, plan: Plan, file: &str) -> Result<String, Box<EvalAltResult>> {
        let context = context_of(&call)?;
        let mut map = draw_plan(&plan.garden, plan.reading.as_deref(), plan.colour, context.units()).map_err(raise)?;
        map.title = plan.title.clone();
        save_picture(&context, file, || map_svg(&map), || map_png(&map))
    }
}
