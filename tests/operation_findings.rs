//! What a run over time warns of, each with a near miss; faults; and the facts of common practice behind the thresholds.

mod support;

use hosewright::findings::{Finding, Level, limits, of_log};
use hosewright::garden::Garden;
use hosewright::operation::{Fault, FaultKind, Options, Schedule, Timer, operate, operate_with};
use hosewright::parts::{Id, Kind, Part};
use hosewright::quantity::UnitSystem;
use support::{FT, GPM, PSI, hose, line, part, q, supply, valve};

const US: UnitSystem = UnitSystem::AsWritten;
const HOUR: f64 = 3600.0;

/// A tap, a check valve, a pump of 50 psi at no flow, a tank, a switch, a relief, a feed and one zone.
struct Plot {
    static_psi: f64,
    cut_in: f64,
    cut_out: f64,
    relief: f64,
    tank_gal: f64,
    leak_gph: f64,
    nozzle_in: f64,
}

const USUAL: Plot =
    Plot { static_psi: 42.0, cut_in: 45.0, cut_out: 70.0, relief: 100.0, tank_gal: 20.0, leak_gph: 0.0, nozzle_in: 0.156 };

impl Plot {
    fn garden(&self) -> Garden {
        let pump = Part::new(Kind::Booster).named("pump");
        let curve = [(0.0, 45.0 * PSI), (4.0 * GPM, 41.0 * PSI), (8.0 * GPM, 30.0 * PSI), (12.0 * GPM, 12.0 * PSI)];
        let mut pump = pump.and_then(|part| part.with_curve(&curve)).expect("a sound booster");
        pump.set(Id::InputPower, q(620.0, "W")).expect("a power");
        let mut parts = vec![
            supply("tap", self.static_psi, self.static_psi - 10.0, 6.0),
            part(Kind::CheckValve, "check", &[("diameter", q(0.75, "inch"))]),
            Garden::of(pump),
            part(Kind::PressureTank, "tank", &[("volume", q(self.tank_gal, "gal")), ("precharge", q(self.cut_in - 2.0, "psi"))]),
            part(Kind::PressureSwitch, "switch", &[("cut_in", q(self.cut_in, "psi")), ("cut_out", q(self.cut_out, "psi"))]),
            part(Kind::Relief, "relief", &[("set", q(self.relief, "psi"))]),
        ];
        if self.leak_gph > 0.0 {
            parts.push(part(Kind::Leak, "drip", &[("flow", q(self.leak_gph, "gph")), ("pressure", q(40.0, "psi"))]));
        }
        parts.extend([hose("feed", 60.0, 0.625), valve("bed")]);
        parts.push(part(
            Kind::Head,
            "spray",
            &[("nozzle", q(self.nozzle_in, "inch")), ("range_low", q(30.0, "psi")), ("range_high", q(70.0, "psi"))],
        ));
        line(&parts)
    }

    /// What the plot warns of in six hours, with the bed on from 2:00 for the given minutes.
    fn findings(&self, minutes: f64) -> Vec<Finding> {
        of_log(&operate(&self.garden(), &bed(minutes), 6.0 * HOUR).expect("runs"))
    }
}

fn bed(minutes: f64) -> Schedule {
    if minutes == 0.0 {
        return Schedule::default();
    }
    let timer = Timer {
        name: "east".into(),
        starts_s: vec![2.0 * HOUR],
        every_s: 24.0 * HOUR,
        first_day: 1,
        skipped_days: Vec::new(),
        calendar: None,
        adjustment: 1.0,
        pause_s: 0.0,
        range: None,
        zones: vec![("bed".into(), 60.0 * minutes)],
    };
    Schedule { timers: vec![timer], ..Schedule::default() }
}

fn has(findings: &[Finding], code: &str) -> bool {
    findings.iter().any(|finding| finding.code() == code)
}

fn text(findings: &[Finding], code: &str) -> String {
    findings.iter().find(|finding| finding.code() == code).unwrap_or_else(|| panic!("no {code} in {findings:#?}")).what(US)
}

