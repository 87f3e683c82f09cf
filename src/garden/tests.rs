//! Gardens as values: joining, names, paths and what-if, drawings, and what is refused. Random gardens stand for all others.

use super::walk::{Way, reached};
use super::*;
use crate::parts::PartError;
use crate::quantity::{Preference, Quantity, UnitSystem};
use crate::support::*;
use crate::told::Told;
use proptest::prelude::*;
use std::collections::BTreeSet;

fn names(garden: &Garden) -> Vec<String> {
    (0..garden.parts().len()).map(|place| garden.name(place).to_string()).collect()
}

/// Random trees, some with loops.
fn gardens(most: usize) -> impl Strategy<Value = Drawn> {
    (growths(most), joins(), prop::bool::ANY).prop_map(|(growths, joins, looped)| {
        Drawn(if looped { with_loops(crate::support::tree(&growths), &joins) } else { crate::support::tree(&growths) })
    })
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(64) })]

    #[test]
    fn names_are_unique_found_and_generated_from_the_word_of_the_part(Drawn(garden) in gardens(20)) {
        let all: BTreeSet<String> = names(&garden).into_iter().collect();
        prop_assert_eq!(all.len(), garden.parts().len());
        for (place, part) in garden.parts().iter().enumerate() {
            let name = garden.name(place);
            prop_assert_eq!(garden.find(name), Ok(place));
            match part.name() {
                Some(given) => prop_assert_eq!(name, given),
                None => prop_assert!(name.starts_with(part.spec().word), "{name}"),
            }
        }
    }

    #[test]
    fn every_path_reads_back_what_is_set_and_leaves_the_old_garden_alone(Drawn(garden) in gardens(12)) {
        let before = garden.clone();
        for path in garden.parameter_paths() {
            let found = garden.parameter_path(&path).expect("a path of it");
            let (name, number) = split_path(&path).expect("a dot");
            prop_assert_eq!((garden.name(found.place), found.parameter.word()), (name, number));
            let Ok(value) = garden.parameter(&path) else { continue };
            prop_assert_eq!(value.dimension, garden.dimension_of(found));
            prop_assert_eq!(garden.with(&path, value).expect("its own value"), garden.clone());
            // A tenth more is another garden wherever the part takes it.
            let more = Quantity { si: 1.1 * value.si, ..value };
            if let Ok(changed) = garden.with(&path, more).map_err(|error| error.to_string()) {
                prop_assert_eq!(changed.parameter(&path).expect("given").si, more.si);
                prop_assert_eq!(changed != garden, more.si != value.si);
            }
        }
        prop_assert_eq!(garden, before);
    }

    #[test]
    fn joints_tell_the_whole_shape(Drawn(garden) in gardens(20)) {
        let joints: Vec<(usize, usize)> = garden.layout().places.iter().map(|place| (place.from, place.to)).collect();
        let parts: Vec<Part> = garden.parts().iter().enumerate()
            .map(|(place, part)| (**part).clone().named(garden.name(place)).expect("a good name")).collect();
        let again = Garden::from_joints(parts, &joints).expect("joins");
        prop_assert_eq!(&again.layout().places, &garden.layout().places);
        prop_assert_eq!(&again.layout().diameter_from(), &garden.layout().diameter_from());
        let joined = garden.layout().joined();
        prop_assert_eq!(joined.count(), garden.layout().number_of_nodes);
        for (place, joint) in garden.layout().places.iter().enumerate() {
            let ends: BTreeSet<usize> = [joint.from, joint.to].into();
            let found: BTreeSet<usize> = (0..joined.count()).filter(|&node| joined[node].contains(&place)).collect();
            prop_assert_eq!(found, ends);
        }
    }

    #[test]
    fn everything_in_a_grown_garden_hangs_together_and_takes_the_bore_of_a_hose(Drawn(garden) in gardens(20)) {
        let start = garden.layout().places[garden.find("tap").expect("known")].to;
        let seen = reached(&garden, start, |_, _| true);
        prop_assert!(seen.iter().all(|&seen| seen));
        let down: usize = reached(&garden, start, |_, way| way == Way::Down).iter().filter(|&&seen| seen).count();
        prop_assert!(down >= 1 && down <= seen.len());
        for hose in garden.layout().diameter_from().iter() {
            let hose = hose.expect("a tap has a hose");
            prop_assert!(garden.parts()[hose].spec().is_line());
        }
        for place in garden.of_spec(Spec::is_line) {
            prop_assert_eq!(garden.layout().diameter_from()[place].map(|hose| garden.parts()[hose].value(Id::Diameter)).is_some(), true);
        }
    }

    #[test]
    fn a_drawing_has_every_name_and_keeps_to_its_width(Drawn(garden) in gardens(16), most in 40usize..160) {
        for system in [UnitSystem::Us, UnitSystem::Metric] {
            let text = drawing(&garden, system);
            for name in names(&garden) {
                prop_assert!(text.contains(&name), "{name} in\n{text}");
            }
            // Narrower it says the same words, on more lines.
            let narrow = drawing_within(&garden, system, most);
            let widest = narrow.lines().map(|line| line.chars().count()).max().unwrap_or(0);
            let left = text.lines().map(|line| line.split("  ").next().unwrap_or("").chars().count()).max().unwrap_or(0);
            prop_assert!(widest <= most.max(left + 200), "{widest}");
            prop_assert!(narrow.lines().count() >= text.lines().count());
            prop_assert!(text.lines().all(|line| line.trim_end() == line));
        }
    }

    #[test]
    fn an_exchanged_part_takes_over_the_name_and_the_place(Drawn(garden) in gardens(12), diameter_in in 0.2f64..1.0) {
        let other = hose("spare", 12.0, diameter_in);
        let changed = garden.replace("feed", &other.parts()[0]).expect("a hose for a hose");
        prop_assert_eq!(names(&changed), names(&garden));
        prop_assert_eq!(&changed.layout().places, &garden.layout().places);
        prop_assert!((changed.parameter("feed.diameter").expect("given").si - diameter_in * 0.0254).abs() < 1e-12);
        // Another kind in line gives the parts beside it other diameters; an outlet has no place there.
        let valve = changed.replace("feed", &valve("gate").parts()[0]).expect("a valve for a hose");
        prop_assert!(valve.part("feed").expect("known").traits().opens);
        prop_assert!(valve.layout().diameter_from().iter().all(|hose| *hose != Some(garden.find("feed").expect("known"))));
        let refused = garden.replace("feed", &head("bed", 0.1).parts()[0]);
        let is_refused = matches!(refused, Err(GardenError::Part(PartError::Contradiction { .. })));
        prop_assert!(is_refused, "an outlet stands in no line");
    }
}

