//! How findings, windows of pressure switches and pressure profiles grow with the garden; every bench checks its answer. Run with
//! `cargo bench --no-default-features --bench large`. Beside the times stands how the fastest grows with the number n of branches: from 1,000 to
//! 16,000 as n^1.15 at most.

mod support;

use divan::Bencher;
use divan::counter::ItemsCount;
use hosewright::findings::{Finding, of_run, of_zones};
use hosewright::garden::Garden;
use hosewright::hydraulics::run;
use hosewright::parts::Kind;
use hosewright::quantity::UnitSystem;
use hosewright::settings::{Ask, Window, switch_window};
use support::*;

const SIZES: [usize; 3] = [1000, 4000, 16_000];
const US: UnitSystem = UnitSystem::AsWritten;

fn main() {
    divan::main();
}

/// A tap, a pump with its switch, and a feed hose; gives the node behind it.
fn station(gpm: f64, feed_in: f64) -> (Plan, usize) {
    let mut plan = Plan::fed(50.0, 40.0, gpm);
    plan.add(build(Kind::CheckValve, "check", &[("diameter", q(feed_in, "in"))]), 0, 1);
    plan.add(pump("pump", &[(0.0, 60.0), (gpm, 40.0), (2.0 * gpm, 10.0)]), 1, 2);
    plan.add(build(Kind::PressureSwitch, "switch", &[("cut_in", q(55.0, "psi")), ("cut_out", q(100.0, "psi"))]), 2, 2);
    plan.hose("feed", 30.0, feed_in, 2, 3);
    (plan, 3)
}

/// A head that stalls at all pressures that the station gives.
fn needy_head(plan: &mut Plan, index: usize, nozzle_in: f64, node: usize) {
    let numbers = [("nozzle", q(nozzle_in, "in")), ("range_low", q(150.0, "psi"))];
    plan.add(build(Kind::Head, &format!("head {index}"), &numbers), node, node);
}

/// One fork with a hose and a head on each of its branches.
fn fork(branches: usize) -> Garden {
    let gpm = 0.1 * branches as f64;
    let (mut plan, fork) = station(gpm, 0.3 * (branches as f64).sqrt());
    for index in 0..branches {
        let end = fork + 1 + index;
        plan.hose(&format!("line {index}"), 20.0, 0.5, fork, end);
        needy_head(&mut plan, index, 0.02, end);
    }
    plan.garden()
}

/// One fork with a valve, a hose and a head on each of its branches.
fn zones(branches: usize) -> Garden {
    let (mut plan, fork) = station(8.0, 0.75);
    for index in 0..branches {
        let end = fork + 1 + 2 * index;
        plan.add(build(Kind::Valve, &format!("zone {index}"), &[]), fork, end);
        plan.hose(&format!("line {index}"), 20.0, 0.5, end, end + 1);
        needy_head(&mut plan, index, 0.17, end + 1);
    }
    plan.garden()
}

/// A trunk that forks to a head behind each of its hoses, in pipes as wide as they come.
fn chain(forks: usize) -> Garden {
    let (mut plan, start) = station(0.1 * forks as f64, 39.0);
    for index in 0..forks {
        let (node, end) = (start + index, start + forks + 1 + index);
        plan.hose(&format!("trunk {index}"), 1.0, 39.0, node, node + 1);
        plan.hose(&format!("line {index}"), 20.0, 0.5, node + 1, end);
        needy_head(&mut plan, index, 0.02, end);
    }
    plan.garden()
}

fn count(findings: &[Finding], code: &str) -> usize {
    findings.iter().filter(|finding| finding.code() == code).count()
}

fn findings_of_running(bencher: Bencher, growth: &mut Growth, garden: &Garden, branches: usize) {
    println!("  {} iterations with the pump", run(garden, &[]).expect("a steady state").convergence.iterations);
    bencher.counter(ItemsCount::new(branches)).bench_local(|| {
        let findings = growth.time(|| of_run(&run(garden, &[]).expect("a steady state")));
        assert_eq!(count(&findings, "below-range"), branches, "{} findings", findings.len());
    });
}

