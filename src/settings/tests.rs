//! Windows and falls of pressure against closed formulas: gardens without friction, whose states are roots of quadratic equations.

use super::bounds::{Bound, BoundKind as Of};
use super::mains::Mains;
use super::words::zones_in_words;
use super::{Ask, Case, Range, SettingsError, Store, Verdict, Window, leak_down_time, leak_from_decay, scale, switch_window};
use crate::findings::Level;
use crate::findings::limits::{PIPE_RATING, RELIEF_MARGIN, SHUT_OFF_MARGIN};
use crate::garden::Garden;
use crate::hydraulics::run;
use crate::laws::vessel::ATMOSPHERE_PA;
use crate::parts::{Id, Kind, Law};
use crate::quantity::{Preference, UnitSystem, find_unit};
use crate::support::*;
use crate::told::Told;
use approx::assert_relative_eq;
use proptest::prelude::*;

const GRAVITY: f64 = 9.80665;
const DENSITY: f64 = 999.1;

/// A main that holds its pressure at any flow.
fn stiff_main(psi: f64) -> Garden {
    part(Kind::Supply, "main", &[("static_pressure", q(psi, "psi"))])
}

fn switch(cut_in_psi: f64, cut_out_psi: f64) -> Garden {
    part(Kind::PressureSwitch, "switch", &[("cut_in", q(cut_in_psi, "psi")), ("cut_out", q(cut_out_psi, "psi"))])
}

/// A valve without loss and a head that gives `gpm` at 64 psi.
fn zone(name: &str, gpm: f64) -> Garden {
    let free = part(Kind::Valve, name, &[("k", q(0.0, ""))]);
    line(&[
        free,
        part(Kind::Head, &format!("{name} head"), &[("rated_flow", q(gpm, "gpm")), ("rated_flow_pressure", q(64.0, "psi"))]),
    ])
}

/// Main, check valve without loss, a pump whose rise falls from `shut_off_psi` by 2 psi a gpm, the switch.
fn trunk(main_psi: f64, shut_off_psi: f64) -> Garden {
    let check = part(Kind::CheckValve, "check", &[("k", q(0.0, ""))]);
    line(&[stiff_main(main_psi), check, booster("pump", &[(0.0, shut_off_psi), (10.0, shut_off_psi - 20.0)]), switch(60.0, 80.0)])
}

/// The trunk with zones that give so much at 64 psi.
fn plot(main_psi: f64, shut_off_psi: f64, zones: &[(&str, f64)]) -> Garden {
    let zones: Vec<Garden> = zones.iter().map(|(name, gpm)| zone(name, *gpm)).collect();
    trunk(main_psi, shut_off_psi).then_branches(&zones).expect("joins")
}

/// Pressure and flow, psi and gpm, where the pump meets a head of `gpm` at 64 psi: with s the root of the pressure, the rise
/// is shut_off - 2 (gpm / 8) s and s^2 = main + rise.
fn meets(main_psi: f64, shut_off_psi: f64, gpm: f64) -> (f64, f64) {
    let factor = gpm / 8.0;
    let root = -factor + (factor * factor + main_psi + shut_off_psi).sqrt();
    (root * root, factor * root)
}

fn window(garden: &Garden) -> Window {
    switch_window(garden, &Ask::default()).expect("a window")
}

fn psi(pa: f64) -> f64 {
    pa / PSI
}

fn bound(kind: Of, limit_pa: f64, margin_pa: f64) -> Bound {
    Bound { kind, place: None, zones: Vec::new(), limit_pa, margin_pa, own: None }
}

#[test]
fn a_case_is_the_root_of_a_quadratic_equation() {
    // 4 gpm at 64 psi on 50 psi and 40 psi of shut-off: s^2 + s - 90 = 0, hence 81 psi and 4.5 gpm.
    let found = window(&plot(50.0, 40.0, &[("beds", 4.0), ("berries", 2.0)]));
    let beds = &found.cases[0];
    assert_eq!(beds.zones, ["beds"]);
    assert_relative_eq!(psi(beds.off_pa), 50.0, max_relative = 1e-9);
    assert_relative_eq!(psi(beds.on_pa), 81.0, max_relative = 1e-9);
    assert_relative_eq!(beds.flow_m3_per_s / GPM, 4.5, max_relative = 1e-9);
    let (berries_psi, berries_gpm) = meets(50.0, 40.0, 2.0);
    assert_relative_eq!(psi(found.cases[1].on_pa), berries_psi, max_relative = 1e-9);
    assert_relative_eq!(found.cases[1].flow_m3_per_s / GPM, berries_gpm, max_relative = 1e-9);
    for (value_pa, expected_psi) in [(found.rest_pa, 50.0), (found.dead_head_pa, 90.0), (found.settled.pressure_pa, 90.0)] {
        assert_relative_eq!(psi(value_pa), expected_psi, max_relative = 1e-9);
    }
    assert_eq!((found.settled.flow_m3_per_s, beds.relieved_m3_per_s), (0.0, 0.0));
}

