//! The garden over time against what can be worked out by hand: fill and leak-down, cycling, balances, tolerances.

mod support;

use approx::assert_relative_eq;
use hosewright::garden::Garden;
use hosewright::operation::{
    ATMOSPHERE_PA, EventKind, Fault, FaultKind, HandOpening, Options, Schedule, Timer, clock_time_s, operate, operate_with,
};
use hosewright::parts::Kind;
use hosewright::quantity::GALLON_M3 as GAL;
use support::logs::{closes, times};
use support::{GPM, PSI, booster, climb, head, hose, line, part, q, supply, valve};

const HOUR: f64 = 3600.0;
const DAY: f64 = 86_400.0;

fn switch(cut_in: f64, cut_out: f64) -> Garden {
    part(Kind::PressureSwitch, "switch", &[("cut_in", q(cut_in, "psi")), ("cut_out", q(cut_out, "psi"))])
}

fn tank(gal: f64, precharge: f64) -> Garden {
    part(Kind::PressureTank, "tank", &[("volume", q(gal, "gal")), ("precharge", q(precharge, "psi"))])
}

fn leak(gph: f64, at_psi: f64) -> Garden {
    part(Kind::Leak, "drip", &[("flow", q(gph, "gph")), ("pressure", q(at_psi, "psi"))])
}

fn check() -> Garden {
    part(Kind::CheckValve, "check", &[("diameter", q(0.75, "inch"))])
}

fn stretchy(name: &str, length_ft: f64, diameter_in: f64, ml_per_bar_m: f64) -> Garden {
    let stretch = ml_per_bar_m * 1e-6 / 1e5;
    let numbers = [("length", q(length_ft, "ft")), ("diameter", q(diameter_in, "inch"))];
    let stretch = hosewright::quantity::Quantity::new(stretch, hosewright::quantity::dim::COMPLIANCE);
    part(Kind::Hose, name, &[numbers[0], numbers[1], ("compliance", stretch)])
}

fn nothing() -> Schedule {
    Schedule::default()
}

/// A booster on a switch with a tank and a leak behind it.
fn well_system(gal: f64, leak_gph: f64) -> Garden {
    line(&[
        supply("main", 20.0, 15.0, 8.0),
        check(),
        booster("pump", &[(0.0, 50.0), (6.0, 40.0), (12.0, 10.0)]),
        tank(gal, 28.0),
        switch(30.0, 50.0),
        leak(leak_gph, 40.0),
    ])
}

/// Integral by Simpson's rule, independent of the run.
fn integral(from: f64, to: f64, value: impl Fn(f64) -> f64) -> f64 {
    let n = 20_000;
    let h = (to - from) / f64::from(n);
    let weight = |index: i32| {
        if index == 0 || index == n {
            1.0
        } else if index % 2 == 1 {
            4.0
        } else {
            2.0
        }
    };
    (0..=n).map(|index| weight(index) * value(from + h * f64::from(index))).sum::<f64>() * h / 3.0
}

/// Volume a tank gives for a fall of pressure, by Boyle's law.
fn boyle_m3_per_pa(gal: f64, precharge_psi: f64, pressure_pa: f64) -> f64 {
    gal * GAL * (precharge_psi * PSI + ATMOSPHERE_PA) / (pressure_pa + ATMOSPHERE_PA).powi(2)
}

#[test]
fn a_tank_leaks_down_in_the_time_that_quadrature_gives() {
    let garden = well_system(20.0, 12.0);
    let log = operate(&garden, &Schedule { held_pa: Some(50.0 * PSI), ..nothing() }, 20.0 * HOUR).expect("runs");
    let leak_flow = |pressure: f64| 12.0 * GAL / HOUR * (pressure / (40.0 * PSI)).sqrt();
    // Water is compressed a little too: a liter of it at least, 2.15 GPa.
    let squeezed = 1e-3 / 2.15e9;
    let expected = integral(30.0 * PSI, 50.0 * PSI, |p| (boyle_m3_per_pa(20.0, 28.0, p) + squeezed) / leak_flow(p));
    let starts = times(&log, EventKind::PumpStarts);
    assert!((starts[0] - expected).abs() < 1e-3, "starts at {}, expected {expected}", starts[0]);
    let stops = times(&log, EventKind::PumpStops);
    assert!((starts[1] - stops[0] - expected).abs() < 1e-3);
    closes(&log);
}

