//! Cases side by side: the same answers as one by one, and the same bits with every kind of register.
//!
//! LANE_CASES in the environment sets how many random cases each garden gets.

mod support;

use hosewright::garden::Garden;
use hosewright::hydraulics::{Change, Lanes, Network, Probe, ProbeKind};
use hosewright::numeric::lanes::Instructions;
use hosewright::parts::{Kind, Placing};
use proptest::prelude::*;
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

/// Ten gardens of all that lanes hold, and what varies in each.
fn gardens() -> Vec<(&'static str, Garden, Ranges)> {
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
        for (case, values) in cases.iter().enumerate() {
            values.iter().enumerate().for_each(|(axis, &si)| lanes.take(axis, si, 0).expect("a value"));
            lanes.add(case, &mut room);
        }
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

/// The largest difference of two answers, pressures and flows each as a share of the largest in the case.
fn furthest(probes: &[Probe], found: &[f64], expected: &[f64]) -> f64 {
    let mut worst = 0.0f64;
    // What is smaller than a hundredth of a meter of water, or a drop a minute, counts as nothing.
    for (kind, least) in [(ProbeKind::Pressure, 100.0), (ProbeKind::Flow, 1e-9)] {
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
fn random_cases_of_ten_gardens_come_out_as_one_by_one() {
    for (what, garden, ranges) in gardens() {
        let probes = probes(&garden);
        let changes = changes(&garden, &ranges.iter().map(|range| range.0).collect::<Vec<_>>());
        let mut network = network(&garden);
        let mut lanes = Lanes::of(&network, &changes, &probes).unwrap_or_else(|| panic!("{what}: lanes hold all of it"));
        let cases = random_cases(&ranges, count(if what == "sixty heads" { 64 } else { 600 }));
        let (answers, left) = side_by_side(&mut lanes, &cases, probes.len());
        let (mut worst, mut compared) = (0.0f64, 0);
        for (case, (values, found)) in cases.iter().zip(&answers).enumerate() {
            if left.binary_search(&case).is_err() {
                let expected =
                    one_by_one(&mut network, &changes, &probes, values).unwrap_or_else(|| panic!("{what}: case {case}"));
                let off = furthest(&probes, found, &expected);
                assert!(off < 1e-11, "{what}: case {case} of {values:?} is off by {off:e}\n{found:?}\n{expected:?}");
                (worst, compared) = (worst.max(off), compared + 1);
            }
        }
        println!("{what}: {compared} of {} cases side by side, the furthest off by {worst:.1e}", cases.len());
        let few = if matches!(what, "climbs" | "draws") { 0.3 } else { 0.01 };
        assert!(left.len() as f64 <= few * cases.len() as f64, "{what}: {} of {} cases are left", left.len(), cases.len());
    }
}

/// FNV-1a of the bits of numbers; what is not a number counts as one.
fn hash(numbers: impl Iterator<Item = f64>) -> u64 {
    let canonical = |number: f64| if number.is_nan() { 1 } else { number.to_bits() };
    let bytes = numbers.flat_map(|number| canonical(number).to_le_bytes());
    bytes.fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3))
}

/// The hash of all answers, the same on every processor; it changes only where the method does.
const HASH: u64 = 14_132_453_953_543_440_214;

#[test]
fn every_kind_of_register_gives_the_same_bits() {
    for instructions in Instructions::available() {
        let mut all = Vec::new();
        for (what, garden, ranges) in gardens() {
            let probes = probes(&garden);
            let changes = changes(&garden, &ranges.iter().map(|range| range.0).collect::<Vec<_>>());
            let lanes = Lanes::of(&network(&garden), &changes, &probes);
            let mut lanes = lanes.unwrap_or_else(|| panic!("{what}: lanes hold all of it")).with(instructions);
            // Blocks that are not full, too.
            let cases = random_cases(&ranges, if what == "sixty heads" { 37 } else { 555 });
            let (answers, left) = side_by_side(&mut lanes, &cases, probes.len());
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

/// Growths that lanes hold.
fn plain(growths: Vec<(usize, Growth)>) -> Vec<(usize, Growth)> {
    let held = |growth: &Growth| !matches!(growth, Growth::Regulator { .. } | Growth::Booster { .. } | Growth::Emitter { .. });
    growths.into_iter().filter(|(_, growth)| held(growth)).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(if cfg!(debug_assertions) { 60 } else { 2000 }))]

    #[test]
    fn random_networks_come_out_as_one_by_one(growths in growths(20), joins in joins(), looped in prop::bool::ANY) {
        let growths = plain(growths);
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
                let off = furthest(&probes, found, &expected.expect("an answer"));
                prop_assert!(off < 1e-10, "case {case} of {values:?} is off by {off:e}: {found:?} {:?}", Drawn(garden.clone()));
            }
        }
    }
}
