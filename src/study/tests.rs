//! Limits, settings, axes, sweeps, swings and levers against gardens whose answers are known in closed form.

use super::*;
use crate::garden::Garden;
use crate::hydraulics::{Probe, ProbeKind};
use crate::parts::{Id, Kind};
use crate::quantity::{Quantity, UnitSystem};
use crate::support::*;
use crate::table::{Cell, Table};
use crate::told::Told;
use approx::assert_relative_eq;
use proptest::prelude::*;

const US: UnitSystem = UnitSystem::Us;

fn psi(value: f64) -> Quantity {
    q(value, "psi")
}

/// A stiff main of 50 psi, a loss of 8 psi and an outlet of 17 psi at 1 gpm: sqrt(2) gpm.
fn plot() -> Garden {
    let filter = part(Kind::Filter, "filter", &[("loss", psi(8.0)), ("flow", q(1.0, "gpm"))]);
    let bed = part(Kind::Head, "bed", &[("rated_flow", q(1.0, "gpm")), ("rated_flow_pressure", psi(17.0))]);
    line(&[part(Kind::Supply, "main", &[("static_pressure", psi(50.0))]), filter, bed])
}

/// Flow of the plot, gpm.
fn flow_gpm(main_psi: f64, filter_psi: f64) -> f64 {
    (main_psi / (filter_psi + 17.0)).sqrt()
}

fn numbers(table: &Table, name: &str) -> Vec<Option<f64>> {
    let number = |cell: Cell| if let Cell::Quantity(quantity) = cell { Some(quantity.si) } else { None };
    table.column(name).expect("a column").cells().map(number).collect()
}

fn texts(table: &Table, name: &str) -> Vec<String> {
    table.column(name).expect("a column").cells().map(|cell| cell.show(US)).collect()
}

// ---- limits

#[test]
fn a_limit_says_its_rule_and_its_value() {
    let limit = |value: Option<f64>, low: Option<f64>, high: Option<f64>| {
        Limit::new(value.map(psi), low.map(psi), high.map(psi)).expect("one dimension")
    };
    assert_eq!(limit(Some(44.0), Some(30.0), None).in_words(US), "44 psi, at least 30 psi");
    assert_eq!(limit(Some(44.0), None, Some(60.0)).in_words(US), "44 psi, at most 60 psi");
    assert_eq!(limit(None, Some(30.0), Some(60.0)).in_words(US), "at least 30 psi and at most 60 psi");
    assert_eq!(limit(Some(44.0), Some(30.0), Some(60.0)).rule(US), "at least 30 psi and at most 60 psi");
}

#[test]
fn a_limit_is_broken_by_the_share_of_its_bound_that_is_missing() {
    let broken = |value: f64, low: Option<f64>, high: Option<f64>| {
        Limit::new(Some(psi(value)), low.map(psi), high.map(psi)).expect("one dimension").broken()
    };
    assert_relative_eq!(broken(15.0, Some(30.0), None), 0.5, max_relative = 1e-12);
    assert_relative_eq!(broken(90.0, None, Some(60.0)), 0.5, max_relative = 1e-12);
    assert_eq!(broken(30.0, Some(30.0), None), 0.0);
    assert_eq!(broken(60.0, Some(30.0), Some(60.0)), 0.0);
    assert!(broken(45.0, Some(30.0), Some(60.0)) < 0.0);
    assert_relative_eq!(broken(5.0, None, Some(0.0)), 1.0, max_relative = 1e-12);
    assert_eq!(
        Limit::new(None, Some(psi(30.0)), None).expect("sound").broken(),
        f64::INFINITY,
        "what has no value keeps no limit"
    );
}

