//! One-way parts wherever they may stand: on the way into a second source, against each other, before outlets.

use crate::support::*;
use hosewright::garden::Garden;
use hosewright::hydraulics::{Network, Probe, ProbeKind, Solution, run};
use hosewright::operation::{HandOpening, Schedule, operate};
use hosewright::parts::{Id, Kind};

fn gpm(solution: &Solution, name: &str) -> f64 {
    solution.flow_m3_per_s(name).expect("known") / GPM
}

fn meters(kind: Kind, name: &str, length_m: f64, bore_mm: f64) -> Garden {
    part(kind, name, &[("length", q(length_m, "m")), ("diameter", q(bore_mm, "mm"))])
}

/// A tap that feeds a spray head and, from a fork, a cistern up a hill; `on_the_way` stands on the leg into the cistern.
fn cistern(on_the_way: &Garden, level: &[(&str, hosewright::quantity::Quantity)]) -> Garden {
    let tap = part(
        Kind::Supply,
        "tap",
        &[("static_pressure", q(4.0, "bar")), ("measured_pressure", q(3.0, "bar")), ("measured_flow", q(20.0, "lpm"))],
    );
    let up = line(&[
        tap,
        meters(Kind::Hose, "up", 20.0, 15.0),
        part(Kind::Point, "fork", &[]),
        part(Kind::Head, "spray", &[("nozzle", q(2.0, "mm"))]),
    ]);
    let rise = line(&[
        on_the_way.clone(),
        meters(Kind::Hose, "rise", 10.0, 15.0),
        part(Kind::Uphill, "hill", &[("height", q(10.0, "m"))]),
        part(Kind::Point, "top", &[]),
    ]);
    let tank = line(&[part(Kind::OpenTank, "tank", level), meters(Kind::Hose, "in", 5.0, 15.0)]);
    up.branch("fork", &rise).and_then(|garden| garden.add_source("top", &tank)).expect("joins")
}

fn of_bore(kind: Kind, numbers: &[(&str, hosewright::quantity::Quantity)]) -> Garden {
    let all: Vec<_> = numbers.iter().copied().chain([("diameter", q(15.0, "mm")), ("k", q(2.0, ""))]).collect();
    part(kind, "gate", &all)
}

#[test]
fn water_fills_a_cistern_through_one_way_parts_as_through_a_fitting() {
    let level = [("level", q(1.0, "m"))];
    let free = run(&cistern(&of_bore(Kind::Fitting, &[]), &level), &[]).expect("a steady state");
    assert!((gpm(&free, "rise") - 5.668).abs() < 1e-3, "{}", gpm(&free, "rise"));
    let wide_open =
        [of_bore(Kind::CheckValve, &[]), of_bore(Kind::Backflow, &[]), of_bore(Kind::Regulator, &[("set", q(10.0, "bar"))])];
    for gate in wide_open {
        let solution = run(&cistern(&gate, &level), &[]).expect("a steady state");
        for name in ["tap", "up", "gate", "rise", "in", "tank", "spray"] {
            assert!((gpm(&solution, name) - gpm(&free, name)).abs() < 1e-9, "{name}: {}", gpm(&solution, name));
            let (found, expected) = (solution.state(name).expect("known"), free.state(name).expect("known"));
            for (a, b) in [(found.pressure_in_pa, expected.pressure_in_pa), (found.pressure_out_pa, expected.pressure_out_pa)] {
                assert!((a.expect("fed") - b.expect("fed")).abs() < 1e-3, "{name}: {a:?} and {b:?}");
            }
        }
    }
}

#[test]
fn a_regulator_on_the_way_into_a_cistern_holds_what_lies_behind_it() {
    let gate = of_bore(Kind::Regulator, &[("set", q(1.5, "bar"))]);
    let solution = run(&cistern(&gate, &[("level", q(1.0, "m"))]), &[]).expect("a steady state");
    assert!((solution.pressure_pa("gate").expect("known").expect("fed") - 1.5e5).abs() < 1e-3);
    assert!(gpm(&solution, "rise") > 0.5 && gpm(&solution, "rise") < 5.6, "{}", gpm(&solution, "rise"));
    // Set below the weight of the water up there it stays shut, and nothing comes back.
    let low = of_bore(Kind::Regulator, &[("set", q(0.9, "bar"))]);
    let solution = run(&cistern(&low, &[("level", q(1.0, "m"))]), &[]).expect("a steady state");
    assert_eq!(gpm(&solution, "rise"), 0.0);
    let behind_pa = solution.pressure_pa("gate").expect("known").expect("fed");
    assert!((behind_pa - 999.1 * 9.80665 * 11.0).abs() < 1e-3, "{behind_pa}");
}

#[test]
fn a_one_way_part_that_points_out_of_the_second_source_lets_it_serve() {
    let turned = |gate: &Garden, level_m: f64| {
        let tank = line(&[
            part(Kind::OpenTank, "tank", &[("level", q(level_m, "m"))]),
            meters(Kind::Hose, "in", 5.0, 15.0),
            gate.clone(),
        ]);
        let plot = line(&[
            part(Kind::OpenTank, "low", &[("level", q(3.0, "m"))]),
            meters(Kind::Hose, "up", 20.0, 15.0),
            part(Kind::Point, "fork", &[]),
            part(Kind::Head, "spray", &[("nozzle", q(4.0, "mm"))]),
        ]);
        run(&plot.add_source("fork", &tank).expect("joins"), &[]).expect("a steady state")
    };
    for kind in [Kind::CheckValve, Kind::Backflow] {
        assert!(gpm(&turned(&of_bore(kind, &[]), 6.0), "in") > 1.0);
        assert_eq!(gpm(&turned(&of_bore(kind, &[]), 1.0), "in"), 0.0);
    }
}