#[test]
fn a_path_has_the_name_before_its_last_dot() {
    assert_eq!(split_path("feed.length"), Some(("feed", "length")));
    assert_eq!(split_path("a.b.length"), Some(("a.b", "length")));
    for none in ["feed", ".length", "feed.", ".", ""] {
        assert_eq!(split_path(none), None, "{none}");
    }
}

#[test]
fn what_is_changed_keeps_the_unit_in_which_it_was_written() {
    let garden = line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 50.0, 0.75)]);
    assert_eq!(garden.parameter("feed.length").expect("given").to_string(), "50 ft");
    let metric = garden.with("feed.length", q(20.0, "m")).expect("a length");
    assert_eq!(metric.parameter("feed.length").expect("given").to_string(), "20 m");
    // A computed value has no unit of its own and takes that which stands there.
    let computed = Quantity { preference: Preference::Usual, ..q(10.0, "m") };
    assert_eq!(
        metric.with("feed.length", computed).expect("a length").parameter("feed.length").expect("given").to_string(),
        "10 m"
    );
}

#[test]
fn zones_open_what_they_name_and_nothing_else() {
    let garden = two_zones();
    let open = |zones: &[&str]| garden.opened(zones).expect("zones of it");
    let shut = |zones: &[&str]| -> Vec<String> {
        open(zones).iter().enumerate().filter(|(_, open)| !**open).map(|(place, _)| garden.name(place).to_string()).collect()
    };
    assert_eq!(shut(&[]), ["beds", "berries"]);
    assert_eq!(shut(&["berries"]), ["beds"]);
    assert_eq!(shut(&["beds", "berries"]), Vec::<String>::new());
    assert_eq!(open(&["beds", "beds"]), open(&["beds"]));
    assert_eq!(garden.valves().count(), 2);
    assert_eq!(garden.of_kind(Kind::Head).map(|place| garden.name(place)).collect::<Vec<_>>(), ["bed", "berry"]);
}

