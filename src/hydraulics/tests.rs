//! The solve against closed formulas: roots, sums of resistances, symmetry, scaling. No iteration stands on the other side.

use super::*;
use crate::garden::{Garden, GardenError, booster_of};
use crate::laws::friction::Regime;
use crate::parts::{Id, Kind, Part};
use crate::support::*;
use crate::told::Told;
use approx::assert_relative_eq;
use proptest::prelude::*;

const GRAVITY: f64 = 9.80665;
const DENSITY: f64 = 999.1;
const VISCOSITY: f64 = 1.138e-3;

/// A main that holds its pressure at any flow.
fn stiff(name: &str, psi: f64) -> Garden {
    part(Kind::Supply, name, &[("static_pressure", q(psi, "psi"))])
}

/// A loss of `psi` at 1 gpm that grows with the square of the flow.
fn loss(name: &str, psi: f64) -> Garden {
    part(Kind::Filter, name, &[("loss", q(psi, "psi")), ("flow", q(1.0, "gpm"))])
}

/// An outlet that gives 1 gpm at `psi`, and the square root law from there.
fn outlet(name: &str, psi: f64) -> Garden {
    part(Kind::Head, name, &[("rated_flow", q(1.0, "gpm")), ("rated_flow_pressure", q(psi, "psi"))])
}

fn leak(name: &str, gph: f64, psi: f64) -> Garden {
    part(Kind::Leak, name, &[("flow", q(gph, "gph")), ("pressure", q(psi, "psi"))])
}

fn relief(set_psi: f64, gpm: f64, over_psi: f64) -> Garden {
    let numbers = [("set", q(set_psi, "psi")), ("flow", q(gpm, "gpm")), ("overpressure", q(over_psi, "psi"))];
    part(Kind::Relief, "relief", &numbers)
}

fn switch(cut_in_psi: f64, cut_out_psi: f64) -> Garden {
    part(Kind::PressureSwitch, "switch", &[("cut_in", q(cut_in_psi, "psi")), ("cut_out", q(cut_out_psi, "psi"))])
}

fn free_valve(name: &str) -> Garden {
    part(Kind::Valve, name, &[("k", q(0.0, ""))])
}

fn solved(garden: &Garden) -> Solution {
    run(garden, &[]).expect("a steady state")
}

fn gpm(solution: &Solution, name: &str) -> f64 {
    solution.flow_m3_per_s(name).expect("known") / GPM
}

fn psi(solution: &Solution, name: &str) -> f64 {
    solution.pressure_pa(name).expect("known").expect("fed") / PSI
}

#[test]
fn losses_in_series_add_up() {
    // 50 psi over 1 + 4 + 3 psi/gpm2 and an outlet of 17: 25 psi/gpm2 in all.
    let garden = line(&[stiff("main", 50.0), loss("a", 1.0), loss("b", 4.0), loss("c", 3.0), outlet("out", 17.0)]);
    let solution = solved(&garden);
    let flow = (50.0f64 / 25.0).sqrt();
    assert_relative_eq!(gpm(&solution, "out"), flow, max_relative = 1e-12);
    for (name, expected) in [("main", 50.0), ("a", 48.0), ("b", 40.0), ("c", 34.0), ("out", 34.0)] {
        assert_relative_eq!(psi(&solution, name), expected, max_relative = 1e-12);
    }
    assert_eq!(solution.convergence.method, Method::Direct);
}

#[test]
fn losses_side_by_side_share_the_flow_by_the_roots_of_their_resistances() {
    // Roots of conductance add up: 1/sqrt(R) = 1/sqrt(4) + 1/sqrt(1) + 1/sqrt(16).
    let ways = [("a", 4.0), ("b", 1.0), ("c", 16.0)];
    let branches: Vec<Garden> = ways.iter().map(|(name, psi)| loss(name, *psi)).collect();
    let garden = line(&[stiff("main", 50.0), loss("first", 2.0)]).then_branches(&branches).expect("joins");
    let garden = garden.then(&outlet("out", 10.0)).expect("joins");
    let solution = solved(&garden);
    let conductance: f64 = ways.iter().map(|(_, psi)| 1.0 / f64::sqrt(*psi)).sum();
    let all = 2.0 + 1.0 / (conductance * conductance) + 10.0;
    let flow = (50.0 / all).sqrt();
    assert_relative_eq!(gpm(&solution, "out"), flow, max_relative = 1e-9);
    for (name, psi) in ways {
        assert_relative_eq!(gpm(&solution, name), flow / psi.sqrt() / conductance, max_relative = 1e-9);
    }
}

