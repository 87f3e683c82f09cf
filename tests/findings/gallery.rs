//! Gardens that together show every entry of the catalog, each put into words.

use super::*;
use hosewright::findings::{Entry, catalog, of_barrel, of_bills, of_log, of_payback, of_season, of_weather, of_week};
use hosewright::moment::Date;
use hosewright::money::{Bills, Block, House, Tariff, payback};
use hosewright::operation::{Allowed, CalendarDays, Fault, FaultKind, Hours, Options, Schedule, Timer, operate, operate_with};
use hosewright::season::{Barrel, Bed, Plan, Rule, Water, season, week};
use hosewright::settings::{Ask, switch_window};
use hosewright::soil::{Crop, Soil};
use hosewright::water_hammer::water_hammer;
use hosewright::weather::{Day, Gauge, Place, Weather};

const HOUR: f64 = 3600.0;

/// Gardens with the zones that are open, for findings of steady states and of gardens at rest.
fn steady() -> Vec<(Garden, Vec<&'static str>)> {
    let plain = |parts: &[Garden]| (line(parts), vec![]);
    let changed = |path: &str, value: f64, unit: &str| (but(&sound(), path, value, unit), vec!["berries"]);
    let drawn = |gpm: f64| plain(&[tap(), hose("feed", 20.0, 0.625), draw("kitchen", gpm)]);
    let here = |start: &[Garden], second: &[Garden]| {
        let first = line(&[start, &[hose("feed", 20.0, 0.75), point("here"), head("a", 0.1)]].concat());
        (first.add_source("here", &line(second)).expect("joins"), vec![])
    };
    let barrel = [open_tank("barrel", 5.0), hose("barrel hose", 20.0, 0.75)];
    let well = [supply("well", 90.0, 70.0, 6.0), hose("well hose", 20.0, 0.75)];
    let two = line(&[tap(), hose("feed", 50.0, 0.75)])
        .then_branches(&[line(&[point("near"), head("a", 0.1)]), line(&[valve("shut"), point("far"), head("b", 0.1)])])
        .expect("joins");
    let tank = part(Kind::PressureTank, "tank", &[("volume", q(5.0, "gal")), ("precharge", q(40.0, "psi"))]);
    let tests = [(2.5e-4, 4e5), (4e-4, 2.5e5)];
    let unsteady = Part::build(Kind::Supply, Some("tap"), &[(Id::StaticPressure, q(60.0, "psi"))]).expect("a tap");
    let unsteady = unsteady.with_readings(&tests, (Preference::Usual, Preference::Usual)).expect("readings");
    vec![
        plain(&[Garden::of(unsteady), hose("feed", 20.0, 0.75), head("a", 0.1)]),
        (faulty(), vec!["beds", "berries"]),
        plain(&[supply("tap", 850.0, 600.0, 51.0), hose("feed", 20.0, 5.0), head("a", 8.0)]),
        plain(&[tap(), hose("feed", 20_000.0, 0.75), head("a", 0.1)]),
        drawn(8.0),
        drawn(10.0),
        drawn(12.5),
        drawn(13.0),
        here(&[tap()], &barrel),
        here(&[tap(), part(Kind::Backflow, "preventer", &[])], &barrel),
        here(&[tap(), booster("pump", &[(0.0, 10.0), (10.0, 5.0)])], &well),
        plain(&[tap(), part(Kind::HoseVacuumBreaker, "breaker", &[]), hose("feed", 20.0, 0.75), pump(), head("a", 0.1)]),
        plain(&[
            tap(),
            part(Kind::AtmosphericVacuumBreaker, "breaker", &[]),
            hose("feed", 20.0, 0.75),
            valve("beds"),
            climb("down", -0.25),
            head("a", 0.1),
        ]),
        plain(&[
            tap(),
            part(Kind::PressureVacuumBreaker, "breaker", &[]),
            hose("feed", 20.0, 0.75),
            climb("up", 2.0),
            head("a", 0.1),
        ]),
        (two.connect("far", "near", &check("check")).expect("joins"), vec![]),
        plain(&[supply("tap", 20.0, 15.0, 5.0), hose("feed", 50.0, 0.75), climb("hill", 60.0), head("high", 0.1)]),
        plain(&[
            tap(),
            hose("feed", 50.0, 0.75),
            climb("up", 125.0),
            hose("top", 20.0, 0.75),
            climb("down", -125.0),
            head("a", 0.125),
        ]),
        plain(&[
            supply("tap", 85.0, 60.0, 6.0),
            part(Kind::Regulator, "reg", &[("set", q(84.0, "psi"))]),
            hose("feed", 50.0, 0.75),
            head("a", 0.1),
        ]),
        plain(&[tap(), valve("master"), hose("feed", 20.0, 0.75), pump(), hose("line", 20.0, 0.75), head("a", 0.125)]),
        plain(&[
            tap(),
            hose("feed", 20.0, 0.75),
            pump(),
            check("check"),
            rated_hose("line", 20.0, 0.75, 90.0),
            valve("bed"),
            head("a", 0.125),
        ]),
        plain(&[
            tap(),
            hose("feed", 20.0, 0.75),
            pump(),
            switch(60.0, 85.0),
            valve("bed"),
            hose("line", 20.0, 0.75),
            head("a", 0.125),
        ]),
        plain(&[open_tank("pond", 1.0), climb("bank", 6.0), hose("suction", 10.0, 1.0), pump(), draw("trough", 12.0)]),
        plain(&[tap(), hose("feed", 20.0, 0.75), relief("relief", 50.0), valve("bed"), hose("line", 20.0, 0.5), head("a", 0.1)]),
        (
            line(
                &[
                    protected_tap(),
                    vec![pump(), switch(30.0, 75.0), tank.clone(), but(&relief("relief", 80.0), "relief.flow", 1.0, "gpm")],
                    zone(),
                ]
                .concat(),
            ),
            vec![],
        ),
        changed("berry.range_low", 60.0, "psi"),
        changed("berry.range_low", 64.0, "psi"),
        changed("berry.range_high", 60.0, "psi"),
        changed("berry.range_high", 72.0, "psi"),
        changed("pump.npsh", 44.0, "m"),
        changed("pump.npsh", 42.0, "m"),
        (but(&but(&sound(), "switch.cut_in", 35.0, "psi"), "berry.range_low", 30.0, "psi"), vec!["berries"]),
        (but(&but(&sound(), "switch.cut_in", 35.0, "psi"), "berry.range_low", 60.0, "psi"), vec!["berries"]),
        (lifted(7.5), vec![]),
        (lifted(6.0), vec![]),
        plain(&[open_tank("pond", 3.0), hose("suction", 20.0, 1.0), climb("bank", 35.0), pump(), head("gun", 0.5)]),
        plain(&[open_tank("pond", 3.0), hose("suction", 20.0, 1.0), climb("bank", 40.0), pump(), head("gun", 0.5)]),
        plain(&[
            open_tank("pond", 2.0),
            hose("up", 30.0, 0.75),
            climb("wall", 30.0),
            climb("slope", -90.0),
            hose("down", 30.0, 0.75),
            head("end", 0.7),
        ]),
        plain(&[tap(), hose("feed", 20.0, 0.75), any_part(Kind::Soaker, &[])]),
        changed("switch.cut_in", 47.0, "psi"),
        changed("switch.cut_out", 66.0, "psi"),
        changed("switch.cut_out", 70.0, "psi"),
        changed("switch.cut_out", 96.0, "psi"),
        changed("switch.cut_out", 99.0, "psi"),
        changed("berry line.pressure_rating", 60.0, "psi"),
        changed("pump.pressure_rating", 95.0, "psi"),
        (
            line(&[
                tap(),
                Garden::of(Part::of_words(Kind::Valve, Some("bed"), &[("diameter", q(0.5, "inch"))]).expect("sound")),
                head("a", 0.1),
            ]),
            vec!["bed"],
        ),
        // One way against the water, before a draw.
        (
            line(&[tap(), hose("feed", 50.0, 0.75)])
                .then_branches(&[line(&[point("near"), head("a", 0.1)]), line(&[valve("shut"), point("far"), draw("sink", 1.0)])])
                .and_then(|garden| garden.connect("far", "near", &check("check")))
                .expect("joins"),
            vec![],
        ),
        // Water that parts on its way, and does not come.
        plain(&[open_tank("pond", 2.0), climb("wall", 40.0), climb("slope", -90.0), hose("down", 30.0, 0.75), head("end", 0.7)]),
        plain(&[open_tank("pond", 2.0), climb("wall", 40.0), climb("slope", -90.0), hose("down", 30.0, 0.75), draw("end", 3.0)]),
        plain(&[open_tank("pond", 1.0), hose("thin", 60.0, 0.25), draw("end", 9.0)]),
        plain(&[tap(), hose("feed", 20.0, 0.75), any_part(Kind::Soaker, &[("range_low", 70.0)])]),
        plain(&[
            tap(),
            part(Kind::Pipe, "riser", &[("length", q(10.0, "ft")), ("diameter", q(0.75, "inch"))]),
            part(Kind::Hose, "old", &[("length", q(10.0, "ft")), ("diameter", q(0.5, "inch")), ("roughness", q(0.04, "inch"))]),
            head("a", 0.1),
        ]),
        plain(&[open_tank("pond", 0.0), hose("feed", 20.0, 0.75), head("level", 0.1)]),
        (but(&sound(), "pump.npsh", suction_head_m() - 0.2, "m"), vec!["berries"]),
        plain(&[tap(), hose("feed", 200.0, 0.5), pump(), draw("barrel", 8.0)]),
        // A big motor; one at shut-off; one that the switch never stops.
        (but(&sound(), "pump.input_power", 1500.0, "W"), vec!["berries"]),
        (but(&but(&sound(), "switch.cut_out", 99.0, "psi"), "pump.input_power", 550.0, "W"), vec!["berries"]),
        (
            line(&[tap(), hose("feed", 50.0, 0.75)])
                .then_branches(&[
                    line(&[part(Kind::Fitting, "left", &[("k", q(0.0, ""))])]),
                    line(&[part(Kind::Fitting, "right", &[("k", q(0.0, ""))])]),
                ])
                .and_then(|both| both.then(&head("spray", 0.15)))
                .expect("joins"),
            vec![],
        ),
        plain(&[part(Kind::Supply, "tap", &[("static_pressure", q(58.0, "psi"))]), hose("feed", 50.0, 0.75), head("a", 0.1)]),
        plain(&[tap(), hose("feed", 20.0, 0.75), pump(), switch(60.0, 85.0), relief("relief", 97.0), head("a", 0.125)]),
        (line(&[protected_tap(), vec![pump(), switch(60.0, 85.0), relief("relief", 75.0)], zone()].concat()), vec!["berries"]),
        plain(&[
            tap(),
            hose("feed", 20.0, 0.75),
            check("check"),
            pump(),
            part(Kind::Relief, "relief", &[("set", q(90.0, "psi"))]),
            head("a", 0.1),
        ]),
        (fed(part(Kind::Valve, "bed", &[("range_low", q(70.0, "psi"))])), vec!["bed"]),
        (fed(part(Kind::Valve, "bed", &[("range_high", q(50.0, "psi"))])), vec!["bed"]),
        (fed(part(Kind::Regulator, "reg", &[("set", q(30.0, "psi")), ("range_low", q(70.0, "psi"))])), vec![]),
        plain(&[
            tap(),
            part(Kind::Pipe, "main", &[("length", q(20.0, "ft")), ("diameter", q(0.75, "inch"))]),
            draw("trough", 8.0),
        ]),
        (line(&[protected_tap(), vec![pump(), switch(60.0, 75.0), relief("relief", 80.0)], zone()].concat()), vec!["berries"]),
        plain(&[tap(), hose("feed", 20.0, 0.75), trade::drip("row")]),
        plain(&[
            tap(),
            part(Kind::DoubleCheck, "device", &[]),
            part(Kind::Injector, "injector", &[("loss", q(5.0, "psi")), ("flow", q(5.0, "gpm"))]),
            hose("feed", 20.0, 0.75),
            head("a", 0.1),
        ]),
        (
            line(&[tap(), but(&trade::bored(Kind::DiaphragmValve, "bed"), "bed.minimum_flow", 0.25, "gpm"), draw("row", 0.1)]),
            vec!["bed"],
        ),
        plain(&[tap(), hose("feed", 20.0, 0.75), part(Kind::Regulator, "reg", &[("set", q(20.0, "psi"))]), draw("row", 0.05)]),
        (trade::slope(40.0), vec!["lawn"]),
        plain(&[open_tank("barrel", 3.0), check("check"), hose("feed", 20.0, 0.75), head("a", 0.1)]),
        plain(&[
            supply("tap", 70.0, 60.0, 6.0),
            check("check"),
            rated_hose("feed", 20.0, 0.75, 100.0),
            valve("bed"),
            head("a", 0.1),
        ]),
        plain(&[supply("tap", 100.0, 90.0, 6.0), rated_hose("feed", 20.0, 0.75, 120.0), valve("bed"), head("a", 0.1)]),
        plain(&[supply("tap", 125.0, 90.0, 6.0), rated_pipe("feed", 20.0, 0.9, 150.0), valve("bed"), head("a", 0.1)]),
        plain(&[
            tap(),
            part(Kind::HoseVacuumBreaker, "breaker", &[]),
            hose("feed", 20.0, 0.75),
            climb("up", 15.0),
            head("balcony", 0.1),
        ]),
        plain(&[tap(), check("check"), rated_pipe("house line", 20.0, 0.824, 150.0), draw("kitchen", 1.0)]),
        plain(&[tap(), part(Kind::Meter, "meter", &[("loss", q(3.0, "psi")), ("flow", q(10.0, "gpm"))]), draw("kitchen", 8.0)]),
        plain(&[but(&open_tank("cistern", 3.0), "cistern.volume", 300.0, "gal"), pump(), head("a", 0.1)]),
        plain(&[open_tank("pond", 2.0), climb("bank", 6.0), pump(), head("a", 0.1)]),
        (but(&sound_with_tank(), "tank.precharge", 30.0, "psi"), vec!["berries"]),
        plain(&[tap(), hose("feed", 20.0, 0.75), check("check"), pump(), valve("ball"), relief("relief", 90.0), head("a", 0.1)]),
        // A relay with a zone and without one, and beside a switch.
        (line(&[protected_tap(), vec![but(&pump(), "pump.input_power", 550.0, "W"), relay()], zone()].concat()), vec!["berries"]),
        plain(&[protected_tap(), vec![pump(), relay(), head("a", 0.1)]].concat()),
        (line(&[protected_tap(), vec![pump(), relay(), switch(60.0, 85.0)], zone()].concat()), vec!["berries"]),
        // Pumps that run for heads that need none: by pressure, by the timer, always.
        (but(&sound(), "berry.range_low", 30.0, "psi"), vec!["berries"]),
        (but(&line(&[protected_tap(), vec![pump(), relay()], zone()].concat()), "berry.range_low", 30.0, "psi"), vec!["berries"]),
        plain(&[&protected_tap()[..], &[pump(), needy_head("berry", 0.15, 30.0, 80.0)]].concat()),
        // A control with a drip zone, with a drip of a leak, and with a large one.
        (line(&[protected_tap(), vec![pump(), flow_control(70.0), valve("drip"), emitter(12.0)]].concat()), vec!["drip"]),
        (line(&[protected_tap(), vec![pump(), flow_control(70.0), leak("drip", 2.0)], zone()].concat()), vec!["berries"]),
        (line(&[protected_tap(), vec![pump(), flow_control(70.0), leak("burst", 40.0)], zone()].concat()), vec!["berries"]),
        // A relay with a timer on a hose thread, and a control set too high.
        (
            line(
                &[
                    protected_tap(),
                    vec![pump(), relay(), part(Kind::HoseTimer, "berries", &[]), hose("line", 20.0, 0.75), head("a", 0.1)],
                ]
                .concat(),
            ),
            vec!["berries"],
        ),
        (line(&[protected_tap(), vec![pump(), flow_control(110.0)], zone()].concat()), vec!["berries"]),
        // Drives: set too high, far too high, too low, away from the pump, without a check valve.
        (line(&[protected_tap(), vec![pump(), drive(102.0)], zone()].concat()), vec!["berries"]),
        (line(&[protected_tap(), vec![pump(), drive(160.0)], zone()].concat()), vec!["berries"]),
        (
            but(&line(&[protected_tap(), vec![pump(), drive(30.0)], zone()].concat()), "berry.range_low", 60.0, "psi"),
            vec!["berries"],
        ),
        (
            line(
                &[
                    protected_tap(),
                    vec![pump(), hose("long", 20.0, 0.75), drive(60.0), but(&tank, "tank.precharge", 58.0, "psi")],
                    zone(),
                ]
                .concat(),
            ),
            vec!["berries"],
        ),
        (line(&[vec![tap(), hose("feed", 20.0, 0.75), pump(), drive(75.0)], zone()].concat()), vec!["berries"]),
    ]
}

