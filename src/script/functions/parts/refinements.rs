//! Refinements that set the number of their own name, such as `price` and `diameter`, with their help.
//!
//! Refinements of more than one number stand with the parts they belong to.

use super::make::refine;
use crate::parts::{Id, Part};
use rhai::{Dynamic, Engine, FuncRegistration};

/// Registers these words.
pub fn register(engine: &mut Engine) {
    for (id, doc) in REFINEMENTS {
        FuncRegistration::new(word_of(*id))
            .with_params_info(["part: Part", "value: Dynamic"])
            .with_comments(doc.lines())
            .register_into_engine(engine, |part: Part, value: Dynamic| refine(part, *id, &value));
    }
}

/// The word of a refinement: that of its number, but for the coefficient that bears a formula's name.
fn word_of(id: Id) -> &'static str {
    if id == Id::HazenWilliamsC { "hazen_williams" } else { id.word() }
}

/// Refinements that set the number of their own name.
pub const REFINEMENTS: &[(Id, &str)] = &[
    (
        Id::Price,
        "/// What a part costs; returns the part.\n///\n/// ```hw\n/// hose(50.ft, 1.inch).price(30.dollars).price   // => $30.00\n/// ```",
    ),
    (
        Id::Diameter,
        "/// The diameter of a part that takes it from the nearest hose otherwise; returns the part.\n///\n/// ```hw\n/// valve(\"beds\").diameter((3/4).inch).diameter   // => 0.75 in\n/// ```",
    ),
    (
        Id::K,
        "/// The loss coefficient of a fitting or valve: dp = k rho v^2 / 2; returns the part.\n///\n/// ```hw\n/// valve(\"beds\").k(6).k   // => 6\n/// ```",
    ),
    (
        Id::Cv,
        "/// The flow coefficient of a valve, gpm at 1 psi; takes the place of its k. Returns the part.\n///\n/// ```hw\n/// valve(\"beds\").cv(4.5).cv   // => 4.5\n/// ```",
    ),
    (
        Id::CrackingPressure,
        "/// The pressure difference at which a check valve begins to open; returns the part.\n///\n/// ```hw\n/// check_valve().cracking_pressure(0.5.psi).cracking_pressure   // => 0.5 psi\n/// ```",
    ),
    (
        Id::ClosingTime,
        "/// The time in which a valve stops the flow when it shuts, for `knock`; 0.3 s unless said. Returns the part.\n///\n/// ```hw\n/// valve(\"beds\").closing_time(2.s).closing_time   // => 2 s\n/// ```",
    ),
    (
        Id::Inflow,
        "/// What comes into an open tank by itself: rain, a float valve, the recovery of a well. Returns the part.\n///\n/// ```hw\n/// open_tank(4.ft).volume(200.gal).inflow(1.gpm).inflow   // => 1 gpm\n/// ```",
    ),
    (
        Id::Volume,
        "/// The water that an open tank holds when full; returns the part.\n///\n/// ```hw\n/// open_tank(3.ft).volume(55.gal).volume   // => 55 gal\n/// ```",
    ),
    (
        Id::DryRunCutoff,
        "/// The pressure at the inlet of a booster at which its guard stops it for good; returns the part.\n///\n/// ```hw\n/// booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]).dry_run_cutoff(5.psi).dry_run_cutoff   // => 5 psi\n/// ```",
    ),
    (
        Id::Compliance,
        "/// The volume a hose takes up for each pressure and length; returns the part.\n///\n/// ```hw\n/// hose(50.ft, 1.inch).compliance(2.mL_per_bar_m).compliance   // => 2 mL/bar/m\n/// ```",
    ),
    (
        Id::MinorK,
        "/// The loss coefficients of a hose's couplings and bends together; returns the part.\n///\n/// ```hw\n/// hose(50.ft, 1.inch).minor_k(2).minor_k   // => 2\n/// ```",
    ),
    (
        Id::Efficiency,
        "/// Water power over electrical power of a booster; returns the part.\n///\n/// ```hw\n/// booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]).efficiency(0.4).efficiency   // => 0.4\n/// ```",
    ),
    (
        Id::InputPower,
        "/// The electrical power of a booster while it runs; returns the part.\n///\n/// ```hw\n/// booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]).input_power(550.W).input_power   // => 550 W\n/// ```",
    ),
    (
        Id::Npsh,
        "/// The net positive suction head that a booster requires; returns the part.\n///\n/// ```hw\n/// booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]).npsh(6.ft).npsh   // => 6 ft\n/// ```",
    ),
    (
        Id::Speed,
        "/// The speed of a booster as a share of that of its curve (affinity laws); returns the part.\n///\n/// ```hw\n/// booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]).speed(0.9).boost_at(0.gpm)   // => 32.4 psi\n/// ```",
    ),
    (
        Id::Elevation,
        "/// The height of a supply or tank outlet above the datum; returns the part.\n///\n/// ```hw\n/// supply(58.psi).elevation(3.ft).elevation   // => 3 ft\n/// ```",
    ),
    (
        Id::HazenWilliamsC,
        "/// Friction of a hose, pipe or soaker by the Hazen-Williams formula with this C; returns the part.\n///\n/// ```hw\n/// hose(100.ft, (3/4).inch).hazen_williams(150).loss_at(6.gpm)   // => 4.727 psi\n/// ```",
    ),
    (
        Id::Outlets,
        "/// The number of outlets of a soaker; returns the part.\n///\n/// ```hw\n/// soaker(\"row\", 100.ft, (1/2).inch, 6.gpm, 20.psi).outlets(50).outlets   // => 50\n/// ```",
    ),
    (
        Id::Wear,
        "/// The flow of a worn nozzle over that of a new one; returns the part.\n///\n/// ```hw\n/// head(\"old\", (1/8).inch).wear(1.1).flow_at(40.psi)   // => 3.114 gpm\n/// ```",
    ),
    (
        Id::Regulated,
        "/// The pressure that a regulator inside a head holds; returns the part.\n///\n/// ```hw\n/// head(\"even\", (1/8).inch).regulated(30.psi).flow_at(50.psi)   // => 2.451 gpm\n/// ```",
    ),
    (
        Id::Arc,
        "/// The arc that a head waters, in degrees; returns the part.\n///\n/// ```hw\n/// head(\"corner\", (1/8).inch).arc(90).arc   // => 90\n/// ```",
    ),
    (
        Id::Facing,
        "/// Where the middle of a head's arc points, as a bearing: 0 along the y axis of the plan (its north), 90 along the x axis; returns\n/// the part. Unless said, arcs point to the middle of all places,\n/// quarter and half circles along the axes.\n///\n/// ```hw\n/// head(\"edge\", (1/8).inch).arc(180).facing(90).facing   // => 90\n/// ```",
    ),
    (
        Id::Exponent,
        "/// The exponent of an emitter or leak in q = flow (P / pressure)^exponent; returns the part.\n///\n/// ```hw\n/// emitter(\"drip\", 1.gph, 15.psi).exponent(0.1).flow_at(30.psi)   // => 1.072 gph\n/// ```",
    ),
];
