//! Each threshold from both sides: right beyond it the finding is there, right before it is not. The thresholds are worked out
//! by hand from gardens without friction.

use super::finding::once_in_order;
use super::*;
use crate::garden::Garden;
use crate::hydraulics::run;
use crate::parts::{Id, Kind, Part};
use crate::quantity::{Quantity, UnitSystem};
use crate::support::*;
use proptest::prelude::*;

const GRAVITY: f64 = 9.80665;
const DENSITY: f64 = 999.1;
/// How near both sides lie to a threshold, as a share of it.
const NEAR: f64 = 1e-4;

fn stiff(psi: f64) -> Garden {
    part(Kind::Supply, "main", &[("static_pressure", q(psi, "psi"))])
}

/// An outlet that gives `gpm` at 64 psi, with more numbers.
fn outlet(gpm: f64, numbers: &[(&str, Quantity)]) -> Garden {
    let rated = [("rated_flow", q(gpm, "gpm")), ("rated_flow_pressure", q(64.0, "psi"))];
    part(Kind::Head, "bed", &rated.iter().chain(numbers).copied().collect::<Vec<_>>())
}

fn draw(gpm: f64) -> Garden {
    part(Kind::Demand, "kitchen", &[("flow", q(gpm, "gpm"))])
}

fn pump() -> Garden {
    booster("pump", &[(0.0, 40.0), (10.0, 20.0)])
}

fn pump_with(id: Id, value: Quantity) -> Garden {
    let curve = [(0.0, 40.0 * PSI), (10.0 * GPM, 20.0 * PSI)];
    let bare = Part::new(Kind::Booster).named("pump").and_then(|part| part.with_curve(&curve)).expect("sound");
    Garden::of(bare.with(&[(id, value)]).expect("sound"))
}

fn switch(cut_in_psi: f64, cut_out_psi: f64) -> Garden {
    part(Kind::PressureSwitch, "switch", &[("cut_in", q(cut_in_psi, "psi")), ("cut_out", q(cut_out_psi, "psi"))])
}

fn relief(set_psi: f64, gpm: f64, over_psi: f64) -> Garden {
    let numbers = [("set", q(set_psi, "psi")), ("flow", q(gpm, "gpm")), ("overpressure", q(over_psi, "psi"))];
    part(Kind::Relief, "relief", &numbers)
}

/// A pump on 50 psi: 81 psi and 4.5 gpm at its outlet while that runs, 90 psi at shut-off.
fn pumped(cut_in_psi: f64, cut_out_psi: f64) -> Garden {
    let check = part(Kind::CheckValve, "check", &[("k", q(0.0, ""))]);
    line(&[stiff(50.0), check, pump(), switch(cut_in_psi, cut_out_psi), outlet(4.0, &[])])
}

/// A pump that sucks from a tank whose water stands `lift_m` below it.
fn lifting(lift_m: f64, pump: Garden) -> Garden {
    let tank = part(Kind::OpenTank, "tank", &[("level", q(1.0, "m"))]);
    line(&[tank, climb("up", (lift_m + 1.0) / FT), pump, draw(2.0)])
}

fn told(garden: &Garden) -> Vec<Finding> {
    of_run(&run(garden, &[]).expect("a steady state"))
}

fn codes(garden: &Garden) -> Vec<&'static str> {
    told(garden).iter().map(Finding::code).collect()
}

/// On which side of its threshold a finding is told.
#[derive(Clone, Copy, PartialEq)]
enum Side {
    Above,
    Below,
}

/// Fails unless a finding is told right beyond a threshold and not right before it.
fn threshold(code: &str, side: Side, at: f64, garden: impl Fn(f64) -> Garden) {
    let has = |x: f64| codes(&garden(x)).contains(&code);
    let (below, above) = (has(at * (1.0 - NEAR)), has(at * (1.0 + NEAR)));
    let expected = if side == Side::Above { (false, true) } else { (true, false) };
    assert_eq!(
        (below, above),
        expected,
        "{code} around {at}: {:?} and {:?}",
        codes(&garden(at * (1.0 - NEAR))),
        codes(&garden(at * (1.0 + NEAR)))
    );
}

#[test]
fn heads_and_emitters_are_judged_by_what_they_need() {
    let needing = |id: &'static str| move |psi: f64| line(&[stiff(64.0), outlet(2.0, &[(id, q(psi, "psi"))])]);
    threshold("below-range", Side::Above, 64.0, needing("range_low"));
    threshold("near-range-low", Side::Above, 64.0 / 1.1, needing("range_low"));
    threshold("above-range", Side::Below, 64.0, needing("range_high"));
    threshold("near-range-high", Side::Below, 64.0 / 0.9, needing("range_high"));
    let emitter = || part(Kind::Emitter, "drip", &[("flow", q(1.0, "gph")), ("pressure", q(15.0, "psi"))]);
    threshold("drip-over-pressure", Side::Above, 30.0, |psi| line(&[stiff(psi), emitter()]));
    let height_ft = 40.0 * PSI / (DENSITY * GRAVITY * FT);
    threshold("no-flow", Side::Above, height_ft, |ft| line(&[stiff(40.0), climb("up", ft), outlet(2.0, &[])]));
}

