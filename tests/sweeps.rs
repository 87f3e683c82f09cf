//! Sweeps: the same table for any number of threads, axes of every kind, failed cases, and closures on several threads.

use hosewright::files::{Folder, Place};
use hosewright::garden::Garden;
use hosewright::quantity::{Preference, Quantity, UnitSystem, find_unit};
use hosewright::script::diagnostic::Trouble;
use hosewright::script::{Context, Session};
use hosewright::study::{
    Axes, Axis, AxisValues, Distribution, Samples, Spreading, SweepError, SweepOptions, SweepPlan, sweep, sweep_to,
};
use hosewright::table::{Cell, Column, Origin, Table, Values};
use hosewright::told::Told;
use std::sync::Arc;
use std::sync::atomic::Ordering;

fn q(value: f64, unit: &str) -> Quantity {
    Quantity::written(value, find_unit(unit).expect("a unit"))
}

/// A garden of two zones.
fn garden() -> Garden {
    from_script(
        r#"supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named("feed")
        >> [ valve("beds") >> hose(40.ft, (1/2).inch) >> head("bed", (1/8).inch),
             valve("berries") >> hose(60.ft, (5/8).inch) >> uphill(2.ft) >> head("berry", (5/32).inch) ]"#,
    )
}

/// A garden without valves.
fn supply_and_head() -> Garden {
    from_script(r#"supply(58.psi) >> hose(100.ft, (5/8).inch).named("feed") >> head("bed", (1/8).inch)"#)
}

fn from_script(text: &str) -> Garden {
    let mut session = Session::new(Folder::new("."));
    let outcome = session.evaluate(text);
    let value = outcome.cells.last().and_then(|cell| cell.value.clone()).expect("a garden");
    value.cast::<Garden>()
}

fn axes(n: usize) -> Axes {
    let drawn = |mean: f64, unit: &str| Distribution::normal(q(mean, unit), q(mean / 50.0, unit)).expect("a distribution");
    Axes::default()
        .and(Axis::of_quantities("feed.diameter", &[q(0.5, "in"), q(0.625, "in")]).expect("an axis"))
        .and_then(|axes| axes.and_drawn("feed.length", drawn(100.0, "ft")))
        .and_then(|axes| axes.and_drawn("supply.static_pressure", drawn(58.0, "psi")))
        .and_then(|axes| axes.sampled(Samples { n, seed: 11, spreading: Spreading::Independent }))
        .expect("axes")
}

fn threads(n: usize) -> SweepOptions<'static> {
    SweepOptions { threads: Some(n), ..SweepOptions::default() }
}

fn numbers(table: &Table, name: &str) -> Vec<Option<f64>> {
    match table.column(name).expect("a column") {
        Column { values: Values::Quantities { si, .. }, .. } => si,
        other => panic!("{other:?}"),
    }
}

/// A sweep without zones used to give a table of water at rest.
#[test]
fn a_garden_with_valves_is_not_swept_without_zones_but_at_rest_if_none_is_asked_for() {
    let garden = garden();
    let axes = || Axes::default().and(Axis::of_quantities("feed.length", &[q(50.0, "ft"), q(100.0, "ft")]).expect("an axis"));
    let lengths = axes().expect("axes");
    match SweepPlan::new(&garden, &lengths, None).map(|plan| plan.cases()) {
        Err(error @ SweepError::NoZones { .. }) => {
            let hint = error.hint().expect("advice");
            assert!(hint.contains("the valves are beds, berries"), "{hint}");
        }
        other => panic!("{other:?}"),
    }
    let still = sweep(&garden, &lengths, &[], &threads(1)).expect("a table");
    assert_eq!(still.names(), ["feed.length", "supply.pressure", "supply.flow"]);
    assert_eq!(numbers(&still, "supply.flow"), [Some(0.0), Some(0.0)]);
    let zones = Axis { name: "zones".into(), values: AxisValues::Zones(vec![vec!["beds".into()], Vec::new()]) };
    let by_zone = axes().and_then(|axes| axes.and(zones)).expect("axes");
    assert_eq!(SweepPlan::new(&garden, &by_zone, None).expect("a plan").cases(), 4);
    let open = supply_and_head();
    assert_eq!(SweepPlan::new(&open, &lengths, None).expect("a plan").cases(), 2);
}