/// What stands before the water boils at the inlet of the pump of the sound garden, m.
fn suction_head_m() -> f64 {
    let inlet_pa = solution(&sound(), &["berries"]).state("pump").expect("known").pressure_in_pa.expect("fed");
    (101_325.0 + inlet_pa - 1_705.7) / (999.1 * 9.80665)
}

/// A tap, a check valve, a pump of 45 psi at no flow, a tank, a switch, a relief, a feed and one zone, with changes.
fn plot(changes: &[(&str, f64, &str)]) -> Garden {
    let mut tank_and_before = vec![
        supply("tap", 42.0, 32.0, 6.0),
        check("check"),
        booster("pump", &[(0.0, 45.0), (4.0, 41.0), (8.0, 30.0), (12.0, 12.0)]),
        part(Kind::PressureTank, "tank", &[("volume", q(20.0, "gal")), ("precharge", q(43.0, "psi"))]),
    ];
    tank_and_before.extend(plot_behind());
    let garden = but(&line(&tank_and_before), "pump.input_power", 620.0, "W");
    changes.iter().fold(garden, |garden, &(path, value, unit)| but(&garden, path, value, unit))
}

fn plot_behind() -> Vec<Garden> {
    let needs = [("nozzle", q(0.156, "inch")), ("range_low", q(30.0, "psi")), ("range_high", q(70.0, "psi"))];
    let spray = part(Kind::Head, "spray", &needs);
    vec![switch(45.0, 70.0), relief("relief", 100.0), hose("feed", 60.0, 0.625), valve("bed"), spray]
}

