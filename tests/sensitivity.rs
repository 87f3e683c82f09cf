//! Sensitivities against finite differences of whole solves, on named gardens and on random networks.

mod support;

use hosewright::garden::Garden;
use hosewright::hydraulics::{Network, NoSlope, Probe, ProbeKind};
use hosewright::parts::{Id, Kind};
use proptest::prelude::*;
use support::slopes::{check_all, compare, numbers};
use support::*;

fn solved(garden: &Garden, zones: &[&str]) -> Network {
    let open = garden.opened(zones).expect("known zones");
    let mut network = Network::new(garden, &open).expect("a sound garden");
    network.solve().expect("a steady state");
    network
}

fn probe(garden: &Garden, name: &str, kind: ProbeKind) -> Probe {
    Probe { place: garden.find(name).expect("known"), kind }
}

fn check(garden: &Garden, zones: &[&str], name: &str, kind: ProbeKind) -> usize {
    let mut network = solved(garden, zones);
    let probe = probe(garden, name, kind);
    let slopes = network.slopes(&probe).expect("slopes");
    compare(garden, &network, &probe, &slopes).expect("slopes as by differences")
}

#[test]
fn the_two_zones_agree_with_differences_of_whole_solves() {
    // A number without effect has none at all, also at the end of its range, where differences are taken on one side.
    let garden = two_zones();
    let mut network = solved(&garden, &["berries"]);
    let slopes = network.slopes(&probe(&garden, "berry", ProbeKind::Pressure)).expect("slopes");
    let head = garden.find("berry").expect("known");
    let arc = garden.parts()[head].id_of("arc").expect("known");
    assert_eq!(slopes.to(&network, head, arc), Ok(0.0));
    // Supply (3), feed (4: length, diameter, roughness, not its minor k at zero), valve, line, climb, head: 2 numbers of no effect.
    for (name, kind) in [("berry", ProbeKind::Pressure), ("berry", ProbeKind::Flow), ("feed", ProbeKind::Pressure)] {
        assert!(check(&two_zones(), &["berries"], name, kind) >= 10, "{name}");
    }
    assert!(check(&two_zones(), &["beds", "berries"], "supply", ProbeKind::Flow) >= 14);
}

#[test]
fn a_line_without_branches_is_solved_and_derived_without_nodes() {
    let garden = line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 100.0, 0.625), climb("rise", 3.0), head("a", 0.15)]);
    for (name, kind) in
        [("a", ProbeKind::Pressure), ("a", ProbeKind::Flow), ("feed", ProbeKind::Pressure), ("tap", ProbeKind::Pressure)]
    {
        assert!(check(&garden, &[], name, kind) >= 8, "{name}");
    }
}

#[test]
fn behind_a_regulator_that_holds_only_its_setting_and_what_lies_behind_matter() {
    let regulator = part(Kind::Regulator, "reg", &[("set", q(30.0, "psi"))]);
    let garden = line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 50.0, 0.75), regulator, hose("on", 20.0, 0.5)])
        .then_branches(&[head("a", 0.1), line(&[hose("far", 30.0, 0.5), head("b", 0.12)])])
        .expect("joins");
    check(&garden, &[], "b", ProbeKind::Pressure);
    check(&garden, &[], "feed", ProbeKind::Pressure);
    check(&garden, &[], "tap", ProbeKind::Flow);
    let mut network = solved(&garden, &[]);
    let slopes = network.slopes(&probe(&garden, "b", ProbeKind::Pressure)).expect("slopes");
    let to = |name: &str, number: Id| slopes.to(&network, garden.find(name).expect("known"), number).expect("a slope");
    assert_eq!(to("tap", Id::StaticPressure), 0.0);
    assert_eq!(to("feed", Id::Length), 0.0);
    assert!(to("reg", Id::Set) > 0.8 && to("reg", Id::Set) < 1.0);
    // Just behind it, the setting and nothing else.
    let slopes = network.slopes(&probe(&garden, "reg", ProbeKind::Pressure)).expect("slopes");
    let set = slopes.to(&network, garden.find("reg").expect("known"), Id::Set).expect("a slope");
    approx::assert_relative_eq!(set, 1.0, max_relative = 1e-7);
}

