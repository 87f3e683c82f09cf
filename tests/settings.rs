//! Windows of pressure switches against what `run` says of single settings, and falls of pressure there and back.

mod support;

use hosewright::findings::{Finding, Level, Source, of_garden};
use hosewright::garden::Garden;
use hosewright::hydraulics::{Network, Probe, ProbeKind, PumpState, Verdict as Switching, run};
use hosewright::operation::{EventKind, Schedule, Timer, operate};
use hosewright::parts::{Id, Kind, Part};
use hosewright::quantity::UnitSystem;
use hosewright::settings::{Ask, BoundKind, SettingsError, Verdict, Window, leak_down_time, leak_from_decay, switch_window};
use proptest::prelude::*;
use support::*;

const US: UnitSystem = UnitSystem::AsWritten;

fn check() -> Garden {
    part(Kind::CheckValve, "check", &[])
}

fn relief(set_psi: f64) -> Garden {
    part(Kind::Relief, "relief", &[("set", q(set_psi, "psi"))])
}

fn switch(cut_in_psi: f64, cut_out_psi: f64) -> Garden {
    part(Kind::PressureSwitch, "switch", &[("cut_in", q(cut_in_psi, "psi")), ("cut_out", q(cut_out_psi, "psi"))])
}

fn plot(cut_in_psi: f64, cut_out_psi: f64, relief_psi: f64) -> Garden {
    let trunk = line(&[
        supply("tap", 58.0, 44.0, 6.0),
        check(),
        hose("feed", 50.0, 0.75),
        booster("pump", &[(0.0, 40.0), (10.0, 20.0)]),
        switch(cut_in_psi, cut_out_psi),
        relief(relief_psi),
    ]);
    trunk
        .then_branches(&[
            line(&[valve("beds"), hose("bed line", 40.0, 0.5), head("bed", 5.0 / 32.0)]),
            line(&[valve("berries"), hose("berry line", 60.0, 0.625), climb("rise", 2.0), head("berry", 3.0 / 16.0)]),
        ])
        .expect("joins")
}

fn window(garden: &Garden) -> Window {
    switch_window(garden, &Ask::default()).expect("a window")
}

/// The window with the usual main pressure of `plot` as the lowest, which leaves nothing to warn of.
fn steady(garden: &Garden) -> Window {
    switch_window(garden, &Ask { lowest_static_pa: Some(58.0 * PSI), ..Ask::default() }).expect("a window")
}

fn night(garden: &Garden, psi: f64) -> Window {
    let ask = Ask { highest_static_pa: Some(psi * PSI), lowest_static_pa: Some(58.0 * PSI), ..Ask::default() };
    switch_window(garden, &ask).expect("a window")
}

fn codes(findings: &[Finding]) -> Vec<&'static str> {
    findings.iter().map(|finding| finding.code()).collect()
}

fn told<'a>(findings: &'a [Finding], code: &str) -> &'a Finding {
    findings.iter().find(|finding| finding.code() == code).unwrap_or_else(|| panic!("{code} in {:?}", codes(findings)))
}

fn set(garden: &Garden, cut_in_pa: f64, cut_out_pa: f64) -> Garden {
    // Cut-out goes out of the way first, so that the two never stand upside down between.
    let garden = garden.with("switch.cut_out", q(1000.0, "psi")).expect("sound");
    let garden = garden.with("switch.cut_in", q(cut_in_pa / PSI, "psi")).expect("sound");
    garden.with("switch.cut_out", q(cut_out_pa / PSI, "psi")).expect("sound")
}

fn verdicts(garden: &Garden) -> Vec<Switching> {
    ["beds", "berries"].map(|zone| run(garden, &[zone]).expect("a steady state").switches[0].verdict).to_vec()
}

#[test]
fn any_settings_inside_an_open_window_run_every_zone_without_a_warning() {
    let garden = plot(30.0, 50.0, 97.0);
    let found = window(&garden);
    assert_eq!(found.verdict, Verdict::Works);
    let (cut_in, cut_out) = (found.cut_in.expect("open"), found.cut_out.expect("open"));
    for share in [0.0, 0.3, 0.7, 1.0] {
        let stop = cut_out.low_pa + share * (cut_out.high_pa - cut_out.low_pa);
        for start in [cut_in.low_pa, stop - found.differential_pa] {
            let garden = set(&garden, start, stop);
            assert_eq!(verdicts(&garden), [Switching::Runs; 2], "{} to {} psi", start / PSI, stop / PSI);
            let findings = steady(&garden).findings();
            assert!(findings.iter().all(|finding| finding.level() == Level::Note), "{:?}", codes(&findings));
            assert!(!codes(&findings).contains(&"near-cut-in") && !codes(&findings).contains(&"near-cut-out"));
        }
    }
}

