//! Water that a pressure tank gives between cut-out and cut-in, by Boyle's law.

use crate::harness::{Answer, Found, Row, check};
use hosewright::settings::tank_water_m3;

fn drawdown(row: &Row) -> Answer {
    let pressure = |name: &str| row.si(&[(&format!("{name}_psi"), "psi"), (&format!("{name}_kPa"), "kPa")]);
    let volume = row.si(&[("tank_volume_gal", "gal"), ("tank_volume_L", "L")])?;
    let (precharge, atmosphere) = (pressure("precharge")?, pressure("atmospheric")?);
    let water = |at: f64| tank_water_m3(volume, precharge, at, atmosphere);
    let given = water(pressure("cut_out")?) - water(pressure("cut_in")?);
    match row.quantity() {
        "drawdown" => Some(Ok(Found::Si(given))),
        "drawdown_factor" => Some(Ok(Found::Si(given / volume))),
        _ => None,
    }
}

#[test]
fn tanks_give_the_water_of_the_published_examples() {
    check("tank_drawdown.csv", 13, &[], drawdown);
}