#[test]
fn a_regulator_that_holds_in_a_ring_is_moved_by_what_the_ring_begins_at() {
    // The booster drives water round: through the regulator, and back by the hose to where it came from.
    let regulator = part(Kind::Regulator, "reg", &[("set", q(44.83, "psi"))]);
    let garden = line(&[supply("tap", 58.0, 44.0, 6.0), part(Kind::Point, "here", &[])])
        .then_branches(&[
            line(&[booster("pump", &[(0.0, 10.0), (4.0, 4.0)]), regulator]),
            line(&[hose("feed", 60.0, 0.75), head("a", 0.19)]),
        ])
        .and_then(|garden| garden.connect("reg", "here", &hose("back", 10.0, 0.3)))
        .expect("joins");
    for (name, kind) in [
        ("pump", ProbeKind::Pressure),
        ("pump", ProbeKind::Flow),
        ("back", ProbeKind::Flow),
        ("a", ProbeKind::Pressure),
        ("tap", ProbeKind::Pressure),
    ] {
        check(&garden, &[], name, kind);
    }
    let mut network = solved(&garden, &[]);
    let slopes = network.slopes(&probe(&garden, "back", ProbeKind::Flow)).expect("slopes");
    let of = |name: &str, number: Id| slopes.to(&network, garden.find(name).expect("known"), number).expect("a slope");
    // More pressure at the tap in the bucket test leaves less to drive the water back from behind the regulator.
    assert!(of("tap", Id::MeasuredPressure) < 0.0 && of("reg", Id::Set) > 0.0);
}

#[test]
fn dry_heads_and_shut_valves_have_no_part_in_it() {
    let relief = part(Kind::Relief, "relief", &[("set", q(90.0, "psi"))]);
    let garden = line(&[supply("tap", 20.0, 15.0, 5.0), hose("feed", 50.0, 0.75), relief])
        .then_branches(&[line(&[climb("hill", 60.0), head("high", 0.1)]), line(&[hose("on", 20.0, 0.5), head("low", 0.1)])])
        .expect("joins");
    check(&garden, &[], "low", ProbeKind::Pressure);
    let mut network = solved(&garden, &[]);
    for (name, kind) in [("high", ProbeKind::Pressure), ("high", ProbeKind::Flow), ("relief", ProbeKind::Flow)] {
        let slopes = network.slopes(&probe(&garden, name, kind)).expect("slopes");
        for (place, number) in numbers(&garden) {
            assert_eq!(slopes.to(&network, place, number), Ok(0.0), "{name}");
        }
    }
}

#[test]
fn boosters_draws_and_second_sources_agree_with_differences() {
    let points = [(0.0, 40.0), (5.0, 33.0), (12.0, 10.0)];
    let well = line(&[supply("well", 50.0, 40.0, 6.0), hose("well hose", 50.0, 0.75), part(Kind::CheckValve, "check", &[])]);
    let emitter =
        part(Kind::Emitter, "drip", &[("flow", q(20.0, "gph")), ("pressure", q(15.0, "psi")), ("exponent", q(0.3, ""))]);
    let garden = line(&[
        supply("tap", 58.0, 48.0, 6.0),
        booster("pump", &points),
        hose("feed", 50.0, 0.75),
        part(Kind::Point, "here", &[]),
    ])
    .then_branches(&[
        part(Kind::Demand, "kitchen", &[("flow", q(1.5, "gpm"))]),
        line(&[part(Kind::Valve, "open", &[("k", q(5.0, ""))]), hose("on", 30.0, 0.5), head("a", 0.2)]),
        line(&[hose("drip line", 60.0, 0.4), emitter]),
    ])
    .and_then(|garden| garden.add_source("here", &well))
    .expect("joins");
    for (name, kind) in [
        ("a", ProbeKind::Pressure),
        ("drip", ProbeKind::Flow),
        ("tap", ProbeKind::Flow),
        ("kitchen", ProbeKind::Flow),
        ("pump", ProbeKind::Pressure),
    ] {
        check(&garden, &["open"], name, kind);
    }
    let mut network = solved(&garden, &["open"]);
    let slopes = network.slopes(&probe(&garden, "a", ProbeKind::Pressure)).expect("slopes");
    let of = |name: &str, number: Id| slopes.to(&network, garden.find(name).expect("known"), number).expect("a slope");
    assert!(of("pump", Id::Speed) > 0.0 && of("kitchen", Id::Flow) < 0.0);
    // The valve has no diameter of its own: a wider hose beside it also makes the valve wider.
    assert!(of("on", Id::Diameter) > 0.0);
}

