//! The knock against Joukowsky, Michaud, the period 4 L/a, its own refinement, and states that must not move.

mod support;

use hosewright::findings::Level;
use hosewright::garden::Garden;
use hosewright::parts::{Kind, Part};
use hosewright::quantity::UnitSystem;
use hosewright::water_hammer::{WaterHammer, WaterHammerError, water_hammer};
use support::*;

const US: UnitSystem = UnitSystem::AsWritten;

/// A hose that loses next to nothing, with a stretch in mL/bar/m.
fn stretchy(name: &str, length_ft: f64, diameter_in: f64, stretch: f64) -> Garden {
    let numbers = [
        ("length", q(length_ft, "ft")),
        ("diameter", q(diameter_in, "inch")),
        ("compliance", q(stretch, "mL/bar/m")),
        ("roughness", q(0.0, "mm")),
    ];
    part(Kind::Hose, name, &numbers)
}

fn steady_tap(psi: f64) -> Garden {
    part(Kind::Supply, "tap", &[("static_pressure", q(psi, "psi"))])
}

/// A tap that holds its pressure, one very wide hose, a valve and a small head: friction hardly counts.
fn plain() -> Garden {
    line(&[steady_tap(58.0), stretchy("feed", 100.0, 3.0, 3.0), valve("beds"), head("bed", 0.125)])
}

fn struck(garden: &Garden, time_s: f64) -> WaterHammer {
    water_hammer(garden, &["beds"], Some(time_s)).expect("a knock")
}

fn rise(water_hammer: &WaterHammer) -> f64 {
    let valve = water_hammer.at_valve().expect("the valve");
    valve.highest_pa - valve.before_pa
}

#[test]
fn a_valve_that_shuts_at_once_raises_the_pressure_by_joukowsky() {
    for diameter in [0.5, 0.75, 1.0, 2.0] {
        let garden = plain().with("feed.diameter", q(diameter, "inch")).expect("sound");
        let found = struck(&garden, 0.0);
        // Line packing by friction adds at most what friction took before.
        let friction = 58.0 * PSI - found.at_valve().expect("the valve").before_pa;
        let excess = rise(&found) - found.joukowsky_pa;
        assert!(
            excess > -1e-6 * found.joukowsky_pa && excess <= friction * 1.01 + 1.0,
            "{diameter} in: {excess} Pa of {friction}"
        );
    }
}

#[test]
fn closing_within_the_reflection_time_is_as_hard_as_at_once() {
    let at_once = struck(&plain(), 0.0);
    let within = struck(&plain(), 0.9 * at_once.reflection_time_s);
    approx::assert_relative_eq!(rise(&within), rise(&at_once), max_relative = 0.01);
}

#[test]
fn a_valve_that_shuts_slowly_raises_the_pressure_as_michaud_says() {
    // Without friction the rise after each even number of reflections is Michaud's; it is never more.
    let reflection_s = struck(&plain(), 0.0).reflection_time_s;
    for times in [2.0, 4.0, 8.0] {
        let found = struck(&plain(), times * reflection_s);
        approx::assert_relative_eq!(rise(&found), found.michaud_pa, max_relative = 0.01);
        approx::assert_relative_eq!(found.michaud_pa, found.joukowsky_pa / times, max_relative = 1e-9);
    }
}

#[test]
fn the_pressure_swings_with_the_period_four_lengths_over_wave_speed() {
    let found = struck(&plain(), 0.0);
    let middle = 58.0 * PSI;
    let trace = &found.trace;
    let above: Vec<bool> = trace.valve_pa.iter().map(|&pressure| pressure > middle).collect();
    let falls: Vec<f64> = (1..above.len()).filter(|&i| above[i - 1] && !above[i]).map(|i| trace.time_s[i]).collect();
    assert!(falls.len() >= 4, "{falls:?}");
    let period = (falls[3] - falls[0]) / 3.0;
    approx::assert_relative_eq!(period, 2.0 * found.reflection_time_s, max_relative = 0.01);
}

