//! Cases side by side: the same answers as one by one, and the same bits with every kind of register.
//!
//! LANE_CASES in the environment sets how many random cases each garden gets, and how many gardens of all kinds of parts there are.

#[path = "agreement/gardens.rs"]
mod all_kinds;
mod support;

use all_kinds::Dice;
use hosewright::garden::Garden;
use hosewright::hydraulics::{Change, Given, Lanes, Network, Probe, ProbeKind, Switches, Verdict};
use hosewright::numeric::lanes::Instructions;
use hosewright::parts::{Curve, Id, Kind, Part, Placing};
use proptest::prelude::*;
use std::sync::Arc;
use support::*;

/// What varies in a garden: paths and the range of each, in a unit.
type Ranges = Vec<(&'static str, f64, f64, &'static str)>;

/// Numbers between 0 and 1 by a congruential generator, so that every run has the same.
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}

fn heads(spacing_ft: f64, count: usize, diameter_in: f64) -> Garden {
    let branch = |index: usize| line(&[hose(&format!("h{index}"), 12.0, 0.5), head(&format!("n{index}"), 0.06)]);
    (1..=count)
        .rev()
        .fold(None, |rest: Option<Garden>, index| {
            let here = line(&[hose(&format!("t{index}"), spacing_ft, diameter_in)]);
            Some(match rest {
                Some(rest) => here.then_branches(&[branch(index), rest]).expect("joins"),
                None => here.then(&branch(index)).expect("joins"),
            })
        })
        .expect("a head")
}

/// Gardens of all that lanes hold, and what varies in each.
fn gardens() -> Vec<(&'static str, Garden, Ranges)> {
    [plain_gardens(), bent_gardens(), regulated_gardens()].concat()
}

/// Gardens whose friction goes by Hazen-Williams, outlets by powers and tables, and boosters.
fn bent_gardens() -> Vec<(&'static str, Garden, Ranges)> {
    let tap = || supply("tap", 58.0, 44.0, 6.0);
    let by_c = |name: &str, length_ft: f64, diameter_in: f64, c: f64| {
        let size = [("length", q(length_ft, "ft")), ("diameter", q(diameter_in, "inch")), ("hazen_williams_c", q(c, ""))];
        part(Kind::Hose, name, &size)
    };
    let emitter = |name: &str, gph: f64, exponent: f64| {
        part(Kind::Emitter, name, &[("flow", q(gph, "gph")), ("pressure", q(15.0, "psi")), ("exponent", q(exponent, ""))])
    };
    let named = |part: Part, name: &str| Garden::of(part.named(name).expect("a name"));
    let rated = |name: &str, size: f64| {
        let points = [0.5, 1.0, 2.0, 3.0, 4.0].map(|bar: f64| (1e5 * bar, 1e-4 * size * bar.powf(0.45)));
        named(Part::new(Kind::Head).with_table(&points).expect("a table"), name)
    };
    let parabola = |name: &str| {
        let curve = Curve::by_three(48.0 * PSI, (6.0 * GPM, 36.0 * PSI), 12.0 * GPM).expect("a curve");
        named(Part::new(Kind::Booster).running_on(curve), name)
    };
    let tank = |name: &str, level_ft: f64| part(Kind::OpenTank, name, &[("level", q(level_ft, "ft"))]);
    vec![
        (
            "Hazen-Williams",
            line(&[tap(), by_c("feed", 100.0, 0.75, 140.0)])
                .then_branches(&[
                    line(&[by_c("left", 60.0, 0.5, 150.0), head("a", 0.12)]),
                    line(&[hose("right", 60.0, 0.5), by_c("on", 20.0, 0.625, 120.0), head("b", 0.1)]),
                ])
                .and_then(|garden| garden.connect("left", "right", &by_c("cross", 30.0, 0.4, 140.0)))
                .expect("joins"),
            vec![
                ("feed.hazen_williams_c", 80.0, 150.0, ""),
                ("left.length", 5.0, 300.0, "ft"),
                ("cross.diameter", 0.2, 0.8, "in"),
            ],
        ),
        (
            "emitters",
            line(&[tap(), hose("feed", 100.0, 0.5)])
                .then_branches(&[
                    emitter("a", 20.0, 0.7),
                    line(&[hose("long", 60.0, 0.25), emitter("b", 30.0, 0.3)]),
                    line(&[hose("short", 20.0, 0.25), climb("up", 6.0), emitter("c", 12.0, 0.1)]),
                    emitter("d", 60.0, 1.0),
                ])
                .expect("joins"),
            vec![("b.exponent", 0.08, 0.9, ""), ("feed.length", 10.0, 300.0, "ft"), ("c.flow", 1.0, 40.0, "gph")],
        ),
        (
            "heads by tables",
            line(&[tap(), hose("feed", 80.0, 0.625)])
                .then_branches(&[rated("a", 0.6), line(&[hose("on", 50.0, 0.5), rated("b", 0.9)])])
                .expect("joins"),
            vec![("b.wear", 0.9, 1.3, ""), ("feed.length", 5.0, 300.0, "ft"), ("tap.static_pressure", 45.0, 90.0, "psi")],
        ),
        (
            "booster by points",
            line(&[
                tank("barrel", 6.0),
                hose("suction", 6.0, 1.0),
                booster("pump", &[(0.0, 40.0), (4.0, 35.0), (8.0, 20.0), (12.0, 2.0)]),
                hose("feed", 80.0, 0.75),
            ])
            .then_branches(&[line(&[climb("hill", 8.0), head("a", 0.14)]), line(&[hose("on", 40.0, 0.5), head("b", 0.12)])])
            .expect("joins"),
            vec![("pump.speed", 0.5, 1.2, ""), ("barrel.level", 1.0, 12.0, "ft"), ("a.nozzle", 0.02, 0.2, "in")],
        ),
        (
            "booster in line",
            line(&[
                tap(),
                hose("feed", 60.0, 0.625),
                parabola("pump"),
                hose("on", 40.0, 0.5),
                climb("rise", 10.0),
                head("a", 0.15),
            ]),
            vec![("feed.length", 5.0, 200.0, "ft"), ("a.nozzle", 0.01, 0.3, "in"), ("rise.height", -10.0, 100.0, "ft")],
        ),
        (
            "booster beside a tap",
            line(&[
                tap(),
                hose("feed", 80.0, 0.5),
                part(Kind::CheckValve, "check", &[]),
                hose("on", 30.0, 0.625),
                head("a", 0.14),
            ])
            .add_source(
                "on",
                &line(&[tank("barrel", 5.0), hose("suction", 5.0, 1.0), parabola("pump"), hose("rise", 20.0, 0.625)]),
            )
            .expect("joins"),
            vec![("feed.length", 10.0, 400.0, "ft"), ("pump.speed", 0.6, 1.3, ""), ("a.nozzle", 0.04, 0.25, "in")],
        ),
    ]
}

