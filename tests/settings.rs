//! Windows of pressure switches against what `run` says of single settings, and falls of pressure there and back.

mod support;

use hosewright::findings::{Finding, Level, Source};
use hosewright::garden::Garden;
use hosewright::hydraulics::{Verdict as Switching, run};
use hosewright::parts::{Kind, Part};
use hosewright::quantity::UnitSystem;
use hosewright::settings::{Ask, BoundKind, SettingsError, Verdict, Window, leak_from, switch_window, time_to_fall};
use support::*;

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

fn night(garden: &Garden, psi: f64) -> Window {
    switch_window(garden, &Ask { highest_static_pa: Some(psi * PSI), ..Ask::default() }).expect("a window")
}

fn codes(findings: &[Finding]) -> Vec<&'static str> {
    findings.iter().map(|finding| finding.code).collect()
}

fn told<'a>(findings: &'a [Finding], code: &str) -> &'a Finding {
    findings.iter().find(|finding| finding.code == code).unwrap_or_else(|| panic!("{code} in {:?}", codes(findings)))
}

fn set(garden: &Garden, cut_in_pa: f64, cut_out_pa: f64) -> Garden {
    // Cut-out goes out of the way first, so that the two never stand upside down between.
    let garden = garden.but("switch.cut_out", q(1000.0, "psi")).expect("sound");
    let garden = garden.but("switch.cut_in", q(cut_in_pa / PSI, "psi")).expect("sound");
    garden.but("switch.cut_out", q(cut_out_pa / PSI, "psi")).expect("sound")
}

fn verdicts(garden: &Garden) -> Vec<Switching> {
    ["beds", "berries"].map(|zone| run(garden, &[zone]).expect("a steady state").switches[0].verdict).to_vec()
}

#[test]
fn any_settings_inside_an_open_window_run_every_zone_without_a_warning() {
    let garden = plot(30.0, 50.0, 97.0);
    let found = window(&garden);
    assert_eq!(found.verdict, Verdict::Open);
    let (cut_in, cut_out) = (found.cut_in.expect("open"), found.cut_out.expect("open"));
    for share in [0.0, 0.3, 0.7, 1.0] {
        let stop = cut_out.low_pa + share * (cut_out.high_pa - cut_out.low_pa);
        for start in [cut_in.low_pa, stop - found.ask.differential_pa] {
            let garden = set(&garden, start, stop);
            assert_eq!(verdicts(&garden), [Switching::Runs; 2], "{} to {} psi", start / PSI, stop / PSI);
            let findings = window(&garden).findings(UnitSystem::AsWritten);
            assert!(findings.iter().all(|finding| finding.level == Level::Note), "{:?}", codes(&findings));
            assert!(!codes(&findings).contains(&"barely-starts") && !codes(&findings).contains(&"near-cut-out"));
        }
    }
}

#[test]
fn settings_just_beyond_the_limits_do_not_run_every_zone() {
    let garden = plot(30.0, 50.0, 97.0);
    let found = window(&garden);
    let limit = |kind: BoundKind| found.highest_floor(kind).expect("zones").limit_pa;
    let (off, on) = (limit(BoundKind::ZoneWithoutPump), limit(BoundKind::ZoneWithPump));
    assert!(verdicts(&set(&garden, off - 10.0, on + 2e4)).contains(&Switching::Sleeps));
    assert!(!verdicts(&set(&garden, off + 10.0, on + 2e4)).contains(&Switching::Sleeps));
    assert!(verdicts(&set(&garden, off + 1e4, on - 10.0)).contains(&Switching::Cycles));
    assert!(!verdicts(&set(&garden, off + 1e4, on + 10.0)).contains(&Switching::Cycles));
    // Against shut valves pump and supply reach 58 + 40 psi.
    approx::assert_relative_eq!(found.dead_head_pa, 98.0 * PSI, max_relative = 1e-9);
}