#[test]
fn branches_go_on_joined_and_a_second_source_ends_behind_its_place() {
    let garden = line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 50.0, 0.75)]);
    let both = garden.then_branches(&[hose("left", 10.0, 0.5), hose("right", 20.0, 0.5), head("ended", 0.1)]).expect("joins");
    let whole = both.then(&head("end", 0.1)).expect("goes on");
    let node = |garden: &Garden, name: &str| {
        let place = &garden.layout().places[garden.find(name).expect("known")];
        (place.from, place.to)
    };
    assert_eq!(node(&whole, "left").1, node(&whole, "end").0);
    assert_eq!(node(&whole, "right").1, node(&whole, "end").0);
    assert_eq!(node(&whole, "ended").0, node(&whole, "feed").1);
    let fed = whole.add_source("left", &line(&[supply("barrel", 20.0, 15.0, 5.0), hose("in", 5.0, 0.5)])).expect("joins");
    assert_eq!(node(&fed, "in").1, node(&fed, "end").0);
    assert_eq!(fed.supplies().count(), 2);
    assert_eq!(names(&fed)[..names(&whole).len()], names(&whole), "what was there keeps its place");
}

#[test]
fn surroundings_go_with_the_garden_that_is_gone_on_from() {
    let high = line(&[supply("tap", 58.0, 44.0, 6.0)]).with_altitude(1500.0).expect("an altitude");
    let on = high.then(&hose("feed", 10.0, 0.5)).expect("joins");
    assert_eq!(on.surroundings(), high.surroundings());
    assert!(on.vapor_gauge_pa() > two_zones().vapor_gauge_pa(), "thinner air bears less suction");
    assert_eq!(on.with("feed.length", q(20.0, "ft")).expect("a length").surroundings(), high.surroundings());
}

