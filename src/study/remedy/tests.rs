//! Remedies against gardens that are changed by hand, one after another.

use super::*;
use crate::findings::{Level, of_garden, of_solution};
use crate::garden::Side;
use crate::hydraulics::run;
use crate::parts::Kind;
use crate::support::*;

fn priced(kind: Kind, name: &str, price: f64, numbers: &[(&str, Quantity)]) -> Part {
    let mut part = Part::of_words(kind, Some(name), numbers).expect("a part");
    part.set(Id::Price, q(price, "USD")).expect("a price");
    part
}

fn stock() -> Vec<Part> {
    vec![
        priced(Kind::Hose, "wide", 45.0, &[("length", q(100.0, "ft")), ("diameter", q(0.75, "in"))]),
        priced(Kind::Hose, "plain", 25.0, &[("length", q(100.0, "ft")), ("diameter", q(0.625, "in"))]),
        priced(
            Kind::Head,
            "small",
            6.0,
            &[("nozzle", q(0.125, "in")), ("range_low", q(30.0, "psi")), ("range_high", q(60.0, "psi"))],
        ),
        priced(Kind::Backflow, "preventer", 30.0, &[]),
    ]
}

/// A long thin feed to a head that needs more, without a backflow preventer.
fn thin(length_ft: f64) -> Garden {
    let berry = head("berry", 0.15625)
        .with("berry.range_low", q(30.0, "psi"))
        .and_then(|head| head.with("berry.range_high", q(60.0, "psi")))
        .expect("a range");
    line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", length_ft, 0.5), valve("berries"), berry])
}

/// How many findings above a note a garden has, each kind and part once.
fn problems(garden: &Garden) -> usize {
    let mut found = of_garden(garden);
    found.extend(of_solution(&run(garden, &["berries"]).expect("solves")));
    let mut keys: Vec<(&str, String)> = found
        .iter()
        .filter(|finding| finding.level() != Level::Note)
        .map(|finding| (finding.code(), finding.name.clone()))
        .collect();
    keys.sort();
    keys.dedup();
    keys.len()
}

/// All single changes by hand, with their costs.
fn by_hand(garden: &Garden, stock: &[Part]) -> Vec<(f64, Garden)> {
    let length = garden.parameter("feed.length").expect("given");
    let pieces = (length.si / q(100.0, "ft").si * (1.0 - 1e-9)).ceil();
    let mut all = Vec::new();
    for hose in &stock[..2] {
        let price = pieces * hose.value(Id::Price);
        if let Ok(swapped) = garden.replace("feed", hose).and_then(|garden| garden.with("feed.length", length)) {
            all.push((price, swapped));
        }
        let twin = hose.clone().named("twin").expect("a name");
        if let Ok(twice) = garden.parallel("feed", &Garden::of(twin)).and_then(|garden| garden.with("twin.length", length)) {
            all.push((price, twice));
        }
    }
    all.push((6.0, garden.replace("berry", &stock[2]).expect("a head for a head")));
    for at in ["tap", "feed"] {
        if let Ok(more) = garden.insert(Side::After, at, &Garden::of(stock[3].clone())) {
            all.push((30.0, more));
        }
    }
    all
}

#[test]
fn the_cheapest_cure_is_that_of_a_full_enumeration() {
    let stock = stock();
    for length_ft in [60.0, 150.0, 250.0, 400.0] {
        let garden = thin(length_ft);
        let mut least = (usize::MAX, f64::INFINITY);
        let mut note = |cost: f64, garden: &Garden| {
            let left = problems(garden);
            if left < problems(&thin(length_ft)) && (left, cost) < least {
                least = (left, cost);
            }
        };
        for (cost, one) in by_hand(&garden, &stock) {
            note(cost, &one);
            for (more, both) in by_hand(&one, &stock) {
                note(cost + more, &both);
            }
        }
        let found = remedies(&garden, &stock, &Asked::default()).expect("a search");
        let first = found.remedies.first().expect("a remedy");
        assert_eq!((first.stays + first.brings.len(), first.cost), least, "{length_ft} ft: {}", first.words);
        assert_eq!(problems(&first.garden), least.0, "{}", first.words);
        assert!(found.tried > by_hand(&garden, &stock).len());
    }
}

