//! Water parts at vapor pressure: what pumps and siphons can pull, against hand calculations, and on random gardens.
//!
//! Where numbers come from: vapor pressure of water from the check table `tests/checks/water_properties.csv` (IAPWS-95),
//! the standard atmosphere from `tests/checks/atmosphere.csv`, friction by the independent hose of `solve/march.rs`.

#[path = "solve/march.rs"]
#[allow(dead_code)]
mod march;
mod support;

use hosewright::garden::{Garden, drawing};
use hosewright::hydraulics::{Network, Probe, ProbeKind, RunError, Solution, run};
use hosewright::parts::{Id, Kind, Placing};
use hosewright::water::Water;
use proptest::prelude::*;
use support::*;

const DENSITY: f64 = 999.1;
const GRAVITY: f64 = 9.80665;
/// Vapor pressure at 15 degC less the standard atmosphere, Pa: 1705.7 (IAPWS-95) less 101325.
const VAPOR_PA: f64 = 1_705.7 - 101_325.0;

fn m(value: f64) -> hosewright::quantity::Quantity {
    q(value, "m")
}

fn hose_m(name: &str, length_m: f64, diameter_m: f64) -> Garden {
    part(Kind::Hose, name, &[("length", m(length_m)), ("diameter", m(diameter_m))])
}

fn rise_m(name: &str, height_m: f64) -> Garden {
    part(Kind::Uphill, name, &[("height", m(height_m))])
}

fn tank(name: &str, level_m: f64) -> Garden {
    part(Kind::OpenTank, name, &[("level", m(level_m))])
}

fn pump() -> Garden {
    booster("pump", &[(0.0, 45.0), (8.0, 30.0)])
}

fn solution(garden: &Garden) -> Solution {
    run(garden, &[]).expect("a steady state")
}

fn flow(solution: &Solution, name: &str) -> f64 {
    solution.flow_m3_per_s(name).expect("known")
}

fn inlet_pa(solution: &Solution, name: &str) -> f64 {
    solution.state(name).expect("known").pressure_in_pa.expect("fed")
}

fn outlet_pa(solution: &Solution, name: &str) -> f64 {
    solution.state(name).expect("known").pressure_out_pa.expect("fed")
}

/// How the flow of the gun changes with a number of a part, given by their words.
fn slopes_of_the_gun(garden: &Garden) -> impl Fn(&str, &str) -> f64 + '_ {
    let mut network = Network::new(garden, &vec![true; garden.parts().len()]).expect("sound");
    network.solve().expect("a steady state");
    let gun = Probe { place: garden.find("gun").expect("known"), kind: ProbeKind::Flow };
    let slopes = network.slopes(&gun).expect("slopes");
    move |part, number| {
        let place = garden.find(part).expect("known");
        slopes.to(&network, place, garden.parts()[place].id_of(number).expect("known")).expect("a slope")
    }
}

/// A pump that lifts water out of a tank and gives it to a large head.
fn lift(level_m: f64, height_m: f64) -> Garden {
    line(&[tank("tank", level_m), hose_m("suction", 20.0, 0.025), rise_m("rise", height_m), pump(), head("gun", 0.5)])
}

/// The largest flow that the suction line of [`lift`] lets through: all but the vapor pressure is used up.
fn most_lifted(level_m: f64, height_m: f64) -> f64 {
    let driven_by_pa = DENSITY * GRAVITY * (level_m - height_m) - VAPOR_PA;
    march::bisect(0.0, 0.01, |flow| march::hose_loss(20.0, 0.025, flow) - driven_by_pa)
}

#[test]
fn a_pump_lifts_what_its_suction_line_lets_through_at_vapor_pressure() {
    for height_m in [8.5, 9.5, 10.5, 11.0] {
        let solution = solution(&lift(1.0, height_m));
        let expected = most_lifted(1.0, height_m);
        // The vapor pressure is known to five digits here.
        assert!(
            (flow(&solution, "gun") / expected - 1.0).abs() < 1e-5,
            "{height_m} m: {} and {expected}",
            flow(&solution, "gun")
        );
        assert!((inlet_pa(&solution, "pump") - VAPOR_PA).abs() < 0.2, "{}", inlet_pa(&solution, "pump"));
        assert_eq!(solution.parted, [solution.garden.find("pump").expect("known")]);
        // Behind the pump the head rules: its pressure belongs to its flow.
        let nozzle = march::nozzle(0.5 * 0.0254);
        assert!((outlet_pa(&solution, "pump") / (nozzle * expected * expected) - 1.0).abs() < 2e-5);
    }
}

