//! Parts as scripts see them: constructors, chained refinements, numbers as properties, and single-part questions.
//!
//! What a part is and which numbers it has is in `crate::parts`.

use super::Context;
use super::error::{Answer, ScriptError, raise};
use super::quantities::{as_quantity, describe, expect_quantity, value_of};
use crate::garden::GardenError;
use crate::laws::fittings::{FITTINGS, find_fitting};
use crate::laws::minor::{cv_from_k, k_from_kv};
use crate::laws::roughness::{MATERIALS, find_material};
use crate::parts::{Kind, Law, Number, Part, PartError};
use crate::quantity::{Dimension, Preference, Quantity, UnitSystem, dim, find_unit};
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult, FuncRegistration};
use std::collections::BTreeSet;
use std::sync::Arc;

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
A part is made by its word and refined by words chained behind it; each of them returns the part. Every number of a part
can be read and set under its name.

```hw
let feed = hose(100.ft, (5/8).inch).named("feed").rough(0.01.mm);
feed.length                // => 100 ft
feed.length = 150.ft;
feed.length                // => 150 ft
feed.length = -1.ft        // => error: hose 'feed': length must be above zero, found -1 ft
```

`part.name` is its name and `part.kind` the word for what it is. Gauge pressures throughout.
"#;

impl From<PartError> for ScriptError {
    fn from(error: PartError) -> Self {
        ScriptError::new(error.to_string()).with_hint(error.hint().unwrap_or_default())
    }
}

impl From<GardenError> for ScriptError {
    fn from(error: GardenError) -> Self {
        ScriptError::new(error.to_string()).with_hint(error.hint().unwrap_or_default())
    }
}

/// Registers the words of this area.
pub fn register(engine: &mut Engine, context: &Arc<Context>) {
    engine.register_type_with_name::<Part>("a part");
    register_numbers(engine);
    engine.register_get("name", |part: &mut Part| part.name().unwrap_or_default().to_string());
    engine.register_get("kind", |part: &mut Part| part.spec().word.to_string());
    let shared = context.clone();
    engine.register_fn("to_debug", move |part: Part| card(&part, shared.units()));
    let shared = context.clone();
    engine.register_fn("to_string", move |part: Part| one_line(&part, shared.units()));
    engine.register_global_module(exported_module!(words).into());
    for (name, doc) in REFINEMENTS {
        FuncRegistration::new(*name)
            .with_params_info(["part: Part", "value: Dynamic"])
            .with_comments(doc.lines())
            .register_into_engine(engine, |part: Part, value: Dynamic| {
                refine(part, if *name == "hazen_williams" { "hazen_williams_c" } else { name }, &value)
            });
    }
}

/// A getter and a setter for every number that any kind of part has.
fn register_numbers(engine: &mut Engine) {
    let names: BTreeSet<&'static str> = Kind::ALL.iter().flat_map(|kind| kind.spec().numbers).map(|number| number.name).collect();
    for name in names {
        engine.register_get_set(
            name,
            move |part: &mut Part| -> Answer<Dynamic> { value_of(part.get(name).map_err(raise)?) },
            move |part: &mut Part, value: Dynamic| -> Answer<()> {
                let quantity = quantity_for(part, name, &value)?;
                part.set(name, quantity).map_err(raise)
            },
        );
    }
}

/// The part as a labelled card: one line a number that is given.
pub fn card(part: &Part, system: UnitSystem) -> String {
    let title = match part.name() {
        Some(name) => format!("{name} ({})", part.spec().word.replace('_', " ")),
        None => part.spec().word.replace('_', " "),
    };
    let mut lines: Vec<(String, String)> =
        part.given().map(|(number, value)| (number.name.replace('_', " "), value.show(system))).collect();
    if let Some(curve) = part.curve() {
        for (flow, rise) in curve.points() {
            let point = |si: f64, dimension| Quantity::new(si, dimension).show(system);
            lines.push(("curve".into(), format!("{} at {}", point(*rise, dim::PRESSURE), point(*flow, dim::FLOW))));
        }
    }
    let width = lines.iter().map(|(name, _)| name.chars().count()).max().unwrap_or(0);
    let lines: Vec<String> = lines.iter().map(|(name, value)| format!("  {name:<width$}  {value}")).collect();
    if lines.is_empty() { title } else { format!("{title}\n{}", lines.join("\n")) }
}

fn one_line(part: &Part, system: UnitSystem) -> String {
    let numbers: Vec<String> =
        part.given().take(2).map(|(number, value)| format!("{} {}", number.name.replace('_', " "), value.show(system))).collect();
    format!("{}: {}", part.title(), numbers.join(", "))
}