#[test]
fn a_limit_of_another_dimension_is_refused() {
    let error = Limit::new(Some(psi(44.0)), None, Some(q(6.0, "gpm"))).expect_err("refused");
    assert_eq!(error.to_string(), "44 psi (a pressure) and 6 gpm (a flow) differ in dimension");
    assert_eq!(error.hint(), None);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(128) })]

    #[test]
    fn a_limit_is_broken_alike_in_any_unit_and_scale(value in 0.1f64..100.0, low in 0.1f64..100.0, factor in 0.1f64..10.0) {
        let broken = |value: Quantity, low: Quantity| Limit::new(Some(value), Some(low), None).expect("one dimension").broken();
        let plain = broken(psi(value), psi(low));
        prop_assert_eq!(plain > 0.0, value < low);
        prop_assert!((broken(psi(factor * value), psi(factor * low)) - plain).abs() < 1e-9 * plain.abs().max(1.0));
        let bar = |value: f64| q(value * PSI / 1e5, "bar");
        prop_assert!((broken(bar(value), bar(low)) - plain).abs() < 1e-9 * plain.abs().max(1.0));
    }
}

// ---- the best setting

fn range(low: f64, high: f64) -> Turn {
    Turn::Range(Distribution::between(psi(low), psi(high)).expect("a range"))
}

/// What a judge says of a pressure: the goal on some value, with a limit on the pressure itself.
fn said(goal: Goal, value: f64, at: f64, low: Option<f64>, high: Option<f64>) -> Said {
    let limit = Limit::new(Some(psi(at)), low.map(psi), high.map(psi)).expect("one dimension");
    Said { goal, value: Quantity::number(value), limits: vec![("set".into(), limit)] }
}

fn best(variables: &[(String, Turn)], judge: impl Fn(&[f64]) -> Said) -> Setting {
    best_setting::<std::convert::Infallible>(variables, US, |at| Ok(judge(at))).unwrap_or_else(|_| panic!("a setting"))
}

#[test]
fn a_valley_inside_its_range_is_found_without_a_note() {
    let variables = [("set".to_string(), range(10.0, 90.0))];
    let found = best(&variables, |at| said(Goal::Lowest, (at[0] / PSI - 37.0).powi(2), at[0] / PSI, None, Some(80.0)));
    assert!((found.at[0] / PSI - 37.0).abs() < 1e-3, "{}", found.at[0] / PSI);
    assert!(found.notes.is_empty(), "{:?}", found.notes);
    assert!(found.tried > 5);
    // The highest of the hill upside down is the same place.
    let hill = best(&variables, |at| said(Goal::Highest, -(at[0] / PSI - 37.0).powi(2), at[0] / PSI, None, Some(80.0)));
    assert!((hill.at[0] / PSI - 37.0).abs() < 1e-3, "{}", hill.at[0] / PSI);
    assert_eq!([Goal::Lowest.word(), Goal::Highest.word()], ["lowest", "highest"]);
}

#[test]
fn a_setting_on_its_limit_at_its_end_or_beyond_its_limits_is_noted() {
    let variables = [("set".to_string(), range(10.0, 90.0))];
    let at_limit = best(&variables, |at| said(Goal::Highest, at[0], at[0] / PSI, None, Some(60.0)));
    assert!((at_limit.at[0] / PSI - 60.0).abs() < 0.1, "{}", at_limit.at[0] / PSI);
    assert_eq!(at_limit.notes, ["set is at its limit, at most 60 psi"]);
    let at_end = best(&variables, |at| said(Goal::Highest, at[0], at[0] / PSI, None, Some(200.0)));
    assert_eq!(at_end.notes, ["set is at its upper end, 90 psi"]);
    let beyond = best(&variables, |at| said(Goal::Lowest, at[0], at[0] / PSI, Some(100.0), None));
    assert_eq!(beyond.notes, ["set cannot be met: 90 psi, at least 100 psi", "set is at its upper end, 90 psi"]);
}

#[test]
fn choices_are_tried_and_what_cannot_be_judged_is_passed_over() {
    let variables = [("pump".to_string(), Turn::Choice { n: 5 })];
    let costs = [7.0, 3.0, 9.0, 1.0, 4.0];
    let judge = |at: &[f64]| match at[0] as usize {
        3 => Err(Unjudged::This("too small")),
        row => Ok(Said { goal: Goal::Lowest, value: Quantity::number(costs[row]), limits: Vec::new() }),
    };
    let found = best_setting(&variables, US, judge).unwrap_or_else(|_| panic!("a setting"));
    assert_eq!((found.at[0], found.said.value.si), (1.0, 3.0));
    let none = best_setting(&variables, US, |_| Err::<Said, _>(Unjudged::This("too small")));
    assert!(matches!(none, Err(OptimumError::Failed("too small"))), "the first reason is told");
    let ended = best_setting(&variables, US, |_| Err::<Said, _>(Unjudged::All("stopped")));
    assert!(matches!(ended, Err(OptimumError::Failed("stopped"))));
}