#[test]
fn the_highest_main_raises_cases_and_the_lowest_lowers_the_dead_head() {
    let ask = Ask { lowest_static_pa: Some(35.0 * PSI), highest_static_pa: Some(60.0 * PSI), ..Ask::default() };
    let found = switch_window(&plot(50.0, 40.0, &[("beds", 4.0)]), &ask).expect("a window");
    let case = &found.cases[0];
    assert_relative_eq!(psi(case.on_pa), 81.0, max_relative = 1e-9);
    assert_relative_eq!(psi(case.off_highest_pa), 60.0, max_relative = 1e-9);
    assert_relative_eq!(psi(case.on_highest_pa), meets(60.0, 40.0, 4.0).0, max_relative = 1e-9);
    assert_relative_eq!(psi(found.rest_highest_pa), 60.0, max_relative = 1e-9);
    assert_relative_eq!(psi(found.dead_head_lowest_pa), 75.0, max_relative = 1e-9);
    assert_relative_eq!(psi(found.dead_head_highest_pa), 100.0, max_relative = 1e-9);
    assert_relative_eq!(psi(found.dead_head_pa), 90.0, max_relative = 1e-9);
}

#[test]
fn a_main_said_to_be_higher_than_its_lowest_or_lower_than_its_highest_changes_nothing() {
    let plain = window(&plot(50.0, 40.0, &[("beds", 4.0)]));
    let ask = Ask { lowest_static_pa: Some(55.0 * PSI), highest_static_pa: Some(55.0 * PSI), ..Ask::default() };
    let found = switch_window(&plot(50.0, 40.0, &[("beds", 4.0)]), &ask).expect("a window");
    assert_eq!(found.dead_head_lowest_pa, plain.dead_head_lowest_pa, "the usual pressure is the lower one");
    assert!(found.cases[0].on_highest_pa > plain.cases[0].on_highest_pa);
}

#[test]
fn the_ranges_follow_from_zones_dead_head_and_margins() {
    // Without the pump 50 psi and with it 68.9 psi; shut-off at 110 psi.
    let found = window(&plot(50.0, 60.0, &[("beds", 16.0)]));
    let on_psi = meets(50.0, 60.0, 16.0).0;
    let (cut_in, cut_out) = (found.cut_in.expect("open"), found.cut_out.expect("open"));
    assert_eq!(found.verdict, Verdict::Works);
    assert_relative_eq!(psi(cut_in.low_pa), 53.0, max_relative = 1e-9);
    assert_relative_eq!(psi(cut_out.high_pa), 105.0, max_relative = 1e-9);
    assert_relative_eq!(psi(cut_in.high_pa), 105.0 - 15.0, max_relative = 1e-9);
    assert_relative_eq!(psi(cut_out.low_pa), (on_psi + 3.0).max(53.0 + 15.0), max_relative = 1e-9);
}

#[test]
fn a_window_is_open_narrow_or_shut_right_at_its_margins() {
    // One zone at on_psi, dead head at 90: room between is 90 - on_psi; margins take 3 and 5 psi.
    let verdict = |gpm: f64| window(&plot(50.0, 40.0, &[("beds", gpm)])).verdict;
    // on = 82 psi leaves exactly the margins: s = sqrt(82), 2 factor s = 90 - 82.
    let gpm_at = |on_psi: f64| 8.0 * (90.0 - on_psi) / (2.0 * on_psi.sqrt());
    assert_eq!(verdict(gpm_at(81.99)), Verdict::Works);
    assert_eq!(verdict(gpm_at(82.01)), Verdict::NoMargin);
    // A wider difference than the main leaves closes it: cut-in above 50, cut-out below 90, 41 psi apart.
    let ask = |psi: f64| Ask { differential_pa: Some(psi * PSI), ..Ask::default() };
    let apart = |psi: f64| switch_window(&plot(50.0, 40.0, &[("beds", 4.0)]), &ask(psi)).expect("a window").verdict;
    assert_eq!(
        [apart(31.9), apart(32.1), apart(39.9), apart(40.1)],
        [Verdict::Works, Verdict::NoMargin, Verdict::NoMargin, Verdict::DoesNotWork]
    );
    assert_eq!(
        [Verdict::Works, Verdict::NoMargin, Verdict::DoesNotWork].map(Verdict::word),
        ["works", "works, no margin", "does not work"]
    );
}

