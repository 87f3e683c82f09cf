//! Each finding appears where it should and stays away in a near miss; findings as text; laws of the whole.

mod support;

#[path = "findings/cautions.rs"]
mod cautions;
#[path = "findings/drives.rs"]
mod drives;
#[path = "findings/gallery.rs"]
mod gallery;
#[path = "findings/installer.rs"]
mod installer;
#[path = "findings/thresholds.rs"]
mod thresholds;
#[path = "findings/trade.rs"]
mod trade;

use hosewright::coverage::{Bed, CatchCans, CountOn, Coverage, CoverageError, Pattern, Uniformity, Wind};
use hosewright::findings::{
    Finding, FindingGroup, Level, Source, accept, grouped, limits, of_cans, of_coverage, of_garden, of_run, of_solution,
    of_zones, report, show,
};
use hosewright::garden::{Accepted, Garden};
use hosewright::hydraulics::{Solution, run};
use hosewright::parts::{Id, Kind, Part, Placing, Soil};
use hosewright::quantity::{Preference, Quantity, UnitSystem, find_unit};
use hosewright::told::Told;
use proptest::prelude::*;
use support::*;

const US: UnitSystem = UnitSystem::Us;

fn solution(garden: &Garden, zones: &[&str]) -> Solution {
    run(garden, zones).expect("a steady state")
}

/// The findings of that code, of a run and its garden; all findings are soundly made.
fn found(garden: &Garden, zones: &[&str], code: &str) -> Vec<Finding> {
    let all = of_run(&solution(garden, zones));
    all.iter().for_each(|finding| assert_eq!(finding.faults(), Vec::<String>::new(), "{}", finding.code()));
    all.into_iter().filter(|finding| finding.code() == code).collect()
}

/// The one finding of that code.
fn one(garden: &Garden, zones: &[&str], code: &str) -> Finding {
    let mut found = found(garden, zones, code);
    assert_eq!(found.len(), 1, "{code} in {:#?}", of_run(&solution(garden, zones)));
    found.remove(0)
}

/// What is told of a run and its garden.
fn told(solution: &Solution) -> Vec<FindingGroup> {
    grouped(&of_run(solution), solution.garden.accepted())
}

fn assert_none(garden: &Garden, zones: &[&str], code: &str) {
    assert_eq!(found(garden, zones, code), Vec::new());
}

fn but(garden: &Garden, path: &str, value: f64, unit: &str) -> Garden {
    garden.with(path, q(value, unit)).expect("a sound change")
}

fn psi(solution: &Solution, name: &str) -> f64 {
    solution.pressure_pa(name).expect("known").expect("fed") / PSI
}

fn check(name: &str) -> Garden {
    part(Kind::CheckValve, name, &[])
}

fn point(name: &str) -> Garden {
    part(Kind::Point, name, &[])
}

fn draw(name: &str, gpm: f64) -> Garden {
    part(Kind::Demand, name, &[("flow", q(gpm, "gpm"))])
}

fn relief(name: &str, set_psi: f64) -> Garden {
    part(Kind::Relief, name, &[("set", q(set_psi, "psi")), ("flow", q(10.0, "gpm"))])
}

#[test]
fn a_split_that_nothing_decides_is_told_and_its_sum_is_exact() {
    let tap = || line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 60.0, 0.625)]);
    let bend = |name: &str, k: f64| part(Kind::Fitting, name, &[("k", q(k, ""))]);
    let ways = |left: Garden, right: Garden| {
        tap().then_branches(&[left, right]).and_then(|both| both.then(&head("spray", 0.15))).expect("joins")
    };
    let garden = ways(bend("left", 0.0), bend("right", 0.0));
    let finding = one(&garden, &[], "split-undetermined");
    insta::assert_snapshot!(
        finding.what(US),
        @"the flow split between fitting 'left' and fitting 'right' is undetermined: the flow shown for each is one of many"
    );
    let run = solution(&garden, &[]);
    let flow = |name: &str| run.flow_m3_per_s(name).expect("known");
    assert!((flow("left") + flow("right") - flow("spray")).abs() < 1e-12);
    assert!((psi(&run, "spray") - psi(&solution(&ways(bend("left", 0.0), bend("right", 9.0)), &[]), "spray")).abs() < 1e-6);
    // A resistance in one of them decides, even if it is the other that takes all.
    for ways in [ways(bend("left", 0.0), bend("right", 2.0)), ways(bend("left", 2.0), bend("right", 2.0))] {
        assert_none(&ways, &[], "split-undetermined");
    }
    let stiff = |name: &str, psi: f64| part(Kind::Supply, name, &[("static_pressure", q(psi, "psi"))]);
    let fed = |psi: f64| line(&[stiff("one", 50.0), head("spray", 0.15)]).add_source("one", &stiff("two", psi)).expect("joins");
    let finding = one(&fed(50.0), &[], "split-undetermined");
    insta::assert_snapshot!(
        finding.what(US),
        @"the flow split between supply 'one' and supply 'two' is undetermined: the flow shown for each is one of many"
    );
    // Of two unlike ones no flow is large enough to bring them together.
    assert!(run_of(&fed(40.0)).is_err());
    let alone = stiff("one", 50.0).add_source("one", &stiff("two", 40.0)).expect("joins");
    assert!(run_of(&alone).is_err());
}

fn run_of(garden: &Garden) -> Result<Solution, hosewright::hydraulics::RunError> {
    run(garden, &[])
}

fn switch(cut_in_psi: f64, cut_out_psi: f64) -> Garden {
    part(Kind::PressureSwitch, "switch", &[("cut_in", q(cut_in_psi, "psi")), ("cut_out", q(cut_out_psi, "psi"))])
}

fn rated_hose(name: &str, length_ft: f64, diameter_in: f64, rating_psi: f64) -> Garden {
    let numbers =
        [("length", q(length_ft, "ft")), ("diameter", q(diameter_in, "inch")), ("pressure_rating", q(rating_psi, "psi"))];
    part(Kind::Hose, name, &numbers)
}

fn needy_head(name: &str, diameter_in: f64, low_psi: f64, high_psi: f64) -> Garden {
    let numbers = [("nozzle", q(diameter_in, "inch")), ("range_low", q(low_psi, "psi")), ("range_high", q(high_psi, "psi"))];
    part(Kind::Head, name, &numbers)
}

fn open_tank(name: &str, level_ft: f64) -> Garden {
    part(Kind::OpenTank, name, &[("level", q(level_ft, "ft"))])
}

fn tap() -> Garden {
    supply("tap", 58.0, 44.0, 6.0)
}

fn pump() -> Garden {
    booster("pump", &[(0.0, 40.0), (10.0, 20.0)])
}

/// What stands before the pump in the sound garden.
fn protected_tap() -> Vec<Garden> {
    vec![tap(), part(Kind::Backflow, "preventer", &[]), rated_pipe("feed", 50.0, 0.824, 150.0), check("check")]
}

fn rated_pipe(name: &str, length_ft: f64, diameter_in: f64, rating_psi: f64) -> Garden {
    let numbers =
        [("length", q(length_ft, "ft")), ("diameter", q(diameter_in, "inch")), ("pressure_rating", q(rating_psi, "psi"))];
    part(Kind::Pipe, name, &numbers)
}

/// The zone of the sound garden.
fn zone() -> Vec<Garden> {
    vec![valve("berries"), rated_hose("berry line", 40.0, 0.75, 150.0), needy_head("berry", 5.0 / 32.0, 50.0, 80.0)]
}

/// A garden of which there is nothing to say. Against shut valves the pump stands at 58 + 40 = 98 psi.
fn sound() -> Garden {
    let pump = but(&pump(), "pump.dry_run_cutoff", 10.0, "psi");
    let middle = vec![pump, switch(60.0, 85.0), relief("relief", 97.0)];
    line(&[protected_tap(), middle, zone()].concat())
}

#[test]
fn nothing_is_said_of_a_sound_garden() {
    let solution = solution(&sound(), &["berries"]);
    assert_eq!(of_run(&solution), Vec::new());
    assert_eq!(show(&[], US, 80), "No findings. Cautions still apply.");
    assert_eq!(of_run(&run(&sound(), &[]).expect("a steady state")), Vec::new());
}

#[test]
fn a_line_that_nothing_feeds_has_no_findings() {
    assert_eq!(of_garden(&line(&[hose("feed", 50.0, 0.75), pump(), head("bed", 0.1)])), Vec::new());
}

#[test]
fn a_head_below_its_need_is_stalled_and_one_a_little_above_is_told_its_margin() {
    let garden = sound();
    let has = psi(&solution(&garden, &["berries"]), "berry");
    let needs = |low: f64| but(&garden, "berry.range_low", low, "psi");
    let finding = one(&needs(has + 0.1), &["berries"], "below-range");
    assert_eq!((finding.level(), finding.name.as_str(), finding.source()), (Level::Warning, "berry", Source::Physics));
    assert!(finding.what(US).ends_with("it is 0.1 psi short"), "{}", finding.what(US));
    assert_none(&needs(has - 0.1), &["berries"], "below-range");
    let finding = one(&needs(has - 0.1), &["berries"], "near-range-low");
    assert!(finding.what(US).ends_with("the margin is 0.1 psi"), "{}", finding.what(US));
    assert_none(&needs(has / 1.11), &["berries"], "near-range-low");
    // A head in a zone that is shut is not meant to run.
    assert_none(&needs(has + 0.1), &[], "below-range");
}

#[test]
fn a_head_above_what_it_can_take_is_over_pressured_and_one_a_little_below_is_told_its_margin() {
    let garden = sound();
    let has = psi(&solution(&garden, &["berries"]), "berry");
    let takes = |high: f64| but(&garden, "berry.range_high", high, "psi");
    assert!(one(&takes(has - 0.1), &["berries"], "above-range").what(US).contains("0.1 psi above"));
    assert_none(&takes(has + 0.1), &["berries"], "above-range");
    assert!(one(&takes(has + 0.1), &["berries"], "near-range-high").what(US).ends_with("the margin is 0.1 psi"));
    assert_none(&takes(has / 0.89), &["berries"], "near-range-high");
}

#[test]
fn a_head_without_needs_is_only_told_when_it_is_dry() {
    let garden = |rise_ft: f64| {
        line(&[supply("tap", 20.0, 15.0, 5.0), hose("feed", 50.0, 0.75), climb("hill", rise_ft), head("high", 0.1)])
    };
    // 20 psi lift water 46.2 ft; 60 ft want 5.99 psi more.
    let finding = one(&garden(60.0), &[], "no-flow");
    assert!(finding.what(US).contains("the pressure is 6 psi"), "{}", finding.what(US));
    assert_none(&garden(40.0), &[], "no-flow");
    assert_none(&garden(40.0), &[], "below-range");
    assert_none(&garden(40.0), &[], "near-range-low");
}

#[test]
fn a_head_behind_a_check_valve_that_is_turned_round_gets_no_supply() {
    let base = line(&[tap(), hose("feed", 50.0, 0.75)])
        .then_branches(&[
            line(&[point("near"), head("a", 0.1)]),
            line(&[valve("shut"), hose("line", 20.0, 0.75), point("far"), head("b", 0.1)]),
        ])
        .expect("joins");
    let against = base.connect("far", "near", &check("check")).expect("joins");
    assert_eq!(one(&against, &[], "no-supply").name, "b");
    let along = base.connect("near", "far", &check("check")).expect("joins");
    assert_none(&along, &[], "no-supply");
    assert_none(&base, &[], "no-supply");
}

#[test]
fn a_draw_below_the_pressure_of_the_air_is_starved() {
    let garden = |gpm: f64| line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 50.0, 0.75), draw("kitchen", gpm)]);
    assert!(one(&garden(12.5), &[], "demand-not-met").what(US).contains("takes 12.5 gpm at -"));
    assert_none(&garden(8.0), &[], "demand-not-met");
}

#[test]
fn a_regulator_below_its_setting_cannot_hold() {
    let garden = |set: f64| {
        let regulator = part(Kind::Regulator, "reg", &[("set", q(set, "psi"))]);
        line(&[tap(), hose("feed", 50.0, 0.75), regulator, head("a", 0.1)])
    };
    assert!(one(&garden(70.0), &[], "regulator-below-set").what(US).contains("cannot hold its 70 psi"));
    assert_none(&garden(30.0), &[], "regulator-below-set");
}