// ---- axes

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(64) })]

    #[test]
    fn steps_are_even_keep_to_their_ends_and_begin_at_the_first(from in -50.0f64..50.0, way in -100.0f64..100.0, by in 0.05f64..20.0) {
        let values = steps(q(from, "ft"), q(from + way, "ft"), q(by, "ft")).expect("steps");
        let feet: Vec<f64> = values.iter().map(|value| value.si / FT).collect();
        prop_assert!((feet[0] - from).abs() < 1e-9);
        prop_assert_eq!(feet.len(), (way.abs() / by + 1e-6).floor() as usize + 1);
        for two in feet.windows(2) {
            prop_assert!(((two[1] - two[0]) - by * way.signum()).abs() < 1e-9);
        }
        prop_assert!((feet[feet.len() - 1] - from).abs() <= way.abs() + 1e-6 * by);
    }

    #[test]
    fn every_combination_of_axes_is_one_case(lengths in prop::collection::vec(1usize..5, 1..4), pairs in 1usize..4, samples in 1usize..6) {
        let axis = |name: String, n: usize| Axis::of_quantities(&name, &(0..n).map(|k| psi(k as f64)).collect::<Vec<_>>()).expect("an axis");
        let mut axes = Axes::default();
        for (index, &n) in lengths.iter().enumerate() {
            axes = axes.and(axis(format!("a{index}"), n)).expect("another");
        }
        axes = axes.and_paired(vec![axis("p".into(), pairs), axis("q".into(), pairs)]).expect("a pair");
        axes = axes.and_drawn("d", Distribution::between(psi(1.0), psi(2.0)).expect("a range")).expect("drawn");
        axes = axes.sampled(Samples { n: samples, ..Samples::default() }).expect("samples");
        let cases = lengths.iter().product::<usize>() * pairs * samples;
        prop_assert_eq!(axes.cases(), cases);
        let all: std::collections::BTreeSet<Vec<usize>> = (0..cases).map(|case| {
            let mut indices = vec![0; axes.axes().len()];
            axes.indices(case, &mut indices);
            indices
        }).collect();
        prop_assert_eq!(all.len(), cases, "no combination stands twice");
        for indices in &all {
            prop_assert_eq!(indices[lengths.len()], indices[lengths.len() + 1], "what is paired goes in step");
            prop_assert!(indices.iter().zip(axes.axes()).all(|(index, axis)| *index < axis.len()));
        }
    }
}

#[test]
fn axes_are_told_in_a_line_and_labeled_by_what_they_hold() {
    let lengths = Axis::of_quantities("feed.length", &[q(25.0, "ft"), q(50.0, "ft"), q(75.0, "ft")]).expect("an axis");
    assert_eq!(lengths.in_words(), "feed.length: 3 values from 25 ft to 75 ft");
    assert_eq!(Axis::of_quantities("feed.length", &[q(25.0, "ft")]).expect("an axis").in_words(), "feed.length: 25 ft");
    let zones = Axis::of_zones(vec![vec!["beds".into()], vec!["beds".into(), "rows".into()]]).expect("zones");
    assert_eq!((zones.name.as_str(), zones.label(1)), ("zones", "beds + rows".to_string()));
    let heads = [head("small", 0.1), head("large", 0.2)].map(|garden| (*garden.parts()[0]).clone());
    let unnamed = crate::parts::Part::build(Kind::Head, None, &[(Id::Nozzle, q(0.1, "inch"))]).expect("sound");
    let parts = Axis::of_parts("bed", heads.into_iter().chain([unnamed]).collect()).expect("parts");
    assert_eq!([0, 1, 2].map(|index| parts.label(index)), ["small", "large", "head 3"]);
    assert_eq!((parts.si(0), parts.kind().is_some(), parts.is_empty()), (None, false, false));
}