#[test]
fn a_pump_lifts_nothing_from_ten_metres_and_a_sixth_at_sea_level() {
    // (101325 - 1705.7) Pa / (999.1 kg/m3 9.80665 m/s2) = 10.1675 m of water, without friction.
    let bare = |height_m: f64| line(&[tank("tank", 0.0), rise_m("rise", height_m), pump(), head("spray", 0.125)]);
    let free = solution(&bare(10.16));
    assert!(flow(&free, "spray") > 1e-4 && free.parted.is_empty());
    let parted = solution(&bare(10.175));
    assert_eq!(flow(&parted, "spray"), 0.0);
    assert_eq!(parted.parted, [parted.garden.find("pump").expect("known")]);
    assert!((inlet_pa(&parted, "pump") - VAPOR_PA).abs() < 0.2);
    // A head stands dry behind it, at the pressure of the air.
    assert!(parted.pressure_pa("spray").expect("known").unwrap_or(0.0).abs() < 1e-9);
}

#[test]
fn height_above_the_sea_and_warm_water_take_from_the_lift() {
    // Standard atmosphere at 2000 m: 79495 Pa; vapor pressure at 30 degC: 4247 Pa; densities as in the tables.
    let at = |garden: Garden, height_m: f64, water: Water, altitude_m: f64| {
        let garden = garden.with("rise.height", m(height_m)).expect("a height").with_water(water);
        flow(&solution(&garden.with_altitude(altitude_m).expect("an altitude")), "spray")
    };
    let bare = || line(&[tank("tank", 0.0), rise_m("rise", 1.0), pump(), head("spray", 0.125)]);
    let limit = |atmosphere_pa: f64, vapor_pa: f64, density: f64| (atmosphere_pa - vapor_pa) / (density * GRAVITY);
    let warm = Water::at(303.15).expect("in range");
    for (water, altitude_m, limit_m) in [
        (Water::default(), 2000.0, limit(79_495.0, 1_705.7, 999.1)),
        (warm, 0.0, limit(101_325.0, 4_247.0, 995.65)),
        (warm, 2000.0, limit(79_495.0, 4_247.0, 995.65)),
    ] {
        assert!(at(bare(), limit_m - 0.005, water, altitude_m) > 1e-4, "{limit_m}");
        assert_eq!(at(bare(), limit_m + 0.005, water, altitude_m), 0.0, "{limit_m}");
    }
}

#[test]
fn the_flow_falls_without_a_jump_as_the_lift_grows() {
    let mut network = {
        let garden = lift(1.0, 0.0);
        Network::new(&garden, &vec![true; garden.parts().len()]).expect("sound")
    };
    let garden = lift(1.0, 0.0);
    let (rise, gun) = (garden.find("rise").expect("known"), garden.find("gun").expect("known"));
    let pump = garden.find("suction").expect("known");
    let mut last = f64::NAN;
    for step in 0..=2400 {
        let height_m = 0.005 * f64::from(step);
        network.set(rise, Id::Height, height_m).expect("a height");
        network.solve().expect("a steady state");
        let found = network.flow(gun);
        let cold = flow(&solution(&garden.with("rise.height", m(height_m)).expect("a height")), "gun");
        assert!((found - cold).abs() <= 1e-8 * found + 1e-11, "{height_m} m: {found} going on, {cold} afresh");
        assert!(network.probe(&Probe { place: pump, kind: ProbeKind::Pressure }) >= VAPOR_PA - 0.3);
        // Near the greatest lift the flow goes with the root of what is left.
        assert!(last.is_nan() || (found <= last + 1e-11 && last - found < 6e-5), "{height_m} m: from {last} to {found}");
        last = found;
    }
    assert_eq!(last, 0.0);
}

#[test]
fn a_siphon_runs_as_fast_as_its_rising_leg_lets_it() {
    let siphon = |crest_m: f64| {
        let up = [tank("tank", 0.5), hose_m("up", 10.0, 0.02), rise_m("wall", crest_m), part(Kind::Point, "crest", &[])];
        let down = [rise_m("slope", -crest_m - 20.0), hose_m("down", 10.0, 0.02), head("end", 0.7)];
        solution(&line(&[line(&up), line(&down)]))
    };
    let high = siphon(9.0);
    let driven_by_pa = DENSITY * GRAVITY * (0.5 - 9.0) - VAPOR_PA;
    let expected = march::bisect(0.0, 0.01, |flow| march::hose_loss(10.0, 0.02, flow) - driven_by_pa);
    assert!((flow(&high, "end") / expected - 1.0).abs() < 1e-5, "{} and {expected}", flow(&high, "end"));
    assert!((outlet_pa(&high, "crest") - VAPOR_PA).abs() < 0.2);
    assert_eq!(high.parted, [high.garden.find("slope").expect("known")]);
    // Over a wall that the air cannot push it over nothing comes, and nothing stands behind.
    let dry = siphon(11.0);
    assert_eq!(flow(&dry, "end"), 0.0);
    assert!((outlet_pa(&dry, "crest") - VAPOR_PA).abs() < 0.2);
}