#[test]
fn the_bytes_of_a_saved_sweep_are_the_same_for_any_number_of_threads() {
    let (garden, axes) = (garden(), axes(9_000));
    let home = tempfile::tempdir().expect("a folder");
    let mut files = Vec::new();
    for n in [1, 2, 5] {
        let table = sweep(&garden, &axes, &["berries"], &threads(n)).expect("a table");
        let (kept, streamed) = (home.path().join("kept.parquet"), home.path().join("streamed.parquet"));
        let made = Origin { study: Some("study.rhai".into()), seeds: vec![7] };
        table.write(&Place::at(&kept).expect("a place"), UnitSystem::AsWritten, &made).expect("written");
        let place = Place::at(&streamed).expect("a place");
        let options = SweepOptions { origin: Some(&made), ..threads(n) };
        let cases = sweep_to(&place, UnitSystem::AsWritten, &garden, &axes, &["berries"], &options).expect("written");
        assert_eq!((table.rows(), cases), (18_000, 18_000));
        let read = Table::read(&streamed).expect("a table");
        assert_eq!(read.without(&["reason"]).expect("others"), Table::read(&kept).expect("a table"));
        // Both files say the same of themselves, but for the column of reasons.
        let (mut notes, mut own) = (notes_of(&streamed), notes_of(&kept));
        let columns = notes["columns"].take();
        let columns = columns.as_array().expect("columns");
        assert_eq!(columns.last().map(|last| last["name"].clone()), Some("reason".into()));
        assert_eq!(serde_json::Value::from(columns[..columns.len() - 1].to_vec()), own["columns"].take());
        assert_eq!(notes, own);
        assert_eq!((own["study"].as_str(), own["seeds"][0].as_u64()), (Some("study.rhai"), Some(7)));
        files.push((std::fs::read(&kept).expect("bytes"), std::fs::read(&streamed).expect("bytes")));
    }
    assert!(files.windows(2).all(|pair| pair[0] == pair[1]));
    let names: Vec<_> = std::fs::read_dir(home.path()).expect("a folder").collect();
    assert_eq!(names.len(), 2, "no unfinished file is left");
}

/// What a parquet file says of itself under the key `hosewright`: the text that follows the key in its footer.
fn notes_of(path: &std::path::Path) -> serde_json::Value {
    let bytes = std::fs::read(path).expect("bytes");
    let text = String::from_utf8_lossy(&bytes).into_owned();
    let start = text.rfind("{\"columns\"").or_else(|| text.rfind("{\"version\"")).expect("notes");
    let mut values = serde_json::Deserializer::from_str(&text[start..]).into_iter();
    values.next().expect("a value").expect("JSON")
}

#[test]
fn zones_as_an_axis_give_what_separate_sweeps_give() {
    let garden = garden();
    let lengths = Axis::of_quantities("feed.length", &[q(50.0, "ft"), q(150.0, "ft")]).expect("an axis");
    let zones = Axis::of_zones(vec![vec!["beds".into()], vec!["beds".into(), "berries".into()]]).expect("an axis");
    let all = Axes::default().and(lengths.clone()).and_then(|axes| axes.and(zones)).expect("axes");
    let together = sweep(&garden, &all, &[], &threads(1)).expect("a table");
    let lengths = Axes::default().and(lengths).expect("axes");
    for (place, zones) in [vec!["beds"], vec!["beds", "berries"]].into_iter().enumerate() {
        let alone = sweep(&garden, &lengths, &zones, &threads(1)).expect("a table");
        for (row, expected) in numbers(&alone, "bed.pressure").into_iter().enumerate() {
            let found = numbers(&together, "bed.pressure")[2 * row + place].expect("a pressure");
            assert!((found - expected.expect("a pressure")).abs() < 1.0, "row {row} of {zones:?}");
        }
    }
    assert_eq!(together.cell(0, "zones").expect("a cell"), Cell::text("beds"));
    assert_eq!(together.cell(0, "berry.pressure").expect("a cell"), Cell::Missing);
    let twice = sweep(&garden, &all, &["beds"], &threads(1)).expect_err("zones stand twice");
    assert_eq!(twice.to_string(), "the zones are given twice: as an axis and as an argument");
}

