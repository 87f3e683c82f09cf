//! Several storages in one garden over time, against what can be worked out by hand; states on an edge; failed mains.

mod support;

use approx::assert_relative_eq;
use hosewright::garden::Garden;
use hosewright::operation::{CutShort, EventKind, Fault, FaultKind, Log, Options, Schedule, Timer, operate, operate_with};
use hosewright::parts::Kind;
use hosewright::quantity::{Quantity, dim};
use support::logs::times;
use support::{PSI, booster, line, part, q};

const HOUR: f64 = 3600.0;
const DAY: f64 = 86_400.0;
const LPM: f64 = 1e-3 / 60.0;
const BAR: f64 = 1e5;
/// Weight of water at 15 degC, Pa/m.
const WEIGHT: f64 = 999.1 * 9.80665;

fn nothing() -> Schedule {
    Schedule::default()
}

fn closes(log: &Log) {
    let totals = log.totals();
    let off = totals.error_m3().abs();
    assert!(off <= 1e-10 * totals.moved_m3 + 1e-12, "{off} m3 of {} are lost: {totals:?}", totals.moved_m3);
}

fn of(log: &Log, name: &str) -> usize {
    log.garden.find(name).expect("a name of the garden")
}

fn end_pa(log: &Log, name: &str) -> f64 {
    log.last_pa(of(log, name)).expect("a pressure")
}

fn supply(bar: f64) -> Garden {
    part(Kind::Supply, "main", &[("static_pressure", q(bar, "bar"))])
}

fn measured(static_psi: f64, at_psi: f64, gpm: f64) -> Garden {
    support::supply("main", static_psi, at_psi, gpm)
}

fn tank(name: &str, gal: f64, psi: f64) -> Garden {
    part(Kind::PressureTank, name, &[("volume", q(gal, "gal")), ("precharge", q(psi, "psi"))])
}

fn check(k: Option<f64>) -> Garden {
    let diameter = ("diameter", q(20.0, "mm"));
    part(Kind::CheckValve, "check", &k.map_or(vec![diameter], |k| vec![("k", q(k, "")), diameter]))
}

fn hose_m(name: &str, length_m: f64, bore_mm: f64) -> Garden {
    part(Kind::Hose, name, &[("length", q(length_m, "m")), ("diameter", q(bore_mm, "mm"))])
}

fn stretch_m(name: &str, length_m: f64, bore_mm: f64, ml_per_bar_m: f64) -> Garden {
    let stretch = Quantity::new(ml_per_bar_m * 1e-11, dim::COMPLIANCE);
    part(Kind::Hose, name, &[("length", q(length_m, "m")), ("diameter", q(bore_mm, "mm")), ("compliance", stretch)])
}

fn barrel(name: &str, level_m: f64, liters: f64) -> Garden {
    part(Kind::OpenTank, name, &[("level", q(level_m, "m")), ("volume", q(liters, "L"))])
}

fn filled_barrel(name: &str, level_m: f64, liters: f64, inflow_lpm: f64) -> Garden {
    let numbers = [("level", q(level_m, "m")), ("volume", q(liters, "L")), ("inflow", q(inflow_lpm, "L/min"))];
    part(Kind::OpenTank, name, &numbers)
}

fn draw(name: &str, lpm: f64) -> Garden {
    part(Kind::Demand, name, &[("flow", q(lpm, "L/min"))])
}

fn leak(lph: f64, at_bar: f64) -> Garden {
    part(Kind::Leak, "drip", &[("flow", q(lph / 60.0, "L/min")), ("pressure", q(at_bar, "bar"))])
}

fn rise_m(height_m: f64) -> Garden {
    part(Kind::Uphill, "rise", &[("height", q(height_m, "m"))])
}

fn fitting(name: &str, k: f64, bore_mm: f64) -> Garden {
    part(Kind::Fitting, name, &[("k", q(k, "")), ("diameter", q(bore_mm, "mm"))])
}