#[test]
fn a_pump_right_at_a_fork_holds_the_fork_at_vapor_pressure() {
    let up = line(&[tank("tank", 1.0), hose_m("suction", 20.0, 0.025), rise_m("rise", 9.0), part(Kind::Point, "fork", &[])]);
    let garden = up
        .then_branches(&[
            line(&[pump(), head("gun", 0.5)]),
            line(&[hose_m("low", 5.0, 0.01), rise_m("ditch", -14.0), head("low head", 0.2)]),
        ])
        .expect("joins");
    let solution = solution(&garden);
    assert!((outlet_pa(&solution, "fork") - VAPOR_PA).abs() < 0.2, "{}", outlet_pa(&solution, "fork"));
    let expected = most_lifted(1.0, 9.0);
    let total = flow(&solution, "suction");
    assert!((total / expected - 1.0).abs() < 1e-5, "{total} and {expected}");
    // At vapor pressure nothing is left to push water through a hose, though it falls behind it.
    assert_eq!(flow(&solution, "low head"), 0.0);
    assert!((flow(&solution, "gun") - total).abs() < 1e-9 * total);
}

#[test]
fn two_pumps_right_at_a_fork_share_what_comes_and_nothing_decides_how() {
    let up = line(&[tank("tank", 1.0), hose_m("suction", 20.0, 0.025), rise_m("rise", 9.0), part(Kind::Point, "fork", &[])]);
    let branch = |pump: &str, gun: &str| line(&[booster(pump, &[(0.0, 45.0), (8.0, 30.0)]), head(gun, 0.5)]);
    let solution = solution(&up.then_branches(&[branch("one", "a"), branch("two", "b")]).expect("joins"));
    let expected = most_lifted(1.0, 9.0);
    assert!(((flow(&solution, "a") + flow(&solution, "b")) / expected - 1.0).abs() < 1e-5);
    let place = |name: &str| solution.garden.find(name).expect("known");
    assert_eq!(solution.undetermined, [[place("one"), place("two")]]);
}

#[test]
fn water_that_runs_back_over_a_crest_parts_there_too() {
    // Laid from a low tank, over a wall, to a high tank: water runs from the high one against the way of the line.
    let way = |wall_m: f64| {
        line(&[
            tank("low", 0.2),
            hose_m("a", 10.0, 0.02),
            rise_m("overpressure", wall_m),
            part(Kind::Point, "crest", &[]),
            rise_m("onto", 8.0 - wall_m),
            hose_m("b", 10.0, 0.02),
            part(Kind::Point, "top", &[]),
        ])
        .add_source("top", &tank("high", 2.0))
        .expect("joins")
    };
    // From the high tank the crest lies wall - 10 m above its water.
    let solution_of = |wall_m: f64| solution(&way(wall_m));
    let free = solution_of(12.0);
    assert!(flow(&free, "a") < -1e-4 && free.parted.is_empty());
    let parted = solution_of(19.0);
    let driven_by_pa = DENSITY * GRAVITY * (2.0 + 8.0 - 19.0) - VAPOR_PA;
    let expected = march::bisect(0.0, 0.01, |flow| march::hose_loss(10.0, 0.02, flow) - driven_by_pa);
    assert!((-flow(&parted, "a") / expected - 1.0).abs() < 1e-5, "{} and {expected}", flow(&parted, "a"));
    assert!((outlet_pa(&parted, "crest") - VAPOR_PA).abs() < 0.2);
    let still = solution_of(21.0);
    assert_eq!(flow(&still, "a"), 0.0);
    // Each tank holds its own column.
    assert!((outlet_pa(&still, "b") - DENSITY * GRAVITY * 2.0).abs() < 1e-3);
    assert!((outlet_pa(&still, "a") - DENSITY * GRAVITY * 0.2).abs() < 1e-3);
}

