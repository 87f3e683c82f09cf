//! What the trade minds beside pressure and flow: each finding right beyond its threshold, and not right below it.

use super::*;
use hosewright::findings::limits::Threshold;
use hosewright::findings::of_log;
use hosewright::operation::{Allowed, HandOpening, Hours, Schedule, Timer, operate};
use std::collections::BTreeMap;
use std::sync::Arc;

/// How near both sides lie to a threshold, as a share of it.
const NEAR: f64 = 1e-3;

fn codes(garden: &Garden, zones: &[&str]) -> Vec<&'static str> {
    let all = of_run(&solution(garden, zones));
    all.iter().for_each(|finding| assert_eq!(finding.faults(), Vec::<String>::new(), "{}", finding.code()));
    all.iter().map(Finding::code).collect()
}

/// Fails unless a finding appears right above a value and not right below it.
fn appears_above(code: &str, at: f64, zones: &[&str], garden: impl Fn(f64) -> Garden) {
    let (below, above) = (codes(&garden(at * (1.0 - NEAR)), zones), codes(&garden(at * (1.0 + NEAR)), zones));
    assert!(!below.contains(&code), "{code} below {at}: {below:?}");
    assert!(above.contains(&code), "no {code} above {at}: {above:?}");
}

/// The same the other way round.
fn appears_below(code: &str, at: f64, zones: &[&str], garden: impl Fn(f64) -> Garden) {
    appears_above(code, 1.0 / at, zones, |inverse| garden(1.0 / inverse));
}

pub fn pipe(name: &str, length_ft: f64, diameter_in: f64) -> Garden {
    part(Kind::Pipe, name, &[("length", q(length_ft, "ft")), ("diameter", q(diameter_in, "inch"))])
}

fn stiff(psi: f64) -> Garden {
    part(Kind::Supply, "tap", &[("static_pressure", q(psi, "psi"))])
}

/// A head that passes `gpm` at `psi`.
fn rated(name: &str, gpm: f64, psi: f64) -> Garden {
    part(Kind::Head, name, &[("rated_flow", q(gpm, "gpm")), ("rated_flow_pressure", q(psi, "psi"))])
}

pub fn drip(name: &str) -> Garden {
    part(Kind::Emitter, name, &[("flow", q(1.0, "gph")), ("pressure", q(15.0, "psi"))])
}

pub fn soaker(name: &str) -> Garden {
    let numbers =
        [("length", q(20.0, "ft")), ("diameter", q(0.5, "inch")), ("flow", q(0.5, "gpm")), ("pressure", q(10.0, "psi"))];
    part(Kind::Soaker, name, &numbers)
}

pub fn filter(name: &str) -> Garden {
    part(Kind::Filter, name, &[("loss", q(1.0, "psi")), ("flow", q(5.0, "gpm"))])
}

/// A part in line with a diameter of its own.
pub fn bored(kind: Kind, name: &str) -> Garden {
    part(kind, name, &[("diameter", q(0.9, "inch"))])
}

fn check(name: &str) -> Garden {
    bored(Kind::CheckValve, name)
}

fn valve(name: &str) -> Garden {
    bored(Kind::Valve, name)
}

fn regulator(name: &str, psi: f64) -> Garden {
    but(&part(Kind::Regulator, name, &[("set", q(psi, "psi"))]), &format!("{name}.diameter"), 0.9, "inch")
}

#[test]
fn friction_of_a_hose_is_noted_above_a_fifth_of_static_pressure() {
    // 60 psi at a stiff tap; the nozzle is chosen for the loss by trying.
    let lost = |gpm: f64| {
        let garden = line(&[stiff(60.0), hose("feed", 100.0, 0.625), draw("kitchen", gpm)]);
        let found = solution(&garden, &[]);
        (60.0 - psi(&found, "feed"), garden)
    };
    let (mut low, mut high) = (1.0, 8.0);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if lost(middle).0 < 12.0 { low = middle } else { high = middle }
    }
    appears_above("hose-friction", low, &[], |gpm| lost(gpm).1);
    assert_none(&line(&[stiff(60.0), pipe("feed", 100.0, 0.625), draw("kitchen", 1.3 * low)]), &[], "hose-friction");
}