/// The plot without anything that stores water.
fn stiff(nozzle_in: f64) -> Garden {
    let before = [supply("tap", 42.0, 32.0, 6.0), check("check"), booster("pump", &[(0.0, 45.0), (8.0, 30.0), (12.0, 12.0)])];
    but(&line(&[&before[..], &plot_behind()].concat()), "spray.nozzle", nozzle_in, "inch")
}

fn timer(name: &str, zone: &str, from_h: f64, minutes: f64) -> Timer {
    Timer {
        name: name.into(),
        starts_s: vec![from_h * HOUR],
        every_s: 24.0 * HOUR,
        first_day: 1,
        skipped_days: Vec::new(),
        calendar: None,
        adjustment: 1.0,
        pause_s: 0.0,
        zones: vec![(zone.into(), 60.0 * minutes)],
        range: None,
    }
}

/// Findings of six hours with the bed on from 2:00 for some minutes.
fn run_over_time(garden: &Garden, minutes: f64, faults: &[Fault]) -> Vec<Finding> {
    let schedule = Schedule { timers: vec![timer("east", "bed", 2.0, minutes)], ..Schedule::default() };
    of_log(&operate_with(garden, &schedule, 6.0 * HOUR, &Options { faults, ..Options::default() }).expect("runs"))
}

