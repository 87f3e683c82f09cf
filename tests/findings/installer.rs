//! Gardens as an installer meets them: sound ones, of which nothing above a note is said, and such with one fault, which is found
//! without much beside it.

use super::trade::{bored, drip, filter, pipe, soaker};
use super::*;
use std::collections::BTreeSet;

/// A garden with the zones that run together in it, each set by itself.
struct Plot {
    name: &'static str,
    garden: Garden,
    zones: Vec<Vec<&'static str>>,
}

fn plot(name: &'static str, garden: Garden, zones: &[&'static str]) -> Plot {
    let sets = zones.iter().map(|&zone| vec![zone]).collect::<Vec<_>>();
    Plot { name, garden, zones: if sets.is_empty() { vec![vec![]] } else { sets } }
}

/// Everything that is said of a garden: of its layout, at rest, of each zone alone.
fn told(plot: &Plot) -> Vec<Finding> {
    let mut all = of_zones(&plot.garden);
    for zones in &plot.zones {
        let solution = run(&plot.garden, zones).unwrap_or_else(|error| panic!("{}: {error}", plot.name));
        all.extend(of_run(&solution));
    }
    all
}

fn number(garden: Garden, path: &str, value: f64, unit: &str) -> Garden {
    but(&garden, path, value, unit)
}

/// A tap of 60 psi that gives 8 gpm at 48 psi.
fn house() -> Garden {
    supply("tap", 60.0, 48.0, 8.0)
}

fn metric_tap() -> Garden {
    let numbers = [("static_pressure", q(4.2, "bar")), ("measured_pressure", q(3.4, "bar")), ("measured_flow", q(25.0, "lpm"))];
    part(Kind::Supply, "tap", &numbers)
}

fn guard(kind: Kind) -> Garden {
    bored(kind, "preventer")
}

fn check(name: &str) -> Garden {
    bored(Kind::CheckValve, name)
}

fn valve(name: &str) -> Garden {
    bored(Kind::Valve, name)
}

fn inch(name: &str, length_ft: f64) -> Garden {
    number(pipe(name, length_ft, 1.049), &format!("{name}.pressure_rating"), 200.0, "psi")
}

fn metric_pipe(name: &str, length_m: f64) -> Garden {
    let numbers = [("length", q(length_m, "m")), ("diameter", q(26.2, "mm")), ("pressure_rating", q(10.0, "bar"))];
    part(Kind::Pipe, name, &numbers)
}

/// A spray that passes 1.5 gpm at 30 psi and works from 20 to 55 psi.
fn spray(name: &str) -> Garden {
    let numbers = [("rated_flow", q(1.5, "gpm")), ("rated_flow_pressure", q(30.0, "psi"))];
    let ranged = [("range_low", q(20.0, "psi")), ("range_high", q(65.0, "psi"))];
    part(Kind::Head, name, &[numbers, ranged].concat())
}

fn metric_spray(name: &str) -> Garden {
    let numbers = [("rated_flow", q(6.0, "lpm")), ("rated_flow_pressure", q(2.1, "bar"))];
    let ranged = [("range_low", q(1.4, "bar")), ("range_high", q(4.5, "bar"))];
    part(Kind::Head, name, &[numbers, ranged].concat())
}

/// A zone of sprays on a lateral of pipe.
fn lawn(zone: &str, heads: usize) -> Garden {
    let names: Vec<String> = (0..heads).map(|at| format!("{zone} {at}")).collect();
    let ends: Vec<Garden> = names.iter().map(|name| line(&[inch(&format!("{name} riser"), 10.0), spray(name)])).collect();
    line(&[valve(zone), inch(&format!("{zone} lateral"), 40.0)]).then_branches(&ends).expect("joins")
}

fn regulator(psi: f64) -> Garden {
    but(&part(Kind::Regulator, "regulator", &[("set", q(psi, "psi"))]), "regulator.diameter", 0.9, "inch")
}

/// Rows of drip in parallel.
fn rows(count: usize, exponent: f64) -> Vec<Garden> {
    let row = |at: usize| {
        let name = format!("row {at}");
        number(number(drip(&name), &format!("{name}.flow"), 8.0, "gph"), &format!("{name}.exponent"), exponent, "")
    };
    (0..count).map(row).collect()
}