/// Gardens with regulators.
fn regulated_gardens() -> Vec<(&'static str, Garden, Ranges)> {
    let tap = || supply("tap", 58.0, 44.0, 6.0);
    let regulator = |name: &str, psi: f64| part(Kind::Regulator, name, &[("set", q(psi, "psi"))]);
    let compensating =
        |name: &str, gph: f64| part(Kind::Emitter, name, &[("flow", q(gph, "gph")), ("regulated", q(15.0, "psi"))]);
    vec![
        (
            "one regulator",
            line(&[
                tap(),
                hose("feed", 60.0, 0.75),
                regulator("reg", 30.0),
                hose("on", 40.0, 0.5),
                climb("rise", 4.0),
                head("a", 0.12),
            ]),
            vec![("reg.set", 5.0, 60.0, "psi"), ("feed.length", 5.0, 400.0, "ft"), ("a.nozzle", 0.01, 0.25, "in")],
        ),
        (
            "regulated zones",
            line(&[tap(), hose("feed", 60.0, 0.75)])
                .then_branches(&[
                    line(&[regulator("low", 20.0), hose("drip line", 60.0, 0.5)])
                        .then_branches(&[compensating("a", 20.0), line(&[hose("end", 20.0, 0.4), compensating("b", 30.0)])])
                        .expect("joins"),
                    line(&[
                        hose("lawn line", 40.0, 0.625),
                        part(Kind::Head, "c", &[("nozzle", q(0.12, "inch")), ("regulated", q(30.0, "psi"))]),
                    ]),
                ])
                .expect("joins"),
            vec![("low.set", 8.0, 50.0, "psi"), ("feed.length", 5.0, 600.0, "ft"), ("c.regulated", 10.0, 50.0, "psi")],
        ),
        (
            "regulated ring",
            line(&[tap(), hose("feed", 40.0, 0.75), regulator("reg", 30.0), hose("on", 10.0, 0.75)])
                .then_branches(&[
                    line(&[hose("left", 80.0, 0.5), head("a", 0.11)]),
                    line(&[hose("right", 60.0, 0.625), head("b", 0.14)]),
                ])
                .and_then(|garden| garden.connect("left", "right", &hose("cross", 40.0, 0.5)))
                .and_then(|garden| {
                    let barrel =
                        [supply("barrel", 32.0, 20.0, 5.0), part(Kind::CheckValve, "check", &[]), hose("way", 20.0, 0.5)];
                    garden.add_source("cross", &line(&barrel))
                })
                .expect("joins"),
            vec![("reg.set", 15.0, 55.0, "psi"), ("barrel.static_pressure", 21.0, 60.0, "psi"), ("b.nozzle", 0.02, 0.2, "in")],
        ),
        (
            "pump before a regulator",
            line(&[
                part(Kind::OpenTank, "barrel", &[("level", q(5.0, "ft"))]),
                hose("suction", 5.0, 1.0),
                booster("pump", &[(0.0, 50.0), (5.0, 42.0), (10.0, 20.0)]),
                regulator("reg", 25.0),
                hose("feed", 60.0, 0.625),
            ])
            .then_branches(&[head("a", 0.1), line(&[climb("hill", 15.0), head("b", 0.12)])])
            .expect("joins"),
            vec![("reg.set", 5.0, 50.0, "psi"), ("pump.speed", 0.6, 1.2, ""), ("b.nozzle", 0.02, 0.2, "in")],
        ),
    ]
}