fn over_time() -> Vec<Finding> {
    let with = |changes: &[(&str, f64, &str)]| run_over_time(&plot(changes), 30.0, &[]);
    let failed = |garden: &Garden, part: &str, kind: FaultKind| run_over_time(garden, 30.0, &[Fault::new(part, kind)]);
    let leaking = plot(&[("tank.volume", 2.0, "gal")])
        .branch("feed", &part(Kind::Leak, "drip", &[("flow", q(3.0, "gph")), ("pressure", q(40.0, "psi"))]))
        .expect("joins");
    let open = line(&[
        supply("tap", 42.0, 32.0, 6.0),
        hose("open feed", 60.0, 0.625),
        part(Kind::PressureTank, "store", &[("volume", q(20.0, "gal")), ("precharge", q(20.0, "psi"))]),
        valve("bed"),
        head("spray", 0.156),
    ]);
    let filled = line(&[tap(), hose("feed", 20.0, 0.75), point("here"), valve("bed"), head("a", 0.1)])
        .add_source("here", &line(&[open_tank("barrel", 5.0), hose("barrel hose", 20.0, 0.75)]))
        .expect("joins");
    let twice =
        Schedule { timers: vec![timer("east", "bed", 2.0, 30.0), timer("west", "bed", 2.25, 30.0)], ..Schedule::default() };
    let hose_end = Timer { range: Some([q(50.0, "psi"), q(120.0, "psi")]), ..timer("east", "bed", 2.0, 30.0) };
    let hose_end = Schedule { timers: vec![hose_end], ..Schedule::default() };
    let runs = [
        run_over_time(&plot(&[("tank.volume", 0.5, "gal"), ("spray.nozzle", 0.1, "inch")]), 60.0, &[]),
        run_over_time(&plot(&[("tank.volume", 5.0, "gal"), ("spray.nozzle", 0.1, "inch")]), 60.0, &[]),
        run_over_time(&stiff(0.156), 30.0, &[]),
        run_over_time(&stiff(0.05), 60.0, &[]),
        with(&[("switch.cut_in", 20.0, "psi")]),
        with(&[("switch.cut_in", 20.0, "psi"), ("spray.range_low", 55.0, "psi")]),
        with(&[("relief.set", 120.0, "psi"), ("switch.cut_out", 95.0, "psi")]),
        with(&[("relief.set", 55.0, "psi")]),
        with(&[("tap.static_pressure", 45.0, "psi")]),
        with(&[("tap.static_pressure", 44.0, "psi")]),
        with(&[("switch.cut_in", 26.0, "psi"), ("spray.nozzle", 0.3, "inch"), ("spray.range_low", 60.0, "psi")]),
        run_over_time(&leaking, 30.0, &[]),
        failed(&plot(&[]), "bed", FaultKind::SticksOpen),
        failed(&plot(&[]), "tap", FaultKind::Fails),
        failed(&open, "tap", FaultKind::LosesPressure),
        run_over_time(&filled, 30.0, &[]),
        of_log(&operate(&plot(&[]), &twice, 6.0 * HOUR).expect("runs")),
        of_log(&operate(&plot(&[]), &hose_end, 6.0 * HOUR).expect("runs")),
    ];
    let small = but(&but(&sound_with_tank(), "pump.input_power", 1200.0, "W"), "tank.volume", 0.3, "gal");
    let often = operate(&small, &trade::daily("berries", 120, 620.0, 240.0), 24.0 * HOUR).expect("runs");
    let day = Schedule {
        timers: vec![timer("east", "bed", 2.0, 30.0)],
        allowed: Some(Allowed { days: None, hours: Hours { from_s: 0.0, to_s: 7200.0 } }),
        ..Schedule::default()
    };
    let banned = operate(&plot(&[]), &day, 6.0 * HOUR).expect("runs");
    let lateral = line(&[tap(), valve("lawn"), hose("lateral", 200.0, 1.0), climb("fall", -5.0), head("low", 0.1)]);
    let short = operate(&lateral, &trade::daily("lawn", 1, 0.0, 120.0), HOUR * 2.0).expect("runs");
    runs.into_iter().chain([of_log(&often), of_log(&short), of_log(&banned)]).flatten().collect()
}