#[test]
fn where_a_valve_is_just_turning_there_is_no_slope_and_the_reason_is_told() {
    let garden = |set_psi: f64| {
        let relief = part(Kind::Relief, "relief", &[("set", q(set_psi, "psi"))]);
        line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 50.0, 0.75), relief, hose("on", 20.0, 0.75), head("a", 0.1)])
    };
    let quiet = garden(57.0);
    let mut network = solved(&quiet, &[]);
    let at = network.probe(&probe(&quiet, "relief", ProbeKind::Pressure)) / PSI;
    let turning = garden(at);
    let mut network = solved(&turning, &[]);
    let error = network.slopes(&probe(&turning, "a", ProbeKind::Pressure)).expect_err("no slope").named(&turning);
    insta::assert_snapshot!(error, @"'relief' is at a switching point: the derivative is undefined");
    // What no supply reaches has no pressure to change.
    let two = two_zones();
    let mut network = solved(&two, &["berries"]);
    assert_eq!(network.slopes(&probe(&two, "bed", ProbeKind::Pressure)).expect_err("dry ground"), NoSlope::NotFed);
}

#[test]
fn heads_with_a_regulator_inside_and_worn_ones_agree_with_differences() {
    let regulated = part(Kind::Head, "held", &[("nozzle", q(0.1, "inch")), ("regulated", q(30.0, "psi"))]);
    let open = part(Kind::Head, "open", &[("nozzle", q(0.1, "inch")), ("regulated", q(70.0, "psi")), ("wear", q(1.1, ""))]);
    let garden = line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 50.0, 0.625)])
        .then_branches(&[regulated, open, line(&[hose("on", 30.0, 0.5), head("a", 0.1)])])
        .expect("joins");
    for name in ["held", "open", "a"] {
        for kind in [ProbeKind::Pressure, ProbeKind::Flow] {
            check(&garden, &[], name, kind);
        }
    }
    let mut network = solved(&garden, &[]);
    let slopes = network.slopes(&probe(&garden, "held", ProbeKind::Flow)).expect("slopes");
    let place = garden.find("held").expect("known");
    let set = garden.parts()[place].id_of("regulated").expect("known");
    // q goes with the root of what it is held at.
    let flow = network.probe(&probe(&garden, "held", ProbeKind::Flow));
    approx::assert_relative_eq!(
        slopes.to(&network, place, set).expect("a slope"),
        0.5 * flow / (30.0 * PSI),
        max_relative = 1e-7
    );
    assert_eq!(slopes.to(&network, garden.find("tap").expect("known"), Id::StaticPressure), Ok(0.0));
}

#[test]
fn dead_legs_and_idle_supplies_pass_changes_on() {
    let switch = part(Kind::PressureSwitch, "switch", &[("cut_in", q(30.0, "psi")), ("cut_out", q(50.0, "psi"))]);
    let garden = line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 50.0, 0.75), climb("rise", 10.0), switch]);
    let mut network = solved(&garden, &[]);
    let slopes = network.slopes(&probe(&garden, "switch", ProbeKind::Pressure)).expect("slopes");
    let of = |name: &str, number: Id| slopes.to(&network, garden.find(name).expect("known"), number).expect("a slope");
    approx::assert_relative_eq!(of("tap", Id::StaticPressure), 1.0, max_relative = 1e-9);
    approx::assert_relative_eq!(of("rise", Id::Height), -999.1 * 9.80665, max_relative = 1e-9);
    assert_eq!(of("feed", Id::Length), 0.0);
}

#[test]
fn a_rougher_hose_changes_the_answer_of_a_solve_that_goes_on_from_the_last() {
    let garden = two_zones();
    let mut network = solved(&garden, &["berries"]);
    let berry = probe(&garden, "berry", ProbeKind::Pressure);
    let (feed, smooth) = (garden.find("feed").expect("known"), network.probe(&berry));
    // So little that the flow hardly changes: what the last solve left behind must not stand in for the new law.
    network.set(feed, Id::Roughness, 2e-6).expect("a roughness");
    network.solve().expect("a steady state");
    let mut afresh = network.clone();
    afresh.start_afresh();
    afresh.solve().expect("a steady state");
    let (found, expected) = (network.probe(&berry), afresh.probe(&berry));
    assert!(expected < smooth - 10.0, "{expected} Pa after {smooth} Pa");
    assert!((found - expected).abs() < 1e-3, "{found} Pa instead of {expected} Pa");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, ..ProptestConfig::default() })]

    #[test]
    fn slopes_of_random_trees_agree_with_differences(growths in growths(14)) {
        check_all(&tree(&growths), &[])?;
    }

    #[test]
    fn slopes_of_random_networks_with_loops_agree_with_differences(growths in growths(12), joins in joins()) {
        check_all(&with_loops(tree(&growths), &joins), &[])?;
    }
}