/// A pump of 35 psi with a cut-off for main or tank.
fn garden_pump(cut_off_psi: f64) -> Garden {
    let pump = booster("pump", &[(0.0, 35.0), (5.0, 30.0), (10.0, 20.0), (14.0, 5.0)]);
    number(number(pump, "pump.dry_run_cutoff", cut_off_psi, "psi"), "pump.npsh", 8.0, "ft")
}

fn small_tank(precharge_psi: f64) -> Garden {
    let numbers = [("volume", q(20.0, "gal")), ("precharge", q(precharge_psi, "psi")), ("pressure_rating", q(125.0, "psi"))];
    part(Kind::PressureTank, "tank", &numbers)
}

fn safety(set_psi: f64) -> Garden {
    number(relief("relief", set_psi), "relief.flow", 14.0, "gpm")
}

/// A booster on the main as it should be: 48 psi at rest upstream of it, 83 psi at shut-off.
fn boosted(tap: Garden, cut_in: f64, cut_out: f64, relief_psi: f64, zones: &[Garden]) -> Garden {
    let trunk = [
        tap,
        guard(Kind::ReducedPressure),
        inch("feed", 30.0),
        check("check"),
        garden_pump(10.0),
        switch(cut_in, cut_out),
        small_tank(cut_in - 2.0),
        safety(relief_psi),
        inch("main line", 20.0),
    ];
    line(&trunk).then_branches(zones).expect("joins")
}

/// The same with a drive in the place of the switch: it holds its set pressure, which leaves a small tank and no differential.
fn driven(set_psi: f64, relief_psi: f64, zones: &[Garden]) -> Garden {
    let small = [("volume", q(2.0, "gal")), ("precharge", q(set_psi - 15.0, "psi")), ("pressure_rating", q(125.0, "psi"))];
    let trunk = [
        house(),
        guard(Kind::ReducedPressure),
        inch("feed", 30.0),
        check("check"),
        number(garden_pump(10.0), "pump.input_power", 750.0, "W"),
        drive(set_psi),
        part(Kind::PressureTank, "tank", &small),
        safety(relief_psi),
        inch("main line", 20.0),
    ];
    line(&trunk).then_branches(zones).expect("joins")
}

/// A zone of large sprays for a boosted garden: more than the main alone gives them.
fn high_lawn(zone: &str) -> Garden {
    let ends = ["north", "south"].map(|end| {
        let name = format!("{zone} {end}");
        let rated =
            number(number(spray(&name), &format!("{name}.rated_flow"), 2.5, "gpm"), &format!("{name}.range_low"), 45.0, "psi");
        number(rated, &format!("{name}.range_high"), 85.0, "psi")
    });
    line(&[valve(zone), inch(&format!("{zone} lateral"), 40.0)]).then_branches(&ends).expect("joins")
}

fn cistern(level_ft: f64) -> Garden {
    number(open_tank("cistern", level_ft), "cistern.volume", 800.0, "gal")
}

/// A pump that lifts out of a cistern.
fn lifted_from(foot: &[Garden], rise_ft: f64, cut_off_psi: Option<f64>) -> Garden {
    let suction = number(pipe("suction", 15.0, 1.38), "suction.pressure_rating", 100.0, "psi");
    let pump = match cut_off_psi {
        Some(psi) => garden_pump(psi),
        None => number(booster("pump", &[(0.0, 60.0), (5.0, 50.0), (10.0, 30.0), (14.0, 5.0)]), "pump.npsh", 8.0, "ft"),
    };
    let parts = [
        &[cistern(3.0)],
        foot,
        &[suction, climb("bank", rise_ft), pump, inch("line", 40.0), spray_low("spray one"), spray_low("spray two")],
    ];
    line(&parts.concat())
}

/// A spray for a small pump.
fn spray_low(name: &str) -> Garden {
    number(spray(name), &format!("{name}.range_low"), 10.0, "psi")
}