#[test]
fn hoses_last_at_four_fifths_of_their_rating_and_pipe_at_72_percent() {
    let at = |line_of: fn(&str, f64, f64, f64) -> Garden, psi: f64| {
        line(&[stiff(psi), line_of("feed", 20.0, 0.9, 100.0), valve("beds"), head("a", 0.1)])
    };
    appears_above("near-rating", 80.0, &[], |psi| at(rated_hose, psi));
    appears_above("near-rating", 72.0, &[], |psi| at(rated_pipe, psi));
    assert_none(&at(rated_hose, 101.0), &[], "near-rating");
    assert_eq!(one(&at(rated_pipe, 75.0), &[], "near-rating").source(), limits::PIPE_RATING.source);
}

#[test]
fn a_hose_upstream_of_its_valve_stays_under_pressure() {
    let at = |psi: f64| line(&[stiff(psi), rated_hose("feed", 20.0, 0.75, 100.0), valve("beds"), head("a", 0.1)]);
    let level = |psi: f64| one(&at(psi), &[], "hose-left-under-pressure").level();
    assert_eq!((level(59.9), level(60.1)), (Level::Note, Level::Warning));
    // Near its rating, that is what is said.
    assert_none(&at(80.1), &[], "hose-left-under-pressure");
    // A tank on a stand strains no hose.
    appears_above("hose-left-under-pressure", 15.0, &[], at);
    // The valve at the tap; a head that is always open; a hose without a valve at its end.
    for parts in [
        vec![stiff(60.0), valve("beds"), hose("feed", 20.0, 0.75), head("a", 0.1)],
        vec![stiff(60.0), hose("feed", 20.0, 0.75), head("b", 0.1), valve("beds"), head("a", 0.1)],
        vec![stiff(60.0), hose("feed", 20.0, 0.75), draw("kitchen", 1.0)],
    ] {
        assert_none(&line(&parts), &[], "hose-left-under-pressure");
    }
}

#[test]
fn sun_on_a_closed_hose_is_told_where_it_brings_it_near_its_rating() {
    // 15.8 psi more by the wall that is taken, so 58 psi come near 80 % of 100 psi only from 64 psi on.
    let garden = |psi: f64, more: &[Garden]| {
        let feed = rated_hose("feed", 20.0, 0.625, 100.0);
        line(&[&[stiff(psi), check("check"), feed], more, &[valve("beds"), head("a", 0.1)]].concat())
    };
    assert_none(&garden(60.0, &[]), &[], "hot-hose");
    let finding = one(&garden(68.0, &[]), &[], "hot-hose");
    assert!(finding.what(US).starts_with("sun on the closed hose 'feed' could raise it by 1"), "{}", finding.what(US));
    // A tank, a relief or a way back to the tap takes what expands.
    let tank = part(Kind::PressureTank, "tank", &[("volume", q(2.0, "gal")), ("precharge", q(30.0, "psi"))]);
    for taking in [tank, relief("relief", 90.0)] {
        assert_none(&garden(68.0, &[taking]), &[], "hot-hose");
    }
    let open = line(&[stiff(68.0), rated_hose("feed", 20.0, 0.625, 100.0), valve("beds"), head("a", 0.1)]);
    assert_none(&open, &[], "hot-hose");
    // Without a rating it is told where it is given how far the wall gives: the water expands by 0.584 % of the hose.
    let given = but(
        &line(&[stiff(60.0), check("check"), hose("feed", 20.0, 0.625), valve("beds"), head("a", 0.1)]),
        "feed.compliance",
        10.0,
        "mL/bar/m",
    );
    let rise = one(&given, &[], "hot-hose");
    // 197.9 mL a meter expand by 1.16 mL, over 10 mL / bar: 0.116 bar.
    assert!(rise.what(UnitSystem::Metric).contains("by 0.12"), "{}", rise.what(UnitSystem::Metric));
}