#[test]
fn a_balanced_bridge_carries_nothing_and_an_unbalanced_one_flows_to_the_lower_side() {
    let bridge = |last_psi: f64| {
        let near =
            [line(&[loss("ra", 1.0), part(Kind::Point, "left", &[])]), line(&[loss("rb", 2.0), part(Kind::Point, "right", &[])])];
        let garden = line(&[stiff("main", 50.0), part(Kind::Point, "top", &[])]).then_branches(&near).expect("joins");
        let garden = garden.branch("left", &line(&[loss("rc", 3.0), part(Kind::Point, "low", &[]), outlet("out", 5.0)]));
        let garden = garden.and_then(|garden| garden.connect("right", "low", &loss("rd", last_psi))).expect("joins");
        solved(&garden.connect("left", "right", &loss("across", 1.0)).expect("joins"))
    };
    // 1/3 = 2/6: the two halves divide the pressure alike.
    let balanced = bridge(6.0);
    assert!(gpm(&balanced, "across").abs() < 1e-6, "{}", gpm(&balanced, "across"));
    assert_relative_eq!(psi(&balanced, "left"), psi(&balanced, "right"), max_relative = 1e-9);
    assert!(gpm(&bridge(4.0), "across") > 0.01 && gpm(&bridge(9.0), "across") < -0.01);
}

#[test]
fn a_symmetric_garden_has_a_symmetric_answer() {
    // A ring of eight equal hoses with equal heads at its corners, fed at one of them.
    let mut garden = line(&[supply("tap", 58.0, 44.0, 6.0), part(Kind::Point, "c0", &[])]);
    for index in 1..8 {
        let side = line(&[hose(&format!("s{index}"), 25.0, 0.5), part(Kind::Point, &format!("c{index}"), &[])]);
        garden = garden.branch(&format!("c{}", index - 1), &side).expect("joins");
    }
    garden = garden.connect("c7", "c0", &hose("s8", 25.0, 0.5)).expect("joins");
    for index in 0..8 {
        garden = garden.branch(&format!("c{index}"), &head(&format!("h{index}"), 0.1)).expect("joins");
    }
    let solution = solved(&garden);
    for index in 1..4 {
        let (one, other) = (format!("h{index}"), format!("h{}", 8 - index));
        assert_relative_eq!(gpm(&solution, &one), gpm(&solution, &other), max_relative = 1e-9);
        assert!(gpm(&solution, &one) > gpm(&solution, &format!("h{}", index + 1)), "farther heads get less");
    }
    assert_relative_eq!(gpm(&solution, "s4"), -gpm(&solution, "s5"), max_relative = 1e-8);
    assert_relative_eq!(gpm(&solution, "s4"), 0.5 * gpm(&solution, "h4"), max_relative = 1e-8);
}

#[test]
fn laminar_flow_in_a_thin_tube_is_that_of_hagen_and_poiseuille() {
    // Law of Hagen and Poiseuille: dp = 128 mu L Q / (pi d^4). A linear outlet downstream of it.
    let (length_m, diameter_m) = (3.0, 0.001);
    let tube = part(Kind::Pipe, "tube", &[("length", q(length_m, "m")), ("diameter", q(diameter_m, "m"))]);
    let drip = part(Kind::Emitter, "drip", &[("flow", q(2.0, "lph")), ("pressure", q(1.0, "bar")), ("exponent", q(1.0, ""))]);
    let solution = solved(&line(&[stiff("main", 30.0), tube, drip]));
    let tube_pa_s_per_m3 = 128.0 * VISCOSITY * length_m / (std::f64::consts::PI * diameter_m.powi(4));
    let drip_pa_s_per_m3 = 1e5 / (2e-3 / 3600.0);
    let flow = 30.0 * PSI / (tube_pa_s_per_m3 + drip_pa_s_per_m3);
    assert_relative_eq!(solution.flow_m3_per_s("drip").expect("known"), flow, max_relative = 1e-9);
    let state = solution.state("tube").expect("known");
    assert_eq!(state.regime(), Some(Regime::Laminar));
    let reynolds = 4.0 * DENSITY * flow / (std::f64::consts::PI * diameter_m * VISCOSITY);
    assert_relative_eq!(state.reynolds.expect("a hose"), reynolds, max_relative = 1e-9);
    assert_relative_eq!(state.loss_pa().expect("fed"), tube_pa_s_per_m3 * flow, max_relative = 1e-9);
}