/// Ten gardens of straight lines, squares and pipes.
fn plain_gardens() -> Vec<(&'static str, Garden, Ranges)> {
    let tap = || supply("tap", 58.0, 44.0, 6.0);
    let ring = || {
        let two = line(&[tap(), hose("feed", 50.0, 0.75)])
            .then_branches(&[
                line(&[hose("left", 80.0, 0.5), head("a", 0.11)]),
                line(&[hose("right", 60.0, 0.625), head("b", 0.14)]),
            ])
            .expect("joins");
        two.connect("left", "right", &hose("cross", 40.0, 0.5)).expect("joins")
    };
    let guarded = |psi: f64| {
        let barrel =
            line(&[supply("barrel", psi, psi - 8.0, 4.0), hose("barrel hose", 30.0, 0.75), part(Kind::CheckValve, "check", &[])]);
        let main = line(&[
            tap(),
            hose("feed", 50.0, 0.75),
            part(Kind::Point, "here", &[]),
            hose("on", 30.0, 0.625),
            part(Kind::Point, "there", &[]),
            climb("rise", 3.0),
            head("a", 0.13),
        ]);
        main.add_source("here", &barrel).expect("joins")
    };
    vec![
        (
            "one line",
            line(&[tap(), hose("feed", 100.0, 0.625), head("a", 0.15)]),
            vec![("feed.length", 5.0, 400.0, "ft"), ("feed.diameter", 0.3, 1.0, "in"), ("a.nozzle", 0.01, 0.3, "in")],
        ),
        (
            "two zones",
            two_zones(),
            vec![
                ("supply.static_pressure", 45.0, 90.0, "psi"),
                ("feed.diameter", 0.4, 1.0, "in"),
                ("berry.nozzle", 0.05, 0.25, "in"),
            ],
        ),
        (
            "climbs",
            line(&[tap(), hose("feed", 60.0, 0.625)])
                .then_branches(&[
                    line(&[climb("up", 20.0), hose("high hose", 40.0, 0.5), head("high", 0.12)]),
                    line(&[climb("down", -15.0), hose("low hose", 40.0, 0.5), head("low", 0.12)]),
                    line(&[climb("hill", 30.0), climb("fall", -28.0), head("over", 0.1)]),
                ])
                .expect("joins"),
            vec![("up.height", -30.0, 140.0, "ft"), ("hill.height", 0.0, 120.0, "ft"), ("feed.length", 10.0, 200.0, "ft")],
        ),
        (
            "ring",
            ring(),
            vec![("feed.length", 10.0, 300.0, "ft"), ("cross.diameter", 0.2, 0.8, "in"), ("b.nozzle", 0.02, 0.2, "in")],
        ),
        (
            "two loops",
            {
                ring()
                    .connect("a", "feed", &line(&[hose("back", 70.0, 0.4), part(Kind::Fitting, "bend", &[("k", q(1.5, ""))])]))
                    .expect("joins")
            },
            vec![("back.length", 5.0, 300.0, "ft"), ("bend.k", 0.0, 30.0, ""), ("left.roughness", 0.0, 0.5, "mm")],
        ),
        (
            "check valve",
            guarded(40.0),
            vec![
                ("barrel.static_pressure", 33.0, 60.0, "psi"),
                ("feed.length", 10.0, 300.0, "ft"),
                ("a.nozzle", 0.03, 0.25, "in"),
            ],
        ),
        (
            "draws",
            line(&[tap(), hose("feed", 50.0, 0.75), part(Kind::Demand, "kitchen", &[("flow", q(1.0, "gpm"))])])
                .branch("feed", &line(&[hose("on", 40.0, 0.5), part(Kind::Demand, "tub", &[("flow", q(0.5, "gpm"))])]))
                .and_then(|garden| garden.branch("on", &line(&[hose("far", 40.0, 0.5), head("a", 0.1)])))
                .expect("joins"),
            vec![("kitchen.flow", 0.0, 4.0, "gpm"), ("tub.flow", 0.1, 3.0, "gpm"), ("feed.length", 10.0, 200.0, "ft")],
        ),
        (
            "relief",
            line(&[tap(), hose("feed", 50.0, 0.75)])
                .then_branches(&[
                    part(Kind::Relief, "relief", &[("set", q(45.0, "psi"))]),
                    line(&[hose("on", 60.0, 0.5), head("a", 0.1)]),
                ])
                .expect("joins"),
            vec![("relief.set", 20.0, 70.0, "psi"), ("a.nozzle", 0.01, 0.25, "in"), ("tap.static_pressure", 46.0, 90.0, "psi")],
        ),
        (
            "twelve heads",
            line(&[supply("tap", 70.0, 60.0, 20.0), heads(15.0, 12, 1.0)]),
            vec![("t1.length", 5.0, 200.0, "ft"), ("t3.diameter", 0.4, 1.2, "in"), ("n7.nozzle", 0.01, 0.2, "in")],
        ),
        (
            "sixty heads",
            line(&[supply("tap", 70.0, 60.0, 40.0), heads(10.0, 60, 1.5)]),
            vec![("t1.length", 5.0, 200.0, "ft"), ("tap.static_pressure", 61.0, 90.0, "psi"), ("t9.diameter", 0.5, 2.0, "in")],
        ),
    ]
}