#[test]
fn one_way_parts_against_each_other_let_nothing_through_between_two_sources() {
    let tank = |name: &str, level_m: f64| part(Kind::OpenTank, name, &[("level", q(level_m, "m"))]);
    let check = |name: &str| part(Kind::CheckValve, name, &[("diameter", q(15.0, "mm"))]);
    let left = line(&[tank("left", 9.0), meters(Kind::Hose, "a", 5.0, 15.0), check("one"), part(Kind::Point, "middle", &[])]);
    let right = line(&[tank("right", 2.0), meters(Kind::Hose, "b", 5.0, 15.0), check("two")]);
    let solution = run(&left.add_source("middle", &right).expect("joins"), &[]).expect("a steady state");
    for name in ["left", "a", "one", "two", "b", "right"] {
        assert_eq!(gpm(&solution, name), 0.0, "{name}");
    }
    // One alone lets the higher tank into the lower one, whichever of them the garden begins with.
    let right = line(&[tank("right", 2.0), meters(Kind::Hose, "b", 5.0, 15.0)]);
    let down = run(&left.add_source("middle", &right).expect("joins"), &[]).expect("a steady state");
    let begun_there = line(&[tank("right", 2.0), meters(Kind::Hose, "b", 5.0, 15.0), part(Kind::Point, "middle", &[])]);
    let fed = line(&[tank("left", 9.0), meters(Kind::Hose, "a", 5.0, 15.0), check("one")]);
    let up = run(&begun_there.add_source("middle", &fed).expect("joins"), &[]).expect("a steady state");
    assert!(gpm(&down, "one") > 1.0);
    for name in ["left", "a", "one", "b", "right"] {
        assert!((gpm(&down, name) - gpm(&up, name)).abs() < 1e-9, "{name}");
    }
    assert!((gpm(&down, "one") + gpm(&down, "right")).abs() < 1e-9);
}

#[test]
fn slopes_through_a_leg_into_a_second_source_are_those_of_differences() {
    let garden = cistern(&of_bore(Kind::CheckValve, &[]), &[("level", q(1.0, "m"))]);
    let open = garden.opened(&[]).expect("no zones");
    let mut network = Network::new(&garden, &open).expect("sound");
    network.solve().expect("a steady state");
    let at = |name: &str| garden.find(name).expect("known");
    let readings =
        [("rise", ProbeKind::Flow), ("tank", ProbeKind::Flow), ("in", ProbeKind::Pressure), ("tank", ProbeKind::Pressure)];
    for (read, kind) in readings {
        let probe = Probe { place: at(read), kind };
        let slopes = network.slopes(&probe).expect("slopes");
        for (name, number) in [
            ("tap", Id::StaticPressure),
            ("up", Id::Length),
            ("gate", Id::K),
            ("rise", Id::Diameter),
            ("hill", Id::Height),
            ("tank", Id::Level),
            ("in", Id::Length),
            ("spray", Id::Nozzle),
        ] {
            let value = network.parts()[at(name)].value(number);
            let mut read_at = |value: f64| {
                network.set(at(name), number, value).expect("allowed");
                network.solve().and_then(|_| network.solve()).expect("a steady state");
                network.probe(&probe)
            };
            let expected = (read_at(value * 1.0005) - read_at(value * 0.9995)) / (0.001 * value);
            read_at(value);
            let found = slopes.to(&network, at(name), number).expect("a slope");
            let floor = 1e-6 * network.probe(&probe).abs() / value;
            assert!((found - expected).abs() <= 1e-5 * expected.abs() + floor, "{read} to {name}: {found} and {expected}");
        }
    }
}

#[test]
fn a_cistern_drawn_down_fills_again_through_a_check_valve() {
    let level = [("level", q(1.0, "m")), ("volume", q(400.0, "L"))];
    let schedule = Schedule {
        by_hand: vec![HandOpening { name: "spout".into(), at_s: 600.0, lasting_s: 1200.0, every_s: None }],
        ..Schedule::default()
    };
    let spout = line(&[valve("spout"), part(Kind::Head, "out", &[("nozzle", q(14.0, "mm"))])]);
    let [gated, free] = [Kind::CheckValve, Kind::Fitting].map(|kind| {
        let garden = cistern(&of_bore(kind, &[]), &level).branch("in", &spout).expect("joins");
        let log = operate(&garden, &schedule, 7200.0).expect("runs");
        (garden.find("tap").expect("known"), log)
    });
    let drawn = |(tap, log): &(usize, hosewright::operation::Log)| {
        log.drawn_m3().iter().find(|(place, _)| place == tap).expect("a tap").1
    };
    assert!(drawn(&gated) > 0.4, "{}", drawn(&gated));
    assert!((drawn(&gated) - drawn(&free)).abs() < 1e-6 * drawn(&free), "{} and {}", drawn(&gated), drawn(&free));
}
