//! A pump that runs against a closed line: how fast its power heats the water inside it.

use super::catalog::pump as say;
use super::finding::{Book, volume};
use super::limits::{HOT_WATER_K, PUMP_WATER_M3};
use super::phrase::{Limit, Value};
use crate::garden::Garden;
use crate::parts::Id;
use crate::quantity::ZERO_CELSIUS_K;

/// Specific heat of water at 15 degC, J/(kg K): the calorie at 15 degC, from memory. IAPWS-95 gives 4188 (iapws 1.5.5).
const SPECIFIC_HEAT: f64 = 4186.0;

/// Rise of temperature of trapped water, K/s, when all of a power stays in it: P / (m c).
///
/// Source: energy balance; 42.4 P / (W C) degF a minute with hp and lb, since 1 hp is 42.4 Btu/min.
pub(super) fn rise_k_per_s(power_w: f64, mass_kg: f64) -> f64 {
    power_w / (mass_kg * SPECIFIC_HEAT)
}

/// Reports the heating of a booster whose electrical power is given; some of that stays in the motor, so it is the most.
pub(super) fn report(book: &mut Book, booster: usize) {
    let Some(watts) = book.garden.parts()[booster].quantity(Id::InputPower) else { return };
    let Some((hot, minutes)) = time_to_hot(book.garden, booster) else { return };
    let rise = rise_k_per_s(watts.si, PUMP_WATER_M3 * book.garden.water().density_kg_per_m3);
    let finding =
        book.about(&say::HEATS, booster).with("power", watts).with("volume", Limit::of_practice(volume(PUMP_WATER_M3), "L"));
    let rise = either(format!("{:.0} degF", 108.0 * rise), format!("{:.1} degC", 60.0 * rise));
    book.add(finding.with("rise", rise).with("hot", hot).with("minutes", minutes));
}

/// The temperature that counts as hot, and how many minutes it takes against a closed line; nothing where no power is given.
pub(super) fn time_to_hot(garden: &Garden, booster: usize) -> Option<(Value, Value)> {
    let power_w = garden.parts()[booster].si(Id::InputPower)?;
    let water = garden.water();
    let rise = rise_k_per_s(power_w, PUMP_WATER_M3 * water.density_kg_per_m3);
    let minutes = (HOT_WATER_K - water.temperature_k).max(0.0) / rise / 60.0;
    let hot_c = HOT_WATER_K - ZERO_CELSIUS_K;
    Some((
        either(format!("{:.0} degF", 1.8 * hot_c + 32.0), format!("{hot_c:.0} degC")),
        Value::Number { value: minutes, decimals: 1 },
    ))
}

fn either(us: String, metric: String) -> Value {
    Value::Either { us, metric }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_horsepower_heats_a_pound_of_water_by_42_4_degf_a_minute() {
        let degf_a_minute = rise_k_per_s(745.7, 0.453_592_37) * 60.0 * 1.8;
        approx::assert_relative_eq!(degf_a_minute, 42.4, max_relative = 1e-3);
    }
}
