//! Variable-speed drives against what the affinity laws give by hand: speed and power in a steady state; starts, stops and energy over time;
//! the set pressures that a window gives.

mod support;

use approx::assert_relative_eq;
use hosewright::garden::Garden;
use hosewright::hydraulics::{Doing, Solution, Verdict, run};
use hosewright::operation::{EventKind, Fault, FaultKind, Log, Options, Schedule, Timer, operate, operate_with};
use hosewright::parts::{Id, Kind};
use hosewright::quantity::{Quantity, UnitSystem};
use hosewright::settings::{Ask, DrivenZones, SettingsError, Verdict as Room, drive_window, switch_window};
use support::logs::{closes, times};
use support::{PSI, booster, head, hose, line, part, q, supply, valve};

const HOUR: f64 = 3600.0;
const DAY: f64 = 86_400.0;

/// Shut-off of the pump, psi, and how its curve falls, psi a gpm.
const SHUT_OFF_PSI: f64 = 50.0;
const FALL_PSI_PER_GPM: f64 = 2.5;

fn drive(set_psi: f64) -> Garden {
    part(Kind::Drive, "drive", &[("set", q(set_psi, "psi"))])
}

fn pump() -> Garden {
    booster("pump", &[(0.0, SHUT_OFF_PSI), (12.0, SHUT_OFF_PSI - 12.0 * FALL_PSI_PER_GPM)])
}

fn tank() -> Garden {
    part(Kind::PressureTank, "tank", &[("volume", q(2.0, "gal")), ("precharge", q(35.0, "psi"))])
}

fn check() -> Garden {
    part(Kind::CheckValve, "check", &[("diameter", q(0.75, "inch"))])
}

fn zone(name: &str, nozzle_in: f64) -> Garden {
    line(&[valve(name), hose(&format!("{name} line"), 20.0, 0.5), head(&format!("{name} head"), nozzle_in)])
}

/// A pump with something that starts it, and two zones.
fn started(starters: &[Garden]) -> Garden {
    let trunk = line(&[&[supply("main", 40.0, 32.0, 6.0), check(), pump()], starters].concat());
    trunk.then_branches(&[zone("beds", 0.125), zone("lawn", 0.1875)]).expect("joins")
}

fn with(garden: &Garden, path: &str, value: f64, unit: &str) -> Garden {
    garden.with(path, q(value, unit)).expect("a path")
}

fn solved(garden: &Garden, zones: &[&str]) -> Solution {
    run(garden, zones).expect("a steady state")
}

/// Flow through the pump, gpm, and what it adds, psi.
fn at_pump(solution: &Solution) -> (f64, f64) {
    let state = solution.state("pump").expect("a pump");
    (state.flow_m3_per_s / q(1.0, "gpm").si, -state.loss_pa().expect("fed") / PSI)
}

#[test]
fn the_speed_follows_from_the_affinity_laws() {
    let garden = started(&[drive(60.0)]);
    let solution = solved(&garden, &["beds"]);
    let place = garden.find("pump").expect("a pump");
    assert_eq!(solution.switches[0].verdict, Verdict::Runs);
    assert_relative_eq!(solution.pressure_pa("pump").expect("known").expect("fed"), 60.0 * PSI, max_relative = 1e-9);
    // n^2 (a - b q / n) = rise, so n = (b q + sqrt(b^2 q^2 + 4 a rise)) / (2 a).
    let (flow, rise) = at_pump(&solution);
    let fall = FALL_PSI_PER_GPM * flow;
    let share = (fall + (fall * fall + 4.0 * SHUT_OFF_PSI * rise).sqrt()) / (2.0 * SHUT_OFF_PSI);
    assert!(share > 0.3 && share < 0.95, "{share}");
    assert_relative_eq!(solution.share_of_speed(place), share, max_relative = 1e-9);
    assert_eq!(solution.doing(place), Some(Doing::RunsAt((100.0 * share).round() as u8)));
    // With a pump whose plate speed is slower the drive has to turn it by so much faster.
    let slower = with(&garden, "pump.speed", 0.95, "");
    assert_relative_eq!(solved(&slower, &["beds"]).share_of_speed(place), share / 0.95, max_relative = 1e-9);
}