#[test]
fn settings_just_beyond_the_limits_do_not_run_every_zone() {
    let garden = plot(30.0, 50.0, 97.0);
    let found = window(&garden);
    let limit = |kind: BoundKind| found.highest_floor(kind).expect("zones").limit_pa;
    let (off, on) = (limit(BoundKind::ZoneWithoutPump), limit(BoundKind::ZoneWithPump));
    assert!(verdicts(&set(&garden, off - 10.0, on + 2e4)).contains(&Switching::NeverStarts));
    assert!(!verdicts(&set(&garden, off + 10.0, on + 2e4)).contains(&Switching::NeverStarts));
    assert!(verdicts(&set(&garden, off + 1e4, on - 10.0)).contains(&Switching::ShortCycles));
    assert!(!verdicts(&set(&garden, off + 1e4, on + 10.0)).contains(&Switching::ShortCycles));
    // Against shut valves pump and supply reach 58 + 40 psi.
    approx::assert_relative_eq!(found.dead_head_pa, 98.0 * PSI, max_relative = 1e-9);
}

#[test]
fn a_30_75_switch_with_a_relief_at_75_is_told_that_they_coincide() {
    // Common practice, no source: a relief valve opens well above cut-out.
    let findings = window(&plot(30.0, 75.0, 75.0)).findings();
    let finding = told(&findings, "relief-weeps");
    assert_eq!(finding.what(US), "cut-out 75 psi of 'switch' is at a limit: relief 'relief' set at 75 psi");
    assert_eq!((finding.level(), finding.source()), (Level::Warning, Source::CommonPractice));
    let apart = window(&plot(55.0, 85.0, 95.0)).findings();
    assert!(!codes(&apart).contains(&"relief-weeps") && !codes(&apart).contains(&"relief-near-cut-out"), "{:?}", codes(&apart));
}

#[test]
fn a_cut_out_beyond_pump_and_supply_never_stops_and_is_told_where_it_settles() {
    // Common practice, no source.
    let beyond = window(&plot(55.0, 105.0, 150.0));
    let finding = told(&beyond.findings(), "never-stops").what(US);
    assert!(finding.ends_with("line pressure settles at 98 psi, with no flow"), "{finding}");
    // With a relief below dead head it settles where the relief passes what the pump gives.
    let relieved = window(&plot(55.0, 105.0, 80.0));
    let settled = relieved.settled;
    assert!(settled.pressure_pa > 80.0 * PSI && settled.pressure_pa < 98.0 * PSI);
    let passes = (settled.pressure_pa - 80.0 * PSI) / (8.0 * PSI) * 10.0 * GPM;
    approx::assert_relative_eq!(settled.flow_m3_per_s, passes, max_relative = 1e-6);
    assert!(told(&relieved.findings(), "never-stops").what(US).contains("lost through relief valves"));
}

#[test]
fn a_window_and_the_garden_at_rest_agree_on_whether_the_pump_stops() {
    // Shut-off is at 58 + 40 = 98 psi; 5 psi of margin are usual.
    let expected = [(92.0, None), (93.1, Some("near-dead-head")), (97.9, Some("near-dead-head")), (98.1, Some("never-stops"))];
    for (cut_out_psi, code) in expected {
        let leak = part(Kind::Leak, "drip", &[("flow", q(20.0, "gph")), ("pressure", q(40.0, "psi"))]);
        let garden = plot(55.0, cut_out_psi, 150.0).branch("feed", &leak).expect("joins");
        for found in [codes(&window(&garden).findings()), codes(&of_garden(&garden))] {
            let about_stops = found.iter().find(|code| ["never-stops", "near-dead-head"].contains(code));
            assert_eq!(about_stops.copied(), code, "{cut_out_psi} psi: {found:?}");
        }
    }
}

#[test]
fn a_rating_behind_the_valve_of_a_zone_does_not_bound_cut_out_and_one_before_it_does() {
    let rated = |path: &str| window(&plot(55.0, 75.0, 150.0).with(path, q(80.0, "psi")).expect("sound"));
    let bounds = |window: &Window| window.bounds.iter().filter(|bound| bound.kind == BoundKind::Rating).count();
    assert_eq!(bounds(&rated("bed line.pressure_rating")), 0);
    assert_eq!(bounds(&rated("pump.pressure_rating")), 1);
}

#[test]
fn a_shut_window_names_changes_and_each_of_them_opens_it() {
    let garden = plot(55.0, 75.0, 75.0);
    let shut = night(&garden, 66.0);
    assert_eq!(shut.verdict, Verdict::DoesNotWork);
    assert!(shut.cut_in.is_none() && shut.suggestion.is_none());
    assert!(!shut.remedies.is_empty());
    for remedy in &shut.remedies {
        let words = remedy.change.words(UnitSystem::AsWritten);
        let suggestion = remedy.suggestion;
        assert!(suggestion.keeps_margins, "{words}");
        let set = set(&remedy.garden, suggestion.cut_in.si, suggestion.cut_out.si);
        if !words.contains("run '") && !words.contains("connect '") {
            assert_eq!(verdicts(&set), [Switching::Runs; 2], "{words}");
            let now = night(&set, 66.0);
            assert!(now.findings().iter().all(|f| f.level() == Level::Note), "{words}");
        }
    }
}