#[test]
fn a_valve_without_a_rating_is_held_against_that_of_hose_timers() {
    let at = |psi: f64| line(&[stiff(psi), valve("timer"), head("a", 0.1)]);
    appears_above("timer-rating", 96.0, &[], at);
    let level = |psi: f64| one(&at(psi), &[], "timer-rating").level();
    assert_eq!((level(119.9), level(120.1)), (Level::Note, Level::Danger));
    assert_none(&but(&at(130.0), "timer.range_high", 150.0, "psi"), &[], "timer-rating");
    assert_none(&but(&at(130.0), "timer.pressure_rating", 150.0, "psi"), &[], "timer-rating");
}

#[test]
fn small_passages_want_a_filter_upstream() {
    let row = |more: &[Garden], drip: Garden| line(&[&[tap()], more, &[regulator("reg", 20.0), drip]].concat());
    assert_eq!(one(&row(&[], drip("row")), &[], "drip-no-filter").level(), Level::Warning);
    assert_eq!(one(&row(&[], soaker("row")), &[], "drip-no-filter").level(), Level::Note);
    for drip in [drip("row"), soaker("row")] {
        assert_none(&row(&[filter("filter")], drip), &[], "drip-no-filter");
    }
    assert_none(&row(&[], head("a", 0.1)), &[], "drip-no-filter");
}

#[test]
fn an_injector_needs_a_reduced_pressure_assembly() {
    let garden = |kind: Kind| {
        let injector = part(Kind::Injector, "injector", &[("loss", q(5.0, "psi")), ("flow", q(5.0, "gpm"))]);
        line(&[tap(), bored(kind, "device"), injector, climb("down", -2.0), head("a", 0.1)])
    };
    for kind in [Kind::DoubleCheck, Kind::PressureVacuumBreaker, Kind::Backflow, Kind::CheckValve] {
        assert_eq!(one(&garden(kind), &[], "injector-needs-rpz").level(), Level::Danger, "{kind:?}");
    }
    assert_none(&garden(Kind::ReducedPressure), &[], "injector-needs-rpz");
}

#[test]
fn a_valve_and_a_regulator_are_held_against_the_least_flow_that_they_give() {
    let drawn = |device: Garden, gpm: f64| line(&[tap(), device, draw("row", gpm)]);
    let valve = but(&bored(Kind::DiaphragmValve, "valve"), "valve.minimum_flow", 0.25, "gpm");
    appears_below("valve-may-not-close", 0.25, &["valve"], |gpm| drawn(valve.clone(), gpm));
    // It needs 10 psi at its inlet too: 58 - 14 (q / 6)^2 at 11.11 gpm.
    appears_above("valve-may-not-close", 6.0 * (48.0f64 / 14.0).sqrt(), &["valve"], |gpm| drawn(valve.clone(), gpm));
    let holds = but(&regulator("reg", 20.0), "reg.minimum_flow", 0.5, "gpm");
    appears_below("regulator-flow", 0.5, &[], |gpm| drawn(holds.clone(), gpm));
}

#[test]
fn a_coarse_filter_is_none_for_drip() {
    let row = |mesh: f64| line(&[tap(), but(&filter("filter"), "filter.mesh", mesh, ""), regulator("reg", 20.0), drip("row")]);
    appears_below("drip-no-filter", 150.0, &[], row);
    assert!(one(&row(80.0), &[], "drip-no-filter").what(US).ends_with("; filter 'filter' is too coarse"));
}