#[test]
fn water_at_rest_stands_by_its_height_alone() {
    let garden =
        line(&[stiff("main", 50.0), hose("a", 30.0, 0.5), climb("up", 20.0), hose("b", 30.0, 0.5), climb("down", -50.0)]);
    let garden = garden.then(&line(&[part(Kind::Point, "low", &[]), valve("gate"), head("bed", 0.1)])).expect("joins");
    let solution = solved(&garden);
    let expected = 50.0 * PSI + DENSITY * GRAVITY * 30.0 * FT;
    assert_relative_eq!(solution.pressure_pa("low").expect("known").expect("fed"), expected, max_relative = 1e-12);
    assert_eq!(solution.flow_m3_per_s("a").expect("known"), 0.0);
    assert_eq!(solution.pressure_pa("bed").expect("known"), None, "nothing feeds it downstream of a closed valve");
    assert_eq!(solution.state("a").expect("known").regime(), None, "what does not flow has no regime");
    let profile = solution.pressure_profile("low").expect("known");
    let (last, first) = (profile.last().expect("a way"), &profile[0]);
    assert_relative_eq!(last.height_m, -30.0 * FT, max_relative = 1e-12);
    assert_relative_eq!(last.distance_m, 60.0 * FT, max_relative = 1e-12);
    assert_relative_eq!(solution.grade_m(last), solution.grade_m(first), max_relative = 1e-12);
}

#[test]
fn a_pump_on_a_square_root_outlet_meets_it_at_the_root_of_a_quadratic_equation() {
    // 40 psi - 2 psi/gpm on 50 psi of main, the outlet 4 gpm at 64 psi: 81 psi and 4.5 gpm.
    let bed = part(Kind::Head, "bed", &[("rated_flow", q(4.0, "gpm")), ("rated_flow_pressure", q(64.0, "psi"))]);
    let garden = line(&[stiff("main", 50.0), booster("pump", &[(0.0, 40.0), (10.0, 20.0)]), bed]);
    let solution = solved(&garden);
    assert_relative_eq!(psi(&solution, "bed"), 81.0, max_relative = 1e-10);
    assert_relative_eq!(gpm(&solution, "pump"), 4.5, max_relative = 1e-10);
    // Beyond its last point the curve goes straight on.
    let wide = garden.with("bed.rated_flow", q(20.0, "gpm")).expect("sound");
    let root = -2.5 + (2.5f64 * 2.5 + 90.0).sqrt();
    assert_relative_eq!(psi(&solved(&wide), "bed"), root * root, max_relative = 1e-10);
}

#[test]
fn affinity_laws_move_flow_with_speed_and_pressure_with_its_square() {
    // A tank whose water stands at no height adds nothing: the pump alone drives the outlet.
    let tank = part(Kind::OpenTank, "tank", &[("level", q(0.0, "ft"))]);
    let garden = line(&[tank, booster("pump", &[(0.0, 40.0), (10.0, 20.0)]), outlet("out", 8.0)]);
    let full = solved(&garden);
    for share in [0.3, 0.7, 1.2] {
        let solution = solved(&garden.with("pump.speed", q(share, "")).expect("a speed"));
        assert_relative_eq!(gpm(&solution, "out"), share * gpm(&full, "out"), max_relative = 1e-9);
        assert_relative_eq!(psi(&solution, "out"), share * share * psi(&full, "out"), max_relative = 1e-9);
    }
}