/// Two zones behind a pump with these settings of its switch and relief, and with changes.
fn zoned(cut_in_psi: f64, cut_out_psi: f64, relief_psi: f64, changes: &[(&str, f64, &str)]) -> Garden {
    let trunk = line(&[
        tap(),
        check("check"),
        rated_hose("feed", 50.0, 0.75, 500.0),
        pump(),
        switch(cut_in_psi, cut_out_psi),
        relief("relief", relief_psi),
    ]);
    let garden = trunk
        .then_branches(&[
            line(&[valve("beds"), hose("bed line", 40.0, 0.5), head("bed", 5.0 / 32.0)]),
            line(&[valve("berries"), hose("berry line", 60.0, 0.625), climb("rise", 2.0), head("berry", 3.0 / 16.0)]),
        ])
        .expect("joins");
    changes.iter().fold(garden, |garden, &(path, value, unit)| but(&garden, path, value, unit))
}

/// Findings of settings against their windows.
fn windows() -> Vec<Finding> {
    let of = |garden: &Garden, ask: &Ask| switch_window(garden, ask).expect("a window").findings();
    let usual = |cut_in: f64, cut_out: f64, relief: f64| of(&zoned(cut_in, cut_out, relief, &[]), &Ask::default());
    let night = Ask { highest_static_pa: Some(66.0 * PSI), lowest_static_pa: Some(58.0 * PSI), ..Ask::default() };
    let weak = [("pump.pressure_rating", 80.0, "psi")];
    let open = switch_window(&zoned(30.0, 50.0, 97.0, &[]), &Ask::default()).expect("a window");
    let least_cut_in_psi = open.cut_in.expect("open").low_pa / PSI;
    let windows = [
        usual(30.0, 50.0, 97.0),
        usual(48.0, 71.0, 97.0),
        usual(least_cut_in_psi - 1.0, 75.0, 97.0),
        usual(55.0, 95.0, 150.0),
        usual(55.0, 105.0, 150.0),
        usual(55.0, 105.0, 80.0),
        usual(55.0, 80.0, 75.0),
        usual(55.0, 75.0, 75.0),
        usual(55.0, 90.0, 95.0),
        of(&zoned(55.0, 75.0, 75.0, &[]), &night),
        of(&zoned(55.0, 85.0, 150.0, &weak), &Ask::default()),
        of(&zoned(55.0, 78.0, 150.0, &weak), &Ask::default()),
        of(&zoned(30.0, 60.0, 80.0, &[("bed.range_low", 20.0, "psi")]), &Ask::default()),
        of(&zoned(55.0, 75.0, 88.0, &[]), &Ask::default()),
    ];
    windows.into_iter().flatten().collect()
}