#[test]
fn water_that_parts_at_a_crest_parts_again_before_the_pump_behind_it() {
    // The crest lets 1 m of fall less through than the pump could draw, so both hold vapor pressure, and what lies between loses
    // what friction takes at the flow that the way up to the crest allows.
    let up = [tank("tank", 0.5), hose_m("up", 10.0, 0.02), rise_m("wall", 9.0), part(Kind::Point, "crest", &[])];
    let down =
        [rise_m("slope", -2.0), hose_m("between", 10.0, 0.02), booster("pump", &[(0.0, 45.0), (20.0, 20.0)]), head("gun", 0.7)];
    let solution = solution(&line(&[line(&up), line(&down)]));
    let driven_by_pa = DENSITY * GRAVITY * (0.5 - 9.0) - VAPOR_PA;
    let expected = march::bisect(0.0, 0.01, |flow| march::hose_loss(10.0, 0.02, flow) - driven_by_pa);
    assert!((flow(&solution, "gun") / expected - 1.0).abs() < 1e-5, "{} and {expected}", flow(&solution, "gun"));
    assert!((outlet_pa(&solution, "crest") - VAPOR_PA).abs() < 0.2);
    assert!((inlet_pa(&solution, "pump") - VAPOR_PA).abs() < 0.2);
    let lost_pa = inlet_pa(&solution, "between") - outlet_pa(&solution, "between");
    let by_law_pa = march::hose_loss(10.0, 0.02, expected);
    assert!((lost_pa - by_law_pa).abs() < 0.2, "{lost_pa} Pa, by its law {by_law_pa} Pa");
}

/// A pump that pulls over a rise behind a regulator: the tank has more pressure to give than the regulator lets on.
fn pulled_through_a_regulator(height_m: f64) -> Garden {
    let regulator = part(Kind::Regulator, "regulator", &[("set", q(0.5, "bar")), ("cv", q(12.0, ""))]);
    let up = line(&[tank("tank", 15.0), hose_m("feed", 2.0, 0.025), regulator]);
    line(&[
        up,
        hose_m("suction", 20.0, 0.025),
        rise_m("rise", height_m),
        booster("pump", &[(0.0, 90.0), (30.0, 60.0)]),
        head("gun", 0.6),
    ])
}

/// What comes up to the pump of [`pulled_through_a_regulator`]: its setting less the climb is used up down to vapor pressure.
fn most_through_the_regulator(height_m: f64) -> f64 {
    let driven_by_pa = 0.5e5 - DENSITY * GRAVITY * height_m - VAPOR_PA;
    march::bisect(0.0, 0.01, |flow| march::hose_loss(20.0, 0.025, flow) - driven_by_pa)
}

#[test]
fn a_pump_behind_a_regulator_gets_what_the_setting_drives_up_to_it() {
    for height_m in [2.0, 6.0, 11.0, 14.0] {
        let solution = solution(&pulled_through_a_regulator(height_m));
        let expected = most_through_the_regulator(height_m);
        assert!(
            (flow(&solution, "gun") / expected - 1.0).abs() < 1e-5,
            "{height_m} m: {} and {expected}",
            flow(&solution, "gun")
        );
        assert!((outlet_pa(&solution, "regulator") - 0.5e5).abs() < 1e-3, "{}", outlet_pa(&solution, "regulator"));
        assert!((inlet_pa(&solution, "pump") - VAPOR_PA).abs() < 0.2, "{}", inlet_pa(&solution, "pump"));
        let fed_pa = DENSITY * GRAVITY * 15.0 - march::hose_loss(2.0, 0.025, expected);
        assert!((inlet_pa(&solution, "regulator") - fed_pa).abs() < 1.0, "{}", inlet_pa(&solution, "regulator"));
        let nozzle_pa = march::nozzle(0.6 * 0.0254) * expected * expected;
        assert!((outlet_pa(&solution, "pump") / nozzle_pa - 1.0).abs() < 2e-5, "{height_m} m");
        assert_eq!(solution.parted, [solution.garden.find("pump").expect("known")]);
    }
}

#[test]
fn what_a_regulator_cannot_drive_over_a_rise_gets_no_water_to_the_pump_behind() {
    // 0.5 bar and the vacuum lift (50000 - VAPOR_PA) Pa / (999.1 kg/m3 9.80665 m/s2) = 15.27 m; the tank alone would lift 25 m.
    let limit_m = (0.5e5 - VAPOR_PA) / (DENSITY * GRAVITY);
    assert!(flow(&solution(&pulled_through_a_regulator(limit_m - 0.01)), "gun") > 1e-5);
    let still = solution(&pulled_through_a_regulator(limit_m + 0.01));
    assert_eq!(flow(&still, "gun"), 0.0);
    assert!((outlet_pa(&still, "regulator") - 0.5e5).abs() < 1e-3, "{}", outlet_pa(&still, "regulator"));
    assert_eq!(still.parted, [still.garden.find("pump").expect("known")]);
}

