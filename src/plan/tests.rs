use super::*;
use crate::figure::{Activity, Graphic, Ground, Seat, Water, faults_of_map};
use crate::hydraulics::run;
use crate::parts::{Kind, Part};
use crate::quantity::{Quantity, dim, find_unit};
use proptest::prelude::*;

fn q(value: f64, unit: &str) -> Quantity {
    Quantity::written(value, find_unit(unit).expect("a unit"))
}

fn line(kind: Kind, name: &str, numbers: &[(&str, f64, &str)]) -> Garden {
    let numbers: Vec<(&str, Quantity)> = numbers
        .iter()
        .map(|(number, value, unit)| {
            (*number, if unit.is_empty() { Quantity::new(*value, dim::NUMBER) } else { q(*value, unit) })
        })
        .collect();
    Garden::of(Part::of_words(kind, Some(name), &numbers).expect("a sound part"))
}

fn tap(name: &str) -> Garden {
    line(Kind::Supply, name, &[("static_pressure", 50.0, "psi")])
}

fn hose(name: &str) -> Garden {
    line(Kind::Hose, name, &[("length", 50.0, "ft"), ("diameter", 0.5, "in")])
}

fn head(name: &str) -> Garden {
    line(Kind::Head, name, &[("nozzle", 0.125, "in")])
}

fn chain(lines: &[Garden]) -> Garden {
    lines[1..].iter().fold(lines[0].clone(), |line, next| line.then(next).expect("joins"))
}

/// A tap, a manifold with a relief valve, three branches of which one forks, and a second tap.
fn forked() -> Garden {
    let fork = hose("fork").then_branches(&[head("a"), chain(&[hose("long"), head("b")])]).expect("joins");
    let branches = [fork, chain(&[line(Kind::Valve, "shut", &[]), head("c")]), chain(&[hose("last"), head("d")])];
    let start = chain(&[tap("tap"), hose("feed"), line(Kind::Relief, "relief", &[("set", 90.0, "psi")])]);
    let garden = start.then_branches(&branches).expect("joins");
    garden.add_source("fork", &chain(&[tap("well"), hose("from the well")])).expect("joins")
}

fn ring() -> Garden {
    chain(&[tap("tap"), hose("left"), head("far")]).connect("tap", "left", &hose("right")).expect("joins")
}

fn drawn(garden: &Garden) -> Map {
    plan(garden, None, Color::Pressure, UnitSystem::AsWritten).expect("a plan")
}

#[test]
fn every_part_is_on_the_plan_once() {
    for garden in [forked(), ring()] {
        let map = drawn(&garden);
        let mut names: Vec<&str> = map.symbols.iter().map(|symbol| symbol.lines[0].as_str()).collect();
        let mut expected: Vec<&str> = (0..garden.parts().len()).map(|place| garden.name(place)).collect();
        names.sort_unstable();
        expected.sort_unstable();
        assert_eq!(names, expected);
        assert_eq!(map.ground, Ground::Grid);
    }
}

#[test]
fn no_two_symbols_of_a_scheme_share_a_place_and_water_runs_to_the_right() {
    for garden in [forked(), ring()] {
        let map = drawn(&garden);
        for (index, one) in map.symbols.iter().enumerate() {
            for other in &map.symbols[..index] {
                let apart = (one.at.0 - other.at.0).abs() >= 0.3 || (one.at.1 - other.at.1).abs() >= 1.0 - 1e-9;
                assert!(apart, "{:?} and {:?} at {:?}", one.lines, other.lines, one.at);
            }
        }
        let x = |name: &str| map.symbols.iter().find(|symbol| symbol.lines[0] == name).map(|symbol| symbol.at.0);
        for place in 0..garden.parts().len() {
            let joint = &garden.layout().places[place];
            let before = (0..garden.parts().len()).find(|other| {
                let other = &garden.layout().places[*other];
                other.to == joint.from && other.from != other.to
            });
            if let Some(before) = before {
                assert!(x(garden.name(before)) < x(garden.name(place)), "{} before {}", garden.name(before), garden.name(place));
            }
        }
    }
}

