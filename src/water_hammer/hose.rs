//! A hose as waves see it: how long they take through it, and whether it is too short for them.

use super::waves::{DEFAULT_HOSE_WALL, DEFAULT_PIPE_WALL, compliance_of_wall, wave_speed};
use crate::garden::Garden;
use crate::parts::{Id, Kind};

/// A hose or pipe as waves see it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hose {
    pub place: usize,
    pub wave_speed_m_per_s: f64,
    /// True where no stretch was given and that of a usual wall is taken.
    pub assumed: bool,
    pub travel_s: f64,
}

/// The hose of a place as waves see it.
pub fn hose_of(garden: &Garden, place: usize) -> Option<Hose> {
    let part = &garden.parts()[place];
    let wall = match part.kind() {
        Kind::Hose => DEFAULT_HOSE_WALL,
        Kind::Pipe => DEFAULT_PIPE_WALL,
        _ => return None,
    };
    let (length_m, diameter_m) = (part.value(Id::Length), part.value(Id::Diameter));
    let given = part.si(Id::Compliance);
    let water = garden.water();
    let speed = wave_speed(
        water.density_kg_per_m3,
        water.bulk_modulus_pa(),
        diameter_m,
        given.unwrap_or_else(|| compliance_of_wall(diameter_m, wall)),
    );
    Some(Hose { place, wave_speed_m_per_s: speed, assumed: given.is_none(), travel_s: length_m / speed })
}

/// A hose is a lump when a wave takes fewer steps through it than this.
pub const LUMPED_BELOW: f64 = 1.5;

/// True for a hose that is too short for waves of this step.
pub fn is_lump(hose: &Hose, step_s: f64) -> bool {
    hose.travel_s < LUMPED_BELOW * step_s
}

/// Stretches of a hose that is no lump.
pub fn number_of_stretches(hose: &Hose, step_s: f64) -> usize {
    ((hose.travel_s / step_s).round() as usize).max(1)
}