#[test]
fn the_settings_it_suggests_can_be_bought_and_are_inside() {
    let found = window(&plot(30.0, 50.0, 97.0));
    let suggestion = found.suggestion.expect("open");
    assert!(suggestion.keeps_margins);
    for (setting, range) in [(suggestion.cut_in, found.cut_in), (suggestion.cut_out, found.cut_out)] {
        let (range, steps) = (range.expect("open"), setting.si / (5.0 * PSI));
        assert!((range.low_pa..=range.high_pa).contains(&setting.si), "{setting}");
        assert!((steps - steps.round()).abs() < 1e-9, "{setting}");
    }
    let apart_psi = (suggestion.cut_out.si - suggestion.cut_in.si) / PSI;
    assert!((15.0 - 1e-9..=30.0 + 1e-9).contains(&apart_psi), "{apart_psi}");
    assert_eq!(verdicts(&found.settled_garden().expect("a suggestion")), [Switching::Runs; 2]);
    // Wider when that is asked for.
    let wide = Ask { differential_pa: Some(31.0 * PSI), widest_pa: Some(40.0 * PSI), ..Ask::default() };
    let suggestion = switch_window(&plot(30.0, 50.0, 120.0), &wide).expect("a window").suggestion.expect("open");
    assert!(suggestion.cut_out.si - suggestion.cut_in.si >= 31.0 * PSI);
}

#[test]
fn a_metric_garden_is_told_quarters_of_a_bar() {
    let bar = |value: f64| q(value, "bar");
    let garden = plot(30.0, 50.0, 97.0);
    let part =
        Part::of_words(Kind::PressureSwitch, Some("switch"), &[("cut_in", bar(2.0)), ("cut_out", bar(3.0))]).expect("sound");
    let found = window(&garden.replace("switch", &part).expect("sound"));
    let suggestion = found.suggestion.expect("open");
    for setting in [suggestion.cut_in, suggestion.cut_out] {
        let steps = setting.si / 2.5e4;
        assert!((steps - steps.round()).abs() < 1e-9, "{setting}");
    }
    assert!((1e5..=2e5).contains(&(suggestion.cut_out.si - suggestion.cut_in.si).round()));
}

/// Starts of the pump over an hour of beds and an hour of berries, how long it ran in the hours after, and what it was told.
fn day_with(garden: &Garden, main_psi: f64, settings: (f64, f64)) -> (usize, f64) {
    let garden = set(garden, settings.0, settings.1);
    let garden = garden.with("tap.measured_pressure", q(1.0, "psi")).expect("sound");
    let garden = garden.with("tap.static_pressure", q(main_psi, "psi")).expect("sound");
    let garden = garden.with("tap.measured_pressure", q(main_psi - 14.0, "psi")).expect("sound");
    let timer = Timer {
        starts_s: vec![3600.0],
        zones: vec![("beds".into(), 3600.0), ("berries".into(), 3600.0)],
        pause_s: 1800.0,
        ..Timer::new("day")
    };
    let log = operate(&garden, &Schedule { timers: vec![timer], ..Schedule::default() }, 6.0 * 3600.0).expect("runs");
    let pump = garden.find("pump").expect("known");
    let idle_s: f64 = log
        .runs(pump)
        .map(|run| {
            let (from, to) = (run.from_s, run.to_s.unwrap_or(6.0 * 3600.0));
            let idle = |low: f64, high: f64| (to.min(high) - from.max(low)).max(0.0);
            idle(7200.0 + 60.0, 9000.0) + idle(12_600.0 + 60.0, 21_600.0)
        })
        .sum();
    (log.starts(), idle_s)
}

#[test]
fn suggested_settings_start_and_stop_the_pump_at_the_lowest_and_the_highest_main_pressure() {
    let tank = part(Kind::PressureTank, "tank", &[("volume", q(5.0, "gal")), ("precharge", q(40.0, "psi"))]);
    let garden = plot(30.0, 50.0, 110.0).branch("switch", &tank).expect("joins");
    let ask = Ask { lowest_static_pa: Some(50.0 * PSI), highest_static_pa: Some(62.0 * PSI), ..Ask::default() };
    let found = switch_window(&garden, &ask).expect("a window");
    let suggestion = found.suggestion.expect("open");
    assert!(suggestion.keeps_margins);
    for main_psi in [50.0, 58.0, 62.0] {
        let (starts, idle_s) = day_with(&garden, main_psi, (suggestion.cut_in.si, suggestion.cut_out.si));
        assert!(starts >= 2, "{starts} starts with {main_psi} psi");
        assert!(idle_s < 1.0, "{idle_s} s against closed valves with {main_psi} psi");
    }
    // The highest cut-out of a window that was not told of the weak evening: there the pump runs on for hours.
    let high = window(&garden).cut_out.expect("open").high_pa;
    let (_, idle_s) = day_with(&garden, 50.0, (suggestion.cut_in.si, high));
    assert!(idle_s > 3000.0, "{idle_s} s");
}

#[test]
fn a_window_takes_the_lowest_main_pressure_of_the_supply_unless_another_is_asked_for() {
    let garden = plot(55.0, 80.0, 110.0);
    let given = garden.with("tap.lowest_static", q(50.0, "psi")).expect("a garden");
    let asked = |garden: &Garden, lowest_psi: f64| {
        let ask = Ask { lowest_static_pa: Some(lowest_psi * PSI), ..Ask::default() };
        switch_window(garden, &ask).expect("a window")
    };
    let limits = |window: &Window| (window.cut_out, window.dead_head_lowest_pa, codes(&window.findings()));
    assert_eq!(limits(&window(&given)), limits(&asked(&garden, 50.0)));
    assert_ne!(limits(&window(&given)), limits(&window(&garden)));
    // Below what the supply gives, where its own lowest pressure has to give way.
    assert_eq!(limits(&asked(&given, 45.0)), limits(&asked(&garden, 45.0)));
}