/// Resistance of a loss k v^2 rho/2, Pa s2/m6.
fn resistance(k: f64, bore_mm: f64) -> f64 {
    let area = std::f64::consts::PI / 4.0 * (bore_mm * 1e-3).powi(2);
    k * 999.1 / 2.0 / (area * area)
}

#[test]
fn a_garden_with_a_tank_and_a_stretching_hose_at_rest_stays_at_rest_in_few_steps() {
    let garden = line(&[measured(55.0, 19.0, 5.0), check(None), tank("tank", 5.0, 40.0), stretch_m("soft", 33.0, 16.0, 3.0)]);
    for duration_s in [HOUR, DAY] {
        let log = operate(&garden, &nothing(), duration_s).expect("runs");
        assert_eq!(log.events().next(), None);
        // At most 15 steps of three stages each, with what looks at the beginning.
        assert!(log.solves() <= 50, "{} solves", log.solves());
        assert_relative_eq!(end_pa(&log, "soft"), 55.0 * PSI, max_relative = 1e-12);
        closes(&log);
    }
}

#[test]
fn two_tanks_joined_through_a_valve_cycle_with_their_pump_in_few_steps() {
    let garden = line(&[
        measured(40.0, 25.0, 8.0),
        check(None),
        booster("pump", &[(0.0, 50.0), (6.0, 40.0), (12.0, 10.0)]),
        tank("first", 5.0, 40.0),
        part(Kind::PressureSwitch, "switch", &[("cut_in", q(42.0, "psi")), ("cut_out", q(62.0, "psi"))]),
        part(Kind::Fitting, "union", &[("k", q(2.3, "")), ("diameter", q(0.75, "inch"))]),
        tank("second", 5.0, 40.0),
        leak(120.0, 3.0),
    ]);
    let log = operate(&garden, &nothing(), 1.5 * HOUR).expect("runs");
    assert!(log.starts() > 5, "{}", log.starts());
    assert!(log.solves() < 20_000, "{} solves", log.solves());
    closes(&log);
}

#[test]
fn a_barrel_that_empties_leaves_a_draw_dry_and_the_run_goes_on() {
    let garden = line(&[
        barrel("barrel", 1.5, 80.0),
        check(None),
        leak(2.0, 1.0),
        hose_m("hose", 20.0, 16.0),
        rise_m(0.5),
        draw("wash", 5.0),
    ]);
    let log = operate(&garden, &nothing(), 6.0 * HOUR).expect("runs");
    // A tap gives nothing where the water stands lower: what lies below half a meter leaves by the leak alone.
    let washed = log.water_m3(of(&log, "wash")).expect("a volume");
    assert!(washed < 80e-3 * (1.0 / 1.5) && washed > 0.6 * 80e-3 * (1.0 / 1.5), "{washed}");
    closes(&log);
    // On the level it takes all.
    let level = line(&[barrel("barrel", 1.5, 80.0), hose_m("hose", 1.0, 50.0), draw("wash", 5.0)]);
    let log = operate(&level, &nothing(), HOUR).expect("runs");
    let empty_s = times(&log, EventKind::BarrelEmpties)[0];
    assert_relative_eq!(empty_s, 80e-3 / (5.0 * LPM), max_relative = 2e-3);
    closes(&log);
}

#[test]
fn a_check_valve_without_loss_between_a_stiff_main_and_a_tank_fills_it_at_once() {
    let garden = line(&[supply(4.0), check(Some(0.0)), tank("tank", 5.0, 30.0), leak(30.0, 3.0)]);
    let log = operate(&garden, &nothing(), HOUR).expect("runs");
    assert_relative_eq!(end_pa(&log, "tank"), 4.0 * BAR, max_relative = 1e-9);
    let leaked = log.water_m3(of(&log, "drip")).expect("a volume");
    assert_relative_eq!(leaked, 30e-3 * (4.0f64 / 3.0).sqrt(), max_relative = 1e-6);
    closes(&log);
    // The main fails: the valve shuts, and the leak takes the tank down.
    let faults = [Fault { from_s: 600.0, ..Fault::new("main", FaultKind::LosesPressure) }];
    let log = operate_with(&garden, &nothing(), HOUR, &Options { faults: &faults, ..Options::default() }).expect("runs");
    assert_eq!(log.water_m3(of(&log, "main")).map(|volume| volume >= 0.0), Some(true), "nothing runs back");
    assert!(end_pa(&log, "tank") < 3.0 * BAR);
    closes(&log);
}

