//! Nozzles against their check values.

use crate::harness::{Answer, Found, Row, check};
use crate::water::water_of;
use hosewright::laws::nozzle::{Nozzle, flow_from_rated_m3_per_s, jet_speed_m_per_s};

const DIAMETER: &[(&str, &str)] = &[("nozzle_diameter_in", "in"), ("nozzle_diameter_mm", "mm")];
const PRESSURE: &[(&str, &str)] = &[("pressure_psi", "psi"), ("pressure_kPa", "kPa")];

fn nozzle(row: &Row) -> Answer {
    let known = ["flow", "total_flow", "jet_velocity", "flow_from_reference"];
    known.contains(&row.quantity()).then(|| discharge(row).map(Found::Si))
}

fn discharge(row: &Row) -> Result<f64, String> {
    let density = water_of(row)?.density_kg_per_m3;
    let pressure_pa = row.need_si(PRESSURE);
    match row.quantity() {
        "jet_velocity" => return Ok(jet_speed_m_per_s(pressure_pa, density)),
        "flow_from_reference" => {
            let flow = row.need_si(&[("reference_flow_gpm", "gpm")]);
            let reference_pa = row.need_si(&[("reference_pressure_psi", "psi")]);
            return flow_from_rated_m3_per_s(flow, reference_pa, pressure_pa).map_err(|error| error.to_string());
        }
        _ => {}
    }
    let nozzle =
        Nozzle::new(row.need("discharge_coefficient"), row.need_si(DIAMETER), density).map_err(|error| error.to_string())?;
    Ok(nozzle.flow_m3_per_s(pressure_pa) * row.number("heads").unwrap_or(1.0))
}

#[test]
fn nozzles_give_what_is_published() {
    check("nozzle_discharge.csv", 69, &[], nozzle);
}