#[test]
fn what_cannot_be_joined_or_found_says_why_and_what_to_do() {
    let garden = two_zones();
    let errors = [
        garden.find("bedline").expect_err("unknown"),
        garden.valve("bed").expect_err("no valve"),
        garden.valve("berris").expect_err("unknown"),
        garden.then(&hose("on", 10.0, 0.5)).expect_err("no open end"),
        garden.branch("feed", &supply("barrel", 20.0, 15.0, 5.0)).expect_err("a source"),
        garden.branch("feed", &head("bed", 0.1)).expect_err("a name twice"),
        garden.then_branches(&[]).expect_err("no branches"),
        garden.parameter("feed").expect_err("no path"),
        garden.parameter("feed.lenght").expect_err("unknown"),
        garden.parameter("supply.elevation").and(garden.parameter("feed.pressure_rating")).expect_err("not given"),
        garden.with("feed.length", q(1.0, "psi")).expect_err("a pressure"),
        garden.with("feed.length", q(-1.0, "ft")).expect_err("below zero"),
        garden
            .with("bed.range_low", q(50.0, "psi"))
            .and_then(|g| g.with("bed.range_high", q(40.0, "psi")))
            .expect_err("upside down"),
    ];
    let told: Vec<String> = errors.iter().map(GardenError::to_string).collect();
    insta::assert_snapshot!(told.join("\n"), @r"
    there is no part called 'bedline' in this garden
    'bed' is a head, not a valve
    there is no valve called 'berris' in this garden
    the line has no open end to continue from
    a supply starts a line; no part can be connected upstream of 'barrel'
    two parts are called 'bed'
    the branch list is empty
    'feed' is not the path of a parameter
    hose 'feed' has no parameter 'lenght'
    hose 'feed': pressure_rating is not given
    hose 'feed': length must be a length, found 1 psi (a pressure)
    hose 'feed': length must be above zero, found -1 ft
    head 'bed': its operating range from 50 psi to 40 psi is empty
    ");
    assert!(errors.iter().all(|error| error.hint().is_some()), "every error says what to do");
}

fn made(kind: Kind, name: &str, numbers: &[(Id, f64, &str)]) -> Part {
    let written = |&(id, value, unit): &(Id, f64, &str)| (id, q(value, unit));
    Part::build(kind, Some(name), &numbers.iter().map(written).collect::<Vec<_>>()).expect("a sound part")
}

fn hosed(diameter_in: f64) -> Garden {
    let tap = made(Kind::Supply, "tap", &[(Id::StaticPressure, 50.0, "psi")]);
    let hose = made(Kind::Hose, "feed", &[(Id::Length, 50.0, "ft"), (Id::Diameter, diameter_in, "in")]);
    let head = made(Kind::Head, "bed", &[(Id::Nozzle, 0.125, "in")]);
    let line = Garden::of(tap).then(&Garden::of(hose)).and_then(|line| line.then(&Garden::of(head)));
    line.expect("joins")
}

#[test]
fn a_garden_equals_its_copy_and_one_that_is_joined_alike() {
    let one = hosed(0.5);
    assert_eq!(one, one.detached());
    assert_eq!(one, hosed(0.5));
    one.layout().joined();
    assert_eq!(one, hosed(0.5), "what was worked out does not count");
}

#[test]
fn another_number_name_water_or_joint_makes_another_garden() {
    let one = hosed(0.5);
    assert_ne!(one, hosed(0.625));
    assert_ne!(one, one.with_altitude(1500.0).expect("an altitude"));
    let parts: Vec<Part> = one.parts().iter().map(|part| (**part).clone()).collect();
    let mut renamed = parts.clone();
    renamed[2] = renamed[2].clone().named("berry").expect("a good name");
    let joints = [(0, 0), (0, 1), (1, 1)];
    let of = |parts: &[Part]| Garden::from_joints(parts.to_vec(), &joints).expect("joins");
    assert_ne!(of(&parts), of(&renamed));
    let joined = |at: usize| Garden::from_joints(parts.clone(), &[(0, 0), (0, 1), (at, at)]).expect("joins");
    assert_ne!(joined(1), joined(0));
}

#[test]
fn parts_are_equal_when_what_is_given_is_equal_with_its_unit() {
    let head = |diameter: f64, unit: &str| made(Kind::Head, "bed", &[(Id::Nozzle, diameter, unit)]);
    assert_eq!(head(0.125, "in"), head(0.125, "in"), "numbers that are not given are equal");
    assert_ne!(head(0.125, "in"), head(0.25, "in"));
    assert_ne!(head(25.4, "mm"), head(1.0, "in"), "one shows in mm, the other in inches");
    let pump = |rise: f64| Part::new(Kind::Booster).with_curve(&[(0.0, rise), (1e-3, 1e5)]).expect("a curve");
    assert_eq!(pump(3e5), pump(3e5));
    assert_ne!(pump(3e5), pump(4e5));
}

/// A tap, a feed with a hose in parallel, a pump with its switch, two zones downstream of a master valve, one with two heads.
fn for_editing() -> Garden {
    let part = |kind: Kind, name: &str| Garden::of(Part::new(kind).named(name).expect("a good name"));
    let beds = line(&[valve("beds"), hose("to beds", 40.0, 0.5), head("near", 0.125), hose("on", 10.0, 0.5), head("far", 0.125)]);
    let berries = line(&[valve("berries"), hose("to berries", 60.0, 0.625), part(Kind::Point, "end"), head("berry", 0.15625)]);
    let pump = booster("pump", &[(0.0, 40.0), (10.0, 20.0)]);
    line(&[
        supply("tap", 58.0, 44.0, 6.0),
        hose("feed", 100.0, 0.625),
        pump,
        part(Kind::PressureSwitch, "switch"),
        valve("master"),
    ])
    .then_branches(&[beds, berries])
    .expect("joins")
}

fn left(garden: &Garden, taken: &[&str]) -> String {
    garden.without(taken).map_or_else(|error| format!("{error}"), |garden| names(&garden).join(", "))
}

#[test]
fn without_bridges_what_is_in_line_and_takes_branches_that_come_to_nothing() {
    let garden = for_editing();
    let bridged = garden.without(&["pump"]).expect("goes on");
    let node = |garden: &Garden, name: &str| {
        let place = &garden.layout().places[garden.find(name).expect("known")];
        (place.from, place.to)
    };
    assert_eq!(node(&bridged, "feed").1, node(&bridged, "master").0);
    let found = [
        &["far"][..],
        &["near"],
        &["near", "far"],
        &["berry"],
        &["to *"],
        &["tap"],
        &["*"],
        &["near", "far", "berry"],
        &["pmup"],
        &["x*"],
    ]
    .map(|taken| format!("{}: {}", taken.join(" "), left(&garden, taken)));
    insta::assert_snapshot!(found.join("\n"), @r"
    far: tap, feed, pump, switch, master, beds, to beds, near, berries, to berries, end, berry
    near: tap, feed, pump, switch, master, beds, to beds, on, far, berries, to berries, end, berry
    near far: tap, feed, pump, switch, master, berries, to berries, end, berry
    berry: tap, feed, pump, switch, master, beds, to beds, near, on, far
    to *: tap, feed, pump, switch, master, beds, near, on, far, berries, end, berry
    tap: without 'tap' no source is left
    *: without '*' no source is left
    near far berry: without 'near' and 'far' and 'berry' no head or other outlet is left
    pmup: there is no part called 'pmup' in this garden
    x*: no part is called 'x*'
    ");
    // A dead end that was there before stays: it may be there to be gone on from.
    let stub = garden.branch("feed", &hose("stub", 10.0, 0.5)).expect("joins");
    assert!(names(&stub.without(&["far"]).expect("goes on")).contains(&"stub".to_string()));
}

#[test]
fn one_side_of_a_loop_is_taken_out_and_not_bridged() {
    let garden = for_editing();
    let twin = garden.parallel("feed", &line(&[valve("gate"), hose("second feed", 100.0, 0.625)])).expect("lies beside");
    let without = |taken: &[&str]| twin.without(taken).expect("goes on");
    let names_left = |taken: &[&str]| left(&twin, taken);
    // The valve stands in the line of the second feed: the feed stays.
    let ungated = without(&["gate"]);
    assert_eq!(
        ungated.layout().places[ungated.find("second feed").expect("known")].from,
        ungated.layout().places[ungated.find("feed").expect("known")].from
    );
    assert_eq!(names(&without(&["gate", "second feed"])), names(&garden));
    assert_eq!(without(&["gate", "second feed"]).layout().places, garden.layout().places);
    assert!(names_left(&["feed"]).starts_with("tap, gate, second feed, pump"), "{}", names_left(&["feed"]));
    let one = without(&["feed"]);
    assert_ne!(one.layout().places[1].from, one.layout().places[2].to, "the second feed is not short-circuited");
}

#[test]
fn what_is_put_in_stands_between_its_neighbors_and_can_be_taken_out_again() {
    let garden = for_editing();
    let spare = || hose("spare", 5.0, 0.75);
    let mut told = Vec::new();
    for (side, word) in [(Side::Before, "before"), (Side::After, "after")] {
        for at in ["tap", "feed", "switch", "master", "end", "near", "far"] {
            let Ok(more) = garden.insert(side, at, &spare()) else {
                told.push(format!("{word} {at}: refused"));
                continue;
            };
            let spare = &more.layout().places[more.find("spare").expect("known")];
            let there = |node: usize| {
                let there = more.layout().joined()[node].iter().map(|&place| more.name(place)).filter(|name| *name != "spare");
                there.collect::<Vec<_>>().join(" ")
            };
            told.push(format!("{word} {at}: {} > {}", there(spare.from), there(spare.to)).trim_end().to_string());
            // Where something is beyond it, taking it out gives the garden that was there.
            if !there(spare.to).is_empty() {
                assert_eq!(more.without(&["spare"]).expect("goes on").layout().places, garden.layout().places, "{word} {at}");
            }
        }
    }
    insta::assert_snapshot!(told.join("\n"), @r"
    before tap: refused
    before feed: tap > feed
    before switch: pump > switch master
    before master: pump switch > master
    before end: to berries > end berry
    before near: to beds on > near
    before far: on > far
    after tap: tap > feed
    after feed: feed > pump
    after switch: pump switch > master
    after master: master > beds berries
    after end: to berries end > berry
    after near: to beds near > on
    after far: on far >
    ");
    let refused = [
        garden.insert(Side::Before, "tap", &spare()).expect_err("upstream of a source"),
        garden.insert(Side::After, "feed", &supply("well", 50.0, 40.0, 5.0)).expect_err("a source in line"),
        garden
            .insert(
                Side::After,
                "feed",
                &line(&[hose("x", 5.0, 0.5)]).then_branches(&[head("a", 0.1), head("b", 0.1)]).expect("joins"),
            )
            .expect_err("no open end"),
        garden.parallel("near", &spare()).expect_err("no two ends"),
        garden.parallel("feed", &Garden::of(Part::new(Kind::Point))).expect_err("a point"),
        garden.parallel("feed", &hose("feed", 5.0, 0.5)).expect_err("a name that is taken"),
        garden.zone(&["near"]).expect_err("no valve"),
        line(&[valve("alone"), head("dry", 0.1)]).zone(&["alone"]).expect_err("no source"),
    ];
    assert!(refused.iter().all(|error| error.hint().is_some()));
    let told: Vec<String> = refused.iter().map(GardenError::to_string).collect();
    insta::assert_snapshot!(told.join("\n"), @r"
    a supply starts a line; no part can be connected upstream of 'tap'
    a supply starts a line; no part can be connected upstream of 'well'
    the line has no open end to continue from
    a head has no two ends, so no line can be parallel to 'near'
    the parallel line has no part that water flows through
    two parts are called 'feed'
    'near' is a head, not a valve
    no source is connected to zone 'alone'
    ");
}

#[test]
fn generated_names_stay_with_their_parts() {
    let unnamed = |kind: Kind| Garden::of(Part::new(kind));
    let garden =
        line(&[supply("tap", 58.0, 44.0, 6.0), unnamed(Kind::Hose), unnamed(Kind::Valve), unnamed(Kind::Hose), head("bed", 0.1)]);
    assert_eq!(names(&garden), ["tap", "hose", "valve", "hose2", "bed"]);
    assert_eq!(left(&garden, &["hose"]), "tap, valve, hose2, bed");
    let more = garden.insert(Side::Before, "hose", &unnamed(Kind::Hose)).expect("joins");
    assert_eq!(names(&more), ["tap", "hose3", "hose", "valve", "hose2", "bed"]);
}

#[test]
fn a_zone_alone_has_what_serves_it_and_keeps_diameters() {
    let garden = for_editing();
    let zone = garden.zone(&["berries"]).expect("a zone");
    assert_eq!(names(&zone), ["tap", "feed", "pump", "switch", "master", "berries", "to berries", "end", "berry"]);
    for name in names(&zone) {
        let (here, there) = (zone.find(&name).expect("known"), garden.find(&name).expect("known"));
        let diameter =
            |garden: &Garden, place: usize| garden.parts()[place].si(Id::Diameter).unwrap_or(garden.around(place).diameter_m);
        if zone.parts()[here].spec().has(Id::Diameter) {
            assert_eq!(diameter(&zone, here), diameter(&garden, there), "{name}");
        }
    }
    let zones = garden.zones_of_places();
    let told: Vec<String> = (0..zones.len())
        .map(|place| {
            format!(
                "{}: {}",
                garden.name(place),
                zones[place].iter().map(|&valve| garden.name(valve)).collect::<Vec<_>>().join(" ")
            )
            .trim_end()
            .to_string()
        })
        .collect();
    insta::assert_snapshot!(told.join("\n"), @r"
    tap:
    feed:
    pump:
    switch:
    master:
    beds:
    to beds: beds
    near: beds
    on: beds
    far: beds
    berries:
    to berries: berries
    end: berries
    berry: berries
    ");
}

#[test]
fn changes_name_what_was_added_removed_and_set() {
    let garden = for_editing();
    let later = garden
        .without(&["pump"])
        .and_then(|garden| garden.with("feed.length", q(50.0, "ft")))
        .and_then(|garden| garden.replace("far", &part(Kind::Emitter, "x", &[]).parts()[0]))
        .and_then(|garden| garden.parallel("feed", &hose("second feed", 50.0, 0.75)))
        .expect("a garden");
    let told: Vec<String> = changes(&garden, &later.with_altitude(500.0).expect("an altitude"), UnitSystem::AsWritten)
        .into_iter()
        .map(|change| {
            format!("{:?}", (change.part.unwrap_or_default(), change.what, change.parameter, change.before, change.after))
        })
        .collect();
    insta::assert_snapshot!(told.join("\n"), @r#"
    ("", "changed", Some("atmosphere"), Some("14.7 psi"), Some("13.8 psi"))
    ("feed", "changed", Some("length"), Some("100 ft"), Some("50 ft"))
    ("pump", "removed", None, Some("booster, 2 points"), None)
    ("far", "replaced", None, Some("head, nozzle 1/8 in"), Some("emitter"))
    ("second feed", "added", None, None, Some("hose, length 50 ft, diameter 3/4 in"))
    "#);
    assert!(changes(&garden, &garden.clone(), UnitSystem::AsWritten).is_empty());
}
proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(64) })]

    #[test]
    fn what_is_left_of_a_random_garden_is_fed_and_keeps_its_names(Drawn(garden) in gardens(14), picks in prop::collection::vec(any::<prop::sample::Index>(), 1..4)) {
        let taken: Vec<&str> = picks.iter().map(|pick| garden.name(pick.index(garden.parts().len()))).collect();
        let Ok(rest) = garden.without(&taken) else { return Ok(()) };
        let all = names(&garden);
        for name in names(&rest) {
            prop_assert!(all.contains(&name) && !taken.contains(&name.as_str()), "{name}");
            prop_assert_eq!(rest.part(&name).expect("known").kind(), garden.part(&name).expect("known").kind());
        }
        let start = rest.layout().places[rest.find("tap").expect("the source stays")].to;
        prop_assert!(reached(&rest, start, |_, _| true).into_iter().all(|seen| seen), "without {taken:?}:\n{}", drawing(&rest, UnitSystem::Us));
        // Every branch that came to an outlet or a dead end before does so now: no part in line is a new dead end.
        prop_assert!(rest.without(&[]).expect("nothing is taken").layout() == rest.layout());
    }
}