#[test]
fn a_small_tank_makes_a_pump_start_too_often_and_a_large_one_does_not() {
    let small = Plot { tank_gal: 0.5, nozzle_in: 0.1, ..USUAL }.findings(60.0);
    assert!(text(&small, "short-cycles").contains("times in an hour"), "{small:#?}");
    let large = Plot { tank_gal: 80.0, nozzle_in: 0.1, ..USUAL }.findings(60.0);
    assert!(!has(&large, "short-cycles"), "{large:#?}");
}

#[test]
fn a_cut_in_below_what_the_street_gives_never_starts_the_pump_and_the_margin_is_told() {
    let low = Plot { cut_in: 20.0, ..USUAL }.findings(30.0);
    // The head has what it needs without the pump.
    let said = text(&low, "zone-needs-no-pump");
    assert!(said.contains("above cut-in 20 psi") && said.ends_with("and all outlets that ran had what they need"), "{said}");
    assert!(!has(&low, "never-starts"));
    assert!(!has(&USUAL.findings(30.0), "zone-needs-no-pump"));
    let garden = Plot { cut_in: 20.0, ..USUAL }.garden().with("spray.range_low", q(55.0, "psi")).expect("a need");
    let thirsty = of_log(&operate(&garden, &bed(30.0), 6.0 * HOUR).expect("runs"));
    assert!(text(&thirsty, "never-starts").contains("above cut-in 20 psi"), "{thirsty:#?}");
}

#[test]
fn a_cut_out_above_what_pump_and_street_reach_never_stops_and_where_it_settles_is_told() {
    // 42 psi and 45 psi at no flow are 87 psi.
    let high = Plot { cut_out: 95.0, relief: 120.0, ..USUAL }.findings(30.0);
    let never = text(&high, "never-stops");
    assert!(never.contains("settles at 87") || never.contains("settles at 86.9"), "{never}");
    assert!(text(&high, "dead-head-heat").contains("dead-headed"), "{high:#?}");
    let within = USUAL.findings(30.0);
    assert!(!has(&within, "never-stops") && !has(&within, "dead-head-heat"), "{within:#?}");
}

/// Common practice, no source: a switch of 30 and 75 psi with a relief at 75 psi weeps near cut-out.
#[test]
fn a_relief_at_cut_out_weeps_one_a_little_above_is_near_and_one_well_above_is_neither() {
    let with_relief = |psi: f64| Plot { cut_in: 30.0, cut_out: 75.0, relief: psi, ..USUAL }.findings(30.0);
    let at = with_relief(75.0);
    assert!(has(&at, "relief-weeps") && !has(&at, "relief-near-cut-out"), "{at:#?}");
    let near = with_relief(79.0);
    assert!(text(&near, "relief-near-cut-out").contains("only 4 psi above the 75 psi"), "{near:#?}");
    assert!(!has(&near, "relief-weeps"), "{near:#?}");
    assert!(!has(&with_relief(85.1), "relief-near-cut-out"));
    let below = Plot { cut_in: 45.0, cut_out: 75.0, relief: 70.0, ..USUAL }.findings(30.0);
    assert!(has(&below, "relief-weeps"), "{below:#?}");
}

#[test]
fn a_leak_wakes_the_pump_while_nothing_is_meant_to_be_open() {
    let leaking = Plot { leak_gph: 3.0, tank_gal: 2.0, ..USUAL }.findings(30.0);
    assert!(text(&leaking, "unneeded-starts").contains("with all zones off"), "{leaking:#?}");
    assert!(!has(&USUAL.findings(30.0), "unneeded-starts"));
}

#[test]
fn a_starved_head_and_a_starved_house_are_told() {
    let weak = Plot { static_psi: 25.0, cut_in: 26.0, cut_out: 60.0, nozzle_in: 0.25, ..USUAL }.findings(30.0);
    assert!(has(&weak, "below-range"), "{weak:#?}");
    assert!(has(&weak, "low-tap-pressure"), "{weak:#?}");
    let usual = USUAL.findings(30.0);
    assert!(!has(&usual, "below-range"), "{usual:#?}");
}

