//! Charts of gardens, results and runs as scripts see them: the pressure along a line and where it goes, taps, pumps, the course of a run
//! and of a water hammer.
//!
//! What they show comes from `crate::plan`, the drawing from `crate::figure`.

use super::figures::{limits_of, pixels, save_picture, whole_ratio};
use super::tables::as_written;
use crate::figure::{AxisScale, Figure, Graphic, MarkedAxis, description};
use crate::garden::Garden;
use crate::hydraulics::Solution;
use crate::operation::Log;
use crate::parts::Part;
use crate::plan::{budget_figure, grade_figure, hammer_figure, pump_figure, tap_figure, timeline_figure};
use crate::quantity::{Dimension, Preference, Quantity, UnitSystem, dim};
use crate::report::pressure_budget as report;
use crate::report::{ReportError, Saved};
use crate::script::language::calling::context_of;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{as_names, as_quantity, describe};
use crate::table::{ColumnKind, Table};
use crate::water_hammer::WaterHammer;
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, INT, Map};
use std::sync::Arc;

/// Results that can be distinguished beside each other.
const MOST_RESULTS: usize = 4;

/// A chart that is drawn from a garden or a result, in the making.
#[derive(Clone, Debug)]
pub struct GardenChart {
    what: Subject,
    title: Option<String>,
    caption: Option<String>,
    size: Option<(u32, u32)>,
    pixel_ratio: Option<u32>,
    dark: bool,
    marks: Vec<(Quantity, String)>,
    x_limits: Option<(Quantity, Quantity)>,
    y_limits: Option<(Quantity, Quantity)>,
}

#[derive(Clone, Debug)]
enum Subject {
    Grade { solution: Arc<Solution>, name: String },
    Budget { results: Vec<(String, Solution)>, name: String },
    Pump { garden: Garden, combinations: Vec<Vec<String>> },
    Tap { garden: Garden, place: usize },
    Timeline { log: Arc<Log> },
    Hammer { hammer: Arc<WaterHammer> },
}

impl Subject {
    /// What it is, and what stands along its x and y axis; nothing where an axis cannot be chosen.
    fn axes(&self) -> (&'static str, Option<Dimension>, Option<Dimension>) {
        match self {
            Subject::Grade { .. } => ("a pressure profile", Some(dim::LENGTH), Some(dim::PRESSURE)),
            Subject::Budget { .. } => ("a pressure budget", Some(dim::PRESSURE), None),
            Subject::Pump { .. } => ("a pump chart", None, None),
            Subject::Tap { .. } => ("a tap chart", Some(dim::FLOW), Some(dim::PRESSURE)),
            Subject::Timeline { .. } => ("a timeline", Some(dim::TIME), None),
            Subject::Hammer { .. } => ("a chart of water hammer", None, None),
        }
    }

    fn units(&self, system: UnitSystem) -> UnitSystem {
        let garden = match self {
            Subject::Grade { solution, .. } => &solution.garden,
            Subject::Budget { results, .. } => match results.first() {
                Some((_, solution)) => &solution.garden,
                None => return system,
            },
            Subject::Pump { garden, .. } | Subject::Tap { garden, .. } => garden,
            Subject::Timeline { log } => &log.garden,
            Subject::Hammer { hammer } => hammer.garden(),
        };
        system.or_own(garden.units())
    }
}

impl GardenChart {
    fn of(what: Subject) -> GardenChart {
        let (title, caption, size, pixel_ratio, x_limits, y_limits) = (None, None, None, None, None, None);
        GardenChart { what, title, caption, size, pixel_ratio, dark: false, marks: Vec::new(), x_limits, y_limits }
    }

