//! Runs over time against closed formulas, the balance of water, and what schedules, clocks and faults mean.

use super::fault::Fault;
use super::frame::{Tolerance, Watch};
use super::*;
use crate::garden::Garden;
use crate::parts::{Around, Id, Kind, Law, Part};
use crate::support::*;
use crate::told::Told;
use approx::assert_relative_eq;
use proptest::prelude::*;

const HOUR_S: f64 = 3600.0;
const DAY_S: f64 = 86_400.0;
const GALLON_M3: f64 = 3.785411784e-3;
const GRAVITY: f64 = 9.80665;
const DENSITY: f64 = 999.1;

/// A main that holds its pressure at any flow.
fn stiff(psi: f64) -> Garden {
    part(Kind::Supply, "main", &[("static_pressure", q(psi, "psi"))])
}

fn check() -> Garden {
    part(Kind::CheckValve, "check", &[("k", q(0.0, ""))])
}

fn tank(gal: f64, precharge_psi: f64) -> Garden {
    part(Kind::PressureTank, "tank", &[("volume", q(gal, "gal")), ("precharge", q(precharge_psi, "psi"))])
}

fn barrel(level_m: f64, liters: f64) -> Garden {
    part(Kind::OpenTank, "barrel", &[("level", q(level_m, "m")), ("volume", q(liters, "L"))])
}

fn switch(cut_in_psi: f64, cut_out_psi: f64) -> Garden {
    part(Kind::PressureSwitch, "switch", &[("cut_in", q(cut_in_psi, "psi")), ("cut_out", q(cut_out_psi, "psi"))])
}

fn draw(name: &str, gpm: f64) -> Garden {
    part(Kind::Demand, name, &[("flow", q(gpm, "gpm"))])
}

/// An outlet that gives `gpm` at 64 psi.
fn outlet(name: &str, gpm: f64) -> Garden {
    part(Kind::Head, name, &[("rated_flow", q(gpm, "gpm")), ("rated_flow_pressure", q(64.0, "psi"))])
}

fn free_valve(name: &str) -> Garden {
    part(Kind::Valve, name, &[("k", q(0.0, ""))])
}

fn timer(zones: &[(&str, f64)]) -> Timer {
    let zones = zones.iter().map(|(zone, lasting_s)| ((*zone).to_string(), *lasting_s)).collect();
    Timer { starts_s: vec![HOUR_S], zones, ..Timer::new("east") }
}

fn by_timer(zones: &[(&str, f64)]) -> Schedule {
    Schedule { timers: vec![timer(zones)], ..Schedule::default() }
}

fn by_hand(name: &str, at_s: f64, lasting_s: f64, every_s: Option<f64>) -> Schedule {
    Schedule { by_hand: vec![HandOpening { name: name.into(), at_s, lasting_s, every_s }], ..Schedule::default() }
}

fn of(log: &Log, name: &str) -> usize {
    log.garden.find(name).expect("known")
}

fn times(log: &Log, kind: EventKind) -> Vec<f64> {
    log.events().filter(|event| event.kind == kind).map(|event| event.time_s).collect()
}

/// What was given adds up with what came and what is still there.
fn closes(log: &Log) {
    let totals = log.totals();
    assert!(totals.error_m3().abs() <= 1e-8 * totals.moved_m3 + 1e-10, "{totals:?}");
}

// ---- water over time in closed form

#[test]
fn an_outlet_on_a_stiff_main_gives_its_flow_times_its_time() {
    // 2 gpm at 64 psi; the main holds 64 psi.
    let garden = stiff(64.0)
        .then_branches(&[line(&[free_valve("beds"), outlet("bed", 2.0)]), line(&[free_valve("rows"), outlet("row", 3.0)])]);
    let garden = garden.expect("joins");
    let log = operate(&garden, &by_timer(&[("beds", 900.0), ("rows", 1200.0)]), DAY_S).expect("a run");
    let water = |name: &str| log.water_m3(of(&log, name)).expect("tracked");
    assert_relative_eq!(water("bed"), 2.0 * GPM * 900.0, max_relative = 1e-6);
    assert_relative_eq!(water("row"), 3.0 * GPM * 1200.0, max_relative = 1e-6);
    assert_relative_eq!(water("beds"), water("bed"), max_relative = 1e-6);
    assert_relative_eq!(water("main"), water("bed") + water("row"), max_relative = 1e-6);
    assert_eq!(times(&log, EventKind::ValveOpens), [HOUR_S, HOUR_S + 900.0]);
    assert_eq!(times(&log, EventKind::ValveCloses), [HOUR_S + 900.0, HOUR_S + 2100.0]);
    assert_eq!(log.duration_s(), DAY_S);
    assert_eq!((log.starts(), log.duty_cycle(), log.shortest_run_s()), (0, 0.0, None));
    closes(&log);
}