#[test]
fn between_a_regulator_and_a_place_where_water_parts_only_what_lies_there_moves_the_flow() {
    let garden = pulled_through_a_regulator(9.0);
    let to = slopes_of_the_gun(&garden);
    assert!(to("regulator", "set") > 0.0 && to("rise", "height") < 0.0 && to("suction", "length") < 0.0);
    assert_eq!((to("tank", "level"), to("feed", "length"), to("pump", "speed"), to("gun", "nozzle")), (0.0, 0.0, 0.0, 0.0));
    // A meter of rise is a meter of water less at the regulator.
    let by_water = -to("rise", "height") / (DENSITY * GRAVITY);
    assert!((to("regulator", "set") / by_water - 1.0).abs() < 1e-8);
    assert!(slopes::check_all(&garden, &[]).expect("agreement") > 10);
}

#[test]
fn a_fork_before_a_regulator_that_a_pump_pulls_through_feeds_its_head_with_the_rest() {
    let up = line(&[supply("tap", 50.0, 40.0, 10.0), hose_m("feed", 20.0, 0.025), part(Kind::Point, "fork", &[])]);
    let regulator = part(Kind::Regulator, "regulator", &[("set", q(0.5, "bar")), ("cv", q(12.0, ""))]);
    let pulled = [regulator, hose_m("suction", 20.0, 0.02), rise_m("rise", 9.0), booster("pump", &[(0.0, 90.0), (30.0, 60.0)])];
    let garden = up.then_branches(&[line(&[line(&pulled), head("gun", 0.6)]), head("side", 0.15)]).expect("joins");
    let solution = solution(&garden);
    let driven_by_pa = 0.5e5 - DENSITY * GRAVITY * 9.0 - VAPOR_PA;
    let expected = march::bisect(0.0, 0.01, |flow| march::hose_loss(20.0, 0.02, flow) - driven_by_pa);
    assert!((flow(&solution, "gun") / expected - 1.0).abs() < 1e-5, "{} and {expected}", flow(&solution, "gun"));
    let nozzle_pa = march::nozzle(0.15 * 0.0254) * flow(&solution, "side").powi(2);
    assert!((outlet_pa(&solution, "feed") / nozzle_pa - 1.0).abs() < 1e-6 && nozzle_pa > 0.6e5, "{nozzle_pa}");
    let (worst, largest) = imbalance(&solution);
    assert!(worst <= 1e-9 * largest, "{worst}");
}

#[test]
fn a_draw_gets_what_comes_at_vapor_pressure() {
    let garden = line(&[tank("tank", 1.0), hose_m("feed", 20.0, 0.025), rise_m("rise", 9.0), draw("tub", 60.0)]);
    let solution = solution(&garden);
    let expected = most_lifted(1.0, 9.0);
    assert!((flow(&solution, "tub") / expected - 1.0).abs() < 1e-5, "{} and {expected}", flow(&solution, "tub"));
    assert!((flow(&solution, "tank") - flow(&solution, "tub")).abs() < 1e-9 * expected);
    let nothing = self::solution(&garden.with("rise.height", m(12.0)).expect("a height"));
    assert_eq!(flow(&nothing, "tub"), 0.0);
}

fn draw(name: &str, gpm: f64) -> Garden {
    part(Kind::Demand, name, &[("flow", q(gpm, "gpm"))])
}

#[test]
fn a_supply_that_a_pump_overdraws_gives_what_it_has_down_to_vapor_pressure() {
    let garden = line(&[supply("tap", 50.0, 30.0, 5.0), booster("pump", &[(0.0, 400.0), (60.0, 300.0)]), head("gun", 0.6)]);
    let solution = solution(&garden);
    let (at_rest, resistance) = (50.0 * PSI, 20.0 * PSI / (5.0 * GPM).powi(2));
    let expected = ((at_rest - VAPOR_PA) / resistance).sqrt();
    assert!((flow(&solution, "gun") / expected - 1.0).abs() < 1e-5);
    assert!((inlet_pa(&solution, "pump") - VAPOR_PA).abs() < 0.2);
}

