//! Cases side by side against one after another, in one run: nanoseconds a case on one thread, numbers of the laws and readings included.
//! Run with `cargo bench --no-default-features --bench lanes`; answers are compared on the way.

mod support;

use hosewright::garden::Garden;
use hosewright::hydraulics::{Change, Given, Lanes, Network, Probe, ProbeKind};
use hosewright::numeric::lanes::Instructions;
use hosewright::parts::{Kind, Placing};
use hosewright::quantity::Quantity;
use std::collections::HashMap;
use std::time::Instant;
use support::*;

/// Runs of each, alternating; the fastest counts.
const RUNS: usize = 7;

/// A path of a garden, and the range that it runs through.
type Range = (&'static str, f64, f64, &'static str);

/// A garden with its axes, the slowest first, and how many values of each make its grid.
struct Study {
    what: &'static str,
    garden: Garden,
    ranges: Vec<Range>,
    steps: Vec<usize>,
}

/// Two loops, and a second source behind a check valve that shuts in some cases.
fn loops(with_check: bool) -> Garden {
    let mut plan = Plan::fed(58.0, 44.0, 6.0);
    plan.hose("feed", 60.0, 0.75, 0, 1);
    plan.hose("left", 50.0, 0.5, 1, 2);
    plan.hose("right", 70.0, 0.625, 1, 3);
    plan.hose("cross", 30.0, 0.5, 2, 3);
    plan.hose("far", 40.0, 0.5, 3, 4);
    plan.hose("back", 40.0, 0.5, 4, 2);
    plan.head("a", 0.11, 2);
    plan.head("b", 0.14, 3);
    plan.head("c", 0.09, 4);
    if with_check {
        let barrel =
            [("static_pressure", q(48.0, "psi")), ("measured_pressure", q(30.0, "psi")), ("measured_flow", q(4.0, "gpm"))];
        plan.add(build(Kind::Supply, "barrel", &barrel), 5, 5);
        plan.add(build(Kind::CheckValve, "check", &[("diameter", q(0.75, "in"))]), 5, 3);
    }
    plan.garden()
}

/// A tap with hoses by Hazen-Williams, a regulated line of emitters, and a head beyond a booster.
fn mixed() -> Garden {
    let mut plan = Plan::fed(58.0, 44.0, 8.0);
    let number = |value: f64| Quantity::number(value);
    let by_c = |length_ft: f64, diameter_in: f64| {
        [("length", q(length_ft, "ft")), ("diameter", q(diameter_in, "in")), ("hazen_williams_c", number(140.0))]
    };
    plan.add(build(Kind::Hose, "feed", &by_c(60.0, 0.75)), 0, 1);
    plan.add(build(Kind::Regulator, "reg", &[("set", q(25.0, "psi")), ("diameter", q(0.75, "in"))]), 1, 2);
    plan.add(build(Kind::Hose, "drip line", &by_c(50.0, 0.5)), 2, 3);
    plan.hose("end", 30.0, 0.4, 3, 4);
    for (name, gph, exponent, node) in [("a", 20.0, 0.7, 3), ("b", 40.0, 0.6, 4)] {
        let rated = [("flow", q(gph, "gph")), ("pressure", q(15.0, "psi")), ("exponent", number(exponent))];
        plan.add(build(Kind::Emitter, name, &rated), node, node);
    }
    plan.add(pump("pump", &[(0.0, 30.0), (5.0, 25.0), (10.0, 5.0)]), 1, 5);
    plan.hose("lawn line", 40.0, 0.625, 5, 6);
    plan.head("c", 0.13, 6);
    plan.garden()
}