#[test]
fn an_open_tank_falls_with_the_square_of_the_time_that_is_left() {
    // Torricelli: c sqrt(h) out of an upright tank of area A; sqrt(h) falls evenly by c / (2 A).
    let garden = line(&[barrel(1.5, 300.0), free_valve("gate"), part(Kind::Head, "bed", &[("nozzle", q(4.0, "mm"))])]);
    let log = operate(&garden, &by_timer(&[("gate", 10.0 * HOUR_S)]), DAY_S).expect("a run");
    let area_m2 = 0.3 / 1.5;
    let c = 0.96 * std::f64::consts::PI * 0.004f64.powi(2) / 4.0 * (2.0 * GRAVITY).sqrt();
    let empty_s = 2.0 * area_m2 * 1.5f64.sqrt() / c;
    let emptied = times(&log, EventKind::BarrelEmpties);
    // It counts as empty a tenth of a millimeter before.
    let left_s = 2.0 * area_m2 * (1.0 / (DENSITY * GRAVITY)).sqrt() / c;
    assert_relative_eq!(emptied[0], HOUR_S + empty_s - left_s, max_relative = 1e-6);
    let half = log.trace(HOUR_S, HOUR_S + 0.5 * empty_s, 30, 1000).expect("a trace");
    for moment in half.iter().filter(|moment| moment.open[of(&log, "gate")]) {
        let root = 1.5f64.sqrt() - c * (moment.time_s - HOUR_S) / (2.0 * area_m2);
        let level_m = moment.pressure_pa[of(&log, "barrel")] / (DENSITY * GRAVITY);
        assert!((level_m - root * root).abs() < 1e-5, "{} m at {} s", level_m, moment.time_s);
    }
    closes(&log);
}

#[test]
fn a_tank_behind_a_check_valve_gives_a_draw_what_boyle_says() {
    // Held at 60 psi, a demand of 0.5 gpm: how long until cut-in, by the water between 60 and 40 psi.
    let weak = stiff(1.0);
    let garden = line(&[weak, check(), tank(20.0, 28.0), draw("kitchen", 0.5)]);
    let schedule = Schedule { held_pa: Some(60.0 * PSI), ..by_hand("kitchen", 0.0, 2.0 * HOUR_S, None) };
    let log = operate(&garden, &schedule, HOUR_S).expect("a run");
    let held = |psi: f64| 20.0 * GALLON_M3 * (psi - 28.0) * PSI / (psi * PSI + ATMOSPHERE_PA);
    let precharge_s = held(60.0) / (0.5 * GPM);
    assert_relative_eq!(times(&log, EventKind::TankEmpties)[0], precharge_s, max_relative = 1e-5);
    let at_s = (held(60.0) - held(40.0)) / (0.5 * GPM);
    let around = log.trace(at_s - 1e-3, at_s + 1e-3, 0, 10).expect("a trace");
    assert_eq!(
        around.iter().map(|moment| moment.time_s).collect::<Vec<_>>(),
        [at_s - 1e-3, at_s + 1e-3],
        "no leg begins or ends there"
    );
    assert!(around.iter().all(|moment| (moment.pressure_pa[of(&log, "tank")] / (40.0 * PSI) - 1.0).abs() < 1e-5), "{around:?}");
    let whole = log.trace(0.0, precharge_s, 40, 1000).expect("a trace");
    for moment in whole.iter().filter(|moment| moment.time_s < 0.999 * precharge_s) {
        let left_m3 = held(60.0) - 0.5 * GPM * moment.time_s;
        // From Boyle: P = (V0 P0 + V A) / (V0 - V).
        let volume_m3 = 20.0 * GALLON_M3;
        let pressure_pa = (volume_m3 * 28.0 * PSI + left_m3 * ATMOSPHERE_PA) / (volume_m3 - left_m3);
        assert_relative_eq!(moment.pressure_pa[of(&log, "tank")], pressure_pa, max_relative = 1e-5);
    }
    closes(&log);
}

#[test]
fn a_pump_with_an_even_flow_cycles_in_the_time_that_the_water_between_its_points_gives() {
    // A booster that gives all but 6 gpm whatever the pressure, a tank between 40 and 60 psi, a demand of 2 gpm.
    let flat = booster("pump", &[(0.0, 4000.0), (5.999, 3000.0), (6.0, 30.0), (6.001, 0.0)]);
    let garden = line(&[stiff(20.0), check(), flat, switch(40.0, 60.0), tank(40.0, 38.0), draw("kitchen", 2.0)]);
    let schedule = Schedule { held_pa: Some(60.0 * PSI), ..by_hand("kitchen", 0.0, 10.0 * HOUR_S, None) };
    let log = operate(&garden, &schedule, 5.0 * HOUR_S).expect("a run");
    let held = |psi: f64| 40.0 * GALLON_M3 * (psi - 38.0) * PSI / (psi * PSI + ATMOSPHERE_PA);
    let between_m3 = held(60.0) - held(40.0);
    let (rest_s, run_s) = (between_m3 / (2.0 * GPM), between_m3 / (4.0 * GPM));
    let starts = times(&log, EventKind::PumpStarts);
    assert_relative_eq!(starts[0], rest_s, max_relative = 1e-3);
    for two in starts.windows(2) {
        assert_relative_eq!(two[1] - two[0], rest_s + run_s, max_relative = 1e-3);
    }
    assert_relative_eq!(log.shortest_run_s().expect("runs"), run_s, max_relative = 1e-3);
    assert_relative_eq!(log.shortest_rest_s().expect("rests"), rest_s, max_relative = 1e-3);
    // A third of the time: 2 of 6 gpm, but for the last run cut off by the end.
    assert!((log.duty_cycle() - 1.0 / 3.0).abs() < 0.02, "{}", log.duty_cycle());
    assert_relative_eq!(log.starts_per_hour(), log.starts() as f64 / 5.0, max_relative = 1e-12);
    let per_hour = 3600.0 / (rest_s + run_s);
    assert!((log.peak_starts_per_hour() as f64 - per_hour).abs() <= 1.0, "{} of {per_hour}", log.peak_starts_per_hour());
    closes(&log);
}