#[test]
fn without_a_lowest_main_pressure_the_window_says_how_far_the_main_may_fall() {
    let garden = plot(55.0, 80.0, 110.0);
    let found = window(&garden);
    let warned = told(&found.findings(), "lowest-main").clone();
    // Pump and main reach 40 psi above the main: 80 psi are reached down to 40 psi.
    let expected =
        "the lowest main pressure is not given: at cut-out 80 psi the pump stops only while the main stays above 40 psi";
    assert_eq!((warned.level(), warned.what(US).as_str()), (Level::Warning, expected));
    approx::assert_relative_eq!(
        found.stops_down_to_pa(80.0 * PSI).expect("solves").expect("a limit"),
        40.0 * PSI,
        max_relative = 1e-4
    );
    let cut_out = found.suggestion.expect("open").cut_out;
    assert!(
        found
            .card(UnitSystem::AsWritten)
            .contains(&format!("at cut-out {cut_out} the pump stops only while the main stays above"))
    );
    assert!(!codes(&steady(&garden).findings()).contains(&"lowest-main"));
    // Shut-off is taken at the lowest: it falls with the main, whatever stands on the tap's gauge.
    for lowest_psi in [58.0, 52.0, 20.0, 9.0] {
        let ask = Ask { lowest_static_pa: Some(lowest_psi * PSI), ..Ask::default() };
        let found = switch_window(&garden, &ask).expect("a window");
        approx::assert_relative_eq!(found.dead_head_lowest_pa, (40.0 + lowest_psi) * PSI, max_relative = 1e-6);
    }
    let crossed = Ask { lowest_static_pa: Some(60.0 * PSI), highest_static_pa: Some(50.0 * PSI), ..Ask::default() };
    assert!(matches!(switch_window(&garden, &crossed), Err(SettingsError::MainsUpsideDown { .. })));
}

/// A plot with a zone that draws so little that no cut-out lies between its pressure with the pump and shut-off, and one that
/// does not.
fn with_drip(drips: usize) -> Garden {
    let trunk = line(&[
        supply("tap", 58.0, 44.0, 6.0),
        check(),
        booster("pump", &[(0.0, 40.0), (10.0, 20.0)]),
        hose("feed", 20.0, 0.75),
        switch(55.0, 80.0),
    ]);
    let mut zones = vec![line(&[valve("beds"), head("bed", 0.2)]), line(&[valve("berries"), head("berry", 0.22)])];
    for number in 0..drips {
        let name = format!("drip {number}");
        let lines = part(Kind::Emitter, &format!("lines {number}"), &[("flow", q(5.0, "gph")), ("pressure", q(25.0, "psi"))]);
        zones.push(line(&[valve(&name), lines]));
    }
    trunk.then_branches(&zones).expect("joins")
}

#[test]
fn a_garden_with_a_relay_or_control_needs_no_window() {
    let garden = with_drip(1);
    let control = [("cut_in", q(45.0, "psi"))];
    for starter in [part(Kind::PumpStart, "starter", &[]), part(Kind::PumpControl, "starter", &control)] {
        let started = garden.branch("switch", &starter).expect("joins");
        let error = switch_window(&started, &Ask::default()).expect_err("no window");
        assert!(error.to_string().contains("'starter' starts 'pump'"), "{error}");
    }
    assert!(switch_window(&garden, &Ask::default()).is_ok());
}

#[test]
fn a_window_without_a_setting_says_which_zones_work_alone_and_what_helps() {
    for drips in [1, 3] {
        let found = steady(&with_drip(drips));
        assert!(found.verdict != Verdict::Works && !found.is_sound());
        let works: Vec<String> = found.works_and_fails().0.into_iter().map(|case| case.title()).collect();
        assert_eq!(works, ["beds", "berries"]);
        let card = found.card(UnitSystem::AsWritten);
        assert!(card.contains("With 'beds' and 'berries' alone there is a setting; 'drip 0'"), "{card}");
        assert!(card.contains("upstream of the pump: then cut-in"), "{card}");
        let place = |words: &str| card.find(words).unwrap_or_else(|| panic!("{words}: {card}"));
        assert!(place("start the pump from the timer") < place("it works if you"), "the timer comes first: {card}");
        // Each alone has a window, and so have those that work together.
        let alone = |zones: &[&str]| {
            let zones = zones.iter().map(|zone| vec![zone.to_string()]).collect();
            switch_window(&found.garden, &Ask { zones, lowest_static_pa: Some(58.0 * PSI), ..Ask::default() }).expect("a window")
        };
        assert!(!alone(&["drip 0"]).is_sound());
        for zones in [&["beds"][..], &["berries"], &["beds", "berries"]] {
            assert_eq!(alone(zones).verdict, Verdict::Works, "{zones:?}");
        }
    }
}

/// What the switch reads in the whole garden with these zones open.
fn reads_pa(garden: &Garden, zones: &[&str], pump: PumpState) -> f64 {
    let mut network = Network::new(garden, &garden.opened(zones).expect("zones")).expect("a sound garden");
    network.run_pump(garden.find("pump").expect("known"), pump);
    network.solve().expect("a steady state");
    network.probe(&Probe { place: garden.find("switch").expect("known"), kind: ProbeKind::Pressure })
}