/// A tap, a hose, a part in line, and a head.
fn fed(part: Garden) -> Garden {
    line(&[tap(), hose("feed", 50.0, 0.75), part, head("a", 0.1)])
}

#[test]
fn a_valve_is_judged_by_the_pressure_at_its_inlet_only_where_its_range_is_given() {
    let valved = |numbers: &[(&str, f64)]| {
        let numbers: Vec<_> = numbers.iter().map(|&(name, psi)| (name, q(psi, "psi"))).collect();
        fed(part(Kind::Valve, "bed", &numbers))
    };
    let inlet_psi = psi(&solution(&valved(&[]), &["bed"]), "feed");
    for (low, expected) in [(inlet_psi - 0.01, 0), (inlet_psi + 0.01, 1)] {
        let found = found(&valved(&[("range_low", low)]), &["bed"], "valve-may-not-close");
        assert_eq!(found.len(), expected, "{low} psi: {found:?}");
    }
    // The valve that is closed sees the static pressure.
    for (high, expected) in [(57.9, 1), (58.1, 0)] {
        let garden = valved(&[("range_high", high)]);
        assert_eq!(found(&garden, &[], "inlet-above-range").len(), expected, "{high} psi");
        let at_rest: Vec<_> = of_garden(&garden).into_iter().filter(|finding| finding.code() == "inlet-above-range").collect();
        assert_eq!(at_rest.len(), expected, "{high} psi at rest");
    }
    // A range of a valve is no need of an outlet.
    let garden = valved(&[("range_low", 70.0), ("range_high", 90.0)]);
    assert_none(&garden, &["bed"], "below-range");
    let regulated = |low: f64| fed(part(Kind::Regulator, "reg", &[("set", q(30.0, "psi")), ("range_low", q(low, "psi"))]));
    assert_eq!(one(&regulated(60.0), &[], "regulator-below-range").level(), Level::Note);
    assert_none(&regulated(40.0), &[], "regulator-below-range");
}

#[test]
fn a_relief_without_capacity_is_reported_where_water_goes_through_it() {
    let garden = |set: f64| {
        let relief = part(Kind::Relief, "relief", &[("set", q(set, "psi"))]);
        line(&[tap(), check("check"), pump(), relief, hose("feed", 20.0, 0.75), head("a", 0.1)])
    };
    // The pump adds 40 psi to 58 psi at shut-off.
    assert_none(&garden(98.1), &[], "relief-capacity-not-given");
    let finding = one(&garden(97.9), &[], "relief-capacity-not-given");
    assert!(finding.what(US).contains("10 gpm at 107.69 psi is assumed"), "{}", finding.what(US));
    assert!(finding.what(UnitSystem::Metric).contains("L/min at 7.42 bar"), "{}", finding.what(UnitSystem::Metric));
    assert_none(&but(&garden(97.9), "relief.flow", 10.0, "gpm"), &[], "relief-capacity-not-given");
}

#[test]
fn water_is_fast_above_seven_feet_a_second_in_a_hose_above_five_in_a_pipe_and_too_fast_above_eight() {
    // 1 gpm in a 1 in diameter runs at 0.4085 ft/s.
    let garden = |line_of: Garden, gpm: f64| line(&[tap(), line_of, draw("kitchen", gpm)]);
    let gpm_at = |feet: f64| feet * 0.625 * 0.625 / 0.408_5;
    let at = |feet: f64| garden(hose("feed", 20.0, 0.625), gpm_at(feet));
    let in_pipe = |feet: f64| {
        let numbers = [("length", q(20.0, "ft")), ("diameter", q(0.625, "inch"))];
        garden(part(Kind::Pipe, "feed", &numbers), gpm_at(feet))
    };
    assert_none(&at(6.98), &[], "high-velocity");
    let finding = one(&at(7.02), &[], "high-velocity");
    assert_eq!((finding.level(), finding.source()), (Level::Note, Source::CommonPractice));
    assert!(finding.what(US).contains("7.02 ft/s, above 7 ft/s"), "{}", finding.what(US));
    assert_none(&in_pipe(4.98), &[], "high-velocity");
    let finding = one(&in_pipe(5.02), &[], "high-velocity");
    assert_eq!((finding.level(), finding.source()), (Level::Note, limits::FAST_IN_PIPE.source));
    assert!(finding.what(US).contains("5.02 ft/s, above 5 ft/s"), "{}", finding.what(US));
    assert_none(&at(7.98), &[], "excessive-velocity");
    assert_eq!(one(&at(8.02), &[], "excessive-velocity").level(), Level::Warning);
    assert_none(&at(8.02), &[], "high-velocity");
}

#[test]
fn an_inside_diameter_that_is_the_name_of_a_pipe_is_asked_about() {
    let garden = |diameter: f64, unit: &str| {
        let riser = part(Kind::Pipe, "riser", &[("length", q(20.0, "ft")), ("diameter", q(diameter, unit))]);
        line(&[tap(), riser, head("a", 0.1)])
    };
    for (diameter, unit) in [(0.824, "inch"), (0.7501, "inch"), (20.4, "mm"), (24.99, "mm")] {
        assert_none(&garden(diameter, unit), &[], "nominal-diameter");
    }
    let inch = one(&garden(0.75, "inch"), &[], "nominal-diameter");
    assert_eq!(
        inch.what(UnitSystem::AsWritten),
        "pipe 'riser' is 3/4 in inside, which is the name of a size: 3/4 in sch 40 is 0.824 in inside"
    );
    let mm = one(&garden(25.0, "mm"), &[], "nominal-diameter");
    assert_eq!(
        mm.what(UnitSystem::AsWritten),
        "pipe 'riser' is 25 mm inside, which is the name of a size: 25 mm PE SDR 11 is 20.4 mm inside"
    );
    assert_none(&line(&[tap(), hose("feed", 20.0, 0.75), head("a", 0.1)]), &[], "nominal-diameter");
}

#[test]
fn a_wall_rougher_than_the_law_of_friction_knows_is_told() {
    let garden = |mm: f64| but(&line(&[tap(), hose("feed", 20.0, 0.625), head("a", 0.1)]), "feed.roughness", mm, "mm");
    let inch_mm = 25.4;
    assert_none(&garden(0.049 * 0.625 * inch_mm), &[], "too-rough");
    let finding = one(&garden(0.06 * 0.625 * inch_mm), &[], "too-rough");
    assert_eq!(finding.level(), Level::Warning);
    assert!(finding.what(US).contains("roughness of hose 'feed' is 6% of its inside diameter"), "{}", finding.what(US));
    let soaker = |mm: f64| {
        but(
            &line(&[
                tap(),
                part(
                    Kind::Soaker,
                    "row",
                    &[
                        ("length", q(20.0, "ft")),
                        ("diameter", q(0.5, "inch")),
                        ("flow", q(1.0, "gpm")),
                        ("pressure", q(10.0, "psi")),
                    ],
                ),
            ]),
            "row.roughness",
            mm,
            "mm",
        )
    };
    assert_eq!(one(&soaker(1.0), &[], "too-rough").name, "row");
}

#[test]
fn a_hose_below_the_pressure_of_the_air_sucks() {
    let garden = |rise: f64| {
        line(&[
            tap(),
            hose("feed", 50.0, 0.75),
            climb("up", rise),
            hose("top", 20.0, 0.75),
            climb("down", -rise),
            head("a", 0.125),
        ])
    };
    assert_eq!(one(&garden(125.0), &[], "hose-below-atmospheric").name, "top");
    assert_none(&garden(80.0), &[], "hose-below-atmospheric");
}

#[test]
fn a_tap_drawn_below_20_psi_is_low_and_below_the_air_is_a_danger() {
    // 58 - 14 (q/6)^2: 26.5 psi at 9 gpm, 19.1 at 10, -7.7 at 13.
    let garden = |gpm: f64| line(&[tap(), hose("feed", 1.0, 1.0), draw("kitchen", gpm)]);
    assert_none(&garden(9.0), &[], "low-tap-pressure");
    assert!(one(&garden(10.0), &[], "low-tap-pressure").what(US).contains("19.1 psi at 10 gpm, below 20 psi"));
    assert_none(&garden(10.0), &[], "backsiphonage");
    let finding = one(&garden(13.0), &[], "backsiphonage");
    assert_eq!(finding.level(), Level::Danger);
    assert_none(&garden(13.0), &[], "low-tap-pressure");
}

#[test]
fn a_tap_without_a_bucket_test_that_runs_is_told() {
    let tap = part(Kind::Supply, "tap", &[("static_pressure", q(58.0, "psi"))]);
    let garden = line(&[tap, hose("feed", 50.0, 0.75), head("a", 0.1)]);
    assert!(one(&garden, &[], "no-bucket-test").what(US).contains("it is assumed to hold 58 psi at any flow"));
    assert_none(&line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 50.0, 0.75), head("a", 0.1)]), &[], "no-bucket-test");
    // At rest nothing is asked of it.
    let tap = part(Kind::Supply, "tap", &[("static_pressure", q(58.0, "psi"))]);
    assert_none(&line(&[tap, valve("beds"), hose("feed", 50.0, 0.75), head("a", 0.1)]), &[], "no-bucket-test");
}

#[test]
fn a_flow_far_beyond_the_bucket_test_is_a_guess() {
    let garden = |gpm: f64| line(&[tap(), hose("feed", 1.0, 1.0), draw("kitchen", gpm)]);
    assert!(one(&garden(7.21), &[], "beyond-bucket-test").what(US).contains("7.21 gpm"));
    assert_none(&garden(7.19), &[], "beyond-bucket-test");
}

#[test]
fn a_tap_above_80_psi_wants_a_pressure_reducing_valve() {
    let garden = |psi: f64| line(&[supply("tap", psi, 60.0, 6.0), hose("feed", 50.0, 0.75), head("a", 0.1)]);
    assert_eq!(one(&garden(81.0), &[], "high-static-pressure").source(), limits::HIGH_STATIC.source);
    assert_none(&garden(79.0), &[], "high-static-pressure");
    assert_eq!(one(&garden(81.0), &[], "high-static-pressure").level(), Level::Warning);
    // A regulator at the tap is that valve; one set above 80 psi is not.
    let regulated = |set: f64| {
        let regulator = part(Kind::Regulator, "reg", &[("set", q(set, "psi"))]);
        line(&[supply("tap", 90.0, 85.0, 6.0), regulator, hose("feed", 50.0, 0.75), head("a", 0.1)])
    };
    assert_none(&regulated(60.0), &[], "high-static-pressure");
    assert_eq!(one(&regulated(81.0), &[], "high-static-pressure").name, "tap");
}

#[test]
fn water_that_runs_backward_into_a_tap_is_a_danger_and_a_tank_is_filled_by_it() {
    let second = |first: Garden, parts: &[Garden]| {
        let garden = line(&[first, hose("feed", 20.0, 0.75), point("here"), head("a", 0.1)]);
        garden.add_source("here", &line(parts)).expect("joins")
    };
    let well = || supply("well", 80.0, 60.0, 6.0);
    let backward = second(tap(), &[well(), hose("well hose", 20.0, 0.75)]);
    let finding = one(&backward, &[], "backflow-into-tap");
    assert_eq!((finding.level(), finding.name.as_str()), (Level::Danger, "tap"));
    let checked = line(&[tap(), hose("feed", 20.0, 0.75), check("check"), point("here"), head("a", 0.1)]);
    let checked = checked.add_source("here", &line(&[well(), hose("well hose", 20.0, 0.75)])).expect("joins");
    assert_none(&checked, &[], "backflow-into-tap");
    let tank = second(tap(), &[open_tank("barrel", 5.0), hose("barrel hose", 20.0, 0.75)]);
    let finding = one(&tank, &[], "tank-fills");
    assert_eq!((finding.level(), finding.what(US).as_str()), (Level::Note, "open tank 'barrel' fills at 10.7 gpm"));
    assert_none(&tank, &[], "backflow-into-tap");
    let checked = second(tap(), &[open_tank("barrel", 5.0), hose("barrel hose", 20.0, 0.75), check("check")]);
    assert_none(&checked, &[], "tank-fills");
}