#[test]
fn energy_is_power_times_the_time_that_a_booster_runs() {
    let with = |numbers: &[(Id, crate::quantity::Quantity)]| {
        let curve = [(0.0, 40.0 * PSI), (10.0 * GPM, 20.0 * PSI)];
        let pump = crate::parts::Part::new(Kind::Booster).named("pump").and_then(|part| part.with_curve(&curve)).expect("sound");
        let pump = Garden::of(pump.with(numbers).expect("sound"));
        line(&[stiff(50.0), pump, free_valve("beds"), outlet("bed", 4.0)])
    };
    let joules = |garden: &Garden| {
        let log = operate(garden, &by_timer(&[("beds", 1800.0)]), 2.0 * HOUR_S).expect("a run");
        (log.energy_j()[0].1, log.on_s(of(&log, "pump")))
    };
    let (energy, on_s) = joules(&with(&[(Id::InputPower, q(300.0, "W"))]));
    assert_relative_eq!(energy.expect("known"), 300.0 * on_s, max_relative = 1e-9);
    assert_relative_eq!(on_s, 2.0 * HOUR_S, max_relative = 1e-9);
    // 4.5 gpm at 31 psi of rise while the valve is open; no water, no power.
    let (energy, _) = joules(&with(&[(Id::Efficiency, q(0.4, ""))]));
    assert_relative_eq!(energy.expect("known"), 4.5 * GPM * 31.0 * PSI / 0.4 * 1800.0, max_relative = 1e-5);
    assert_eq!(joules(&with(&[])).0, None, "who says neither has no energy to tell");
}

#[test]
fn an_open_tank_gains_what_comes_in_until_it_runs_over() {
    let numbers = [("level", q(1.0, "m")), ("volume", q(100.0, "L")), ("inflow", q(2.0, "lpm"))];
    let garden = line(&[part(Kind::OpenTank, "barrel", &numbers), draw("can", 1.0)]);
    let log = operate(&garden, &by_hand("can", 600.0, 1200.0, None), HOUR_S).expect("a run");
    let (drawn_m3, came_m3) = (1.0 * GPM * 1200.0, 2e-3);
    // Full at first: what comes runs over until the can draws more, and again when the tank is full anew.
    let lacking_m3 = drawn_m3 - came_m3 * 20.0;
    let totals = log.totals();
    assert_relative_eq!(totals.discharged_m3, drawn_m3, max_relative = 1e-6);
    assert!(lacking_m3 > 0.0 && lacking_m3 < came_m3 * 30.0, "the half hour behind fills it again");
    assert_relative_eq!(totals.inflow_m3, drawn_m3, max_relative = 1e-4);
    assert!(totals.stored_m3.abs() < 1e-5, "{}", totals.stored_m3);
    closes(&log);
}

#[test]
fn time_below_need_is_counted_while_the_line_is_open() {
    let needy = part(
        Kind::Head,
        "bed",
        &[("rated_flow", q(2.0, "gpm")), ("rated_flow_pressure", q(64.0, "psi")), ("range_low", q(60.0, "psi"))],
    );
    let garden = |main_psi: f64| line(&[stiff(main_psi), free_valve("beds"), needy.clone()]);
    let need_s = |main_psi: f64| {
        let log = operate(&garden(main_psi), &by_timer(&[("beds", 900.0)]), 2.0 * HOUR_S).expect("a run");
        log.need_s(of(&log, "bed"))
    };
    let (open_s, below_s) = need_s(60.1);
    assert_relative_eq!(open_s, 900.0, max_relative = 1e-9);
    assert_eq!(below_s, 0.0);
    let (_, below_s) = need_s(59.9);
    assert_relative_eq!(below_s, 900.0, max_relative = 1e-9);
}