#[test]
fn what_lies_higher_or_lower_than_the_switch_bounds_it_by_the_weight_of_the_water() {
    let relief = part(Kind::Relief, "relief", &[("set", q(95.0, "psi"))]);
    let low = line(&[part(Kind::Uphill, "down", &[("height", q(-3.0, "m"))]), relief]);
    let rated =
        part(Kind::Pipe, "pipe", &[("length", q(1.0, "m")), ("diameter", q(0.05, "m")), ("pressure_rating", q(200.0, "psi"))]);
    let high = line(&[part(Kind::Uphill, "up", &[("height", q(4.0, "m"))]), rated]);
    let garden = plot(50.0, 40.0, &[("beds", 4.0)]).branch("switch", &low).and_then(|garden| garden.branch("switch", &high));
    let found = window(&garden.expect("joins"));
    let of = |kind: Of| found.bounds.iter().find(|bound| bound.kind == kind).expect("a bound");
    let (relief, rating) = (of(Of::Relief), of(Of::Rating));
    assert_relative_eq!(relief.limit_pa, 95.0 * PSI - DENSITY * GRAVITY * 3.0, max_relative = 1e-9);
    assert_relative_eq!(rating.limit_pa, 200.0 * PSI + DENSITY * GRAVITY * 4.0, max_relative = 1e-9);
    assert_eq!(relief.margin_pa, RELIEF_MARGIN.usual);
    assert_relative_eq!(rating.margin_pa, (1.0 - PIPE_RATING.usual) * 200.0 * PSI, max_relative = 1e-12);
    assert_eq!(of(Of::DeadHead).margin_pa, SHUT_OFF_MARGIN.usual);
    assert_relative_eq!(found.lowest_ceiling().expect("a pump").limit_pa, relief.limit_pa, max_relative = 1e-12);
    assert_eq!(
        found.source_of(relief).show(UnitSystem::Us),
        "relief 'relief' set at 95 psi, 90.7 psi at the switch",
        "a part at another height is told with its limit at the switch"
    );
}

#[test]
fn a_bound_keeps_its_margin_to_its_own_side() {
    let lower = [Of::ZoneWithoutPump, Of::ZoneWithPump];
    for kind in [Of::ZoneWithoutPump, Of::ZoneWithPump, Of::DeadHead, Of::Relief, Of::Rating] {
        let bound = bound(kind, 4e5, 2e4);
        assert_eq!(bound.is_lower(), lower.contains(&kind), "{kind:?}");
        assert_eq!(bound.kept_pa(), if bound.is_lower() { 4.2e5 } else { 3.8e5 }, "{kind:?}");
        assert_eq!(bound.setting(), if kind == Of::ZoneWithoutPump { "cut-in" } else { "cut-out" });
        // The setting that keeps the margin keeps a share of one, that at the limit none, whatever the other setting is.
        let share = |setting_pa: f64| match kind {
            Of::ZoneWithoutPump => bound.kept_share(setting_pa, 9e9),
            _ => bound.kept_share(-9e9, setting_pa),
        };
        assert_relative_eq!(share(bound.kept_pa()), 1.0, max_relative = 1e-12);
        assert_eq!(share(bound.limit_pa), 0.0);
        assert!(share(2.0 * bound.limit_pa - bound.kept_pa()) < 0.0);
    }
}

#[test]
fn the_main_may_fall_until_pump_and_main_just_reach_cut_out() {
    let found = window(&plot(50.0, 40.0, &[("beds", 4.0)]));
    let down_to = |cut_out_psi: f64| found.stops_down_to_pa(cut_out_psi * PSI).expect("a steady state");
    for cut_out_psi in [60.0, 75.0, 89.0] {
        let main_pa = down_to(cut_out_psi).expect("it depends on the main");
        assert!((main_pa - (cut_out_psi - 40.0) * PSI).abs() <= 10.0, "{cut_out_psi}: {}", psi(main_pa));
    }
    assert_eq!(down_to(91.0), None, "beyond shut-off nothing stops it");
    assert_eq!(down_to(39.0), None, "the pump alone reaches it");
}

#[test]
fn a_main_at_another_pressure_loses_the_same_to_the_same_flow() {
    let garden = line(&[supply("tap", 50.0, 40.0, 5.0), head("bed", 0.1)]);
    let resistance = |garden: &Garden| match garden.law_of(0) {
        Law::Source { resistance, .. } => resistance,
        law => panic!("a tap has the law of a source, found {law:?}"),
    };
    for main_psi in [200.0, 80.0, 50.0, 20.0, 10.0, 9.0, 1.0] {
        let changed = garden.with_main(|_| main_psi * PSI).expect("a sound tap");
        assert_relative_eq!(resistance(&changed), resistance(&garden), max_relative = 1e-12);
        assert_relative_eq!(changed.parts()[0].value(Id::StaticPressure), main_psi * PSI, max_relative = 1e-12);
    }
    let same = garden.with_main(|usual_pa| usual_pa).expect("a sound tap");
    assert_eq!(same, garden);
}