#[test]
fn a_case_that_the_garden_refuses_stays_as_a_row_with_its_reason() {
    let lengths = [q(50.0, "ft"), q(-1.0, "ft"), q(60.0, "ft")];
    let axes = Axes::default().and(Axis::of_quantities("feed.length", &lengths).expect("an axis")).expect("axes");
    let table = sweep(&garden(), &axes, &["beds"], &threads(2)).expect("a table");
    assert_eq!(table.rows(), 3);
    let reason = table.cell(1, "reason").expect("a cell").show(UnitSystem::AsWritten);
    assert!(reason.contains("length"), "{reason}");
    assert_eq!(table.cell(1, "bed.pressure").expect("a cell"), Cell::Missing);
    assert_eq!(table.cell(2, "reason").expect("a cell"), Cell::Missing);
}

/// Side by side, and in a garden with a soaker one by one: values that contradict those of the case before are no contradiction.
#[test]
fn a_case_is_refused_for_its_own_values_alone() {
    let tap = r#"supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named("feed") >> "#;
    for rest in [r#"head("bed", (1/8).inch)"#, r#"soaker("bed", 50.ft, (1/2).inch, 2.gpm, 20.psi)"#] {
        let garden = from_script(&format!("{tap}{rest}"));
        let between = |low: f64, high: f64| Distribution::between(q(low, "psi"), q(high, "psi")).expect("a distribution");
        let axes = Axes::default()
            .and_drawn("supply.static_pressure", between(40.0, 70.0))
            .and_then(|axes| axes.and_drawn("supply.measured_pressure", between(30.0, 65.0)))
            .and_then(|axes| axes.sampled(Samples { n: 1500, seed: 5, spreading: Spreading::Independent }))
            .expect("axes");
        let table = sweep(&garden, &axes, &[], &threads(1)).expect("a table");
        let [at_rest, measured, pressures] =
            ["supply.static_pressure", "supply.measured_pressure", "bed.pressure"].map(|name| numbers(&table, name));
        let refused: Vec<bool> = table.column("reason").expect("a column").cells().map(|cell| !cell.is_missing()).collect();
        let expected: Vec<bool> = measured.iter().zip(&at_rest).map(|(measured, at_rest)| measured > at_rest).collect();
        assert_eq!(refused, expected, "{rest}");
        assert!(pressures.iter().zip(&refused).all(|(pressure, refused)| pressure.is_none() == *refused), "{rest}");
        assert!(refused.iter().filter(|refused| **refused).count() > 100, "{rest}");
    }
}

