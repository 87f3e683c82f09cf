//! A garden answers in the units in which it was given: results, findings, settings and errors of metric and of US gardens, side by side.

use hosewright::findings::{Finding, grouped, of_run, of_zones, show};
use hosewright::garden::{Garden, GardenError, drawing};
use hosewright::hydraulics::{SolveError, run};
use hosewright::parts::{Id, Kind, Part};
use hosewright::quantity::{Quantity, UnitSystem, dim, find_unit};
use hosewright::settings::{Ask, leak_down_time, switch_window};
use hosewright::told::Told;
use hosewright::water_hammer::water_hammer;

const AS_WRITTEN: UnitSystem = UnitSystem::AsWritten;

fn q(value: f64, unit: &str) -> Quantity {
    Quantity::written(value, find_unit(unit).expect("a unit of the test"))
}

fn part(kind: Kind, name: &str, numbers: &[(&str, Quantity)]) -> Garden {
    Garden::of(Part::of_words(kind, Some(name), numbers).expect("a part"))
}

fn line(parts: &[Garden]) -> Garden {
    parts.iter().skip(1).fold(parts[0].clone(), |line, part| line.then(part).expect("joined"))
}

/// A garden with much to be said of it, its values written in metric units or the same in US ones.
fn garden(metric: bool) -> Garden {
    let unit = |value: f64, metric_unit: &str, us_unit: &str| {
        let quantity = q(value, metric_unit);
        if metric { quantity } else { q(quantity.in_unit(us_unit).expect("a unit"), us_unit) }
    };
    let (bar, m, lpm) = (|v| unit(v, "bar", "psi"), |v| unit(v, "m", "ft"), |v| unit(v, "L/min", "gpm"));
    let curve = [(0.0, 3e5), (0.5e-3, 2.2e5), (1e-3, 0.5e5)];
    let pump = Part::new(Kind::Booster).named("pump").and_then(|part| part.with_curve(&curve)).expect("a booster");
    let supply = [("static_pressure", bar(6.0)), ("measured_pressure", bar(3.0)), ("measured_flow", lpm(20.0))];
    line(&[
        part(Kind::Supply, "tap", &supply),
        Garden::of(pump),
        part(Kind::PressureSwitch, "switch", &[("cut_in", bar(5.0)), ("cut_out", bar(9.5))]),
        part(Kind::Hose, "feed", &[("length", m(30.0)), ("diameter", q(0.5, "in")), ("pressure_rating", bar(6.0))]),
        part(Kind::Valve, "beds", &[]),
        part(Kind::Head, "bed", &[("nozzle", q(5.0 / 32.0, "in")), ("range_low", bar(4.0))]),
    ])
}

/// All words about the garden: of a run, a layout, a window, a knock.
fn words(garden: &Garden, system: UnitSystem) -> Vec<String> {
    let reading = run(garden, &["beds"]).expect("a steady state");
    let told = |findings: &[Finding]| show(&grouped(findings, garden.accepted()), system, 100);
    let mut all: Vec<String> = vec![told(&of_run(&reading)), told(&of_zones(garden))];
    let window = switch_window(garden, &Ask::default()).expect("a window");
    all.extend([window.card(system), told(&window.findings())]);
    let hammer = water_hammer(garden, &["beds"], Some(0.1)).expect("a knock");
    all.extend([hammer.card(system), told(&hammer.findings())]);
    all
}

/// The units in a text, but not those in brackets, where a source is quoted, and not inches, in which the trade has nozzles.
fn units_in(text: &str) -> Vec<&str> {
    let outside: Vec<&str> = text.split(['(', ')']).step_by(2).collect();
    let words = outside.iter().flat_map(|piece| piece.split(|letter: char| letter.is_whitespace() || ",;:".contains(letter)));
    words
        .filter_map(|word| find_unit(word.trim_end_matches('.')))
        .map(|unit| unit.symbol)
        .filter(|symbol| *symbol != "in")
        .collect()
}

#[test]
fn a_garden_answers_in_the_units_in_which_it_was_given_unless_others_are_chosen() {
    let (metric, us) = (garden(true), garden(false));
    for (garden, system, is_metric) in
        [(&metric, AS_WRITTEN, true), (&us, AS_WRITTEN, false), (&metric, UnitSystem::Us, false), (&us, UnitSystem::Metric, true)]
    {
        for text in words(garden, system) {
            let units = units_in(&text);
            assert!(!units.is_empty(), "no unit in: {text}");
            for unit in units {
                let metric = find_unit(unit).and_then(|unit| unit.suggests_metric());
                assert!(metric.is_none_or(|metric| metric == is_metric), "{unit} in: {text}");
            }
        }
    }
}

