//! A closing that takes far longer than a wave: until its end the water runs steadily at each moment.

use crate::hydraulics::{Network, PumpState, RunError, Solution};
use crate::numeric::{SeekError, seek};
use crate::parts::Law;

/// The steady state in which a valve lets this share of its flow through, above zero and below one; pumps stay as they are.
///
/// Errors: no steady state.
pub fn with_share(solution: &Solution, valve: usize, share: f64) -> Result<Solution, RunError> {
    let garden = &solution.garden;
    let mut network = Network::new(garden, &solution.open)?;
    for booster in garden.boosters() {
        network.run_pump(booster, if solution.runs[booster] { PumpState::Running } else { PumpState::Off });
    }
    let wanted = share * solution.parts[valve].flow_m3_per_s.abs();
    // The resistance is sought on a scale of powers, from one that is nothing to one that stops all but the wanted flow.
    let mut excess = |power: f64| -> Result<f64, RunError> {
        network.put_law(valve, Law::Quadratic { resistance: power.exp() });
        network.solve().map_err(|error| error.named(garden))?;
        Ok((network.flow(valve).abs().max(f64::MIN_POSITIVE) / wanted).ln())
    };
    const TOLERANCE: f64 = 1e-10;
    let low = (RESISTANCE_OF_NOTHING_PA / (wanted * wanted)).ln();
    let high = low + WIDEST;
    let power = match seek(low, high, TOLERANCE, &mut excess) {
        Ok(sought) => sought.x,
        Err(SeekError::Failed(error)) => return Err(error),
        // Where no resistance gives that flow the nearest end does.
        Err(_) => high,
    };
    excess(power)?;
    let mut late = solution.clone();
    late.node_pa.copy_from_slice(network.node_pressures_pa());
    late.parts.iter_mut().for_each(|state| state.flow_m3_per_s = network.flow(state.place));
    Ok(late)
}

/// A valve that takes so little at the wanted flow does not throttle, Pa.
const RESISTANCE_OF_NOTHING_PA: f64 = 1e-3;
/// From there to one that would take a hundred thousand bar: e to this power.
const WIDEST: f64 = 30.0;