#[test]
fn the_highest_and_lowest_pressure_are_told_with_their_first_moment() {
    let garden = line(&[
        stiff(64.0),
        part(Kind::Filter, "filter", &[("loss", q(1.0, "psi")), ("flow", q(1.0, "gpm"))]),
        free_valve("beds"),
        outlet("bed", 2.0),
    ]);
    let log = operate(&garden, &by_timer(&[("beds", 900.0)]), 4.0 * HOUR_S).expect("a run");
    let filter = of(&log, "filter");
    let (highest, lowest) = (log.highest(filter).expect("fed"), log.lowest(filter).expect("fed"));
    assert_relative_eq!(highest.pressure_pa, 64.0 * PSI, max_relative = 1e-9);
    assert_eq!(highest.time_s, 0.0);
    // (64 - P) = 4 P / 64: 64 psi over 1 + 1/16 of it.
    assert_relative_eq!(lowest.pressure_pa / PSI, 64.0 / (1.0 + 4.0 / 64.0), max_relative = 1e-6);
    assert!((lowest.time_s - HOUR_S).abs() < 1.0, "{}", lowest.time_s);
    assert_relative_eq!(log.lowest_at_inlet(filter).expect("fed").pressure_pa, 64.0 * PSI, max_relative = 1e-9);
    assert_relative_eq!(log.last_pa(filter).expect("fed"), 64.0 * PSI, max_relative = 1e-9);
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(12) })]

    #[test]
    fn water_of_a_day_adds_up_whatever_tank_pump_leak_and_draws(
        gal in 2.0f64..60.0, leak_gph in 0.1f64..20.0, gpm in 0.2f64..3.0, minutes in 1.0f64..30.0, cut_in_psi in 45.0f64..60.0,
    ) {
        let leak = part(Kind::Leak, "drip", &[("flow", q(leak_gph, "gph")), ("pressure", q(40.0, "psi"))]);
        let pump = booster("pump", &[(0.0, 45.0), (10.0, 20.0)]);
        let garden = line(&[supply("tap", 40.0, 30.0, 6.0), check(), pump, switch(cut_in_psi, cut_in_psi + 15.0), tank(gal, cut_in_psi - 2.0), leak, draw("kitchen", gpm)]);
        let log = operate(&garden, &by_hand("kitchen", HOUR_S, 60.0 * minutes, Some(2.0 * HOUR_S)), 12.0 * HOUR_S).expect("a run");
        let totals = log.totals();
        prop_assert!(totals.error_m3().abs() <= 1e-8 * totals.moved_m3 + 1e-10, "{:?}", totals);
        let pump = of(&log, "pump");
        let runs: Vec<PumpRun> = log.runs(pump).collect();
        for run in &runs {
            prop_assert!(run.to_s.is_none_or(|to_s| to_s > run.from_s));
        }
        for two in runs.windows(2) {
            prop_assert!(two[0].to_s.is_some_and(|to_s| to_s < two[1].from_s));
        }
        prop_assert_eq!(runs.len(), log.starts());
        prop_assert!(log.events().map(|event| event.time_s).is_sorted());
        let on_s: f64 = runs.iter().map(|run| run.to_s.unwrap_or(log.duration_s()) - run.from_s).sum();
        prop_assert!((log.on_s(pump) - on_s).abs() < 1e-9 && log.duty_cycle() <= 1.0);
    }
}

/// A hose closed at its end that gives way, wide enough to lose nothing; what it takes up for each Pa, its water included.
fn vessel(name: &str, length_m: f64, stretch: f64) -> (Garden, f64) {
    let diameter_m: f64 = 0.1;
    let numbers = [("length", q(length_m, "m")), ("diameter", q(diameter_m, "m")), ("compliance", q(stretch, "mL/bar/m"))];
    let water_m3 = std::f64::consts::PI * diameter_m * diameter_m / 4.0 * length_m;
    let m3_per_pa = stretch * 1e-11 * length_m + water_m3 / crate::laws::vessel::WATER_BULK_MODULUS_PA;
    (part(Kind::Hose, name, &numbers), m3_per_pa)
}

/// An outlet that gives in proportion to its pressure, and its resistance, Pa s/m3.
fn linear_leak(lph_at_a_bar: f64) -> (Garden, f64) {
    let numbers = [("flow", q(lph_at_a_bar, "lph")), ("pressure", q(1.0, "bar")), ("exponent", q(1.0, ""))];
    (part(Kind::Leak, "drip", &numbers), 1e5 * 3.6e6 / lph_at_a_bar)
}

#[test]
fn a_vessel_that_gives_way_evenly_empties_exponentially_through_a_linear_leak() {
    // C dP/dt = -P / R: P = P0 exp(-t / RC).
    let (hose, c) = vessel("feed", 30.0, 40.0);
    let (leak, r) = linear_leak(4.0);
    let garden = line(&[stiff(0.001), check(), hose, leak]);
    let schedule = Schedule { held_pa: Some(4e5), ..Schedule::default() };
    let log = operate(&garden, &schedule, 6.0 * HOUR_S).expect("a run");
    let drip = of(&log, "drip");
    let trace = log.trace(0.0, 3.0 * r * c, 20, 400).expect("a trace");
    assert!(trace.len() > 8, "{}", trace.len());
    for moment in &trace {
        assert_relative_eq!(moment.pressure_pa[drip], 4e5 * (-moment.time_s / (r * c)).exp(), max_relative = 2e-3);
    }
    closes(&log);
}