fn network(garden: &Garden) -> Network {
    let zones: Vec<&str> = garden.valves().map(|place| garden.name(place)).collect();
    Network::new(garden, &garden.opened(&zones).expect("zones")).expect("a sound garden")
}

/// Pressure and flow of all sources and outlets, and of named points.
fn probes(garden: &Garden) -> Vec<Probe> {
    let worth = |place: &usize| garden.parts()[*place].spec().placing != Placing::Inline;
    let both = |place: usize| [ProbeKind::Pressure, ProbeKind::Flow].map(|kind| Probe { place, kind });
    (0..garden.parts().len()).filter(worth).flat_map(both).collect()
}

/// Some cases of a garden: the values of each in SI.
fn random_cases(ranges: &Ranges, count: usize) -> Vec<Vec<f64>> {
    let mut numbers = Numbers(7);
    let value = |low: f64, high: f64, unit: &str, share: f64| q(low + (high - low) * share, unit).si;
    (0..count).map(|_| ranges.iter().map(|&(_, low, high, unit)| value(low, high, unit, numbers.next())).collect()).collect()
}

/// Cases of a grid, the last range the fastest: along it all numbers change evenly, to its end and back to its beginning.
fn grid_cases(ranges: &Ranges, count: usize) -> Vec<Vec<f64>> {
    const FAST: usize = 150;
    let value = |low: f64, high: f64, unit: &str, share: f64| q(low + (high - low) * share, unit).si;
    let case = |case: usize| {
        let slow = (case / FAST) as f64 / (count / FAST + 1) as f64;
        let share = |axis: usize| if axis + 1 < ranges.len() { slow } else { (case % FAST) as f64 / (FAST - 1) as f64 };
        ranges.iter().enumerate().map(|(axis, &(_, low, high, unit))| value(low, high, unit, share(axis))).collect()
    };
    (0..count).map(case).collect()
}

/// That number of cases of a garden whose numbers vary in some ranges.
type Draw = fn(&Ranges, usize) -> Vec<Vec<f64>>;

fn changes(garden: &Garden, paths: &[&str]) -> Vec<Change> {
    paths
        .iter()
        .map(|path| garden.parameter_path(path).expect("a path"))
        .map(|path| Change::Parameter(path.place, path.parameter))
        .collect()
}

/// The answers of all cases side by side, case by case, and the cases that have to be solved one by one.
fn side_by_side(lanes: &mut Lanes, cases: &[Vec<f64>], readings: usize) -> (Vec<Vec<f64>>, Vec<usize>) {
    let (mut answers, mut left) = (Vec::new(), Vec::new());
    let mut room = lanes.cases();
    for (block, cases) in cases.chunks(Lanes::BLOCK).enumerate() {
        let axes: Vec<Vec<f64>> = (0..cases[0].len()).map(|axis| cases.iter().map(|values| values[axis]).collect()).collect();
        let numbers: Vec<Option<&[f64]>> = axes.iter().map(|values| Some(&values[..])).collect();
        let which = vec![(0..cases.len()).collect(); axes.len()];
        assert!(lanes.add(0..cases.len(), &Given { numbers: &numbers, which: &which }, &mut room).is_empty());
        let mut columns = vec![vec![f64::NAN; cases.len()]; readings];
        let mut slices: Vec<&mut [f64]> = columns.iter_mut().map(Vec::as_mut_slice).collect();
        left.extend(lanes.solve(&mut room, &mut slices).drain(..).map(|case| block * Lanes::BLOCK + case));
        answers.extend((0..cases.len()).map(|case| columns.iter().map(|column| column[case]).collect()));
    }
    (answers, left)
}