#[test]
fn the_expansion_tank_of_a_house_is_no_tank_of_a_switch() {
    let tank = part(Kind::ExpansionTank, "expansion", &[("volume", q(2.0, "gal")), ("precharge", q(20.0, "psi"))]);
    let house = line(&[tap(), check("check"), tank.clone(), draw("kitchen", 1.0)]);
    assert_none(&house, &[], "thermal-expansion");
    let pumped = line(&[protected_tap(), vec![pump(), switch(60.0, 85.0), tank], zone()].concat());
    assert_none(&pumped, &[], "precharge-low");
}

#[test]
fn a_regulator_creeps_below_its_least_flow() {
    appears_below("regulator-flow", 0.1, &[], |gpm| line(&[tap(), regulator("reg", 20.0), draw("row", gpm)]));
}

/// Two heads in a zone, one higher; the tap is stiff.
pub fn slope(rise_ft: f64) -> Garden {
    line(&[stiff(60.0), valve("lawn"), hose("lateral", 10.0, 2.0)])
        .then_branches(&[rated("low", 0.01, 60.0), line(&[climb("rise", rise_ft), rated("high", 0.01, 60.0)])])
        .expect("joins")
}

#[test]
fn pressures_in_a_zone_may_differ_by_a_fifth_of_their_mean() {
    // With p below and p - d above, d is a fifth of p - d / 2 at d = 2 p / 11, which are 10.909 psi of 60: 25.19 ft of water.
    let rise_ft = 60.0 * 2.0 / 11.0 * PSI / (999.1 * 9.80665 * FT);
    appears_above("zone-variation", rise_ft, &["lawn"], slope);
    let finding = one(&slope(40.0), &["lawn"], "zone-variation");
    assert_eq!((finding.level(), finding.name.as_str()), (Level::Warning, "high"));
    assert!(finding.what(US).contains("and head 'low' 60 psi in zone 'lawn', 34% apart"), "{}", finding.what(US));
    assert_none(&slope(40.0), &[], "zone-variation");
    // Heads that hold their own pressure do not mind, and neither do emitters that compensate.
    let regulated = but(&but(&slope(40.0), "low.regulated", 30.0, "psi"), "high.regulated", 30.0, "psi");
    assert_none(&regulated, &["lawn"], "zone-variation");
    // Two zones are two zones.
    let zones = line(&[stiff(60.0), hose("feed", 10.0, 2.0)])
        .then_branches(&[
            line(&[valve("one"), rated("low", 0.01, 60.0)]),
            line(&[climb("rise", 40.0), valve("two"), rated("high", 0.01, 60.0)]),
        ])
        .expect("joins");
    assert_none(&zones, &["one", "two"], "zone-variation");
}

#[test]
fn a_lateral_drains_through_a_head_more_than_a_foot_below_its_highest_point() {
    let lateral = |fall_ft: f64| {
        line(&[stiff(60.0), valve("lawn"), hose("lateral", 100.0, 1.0)])
            .then_branches(&[rated("high", 1.0, 60.0), line(&[climb("fall", -fall_ft), rated("low", 1.0, 60.0)])])
            .expect("joins")
    };
    appears_above("low-head-drainage", 1.0, &[], lateral);
    let finding = one(&lateral(2.0), &[], "low-head-drainage");
    // 100 ft of 1 in hold 4.08 gal.
    assert_eq!(finding.what(US), "after valve 'lawn' closes, up to 4.1 gal drains through head 'low', the lowest head");
    assert_eq!(finding.action(US), "use heads with a built-in check valve that holds 2 ft");
    // A check valve in the low head holds as much as it says; then the next one drains, if it lies low enough.
    let checked = |height_ft: f64| but(&lateral(2.0), "low.check_height", height_ft, "ft");
    assert_eq!(one(&checked(1.9), &[], "low-head-drainage").name, "low");
    assert_none(&checked(2.1), &[], "low-head-drainage");
    let middle = line(&[climb("step", -1.5), rated("middle", 1.0, 60.0)]);
    let three = but(&lateral(2.0), "low.check_height", 10.0, "ft").branch("lateral", &middle).expect("joins");
    assert_eq!(one(&three, &[], "low-head-drainage").name, "middle");
    // A check valve that holds the lateral back from the low head: water below it only.
    let held = line(&[stiff(60.0), valve("lawn"), hose("lateral", 100.0, 1.0)])
        .then_branches(&[rated("high", 1.0, 60.0), line(&[climb("fall", -2.0), check("back"), rated("low", 1.0, 60.0)])])
        .expect("joins");
    assert_eq!(codes(&held, &[]).iter().filter(|&&code| code == "low-head-drainage").count(), 1, "a check passes downhill");
}