#[test]
fn a_wave_is_thrown_back_where_hoses_of_different_bore_meet() {
    // From the balance at the joint a wave comes back with the share r = (Z2 - Z1)/(Z2 + Z1), and doubles at the shut valve.
    let garden = line(&[
        steady_tap(58.0),
        stretchy("wide", 100.0, 3.0, 3.0),
        stretchy("narrow", 100.0, 2.0, 3.0),
        valve("beds"),
        head("bed", 0.125),
    ]);
    let found = struck(&garden, 0.0);
    let part = |name: &str| found.parts.iter().find(|part| found.garden().name(part.place) == name).expect("known");
    let impedance = |name: &str, diameter_in: f64| {
        let diameter_m = diameter_in * 0.0254;
        part(name).hose.expect("a hose").wave_speed_m_per_s / (diameter_m * diameter_m)
    };
    let (z1, z2) = (impedance("narrow", 2.0), impedance("wide", 3.0));
    let share = (z2 - z1) / (z2 + z1);
    let travel = |name: &str| part(name).hose.expect("a hose").travel_s;
    // Back from the joint, but not yet from the tap.
    let moment = 2.0 * travel("narrow") + travel("wide");
    let step = found.trace.time_s.iter().position(|&time| time >= moment).expect("followed so long");
    let rise = found.trace.valve_pa[step] - found.trace.valve_pa[0];
    // Friction of the narrow hose packs the line by one part in a hundred.
    approx::assert_relative_eq!(rise, found.joukowsky_pa * (1.0 + 2.0 * share), max_relative = 0.02);
}

fn with_everything() -> Garden {
    let trunk = line(&[
        supply("tap", 58.0, 44.0, 6.0),
        part(Kind::CheckValve, "check", &[]),
        stretchy("feed", 50.0, 0.75, 3.0),
        climb("rise", 6.0),
        booster("pump", &[(0.0, 40.0), (10.0, 20.0)]),
        part(Kind::Relief, "relief", &[("set", q(97.0, "psi"))]),
    ]);
    let tank = part(Kind::PressureTank, "tank", &[("volume", q(2.0, "gal")), ("precharge", q(40.0, "psi"))]);
    let trunk = trunk.then(&stretchy("trunk", 30.0, 0.75, 3.0)).expect("joins");
    trunk
        .then_branches(&[
            line(&[stretchy("bed line", 40.0, 0.5, 3.0), valve("beds"), head("bed", 0.15)]),
            line(&[stretchy("berry line", 60.0, 0.625, 3.0), valve("berries"), head("berry", 0.125)]),
            line(&[stretchy("stub", 10.0, 0.5, 3.0), tank]),
        ])
        .expect("joins")
}

#[test]
fn nothing_moves_until_the_valve_does() {
    // A closing time of a day leaves the flow all but as it is for the first steps.
    let found = water_hammer(&with_everything(), &["beds", "berries"], Some(86_400.0 / 400.0)).expect("a knock");
    let first = found.trace.valve_pa[0];
    let steps = found.trace.time_s.iter().filter(|&&time| time < 0.5).count();
    assert!(steps > 100);
    for (time, pressure) in found.trace.time_s.iter().zip(&found.trace.valve_pa).take(steps) {
        // What a slow closing adds in this time: a share time/216 of the flow, at most some hundredths of the friction.
        assert!((pressure - first).abs() < 0.02 * first, "{pressure} after {first} at {time} s");
    }
    let check = found.trace.check_m3_per_s[0];
    assert!(check > 0.0);
    approx::assert_relative_eq!(found.trace.check_m3_per_s[1], check, max_relative = 1e-6);
}

