//! Pumps against their check values: power, speed, suction and operating point.

use crate::harness::{Answer, Found, Row, check, to_si};
use crate::water::water_of;
use hosewright::atmosphere;
use hosewright::garden::Garden;
use hosewright::hydraulics::{PartState, Solution, run};
use hosewright::laws::npsh::{self, Suction};
use hosewright::laws::pump::{Affinity, shaft_power_w, water_power_w, wire_power_w};
use hosewright::laws::section::{head_of_pressure_m, pressure_of_head_pa};
use hosewright::parts::{Kind, Part};
use hosewright::quantity::{Preference, Quantity, dim};
use hosewright::water::Water;

const FLOW: &[(&str, &str)] = &[("flow_gpm", "gpm"), ("flow_L_per_min", "L/min")];
const HEAD: &[(&str, &str)] = &[("head_ft", "ft"), ("head_m", "m")];

fn power(row: &Row) -> Answer {
    let affinity = || Affinity::new(row.need("speed_1_rpm"), row.need("speed_2_rpm")).map_err(|error| error.to_string());
    let water_w = || -> Result<f64, String> {
        let rise_pa = pressure_of_head_pa(row.need_si(HEAD), water_of(row)?.density_kg_per_m3);
        Ok(water_power_w(row.need_si(FLOW), rise_pa))
    };
    let pump = || row.need("pump_efficiency");
    let result = match row.quantity() {
        "water_power" => water_w(),
        "shaft_power" => water_w().and_then(|w| shaft_power_w(w, pump()).map_err(|error| error.to_string())),
        "wire_power" => {
            water_w().and_then(|w| wire_power_w(w, pump(), row.need("motor_efficiency")).map_err(|error| error.to_string()))
        }
        "affinity_flow" => affinity().map(|a| a.flow(row.need_si(FLOW))),
        "affinity_head" => affinity().map(|a| a.rise(row.need_si(HEAD))),
        "affinity_power" => affinity().map(|a| a.power(row.need_si(&[("power_kW", "kW")]))),
        _ => return None,
    };
    Some(result.map(Found::Si))
}

fn suction(row: &Row) -> Answer {
    let known = ["npsh_available", "npsh_available_gauge", "least_static_head", "atmospheric_head"];
    known.contains(&row.quantity()).then(|| suction_head(row).map(Found::Si))
}

fn suction_head(row: &Row) -> Result<f64, String> {
    if row.quantity() == "npsh_available_gauge" {
        // 0.339 psi is the vapor pressure of water at 20 degC, for which the density is taken.
        let vapor_pressure_pa = row.need_si(&[("vapor_pressure_psi", "psi")]);
        let water = Water { vapor_pressure_pa, ..Water::at(to_si(20.0, "degC")).map_err(|error| error.to_string())? };
        return Ok(npsh::available_from_gauge_m(
            row.need_si(&[("atmospheric_pressure_psi", "psi")]),
            row.need_si(&[("gauge_pressure_psi", "psi")]),
            row.need_si(&[("gauge_elevation_ft", "ft")]),
            row.need_si(&[("velocity_ft_per_s", "ft/s")]),
            &water,
        ));
    }
    let mut water = water_of(row)?;
    // Rows that give the heads of atmosphere and vapor are turned into pressures with the density that turns them back.
    let of_head = |column: &str| row.si(&[(column, "ft")]).map(|head| pressure_of_head_pa(head, water.density_kg_per_m3));
    let atmosphere_pa = match of_head("atmospheric_head_ft") {
        Some(pressure_pa) => pressure_pa,
        None => atmosphere::pressure_pa(row.need("elevation_m")).map_err(|error| error.to_string())?,
    };
    let vapor_pressure_pa = of_head("vapor_head_ft");
    water.vapor_pressure_pa = vapor_pressure_pa.unwrap_or(water.vapor_pressure_pa);
    let suction = Suction {
        atmosphere_pa,
        supply_pressure_pa: row.si(&[("supply_gauge_kPa", "kPa")]).unwrap_or(0.0),
        static_head_m: row.si(&[("static_head_ft", "ft"), ("static_head_m", "m")]).unwrap_or(0.0),
        loss_head_m: row.si(&[("friction_head_ft", "ft"), ("friction_head_m", "m")]).unwrap_or(0.0)
            + row.si(&[("inlet_loss_ft", "ft")]).unwrap_or(0.0),
    };
    match row.quantity() {
        "atmospheric_head" => Ok(npsh::atmospheric_head_m(atmosphere_pa, &water)),
        "least_static_head" => Ok(suction.least_static_head_m(row.need_si(&[("npsh_required_ft", "ft")]), &water)),
        _ => Ok(suction.available_m(&water)),
    }
}