pub fn daily(zone: &str, starts: usize, every_s: f64, lasting_s: f64) -> Schedule {
    let timer = Timer {
        starts_s: (0..starts).map(|at| 3600.0 + every_s * at as f64).collect(),
        zones: vec![(zone.into(), lasting_s)],
        ..Timer::new("east")
    };
    Schedule { timers: vec![timer], ..Schedule::default() }
}

#[test]
fn a_run_is_short_when_a_fifth_of_it_fills_a_lateral_that_drains() {
    // 4.08 gal of lateral at 2 gpm fill in 122.4 s: five times that are 612 s.
    let garden = line(&[stiff(60.0), valve("lawn"), hose("lateral", 100.0, 1.0)])
        .then_branches(&[rated("high", 1.0, 60.0), line(&[climb("fall", -2.0), rated("low", 1.0, 60.0)])])
        .expect("joins");
    let told = |garden: &Garden, lasting_s: f64| {
        let log = operate(garden, &daily("lawn", 1, 0.0, lasting_s), 7200.0).expect("runs");
        of_log(&log).iter().any(|finding| finding.code() == "too-short")
    };
    assert!(told(&garden, 600.0) && !told(&garden, 625.0));
    let level = but(&garden, "fall.height", 0.0, "ft");
    assert!(!told(&level, 100.0), "what does not drain need not be filled");
    // A drain valve empties it as it is meant to, and each start fills it again.
    let drained = level.branch("lateral", &part(Kind::DrainValve, "drain", &[])).expect("joins");
    assert!(told(&drained, 600.0) && !told(&drained, 625.0));
    assert_none(&garden.branch("lateral", &part(Kind::DrainValve, "drain", &[])).expect("joins"), &[], "low-head-drainage");
}

#[test]
fn little_pressure_hardly_opens_a_check_valve() {
    let barrel = |psi: f64| {
        let tank = part(Kind::OpenTank, "barrel", &[("level", q(psi * PSI / (999.1 * 9.80665 * FT), "ft"))]);
        line(&[tank, check("check"), head("a", 0.01)])
    };
    appears_below("weak-check", 3.0, &[], barrel);
    assert_none(&but(&barrel(1.3), "check.cracking_pressure", 0.5, "psi"), &[], "weak-check");
    let pumped = line(&[open_tank("pond", 1.0), check("foot"), pump(), head("a", 0.1)]);
    assert_none(&pumped, &[], "weak-check");
}

#[test]
fn a_meter_is_run_at_three_quarters_of_its_rated_flow() {
    let meter = part(Kind::Meter, "meter", &[("loss", q(3.0, "psi")), ("flow", q(10.0, "gpm"))]);
    appears_above("meter-limit", 7.5, &[], |gpm| line(&[tap(), meter.clone(), draw("kitchen", gpm)]));
}

#[test]
fn a_preventer_of_unknown_type_matters_where_it_could_cost_a_head_its_range() {
    let garden = |low_psi: f64| {
        let spray = but(&head("spray", 0.01), "spray.range_low", low_psi, "psi");
        line(&[stiff(60.0), part(Kind::Backflow, "preventer", &[]), hose("feed", 5.0, 0.75), spray])
    };
    appears_above("preventer-type-unknown", 48.0, &[], garden);
    assert_none(&but(&garden(50.0), "preventer.cracking_pressure", 2.0, "psi"), &[], "preventer-type-unknown");
    let known =
        line(&[stiff(60.0), bored(Kind::DoubleCheck, "preventer"), but(&head("spray", 0.01), "spray.range_low", 50.0, "psi")]);
    assert_none(&known, &[], "preventer-type-unknown");
}