/// The answers of one case after another.
fn one_by_one(network: &mut Network, changes: &[Change], probes: &[Probe], values: &[f64]) -> Option<Vec<f64>> {
    for (change, si) in changes.iter().zip(values) {
        let Change::Parameter(place, id) = change else { continue };
        network.set(*place, *id, *si).expect("a value");
    }
    network.solve().ok()?;
    Some(probes.iter().map(|probe| network.probe(probe)).collect())
}

/// The largest flow in a network as it was solved last, at least a drop a minute, m3/s.
fn largest_flow(network: &Network) -> f64 {
    (0..network.parts().len()).map(|place| network.flow(place).abs()).fold(1e-9, f64::max)
}

/// The largest difference of two answers, pressures and flows each as a share of the largest in the case; `flow` is the largest of the network.
fn furthest(probes: &[Probe], found: &[f64], expected: &[f64], flow: f64) -> f64 {
    let mut worst = 0.0f64;
    // What is smaller than a hundredth of a meter of water counts as nothing.
    for (kind, least) in [(ProbeKind::Pressure, 100.0), (ProbeKind::Flow, flow)] {
        let of_kind =
            || probes.iter().zip(found.iter().zip(expected)).filter(|(probe, _)| probe.kind == kind).map(|(_, pair)| pair);
        let largest = of_kind().fold(least, |most, (_, expected)| if expected.abs() > most { expected.abs() } else { most });
        for (found, expected) in of_kind() {
            assert_eq!(found.is_nan(), expected.is_nan(), "{found} and {expected}");
            worst = worst.max((found - expected).abs() / largest);
        }
    }
    worst
}

fn count(usual: usize) -> usize {
    std::env::var("LANE_CASES").ok().and_then(|text| text.parse().ok()).unwrap_or(usual)
}

#[test]
fn random_cases_of_gardens_come_out_as_one_by_one() {
    compare_gardens(random_cases);
}

#[test]
fn grids_of_gardens_come_out_as_one_by_one() {
    compare_gardens(grid_cases);
}

fn compare_gardens(draw: Draw) {
    for (what, garden, ranges) in gardens() {
        let probes = probes(&garden);
        let changes = changes(&garden, &ranges.iter().map(|range| range.0).collect::<Vec<_>>());
        let mut network = network(&garden);
        let mut lanes = Lanes::of(&network, &changes, &probes).unwrap_or_else(|| panic!("{what}: lanes hold all of it"));
        let cases = draw(&ranges, count(if what == "sixty heads" { 64 } else { 600 }));
        let (answers, left) = side_by_side(&mut lanes, &cases, probes.len());
        let (mut worst, mut compared) = (0.0f64, 0);
        for (case, (values, found)) in cases.iter().zip(&answers).enumerate() {
            if left.binary_search(&case).is_err() {
                let expected =
                    one_by_one(&mut network, &changes, &probes, values).unwrap_or_else(|| panic!("{what}: case {case}"));
                let off = furthest(&probes, found, &expected, largest_flow(&network));
                assert!(off < 1e-11, "{what}: case {case} of {values:?} is off by {off:e}\n{found:?}\n{expected:?}");
                (worst, compared) = (worst.max(off), compared + 1);
            }
        }
        println!("{what}: {compared} of {} cases side by side, the furthest off by {worst:.1e}", cases.len());
        let few = if matches!(what, "climbs" | "draws") { 0.3 } else { 0.01 };
        assert!(left.len() as f64 <= few * cases.len() as f64, "{what}: {} of {} cases are left", left.len(), cases.len());
    }
}