/// Findings of valves that shut in a time.
fn water_hammers() -> Vec<Finding> {
    let garden = |psi: f64, changes: &[(&str, f64, &str)]| {
        let numbers = [
            ("length", q(100.0, "ft")),
            ("diameter", q(1.0, "inch")),
            ("compliance", q(1.0, "mL/bar/m")),
            ("roughness", q(0.0, "mm")),
        ];
        let tap = part(Kind::Supply, "tap", &[("static_pressure", q(psi, "psi"))]);
        let parts = [tap, part(Kind::Hose, "feed", &numbers), valve("beds"), head("bed", 0.25)];
        changes.iter().fold(line(&parts), |garden, &(path, value, unit)| but(&garden, path, value, unit))
    };
    let of = |garden: &Garden, time_s: f64| water_hammer(garden, &["beds"], Some(time_s)).expect("a knock").findings();
    let long = line(&[
        part(Kind::Supply, "tap", &[("static_pressure", q(40.0, "psi"))]),
        hose("first", 100.0, 1.0),
        hose("second", 100.0, 1.0),
        hose("third", 100.0, 1.0),
        valve("beds"),
        head("bed", 0.25),
    ]);
    let two = line(&[tap(), hose("first", 100.0, 1.0), hose("second", 100.0, 1.0), valve("beds"), head("bed", 0.25)]);
    let water_hammers = [
        of(&garden(58.0, &[("feed.pressure_rating", 80.0, "psi")]), 0.05),
        of(&garden(58.0, &[("feed.pressure_rating", 62.0, "psi")]), 10.0),
        of(&garden(58.0, &[]), 0.05),
        of(&garden(12.0, &[("bed.nozzle", 0.5, "inch")]), 0.05),
        of(&garden(30.0, &[("bed.nozzle", 0.3, "inch")]), 0.3),
        of(&long, 0.5),
        of(&two, 0.5),
    ];
    water_hammers.into_iter().flatten().collect()
}

fn rains() -> Vec<Finding> {
    let lows_psi = |needy: usize| [0, 1, 2, 3].map(|head| if head < needy { 57.0 } else { 20.0 });
    let mut findings: Vec<Finding> =
        [0, 1, 2, 3, 4].iter().flat_map(|&needy| of_coverage(&lawn_of(360.0, lows_psi(needy)))).collect();
    for changes in [("a.radius_pressure", q(75.0, "psi")), ("a.range_high", q(40.0, "psi"))] {
        findings.extend(of_coverage(&strip_of(&two_heads(20.0, &[changes]))));
    }
    let halves = [("a.arc", q(180.0, "")), ("b.arc", q(180.0, "")), ("*.radius", q(15.0, "ft"))];
    let windy = strip_of(&two_heads(20.0, &halves)).in_wind(Some(Wind { speed_m_per_s: 7.0, from_deg: 0.0 }));
    findings.extend(of_coverage(&windy.expect("coverage")));
    for garden in [two_heads(24.0, &[]), two_heads(20.0, &[("b.arc", q(90.0, ""))]), dripping()] {
        findings.extend(of_solution(&solution(&garden, &[])));
    }
    let cans = |values: &[f64]| CatchCans::of(&values.iter().map(|value| q(*value, "mL")).collect::<Vec<_>>()).expect("cans");
    findings.extend(of_cans(&cans(&[18.0, 20.0, 19.0])));
    let spoiled = cans(&[0.0, 3.0, 9.0, 2.0]).mouth(q(16.6, "in2").si).expect("a mouth").in_wind(q(8.0, "mph").si);
    findings.extend(of_cans(&spoiled.expect("a wind")));
    findings
}

/// A head and an emitter without a valve between them.
fn dripping() -> Garden {
    let emitter = part(Kind::Emitter, "drip", &[("flow", q(1.0, "gph")), ("pressure", q(15.0, "psi"))]);
    line(&[tap(), hose("feed", 20.0, 0.75)]).then_branches(&[head("bed", 5.0 / 32.0), emitter]).expect("joins")
}