#[test]
fn a_barrel_through_a_nozzle_falls_with_the_square_of_the_time_that_is_left() {
    // Beside it a second one through a check valve that never opens, so that there are two storages.
    let big = line(&[barrel("barrel", 2.0, 200.0), fitting("mouth", 1e-3, 40.0)]);
    let low = line(&[barrel("low", 0.1, 50.0), check(None)]);
    let head = part(Kind::Head, "jet", &[("nozzle", q(6.0, "mm"))]);
    let garden = big.then(&head).expect("joins").add_source("mouth", &low).expect("joins");
    let log = operate(&garden, &nothing(), 600.0).expect("runs");
    let area = std::f64::consts::PI / 4.0 * 6e-3f64.powi(2);
    // 1/k'^2 of the nozzle, and the mouth before it.
    let outflow = 0.96 * area * (2.0 / 999.1f64).sqrt();
    let per_root = 1.0 / (1.0 / (outflow * outflow) + resistance(1e-3, 40.0)).sqrt();
    let m3_per_pa = 0.2 / (2.0 * WEIGHT);
    let root = (2.0 * WEIGHT).sqrt() - per_root * 600.0 / (2.0 * m3_per_pa);
    let taken = 0.2 - m3_per_pa * root * root;
    assert_relative_eq!(log.water_m3(of(&log, "jet")).expect("a volume"), taken, max_relative = 1e-5);
    closes(&log);
}

#[test]
fn a_barrel_with_more_inflow_than_outflow_runs_over() {
    let one = filled_barrel("one", 1.0, 100.0, 6.0);
    let other = line(&[barrel("other", 1.0, 50.0), hose_m("link", 5.0, 19.0)]);
    let garden = line(&[one, fitting("mouth", 1.0, 40.0), draw("tap", 4.0)]).add_source("mouth", &other).expect("joins");
    let log = operate(&garden, &nothing(), 2.0 * HOUR).expect("runs");
    let totals = log.totals();
    // Both are full at the beginning and in the end, so all that comes in beyond the draw runs over.
    assert_relative_eq!(totals.discharged_m3, 4.0 * LPM * 2.0 * HOUR, max_relative = 1e-9);
    assert!(totals.inflow_m3 > 0.0 && (totals.inflow_m3 - totals.discharged_m3).abs() < 2e-3, "{totals:?}");
    closes(&log);
}

#[test]
fn two_tanks_at_one_place_are_one_of_twice_the_size_and_the_order_of_parts_does_not_matter() {
    let run = |tanks: &[Garden]| {
        let head = [measured(40.0, 25.0, 8.0), check(None), booster("pump", &[(0.0, 50.0), (6.0, 40.0), (12.0, 10.0)])];
        let switch = part(Kind::PressureSwitch, "switch", &[("cut_in", q(45.0, "psi")), ("cut_out", q(65.0, "psi"))]);
        let tail = [switch, stretch_m("soft", 30.0, 16.0, 5.0), leak(100.0, 3.0)];
        let log = operate(&line(&[&head, tanks, &tail].concat()), &nothing(), 1200.0).expect("runs");
        closes(&log);
        times(&log, EventKind::PumpStarts)
    };
    let one = run(&[tank("tank", 4.0, 43.0)]);
    assert!(one.len() > 3);
    for two in [[tank("a", 1.0, 43.0), tank("b", 3.0, 43.0)], [tank("b", 3.0, 43.0), tank("a", 1.0, 43.0)]] {
        let two = run(&two);
        assert_eq!(one.len(), two.len());
        for (one, two) in one.iter().zip(&two) {
            assert!((one - two).abs() < 1e-3, "{one} {two}");
        }
    }
}