#[test]
fn mains_take_the_lower_and_the_higher_of_what_is_given_and_what_is_usual() {
    let garden = line(&[stiff_main(50.0), head("bed", 0.1)]);
    let static_psi = |garden: &Garden| psi(garden.parts()[0].value(Id::StaticPressure)).round();
    let mains = Mains::of(&garden, Some(30.0 * PSI), Some(70.0 * PSI)).expect("sound");
    assert_eq!([&mains.lowest, &mains.usual, &mains.highest].map(static_psi), [30.0, 50.0, 70.0]);
    let mains = Mains::of(&garden, None, None).expect("sound");
    assert_eq!([&mains.lowest, &mains.usual, &mains.highest].map(static_psi), [50.0; 3]);
    let error = Mains::of(&garden, Some(70.0 * PSI), Some(30.0 * PSI)).expect_err("upside down");
    assert_eq!(error.to_string(), "the lowest main pressure, 70 psi, is above the highest, 30 psi");
}

#[test]
fn the_scale_goes_by_the_unit_in_which_pressures_are_written() {
    let of = |unit: &str| scale(Preference::Written(find_unit(unit).expect("a unit")));
    assert_eq!(scale(Preference::Usual), of("psi"));
    assert_eq!(of("bar"), of("kPa"));
    assert_relative_eq!(of("psi").step_pa, 5.0 * PSI);
    assert_relative_eq!(of("bar").step_pa, 0.25e5);
    for unit in ["psi", "bar"] {
        let scale = of(unit);
        assert!(scale.least_difference_pa < scale.widest_difference_pa);
        let steps = scale.least_difference_pa / scale.step_pa;
        assert_relative_eq!(steps, steps.round(), max_relative = 1e-12);
    }
}

#[test]
fn zones_are_told_in_words_and_of_many_the_first_six() {
    let zones = |number: usize| (0..number).map(|n| format!("z{n}")).collect::<Vec<_>>();
    assert_eq!(zones_in_words(&[]), "all open");
    assert_eq!(zones_in_words(&zones(1)), "'z0'");
    assert_eq!(zones_in_words(&zones(3)), "'z0' and 'z1' and 'z2'");
    let many: Vec<(String, f64)> = (0..9).map(|n| (format!("z{n}"), 0.2)).collect();
    let many: Vec<(&str, f64)> = many.iter().map(|(name, gpm)| (name.as_str(), *gpm)).chain([("wide", 30.0)]).collect();
    let card = window(&plot(50.0, 40.0, &many)).card(UnitSystem::Us);
    assert!(
        card.contains("\nWith 'wide' alone there is a setting; 'z0', 'z1', 'z2', 'z3', 'z4', 'z5' and 3 others leave no room"),
        "{card}"
    );
}