#[test]
fn two_vessels_with_a_thin_tube_between_follow_the_two_roots_of_their_equation() {
    // Ca a' = -(a - b) / R, Cb b' = (a - b) / R - b / L; the tube by Hagen and Poiseuille.
    let ((first, ca), (second, cb)) = (vessel("first", 30.0, 40.0), vessel("second", 20.0, 30.0));
    let (leak, l) = linear_leak(2.0);
    let (length_m, diameter_m) = (4.0, 0.0012);
    let tube = part(Kind::Pipe, "tube", &[("length", q(length_m, "m")), ("diameter", q(diameter_m, "m"))]);
    let r = 128.0 * 1.138e-3 * length_m / (std::f64::consts::PI * f64::powi(diameter_m, 4));
    let garden = line(&[stiff(0.001), check(), first, tube, second, leak]);
    let schedule = Schedule { held_pa: Some(2e5), ..Schedule::default() };
    let log = operate(&garden, &schedule, 2.0 * HOUR_S).expect("a run");
    let (near, far) = (of(&log, "first"), of(&log, "drip"));
    let matrix = [[-1.0 / (r * ca), 1.0 / (r * ca)], [1.0 / (r * cb), -1.0 / (r * cb) - 1.0 / (l * cb)]];
    let (half, product) = (0.5 * (matrix[0][0] + matrix[1][1]), matrix[0][0] * matrix[1][1] - matrix[0][1] * matrix[1][0]);
    let root = (half * half - product).sqrt();
    let (fast, slow) = (half - root, half + root);
    // (a, b) = sum of c_i exp(x_i t) (1, 1 + x_i R Ca), with both at 2 bar at first.
    let share = |x: f64| 1.0 + x * r * ca;
    let c_slow = 2e5 * (1.0 - share(fast)) / (share(slow) - share(fast));
    let c_fast = 2e5 - c_slow;
    let trace = log.trace(60.0, 2.0 * HOUR_S, 0, 400).expect("a trace");
    assert!(trace.len() > 10);
    for moment in &trace {
        let (e_slow, e_fast) = (c_slow * (slow * moment.time_s).exp(), c_fast * (fast * moment.time_s).exp());
        let (a, b) = (e_slow + e_fast, share(slow) * e_slow + share(fast) * e_fast);
        assert!((moment.pressure_pa[near] - a).abs() < 600.0, "{} Pa and {a} at {} s", moment.pressure_pa[near], moment.time_s);
        assert!((moment.pressure_pa[far] - b).abs() < 600.0, "{} Pa and {b} at {} s", moment.pressure_pa[far], moment.time_s);
    }
    closes(&log);
}

// ---- the tank that a pump needs

#[test]
fn the_tank_for_an_even_pump_is_the_quarter_of_its_flow_over_the_starts() {
    // For a pump of flow Q the worst draw is Q/2 and a cycle lasts 4 V / Q; starts N: V = Q / (4 N). Common practice, no source.
    let flat = booster("pump", &[(0.0, 4000.0), (5.999, 3000.0), (6.0, 30.0), (6.001, 0.0)]);
    let garden = line(&[stiff(20.0), check(), flat, switch(40.0, 60.0), head("bed", 0.1)]);
    let needs = TankNeeds { starts_per_s: 10.0 / 3600.0, shortest_run_s: 1.0 };
    let found = tank_for(&garden, &needs).expect("a tank")[0];
    assert_relative_eq!(found.drawdown_m3, 6.0 * GPM / (4.0 * needs.starts_per_s), max_relative = 2e-3);
    assert_relative_eq!(found.worst_demand_m3_per_s, 3.0 * GPM, max_relative = 1e-2);
    assert_relative_eq!(found.starts_per_s, needs.starts_per_s, max_relative = 1e-9);
    assert_relative_eq!(found.precharge_pa, 38.0 * PSI, max_relative = 1e-12);
    assert_eq!(found.controlling_limit, "starts");
    let share = (60.0 - 38.0) * PSI / (60.0 * PSI + ATMOSPHERE_PA) - 2.0 * PSI / (40.0 * PSI + ATMOSPHERE_PA);
    assert_relative_eq!(found.volume_m3, found.drawdown_m3 / share, max_relative = 1e-9);
    // Half the starts, twice the tank; a long run decides where it asks for more.
    let half = tank_for(&garden, &TankNeeds { starts_per_s: 5.0 / 3600.0, ..needs }).expect("a tank")[0];
    assert_relative_eq!(half.volume_m3, 2.0 * found.volume_m3, max_relative = 1e-6);
    let long = tank_for(&garden, &TankNeeds { shortest_run_s: 600.0, ..needs }).expect("a tank")[0];
    assert_eq!(long.controlling_limit, "shortest run");
    assert_relative_eq!(long.drawdown_m3, 6.0 * GPM * 600.0, max_relative = 2e-3);
    assert_relative_eq!(long.shortest_run_s, 600.0, max_relative = 1e-9);
}

#[test]
fn the_tank_that_is_found_keeps_its_pump_to_the_starts_in_a_run() {
    let pump = || booster("pump", &[(0.0, 50.0), (10.0, 10.0)]);
    let bare = line(&[stiff(30.0), check(), pump(), switch(40.0, 60.0), head("bed", 0.001)]);
    let needs = TankNeeds { starts_per_s: 12.0 / 3600.0, shortest_run_s: 20.0 };
    let found = tank_for(&bare, &needs).expect("a tank")[0];
    let (gal, precharge_psi) = (found.volume_m3 / GALLON_M3, found.precharge_pa / PSI);
    let worst = draw("kitchen", found.worst_demand_m3_per_s / GPM);
    let garden = line(&[stiff(30.0), check(), pump(), switch(40.0, 60.0), tank(gal, precharge_psi), worst]);
    let log = operate(&garden, &by_hand("kitchen", 0.0, 8.0 * HOUR_S, None), 6.0 * HOUR_S).expect("a run");
    assert!(log.peak_starts_per_hour() <= 13, "{}", log.peak_starts_per_hour());
    assert!((log.starts_per_hour() - 12.0).abs() < 0.5, "{}", log.starts_per_hour());
    assert!(log.shortest_run_s().expect("runs") >= 20.0 * 0.999);
}

// ---- schedules

#[test]
fn zones_of_a_timer_follow_each_other_with_its_pause_between() {
    let east = Timer { pause_s: 30.0, ..timer(&[("a", 600.0), ("b", 300.0), ("c", 60.0)]) };
    let intervals = Schedule { timers: vec![east], ..Schedule::default() }.intervals(DAY_S).expect("sound");
    let spans: Vec<(f64, f64)> = intervals.iter().map(|interval| (interval.from_s - HOUR_S, interval.to_s - HOUR_S)).collect();
    assert_eq!(spans, [(0.0, 600.0), (630.0, 930.0), (960.0, 1020.0)]);
}

