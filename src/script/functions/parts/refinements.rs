//! Functions that set the parameter of the same name, such as `price` and `diameter`, with their help.
//!
//! Functions that set more than one parameter are with the parts they belong to.

use super::make::refine;
use crate::parts::{Id, Part};
use rhai::{Dynamic, Engine, FuncRegistration};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    for (id, doc) in REFINEMENTS {
        FuncRegistration::new(word_of(*id))
            .with_params_info(["part: Part", "value: Dynamic"])
            .with_comments(doc.lines())
            .register_into_engine(engine, |part: Part, value: Dynamic| refine(part, *id, &value));
    }
}

/// The name of the function: that of its parameter, except for the Hazen-Williams coefficient.
fn word_of(id: Id) -> &'static str {
    if id == Id::HazenWilliamsC { "hazen_williams" } else { id.word() }
}

/// Functions that set the parameter of the same name.
pub const REFINEMENTS: &[(Id, &str)] = &[
    (
        Id::Price,
        "/// The price (cost) of a part; returns the part.\n///\n/// ```hw\n/// hose(50.ft, 1.inch).price(30.USD).price   // => $30.00\n/// ```",
    ),
    (
        Id::Diameter,
        "/// The inside diameter of a part; default that of the nearest hose. Returns the part.\n///\n/// ```hw\n/// valve(\"beds\").diameter((3/4).inch).diameter   // => 3/4 in\n/// ```",
    ),
    (
        Id::K,
        "/// The loss coefficient of a fitting or valve: dp = k rho v^2 / 2; returns the part.\n///\n/// ```hw\n/// valve(\"beds\").k(6).k   // => 6\n/// ```",
    ),
    (
        Id::Cv,
        "/// The flow coefficient Cv of a valve, gpm at 1 psi; replaces its k. Returns the part.\n///\n/// ```hw\n/// valve(\"beds\").cv(4.5).cv   // => 4.5\n/// ```",
    ),
    (
        Id::CrackingPressure,
        "/// The cracking pressure of a check valve, the pressure difference at which it opens; returns the part.\n///\n/// ```hw\n/// check_valve().cracking_pressure(0.5.psi).cracking_pressure   // => 0.5 psi\n/// ```",
    ),
    (
        Id::ClosingTime,
        "/// The closing time of a valve, for `water_hammer`; default 0.3 s (hand ball valve; a diaphragm valve takes 1 to 3 s). Returns the part.\n///\n/// ```hw\n/// valve(\"beds\").closing_time(2.s).closing_time   // => 2 s\n/// ```",
    ),
    (
        Id::Inflow,
        "/// The inflow of an open tank: rain, a float valve, the recovery rate of a well. Returns the part.\n///\n/// ```hw\n/// open_tank(4.ft).volume(200.gal).inflow(1.gpm).inflow   // => 1 gpm\n/// ```",
    ),
    (
        Id::LowestStatic,
        "/// The lowest static pressure of a supply, as on a hot evening, at which a pump must still stop: findings and `switch_window` use it. Returns the part.\n///\n/// ```hw\n/// supply(58.psi).lowest_static(45.psi).lowest_static   // => 45 psi\n/// ```",
    ),
    (
        Id::Volume,
        "/// The volume of an open tank when full; returns the part.\n///\n/// ```hw\n/// open_tank(3.ft).volume(55.gal).volume   // => 55 gal\n/// ```",
    ),
    (
        Id::DryRunCutoff,
        "/// The dry-run cut-off (low-suction cut-off) of a booster: the inlet pressure at which it locks the pump out; returns the part.\n///\n/// ```hw\n/// booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]).dry_run_cutoff(5.psi).dry_run_cutoff   // => 5 psi\n/// ```",
    ),
    (
        Id::Compliance,
        "/// The compliance of a hose, its change of volume per pressure and length; returns the part.\n///\n/// ```hw\n/// hose(50.ft, 1.inch).compliance(2.mL_per_bar_m).compliance   // => 2 mL/bar/m\n/// ```",
    ),
    (
        Id::MinorK,
        "/// The minor losses of a hose: sum of the loss coefficients of its couplings and bends; returns the part.\n///\n/// ```hw\n/// hose(50.ft, 1.inch).minor_k(2).minor_k   // => 2\n/// ```",
    ),
    (
        Id::Efficiency,
        "/// The efficiency of a booster, water power divided by electrical power; returns the part.\n///\n/// ```hw\n/// booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]).efficiency(0.4).efficiency   // => 0.4\n/// ```",
    ),
    (
        Id::InputPower,
        "/// The electrical input power of a booster in operation; returns the part.\n///\n/// ```hw\n/// booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]).input_power(550.W).input_power   // => 550 W\n/// ```",
    ),
    (
        Id::Npsh,
        "/// The net positive suction head (NPSH) that a booster requires against cavitation; returns the part.\n///\n/// ```hw\n/// booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]).npsh(6.ft).npsh   // => 6 ft\n/// ```",
    ),
    (
        Id::Speed,
        "/// The speed of a booster relative to that of its pump curve (affinity laws); returns the part.\n///\n/// ```hw\n/// booster([[0.gpm, 40.psi], [10.gpm, 20.psi]]).speed(0.9).boost_at(0.gpm)   // => 32.4 psi\n/// ```",
    ),
    (
        Id::Elevation,
        "/// The elevation of a supply or tank outlet above the datum; returns the part.\n///\n/// ```hw\n/// supply(58.psi).elevation(3.ft).elevation   // => 3 ft\n/// ```",
    ),
    (
        Id::HazenWilliamsC,
        "/// Friction loss of a hose, pipe or soaker by the Hazen-Williams formula with this C; returns the part.\n///\n/// ```hw\n/// hose(100.ft, (3/4).inch).hazen_williams(150).loss_at(6.gpm)   // => 4.7 psi\n/// ```",
    ),
    (
        Id::Outlets,
        "/// The number of outlets of a soaker; returns the part.\n///\n/// ```hw\n/// soaker(\"row\", 100.ft, (1/2).inch, 6.gpm, 20.psi).outlets(50).outlets   // => 50\n/// ```",
    ),
    (
        Id::Wear,
        "/// The wear of a nozzle: its flow relative to that of a new one; returns the part.\n///\n/// ```hw\n/// head(\"old\", (1/8).inch).wear(1.1).flow_at(40.psi)   // => 3.11 gpm\n/// ```",
    ),
    (
        Id::Regulated,
        "/// The set pressure of a regulator inside a head (regulated head); returns the part.\n///\n/// ```hw\n/// head(\"even\", (1/8).inch).regulated(30.psi).flow_at(50.psi)   // => 2.45 gpm\n/// ```",
    ),
    (
        Id::MinimumFlow,
        "/// The flow below which a diaphragm valve may not close, a regulator may not hold its setting, or a pump control or drive stops the pump; returns the part.\n///\n/// ```hw\n/// regulator(25.psi).minimum_flow(0.5.gpm).minimum_flow   // => 0.5 gpm\n/// ```",
    ),
    (
        Id::Delay,
        "/// The delay of a pump start relay, flow-and-pressure control or drive: from the opening of a zone to the start of the pump, or from the end of the flow to its stop. Returns the part.\n///\n/// ```hw\n/// pump_start().delay(2.s).delay   // => 2 s\n/// ```",
    ),
    (
        Id::StartMargin,
        "/// The fall of the line pressure below the set pressure at which a drive starts its pump; returns the part.\n///\n/// ```hw\n/// drive(60.psi).start_margin(8.psi).start_margin   // => 8 psi\n/// ```",
    ),
    (
        Id::Mesh,
        "/// The mesh of a filter, openings an inch: drip lines need 150 or finer. Returns the part.\n///\n/// ```hw\n/// filter(2.psi, 6.gpm).mesh(150).mesh   // => 150\n/// ```",
    ),
    (
        Id::Arc,
        "/// The arc of a head (sector, part circle), in degrees; returns the part.\n///\n/// ```hw\n/// head(\"corner\", (1/8).inch).arc(90).arc   // => 90\n/// ```",
    ),
    (
        Id::Facing,
        "/// The direction of the middle of a head's arc, as a bearing: 0 along the y axis of the plan (north), 90 along the x axis; returns\n/// the part. By default arcs point to the center of all positions,\n/// quarter and half circles along the axes.\n///\n/// ```hw\n/// head(\"edge\", (1/8).inch).arc(180).facing(90).facing   // => 90\n/// ```",
    ),
    (
        Id::Trajectory,
        "/// The trajectory of a head: the angle of its stream above level ground, in degrees (25 where it is not given). Coverage in wind depends\n/// on it; returns the part.\n///\n/// ```hw\n/// head(\"low angle\", (1/8).inch).trajectory(12).trajectory   // => 12\n/// ```",
    ),
    (
        Id::Riser,
        "/// The riser of a head: the height of its nozzle above the ground (4 in where it is not given). Coverage in wind depends on it; returns\n/// the part.\n///\n/// ```hw\n/// head(\"hedge\", (1/8).inch).riser(12.inch).riser   // => 12 in\n/// ```",
    ),
    (
        Id::CheckHeight,
        "/// The height of the water above a head that its built-in check valve holds back, as its maker states it: the line does not drain through the\n/// head after its valve has closed. Returns the part.\n///\n/// ```hw\n/// head(\"low\", (1/8).inch).check_height(10.ft).check_height   // => 10 ft\n/// ```",
    ),
    (
        Id::Exponent,
        "/// The exponent of an emitter or leak in q = flow (P / pressure)^exponent; returns the part.\n///\n/// ```hw\n/// emitter(\"drip\", 1.gph, 15.psi).exponent(0.1).flow_at(30.psi)   // => 1.07 gph\n/// ```",
    ),
];