#[test]
fn the_card_of_an_open_window_tells_pressures_ranges_reasons_and_settings() {
    let garden = plot(50.0, 60.0, &[("beds", 16.0), ("berries", 12.0)]);
    insta::assert_snapshot!(window(&garden).card(UnitSystem::AsWritten), @r"
    Settings for pressure switch 'switch' and booster 'pump'; the switch reads
      beds                  50 psi without the pump, 75.3 psi with it
      berries               50 psi without the pump, 82.7 psi with it
      all closed            50 psi without the pump
                            110 psi with it, at the usual main pressure
    Cut-in may be 53 psi to 90 psi.
    Cut-out may be 85.7 psi to 105 psi, and at least 15 psi above cut-in.
      lowest cut-in        53 psi: 50 psi with 'berries' and no pump, and 3 psi of margin
      lowest cut-out       85.7 psi: 82.7 psi with 'berries' and the pump, and 3 psi of margin
      highest cut-out      105 psi: 110 psi at shut-off of pump and supply, less 5 psi of margin
    In steps of 5 psi: cut-in 60 psi, cut-out 90 psi. That cut-in is 10 psi above static main pressure, so any leak starts the pump.
    The lowest main pressure is not given: at cut-out 90 psi the pump stops only while the main stays above 30 psi.
    ");
}

#[test]
fn the_card_of_a_shut_window_in_metric_units_says_what_is_missing_and_what_helps() {
    let relief = part(Kind::Relief, "relief", &[("set", q(80.0, "psi")), ("flow", q(0.001, "gpm"))]);
    let garden = plot(50.0, 40.0, &[("beds", 4.0)]).branch("switch", &relief).expect("joins");
    insta::assert_snapshot!(window(&garden).card(UnitSystem::Metric), @r"
    Settings for pressure switch 'switch' and booster 'pump'; the switch reads
      beds                  3.45 bar without the pump, 5.58 bar with it
      all closed            3.45 bar without the pump
                            6.21 bar with it, at the usual main pressure
    No setting works: cut-out must be at least 5.79 bar, and at most 4.83 bar.
      lowest cut-in        3.65 bar: 3.45 bar with 'beds' and no pump, and 0.2 bar of margin
      lowest cut-out       5.79 bar: 5.58 bar with 'beds' and the pump, and 0.2 bar of margin
      highest cut-out      4.83 bar: relief 'relief' set at 5.52 bar, less 0.7 bar of margin
      start the pump from the timer with pump_start() in place of the switch: that needs no settings; or hold a pressure with drive(), whose settings drive_window() gives
      it works if you set relief 'relief' at 6.89 bar instead of 5.52 bar: then cut-in 3.79 bar, cut-out 5.86 bar
      it works if you use a pump with 1.93 bar at shut-off and 50% of the flow at each share of its boost: then cut-in 3.79 bar, cut-out 4.83 bar
    ");
}

#[test]
fn questions_for_a_window_that_have_no_answer_say_why_and_what_to_do() {
    let plain = line(&[stiff_main(50.0), head("bed", 0.1)]);
    let no_pump = line(&[stiff_main(50.0), switch(30.0, 50.0), head("bed", 0.1)]);
    let turned = {
        let back = part(Kind::CheckValve, "turned", &[("k", q(0.0, ""))]);
        let pump = booster("pump", &[(0.0, 40.0), (10.0, 20.0)]);
        let strong = line(&[stiff_main(50.0), part(Kind::Valve, "gate", &[("k", q(0.0, ""))])]);
        line(&[strong, back, pump, switch(60.0, 80.0), zone("beds", 4.0)])
    };
    let ask = |zones: &[&str], switch: Option<&str>| Ask {
        zones: vec![zones.iter().map(|zone| zone.to_string()).collect()],
        switch: switch.map(str::to_string),
        ..Ask::default()
    };
    let plot = plot(50.0, 40.0, &[("beds", 4.0)]);
    let failures = [
        switch_window(&plain, &Ask::default()),
        switch_window(&no_pump, &Ask::default()),
        switch_window(&plot, &Ask { switch: Some("pump".into()), ..Ask::default() }),
        switch_window(&plot, &ask(&["bed"], None)),
        switch_window(&plot, &Ask { lowest_static_pa: Some(6e5), highest_static_pa: Some(5e5), ..Ask::default() }),
    ];
    let told: Vec<String> = failures
        .into_iter()
        .map(|window| window.expect_err("refused"))
        .inspect(|error| assert!(error.hint().is_some(), "{error}"))
        .map(|error| error.to_string())
        .collect();
    insta::assert_snapshot!(told.join("\n"), @r"
    there is no pressure switch in this garden
    pressure switch 'switch' has no booster to drive
    'pump' is a booster, not a pressure switch
    there is no valve called 'bed' in this garden
    the lowest main pressure, 87 psi, is above the highest, 72.5 psi
    ");
    // A valve upstream of the pump stands open in all cases, whether it is asked for or not.
    assert_relative_eq!(psi(window(&turned).cases[0].on_pa), 81.0, max_relative = 1e-9);
}

#[test]
fn a_switch_with_settings_inside_its_window_draws_no_warning_and_one_at_each_limit_does() {
    let ask = Ask { lowest_static_pa: Some(50.0 * PSI), highest_static_pa: Some(50.0 * PSI), ..Ask::default() };
    let codes = |cut_in_psi: f64, cut_out_psi: f64| -> Vec<&'static str> {
        let garden = plot(50.0, 60.0, &[("beds", 16.0)]);
        let garden = garden.with("switch.cut_out", q(200.0, "psi")).expect("sound");
        let garden = garden.with("switch.cut_in", q(cut_in_psi, "psi")).expect("sound");
        let garden = garden.with("switch.cut_out", q(cut_out_psi, "psi")).expect("sound");
        let findings = switch_window(&garden, &ask).expect("a window").findings();
        findings.iter().filter(|finding| finding.level() != Level::Note).map(|finding| finding.code()).collect()
    };
    // 50 psi without the pump, 77.9 psi with it, 110 psi at shut-off.
    let on_psi = meets(50.0, 60.0, 16.0).0;
    assert!(codes(55.0, 90.0).is_empty(), "{:?}", codes(55.0, 90.0));
    assert!(codes(49.9, 90.0).contains(&"never-starts") && !codes(50.1, 90.0).contains(&"never-starts"));
    let (below, above) = (codes(55.0, on_psi - 0.1), codes(55.0, on_psi + 0.1));
    assert!(below.contains(&"short-cycles") && !above.contains(&"short-cycles"), "{below:?} {above:?}");
    let (below, above) = (codes(55.0, 109.9), codes(55.0, 110.1));
    assert!(!below.contains(&"never-stops") && above.contains(&"never-stops"), "{below:?} {above:?}");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(48) })]

    #[test]
    fn suggested_settings_lie_on_the_scale_and_run_the_zone(
        main_psi in 25.0f64..70.0, shut_off_psi in 25.0f64..80.0, gpm in 1.0f64..20.0,
    ) {
        let garden = plot(main_psi, shut_off_psi, &[("beds", gpm)]);
        let found = window(&garden);
        let Some(suggestion) = found.suggestion else {
            // Where nothing is suggested no step of the scale lies between: the window is closed, or hardly open.
            let room_psi = found.cut_out.map_or(0.0, |range| psi(range.high_pa - range.low_pa));
            prop_assert!(room_psi <= 10.0, "{room_psi} psi of room and nothing suggested");
            return Ok(());
        };
        let (cut_in_psi, cut_out_psi) = (psi(suggestion.cut_in.si), psi(suggestion.cut_out.si));
        for setting in [cut_in_psi, cut_out_psi] {
            prop_assert!((setting / 5.0 - (setting / 5.0).round()).abs() < 1e-9, "{setting}");
        }
        prop_assert!((15.0..=30.0).contains(&(cut_out_psi - cut_in_psi).round()));
        prop_assert!(cut_in_psi > main_psi && cut_out_psi > meets(main_psi, shut_off_psi, gpm).0);
        prop_assert!(cut_out_psi < main_psi + shut_off_psi);
        if suggestion.keeps_margins {
            prop_assert_eq!(found.verdict, Verdict::Works);
            prop_assert!(cut_in_psi >= main_psi + 3.0 - 1e-6 && cut_out_psi <= main_psi + shut_off_psi - 5.0 + 1e-6);
        }
        let settled = found.settled_garden().expect("sound settings");
        prop_assert_eq!(window(&settled).findings().iter().filter(|finding| finding.level() == Level::Danger).count(), 0);
        let verdict = run(&settled, &["beds"]).expect("a steady state").switches[0].verdict;
        prop_assert_eq!(verdict, crate::hydraulics::Verdict::Runs);
    }

    #[test]
    fn a_stronger_pump_never_lowers_the_highest_cut_out(main_psi in 25.0f64..70.0, shut_off_psi in 25.0f64..80.0, more_psi in 0.1f64..20.0) {
        let ceiling = |shut_off_psi: f64| {
            window(&plot(main_psi, shut_off_psi, &[("beds", 4.0)])).lowest_ceiling().map(Bound::kept_pa)
        };
        let (one, more) = (ceiling(shut_off_psi).expect("a pump"), ceiling(shut_off_psi + more_psi).expect("a pump"));
        prop_assert!((psi(more - one) - more_psi).abs() < 1e-6);
    }

    #[test]
    fn the_order_of_zones_changes_neither_ranges_nor_verdict(gpm in prop::array::uniform3(1.0f64..20.0)) {
        let names = ["a", "b", "c"];
        let zones: Vec<(&str, f64)> = names.into_iter().zip(gpm).collect();
        let turned: Vec<(&str, f64)> = zones.iter().rev().copied().collect();
        let (one, other) = (window(&plot(50.0, 60.0, &zones)), window(&plot(50.0, 60.0, &turned)));
        prop_assert_eq!(one.verdict, other.verdict);
        let both = |range: Option<Range>| range.map(|range| (range.low_pa.round(), range.high_pa.round()));
        prop_assert_eq!((both(one.cut_in), both(one.cut_out)), (both(other.cut_in), both(other.cut_out)));
        let mut titles: Vec<String> = other.cases.iter().map(Case::title).collect();
        titles.reverse();
        prop_assert_eq!(one.cases.iter().map(Case::title).collect::<Vec<_>>(), titles);
    }
}