#[test]
fn a_timer_begins_on_its_first_day_and_by_each_of_its_starts() {
    let east = Timer { starts_s: vec![6.0 * HOUR_S, 20.0 * HOUR_S], first_day: 3, every_s: 2.0 * DAY_S, ..timer(&[("a", 60.0)]) };
    let schedule = Schedule { timers: vec![east], ..Schedule::default() };
    let begins: Vec<f64> = schedule.intervals(6.0 * DAY_S).expect("sound").iter().map(|interval| interval.from_s).collect();
    let at = |day: f64, hour: f64| (day - 1.0) * DAY_S + hour * HOUR_S;
    assert_eq!(begins, [at(3.0, 6.0), at(3.0, 20.0), at(5.0, 6.0), at(5.0, 20.0)]);
}

#[test]
fn draws_repeat_and_overlaps_are_found_between_hands_and_timers() {
    let twice = by_hand("kitchen", 600.0, 120.0, Some(1800.0));
    let spans: Vec<(f64, f64)> = twice.intervals(HOUR_S).expect("sound").iter().map(|i| (i.from_s, i.to_s)).collect();
    assert_eq!(spans, [(600.0, 720.0), (2400.0, 2520.0)]);
    assert!(twice.overlaps(HOUR_S).expect("sound").is_empty());
    let both = Schedule { by_hand: by_hand("kitchen", HOUR_S + 30.0, 600.0, None).by_hand, ..by_timer(&[("beds", 60.0)]) };
    let overlaps = both.overlaps(DAY_S).expect("sound");
    assert_eq!(overlaps.len(), 1);
    assert_eq!((overlaps[0].from_s, overlaps[0].to_s), (HOUR_S + 30.0, HOUR_S + 60.0));
    assert_eq!((overlaps[0].first.timer.as_deref(), overlaps[0].second.timer.as_deref()), (Some("east"), None));
    // One that ends as the next begins does not overlap it.
    let touching = Schedule { by_hand: by_hand("kitchen", HOUR_S + 60.0, 600.0, None).by_hand, ..by_timer(&[("beds", 60.0)]) };
    assert!(touching.overlaps(DAY_S).expect("sound").is_empty());
}