/// A value for a number of a part: plain numbers stay plain, everything else must be a quantity.
fn quantity_for(part: &Part, name: &str, value: &Dynamic) -> Answer<Quantity> {
    as_quantity(value).ok_or_else(|| {
        ScriptError::new(format!("{}: {name} must be a number or quantity, found {}", part.title(), describe(value))).into()
    })
}

fn refine(part: Part, name: &str, value: &Dynamic) -> Answer<Part> {
    let quantity = quantity_for(&part, name, value)?;
    part.with(&[(name, quantity)]).map_err(raise)
}

/// Refinements that set the number of their own name.
const REFINEMENTS: &[(&str, &str)] = &[
    (
        "price",
        "/// What a part costs; returns the part.\n///\n/// ```hw\n/// hose(50.ft, 1.inch).price(30.dollars).price   // => $30.00\n/// ```",
    ),
    (
        "bore",
        "/// The bore of a part that takes it from the nearest hose otherwise; returns the part.\n///\n/// ```hw\n/// valve(\"beds\").bore((3/4).inch).bore   // => 0.75 in\n/// ```",
    ),
    (
        "k",
        "/// The loss coefficient of a fitting or valve: dp = k rho v^2 / 2; returns the part.\n///\n/// ```hw\n/// valve(\"beds\").k(6).k   // => 6\n/// ```",
    ),
    (
        "cv",
        "/// The flow coefficient of a valve, gpm at 1 psi; takes the place of its k. Returns the part.\n///\n/// ```hw\n/// valve(\"beds\").cv(4.5).cv   // => 4.5\n/// ```",
    ),
    (
        "cracking",
        "/// The pressure difference at which a check valve begins to open; returns the part.\n///\n/// ```hw\n/// check_valve().cracking(0.5.psi).cracking   // => 0.5 psi\n/// ```",
    ),
    (
        "closing_time",
        "/// The time in which a valve stops the flow when it shuts, for `knock`; 0.3 s unless said. Returns the part.\n///\n/// ```hw\n/// valve(\"beds\").closing_time(2.s).closing_time   // => 2 s\n/// ```",
    ),
    (
        "inflow",
        "/// What comes into an open tank by itself: rain, a float valve, the recovery of a well. Returns the part.\n///\n/// ```hw\n/// open_tank(4.ft).volume(200.gal).inflow(1.gpm).inflow   // => 1 gpm\n/// ```",
    ),
    (
        "volume",
        "/// The water that an open tank holds when full; returns the part.\n///\n/// ```hw\n/// open_tank(3.ft).volume(55.gal).volume   // => 55 gal\n/// ```",
    ),
    (
        "dry_stop",
        "/// The pressure at the inlet of a booster at which its guard stops it for good; returns the part.\n///\n/// ```hw\n/// booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]).dry_stop(5.psi).dry_stop   // => 5 psi\n/// ```",
    ),
    (
        "stretch",
        "/// The volume a hose takes up for each pressure and length; returns the part.\n///\n/// ```hw\n/// hose(50.ft, 1.inch).stretch(2.mL_per_bar_m).stretch   // => 2 mL/bar/m\n/// ```",
    ),
    (
        "minor_k",
        "/// The loss coefficients of a hose's couplings and bends together; returns the part.\n///\n/// ```hw\n/// hose(50.ft, 1.inch).minor_k(2).minor_k   // => 2\n/// ```",
    ),
    (
        "efficiency",
        "/// Water power over electrical power of a booster; returns the part.\n///\n/// ```hw\n/// booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]).efficiency(0.4).efficiency   // => 0.4\n/// ```",
    ),
    (
        "watts",
        "/// The electrical power of a booster while it runs; returns the part.\n///\n/// ```hw\n/// booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]).watts(550.W).watts   // => 550 W\n/// ```",
    ),
    (
        "npsh",
        "/// The net positive suction head that a booster requires; returns the part.\n///\n/// ```hw\n/// booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]).npsh(6.ft).npsh   // => 6 ft\n/// ```",
    ),
    (
        "speed",
        "/// The speed of a booster as a share of that of its curve (affinity laws); returns the part.\n///\n/// ```hw\n/// booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]).speed(0.9).rise_at(0.gpm)   // => 32.4 psi\n/// ```",
    ),
    (
        "elevation",
        "/// The height of a supply or tank outlet above the datum; returns the part.\n///\n/// ```hw\n/// supply(58.psi).elevation(3.ft).elevation   // => 3 ft\n/// ```",
    ),
    (
        "hazen_williams",
        "/// Friction of a hose, pipe or soaker by the Hazen-Williams formula with this C; returns the part.\n///\n/// ```hw\n/// hose(100.ft, (3/4).inch).hazen_williams(150).loss_at(6.gpm)   // => 4.727 psi\n/// ```",
    ),
    (
        "outlets",
        "/// The number of outlets of a soaker; returns the part.\n///\n/// ```hw\n/// soaker(\"row\", 100.ft, (1/2).inch, 6.gpm, 20.psi).outlets(50).outlets   // => 50\n/// ```",
    ),
    (
        "wear",
        "/// The flow of a worn nozzle over that of a new one; returns the part.\n///\n/// ```hw\n/// head(\"old\", (1/8).inch).wear(1.1).flow_at(40.psi)   // => 3.114 gpm\n/// ```",
    ),
    (
        "regulated",
        "/// The pressure that a regulator inside a head holds; returns the part.\n///\n/// ```hw\n/// head(\"even\", (1/8).inch).regulated(30.psi).flow_at(50.psi)   // => 2.451 gpm\n/// ```",
    ),
    (
        "arc",
        "/// The arc that a head waters, in degrees; returns the part.\n///\n/// ```hw\n/// head(\"corner\", (1/8).inch).arc(90).arc   // => 90\n/// ```",
    ),
    (
        "facing",
        "/// Where the middle of a head's arc points, as a bearing: 0 along the y axis of the plan (its north), 90 along the x axis; returns\n/// the part. Unless said, arcs point to the middle of all places,\n/// quarter and half circles along the axes.\n///\n/// ```hw\n/// head(\"edge\", (1/8).inch).arc(180).facing(90).facing   // => 90\n/// ```",
    ),
    (
        "exponent",
        "/// The exponent of an emitter or leak in q = flow (P / pressure)^exponent; returns the part.\n///\n/// ```hw\n/// emitter(\"drip\", 1.gph, 15.psi).exponent(0.1).flow_at(30.psi)   // => 1.072 gph\n/// ```",
    ),
];