#[test]
fn the_power_goes_with_the_cube_of_the_speed_or_with_the_water_power() {
    let garden = started(&[drive(60.0)]);
    let place = garden.find("pump").expect("a pump");
    assert_eq!(solved(&garden, &["beds"]).electric_power_w(place), None);
    let plate = solved(&with(&garden, "pump.input_power", 600.0, "W"), &["beds"]);
    let share = plate.share_of_speed(place);
    assert_relative_eq!(plate.electric_power_w(place).expect("known"), 600.0 * share.powi(3) / 0.95, max_relative = 1e-9);
    let efficient = solved(&with(&garden, "pump.efficiency", 0.4, ""), &["beds"]);
    let (flow, rise) = at_pump(&efficient);
    let water_w = flow * q(1.0, "gpm").si * rise * PSI;
    assert_relative_eq!(efficient.electric_power_w(place).expect("known"), water_w / 0.4 / 0.95, max_relative = 1e-9);
    // At full speed the drive still takes its share.
    let full = with(&with(&garden, "pump.input_power", 600.0, "W"), "drive.set", 100.0, "psi");
    assert_relative_eq!(solved(&full, &["lawn"]).electric_power_w(place).expect("known"), 600.0 / 0.95, max_relative = 1e-9);
}

#[test]
fn a_pump_that_cannot_hold_the_pressure_runs_as_without_a_drive() {
    let driven = solved(&started(&[drive(85.0)]), &["lawn"]);
    let plain = solved(&started(&[]), &["lawn"]);
    for name in ["pump", "lawn head", "main"] {
        let pressures = [&driven, &plain].map(|solution| solution.pressure_pa(name).expect("known").expect("fed"));
        assert_relative_eq!(pressures[0], pressures[1], max_relative = 1e-9);
    }
    assert_eq!(driven.share_of_speed(driven.garden.find("pump").expect("a pump")), 1.0);
    assert!(driven.pressure_pa("pump").expect("known").expect("fed") < 85.0 * PSI);
}

#[test]
fn a_main_that_gives_the_pressure_alone_leaves_the_pump_off() {
    let off_psi = solved(&started(&[drive(1.0 + 5.0)]), &["beds"]).switches[0].off_pa / PSI;
    // It starts at the set pressure less the start margin of 5 psi.
    for (set_psi, verdict) in [(off_psi + 4.9, Verdict::NeverStarts), (off_psi + 5.1, Verdict::Runs)] {
        let garden = started(&[drive(set_psi)]);
        let solution = solved(&garden, &["beds"]);
        assert_eq!(solution.switches[0].verdict, verdict, "{set_psi} psi");
        let share = solution.share_of_speed(garden.find("pump").expect("a pump"));
        assert!((share > 0.0) == (verdict == Verdict::Runs), "{share}");
    }
    // Two pumps in a row: what the first adds is enough for the second.
    let two = line(&[
        supply("main", 40.0, 32.0, 6.0),
        booster("first", &[(0.0, 60.0), (10.0, 40.0)]),
        pump(),
        drive(60.0),
        head("bed", 0.125),
    ]);
    let solution = solved(&two, &[]);
    let inlet = solution.state("pump").expect("a pump").pressure_in_pa.expect("fed");
    assert!(inlet > 60.0 * PSI && !solution.runs[two.find("pump").expect("a pump")], "{inlet}");
    assert_relative_eq!(solution.pressure_pa("pump").expect("known").expect("fed"), inlet, max_relative = 1e-9);
}

#[test]
fn a_slope_to_the_set_pressure_agrees_with_a_difference() {
    use hosewright::hydraulics::{Network, Probe, ProbeKind};
    let garden = started(&[drive(60.0)]);
    let place = |name: &str| garden.find(name).expect("known");
    let mut network = Network::new(&garden, &garden.opened(&["beds"]).expect("a zone")).expect("sound");
    network.solve().expect("a steady state");
    let probe = Probe { place: place("beds head"), kind: ProbeKind::Flow };
    let slopes = network.slopes(&probe).expect("slopes");
    let slope = slopes.to(&network, place("drive"), Id::Set).expect("a slope");
    let mut at = |set_psi: f64| {
        network.set(place("drive"), Id::Set, set_psi * PSI).expect("a pressure");
        network.solve().expect("a steady state");
        network.probe(&probe)
    };
    let difference = (at(60.01) - at(59.99)) / (0.02 * PSI);
    assert!(difference > 0.0);
    assert_relative_eq!(slope, difference, max_relative = 1e-5);
    // What the main and the pump are like does not matter while the drive holds.
    for (name, number) in [("main", Id::StaticPressure), ("pump", Id::Speed)] {
        assert_eq!(slopes.to(&network, place(name), number).expect("a slope"), 0.0, "{name}");
    }
}