/// A weather with every fault, and beds that show what can go wrong with water.
fn watering() -> Vec<Finding> {
    let faults = "date,high,low,rain,wind,cloud\n2015-06-01,20,10,0,2,1\n2015-06-02,10,20,0,2,1\n2015-06-03,88,10,0,2,1\n\
        2015-06-04,50,5,0,2,1\n2015-06-05,20,10,-3,2,1\n2015-06-06,20,10,0,2,1\n2015-06-06,21,10,0,2,1\n2015-06-09,20,x,0,2,1\n\
        total,,,9,,\n2015-06-10,20,10,,2,1\n";
    let mut findings = of_weather(&Weather::read("faults", faults).expect("weather"));
    findings.extend(of_weather(&Weather::read("dry", "date,tmin_C,tmax_C\n2015-06-01,10,20\n").expect("weather")));
    findings.extend(of_weather(&Weather::of_months("means", [Day::default(); 12])));

    let mut text = String::from("date,tmin_C,tmax_C,rain_mm\n");
    let first = Date::new(2015, 5, 1).expect("a day");
    for step in (0..120).filter(|step| *step != 40) {
        text += &format!("{},{},{},{}\n", first.plus(step), 14, 34, if step % 9 == 0 { 20 } else { 0 });
    }
    let weather = Weather::read("summer", &text).expect("weather").at(Place::new(40.0, 100.0).expect("a place"));
    let crop = |name: &str, planted: i32| Crop { planted: Some(first.plus(planted)), ..Crop::named(name, None).expect("a crop") };
    let soil = |name: &str| Soil::named(name).expect("a soil");
    let water = |rate_mm_per_h: f64, du: f64| Some(Water { rate_mm_per_h, du });
    let beds = [
        Bed { water: water(40.0, 0.5), ..Bed::new("clay", crop("tomato", -10), soil("clay")) },
        Bed { ground_m: 0.04, water: water(300.0, 0.9), ..Bed::new("pot", crop("lettuce", 60), soil("potting mix")) },
        Bed::new("carrots", crop("carrot", 20), soil("loam")),
    ];
    let every_day = Plan { rule: Rule::Every { days: 1, mm: Some(12.0) }, ..Plan::default() };
    for plan in [every_day, Plan { rule: Rule::NoWater, ..Plan::default() }] {
        findings.extend(of_season(&season(&beds, &weather, &plan).expect("a season"), &weather));
    }
    findings.extend(of_week(&week(&beds, &weather, first.plus(117), &Plan::default()).expect("a week"), &weather));
    findings.extend(unusual());
    findings
}

/// Beds with numbers that nobody has, in weather whose instruments are few, with a gauge, a barrel and local rules.
fn unusual() -> Vec<Finding> {
    let first = Date::new(2015, 4, 1).expect("a day");
    let mut text = String::from("date,tmin_C,tmax_C,rain_mm,wind_m_per_s\n");
    for step in 0..150 {
        text += &format!("{},{},{},{},{}\n", first.plus(step), if step < 20 { -2 } else { 14 }, 38, 0, 9);
    }
    let place = Place::new(40.0, 100.0).expect("a place");
    let windy = Weather::read("windy", &text).expect("weather").at(place).with_wind_height(2.0).expect("a height");
    let humid = text.replace("wind_m_per_s", "rh").replace(",9\n", ",60\n");
    let gauge = Gauge::read("gauge", "date,rain_mm\n2015-04-10,60\n2015-05-20,30\n2015-08-28,0\n").expect("a gauge");
    let humid = Weather::read("humid", &humid).expect("weather").at(place).with_gauge(&gauge);
    let soil = |name: &str| Soil::named(name).expect("a soil");
    let tomato = Crop { planted: Some(first.plus(2)), ..Crop::named("tomato", None).expect("a crop") };
    let odd = Crop { coefficients: [0.1, 1.15, 0.8], share: 0.1, ..tomato.clone() };
    let loam = Soil { puddle_mm: 20.0, ..soil("loam") };
    let bed = Bed {
        ground_m: 1.2,
        lost_share: 0.4,
        area_m2: Some(10.0),
        log: vec![(first.plus(-300), 10.0)],
        water: Some(Water { rate_mm_per_h: 12.0, du: 0.7 }),
        ..Bed::new("odd", odd, loam)
    };
    let late = Bed { water: Some(Water { rate_mm_per_h: 2.0, du: 0.7 }), missing_mm: Some(90.0), log: Vec::new(), ..bed.clone() };
    let hours = week(&[late], &windy, first.plus(60), &Plan::default()).expect("a week");
    let plain = Bed { area_m2: Some(10.0), ..Bed::new("plain", tomato, soil("sand")) };
    let rules = Plan { allowed: Some(CalendarDays::Weekdays(vec![1])), ..Plan::default() };
    let mut findings = of_week(&hours, &windy);
    for (beds, weather) in [(vec![bed], &windy), (vec![plain], &humid)] {
        let found = season(&beds, weather, &rules).expect("a season");
        findings.extend(of_season(&found, weather));
        findings.extend(of_weather(weather));
        findings.extend(of_barrel(&Barrel::new(0.2, 50.0).expect("a barrel").season(&found, weather).expect("a season")));
    }
    findings
}