/// The same for a phone.
fn in_rows(garden: &Garden) -> Map {
    let Some(Graphic::Map(map)) = Graphic::Map(drawn(garden)).narrow() else { panic!("a map") };
    map
}

#[test]
fn a_scheme_too_wide_for_a_phone_stands_in_rows_there_with_every_part() {
    for garden in [forked(), chain(&[tap("tap"), hose("a"), hose("b"), hose("c"), hose("d"), head("end")])] {
        let map = in_rows(&garden);
        assert_eq!(map.ground, Ground::Rows);
        let mut names: Vec<&str> = map.symbols.iter().map(|symbol| symbol.lines[0].as_str()).collect();
        let mut expected: Vec<&str> = (0..garden.parts().len()).map(|place| garden.name(place)).collect();
        names.sort_unstable();
        expected.sort_unstable();
        assert_eq!(names, expected);
        assert_eq!(faults_of_map(&map), Vec::<String>::new());
        let drawn = Graphic::Map(map).drawn().expect("a drawing");
        assert_eq!(drawn.size().0, crate::figure::NARROW);
    }
    // What is short stays as it is.
    assert_eq!(in_rows(&chain(&[tap("tap"), head("end")])).ground, Ground::Grid);
}

#[test]
fn in_rows_water_runs_down_or_to_the_right_and_a_second_supply_comes_back_at_the_left() {
    let map = in_rows(&forked());
    let at = |name: &str| map.symbols.iter().find(|symbol| symbol.lines[0] == name).expect("on the plan").at;
    for pair in [["tap", "feed"], ["feed", "fork"], ["feed", "relief"], ["fork", "a"], ["long", "b"], ["well", "from the well"]] {
        let (one, next) = (at(pair[0]), at(pair[1]));
        assert!(next.0 >= one.0 && next.1 >= one.1, "{pair:?} at {one:?} and {next:?}");
    }
    let least = map.routes.iter().flat_map(|route| &route.points).map(|point| point.0).fold(f64::INFINITY, f64::min);
    let back: Vec<&crate::figure::Route> =
        map.routes.iter().filter(|route| route.points.iter().any(|point| point.0 == least)).collect();
    let end = back[0].points.last().expect("points");
    assert!(back.len() == 1 && map.tees.contains(end), "{back:?}");
}

#[test]
fn lines_that_close_a_ring_end_in_a_tee() {
    let map = drawn(&ring());
    let right = &map.routes[map.symbols.iter().position(|symbol| symbol.lines[0] == "right").expect("on the plan") - 1..];
    assert!(right.iter().any(|route| route.points.len() > 3), "the closing line drops into its node");
    assert!(!map.tees.is_empty());
}

#[test]
fn texts_cover_neither_each_other_nor_symbols() {
    assert_eq!(faults_of_map(&drawn(&boosted())), Vec::<String>::new());
    for garden in [forked(), ring()] {
        assert_eq!(faults_of_map(&drawn(&garden)), Vec::<String>::new());
        let solution = run(&garden, &[]).expect("runs");
        let map = plan(&garden, Some(&solution), Color::Flow, UnitSystem::Metric).expect("a plan");
        assert_eq!(faults_of_map(&map), Vec::<String>::new());
    }
}

/// A head that may stand somewhere.
fn placed_head(name: &str, at: Option<(f64, f64)>) -> Garden {
    let mut numbers = vec![
        ("nozzle", 0.09375, "in"),
        ("radius", 20.0, "ft"),
        ("range_low", 20.0, "psi"),
        ("range_high", 60.0, "psi"),
        ("arc", 180.0, ""),
    ];
    numbers.extend(at.into_iter().flat_map(|(x, y)| [("x", x, "ft"), ("y", y, "ft")]));
    line(Kind::Head, name, &numbers)
}