#[test]
fn a_search_keeps_to_its_budget_and_to_what_stays() {
    let garden = thin(250.0);
    let all = remedies(&garden, &stock(), &Asked::default()).expect("a search");
    let budget = Asked { budget: Some(q(40.0, "USD")), ..Asked::default() };
    let cheap = remedies(&garden, &stock(), &budget).expect("a search");
    assert!(cheap.remedies.iter().all(|remedy| remedy.cost <= 40.0) && cheap.remedies.len() < all.remedies.len());
    let kept = Asked { keep: vec!["feed".into(), "b*".into()], ..Asked::default() };
    let kept = remedies(&garden, &stock(), &kept).expect("a search");
    assert!(!kept.remedies.is_empty());
    for remedy in &kept.remedies {
        assert_eq!(remedy.garden.part("feed").expect("kept"), garden.part("feed").expect("known"), "{}", remedy.words);
        assert_eq!(remedy.garden.part("berry").expect("kept"), garden.part("berry").expect("known"), "{}", remedy.words);
    }
}

#[test]
fn one_thread_and_many_find_the_same() {
    let garden = thin(250.0);
    let of = |threads| {
        let found = remedies(&garden, &stock(), &Asked { threads: Some(threads), ..Asked::default() }).expect("a search");
        found.remedies.iter().map(|remedy| (remedy.script.clone(), remedy.cost, remedy.stays)).collect::<Vec<_>>()
    };
    assert_eq!(of(1), of(3));
}

#[test]
fn a_stock_without_prices_and_a_garden_without_faults_are_told() {
    let garden = thin(250.0);
    let unpriced = Part::of_words(Kind::CheckValve, Some("spare"), &[]).expect("a part");
    let error = remedies(&garden, &[unpriced], &Asked::default()).expect_err("no price");
    assert_eq!(error.to_string(), "check_valve 'spare' of the stock has no price");
    let euros = Asked { budget: Some(q(40.0, "EUR")), ..Asked::default() };
    assert!(matches!(remedies(&garden, &stock(), &euros), Err(RemedyError::Currencies { .. })));
    let first = remedies(&garden, &stock(), &Asked::default()).expect("a search").remedies.remove(0);
    assert!(
        remedies(&first.garden, &stock(), &Asked::default()).expect("a search").remedies.is_empty(),
        "what is cured stays as it is"
    );
}

fn ranged(name: &str, nozzle_in: f64) -> Garden {
    head(name, nozzle_in)
        .with(&format!("{name}.range_low"), q(30.0, "psi"))
        .and_then(|head| head.with(&format!("{name}.range_high"), q(60.0, "psi")))
        .expect("a range")
}

/// Findings above a note with each of these zones open alone.
fn problems_by_zone(garden: &Garden, zones: &[&str]) -> usize {
    let mut found = of_garden(garden);
    found.extend(zones.iter().flat_map(|zone| of_solution(&run(garden, &[zone]).expect("solves"))));
    let counts = found.iter().filter(|finding| finding.level() != Level::Note);
    counts.map(|finding| (finding.code(), finding.name.clone())).collect::<HashSet<_>>().len()
}

/// Each way to divide heads on two valves and to give some of them smaller nozzles, built anew, against what is found.
#[test]
fn a_zone_is_split_as_a_full_enumeration_would() {
    let small = priced(
        Kind::Head,
        "small",
        6.0,
        &[("nozzle", q(0.09375, "in")), ("range_low", q(30.0, "psi")), ("range_high", q(60.0, "psi"))],
    );
    let mut splits = 0;
    for (valve_price, length_ft) in [(15.0, 40.0), (15.0, 90.0), (4.0, 90.0), (4.0, 160.0), (15.0, 160.0), (4.0, 260.0)] {
        let stock = [priced(Kind::Valve, "spare", valve_price, &[]), small.clone()];
        // Which heads are small, and which moved to the second valve.
        let built = |are_small: u32, moved: u32| {
            let leg = |at: u32| {
                let name = ["a", "b", "c"][at as usize];
                let nozzle = if are_small >> at & 1 == 1 { 0.09375 } else { 0.15625 };
                hose(&format!("leg {name}"), 10.0 + 10.0 * f64::from(at), 0.5).then(&ranged(name, nozzle)).expect("a leg")
            };
            let legs = |is_moved: bool| (0..3).filter(|at| (moved >> at & 1 == 1) == is_moved).map(leg).collect::<Vec<_>>();
            let zone = |name: &str, legs: Vec<Garden>| valve(name).then_branches(&legs).expect("a zone");
            let preventer = part(Kind::Backflow, "preventer", &[]);
            let start = line(&[supply("tap", 58.0, 44.0, 6.0), preventer, hose("feed", length_ft, 0.625)]);
            let mut zones = vec![zone("beds", legs(false))];
            if moved != 0 {
                zones.push(zone("beds 2", legs(true)));
            }
            start.then_branches(&zones).expect("a garden")
        };
        let judged = |are_small: u32, moved: u32| {
            problems_by_zone(&built(are_small, moved), if moved == 0 { &["beds"] } else { &["beds", "beds 2"] })
        };
        let before = judged(0, 0);
        let mut least = (usize::MAX, f64::INFINITY);
        for are_small in 0..8u32 {
            for moved in [0, 2, 4, 6] {
                // All heads at once are one change.
                let changes = u32::from(moved != 0) + [0, 1, 2, 1][are_small.count_ones() as usize];
                let left = judged(are_small, moved);
                let cost = 6.0 * f64::from(are_small.count_ones()) + if moved == 0 { 0.0 } else { valve_price };
                if changes <= 2 && left < before && (left, cost) < least {
                    least = (left, cost);
                }
            }
        }
        let found = remedies(&built(0, 0), &stock, &Asked { keep: vec!["feed".into()], ..Asked::default() }).expect("a search");
        let first = found.remedies.first().expect("a remedy");
        assert_eq!((first.stays + first.brings.len(), first.cost), least, "{length_ft} ft: {}", first.words);
        splits += usize::from(first.words.contains("split"));
        // A set of zones that names the valve holds for both.
        let asked = Asked { zones: Some(vec![vec!["beds".into()]]), ..Asked::default() };
        let other = remedies(&built(0, 0), &stock, &asked).expect("a search");
        assert_eq!(other.remedies.first().map(|remedy| &remedy.script), Some(&first.script));
    }
    assert!((1..6).contains(&splits), "{splits}: the cases should differ");
}