#[test]
fn schedules_runs_and_tanks_that_make_no_sense_say_why() {
    let garden = line(&[stiff(64.0), free_valve("beds"), outlet("bed", 2.0)]);
    let pumped = |cut_out_psi: f64| {
        line(&[
            supply("tap", 20.0, 15.0, 6.0),
            booster("pump", &[(0.0, 30.0), (10.0, 10.0)]),
            switch(40.0, cut_out_psi),
            head("bed", 0.1),
        ])
    };
    let run = |schedule: Schedule| operate(&garden, &schedule, DAY_S).expect_err("refused");
    let paused = Timer { pause_s: -1.0, ..timer(&[("beds", 60.0)]) };
    let never = Timer { every_s: 0.0, ..timer(&[("beds", 60.0)]) };
    let of_timer = |timer: Timer| Schedule { timers: vec![timer], ..Schedule::default() };
    let fault = |part: &str, kind: FaultKind| {
        let faults = [Fault::new(part, kind)];
        operate_with(&garden, &Schedule::default(), DAY_S, &Options { faults: &faults, ..Options::default() })
            .expect_err("refused")
    };
    let needs = TankNeeds { starts_per_s: 0.01, shortest_run_s: 1.0 };
    let errors = [
        operate(&garden, &Schedule::default(), 0.0).expect_err("no time"),
        operate(&garden, &Schedule::default(), f64::NAN).expect_err("no time"),
        run(by_timer(&[("beds", 0.0)])),
        run(by_timer(&[("berries", 60.0)])),
        run(by_timer(&[("bed", 60.0)])),
        run(of_timer(paused)),
        run(of_timer(never)),
        run(of_timer(Timer { starts_s: Vec::new(), ..timer(&[("beds", 60.0)]) })),
        run(by_hand("beds", 0.0, -1.0, None)),
        run(by_hand("beds", 0.0, 0.01, Some(0.02))),
        fault("bed", FaultKind::Fails),
        fault("beds", FaultKind::Fails),
        FaultKind::of_words("breaks").expect_err("unknown"),
        clock_time_s("noon").expect_err("no clock"),
        tank_for(&garden, &needs).expect_err("no switch"),
        tank_for(&pumped(60.0), &needs).expect_err("too weak"),
        tank_for(&pumped(45.0), &TankNeeds { starts_per_s: 0.0, ..needs }).expect_err("no limit"),
    ];
    let silent = |error: &OperationError| matches!(error, OperationError::NotPositive { .. } | OperationError::Negative { .. });
    assert!(errors.iter().all(|error| error.hint().is_some() != silent(error)), "all but a plain number say what to do");
    let told: Vec<String> = errors.iter().map(OperationError::to_string).collect();
    insta::assert_snapshot!(told.join("\n"), @r"
    the duration of a run must be above zero, found 0 s
    the duration of a run must be above zero, found NaN s
    the run time of zone 'beds' of timer 'east' must be above zero, found 0 s
    there is no valve called 'berries' in this garden
    the schedule cannot open 'bed', which is a head
    the delay between zones of timer 'east' must be zero or above, found -1 s
    the interval between starts of timer 'east' must be above zero, found 0 s
    timer 'east' has no start
    how long and how often 'beds' opens must be above zero, found -1 s
    the schedule has more than 1000000 openings in this run
    'bed' is a head, which has no failures
    a valve such as 'beds' has no failure 'fails'
    there is no failure called 'breaks'
    'noon' is not a time of day
    no pressure switch drives a booster in this garden
    the pump does not reach cut-out of switch 'switch' at shut-off, with all valves closed
    the limit of starts must be above zero, found 0
    ");
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(128) })]

    #[test]
    fn a_clock_reads_back_what_it_shows(seconds in 0u32..86_400, day in 0u32..4000) {
        let time_s = f64::from(seconds);
        prop_assert_eq!(clock_time_s(&clock(time_s)), Ok(time_s));
        let told = day_and_clock(f64::from(day) * DAY_S + time_s);
        let (first, second) = told.split_once(", ").expect("a day and a time");
        prop_assert_eq!(first, format!("day {}", day + 1));
        prop_assert_eq!(clock_time_s(second), Ok(time_s));
    }

    #[test]
    fn openings_come_in_order_begin_in_time_and_last_as_long_as_their_zone(
        starts in prop::collection::vec(0.0f64..DAY_S, 1..4), lasting in prop::collection::vec(1.0f64..4000.0, 1..5),
        pause_s in 0.0f64..300.0, days in 1u32..10, skipped in prop::collection::vec(1u32..10, 0..3),
    ) {
        let names = ["a", "b", "c", "d"];
        let zones: Vec<(&str, f64)> = names.into_iter().zip(lasting.iter().copied()).collect();
        let east = Timer { starts_s: starts.clone(), pause_s, skipped_days: skipped.clone(), ..timer(&zones) };
        let until_s = f64::from(days) * DAY_S;
        let intervals = Schedule { timers: vec![east], ..Schedule::default() }.intervals(until_s).expect("sound");
        prop_assert!(intervals.windows(2).all(|two| two[0].from_s <= two[1].from_s));
        for interval in &intervals {
            let (_, lasting_s) = zones.iter().find(|(name, _)| *name == interval.name).expect("a zone of it");
            prop_assert!((interval.to_s - interval.from_s - lasting_s).abs() <= schedule::TICK_S);
        }
        let whole_days = (1..=days).filter(|day| !skipped.contains(day)).count();
        prop_assert_eq!(intervals.len(), whole_days * starts.len() * zones.len());
        let open_s: f64 = intervals.iter().map(|interval| interval.to_s - interval.from_s).sum();
        let round_s: f64 = zones.iter().map(|(_, lasting_s)| lasting_s).sum();
        prop_assert!((open_s - round_s * (whole_days * starts.len()) as f64).abs() < 1e-3);
    }
}

#[test]
fn times_are_told_in_the_unit_in_which_people_say_them() {
    let told = |seconds: f64| time_in_words(seconds).to_string();
    let expected =
        [(0.5, "0.5 s"), (59.9, "59.9 s"), (60.0, "1 min"), (7199.0, "120 min"), (7200.0, "2 h"), (2.0 * DAY_S, "2 days")];
    for (seconds, words) in expected {
        assert_eq!(told(seconds), words, "{seconds}");
    }
    assert_eq!(clock(19_800.0), "05:30");
    assert_eq!(clock(19_801.0), "05:30:01");
    assert_eq!(clock(19_799.999_999_9), "05:30", "a hair below a full second is that second");
}

// ---- faults and gauges

#[test]
fn faults_are_known_by_their_words_and_change_the_law_of_their_part() {
    for &kind in FaultKind::ALL {
        assert_eq!(FaultKind::of_words(kind.words()), Ok(kind));
        assert!(Kind::ALL.iter().any(|part| part.spec().faults.contains(&kind)), "{} belongs to no part", kind.words());
    }
    assert_eq!(FaultKind::of_words("leaks back"), Ok(FaultKind::SticksOpen));
    let around = Around { water: Default::default(), diameter_m: 0.02 };
    let law = |garden: &Garden, kind: FaultKind| Fault::new("x", kind).law(&garden.parts()[0], &around);
    let valve = part(Kind::CheckValve, "x", &[]);
    assert!(matches!(law(&valve, FaultKind::SticksOpen), Some(Law::Quadratic { resistance }) if resistance > 0.0));
    let relief = part(Kind::Relief, "x", &[("set", q(50.0, "psi"))]);
    assert!(matches!(law(&relief, FaultKind::SticksOpen), Some(Law::Relief { set_pa, .. }) if set_pa == 0.0));
    assert!(law(&relief, FaultKind::SticksClosed).is_none(), "it is shut, its law stays");
    let tap = supply("x", 58.0, 44.0, 6.0);
    assert!(
        matches!(law(&tap, FaultKind::LosesPressure), Some(Law::Source { pressure_pa, resistance }) if pressure_pa == 0.0 && resistance > 0.0)
    );
}

