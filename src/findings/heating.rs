//! A pump that runs against a closed line: how fast its power heats the water inside it.

use super::finding::{Book, Cause, Level, Source};
use super::limits::{HOT_WATER_K, PUMP_WATER_M3};
use crate::parts::Id;
use crate::quantity::{Quantity, dim};

const HEATS: Cause = Cause {
    code: "dead-head-heat",
    level: Level::Warning,
    why: "hot water ruins the seal and softens plastic, and whoever opens a valve then is scalded",
    source: Source::Physics,
};

/// Specific heat of water at 15 degC, J/(kg K): 4186 in steam tables, from memory.
const SPECIFIC_HEAT: f64 = 4186.0;

/// Rise of temperature of trapped water, K/s, when all of a power stays in it: P / (m c).
///
/// Source: pump handbooks give 42.4 P / (W C) in degF a minute, with hp and lb (from memory).
pub(super) fn rise_k_per_s(power_w: f64, mass_kg: f64) -> f64 {
    power_w / (mass_kg * SPECIFIC_HEAT)
}

/// Tells the heating of a booster whose electrical power is given; some of that stays in the motor, so it is the most.
pub(super) fn tell(book: &mut Book, booster: usize) {
    let garden = book.garden;
    let Ok(watts) = garden.parts()[booster].get(Id::Watts) else { return };
    let water = garden.water();
    let rise = rise_k_per_s(watts.si, PUMP_WATER_M3 * water.density_kg_per_m3);
    let minutes = (HOT_WATER_K - water.temperature_k).max(0.0) / rise / 60.0;
    let volume = book.given(Quantity::new(PUMP_WATER_M3, dim::VOLUME));
    let what = format!(
        "against a closed line the {} of {} heat the water in it by up to {:.1} degC a minute ({:.0} degF), if it holds {volume}: \
         60 degC (140 degF) after {minutes:.1} minutes",
        book.given(watts),
        book.title(booster),
        60.0 * rise,
        108.0 * rise
    );
    book.add(HEATS, booster, what, "let a switch stop it, or let a little water run off through a small bypass");
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