#[test]
fn a_tolerance_of_a_hundredth_moves_no_event_of_an_hour_by_a_millisecond() {
    let garden = line(&[
        measured(40.0, 25.0, 8.0),
        check(None),
        booster("pump", &[(0.0, 50.0), (6.0, 40.0), (12.0, 10.0)]),
        tank("tank", 2.0, 36.0),
        part(Kind::PressureSwitch, "switch", &[("cut_in", q(45.0, "psi")), ("cut_out", q(65.0, "psi"))]),
        stretch_m("soft", 30.0, 16.0, 3.0),
        leak(227.0, 2.76),
    ]);
    let run = |tolerance: f64| {
        operate_with(&garden, &nothing(), HOUR, &Options { tolerance: Some(tolerance), ..Options::default() }).expect("runs")
    };
    let (usual, fine) = (run(1.0), run(0.01));
    assert_eq!(usual.number_of_events(), fine.number_of_events());
    for (a, b) in usual.events().zip(fine.events()) {
        assert_eq!(a.kind, b.kind);
        assert!((a.time_s - b.time_s).abs() < 1e-3, "{a:?} {b:?}");
    }
}

#[test]
fn a_held_pressure_is_that_at_the_tap_and_water_that_stands_lower_holds_more() {
    for height_m in [-10.0, 0.0, 10.0] {
        let garden = line(&[supply(2.0), check(None), rise_m(height_m), tank("tank", 5.0, 10.0)]);
        let log = operate(&garden, &Schedule { held_pa: Some(4.0 * BAR), ..nothing() }, HOUR).expect("runs");
        assert_relative_eq!(end_pa(&log, "tank"), 4.0 * BAR - height_m * WEIGHT, max_relative = 1e-4);
    }
    // Two storages at different heights that nothing keeps apart: nothing moves.
    let high = line(&[hose_m("up", 20.0, 16.0), rise_m(8.0), tank("high", 5.0, 10.0)]);
    let garden = line(&[supply(2.0), check(None), tank("low", 5.0, 10.0)]).then(&high).expect("joins");
    let log = operate(&garden, &Schedule { held_pa: Some(4.0 * BAR), ..nothing() }, HOUR).expect("runs");
    assert_relative_eq!(end_pa(&log, "low"), 4.0 * BAR, max_relative = 1e-4);
    assert_relative_eq!(end_pa(&log, "high"), 4.0 * BAR - 8.0 * WEIGHT, max_relative = 1e-4);
    assert!(log.totals().moved_m3 < 1e-9, "{:?}", log.totals());
}

/// A main, a pump on a switch and one zone.
fn pumped(dry_run_cutoff: bool) -> Garden {
    let pump = booster("pump", &[(0.0, 45.0), (8.0, 30.0), (12.0, 12.0)]);
    let pump =
        if dry_run_cutoff { pump.with("pump.dry_run_cutoff", q(2.0, "psi")).expect("a number of a booster") } else { pump };
    line(&[
        measured(40.0, 28.0, 6.0),
        part(Kind::CheckValve, "check", &[("diameter", q(0.75, "inch"))]),
        pump,
        tank("tank", 5.0, 48.0),
        part(Kind::PressureSwitch, "switch", &[("cut_in", q(50.0, "psi")), ("cut_out", q(65.0, "psi"))]),
        part(Kind::Valve, "lawn", &[("diameter", q(0.75, "inch"))]),
        part(Kind::Head, "spray", &[("nozzle", q(0.1, "inch"))]),
    ])
}

fn morning() -> Schedule {
    let zone = Timer { starts_s: vec![HOUR], zones: vec![("lawn".into(), 600.0)], ..Timer::new("east") };
    Schedule { timers: vec![zone], ..nothing() }
}

