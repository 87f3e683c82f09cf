//! Friction and minor losses against their check values.

use crate::harness::{Answer, Found, Row, check};
use crate::water::water_of;
use hosewright::garden::Garden;
use hosewright::hydraulics::{PartState, run};
use hosewright::laws::LawError;
use hosewright::laws::friction::{Regime, friction_factor};
use hosewright::laws::hazen_williams::HazenWilliams;
use hosewright::laws::minor::{self, MinorLoss};
use hosewright::laws::section::{head_of_pressure_m, speed_m_per_s};
use hosewright::parts::{Kind, Part};
use hosewright::quantity::{Dimension, Preference, Quantity, dim};
use hosewright::water::{DEFAULT_DENSITY_KG_PER_M3, Water};

const FLOW: &[(&str, &str)] = &[("flow_gpm", "gpm"), ("flow_L_per_min", "L/min")];
const DIAMETER: &[(&str, &str)] = &[("inner_diameter_in", "in"), ("inner_diameter_mm", "mm")];
const LENGTH: &[(&str, &str)] = &[("length_ft", "ft"), ("length_m", "m")];

fn factor(row: &Row) -> Answer {
    let reynolds = row.need("reynolds");
    match row.quantity() {
        "darcy_f" => Some(Ok(Found::Si(friction_factor(reynolds, row.need("relative_roughness"))))),
        "regime" => Some(Ok(Found::Word(Regime::at(reynolds).name().into()))),
        _ => None,
    }
}

fn hose(row: &Row) -> Answer {
    match (row.text("method"), row.quantity()) {
        (_, "velocity") => Some(Ok(Found::Si(speed_m_per_s(row.need_si(FLOW), row.need_si(DIAMETER))))),
        ("Hazen-Williams", _) => hazen_williams(row),
        ("Darcy-Weisbach", _) => darcy_weisbach(row),
        _ => None,
    }
}

fn hazen_williams(row: &Row) -> Answer {
    let hose = match HazenWilliams::new(row.need_si(LENGTH), row.need_si(DIAMETER), row.need("hazen_williams_c")) {
        Ok(hose) => hose,
        Err(error) => return Some(Err(error.to_string())),
    };
    let loss_pa = || hose.loss(row.need_si(FLOW)).loss_pa;
    match row.quantity() {
        "pressure_drop" => Some(Ok(Found::Si(loss_pa()))),
        "head_loss" => Some(Ok(Found::Si(head_of_pressure_m(loss_pa(), DEFAULT_DENSITY_KG_PER_M3)))),
        "free_discharge_flow" => Some(answer(hose.flow_at_loss(row.need_si(&[("inlet_pressure_psi", "psi")])))),
        _ => None,
    }
}

fn darcy_weisbach(row: &Row) -> Answer {
    let water = match water_of(row) {
        Ok(water) => water,
        Err(error) => return Some(Err(error)),
    };
    let state = match run_through_hose(row, water) {
        Ok(state) => state,
        Err(error) => return Some(Err(error)),
    };
    let loss_pa = state.loss_pa().ok_or_else(|| "the hose is not fed".to_string());
    match row.quantity() {
        "pressure_drop" => Some(loss_pa.map(Found::Si)),
        "head_loss" => Some(loss_pa.map(|loss_pa| Found::Si(head_of_pressure_m(loss_pa, water.density_kg_per_m3)))),
        "reynolds" => state.reynolds.map(|reynolds| Ok(Found::Si(reynolds))),
        _ => None,
    }
}

/// The hose of a row in a garden: a tank before it and a draw of the row's flow behind it.
fn run_through_hose(row: &Row, water: Water) -> Result<PartState, String> {
    let si = |si: f64, dimension: Dimension| Quantity { si, dimension, preference: Preference::Usual };
    let part = |kind: Kind, numbers: &[(&str, Quantity)]| {
        Part::of_words(kind, None, numbers).map(Garden::of).map_err(|error| error.to_string())
    };
    let tank = part(Kind::OpenTank, &[("level", si(50.0, dim::LENGTH))])?;
    let hose = part(
        Kind::Hose,
        &[
            ("length", si(row.need_si(LENGTH), dim::LENGTH)),
            ("diameter", si(row.need_si(DIAMETER), dim::LENGTH)),
            ("roughness", si(row.need_si(&[("roughness_mm", "mm")]), dim::LENGTH)),
        ],
    )?;
    let draw = part(Kind::Demand, &[("flow", si(row.need_si(FLOW), dim::FLOW))])?;
    let line = tank.then(&hose).and_then(|line| line.then(&draw)).map_err(|error| error.to_string())?;
    let solution = run(&line.with_water(water), &[]).map_err(|error| error.to_string())?;
    Ok(solution.parts[1])
}

fn minor(row: &Row) -> Answer {
    let density = row.number("density_kg_per_m3").unwrap_or(DEFAULT_DENSITY_KG_PER_M3);
    let loss_pa = || {
        let fitting = MinorLoss::new(row.need("k"), row.need_si(DIAMETER), density)?;
        Ok(fitting.loss(row.need_si(FLOW)).loss_pa)
    };
    match row.quantity() {
        "pressure_drop" => Some(answer(loss_pa())),
        "head_loss" => Some(answer(loss_pa().map(|loss| head_of_pressure_m(loss, density)))),
        "k" => coefficient(row),
        "flow_through_cv" => Some(answer(minor::flow_through_cv(
            row.need("cv_gpm_per_sqrt_psi"),
            row.need_si(&[("pressure_drop_psi", "psi")]),
            minor::VALVE_COEFFICIENT_DENSITY_KG_PER_M3,
        ))),
        _ => None,
    }
}

fn coefficient(row: &Row) -> Answer {
    let from = || row.need_si(DIAMETER);
    let to = || row.need_si(&[("second_diameter_mm", "mm")]);
    match row.text("item") {
        "sharp pipe exit" => Some(Ok(Found::Si(minor::EXIT_K))),
        "sudden expansion (Borda-Carnot)" => Some(answer(minor::sudden_expansion_k(from(), to()))),
        "sudden contraction (TP-410 form)" => Some(answer(minor::sudden_contraction_k(from(), to()))),
        "k from cv" => Some(answer(minor::k_from_cv(row.need("cv_gpm_per_sqrt_psi"), from()))),
        _ => None,
    }
}

fn answer(result: Result<f64, LawError>) -> Result<Found, String> {
    result.map(Found::Si).map_err(|error| error.to_string())
}

#[test]
fn friction_factors_agree() {
    check("friction_factor.csv", 69, &[], factor);
}

#[test]
fn hoses_lose_what_is_published() {
    check("hose_loss.csv", 88, &[], hose);
}

#[test]
fn minor_losses_agree() {
    check("minor_losses.csv", 24, &[], minor);
}