#[test]
fn a_regulator_passes_the_flow_of_its_setting_until_what_comes_does_not_suffice() {
    let garden = |main_psi: f64| {
        let regulator = part(Kind::Regulator, "reg", &[("set", q(20.0, "psi")), ("k", q(0.0, ""))]);
        line(&[stiff("main", main_psi), loss("before", 5.0), regulator, outlet("out", 20.0)])
    };
    // At its setting the outlet takes 1 gpm, which takes 5 psi before: 25 psi are just enough.
    for main_psi in [80.0, 26.0, 25.001] {
        let solution = solved(&garden(main_psi));
        assert_relative_eq!(psi(&solution, "reg"), 20.0, max_relative = 1e-9);
        assert_relative_eq!(gpm(&solution, "out"), 1.0, max_relative = 1e-9);
        assert_eq!(solution.held, [solution.garden.find("reg").expect("known")], "{main_psi}");
    }
    for main_psi in [24.999, 10.0] {
        let solution = solved(&garden(main_psi));
        assert_relative_eq!(gpm(&solution, "out"), (main_psi / 25.0).sqrt(), max_relative = 1e-9);
        assert!(solution.held.is_empty(), "{main_psi}");
    }
}

#[test]
fn a_relief_valve_passes_in_proportion_to_its_overpressure() {
    // P = 60 - q^2 from the loss before it, P = 40 + 2 q from the relief: q^2 + 2 q - 20 = 0.
    let garden = line(&[stiff("main", 60.0), loss("before", 1.0), relief(40.0, 2.0, 4.0)]);
    let solution = solved(&garden);
    let flow = -1.0 + 21.0f64.sqrt();
    assert_relative_eq!(gpm(&solution, "relief"), flow, max_relative = 1e-9);
    assert_relative_eq!(psi(&solution, "relief"), 40.0 + 2.0 * flow, max_relative = 1e-9);
    for (main_psi, is_open) in [(39.999, false), (40.001, true)] {
        assert_eq!(
            gpm(&solved(&garden.with("main.static_pressure", q(main_psi, "psi")).expect("sound")), "relief") > 0.0,
            is_open
        );
    }
}

#[test]
fn a_check_valve_opens_at_its_cracking_pressure_and_takes_it_from_what_flows() {
    let check = part(Kind::CheckValve, "check", &[("cracking_pressure", q(3.0, "psi")), ("k", q(0.0, ""))]);
    let garden = |main_psi: f64| line(&[stiff("main", main_psi), check.clone(), outlet("out", 9.0)]);
    assert_relative_eq!(gpm(&solved(&garden(39.0)), "out"), 2.0, max_relative = 1e-9);
    assert_eq!(gpm(&solved(&garden(2.999)), "out"), 0.0);
    assert!(gpm(&solved(&garden(3.001)), "out") > 0.0);
}

// ---- at rest

#[test]
fn the_garden_at_rest_follows_drives_heights_and_what_lets_go() {
    let trunk = line(&[stiff("main", 50.0), booster("pump", &[(0.0, 40.0), (10.0, 20.0)]), part(Kind::Point, "here", &[])]);
    let high = line(&[climb("up", 10.0), part(Kind::Point, "high", &[]), free_valve("gate"), head("bed", 0.1)]);
    let garden = trunk.branch("here", &relief(80.0, 1.0, 2.0)).and_then(|g| g.branch("here", &leak("drip", 60.0, 64.0)));
    let garden = garden.and_then(|garden| garden.branch("here", &high)).expect("joins");
    let place = |name: &str| garden.find(name).expect("known");
    let at = |outlets: Outlets, drive: Drive| {
        let rest = Resting::of(&garden, outlets).and_then(|mut resting| resting.state(|_| drive)).expect("a steady state");
        let here = rest.at(&garden, place("here")).expect("fed") / PSI;
        (here, rest)
    };
    assert_relative_eq!(at(Outlets::Plugged, Drive::Off).0, 50.0, max_relative = 1e-12);
    assert_relative_eq!(at(Outlets::Plugged, Drive::Full).0, 90.0, max_relative = 1e-12);
    assert_relative_eq!(at(Outlets::Plugged, Drive::Share(0.5)).0, 60.0, max_relative = 1e-12);
    // Relief and pump: 80 + 2 q = 90 - 2 q.
    let (here, rest) = at(Outlets::Relieved, Drive::Full);
    assert_relative_eq!(here, 85.0, max_relative = 1e-9);
    assert_relative_eq!(rest.flow(place("relief")) / GPM, 2.5, max_relative = 1e-9);
    // The leak gives 1 gpm at 64 psi: s^2 = 90 - 2 (s / 8) - 2 (s^2 - 80) / 2, hence 2 s^2 + s / 4 - 170 = 0.
    let (here, rest) = at(Outlets::Losing, Drive::Full);
    let root = (-0.25 + (0.0625f64 + 8.0 * 170.0).sqrt()) / 4.0;
    assert_relative_eq!(here, root * root, max_relative = 1e-9);
    assert_relative_eq!(rest.flow(place("drip")) / GPM, root / 8.0, max_relative = 1e-9);
    // Ten feet higher stands less by their weight; the higher end of the climb is its lower pressure.
    let (_, rest) = at(Outlets::Plugged, Drive::Full);
    let step_pa = DENSITY * GRAVITY * 10.0 * FT;
    assert_relative_eq!(rest.at(&garden, place("high")).expect("fed"), 90.0 * PSI - step_pa, max_relative = 1e-12);
    assert_relative_eq!(rest.highest(&garden, place("up")).expect("fed"), 90.0 * PSI, max_relative = 1e-12);
    assert_eq!(rest.at(&garden, place("bed")), None, "there is no water downstream of the closed valve of a zone");
}