/// Points of the pump curve: straight lines between so many are off by at most 1e-8 of the shut-off head.
const CURVE_POINTS: usize = 4000;

/// Pump curve against system curve, as a garden: a tank, pumps, a climb, and an outlet that follows the system's power.
fn operating_point(row: &Row) -> Answer {
    let solution = match pumped(row) {
        Ok(solution) => solution,
        Err(error) => return Some(Err(error)),
    };
    let pumps: Vec<_> = solution.garden.of_kind(Kind::Booster).map(|place| solution.parts[place]).collect();
    match row.quantity() {
        "flow" => Some(Ok(Found::Si(pumps[0].flow_m3_per_s))),
        "head" => {
            let rise_pa = -pumps.iter().filter_map(PartState::loss_pa).sum::<f64>();
            Some(Ok(Found::Si(head_of_pressure_m(rise_pa, solution.garden.water().density_kg_per_m3))))
        }
        _ => None,
    }
}

fn pumped(row: &Row) -> Result<Solution, String> {
    let density = Water::default().density_kg_per_m3;
    let part = |kind: Kind, numbers: &[(&str, Quantity)]| {
        Part::of_words(kind, None, numbers).map(Garden::of).map_err(|error| error.to_string())
    };
    let meters = |value: f64| Quantity { si: value, dimension: dim::LENGTH, preference: Preference::Usual };
    let (h0, a) = (row.need("pump_h0_m"), row.need("pump_a_m_per_m3h2"));
    let end = (h0 / a).sqrt();
    let point = |index: usize| {
        let q = end * index as f64 / CURVE_POINTS as f64;
        (to_si(q, "m3/h"), pressure_of_head_pa((h0 - a * q * q).max(0.0), density))
    };
    let points: Vec<(f64, f64)> = (0..=CURVE_POINTS).map(point).collect();
    let pump = Part::new(Kind::Booster).with_curve(&points).map_err(|error| error.to_string())?;
    let system = [
        ("flow", Quantity { si: to_si(1.0, "m3/h"), dimension: dim::FLOW, preference: Preference::Usual }),
        (
            "pressure",
            Quantity {
                si: pressure_of_head_pa(row.need("system_r_m_per_m3hn"), density),
                dimension: dim::PRESSURE,
                preference: Preference::Usual,
            },
        ),
        ("exponent", Quantity::number(1.0 / row.need("system_exponent"))),
    ];
    let join = |line: Garden, next: &Garden| line.then(next).map_err(|error| error.to_string());
    let mut line = part(Kind::OpenTank, &[("level", meters(row.need("supply_head_m")))])?;
    for _ in 0..row.need("pumps_in_series") as usize {
        line = join(line, &Garden::of(pump.clone()))?;
    }
    line = join(line, &part(Kind::Uphill, &[("height", meters(row.need("static_lift_m")))])?)?;
    run(&join(line, &part(Kind::Emitter, &system)?)?, &[]).map_err(|error| error.to_string())
}

#[test]
fn pump_power_and_affinity_agree() {
    check("pump_power.csv", 35, &[], power);
}

#[test]
fn suction_heads_agree() {
    check("npsh.csv", 16, &[], suction);
}

#[test]
fn operating_points_lie_where_the_curves_cross() {
    check("operating_point.csv", 14, &[], operating_point);
}