#[test]
fn a_breaker_on_a_hose_bibb_stands_ten_feet_of_water() {
    let garden = |rise_ft: f64| {
        line(&[
            tap(),
            part(Kind::HoseVacuumBreaker, "breaker", &[]),
            hose("feed", 20.0, 0.75),
            climb("up", rise_ft),
            head("a", 0.1),
        ])
    };
    appears_above("backpressure", 10.0, &[], garden);
    assert_eq!(one(&garden(12.0), &[], "backpressure").level(), Level::Danger);
}

#[test]
fn a_house_that_is_closed_needs_room_for_water_that_expands() {
    let house = |closing: &[Garden], more: &[Garden]| line(&[&[tap()], closing, more, &[draw("kitchen", 1.0)]].concat());
    for kind in [Kind::CheckValve, Kind::Backflow, Kind::DoubleCheck] {
        assert_eq!(one(&house(&[bored(kind, "closes")], &[]), &[], "thermal-expansion").name, "closes");
    }
    let reducing = regulator("closes", 50.0);
    assert_eq!(one(&house(std::slice::from_ref(&reducing), &[]), &[], "thermal-expansion").level(), Level::Warning);
    let tank = part(Kind::PressureTank, "expansion", &[("volume", q(2.0, "gal")), ("precharge", q(50.0, "psi"))]);
    assert_none(&house(&[reducing], &[tank]), &[], "thermal-expansion");
    assert_none(&house(&[], &[]), &[], "thermal-expansion");
    // What hangs on a hose or a zone valve is no house.
    assert_none(&house(&[check("closes")], &[hose("feed", 20.0, 0.75)]), &[], "thermal-expansion");
    assert_none(&house(&[check("closes")], &[valve("zone")]), &["zone"], "thermal-expansion");
}

#[test]
fn a_booster_on_a_main_has_a_cut_off_at_ten_psi() {
    let garden = |cut_off: Option<f64>| {
        let line = line(&[tap(), check("check"), pump(), head("a", 0.1)]);
        cut_off.map_or(line.clone(), |psi| but(&line, "pump.dry_run_cutoff", psi, "psi"))
    };
    assert_eq!(one(&garden(None), &[], "no-low-suction-cutoff").level(), Level::Note);
    assert!(one(&garden(Some(9.9)), &[], "no-low-suction-cutoff").what(US).ends_with("at 10 psi, only one at 9.9 psi"));
    assert_none(&garden(Some(10.0)), &[], "no-low-suction-cutoff");
    assert_none(&line(&[open_tank("pond", 3.0), pump(), head("a", 0.1)]), &[], "no-low-suction-cutoff");
}

#[test]
fn a_pump_on_a_tank_that_can_run_empty_needs_a_dry_run_cut_off() {
    let garden = line(&[open_tank("cistern", 3.0), pump(), head("a", 0.1)]);
    assert_none(&garden, &[], "runs-dry");
    for (path, value, unit) in [("cistern.volume", 300.0, "gal"), ("cistern.inflow", 1.0, "gpm")] {
        let finite = but(&garden, path, value, unit);
        assert_eq!(one(&finite, &[], "runs-dry").level(), Level::Warning);
        assert_none(&but(&finite, "pump.dry_run_cutoff", 0.5, "psi"), &[], "runs-dry");
    }
}

#[test]
fn a_pump_above_its_water_loses_its_prime_without_a_foot_valve() {
    let garden = |rise_ft: f64| line(&[open_tank("pond", 2.0), climb("bank", rise_ft), pump(), head("a", 0.1)]);
    appears_above("loses-prime", 2.0, &[], garden);
    let footed = line(&[open_tank("pond", 2.0), check("foot"), climb("bank", 6.0), pump(), head("a", 0.1)]);
    assert_none(&footed, &[], "loses-prime");
    assert!(one(&garden(6.0), &[], "loses-prime").what(US).contains("it is 4 ft above the water"));
}