#[test]
fn a_30_75_switch_with_a_relief_at_75_is_told_that_they_coincide() {
    // Common practice, no source: a relief valve opens well above cut-out.
    let findings = window(&plot(30.0, 75.0, 75.0)).findings(UnitSystem::AsWritten);
    let finding = told(&findings, "relief-weeps");
    assert_eq!(finding.what, "cut-out 75 psi of 'switch' and the relief valve coincide: relief 'relief' set at 75 psi");
    assert_eq!((finding.level, finding.source), (Level::Warning, Source::CommonPractice));
    let apart = window(&plot(55.0, 85.0, 95.0)).findings(UnitSystem::AsWritten);
    assert!(!codes(&apart).contains(&"relief-weeps") && !codes(&apart).contains(&"relief-near-cut-out"), "{:?}", codes(&apart));
}

#[test]
fn a_cut_out_beyond_pump_and_supply_never_stops_and_is_told_where_it_settles() {
    // Common practice, no source.
    let beyond = window(&plot(55.0, 105.0, 150.0));
    let finding = told(&beyond.findings(UnitSystem::AsWritten), "never-stops").what.clone();
    assert!(finding.ends_with("it settles at 98 psi, with nothing flowing"), "{finding}");
    // With a relief below dead head it settles where the relief passes what the pump gives.
    let relieved = window(&plot(55.0, 105.0, 80.0));
    let settled = relieved.settled;
    assert!(settled.pressure_pa > 80.0 * PSI && settled.pressure_pa < 98.0 * PSI);
    let passes = (settled.pressure_pa - 80.0 * PSI) / (8.0 * PSI) * 10.0 * GPM;
    approx::assert_relative_eq!(settled.flow_m3_per_s, passes, max_relative = 1e-6);
    assert!(told(&relieved.findings(UnitSystem::AsWritten), "never-stops").what.contains("lost through relief valves"));
}

#[test]
fn a_shut_window_names_changes_and_each_of_them_opens_it() {
    let garden = plot(55.0, 75.0, 75.0);
    let shut = night(&garden, 66.0);
    assert_eq!(shut.verdict, Verdict::Shut);
    assert!(shut.cut_in.is_none() && shut.suggestion.is_none());
    assert!(!shut.openers.is_empty());
    for opener in &shut.openers {
        let words = opener.change.words(UnitSystem::AsWritten);
        let (cut_in, cut_out) = opener.suggestion.expect("an open window has room for settings");
        let set = set(&opener.garden, cut_in.si, cut_out.si);
        if !words.contains("run '") {
            assert_eq!(verdicts(&set), [Switching::Runs; 2], "{words}");
            let now = night(&set, 66.0);
            assert!(now.findings(UnitSystem::AsWritten).iter().all(|f| f.level == Level::Note), "{words}");
        }
    }
}

#[test]
fn the_settings_it_suggests_are_round_and_inside() {
    let found = window(&plot(30.0, 50.0, 97.0));
    let (cut_in, cut_out) = found.suggestion.expect("open");
    for (setting, range) in [(cut_in, found.cut_in), (cut_out, found.cut_out)] {
        let (range, psi) = (range.expect("open"), setting.si / PSI);
        assert!((range.low_pa..=range.high_pa).contains(&setting.si), "{setting}");
        assert!((psi - psi.round()).abs() < 1e-9, "{setting}");
    }
    let settled = found.settled_garden().expect("a suggestion");
    assert_eq!(verdicts(&settled), [Switching::Runs; 2]);
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
    assert!(codes(&usual.findings(UnitSystem::AsWritten)).contains(&"night-unknown"));
    assert!(!codes(&higher.findings(UnitSystem::AsWritten)).contains(&"night-unknown"));
}

