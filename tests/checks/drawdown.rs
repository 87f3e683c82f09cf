//! Water that a pressure tank gives between cut-out and cut-in, by Boyle's law.

use crate::harness::{Answer, Found, Row, check};
use hosewright::operation::{ATMOSPHERE_PA, Vessel};

fn drawdown(row: &Row) -> Answer {
    let pressure = |name: &str| row.si(&[(&format!("{name}_psi"), "psi"), (&format!("{name}_kPa"), "kPa")]);
    let volume = row.si(&[("tank_volume_gal", "gal"), ("tank_volume_L", "L")])?;
    let (precharge, atmosphere) = (pressure("precharge")?, pressure("atmospheric")?);
    // Boyle's law knows absolute pressures only: another atmosphere is another zero of the gauge.
    let shift = atmosphere - ATMOSPHERE_PA;
    let tank = Vessel::Cushion { volume_m3: volume, precharge_pa: precharge + shift };
    let water = |at: f64| tank.volume_m3(at + shift);
    let given = water(pressure("cut_out")?) - water(pressure("cut_in")?);
    match row.quantity() {
        "drawdown" => Some(Ok(Found::Si(given))),
        "drawdown_factor" => Some(Ok(Found::Si(given / volume))),
        _ => None,
    }
}

#[test]
fn tanks_give_the_water_of_boyles_law() {
    check("tank_drawdown.csv", 13, &[], drawdown);
}