#[test]
fn precharge_far_below_cut_in_wastes_a_tank() {
    let garden = |cut_in: f64, precharge: f64| {
        let tank = part(Kind::PressureTank, "tank", &[("volume", q(5.0, "gal")), ("precharge", q(precharge, "psi"))]);
        line(&[protected_tap(), vec![pump(), switch(cut_in, 85.0), tank], zone()].concat())
    };
    // 2 psi below cut-in is right, and 5 psi less than that too little; of small pressures a fifth.
    appears_below("precharge-low", 53.0, &[], |precharge| garden(60.0, precharge));
    appears_below("precharge-low", 14.4, &[], |precharge| garden(20.0, precharge));
}

#[test]
fn a_valve_between_pump_and_relief_is_a_danger() {
    let garden = |between: &[Garden], after: &[Garden]| {
        line(&[&[tap(), check("check"), pump()], between, &[relief("relief", 90.0)], after, &[head("a", 0.1)]].concat())
    };
    let finding = one(&garden(&[valve("ball")], &[]), &["ball"], "relief-blocked");
    assert_eq!(
        (finding.level(), finding.what(US).as_str()),
        (Level::Danger, "valve 'ball' can isolate relief 'relief' from booster 'pump'")
    );
    assert_none(&garden(&[], &[valve("ball")]), &["ball"], "relief-blocked");
    assert_none(&garden(&[relief("first", 90.0), valve("ball")], &[]), &["ball"], "relief-blocked");
}

#[test]
fn starts_are_counted_by_the_hour_and_by_the_day_and_by_the_size_of_the_motor() {
    // Each opening of a minute and a half starts the pump once: nothing is stored, and the line leaks nothing.
    let garden = |watts: f64| but(&but(&sound_with_tank(), "pump.input_power", watts, "W"), "tank.volume", 0.3, "gal");
    let found = |watts: f64, starts: usize, every_s: f64| {
        let log = operate(&garden(watts), &daily("berries", starts, every_s, 0.4 * every_s), 86_400.0).expect("runs");
        assert_eq!(
            log.runs(log.garden.find("pump").expect("known")).count(),
            starts + 1,
            "one start each time, and one at the beginning"
        );
        let codes: Vec<&str> = of_log(&log).iter().map(|finding| finding.code()).collect();
        ["short-cycles", "many-starts", "many-starts-a-day"].into_iter().filter(|code| codes.contains(code)).collect::<Vec<_>>()
    };
    assert_eq!(found(500.0, 20, 360.0), Vec::<&str>::new());
    assert_eq!(found(500.0, 20, 320.0), ["many-starts"]);
    // A horsepower and more: six an hour, two minutes, a hundred a day.
    assert_eq!(found(1200.0, 20, 360.0), ["many-starts"]);
    assert_eq!(found(1200.0, 20, 620.0), Vec::<&str>::new());
    assert_eq!(found(1200.0, 99, 620.0), Vec::<&str>::new());
    assert_eq!(found(1200.0, 100, 620.0), ["many-starts-a-day"]);
    assert_eq!(found(500.0, 100, 620.0), Vec::<&str>::new());
}