// ---- pressure switches

#[test]
fn a_switch_sleeps_runs_or_cycles_right_at_its_settings() {
    // Off 50 psi, on 81 psi.
    let verdict = |cut_in_psi: f64, cut_out_psi: f64| {
        let bed = part(Kind::Head, "bed", &[("rated_flow", q(4.0, "gpm")), ("rated_flow_pressure", q(64.0, "psi"))]);
        let pump = booster("pump", &[(0.0, 40.0), (10.0, 20.0)]);
        let solution = solved(&line(&[stiff("main", 50.0), pump, switch(cut_in_psi, cut_out_psi), bed]));
        let state = solution.switches[0];
        assert_relative_eq!(state.off_pa / PSI, 50.0, max_relative = 1e-9);
        let runs = state.verdict != Verdict::NeverStarts;
        assert_relative_eq!(state.at_pa / PSI, if runs { 81.0 } else { 50.0 }, max_relative = 1e-9);
        assert_eq!(solution.runs[state.booster], runs);
        state.verdict
    };
    assert_eq!(verdict(49.999, 90.0), Verdict::NeverStarts);
    assert_eq!(verdict(50.001, 90.0), Verdict::Runs);
    assert_eq!(verdict(60.0, 81.001), Verdict::Runs);
    assert_eq!(verdict(60.0, 80.999), Verdict::ShortCycles);
    assert_eq!(
        [Verdict::NeverStarts, Verdict::Runs, Verdict::ShortCycles].map(Verdict::word),
        ["never starts", "runs", "short-cycles"]
    );
}

#[test]
fn a_switch_drives_the_nearest_booster_upstream_and_else_the_nearest_downstream() {
    let pump = |name: &str| booster(name, &[(0.0, 20.0), (10.0, 10.0)]);
    let driven = |garden: Garden| {
        let switch = garden.switches().next().expect("a switch");
        booster_of(&garden, switch).map(|booster| garden.name(booster).to_string())
    };
    let here = || part(Kind::Point, "here", &[]);
    let both = line(&[stiff("main", 50.0), pump("far"), here(), pump("near"), switch(60.0, 80.0), head("bed", 0.1)]);
    assert_eq!(driven(both).as_deref(), Some("near"));
    let downstream = line(&[stiff("main", 50.0), switch(60.0, 80.0), pump("downstream"), head("bed", 0.1)]);
    assert_eq!(driven(downstream).as_deref(), Some("downstream"));
    assert_eq!(driven(line(&[stiff("main", 50.0), switch(60.0, 80.0), head("bed", 0.1)])), None);
}

// ---- sensitivities in closed form