#[test]
fn a_check_valve_lets_nothing_back_and_keeps_the_pressure_behind_it() {
    let garden = line(&[
        steady_tap(58.0),
        part(Kind::CheckValve, "check", &[]),
        stretchy("feed", 100.0, 0.75, 3.0),
        valve("beds"),
        head("bed", 0.15),
    ]);
    let found = struck(&garden, 0.05);
    assert!(found.trace.check_m3_per_s.iter().all(|&flow| flow >= 0.0));
    // What the knock packed into the hose stays there: above the tap's pressure at the end.
    let last = found.trace.check_pa.last().expect("a trace");
    assert!(*last > 58.0 * PSI, "{}", last / PSI);
    // Without the check valve it swings back below.
    let open = line(&[steady_tap(58.0), stretchy("feed", 100.0, 0.75, 3.0), valve("beds"), head("bed", 0.15)]);
    let swings = struck(&open, 0.05);
    let lowest = |water_hammer: &WaterHammer| water_hammer.trace.valve_pa.iter().copied().fold(f64::INFINITY, f64::min);
    assert!(lowest(&swings) < lowest(&found));
}

#[test]
fn a_tank_before_the_valve_takes_the_water_hammer() {
    let line_with = |stand: &[Garden]| {
        let mut parts = vec![steady_tap(58.0), stretchy("feed", 100.0, 0.75, 3.0)];
        parts.extend(stand.iter().cloned());
        parts.extend([stretchy("end", 2.0, 0.75, 3.0), valve("beds"), head("bed", 0.15)]);
        line(&parts)
    };
    let tank = part(Kind::PressureTank, "tank", &[("volume", q(2.0, "gal")), ("precharge", q(30.0, "psi"))]);
    let (with, without) = (struck(&line_with(&[tank]), 0.1), struck(&line_with(&[]), 0.1));
    assert!(rise(&with) < 0.4 * rise(&without), "{} {}", rise(&with) / PSI, rise(&without) / PSI);
}

#[test]
fn a_stiffer_hose_and_a_faster_closing_knock_harder() {
    let of = |stretch: f64, time_s: f64| {
        rise(&struck(&plain().with("feed.compliance", q(stretch, "mL/bar/m")).expect("sound"), time_s))
    };
    assert!(of(1.0, 0.1) > of(3.0, 0.1) && of(3.0, 0.1) > of(9.0, 0.1));
    assert!(of(3.0, 0.1) >= of(3.0, 0.5) && of(3.0, 0.5) > of(3.0, 2.0));
}

#[test]
fn a_part_struck_above_its_rating_is_a_danger_with_a_time_that_is_slow_enough() {
    let garden = line(&[steady_tap(58.0), stretchy("feed", 100.0, 1.0, 1.0), valve("beds"), head("bed", 0.25)]);
    let garden = garden.with("feed.pressure_rating", q(80.0, "psi")).expect("sound");
    let findings = struck(&garden, 0.05).findings();
    let finding = findings.iter().find(|finding| finding.code() == "water-hammer-over-rating").expect("the finding");
    assert_eq!((finding.level(), finding.name.as_str()), (Level::Danger, "feed"));
    let time: f64 =
        finding.action(US).split_whitespace().nth(3).and_then(|word| word.parse().ok()).expect("a time in the advice");
    assert!(struck(&garden, time).findings().iter().all(|finding| finding.code() != "water-hammer-over-rating"));
}

#[test]
fn the_closing_time_of_the_valve_counts_when_none_is_said() {
    let garden = plain().with("beds.closing_time", q(2.0, "s")).expect("sound");
    assert_eq!(water_hammer(&garden, &["beds"], None).expect("a knock").closing_time_s, 2.0);
    assert_eq!(water_hammer(&plain(), &["beds"], None).expect("a knock").closing_time_s, 0.3);
}