/// A random garden on a tank or a weak tap, many of whose pumps pull too hard.
fn suction_gardens(most: usize) -> impl Strategy<Value = Drawn> {
    let start = (prop::bool::ANY, 0.0f64..4.0, 0.3f64..1.0, 1.0f64..35.0, 20.0f64..150.0);
    (start, growths(most)).prop_map(|((tanked, level_m, diameter_in, rise_ft, psi), growths)| {
        let source = if tanked { tank("tap", level_m) } else { supply("tap", 20.0, 5.0, 3.0) };
        let strong = booster("strong", &[(0.0, psi), (20.0, 0.5 * psi)]);
        let mut garden = line(&[source, hose("feed", 40.0, diameter_in), climb("rise", rise_ft), strong]);
        for (at, growth) in growths {
            let place = at % garden.parts().len();
            let name = garden.name(place).to_string();
            garden = garden.branch(&name, &grow(&growth)).expect("joins");
        }
        Drawn(garden)
    })
}

/// Net flow out of the worst node, and the largest flow.
fn imbalance(solution: &Solution) -> (f64, f64) {
    let layout = solution.garden.layout();
    let mut sums = vec![0.0; layout.number_of_nodes];
    let mut largest: f64 = 0.0;
    for (place, state) in solution.parts.iter().enumerate() {
        let (joint, flow) = (&layout.places[place], state.flow_m3_per_s);
        largest = largest.max(flow.abs());
        match solution.garden.parts()[place].spec().placing {
            Placing::Inline => {
                sums[joint.from] += flow;
                sums[joint.to] -= flow;
            }
            Placing::Source => sums[joint.to] -= flow,
            Placing::Outlet => sums[joint.from] += flow,
            Placing::AtPoint => {}
        }
    }
    (sums.iter().fold(0.0, |most, sum: &f64| most.max(sum.abs())), largest)
}

/// How often water parts in the gardens that were tried: a test that meets none proves nothing.
static PARTED: std::sync::atomic::AtomicUsize = std::sync::atomic::AtomicUsize::new(0);

fn cases(usual: u32) -> u32 {
    usual * std::env::var("CASES").ok().and_then(|text| text.parse().ok()).unwrap_or(1)
}

#[test]
fn no_pressure_of_a_random_garden_lies_below_vapor_pressure() {
    let mut runner = proptest::test_runner::TestRunner::new(ProptestConfig {
        failure_persistence: None,
        ..ProptestConfig::with_cases(cases(2000))
    });
    let kept = runner.run(&suction_gardens(14), |Drawn(garden)| {
        let drawn = || drawing(&garden, Default::default());
        let solution = run(&garden, &[]).map_err(|error| match error {
            RunError::Garden(_) | RunError::Ended(_) => TestCaseError::reject("a crooked loop"),
            RunError::Solve(error) => TestCaseError::fail(format!("{error}\n{}", drawn())),
        })?;
        let vapor_pa = garden.vapor_gauge_pa();
        let (worst, largest) = imbalance(&solution);
        prop_assert!(worst <= 1e-9 * largest + 1e-12, "off by {worst} of {largest}\n{}", drawn());
        for (place, state) in solution.parts.iter().enumerate() {
            for pressure_pa in [state.pressure_in_pa, state.pressure_out_pa].into_iter().flatten() {
                prop_assert!(pressure_pa >= vapor_pa, "{} at {pressure_pa}\n{}", garden.name(place), drawn());
            }
            if garden.parts()[place].kind() == Kind::Hose
                && let Some(lost_pa) = state.loss_pa()
            {
                follows_its_law(&garden, &solution, place, lost_pa)
                    .map_err(|text| TestCaseError::fail(format!("{text}\n{}", drawn())))?;
            }
        }
        PARTED.fetch_add(usize::from(!solution.parted.is_empty()), std::sync::atomic::Ordering::Relaxed);
        Ok(())
    });
    kept.unwrap_or_else(|error| panic!("{error}"));
    let parted = PARTED.load(std::sync::atomic::Ordering::Relaxed);
    assert!(parted > cases(2000) as usize / 10, "water parted in {parted} gardens only");
}

/// A hose loses what friction takes, unless it runs partly empty behind a place where water parts; so its way up to there is
/// never below what the flow needs.
fn follows_its_law(garden: &Garden, solution: &Solution, place: usize, lost_pa: f64) -> Result<(), String> {
    let (part, state) = (&garden.parts()[place], &solution.parts[place]);
    let expected = march::hose_loss(part.value(Id::Length), part.value(Id::Diameter), state.flow_m3_per_s.abs())
        .copysign(state.flow_m3_per_s);
    let empty = [state.pressure_in_pa, state.pressure_out_pa].contains(&Some(garden.vapor_gauge_pa()));
    let allowed = 1e-6 * expected.abs() + 0.05;
    if (lost_pa - expected).abs() <= allowed || empty {
        return Ok(());
    }
    Err(format!("{} loses {lost_pa}, by its law {expected}", garden.name(place)))
}