#[test]
fn a_pump_fills_a_tank_in_the_time_that_quadrature_gives() {
    // The pump alone, out of water without pressure, against the tank: its curve is a straight line.
    let garden = line(&[
        supply("pond", 1e-6, 0.0, 1e6),
        part(Kind::CheckValve, "check", &[("k", q(0.0, ""))]),
        booster("pump", &[(0.0, 80.0), (10.0, 0.0)]),
        tank(20.0, 28.0),
        switch(30.0, 50.0),
        leak(0.0, 40.0),
    ]);
    let log = operate(&garden, &Schedule { held_pa: Some(29.0 * PSI), ..nothing() }, HOUR).expect("runs");
    let flow = |pressure: f64| 10.0 * GPM * (1.0 - (pressure - 1e-6 * PSI) / (80.0 * PSI));
    let squeezed = 1e-3 / 2.15e9;
    let expected = integral(29.0 * PSI, 50.0 * PSI, |p| (boyle_m3_per_pa(20.0, 28.0, p) + squeezed) / flow(p));
    let stops = times(&log, EventKind::PumpStops);
    assert!((stops[0] - expected).abs() < 1e-3, "stops at {}, expected {expected}", stops[0]);
    closes(&log);
}

#[test]
fn the_period_of_a_cycling_pump_grows_with_the_stretch() {
    let period = |stretch: f64| {
        let garden = line(&[
            supply("main", 20.0, 15.0, 8.0),
            check(),
            booster("pump", &[(0.0, 50.0), (6.0, 40.0), (12.0, 10.0)]),
            stretchy("feed", 100.0, 0.75, stretch),
            switch(30.0, 50.0),
            leak(30.0, 40.0),
        ]);
        let log = operate(&garden, &nothing(), HOUR).expect("runs");
        closes(&log);
        let starts = times(&log, EventKind::PumpStarts);
        let last = starts.len() - 1;
        (starts[last] - starts[1]) / (last - 1) as f64
    };
    // The compression of the water in the hose adds a constant: its share is taken off by differences.
    let (one, two, four) = (period(2.0), period(4.0), period(8.0));
    assert_relative_eq!((four - two) / (two - one), 2.0, max_relative = 1e-6);
    assert_relative_eq!(two / one, 2.0, max_relative = 1e-2);
}

#[test]
fn halving_the_tolerance_moves_no_event_of_a_day_by_a_millisecond() {
    let timer = Timer {
        starts_s: vec![clock_time_s("05:30").expect("a time")],
        zones: vec![("beds".into(), 1200.0)],
        ..Timer::new("east")
    };
    let garden = line(&[
        supply("main", 40.0, 25.0, 8.0),
        check(),
        booster("pump", &[(0.0, 50.0), (6.0, 40.0), (12.0, 10.0)]),
        tank(2.0, 36.0),
        part(Kind::Relief, "relief", &[("set", q(64.0, "psi"))]),
        switch(40.0, 65.0),
        leak(3.0, 40.0),
        valve("beds"),
        hose("bed line", 60.0, 0.5),
        head("bed", 0.125),
    ]);
    let schedule = Schedule { timers: vec![timer], ..nothing() };
    let run = |tolerance: f64| {
        operate_with(&garden, &schedule, DAY, &Options { tolerance: Some(tolerance), ..Options::default() }).expect("runs")
    };
    let (usual, half) = (run(1.0), run(0.5));
    assert_eq!(usual.number_of_events(), half.number_of_events());
    assert!(usual.number_of_events() > 10, "{}", usual.number_of_events());
    for (a, b) in usual.events().zip(half.events()) {
        assert_eq!((a.place, a.kind), (b.place, b.kind));
        assert!((a.time_s - b.time_s).abs() < 1e-3, "{a:?} {b:?}");
    }
    closes(&usual);
}