/// A valve right behind a short hose at the tap, and beside it 300 ft of a garden that runs on.
fn short_beside_long(short_mm: f64) -> Garden {
    let numbers = [("length", q(short_mm, "mm")), ("diameter", q(0.625, "inch")), ("compliance", q(3.0, "mL/bar/m"))];
    let trunk = line(&[supply("tap", 58.0, 44.0, 6.0), part(Kind::Hose, "short", &numbers)]);
    let long = line(&[stretchy("long", 300.0, 0.625, 3.0), head("far", 0.125)]);
    trunk.then_branches(&[line(&[valve("beds"), head("bed", 0.15)]), long]).expect("joins")
}

#[test]
fn the_shorter_the_hose_before_the_valve_the_nearer_its_knock_to_that_of_none() {
    // Without a hose before the valve the tap and the long branch take the change: the limit of ever shorter ones.
    let rises: Vec<f64> = [152.4, 25.4, 1.0, 0.01, 1e-5]
        .map(|mm| rise(&water_hammer(&short_beside_long(mm), &["beds"], Some(0.3)).expect("a knock")))
        .to_vec();
    let limit = rises[rises.len() - 1];
    for (shorter, rise) in rises.windows(2).map(|pair| (pair[1], pair[0])) {
        assert!((shorter - limit).abs() <= (rise - limit).abs() * 1.01 + 0.002 * limit, "{rises:?}");
    }
    assert!((rises[0] / limit - 1.0).abs() < 0.05, "{rises:?}");
}

#[test]
fn a_valve_that_closes_at_once_behind_a_lump_strikes_all_hoses_that_meet_there() {
    // Two hoses alike share the flow that is stopped, so each takes half of what Joukowsky's formula gives for one.
    for short_mm in [152.4, 1.0, 1e-3, 1e-6] {
        let found = water_hammer(&short_beside_long(short_mm), &["beds"], Some(0.0)).expect("a knock");
        let speed = found.parts.iter().find_map(|part| part.hose).expect("a hose").wave_speed_m_per_s;
        let area_m2 = std::f64::consts::PI / 4.0 * (0.625 * 0.0254f64).powi(2);
        let flow = found.solution.parts[found.valve].flow_m3_per_s;
        let expected = 0.5 * found.garden().water().density_kg_per_m3 * speed / area_m2 * flow;
        let share = rise(&found) / expected;
        assert!((0.999..1.15).contains(&share), "{short_mm} mm: {share} of {expected} Pa");
    }
}

#[test]
fn a_slow_closing_raises_the_pressure_to_that_of_a_steady_state_without_the_zone() {
    let garden = line(&[supply("tap", 58.0, 44.0, 6.0), stretchy("feed", 50.0, 0.75, 3.0)]);
    let garden = garden
        .then_branches(&[
            line(&[stretchy("bed line", 40.0, 0.5, 3.0), valve("beds"), head("bed", 0.15)]),
            line(&[stretchy("berry line", 60.0, 0.625, 3.0), valve("berries"), head("berry", 0.125)]),
        ])
        .expect("joins");
    let steady = |zones: &[&str]| {
        let solution = hosewright::hydraulics::run(&garden, zones).expect("a steady state");
        solution.node_pa[garden.layout().places[garden.find("bed line").expect("known")].to]
    };
    let at_rest = steady(&["berries"]);
    let mut last = f64::INFINITY;
    for closing_s in [1.0, 30.0, 600.0, 86_400.0, 1e9, 1e15] {
        let found = water_hammer(&garden, &["beds", "berries"], Some(closing_s)).expect("a knock");
        let highest = found.at_valve().expect("the valve").highest_pa;
        let over = highest - at_rest;
        // What stops the water is Michaud's rise at most, and the march ends near its rest.
        assert!(over > -0.002 * at_rest, "{over} Pa below the rest after {closing_s} s");
        assert!(over < 1.1 * found.michaud_pa.max(found.joukowsky_pa / 400.0) + 0.002 * at_rest, "{over} Pa in {closing_s} s");
        assert!(over <= last + 0.002 * at_rest, "{over} after {last} Pa");
        last = over;
        approx::assert_relative_eq!(
            found.at_valve().expect("the valve").before_pa,
            steady(&["beds", "berries"]),
            max_relative = 1e-9
        );
        // The hundredth of a second is lost in thirty million years.
        assert!(found.trace.time_s.windows(2).all(|pair| pair[0] < pair[1] || closing_s > 1e9));
        assert_eq!(found.trace.time_s[0], 0.0);
        approx::assert_relative_eq!(found.trace.valve_pa[0], found.at_valve().expect("the valve").before_pa, max_relative = 1e-9);
    }
}