#[test]
fn slopes_of_a_square_root_garden_are_those_of_its_formula() {
    // Q = sqrt(P / R): dQ/dP = Q / 2P and dQ/dR = -Q / 2R for each resistance in series.
    let garden = line(&[stiff("main", 50.0), loss("filter", 8.0), outlet("out", 17.0)]);
    let mut network = Network::new(&garden, &garden.opened(&[]).expect("no zones")).expect("sound");
    network.solve().expect("a steady state");
    let place = |name: &str| garden.find(name).expect("known");
    let flow = network.flow(place("out"));
    let slopes = network.slopes(&Probe { place: place("out"), kind: ProbeKind::Flow }).expect("slopes");
    let to = |name: &str, id: Id| slopes.to(&network, place(name), id).expect("a slope");
    assert_relative_eq!(to("main", Id::StaticPressure), flow / (2.0 * 50.0 * PSI), max_relative = 1e-7);
    assert_relative_eq!(to("filter", Id::Loss), -flow / (2.0 * 25.0 * PSI), max_relative = 1e-7);
    assert_relative_eq!(to("out", Id::RatedFlowPressure), -flow / (2.0 * 25.0 * PSI), max_relative = 1e-7);
    // The rated flow goes into the resistance with its square: dQ/dq0 = Q R0 / (q0 R).
    assert_relative_eq!(to("filter", Id::Flow), flow * 8.0 / (25.0 * GPM), max_relative = 1e-7);
    let pressure = network.slopes(&Probe { place: place("out"), kind: ProbeKind::Pressure }).expect("slopes");
    let slope = pressure.to(&network, place("main"), Id::StaticPressure).expect("a slope");
    assert_relative_eq!(slope, 17.0 / 25.0, max_relative = 1e-7);
    assert_eq!(pressure.to(&network, place("filter"), Id::PressureRating), Err(NoSlope::NotGiven));
}

// ---- errors