fn sound_plots() -> Vec<Plot> {
    let protected =
        |kind: Kind, zones: &[Garden]| line(&[house(), guard(kind), inch("feed", 40.0)]).then_branches(zones).expect("joins");
    let dripping = |more: &[Garden], ends: &[Garden]| {
        let head = [house(), valve("drip"), guard(Kind::AtmosphericVacuumBreaker), climb("down", -2.0), filter("filter")];
        line(&[&head[..], more].concat()).then_branches(ends).expect("joins")
    };
    let metric_zone = line(&[valve("rasen"), metric_pipe("strang", 12.0)])
        .then_branches(&[
            line(&[metric_pipe("links", 3.0), metric_spray("eins")]),
            line(&[metric_pipe("rechts", 3.0), metric_spray("zwei")]),
        ])
        .expect("joins");
    let hose_end = [house(), valve("timer"), guard(Kind::HoseVacuumBreaker), hose("hose", 50.0, 0.75), spray("spray")];
    let barrel = [climb("stand", 0.0), filter("filter"), hose("hose", 30.0, 0.75)];
    let low_drip =
        |name: &str| number(number(drip(name), &format!("{name}.pressure"), 2.0, "psi"), &format!("{name}.flow"), 2.0, "gph");
    let slope = line(&[valve("slope"), inch("slope lateral", 40.0)])
        .then_branches(&[spray("top"), line(&[climb("fall", -12.0), spray("bottom")])])
        .expect("joins");
    let regulated = |name: &str| number(spray(name), &format!("{name}.regulated"), 30.0, "psi");
    let steep = line(&[valve("steep"), inch("steep lateral", 40.0)])
        .then_branches(&[
            regulated("top"),
            line(&[climb("fall", -30.0), but(&regulated("bottom"), "bottom.range_high", 90.0, "psi")]),
        ])
        .expect("joins");
    let expansion = part(Kind::ExpansionTank, "expansion", &[("volume", q(4.0, "gal")), ("precharge", q(55.0, "psi"))]);
    let reduced = |static_psi: f64| {
        line(&[supply("main", static_psi, 0.85 * static_psi, 8.0), regulator(60.0), expansion.clone(), draw("kitchen", 1.0)])
            .then(&line(&[guard(Kind::DoubleCheck), inch("feed", 40.0), lawn("beds", 2)]))
            .expect("joins")
    };
    let metered = part(Kind::Meter, "meter", &[("loss", q(3.0, "psi")), ("flow", q(15.0, "gpm"))]);
    let metric_boost = boosted(metric_tap(), 60.0, 75.0, 90.0, &[high_lawn("beet")]);
    vec![
        plot("one zone of sprays", protected(Kind::DoubleCheck, &[lawn("lawn", 2)]), &["lawn"]),
        plot(
            "six zones",
            protected(Kind::DoubleCheck, &["a", "b", "c", "d", "e", "f"].map(|zone| lawn(zone, 2))),
            &["a", "b", "c", "d", "e", "f"],
        ),
        plot(
            "a reduced-pressure assembly",
            protected(Kind::ReducedPressure, &[lawn("lawn", 2), lawn("beds", 3)]),
            &["lawn", "beds"],
        ),
        plot(
            "in metric units",
            line(&[metric_tap(), guard(Kind::DoubleCheck), metric_pipe("zuleitung", 15.0), metric_zone]),
            &["rasen"],
        ),
        plot("drip at the tap", dripping(&[regulator(20.0), hose("header", 30.0, 0.6)], &rows(4, 0.5)), &["drip"]),
        plot(
            "compensating drip down a slope",
            dripping(
                &[
                    regulator(25.0),
                    climb("slope", -15.0),
                    number(hose("header", 30.0, 0.6), "header.pressure_rating", 100.0, "psi"),
                ],
                &{
                    let ranged = |row: Garden, at: usize| number(row, &format!("row {at}.range_high"), 45.0, "psi");
                    rows(3, 0.05).into_iter().enumerate().map(|(at, row)| ranged(row, at)).collect::<Vec<_>>()
                },
            ),
            &["drip"],
        ),
        plot("a soaker", dripping(&[regulator(12.0)], &[soaker("row")]), &["drip"]),
        plot("a hose with a timer at the tap", line(&hose_end), &["timer"]),
        plot(
            "a barrel on a stand",
            line(&[&[open_tank("barrel", 6.0)], &barrel[..]].concat())
                .then_branches(&[low_drip("one"), low_drip("two")])
                .expect("joins"),
            &[],
        ),
        plot("a cistern below its pump", lifted_from(&[check("foot")], 8.0, Some(-5.0)), &[]),
        plot("a cistern above its pump", lifted_from(&[], -2.0, Some(0.5)), &[]),
        plot(
            "a booster on the main",
            boosted(house(), 60.0, 80.0, 92.0, &[high_lawn("beds"), high_lawn("lawn")]),
            &["beds", "lawn"],
        ),
        plot("a booster on a metric main", metric_boost, &["beet"]),
        plot(
            "a variable-speed drive on the main",
            driven(65.0, 85.0, &[high_lawn("beds"), high_lawn("lawn")]),
            &["beds", "lawn"],
        ),
        plot("a slope with a vacuum breaker at its top", protected_slope(slope), &["slope"]),
        plot("a steep slope with regulated heads", protected(Kind::DoubleCheck, &[steep]), &["steep"]),
        plot("a house with a regulator and an expansion tank", reduced(95.0), &["beds"]),
        plot(
            "a metered main",
            line(&[house(), metered, guard(Kind::DoubleCheck), inch("feed", 40.0), lawn("lawn", 3)]),
            &["lawn"],
        ),
        plot(
            "one main with two taps",
            line(&[house(), guard(Kind::DoubleCheck), inch("feed", 20.0), point("here"), lawn("lawn", 3)])
                .add_source(
                    "here",
                    &line(&[supply("back tap", 60.0, 48.0, 8.0), bored(Kind::DoubleCheck, "second"), inch("back", 20.0)]),
                )
                .expect("joins"),
            &["lawn"],
        ),
        plot(
            "a single head",
            line(&[house(), valve("bed"), guard(Kind::HoseVacuumBreaker), hose("hose", 30.0, 0.625), spray("spray")]),
            &["bed"],
        ),
        plot(
            "a soaker on a barrel",
            line(&[open_tank("barrel", 7.0), filter("filter"), but(&soaker("row"), "row.pressure", 3.0, "psi")]),
            &[],
        ),
    ]
}