/// Zones behind a manifold, each with its heads on laterals of their own or along one lateral.
fn zones(heads: &[Vec<(f64, f64)>], in_chains: bool, to_scale: bool) -> Garden {
    let zone = |(number, places): (usize, &Vec<(f64, f64)>)| {
        let mut start = vec![line(Kind::Valve, &format!("zone {}", number + 1), &[]), hose(&format!("main {}", number + 1))];
        let heads = places.iter().enumerate().map(|(head, at)| {
            let hose = line(Kind::Hose, &format!("h{number}_{head}"), &[("length", 20.0, "ft"), ("diameter", 0.5, "in")]);
            let name = format!("{} of {}", ["roses", "raspberries", "lawn", "beans"][head % 4], number + 1);
            [hose, placed_head(&format!("{name} {head}"), to_scale.then_some(*at))]
        });
        if in_chains {
            start.extend(heads.flatten());
            return chain(&start);
        }
        let branches: Vec<Garden> = heads.map(|pair| chain(&pair)).collect();
        chain(&start).then_branches(&branches).expect("joins")
    };
    let branches: Vec<Garden> = heads.iter().enumerate().map(zone).collect();
    chain(&[tap("tap"), hose("feed")]).then_branches(&branches).expect("joins")
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(8) })]

    #[test]
    fn texts_of_random_gardens_cover_neither_each_other_nor_symbols(
        heads in prop::collection::vec(prop::collection::vec((0.0f64..150.0, 0.0f64..90.0), 1..8), 1..9),
        in_chains in any::<bool>(),
        to_scale in any::<bool>(),
        runs in any::<bool>(),
        width in prop_oneof![Just(360u32), Just(760), Just(1100)],
    ) {
        let garden = zones(&heads, in_chains, to_scale);
        let solution = runs.then(|| run(&garden, &["zone 1"]).expect("runs"));
        let mut map = plan(&garden, solution.as_ref(), Color::Pressure, UnitSystem::AsWritten).expect("a plan");
        let Some(Graphic::Map(narrow)) = Graphic::Map(map.clone()).narrow() else { panic!("a map") };
        prop_assert_eq!(faults_of_map(&narrow), Vec::<String>::new());
        map.width = width;
        prop_assert_eq!(faults_of_map(&map), Vec::<String>::new());
        let drawn = Graphic::Map(map.clone()).drawn().and_then(|drawn| drawn.svg()).expect("a drawing");
        // A long name stands in two lines on a narrow sheet.
        let all: Vec<&str> = drawn.split("</text>").filter_map(|text| text.rsplit('>').next()).collect();
        let all = all.join(" ");
        let n_heads = heads.iter().map(Vec::len).sum::<usize>();
        // In a scheme, several heads of a zone that is closed while another runs are one thing.
        let is_folded = |number: usize| runs && !to_scale && n_heads > 6 && number > 0 && heads[number].len() >= 4;
        for (number, zone) in heads.iter().enumerate() {
            // One label a zone, and every head by its name; of one thing the first and the last, and all in the description.
            let name = format!("zone {}", number + 1);
            prop_assert!(all.contains(&name), "{name}");
            for head in 0..zone.len() {
                let last = format!("of {} {head}", number + 1);
                let is_between = is_folded(number) && head > 0 && head + 1 < zone.len();
                prop_assert_eq!(all.contains(&last), !is_between, "{}", last);
                prop_assert!(drawn.contains(&last), "{last}");
            }
        }
        if n_heads > 6 {
            let rows: usize = map.roster.as_ref().map_or(0, |roster| roster.groups.iter().map(|group| group.rows.len()).sum());
            let folded: usize = (0..heads.len()).filter(|number| is_folded(*number)).map(|number| heads[number].len()).sum();
            prop_assert_eq!(rows, n_heads - folded);
        }
    }
}