#[test]
fn ratings_and_reliefs_count_at_the_height_of_the_switch() {
    let at_height = |height_ft: f64| {
        let garden = plot(55.0, 75.0, 150.0);
        let far = line(&[
            climb("hill", height_ft),
            part(Kind::Hose, "weak", &[("length", q(9.0, "ft")), ("bore", q(0.5, "inch")), ("rating", q(100.0, "psi"))]),
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
        part(Kind::Hose, "soft", &[("length", q(9.0, "ft")), ("bore", q(0.5, "inch")), ("rating", q(30.0, "psi"))]),
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
    let feed = Part::build(
        Kind::Hose,
        Some("long feed"),
        &[("length", q(100.0, "ft")), ("bore", q(0.75, "inch")), ("stretch", q(3.0, "mL/bar/m"))],
    );
    let tank = part(Kind::PressureTank, "tank", &[("volume", q(5.0, "gal")), ("precharge", q(58.0, "psi"))]);
    plot(60.0, 80.0, 97.0).branch("switch", &Garden::of(feed.expect("a sound hose")).then(&tank).expect("joins")).expect("joins")
}

#[test]
fn the_leak_from_a_fall_lets_the_pressure_fall_in_that_time() {
    let garden = storing();
    for (from, to, time_s) in [(80.0, 60.0, 3600.0), (96.0, 59.0, 7.0)] {
        let leak = leak_from(&garden, q(from, "psi"), q(to, "psi"), time_s, None).expect("a leak");
        let leaking = garden.branch("long feed", &Garden::of(leak)).expect("joins");
        let fall = time_to_fall(&leaking, q(from, "psi"), q(to, "psi"), None).expect("a fall");
        approx::assert_relative_eq!(fall.time_s.expect("it falls"), time_s, max_relative = 1e-9);
        let stretched = 3e-11 * 100.0 * FT * (from - to) * PSI;
        let tank =
            5.0 * 3.785_411_784e-3 * (58.0 * PSI + 101_325.0) * (1.0 / (to * PSI + 101_325.0) - 1.0 / (from * PSI + 101_325.0));
        approx::assert_relative_eq!(fall.water_m3, stretched + tank, max_relative = 1e-9);
    }
}

#[test]
fn a_leak_never_wakes_a_pump_whose_cut_in_the_street_holds() {
    let leak = part(Kind::Leak, "drip", &[("flow", q(1.0, "gph")), ("pressure", q(60.0, "psi"))]);
    let leaking = storing().branch("long feed", &leak).expect("joins");
    let fall = time_to_fall(&leaking, q(80.0, "psi"), q(50.0, "psi"), None).expect("a fall");
    assert_eq!(fall.time_s, None);
    approx::assert_relative_eq!(fall.street_pa.expect("fed"), 58.0 * PSI, max_relative = 1e-9);
    assert!(time_to_fall(&leaking, q(80.0, "psi"), q(60.0, "psi"), None).expect("a fall").time_s.is_some());
}

#[test]
fn falls_without_an_answer_are_refused() {
    let (high, low) = (q(80.0, "psi"), q(60.0, "psi"));
    assert_eq!(time_to_fall(&plot(60.0, 80.0, 97.0), high, low, None).unwrap_err(), SettingsError::NoStore);
    assert!(matches!(leak_from(&storing(), low, high, 60.0, None), Err(SettingsError::NoFall { .. })));
    assert!(matches!(leak_from(&storing(), high, low, 0.0, None), Err(SettingsError::NoTime { .. })));
    let open = line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 50.0, 0.75)]);
    assert!(matches!(leak_from(&open, high, low, 60.0, Some("feed")), Err(SettingsError::RunsBack { .. })));
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
    let (cut_in, _) = found.suggestion.expect("open");
    assert!((found.rest_pa - 50.0 * PSI).abs() < 1.0, "{}", found.rest_pa);
    assert!((cut_in.si - found.rest_pa).abs() >= 0.99 * PSI, "{cut_in}");
    assert!(found.card(UnitSystem::AsWritten).contains("below what the street holds at rest"));
    let far = plot(55.0, 80.0, 97.0);
    let (cut_in, _) = window(&far).suggestion.expect("open");
    assert!(cut_in.si <= window(&far).rest_pa - 2.9 * PSI, "{cut_in}");
}