#[test]
fn gardens_that_cannot_be_run_say_why_and_what_to_do() {
    let fed = || line(&[stiff("main", 50.0), head("bed", 0.1)]);
    let crooked = {
        let branches = [line(&[hose("a", 10.0, 0.5), climb("up", 10.0)]), line(&[hose("b", 10.0, 0.5)])];
        let ring = stiff("main", 50.0).then_branches(&branches).expect("joins");
        ring.then(&head("bed", 0.1)).expect("joins")
    };
    let errors = [
        run(&line(&[hose("feed", 10.0, 0.5), head("bed", 0.1)]), &[]).expect_err("not fed"),
        run(&fed(), &["beds"]).expect_err("no such zone"),
        run(&fed(), &["bed"]).expect_err("no valve"),
        run(&crooked, &[]).expect_err("crooked"),
        run(&line(&[stiff("main", 50.0), part(Kind::Fitting, "elbow", &[("k", q(2.0, ""))]), head("bed", 0.1)]), &[])
            .expect_err("no diameter"),
    ];
    assert!(errors.iter().all(|error| error.hint().is_some()));
    let told: Vec<String> = errors.iter().map(RunError::to_string).collect();
    insta::assert_snapshot!(told.join("\n"), @r"
    this line has no supply
    there is no valve called 'beds' in this garden
    'bed' is a head, not a valve
    elevations do not close around the loop through 'up': they are off by 10 ft
    fitting 'elbow' has no diameter and no adjacent hose to take one from
    ");
    assert_eq!(
        solved(&fed()).pressure_pa("berry"),
        Err(GardenError::UnknownName { name: "berry".into(), known: vec!["main".into(), "bed".into()] })
    );
}

#[test]
fn a_solve_that_failed_names_its_place_and_by_how_much_it_is_off() {
    let garden = line(&[stiff("main", 50.0), head("bed", 0.1)]);
    let error = SolveError::at(1, 2.0 * PSI, 70).named(&garden);
    assert_eq!(error.to_string(), "no steady state found after 70 iterations: the pressure balance at 'bed' is off by 2 psi");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(64) })]

    #[test]
    fn four_times_the_pressure_gives_twice_the_flow_where_all_losses_are_squares(
        losses in prop::collection::vec((0.1f64..20.0, 0.1f64..40.0), 1..8), factor in 1.5f64..4.0,
    ) {
        let ladder = |main_psi: f64| {
            let mut garden = stiff("main", main_psi);
            for (index, (along, out)) in losses.iter().enumerate() {
                let piece = format!("l{index}");
                garden = garden.then(&loss(&piece, *along)).and_then(|g| g.branch(&piece, &outlet(&format!("o{index}"), *out))).expect("joins");
            }
            solved(&garden)
        };
        let (one, more) = (ladder(40.0), ladder(40.0 * factor * factor));
        for index in 0..losses.len() {
            let name = format!("o{index}");
            prop_assert!((gpm(&more, &name) / (factor * gpm(&one, &name)) - 1.0).abs() < 1e-8);
            prop_assert!((psi(&more, &name) / (factor * factor * psi(&one, &name)) - 1.0).abs() < 1e-8);
        }
    }

    #[test]
    fn a_ladder_of_square_losses_folds_up_from_its_end(losses in prop::collection::vec((0.1f64..20.0, 0.1f64..40.0), 1..10)) {
        let mut garden = stiff("main", 40.0);
        for (index, (along, out)) in losses.iter().enumerate() {
            let piece = format!("l{index}");
            garden = garden.then(&loss(&piece, *along)).and_then(|g| g.branch(&piece, &outlet(&format!("o{index}"), *out))).expect("joins");
        }
        // From the far end: outlets side by side add the roots of their conductances, lines in series their resistances.
        let folded = losses.iter().rev().fold(f64::INFINITY, |downstream: f64, (along, out)| {
            let conductance = 1.0 / out.sqrt() + if downstream.is_finite() { 1.0 / downstream.sqrt() } else { 0.0 };
            along + 1.0 / (conductance * conductance)
        });
        let solution = solved(&garden);
        prop_assert!((gpm(&solution, "main") / (40.0 / folded).sqrt() - 1.0).abs() < 1e-8);
        let out: f64 = (0..losses.len()).map(|index| gpm(&solution, &format!("o{index}"))).sum();
        prop_assert!((out / gpm(&solution, "main") - 1.0).abs() < 1e-8);
    }

    #[test]
    fn the_units_in_which_numbers_are_written_do_not_matter(
        psi in 20.0f64..80.0, length_ft in 5.0f64..300.0, diameter_in in 0.3f64..1.0, nozzle_in in 0.05f64..0.3, height_ft in -20.0f64..20.0,
    ) {
        let flow = |garden: Garden| solved(&garden).flow_m3_per_s("bed").expect("known");
        let us = line(&[stiff("main", psi), hose("feed", length_ft, diameter_in), climb("up", height_ft), head("bed", nozzle_in)]);
        let metric = line(&[
            part(Kind::Supply, "main", &[("static_pressure", q(psi * PSI / 1e5, "bar"))]),
            part(Kind::Hose, "feed", &[("length", q(length_ft * 0.3048, "m")), ("diameter", q(diameter_in * 25.4, "mm"))]),
            part(Kind::Uphill, "up", &[("height", q(height_ft * 30.48, "cm"))]),
            part(Kind::Head, "bed", &[("nozzle", q(nozzle_in * 2.54, "cm"))]),
        ]);
        let (one, other) = (flow(us), flow(metric));
        prop_assert!((one - other).abs() <= 1e-11 * one, "{one} and {other}");
    }

    #[test]
    fn cutting_a_hose_in_two_changes_nothing(length_ft in 10.0f64..300.0, share in 0.05f64..0.95, diameter_in in 0.3f64..1.0, nozzle_in in 0.05f64..0.3) {
        let whole = line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", length_ft, diameter_in), head("bed", nozzle_in)]);
        let pieces = [hose("first", share * length_ft, diameter_in), hose("second", (1.0 - share) * length_ft, diameter_in)];
        let cut = line(&[supply("tap", 58.0, 44.0, 6.0), pieces[0].clone(), pieces[1].clone(), head("bed", nozzle_in)]);
        prop_assert!((gpm(&solved(&whole), "bed") / gpm(&solved(&cut), "bed") - 1.0).abs() < 1e-10);
    }

    #[test]
    fn a_wider_or_shorter_hose_never_gives_less_to_its_own_head(
        length_ft in 10.0f64..300.0, diameter_in in 0.3f64..1.0, more in 1.01f64..2.0, nozzle_in in 0.05f64..0.3,
    ) {
        let flow = |length_ft: f64, diameter_in: f64| {
            let others = line(&[hose("other hose", 40.0, 0.5), head("other", 0.12)]);
            let own = line(&[hose("own hose", length_ft, diameter_in), head("bed", nozzle_in)]);
            gpm(&solved(&line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 30.0, 0.625)]).then_branches(&[own, others]).expect("joins")), "bed")
        };
        let plain = flow(length_ft, diameter_in);
        prop_assert!(flow(length_ft, more * diameter_in) >= plain * (1.0 - 1e-9));
        prop_assert!(flow(more * length_ft, diameter_in) <= plain * (1.0 + 1e-9));
    }

    #[test]
    fn one_more_head_takes_from_all_others_and_from_none_of_the_sum(nozzles in prop::collection::vec(0.05f64..0.2, 1..6), extra in 0.05f64..0.2) {
        let plot = |nozzles: &[f64]| {
            let branches: Vec<Garden> = nozzles.iter().enumerate()
                .map(|(i, nozzle)| line(&[hose(&format!("h{i}"), 20.0, 0.5), head(&format!("n{i}"), *nozzle)])).collect();
            solved(&line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 50.0, 0.625)]).then_branches(&branches).expect("joins"))
        };
        let more: Vec<f64> = nozzles.iter().copied().chain([extra]).collect();
        let (few, many) = (plot(&nozzles), plot(&more));
        for index in 0..nozzles.len() {
            let name = format!("n{index}");
            prop_assert!(gpm(&many, &name) < gpm(&few, &name));
        }
        prop_assert!(gpm(&many, "tap") > gpm(&few, "tap"));
    }

    #[test]
    fn branches_may_be_named_in_any_order(nozzles in prop::collection::vec(0.05f64..0.2, 2..6)) {
        let plot = |order: &[usize]| {
            let branches: Vec<Garden> = order.iter()
                .map(|&i| line(&[hose(&format!("h{i}"), 10.0 + 5.0 * i as f64, 0.5), head(&format!("n{i}"), nozzles[i])])).collect();
            solved(&line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 50.0, 0.625)]).then_branches(&branches).expect("joins"))
        };
        let order: Vec<usize> = (0..nozzles.len()).collect();
        let turned: Vec<usize> = order.iter().rev().copied().collect();
        let (one, other) = (plot(&order), plot(&turned));
        for index in order {
            let name = format!("n{index}");
            prop_assert!((gpm(&one, &name) / gpm(&other, &name) - 1.0).abs() < 1e-8);
        }
    }
}