#[test]
fn zones_solved_by_themselves_read_what_the_whole_garden_reads() {
    let behind = |name: &str, line: Garden| (name.to_string(), line);
    let drips = with_drip(3);
    let master = line(&[
        supply("tap", 58.0, 44.0, 6.0),
        valve("main"),
        hose("feed", 30.0, 0.75),
        booster("pump", &[(0.0, 40.0), (10.0, 20.0)]),
        switch(40.0, 70.0),
    ])
    .then_branches(&[
        line(&[valve("north"), hose("long", 300.0, 0.5), head("far", 0.15)]),
        line(&[valve("sub"), valve("south"), head("near", 0.2)]),
    ])
    .expect("joins");
    for (what, garden) in [behind("drips", drips), behind("a valve before the pump", master)] {
        let window = steady(&garden);
        let main = garden.find("main").is_ok();
        for case in &window.cases {
            let mut zones: Vec<&str> = case.zones.iter().map(String::as_str).collect();
            zones.extend(main.then_some("main"));
            let read = [PumpState::Off, PumpState::Running].map(|pump| reads_pa(&garden, &zones, pump));
            assert_eq!([case.off_pa, case.on_pa], read, "{what}, {zones:?}");
        }
    }
}

#[test]
fn a_zone_that_needs_no_pump_is_no_fault_of_the_switch() {
    let garden =
        line(&[supply("tap", 58.0, 44.0, 6.0), check(), booster("pump", &[(0.0, 40.0), (10.0, 20.0)]), switch(50.0, 80.0)]);
    let near =
        part(Kind::Head, "near", &[("nozzle", q(0.06, "inch")), ("range_low", q(20.0, "psi")), ("range_high", q(90.0, "psi"))]);
    let far =
        part(Kind::Head, "far", &[("nozzle", q(0.2, "inch")), ("range_low", q(40.0, "psi")), ("range_high", q(90.0, "psi"))]);
    let zones = [line(&[valve("pots"), near]), line(&[valve("lawn"), hose("line", 50.0, 0.625), far])];
    let garden = garden.then_branches(&zones).expect("joins");
    let findings = steady(&garden).findings();
    let finding = told(&findings, "zone-needs-no-pump");
    assert_eq!(finding.level(), Level::Note);
    assert!(finding.what(US).starts_with("the pump stays off in 'pots'"), "{}", finding.what(US));
    assert!(!codes(&findings).contains(&"never-starts"), "{:?}", codes(&findings));
    // Where the lowest main pressure leaves too little, it is one.
    let ask = Ask { lowest_static_pa: Some(15.0 * PSI), ..Ask::default() };
    let weak = switch_window(&garden, &ask).expect("a window");
    assert!(codes(&weak.findings()).contains(&"never-starts"));
}

#[test]
fn a_higher_street_pressure_at_night_raises_the_zones_and_leaves_the_dead_head_that_must_be_reached() {
    let garden = plot(30.0, 50.0, 97.0);
    let (usual, higher) = (window(&garden), night(&garden, 66.0));
    for (a, b) in usual.cases.iter().zip(&higher.cases) {
        assert_eq!((a.off_pa, a.on_pa), (b.off_pa, b.on_pa));
        assert!(b.off_highest_pa > a.off_pa + 4.0 * PSI && b.on_highest_pa > a.on_pa);
    }
    assert_eq!(usual.dead_head_pa, higher.dead_head_pa);
    approx::assert_relative_eq!(higher.dead_head_highest_pa, 106.0 * PSI, max_relative = 1e-9);
    assert!(codes(&usual.findings()).contains(&"highest-main"));
    assert!(!codes(&higher.findings()).contains(&"highest-main"));
}

#[test]
fn ratings_and_reliefs_count_at_the_height_of_the_switch() {
    let at_height = |height_ft: f64| {
        let garden = plot(55.0, 75.0, 150.0);
        let far = line(&[
            climb("hill", height_ft),
            part(
                Kind::Hose,
                "weak",
                &[("length", q(9.0, "ft")), ("diameter", q(0.5, "inch")), ("pressure_rating", q(100.0, "psi"))],
            ),
        ]);
        let found = window(&garden.branch("switch", &far).expect("joins"));
        found.bounds.iter().find(|bound| bound.kind == BoundKind::Rating).expect("a rating").limit_pa
    };
    // Ten feet down the hose feels rho g h more: 999.1 x 9.80665 x 3.048 Pa.
    approx::assert_relative_eq!(at_height(0.0) - at_height(-10.0), 999.1 * 9.80665 * 10.0 * FT, max_relative = 1e-6);
    approx::assert_relative_eq!(at_height(0.0), 100.0 * PSI, max_relative = 1e-6);
}

#[test]
fn a_rating_behind_a_regulator_does_not_bound_cut_out() {
    let shielded = line(&[
        part(Kind::Regulator, "reg", &[("set", q(25.0, "psi"))]),
        part(Kind::Hose, "soft", &[("length", q(9.0, "ft")), ("diameter", q(0.5, "inch")), ("pressure_rating", q(30.0, "psi"))]),
        head("tiny", 0.05),
    ]);
    let trunk = plot(55.0, 75.0, 150.0).branch("switch", &line(&[valve("herbs"), shielded])).expect("joins");
    assert!(window(&trunk).bounds.iter().all(|bound| bound.kind != BoundKind::Rating));
}

