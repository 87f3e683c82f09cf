//! A sweep allocates nothing once its network is made: counted by an allocator of this test's own.

#[path = "support/mod.rs"]
mod support;

use hosewright::garden::Garden;
use hosewright::hydraulics::{Change, Given, Lanes, Network, Probe, ProbeKind};
use hosewright::parts::{Id, Kind};
use std::alloc::{GlobalAlloc, Layout, System};
use std::cell::Cell;
use support::*;

/// The system's allocator, counting the calls of each thread.
struct Counting;

thread_local! {
    static CALLS: Cell<usize> = const { Cell::new(0) };
}

fn count() {
    // A thread that is ending has no counter any more, and nothing to count.
    let _ = CALLS.try_with(|calls| calls.set(calls.get() + 1));
}

unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        count();
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, pointer: *mut u8, layout: Layout) {
        unsafe { System.dealloc(pointer, layout) }
    }

    unsafe fn realloc(&self, pointer: *mut u8, layout: Layout, size: usize) -> *mut u8 {
        count();
        unsafe { System.realloc(pointer, layout, size) }
    }
}

#[global_allocator]
static ALLOCATOR: Counting = Counting;

/// Allocations of a sweep over the length of the feed hose, after one case that may still set up.
fn allocations_of_a_sweep(garden: &Garden, zones: &[&str]) -> usize {
    let mut network = Network::new(garden, &garden.opened(zones).expect("zones")).expect("sound");
    let feed = garden.find("feed").expect("known");
    let heads: Vec<usize> = garden.of_kind(Kind::Head).collect();
    let case = |network: &mut Network, length_m: f64| {
        network.set(feed, Id::Length, length_m).expect("a length");
        network.solve().expect("a steady state");
        for &place in &heads {
            assert!(network.probe(&Probe { place, kind: ProbeKind::Pressure }).is_finite());
            assert!(network.probe(&Probe { place, kind: ProbeKind::Flow }) >= 0.0);
        }
    };
    case(&mut network, 30.0);
    let before = CALLS.get();
    for step in 0..1000 {
        case(&mut network, 10.0 + 0.1 * f64::from(step));
    }
    network.start_afresh();
    network.solve().expect("a steady state");
    CALLS.get() - before
}

#[test]
fn a_sweep_allocates_nothing() {
    assert_eq!(allocations_of_a_sweep(&two_zones(), &["beds", "berries"]), 0);
    let ring = two_zones().connect("bed line", "berry line", &hose("cross", 20.0, 0.5)).expect("joins");
    assert_eq!(allocations_of_a_sweep(&ring, &["beds"]), 0);
    let regulated = line(&[
        supply("tap", 58.0, 44.0, 6.0),
        hose("feed", 50.0, 0.75),
        part(Kind::Regulator, "reg", &[("set", q(30.0, "psi"))]),
        part(Kind::CheckValve, "check", &[]),
    ])
    .then_branches(&[head("a", 0.1), line(&[climb("hill", 80.0), head("dry", 0.12)])])
    .expect("joins");
    assert_eq!(allocations_of_a_sweep(&regulated, &[]), 0);
}

#[test]
fn cases_side_by_side_allocate_no_more_than_one_of_them() {
    let garden = two_zones();
    cases_allocate_no_more_than_one(&garden, &["beds", "berries"], "feed");
    let by_c = [("length", q(60.0, "ft")), ("diameter", q(0.5, "inch")), ("hazen_williams_c", q(140.0, ""))];
    let emitter = [("flow", q(20.0, "gph")), ("pressure", q(15.0, "psi")), ("exponent", q(0.3, ""))];
    let garden = line(&[
        supply("tap", 58.0, 44.0, 6.0),
        hose("feed", 50.0, 0.75),
        booster("pump", &[(0.0, 30.0), (5.0, 25.0), (10.0, 5.0)]),
        part(Kind::Regulator, "reg", &[("set", q(40.0, "psi"))]),
    ])
    .then_branches(&[head("a", 0.1), line(&[part(Kind::Hose, "old", &by_c), part(Kind::Emitter, "b", &emitter)])])
    .expect("joins");
    cases_allocate_no_more_than_one(&garden, &[], "feed");
    cases_allocate_no_more_than_one(&garden, &[], "old");
}

/// Varies length and diameter of a hose.
fn cases_allocate_no_more_than_one(garden: &Garden, zones: &[&str], hose: &str) {
    let network = Network::new(garden, &garden.opened(zones).expect("zones")).expect("sound");
    let changes = [Id::Length, Id::Diameter].map(|id| Change::Parameter(garden.find(hose).expect("known"), id));
    let probes: Vec<Probe> = garden.of_kind(Kind::Head).map(|place| Probe { place, kind: ProbeKind::Pressure }).collect();
    let mut lanes = Lanes::of(&network, &changes, &probes).expect("lanes hold all of it");
    let mut room = lanes.cases();
    let mut answers = [[0.0; Lanes::BLOCK]; 2];
    let [lengths_m, diameters_m] = [(10.0, 0.1), (0.012, 1e-5)]
        .map(|(first, step)| (0..Lanes::BLOCK).map(|case| first + step * case as f64).collect::<Vec<f64>>());
    let which = [0, 1].map(|_| (0..Lanes::BLOCK).collect::<Vec<usize>>());
    let mut block = |cases: usize| {
        let [first, second] = &mut answers;
        let before = CALLS.get();
        let given = Given { numbers: &[Some(&lengths_m), Some(&diameters_m)], which: &which };
        assert!(lanes.add(0..cases, &given, &mut room).is_empty());
        assert!(lanes.solve(&mut room, &mut [first, second]).drain(..).next().is_none());
        CALLS.get() - before
    };
    let one = block(1);
    assert_eq!(block(Lanes::BLOCK), one);
}

#[test]
fn the_counter_counts() {
    let before = CALLS.get();
    drop(std::hint::black_box(vec![1u8; 100]));
    assert!(CALLS.get() > before);
}