    /// What is drawn. Errors: what cannot be drawn; an option without meaning for it.
    pub fn figure(&self, system: UnitSystem) -> Answer<Figure> {
        let mut figure = match &self.what {
            Subject::Grade { solution, name } => {
                grade_figure(solution, name, system).map_err(raise)?.ok_or_else(|| unreached(name))?
            }
            Subject::Budget { results, name } => {
                let mut budgets = Vec::with_capacity(results.len());
                for (option, solution) in results {
                    budgets.push((option.clone(), solution, report::budget(solution, name).map_err(raise)?));
                }
                budget_figure(&budgets, system).ok_or_else(|| unreached(name))?
            }
            Subject::Pump { garden, combinations } => pump_figure(garden, combinations, system).map_err(raise)?,
            Subject::Tap { garden, place } => tap_figure(garden, *place, system).ok_or_else(|| no_tap("tap_chart"))?,
            Subject::Timeline { log } => {
                let end_s = log.duration_s();
                let (from_s, to_s) = self.x_limits.map_or((0.0, end_s), |(from, to)| (from.si.max(0.0), to.si.min(end_s)));
                if from_s >= to_s {
                    let error = ScriptError::new("x_limits: no time of the run lies between them");
                    return Err(error.with_hint("give the earlier time first, as in .x_limits(\"05:00\", \"07:30\")").into());
                }
                timeline_figure(log, from_s, to_s, system).map_err(|error| raise(ReportError::Solve(error.named(&log.garden))))?
            }
            Subject::Hammer { hammer } => hammer_figure(hammer, system),
        };
        let system = self.what.units(system);
        let shown = |value: Quantity| {
            ColumnKind::Quantity { dimension: value.dimension, preference: Preference::Usual }.shown_value(value.si, system)
        };
        for (axis, limits) in [(&mut figure.x, self.x_limits), (&mut figure.y, self.y_limits)] {
            if let (Some((low, high)), true) = (limits, axis.scale != AxisScale::Clock) {
                *axis = axis.clone().within(shown(low), shown(high));
            }
        }
        for (value, label) in &self.marks {
            let axis = if self.what.axes().1 == Some(value.dimension) { MarkedAxis::X } else { MarkedAxis::Y };
            figure = figure.marked(axis, shown(*value), label.as_str());
        }
        figure.title = self.title.clone().or(figure.title);
        figure.caption = self.caption.clone();
        figure.size = self.size.unwrap_or(figure.size);
        figure.pixel_ratio = self.pixel_ratio.unwrap_or(figure.pixel_ratio);
        figure.dark = self.dark;
        Ok(figure)
    }

    /// Errors: a value that stands on no axis of this chart that can be chosen.
    fn fits(&self, option: &str, value: Quantity, dimensions: &[Option<Dimension>]) -> Answer<()> {
        if dimensions.contains(&Some(value.dimension)) {
            return Ok(());
        }
        let (what, ..) = self.what.axes();
        let known: Vec<String> = dimensions.iter().flatten().map(ToString::to_string).collect();
        if known.is_empty() {
            return Err(ScriptError::new(format!("{option} has no meaning for {what}")).with_hint("leave it out").into());
        }
        let error = ScriptError::new(format!("{option}: {} does not fit {what}", value.described()));
        Err(error.with_hint(format!("give {}", known.join(" or "))).into())
    }

    fn limits(&self, option: &str, low: &Dynamic, high: &Dynamic, dimension: Option<Dimension>) -> Answer<(Quantity, Quantity)> {
        let limits = limits_of(option, low, high)?;
        self.fits(option, limits.0, &[dimension])?;
        self.fits(option, limits.1, &[dimension])?;
        Ok(limits)
    }
}

fn unreached(name: &str) -> Box<EvalAltResult> {
    ScriptError::new(format!("no supply reaches '{name}'")).with_hint("open the valve of its zone in run(..)").into()
}

fn no_tap(word: &str) -> ScriptError {
    ScriptError::new(format!("{word} draws a supply, and there is none"))
        .with_hint("begin with supply({58.psi).measured(44.psi, 6.gpm|4.bar).measured(3.bar, 23.lpm})")
}

/// Zones, each by itself, and combinations of zones that are open together: `["beds", ["beds", "berries"]]`.
fn combinations_of(zones: &Dynamic) -> Answer<Vec<Vec<String>>> {
    match zones.read_lock::<Array>() {
        Some(list) if list.is_empty() => Ok(vec![Vec::new()]),
        Some(list) => list.iter().map(|one| as_names(one, "pump_chart")).collect(),
        None => Ok(vec![as_names(zones, "pump_chart")?]),
    }
}

