//! Parts with laws of their own in whole gardens: tables, wear, regulated heads, soakers, filters, restrictors, Hazen-Williams.

mod support;

use hosewright::garden::Garden;
use hosewright::hydraulics::{Solution, run};
use hosewright::laws::hazen_williams::HazenWilliams;
use hosewright::parts::{Around, Kind, Law, Part};
use hosewright::water::Water;
use support::*;

fn psi(solution: &Solution, name: &str) -> f64 {
    solution.pressure_pa(name).expect("known").expect("fed") / PSI
}

fn gpm(solution: &Solution, name: &str) -> f64 {
    solution.flow_m3_per_s(name).expect("known") / GPM
}

fn fed(last: Garden) -> Solution {
    run(&line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 60.0, 0.75), last]), &[]).expect("a steady state")
}

/// Found by an independent march from outlet to outlet: such a line once took nothing, because its table ran out of numbers.
#[test]
fn a_long_narrow_soaker_with_much_friction_takes_water() {
    let numbers = [
        ("length", q(100.0, "ft")),
        ("diameter", q(0.375, "inch")),
        ("flow", q(6.0, "gpm")),
        ("pressure", q(20.0, "psi")),
        ("exponent", q(1.0, "")),
    ];
    let tap = part(Kind::Supply, "tap", &[("static_pressure", q(20.0, "psi"))]);
    let solution = run(&line(&[tap, part(Kind::Soaker, "row", &numbers)]), &[]).expect("a steady state");
    approx::assert_relative_eq!(gpm(&solution, "row"), 3.110, max_relative = 1e-3);
}

#[test]
fn a_head_by_its_table_meets_the_points_and_the_pressure_it_gets() {
    let points = [(20.0 * PSI, 1.8 * GPM), (40.0 * PSI, 2.5 * GPM), (60.0 * PSI, 3.0 * GPM)];
    let part = Part::of_words(Kind::Head, Some("h"), &[("nozzle", q(0.125, "inch"))])
        .and_then(|part| part.with_table(&points))
        .expect("sound");
    let table = part.table().expect("a table").clone();
    let solution = fed(Garden::of(part));
    assert!((table.flow(psi(&solution, "h") * PSI) / GPM - gpm(&solution, "h")).abs() < 1e-9);
    assert!(gpm(&solution, "h") > 2.5 && gpm(&solution, "h") < 3.0);
}

#[test]
fn wear_multiplies_the_flow_at_the_same_pressure() {
    let worn = part(Kind::Head, "h", &[("nozzle", q(0.125, "inch")), ("wear", q(1.2, ""))]);
    let solution = fed(worn);
    let new = 29.84 * 0.96 * 0.125f64.powi(2) * psi(&solution, "h").sqrt();
    // 29.84 is the rounded constant of gpm = 29.84 Cd d^2 sqrt(psi): exact arithmetic with 62.37 lb/ft3.
    assert!((gpm(&solution, "h") / new - 1.2).abs() < 1e-3, "{} over {new}", gpm(&solution, "h"));
}

#[test]
fn a_regulated_head_takes_the_flow_of_its_setting_whatever_comes() {
    let regulated = |diameter: f64| part(Kind::Head, "h", &[("nozzle", q(diameter, "inch")), ("regulated", q(30.0, "psi"))]);
    let solution = fed(regulated(0.125));
    let at_setting = fed(part(Kind::Head, "h", &[("nozzle", q(0.125, "inch"))]));
    let expected = gpm(&at_setting, "h") * (30.0 / psi(&at_setting, "h")).sqrt();
    assert!((gpm(&solution, "h") - expected).abs() < 1e-9);
    assert!(psi(&solution, "h") > 45.0);
    // A nozzle so wide that the pressure before it stays below the setting is an ordinary one.
    let (wide, plain) = (fed(regulated(0.4)), fed(part(Kind::Head, "h", &[("nozzle", q(0.4, "inch"))])));
    assert!((gpm(&wide, "h") - gpm(&plain, "h")).abs() < 1e-9 && psi(&wide, "h") < 30.0);
}

#[test]
fn a_soaker_in_a_garden_equals_the_same_line_built_outlet_by_outlet() {
    let outlets = 12;
    let soaker = part(
        Kind::Soaker,
        "row",
        &[
            ("length", q(60.0, "ft")),
            ("diameter", q(0.5, "inch")),
            ("flow", q(5.0, "gpm")),
            ("pressure", q(20.0, "psi")),
            ("outlets", q(12.0, "")),
        ],
    );
    let mut row = hose("reach 1", 5.0, 0.5);
    for index in 1..=outlets {
        if index > 1 {
            row = row.then(&hose(&format!("reach {index}"), 5.0, 0.5)).expect("joins");
        }
        let emitter =
            part(Kind::Emitter, &format!("hole {index}"), &[("flow", q(5.0 / 12.0, "gpm")), ("pressure", q(20.0, "psi"))]);
        row = row.then(&emitter).expect("joins");
    }
    let (whole, pieces) = (fed(soaker), fed(row));
    // The soaker's discharge is a power law between points that lie a factor of 1.3 apart in pressure.
    assert!(
        (gpm(&whole, "row") / gpm(&pieces, "reach 1") - 1.0).abs() < 2e-5,
        "{} and {}",
        gpm(&whole, "row"),
        gpm(&pieces, "reach 1")
    );
}