#[test]
fn two_storages_close_their_balance_and_keep_their_times_when_tolerances_are_halved() {
    let garden = line(&[
        supply("main", 40.0, 25.0, 8.0),
        check(),
        booster("pump", &[(0.0, 50.0), (6.0, 40.0), (12.0, 10.0)]),
        tank(2.0, 36.0),
        switch(45.0, 65.0),
        stretchy("feed", 100.0, 0.625, 3.0),
        leak(60.0, 40.0),
    ]);
    let run = |tolerance: f64| {
        operate_with(&garden, &nothing(), HOUR, &Options { tolerance: Some(tolerance), ..Options::default() }).expect("runs")
    };
    let (usual, half) = (run(1.0), run(0.5));
    closes(&usual);
    assert_eq!(usual.number_of_events(), half.number_of_events());
    assert!(usual.starts() > 3, "{} starts", usual.starts());
    for (a, b) in usual.events().zip(half.events()) {
        assert!((a.time_s - b.time_s).abs() < 1e-3, "{a:?} {b:?}");
    }
}

#[test]
fn a_hose_beside_the_tank_without_resistance_gives_the_same_as_one_storage() {
    // The implicit method against the table: the second storage is so near that it makes no difference.
    let with = |fitting_k: f64| {
        line(&[
            supply("main", 20.0, 15.0, 8.0),
            check(),
            booster("pump", &[(0.0, 50.0), (6.0, 40.0), (12.0, 10.0)]),
            tank(2.0, 28.0),
            switch(30.0, 50.0),
            part(Kind::Fitting, "union", &[("k", q(fitting_k, "")), ("diameter", q(1.0, "inch"))]),
            part(Kind::PressureTank, "second", &[("volume", q(1.0, "gal")), ("precharge", q(28.0, "psi"))]),
            leak(30.0, 40.0),
        ])
    };
    let one = operate(&with(0.0), &nothing(), 900.0).expect("runs");
    let two = operate(&with(0.5), &nothing(), 900.0).expect("runs");
    closes(&one);
    closes(&two);
    assert_eq!(one.starts(), two.starts());
    for (a, b) in times(&one, EventKind::PumpStarts).iter().zip(times(&two, EventKind::PumpStarts)) {
        // The second tank fills and empties a little behind the first.
        assert!((a - b).abs() <= 1e-3 * a, "{a} {b}");
    }
}

#[test]
fn a_pump_that_cannot_reach_cut_out_never_stops() {
    let garden = line(&[
        supply("main", 20.0, 15.0, 8.0),
        check(),
        booster("pump", &[(0.0, 50.0), (6.0, 40.0), (12.0, 10.0)]),
        tank(5.0, 28.0),
        switch(30.0, 75.0),
        leak(1.0, 40.0),
    ]);
    let log = operate(&garden, &nothing(), DAY).expect("runs");
    assert_eq!(log.starts(), 1);
    assert!(times(&log, EventKind::PumpStops).is_empty());
    // It settles a hair below dead head, 70 psi.
    let end = log.highest(garden.find("tank").expect("a tank")).expect("a pressure");
    assert!(end.pressure_pa < 70.0 * PSI && end.pressure_pa > 69.9 * PSI, "{}", end.pressure_pa / PSI);
    assert!(log.dead_head_s(garden.find("pump").expect("a pump")) > 23.0 * HOUR);
    closes(&log);
}

#[test]
fn a_barrel_runs_dry_and_serves_again() {
    let barrel =
        part(Kind::OpenTank, "barrel", &[("level", q(1.0, "m")), ("volume", q(200.0, "L")), ("inflow", q(0.2, "L/min"))]);
    let garden = line(&[barrel, valve("bed"), hose("line", 30.0, 0.5), climb("fall", -3.0), head("drip", 0.125)]);
    let schedule = Schedule {
        by_hand: vec![HandOpening { name: "bed".into(), at_s: HOUR, lasting_s: 20.0 * HOUR, every_s: None }],
        ..nothing()
    };
    let log = operate(&garden, &schedule, DAY).expect("runs");
    assert!(!times(&log, EventKind::BarrelEmpties).is_empty(), "{log:?}");
    assert!(!times(&log, EventKind::BarrelServes).is_empty());
    closes(&log);
}

