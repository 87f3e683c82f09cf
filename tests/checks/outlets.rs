//! Lines with many outlets against their check values: the formulas, and whole gardens solved outlet by outlet.

use crate::harness::{Answer, Found, Row, check};
use hosewright::garden::Garden;
use hosewright::hydraulics::run;
use hosewright::laws::hazen_williams::HazenWilliams;
use hosewright::laws::multiple_outlets::{FirstOutlet, christiansen, exact, half_spacing};
use hosewright::parts::{Kind, Part};
use hosewright::quantity::{Quantity, find_unit};

fn q(value: f64, unit: &str) -> Quantity {
    find_unit(unit).map_or(Quantity::number(value), |unit| Quantity::written(value, unit))
}

fn first_outlet(row: &Row) -> FirstOutlet {
    match row.text("first_outlet") {
        "half spacing" => FirstOutlet::HalfSpacing,
        _ => FirstOutlet::FullSpacing,
    }
}

fn by_formula(row: &Row) -> Answer {
    let (outlets, exponent) = (row.need("outlets") as usize, row.need("flow_exponent"));
    Some(Ok(Found::Si(match row.quantity() {
        "f_exact" => exact(outlets, exponent, first_outlet(row)),
        "f_christiansen" => christiansen(outlets, exponent),
        "f_half_spacing_formula" => half_spacing(outlets, exponent),
        _ => return None,
    })))
}

const SPACING_FT: f64 = 10.0;
const EACH_GPM: f64 = 0.25;
const C: f64 = 140.0;

/// The factor of a garden of hoses and equal draws: its loss over that of the full flow through the full length.
fn by_garden(row: &Row) -> Answer {
    if row.quantity() != "f_exact" {
        return by_formula(row);
    }
    let (outlets, exponent) = (row.need("outlets") as usize, row.need("flow_exponent"));
    let part = |kind, numbers: &[(&str, Quantity)]| Garden::of(Part::of_words(kind, None, numbers).expect("a sound part"));
    // Loss with the power 1.852 of the flow comes from Hazen-Williams hoses, with its square from filters.
    let reach = |share: f64| {
        if exponent == 2.0 {
            part(Kind::Filter, &[("loss", q(0.02 * share, "psi")), ("flow", q(1.0, "gpm"))])
        } else {
            let numbers =
                [("length", q(SPACING_FT * share, "ft")), ("diameter", q(0.75, "inch")), ("hazen_williams_c", q(C, ""))];
            part(Kind::Hose, &numbers)
        }
    };
    let mut garden = part(Kind::Supply, &[("static_pressure", q(5000.0, "psi"))]);
    for index in 0..outlets {
        let share = if index == 0 && first_outlet(row) == FirstOutlet::HalfSpacing { 0.5 } else { 1.0 };
        garden = garden
            .then(&reach(share))
            .and_then(|line| line.then(&part(Kind::Demand, &[("flow", q(EACH_GPM, "gpm"))])))
            .expect("joins");
    }
    let solution = match run(&garden, &[]) {
        Ok(solution) => solution,
        Err(error) => return Some(Err(error.to_string())),
    };
    let last = solution.parts.last().and_then(|state| state.pressure_out_pa).expect("a fed draw");
    let loss_pa = q(5000.0, "psi").si - last;
    let length = outlets as f64 - if first_outlet(row) == FirstOutlet::HalfSpacing { 0.5 } else { 0.0 };
    let full_flow = q(EACH_GPM * outlets as f64, "gpm").si;
    let full_pa = if exponent == 2.0 {
        let per_flow2 = q(0.02, "psi").si / q(1.0, "gpm").si.powi(2);
        length * per_flow2 * full_flow * full_flow
    } else {
        HazenWilliams::new(q(SPACING_FT, "ft").si * length, q(0.75, "inch").si, C).expect("sound").loss(full_flow).loss_pa
    };
    Some(Ok(Found::Si(loss_pa / full_pa)))
}

/// The factor of a soaker whose outlets take the same whatever the pressure; other rows by the formula.
fn by_soaker(row: &Row) -> Answer {
    let ours = row.quantity() == "f_exact" && row.need("flow_exponent") == 1.852 && first_outlet(row) == FirstOutlet::FullSpacing;
    if !ours {
        return by_formula(row);
    }
    let outlets = row.need("outlets");
    let flow = q(EACH_GPM * outlets, "gpm");
    let numbers = [
        ("length", q(SPACING_FT * outlets, "ft")),
        ("diameter", q(0.75, "inch")),
        ("flow", flow),
        ("pressure", q(20.0, "psi")),
        ("exponent", q(1e-9, "")),
        ("outlets", q(outlets, "")),
        ("hazen_williams_c", q(C, "")),
    ];
    let soaker = Part::of_words(Kind::Soaker, Some("row"), &numbers).expect("a sound soaker");
    let end_pa = q(20.0, "psi").si;
    let loss_pa = soaker.soaker_loss_pa(end_pa).expect("a soaker");
    let full = HazenWilliams::new(q(SPACING_FT * outlets, "ft").si, q(0.75, "inch").si, C).expect("sound").loss(flow.si);
    Some(Ok(Found::Si(loss_pa / full.loss_pa)))
}

#[test]
fn factors_by_formula() {
    check("multiple_outlets.csv", 43, &[], by_formula);
}

#[test]
fn factors_of_gardens_solved_outlet_by_outlet() {
    check("multiple_outlets.csv", 43, &[], by_garden);
}

#[test]
fn factors_of_soaker_hoses() {
    check("multiple_outlets.csv", 43, &[], by_soaker);
}