#[test]
fn a_head_says_what_its_part_is_built_of() {
    // The same nozzle by its diameter and by the pair that its formula gives.
    let diameter_m = 0.125 * 0.0254;
    let area = std::f64::consts::PI * diameter_m * diameter_m / 4.0;
    let flow = 0.96 * area * (2.0 * 30.0 * PSI / DENSITY).sqrt();
    let rated = Part::build(
        Kind::Head,
        Some("bed"),
        &[
            (Id::RatedFlow, crate::quantity::Quantity::new(flow, Id::RatedFlow.dimension())),
            (Id::RatedFlowPressure, q(30.0, "psi")),
        ],
    );
    let by_pair = line(&[supply("tap", 58.0, 44.0, 6.0), Garden::of(rated.expect("sound"))]);
    let by_bore = line(&[supply("tap", 58.0, 44.0, 6.0), head("bed", 0.125)]);
    assert_relative_eq!(gpm(&solved(&by_pair), "bed"), gpm(&solved(&by_bore), "bed"), max_relative = 1e-10);
}

#[test]
fn a_zone_alone_has_the_pressures_that_it_has_in_the_garden() {
    let garden = crate::support::two_zones();
    for zone in ["beds", "berries"] {
        let (whole, alone) =
            (run(&garden, &[zone]).expect("solves"), run(&garden.zone(&[zone]).expect("a zone"), &[zone]).expect("solves"));
        for (place, part) in alone.garden.layout().places.iter().enumerate() {
            let there = whole.pressure_pa(&part.name).expect("known");
            let here = alone.parts[place].pressure_out_pa;
            assert!((here.expect("reached") - there.expect("reached")).abs() < 1e-6, "{}", part.name);
        }
    }
}

#[test]
fn a_parallel_hose_of_the_same_kind_is_a_hose_with_half_the_flow() {
    let line_of = |feed: Garden| line(&[supply("tap", 58.0, 44.0, 6.0), feed, head("bed", 0.2)]);
    let twin = line_of(hose("feed", 100.0, 0.5)).parallel("feed", &hose("second", 100.0, 0.5)).expect("lies beside");
    let found = solved(&twin);
    assert_relative_eq!(gpm(&found, "feed"), gpm(&found, "second"), max_relative = 1e-9);
    assert_relative_eq!(2.0 * gpm(&found, "feed"), gpm(&found, "bed"), max_relative = 1e-9);
    let alone = solved(&twin.without(&["second"]).expect("goes on"));
    assert_relative_eq!(gpm(&alone, "bed"), gpm(&solved(&line_of(hose("feed", 100.0, 0.5))), "bed"), max_relative = 1e-12);
}