#[test]
fn a_check_valve_that_passes_wakes_the_pump_and_lets_water_back() {
    let garden = well_system(5.0, 0.0);
    let schedule = Schedule { held_pa: Some(49.0 * PSI), ..nothing() };
    let well = operate(&garden, &schedule, HOUR).expect("runs");
    assert_eq!(well.starts(), 0);
    let faults = [Fault { from_s: 600.0, ..Fault::new("check", FaultKind::SticksOpen) }];
    let log = operate_with(&garden, &schedule, HOUR, &Options { faults: &faults, ..Options::default() }).expect("runs");
    assert!(log.starts() > 3, "{}", log.starts());
    let back: f64 = log.drawn_m3().iter().map(|(_, volume)| volume.min(0.0)).sum();
    assert!(back < -1e-3, "{back}");
    closes(&log);
}

#[test]
fn a_garden_without_storage_chatters_within_bounds() {
    let garden = line(&[
        supply("main", 20.0, 15.0, 8.0),
        check(),
        booster("pump", &[(0.0, 50.0), (6.0, 40.0), (12.0, 10.0)]),
        switch(30.0, 50.0),
        hose("feed", 100.0, 0.625),
        leak(20.0, 40.0),
    ]);
    let log = operate(&garden, &nothing(), 600.0).expect("runs");
    assert!(log.is_stiff);
    assert!(log.starts_per_hour() > 500.0, "{}", log.starts_per_hour());
    closes(&log);
}

/// A supply without loss behind which the parts given stand, a switch and one zone.
fn at_the_edge(before: &[Garden], behind: &[Garden], curve: &[(f64, f64)], cut_in: f64, cut_out: f64) -> Garden {
    let street = part(Kind::Supply, "tap", &[("static_pressure", q(50.0, "psi"))]);
    let pump = [booster("pump", curve)];
    let zone =
        [switch(cut_in, cut_out), hose("feed", 120.0, 0.625), valve("lawn"), hose("line", 40.0, 0.5), head("spray", 0.125)];
    line(&[&[street], before, &pump, behind, &zone].concat())
}

/// Cut-in, cut-out, precharge or relief exactly where a pressure comes to rest: the state stands on the edge between two.
#[test]
fn points_set_exactly_at_a_pressure_of_rest_come_to_an_end() {
    let guards = [
        vec![],
        vec![check()],
        vec![check(), part(Kind::CheckValve, "second", &[("diameter", q(0.75, "inch"))])],
        vec![part(Kind::Backflow, "guard", &[]), check()],
    ];
    let relief = part(Kind::Relief, "safety", &[("set", q(85.0, "psi"))]);
    let stores = [vec![], vec![tank(5.0, 50.0)], vec![relief]];
    let curves: [&[(f64, f64)]; 2] = [&[(0.0, 45.0), (10.0, 22.0)], &[(0.0, 35.0), (10.0, 5.0)]];
    let lawn = HandOpening { name: "lawn".into(), at_s: 0.1 * HOUR, lasting_s: 300.0, every_s: None };
    let schedule = Schedule { by_hand: vec![lawn], ..nothing() };
    for ((guard, store), curve) in guards
        .iter()
        .flat_map(|guard| stores.iter().map(move |store| (guard, store)))
        .flat_map(|two| curves.map(|curve| (two, curve)))
    {
        for (cut_in, cut_out) in [(50.0, 85.0), (50.0, 60.0), (45.0, 50.0)] {
            let garden = at_the_edge(guard, store, curve, cut_in, cut_out);
            let log = operate(&garden, &schedule, 0.3 * HOUR).expect("runs");
            let water = log.water_m3(garden.find("spray").expect("a head"));
            // One that chatters from the beginning on does not come to the opening of the lawn.
            let waters = log.cut_short().is_some() || water.is_some_and(|volume| volume > 0.0);
            assert!(waters, "{} parts, {cut_in} to {cut_out} psi", garden.parts().len());
            closes(&log);
        }
    }
}