fn mornings(zones: &[(&str, f64)], pause_s: f64) -> Schedule {
    let zones = zones.iter().map(|(name, minutes)| ((*name).to_string(), 60.0 * minutes)).collect();
    Schedule { timers: vec![Timer { starts_s: vec![6.0 * HOUR], pause_s, zones, ..Timer::new("east") }], ..Schedule::default() }
}

/// Energy of the pump, J.
fn energy_j(log: &Log) -> f64 {
    log.energy_j()[0].1.expect("a power")
}

#[test]
fn a_drive_wakes_with_a_zone_and_sleeps_after_it() {
    for starters in [vec![drive(60.0), tank()], vec![drive(60.0)]] {
        let garden = with(&started(&starters), "pump.efficiency", 0.4, "");
        let log = operate(&garden, &mornings(&[("beds", 20.0), ("lawn", 10.0)], 600.0), DAY).expect("a run");
        let (opens, closes_at) = (times(&log, EventKind::ValveOpens), times(&log, EventKind::ValveCloses));
        let (starts, stops) = (times(&log, EventKind::PumpStarts), times(&log, EventKind::PumpStops));
        // At midnight the line is at what the main gives, so that the drive fills it once more.
        let n = starts.len();
        assert_eq!((n, stops.len()), (3, 3), "{log:?}");
        for (zone, start) in starts[1..].iter().enumerate() {
            assert!((0.0..60.0).contains(&(start - opens[zone])), "{starts:?}, {opens:?}");
            // 10 s after the flow, and until then the tank fills up.
            assert!((9.9..60.0).contains(&(stops[zone + 1] - closes_at[zone])), "{stops:?}, {closes_at:?}");
        }
        closes(&log);
        // While a zone runs all is as in a steady state.
        let (beds, lawn) = (solved(&garden, &["beds"]), solved(&garden, &["lawn"]));
        let place = garden.find("pump").expect("a pump");
        let steady_j =
            1200.0 * beds.electric_power_w(place).expect("a power") + 600.0 * lawn.electric_power_w(place).expect("a power");
        assert!((0.97..1.03).contains(&(energy_j(&log) / steady_j)), "{} of {steady_j} J", energy_j(&log));
        let highest = log.highest(place).expect("a pressure").pressure_pa;
        assert!(highest <= 60.0 * PSI + 10.0, "{highest}");
    }
}

#[test]
fn a_drive_takes_less_energy_than_a_relay() {
    let relay = part(Kind::PumpStart, "relay", &[]);
    let energy = |starter: Garden| {
        let garden = with(&started(&[starter, tank()]), "pump.input_power", 600.0, "W");
        energy_j(&operate(&garden, &mornings(&[("beds", 60.0)], 0.0), DAY).expect("a run"))
    };
    let (with_relay, with_drive) = (energy(relay), energy(drive(55.0)));
    assert_relative_eq!(with_relay, 600.0 * 3600.0, max_relative = 1e-6);
    assert!(with_drive < 0.7 * with_relay, "{with_drive} of {with_relay} J");
}

#[test]
fn a_main_that_rises_above_the_set_pressure_puts_the_pump_to_sleep() {
    let clock = |garden: &Garden| {
        let levels = vec![(0.0, 40.0 * PSI), (6.5 * HOUR, 75.0 * PSI)];
        let main = garden.part("main").expect("a main").clone().with_clock(&levels).expect("levels");
        garden.replace("main", &main).expect("a main")
    };
    let garden = clock(&started(&[drive(60.0), tank()]));
    let log = operate(&garden, &mornings(&[("beds", 60.0)], 0.0), DAY).expect("a run");
    let stops = times(&log, EventKind::PumpStops);
    let woken = times(&log, EventKind::PumpStarts);
    let before = stops.iter().filter(|stop| (**stop - 6.5 * HOUR).abs() < 1.0).count();
    assert_eq!(before, 1, "{log:?}");
    assert!(!woken.iter().any(|start| *start > 6.5 * HOUR && *start < 7.0 * HOUR), "{woken:?}");
    closes(&log);
}

#[test]
fn a_drive_locks_its_pump_out_where_no_water_comes() {
    let garden = started(&[drive(60.0), tank()]);
    let cut = Fault { from_s: 6.0 * HOUR + 300.0, ..Fault::new("main", FaultKind::Fails) };
    let options = Options { faults: &[cut], ..Options::default() };
    let log = operate_with(&garden, &mornings(&[("beds", 20.0), ("lawn", 10.0)], 60.0), DAY, &options).expect("a run");
    let dry = times(&log, EventKind::PumpStopsDry);
    assert_eq!(dry.len(), 1, "{log:?}");
    assert!(dry[0] - (6.0 * HOUR + 300.0) < 60.0, "{dry:?}");
}