/// Boosters that pressure switches, a relay and a control start, and what varies.
fn switched_gardens() -> Vec<(&'static str, Garden, Ranges)> {
    let pump = || booster("pump", &[(0.0, 30.0), (5.0, 25.0), (10.0, 8.0)]);
    let switch = |cut_in: f64, cut_out: f64| {
        part(Kind::PressureSwitch, "switch", &[("cut_in", q(cut_in, "psi")), ("cut_out", q(cut_out, "psi"))])
    };
    let zone = |name: &str, nozzle_in: f64| {
        line(&[
            valve(&format!("{name} valve")),
            hose(&format!("{name} line"), 40.0, 0.5),
            head(&format!("{name} head"), nozzle_in),
        ])
    };
    let fed = |starter: Garden| {
        line(&[supply("tap", 50.0, 30.0, 6.0), hose("feed", 60.0, 0.75), part(Kind::CheckValve, "check", &[]), pump(), starter])
            .then_branches(&[zone("a", 0.12), zone("b", 0.09), part(Kind::Relief, "relief", &[("set", q(75.0, "psi"))])])
            .expect("joins")
    };
    let control = part(Kind::PumpControl, "control", &[("cut_in", q(32.0, "psi"))]);
    vec![
        (
            "pressure switch",
            fed(switch(30.0, 50.0)),
            vec![("feed.length", 5.0, 300.0, "ft"), ("a head.nozzle", 0.02, 0.2, "in"), ("switch.cut_in", 15.0, 45.0, "psi")],
        ),
        (
            "pump control",
            fed(control),
            vec![("feed.length", 5.0, 300.0, "ft"), ("a head.nozzle", 0.01, 0.2, "in"), ("control.cut_in", 15.0, 45.0, "psi")],
        ),
        (
            "pump start relay",
            fed(part(Kind::PumpStart, "relay", &[])),
            vec![("feed.length", 5.0, 300.0, "ft"), ("a head.nozzle", 0.01, 0.2, "in"), ("pump.speed", 0.6, 1.2, "")],
        ),
    ]
}

#[test]
fn boosters_that_are_started_come_out_as_one_by_one() {
    compare_switched_gardens(random_cases);
}

#[test]
fn boosters_that_are_started_come_out_as_one_by_one_along_a_grid() {
    compare_switched_gardens(grid_cases);
}

fn compare_switched_gardens(draw: Draw) {
    for (what, garden, ranges) in switched_gardens() {
        let probes = probes(&garden);
        let changes = changes(&garden, &ranges.iter().map(|range| range.0).collect::<Vec<_>>());
        let (mut network, switches) = (network(&garden), Switches::of(&garden));
        let mut lanes = Lanes::with_switches(&network, &changes, &probes, &switches)
            .unwrap_or_else(|| panic!("{what}: lanes hold all of it"));
        let cases = draw(&ranges, count(600));
        let (answers, left) = side_by_side(&mut lanes, &cases, probes.len() + switches.len());
        let mut counts = [0; Verdict::ALL.len()];
        let mut worst = 0.0f64;
        for (case, (values, found)) in cases.iter().zip(&answers).enumerate() {
            if left.binary_search(&case).is_ok() {
                continue;
            }
            for (change, si) in changes.iter().zip(values) {
                let Change::Parameter(place, id) = change else { continue };
                network.set(*place, *id, *si).expect("a value");
            }
            let (states, _) = switches.settle(&mut network).expect("a steady state");
            let expected: Vec<f64> = probes.iter().map(|probe| network.probe(probe)).collect();
            let (found, verdicts) = found.split_at(probes.len());
            for (state, verdict) in states.iter().zip(verdicts) {
                assert_eq!(Verdict::ALL[*verdict as usize], state.verdict, "{what}: case {case} of {values:?}");
                counts[*verdict as usize] += 1;
            }
            let off = furthest(&probes, found, &expected, largest_flow(&network));
            assert!(off < 1e-11, "{what}: case {case} of {values:?} is off by {off:e}\n{found:?}\n{expected:?}");
            worst = worst.max(off);
        }
        println!("{what}: {} of {} left, verdicts {counts:?}, the furthest off by {worst:.1e}", left.len(), cases.len());
        assert!(20 * left.len() <= cases.len(), "{what}: {} of {} cases are left", left.len(), cases.len());
        let many = counts.iter().filter(|count| 20 * **count > cases.len()).count();
        let expected = if what == "pump start relay" { 1 } else { 2 };
        assert!(many >= expected, "{what}: {counts:?}");
    }
}