// ---- pumps that a relay or control starts

const PUMP: [(f64, f64); 3] = [(0.0, 50.0), (6.0, 40.0), (12.0, 10.0)];

/// A zone upstream of the pump and two downstream of it, which something starts.
fn started(starter: Garden) -> Garden {
    let early = line(&[valve("early"), hose("early line", 20.0, 0.5), head("early head", 0.125)]);
    let zone = |name: &str| line(&[valve(name), hose(&format!("{name} line"), 20.0, 0.5), head(&format!("{name} head"), 0.125)]);
    let downstream = line(&[booster("pump", &PUMP), starter]).then_branches(&[zone("beds"), zone("lawn")]).expect("joins");
    line(&[supply("main", 45.0, 35.0, 6.0), check()]).then_branches(&[early, downstream]).expect("joins")
}

fn mornings(zones: &[(&str, f64)], pause_s: f64) -> Schedule {
    let zones = zones.iter().map(|(name, minutes)| ((*name).to_string(), 60.0 * minutes)).collect();
    Schedule { timers: vec![Timer { starts_s: vec![6.0 * HOUR], pause_s, zones, ..Timer::new("east") }], ..nothing() }
}

#[test]
fn a_relay_runs_the_pump_with_the_zones_downstream_of_it_and_with_no_other() {
    let relay = part(Kind::PumpStart, "relay", &[("delay", q(2.0, "s"))]);
    let zones = [("early", 10.0), ("beds", 20.0), ("lawn", 15.0)];
    let log = operate(&started(relay), &mornings(&zones, 60.0), 2.0 * DAY).expect("a run");
    let pump = log.garden.find("pump").expect("a pump");
    let beds_s = 6.0 * HOUR + 11.0 * 60.0;
    let lawn_s = beds_s + 21.0 * 60.0;
    let expected = [(beds_s, 1200.0), (lawn_s, 900.0)];
    let runs: Vec<(f64, f64)> = log.runs(pump).map(|run| (run.from_s, run.to_s.expect("it stops"))).collect();
    let days =
        [0.0, DAY].into_iter().flat_map(|day_s| expected.map(|(from_s, on_s)| (day_s + from_s + 2.0, day_s + from_s + on_s)));
    for (found, expected) in runs.iter().zip(days) {
        assert_relative_eq!(found.0, expected.0, epsilon = 1e-6);
        assert_relative_eq!(found.1, expected.1, epsilon = 1e-6);
    }
    assert_eq!((runs.len(), log.dead_head_s(pump)), (4, 0.0));
    closes(&log);
    // Without a pause one zone follows the other, and the pump runs through.
    let relay = part(Kind::PumpStart, "relay", &[]);
    assert_eq!(operate(&started(relay), &mornings(&zones, 0.0), 2.0 * DAY).expect("a run").starts(), 2);
}

#[test]
fn a_relay_follows_the_timer_and_not_a_valve_that_sticks() {
    let garden = started(part(Kind::PumpStart, "relay", &[]));
    let run = |kind: FaultKind| {
        let options = Options { faults: &[Fault::new("beds", kind)], ..Options::default() };
        operate_with(&garden, &mornings(&[("beds", 20.0)], 0.0), DAY, &options).expect("a run")
    };
    let pump = garden.find("pump").expect("a pump");
    let closed = run(FaultKind::SticksClosed);
    assert_relative_eq!(closed.dead_head_s(pump), 1200.0, epsilon = 1e-6);
    let open = run(FaultKind::SticksOpen);
    assert_relative_eq!(open.on_s(pump), 1200.0, epsilon = 1e-6);
}