fn ranged(garden: &Garden, low_psi: f64, high_psi: f64) -> Garden {
    ["beds head", "lawn head"].iter().fold(garden.clone(), |garden, name| {
        with(&with(&garden, &format!("{name}.range_low"), low_psi, "psi"), &format!("{name}.range_high"), high_psi, "psi")
    })
}

#[test]
fn a_window_of_a_drive_gives_the_set_pressures_at_which_all_heads_have_what_they_need() {
    let garden = ranged(&started(&[drive(60.0), tank()]), 35.0, 55.0);
    let window = drive_window(&garden, &Ask::default()).expect("a window");
    assert_eq!(window.verdict, Room::Works, "{}", window.card(UnitSystem::AsWritten));
    let least = |zone: &str, set_pa: f64| {
        let set = Quantity { si: set_pa, ..q(1.0, "psi") };
        let solution = solved(&garden.with("drive.set", set).expect("a path"), &[zone]);
        solution.pressure_pa(&format!("{zone} head")).expect("known").expect("fed") / PSI
    };
    for zone in &window.zones {
        let needs_pa = zone.needs_pa.expect("a need");
        if zone.needs_pump {
            assert_relative_eq!(least(&zone.zones[0], needs_pa), 35.0, max_relative = 1e-3);
        } else {
            // The main alone gives more than the heads need; the drive holds nothing back.
            assert!(needs_pa < zone.off_pa && least(&zone.zones[0], needs_pa) > 35.0, "{zone:?}");
        }
        // Where full speed brings no head above its range, no set pressure is too high.
        match zone.allows_pa {
            Some(allows_pa) => assert_relative_eq!(least(&zone.zones[0], allows_pa), 55.0, max_relative = 1e-3),
            None => assert!(least(&zone.zones[0], zone.full_speed_pa) < 55.0, "{zone:?}"),
        }
        let (_, share, _) = zone.suggested.expect("a suggestion");
        // A zone that the main alone would serve gets the set pressure too, where the main brings less than that.
        assert!(share < 1.0 && (!zone.needs_pump || share > 0.0), "{share}");
    }
    let range = window.range.expect("a range");
    // In a zone that needs the pump it has to start: 5 psi below the set pressure it is still above the pressure without the pump.
    let starts_pa = |zone: &DrivenZones| if zone.needs_pump { zone.off_pa + 5.0 * PSI } else { 0.0 };
    let least_pa = |zone: &DrivenZones| zone.needs_pa.expect("a need").max(starts_pa(zone));
    let highest = window.zones.iter().map(least_pa).fold(0.0, f64::max);
    let settled = window.settled_garden().expect("a garden");
    for zone in window.zones.iter().filter(|zone| zone.needs_pump) {
        assert!(solved(&settled, &[&zone.zones[0]]).runs[window.booster], "{zone:?}");
    }
    assert_relative_eq!(range.low_pa, highest + 3.0 * PSI, max_relative = 1e-9);
    let suggested = window.suggested.expect("a set pressure").si;
    assert!(suggested >= range.low_pa - 1.0 && suggested < range.low_pa + PSI, "{suggested}");
    // What the heads need is more than full speed gives, and no set pressure is left.
    let hungry = drive_window(&ranged(&started(&[drive(60.0), tank()]), 150.0, 160.0), &Ask::default()).expect("a window");
    assert_eq!((hungry.verdict, hungry.range.is_none()), (Room::DoesNotWork, true));
    assert!(hungry.card(UnitSystem::AsWritten).contains("less than its heads need"));
    // A relief valve set below what the heads need leaves none either.
    let relieved = garden.branch("drive", &part(Kind::Relief, "relief", &[("set", q(30.0, "psi"))])).expect("joins");
    assert_eq!(drive_window(&relieved, &Ask::default()).expect("a window").verdict, Room::DoesNotWork);
}

#[test]
fn a_garden_with_a_drive_has_no_window_of_a_switch_and_the_other_way_round() {
    let garden = started(&[drive(60.0), tank()]);
    let error = switch_window(&garden, &Ask::default()).expect_err("no window");
    assert_eq!(error, SettingsError::HasDrive { name: "drive".into(), pump: "pump".into() });
    assert_eq!(drive_window(&started(&[]), &Ask::default()).expect_err("no drive"), SettingsError::NoDrive);
    let other = Ask { switch: Some("tank".into()), ..Ask::default() };
    assert!(matches!(drive_window(&garden, &other), Err(SettingsError::NotADrive { .. })));
}
