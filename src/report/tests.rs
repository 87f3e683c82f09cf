//! Each answer as a table, as text and as JSON: the three tell the same numbers, which are known in closed form.

use super::*;
use crate::coverage::CatchCans;
use crate::garden::{Accepted, Garden};
use crate::hydraulics::{Solution, run};
use crate::operation::{Fault, FaultKind, HandOpening, Log, Schedule, TankNeeds, Timer, operate, tank_for};
use crate::parts::{Id, Kind, Part};
use crate::quantity::Quantity;
use crate::settings::{Ask, leak_down_time, switch_window};
use crate::support::*;
use crate::table::Cell;
use crate::told::Told;
use crate::water_hammer::water_hammer;
use approx::assert_relative_eq;
use serde_json::Value;

const US: UnitSystem = UnitSystem::Us;
const LOOK: Look = Look { system: UnitSystem::Us, width: 100, tables: Some(100) };

fn stiff(psi: f64) -> Garden {
    part(Kind::Supply, "main", &[("static_pressure", q(psi, "psi"))])
}

fn free_valve(name: &str) -> Garden {
    part(Kind::Valve, name, &[("k", q(0.0, ""))])
}

/// An outlet that gives `gpm` at 64 psi.
fn outlet(name: &str, gpm: f64) -> Garden {
    part(Kind::Head, name, &[("rated_flow", q(gpm, "gpm")), ("rated_flow_pressure", q(64.0, "psi"))])
}

fn pump(numbers: &[(Id, Quantity)]) -> Garden {
    let curve = [(0.0, 40.0 * PSI), (10.0 * GPM, 20.0 * PSI)];
    let bare = Part::new(Kind::Booster).named("pump").and_then(|part| part.with_curve(&curve)).expect("sound");
    Garden::of(bare.with(numbers).expect("sound"))
}

fn switch(cut_in_psi: f64, cut_out_psi: f64) -> Garden {
    part(Kind::PressureSwitch, "switch", &[("cut_in", q(cut_in_psi, "psi")), ("cut_out", q(cut_out_psi, "psi"))])
}

/// 50 psi, a pump of 40 psi - 2 psi a gpm, an outlet of 4 gpm at 64 psi: 81 psi and 4.5 gpm.
fn pumped(numbers: &[(Id, Quantity)]) -> Garden {
    let check = part(Kind::CheckValve, "check", &[("k", q(0.0, "")), ("price", q(12.5, "$"))]);
    line(&[stiff(50.0), check, pump(numbers), switch(60.0, 85.0), free_valve("beds"), outlet("bed", 4.0)])
}

fn solution() -> Solution {
    run(&pumped(&[(Id::InputPower, q(300.0, "W"))]), &["beds"]).expect("a steady state")
}

/// Ten minutes of an outlet that gives 2 gpm.
fn log() -> Log {
    let garden = line(&[stiff(64.0), free_valve("beds"), outlet("bed", 2.0)]);
    operate(&garden, &schedule(), 7200.0).expect("a run")
}

fn schedule() -> Schedule {
    let timer = Timer { starts_s: vec![3600.0], zones: vec![("beds".into(), 600.0)], ..Timer::new("east") };
    Schedule { timers: vec![timer], ..Schedule::default() }
}

fn si(table: &Table, row: usize, name: &str) -> Option<f64> {
    match table.cell(row, name).expect("a cell") {
        Cell::Quantity(quantity) => Some(quantity.si),
        _ => None,
    }
}

fn texts(table: &Table, name: &str) -> Vec<String> {
    table.column(name).expect("a column").cells().map(|cell| cell.show(US)).collect()
}

/// A column of a table in JSON.
fn json_column<'a>(table: &'a Value, name: &str) -> &'a Value {
    let columns = table["columns"].as_array().expect("columns");
    columns.iter().find(|column| column["name"] == name).unwrap_or_else(|| panic!("{name} in {table}"))
}

// ---- a steady state

