//! Units, water and the atmosphere against their check values.

use crate::harness::{Answer, Found, Row, check, to_si};
use hosewright::atmosphere;
use hosewright::quantity::{Quantity, find_unit};
use hosewright::water::Water;

/// Water at the temperature of a row; the usual one when the row tells none.
pub fn water_of(row: &Row) -> Result<Water, String> {
    let Some(temperature_k) = row.si(&[("temperature_C", "degC")]) else {
        return Ok(Water::default());
    };
    Water::at(temperature_k).map_err(|error| error.to_string())
}

fn convert(row: &Row) -> Answer {
    if row.quantity() != "convert" {
        return None;
    }
    let unit = find_unit(row.text("from_unit"))?;
    let result = Quantity::written(row.need("value"), unit).in_unit(row.text("to_unit"));
    Some(result.map(Found::InUnitOfRow).map_err(|error| error.to_string()))
}

fn water(row: &Row) -> Answer {
    let property: fn(&Water, f64) -> f64 = match row.quantity() {
        "density" => |water, pressure| water.density_at(pressure),
        "dynamic_viscosity" => |water, _| water.viscosity_pa_s,
        "kinematic_viscosity" => |water, _| water.kinematic_viscosity_m2_per_s(),
        "vapor_pressure" => |water, _| water.vapor_pressure_pa,
        "speed_of_sound" => |water, _| water.sound_speed_m_per_s,
        "bulk_modulus" => |water, _| water.bulk_modulus_pa(),
        _ => return None,
    };
    let pressure_pa = row.si(&[("pressure_kPa_abs", "kPa")]).unwrap_or(to_si(1.0, "atm"));
    Some(water_of(row).map(|water| Found::Si(property(&water, pressure_pa))))
}

fn air(row: &Row) -> Answer {
    if row.quantity() != "standard_pressure" {
        return None;
    }
    Some(atmosphere::pressure_pa(row.need("elevation_m")).map(Found::Si).map_err(|error| error.to_string()))
}

#[test]
fn units_convert_as_defined() {
    check("unit_conversions.csv", 15, &[], convert);
}

#[test]
fn water_has_the_published_properties() {
    check("water_properties.csv", 74, &[], water);
}

#[test]
fn the_atmosphere_is_the_standard_one() {
    check("atmosphere.csv", 10, &[], air);
}