/// An axis of boosters whose curves have different numbers of points, the first of them the longest and the garden's own the shortest.
#[test]
fn boosters_to_choose_from_come_out_as_one_by_one() {
    let pump = |points: &[(f64, f64)]| {
        let si: Vec<(f64, f64)> = points.iter().map(|(gpm, psi)| (gpm * GPM, psi * PSI)).collect();
        Part::new(Kind::Booster).named("pump").and_then(|part| part.with_curve(&si)).expect("a booster")
    };
    let parabola = Curve::by_three(48.0 * PSI, (6.0 * GPM, 36.0 * PSI), 12.0 * GPM).expect("a curve");
    let choices: Vec<Arc<Part>> = [
        pump(&[(0.0, 60.0), (2.0, 58.0), (4.0, 50.0), (6.0, 38.0), (10.0, 5.0)]),
        pump(&[(1.0, 40.0), (8.0, 20.0)]),
        Part::new(Kind::Booster).named("pump").expect("a name").running_on(parabola),
    ]
    .map(Arc::new)
    .into();
    let garden = line(&[
        supply("tap", 40.0, 25.0, 6.0),
        hose("feed", 40.0, 0.75),
        Garden::of(pump(&[(0.0, 30.0), (8.0, 10.0)])),
        hose("on", 40.0, 0.625),
    ])
    .then_branches(&[head("a", 0.14), line(&[climb("rise", 8.0), head("b", 0.1)])])
    .expect("joins");
    let place = garden.find("pump").expect("known");
    let (feed, probes) = (garden.find("feed").expect("known"), probes(&garden));
    let changes = [Change::Part(place, choices.clone()), Change::Parameter(feed, Id::Length)];
    let mut network = network(&garden);
    let mut lanes = Lanes::of(&network, &changes, &probes).expect("lanes hold all of it");
    let cases: Vec<(usize, f64)> = (0..60).map(|case| (case % choices.len(), 5.0 + 2.0 * case as f64)).collect();
    let mut room = lanes.cases();
    let (chosen, lengths_m): (Vec<usize>, Vec<f64>) = cases.iter().copied().unzip();
    let given = Given { numbers: &[None, Some(&lengths_m)], which: &[chosen, (0..cases.len()).collect()] };
    assert!(lanes.add(0..cases.len(), &given, &mut room).is_empty());
    let mut columns = vec![vec![f64::NAN; cases.len()]; probes.len()];
    let mut slices: Vec<&mut [f64]> = columns.iter_mut().map(Vec::as_mut_slice).collect();
    assert!(lanes.solve(&mut room, &mut slices).is_empty());
    for (case, &(choice, length_m)) in cases.iter().enumerate() {
        network.replace(place, Arc::clone(&choices[choice])).expect("a booster");
        network.set(feed, Id::Length, length_m).expect("a length");
        network.solve().expect("a steady state");
        let expected: Vec<f64> = probes.iter().map(|probe| network.probe(probe)).collect();
        let found: Vec<f64> = columns.iter().map(|column| column[case]).collect();
        let off = furthest(&probes, &found, &expected, largest_flow(&network));
        assert!(off < 1e-11, "case {case} is off by {off:e}: {found:?} and {expected:?}");
    }
}

/// FNV-1a of the bits of numbers; what is not a number counts as one.
fn hash(numbers: impl Iterator<Item = f64>) -> u64 {
    let canonical = |number: f64| if number.is_nan() { 1 } else { number.to_bits() };
    let bytes = numbers.flat_map(|number| canonical(number).to_le_bytes());
    bytes.fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3))
}

/// The hash of all answers, the same on every processor; it changes only where the method does.
const HASH: u64 = 8_720_546_124_464_981_344;