/// A zone below a pressure vacuum breaker.
fn protected_slope(zone: Garden) -> Garden {
    line(&[house(), guard(Kind::PressureVacuumBreaker), climb("breaker height", -2.0), inch("feed", 40.0), zone])
}

#[test]
fn of_sound_gardens_nothing_above_a_note_is_said() {
    let plots = sound_plots();
    assert_eq!(plots.len(), 21);
    let mut complaints = Vec::new();
    for plot in &plots {
        let pumped = |finding: &&Finding| finding.level() != Level::Note || finding.code() == "zone-needs-no-pump";
        for finding in told(plot).iter().filter(pumped) {
            complaints.push(format!("{}: {} {}", plot.name, finding.code(), finding.what(US)));
        }
    }
    assert!(complaints.is_empty(), "\n{}", complaints.join("\n"));
}

/// A sound garden with one fault, and the code that names it.
fn faulty_plots() -> Vec<(&'static str, Plot)> {
    let of = |name: &str| sound_plots().into_iter().find(|plot| plot.name == name).unwrap_or_else(|| panic!("{name}"));
    let changed = |name: &str, path: &str, value: f64, unit: &str| {
        let plot = of(name);
        Plot { garden: but(&plot.garden, path, value, unit), ..plot }
    };
    let zones = [high_lawn("beds"), high_lawn("lawn")];
    let boost = |cut_in: f64, cut_out: f64, relief_psi: f64| {
        plot("a booster", boosted(house(), cut_in, cut_out, relief_psi, &zones), &["beds", "lawn"])
    };
    let drip_with = |before: &[Garden], after: &[Garden]| {
        let head = [house(), valve("drip"), guard(Kind::AtmosphericVacuumBreaker), climb("down", -2.0)];
        plot("drip", line(&[&head[..], before, after].concat()).then_branches(&rows(4, 0.5)).expect("joins"), &["drip"])
    };
    let header = || hose("header", 30.0, 0.6);
    let straight = |parts: &[Garden], zones: &[&'static str]| plot("a line", line(parts), zones);
    let dangling = line(&[valve("slope"), inch("slope lateral", 40.0)])
        .then_branches(&[spray("top"), line(&[climb("fall", -40.0), but(&spray("bottom"), "bottom.range_high", 90.0, "psi")])])
        .expect("joins");
    vec![
        ("no-backflow-preventer", straight(&[house(), inch("feed", 40.0), lawn("lawn", 2)], &["lawn"])),
        (
            "no-backflow-preventer",
            straight(&[house(), valve("drip"), filter("filter"), regulator(12.0), soaker("row")], &["drip"]),
        ),
        ("backpressure", {
            let trunk = [house(), guard(Kind::PressureVacuumBreaker), climb("down", -2.0), check("check"), garden_pump(10.0)];
            straight(&[&trunk[..], &[safety(105.0), inch("line", 20.0), high_lawn("beds")]].concat(), &["beds"])
        }),
        (
            "continuous-pressure",
            straight(&[house(), guard(Kind::HoseVacuumBreaker), inch("feed", 40.0), lawn("lawn", 2)], &["lawn"]),
        ),
        (
            "breaker-height",
            plot(
                "low",
                line(&[house(), guard(Kind::PressureVacuumBreaker), climb("up", 3.0), inch("feed", 40.0), lawn("lawn", 2)]),
                &["lawn"],
            ),
        ),
        ("drip-no-filter", drip_with(&[], &[regulator(20.0), header()])),
        ("drip-over-pressure", drip_with(&[filter("filter")], &[header()])),
        ("loses-prime", plot("no foot valve", lifted_from(&[], 8.0, Some(-5.0)), &[])),
        ("runs-dry", plot("no cut-off", lifted_from(&[check("foot")], 3.0, None), &[])),
        ("lift-too-high", changed_pump(lifted_from(&[check("foot")], 20.0, Some(-12.0)))),
        ("never-starts", {
            let thirsty = ["beds north", "beds south"]
                .iter()
                .fold(boost(30.0, 50.0, 92.0).garden, |garden, head| but(&garden, &format!("{head}.range_low"), 50.0, "psi"));
            plot("a cut-in too low", thirsty, &["beds"])
        }),
        ("never-stops", boost(60.0, 95.0, 110.0)),
        ("relief-weeps", boost(60.0, 80.0, 78.0)),
        // Above what main and pump reach together.
        ("drive-above-shut-off", plot("a drive", driven(101.0, 121.0, &zones), &["beds", "lawn"])),
        ("precharge-high", changed("a booster on the main", "tank.precharge", 66.0, "psi")),
        ("precharge-low", changed("a booster on the main", "tank.precharge", 30.0, "psi")),
        (
            "high-static-pressure",
            straight(
                &[supply("tap", 95.0, 60.0, 8.0), guard(Kind::DoubleCheck), inch("feed", 40.0), regulator(50.0), lawn("lawn", 2)],
                &["lawn"],
            ),
        ),
        ("zone-variation", plot("a slope", line(&[house(), guard(Kind::DoubleCheck), inch("feed", 40.0), dangling]), &["slope"])),
        ("below-range", changed("one zone of sprays", "lawn 0.range_low", 60.0, "psi")),
        (
            "thermal-expansion",
            straight(
                &[house(), check("check"), draw("kitchen", 1.0), guard(Kind::DoubleCheck), inch("feed", 40.0), lawn("lawn", 2)],
                &["lawn"],
            ),
        ),
        ("relief-blocked", {
            let trunk = [
                house(),
                guard(Kind::ReducedPressure),
                inch("feed", 30.0),
                check("check"),
                garden_pump(10.0),
                switch(60.0, 80.0),
            ];
            straight(
                &[&trunk[..], &[small_tank(58.0), valve("ball"), safety(92.0), inch("line", 20.0), rated_lawn()]].concat(),
                &["ball"],
            )
        }),
    ]
}

/// Sprays without a valve.
fn rated_lawn() -> Garden {
    let ends = ["north", "south"].map(|name| {
        number(number(spray(name), &format!("{name}.rated_flow"), 2.5, "gpm"), &format!("{name}.range_high"), 75.0, "psi")
    });
    inch("lateral", 40.0).then_branches(&ends).expect("joins")
}

/// A pump whose required suction head is not known.
fn changed_pump(garden: Garden) -> Plot {
    let curve = booster("pump", &[(0.0, 60.0), (5.0, 50.0), (10.0, 30.0), (14.0, 5.0)]);
    let pump = but(&curve, "pump.dry_run_cutoff", -12.0, "psi");
    let part = pump.part("pump").expect("known").clone();
    plot("too high", garden.replace("pump", &part).expect("a pump"), &[])
}

#[test]
fn each_fault_of_a_garden_is_found_and_little_else() {
    let faulty = faulty_plots();
    assert_eq!(faulty.len(), 21);
    let mut complaints = Vec::new();
    for (code, plot) in &faulty {
        let all = told(plot);
        let codes: BTreeSet<&str> = all.iter().map(|finding| finding.code()).collect();
        let level = all.iter().filter(|finding| finding.code() == *code).map(|finding| finding.level()).min();
        if level.is_none_or(|level| level == Level::Note) {
            complaints.push(format!("{code} is not found in {}: {codes:?}", plot.name));
        } else if codes.len() > 3 {
            complaints.push(format!("{code} in {}: with it {codes:?}", plot.name));
        }
    }
    assert!(complaints.is_empty(), "\n{}", complaints.join("\n"));
}
