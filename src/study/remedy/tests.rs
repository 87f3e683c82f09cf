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