#[test]
fn behind_a_place_where_water_parts_only_what_lies_before_it_moves_the_flow() {
    let garden = lift(1.0, 9.0);
    let to = slopes_of_the_gun(&garden);
    assert!(to("rise", "height") < 0.0 && to("tank", "level") > 0.0 && to("suction", "length") < 0.0);
    assert_eq!((to("gun", "nozzle"), to("pump", "speed")), (0.0, 0.0));
    // A meter of lift is a meter of level.
    assert!((to("rise", "height") + to("tank", "level")).abs() < 1e-9 * to("tank", "level"));
    assert!(slopes::check_all(&garden, &[]).expect("agreement") > 10);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(cases(60)) })]

    #[test]
    fn slopes_of_gardens_whose_water_parts_agree_with_differences(Drawn(garden) in suction_gardens(8)) {
        slopes::check_all(&garden, &[])?;
    }

    #[test]
    fn more_pull_never_brings_more_water_up_to_the_pump(Drawn(garden) in suction_gardens(10), share in 1.01f64..3.0) {
        let faster = garden.with("strong.speed", q(share, "")).expect("a speed");
        let (Ok(before), Ok(after)) = (run(&garden, &[]), run(&faster, &[])) else { return Err(TestCaseError::reject("no state")) };
        // Where the pump pulls full vacuum already, nothing more comes.
        if before.parted == [garden.find("strong").expect("known")] {
            let (before, after) = (flow(&before, "strong"), flow(&after, "strong"));
            prop_assert!(after <= before * (1.0 + 1e-8) + 1e-11, "{before} and {after}");
        }
    }
}

/// A pump and a draw at a fork that stands at vapor pressure, the draw behind a check valve that hardly loses anything: a hundredth of
/// a pascal pushes water through to it, and what its flow changes does not come back to the pump.
#[test]
fn slopes_where_hardly_any_loss_lies_between_two_places_at_vapor_pressure_agree_with_differences() {
    for (diameter_in, gpm) in [(0.3, 2.8), (0.6127, 0.1), (0.7919, 0.1), (1.2, 2.0)] {
        let check = part(Kind::CheckValve, "check", &[("diameter", q(diameter_in, "inch"))]);
        let up = line(&[supply("tap", 20.0, 5.0, 3.0), hose("feed", 40.0, diameter_in), climb("rise", 3.479)]);
        let strong = line(&[booster("strong", &[(0.0, 80.0), (20.0, 40.0)]), head("gun", 0.6)]);
        let garden = up.then_branches(&[strong, line(&[check, draw("tub", gpm)])]).expect("joins");
        let solution = solution(&garden);
        let short = flow(&solution, "tub") < 0.5 * gpm * GPM && flow(&solution, "tub") > 0.0;
        assert!(
            short && solution.parted == [garden.find("strong").expect("known")],
            "{diameter_in} in: {}",
            flow(&solution, "tub")
        );
        assert!(slopes::check_all(&garden, &[]).expect("agreement") > 20, "{diameter_in} in");
    }
}

/// A draw that takes all that comes at vapor pressure leaves the pump beside it nothing: no pressure stands behind that, and it does not
/// fall as more comes.
#[test]
fn behind_a_pump_at_rest_that_water_does_not_get_up_to_no_pressure_stands() {
    let at = |more_psi: f64| {
        let way = line(&[supply("tap", 20.0 + more_psi, 5.0 + more_psi, 3.0), hose("feed", 40.0, 0.3), draw("tub", 2.2)]);
        let garden = line(&[way, booster("strong", &[(0.0, 18.0), (4.0, 7.0)]), head("mist", 0.05)]);
        let solution = solution(&garden);
        (flow(&solution, "tub") / (2.2 * GPM), flow(&solution, "mist"), outlet_pa_or_none(&solution, "strong"))
    };
    let (mut short, mut last_pa) = (0, 0.0);
    for step in 0..60 {
        let (share, mist, behind_pa) = at(0.1 * f64::from(step));
        if share < 1.0 - 1e-9 {
            short += 1;
            assert!(mist == 0.0 && behind_pa.unwrap_or(0.0) == 0.0, "{share}: {mist} at {behind_pa:?}");
        }
        assert!(behind_pa.unwrap_or(0.0) >= last_pa - 1e-3, "{behind_pa:?} after {last_pa}");
        last_pa = behind_pa.unwrap_or(0.0);
    }
    assert!((5..55).contains(&short) && last_pa > 1e3, "{short} times short, {last_pa}");
}