fn studies() -> Vec<Study> {
    let lengths = || ("feed.length", 25.0, 300.0, "ft");
    vec![
        Study {
            what: "three heads",
            garden: three_heads(),
            ranges: vec![lengths(), ("feed.diameter", 0.5, 1.0, "in")],
            steps: vec![40, 250],
        },
        Study {
            what: "three heads, random",
            garden: three_heads(),
            ranges: vec![lengths(), ("feed.diameter", 0.5, 1.0, "in"), ("tap.static_pressure", 50.0, 70.0, "psi")],
            steps: Vec::new(),
        },
        Study {
            what: "sixty heads",
            garden: trunk(60),
            ranges: vec![("t0.length", 5.0, 60.0, "ft"), ("t0.diameter", 1.0, 2.0, "in")],
            steps: vec![8, 125],
        },
        Study {
            what: "sixty heads, random",
            garden: trunk(60),
            ranges: vec![
                ("t0.length", 5.0, 60.0, "ft"),
                ("t0.diameter", 1.0, 2.0, "in"),
                ("tap.static_pressure", 62.0, 80.0, "psi"),
            ],
            steps: Vec::new(),
        },
        Study {
            what: "two loops, random",
            garden: loops(false),
            ranges: vec![lengths(), ("cross.diameter", 0.2, 0.8, "in")],
            steps: Vec::new(),
        },
        Study {
            what: "check valve, random",
            garden: loops(true),
            ranges: vec![("feed.length", 10.0, 200.0, "ft"), ("barrel.static_pressure", 35.0, 60.0, "psi")],
            steps: Vec::new(),
        },
        Study {
            what: "mixed, grid",
            garden: mixed(),
            ranges: vec![lengths(), ("reg.set", 15.0, 45.0, "psi")],
            steps: vec![40, 250],
        },
        Study {
            what: "mixed, random",
            garden: mixed(),
            ranges: vec![lengths(), ("reg.set", 15.0, 45.0, "psi"), ("tap.static_pressure", 50.0, 70.0, "psi")],
            steps: Vec::new(),
        },
    ]
}

impl Study {
    /// The values of all cases, SI.
    fn cases(&self) -> Vec<Vec<f64>> {
        let at = |&(_, low, high, unit): &Range, share: f64| q(low + (high - low) * share, unit).si;
        if let [slow, fast] = self.steps[..] {
            let share = |index: usize, count: usize| index as f64 / (count - 1) as f64;
            let case =
                |case: usize| vec![at(&self.ranges[0], share(case / fast, slow)), at(&self.ranges[1], share(case % fast, fast))];
            return (0..slow * fast).map(case).collect();
        }
        let mut state = 1u64;
        let mut next = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 11) as f64 / (1u64 << 53) as f64
        };
        let count = if self.garden.parts().len() > 50 { 1_000 } else { 10_000 };
        (0..count).map(|_| self.ranges.iter().map(|range| at(range, next())).collect()).collect()
    }

    fn changes(&self) -> Vec<Change> {
        let path = |range: &Range| self.garden.parameter_path(range.0).expect("a path");
        self.ranges.iter().map(path).map(|path| Change::Parameter(path.place, path.parameter)).collect()
    }

    fn probes(&self) -> Vec<Probe> {
        let worth = |place: &usize| matches!(self.garden.parts()[*place].spec().placing, Placing::Source | Placing::Outlet);
        let both = |place: usize| [ProbeKind::Pressure, ProbeKind::Flow].map(|kind| Probe { place, kind });
        (0..self.garden.parts().len()).filter(worth).flat_map(both).collect()
    }
}

/// Values of the axes, axis by axis, in all cases: the numbers, and which of the values of their axes these are.
struct Values {
    numbers: Vec<Vec<f64>>,
    which: Vec<Vec<usize>>,
}

impl Values {
    /// A value that comes again is the same value of its axis.
    fn of(cases: &[Vec<f64>]) -> Values {
        let numbers: Vec<Vec<f64>> = (0..cases[0].len()).map(|axis| cases.iter().map(|case| case[axis]).collect()).collect();
        let which = |numbers: &Vec<f64>| {
            let mut of_bits = HashMap::new();
            let places = numbers.iter().enumerate().map(|(case, number)| *of_bits.entry(number.to_bits()).or_insert(case));
            places.collect()
        };
        Values { which: numbers.iter().map(which).collect(), numbers }
    }
}