// ---- what keeps its pressure, and how it falls

fn tank(gal: f64, precharge_psi: f64) -> Garden {
    part(Kind::PressureTank, "tank", &[("volume", q(gal, "gal")), ("precharge", q(precharge_psi, "psi"))])
}

fn leak(gph: f64, at_psi: f64) -> Garden {
    part(Kind::Leak, "drip", &[("flow", q(gph, "gph")), ("pressure", q(at_psi, "psi"))])
}

/// A main that gives hardly anything, a check valve, and what keeps its pressure downstream of it.
fn held(downstream: &[Garden]) -> Garden {
    let check = part(Kind::CheckValve, "check", &[("k", q(0.0, ""))]);
    downstream.iter().fold(line(&[stiff_main(1.0), check]), |line, part| line.then(part).expect("joins"))
}

/// How long an air cushion that loses `flow` at `at_pa` through a hole takes from one pressure to another, s: the integral of
/// V0 (P0 + A) / ((P + A)^2 c sqrt(P)) in closed form. Boyle's law and the law of a hole.
fn cushion_s(volume_m3: f64, precharge_pa: f64, (flow, at_pa): (f64, f64), from_pa: f64, to_pa: f64) -> f64 {
    let a: f64 = ATMOSPHERE_PA;
    let c = flow / at_pa.sqrt();
    let antiderivative = |pressure_pa: f64| {
        let x = pressure_pa.sqrt();
        x / (a * (pressure_pa + a)) + (x / a.sqrt()).atan() / a.powf(1.5)
    };
    volume_m3 * (precharge_pa + a) / c * (antiderivative(from_pa) - antiderivative(to_pa))
}

const GALLON_M3: f64 = 3.785411784e-3;
const GPH: f64 = GALLON_M3 / 3600.0;

