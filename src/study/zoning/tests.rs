//! Divisions against all divisions of a few heads, each zone built by hand; and the limits one by one.

use super::*;
use crate::hydraulics::run;
use crate::quantity::{Quantity, dim};
use crate::support::*;
use proptest::prelude::*;

fn spray(name: &str, nozzle_64ths: f64, at_ft: Option<(f64, f64)>) -> Part {
    let mut numbers = vec![
        ("nozzle", q(nozzle_64ths / 64.0, "in")),
        ("range_low", q(25.0, "psi")),
        ("range_high", q(60.0, "psi")),
        ("radius", q(25.0, "ft")),
        ("radius_pressure", q(40.0, "psi")),
    ];
    if let Some((x, y)) = at_ft {
        numbers.extend([("x", q(x, "ft")), ("y", q(y, "ft"))]);
    }
    Part::of_words(Kind::Head, Some(name), &numbers).expect("a head")
}

fn lateral() -> Part {
    let numbers = [("length", q(100.0, "ft")), ("diameter", q(0.75, "in")), ("price", q(40.0, "USD"))];
    Part::of_words(Kind::Pipe, None, &numbers).expect("a pipe")
}

fn source() -> Garden {
    line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 50.0, 0.75)])
}

/// Whether these heads may run at once, by the definition: a zone built part by part, its laterals by the edges of the shortest tree.
fn may_run(heads: &[Part], set: &[usize], asked: &Asked) -> (bool, f64) {
    let at = |node: usize| match node {
        0 => asked.manifold_m,
        head => (heads[set[head - 1]].value(Id::X), heads[set[head - 1]].value(Id::Y)),
    };
    let mut edges: Vec<(f64, usize, usize)> = Vec::new();
    for one in 0..=set.len() {
        for other in 0..one {
            edges.push(((at(one).0 - at(other).0).hypot(at(one).1 - at(other).1), other, one));
        }
    }
    edges.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut family: Vec<usize> = (0..=set.len()).collect();
    let (mut kept, mut meters) = (Vec::new(), 0.0);
    for (length_m, one, other) in edges {
        let (a, b) = (family[one], family[other]);
        if a != b {
            family.iter_mut().filter(|of| **of == b).for_each(|of| *of = a);
            kept.push((length_m, one, other));
            meters += length_m;
        }
    }
    // Away from the manifold, edge after edge.
    let mut garden = line(&[source(), valve("zone")]);
    let mut reached = vec![(0, "zone".to_string())];
    while !kept.is_empty() {
        let next =
            kept.iter().position(|(_, one, other)| reached.iter().any(|(node, _)| node == one || node == other)).expect("a tree");
        let (length_m, one, other) = kept.remove(next);
        let from = reached.iter().position(|(node, _)| *node == one || *node == other).expect("found above");
        let to = if reached[from].0 == one { other } else { one };
        let mut pipe = asked.lateral.clone().named(&format!("lateral {to}")).expect("a name");
        pipe.set(Id::Length, Quantity::new(length_m, dim::LENGTH)).expect("a length");
        garden = garden.branch(&reached[from].1, &Garden::of(pipe)).expect("joins");
        garden = garden.branch(&format!("lateral {to}"), &Garden::of(heads[set[to - 1]].clone())).expect("joins");
        reached.push((to, format!("lateral {to}")));
    }
    let solution = run(&garden, &["zone"]).expect("solves");
    let pressures: Vec<f64> =
        set.iter().map(|&head| solution.pressure_pa(heads[head].name().expect("named")).expect("there").expect("fed")).collect();
    let (low, high) = pressures.iter().fold((f64::INFINITY, 0.0f64), |(low, high), &p| (low.min(p), high.max(p)));
    let mean = pressures.iter().sum::<f64>() / pressures.len() as f64;
    let slow = garden.of_spec(|spec| spec.is_line()).all(|place| {
        let most = if garden.spec(place).traits.flexible { 7.0 * FT } else { 5.0 * FT };
        solution.parts[place].speed_m_per_s.expect("a line") <= most
    });
    let tap = solution.pressure_pa("tap").expect("there").expect("fed") >= 20.0 * PSI;
    let ok = low >= 28.0 * PSI && high <= 60.0 * PSI && (high - low) / mean <= 0.2 && slow && tap;
    (ok, meters)
}

