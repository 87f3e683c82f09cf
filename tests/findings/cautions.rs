//! For each caution a garden that shows it and one that does not.

use super::*;
use hosewright::findings::{CAUTIONS, CautionSet};
use hosewright::water::Water;

fn ids(garden: &Garden) -> Vec<&'static str> {
    CautionSet::of(garden).iter().map(|caution| caution.id).collect()
}

fn pipe(name: &str) -> Garden {
    part(Kind::Pipe, name, &[("length", q(30.0, "ft")), ("diameter", q(0.75, "inch"))])
}

fn emitter(name: &str) -> Garden {
    part(Kind::Emitter, name, &[("flow", q(1.0, "gph")), ("pressure", q(15.0, "psi"))])
}

fn preventer() -> Garden {
    part(Kind::Backflow, "preventer", &[])
}

fn pressure_tank() -> Garden {
    part(Kind::PressureTank, "tank", &[("volume", q(5.0, "gal")), ("precharge", q(28.0, "psi"))])
}

/// A barrel on a pipe that drips: the garden to which the fewest cautions apply.
fn plain() -> Garden {
    line(&[open_tank("barrel", 5.0), pipe("feed"), emitter("drip")])
}

fn on_main(middle: &[Garden]) -> Garden {
    line(&[&[tap()], middle, &[pipe("feed"), emitter("drip")]].concat())
}

/// For each caution a garden that shows it, and one that does not though it is near.
fn pairs() -> Vec<(&'static str, Garden, Garden)> {
    let warm = plain().with_water(Water::at(295.0).expect("water"));
    let cool = plain().with_water(Water::at(290.0).expect("water"));
    let metric_tap = part(Kind::Supply, "tap", &[("static_pressure", q(4.0, "bar"))]);
    let guarded = [preventer(), pump(), relief("relief", 97.0)];
    let barrel = line(&[open_tank("barrel", 5.0), pipe("barrel pipe")]);
    let joined = line(&[tap(), pipe("feed"), point("here"), emitter("drip")]).add_source("here", &barrel).expect("joins");
    let on_barrel = |middle: Garden| line(&[open_tank("barrel", 5.0), middle, pipe("feed"), emitter("drip")]);
    vec![
        ("booster-unprotected", on_main(&[pump(), relief("relief", 97.0)]), on_main(&guarded)),
        ("booster-on-main", on_main(&guarded), on_barrel(pump())),
        ("joined-sources", joined, plain()),
        ("cross-connection", on_main(&[]), plain()),
        ("fertilizer", on_main(&[]), line(&[tap(), pipe("feed"), head("a", 0.1)])),
        ("vacuum-breaker", on_main(&[pressure_tank()]), on_main(&[])),
        ("check-valve", on_main(&[check("check")]), on_main(&[preventer()])),
        ("stored-water", plain(), on_main(&[])),
        ("metric-codes", line(&[metric_tap, pipe("feed"), emitter("drip")]), on_main(&[])),
        ("electricity", on_barrel(pump()), plain()),
        ("relief", on_main(&[relief("relief", 60.0)]), on_main(&[])),
        ("pressure-tank", on_barrel(pressure_tank()), plain()),
        ("thermal-expansion", on_main(&[check("check")]), on_barrel(check("check"))),
        ("hose-pressure", on_barrel(hose("hose", 20.0, 0.75)), plain()),
        ("heat", plain(), line(&[open_tank("barrel", 5.0), emitter("drip")])),
        ("hot-water", on_barrel(hose("hose", 20.0, 0.75)), plain()),
        ("legionella", warm, cool),
        ("digging", plain(), line(&[open_tank("barrel", 5.0), hose("hose", 20.0, 0.75), emitter("drip")])),
        ("drinking-from-hose", on_barrel(hose("hose", 20.0, 0.75)), plain()),
        ("spray", line(&[tap(), pipe("feed"), head("a", 0.1)]), on_main(&[])),
        ("freezing", plain(), line(&[pipe("feed"), emitter("drip")])),
        ("blow-out", plain(), line(&[open_tank("barrel", 5.0), hose("hose", 20.0, 0.75), emitter("drip")])),
    ]
}

#[test]
fn each_caution_is_shown_by_a_garden_that_it_concerns_and_by_none_beside_it() {
    for (id, shows, hides) in pairs() {
        assert!(ids(&shows).contains(&id), "{id}: {:?}", ids(&shows));
        assert!(!ids(&hides).contains(&id), "{id}: {:?}", ids(&hides));
    }
    let tried: Vec<&str> = pairs().iter().map(|(id, ..)| *id).collect();
    let all: Vec<&str> = CAUTIONS.iter().map(|caution| caution.id).collect();
    assert_eq!(tried, all, "a caution without a garden");
}

#[test]
fn a_line_that_nothing_feeds_has_no_cautions() {
    assert!(CautionSet::of(&line(&[hose("feed", 20.0, 0.75), pump(), head("a", 0.1)])).is_empty());
}

#[test]
fn a_relief_behind_a_zone_valve_or_a_preventer_downstream_does_not_protect_a_booster() {
    let bare = |middle: &[Garden]| ids(&on_main(middle)).contains(&"booster-unprotected");
    assert!(!bare(&[preventer(), check("check"), pump(), pressure_tank(), relief("relief", 97.0)]));
    assert!(bare(&[preventer(), pump(), valve("zone"), relief("relief", 97.0)]));
    assert!(bare(&[pump(), preventer(), relief("relief", 97.0)]));
    assert!(bare(&[preventer(), relief("relief", 97.0), pump()]));
    // A barrel is no main, so it takes no preventer; and a line that gives no water is not yet a garden.
    assert!(!ids(&line(&[open_tank("barrel", 5.0), pump(), head("a", 0.1)])).contains(&"booster-unprotected"));
    assert!(!ids(&line(&[tap(), pump()])).contains(&"booster-unprotected"));
}

#[test]
fn all_texts_of_the_cautions_read_well() {
    insta::with_settings!({ snapshot_path => "snapshots" }, {
        insta::assert_snapshot!("all_cautions", CautionSet::all().in_full(120));
        insta::assert_snapshot!("cautions_in_short", CautionSet::all().in_short(100));
    });
}
