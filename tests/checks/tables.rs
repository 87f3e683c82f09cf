//! Our tables of fittings and materials against the printed ones.

use crate::harness::{Answer, Found, Row, check};
use hosewright::laws::fittings::{Fitting, PrintedK, find_fitting};
use hosewright::laws::minor::fully_turbulent_factor;
use hosewright::laws::pipe_sizes::find_pipe_size;
use hosewright::laws::roughness::find_material;

/// Our name for the fitting of a row.
fn our_name(row: &Row) -> Option<&'static str> {
    let name = match (row.text("fitting"), row.text("detail")) {
        ("elbow 45", "standard" | "regular threaded") => "elbow_45",
        ("elbow 45", "long radius") => "elbow_45_long",
        ("elbow 90", "standard") => "elbow_90",
        ("elbow 90", "square or mitre") => "elbow_90_square",
        ("elbow 90", "regular threaded") | ("elbow 90 threaded", _) => "elbow_90_threaded",
        ("bend 180", _) => "return_bend",
        ("tee", "run through, branch blanked" | "line flow threaded") | ("tee, run", _) => "tee_run",
        ("tee", "branching flow" | "branch flow threaded") | ("tee, branch", _) => "tee_branch",
        ("coupling", _) => "coupling",
        ("union", _) => "union",
        ("gate valve", "quarter open") => "gate_valve_quarter",
        ("gate valve" | "gate valve, open", _) => "gate_valve",
        ("diaphragm valve", _) => "diaphragm_valve",
        ("globe valve" | "globe valve, open", _) => "globe_valve",
        ("angle valve", _) => "angle_valve",
        ("ball valve, open", _) => "ball_valve",
        ("check valve", "swing") | ("swing check" | "swing check valve", _) => "swing_check",
        ("check valve", "disk") => "disk_check",
        ("foot valve", _) => "foot_valve",
        ("water meter", "disk") => "water_meter",
        ("water meter", "turbine wheel") => "water_meter_turbine",
        _ => return None,
    };
    Some(name)
}

fn fitting(row: &Row) -> Answer {
    let fitting = match find_fitting(our_name(row)?) {
        Ok(fitting) => fitting,
        Err(error) => return Some(Err(error.to_string())),
    };
    let found = match row.quantity() {
        "k" => printed_k(fitting, row),
        "equivalent_length_multiplier" => fitting.diameters.map(|(n, _)| n).ok_or("no equivalent length".to_string()),
        "k_from_ft" => k_in_steel_pipe(fitting, row),
        _ => return None,
    };
    Some(found.map(Found::Si))
}

/// The K that our table gives for the same words of the same source.
fn printed_k(fitting: &Fitting, row: &Row) -> Result<f64, String> {
    let same = |printed: &&PrintedK| printed.source.describe() == row.text("source") && printed.detail == row.text("detail");
    fitting.printed.iter().find(same).map(|printed| printed.k).ok_or(format!("{} has no such value", fitting.name))
}

/// K in clean schedule 40 steel pipe: roughness 0.0018 in (L. F. Moody, 1944) and inside diameters (ASME B36.10M) from memory.
fn k_in_steel_pipe(fitting: &Fitting, row: &Row) -> Result<f64, String> {
    let diameter_in = match row.text("detail") {
        "nominal 1/2 in" => 0.622,
        "nominal 3/4 in" => 0.824,
        "nominal 1 in" => 1.049,
        other => return Err(format!("no inside diameter for {other}")),
    };
    let factor = fully_turbulent_factor(0.0018 / diameter_in).map_err(|error| error.to_string())?;
    fitting.k_in_pipe(factor).ok_or("no equivalent length".to_string())?.map_err(|error| error.to_string())
}

fn material(row: &Row) -> Answer {
    let name = match row.text("material") {
        "commercial steel or wrought iron" => "steel",
        "galvanized iron" => "galvanized",
        "drawn tubing (copper, brass)" | "copper" => "copper",
        "PVC, plastic, glass (smooth)" | "plastic" => "plastic",
        "cast iron, new unlined" => "cast_iron",
        _ => return None,
    };
    let found = match row.quantity() {
        "absolute_roughness" => find_material(name)?.roughness_m,
        "hazen_williams_c" => find_material(name)?.middle_c(),
        _ => return None,
    };
    Some(found.map(Found::Si).ok_or(format!("{name} has no {}", row.quantity())))
}

#[test]
fn fittings_have_the_printed_k() {
    check("fittings_k.csv", 37, &[], fitting);
}

#[test]
fn materials_have_the_printed_roughness() {
    check("roughness_table.csv", 8, &[], material);
}

fn pipe(row: &Row) -> Answer {
    let size = find_pipe_size(row.text("pipe"));
    (row.quantity() == "inside_diameter").then(|| size.map(|size| Found::Si(size.inside_m())).map_err(|error| error.to_string()))
}

#[test]
fn pipes_have_the_inside_diameters_of_their_standards() {
    check("pipe_sizes.csv", 51, &[], pipe);
}