/// Seconds of all cases side by side, their answers, and how many were left.
fn side_by_side(lanes: &mut Lanes, values: &Values, columns: &mut [Vec<f64>]) -> (f64, usize) {
    let start = Instant::now();
    let (mut room, mut left) = (lanes.cases(), 0);
    let count = columns[0].len();
    let mut which = vec![Vec::new(); values.which.len()];
    for first in (0..count).step_by(Lanes::BLOCK) {
        let block = first..(first + Lanes::BLOCK).min(count);
        let numbers: Vec<Option<&[f64]>> = values.numbers.iter().map(|axis| Some(&axis[block.clone()])).collect();
        for (which, all) in which.iter_mut().zip(&values.which) {
            which.clear();
            which.extend_from_slice(&all[block.clone()]);
        }
        assert!(lanes.add(0..block.len(), &Given { numbers: &numbers, which: &which }, &mut room).is_empty());
        let mut out: Vec<&mut [f64]> = columns.iter_mut().map(|column| &mut column[block.clone()]).collect();
        left += lanes.solve(&mut room, &mut out).drain(..).count();
    }
    (start.elapsed().as_secs_f64(), left)
}

/// Seconds of all cases one after another.
fn one_by_one(network: &mut Network, changes: &[Change], probes: &[Probe], cases: &[Vec<f64>], columns: &mut [Vec<f64>]) -> f64 {
    let start = Instant::now();
    for (case, values) in cases.iter().enumerate() {
        for (change, &si) in changes.iter().zip(values) {
            if let Change::Parameter(place, id) = change {
                network.set(*place, *id, si).expect("a value");
            }
        }
        network.solve().expect("a steady state");
        for (probe, column) in probes.iter().zip(columns.iter_mut()) {
            column[case] = network.probe(probe);
        }
    }
    start.elapsed().as_secs_f64()
}

fn main() {
    let kinds = Instructions::available();
    print!("{:24}{:>12}", "ns a case", "one by one");
    kinds.iter().for_each(|kind| print!("{:>12}", format!("{kind:?}")));
    println!("{:>10}{:>8}", "ratio", "left");
    for study in studies() {
        let (cases, changes, probes) = (study.cases(), study.changes(), study.probes());
        let values = Values::of(&cases);
        let mut network = Network::new(&study.garden, &vec![true; study.garden.parts().len()]).expect("a sound garden");
        let lanes = Lanes::of(&network, &changes, &probes).expect("lanes hold all of it");
        let mut all: Vec<Lanes> = kinds.iter().map(|&kind| lanes.clone().with(kind)).collect();
        let mut expected = vec![vec![f64::NAN; cases.len()]; probes.len()];
        let mut found = expected.clone();
        let (mut plain, mut fastest, mut left) = (f64::MAX, vec![f64::MAX; all.len()], 0);
        for _ in 0..RUNS {
            plain = plain.min(one_by_one(&mut network, &changes, &probes, &cases, &mut expected));
            for (lanes, fastest) in all.iter_mut().zip(&mut fastest) {
                let (seconds, these) = side_by_side(lanes, &values, &mut found);
                *fastest = fastest.min(seconds);
                left = these;
            }
        }
        for (probe, (found, expected)) in probes.iter().zip(found.iter().zip(&expected)) {
            let scale = if probe.kind == ProbeKind::Flow { 1e-4 } else { 1e5 };
            let off = found.iter().zip(expected).map(|(found, expected)| (found - expected).abs() / scale).fold(0.0, f64::max);
            assert!(off < 1e-9 || left > 0, "{}: off by {off:e}", study.what);
        }
        let ns = |seconds: f64| 1e9 * seconds / cases.len() as f64;
        print!("{:24}{:12.0}", study.what, ns(plain));
        fastest.iter().for_each(|&seconds| print!("{:12.0}", ns(seconds)));
        println!("{:10.1}{:8}", plain / fastest.iter().copied().fold(f64::MAX, f64::min), left);
    }
}