#[test]
fn questions_without_an_answer_are_refused() {
    let bare = line(&[supply("tap", 58.0, 44.0, 6.0), head("bed", 0.125)]);
    assert_eq!(switch_window(&bare, &Ask::default()).unwrap_err(), SettingsError::NoSwitch);
    let lonely = line(&[supply("tap", 58.0, 44.0, 6.0), switch(30.0, 50.0), head("bed", 0.125)]);
    assert_eq!(switch_window(&lonely, &Ask::default()).unwrap_err(), SettingsError::NoBooster { name: "switch".into() });
    let other = Ask { switch: Some("pump".into()), ..Ask::default() };
    assert!(matches!(switch_window(&plot(30.0, 50.0, 97.0), &other), Err(SettingsError::NotASwitch { .. })));
    let unknown = Ask { zones: vec![vec!["bds".into()]], ..Ask::default() };
    assert!(switch_window(&plot(30.0, 50.0, 97.0), &unknown).is_err());
}

/// A garden that stores water in a tank and in the stretch of its feed, behind a check valve.
fn storing() -> Garden {
    let feed = Part::of_words(
        Kind::Hose,
        Some("long feed"),
        &[("length", q(100.0, "ft")), ("diameter", q(0.75, "inch")), ("compliance", q(3.0, "mL/bar/m"))],
    );
    let tank = part(Kind::PressureTank, "tank", &[("volume", q(5.0, "gal")), ("precharge", q(58.0, "psi"))]);
    plot(60.0, 80.0, 97.0).branch("switch", &Garden::of(feed.expect("a sound hose")).then(&tank).expect("joins")).expect("joins")
}

/// The water in the hoses of a garden is a little elastic, m3/Pa: at least a liter at 2.15 GPa.
fn squeezed(garden: &Garden) -> f64 {
    let hoses = garden.parts().iter().filter(|part| part.kind() == Kind::Hose);
    let volume: f64 =
        hoses.map(|hose| std::f64::consts::PI / 4.0 * hose.value(Id::Diameter).powi(2) * hose.value(Id::Length)).sum();
    volume.max(1e-3) / 2.15e9
}

#[test]
fn the_leak_from_a_fall_lets_the_pressure_fall_in_that_time() {
    let garden = storing();
    for (from, to, time_s) in [(80.0, 60.0, 3600.0), (96.0, 59.0, 7.0)] {
        for at in ["switch", "tank", "long feed"] {
            let leak = leak_from_decay(&garden, q(from, "psi"), q(to, "psi"), time_s, Some(at)).expect("a leak");
            let leaking = garden.branch(at, &Garden::of(leak)).expect("joins");
            let fall = leak_down_time(&leaking, q(from, "psi"), q(to, "psi"), Some(at)).expect("a fall");
            approx::assert_relative_eq!(fall.time_s.expect("it falls"), time_s, max_relative = 1e-9);
            // Read at the tank itself the water that came is known: Boyle, the stretch of the hose, the compression of the water.
            let stretched = (3e-11 * 100.0 * FT + squeezed(&garden)) * (from - to) * PSI;
            let absolute = |psi: f64| psi * PSI + 101_325.0;
            let tank = 5.0 * 3.785_411_784e-3 * absolute(58.0) * (1.0 / absolute(to) - 1.0 / absolute(from));
            if at != "switch" {
                approx::assert_relative_eq!(fall.water_m3, stretched + tank, max_relative = 1e-9);
            }
        }
    }
}

#[test]
fn a_leak_besides_those_a_garden_has_is_what_they_do_not_explain() {
    let drip = |gph: f64| part(Kind::Leak, "drip", &[("flow", q(gph, "gph")), ("pressure", q(80.0, "psi"))]);
    let (high, low) = (q(80.0, "psi"), q(60.0, "psi"));
    let one = storing().branch("tank", &drip(1.0)).expect("joins");
    let time_s =
        leak_down_time(&storing().branch("tank", &drip(3.0)).expect("joins"), high, low, Some("tank")).expect("a fall").time_s;
    let rest = leak_from_decay(&one, high, low, time_s.expect("it falls"), Some("tank")).expect("a leak");
    approx::assert_relative_eq!(rest.si(Id::Flow).expect("a flow"), q(2.0, "gph").si, max_relative = 1e-9);
    let long = 2.0 * leak_down_time(&one, high, low, Some("tank")).expect("a fall").time_s.expect("it falls");
    assert!(matches!(leak_from_decay(&one, high, low, long, Some("tank")), Err(SettingsError::Explained { .. })));
}

/// A pump with its switch at these pressures, a tank, and behind a hose of this diameter a leak.
fn leaking_far_away(diameter_in: f64, cut_in_psi: f64, cut_out_psi: f64) -> Garden {
    line(&[
        supply("tap", 40.0, 30.0, 6.0),
        check(),
        booster("pump", &[(0.0, 45.0), (10.0, 20.0)]),
        part(Kind::PressureTank, "tank", &[("volume", q(5.0, "gal")), ("precharge", q(38.0, "psi"))]),
        switch(cut_in_psi, cut_out_psi),
        hose("thin", 100.0, diameter_in),
        part(Kind::Leak, "drip", &[("flow", q(20.0, "gph")), ("pressure", q(50.0, "psi"))]),
    ])
}