#[test]
fn a_control_starts_when_a_zone_draws_the_pressure_down_and_stops_some_time_after_the_flow() {
    let control =
        line(&[tank(2.0, 20.0), part(Kind::PumpControl, "control", &[("cut_in", q(43.0, "psi")), ("delay", q(12.0, "s"))])]);
    let log = operate(&started(control), &mornings(&[("beds", 20.0), ("lawn", 10.0)], 600.0), DAY).expect("a run");
    let (opens, shuts) = (times(&log, EventKind::ValveOpens), times(&log, EventKind::ValveCloses));
    let (starts, stops) = (times(&log, EventKind::PumpStarts), times(&log, EventKind::PumpStops));
    assert_eq!((starts.len(), stops.len()), (2, 2), "{log:?}");
    for zone in 0..2 {
        let (wait_s, over_s) = (starts[zone] - opens[zone], stops[zone] - shuts[zone]);
        assert!(wait_s > 0.0 && wait_s < 60.0, "the tank gives water first: {wait_s} s");
        assert!((12.0..60.0).contains(&over_s), "the tank fills first: {over_s} s");
    }
    closes(&log);
}

#[test]
fn a_leak_makes_a_control_cycle_as_often_as_the_stretch_of_the_hose_lets_it() {
    // The hose gives V = C P, and the leak takes q = k sqrt(P): from p to r the pressure falls in 2 C (sqrt p - sqrt r) / k.
    let (length_m, ml_per_bar_m) = (60.0 * 0.3048, 20.0);
    let garden = line(&[
        supply("main", 30.0, 25.0, 6.0),
        check(),
        booster("pump", &[(0.0, 40.0), (10.0, 20.0)]),
        part(Kind::PumpControl, "control", &[("cut_in", q(40.0, "psi"))]),
        stretchy("feed", 60.0, 1.0, ml_per_bar_m),
        leak(1.0, 40.0),
    ]);
    let log = operate(&garden, &nothing(), 6.0 * HOUR).expect("a run");
    let starts = times(&log, EventKind::PumpStarts);
    let pump = garden.find("pump").expect("a pump");
    let runs: Vec<_> = log.runs(pump).collect();
    let run = runs[3];
    let on_s = run.to_s.expect("it stops") - run.from_s;
    assert!((10.0..16.0).contains(&on_s), "the hose fills, and then it runs on for 10 s: {on_s} s");
    let compliance = ml_per_bar_m * 1e-6 / 1e5 * length_m;
    let k = GAL / HOUR / (40.0 * PSI).sqrt();
    let high = log.highest(pump).expect("a pressure").pressure_pa;
    let fall_s = 2.0 * compliance * (high.sqrt() - (40.0 * PSI).sqrt()) / k;
    let off_s = runs[4].from_s - run.to_s.expect("it stops");
    assert_relative_eq!(off_s, fall_s, max_relative = 0.02);
    assert!(starts.len() > 20, "{}", starts.len());
    closes(&log);
}

#[test]
fn a_leak_above_the_least_flow_keeps_a_control_running() {
    let control = part(Kind::PumpControl, "control", &[("cut_in", q(40.0, "psi"))]);
    let garden =
        line(&[supply("main", 30.0, 25.0, 6.0), check(), booster("pump", &PUMP), control, tank(5.0, 30.0), leak(30.0, 40.0)]);
    let log = operate(&garden, &nothing(), DAY).expect("a run");
    assert_eq!((log.starts(), times(&log, EventKind::PumpStops).len()), (1, 0));
}

#[test]
fn a_control_locks_its_pump_out_where_no_water_comes() {
    let garden = started(part(Kind::PumpControl, "control", &[("cut_in", q(43.0, "psi"))]));
    let cut = Fault { from_s: 6.0 * HOUR + 300.0, ..Fault::new("main", FaultKind::Fails) };
    let options = Options { faults: &[cut], ..Options::default() };
    let log = operate_with(&garden, &mornings(&[("beds", 20.0), ("lawn", 10.0)], 60.0), DAY, &options).expect("a run");
    let dry = times(&log, EventKind::PumpStopsDry);
    assert_eq!(dry.len(), 1, "{log:?}");
    assert!(dry[0] - (6.0 * HOUR + 300.0) < 15.0, "{dry:?}");
    assert_eq!(times(&log, EventKind::PumpStarts).len(), 1);
}