/// The best of all divisions: heads one after another into each set there is, or into a new one.
fn best_by_hand(heads: &[Part], asked: &Asked) -> (usize, f64) {
    fn divide(
        heads: &[Part],
        asked: &Asked,
        next: usize,
        sets: &mut Vec<Vec<usize>>,
        best: &mut (usize, f64),
        known: &mut HashMap<Vec<usize>, (bool, f64)>,
    ) {
        if next == heads.len() {
            let mut meters = 0.0;
            for set in sets.iter() {
                let (ok, length_m) = *known.entry(set.clone()).or_insert_with(|| may_run(heads, set, asked));
                if !ok {
                    return;
                }
                meters += length_m;
            }
            if sets.len() < best.0 || (sets.len() == best.0 && meters < best.1) {
                *best = (sets.len(), meters);
            }
            return;
        }
        for index in 0..sets.len() {
            sets[index].push(next);
            divide(heads, asked, next + 1, sets, best, known);
            sets[index].pop();
        }
        sets.push(vec![next]);
        divide(heads, asked, next + 1, sets, best, known);
        sets.pop();
    }
    let mut best = (usize::MAX, f64::INFINITY);
    divide(heads, asked, 0, &mut Vec::new(), &mut best, &mut HashMap::new());
    best
}

fn plot(places: &[(f64, f64)], nozzles: &[f64]) -> Vec<Part> {
    let one = |(index, at): (usize, &(f64, f64))| spray(&format!("h{index}"), nozzles[index % nozzles.len()], Some(*at));
    places.iter().enumerate().map(one).collect()
}

fn length_m(zones: &Zones) -> f64 {
    zones.zones.iter().map(|zone| zone.judged.lateral_m).sum()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

    /// The answer has as few zones and as short laterals as the best of all divisions.
    #[test]
    fn a_few_heads_are_divided_as_well_as_can_be(places in prop::collection::vec((0.0f64..80.0, 0.0f64..60.0), 1..6), nozzle in 6.0f64..9.0) {
        let heads = plot(&places, &[nozzle]);
        let asked = Asked::of(lateral());
        let by_hand = best_by_hand(&heads, &asked);
        prop_assume!(by_hand.0 < usize::MAX);
        let found = zones_for(&source(), &heads, &asked).expect("divided");
        prop_assert!(found.all_compared);
        prop_assert_eq!(found.zones.len(), by_hand.0);
        prop_assert!((length_m(&found) - by_hand.1).abs() < 1e-6 * by_hand.1.max(1.0), "{} m, by hand {} m", length_m(&found), by_hand.1);
    }

    /// Where not all divisions are compared, the one found keeps all limits and is nearly as good as the best one.
    #[test]
    fn the_search_comes_near_the_best_division(places in prop::collection::vec((0.0f64..90.0, 0.0f64..70.0), 8..=10)) {
        let heads = plot(&places, &[7.0]);
        let asked = Asked::of(lateral());
        let source = source();
        let judge = Judge::new(&source, &heads, &asked).expect("joins");
        let every: Vec<usize> = (0..heads.len()).collect();
        prop_assume!(every.iter().all(|&head| judge.fits(&[head]).expect("solves")));
        let best = division::best_of_all(&judge, &every, Some(1)).expect("divided");
        let searched = division::found(&judge, &every, Some(1)).expect("divided");
        let mut all: Vec<usize> = searched.concat();
        all.sort_unstable();
        prop_assert_eq!(&all, &every);
        for set in &searched {
            prop_assert!(judge.fits(set).expect("solves"), "{set:?}");
        }
        prop_assert!(searched.len() <= best.len() + 1, "{} zones, the best has {}", searched.len(), best.len());
    }
}

#[test]
fn the_garden_of_the_answer_gives_the_pressures_of_its_table() {
    let heads = plot(&[(0.0, 0.0), (25.0, 0.0), (50.0, 0.0), (0.0, 25.0), (25.0, 25.0), (50.0, 25.0)], &[7.0]);
    let found = zones_for(&source(), &heads, &Asked::of(lateral())).expect("divided");
    for zone in &found.zones {
        let solution = run(&found.garden, &[&zone.name]).expect("solves");
        let (head, pressure_pa) = zone.judged.lowest;
        let has_pa = solution.pressure_pa(&found.heads[head]).expect("there").expect("fed");
        assert!((has_pa - pressure_pa).abs() < 1.0, "{has_pa} Pa, {pressure_pa} Pa");
    }
    // Laterals cost their share of the coil.
    let price: f64 = found.garden.parts().iter().filter_map(|part| part.si(Id::Price)).sum();
    let expected = 40.0 * length_m(&found) / (100.0 * FT);
    assert!((price - expected).abs() < 1e-9 * expected, "{price} {expected}");
}