#[test]
fn the_end_of_a_slow_closing_is_the_same_followed_from_its_start() {
    // Just below the longest closing that is followed whole, and just above: one march begins still, the other does not.
    let garden = with_everything();
    let reflection_s = water_hammer(&garden, &["beds", "berries"], Some(1.0)).expect("a knock").reflection_time_s;
    let at = |times: f64| rise(&water_hammer(&garden, &["beds", "berries"], Some(times * reflection_s)).expect("a knock"));
    approx::assert_relative_eq!(at(399.0), at(401.0), max_relative = 0.002);
    approx::assert_relative_eq!(at(399.0), at(800.0), max_relative = 0.01);
}

#[test]
fn the_card_speaks_of_the_pump_only_where_it_runs() {
    let with_pump = |cut_in_psi: f64| {
        let switch = [("cut_in", q(cut_in_psi, "psi")), ("cut_out", q(95.0, "psi"))];
        line(&[
            supply("tap", 58.0, 44.0, 6.0),
            part(Kind::CheckValve, "check", &[]),
            booster("pump", &[(0.0, 40.0), (10.0, 20.0)]),
            part(Kind::PressureSwitch, "switch", &switch),
            stretchy("feed", 100.0, 0.625, 3.0),
            valve("beds"),
            head("bed", 0.2),
        ])
    };
    let card = |garden: &Garden| struck(garden, 0.3).card(UnitSystem::AsWritten);
    let (runs, rests) = (card(&with_pump(90.0)), card(&with_pump(10.0)));
    assert!(runs.contains("friction loss disappears, and 'pump' gives more pressure"), "{runs}");
    assert!(rests.contains("friction loss disappears."), "{rests}");
    assert!(!rests.contains("pump"), "{rests}");
}

#[test]
fn a_slow_enough_time_is_found_in_few_marches_and_keeps_the_rating() {
    let garden = line(&[steady_tap(58.0), stretchy("feed", 300.0, 1.0, 1.0), valve("beds"), head("bed", 0.25)]);
    let garden = garden.with("feed.pressure_rating", q(70.0, "psi")).expect("sound");
    let findings = struck(&garden, 0.0).findings();
    let finding = findings.iter().find(|finding| finding.code() == "water-hammer-over-rating").expect("the finding");
    let time: f64 =
        finding.action(US).split_whitespace().nth(3).and_then(|word| word.parse().ok()).expect("a time in the advice");
    assert!(struck(&garden, time).findings().iter().all(|finding| finding.code() != "water-hammer-over-rating"));
}

#[test]
fn knocks_without_an_answer_are_refused() {
    assert_eq!(water_hammer(&plain(), &[], None).unwrap_err(), WaterHammerError::NoZone);
    assert!(matches!(water_hammer(&plain(), &["beds"], Some(-1.0)), Err(WaterHammerError::BadTime { .. })));
    let dry = line(&[steady_tap(58.0), hose("feed", 10.0, 0.75), valve("beds"), part(Kind::Point, "end", &[])]);
    assert!(matches!(water_hammer(&dry, &["beds"], None), Err(WaterHammerError::NoFlow { .. })));
    let bare = Part::of_words(Kind::Valve, Some("beds"), &[("diameter", q(0.75, "inch"))]).expect("sound");
    let bare = line(&[steady_tap(58.0), Garden::of(bare), head("bed", 0.125)]);
    assert!(matches!(water_hammer(&bare, &["beds"], None), Err(WaterHammerError::NoHose { .. })));
}