#[divan::bench(args = SIZES, sample_count = 9)]
fn findings_of_a_fork(bencher: Bencher, branches: usize) {
    findings_of_running(bencher, &mut Growth::of("findings of a fork", branches), &fork(branches), branches);
}

#[divan::bench(args = SIZES, sample_count = 9)]
fn findings_of_a_chain_of_forks(bencher: Bencher, forks: usize) {
    findings_of_running(bencher, &mut Growth::of("findings of a chain", forks), &chain(forks), forks);
}

/// The garden is made anew each time: what it has worked out before helps no second look.
#[divan::bench(args = SIZES, sample_count = 9)]
fn findings_of_zones(bencher: Bencher, branches: usize) {
    let mut growth = Growth::of("findings of zones", branches);
    bencher.counter(ItemsCount::new(branches)).with_inputs(|| zones(branches)).bench_local_values(|garden| {
        let findings = growth.time(|| of_zones(&garden));
        assert_eq!(count(&findings, "below-range"), branches, "{} findings", findings.len());
    });
}

fn window_of(garden: &Garden) -> Window {
    let ask = Ask { lowest_static_pa: Some(45.0 * PSI), highest_static_pa: Some(60.0 * PSI), ..Ask::default() };
    switch_window(garden, &ask).expect("a window")
}

#[divan::bench(args = SIZES, sample_count = 9)]
fn switch_window_of_zones(bencher: Bencher, branches: usize) {
    let mut growth = Growth::of("window of zones", branches);
    bencher.counter(ItemsCount::new(branches)).with_inputs(|| zones(branches)).bench_local_values(|garden| {
        let window = growth.time(|| window_of(&garden));
        assert_eq!(window.cases.len(), branches);
        let (first, last) = (&window.cases[0], &window.cases[branches - 1]);
        assert!((first.on_pa - last.on_pa).abs() < 1e-6 * first.on_pa, "alike branches: {first:?} and {last:?}");
        let said = window.findings();
        assert!(!said.is_empty() && !window.card(US).is_empty());
    });
}

#[divan::bench(args = SIZES, sample_count = 9)]
fn switch_window_of_a_fork(bencher: Bencher, branches: usize) {
    let garden = fork(branches);
    let mut growth = Growth::of("window of a fork", branches);
    bencher.counter(ItemsCount::new(branches)).bench_local(|| {
        let window = growth.time(|| window_of(&garden));
        assert_eq!(window.cases.len(), 1);
        assert!(window.cases[0].on_pa > window.cases[0].off_pa, "{:?}", window.cases[0]);
    });
}

fn profile_to(bencher: Bencher, growth: &mut Growth, (garden, zones): (&Garden, &[&str]), goal: &str, points: usize) {
    let solution = run(garden, zones).expect("a steady state");
    bencher.bench_local(|| {
        let profile = growth.time(|| solution.pressure_profile(goal).expect("known"));
        assert_eq!(profile.len(), points);
        let last = profile.last().expect("a point");
        assert_eq!(Some(last.pressure_pa), solution.pressure_pa(goal).expect("known"));
    });
}

#[divan::bench(args = SIZES, sample_count = 20)]
fn profile_in_a_fork(bencher: Bencher, branches: usize) {
    let mut growth = Growth::of("profile in a fork", branches);
    profile_to(bencher, &mut growth, (&fork(branches), &[]), &format!("head {}", branches - 1), 6);
}

#[divan::bench(args = SIZES, sample_count = 20)]
fn profile_in_zones(bencher: Bencher, branches: usize) {
    let mut growth = Growth::of("profile in zones", branches);
    profile_to(bencher, &mut growth, (&zones(branches), &["zone 7"]), "head 7", 7);
}

#[divan::bench(args = SIZES, sample_count = 20)]
fn profile_along_a_chain(bencher: Bencher, forks: usize) {
    let mut growth = Growth::of("profile along a chain", forks);
    profile_to(bencher, &mut growth, (&chain(forks), &[]), &format!("head {}", forks - 1), forks + 6);
}