/// Each row of common practice that a threshold rests on, with the threshold in the unit of the row.
#[test]
fn the_thresholds_of_findings_are_those_of_common_practice() {
    let file = include_str!("checks/common_practice.csv");
    let mut reader = csv::Reader::from_reader(file.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a sound row")).collect();
    let thresholds = [
        ("CP-03", limits::HIGH_STATIC.usual / PSI),
        ("CP-06", limits::FAST_IN_PIPE.usual / FT),
        ("CP-07", limits::TOO_FAST.usual / FT),
        ("CP-09", limits::PRECHARGE_BELOW_CUT_IN_PA / PSI),
        ("CP-10", limits::LEAST_RUN.usual / 60.0),
        ("CP-11", limits::MOST_STARTS.usual),
        ("CP-11", limits::STARTS_PER_HOUR.usual),
        ("CP-12", limits::RELIEF_MARGIN.usual / PSI),
    ];
    for (case, found) in thresholds {
        let row = rows.iter().find(|row| &row[0] == case).expect("a row");
        let (low, high): (f64, f64) = (row[3].parse().expect("a number"), row[4].parse().expect("a number"));
        assert!(
            low * (1.0 - 1e-9) <= found && found <= high * (1.0 + 1e-9),
            "{case}: {found} is not in {low} to {high} {}",
            &row[5]
        );
    }
    assert!(rows.len() > 25);
}

#[test]
fn the_gravest_finding_comes_first() {
    let findings = Plot { cut_out: 95.0, relief: 80.0, leak_gph: 3.0, ..USUAL }.findings(30.0);
    let rank = |level: Level| [Level::Danger, Level::Warning, Level::Note].iter().position(|known| *known == level);
    assert!(findings.windows(2).all(|pair| rank(pair[0].level()) <= rank(pair[1].level())), "{findings:#?}");
}

#[test]
fn a_cut_in_at_what_the_street_holds_is_told_and_one_well_clear_of_it_is_not() {
    let at = Plot { static_psi: 45.0, ..USUAL }.findings(30.0);
    assert!(text(&at, "cut-in-near-static").contains("is right at cut-in"), "{at:#?}");
    let clear = Plot { static_psi: 52.0, ..USUAL }.findings(30.0);
    assert!(!has(&clear, "cut-in-near-static"), "{clear:#?}");
}

#[test]
fn a_pump_that_a_relief_keeps_running_never_stops_and_one_that_reaches_cut_out_does() {
    let held = Plot { relief: 55.0, ..USUAL }.findings(30.0);
    assert!(text(&held, "never-stops").contains("discharges"), "{held:#?}");
    assert!(!has(&USUAL.findings(30.0), "never-stops"));
}

#[test]
fn a_failed_main_leaves_the_pump_dry_and_one_without_pressure_lets_water_back() {
    let run = |garden: &Garden, kind: FaultKind| {
        let faults = [Fault::new("tap", kind)];
        let log = operate_with(garden, &bed(30.0), 6.0 * HOUR, &Options { faults: &faults, ..Options::default() });
        of_log(&log.expect("runs"))
    };
    let failed = run(&USUAL.garden(), FaultKind::Fails);
    assert!(text(&failed, "runs-dry").contains("6 h"), "{failed:#?}");
    assert!(!has(&USUAL.findings(30.0), "runs-dry"));
    let open = line(&[
        supply("tap", 42.0, 32.0, 6.0),
        hose("feed", 60.0, 0.625),
        part(Kind::PressureTank, "tank", &[("volume", q(20.0, "gal")), ("precharge", q(20.0, "psi"))]),
        valve("bed"),
        part(Kind::Head, "spray", &[("nozzle", q(0.156, "inch"))]),
    ]);
    assert!(has(&run(&open, FaultKind::LosesPressure), "backflow-into-tap"));
    assert!(!has(&run(&open, FaultKind::Fails), "backflow-into-tap"));
}

#[test]
fn what_the_layout_lacks_is_told_of_a_run_too() {
    assert!(has(&USUAL.findings(30.0), "no-backflow-preventer"));
}

#[test]
fn a_run_that_chatters_says_at_once_that_it_was_cut_short_and_with_which_period() {
    let chatter = line(&[
        supply("tap", 42.0, 32.0, 6.0),
        part(Kind::CheckValve, "check", &[("diameter", q(0.75, "inch"))]),
        support::booster("pump", &[(0.0, 45.0), (8.0, 30.0), (12.0, 12.0)]),
        part(Kind::PressureSwitch, "switch", &[("cut_in", q(45.0, "psi")), ("cut_out", q(60.0, "psi"))]),
        hose("feed", 60.0, 0.625),
        valve("bed"),
        part(Kind::Head, "spray", &[("nozzle", q(0.09, "inch"))]),
    ]);
    let day = |hours: f64| {
        let zone = Timer { zones: vec![("bed".into(), 23.0 * HOUR)], starts_s: vec![0.0], ..bed(1.0).timers.remove(0) };
        let schedule = Schedule { timers: vec![zone], ..Schedule::default() };
        operate(&chatter, &schedule, hours * HOUR).expect("runs")
    };
    let log = day(90.0 * 24.0);
    assert!(log.duration_s() < 60.0 && log.starts() < 60, "{} s, {} starts", log.duration_s(), log.starts());
    let found = of_log(&log);
    assert!(text(&found, "cut-short").contains("'pump' short-cycles every 0."), "{found:#?}");
    // A few starts are no chatter yet.
    let short = day(1.0 / 3600.0);
    assert!(short.cut_short().is_none() && !has(&of_log(&short), "cut-short"));
}

#[test]
fn a_timer_lends_its_range_to_its_valves_that_have_none_of_their_own() {
    let garden = USUAL.garden();
    let of = |low_psi: f64, garden: &Garden| {
        let mut schedule = bed(30.0);
        schedule.timers[0].range = Some([q(low_psi, "psi"), q(200.0, "psi")]);
        let log = operate(garden, &schedule, 6.0 * HOUR).expect("runs");
        (has(&of_log(&log), "valve-may-not-close"), log)
    };
    let (_, log) = of(1.0, &garden);
    let lowest_psi = log.lowest_at_inlet(garden.find("bed").expect("known")).expect("fed").pressure_pa / PSI;
    assert!(!of(lowest_psi - 0.1, &garden).0 && of(lowest_psi + 0.1, &garden).0);
    let own = garden.with("bed.range_low", q(1.0, "psi")).expect("sound");
    assert!(!of(lowest_psi + 0.1, &own).0, "its own range counts");
}

/// Studies are not in the core.
#[cfg(feature = "app")]
mod studies {
    use super::*;
    use hosewright::study::{SweepOptions, failure_study};
    use hosewright::table::Values;

    #[test]
    fn every_fault_of_every_part_is_tried_and_a_switch_that_does_not_stop_gives_the_dead_head() {
        let garden = USUAL.garden();
        let table = failure_study(&garden, &bed(30.0), 6.0 * HOUR, &SweepOptions::default()).expect("a table");
        let Values::Texts(faults) = &table.column("failure").expect("a column").values else { panic!("texts") };
        let faults: Vec<&str> = faults.iter().flatten().map(String::as_str).collect();
        for expected in ["none", "tap fails", "check stuck open", "switch will not stop", "relief stuck open", "bed stuck open"] {
            assert!(faults.contains(&expected), "{expected} is missing in {faults:?}");
        }
        let highest = match &table.column("highest").expect("a column").values {
            Values::Quantities { si, .. } => si.clone(),
            other => panic!("{other:?}"),
        };
        let of = |name: &str| highest[faults.iter().position(|fault| *fault == name).expect("tried")].expect("a pressure") / PSI;
        assert!((of("switch will not stop") - 87.0).abs() < 0.1, "{}", of("switch will not stop"));
        assert!((of("none") - 70.0).abs() < 0.01, "{}", of("none"));
    }
}