#[test]
fn a_fault_holds_from_its_beginning_for_as_long_as_it_lasts() {
    let garden = line(&[stiff(64.0), free_valve("beds"), outlet("bed", 2.0)]);
    let water = |fault: Fault| {
        let faults = [fault];
        let log = operate_with(
            &garden,
            &by_timer(&[("beds", 900.0)]),
            3.0 * HOUR_S,
            &Options { faults: &faults, ..Options::default() },
        );
        let log = log.expect("a run");
        closes(&log);
        (
            log.water_m3(of(&log, "bed")).expect("tracked") / (2.0 * GPM),
            times(&log, EventKind::FaultBegins),
            times(&log, EventKind::FaultEnds),
        )
    };
    let shut = Fault { from_s: HOUR_S + 300.0, lasting_s: 200.0, ..Fault::new("beds", FaultKind::SticksClosed) };
    let (seconds, begins, ends) = water(shut);
    assert_relative_eq!(seconds, 700.0, max_relative = 1e-6);
    assert_eq!((begins, ends), (vec![HOUR_S + 300.0], vec![HOUR_S + 500.0]));
    let open = Fault { from_s: 2.0 * HOUR_S, ..Fault::new("beds", FaultKind::SticksOpen) };
    let (seconds, _, ends) = water(open);
    assert_relative_eq!(seconds, 900.0 + 3600.0, max_relative = 1e-6);
    assert!(ends.is_empty());
    let (seconds, ..) = water(Fault { from_s: HOUR_S + 450.0, ..Fault::new("main", FaultKind::Fails) });
    assert_relative_eq!(seconds, 450.0, max_relative = 1e-4);
}

#[test]
fn a_main_has_its_pressure_by_the_clock_on_each_day() {
    let main = Part::build(Kind::Supply, Some("main"), &[(Id::StaticPressure, q(50.0, "psi"))]).expect("a main");
    let main = main.with_clock(&[(20.0 * HOUR_S, 64.0 * PSI), (HOUR_S + 300.0, 16.0 * PSI)]).expect("a clock");
    let garden = line(&[Garden::of(main.clone()), free_valve("beds"), outlet("bed", 2.0)]);
    let log = operate(&garden, &by_timer(&[("beds", 900.0)]), 48.0 * HOUR_S).expect("a run");
    closes(&log);
    // 300 s at 64 psi and 600 s at a quarter of that, with half the flow, on both days.
    assert_relative_eq!(log.water_m3(of(&log, "bed")).expect("tracked") / GPM, 2.0 * (2.0 * 300.0 + 600.0), max_relative = 1e-6);
    let changes = log.events().filter_map(|event| Some((event.time_s / HOUR_S, event.kind, event.kind.level()?)));
    let (low, high) = (1.0 + 300.0 / 3600.0, 20.0);
    let (falls, rises) = (EventKind::MainFalls(0), EventKind::MainRises(1));
    let expected = [(low, falls, 0), (high, rises, 1), (24.0 + low, falls, 0), (24.0 + high, rises, 1)];
    assert_eq!(changes.collect::<Vec<_>>(), expected);
    assert_relative_eq!(garden.lowest_static().expect("by the clock").si, 16.0 * PSI, max_relative = 1e-12);
    assert!(main.with_clock(&[(0.0, 0.0)]).is_err());
    assert!((*free_valve("beds").parts()[0]).clone().with_clock(&[(0.0, PSI)]).is_err());
}

#[test]
fn a_welded_switch_runs_its_pump_against_the_shut_line_and_a_dead_one_never_starts() {
    let pump = booster("pump", &[(0.0, 45.0), (10.0, 20.0)]);
    let garden = line(&[stiff(30.0), check(), pump, switch(40.0, 60.0), tank(10.0, 38.0), draw("kitchen", 1.0)]);
    let log = |kind: FaultKind| {
        let faults = [Fault::new("switch", kind)];
        let options = Options { faults: &faults, ..Options::default() };
        operate_with(&garden, &by_hand("kitchen", HOUR_S, 600.0, None), 3.0 * HOUR_S, &options).expect("a run")
    };
    let welded = log(FaultKind::WillNotStop);
    let pump = of(&welded, "pump");
    assert_relative_eq!(welded.on_s(pump), 3.0 * HOUR_S, max_relative = 1e-3);
    assert_relative_eq!(welded.highest(pump).expect("fed").pressure_pa / PSI, 75.0, max_relative = 1e-3);
    assert!(welded.dead_head_s(pump) > HOUR_S);
    let dead = log(FaultKind::WillNotStart);
    assert_eq!((dead.starts(), dead.on_s(pump)), (0, 0.0));
    assert!(dead.highest(pump).expect("fed").pressure_pa <= 30.0 * PSI * (1.0 + 1e-9));
}

#[test]
fn what_a_watch_sees_is_a_change_of_its_kind() {
    let sees = |watch: Watch| {
        [(false, true), (true, false), (true, true), (false, false)].map(|(before, after)| watch.sees(before, after))
    };
    assert_eq!(sees(Watch::Never), [false; 4]);
    assert_eq!(sees(Watch::Rise), [true, false, false, false]);
    assert_eq!(sees(Watch::Fall), [false, true, false, false]);
    assert_eq!(sees(Watch::Both), [true, true, false, false]);
    let wide = Tolerance::USUAL.times(100.0);
    assert_relative_eq!(wide.share / Tolerance::USUAL.share, 100.0);
    assert_relative_eq!(wide.time_s / Tolerance::USUAL.time_s, 100.0);
}