/// A pump that leads nowhere, beside a draw that takes all that comes at vapor pressure: no pressure stands behind it, however the
/// solve came there.
#[test]
fn behind_a_pump_that_leads_nowhere_no_pressure_stands_as_long_as_its_inlet_is_at_vapor_pressure() {
    let pump = booster("idle", &[(0.0, 10.0), (4.0, 4.0)]);
    let check = line(&[part(Kind::CheckValve, "check", &[]), draw("trickle", 0.1)]);
    let far = line(&[hose("narrow", 60.23, 0.3), draw("tub", 2.322)]);
    let near = line(&[supply("tap", 58.0, 44.0, 6.0), head("gate", 0.2088), hose("feed", 60.0, 0.75)]);
    let garden = line(&[near, far]).then_branches(&[pump, check]).expect("joins");
    let mut network = Network::new(&garden, &vec![true; garden.parts().len()]).expect("sound");
    let [feed, idle, tub] = ["feed", "idle", "tub"].map(|name| garden.find(name).expect("known"));
    let mut short = 0;
    for step in 0..200 {
        network.set(feed, Id::Length, f64::from(1 + step)).expect("a length");
        for begins in ["warm", "afresh"] {
            network.solve().expect("a steady state");
            let behind_pa = network.probe(&Probe { place: idle, kind: ProbeKind::Pressure });
            let share = network.flow(tub) / (2.322 * GPM);
            short += usize::from(share < 1.0 - 1e-9);
            assert!(share > 1.0 - 1e-9 || behind_pa.is_nan(), "{begins}, {step}: {share}, {behind_pa} Pa");
            network.start_afresh();
        }
    }
    assert!(short > 100, "short {short} times");
}

fn outlet_pa_or_none(solution: &Solution, name: &str) -> Option<f64> {
    solution.state(name).expect("known").pressure_out_pa
}

#[test]
fn what_a_draw_that_gets_nothing_asks_for_moves_no_pressure() {
    let up = line(&[supply("tap", 20.0, 5.0, 3.0), hose("feed", 40.0, 0.3), climb("rise", 1.0)]);
    let up = up.then_branches(&[draw("thirsty", 2.77), line(&[hose("side", 5.0, 0.3), draw("tub", 0.1)])]).expect("joins");
    let solution = solution(&up);
    assert!((outlet_pa(&solution, "rise") - VAPOR_PA).abs() < 0.2 && flow(&solution, "thirsty") < 2.7 * GPM);
    assert!(flow(&solution, "tub") < 1e-9, "{}", flow(&solution, "tub"));
    let mut network = Network::new(&up, &vec![true; up.parts().len()]).expect("sound");
    network.solve().expect("a steady state");
    let (side, tub) = (up.find("side").expect("known"), up.find("tub").expect("known"));
    let slopes = network.slopes(&Probe { place: side, kind: ProbeKind::Pressure }).expect("slopes");
    assert_eq!(slopes.to(&network, tub, Id::Flow).expect("a slope"), 0.0);
    assert!(slopes::check_all(&up, &[]).expect("agreement") > 10);
}

/// A head above the tap stands dry at the pressure of the air as long as water stands below it; where more is drawn and the water
/// would stand below vapor pressure, it no longer gets there, and there is no pressure: none rises.
#[test]
fn a_head_that_water_no_longer_climbs_to_has_no_pressure() {
    let up = line(&[climb("rise", 49.0), hose("top line", 5.0, 0.3), head("top", 0.05)]);
    let near = line(&[supply("tap", 58.0, 44.0, 6.0), head("gate", 0.25)]).then(&hose("feed", 60.0, 0.75));
    let garden = near.and_then(|near| near.then_branches(&[head("low", 0.25), up])).expect("joins");
    let more = garden.branch("feed", &head("thirsty", 0.125)).expect("joins");
    let (before, after) = (solution(&garden), solution(&more));
    assert_eq!((before.pressure_pa("top").expect("known"), after.pressure_pa("top").expect("known")), (Some(0.0), None));
    assert!((VAPOR_PA..-80_000.0).contains(&outlet_pa(&before, "rise")), "{}", outlet_pa(&before, "rise"));
    let would_stand_pa = outlet_pa(&after, "feed") - DENSITY * GRAVITY * 49.0 * FT;
    assert!(would_stand_pa < VAPOR_PA, "{would_stand_pa}");
    assert_eq!((flow(&before, "top"), flow(&after, "top")), (0.0, 0.0));
}