#[test]
fn a_default_shows_in_the_units_of_the_garden_and_none_where_it_says_nothing() {
    let check = |unit: &str, value: f64| {
        let supply = part(Kind::Supply, "tap", &[("static_pressure", q(value, unit))]);
        line(&[supply, part(Kind::CheckValve, "check", &[]), part(Kind::Head, "bed", &[("nozzle", q(3.0, "mm"))])])
    };
    for (garden, system, shown) in [
        (check("bar", 4.0), AS_WRITTEN, "0 bar"),
        (check("psi", 58.0), AS_WRITTEN, "0 psi"),
        (check("bar", 4.0), UnitSystem::Us, "0 psi"),
        (check("psi", 58.0), UnitSystem::Metric, "0 bar"),
    ] {
        let units = system.or_own(garden.units());
        let opens = garden.part("check").expect("known").shown(Id::CrackingPressure, units);
        assert_eq!(opens.expect("by default").show(units), shown);
        let drawing = drawing(&garden, system);
        assert!(!drawing.contains("cracking"), "{drawing}");
    }
}

#[test]
fn a_booster_keeps_the_units_of_its_curve() {
    let curve = [(0.0, 3e5), (0.5e-3, 1e5)];
    let pump = Part::new(Kind::Booster).with_curve(&curve).expect("a booster");
    assert_eq!(pump.units(), AS_WRITTEN);
    let written = |unit: &str| q(1.0, unit).preference;
    let metric = pump.with_curve_in(written("L/min"), written("m water"));
    assert_eq!(metric.units(), UnitSystem::AsWrittenMetric);
    let points: Vec<String> = metric.curve().expect("a curve").quantities().flatten().map(|value| value.to_string()).collect();
    assert_eq!(points, ["0 L/min", "30.6 m water", "30 L/min", "10.2 m water"]);
    let slower = metric.curve().expect("a curve").at_speed(0.5);
    assert_eq!(slower.quantities().last().expect("a point")[0].to_string(), "15 L/min");
}

#[test]
fn settings_of_a_metric_switch_are_suggested_in_quarters_of_a_bar() {
    let gentle = garden(true).with("feed.pressure_rating", q(20.0, "bar")).expect("a garden");
    let gentle = gentle
        .with("bed.range_low", q(2.0, "bar"))
        .expect("a garden")
        .with("tap.static_pressure", q(4.0, "bar"))
        .expect("a garden");
    let window = switch_window(&gentle, &Ask::default()).expect("a window");
    let suggestion = window.suggestion.expect("a setting");
    for setting in [suggestion.cut_in, suggestion.cut_out] {
        let quarters = setting.in_unit("bar").expect("a pressure") / 0.25;
        assert!((quarters - quarters.round()).abs() < 1e-9, "{setting}");
        assert!(setting.to_string().ends_with(" bar"), "{setting}");
    }
}

#[test]
fn errors_carry_values_and_are_told_in_the_units_of_the_garden_or_in_those_chosen() {
    let error = GardenError::CrookedLoop { name: "feed".into(), by: garden(true).quantity(1.5, dim::LENGTH) };
    assert!(error.words(AS_WRITTEN).ends_with("they are off by 1.5 m"), "{error}");
    assert!(error.words(UnitSystem::Us).ends_with("they are off by 4.9 ft"), "{}", error.words(UnitSystem::Us));
    let solve = |garden: &Garden| SolveError::at(0, 2e5, 7).named(garden).to_string();
    assert!(solve(&garden(true)).ends_with("the pressure balance at 'tap' is off by 2 bar"), "{}", solve(&garden(true)));
    assert!(solve(&garden(false)).ends_with("the pressure balance at 'tap' is off by 29 psi"), "{}", solve(&garden(false)));
    let wrong = Part::of_words(
        Kind::Head,
        Some("bed"),
        &[("nozzle", q(3.0, "mm")), ("range_low", q(4.0, "bar")), ("range_high", q(3.0, "bar"))],
    );
    let error = wrong.expect_err("they contradict");
    assert!(error.to_string().contains("from 4 bar to 3 bar is empty"), "{error}");
    assert!(error.words(UnitSystem::Us).contains("from 58 psi to 43.5 psi is empty"), "{}", error.words(UnitSystem::Us));
    assert!(error.advice(AS_WRITTEN).expect("advice").ends_with(".operating_range(30.psi, 60.psi)"));
    assert!(error.advice(UnitSystem::Metric).expect("advice").ends_with(".operating_range(2.bar, 4.bar)"));
}

#[test]
fn a_fall_of_pressure_keeps_the_units_of_its_garden() {
    for (is_metric, unit) in [(true, "L/h"), (false, "gph")] {
        let tank = [("volume", q(20.0, "L")), ("precharge", q(2.0, "bar"))];
        let leak = [("flow", q(4.0, "L/h")), ("pressure", q(3.0, "bar"))];
        let check = part(Kind::CheckValve, "check", &[("diameter", q(20.0, "mm"))]);
        let (tank, leak) = (part(Kind::PressureTank, "tank", &tank), part(Kind::Leak, "leak", &leak));
        let supply = line(&[
            part(Kind::Supply, "tap", &[("static_pressure", if is_metric { q(3.0, "bar") } else { q(43.0, "psi") })]),
            check,
        ]);
        let garden = line(&[supply, tank, leak]);
        let fall = leak_down_time(&garden, q(5.0, "bar"), q(4.0, "bar"), Some("tank")).expect("a fall");
        let flow = Quantity { preference: fall.units.preference_of("gph"), ..Quantity::new(1e-6, dim::FLOW) };
        assert!(flow.to_string().ends_with(unit), "{flow}");
    }
}