#[test]
fn an_air_cushion_falls_in_the_time_that_boyle_and_the_law_of_a_hole_give() {
    for (gal, precharge_psi, gph) in [(20.0, 28.0, 1.0), (2.0, 20.0, 10.0), (80.0, 38.0, 0.1)] {
        let garden = held(&[tank(gal, precharge_psi), leak(gph, 40.0)]);
        let fall = leak_down_time(&garden, q(60.0, "psi"), q(40.0, "psi"), None).expect("a fall");
        let expected_s = cushion_s(gal * GALLON_M3, precharge_psi * PSI, (gph * GPH, 40.0 * PSI), 60.0 * PSI, 40.0 * PSI);
        // The liter of water that is taken to stand in the line is compressed a little too: a part in 20,000 of a small tank.
        assert_relative_eq!(fall.time_s.expect("it falls"), expected_s, max_relative = 1e-4);
        let held_m3 = |psi: f64| gal * GALLON_M3 * (psi - precharge_psi) * PSI / (psi * PSI + ATMOSPHERE_PA);
        assert_relative_eq!(fall.water_m3, held_m3(60.0) - held_m3(40.0), max_relative = 1e-4);
        assert_relative_eq!(fall.leak_to_m3_per_s, gph * GPH, max_relative = 1e-6);
        assert_relative_eq!(fall.leak_from_m3_per_s, gph * GPH * 1.5f64.sqrt(), max_relative = 1e-6);
        assert_eq!(fall.at, "tank");
        assert_relative_eq!(fall.end_pa, 40.0 * PSI, max_relative = 1e-6);
    }
}

#[test]
fn a_hose_that_stretches_falls_with_the_root_of_its_pressure() {
    let hose = |ft: f64| {
        let numbers = [("length", q(ft, "ft")), ("diameter", q(2.0, "inch")), ("compliance", q(5.0, "mL/bar/m"))];
        part(Kind::Hose, "feed", &numbers)
    };
    let fall = |ft: f64, gph: f64| {
        leak_down_time(&held(&[hose(ft), leak(gph, 40.0)]), q(60.0, "psi"), q(40.0, "psi"), Some("feed")).expect("a fall")
    };
    // C dP/dt = -c sqrt(P), hence T = 2 C (sqrt(P1) - sqrt(P2)) / c; the water in the hose gives a hundredth more.
    let c = GPH / (40.0 * PSI).sqrt();
    let stretch_m3_per_pa = 5e-6 / 1e5 * 100.0 * FT;
    let expected_s = 2.0 * stretch_m3_per_pa * ((60.0 * PSI).sqrt() - (40.0 * PSI).sqrt()) / c;
    let found_s = fall(100.0, 1.0).time_s.expect("it falls");
    assert!((1.0..1.05).contains(&(found_s / expected_s)), "{found_s} s, by stretch alone {expected_s} s");
    assert_relative_eq!(fall(200.0, 1.0).time_s.expect("it falls"), 2.0 * found_s, max_relative = 1e-3);
    assert_relative_eq!(fall(100.0, 4.0).time_s.expect("it falls"), found_s / 4.0, max_relative = 1e-3);
}

#[test]
fn times_of_a_fall_add_up_along_the_way() {
    let garden = held(&[tank(20.0, 28.0), leak(1.0, 40.0)]);
    let time_s = |from: f64, to: f64| {
        leak_down_time(&garden, q(from, "psi"), q(to, "psi"), None).expect("a fall").time_s.expect("it falls")
    };
    assert_relative_eq!(time_s(60.0, 50.0) + time_s(50.0, 35.0), time_s(60.0, 35.0), max_relative = 1e-6);
    assert!(time_s(60.0, 50.0) < time_s(50.0, 40.0), "it falls ever more slowly");
}

#[test]
fn a_fall_ends_where_the_street_feeds_the_leak() {
    let check = part(Kind::CheckValve, "check", &[("k", q(0.0, ""))]);
    let garden = line(&[stiff_main(45.0), check, tank(20.0, 28.0), leak(1.0, 40.0)]);
    let fall = leak_down_time(&garden, q(60.0, "psi"), q(40.0, "psi"), None).expect("a fall");
    assert_eq!(fall.time_s, None);
    assert!((psi(fall.end_pa) - 45.0).abs() < 0.1, "{}", psi(fall.end_pa));
    assert_relative_eq!(psi(fall.main_pa.expect("a main")), 45.0, max_relative = 1e-6);
    let above = leak_down_time(&garden, q(60.0, "psi"), q(46.0, "psi"), None).expect("a fall");
    let expected_s = cushion_s(20.0 * GALLON_M3, 28.0 * PSI, (GPH, 40.0 * PSI), 60.0 * PSI, 46.0 * PSI);
    assert_relative_eq!(above.time_s.expect("it falls"), expected_s, max_relative = 1e-5);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(16) })]

    #[test]
    fn the_leak_from_a_fall_is_that_of_boyle_and_scales_with_tank_and_time(
        gal in 2.0f64..80.0, precharge_psi in 10.0f64..35.0, minutes in 1.0f64..600.0, factor in 1.1f64..5.0,
    ) {
        let flow = |gal: f64, minutes: f64| {
            let leak = leak_from_decay(&held(&[tank(gal, precharge_psi)]), q(60.0, "psi"), q(40.0, "psi"), 60.0 * minutes, None);
            leak.expect("a leak").value(Id::Flow)
        };
        let one = flow(gal, minutes);
        let unit_s = cushion_s(gal * GALLON_M3, precharge_psi * PSI, (1.0, 60.0 * PSI), 60.0 * PSI, 40.0 * PSI);
        prop_assert!((one / (unit_s / (60.0 * minutes)) - 1.0).abs() < 1e-4, "{one}");
        prop_assert!((flow(factor * gal, minutes) / (factor * one) - 1.0).abs() < 1e-4);
        prop_assert!((flow(gal, factor * minutes) * factor / one - 1.0).abs() < 1e-4);
    }
}