#[test]
fn a_part_and_its_parameter_may_both_be_varied_in_any_order() {
    let hose = |diameter: f64| {
        let numbers = [("length", q(100.0, "ft")), ("diameter", q(diameter, "in"))];
        hosewright::parts::Part::of_words(hosewright::parts::Kind::Hose, Some("feed"), &numbers).expect("a hose")
    };
    let hoses: Vec<_> = [0.5, 0.625, 0.75].map(hose).into();
    let lengths = [50.0, 200.0].map(|length| q(length, "ft"));
    for rest in [r#"head("bed", (1/8).inch)"#, r#"soaker("bed", 50.ft, (1/2).inch, 2.gpm, 20.psi)"#] {
        let garden = from_script(&format!(r#"supply(58.psi) >> hose(70.ft, (5/8).inch).named("feed") >> {rest}"#));
        let parts = || Axis::of_parts("feed", hoses.clone()).expect("an axis");
        let numbers_of = || Axis::of_quantities("feed.length", &lengths).expect("an axis");
        for part_first in [true, false] {
            let (first, second) = if part_first { (parts(), numbers_of()) } else { (numbers_of(), parts()) };
            let axes = Axes::default().and(first).and_then(|axes| axes.and(second)).expect("axes");
            let flows = numbers(&sweep(&garden, &axes, &[], &threads(1)).expect("a table"), "bed.flow");
            for (row, flow) in flows.into_iter().enumerate() {
                let (part, length) = if part_first { (row / 2, row % 2) } else { (row % 3, row / 3) };
                let one = garden.replace("feed", &hoses[part]).and_then(|garden| garden.with("feed.length", lengths[length]));
                let solution = hosewright::hydraulics::run(&one.expect("a garden"), &[]).expect("a steady state");
                let expected = solution.flow_m3_per_s("bed").expect("known");
                let off = flow.map_or(f64::NAN, |flow| (flow - expected).abs() / expected);
                assert!(off < 1e-9, "{rest}, row {row}: {flow:?} and {expected}");
            }
        }
    }
}

/// Zones, parts and refused numbers in one sweep of several blocks, which is solved side by side.
#[test]
fn cases_of_zones_parts_and_refused_numbers_side_by_side_are_those_of_single_runs() {
    let garden = garden();
    let sets = vec![vec!["beds".to_string()], vec!["beds".into(), "berries".into()], vec!["berries".into()]];
    let hose = |diameter: f64| {
        let numbers = [("length", q(100.0, "ft")), ("diameter", q(diameter, "in"))];
        hosewright::parts::Part::of_words(hosewright::parts::Kind::Hose, Some("feed"), &numbers).expect("a hose")
    };
    let hoses: Vec<_> = [0.5, 0.625, 0.75].map(hose).into();
    let nozzles: Vec<Quantity> =
        (0..100).map(|step| q(if step == 0 { -0.1 } else { 0.03 + 0.003 * f64::from(step) }, "in")).collect();
    let axes = Axes::default()
        .and(Axis::of_parts("feed", hoses.clone()).expect("an axis"))
        .and_then(|axes| axes.and(Axis::of_quantities("berry.nozzle", &nozzles).expect("an axis")))
        .and_then(|axes| axes.and(Axis::of_zones(sets.clone()).expect("an axis")))
        .expect("axes");
    let table = sweep(&garden, &axes, &[], &threads(2)).expect("a table");
    let (pressures, flows) = (numbers(&table, "berry.pressure"), numbers(&table, "supply.flow"));
    let reasons = table.column("reason").expect("a column");
    for row in (0..table.rows()).step_by(7) {
        let (zones, nozzle, part) = (row % 3, row / 3 % 100, row / 300);
        assert_eq!(reasons.cell(row).is_missing(), nozzle > 0, "row {row}");
        if nozzle == 0 {
            assert_eq!((pressures[row], flows[row]), (None, None), "row {row}");
            continue;
        }
        let one = garden.replace("feed", &hoses[part]).and_then(|garden| garden.with("berry.nozzle", nozzles[nozzle]));
        let open: Vec<&str> = sets[zones].iter().map(String::as_str).collect();
        let solution = hosewright::hydraulics::run(&one.expect("sound"), &open).expect("a steady state");
        let pressure = solution.pressure_pa("berry").expect("known");
        assert_eq!(pressures[row].is_some(), pressure.is_some(), "row {row}");
        if let (Some(found), Some(pressure)) = (pressures[row], pressure) {
            assert!((found - pressure).abs() < 1e-6, "row {row}: {found} and {pressure} Pa");
        }
        let (found, flow) = (flows[row].expect("a flow"), solution.flow_m3_per_s("supply").expect("known"));
        assert!((found - flow).abs() < 1e-14, "row {row}: {found} and {flow} m3/s");
    }
    assert_eq!(table, sweep(&garden, &axes, &[], &threads(1)).expect("a table"));
}

#[test]
fn a_case_gone_astray_leaves_its_neighbors_alone() {
    // The first three are refused before they are solved; the others are as far as numbers of parts go.
    let absurd = [
        ("supply.static_pressure", "psi", 1e200),
        ("feed.length", "ft", 1e-200),
        ("berry.nozzle", "in", 1e-150),
        ("supply.static_pressure", "psi", 1e10),
        ("feed.length", "ft", 1e-28),
        ("berry.nozzle", "in", 5e-5),
    ];
    for (path, unit, far) in absurd {
        let usual = garden().parameter(path).expect("given");
        for zones in [vec!["berries"], vec!["beds", "berries"]] {
            let values = [usual, q(far, unit), usual, q(far, unit), usual];
            let axes = Axes::default().and(Axis::of_quantities(path, &values).expect("an axis")).expect("axes");
            let table = sweep(&garden(), &axes, &zones, &threads(1)).expect("a table");
            for column in ["supply.flow", "berry.pressure"] {
                let found = numbers(&table, column);
                let first = found[0].expect("an answer");
                for row in [2, 4] {
                    let again = found[row].expect("an answer");
                    assert!((again / first - 1.0).abs() < 1e-9, "{path} {zones:?} {column}: {first} and {again}");
                }
                assert!(found.iter().flatten().all(|value| value.is_finite()), "{path} {column}: {found:?}");
            }
        }
    }
}

#[test]
fn an_axis_over_the_rated_flow_of_an_outlet_leaves_its_running_flow_another_column() {
    let mut session = Session::new(Folder::new("."));
    let text = r#"let line = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch) >> emitter("drip", 10.gph, 15.psi);
        let t = sweep(line, vary("drip.flow", [10.gph, 20.gph]).vary("drip.pressure", [15.psi, 20.psi]));
        t["drip.running_flow"];
        line.tornado([], "drip.flow", #{ "drip.flow": [10.gph, 20.gph] })"#;
    let outcome = session.evaluate(text);
    assert!(outcome.error().is_none(), "{:?}", outcome.error());
    let line = Garden::of(
        hosewright::parts::Part::of_words(hosewright::parts::Kind::Supply, Some("tap"), &[("static_pressure", q(40.0, "psi"))])
            .expect("a tap"),
    );
    let emitter = [("flow", q(10.0, "gph")), ("pressure", q(10.0, "psi"))];
    let emitter =
        hosewright::parts::Part::of_words(hosewright::parts::Kind::Emitter, Some("drip"), &emitter).expect("an emitter");
    let garden = line.then(&Garden::of(emitter)).expect("joins");
    let axis = Axis::of_quantities("drip.flow", &[q(10.0, "gph"), q(20.0, "gph")]).expect("an axis");
    let axes = Axes::default().and(axis).expect("axes");
    let table = sweep(&garden, &axes, &[], &threads(1)).expect("a table");
    // Four times the rated pressure is twice the rated flow.
    let (rated, running) = (numbers(&table, "drip.flow"), numbers(&table, "drip.running_flow"));
    for (rated, running) in rated.iter().flatten().zip(running.iter().flatten()) {
        assert!((running / rated - 2.0).abs() < 1e-9, "{running} of {rated}");
    }
    assert_eq!(numbers(&table, "drip.pressure").len(), 2);
}

#[test]
fn samples_have_the_mean_and_spread_of_their_distribution() {
    // Standard error of the mean of n values: sd / sqrt(n); of the deviation: sd / sqrt(2 n). Four of each are allowed.
    let n = 40_000;
    for (spreading, allowed) in [(Spreading::Independent, 4.0), (Spreading::Even, 0.2)] {
        let axes = Axes::default()
            .and_drawn("x", Distribution::normal(q(50.0, "psi"), q(2.0, "psi")).expect("a distribution"))
            .and_then(|axes| axes.sampled(Samples { n, seed: 5, spreading }))
            .expect("axes");
        let si: Vec<f64> = (0..n).map(|case| axes.axes()[0].si(case).expect("a number") / q(1.0, "psi").si).collect();
        let mean = si.iter().sum::<f64>() / n as f64;
        let deviation = (si.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / n as f64).sqrt();
        assert!((mean - 50.0).abs() < allowed * 2.0 / (n as f64).sqrt(), "{spreading:?}: mean {mean}");
        assert!((deviation - 2.0).abs() < allowed * 2.0 / (2.0 * n as f64).sqrt(), "{spreading:?}: deviation {deviation}");
    }
}

/// Evaluates a script with so many threads; what it shows, or the error.
fn run(text: &str, threads: usize) -> Result<(String, Vec<Table>), String> {
    let home = tempfile::tempdir().expect("a folder");
    std::fs::write(home.path().join("helper.rhai"), "fn twice(x) { x * 2 }").expect("written");
    let context = Arc::new(Context::new(Folder::new(home.path())));
    context.set_threads(Some(threads));
    let mut session = Session::with_context(context);
    let outcome = session.evaluate(text);
    if let Some(error) = outcome.error() {
        let shown: Vec<String> = outcome.shown().iter().map(|text| text.to_string()).collect();
        return Err(format!("{}\n{}", shown.join("\n"), error.message));
    }
    let tables = outcome.cells.iter().filter_map(|cell| cell.value.clone()?.try_cast::<Table>()).collect();
    Ok((outcome.shown().join("\n"), tables))
}

/// The same table from one and from three threads.
fn alike(text: &str) -> Table {
    let (shown, tables) = run(text, 1).expect("it runs");
    let (shown_by_three, by_three) = run(text, 3).expect("it runs");
    assert_eq!(shown, shown_by_three);
    assert_eq!(tables, by_three);
    tables.into_iter().next().expect("a table")
}

/// Enough cases that one thread is not done before others are asked.
const MANY: &str = "vary(\"x\", steps(1, 30000, 1))";

#[test]
fn a_closure_with_functions_captures_constants_and_imports_gives_the_same_on_several_threads() {
    let table = alike(&format!(
        r#"
        import "helper" as helper;
        const STEP = 5.ft;
        fn grow(x) {{ x + 1 }}
        let lengths = [10.ft, 20.ft];
        let first = || lengths[0];
        let plot = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);
        sweep({MANY}, |case| #{{ a: helper::twice(grow(case.x)), b: first.call() + global::STEP, c: plot["feed.length"] }})
        "#
    ));
    assert_eq!(table.rows(), 30_000);
    assert_eq!(table.cell(29_999, "a").expect("a cell"), Cell::number(60_002.0));
    assert_eq!(table.cell(7, "b").expect("a cell").show(UnitSystem::AsWritten), "15 ft");
}

#[test]
fn a_closure_that_changes_what_it_captured_still_sees_its_own_changes() {
    let table = alike(&format!("let seen = 0; sweep({MANY}, |case| {{ seen += 1; #{{ y: seen }} }})"));
    assert_eq!(table.cell(29_999, "y").expect("a cell"), Cell::number(30_000.0));
    // The change comes late, when other threads are at work.
    let late = format!("let seen = 0; sweep({MANY}, |case| {{ if case.x > 29000 {{ seen += 1; }} #{{ y: seen }} }})");
    assert_eq!(alike(&late).cell(29_999, "y").expect("a cell"), Cell::number(1_000.0));
}

#[test]
fn what_a_closure_prints_comes_in_the_order_of_the_cases() {
    alike(&format!("sweep({MANY}, |case| {{ if case.x % 5000 == 0 {{ print(case.x); }} #{{ y: 1 }} }})"));
}

#[test]
fn failing_cases_are_rows_with_a_reason_on_any_number_of_threads() {
    let table = alike(&format!("sweep({MANY}, |case| {{ if case.x % 10000 == 7 {{ 1.ft + 1.psi; }} #{{ y: case.x }} }})"));
    assert_eq!(table.names(), ["x", "y", "reason"]);
    let reasons = table.column("reason").expect("a column");
    assert_eq!(reasons.cells().filter(|cell| !cell.is_missing()).count(), 3);
    let reason = reasons.cell(6).show(UnitSystem::AsWritten);
    assert!(reason.starts_with("cannot add"), "{reason}");
    assert_eq!(table.cell(6, "y").expect("a cell"), Cell::Missing);
}

#[test]
fn when_every_case_fails_the_first_is_named() {
    for threads in [1, 2] {
        let error = run("sweep(vary(\"l\", [1.ft, 2.ft]), |case| #{ y: case.l + 1.psi })", threads).expect_err("it fails");
        assert!(error.contains("every case failed; the first is l = 1 ft"), "{error}");
        assert!(error.contains("cannot add"), "{error}");
    }
}

#[test]
fn a_closure_may_run_a_garden_and_sweep_inside_a_sweep() {
    let table = alike(
        r#"let plot = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);
        sweep(vary("l", steps(10.ft, 400.ft, 1.ft)), |case| {
            let inner = sweep(plot.with("feed.length", case.l), vary("feed.diameter", [(1/2).inch, (5/8).inch]));
            #{ gain: inner["spray.pressure"][1] - inner["spray.pressure"][0] }
        })"#,
    );
    assert_eq!(table.rows(), 391);
    let Cell::Quantity(Quantity { si, preference: Preference::Usual, .. }) = table.cell(390, "gain").expect("a cell") else {
        panic!("a pressure was expected");
    };
    assert!(si > 0.0);
}

#[test]
fn columns_of_a_closure_stand_as_they_are_written_there() {
    let t = alike("sweep(vary(\"n\", steps(1, 3000, 1)), |case| #{ zeta: case.n, mid: 2 * case.n, alpha: 1 })");
    assert_eq!(t.names(), ["n", "zeta", "mid", "alpha"]);
    // A map from a function, one that grows, and one of two branches, of which the second comes first.
    let t = alike("fn answer(x) { #{ z: x, b: x, a: x } } sweep(vary(\"n\", [1, 2]), |case| answer(case.n))");
    assert_eq!(t.names(), ["n", "z", "b", "a"]);
    let t = alike("sweep(vary(\"n\", [1, 2]), |case| { let r = #{ z: 1 }; r.m = 2; r[\"c\"] = 3; r })");
    assert_eq!(t.names(), ["n", "z", "m", "c"]);
    let t = alike("sweep(vary(\"n\", [1, 2]), |case| if case.n > 1 { #{ z: 1, a: 2 } } else { #{ b: 3 } })");
    assert_eq!(t.names(), ["n", "z", "a", "b"]);
    let t = alike("compare([1, 2], |x| #{ z: x, a: x })");
    assert_eq!(t.names()[..3], ["option", "z", "a"]);
}

/// More rows than a thread works on alone before others help.
const MANY_ROWS: &str = "let axes = vary(\"n\", steps(1, 40000, 1));
    let t = sweep(axes, |case| #{ p: case.n * 1.psi });";

#[test]
fn filter_with_and_only_give_the_same_on_several_threads() {
    let t = alike(&format!("{MANY_ROWS} t.filter(|r| r.n % 3 == 0)"));
    assert_eq!((t.rows(), t.cell(13332, "n").expect("a cell")), (13333, Cell::number(39999.0)));
    let t = alike(&format!("{MANY_ROWS} let k = 2; t.with(\"margin\", |r| if r.n > 39990 {{ r.p * k }} else {{ () }})"));
    assert_eq!(t.cell(39999, "margin").expect("a cell"), Cell::from(q(80000.0, "psi")));
    assert!(t.cell(0, "margin").expect("a cell").is_missing());
    let t = alike(&format!("{MANY_ROWS} sweep(axes.filter(|case| case.n % 20000 == 1), |case| #{{ y: case.n }})"));
    assert_eq!(numbers(&t, "y"), [Some(1.0), Some(20001.0)]);
}

#[test]
fn a_failing_row_is_named_on_any_number_of_threads() {
    for threads in [1, 3] {
        for (script, place) in [
            ("t.filter(|r| if r.n < 39000 { true } else { r.p > 1.ft })", "filter: failed for row 38999 of the table"),
            ("t.with(\"m\", |r| if r.n < 39000 { 1 } else { [r] })", "with: failed for row 38999 of the table"),
            ("axes.filter(|case| if case.n < 39000 { true } else { case })", "filter: failed for n = 39000"),
        ] {
            let error = run(&format!("{MANY_ROWS} {script}"), threads).expect_err("it fails");
            assert!(error.contains(place), "{error}");
        }
    }
}

const SWEEPS_WITHOUT_END: [&str; 2] = [
    "sweep(plot, lengths)",
    "sweep(lengths, |case| #{ p: plot.with(\"feed.length\", case[\"feed.length\"]).run().pressure(\"spray\") })",
];

/// Stops a script in the middle of a sweep without end, as soon as some of its cases are done; gives the context with its session.
fn stopped(sweep: &str, in_shell: bool) -> (Arc<Context>, Session) {
    let context = Arc::new(Context::new(Folder::new(".")));
    if in_shell {
        context.keep_partial_tables();
    }
    let mut session = Session::with_context(context.clone());
    let plot = r#"let plot = supply(50.psi) >> hose(50.ft, (5/8).inch).named("feed") >> head("spray", (1/8).inch);
        let lengths = vary("feed.length", between(10.ft, 400.ft)).samples(40000000);"#;
    assert!(session.evaluate(plot).error().is_none());
    let stop = context.stop.clone();
    context.watch_progress(Box::new(move |progressed| {
        if progressed.is_some_and(|progressed| progressed.done > 0) {
            stop.store(true, Ordering::Relaxed);
        }
    }));
    let outcome = session.evaluate(&format!("let t = 1; try {{ t = {sweep}; }} catch {{ t = 2; }} print(\"went on\")"));
    let error = outcome.error().unwrap_or_else(|| panic!("a stop is an error: {:?}", outcome.shown()));
    assert_eq!((error.kind, error.message.as_str()), (Trouble::Stopped, "the evaluation was stopped"));
    let shown = outcome.shown().join("\n");
    assert_eq!(shown.contains("of 40,000,000 cases; partial_table() gives them"), in_shell, "{sweep}: {shown}");
    assert!(!shown.contains("went on"), "{shown}");
    context.stop.store(false, Ordering::Relaxed);
    (context, session)
}

#[test]
fn a_stopped_sweep_ends_the_script_and_nothing_is_kept() {
    for sweep in SWEEPS_WITHOUT_END {
        let (_, mut session) = stopped(sweep, false);
        assert_eq!(session.evaluate("t").shown(), ["1"]);
        let error = session.evaluate("partial_table()").error().cloned().expect("no table");
        assert_eq!(error.message, "no sweep was stopped in this shell");
    }
}

#[test]
fn the_shell_keeps_what_is_done_and_every_row_says_that_it_is_partial() {
    for sweep in SWEEPS_WITHOUT_END {
        let (_, mut session) = stopped(sweep, true);
        let outcome = session.evaluate("let t = partial_table(); t.rows > 0 && t.rows < 40000000; t[\"partial\"][t.rows - 1]");
        assert_eq!(outcome.error(), None);
        let shown = outcome.shown();
        assert!(shown[0] == "true" && shown[1].ends_with(" of 40,000,000 cases"), "{shown:?}");
    }
}