#[test]
fn heads_of_a_closed_zone_are_one_thing_unless_more_than_lines_leads_to_them() {
    let places = |count: usize| vec![(0.0, 0.0); count];
    let garden = zones(&[places(5), places(6), places(3), places(4)], false, false);
    let drawn = |garden: &Garden, zones: &[&str]| {
        let solution = run(garden, zones).expect("runs");
        plan(garden, Some(&solution), Color::Pressure, UnitSystem::AsWritten).expect("a plan")
    };
    let on_map = |map: &Map, zone: usize| {
        map.symbols
            .iter()
            .filter(|symbol| symbol.shape == crate::parts::SymbolShape::Head)
            .filter(|symbol| symbol.lines[0].contains(&format!("of {zone} ")))
            .count()
    };
    let map = drawn(&garden, &["zone 1"]);
    assert_eq!([1, 2, 3, 4].map(|zone| on_map(&map, zone)), [5, 1, 3, 1]);
    let one =
        map.symbols.iter().find(|symbol| symbol.lines[0].starts_with("roses of 2 0, raspberries of 2 1")).expect("one thing");
    assert_eq!((one.active, one.lines[1].as_str()), (Activity::Idle, "no flow"));
    // The feed hose, four valves, and the lines to eight heads.
    assert_eq!(map.routes.len(), 1 + 4 + 2 + 5 + 3);
    // Where all are closed nothing is of less interest than the rest.
    assert_eq!([1, 2, 3, 4].map(|zone| on_map(&drawn(&garden, &[]), zone)), [5, 6, 3, 4]);
    // A regulator upstream of one head stays on the plan, with all heads of its zone.
    let regulated =
        garden.insert(crate::garden::Side::Before, "roses of 2 0", &line(Kind::Regulator, "to 30", &[("set", 30.0, "psi")]));
    let map = drawn(&regulated.expect("goes in"), &["zone 1"]);
    assert_eq!([1, 2, 3, 4].map(|zone| on_map(&map, zone)), [5, 6, 3, 1]);
}

#[test]
fn a_reading_colors_what_flows_and_dashes_what_does_not() {
    let garden = forked();
    let solution = run(&garden, &[]).expect("runs");
    let map = plan(&garden, Some(&solution), Color::Flow, UnitSystem::AsWritten).expect("a plan");
    let still = map.routes.iter().filter(|route| route.water == Water::Still).count();
    // The closed valve, what lies downstream of it, and the relief valve below its setting.
    assert_eq!(still, 2, "{:?}", map.routes);
    assert!(map.routes.iter().any(|route| matches!(route.water, Water::Flows(gpm) if gpm > 1.0)));
    assert_eq!(map.key.as_ref().map(|key| key.unit.as_deref()), Some(Some("gpm")));
    let relief = map.symbols.iter().find(|symbol| symbol.lines[0] == "relief").expect("on the plan");
    assert_eq!((relief.active, relief.lines.last().map(String::as_str)), (Activity::Idle, Some("closed")));
    Graphic::Map(map).drawn().and_then(|drawn| drawn.png()).expect("a picture");
}

#[test]
fn places_that_are_given_are_kept_and_the_rest_lies_between() {
    let at = |name: &str, x: f64, y: f64| {
        line(
            Kind::Head,
            name,
            &[("nozzle", 0.125, "in"), ("radius", 20.0, "ft"), ("arc", 90.0, ""), ("x", x, "ft"), ("y", y, "ft")],
        )
    };
    let west = chain(&[hose("to the west"), at("west", 0.0, 0.0)]);
    let east = chain(&[hose("to the east"), at("east", 60.0, 0.0)]);
    let start = chain(&[tap("tap"), hose("feed")]);
    let map = drawn(&start.then_branches(&[west, east]).expect("joins"));
    assert_eq!(map.ground, Ground::Real { unit: "ft".into() });
    let place = |name: &str| map.symbols.iter().find(|symbol| symbol.lines[0] == name).expect("on the plan").at;
    assert!((place("east").0 - 60.0).abs() < 1e-9 && place("east").1.abs() < 1e-9);
    assert!(place("to the west").0 > 0.0 && place("to the west").0 < place("to the east").0);
    assert_eq!(map.throws.len(), 2);
    // Both sectors open toward the other head.
    assert!(map.throws[0].middle_deg.abs() < 1e-9 && (map.throws[1].middle_deg.abs() - 180.0).abs() < 1e-9);
    assert!(map.notes.iter().any(|note| note.contains("place of the supply")), "{:?}", map.notes);
    let svg = Graphic::Map(map).drawn().and_then(|drawn| drawn.svg()).expect("a drawing");
    assert!(svg.contains(" ft</text>") && svg.contains(">north<"), "a scale bar and the north");
}