fn build(kind: Kind, name: Option<&str>, numbers: &[(&str, &Dynamic)]) -> Answer<Part> {
    let word = kind.spec().word;
    let mut checked = Vec::with_capacity(numbers.len());
    for (number, value) in numbers {
        let spec = kind.spec().numbers.iter().find(|known| known.name == *number);
        let dimension = spec.map_or(dim::NUMBER, |spec| spec.dimension);
        let what = format!("{word}: {}", number.replace('_', " "));
        if let (Some(plain), Some(spec)) = (as_quantity(value).filter(|found| found.dimension.is_number()), spec)
            && !dimension.is_number()
        {
            return Err(without_unit(plain, spec, &what));
        }
        let si = expect_quantity(value, dimension, &what)?;
        let preference = as_quantity(value).map_or(Preference::Usual, |quantity| quantity.preference);
        checked.push((*number, Quantity { si, dimension, preference }));
    }
    Part::build(kind, name, &checked).map_err(raise)
}

/// The error for a plain number where a quantity belongs; advises the unit in which that number is usually written.
fn without_unit(plain: Quantity, spec: &Number, what: &str) -> Box<EvalAltResult> {
    let unit = find_unit(spec.unit).map_or("unit", |unit| unit.names[0]);
    let number = if plain.si.fract() == 0.0 { format!("{plain}") } else { format!("({plain})") };
    ScriptError::new(format!("{what} must be {}, found {}", spec.dimension, plain.described()))
        .with_hint(format!("give it a unit, as in {number}.{unit}"))
        .into()
}

/// Points of a curve from a list of pairs.
fn curve_points(points: &Array) -> Answer<Vec<(f64, f64)>> {
    pairs(points, "booster", ("flow", dim::FLOW), ("rise", dim::PRESSURE))
}

/// Pairs of quantities, in SI, from a list of lists of two.
fn pairs(points: &Array, word: &str, first: (&str, Dimension), second: (&str, Dimension)) -> Answer<Vec<(f64, f64)>> {
    let mut found = Vec::with_capacity(points.len());
    for (index, point) in points.iter().enumerate() {
        let number = index + 1;
        let pair = point.read_lock::<Array>().map(|pair| pair.clone()).filter(|pair| pair.len() == 2);
        let Some(pair) = pair else {
            let what =
                format!("{word}: point {number} must be a pair of {} and {}, found {}", first.0, second.0, describe(point));
            return Err(ScriptError::new(what)
                .with_hint("write a list of pairs, as in [[0.gpm, 40.psi], [10.gpm, 20.psi]]")
                .into());
        };
        let a = expect_quantity(&pair[0], first.1, &format!("{word}: {} of point {number}", first.0))?;
        let b = expect_quantity(&pair[1], second.1, &format!("{word}: {} of point {number}", second.0))?;
        found.push((a, b));
    }
    Ok(found)
}