/// Results of a map, each under its name.
fn results_of(call: &NativeCallContext, results: Map, word: &str) -> Answer<Vec<(String, Solution)>> {
    let one = |(name, value): (String, Dynamic)| -> Answer<(String, Solution)> {
        let solution = value.read_lock::<Solution>().map(|solution| solution.clone()).ok_or_else(|| {
            let error = ScriptError::new(format!("{word}: '{name}' must be a result, found {}", describe(&value)));
            error.with_hint("write #{ now: g.run(\"beds\"), wider: h.run(\"beds\") }")
        })?;
        Ok((name, solution))
    };
    as_written(call, results)?.into_iter().map(one).collect()
}

/// Registers these functions; they belong to the topic of plans.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<GardenChart>("a chart of a garden");
    for word in ["to_debug", "to_string"] {
        engine.register_fn(word, |_: GardenChart| "a chart of a garden; .save(\"name.svg\") draws it");
    }
    engine.register_global_module(exported_module!(functions).into());
}

#[export_module]
mod functions {
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
        Ok(GardenChart::of(Subject::Grade { solution: Arc::new(solution), name: name.to_string() }))
    }

    /// Where the pressure goes: the pressure budget from the static pressure of the main to the named part, with service line, preventer, hoses,
    /// valves, elevation and boost, what is left, and what the head needs. With a map of results, a column for each.
    ///
    /// ```hw
    /// let line = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named("feed") >> uphill(6.ft)
    ///     >> head("berry", (5/32).inch).operating_range(30.psi, 60.psi);
    /// line.run().pressure_budget("berry")["cause"]   // => ["static pressure", "service line", "friction loss", "elevation", "left", "needed at least"]
    /// line.run().pressure_budget("berry")["change"][3]   // => -2.6 psi
    /// let both = pressure_budget(#{ now: line.run(), wider: line.with("feed.diameter", (3/4).inch).run() }, "berry");
    /// both.names   // => ["part", "cause", "now", "wider"]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pressure_budget(solution: Solution, name: &str) -> Result<Table, Box<EvalAltResult>> {
        report::table(&solution, name).map_err(raise)
    }

    #[rhai_fn(name = "pressure_budget", return_raw)]
    pub fn budgets(call: NativeCallContext, results: Map, name: &str) -> Result<Table, Box<EvalAltResult>> {
        report::side_by_side(&results_of(&call, results, "pressure_budget")?, name).map_err(raise)
    }

    /// A waterfall chart of the pressure budget: from the static pressure of the main to what is left at the named part, against its operating range.
    /// A map of up to four results shows them beside each other.
    ///
    /// ```hw
    /// let line = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named("feed") >> uphill(6.ft)
    ///     >> head("berry", (5/32).inch).operating_range(30.psi, 60.psi);
    /// pressure_budget_chart(line.run(), "berry").save("budget.svg")   // => saved budget.svg
    /// pressure_budget_chart(#{ now: line.run(), wider: line.with("feed.diameter", (3/4).inch).run() }, "berry").save("both.svg")   // => saved both.svg
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pressure_budget_chart(solution: Solution, name: &str) -> Result<GardenChart, Box<EvalAltResult>> {
        report::budget(&solution, name).map_err(raise)?;
        Ok(GardenChart::of(Subject::Budget { results: vec![(String::new(), solution)], name: name.to_string() }))
    }

    #[rhai_fn(name = "pressure_budget_chart", return_raw)]
    pub fn budgets_chart(call: NativeCallContext, results: Map, name: &str) -> Result<GardenChart, Box<EvalAltResult>> {
        let results = results_of(&call, results, "pressure_budget_chart")?;
        if !(1..=MOST_RESULTS).contains(&results.len()) {
            let found = results.len();
            let error = ScriptError::new(format!("pressure_budget_chart shows 1 to {MOST_RESULTS} results, found {found}"));
            return Err(error.with_hint("keep those that you want to compare").into());
        }
        for (_, solution) in &results {
            report::budget(solution, name).map_err(raise)?;
        }
        Ok(GardenChart::of(Subject::Budget { results, name: name.to_string() }))
    }

    /// A chart of the pump curve, the system curve of each zone, and their operating points, with the suction pressure at the pump and the pressure in
    /// the house below; a pressure switch counts as on. A list within the list is zones that are open together.
    ///
    /// ```hw
    /// let pump = booster([[0.gpm, 45.psi], [5.gpm, 35.psi], [10.gpm, 15.psi]]).named("pump");
    /// let plot = supply(30.psi) >> backflow_preventer() >> hose(50.ft, (3/4).inch) >> pump >> relief(85.psi)
    ///     >> [ valve("beds") >> head("bed", (3/16).inch), valve("berries") >> hose(60.ft, (1/2).inch) >> head("berry", (1/8).inch) ];
    /// pump_chart(plot, ["beds", "berries"]).save("pump.svg")   // => saved pump.svg
    /// pump_chart(plot, ["beds", ["beds", "berries"]]).save("together.svg")   // => saved together.svg
    /// pump_chart(supply(30.psi) >> head("x", (1/8).inch), "x").save("none.svg")   // => error: the garden has 0 boosters; a pump chart shows one
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pump_chart(garden: Garden, zones: Dynamic) -> Result<GardenChart, Box<EvalAltResult>> {
        Ok(GardenChart::of(Subject::Pump { garden, combinations: combinations_of(&zones)? }))
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
        Ok(GardenChart::of(Subject::Tap { garden, place }))
    }

    #[rhai_fn(name = "tap_chart", return_raw)]
    pub fn tap_chart_of_part(part: Part) -> Result<GardenChart, Box<EvalAltResult>> {
        tap_chart(Garden::of(part))
    }

    /// A timeline of a run in one picture: zones, pumps and reliefs as bars, pressures at the switch and in the house, levels of open tanks, and events.
    /// A pump that short-cycles is one block with its count. `x_limits` shows a part of the run.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> hose(50.ft, (5/8).inch) >> valve("bed") >> head("spray", (1/8).inch);
    /// let log = line.operate(timer("east").start("05:30").zone("bed", 20.min), 1.days);
    /// timeline(log).save("day.svg")   // => saved day.svg
    /// timeline(log).x_limits("05:00", "06:30").titled("The morning").save("morning.svg")   // => saved morning.svg
    /// ```
    pub fn timeline(log: Log) -> GardenChart {
        GardenChart::of(Subject::Timeline { log: Arc::new(log) })
    }

    /// A chart of water hammer: the highest and lowest pressure along the line with the pressure rating, and the pressure over time at the valve and
    /// the nearest check valve.
    ///
    /// ```hw
    /// let plot = supply(58.psi) >> check_valve() >> hose(100.ft, (5/8).inch).compliance(4.mL_per_bar_m).pressure_rating(150.psi).named("feed")
    ///     >> valve("beds") >> head("bed", (3/16).inch);
    /// water_hammer_chart(plot.water_hammer("beds", 0.05.s)).save("hammer.svg")   // => saved hammer.svg
    /// ```
    pub fn water_hammer_chart(water_hammer: WaterHammer) -> GardenChart {
        GardenChart::of(Subject::Hammer { hammer: Arc::new(water_hammer) })
    }

    #[rhai_fn(name = "titled")]
    pub fn title_garden_chart(chart: GardenChart, title: &str) -> GardenChart {
        GardenChart { title: Some(title.to_string()), ..chart }
    }

    /// A line below a chart of a garden or a plan.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// pressure_profile_chart(line.run(), "spray").caption("all taps closed").save("way.svg")   // => saved way.svg
    /// plan(line.run()).caption("As it runs in June.").save("june.svg")   // => saved june.svg
    /// ```
    #[rhai_fn(name = "caption")]
    pub fn caption_garden_chart(chart: GardenChart, text: &str) -> GardenChart {
        GardenChart { caption: Some(text.to_string()), ..chart }
    }

    /// The width and height of a chart of a garden, in pixels or as lengths such as `160.mm`. A plan has a width, default 760, and the height it needs.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// pressure_profile_chart(line.run(), "spray").sized(600, 400).save("way.svg")   // => saved way.svg
    /// plan(line).sized(390).save("phone.svg")   // => saved phone.svg
    /// ```
    #[rhai_fn(name = "sized", return_raw)]
    pub fn size_garden_chart(chart: GardenChart, width: Dynamic, height: Dynamic) -> Result<GardenChart, Box<EvalAltResult>> {
        Ok(GardenChart { size: Some((pixels(&width)?, pixels(&height)?)), ..chart })
    }

    /// How many pixels of a PNG are drawn for one of the chart or plan: 1, or 2 for a sharp screen, up to 4.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// pressure_profile_chart(line.run(), "spray").pixel_ratio(2).save("way.png")   // => saved way.png
    /// plan(line).pixel_ratio(2).dark().save("plan.png")   // => saved plan.png
    /// ```
    #[rhai_fn(name = "pixel_ratio", return_raw)]
    pub fn sharpen_garden_chart(chart: GardenChart, ratio: INT) -> Result<GardenChart, Box<EvalAltResult>> {
        Ok(GardenChart { pixel_ratio: Some(whole_ratio(ratio)?), ..chart })
    }

    /// The chart in the colors of a dark page, also in print.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// pressure_profile_chart(line.run(), "spray").dark().save("way.svg")   // => saved way.svg
    /// ```
    #[rhai_fn(name = "dark")]
    pub fn darken_garden_chart(chart: GardenChart) -> GardenChart {
        GardenChart { dark: true, ..chart }
    }

    /// A labeled line across a chart of a garden, at a value of one of its axes.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// pressure_profile_chart(line.run(), "spray").mark(30.psi, "least").save("way.svg")   // => saved way.svg
    /// ```
    #[rhai_fn(name = "mark", return_raw)]
    pub fn mark_garden_chart(chart: GardenChart, value: Dynamic, label: &str) -> Result<GardenChart, Box<EvalAltResult>> {
        let found = as_quantity(&value)
            .ok_or_else(|| ScriptError::new(format!("mark needs a number or quantity, found {}", describe(&value))))?;
        let (_, x, y) = chart.what.axes();
        // The rows of a timeline leave no room for a mark across them.
        let x = x.filter(|dimension| *dimension != dim::TIME);
        chart.fits("mark", found, &[x, y])?;
        let mut chart = chart;
        chart.marks.push((found, label.to_string()));
        Ok(chart)
    }

    /// The ends of the x axis of a chart of a garden; of a timeline, the part of the run that is shown, as times of the day.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// pressure_profile_chart(line.run(), "spray").x_limits(10.ft, 50.ft).save("way.svg")   // => saved way.svg
    /// ```
    #[rhai_fn(name = "x_limits", return_raw)]
    pub fn limit_garden_chart_x(chart: GardenChart, low: Dynamic, high: Dynamic) -> Result<GardenChart, Box<EvalAltResult>> {
        let limits = chart.limits("x_limits", &low, &high, chart.what.axes().1)?;
        Ok(GardenChart { x_limits: Some(limits), ..chart })
    }

    /// The ends of the y axis of a chart of a garden.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// pressure_profile_chart(line.run(), "spray").y_limits(0.psi, 60.psi).save("way.svg")   // => saved way.svg
    /// ```
    #[rhai_fn(name = "y_limits", return_raw)]
    pub fn limit_garden_chart_y(chart: GardenChart, low: Dynamic, high: Dynamic) -> Result<GardenChart, Box<EvalAltResult>> {
        let limits = chart.limits("y_limits", &low, &high, chart.what.axes().2)?;
        Ok(GardenChart { y_limits: Some(limits), ..chart })
    }

    /// The text that stands for the chart where it cannot be seen.
    ///
    /// ```hw
    /// let line = supply(50.psi).measured(40.psi, 6.gpm) >> hose(50.ft, (5/8).inch) >> head("spray", (1/8).inch);
    /// pressure_profile_chart(line.run(), "spray").description().contains("spray")   // => true
    /// ```
    #[rhai_fn(name = "description", return_raw)]
    pub fn describe_garden_chart(call: NativeCallContext, chart: GardenChart) -> Result<String, Box<EvalAltResult>> {
        description(&chart.figure(context_of(&call)?.units())?).map_err(raise)
    }

    #[rhai_fn(name = "save", return_raw)]
    pub fn save_garden_chart(call: NativeCallContext, chart: GardenChart, file: &str) -> Result<Saved, Box<EvalAltResult>> {
        let context = context_of(&call)?;
        let figure = context.axes.on_held_axes(chart.figure(context.units())?);
        save_picture(&context, file, Graphic::Figure(figure))
    }
}