#[test]
fn hoses_are_judged_by_the_speed_of_their_water_and_by_suction() {
    let diameter_in: f64 = 0.5;
    let area_m2 = std::f64::consts::PI * (diameter_in * 0.0254).powi(2) / 4.0;
    let gpm_at = |ft_per_s: f64| ft_per_s * FT * area_m2 / GPM;
    let garden = |gpm: f64| line(&[stiff(60.0), hose("feed", 1.0, diameter_in), draw(gpm)]);
    threshold("high-velocity", Side::Above, gpm_at(7.0), garden);
    threshold("excessive-velocity", Side::Above, gpm_at(8.0), garden);
    let reaches_ft = 40.0 * PSI / (DENSITY * GRAVITY * FT);
    // A crest above what the main lifts water to, with an end far below: the hose on the crest stands below the air.
    threshold("hose-below-atmospheric", Side::Above, reaches_ft, |ft| {
        line(&[stiff(40.0), climb("up", ft), hose("crest", 0.01, 2.0), climb("down", -ft - 10.0), outlet(0.01, &[])])
    });
}

#[test]
fn taps_are_judged_by_what_they_hold_and_give() {
    // 40 psi at rest, 10 psi less at 5 gpm: 20 psi at 5 sqrt(2) gpm, none at 10 gpm.
    let tap = |gpm: f64| line(&[supply("tap", 40.0, 30.0, 5.0), draw(gpm)]);
    threshold("low-tap-pressure", Side::Above, 5.0 * 2.0f64.sqrt(), tap);
    threshold("backsiphonage", Side::Above, 10.0, tap);
    threshold("demand-not-met", Side::Above, 10.0, tap);
    threshold("beyond-bucket-test", Side::Above, 6.0, tap);
    threshold("low-static-pressure", Side::Below, 40.0, |psi| line(&[stiff(psi), outlet(2.0, &[])]));
    threshold("high-static-pressure", Side::Above, 80.0, |psi| line(&[stiff(psi), outlet(2.0, &[])]));
}

#[test]
fn boosters_are_judged_by_curve_motor_and_suction() {
    threshold("beyond-curve", Side::Above, 10.0, |gpm| line(&[stiff(50.0), pump(), draw(gpm)]));
    let motor = |watts: f64| line(&[stiff(50.0), pump_with(Id::InputPower, q(watts, "W")), draw(2.0)]);
    threshold("start-current", Side::Above, 1000.0, motor);
    assert!(codes(&motor(1000.0)).contains(&"start-current"), "a kilowatt counts");
    threshold("inlet-suction", Side::Above, 1.0, |ft| {
        let tank = part(Kind::OpenTank, "tank", &[("level", q(1.0, "ft"))]);
        line(&[tank, climb("up", ft), pump(), draw(2.0)])
    });
    // What is left above the pressure of vapor at a lift of 2 m.
    let lift_m = 2.0;
    let vapor_pa = lifting(lift_m, pump()).vapor_gauge_pa();
    let available_m = -vapor_pa / (DENSITY * GRAVITY) - lift_m;
    let requiring = |npsh_m: f64| lifting(lift_m, pump_with(Id::Npsh, q(npsh_m, "m")));
    threshold("cavitates", Side::Above, available_m, requiring);
    threshold("npsh-margin", Side::Above, available_m - 0.5, requiring);
    threshold("lift-too-high", Side::Above, 7.0 * PSI / (DENSITY * GRAVITY), |lift_m| lifting(lift_m, pump()));
    // Where the maker gives none 10 ft are taken.
    threshold("cavitates", Side::Above, -vapor_pa / (DENSITY * GRAVITY) - 10.0 * FT, |lift_m| lifting(lift_m, pump()));
}

#[test]
fn switches_are_judged_by_the_pressures_they_feel() {
    threshold("never-starts", Side::Below, 50.0, |psi| pumped(psi, 84.5));
    threshold("near-cut-in", Side::Below, 53.0, |psi| pumped(psi, 84.5));
    threshold("short-cycles", Side::Below, 81.0, |psi| pumped(60.0, psi));
    threshold("near-cut-out", Side::Below, 84.0, |psi| pumped(60.0, psi));
    threshold("near-dead-head", Side::Above, 85.0, |psi| pumped(60.0, psi));
    threshold("never-stops", Side::Above, 90.0, |psi| pumped(60.0, psi));
    let tank = |psi: f64| part(Kind::PressureTank, "tank", &[("volume", q(20.0, "gal")), ("precharge", q(psi, "psi"))]);
    threshold("precharge-high", Side::Above, 60.0, |psi| pumped(60.0, 84.5).branch("switch", &tank(psi)).expect("joins"));
}