#[test]
fn a_line_without_a_supply_is_drawn_from_its_inlet() {
    let map = drawn(&chain(&[hose("one"), hose("two"), head("end")]));
    assert_eq!(map.symbols.len(), 3);
    assert_eq!(map.symbols.iter().find(|symbol| symbol.lines[0] == "end").map(|end| end.seat), Some(Seat::AtEnd));
}

#[test]
fn too_many_parts_are_refused_with_advice() {
    let parts: Vec<Part> = (0..401)
        .map(|_| Part::of_words(Kind::Hose, None, &[("length", q(1.0, "ft")), ("diameter", q(1.0, "in"))]).expect("a hose"))
        .collect();
    let joints: Vec<(usize, usize)> = (0..401).map(|index| (index, index + 1)).collect();
    let garden = Garden::from_joints(parts, &joints).expect("joins");
    let error = plan(&garden, None, Color::Pressure, UnitSystem::AsWritten).expect_err("too many");
    assert_eq!(error.to_string(), "a plan of 401 parts cannot be read; expected 400 at most");
    assert!(error.hint().is_some());
}

/// A supply, a booster and two zones.
fn boosted() -> Garden {
    let curve = [(0.0, 3.0e5), (4.0e-4, 2.2e5), (8.0e-4, 0.0)];
    let pump = Garden::of(Part::new(Kind::Booster).with_curve(&curve).expect("a curve").named("pump").expect("a name"));
    let switch = line(Kind::PressureSwitch, "switch", &[("cut_in", 20.0, "psi"), ("cut_out", 30.0, "psi")]);
    let start = chain(&[tap("tap"), hose("lead"), switch, pump]);
    let branches = [
        chain(&[line(Kind::Valve, "near", &[]), head("a")]),
        chain(&[line(Kind::Valve, "far", &[]), hose("long"), line(Kind::Uphill, "bank", &[("height", 8.0, "ft")]), head("b")]),
    ];
    start.then_branches(&branches).expect("joins")
}

#[test]
fn the_operating_point_lies_on_the_pump_curve_and_on_the_system_curve() {
    let garden = boosted();
    let pump = garden.parts()[garden.find("pump").expect("known")].curve().expect("a curve").clone();
    for zone in ["near", "far"] {
        let PumpPoint { flow_m3_per_s: flow, rise_pa: rise, .. } = operating_point(&garden, &[zone]).expect("runs");
        assert!((pump.rise(flow).0 - rise).abs() < 1e-6 * rise, "{zone}: {rise} at {flow}");
        let system = system_curve(&garden, &[zone], 3.3e5).expect("runs");
        let system: Vec<(f64, f64)> = system.iter().map(|point| (point.flow_m3_per_s, point.rise_pa)).collect();
        assert!(system.windows(2).all(|pair| pair[1].0 > pair[0].0), "more rise, more flow");
        let above = system.iter().position(|point| point.1 >= rise).expect("beyond the dead head");
        let (low, high) = (system[above - 1], system[above]);
        assert!(low.0 < flow && flow < high.0, "{zone}: {flow} between {low:?} and {high:?}");
        // Between two close points the curve is nearly straight.
        let straight = low.0 + (rise - low.1) / (high.1 - low.1) * (high.0 - low.0);
        assert!((straight / flow - 1.0).abs() < 2e-3, "{zone}: {straight} and {flow}");
    }
    let combinations = [vec!["near".to_string()], vec!["far".into()], vec!["near".into(), "far".into()]];
    let figure = pump_figure(&garden, &combinations, UnitSystem::Us).expect("a figure");
    let crate::figure::Plot::Panels { figures, .. } = &figure.plot else { panic!("two panels") };
    let names: Vec<&str> =
        figures[0].callouts.iter().map(|callout| callout.label.split(':').next().unwrap_or_default()).collect();
    assert_eq!(names, ["near", "far", "near + far"]);
    // Together they take more than each by itself.
    let flows: Vec<f64> = figures[0].callouts.iter().map(|callout| callout.at.0).collect();
    assert!(flows[2] > flows[0] && flows[2] > flows[1], "{flows:?}");
    crate::figure::svg(&figure).expect("a drawing");
    assert_eq!(pump_figure(&ring(), &[], UnitSystem::Us).expect_err("no booster"), PumpError::Boosters { found: 0 });
}