#[test]
fn a_hazen_williams_hose_loses_what_the_formula_says() {
    let feed =
        part(Kind::Hose, "hw", &[("length", q(80.0, "ft")), ("diameter", q(0.625, "inch")), ("hazen_williams_c", q(140.0, ""))]);
    let solution = fed(feed.then(&head("h", 0.15)).expect("joins"));
    let expected = HazenWilliams::new(80.0 * FT, 0.625 * 0.0254, 140.0).expect("sound").loss(gpm(&solution, "hw") * GPM).loss_pa;
    let state = solution.state("hw").expect("known");
    assert!((state.loss_pa().expect("fed") / expected - 1.0).abs() < 1e-9);
    assert!(state.reynolds.is_some_and(|reynolds| reynolds > 4000.0));
}

#[test]
fn filters_and_washers_take_their_share() {
    let filter = part(Kind::Filter, "filter", &[("loss", q(2.0, "psi")), ("flow", q(5.0, "gpm"))]);
    let restrictor = part(Kind::Restrictor, "restrictor", &[("bore", q(0.375, "inch"))]);
    let solution = fed(line(&[filter, restrictor, head("h", 0.15)]));
    let flow = gpm(&solution, "h");
    assert!((psi(&solution, "feed") - psi(&solution, "filter") - 2.0 * (flow / 5.0).powi(2)).abs() < 1e-9);
    // Contraction 0.5 (1 - b^2) and expansion (1 - b^2)^2 with b = 0.375/0.75, on the restriction; b^2 = 0.25.
    let speed = flow * GPM / (std::f64::consts::PI * (0.375f64 * 0.0254).powi(2) / 4.0);
    let expected = (0.5 * 0.75 + 0.75 * 0.75) * 999.1 * speed * speed / 2.0 / PSI;
    assert!((psi(&solution, "filter") - psi(&solution, "restrictor") - expected).abs() < 1e-6);
}

#[test]
fn three_points_make_the_parabola_through_them() {
    let curve = hosewright::parts::Curve::by_three(48.0 * PSI, (6.0 * GPM, 36.0 * PSI), 12.0 * GPM).expect("a curve");
    let part = Part::new(Kind::Booster).running_on(curve);
    let Law::Booster { curve, .. } = part.law(&Around { water: Water::default(), diameter_m: 1.0 }) else {
        panic!("a booster has a curve")
    };
    // h = 48 - q^2/3 runs through all three.
    for q in [0.0, 1.7, 6.0, 9.3, 12.0] {
        assert!((curve.rise(q * GPM).0 / PSI - (48.0 - q * q / 3.0)).abs() < 1e-12 * 48.0, "at {q} gpm");
    }
}

/// A head of another zone, which is shut, must not turn the arcs of a bed.
#[test]
fn arcs_face_the_middle_of_their_own_zone() {
    use hosewright::coverage::middle_of_zone_m;
    use support::{head, line, supply, valve};
    let at = |name: &str, x_ft: f64, y_ft: f64| {
        let placed = head(name, 0.0625).with(&format!("{name}.x"), support::q(x_ft, "ft"));
        placed.and_then(|head| head.with(&format!("{name}.y"), support::q(y_ft, "ft"))).expect("a place")
    };
    let corners = [("a", 40.0, 0.0), ("b", 62.0, 0.0), ("c", 40.0, 18.0), ("d", 62.0, 18.0)];
    let lawn: Vec<_> = corners.iter().map(|&(name, x, y)| at(name, x, y)).collect();
    let lawn = valve("lawn").then_branches(&lawn).expect("joins");
    let beds = line(&[valve("beds"), at("e", 0.0, 0.0)]);
    let garden = supply("tap", 58.0, 44.0, 6.0).then_branches(&[lawn, beds]).expect("joins");
    let foot = 0.3048;
    let (x, y) = middle_of_zone_m(&garden, garden.find("a").expect("a head")).expect("four heads");
    assert!((x - 51.0 * foot).abs() < 1e-9 && (y - 9.0 * foot).abs() < 1e-9, "{x} {y}");
    assert_eq!(middle_of_zone_m(&garden, garden.find("e").expect("a head")), None);
}