#[test]
fn axes_that_make_no_grid_say_why() {
    let axis = |name: &str, n: usize| Axis::of_quantities(name, &(0..n).map(|k| psi(k as f64)).collect::<Vec<_>>());
    let one = || Axes::default().and(axis("a", 3).expect("an axis")).expect("one");
    let errors = [
        axis("a", 0).err(),
        Axis::of_quantities("a", &[psi(1.0), q(1.0, "ft")]).err(),
        Axis::of_quantities("a", &[psi(f64::INFINITY)]).err(),
        Axis::of_parts("a", Vec::new()).err(),
        one().and(axis("a", 2).expect("an axis")).err(),
        one().and_paired(vec![axis("b", 2).expect("an axis"), axis("c", 3).expect("an axis")]).err(),
        one().filter(&[true, false]).err(),
        one().filter(&[false; 3]).err(),
        one().filter(&[true; 3]).and_then(|axes| axes.and(axis("b", 2).expect("an axis"))).err(),
        one().sampled(Samples::default()).err(),
        steps(psi(1.0), psi(2.0), q(1.0, "ft")).err(),
        steps(psi(1.0), psi(2.0), psi(0.0)).err(),
    ];
    let told: Vec<String> = errors.into_iter().map(|error| error.expect("refused").to_string()).collect();
    insta::assert_snapshot!(told.join("\n"), @r"
    the axis 'a' has no values
    the axis 'a' mixes 1 psi (a pressure) and 1 ft (a length)
    the axis 'a' has a value that is not finite
    the axis 'a' has no values
    two axes are called 'a'
    zipped axes need the same number of values: 'c' has 3, 'b' has 2
    2 answers for 3 cases
    no case is left
    the cases are already filtered, so no further axis can be added
    samples: no axis has a distribution
    steps need three quantities of one dimension, found 1 psi (a pressure), 2 psi (a pressure) and 1 ft (a length)
    steps from 1 psi to 2 psi: the step 0 psi does not reach the end
    ");
}

// ---- sweeps in closed form

#[test]
fn a_sweep_gives_the_formula_at_every_case_whatever_the_threads() {
    let garden = plot();
    let mains: Vec<Quantity> = (1..=12).map(|k| psi(8.0 * f64::from(k))).collect();
    let filters: Vec<Quantity> = (0..7).map(|k| psi(f64::from(k))).collect();
    let axes = Axes::default()
        .and(Axis::of_quantities("main.static_pressure", &mains).expect("an axis"))
        .and_then(|axes| axes.and(Axis::of_quantities("filter.loss", &filters).expect("an axis")))
        .expect("axes");
    let swept = |threads: usize| {
        sweep(&garden, &axes, &[], &SweepOptions { threads: Some(threads), ..SweepOptions::default() }).expect("a sweep")
    };
    let (one, two) = (swept(1), swept(2));
    assert_eq!(one, two);
    assert_eq!(one.rows(), mains.len() * filters.len());
    let flows = numbers(&one, "bed.flow");
    for (row, flow) in flows.iter().enumerate() {
        let (main, filter) = (mains[row / filters.len()], filters[row % filters.len()]);
        let expected = flow_gpm(main.si / PSI, filter.si / PSI) * GPM;
        assert_relative_eq!(flow.expect("fed"), expected, max_relative = 1e-9);
    }
}

#[test]
fn a_sweep_over_parts_and_zones_puts_each_in_its_turn() {
    let zone = |name: &str, gpm: f64| {
        let free = part(Kind::Valve, name, &[("k", q(0.0, ""))]);
        line(&[
            free,
            part(Kind::Head, &format!("{name} head"), &[("rated_flow", q(gpm, "gpm")), ("rated_flow_pressure", psi(50.0))]),
        ])
    };
    let main = part(Kind::Supply, "main", &[("static_pressure", psi(50.0))]);
    let garden = main.then_branches(&[zone("beds", 1.0), zone("rows", 3.0)]).expect("joins");
    let zones = [vec!["beds".to_string()], vec!["rows".to_string()], vec!["beds".to_string(), "rows".to_string()]];
    let axes = Axes::default().and(Axis::of_zones(zones.to_vec()).expect("zones")).expect("axes");
    let table = sweep(&garden, &axes, &[], &SweepOptions::default()).expect("a sweep");
    let gpm = |name: &str| -> Vec<Option<f64>> {
        numbers(&table, name).into_iter().map(|flow| flow.map(|flow| (flow / GPM * 1e6).round() / 1e6)).collect()
    };
    assert_eq!(texts(&table, "zones"), ["beds", "rows", "beds + rows"]);
    assert_eq!(gpm("beds head.flow").iter().map(|flow| flow.unwrap_or(0.0)).collect::<Vec<_>>(), [1.0, 0.0, 1.0]);
    assert_eq!(gpm("rows head.flow").iter().map(|flow| flow.unwrap_or(0.0)).collect::<Vec<_>>(), [0.0, 3.0, 3.0]);
    let larger = part(Kind::Head, "large", &[("rated_flow", q(5.0, "gpm")), ("rated_flow_pressure", psi(50.0))]);
    let parts = vec![(*garden.parts()[garden.find("beds head").expect("known")]).clone(), (*larger.parts()[0]).clone()];
    let axes = Axes::default().and(Axis::of_parts("beds head", parts).expect("parts")).expect("axes");
    let table = sweep(&garden, &axes, &["beds"], &SweepOptions::default()).expect("a sweep");
    let flows: Vec<f64> = numbers(&table, "beds head.flow").into_iter().map(|flow| (flow.expect("fed") / GPM).round()).collect();
    assert_eq!(flows, [1.0, 5.0]);
}

#[test]
fn the_widest_swing_comes_first_and_each_is_that_of_the_formula() {
    let ranges = [
        ("filter.loss".to_string(), psi(4.0), psi(16.0)),
        ("main.static_pressure".to_string(), psi(30.0), psi(70.0)),
        ("bed.range_low".to_string(), psi(10.0), psi(20.0)),
    ];
    let garden = plot().with("bed.range_low", psi(15.0)).expect("sound");
    let table = tornado(
        &ranges,
        US,
        |name| Ok(garden.parameter(name)?),
        |axes| garden_answers(&garden, &[], "bed.flow", axes, &SweepOptions::default()),
    )
    .expect("a tornado");
    assert_eq!(texts(&table, "parameter"), ["main.static_pressure", "filter.loss", "bed.range_low"]);
    let expected = [
        (flow_gpm(30.0, 8.0), flow_gpm(70.0, 8.0)),
        (flow_gpm(50.0, 4.0), flow_gpm(50.0, 16.0)),
        (flow_gpm(50.0, 8.0), flow_gpm(50.0, 8.0)),
    ];
    let (low, high, swing) = (numbers(&table, "at_low"), numbers(&table, "at_high"), numbers(&table, "swing"));
    for (row, (at_low, at_high)) in expected.into_iter().enumerate() {
        assert_relative_eq!(low[row].expect("fed") / GPM, at_low, max_relative = 1e-9);
        assert_relative_eq!(high[row].expect("fed") / GPM, at_high, max_relative = 1e-9);
        assert!((swing[row].expect("fed") / GPM - (at_high - at_low).abs()).abs() < 1e-9);
    }
    assert_eq!(texts(&table, "low")[0], "30 psi");
}

#[test]
fn levers_are_the_derivatives_of_the_formula() {
    let garden = plot();
    let bed = garden.find("bed").expect("known");
    let found = sensitivity_table(&garden, &[], &Probe { place: bed, kind: ProbeKind::Flow }).expect("levers");
    let lever = |path: &str| found.sensitivity_table.iter().find(|lever| lever.path == path).expect("a lever");
    let flow = flow_gpm(50.0, 8.0) * GPM;
    assert_relative_eq!(found.value, flow, max_relative = 1e-9);
    // Q = q0 sqrt(P / (F + R)): a tenth more main gives a twentieth more flow.
    assert_relative_eq!(lever("main.static_pressure").tenth, 0.05 * flow, max_relative = 1e-6);
    assert_relative_eq!(lever("filter.loss").tenth, -0.05 * flow * 8.0 / 25.0, max_relative = 1e-6);
    assert_relative_eq!(lever("bed.rated_flow_pressure").tenth, -0.05 * flow * 17.0 / 25.0, max_relative = 1e-6);
    assert_relative_eq!(lever("bed.rated_flow").tenth, 0.1 * flow * 17.0 / 25.0, max_relative = 1e-6);
    assert!(found.sensitivity_table.windows(2).all(|two| two[0].tenth.abs() >= two[1].tenth.abs()), "the largest comes first");
}

#[test]
fn runs_over_time_are_swept_with_the_water_of_each_case() {
    use crate::operation::{Schedule, Timer};
    let free = part(Kind::Valve, "beds", &[("k", q(0.0, ""))]);
    let bed = part(Kind::Head, "bed", &[("rated_flow", q(2.0, "gpm")), ("rated_flow_pressure", psi(64.0))]);
    let garden = line(&[part(Kind::Supply, "main", &[("static_pressure", psi(64.0))]), free, bed]);
    let schedule = |minutes: f64| {
        let timer = Timer { starts_s: vec![3600.0], zones: vec![("beds".into(), 60.0 * minutes)], ..Timer::new("east") };
        Schedule { timers: vec![timer], ..Schedule::default() }
    };
    let schedules = [("short".to_string(), schedule(10.0)), ("long".to_string(), schedule(20.0))];
    let axes = Axes::default()
        .and(Axis::of_quantities("main.static_pressure", &[psi(16.0), psi(64.0)]).expect("an axis"))
        .expect("axes");
    let table = sweep_operation(&garden, &axes, &schedules, 4.0 * 3600.0, &SweepOptions::default()).expect("a sweep");
    assert_eq!(texts(&table, "schedule"), ["short", "short", "long", "long"]);
    // A quarter of the pressure gives half the flow.
    let water: Vec<f64> = numbers(&table, "water").into_iter().map(|water| water.expect("run") / GPM / 60.0).collect();
    for (found, gallons) in water.into_iter().zip([10.0, 20.0, 20.0, 40.0]) {
        assert_relative_eq!(found, gallons, max_relative = 1e-6);
    }
    let wrong =
        Axes::default().and(Axis::of_quantities("main.static_pressure", &[q(1.0, "ft")]).expect("an axis")).expect("axes");
    assert!(matches!(
        sweep_operation(&garden, &wrong, &schedules, 3600.0, &SweepOptions::default()),
        Err(SweepError::Dimension { .. })
    ));
}

#[test]
fn faults_are_tried_one_by_one_beside_a_run_without_any() {
    use crate::operation::{Schedule, Timer};
    let free = part(Kind::Valve, "beds", &[("k", q(0.0, ""))]);
    let bed = part(Kind::Head, "bed", &[("rated_flow", q(2.0, "gpm")), ("rated_flow_pressure", psi(64.0))]);
    let garden = line(&[part(Kind::Supply, "main", &[("static_pressure", psi(64.0))]), free, bed]);
    let timer = Timer { starts_s: vec![3600.0], zones: vec![("beds".into(), 600.0)], ..Timer::new("east") };
    let schedule = Schedule { timers: vec![timer], ..Schedule::default() };
    let table = failure_study(&garden, &schedule, 2.0 * 3600.0, &SweepOptions::default()).expect("a table");
    let faults: usize = garden.parts().iter().map(|part| part.spec().faults.len()).sum();
    assert_eq!(table.rows(), faults + 1);
    insta::assert_snapshot!(table.show(US, None), @r"
    failure               highest   where and when           lost   backflow   lowest tap pressure   water   duty cycle   starts
                            (psi)                           (gal)      (gal)                 (psi)   (gal)
    ----------------------------------------------------------------------------------------------------------------------------
    none                       64   bed, day 1, 01:00:00        0          0                    64      20            0        0
    main fails                  -   -                           0          0                     -       0            0        0
    main loses pressure         0   bed, day 1, 01:00:00        0          0                     0       0            0        0
    beds stuck open            64   bed, day 1, 00:00:00      220          0                    64     240            0        0
    beds stuck closed          64   beds, day 1, 00:00:00       0          0                    64       0            0        0
    ");
}