/// Beside a drive the pump is drawn at each speed that it takes, next to its own curve; the map says the speed, and what the drive reads.
#[test]
fn a_pump_with_a_drive_is_drawn_at_its_speeds() {
    let garden = boosted();
    let pump = garden.boosters().next().expect("a booster");
    let set = line(Kind::Drive, "drive", &[("set", 50.0, "psi")]);
    let driven = garden.insert(crate::garden::Side::After, garden.name(pump), &set).expect("joins");
    let figure = pump_figure(&driven, &[vec!["near".to_string()], vec!["far".into()]], UnitSystem::Us).expect("a figure");
    let crate::figure::Plot::Panels { figures, .. } = &figure.plot else { panic!("two panels") };
    let crate::figure::Plot::Layers(layers) = &figures[0].plot else { panic!("layers") };
    let names: Vec<&str> = layers.iter().map(|(_, series)| series.name.as_str()).collect();
    let title = garden.name(pump);
    assert!(names.len() == 6 && names[..3].iter().all(|name| name.starts_with(title)), "{names:?}");
    assert!(names[1].ends_with('%') && names[2].ends_with('%') && names[3..] == ["near", "far", "operating point"], "{names:?}");
    let solution = run(&driven, &["near"]).expect("runs");
    let map = plan(&driven, Some(&solution), Color::Pressure, UnitSystem::Us).expect("a plan");
    let lines = |name: &str| map.symbols.iter().find(|symbol| symbol.lines[0] == name).expect("on the map").lines.join(" | ");
    assert!(lines("drive").ends_with("50 psi | reads 50 psi"), "{}", lines("drive"));
    assert!(lines(title).contains("adds ") && lines(title).ends_with("% speed"), "{}", lines(title));
}

/// What the house has left falls with the flow, by the curve of the supply.
#[test]
fn pressures_before_the_pump_and_in_the_house_go_by_the_flow() {
    let garden = boosted();
    let curve = system_curve(&garden, &["far"], 3.3e5).expect("runs");
    let supply = garden.supplies().next().expect("a supply");
    let crate::parts::Law::Source { pressure_pa, resistance } = garden.law_of(supply) else { panic!("a source") };
    for point in curve {
        let house_pa = point.house_pa.expect("fed");
        let expected_pa = pressure_pa - resistance * point.flow_m3_per_s.powi(2);
        assert!((house_pa - expected_pa).abs() < 1e-6 * pressure_pa, "{house_pa} and {expected_pa}");
        assert!(point.suction_pa.expect("fed") <= house_pa);
    }
}

#[test]
fn the_grade_line_is_the_profile_and_stands_above_the_pressure_where_the_ground_rises() {
    let garden = boosted();
    let solution = run(&garden, &["far"]).expect("runs");
    let figure = grade_figure(&solution, "b", UnitSystem::Us).expect("known").expect("fed");
    let crate::figure::Plot::Layers(layers) = &figure.plot else { panic!("layers") };
    let (pressure, grade) = (&layers[0].1.points, &layers[1].1.points);
    let last = pressure.last().and_then(|point| point.1).expect("a value");
    let psi = solution.pressure_pa("b").expect("known").expect("fed") / crate::quantity::PSI_PA;
    assert!((last / psi - 1.0).abs() < 1e-6, "{last} and {psi}");
    // 8 ft of water of 999.1 kg/m3 are 3.465 psi.
    let above = grade.last().and_then(|point| point.1).expect("a value") - last;
    assert!((above - 3.465).abs() < 1e-3, "{above}");
    // Two hoses of 50 ft.
    assert!((pressure.last().expect("a point").0 - 100.0).abs() < 1e-9);
    assert!(grade_figure(&solution, "a", UnitSystem::Us).expect("known").is_none(), "its valve is shut");
}
