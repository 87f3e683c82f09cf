//! What a short-cycling switch makes of a steady state: the booster stops before the pressures of that state are reached.

use super::reach::{Way, reached};
use crate::hydraulics::{Reading, Verdict};
use crate::parts::Id;

/// How far the pressure behind a part lies above what stands there when the switch stops the booster, Pa; zero where no
/// switch short-cycles upstream. Good to the friction that changes in between.
pub(super) fn overshoot_pa(reading: &Reading, place: usize) -> f64 {
    let garden = &reading.garden;
    let places = &garden.layout().places;
    let cycling = reading.switches.iter().filter(|switch| switch.verdict == Verdict::Cycles);
    let overshoots = cycling.filter_map(|switch| {
        let cut_out_pa = garden.parts()[switch.place].si(Id::CutOut)?;
        let behind = reached(garden, places[switch.booster].to, |part, way| way == Way::Down && part != switch.booster);
        behind[places[place].to].then_some(switch.at_pa - cut_out_pa)
    });
    overshoots.fold(0.0, f64::max)
}