#[test]
fn reliefs_and_ratings_are_judged_by_running_and_resting_pressures() {
    let relieved = |set_psi: f64| pumped(60.0, 84.5).branch("switch", &relief(set_psi, 20.0, 2.0)).expect("joins");
    threshold("relief-opens", Side::Below, 81.0, relieved);
    threshold("relief-near-cut-out", Side::Below, 94.5, relieved);
    threshold("relief-weeps", Side::Below, 84.5, relieved);
    threshold("relief-never-closes", Side::Below, 50.0, relieved);
    // At 75 psi the pump gives 7.5 gpm, which the relief must pass at 5 psi above its setting of 70.
    threshold("relief-too-small", Side::Below, 7.5, |gpm| {
        pumped(60.0, 84.5).branch("switch", &relief(70.0, gpm, 5.0)).expect("joins")
    });
    let rated = |psi: f64| {
        let pipe = part(
            Kind::Pipe,
            "pipe",
            &[("length", q(1.0, "ft")), ("diameter", q(2.0, "inch")), ("pressure_rating", q(psi, "psi"))],
        );
        line(&[stiff(64.0), pipe, valve("gate"), outlet(1.0, &[])])
    };
    threshold("over-rating", Side::Below, 64.0, rated);
    // 20 psi downstream of a loss of 5 psi at the gallon that the outlet takes there.
    threshold("regulator-below-set", Side::Below, 25.0, |psi| {
        let before = part(Kind::Filter, "filter", &[("loss", q(5.0, "psi")), ("flow", q(1.0, "gpm"))]);
        let regulator = part(Kind::Regulator, "reg", &[("set", q(20.0, "psi")), ("k", q(0.0, ""))]);
        let out = part(Kind::Head, "bed", &[("rated_flow", q(1.0, "gpm")), ("rated_flow_pressure", q(20.0, "psi"))]);
        line(&[stiff(psi), before, regulator, out])
    });
}

#[test]
fn findings_carry_the_numbers_that_were_worked_out_by_hand() {
    let find = |garden: &Garden, code: &str| {
        let all = told(garden);
        all.into_iter().find(|finding| finding.code() == code).unwrap_or_else(|| panic!("{code}"))
    };
    let stalled = find(&line(&[stiff(64.0), outlet(2.0, &[("range_low", q(70.0, "psi"))])]), "below-range");
    assert_eq!(stalled.level(), Level::Warning);
    assert_eq!((stalled.name.as_str(), stalled.place), ("bed", Some(1)));
    let (us, metric) = (stalled.what(UnitSystem::Us), stalled.what(UnitSystem::Metric));
    assert!(us.contains("64 psi") && us.contains("70 psi"), "{us}");
    assert!(metric.contains("4.41 bar") && metric.contains("4.83 bar"), "{metric}");
    let never = find(&pumped(60.0, 95.0), "never-stops");
    assert!(never.what(UnitSystem::Us).contains("90 psi"), "{}", never.what(UnitSystem::Us));
    for finding in told(&pumped(51.0, 95.0)) {
        assert!(finding.faults().is_empty(), "{}: {:?}", finding.code(), finding.faults());
        assert!(!finding.why(UnitSystem::Us).is_empty() && !finding.action(UnitSystem::Us).is_empty());
    }
}

#[test]
fn the_gravest_comes_first_and_nothing_stands_twice() {
    let garden = pumped(51.0, 95.0).branch("switch", &relief(70.0, 1.0, 5.0)).expect("joins");
    let found = told(&garden);
    assert!(found.len() >= 4, "{:?}", codes(&garden));
    assert!(found.windows(2).all(|two| (two[0].level(), two[0].place) <= (two[1].level(), two[1].place)));
    let keys: std::collections::HashSet<_> = found.iter().map(|finding| (finding.code(), finding.place)).collect();
    assert_eq!(keys.len(), found.len());
    let doubled: Vec<Finding> = found.iter().chain(&found).cloned().collect();
    assert_eq!(once_in_order(doubled), found);
}