#[test]
fn a_tank_joined_to_a_tap_is_a_danger_and_behind_a_preventer_still_a_warning() {
    let garden = |start: &[Garden]| {
        let tap_line = line(&[start, &[hose("feed", 20.0, 0.75), point("here"), head("a", 0.1)]].concat());
        tap_line
            .add_source("here", &line(&[open_tank("barrel", 5.0), hose("barrel hose", 20.0, 0.75), check("check")]))
            .expect("joins")
    };
    assert_eq!(one(&garden(&[tap()]), &[], "cross-connection").level(), Level::Danger);
    assert_eq!(one(&garden(&[tap(), part(Kind::Backflow, "preventer", &[])]), &[], "cross-connection").level(), Level::Warning);
    assert_none(&line(&[open_tank("barrel", 5.0), hose("hose", 20.0, 0.75), head("a", 0.1)]), &[], "cross-connection");
}

#[test]
fn two_supplies_with_different_static_pressures_are_two_systems() {
    let garden = |second_psi: f64| {
        let first =
            line(&[tap(), part(Kind::Backflow, "preventer", &[]), hose("feed", 20.0, 0.75), point("here"), head("a", 0.1)]);
        let second = line(&[supply("well", second_psi, 44.0, 6.0), hose("hose", 20.0, 0.75), check("check")]);
        first.add_source("here", &second).expect("joins")
    };
    let finding = one(&garden(50.0), &[], "supplies-joined");
    assert_eq!((finding.level(), finding.name.as_str()), (Level::Warning, "well"));
    assert_none(&garden(58.0), &[], "supplies-joined");
}

#[test]
fn a_pump_that_no_supply_reaches_runs_dry() {
    let garden = line(&[tap(), valve("master"), hose("feed", 20.0, 0.75), pump(), hose("line", 20.0, 0.75), head("a", 0.125)]);
    assert_eq!(one(&garden, &[], "runs-dry").level(), Level::Danger);
    assert_none(&garden, &["master"], "runs-dry");
}

#[test]
fn a_pump_that_runs_against_shut_valves_is_dead_headed() {
    let garden = |middle: &[Garden]| {
        let start = [tap(), hose("feed", 20.0, 0.75), check("check"), pump()];
        line(&[&start, middle, &[valve("bed"), hose("line", 20.0, 0.75), head("a", 0.125)]].concat())
    };
    assert!(one(&garden(&[]), &[], "dead-headed").what(US).ends_with("no flow at 98 psi"));
    assert_none(&garden(&[]), &["bed"], "dead-headed");
    // A switch that stops it in time saves it, one that never does does not.
    assert_none(&garden(&[switch(60.0, 85.0)]), &[], "dead-headed");
    assert_eq!(one(&garden(&[switch(60.0, 99.0)]), &[], "dead-headed").name, "pump");
}

#[test]
fn water_that_runs_backward_through_a_pump_is_told() {
    let garden = |start: &[Garden]| {
        let first = line(
            &[start, &[hose("feed", 20.0, 0.75), booster("pump", &[(0.0, 10.0), (10.0, 5.0)]), point("here"), head("a", 0.1)]]
                .concat(),
        );
        first.add_source("here", &line(&[supply("well", 90.0, 70.0, 6.0), hose("well hose", 20.0, 0.75)])).expect("joins")
    };
    assert_eq!(one(&garden(&[tap()]), &[], "booster-backward").name, "pump");
    assert_none(&garden(&[tap(), check("check")]), &[], "booster-backward");
}

#[test]
fn the_start_of_a_big_motor_is_told_and_that_of_a_small_one_is_not() {
    let garden = |watts: f64| {
        let pump = Part::new(Kind::Booster)
            .named("pump")
            .and_then(|part| part.with_curve(&[(0.0, 30.0 * PSI), (10.0 * GPM, 15.0 * PSI)]));
        let mut pump = pump.expect("a sound booster");
        pump.set(Id::InputPower, q(watts, "W")).expect("a power");
        line(&[supply("tap", 50.0, 40.0, 6.0), Garden::of(pump), hose("feed", 50.0, 0.75), head("far", 0.125)])
    };
    let told = one(&garden(1150.0), &[], "start-current");
    assert!(told.what(US).contains("1150 W"), "{told:?}");
    assert_none(&garden(990.0), &[], "start-current");
}

#[test]
fn a_pump_beyond_its_last_point_is_told() {
    let garden = |gpm: f64| line(&[supply("tap", 58.0, 50.0, 10.0), hose("feed", 20.0, 1.0), pump(), draw("kitchen", gpm)]);
    assert!(one(&garden(10.1), &[], "beyond-curve").what(US).contains("10.1 gpm, beyond the last point of its curve at 10 gpm"));
    assert_none(&garden(9.9), &[], "beyond-curve");
    // The curve falls 2 psi a gpm: at 21 gpm it takes 2 psi away. At half its speed the last point lies at 5 gpm.
    assert!(one(&garden(21.0), &[], "beyond-curve").what(US).ends_with("and lowers the pressure by 2 psi"));
    assert!(one(&but(&garden(9.9), "pump.speed", 0.5, ""), &[], "beyond-curve").what(US).contains("at 5 gpm"));
}

#[test]
fn suction_head_below_the_required_one_cavitates_and_half_a_metre_is_the_margin() {
    let garden = sound();
    // Vapor pressure at 15 degC: 1,705.7 Pa (IAPWS formulation for ordinary water).
    let inlet_pa = solution(&garden, &["berries"]).state("pump").expect("known").pressure_in_pa.expect("fed");
    let available_m = (101_325.0 + inlet_pa - 1_705.7) / (999.1 * 9.80665);
    let requires = |npsh_m: f64| but(&garden, "pump.npsh", npsh_m, "m");
    assert_eq!(one(&requires(available_m + 0.01), &["berries"], "cavitates").level(), Level::Danger);
    assert_none(&requires(available_m - 0.01), &["berries"], "cavitates");
    assert_eq!(one(&requires(available_m - 0.49), &["berries"], "npsh-margin").level(), Level::Note);
    assert_none(&requires(available_m - 0.51), &["berries"], "npsh-margin");
}

/// A pump that lifts water out of a pond, without friction before it: what is left at its inlet follows from the height.
fn lifted(height_m: f64) -> Garden {
    let rise = part(Kind::Uphill, "bank", &[("height", q(height_m, "m"))]);
    line(&[part(Kind::OpenTank, "pond", &[("level", q(0.0, "m"))]), rise, pump(), head("a", 0.1)])
}

#[test]
fn a_pump_whose_required_suction_head_is_not_given_is_held_against_the_usual_one() {
    // 10.1675 m of water at sea level and 15 degC; 3.048 m are usual, so 7.1195 m of lift are left.
    let finding = one(&lifted(7.13), &[], "cavitates");
    assert_eq!((finding.level(), finding.source()), (Level::Danger, Source::CommonPractice));
    assert!(finding.what(US).contains("required NPSH is not given, small pumps need 10 ft"), "{}", finding.what(US));
    assert_none(&lifted(7.11), &[], "cavitates");
    // Half an atmosphere is called too high a lift: 7 psi are 4.926 m of water.
    assert_eq!(one(&lifted(4.94), &[], "lift-too-high").level(), Level::Warning);
    assert_none(&lifted(4.91), &[], "lift-too-high");
    assert_none(&lifted(7.13), &[], "lift-too-high");
    // A maker who knows better is believed.
    let known = but(&lifted(7.13), "pump.npsh", 2.0, "m");
    assert_none(&known, &[], "cavitates");
    assert_none(&known, &[], "lift-too-high");
    // 2000 m above the sea 79.495 kPa are left: 2.23 m less.
    let high = |height_m: f64| lifted(height_m).with_altitude(2000.0).expect("an altitude");
    assert_eq!(one(&high(4.90), &[], "cavitates").level(), Level::Danger);
    assert_none(&high(4.88), &[], "cavitates");
}

#[test]
fn a_pump_that_pulls_full_vacuum_is_a_danger_and_so_is_one_too_high() {
    let thirsty = |height_ft: f64| {
        line(&[open_tank("pond", 3.0), hose("suction", 20.0, 1.0), climb("bank", height_ft), pump(), head("gun", 0.5)])
    };
    let finding = one(&thirsty(35.0), &[], "suction-at-vacuum");
    assert_eq!(finding.level(), Level::Danger);
    assert!(finding.what(US).contains("is at -14.4 psi, full vacuum: flow is limited to"), "{}", finding.what(US));
    let nothing = one(&thirsty(40.0), &[], "suction-at-vacuum");
    assert!(nothing.what(US).contains("no water reaches booster 'pump'"), "{}", nothing.what(US));
    assert_none(&thirsty(40.0), &[], "dead-headed");
    assert_none(&thirsty(5.0), &[], "suction-at-vacuum");
    // On a public main that is a danger of its own.
    let mains = line(&[tap(), hose("feed", 200.0, 0.5), pump(), head("gun", 0.5)]);
    assert_eq!(one(&mains, &[], "suction-at-vacuum").level(), Level::Danger);
    assert_eq!(one(&mains, &[], "inlet-suction").level(), Level::Danger);
}

#[test]
fn a_siphon_whose_crest_is_too_high_is_told() {
    let siphon = |wall_ft: f64| {
        let down = [climb("slope", -60.0 - wall_ft), hose("down", 30.0, 0.75), head("end", 0.7)];
        line(&[&[open_tank("pond", 2.0), hose("up", 30.0, 0.75), climb("wall", wall_ft)], &down[..]].concat())
    };
    assert_eq!(one(&siphon(30.0), &[], "siphon-breaks").name, "slope");
    assert!(one(&siphon(40.0), &[], "siphon-breaks").what(US).starts_with("no water passes the crest"));
    assert_none(&siphon(-20.0), &[], "siphon-breaks");
}

#[test]
fn suction_at_the_inlet_is_a_danger_on_a_tap_and_a_note_on_a_tank() {
    let from_tank =
        |rise: f64| line(&[open_tank("pond", 1.0), climb("bank", rise), hose("suction", 10.0, 1.0), pump(), head("a", 0.1)]);
    // A line that sucks is told of itself, and needs no word about the inlet.
    assert_eq!(one(&from_tank(6.0), &[], "suction-leak").level(), Level::Note);
    assert_none(&from_tank(6.0), &[], "inlet-suction");
    assert_none(&from_tank(6.0), &[], "hose-below-atmospheric");
    assert_none(&from_tank(-6.0), &[], "suction-leak");
    let bare = |rise: f64| line(&[open_tank("pond", 1.0), climb("bank", rise), pump(), head("a", 0.1)]);
    assert_eq!(one(&bare(1.1), &[], "inlet-suction").level(), Level::Note);
    assert_none(&bare(0.9), &[], "inlet-suction");
    let from_tap = |length: f64| line(&[tap(), hose("feed", length, 0.5), pump(), draw("barrel", 8.0)]);
    assert_eq!(one(&from_tap(200.0), &[], "inlet-suction").level(), Level::Danger);
    assert_none(&from_tap(10.0), &[], "inlet-suction");
}

fn relay() -> Garden {
    part(Kind::PumpStart, "relay", &[])
}

fn flow_control(cut_in_psi: f64) -> Garden {
    part(Kind::PumpControl, "control", &[("cut_in", q(cut_in_psi, "psi"))])
}

fn drive(set_psi: f64) -> Garden {
    part(Kind::Drive, "drive", &[("set", q(set_psi, "psi"))])
}

fn leak(name: &str, gph: f64) -> Garden {
    part(Kind::Leak, name, &[("flow", q(gph, "gph")), ("pressure", q(40.0, "psi"))])
}

fn emitter(gph: f64) -> Garden {
    part(Kind::Emitter, "emitter", &[("flow", q(gph, "gph")), ("pressure", q(15.0, "psi")), ("exponent", q(0.05, ""))])
}

/// The pump with something that starts it, and a zone.
fn started(starter: &[Garden], zone: &[Garden]) -> Garden {
    line(&[&protected_tap()[..], &[pump()], starter, zone].concat())
}

#[test]
fn a_relay_may_run_its_pump_against_a_closed_line_unless_a_relief_valve_opens() {
    let garden = started(&[relay()], &zone());
    let finding = one(&garden, &["berries"], "relay-dead-head");
    assert!(!finding.what(US).contains("degF"), "no power is given: {}", finding.what(US));
    let powered = one(&but(&garden, "pump.input_power", 550.0, "W"), &["berries"], "relay-dead-head");
    assert!(powered.what(US).contains("140 degF in about"), "{}", powered.what(US));
    assert_none(&started(&[relay(), relief("relief", 80.0)], &zone()), &["berries"], "relay-dead-head");
    // At rest nothing runs, and the pump is not said to be dead-headed.
    assert_none(&garden, &[], "dead-headed");
    assert_none(&garden, &["berries"], "relay-without-zones");
    assert_none(&started(&[switch(60.0, 85.0)], &zone()), &["berries"], "relay-dead-head");
}