/// When the pump first starts in a garden that is left alone with this pressure, s.
fn starts_at(garden: &Garden, held_psi: f64, within_s: f64) -> Option<f64> {
    let schedule = Schedule { held_pa: Some(held_psi * PSI), ..Schedule::default() };
    let log = operate(garden, &schedule, within_s).expect("runs");
    log.events().find(|event| event.kind == EventKind::PumpStarts).map(|event| event.time_s)
}

#[test]
fn the_hose_between_tank_and_leak_slows_the_fall_as_in_a_run_over_time_and_as_a_quadrature_says() {
    let mut before = 0.0;
    for diameter_in in [0.75, 0.25, 0.125] {
        let garden = leaking_far_away(diameter_in, 45.0, 65.0);
        let fall = leak_down_time(&garden, q(65.0, "psi"), q(45.0, "psi"), None).expect("a fall").time_s.expect("it falls");
        let run = starts_at(&garden, 65.0, 7200.0).expect("the pump starts");
        approx::assert_relative_eq!(fall, run, max_relative = 1e-6);
        // C dP / q(P) by Simpson's rule, with q from a supply that holds P where the tank was.
        let flow = |pressure_pa: f64| {
            let tank = part(Kind::Supply, "tank", &[("static_pressure", q(pressure_pa, "Pa"))]);
            let leak = part(Kind::Leak, "drip", &[("flow", q(20.0, "gph")), ("pressure", q(50.0, "psi"))]);
            let far = line(&[tank, hose("thin", 100.0, diameter_in), leak]);
            run_flow(&far, "drip")
        };
        let stored = |pressure_pa: f64| {
            let air = 5.0 * 3.785_411_784e-3 * (38.0 * PSI + 101_325.0) / (pressure_pa + 101_325.0).powi(2);
            air + squeezed(&garden)
        };
        const PIECES: usize = 200;
        let width = 20.0 * PSI / PIECES as f64;
        let value = |index: usize| {
            let pressure_pa = 45.0 * PSI + width * index as f64;
            stored(pressure_pa) / flow(pressure_pa)
        };
        let weight = |index: usize| {
            if index == 0 || index == PIECES {
                1.0
            } else if index % 2 == 1 {
                4.0
            } else {
                2.0
            }
        };
        let sum: f64 = (0..=PIECES).map(|index| weight(index) * value(index)).sum();
        approx::assert_relative_eq!(fall, sum * width / 3.0, max_relative = 1e-6);
        assert!(fall > 1.0001 * before, "{fall} s after {before} s");
        before = fall;
    }
}

fn run_flow(garden: &Garden, place: &str) -> f64 {
    let solution = run(garden, &[]).expect("a steady state");
    solution.parts[garden.find(place).expect("known")].flow_m3_per_s
}

/// One more branch of a garden that is left alone.
#[derive(Clone, Debug)]
struct Branch {
    length_ft: f64,
    diameter_in: f64,
    /// mL/bar/m; none for a stiff hose.
    stretch: Option<f64>,
    check: bool,
    height_ft: f64,
    gph: f64,
    emitter: bool,
}

fn branches() -> impl Strategy<Value = Vec<Branch>> {
    let branch =
        (5.0f64..200.0, 0.1f64..1.0, prop::option::of(1.0f64..8.0), any::<bool>(), -20.0f64..40.0, 0.2f64..15.0, any::<bool>());
    let branch = branch.prop_map(|(length_ft, diameter_in, stretch, check, height_ft, gph, emitter)| Branch {
        length_ft,
        diameter_in,
        stretch,
        check,
        height_ft,
        gph,
        emitter,
    });
    prop::collection::vec(branch, 1..4)
}

/// What lies between tank and switch.
#[derive(Clone, Debug)]
struct Between {
    length_ft: f64,
    diameter_in: f64,
    height_ft: f64,
    /// A leak on the way.
    gph: Option<f64>,
}

fn between() -> impl Strategy<Value = Between> {
    let numbers = (1.0f64..150.0, 0.1f64..1.0, -10.0f64..10.0, prop::option::of(0.2f64..15.0));
    numbers.prop_map(|(length_ft, diameter_in, height_ft, gph)| Between { length_ft, diameter_in, height_ft, gph })
}