#[test]
fn a_solution_tells_the_same_in_table_text_json_and_single_numbers() {
    let solution = solution();
    let table = solution::table(&solution).expect("a table");
    assert_eq!(texts(&table, "part"), ["main", "check", "pump", "switch", "beds", "bed"]);
    assert_eq!(texts(&table, "kind"), ["supply", "check valve", "booster", "pressure switch", "valve", "head"]);
    assert_relative_eq!(si(&table, 5, "pressure").expect("fed") / PSI, 81.0, max_relative = 1e-9);
    assert_relative_eq!(si(&table, 5, "flow").expect("flows") / GPM, 4.5, max_relative = 1e-9);
    assert_relative_eq!(si(&table, 2, "loss").expect("in line") / PSI, -31.0, max_relative = 1e-9);
    assert_eq!(si(&table, 3, "flow"), None, "what sits at a point has no flow");
    assert_eq!(si(&table, 0, "loss"), None);
    assert_relative_eq!(solution::pressure(&solution, "bed").expect("fed").si, 81.0 * PSI, max_relative = 1e-9);
    assert_relative_eq!(solution::flow(&solution, "bed").expect("known").si, 4.5 * GPM, max_relative = 1e-9);
    assert_eq!(solution::power(&solution, "pump").expect("known").to_string(), "300 W");
    let json = json::solution(&solution, US);
    assert_eq!(json["zones"], serde_json::json!(["beds"]));
    let pressure = json_column(&json["table"], "pressure");
    assert_eq!(pressure["unit"], "psi");
    assert_relative_eq!(pressure["values"][5].as_f64().expect("a number"), 81.0, max_relative = 1e-9);
    assert_relative_eq!(pressure["si"][5].as_f64().expect("a number"), 81.0 * PSI, max_relative = 1e-9);
    let metric = json::solution(&solution, UnitSystem::Metric);
    let flow = json_column(&metric["table"], "flow");
    assert_ne!(flow["unit"], "gpm");
    assert_relative_eq!(flow["si"][5].as_f64().expect("a number"), 4.5 * GPM, max_relative = 1e-9);
    let text = solution::in_words(&solution, LOOK);
    let row = text.lines().find(|line| line.starts_with("bed ")).expect("a row of the head");
    assert!(text.starts_with("beds open\n") && row.contains(" 4.5 ") && row.contains(" 81 "), "{text}");
}

#[test]
fn open_zones_are_told_in_words() {
    let zones = |garden: &Garden, zones: &[&str]| solution::zones_in_words(&run(garden, zones).expect("a steady state"));
    let two =
        stiff(50.0).then_branches(&[line(&[free_valve("a"), outlet("x", 1.0)]), line(&[free_valve("b"), outlet("y", 1.0)])]);
    let two = two.expect("joins");
    assert_eq!(zones(&line(&[stiff(50.0), outlet("x", 1.0)]), &[]), "all open");
    assert_eq!(zones(&two, &[]), "all valves closed");
    assert_eq!(zones(&two, &["a", "b"]), "a and b open");
}

#[test]
fn the_way_to_a_part_is_told_with_lengths_heights_and_grade() {
    let garden = line(&[stiff(50.0), hose("feed", 40.0, 0.75), climb("up", 10.0), free_valve("gate"), outlet("bed", 1.0)]);
    let at_rest = run(&garden, &[]).expect("a steady state");
    let table = solution::pressure_profile(&at_rest, "up").expect("a way");
    assert_eq!(texts(&table, "part"), ["main", "feed", "up"]);
    assert_relative_eq!(si(&table, 2, "distance").expect("a length"), 40.0 * FT, max_relative = 1e-12);
    assert_relative_eq!(si(&table, 2, "height").expect("a height"), 10.0 * FT, max_relative = 1e-12);
    // Still water has one grade line.
    assert_relative_eq!(si(&table, 2, "grade").expect("a grade"), si(&table, 0, "grade").expect("a grade"), max_relative = 1e-9);
    assert!(matches!(solution::pressure_profile(&at_rest, "bed"), Err(ReportError::Unreached { .. })));
}

#[test]
fn a_bill_lists_what_has_a_price() {
    let table = solution::bill_of_materials(&pumped(&[(Id::Price, q(95.0, "$"))])).expect("a table");
    assert_eq!(texts(&table, "part"), ["check", "pump"]);
    let prices: Vec<f64> = (0..2).filter_map(|row| si(&table, row, "price")).collect();
    assert_eq!(prices, [12.5, 95.0]);
}