#[test]
fn every_kind_of_register_gives_the_same_bits() {
    for instructions in Instructions::available() {
        let mut all = Vec::new();
        for (what, garden, ranges) in [gardens(), switched_gardens()].concat() {
            let probes = probes(&garden);
            let changes = changes(&garden, &ranges.iter().map(|range| range.0).collect::<Vec<_>>());
            let switches = Switches::of(&garden);
            let lanes = Lanes::with_switches(&network(&garden), &changes, &probes, &switches);
            let mut lanes = lanes.unwrap_or_else(|| panic!("{what}: lanes hold all of it")).with(instructions);
            // Blocks that are not full, too.
            let random = random_cases(&ranges, if what == "sixty heads" { 37 } else { 555 });
            let cases = [random, grid_cases(&ranges, if what == "sixty heads" { 37 } else { 300 })].concat();
            let (answers, left) = side_by_side(&mut lanes, &cases, probes.len() + switches.len());
            all.extend(left.iter().map(|&case| case as f64));
            all.extend(
                answers
                    .into_iter()
                    .enumerate()
                    .filter(|(case, _)| left.binary_search(case).is_err())
                    .flat_map(|(_, answer)| answer),
            );
        }
        assert_eq!(hash(all.into_iter()), HASH, "{instructions:?}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(if cfg!(debug_assertions) { 60 } else { 2000 }))]

    #[test]
    fn random_networks_come_out_as_one_by_one(growths in growths(20), joins in joins(), looped in prop::bool::ANY) {
        let garden = if looped {
            let flat: Vec<_> = growths.into_iter().filter(|(_, growth)| !matches!(growth, Growth::Climb { .. })).collect();
            with_loops(tree(&flat), &joins)
        } else {
            tree(&growths)
        };
        let probes = probes(&garden);
        let paths = ["tap.static_pressure", "feed.length", "feed.diameter"];
        let ranges: Ranges = vec![(paths[0], 45.0, 90.0, "psi"), (paths[1], 5.0, 300.0, "ft"), (paths[2], 0.3, 1.2, "in")];
        let changes = changes(&garden, &paths);
        let mut network = network(&garden);
        let Some(mut lanes) = Lanes::of(&network, &changes, &probes) else { return Err(TestCaseError::reject("not for lanes")) };
        let cases = random_cases(&ranges, 40);
        let (answers, left) = side_by_side(&mut lanes, &cases, probes.len());
        for (case, (values, found)) in cases.iter().zip(&answers).enumerate() {
            if left.binary_search(&case).is_err() {
                let expected = one_by_one(&mut network, &changes, &probes, values);
                prop_assert!(expected.is_some(), "case {case} has an answer here only");
                let off = furthest(&probes, found, &expected.expect("an answer"), largest_flow(&network));
                prop_assert!(off < 1e-11, "case {case} of {values:?} is off by {off:e}: {found:?} {:?}", Drawn(garden.clone()));
            }
        }
    }
}

/// What may vary in a garden of all kinds of parts: some numbers of parts, each by a share of what it is.
fn varied(garden: &Garden, dice: &mut Dice) -> Vec<(usize, Id, f64)> {
    let ids =
        [Id::StaticPressure, Id::Level, Id::Length, Id::Diameter, Id::Set, Id::Speed, Id::Nozzle, Id::Flow, Id::Exponent, Id::K];
    let all: Vec<(usize, Id, f64)> = (0..garden.parts().len())
        .flat_map(|place| ids.map(|id| (place, id)))
        .filter_map(|(place, id)| Some((place, id, garden.parts()[place].si(id)?)))
        .collect();
    (0..3.min(all.len())).map(|_| all[dice.below(all.len())]).collect()
}

/// Every kind of part anywhere, either way round: what lanes refuse is left out, and what they do not vouch for.
#[test]
fn gardens_of_all_kinds_of_parts_come_out_as_one_by_one() {
    let gardens = count(if cfg!(debug_assertions) { 300 } else { 3000 }) as u64;
    let (mut held, mut compared, mut left_over, mut worst) = (0u64, 0u64, 0u64, 0.0f64);
    for seed in 0..gardens {
        let garden = all_kinds::garden(seed);
        let mut dice = Dice::new(seed ^ 0xA5);
        let varied = varied(&garden, &mut dice);
        let probes = probes(&garden);
        let changes: Vec<Change> = varied.iter().map(|&(place, id, _)| Change::Parameter(place, id)).collect();
        let Ok(mut network) = Network::new(&garden, &vec![true; garden.parts().len()]) else { continue };
        let Some(mut lanes) = Lanes::of(&network, &changes, &probes) else { continue };
        held += 1;
        let mut values = |si: f64, id: Id| {
            let share = dice.between(0.6, 1.5);
            if id == Id::Exponent { (si * share).min(1.0) } else { si * share }
        };
        let mut cases: Vec<Vec<f64>> = (0..40).map(|_| varied.iter().map(|&(_, id, si)| values(si, id)).collect()).collect();
        // A part may refuse a value, as a measured pressure above the static one.
        let mut tried = network.clone();
        cases.retain(|values| varied.iter().zip(values).all(|(&(place, id, _), &si)| tried.set(place, id, si).is_ok()));
        let (answers, left) = side_by_side(&mut lanes, &cases, probes.len());
        left_over += left.len() as u64;
        for (case, (values, found)) in cases.iter().zip(&answers).enumerate() {
            if left.binary_search(&case).is_err() {
                let expected = one_by_one(&mut network, &changes, &probes, values);
                let expected = expected.unwrap_or_else(|| panic!("garden {seed}: case {case} has an answer here only"));
                let off = furthest(&probes, found, &expected, largest_flow(&network));
                assert!(
                    off < 1e-11,
                    "garden {seed}: case {case} of {varied:?}, {values:?} is off by {off:e}\n{found:?}\n{expected:?}{:?}",
                    Drawn(garden.clone())
                );
                (worst, compared) = (worst.max(off), compared + 1);
            }
        }
    }
    println!("{held} of {gardens} gardens: {compared} cases side by side, {left_over} left, the furthest off by {worst:.1e}");
    assert!(4 * held > gardens && compared > 2 * left_over, "{held} of {gardens} gardens, {compared} and {left_over} cases");
}