#[test]
fn a_control_with_less_flow_than_it_feels_cycles() {
    let drip = |gph: f64| started(&[flow_control(70.0)], &[valve("drip"), emitter(gph)]);
    let flow = |gph: f64| solution(&drip(gph), &["drip"]).flow_m3_per_s("emitter").expect("known") / q(1.0, "gpm").si;
    let (less, more) = (13.5, 14.2);
    assert!(flow(less) < 0.25 && flow(more) > 0.25, "{} and {}", flow(less), flow(more));
    one(&drip(less), &["drip"], "below-least-flow");
    assert_none(&drip(more), &["drip"], "below-least-flow");
    // Above its cut-in the line needs no pump, as far as the control knows.
    let low = started(&[flow_control(30.0)], &[valve("drip"), emitter(more)]);
    one(&low, &["drip"], "never-starts");
    assert_none(&low, &["drip"], "below-least-flow");
}

#[test]
fn a_leak_makes_a_control_cycle_or_keeps_it_running() {
    let leaking = |gph: f64, cut_in_psi: f64| started(&[flow_control(cut_in_psi), leak("drip", gph)], &zone());
    assert!(one(&leaking(2.0, 70.0), &["berries"], "leak-cycles-pump").what(US).contains("times an hour"));
    assert!(one(&leaking(40.0, 70.0), &["berries"], "leak-cycles-pump").what(US).contains("keeps booster 'pump' running"));
    // The main alone holds the line above cut-in, or there is no leak.
    assert_none(&leaking(2.0, 40.0), &["berries"], "leak-cycles-pump");
    assert_none(&started(&[flow_control(70.0)], &zone()), &["berries"], "leak-cycles-pump");
}

#[test]
fn a_switch_that_feels_more_than_cut_in_never_starts() {
    // A zone that has enough without the pump is well as it is.
    let garden = but(&sound(), "berry.range_low", 60.0, "psi");
    let off = solution(&garden, &["berries"]).switches[0].off_pa / PSI;
    let cut_in = |psi: f64| but(&garden, "switch.cut_in", psi, "psi");
    let finding = one(&cut_in(off - 0.1), &["berries"], "never-starts");
    assert!(
        finding.what(US).starts_with("pressure switch 'switch' never starts booster 'pump': line pressure is"),
        "{}",
        finding.what(US)
    );
    assert_none(&cut_in(off + 0.1), &["berries"], "never-starts");
    assert!(one(&cut_in(off + 0.1), &["berries"], "near-cut-in").what(US).contains("a margin of only 0.1 psi"));
    assert_none(&cut_in(off + 3.1), &["berries"], "near-cut-in");
    // When no water is used it is right that the pump sleeps.
    assert_none(&cut_in(off - 0.1), &[], "never-starts");
}

#[test]
fn a_zone_that_has_enough_without_the_pump_needs_none() {
    let off = solution(&sound(), &["berries"]).switches[0].off_pa / PSI;
    let low = |needs_psi: f64| but(&but(&sound(), "switch.cut_in", off - 1.0, "psi"), "berry.range_low", needs_psi, "psi");
    let finding = one(&low(30.0), &["berries"], "zone-needs-no-pump");
    assert_eq!(finding.level(), Level::Note);
    assert!(
        finding.what(US).starts_with("head 'berry' has")
            && finding.what(US).ends_with("needs 30 psi: this zone does not need the pump")
    );
    assert_none(&low(30.0), &["berries"], "never-starts");
    assert_none(&low(60.0), &["berries"], "zone-needs-no-pump");
    assert_none(&sound(), &["berries"], "zone-needs-no-pump");
}

#[test]
fn a_pump_that_runs_for_heads_that_need_none_is_told_with_the_usual_margin() {
    // What the preventer takes is known; of one that might take up to 12 psi nobody can tell.
    let known = |garden: &Garden| but(garden, "preventer.cracking_pressure", 3.0, "psi");
    let off = psi(&solution(&but(&known(&sound()), "switch.cut_in", 20.0, "psi"), &["berries"]), "berry");
    let needs = |garden: &Garden, low_psi: f64| but(garden, "berry.range_low", low_psi, "psi");
    let at = off / 1.1;
    let tank = part(Kind::PressureTank, "tank", &[("volume", q(2.0, "gal")), ("precharge", q(40.0, "psi"))]);
    for (starter, action) in [
        (vec![switch(60.0, 85.0)], "then connect this zone upstream of booster 'pump'"),
        (vec![relay()], "then set the timer so that it does not start booster 'pump' for this zone"),
        (vec![flow_control(70.0)], "then connect this zone upstream of booster 'pump'"),
        (vec![drive(75.0), tank], "then connect this zone upstream of booster 'pump'"),
        (vec![], "then leave booster 'pump' off for these heads"),
    ] {
        let garden = known(&started(&starter, &zone()));
        let finding = one(&needs(&garden, at - 0.05), &["berries"], "zone-needs-no-pump");
        assert_eq!((finding.level(), finding.name.as_str()), (Level::Note, "berry"));
        assert!(finding.what(US).contains("with booster 'pump' off, and needs"), "{}", finding.what(US));
        assert!(finding.what(US).ends_with("the pump runs for nothing"), "{}", finding.what(US));
        assert!(finding.action(US).starts_with("read main pressure on a dry evening, "), "{}", finding.action(US));
        assert!(finding.action(US).contains(action), "{}", finding.action(US));
        assert_none(&needs(&garden, at + 0.05), &["berries"], "zone-needs-no-pump");
        assert_none(&needs(&garden, at - 0.05), &[], "zone-needs-no-pump");
    }
    let enough = needs(&known(&sound()), at - 0.05);
    assert_none(&needs(&sound(), at - 0.05), &["berries"], "zone-needs-no-pump");
    // What the main has on the worst evening counts, where it is given.
    assert_none(&but(&enough, "tap.lowest_static", 57.0, "psi"), &["berries"], "zone-needs-no-pump");
    let evening = but(&needs(&known(&sound()), 0.8 * at), "tap.lowest_static", 57.0, "psi");
    let finding = one(&evening, &["berries"], "zone-needs-no-pump");
    assert!(finding.what(US).contains("off and the main at 57 psi, and needs"), "{}", finding.what(US));
    assert!(finding.action(US).starts_with("connect this zone"), "{}", finding.action(US));
    // Heads that the main alone would push out of their range, that do not say what they need, or that stay dry without the pump.
    assert_none(&but(&enough, "berry.range_high", off - 0.1, "psi"), &["berries"], "zone-needs-no-pump");
    let silent = line(&[&protected_tap()[..], &[pump(), valve("berries"), head("berry", 0.1)]].concat());
    assert_none(&silent, &["berries"], "zone-needs-no-pump");
    let high = |rise_ft: f64| {
        let ends = [needy_head("near", 0.1, 5.0, 90.0), line(&[climb("up", rise_ft), needy_head("far", 0.1, 1.0, 90.0)])];
        known(&line(&[&protected_tap()[..], &[pump(), valve("berries")]].concat()).then_branches(&ends).expect("joins"))
    };
    assert_eq!(found(&high(0.0), &["berries"], "zone-needs-no-pump").len(), 1);
    assert_none(&high(150.0), &["berries"], "zone-needs-no-pump");
    // Heads that reach each other with the pump alone.
    let thrown = |apart_ft: f64| {
        let head = |name: &str, x_ft: f64| {
            let numbers = [
                ("nozzle", q(0.1, "inch")),
                ("radius", q(25.0, "ft")),
                ("radius_pressure", q(80.0, "psi")),
                ("range_low", q(20.0, "psi")),
                ("x", q(x_ft, "ft")),
                ("y", q(0.0, "ft")),
            ];
            part(Kind::Head, name, &numbers)
        };
        let trunk = line(&[&protected_tap()[..], &[pump(), valve("berries")]].concat());
        known(&trunk.then_branches(&[head("a", 0.0), head("b", apart_ft)]).expect("joins"))
    };
    assert_eq!(found(&thrown(15.0), &["berries"], "zone-needs-no-pump").len(), 1);
    assert_eq!(found(&thrown(23.0), &["berries"], "spacing"), Vec::new());
    assert_none(&thrown(23.0), &["berries"], "zone-needs-no-pump");
}