/// Bills that reach the last block, and purchases that nothing repays.
fn money() -> Vec<Finding> {
    let block = |end: Option<f64>, price: f64| Block { up_to: end.map(|end| q(end, "gal")), price: q(price, "USD/kgal") };
    let tariff = Tariff::new(vec![block(Some(5000.0), 4.2), block(None, 8.1)]).expect("a tariff");
    let gallons = |gallons: f64| q(gallons, "gal").si;
    let months = [((2015, 7), gallons(3000.0)), ((2015, 8), gallons(500.0))].into_iter().collect();
    let bills = Bills::new(&tariff, &House::steady(gallons(4000.0)), &months);
    let pays = |saving: f64| payback(q(300.0, "USD"), q(saving, "USD"), 0.05, 0.0).expect("a payback");
    [of_bills(&bills), of_payback(&pays(0.0)), of_payback(&pays(12.0))].into_iter().flatten().collect()
}

#[test]
fn bills_below_the_last_block_and_what_pays_back_have_no_findings() {
    let block = |end: Option<f64>, price: f64| Block { up_to: end.map(|end| q(end, "gal")), price: q(price, "USD/kgal") };
    let tariff = Tariff::new(vec![block(Some(5000.0), 4.2), block(None, 8.1)]).expect("a tariff");
    let found = |house: f64, garden: f64| {
        let months = [((2015, 7), q(garden, "gal").si)].into_iter().collect();
        of_bills(&Bills::new(&tariff, &House::steady(q(house, "gal").si), &months)).len()
    };
    assert_eq!([found(4000.0, 999.0), found(4000.0, 1001.0), found(6000.0, 0.0)], [0, 1, 0]);
    let cheaper = Tariff::new(vec![block(Some(5000.0), 8.1), block(None, 4.2)]).expect("a tariff");
    let months = [((2015, 7), q(9000.0, "gal").si)].into_iter().collect();
    assert!(of_bills(&Bills::new(&cheaper, &House::steady(0.0), &months)).is_empty());
    let pays = |saving: f64| of_payback(&payback(q(300.0, "USD"), q(saving, "USD"), 0.05, 0.0).expect("a payback")).len();
    assert_eq!([pays(14.9), pays(15.1)], [1, 0]);
}

/// All findings of the gallery, one of each entry.
fn all() -> Vec<Finding> {
    let mut all: Vec<Finding> = steady().iter().flat_map(|(garden, zones)| of_run(&solution(garden, zones))).collect();
    all.extend([over_time(), windows(), water_hammers(), rains(), of_garden(&boreless())].into_iter().flatten());
    all.extend(watering());
    all.extend(money());
    for finding in &all {
        assert_eq!(finding.faults(), Vec::<String>::new(), "{}", finding.code());
    }
    let shown = |entry: &'static Entry| all.iter().find(|finding| finding.entry() == entry).cloned();
    catalog::all().filter_map(shown).collect()
}

/// A run of two million events takes minutes; the test of its finding stands beside the judge.
const TAKES_TOO_LONG: Entry = catalog::whole::RUN_TOO_LONG;

#[test]
fn every_entry_of_the_catalog_is_shown_by_a_garden_and_reads_well() {
    let shown = all();
    let missing: Vec<String> = catalog::all()
        .filter(|&entry| *entry != TAKES_TOO_LONG && !shown.iter().any(|finding| finding.entry() == entry))
        .map(|entry| format!("{}: {}", entry.code, entry.what))
        .collect();
    assert_eq!(missing, Vec::<String>::new());
    let told = |finding: &Finding| {
        format!("[{}]\n{}", finding.code(), show(&grouped(std::slice::from_ref(finding), &Accepted::default()), US, 100))
    };
    insta::assert_snapshot!("every_finding", shown.iter().map(told).collect::<Vec<_>>().join("\n\n"));
}

/// The sound garden with a tank beside its switch.
pub fn sound_with_tank() -> Garden {
    let numbers = [("volume", q(20.0, "gal")), ("precharge", q(58.0, "psi")), ("pressure_rating", q(150.0, "psi"))];
    // Cut-in is well above the 58 psi that the main holds at rest.
    but(&sound(), "switch.cut_in", 62.0, "psi").branch("switch", &part(Kind::PressureTank, "tank", &numbers)).expect("joins")
}

#[test]
fn a_sound_garden_has_no_finding_over_time_in_its_window_or_when_a_valve_shuts_slowly() {
    let schedule = Schedule { timers: vec![timer("east", "berries", 2.0, 30.0)], ..Schedule::default() };
    let log = operate(&sound_with_tank(), &schedule, 6.0 * HOUR).expect("runs");
    assert_eq!(of_log(&log), Vec::new());
    let ask = Ask { highest_static_pa: Some(58.0 * PSI), lowest_static_pa: Some(58.0 * PSI), ..Ask::default() };
    let window = switch_window(&zoned(60.0, 85.0, 97.0, &[("pump.pressure_rating", 150.0, "psi")]), &ask).expect("a window");
    assert_eq!(window.findings(), Vec::new());
    let slow = water_hammer(&but(&sound(), "pump.pressure_rating", 150.0, "psi"), &["berries"], Some(10.0)).expect("a knock");
    assert_eq!(slow.findings(), Vec::new());
}