#[test]
fn a_part_is_told_as_a_card_and_in_a_line() {
    let hose = hose("feed", 100.0, 0.625);
    insta::assert_snapshot!(parts::card(&hose.parts()[0], US), @r"
    feed (hose)
      length     100 ft
      diameter   5/8 in
      roughness  5.91e-5 in
      minor k    0
    ");
    assert_eq!(parts::one_line(&hose.parts()[0], UnitSystem::Metric), "hose 'feed': length 30.5 m, diameter 15.9 mm");
    insta::assert_snapshot!(parts::card(&pump(&[]).parts()[0], US), @r"
    pump (booster)
      speed  1
      curve  40 psi at 0 gpm
      curve  20 psi at 10 gpm
    ");
    let bar = |unit: &str| Quantity::written(1.0, crate::quantity::find_unit(unit).expect("a unit")).preference;
    let metric = (*pump(&[]).parts()[0]).clone().with_curve_in(bar("L/min"), bar("bar"));
    insta::assert_snapshot!(parts::card(&metric, UnitSystem::AsWritten), @r"
    pump (booster)
      speed  1
      curve  2.76 bar at 0 L/min
      curve  1.38 bar at 37.9 L/min
    ");
    let check = Part::new(Kind::CheckValve);
    assert!(
        parts::card(&check, UnitSystem::Metric).ends_with("cracking pressure  0 bar"),
        "{}",
        parts::card(&check, UnitSystem::Metric)
    );
    let json = json::part(&hose.parts()[0], US);
    assert_eq!((json["kind"].as_str(), json["part"].as_str(), json["name"].as_str()), (Some("part"), Some("hose"), Some("feed")));
    assert_relative_eq!(json["numbers"]["length"]["si"].as_f64().expect("a number"), 100.0 * FT, max_relative = 1e-12);
    assert_eq!(json["numbers"]["length"]["unit"], "ft");
    assert_relative_eq!(json["numbers"]["length"]["value"].as_f64().expect("a number"), 100.0, max_relative = 1e-12);
    let garden = json::garden(&pumped(&[]), US);
    let names: Vec<&str> = garden["parts"].as_array().expect("parts").iter().filter_map(|part| part["name"].as_str()).collect();
    assert_eq!(names, ["main", "check", "pump", "switch", "beds", "bed"]);
}

#[test]
fn a_quantity_in_json_has_value_unit_and_si_and_a_plain_number_stands_alone() {
    let json = json::quantity(&q(2.0, "bar"), UnitSystem::AsWritten);
    assert_eq!(json, serde_json::json!({ "value": 2.0, "unit": "bar", "si": 2e5 }));
    assert_eq!(json::quantity(&Quantity::number(0.5), US), serde_json::json!(0.5));
}

// ---- a run over time

#[test]
fn a_log_tells_the_same_in_tables_text_json_and_single_numbers() {
    let log = log();
    let gallons = |si: f64| si / GPM / 60.0;
    let water = log::whole_water(&log).expect("a whole run");
    assert_eq!(texts(&water, "part"), ["main", "bed"]);
    assert_relative_eq!(gallons(si(&water, 1, "volume").expect("a volume")), 20.0, max_relative = 1e-6);
    assert_relative_eq!(gallons(log::water_of(&log, "bed").expect("tracked").si), 20.0, max_relative = 1e-6);
    let events = log::events(&log, None).expect("events");
    assert_eq!((si(&events, 0, "time"), si(&events, 1, "time")), (Some(3600.0), Some(4200.0)));
    assert_eq!(texts(&events, "event"), ["opens", "closes"]);
    let none = log::events(&log, Some(&["bed".to_string()])).expect("events");
    assert_eq!(none.rows(), 0, "nothing happened to the head itself");
    assert_relative_eq!(log::highest_of(&log, "beds").expect("fed").si, 64.0 * PSI, max_relative = 1e-9);
    let highest = log::highest(&log).expect("a table");
    let pressures: Vec<f64> = (0..highest.rows()).filter_map(|row| si(&highest, row, "pressure")).collect();
    assert!(pressures.windows(2).all(|two| two[0] >= two[1]), "the highest comes first");
    let json = json::log(&log, US);
    assert_relative_eq!(
        json_column(&json["table"], "volume")["values"][1].as_f64().expect("a number"),
        20.0,
        max_relative = 1e-6
    );
    assert_eq!(log::headline(&log, US), "2 h from day 1, 00:00, 2 events");
    assert!(log::in_words(&log, LOOK).starts_with(&log::headline(&log, US)));
    assert_eq!(log::energy(&log).expect("no pump").si, 0.0);
    let trace = log::trace(&log, &["bed".to_string()], 3000.0, 4500.0).expect("a trace");
    assert_eq!(trace.names(), ["time", "bed.pressure"]);
    let open: Vec<f64> = (0..trace.rows()).filter_map(|row| si(&trace, row, "bed.pressure")).collect();
    assert!(!open.is_empty() && open.iter().all(|pressure_pa| (pressure_pa / PSI - 64.0).abs() < 1e-6), "{open:?}");
}

#[test]
fn what_a_log_does_not_know_is_refused() {
    let log = log();
    let errors = [
        log::water_of(&log, "row").expect_err("unknown"),
        log::runs_of(&log, "bed").expect_err("no booster"),
        log::shortest_run(&log).expect_err("no run"),
        log::shortest_off_time(&log).expect_err("no rest"),
        log::events(&log, Some(&["row".to_string()])).expect_err("unknown"),
        solution::speed(&solution(), "bed").expect_err("no diameter"),
        solution::power(&solution(), "bed").expect_err("no booster"),
        solution::power(&run(&pumped(&[]), &["beds"]).expect("a steady state"), "pump").expect_err("no watts"),
        solution::pressure(&run(&pumped(&[]), &[]).expect("a steady state"), "bed").expect_err("not fed"),
    ];
    let told: Vec<String> = errors.iter().map(ReportError::to_string).collect();
    insta::assert_snapshot!(told.join("\n"), @r"
    there is no part called 'row' in this garden
    runs: 'bed' is not a booster
    no pump was started and stopped in this run
    no pump was started twice in this run
    there is no part called 'row' in this garden
    velocity: 'bed' has no inside diameter
    power: 'bed' is a head, not a booster
    power: 'pump' has neither input_power nor efficiency
    no supply reaches 'bed' with all valves closed
    ");
    assert!(errors[0].hint().is_some() && errors[8].hint().is_some());
}

#[test]
fn schedules_and_faults_are_told_in_words() {
    let east = Timer {
        starts_s: vec![19_800.0, 72_000.0],
        every_s: 2.0 * 86_400.0,
        first_day: 3,
        skipped_days: vec![5, 7],
        pause_s: 30.0,
        zones: vec![("beds".into(), 1200.0), ("rows".into(), 90.0)],
        ..Timer::new("east")
    };
    insta::assert_snapshot!(schedule::timer_in_words(&east), @r"
    east: 05:30, 20:00 every 2 days from day 3: beds 20 min, rows 1.5 min, 30 s between, not on day 5, 7
    ");
    let by_hand = vec![
        HandOpening { name: "kitchen".into(), at_s: 25_200.0, lasting_s: 300.0, every_s: Some(86_400.0) },
        HandOpening { name: "bath".into(), at_s: 100_000.0, lasting_s: 600.0, every_s: None },
    ];
    let both = Schedule { timers: vec![east], by_hand, ..Schedule::default() };
    insta::assert_snapshot!(schedule::schedule_in_words(&both), @r"
    east: 05:30, 20:00 every 2 days from day 3: beds 20 min, rows 1.5 min, 30 s between, not on day 5, 7
    by hand: kitchen 07:00 daily for 5 min; bath once at day 2, 03:46:40 for 10 min
    ");
    assert_eq!(schedule::schedule_in_words(&Schedule::default()), "no zone opens");
    assert_eq!(schedule::fault_in_words(&Fault::new("main", FaultKind::LosesPressure)), "main loses pressure");
    let table = schedule::overlaps(&both, 4.0 * 86_400.0).expect("a table");
    assert_eq!(table.rows(), 0);
    let late = Schedule {
        by_hand: vec![HandOpening { name: "kitchen".into(), at_s: 3700.0, lasting_s: 60.0, every_s: None }],
        ..schedule()
    };
    let table = schedule::overlaps(&late, 86_400.0).expect("a table");
    assert_eq!((texts(&table, "first"), texts(&table, "also by")), (vec!["beds".to_string()], vec!["by hand".to_string()]));
}

#[test]
fn tanks_that_were_worked_out_are_told_a_row_each() {
    let garden = pumped(&[]).with("switch.cut_out", q(80.0, "psi")).expect("sound");
    let needs = TankNeeds { starts_per_s: 10.0 / 3600.0, shortest_run_s: 60.0 };
    let found = tank_for(&garden, &needs).expect("a tank");
    let table = log::tanks(&garden, &found).expect("a table");
    assert_eq!(texts(&table, "switch"), ["switch"]);
    assert_relative_eq!(si(&table, 0, "volume").expect("a volume"), found[0].volume_m3, max_relative = 1e-12);
    assert_relative_eq!(si(&table, 0, "precharge").expect("a pressure") / PSI, 58.0, max_relative = 1e-9);
}

// ---- settings and falls

#[test]
fn a_window_is_told_by_its_cases_bounds_and_openers() {
    let garden = pumped(&[]);
    let window = switch_window(&garden, &Ask::default()).expect("a window");
    let table = settings::table(&window).expect("a table");
    assert_eq!(texts(&table, "zones"), ["beds"]);
    assert_relative_eq!(si(&table, 0, "on").expect("a pressure") / PSI, 81.0, max_relative = 1e-9);
    assert_relative_eq!(si(&table, 0, "flow").expect("a flow") / GPM, 4.5, max_relative = 1e-9);
    let bounds = settings::bounds(&window, US).expect("a table");
    assert_eq!(texts(&bounds, "setting"), ["cut-in", "cut-out", "cut-out"]);
    assert_eq!(texts(&bounds, "side"), ["above", "above", "below"]);
    let limits: Vec<f64> = (0..3).filter_map(|row| si(&bounds, row, "limit")).map(|pa| (pa / PSI * 1e6).round() / 1e6).collect();
    assert_eq!(limits, [50.0, 81.0, 90.0]);
    let remedies = settings::remedies(&window, US).expect("a table");
    assert_eq!(remedies.rows(), window.remedies.len());
}

#[test]
fn a_fall_of_pressure_is_told_with_its_time_or_why_it_never_comes() {
    let held = |main_psi: f64, leak_gph: f64| {
        let tank = part(Kind::PressureTank, "tank", &[("volume", q(20.0, "gal")), ("precharge", q(28.0, "psi"))]);
        let leak = part(Kind::Leak, "drip", &[("flow", q(leak_gph, "gph")), ("pressure", q(40.0, "psi"))]);
        let garden = line(&[stiff(main_psi), part(Kind::CheckValve, "check", &[("k", q(0.0, ""))]), tank, leak]);
        leak_down_time(&garden, q(60.0, "psi"), q(40.0, "psi"), None).expect("a fall")
    };
    let units = [(1.0, "h"), (100.0, "min"), (10_000.0, "s")].map(|(gph, unit)| {
        let time = settings::time_of_fall(&held(1.0, gph)).expect("it falls");
        (time.to_string(), unit)
    });
    for (told, unit) in units {
        assert!(told.ends_with(unit), "{told} in {unit}");
    }
    let words = settings::fall_in_words(&held(1.0, 1.0), US);
    assert!(
        words.contains(" from 60 psi to 40 psi at 'tank': ") && words.ends_with("1.22 gph at first and 1 gph at the end"),
        "{words}"
    );
    let never = settings::fall_in_words(&held(45.0, 1.0), US);
    assert_eq!(never, "never from 60 psi to 40 psi at 'tank': main pressure is 45 psi there and supplies the leak");
    assert_eq!(settings::time_of_fall(&held(45.0, 1.0)), None);
}

// ---- findings, water hammers, files

#[test]
fn findings_are_told_a_row_each_with_the_words_of_their_text() {
    let garden = line(&[stiff(90.0), outlet("bed", 2.0)]);
    let solution = run(&garden, &[]).expect("a steady state");
    let found = crate::findings::of_run(&solution);
    let list = FindingList::of(garden, &found);
    let table = list.table(US).expect("a table");
    assert_eq!(table.rows(), found.len() + 1, "a row for the cautions");
    let codes = found.iter().map(|finding| finding.code()).chain(["cautions"]);
    assert_eq!(texts(&table, "code"), codes.collect::<Vec<_>>());
    assert!(texts(&table, "what")[found.len()].contains("backflow device"), "{:?}", texts(&table, "what"));
    let counted: usize = [crate::findings::Level::Danger, crate::findings::Level::Warning, crate::findings::Level::Note]
        .map(|level| list.count(level))
        .iter()
        .sum();
    assert_eq!(counted, found.len());
    let words = list.in_words(Look { width: 100_000, ..LOOK });
    let json = json::findings(&list, US);
    for (row, finding) in found.iter().enumerate() {
        let what = finding.what(US);
        assert!(words.contains(&what), "{what} in {words}");
        assert_eq!(texts(&table, "what")[row], what);
        assert_eq!(json["findings"][row]["what"], what);
        assert_eq!(json["findings"][row]["code"], finding.code());
        assert_eq!(json["findings"][row]["level"], finding.level().word().to_lowercase());
    }
    assert_eq!(json["cautions"][0], "cross-connection");
    assert!(words.contains("help(\"safety\")"), "a garden has cautions");
    let accepted = Accepted::default();
    let ground = FindingList::of_ground(&accepted, &found);
    assert!(!ground.in_words(LOOK).contains("help(\"safety\")"), "ground has none");
    assert_eq!(ground.table(US).expect("a table").rows(), ground.list().len());
}

#[test]
fn a_water_hammer_is_told_part_by_part_and_over_time() {
    let feed = part(
        Kind::Hose,
        "feed",
        &[
            ("length", q(30.0, "m")),
            ("diameter", q(0.03, "m")),
            ("compliance", q(2.0, "mL/bar/m")),
            ("pressure_rating", q(150.0, "psi")),
        ],
    );
    let garden = line(&[stiff(58.0), feed, free_valve("beds"), part(Kind::Head, "bed", &[("nozzle", q(3.0, "mm"))])]);
    let found = water_hammer(&garden, &["beds"], Some(0.0)).expect("a water hammer");
    let table = water_hammer::table(&found).expect("a table");
    assert_eq!(texts(&table, "part"), ["main", "feed", "beds"]);
    let (highest, before) = (si(&table, 2, "highest").expect("struck"), si(&table, 2, "working_pressure").expect("fed"));
    assert_relative_eq!(si(&table, 2, "rise").expect("a rise"), highest - before, max_relative = 1e-9);
    assert_relative_eq!(water_hammer::rise(&found).si, highest - before, max_relative = 1e-9);
    assert_relative_eq!(water_hammer::peak(&found).si, highest, max_relative = 1e-6);
    assert_eq!(water_hammer::at(&found), "beds");
    let margin = si(&table, 1, "margin").expect("rated");
    assert_relative_eq!(margin, 150.0 * PSI - si(&table, 1, "highest").expect("struck"), max_relative = 1e-9);
    assert_eq!(si(&table, 2, "margin"), None, "a part without a rating has no margin");
    let trace = water_hammer::trace(&found).expect("a table");
    assert_eq!(trace.names(), ["time", "valve"]);
    assert_eq!(trace.rows(), found.trace.time_s.len());
}

#[test]
fn a_saved_file_says_what_became_of_it() {
    let file = || "cases.csv".to_string();
    assert_eq!(Saved::File(file()).to_string(), "saved cases.csv");
    assert_eq!(Saved::Cases { file: file(), cases: 1_234_567 }.to_string(), "saved cases.csv: 1,234,567 cases");
    assert_eq!(Saved::LeftOut { file: file(), part: 2, parts: 7 }.to_string(), "left out cases.csv: this run is part 2 of 7");
}

// ---- catches of cans

#[test]
fn catches_tell_their_mean_and_evenness_by_the_definitions() {
    let ml = |value: f64| q(value, "mL");
    let catches = CatchCans::of(&[ml(10.0), ml(20.0), ml(30.0), ml(20.0)]).expect("water");
    // Christiansen: 1 - sum |x - mean| / sum x = 1 - 20/80; the low quarter is one can of four, 10 of 20.
    assert_relative_eq!(catches.uniformity.christiansen, 0.75, max_relative = 1e-12);
    assert_relative_eq!(catches.uniformity.du, 0.5, max_relative = 1e-12);
    let words = coverage::cans_in_words(&catches, UnitSystem::AsWritten);
    assert!(
        words.starts_with(
            "4 cans, mean 20 mL, known to 47.9%\nCU 75% (Christiansen), DU 50% (low quarter)\ndriest can 1: 10 mL\n"
        ),
        "{words}"
    );
    let errors = [
        CatchCans::of(&[]).expect_err("no can"),
        CatchCans::of(&[ml(0.0), ml(0.0)]).expect_err("dry"),
        CatchCans::of(&[ml(1.0), q(1.0, "mm")]).expect_err("two dimensions"),
    ];
    assert!(errors.iter().all(|error| error.hint().is_some()));
    assert_eq!(errors[2].to_string(), "catch_cans: can 2 holds 1 mm (a length), the first 1 mL (a volume)");
}