#[test]
fn a_timer_that_waters_outside_of_the_allowed_hours_is_told_with_its_moment() {
    let garden =
        line(&[tap(), bored(Kind::DoubleCheck, "device"), valve("beds"), rated_pipe("line", 20.0, 0.9, 150.0), head("a", 0.1)]);
    let told = |from_h: f64, by_hand: bool| {
        let timer = Timer { starts_s: vec![from_h * 3600.0], zones: vec![("beds".into(), 1200.0)], ..Timer::new("east") };
        let hand = HandOpening { name: "beds".into(), at_s: from_h * 3600.0, lasting_s: 1200.0, every_s: None };
        let allowed = Some(Allowed { days: None, hours: Hours { from_s: 18.0 * 3600.0, to_s: 10.0 * 3600.0 } });
        let schedule = match by_hand {
            true => Schedule { by_hand: vec![hand], allowed, ..Schedule::default() },
            false => Schedule { timers: vec![timer], allowed, ..Schedule::default() },
        };
        let log = operate(&garden, &schedule, 2.0 * 86_400.0).expect("runs");
        of_log(&log).into_iter().find(|finding| finding.code() == "restriction").map(|finding| finding.what(US))
    };
    // Twenty minutes from 9:39 on end in time, from 9:41 on a minute late, on both days.
    assert_eq!(told(9.65, false), None);
    assert_eq!(
        told(9.0 + 41.0 / 60.0, false).as_deref(),
        Some(
            "timer 'east' waters through valve 'beds' at day 1, 10:00:00; allowed is 18:00 to 10:00; 2 openings in this run are not allowed"
        )
    );
    assert_eq!(told(18.0, false), None);
    assert_eq!(told(12.0, true), None, "by hand one may");
}

/// The sound garden with a small tank beside its switch.
fn sound_with_tank() -> Garden {
    let numbers = [("volume", q(20.0, "gal")), ("precharge", q(58.0, "psi")), ("pressure_rating", q(150.0, "psi"))];
    but(&sound(), "switch.cut_in", 62.0, "psi").branch("switch", &part(Kind::PressureTank, "tank", &numbers)).expect("joins")
}

#[test]
fn every_threshold_has_one_name_and_holds_for_a_garden_that_sets_it() {
    let mut names = std::collections::HashSet::new();
    for threshold in limits::ALL {
        assert!(names.insert(threshold.name), "{} twice", threshold.name);
        assert!(threshold.usual.is_finite() && !threshold.about.is_empty(), "{}", threshold.name);
        let unit = if threshold.unit.is_empty() { None } else { find_unit(threshold.unit) };
        assert_eq!(
            unit.map(|unit| unit.dimension),
            (!threshold.unit.is_empty()).then_some(threshold.dimension),
            "{}",
            threshold.name
        );
        let other = set(&tap(), threshold, 2.0 * threshold.usual);
        assert_eq!((threshold.of(&tap()), threshold.of(&other)), (threshold.usual, 2.0 * threshold.usual));
    }
}

fn set(garden: &Garden, threshold: &Threshold, si: f64) -> Garden {
    garden.judged_by(&Arc::new(BTreeMap::from([(threshold.name, si)])))
}

#[test]
fn another_threshold_changes_what_is_found_steady_over_time_and_in_a_window() {
    let low = line(&[tap(), hose("feed", 1.0, 1.0), draw("kitchen", 9.0)]);
    // 26.5 psi are left at 9 gpm.
    assert_none(&low, &[], "low-tap-pressure");
    let strict = set(&low, &limits::HOUSE_PRESSURE, 30.0 * PSI);
    assert!(one(&strict, &[], "low-tap-pressure").what(US).ends_with("below 30 psi"));
    // It travels with what is made of the garden.
    assert_eq!(one(&but(&strict, "feed.length", 2.0, "ft"), &[], "low-tap-pressure").name, "tap");
    let log = operate(&strict, &Schedule::default(), 600.0).expect("runs");
    assert!(of_log(&log).iter().any(|finding| finding.code() == "low-tap-pressure" && finding.what(US).contains("30 psi")));
    let cut_out =
        |margin_psi: f64| set(&but(&sound(), "switch.cut_out", 90.0, "psi"), &limits::SHUT_OFF_MARGIN, margin_psi * PSI);
    assert_none(&cut_out(7.9), &[], "near-dead-head");
    assert!(one(&cut_out(8.1), &[], "near-dead-head").action(US).contains("at least 8.1 psi below"));
}