#[test]
fn a_leak_that_is_known_is_taken_off_what_a_fall_tells() {
    let bare = held(&[tank(20.0, 28.0)]);
    let flow =
        |garden: &Garden| leak_from_decay(garden, q(60.0, "psi"), q(40.0, "psi"), 1800.0, None).expect("a leak").value(Id::Flow);
    let all = flow(&bare);
    // A known hole of 1 gph at 60 psi.
    let known = bare.branch("tank", &leak(1.0, 60.0)).expect("joins");
    assert_relative_eq!(flow(&known), all - GPH, max_relative = 1e-6);
    let explained = bare.branch("tank", &leak(100.0, 60.0)).expect("joins");
    let error = leak_from_decay(&explained, q(60.0, "psi"), q(40.0, "psi"), 1800.0, None).expect_err("nothing is left");
    assert_eq!(error.to_string(), "the leaks this garden already has drop the pressure in less than 30 min");
}

#[test]
fn a_store_reaches_as_far_as_still_water_stands_together() {
    let up = part(Kind::Uphill, "up", &[("height", q(5.0, "m"))]);
    let garden =
        held(&[tank(20.0, 28.0), up, leak(1.0, 40.0), part(Kind::Valve, "gate", &[("k", q(0.0, ""))]), head("bed", 0.1)]);
    let store = Store::of(&garden, None).expect("a store");
    let place = |name: &str| garden.find(name).expect("known");
    assert_eq!(store.at, place("tank"));
    assert_eq!(store.outlets, [place("drip")], "the head is downstream of a closed valve");
    let node = |name: &str| garden.layout().places[place(name)].to;
    assert_relative_eq!(store.higher_pa[node("up")].expect("joined"), -DENSITY * GRAVITY * 5.0, max_relative = 1e-12);
    assert_eq!(store.higher_pa[node("tank")], Some(0.0));
    assert_eq!(store.higher_pa[node("main")], None, "a check valve keeps it from the main");
    // Read at the leak, 5 m higher, it is the tank that stands lower.
    let store = Store::of(&garden, Some("drip")).expect("a store");
    assert_relative_eq!(store.higher_pa[node("tank")].expect("joined"), DENSITY * GRAVITY * 5.0, max_relative = 1e-12);
}

#[test]
fn falls_that_have_no_answer_say_why_and_what_to_do() {
    let good = held(&[tank(20.0, 28.0), leak(1.0, 40.0)]);
    let open_to_the_main = line(&[stiff_main(45.0), tank(20.0, 28.0), leak(1.0, 40.0)]);
    let stiff = held(&[hose("feed", 10.0, 0.75), leak(1.0, 40.0)]);
    let fall = |garden: &Garden, from: f64, to: f64, at: Option<&str>| -> SettingsError {
        leak_down_time(garden, q(from, "psi"), q(to, "psi"), at).expect_err("refused")
    };
    let failures = [
        fall(&good, 40.0, 60.0, None),
        fall(&good, 60.0, -1.0, None),
        fall(&good, 60.0, 40.0, Some("barrel")),
        fall(&open_to_the_main, 60.0, 40.0, None),
        fall(&stiff, 60.0, 40.0, None),
        fall(&stiff, 60.0, 40.0, Some("feed")),
        fall(&held(&[tank(20.0, 28.0)]), 60.0, 40.0, None),
        leak_from_decay(&good, q(60.0, "psi"), q(40.0, "psi"), 0.0, None).expect_err("no time"),
    ];
    assert!(failures.iter().all(|error| error.hint().is_some()));
    let told: Vec<String> = failures.iter().map(SettingsError::to_string).collect();
    insta::assert_snapshot!(told.join("\n"), @r"
    the pressure must drop, found 40 psi at the start and 60 psi at the end
    the pressure must drop, found 60 psi at the start and -1 psi at the end
    there is no part called 'barrel' in this garden
    no check valve holds the pressure: water flows back to 'main'
    there is no part at which to read the pressure
    no part of this garden stores water under pressure
    there is no leak in this garden
    the time must be above zero, found 0 s
    ");
}