#[test]
fn what_stands_against_one_head_more_is_told_by_its_first_limit() {
    let heads = plot(&[(0.0, 0.0), (10.0, 0.0), (20.0, 0.0)], &[8.0]);
    let mut asked = Asked::of(lateral());
    asked.most_heads = Some(2);
    let found = zones_for(&source(), &heads, &asked).expect("divided");
    assert_eq!(found.zones.len(), 2);
    let full = found.zones.iter().find(|zone| zone.heads.len() == 2).expect("a full zone");
    assert_eq!(full.limit.as_ref().expect("a head is left").1, Hindrance::Count { most: 2 });

    asked.most_heads = None;
    asked.reserve_pa = 15.0 * PSI;
    let found = zones_for(&source(), &heads, &asked).expect("divided");
    let full = found.zones.iter().max_by_key(|zone| zone.heads.len()).expect("a zone");
    let (_, hindrance) = full.limit.clone().expect("a head is left");
    assert!(matches!(hindrance, Hindrance::Low { has_pa, needs_pa, .. } if has_pa < needs_pa), "{hindrance:?}");
}

#[test]
fn heads_of_other_rates_or_kinds_have_valves_of_their_own() {
    // A full circle and a quarter with the same nozzle: the quarter puts down four times as much.
    let mut quarter = spray("quarter", 7.0, Some((10.0, 0.0)));
    quarter.set(Id::Arc, Quantity::number(90.0)).expect("an arc");
    let drip = Part::of_words(
        Kind::Emitter,
        Some("drip"),
        &[("flow", q(1.0, "gph")), ("pressure", q(30.0, "psi")), ("x", q(5.0, "ft")), ("y", q(0.0, "ft"))],
    )
    .expect("an emitter");
    let heads = [spray("full", 7.0, Some((0.0, 0.0))), quarter, drip];
    let found = zones_for(&source(), &heads, &Asked::of(lateral())).expect("divided");
    assert_eq!((found.groups, found.zones.len()), (3, 3));
    let mut asked = Asked::of(lateral());
    asked.matched = 4.0;
    assert_eq!(zones_for(&source(), &heads[..2], &asked).expect("divided").zones.len(), 1);
}

#[test]
fn what_cannot_be_divided_is_refused_with_its_reason() {
    let heads = plot(&[(0.0, 0.0), (10.0, 0.0)], &[8.0]);
    let refused = |heads: &[Part], asked: &Asked| zones_for(&source(), heads, asked).expect_err("refused").to_string();
    let asked = Asked::of(lateral());
    assert_eq!(refused(&[], &asked), "there are no heads to divide into zones");
    let unplaced = [heads[0].clone(), spray("loose", 8.0, None)];
    assert_eq!(refused(&unplaced, &asked), "head 'loose' has no place on the plan, and other heads have one");
    let twins = [heads[0].clone(), heads[0].clone()];
    assert!(refused(&twins, &asked).contains("h0"));
    assert_eq!(refused(&heads, &Asked::of(Part::new(Kind::Valve))), "a lateral is a hose or a pipe, found valve");
    let mut thirsty = Asked::of(lateral());
    thirsty.reserve_pa = 30.0 * PSI;
    assert!(
        refused(&heads, &thirsty).starts_with("head 'h0' cannot run even alone: h0 gets 52.9"),
        "{}",
        refused(&heads, &thirsty)
    );
}

#[test]
fn heads_without_places_have_a_lateral_each() {
    let heads: Vec<Part> = (0..3).map(|index| spray(&format!("h{index}"), 7.0, None)).collect();
    let found = zones_for(&source(), &heads, &Asked::of(lateral())).expect("divided");
    assert!(!found.placed);
    assert!((length_m(&found) - 300.0 * FT).abs() < 1e-9);
}