/// A part of a kind with plain numbers, at pressures of a house.
fn any_part(kind: Kind, numbers: &[(&'static str, f64)]) -> Garden {
    let plain = [
        ("length", 20.0),
        ("flow", 0.5),
        ("pressure", 20.0),
        ("loss", 1.0),
        ("set", 45.0),
        ("cut_in", 30.0),
        ("cut_out", 60.0),
        ("volume", 5.0),
        ("precharge", 20.0),
        ("height", 1.0),
        ("spacing", 12.0),
    ];
    let nozzle = if kind.spec().has(Id::Cd) { [("nozzle", 0.1)] } else { [("diameter", 0.5)] };
    let given: Vec<_> = plain
        .iter()
        .chain(&nozzle)
        .chain(numbers)
        .filter(|(name, _)| Id::of(name).is_some_and(|id| kind.spec().has(id)))
        .collect();
    let units: Vec<_> = given
        .iter()
        .map(|(name, value)| {
            let number = Id::of(name).and_then(|id| kind.spec().parameter(id)).expect("known");
            (*name, q(*value, number.unit))
        })
        .collect();
    if kind == Kind::Booster {
        let curve = Part::new(kind).named("x").and_then(|part| part.with_curve(&[(0.0, 2e5), (1e-3, 1e5)]));
        let mut part = curve.expect("a sound booster");
        units.iter().for_each(|(name, value)| part.set(Id::of(name).expect("known"), *value).expect("a sound number"));
        return Garden::of(part);
    }
    part(kind, "x", &units)
}

/// A tap, parts before, a part of a kind, and a tap in use behind it.
fn with_kind(before: &[Garden], kind: Kind, numbers: &[(&'static str, f64)]) -> Garden {
    line(&[&[tap(), rated_pipe("feed", 20.0, 0.824, 150.0)], before, &[any_part(kind, numbers), draw("kitchen", 1.0)]].concat())
}

fn levels(garden: &Garden, code: &str, name: &str) -> Vec<Level> {
    found(garden, &[], code).into_iter().filter(|finding| finding.name == name).map(|finding| finding.level()).collect()
}

#[test]
fn what_a_part_is_decides_what_is_asked_of_it_not_its_kind() {
    for &kind in Kind::ALL.iter().filter(|kind| kind.spec().placing != Placing::Source) {
        let (spec, traits) = (kind.spec(), kind.spec().traits);
        let only = |holds: bool, level: Level| if holds { vec![level] } else { vec![] };
        let plain = with_kind(&[], kind, &[]);
        // The tap in use downstream of a hose lies in a bucket.
        let dirty = traits.soil != Soil::Away || traits.pumps || (spec.is_line() && traits.flexible);
        let level = if traits.soil == Soil::In { Level::Danger } else { Level::Warning };
        assert_eq!(levels(&plain, "no-backflow-preventer", "tap"), only(dirty, level), "{}", spec.word);
        assert_eq!(levels(&plain, "drip-over-pressure", "x"), only(traits.drips, Level::Warning), "{}", spec.word);
        let weak = with_kind(&[], kind, &[("pressure_rating", 10.0)]);
        assert_eq!(levels(&weak, "over-rating", "x"), only(spec.has(Id::PressureRating), Level::Danger), "{}", spec.word);
        let delicate = with_kind(&[], kind, &[("range_high", 20.0)]);
        let (ranged, inlet) = (spec.has(Id::RangeHigh), spec.placing == Placing::Inline);
        assert_eq!(levels(&delicate, "above-range", "x"), only(ranged && !inlet, Level::Warning), "{}", spec.word);
        assert_eq!(levels(&delicate, "inlet-above-range", "x"), only(ranged && inlet, Level::Warning), "{}", spec.word);
        assert_eq!(ranged, traits.waters || traits.opens || spec.regulates(), "{}", spec.word);
        let high = with_kind(&[climb("hill", 200.0)], kind, &[]);
        assert_eq!(levels(&high, "no-flow", "x"), only(traits.waters, Level::Warning), "{}", spec.word);
        let pumped = with_kind(&[check("check"), but(&pump(), "pump.pressure_rating", 200.0, "psi")], kind, &[]);
        let asked = found(&pumped, &[], "no-relief").iter().any(|finding| finding.what(US).contains("'x' is not given"));
        assert_eq!(asked, traits.bursts, "{}", spec.word);
    }
}

/// Heads in the corners of a square of 20 ft, each with this arc and this need.
fn lawn(arc_deg: f64, low_psi: f64) -> Coverage {
    lawn_of(arc_deg, [low_psi; 4])
}

/// The same with what each head needs.
fn lawn_of(arc_deg: f64, lows_psi: [f64; 4]) -> Coverage {
    let side_m = 20.0 * FT;
    let bed = Bed { left_m: 0.0, right_m: side_m, bottom_m: 0.0, top_m: side_m };
    Coverage::of(&solution(&lawn_garden(arc_deg, lows_psi), &[]), Some(bed), Pattern::default()).expect("coverage")
}

pub fn lawn_garden(arc_deg: f64, lows_psi: [f64; 4]) -> Garden {
    let corners = [("a", 0.0, 0.0), ("b", 20.0, 0.0), ("c", 20.0, 20.0), ("d", 0.0, 20.0)];
    let heads: Vec<Garden> = corners
        .iter()
        .zip(lows_psi)
        .map(|(&(name, x_ft, y_ft), low_psi)| {
            let numbers = [
                ("nozzle", q(0.09, "inch")),
                ("radius", q(20.0, "ft")),
                ("radius_pressure", q(20.0, "psi")),
                ("arc", q(arc_deg, "")),
                ("x", q(x_ft, "ft")),
                ("y", q(y_ft, "ft")),
                ("range_low", q(low_psi, "psi")),
            ];
            part(Kind::Head, name, &numbers)
        })
        .collect();
    line(&[tap(), hose("feed", 20.0, 0.75)]).then_branches(&heads).expect("joins")
}

/// Two full circles that throw 20 ft at 30 psi, with other numbers for the second.
fn two_heads(apart_ft: f64, changes: &[(&str, Quantity)]) -> Garden {
    let head = |name: &str, x_ft: f64| {
        let numbers = [
            ("nozzle", q(0.09, "inch")),
            ("radius", q(20.0, "ft")),
            ("radius_pressure", q(30.0, "psi")),
            ("x", q(x_ft, "ft")),
            ("y", q(0.0, "ft")),
        ];
        part(Kind::Head, name, &numbers)
    };
    let garden = line(&[tap(), hose("feed", 20.0, 0.75)]).then_branches(&[head("a", 0.0), head("b", apart_ft)]).expect("joins");
    changes.iter().fold(garden, |garden, (path, value)| garden.with(path, *value).expect("a parameter"))
}

pub fn strip_of(garden: &Garden) -> Coverage {
    let bed = Bed { left_m: 0.0, right_m: 20.0 * FT, bottom_m: -10.0 * FT, top_m: 10.0 * FT };
    Coverage::of(&solution(garden, &[]), Some(bed), Pattern::default()).expect("coverage")
}

fn codes_of(findings: &[Finding]) -> Vec<&'static str> {
    findings.iter().map(Finding::code).collect()
}

#[test]
fn heads_that_do_not_reach_each_other_are_too_far_apart() {
    let spacing = |garden: &Garden| {
        let found = of_solution(&solution(garden, &[]));
        found.into_iter().filter(|finding| finding.code() == "spacing").collect::<Vec<_>>()
    };
    assert_eq!(spacing(&two_heads(20.0, &[])), Vec::new());
    let apart = spacing(&two_heads(24.0, &[]));
    assert_eq!(apart.len(), 1);
    assert_eq!(apart[0].what(US), "head 'a' throws 20 ft, and 'b', the nearest head, is 24 ft away");
    // Circles that do not meet water different beds.
    assert_eq!(spacing(&two_heads(41.0, &[])), Vec::new());
    // A third of the pressure of the throw: it reaches less far.
    assert_eq!(spacing(&two_heads(20.0, &[("*.radius_pressure", q(150.0, "psi"))])).len(), 1);
}

#[test]
fn heads_of_a_valve_put_down_water_at_one_rate() {
    let unmatched = |garden: &Garden| {
        let found = of_solution(&solution(garden, &[]));
        found.into_iter().find(|finding| finding.code() == "unmatched")
    };
    assert_eq!(unmatched(&two_heads(20.0, &[])), None);
    // A quarter of the ground with the same nozzle.
    let found = unmatched(&two_heads(20.0, &[("b.arc", q(90.0, ""))])).expect("a finding");
    assert!(
        found.what(US).starts_with("head 'a' puts down 0.") && found.what(US).contains("and 'b' on the same valve 0."),
        "{}",
        found.what(US)
    );
    // Half the nozzle area for a little more than half the ground.
    assert_eq!(unmatched(&two_heads(20.0, &[("b.arc", q(200.0, "")), ("b.nozzle", q(0.0645, "inch"))])), None);
}

#[test]
fn wind_rings_and_mist_are_told_of_a_coverage() {
    let calm = strip_of(&two_heads(20.0, &[("a.arc", q(180.0, "")), ("b.arc", q(180.0, ""))]));
    assert_eq!(codes_of(&of_coverage(&calm)), Vec::<&str>::new());
    let windy = |speed_m_per_s: f64| calm.in_wind(Some(Wind { speed_m_per_s, from_deg: 0.0 })).expect("coverage");
    assert_eq!(codes_of(&of_coverage(&windy(0.3))), Vec::<&str>::new());
    let found = of_coverage(&windy(7.0));
    assert!(codes_of(&found).contains(&"coverage-wind") && codes_of(&found).contains(&"spacing"), "{:?}", codes_of(&found));
    let low = strip_of(&two_heads(20.0, &[("a.radius_pressure", q(75.0, "psi"))]));
    assert!(codes_of(&of_coverage(&low)).contains(&"coverage-ring"), "{:?}", codes_of(&of_coverage(&low)));
    let nearly = strip_of(&two_heads(20.0, &[("a.radius_pressure", q(60.0, "psi"))]));
    assert!(!codes_of(&of_coverage(&nearly)).contains(&"coverage-ring"));
    let high = strip_of(&two_heads(20.0, &[("a.range_high", q(40.0, "psi"))]));
    assert!(codes_of(&of_coverage(&high)).contains(&"coverage-mist"));
}

#[test]
fn a_test_with_few_dry_or_blown_cans_is_told() {
    let ml = |values: &[f64]| -> CatchCans {
        CatchCans::of(&values.iter().map(|value| q(*value, "mL")).collect::<Vec<_>>()).expect("cans")
    };
    let many: Vec<f64> = (0..16).map(|can| 20.0 + f64::from(can % 3)).collect();
    assert_eq!(codes_of(&of_cans(&ml(&many))), Vec::<&str>::new());
    assert_eq!(codes_of(&of_cans(&ml(&many[..15]))), ["cans-few"]);
    let unsure = of_cans(&ml(&[5.0, 30.0, 10.0, 22.0]));
    assert_eq!((codes_of(&unsure), unsure[0].level()), (vec!["cans-few"], Level::Warning));
    let mut dry = many.clone();
    (dry[3], dry[9]) = (0.0, 0.0);
    assert_eq!(of_cans(&ml(&dry))[0].what(US), "can 4 caught nothing; so did 1 other");
    let wind = |mph: f64| of_cans(&ml(&many).in_wind(q(mph, "mph").si).expect("a wind"));
    assert_eq!((codes_of(&wind(4.9)), codes_of(&wind(5.1))), (vec![], vec!["cans-wind"]));
    let short = |mouth_in2: f64| of_cans(&ml(&many).mouth(q(mouth_in2, "in2").si).expect("a mouth"));
    // 21 mL over 3 mm are 70 cm2, 10.85 in2.
    assert_eq!((codes_of(&short(10.7)), codes_of(&short(11.0))), (vec![], vec!["cans-short"]));
}

#[test]
fn water_that_misses_the_bed_is_told() {
    // Of a full circle in the corner of a square that it spans a quarter falls on the bed.
    let findings = of_coverage(&lawn(360.0, 20.0));
    assert_eq!(
        findings.iter().map(|finding| (finding.code(), finding.level())).collect::<Vec<_>>(),
        [("overspray", Level::Warning)]
    );
    assert!(findings[0].what(US).starts_with("75% of the water falls outside the bed"), "{}", findings[0].what(US));
    assert_eq!(of_coverage(&lawn(90.0, 20.0)), Vec::new());
}

#[test]
fn a_head_that_stalls_waters_nothing() {
    let coverage = lawn_of(90.0, [57.0, 20.0, 20.0, 20.0]);
    // Three heads of four: the corner of the one that stalls stays dry.
    assert_eq!((coverage.sprays.len(), coverage.stalled.as_slice()), (3, &["a".to_string()][..]));
    let whole = lawn(90.0, 20.0);
    assert!(whole.uniformity.du > coverage.uniformity.du + 0.2, "{:?}", coverage.uniformity);
    let codes = |coverage: &Coverage| of_coverage(coverage).iter().map(|finding| finding.code()).collect::<Vec<_>>();
    assert_eq!(codes(&coverage), ["coverage-below-range", "coverage-uneven"]);
    assert!(of_coverage(&coverage)[0].what(US).starts_with("head 'a' is below its operating range and counts for nothing"));
    assert!(codes(&coverage.with_pattern(Pattern::Disc).expect("coverage")).contains(&"coverage-below-range"));
    // Of none there is neither rate nor evenness, and a comparison of options goes on.
    let none = lawn(90.0, 57.0);
    assert_eq!((none.uniformity, none.caught_share(), none.bare_share()), (Uniformity::DRY, 0.0, 1.0));
    assert_eq!(
        of_coverage(&none)[0].what(US),
        "no head is in its operating range (4 heads below it), so nothing waters the ground"
    );
    assert_eq!(none.time_for_s(0.01, CountOn::Mean), Err(CoverageError::NeverWet));
    assert!(none.in_wind(Some(Wind { speed_m_per_s: 3.0, from_deg: 0.0 })).is_ok());
}

#[test]
fn a_switch_that_reaches_cut_out_while_water_is_used_short_cycles() {
    let garden = sound();
    let at = solution(&garden, &["berries"]).switches[0].at_pa / PSI;
    let cut_out = |psi: f64| but(&garden, "switch.cut_out", psi, "psi");
    assert!(one(&cut_out(at - 0.1), &["berries"], "short-cycles").what(US).contains("at or above cut-out"));
    assert_none(&cut_out(at + 0.1), &["berries"], "short-cycles");
    assert!(one(&cut_out(at + 0.1), &["berries"], "near-cut-out").what(US).contains("a margin of only 0.1 psi"));
    assert_none(&cut_out(at + 3.1), &["berries"], "near-cut-out");
    assert_none(&cut_out(at - 0.1), &[], "short-cycles");
}

#[test]
fn a_switch_above_dead_head_never_stops_and_needs_5_psi_of_margin() {
    let cut_out = |psi: f64| but(&sound(), "switch.cut_out", psi, "psi");
    let finding = one(&cut_out(98.1), &[], "never-stops");
    assert!(finding.what(US).contains("line pressure is 98 psi, below cut-out 98.1 psi"), "{}", finding.what(US));
    assert_none(&cut_out(97.9), &[], "never-stops");
    assert!(one(&cut_out(97.9), &[], "near-dead-head").what(US).contains("a margin of only 0.1 psi"));
    assert_none(&cut_out(92.9), &[], "near-dead-head");
}

#[test]
fn a_switch_stops_its_pump_at_the_lowest_main_pressure_too_where_the_supply_gives_one() {
    // 40 psi of the pump over 58 of the main are 98; over 50 of a hot evening 90.
    let at =
        |cut_out: f64, lowest: f64| but(&but(&sound(), "switch.cut_out", cut_out, "psi"), "tap.lowest_static", lowest, "psi");
    let finding = one(&at(90.1, 50.0), &[], "never-stops");
    assert!(finding.what(US).contains("closed and the main at 50 psi, line pressure is 90 psi, below"), "{}", finding.what(US));
    assert!(one(&at(89.9, 50.0), &[], "near-dead-head").what(US).contains("a margin of only 0.1 psi"));
    assert_none(&at(84.9, 50.0), &[], "near-dead-head");
    assert_none(&at(90.1, 58.0), &[], "never-stops");
    let error = sound().with("tap.lowest_static", q(58.1, "psi")).expect_err("a contradiction");
    assert!(error.to_string().contains("(58.1 psi) is above the static pressure (58 psi)"), "{error}");
}

#[test]
fn dead_head_counts_the_height_of_the_switch() {
    // 20 ft up take 8.66 psi away: 98 become 89.34.
    let garden =
        |cut_out: f64| line(&[protected_tap(), vec![pump(), climb("hill", 20.0), switch(40.0, cut_out)], zone()].concat());
    assert!(one(&garden(89.4), &[], "never-stops").what(US).contains("89.3 psi"));
    assert_none(&garden(89.2), &[], "never-stops");
}

#[test]
fn a_pump_without_anything_that_keeps_water_back_cycles_at_rest() {
    let garden = |start: &[Garden], cut_in: f64| {
        line(&[start, &[hose("feed", 20.0, 0.75), pump(), switch(cut_in, 85.0)], &zone()].concat())
    };
    assert_eq!(one(&garden(&[tap()], 60.0), &[], "cycles-without-demand").name, "switch");
    assert_none(&garden(&[tap(), check("check")], 60.0), &[], "cycles-without-demand");
    assert_none(&garden(&[tap()], 57.0), &[], "cycles-without-demand");
}

#[test]
fn a_master_valve_before_the_pump_stands_open_at_rest() {
    let garden = |cut_out: f64| line(&[protected_tap(), vec![valve("master"), pump(), switch(40.0, cut_out)], zone()].concat());
    assert!(one(&garden(99.0), &[], "never-stops").what(US).contains("98 psi"));
    assert_none(&garden(92.0), &[], "never-stops");
}

#[test]
fn what_stands_before_the_pump_is_not_laid_at_its_door() {
    // The tap alone, at 58 psi, is too much for this hose, and near the setting of this relief valve.
    let before = [tap(), rated_hose("weak", 20.0, 0.75, 50.0), relief("tap relief", 60.0), check("check")];
    let garden = line(&[&before[..], &[pump(), switch(40.0, 57.0)], &zone()].concat());
    assert_eq!(one(&garden, &[], "over-rating").name, "weak");
    assert_none(&garden, &[], "no-relief");
    assert_none(&garden, &[], "relief-near-cut-out");
}

#[test]
fn a_weak_tap_is_no_finding_while_nothing_runs() {
    let garden = line(&[supply("tap", 15.0, 10.0, 5.0), hose("feed", 20.0, 0.75), valve("bed"), head("a", 0.1)]);
    assert_eq!(one(&garden, &["bed"], "low-tap-pressure").name, "tap");
    assert_none(&garden, &[], "low-tap-pressure");
}

#[test]
fn precharge_must_lie_below_cut_in_at_the_height_of_the_tank() {
    let garden = |precharge: f64, rise: f64| {
        let tank = part(Kind::PressureTank, "tank", &[("volume", q(5.0, "gal")), ("precharge", q(precharge, "psi"))]);
        line(&[protected_tap(), vec![pump(), switch(60.0, 85.0), climb("rise", rise), tank], zone()].concat())
    };
    assert!(
        one(&garden(60.0, 0.0), &[], "precharge-high")
            .what(US)
            .contains("is 60 psi, not below cut-in of pressure switch 'switch', 60 psi at its elevation")
    );
    assert_none(&garden(59.9, 0.0), &[], "precharge-high");
    // 10 ft up cut-in is 4.33 psi less.
    assert_eq!(one(&garden(56.0, 10.0), &[], "precharge-high").name, "tank");
    assert_none(&garden(55.0, 10.0), &[], "precharge-high");
}

#[test]
fn a_relief_that_opens_in_daily_use_is_told() {
    let garden = sound();
    let felt = psi(&solution(&garden, &["berries"]), "relief");
    let set = |psi: f64| but(&garden, "relief.set", psi, "psi");
    assert!(one(&set(felt - 0.5), &["berries"], "relief-opens").what(US).contains("is open and discharges"));
    assert_none(&set(felt + 0.5), &["berries"], "relief-opens");
}

#[test]
fn a_relief_at_cut_out_weeps_and_ten_psi_above_it_is_well() {
    // Common practice, no source: with a 30/75 psi switch a relief valve at 75 psi weeps.
    let garden = |set: f64| line(&[protected_tap(), vec![pump(), switch(30.0, 75.0), relief("relief", set)], zone()].concat());
    assert!(one(&garden(75.0), &[], "relief-weeps").what(US).contains("set pressure 75 psi, line pressure 75 psi"));
    assert_eq!(one(&garden(70.0), &[], "relief-weeps").source(), Source::CommonPractice);
    assert_none(&garden(75.1), &[], "relief-weeps");
    assert!(one(&garden(75.1), &[], "relief-near-cut-out").what(US).contains("only 0.1 psi above"));
    assert_none(&garden(85.0), &[], "relief-near-cut-out");
}

#[test]
fn a_relief_downhill_of_the_switch_feels_more_than_cut_out() {
    // 20 ft down add 8.66 psi.
    let garden = |drop: f64| {
        line(&[protected_tap(), vec![pump(), switch(30.0, 75.0), climb("drop", -drop), relief("relief", 80.0)], zone()].concat())
    };
    assert!(one(&garden(20.0), &[], "relief-weeps").what(US).contains("line pressure 83.7 psi"));
    assert_none(&garden(0.0), &[], "relief-weeps");
}

#[test]
fn a_relief_below_the_pressure_of_the_tap_never_shuts() {
    let garden = |set: f64| {
        line(&[tap(), hose("feed", 20.0, 0.75), relief("relief", set), valve("bed"), hose("line", 20.0, 0.5), head("a", 0.1)])
    };
    assert_eq!(one(&garden(57.0), &[], "relief-never-closes").name, "relief");
    assert_none(&garden(59.0), &[], "relief-never-closes");
}

#[test]
fn a_relief_must_pass_what_the_pump_pushes() {
    let garden = |gpm: f64| {
        let garden = line(&[protected_tap(), vec![pump(), switch(40.0, 65.0), relief("relief", 75.0)], zone()].concat());
        but(&garden, "relief.flow", gpm, "gpm")
    };
    let finding = one(&garden(1.0), &[], "relief-too-small");
    assert!(finding.what(US).contains("its capacity is 1 gpm at 82.5 psi"), "{}", finding.what(US));
    assert_none(&garden(12.0), &[], "relief-too-small");
}

#[test]
fn a_pump_that_can_burst_a_hose_needs_a_relief_that_protects() {
    let garden = |reliefs: &[Garden], rating: f64| {
        let middle = [pump(), switch(40.0, 70.0), rated_hose("line", 20.0, 0.75, rating)];
        line(&[&protected_tap()[..], &middle, reliefs, &zone()].concat())
    };
    let finding = one(&garden(&[], 90.0), &[], "no-relief");
    assert_eq!(finding.level(), Level::Warning);
    assert!(finding.what(US).contains("can raise hose 'line', rated 90 psi, to 98 psi"), "{}", finding.what(US));
    assert_none(&garden(&[], 99.0), &[], "no-relief");
    assert_none(&garden(&[relief("relief", 80.0)], 90.0), &[], "no-relief");
    assert_none(&garden(&[relief("relief", 80.0)], 90.0), &[], "relief-does-not-protect");
    assert!(
        one(&garden(&[relief("relief", 95.0)], 90.0), &[], "relief-does-not-protect")
            .what(US)
            .starts_with("relief 'relief' lets")
    );
}

#[test]
fn ratings_that_are_not_given_are_asked_for_where_no_relief_protects() {
    let garden = |middle: &[Garden]| {
        line(&[&protected_tap()[..], &[pump(), switch(40.0, 70.0), hose("line", 20.0, 0.75)], middle, &zone()].concat())
    };
    let finding = one(&garden(&[]), &[], "no-relief");
    assert_eq!(finding.level(), Level::Note);
    assert!(finding.what(US).ends_with("can reach 98 psi; the rating of hose 'line' is not given"), "{}", finding.what(US));
    assert_none(&garden(&[relief("relief", 85.0)]), &[], "no-relief");
}

#[test]
fn a_part_above_its_rating_is_a_danger_running_and_at_rest() {
    let running = |rating: f64| {
        line(&[tap(), rated_hose("feed", 50.0, 0.75, rating), valve("bed"), hose("line", 20.0, 0.75), head("a", 0.15)])
    };
    // At rest the feed stands at 58 psi, running it starts lower; `of_reading` sees only the running state.
    let begins = solution(&running(100.0), &["bed"]).state("feed").expect("known").pressure_in_pa.expect("fed") / PSI;
    let seen =
        |rating: f64| of_solution(&solution(&running(rating), &["bed"])).iter().any(|finding| finding.code() == "over-rating");
    assert!(seen(begins - 0.1) && !seen(begins + 0.1));
    let finding = one(&running(57.9), &["bed"], "over-rating");
    assert_eq!(finding.level(), Level::Danger);
    assert!(finding.what(US).contains("58 psi with all valves closed, above its rating of 57.9 psi"), "{}", finding.what(US));
    assert_none(&running(58.1), &["bed"], "over-rating");
}

#[test]
fn a_switch_that_stops_the_pump_in_time_keeps_ratings_and_none_does_not() {
    let garden = |middle: &[Garden], rating: f64| {
        line(&[&protected_tap()[..], &[pump()], middle, &[rated_hose("line", 20.0, 0.75, rating)], &zone()].concat())
    };
    assert!(one(&garden(&[switch(40.0, 85.0)], 84.9), &[], "over-rating").what(US).contains("85 psi with all valves closed"));
    assert_none(&garden(&[switch(40.0, 85.0)], 85.1), &[], "over-rating");
    assert!(one(&garden(&[], 85.1), &[], "over-rating").what(US).contains("98 psi"));
    // The steady state of a switch that short-cycles lies beyond cut-out and is never reached.
    let seen = |rating: f64| {
        of_solution(&solution(&garden(&[switch(60.0, 85.0)], rating), &[])).iter().any(|f| f.code() == "over-rating")
    };
    assert!(seen(84.9) && !seen(85.1));
    // A relief valve at work keeps it as well: 12 gpm at a tenth above 75 psi.
    assert_none(&but(&garden(&[relief("relief", 75.0)], 85.1), "relief.flow", 12.0, "gpm"), &["berries"], "over-rating");
}

#[test]
fn a_pump_on_a_tap_needs_a_check_valve_before_it() {
    let before = |start: &[Garden]| line(&[start, &[hose("feed", 20.0, 0.75), pump(), switch(60.0, 85.0)], &zone()].concat());
    let after = line(&[vec![tap(), hose("feed", 20.0, 0.75), pump(), check("check"), switch(60.0, 85.0)], zone()].concat());
    assert_eq!(one(&before(&[tap()]), &[], "no-check-valve").name, "pump");
    assert_none(&before(&[tap(), check("check")]), &[], "no-check-valve");
    assert_none(&before(&[tap(), part(Kind::Backflow, "preventer", &[])]), &[], "no-check-valve");
    assert_none(&before(&[open_tank("barrel", 5.0)]), &[], "no-check-valve");
    assert_eq!(one(&after, &[], "check-downstream-only").level(), Level::Note);
    assert_none(&after, &[], "no-check-valve");
    assert_none(&before(&[tap(), check("check")]), &[], "check-downstream-only");
}

#[test]
fn a_check_valve_on_one_zone_only_does_not_count() {
    let garden = line(&[tap(), hose("feed", 20.0, 0.75), pump()])
        .then_branches(&[line(&[valve("a"), check("check"), head("one", 0.1)]), line(&[valve("b"), head("two", 0.1)])])
        .expect("joins");
    assert_eq!(one(&garden, &["a"], "no-check-valve").name, "pump");
}

#[test]
fn a_garden_on_a_tap_needs_a_backflow_preventer_and_a_check_valve_is_none() {
    let garden = |start: &[Garden]| line(&[start, &[hose("feed", 20.0, 0.75), head("a", 0.1)]].concat());
    assert!(
        one(&garden(&[tap(), check("check")]), &[], "no-backflow-preventer")
            .what(US)
            .ends_with("check valve 'check' is not an approved one")
    );
    assert_eq!(one(&garden(&[tap()]), &[], "no-backflow-preventer").name, "tap");
    assert_none(&garden(&[tap(), part(Kind::Backflow, "preventer", &[])]), &[], "no-backflow-preventer");
    assert_none(&garden(&[open_tank("barrel", 5.0)]), &[], "no-backflow-preventer");
    // A tap in the house is none of the garden's; one at the end of a hose lies in a bucket.
    assert_none(&line(&[tap(), rated_pipe("feed", 20.0, 0.824, 150.0), draw("kitchen", 1.0)]), &[], "no-backflow-preventer");
    assert_eq!(one(&line(&[tap(), hose("feed", 20.0, 0.75), draw("bucket", 1.0)]), &[], "no-backflow-preventer").name, "tap");
}

#[test]
fn each_type_of_preventer_is_judged_by_what_it_stands() {
    use Kind::*;
    let garden = |kind: Kind, rest: &[Garden]| {
        line(&[&[tap(), hose("feed", 20.0, 0.75), part(kind, "device", &[])], rest, &[head("a", 0.1)]].concat())
    };
    let stands = [DoubleCheck, ReducedPressure, Backflow];
    let breakers = [PressureVacuumBreaker, AtmosphericVacuumBreaker, HoseVacuumBreaker];
    let pumped = [climb("down", -3.0), pump()];
    for kind in stands {
        assert_none(&garden(kind, &pumped), &[], "backpressure");
    }
    for kind in breakers {
        assert!(one(&garden(kind, &pumped), &[], "backpressure").what(US).contains("booster 'pump' can raise the pressure"));
        assert_none(&garden(kind, &[climb("down", -3.0)]), &[], "backpressure");
        let upstream =
            line(&[tap(), pump(), hose("feed", 20.0, 0.75), part(kind, "device", &[]), climb("down", -3.0), head("a", 0.1)]);
        assert_none(&upstream, &[], "backpressure");
    }
    let valved = [climb("down", -3.0), valve("beds")];
    for kind in [DoubleCheck, ReducedPressure, PressureVacuumBreaker] {
        assert_none(&garden(kind, &valved), &["beds"], "continuous-pressure");
    }
    for kind in [AtmosphericVacuumBreaker, HoseVacuumBreaker] {
        assert!(
            one(&garden(kind, &valved), &["beds"], "continuous-pressure")
                .what(US)
                .ends_with("because valve 'beds' is downstream of it")
        );
        let upstream = line(&[
            tap(),
            valve("beds"),
            hose("feed", 20.0, 0.75),
            part(kind, "device", &[]),
            climb("down", -3.0),
            head("a", 0.1),
        ]);
        assert_none(&upstream, &["beds"], "continuous-pressure");
    }
    for (kind, needed_ft) in [(PressureVacuumBreaker, 1.0), (AtmosphericVacuumBreaker, 0.5)] {
        assert_none(&garden(kind, &[climb("down", -needed_ft)]), &[], "breaker-height");
        assert_eq!(one(&garden(kind, &[climb("down", 0.01 - needed_ft)]), &[], "breaker-height").level(), Level::Danger);
    }
    let low = one(&garden(PressureVacuumBreaker, &[climb("up", 2.0)]), &[], "breaker-height");
    assert_eq!(
        low.what(US),
        "pressure vacuum breaker 'device' is 24 in below head 'a'; it must be at least 12 in above the highest outlet"
    );
    assert_none(&garden(DoubleCheck, &[climb("up", 2.0)]), &[], "breaker-height");
}

/// A garden with many faults.
fn faulty() -> Garden {
    let start = [tap(), rated_hose("feed", 120.0, 0.625, 80.0), pump(), switch(30.0, 75.0), relief("relief", 75.0)];
    let bed = line(&[valve("beds"), hose("bed line", 40.0, 0.5), needy_head("bed", 0.125, 20.0, 50.0)]);
    let berry = line(&[
        valve("berries"),
        hose("berry line", 100.0, 0.5),
        climb("rise", 6.0),
        needy_head("berry", 7.0 / 32.0, 40.0, 60.0),
    ]);
    line(&start).then_branches(&[bed, berry]).expect("joins")
}

#[test]
fn findings_read_calmly() {
    let solution = solution(&faulty(), &["beds", "berries"]);
    insta::assert_snapshot!("faulty_garden", report(&solution.garden, &told(&solution), US, 100));
    let metric = told(&solution);
    insta::assert_snapshot!("faulty_garden_in_metric_units", show(&metric, UnitSystem::Metric, 100));
}

/// A tap that is not protected, and heads in a row behind it that all get too little.
fn thirsty(heads: usize) -> Garden {
    let row =
        (0..heads).flat_map(|at| [hose(&format!("run {at}"), 10.0, 0.75), needy_head(&format!("head {at}"), 0.1, 90.0, 99.0)]);
    line(&[vec![tap()], row.collect()].concat())
}

fn told_of(groups: &[FindingGroup], code: &str) -> FindingGroup {
    let mut found = groups.iter().filter(|group| group.code() == code);
    let one = found.next().unwrap_or_else(|| panic!("{code}")).clone();
    assert_eq!(found.count(), 0, "{code} is told once");
    one
}

#[test]
fn like_findings_of_like_heads_are_told_once_with_their_names_and_the_span_of_their_values() {
    for (heads, named) in
        [(2, "'head 0' and 'head 1'"), (3, "'head 0', 'head 1' and 'head 2'"), (6, "'head 0', 'head 1' and 4 more")]
    {
        let solution = solution(&thirsty(heads), &[]);
        let stalled = told_of(&told(&solution), "below-range");
        let what = stalled.what(US);
        assert!(what.starts_with(&format!("each of the heads {named} has ")), "{what}");
        let (first, last) = (psi(&solution, "head 0"), psi(&solution, &format!("head {}", heads - 1)));
        let shown = |psi: f64| Quantity::written(psi, find_unit("psi").expect("a unit")).to_string();
        let span = format!("{} to {} and", shown(last).trim_end_matches(" psi"), shown(first));
        assert!(what.contains(&span), "{what}, not {span}");
        assert_eq!(stalled.names().len(), heads);
        assert_eq!(stalled.findings().count(), heads);
    }
    assert!(told_of(&told(&solution(&thirsty(1), &[])), "below-range").what(US).starts_with("head 'head 0' "));
}

#[test]
fn the_same_in_several_zones_is_told_once() {
    let run = |at: usize| hose(&format!("run {at}"), 10.0, 0.75);
    let zone = |at: usize| line(&[valve(&format!("zone {at}")), run(at), needy_head(&format!("head {at}"), 0.1, 90.0, 99.0)]);
    let garden = line(&[tap()]).then_branches(&(0..5).map(zone).collect::<Vec<_>>()).expect("joins");
    let stalled = told_of(&grouped(&of_zones(&garden), garden.accepted()), "below-range");
    let what = stalled.what(US);
    assert!(
        what.starts_with("with zones 'zone 0', 'zone 1' and 3 more open one at a time, each of the heads 'head 0'"),
        "{what}"
    );
}

#[test]
fn an_accepted_finding_is_told_last_with_its_reason_whatever_is_made_of_the_garden() {
    let garden = accept(&thirsty(3), "below-range", "they are to be replaced").expect("accepted");
    let changed = but(&garden, "run 0.length", 20.0, "ft");
    let longer = garden.branch("run 0", &needy_head("late", 0.1, 90.0, 99.0)).expect("joins");
    let joined =
        line(&[tap()]).then(&accept(&hose("feed", 5.0, 0.75), "below-range", "they are to be replaced").expect("accepted"));
    let joined = joined.and_then(|start| start.then(&needy_head("end", 0.1, 90.0, 99.0))).expect("joins");
    for garden in [&garden, &changed, &longer, &joined, &garden.detached()] {
        let groups = told(&solution(garden, &[]));
        let stalled = told_of(&groups, "below-range");
        assert_eq!((stalled.accepted(), stalled.heading().as_str()), (Some("they are to be replaced"), "Accepted warning"));
        assert_eq!(groups.last(), Some(&stalled));
        let other = told_of(&groups, "no-backflow-preventer");
        assert_eq!((other.accepted(), other.heading().as_str()), (None, "Warning"));
        assert!(show(&groups, US, 1000).contains("Accepted: they are to be replaced."));
    }
}

#[test]
fn an_accepted_code_that_is_not_found_is_named_below() {
    let garden = accept(&sound(), "below-range", "they are to be replaced").expect("accepted");
    let solution = solution(&garden, &["berries"]);
    let text = report(&garden, &told(&solution), US, 1000);
    assert!(text.contains("Accepted, but not found here: below-range (they are to be replaced)."), "{text}");
}

#[test]
fn dangers_unknown_codes_and_empty_reasons_are_not_accepted() {
    let refused = |code: &str, reason: &str| accept(&sound(), code, reason).expect_err("refused");
    assert_eq!(refused("cavitates", "fine").to_string(), "'cavitates' is a danger, which cannot be accepted");
    let unknown = refused("below-rang", "fine");
    assert_eq!(unknown.to_string(), "there is no finding with the code 'below-rang'");
    assert!(unknown.hint().is_some_and(|hint| hint.contains("below-range")), "{:?}", unknown.hint());
    assert_eq!(refused("below-range", "  ").to_string(), "accepting 'below-range' needs a reason");
}

#[test]
fn the_danger_of_a_code_that_is_accepted_as_a_warning_stays() {
    let row = [("length", 20.0, "ft"), ("diameter", 0.5, "inch"), ("flow", 1.0, "gpm"), ("pressure", 10.0, "psi")];
    let row = row.map(|(number, value, unit)| (number, q(value, unit)));
    let garden = line(&[tap(), part(Kind::Soaker, "row", &row)]);
    let garden = accept(&garden, "no-backflow-preventer", "a well").expect("accepted");
    let found = told_of(&told(&solution(&garden, &[])), "no-backflow-preventer");
    assert_eq!((found.level(), found.accepted()), (Level::Danger, None));
}

#[test]
fn text_keeps_its_width_and_to_ascii() {
    let solution = solution(&faulty(), &["beds", "berries"]);
    for width in [30, 60, 100] {
        let text = report(&solution.garden, &told(&solution), US, width);
        assert!(text.is_ascii());
        assert!(text.lines().all(|line| line.chars().count() <= width || !line.trim().contains(' ')), "{text}");
    }
}

/// The tree with limits on every head and hose.
fn limited(garden: &Garden, low_psi: f64, high_psi: f64, rating_psi: f64) -> Garden {
    let mut limited = garden.clone();
    for (place, part) in garden.parts().iter().enumerate() {
        let name = garden.name(place).to_string();
        let set = |garden: &Garden, number: &str, psi: f64| but(garden, &format!("{name}.{number}"), psi, "psi");
        match part.kind() {
            Kind::Head => limited = set(&set(&limited, "range_low", low_psi), "range_high", high_psi),
            Kind::Hose => limited = set(&limited, "pressure_rating", rating_psi),
            _ => {}
        }
    }
    limited
}

/// What is to be said of each zone open alone, each solved in the whole garden.
fn of_zones_one_by_one(garden: &Garden) -> Vec<(Finding, String)> {
    let alone = |findings: Vec<Finding>| findings.into_iter().map(|finding| (finding.what(US), finding));
    let mut all: Vec<(Finding, String)> = Vec::new();
    let mut add = |finding: Finding, what: String| {
        if !all.iter().any(|(known, _)| (known.code(), known.place) == (finding.code(), finding.place)) {
            all.push((finding, what));
        }
    };
    alone(of_garden(garden)).for_each(|(what, finding)| add(finding, what));
    for valve in garden.of_kind(Kind::Valve) {
        let name = garden.name(valve);
        let Ok(solution) = run(garden, &[name]) else { continue };
        alone(of_solution(&solution)).for_each(|(what, finding)| add(finding, format!("with '{name}' open, {what}")));
    }
    // A part above its rating in one state is not told that it is near it in another.
    let over: Vec<_> = all.iter().filter(|(one, _)| one.code() == "over-rating").map(|(one, _)| one.place).collect();
    all.retain(|(finding, _)| finding.code() != "near-rating" || !over.contains(&finding.place));
    all.sort_by_key(|(finding, _)| (finding.level(), finding.place));
    all
}

/// The same places, codes and words.
fn assert_alike(found: &[Finding], expected: &[(Finding, String)]) {
    let found: Vec<_> =
        found.iter().map(|finding| (finding.code(), finding.place, finding.what(US), finding.action(US))).collect();
    let expected: Vec<_> =
        expected.iter().map(|(finding, what)| (finding.code(), finding.place, what.clone(), finding.action(US))).collect();
    assert_eq!(found, expected);
}

/// A control of the garden or a valve, by number.
fn control(which: usize, psi: f64) -> Garden {
    let part = match which {
        0 => Part::of_words(Kind::PressureSwitch, None, &[("cut_in", q(psi, "psi")), ("cut_out", q(psi + 20.0, "psi"))]),
        1 => Part::of_words(Kind::PressureTank, None, &[("precharge", q(psi, "psi")), ("volume", q(5.0, "gal"))]),
        2 => Part::of_words(Kind::Backflow, None, &[]),
        3 => Part::of_words(Kind::Valve, None, &[("pressure_rating", q(psi, "psi"))]),
        _ => Part::of_words(Kind::Valve, None, &[]),
    };
    Garden::of(part.expect("a sound part"))
}

/// A random tree with valves and controls among its parts.
fn zoned(growths: &[(usize, Growth)], controls: &[(usize, f64)]) -> Garden {
    let mut garden = line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 60.0, 0.75)]);
    let mut controls = controls.iter();
    for (index, (at, growth)) in growths.iter().enumerate() {
        let name = garden.name(at % garden.parts().len()).to_string();
        let behind = if index % 2 == 0 { controls.next().map(|&(which, psi)| control(which, psi)) } else { None };
        let grown = behind.map_or_else(|| grow(growth), |control| line(&[control, grow(growth)]));
        garden = garden.branch(&name, &grown).expect("joins");
    }
    garden
}