#[test]
fn a_main_that_fails_gives_no_water_and_the_pump_runs_dry_until_its_guard_stops_it() {
    let run = |garden: &Garden, kind: FaultKind| {
        let faults = [Fault::new("main", kind)];
        operate_with(garden, &morning(), 3.0 * HOUR, &Options { faults: &faults, ..Options::default() }).expect("runs")
    };
    let log = run(&pumped(false), FaultKind::Fails);
    closes(&log);
    assert_eq!(log.water_m3(of(&log, "main")), Some(0.0));
    // The head gets what the tank held, and not a drop more.
    let (gets, held) = (log.water_m3(of(&log, "spray")).expect("a volume"), -log.totals().stored_m3);
    assert_relative_eq!(gets, held, max_relative = 1e-9);
    assert!(gets > 0.0 && gets < 5.0 * 3.8e-3);
    let pump = of(&log, "pump");
    assert_eq!(log.starts(), 1);
    assert!(log.dry_s(pump) > HOUR, "{}", log.dry_s(pump));
    assert_eq!(log.dead_head_s(pump), 0.0);
    let guarded = run(&pumped(true), FaultKind::Fails);
    assert_eq!(times(&guarded, EventKind::PumpStopsDry).len(), 1);
    assert!(guarded.dry_s(pump) < 1.0);
    // Without pressure but open, the main can still be sucked at.
    let open = run(&pumped(false), FaultKind::LosesPressure);
    assert!(open.water_m3(of(&open, "main")).is_some_and(|volume| volume > 0.0));
    closes(&open);
}

#[test]
fn a_chattering_switch_is_known_by_its_cycle_at_once() {
    let garden = line(&[
        measured(20.0, 15.0, 8.0),
        check(None),
        booster("pump", &[(0.0, 50.0), (6.0, 40.0), (12.0, 10.0)]),
        part(Kind::PressureSwitch, "switch", &[("cut_in", q(30.0, "psi")), ("cut_out", q(50.0, "psi"))]),
        hose_m("feed", 30.0, 16.0),
        leak(300.0, 2.7),
    ]);
    let log = operate(&garden, &nothing(), 90.0 * DAY).expect("runs");
    let Some(CutShort::Chatters { booster, period_s, since_s }) = log.cut_short() else { panic!("{:?}", log.cut_short()) };
    assert_eq!(booster, of(&log, "pump"));
    assert!(period_s > 0.05 && period_s < 1.0 && since_s < 10.0, "{period_s} since {since_s}");
    assert!(log.starts() < 60);
    closes(&log);
}

#[test]
fn a_sound_pump_that_starts_four_times_an_hour_runs_for_three_thousand_days() {
    let garden = line(&[
        measured(20.0, 15.0, 8.0),
        check(None),
        booster("pump", &[(0.0, 50.0), (6.0, 40.0), (12.0, 10.0)]),
        tank("tank", 10.0, 28.0),
        part(Kind::PressureSwitch, "switch", &[("cut_in", q(30.0, "psi")), ("cut_out", q(50.0, "psi"))]),
        leak(46.0, 2.7),
    ]);
    let log = operate(&garden, &nothing(), 3000.0 * DAY).expect("runs");
    assert_eq!(log.cut_short(), None);
    assert!((3.0..6.0).contains(&log.starts_per_hour()), "{}", log.starts_per_hour());
    closes(&log);
}

#[test]
fn a_pump_between_two_storages_moves_water_from_one_to_the_other_and_no_drop_is_lost() {
    let garden = line(&[
        filled_barrel("barrel", 1.0, 300.0, 1.0),
        check(None),
        booster("pump", &[(0.0, 50.0), (6.0, 40.0), (12.0, 10.0)]),
        tank("tank", 5.0, 28.0),
        part(Kind::PressureSwitch, "switch", &[("cut_in", q(30.0, "psi")), ("cut_out", q(48.0, "psi"))]),
        draw("house", 3.0),
    ]);
    let log = operate(&garden, &nothing(), DAY).expect("runs");
    closes(&log);
    assert!(!times(&log, EventKind::BarrelEmpties).is_empty() && !times(&log, EventKind::BarrelServes).is_empty());
}
