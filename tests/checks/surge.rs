//! Wave speeds and the knock formulas against their check values.

use crate::harness::{Answer, Found, Row, check, to_si};
use hosewright::water::Water;
use hosewright::water_hammer::{Wall, compliance_of_wall, joukowsky_pa, reflection_time_s, wave_speed};

fn water(row: &Row) -> Result<Water, String> {
    let celsius = row.number("temperature_C").unwrap_or(15.0);
    Water::at(celsius + 273.15).map_err(|error| error.to_string())
}

/// The wave speed that is given, or that of the wall.
fn speed(row: &Row) -> Result<f64, String> {
    if let Some(speed) = row.si(&[("wave_speed_ft_per_s", "ft/s"), ("wave_speed_m_per_s", "m/s")]) {
        return Ok(speed);
    }
    let modulus_pa = row.need_si(&[("wall_modulus_psi", "psi"), ("wall_modulus_MPa", "MPa")]);
    if let Some(ratio) = row.number("dimension_ratio") {
        // The design practice of these rows: K = 300,000 psi and 4660 ft/s in a stiff wall, diameter = (ratio - 2) walls.
        let (bulk_pa, stiff) = (to_si(300_000.0, "psi"), to_si(4660.0, "ft/s"));
        let wall = Wall { thickness_m: 1e-3, modulus_pa };
        let diameter_m = (ratio - 2.0) * wall.thickness_m;
        return Ok(wave_speed(bulk_pa / (stiff * stiff), bulk_pa, diameter_m, compliance_of_wall(diameter_m, wall)));
    }
    let diameter_m = row.need_si(&[("inner_diameter_mm", "mm")]);
    let wall = Wall { thickness_m: row.need_si(&[("wall_thickness_mm", "mm")]), modulus_pa };
    let water = water(row)?;
    Ok(wave_speed(water.density_kg_per_m3, water.bulk_modulus_pa(), diameter_m, compliance_of_wall(diameter_m, wall)))
}

fn compute(row: &Row) -> Result<Option<f64>, String> {
    let speed = speed(row)?;
    let change = row.si(&[("velocity_change_ft_per_s", "ft/s"), ("velocity_change_m_per_s", "m/s")]);
    let gravity = row.si(&[("gravity_ft_per_s2", "ft")]);
    Ok(match (row.quantity(), change) {
        ("wave_speed", _) => Some(speed),
        ("critical_time", _) => Some(reflection_time_s([(row.need_si(&[("length_ft", "ft"), ("length_m", "m")]), speed)])),
        // A head is a pressure over rho g: with rho g = g the formula gives it for rho = 1.
        ("joukowsky_head_rise", Some(change)) => gravity.map(|gravity| joukowsky_pa(1.0, speed, change) / gravity),
        ("total_pressure", Some(change)) => gravity.map(|gravity| {
            let head_m = joukowsky_pa(1.0, speed, change) / gravity + row.need_si(&[("static_head_ft", "ft")]);
            // The row converts with 2.31 ft to a psi.
            to_si(1.0, "psi") * head_m / to_si(2.31, "ft")
        }),
        ("joukowsky_pressure_rise", Some(change)) => {
            // The rows by dimension ratio take their own water for the wave speed, and common water for the knock.
            let density = water(row)?.density_kg_per_m3;
            Some(joukowsky_pa(density, speed, change))
        }
        _ => None,
    })
}

#[test]
fn knocks_agree_with_the_published_formulas_and_examples() {
    check("surge.csv", 27, &[], |row| -> Answer { compute(row).transpose().map(|found| found.map(Found::Si)) });
}