#[test]
fn a_booster_in_a_zone_runs_dry_while_another_is_open() {
    let garden = line(&[tap(), hose("feed", 50.0, 0.75)])
        .then_branches(&[
            line(&[valve("east"), hose("east line", 20.0, 0.5), head("east head", 0.1)]),
            line(&[
                valve("west"),
                hose("west line", 20.0, 0.5),
                booster("west pump", &[(0.0, 30.0), (9.0, 10.0)]),
                head("west head", 0.1),
            ]),
        ])
        .expect("joins");
    let findings = of_zones(&garden);
    assert_alike(&findings, &of_zones_one_by_one(&garden));
    let dry: Vec<&Finding> = findings.iter().filter(|finding| finding.code() == "runs-dry").collect();
    assert_eq!(dry.len(), 1, "{findings:#?}");
    assert!(dry[0].what(US).starts_with("with 'east' open, booster 'west pump' runs"), "{}", dry[0].what(US));
}

#[test]
fn shut_valves_above_their_rating_are_told_of_the_first_zone_that_strains_them() {
    let rated = |name: &str, rating_psi: f64| {
        let valve = part(Kind::Valve, name, &[("pressure_rating", q(rating_psi, "psi"))]);
        line(&[valve, hose(&format!("{name} line"), 20.0, 0.5), head(&format!("{name} head"), 0.1)])
    };
    // Valves behind a valve: at rest no water stands at them.
    let behind = |name: &str, weak_psi: f64| {
        line(&[valve(name), hose(&format!("{name} line"), 30.0, 0.75)])
            .then_branches(&[
                head(&format!("{name} head"), 0.1),
                rated(&format!("{name} weak"), weak_psi),
                rated(&format!("{name} strong"), 90.0),
            ])
            .expect("joins")
    };
    let garden = line(&[tap(), hose("feed", 50.0, 0.75)])
        .then_branches(&[behind("north", 30.0), behind("south", 20.0), rated("east", 90.0)])
        .expect("joins");
    let findings = of_zones(&garden);
    assert_alike(&findings, &of_zones_one_by_one(&garden));
    let over: Vec<String> =
        findings.iter().filter(|finding| finding.code() == "over-rating").map(|finding| finding.what(US)).collect();
    assert_eq!(over.len(), 2, "{findings:#?}");
    assert!(over[0].starts_with("with 'north' open, valve 'north weak' is at"), "{}", over[0]);
    assert!(over[1].starts_with("with 'south' open, valve 'south weak' is at"), "{}", over[1]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn zones_solved_by_themselves_have_the_findings_of_the_whole_garden(
        growths in growths(24),
        controls in prop::collection::vec((0usize..8, 10.0f64..90.0), 2..12),
        joins in joins(),
        loops in any::<bool>(),
    ) {
        let mut garden = limited(&zoned(&growths, &controls), 30.0, 50.0, 60.0);
        if loops {
            garden = with_loops(garden, &joins);
        }
        assert_alike(&of_zones(&garden), &of_zones_one_by_one(&garden));
    }

    #[test]
    fn any_tree_is_looked_at_without_panic_sorted_and_without_doubles(
        growths in growths(20),
        controls in prop::collection::vec((0usize..1000, 0usize..3, 10.0f64..60.0), 0..5),
        width in 0usize..200,
    ) {
        let mut garden = limited(&tree(&growths), 30.0, 50.0, 60.0);
        for (at, control, psi) in controls {
            let control = match control {
                0 => Part::of_words(Kind::PressureSwitch, None, &[("cut_in", q(psi, "psi")), ("cut_out", q(psi + 20.0, "psi"))]),
                1 => Part::of_words(Kind::PressureTank, None, &[("precharge", q(psi, "psi")), ("volume", q(5.0, "gal"))]),
                _ => Part::of_words(Kind::Backflow, None, &[]),
            };
            let name = garden.name(at % garden.parts().len()).to_string();
            garden = garden.branch(&name, &Garden::of(control.expect("a sound part"))).expect("joins");
        }
        let Ok(solution) = run(&garden, &[]) else { return Ok(()) };
        for system in [UnitSystem::AsWritten, UnitSystem::Us, UnitSystem::Metric] {
            let findings = of_run(&solution);
            let keys: Vec<_> = findings.iter().map(|finding| (finding.level(), finding.place)).collect();
            prop_assert!(keys.is_sorted());
            for (index, finding) in findings.iter().enumerate() {
                prop_assert_eq!(finding.faults(), Vec::<String>::new());
                prop_assert!(!findings[..index].iter().any(|other| (other.code(), other.place) == (finding.code(), finding.place)));
                prop_assert_eq!(finding.place.map(|place| garden.name(place)).unwrap_or(""), finding.name.as_str());
                prop_assert!(!finding.what(US).contains("not a number") && !finding.what(US).contains("infinite"), "{}", finding.what(US));
            }
            prop_assert!(!show(&grouped(&findings, &Accepted::default()), system, width).is_empty());
        }
    }

    #[test]
    fn findings_about_limits_vanish_when_the_limits_are_widened(growths in growths(20)) {
        let garden = limited(&tree(&growths), 0.0, 1e6, 1e6);
        let Ok(solution) = run(&garden, &[]) else { return Ok(()) };
        let about_limits = ["below-range", "near-range-low", "above-range", "near-range-high", "over-rating", "relief-does-not-protect"];
        for finding in of_run(&solution) {
            prop_assert!(!about_limits.contains(&finding.code()), "{}", finding.what(US));
        }
    }

    #[test]
    fn what_is_wrong_with_a_narrow_limit_is_wrong_with_a_narrower_one(growths in growths(12), high in 20.0f64..80.0, less in 0.1f64..10.0) {
        let codes = |high: f64| {
            let garden = limited(&tree(&growths), 0.0, high, high);
            run(&garden, &[]).map(|solution| of_run(&solution)).unwrap_or_default()
        };
        let (wide, narrow) = (codes(high), codes(high - less));
        for finding in wide.iter().filter(|finding| ["above-range", "over-rating"].contains(&finding.code())) {
            prop_assert!(narrow.iter().any(|other| (other.code(), other.place) == (finding.code(), finding.place)), "{}", finding.what(US));
        }
    }
}

/// A garden without a steady state: no hose beside the valve has a diameter that it could take.
fn boreless() -> Garden {
    let valve = Part::build(Kind::Valve, Some("bed"), &[]).expect("sound");
    line(&[tap(), Garden::of(valve), head("a", 0.1)])
}

#[test]
fn a_garden_whose_state_at_rest_cannot_be_found_is_told_so() {
    // A hose without a diameter beside it: the valve has none to take.
    let valve = Part::of_words(Kind::Valve, Some("bed"), &[]).expect("sound");
    let garden = line(&[tap(), Garden::of(valve), head("a", 0.1)]);
    assert!(of_garden(&garden).iter().any(|finding| finding.code() == "no-static-state" && finding.place.is_none()));
    assert!(!of_garden(&sound()).iter().any(|finding| finding.code() == "no-static-state"));
}

#[test]
fn a_pump_with_known_power_against_a_closed_line_is_told_how_fast_it_heats() {
    let never = line(&[protected_tap(), vec![pump(), switch(60.0, 120.0), relief("relief", 150.0)], zone()].concat());
    assert_none(&never, &["berries"], "dead-head-heat");
    let finding = one(&but(&never, "pump.input_power", 550.0, "W"), &["berries"], "dead-head-heat");
    // 550 W into a liter: 550 / (0.9991 x 4186) K/s.
    assert!(finding.what(US).contains("14 degF a minute"), "{}", finding.what(US));
    assert!(finding.what(UnitSystem::Metric).contains("7.9 degC a minute"), "{}", finding.what(UnitSystem::Metric));
    assert!(finding.what(US).contains("can reach 140 degF in about 5.7 minutes"), "{}", finding.what(US));
    assert_none(&but(&sound(), "pump.input_power", 550.0, "W"), &["berries"], "dead-head-heat");
}

#[test]
fn bucket_tests_disagree_where_a_reading_is_more_than_a_gauge_may_be_off_the_curve() {
    let tap = Part::build(Kind::Supply, Some("tap"), &[(Id::StaticPressure, q(60.0, "psi"))]).expect("a tap");
    let found = |off_psi: f64| {
        // Two tests at one flow: the curve goes through the middle of them.
        let readings = [50.0 + off_psi, 50.0 - off_psi].map(|psi| (3e-4, q(psi, "psi").si));
        let tap = tap.clone().with_readings(&readings, (Preference::Usual, Preference::Usual)).expect("readings");
        of_garden(&line(&[Garden::of(tap), hose("feed", 20.0, 0.75), head("a", 0.1)]))
            .iter()
            .any(|finding| finding.code() == "bucket-tests-disagree")
    };
    assert!(found(3.05) && !found(2.95));
}

#[test]
fn sizes_beyond_the_trade_name_what_was_probably_meant() {
    let of = |part: &str, id: &str, value: f64, unit: &str| {
        let garden = line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 50.0, 0.75), head("a", 0.125)]);
        let found = of_garden(&but(&garden, &format!("{part}.{id}"), value, unit));
        found.into_iter().find(|finding| finding.code() == "unlikely-value").map(|finding| finding.action(US))
    };
    let meant = |text: &str| Some(format!("did you mean {text}? check the number and its unit"));
    let cases = [
        (("feed", "diameter", 5.0, "inch"), meant("5/8 in")),
        (("a", "nozzle", 8.0, "inch"), meant("1/8 in")),
        (("a", "nozzle", 3.0, "inch"), meant("3/8 in")),
        (("feed", "diameter", 19.0, "inch"), meant("19 mm or 1.9 in")),
        (("tap", "measured_flow", 51.0, "gpm"), meant("51 L/min or 5.1 gpm")),
        (("feed", "diameter", 3.0, "inch"), None),
        (("feed", "diameter", 3.01, "inch"), meant("3.01 mm or 0.301 in")),
        (("a", "nozzle", 1.0, "inch"), None),
        (("tap", "measured_flow", 40.0, "gpm"), None),
        (("feed", "length", 6000.0, "ft"), None),
        (("feed", "length", 6001.0, "ft"), meant("600.1 ft or 60.01 ft")),
    ];
    for ((part, id, value, unit), expected) in cases {
        assert_eq!(of(part, id, value, unit), expected, "{part}.{id} of {value} {unit}");
    }
}