/// The law of a part that stands alone, in water of 15 degC.
fn alone(part: &Part) -> Law {
    part.law(&crate::parts::Around { water: crate::water::Water::default(), bore_m: part.si("bore").unwrap_or(f64::NAN) })
}

fn no_answer(part: &Part, word: &str, kinds: &str) -> Box<EvalAltResult> {
    ScriptError::new(format!("{word}: a {} has no answer to this", part.spec().word)).with_hint(format!("ask {kinds}")).into()
}

#[export_module]
mod words {
    /// A house tap: its static pressure, and with `measured` what the gauge shows while a known flow runs.
    /// P = static - (static - measured) (Q / flow)^2; without a measurement the pressure stays the same.
    ///
    /// ```hw
    /// let tap = supply(58.psi).measured(44.psi, 6.gpm);
    /// tap.pressure_at(3.gpm)   // => 54.5 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn supply(static_pressure: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Supply, None, &[("static_pressure", &static_pressure)])
    }

    /// The gauge reading of a supply while a known flow runs, as from a bucket test; returns the part.
    ///
    /// ```hw
    /// supply(58.psi).measured(44.psi, 6.gpm).pressure_at(6.gpm)   // => 44 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn measured(part: Part, pressure: Dynamic, flow: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let numbers = [
            ("measured_pressure", quantity_for(&part, "measured_pressure", &pressure)?),
            ("measured_flow", quantity_for(&part, "measured_flow", &flow)?),
        ];
        part.with(&numbers).map_err(raise)
    }

    /// A tank open to the air, such as a rain barrel, by the water level above its outlet.
    ///
    /// ```hw
    /// open_tank(5.ft).pressure_at(2.gpm)   // => 2.166 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn open_tank(level: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::OpenTank, None, &[("level", &level)])
    }

    /// A hose: Darcy-Weisbach friction with the exact Colebrook-White factor, smooth (0.0015 mm) unless `rough` says otherwise.
    /// Refinements: `rough`, `rated`, `stretch`, `minor_k`, `price`, `named`.
    ///
    /// ```hw
    /// hose(100.ft, (5/8).inch).loss_at(6.gpm)   // => 12.41 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn hose(length: Dynamic, bore: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Hose, None, &[("length", &length), ("bore", &bore)])
    }

    /// A rigid pipe: the same friction as a hose.
    ///
    /// ```hw
    /// pipe(20.ft, (3/4).inch).named("riser").length   // => 20 ft
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pipe(length: Dynamic, bore: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Pipe, None, &[("length", &length), ("bore", &bore)])
    }

    /// A fitting by its name and loss coefficient k: dp = k rho v^2 / 2 at the bore of the nearest hose.
    /// With a name alone, k comes from the table of `fittings()`.
    ///
    /// ```hw
    /// fitting("quick coupler", 1.5).k   // => 1.5
    /// fitting("elbow_90").k             // => 0.75
    /// ```
    #[rhai_fn(return_raw)]
    pub fn fitting(name: &str, k: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Fitting, Some(name), &[("k", &k)])
    }

    #[rhai_fn(name = "fitting", return_raw)]
    pub fn usual_fitting(name: &str) -> Result<Part, Box<EvalAltResult>> {
        let found = find_fitting(name)
            .map_err(|error| ScriptError::new(error.to_string()).with_hint(error.hint().unwrap_or_default()))?;
        build(Kind::Fitting, None, &[("k", &Dynamic::from_float(found.k()))])
    }

    /// The usual fittings with their loss coefficients, and where each comes from.
    ///
    /// ```hw
    /// fittings().rows > 10   // => true
    /// ```
    #[rhai_fn(return_raw)]
    pub fn fittings() -> Result<crate::table::Table, Box<EvalAltResult>> {
        use crate::table::{Column, Table};
        let columns = vec![
            Column::texts("fitting", FITTINGS.iter().map(|fitting| fitting.name)),
            Column::texts("what", FITTINGS.iter().map(|fitting| fitting.detail)),
            Column::numbers("k", FITTINGS.iter().map(|fitting| fitting.k())),
            Column::texts("source", FITTINGS.iter().map(|fitting| fitting.source().describe())),
        ];
        Table::new(columns).map_err(raise)
    }

    /// A filter by its loss at one flow, clean.
    ///
    /// ```hw
    /// filter(2.psi, 6.gpm).loss_at(3.gpm)   // => 0.5 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn filter(loss: Dynamic, flow: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Filter, None, &[("loss", &loss), ("flow", &flow)])
    }

    /// A water meter by its loss at one flow.
    ///
    /// ```hw
    /// meter(3.psi, 10.gpm).loss_at(5.gpm)   // => 0.75 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn meter(loss: Dynamic, flow: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Meter, None, &[("loss", &loss), ("flow", &flow)])
    }

    /// A restriction such as a washer or the bore of a quick coupler: sudden contraction and expansion against the bore of the
    /// nearest hose.
    ///
    /// ```hw
    /// let line = supply(50.psi) >> hose(50.ft, (5/8).inch) >> washer((3/8).inch).named("coupler") >> head("spray", (5/32).inch);
    /// line.run().pressure("hose") - line.run().pressure("coupler")   // => 0.9133 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn washer(bore: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Washer, None, &[("bore", &bore)])
    }

    /// A soaker hose: equal outlets along its length, closed at the end, by the flow of all of them at a rated pressure.
    /// `outlets` says how many there are, 100 unless said; `exponent` how each answers to pressure.
    ///
    /// ```hw
    /// let row = soaker("row", 100.ft, (1/2).inch, 6.gpm, 20.psi).outlets(50);
    /// row.flow_at(20.psi)   // => 4.9 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn soaker(
        name: &str,
        length: Dynamic,
        bore: Dynamic,
        flow: Dynamic,
        pressure: Dynamic,
    ) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Soaker, Some(name), &[("length", &length), ("bore", &bore), ("flow", &flow), ("pressure", &pressure)])
    }

    /// A booster by three points of its maker's curve: shut-off rise, one running point, and the flow at which it adds nothing.
    /// A parabola runs through them.
    ///
    /// ```hw
    /// booster_by_three(48.psi, [6.gpm, 36.psi], 12.gpm).rise_at(3.gpm)   // => 45 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn booster_by_three(shut_off: Dynamic, running: Array, run_out: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let shut_off = expect_quantity(&shut_off, dim::PRESSURE, "booster_by_three: shut-off rise")?;
        let run_out = expect_quantity(&run_out, dim::FLOW, "booster_by_three: run-out flow")?;
        let running = curve_points(&vec![Dynamic::from_array(running)])?[0];
        let points = crate::parts::three_point_curve(shut_off, running, run_out)
            .map_err(|error| ScriptError::new(format!("booster_by_three: {error}")).with_hint(error.hint()))?;
        Part::new(Kind::Booster).with_curve(&points).map_err(raise)
    }

    /// A head by the table of its maker: pairs of pressure and flow, rising; between them a power law. Returns the part.
    ///
    /// ```hw
    /// head("rotor", (1/8).inch).rated_table([[25.psi, 2.gpm], [40.psi, 2.6.gpm], [60.psi, 3.1.gpm]]).flow_at(32.psi)   // => 2.295 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn rated_table(part: Part, points: Array) -> Result<Part, Box<EvalAltResult>> {
        part.with_table(&pairs(&points, "rated_table", ("pressure", dim::PRESSURE), ("flow", dim::FLOW))?).map_err(raise)
    }

    /// The flow coefficient Kv of a valve, m3/h at 1 bar; takes the place of its k. Returns the part.
    ///
    /// ```hw
    /// valve("beds").kv(3.9).cv   // => 4.50879
    /// ```
    #[rhai_fn(return_raw)]
    pub fn kv(part: Part, value: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        const ANY_BORE_M: f64 = 0.02;
        let kv = super::super::quantities::expect_number(&value, "kv: Kv")?;
        let lawful = |error: crate::laws::LawError| ScriptError::new(format!("kv: {error}"));
        let k = k_from_kv(kv, ANY_BORE_M).map_err(lawful)?;
        refine(part, "cv", &Dynamic::from_float(cv_from_k(k, ANY_BORE_M).map_err(lawful)?))
    }

    /// A change of height on the way of the water; negative is downhill.
    ///
    /// ```hw
    /// climb(6.ft).height   // => 6 ft
    /// ```
    #[rhai_fn(return_raw)]
    pub fn climb(height: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Climb, None, &[("height", &height)])
    }

    /// A zone valve; it is shut unless `run` is told its name.
    ///
    /// ```hw
    /// valve("berries").name   // => berries
    /// ```
    #[rhai_fn(return_raw)]
    pub fn valve(name: &str) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Valve, Some(name), &[])
    }

    /// A check valve: water passes one way only. It is not an approved backflow preventer.
    ///
    /// ```hw
    /// check_valve().k   // => 2
    /// ```
    #[rhai_fn(return_raw)]
    pub fn check_valve() -> Result<Part, Box<EvalAltResult>> {
        build(Kind::CheckValve, None, &[])
    }

    /// The approved device that keeps garden water out of the drinking water; which kind, the local code says.
    ///
    /// ```hw
    /// backflow_preventer().cracking(1.psi).k   // => 10
    /// ```
    #[rhai_fn(return_raw)]
    pub fn backflow_preventer() -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Backflow, None, &[])
    }

    /// A pressure regulator: holds its setting behind it, or is wide open where the pressure does not suffice.
    ///
    /// ```hw
    /// regulator(30.psi).set   // => 30 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn regulator(set: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Regulator, None, &[("set", &set)])
    }

    /// A relief valve: exactly shut below its setting, opens in proportion above it. `passes` says how much.
    ///
    /// ```hw
    /// relief(75.psi).flow_at(74.psi)     // => 0 gpm
    /// relief(75.psi).flow_at(82.5.psi)   // => 10 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn relief(set: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Relief, None, &[("set", &set)])
    }

    /// The flow that a relief valve passes at so much pressure above its setting; returns the part.
    ///
    /// ```hw
    /// relief(75.psi).passes(12.gpm, 10.psi).flow_at(80.psi)   // => 6 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn passes(part: Part, flow: Dynamic, over: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let numbers = [("flow", quantity_for(&part, "flow", &flow)?), ("over", quantity_for(&part, "over", &over)?)];
        part.with(&numbers).map_err(raise)
    }

    /// A booster pump by points of flow and pressure rise; straight lines between them, the last one goes on.
    /// Refinements: `watts`, `efficiency`, `npsh`, `speed`, `price`, `rated`, `named`.
    ///
    /// ```hw
    /// let b = booster([[0.gpm, 45.psi], [5.gpm, 38.psi], [10.gpm, 20.psi]]).watts(600.W);
    /// b.rise_at(7.5.gpm)   // => 29 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn booster(points: Array) -> Result<Part, Box<EvalAltResult>> {
        Part::new(Kind::Booster).with_curve(&curve_points(&points)?).map_err(raise)
    }

    /// A pressure switch: starts the nearest booster upstream at or below cut-in, stops it at or above cut-out.
    ///
    /// ```hw
    /// pressure_switch(30.psi, 50.psi).cut_out   // => 50 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pressure_switch(cut_in: Dynamic, cut_out: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::PressureSwitch, None, &[("cut_in", &cut_in), ("cut_out", &cut_out)])
    }

    /// A closed tank with an air cushion of a given precharge.
    ///
    /// ```hw
    /// pressure_tank(20.gal, 28.psi).volume   // => 20 gal
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pressure_tank(volume: Dynamic, precharge: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::PressureTank, None, &[("volume", &volume), ("precharge", &precharge)])
    }

    /// A sprinkler head by the bore of its nozzle: q = 0.96 A sqrt(2 P / rho); or by a rated pair, see `rated`.
    /// Refinements: `needs`, `rated`, `throws`, `arc`, `facing`, `at`, `price`.
    ///
    /// ```hw
    /// head("berry", (5/32).inch).needs(30.psi, 60.psi).flow_at(40.psi)   // => 4.423 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn head(name: &str, bore: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Head, Some(name), &[("bore", &bore)])
    }

    /// The least and the greatest pressure at which a head works well: below it stalls, above it mists or breaks. Returns the part.
    ///
    /// ```hw
    /// head("bed", (1/8).inch).needs(25.psi, 50.psi).needs_low   // => 25 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn needs(part: Part, low: Dynamic, high: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let numbers =
            [("needs_low", quantity_for(&part, "needs_low", &low)?), ("needs_high", quantity_for(&part, "needs_high", &high)?)];
        part.with(&numbers).map_err(raise)
    }

    /// For a head: its flow at a pressure, from the maker's table; takes the place of bore and coefficient.
    /// For hoses, boosters, tanks and other parts: the working pressure they are rated for. Returns the part.
    ///
    /// ```hw
    /// head("bed", (1/8).inch).rated(2.8.gpm, 40.psi).flow_at(10.psi)   // => 1.4 gpm
    /// hose(100.ft, (5/8).inch).rated(120.psi).rating                   // => 120 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn rated(part: Part, flow: Dynamic, pressure: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let numbers = [
            ("rated_flow", quantity_for(&part, "rated_flow", &flow)?),
            ("rated_pressure", quantity_for(&part, "rated_pressure", &pressure)?),
        ];
        part.with(&numbers).map_err(raise)
    }

    #[rhai_fn(name = "rated", return_raw)]
    pub fn rated_for(part: Part, pressure: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        refine(part, "rating", &pressure)
    }

    /// The roughness of a hose or pipe wall, or the name of a material from textbook tables; returns the part.
    /// An old hose with scale or slime inside is a rough one.
    ///
    /// ```hw
    /// hose(100.ft, (5/8).inch).rough(0.05.mm).roughness             // => 0.05 mm
    /// pipe(100.ft, (3/4).inch).rough("galvanized").roughness        // => 0.15 mm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn rough(part: Part, roughness: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let Ok(name) = roughness.as_immutable_string_ref().map(|name| name.to_string()) else {
            return refine(part, "roughness", &roughness);
        };
        let Some(roughness_m) = find_material(&name).and_then(|material| material.roughness_m) else {
            let known: Vec<&str> =
                MATERIALS.iter().filter(|material| material.roughness_m.is_some()).map(|material| material.name).collect();
            let error = ScriptError::new(format!("rough: there is no roughness for '{name}'"));
            return Err(error.with_hint(format!("the materials are {}", known.join(", "))).into());
        };
        refine(part, "roughness", &Dynamic::from(Quantity::new(roughness_m, dim::LENGTH)))
    }

    /// The radius that a head throws at a pressure; returns the part.
    ///
    /// ```hw
    /// head("bed", (1/8).inch).throws(35.ft, 40.psi).radius   // => 35 ft
    /// ```
    #[rhai_fn(return_raw)]
    pub fn throws(part: Part, radius: Dynamic, pressure: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let numbers = [
            ("radius", quantity_for(&part, "radius", &radius)?),
            ("radius_pressure", quantity_for(&part, "radius_pressure", &pressure)?),
        ];
        part.with(&numbers).map_err(raise)
    }

    /// The place of a head in the plan; returns the part.
    ///
    /// ```hw
    /// head("bed", (1/8).inch).at(10.ft, 20.ft).y   // => 20 ft
    /// ```
    #[rhai_fn(return_raw)]
    pub fn at(part: Part, x: Dynamic, y: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        let numbers = [("x", quantity_for(&part, "x", &x)?), ("y", quantity_for(&part, "y", &y)?)];
        part.with(&numbers).map_err(raise)
    }

    /// An emitter by its flow at a rated pressure; `exponent` is 0.5 unless said.
    ///
    /// ```hw
    /// emitter("drip", 1.gph, 15.psi).flow_at(60.psi)   // => 2 gph
    /// ```
    #[rhai_fn(return_raw)]
    pub fn emitter(name: &str, flow: Dynamic, pressure: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Emitter, Some(name), &[("flow", &flow), ("pressure", &pressure)])
    }

    /// A house tap in use: it takes its flow whatever the pressure. Set its flow to 0.gpm to shut it.
    ///
    /// ```hw
    /// draw("kitchen", 2.gpm).flow   // => 2 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn draw(name: &str, flow: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Draw, Some(name), &[("flow", &flow)])
    }

    /// A leak by what it loses at a pressure: q = flow (P / pressure)^0.5.
    ///
    /// ```hw
    /// leak("drip", 1.gph, 50.psi).flow_at(12.5.psi)   // => 0.5 gph
    /// ```
    #[rhai_fn(return_raw)]
    pub fn leak(name: &str, flow: Dynamic, pressure: Dynamic) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Leak, Some(name), &[("flow", &flow), ("pressure", &pressure)])
    }

    /// A named place in a line, such as a manifold or a gauge; no loss.
    ///
    /// ```hw
    /// point("manifold").kind   // => point
    /// ```
    #[rhai_fn(return_raw)]
    pub fn point(name: &str) -> Result<Part, Box<EvalAltResult>> {
        build(Kind::Point, Some(name), &[])
    }

    /// The same part under a name; names are unique in a garden and have no dot.
    ///
    /// ```hw
    /// hose(100.ft, (5/8).inch).named("feed").name   // => feed
    /// ```
    #[rhai_fn(return_raw)]
    pub fn named(part: Part, name: &str) -> Result<Part, Box<EvalAltResult>> {
        part.named(name).map_err(raise)
    }

    /// What a head, emitter, leak or relief valve discharges at a gauge pressure.
    ///
    /// ```hw
    /// head("bed", (1/8).inch).flow_at(40.psi)   // => 2.831 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn flow_at(part: Part, pressure: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        let pressure_pa = expect_quantity(&pressure, dim::PRESSURE, "flow_at: pressure")?;
        let above = pressure_pa.max(0.0);
        let flow = match alone(&part) {
            Law::Orifice { resistance } => (above / resistance).sqrt(),
            Law::RegulatedOrifice { resistance, set_pa } => (above.min(set_pa) / resistance).sqrt(),
            Law::Tabulated { table } => table.flow(above),
            Law::Power { coefficient, exponent } => coefficient * above.powf(exponent),
            Law::Relief { set_pa, resistance } => ((pressure_pa - set_pa) / resistance).max(0.0),
            Law::Shut => 0.0,
            Law::Demand { flow_m3_per_s } => flow_m3_per_s,
            _ => return Err(no_answer(&part, "flow_at", "a head, an emitter, a leak or a relief valve")),
        };
        let unit = part.si("flow").and_then(|_| part.get("flow").ok()).map_or(Preference::Usual, |flow| flow.preference);
        Ok(Dynamic::from(Quantity { si: flow, dimension: dim::FLOW, preference: unit }))
    }

    /// What a hose, pipe, fitting or valve loses at a flow, in water of 15 degC; fittings and valves need a bore of their own.
    ///
    /// ```hw
    /// hose(100.ft, (3/4).inch).loss_at(6.gpm)   // => 5.196 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn loss_at(part: Part, flow: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        let flow = expect_quantity(&flow, dim::FLOW, "loss_at: flow")?;
        let needs_bore = part.si("k").is_some_and(|k| k > 0.0) && part.si("bore").is_none() && part.si("cv").is_none();
        if needs_bore {
            let error = ScriptError::new(format!("loss_at: {} has no bore of its own", part.title()));
            return Err(error.with_hint("say it, as in .bore((3/4).inch)").into());
        }
        let loss = match alone(&part) {
            Law::Friction { pipe, resistance } => pipe.loss(flow, &mut 0.0).loss_pa + resistance * flow * flow.abs(),
            Law::HazenWilliams { pipe, resistance } => pipe.loss(flow).loss_pa + resistance * flow * flow.abs(),
            Law::Quadratic { resistance } => resistance * flow * flow.abs(),
            Law::OneWay { resistance, cracking_pa } if flow >= 0.0 => cracking_pa + resistance * flow * flow,
            Law::Regulator { resistance, .. } if flow >= 0.0 => resistance * flow * flow,
            _ => return Err(no_answer(&part, "loss_at", "a hose, a pipe, a fitting or an open valve")),
        };
        Ok(Dynamic::from(Quantity::new(loss, dim::PRESSURE)))
    }

    /// The pressure that a supply or open tank gives while a flow runs.
    ///
    /// ```hw
    /// supply(58.psi).measured(44.psi, 6.gpm).pressure_at(9.gpm)   // => 26.5 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn pressure_at(part: Part, flow: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        let flow = expect_quantity(&flow, dim::FLOW, "pressure_at: flow")?;
        let Law::Source { pressure_pa, resistance } = alone(&part) else {
            return Err(no_answer(&part, "pressure_at", "a supply or an open tank"));
        };
        Ok(Dynamic::from(Quantity::new(pressure_pa - resistance * flow * flow.abs(), dim::PRESSURE)))
    }

    /// The pressure rise of a booster at a flow.
    ///
    /// ```hw
    /// booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]).rise_at(5.gpm)   // => 30 psi
    /// ```
    #[rhai_fn(return_raw)]
    pub fn rise_at(part: Part, flow: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        let flow = expect_quantity(&flow, dim::FLOW, "rise_at: flow")?;
        let Law::Booster { curve } = alone(&part) else {
            return Err(no_answer(&part, "rise_at", "a booster"));
        };
        Ok(Dynamic::from(Quantity::new(curve.rise(flow).0, dim::PRESSURE)))
    }

    /// The mean speed of water in a bore.
    ///
    /// ```hw
    /// speed_in((5/8).inch, 6.gpm)   // => 6.275 ft/s
    /// ```
    #[rhai_fn(return_raw)]
    pub fn speed_in(bore: Dynamic, flow: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        let bore_m = expect_quantity(&bore, dim::LENGTH, "speed_in: bore")?;
        let flow = expect_quantity(&flow, dim::FLOW, "speed_in: flow")?;
        if bore_m <= 0.0 {
            return Err(ScriptError::new(format!("speed_in: bore must be above zero, found {}", describe(&bore))).into());
        }
        Ok(Dynamic::from(Quantity::new(crate::laws::section::speed_m_per_s(flow, bore_m), dim::SPEED)))
    }

    /// The flow of a bucket test: its volume over the time it takes to fill.
    ///
    /// ```hw
    /// bucket_test(5.gal, 48.s)   // => 6.25 gpm
    /// ```
    #[rhai_fn(return_raw)]
    pub fn bucket_test(volume: Dynamic, time: Dynamic) -> Result<Dynamic, Box<EvalAltResult>> {
        let volume = expect_quantity(&volume, dim::VOLUME, "bucket_test: volume")?;
        let time = expect_quantity(&time, dim::TIME, "bucket_test: time")?;
        if volume <= 0.0 || time <= 0.0 {
            return Err(ScriptError::new("bucket_test: volume and time must be above zero").into());
        }
        Ok(Dynamic::from(Quantity::new(volume / time, dim::FLOW)))
    }
}