#[test]
fn of_a_run_is_said_what_is_said_of_its_solution_and_of_its_garden() {
    let garden = pumped(51.0, 95.0);
    let solution = run(&garden, &[]).expect("a steady state");
    let key = |finding: &Finding| (finding.code(), finding.place);
    let apart: std::collections::BTreeSet<_> = of_solution(&solution).iter().chain(&of_garden(&garden)).map(key).collect();
    let together: std::collections::BTreeSet<_> = of_run(&solution).iter().map(key).collect();
    assert_eq!(apart, together);
}

#[test]
fn a_zone_is_named_where_a_finding_needs_it_open() {
    let zone = |name: &str, needs_psi: f64| {
        let free = part(Kind::Valve, name, &[("k", q(0.0, ""))]);
        let numbers =
            [("rated_flow", q(2.0, "gpm")), ("rated_flow_pressure", q(64.0, "psi")), ("range_low", q(needs_psi, "psi"))];
        line(&[free, part(Kind::Head, &format!("{name} head"), &numbers)])
    };
    let garden = stiff(64.0).then_branches(&[zone("beds", 70.0), zone("rows", 30.0)]).expect("joins");
    let stalled: Vec<Finding> = of_zones(&garden).into_iter().filter(|finding| finding.code() == "below-range").collect();
    assert_eq!(stalled.len(), 1);
    assert!(
        stalled[0].what(UnitSystem::Us).starts_with("with 'beds' open, head 'beds head'"),
        "{}",
        stalled[0].what(UnitSystem::Us)
    );
    assert_eq!(stalled[0].place, Some(garden.find("beds head").expect("known")));
}

#[test]
fn cautions_follow_what_stands_in_the_garden() {
    let has = |garden: &Garden| {
        let all: Vec<&str> = CautionSet::of(garden).iter().map(|caution| caution.id).collect();
        ["check-valve", "cross-connection", "booster-on-main", "electricity", "relief", "freezing"].map(|id| all.contains(&id))
    };
    let tank = || part(Kind::OpenTank, "tank", &[("level", q(1.0, "m"))]);
    assert_eq!(has(&line(&[tank(), outlet(1.0, &[])])), [false, false, false, false, false, true]);
    assert_eq!(has(&line(&[stiff(50.0), outlet(1.0, &[])])), [false, true, false, false, false, true]);
    assert_eq!(has(&line(&[tank(), pump(), outlet(1.0, &[])])), [false, false, false, true, false, true]);
    assert_eq!(has(&pumped(60.0, 80.0)), [true, true, true, true, false, true]);
    let relieved = line(&[stiff(50.0), relief(70.0, 1.0, 2.0), outlet(1.0, &[])]);
    assert_eq!(has(&relieved), [false, true, false, false, true, true]);
}

#[test]
fn nothing_to_say_is_said_and_the_cautions_stand_below_once() {
    let garden = line(&[part(Kind::OpenTank, "tank", &[("level", q(1.0, "m"))]), outlet(1.0, &[])]);
    assert_eq!(show(&[], UnitSystem::Us, 80), text::NOTHING);
    let report = report(&garden, &[], UnitSystem::Us, 80);
    assert_eq!(report, format!("{}\n\n{}", text::NOTHING, CautionSet::of(&garden).in_short(80)));
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(32) })]

    #[test]
    fn text_keeps_its_width_and_all_its_words(width in 30usize..200, cut_in_psi in 40.0f64..60.0, cut_out_psi in 70.0f64..100.0) {
        let garden = pumped(cut_in_psi, cut_out_psi);
        let found = grouped(&told(&garden), garden.accepted());
        let text = show(&found, UnitSystem::Us, width);
        // A word longer than a line stands alone, and a number keeps its unit.
        for line in text.lines() {
            let words: Vec<&str> = line.split_whitespace().collect();
            prop_assert!(line.chars().count() <= width || words.len() <= 2, "{line}");
        }
        let joined = |width: usize| show(&found, UnitSystem::Us, width).split_whitespace().collect::<Vec<_>>().join(" ");
        prop_assert_eq!(joined(width), joined(100_000));
        prop_assert_eq!(text.split("\n\n").count(), found.len().max(1));
    }

    #[test]
    fn the_higher_a_relief_is_set_the_less_is_said_of_it(set_psi in 40.0f64..110.0, more_psi in 0.1f64..20.0) {
        let about = |set_psi: f64| {
            let garden = pumped(60.0, 84.0).branch("switch", &relief(set_psi, 20.0, 2.0)).expect("joins");
            let found = codes(&garden);
            ["relief-never-closes", "relief-opens", "relief-weeps", "relief-near-cut-out"].into_iter().filter(|code| found.contains(code)).count()
        };
        let (low, high) = (about(set_psi), about(set_psi + more_psi));
        prop_assert!(high <= low, "{low} at {set_psi} psi, {high} at {more_psi} psi more");
        prop_assert_eq!(low > 0, set_psi < 94.0);
    }
}