#[test]
fn a_new_valve_at_the_tap_gets_a_way_of_its_own_from_the_stock() {
    let zone = line(&[valve("beds"), hose("way", 90.0, 0.5)]);
    let legs = [ranged("a", 0.15625), hose("leg", 10.0, 0.5).then(&ranged("b", 0.15625)).expect("a leg")];
    let start = line(&[supply("tap", 58.0, 44.0, 6.0), part(Kind::Backflow, "preventer", &[])]);
    let garden = start.then(&zone).and_then(|line| line.then_branches(&legs)).expect("a garden");
    let stock = [priced(Kind::Valve, "spare", 15.0, &[]), stock().remove(1)];
    let asked = Asked { keep: vec!["way".into(), "leg".into()], ..Asked::default() };
    let found = remedies(&garden, &stock, &asked).expect("a search");
    assert!(!found.remedies.iter().any(|remedy| remedy.words.contains("b on")), "what is kept does not move");
    let found = remedies(&garden, &stock, &Asked::default()).expect("a search");
    let split = found.remedies.iter().find(|remedy| remedy.words.contains("split: b on")).expect("a split");
    assert_eq!(split.cost, 40.0);
    let way = split.garden.part("second way").expect("a way of its own");
    assert_eq!((way.value(Id::Length), way.value(Id::Diameter)), (q(90.0, "ft").si, q(0.625, "in").si));
    let alone = run(&split.garden, &["beds 2"]).expect("solves");
    assert!(alone.flow_m3_per_s("b").expect("a head") > 0.0);
    assert_eq!(alone.pressure_pa("a").expect("a head").unwrap_or(0.0), 0.0, "the other one is in its own zone");
}

#[test]
fn a_regulator_is_set_to_the_nearest_pressure_that_cures() {
    let keeper = part(Kind::Regulator, "keeper", &[("set", q(22.0, "psi"))]);
    let start = line(&[supply("tap", 70.0, 60.0, 6.0), part(Kind::Backflow, "preventer", &[]), keeper]);
    let garden = line(&[start, valve("beds"), hose("leg", 20.0, 0.5), ranged("a", 0.125)]);
    let found = remedies(&garden, &[], &Asked::default()).expect("a search");
    assert_eq!(found.remedies.len(), 1, "one setting of a regulator is told");
    let first = &found.remedies[0];
    assert!(first.cures() && first.cost == 0.0, "{}", first.words);
    let steps = (2..=20).map(|step| 5.0 * f64::from(step));
    let cures =
        steps.filter(|psi| problems_by_zone(&garden.with("keeper.set", q(*psi, "psi")).expect("a setting"), &["beds"]) == 0);
    let nearest = cures.min_by(|a, b| (a - 22.0).abs().total_cmp(&(b - 22.0).abs())).expect("one cures");
    assert_eq!(first.script, format!("garden.with(\"keeper.set\", q(\"{nearest} psi\"))"));
    let kept = Asked { keep: vec!["keeper".into()], ..Asked::default() };
    assert!(remedies(&garden, &[], &kept).expect("a search").remedies.is_empty());
}