fn left_alone(tank: bool, between: Option<&Between>, branches: &[Branch], cut_in_psi: f64) -> Garden {
    let mut trunk = vec![supply("tap", 40.0, 30.0, 6.0), check(), booster("pump", &[(0.0, 45.0), (10.0, 20.0)])];
    if tank {
        trunk.push(part(Kind::PressureTank, "tank", &[("volume", q(5.0, "gal")), ("precharge", q(38.0, "psi"))]));
    }
    if let Some(between) = between {
        trunk.push(hose("between", between.length_ft, between.diameter_in));
        trunk.push(climb("ramp", between.height_ft));
        trunk.extend(between.gph.map(|gph| part(Kind::Leak, "seep", &[("flow", q(gph, "gph")), ("pressure", q(50.0, "psi"))])));
    }
    trunk.push(switch(cut_in_psi, 70.0));
    let of = |(number, branch): (usize, &Branch)| {
        let mut numbers = vec![("length", q(branch.length_ft, "ft")), ("diameter", q(branch.diameter_in, "inch"))];
        numbers.extend(branch.stretch.map(|stretch| ("compliance", q(stretch, "mL/bar/m"))));
        let mut parts = Vec::new();
        if branch.check {
            parts.push(part(Kind::CheckValve, &format!("check {number}"), &[("diameter", q(0.75, "inch"))]));
        }
        parts.push(climb(&format!("climb {number}"), branch.height_ft));
        parts.push(part(Kind::Hose, &format!("hose {number}"), &numbers));
        let (kind, name) = (if branch.emitter { Kind::Emitter } else { Kind::Leak }, format!("drip {number}"));
        parts.push(part(kind, &name, &[("flow", q(branch.gph, "gph")), ("pressure", q(50.0, "psi"))]));
        line(&parts)
    };
    let branches: Vec<Garden> = branches.iter().enumerate().map(of).collect();
    line(&trunk).then_branches(&branches).expect("joins")
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, max_shrink_iters: 60, ..ProptestConfig::default() })]

    #[test]
    fn a_fall_takes_as_long_as_in_a_run_over_time(
        tank in any::<bool>(), between in prop::option::of(between()), branches in branches(), cut_in_psi in 42.0f64..60.0,
    ) {
        let tank = tank || branches.iter().all(|branch| branch.stretch.is_none());
        let garden = left_alone(tank, between.as_ref(), &branches, cut_in_psi);
        // What is held is told at the height of the tap, and read at that of the switch.
        let rise_psi = between.map_or(0.0, |between| 999.1 * 9.80665 * between.height_ft * FT / PSI);
        let fall = leak_down_time(&garden, q(65.0, "psi"), q(cut_in_psi, "psi"), None).expect("a fall");
        let Some(time_s) = fall.time_s else {
            // All leaks lie where water reaches them: only a switch that lies low feels more from the street than its cut-in.
            prop_assert!(40.0 - rise_psi >= cut_in_psi, "the street holds {} psi", 40.0 - rise_psi);
            prop_assert_eq!(starts_at(&garden, 65.0 + rise_psi, 86_400.0), None);
            return Ok(());
        };
        let run_s = starts_at(&garden, 65.0 + rise_psi, 1.01 * time_s + 1.0).expect("the pump starts");
        prop_assert!((time_s - run_s).abs() <= 1e-6 * time_s + 1e-9, "{} s, and {} s in the run over time", time_s, run_s);
    }
}

#[test]
fn a_leak_never_wakes_a_pump_whose_cut_in_the_street_holds() {
    let leak = part(Kind::Leak, "drip", &[("flow", q(1.0, "gph")), ("pressure", q(60.0, "psi"))]);
    let leaking = storing().branch("long feed", &leak).expect("joins");
    let fall = leak_down_time(&leaking, q(80.0, "psi"), q(50.0, "psi"), None).expect("a fall");
    assert_eq!(fall.time_s, None);
    approx::assert_relative_eq!(fall.main_pa.expect("fed"), 58.0 * PSI, max_relative = 1e-9);
    assert!(leak_down_time(&leaking, q(80.0, "psi"), q(60.0, "psi"), None).expect("a fall").time_s.is_some());
}

#[test]
fn falls_without_an_answer_are_refused() {
    let (high, low) = (q(80.0, "psi"), q(60.0, "psi"));
    assert_eq!(leak_down_time(&plot(60.0, 80.0, 97.0), high, low, None).unwrap_err(), SettingsError::NoStore);
    assert!(matches!(leak_from_decay(&storing(), low, high, 60.0, None), Err(SettingsError::NoFall { .. })));
    assert!(matches!(leak_from_decay(&storing(), high, low, 0.0, None), Err(SettingsError::NoTime { .. })));
    let open = line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 50.0, 0.75)]);
    assert!(matches!(leak_from_decay(&open, high, low, 60.0, Some("feed")), Err(SettingsError::RunsBack { .. })));
}

#[test]
fn the_suggested_cut_in_keeps_clear_of_what_the_street_holds_at_rest() {
    // Zones without the pump allow a cut-in from some 48 psi; the street holds 50 psi, a round number that must not be taken.
    let garden = line(&[
        supply("tap", 50.0, 32.0, 5.0),
        check(),
        booster("pump", &[(0.0, 45.0), (5.0, 38.0), (10.0, 22.0)]),
        switch(50.0, 85.0),
        hose("feed", 120.0, 0.625),
        valve("lawn"),
        hose("line", 40.0, 0.5),
        head("spray", 0.125),
    ]);
    let found = window(&garden);
    let cut_in = found.suggestion.expect("open").cut_in;
    assert!((found.rest_pa - 50.0 * PSI).abs() < 1.0, "{}", found.rest_pa);
    assert!((cut_in.si - found.rest_pa).abs() >= 0.99 * PSI, "{cut_in}");
    assert!(found.card(UnitSystem::AsWritten).contains("static main pressure, so"));
    let far = plot(55.0, 80.0, 97.0);
    let cut_in = window(&far).suggestion.expect("open").cut_in;
    assert!(cut_in.si <= window(&far).rest_pa - 2.9 * PSI, "{cut_in}");
}
