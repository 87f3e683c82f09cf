//! The tank that a pump needs: volume and precharge for a limit on starts and a least run, worked out from the pump's curve.

use super::error::OperationError;
use super::plant::feed_at;
use crate::garden::{Garden, booster_of};
use crate::hydraulics::{Network, PumpState};
use crate::laws::vessel::Vessel;
use crate::numeric::{bottom, simpson};
use crate::parts::{Id, Law, Placing};
use crate::quantity::PSI_PA;
use std::convert::Infallible;

/// The precharge of a tank is to lie this far below cut-in, Pa: 2 psi. Common practice, no source.
pub const PRECHARGE_BELOW_CUT_IN_PA: f64 = 2.0 * PSI_PA;
/// Intervals of pressure between cut-in and cut-out.
const INTERVALS: usize = 200;

/// What a tank must do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TankNeeds {
    /// Most starts, 1/s.
    pub starts_per_s: f64,
    /// Shortest run from start to stop, s.
    pub shortest_run_s: f64,
}

/// A tank that does it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tank {
    /// The switch beside which it stands, by its place in the garden.
    pub switch: usize,
    /// Room for air and water together, m3.
    pub volume_m3: f64,
    /// Gauge pressure of its air while no water is in, Pa.
    pub precharge_pa: f64,
    /// Water between cut-out and cut-in, m3.
    pub drawdown_m3: f64,
    /// The demand at which the pump starts most often, m3/s.
    pub worst_demand_m3_per_s: f64,
    /// Run from cut-in to cut-out without demand, s.
    pub shortest_run_s: f64,
    /// Starts at the worst demand, 1/s.
    pub starts_per_s: f64,
    /// What the volume follows from.
    pub controlling_limit: &'static str,
}

/// The smallest tank at each switch that keeps its pump within the limits at any demand. Valves and outlets count as closed.
///
/// Errors: no switch with a pump, a limit that is not above zero, or a pump that does not reach cut-out.
pub fn tank_for(garden: &Garden, needs: &TankNeeds) -> Result<Vec<Tank>, OperationError> {
    for (what, value) in [("the limit of starts", needs.starts_per_s), ("the shortest run", needs.shortest_run_s)] {
        if !(value.is_finite() && value > 0.0) {
            return Err(OperationError::NotPositive { what: what.into(), found: value.to_string() });
        }
    }
    let switches = garden.switches().filter(|&switch| booster_of(garden, switch).is_some());
    let tanks = switches.map(|switch| tank_at(garden, switch, needs)).collect::<Result<Vec<_>, _>>()?;
    if tanks.is_empty() { Err(OperationError::NoSwitch) } else { Ok(tanks) }
}

fn tank_at(garden: &Garden, switch: usize, needs: &TankNeeds) -> Result<Tank, OperationError> {
    let part = &garden.parts()[switch];
    let (cut_in, cut_out) = (part.si(Id::CutIn).unwrap_or(0.0), part.si(Id::CutOut).unwrap_or(0.0));
    let precharge_pa = (cut_in - PRECHARGE_BELOW_CUT_IN_PA).max(0.0);
    let vessel = Vessel::Cushion { volume_m3: 1.0, precharge_pa };
    let step = (cut_out - cut_in) / INTERVALS as f64;
    let pressures: Vec<f64> = (0..=INTERVALS).map(|index| cut_in + step * index as f64).collect();
    let flows = pump_flows(garden, switch, &pressures)?;
    let least = flows.iter().copied().fold(f64::INFINITY, f64::min);
    if least <= 0.0 {
        return Err(OperationError::CannotReach { switch: garden.name(switch).to_string() });
    }
    let capacity: Vec<f64> = pressures.iter().map(|&pressure| vessel.m3_per_pa(pressure)).collect();
    let drawdown = vessel.volume_m3(cut_out) - vessel.volume_m3(cut_in);
    // Times of a tank of one cubic meter; those of others are in proportion.
    let fill_s = |demand: f64| simpson(step, capacity.iter().zip(&flows).map(|(capacity, flow)| capacity / (flow - demand)));
    let cycle_s = |demand: f64| drawdown / demand + fill_s(demand);
    let Ok(worst) =
        bottom(1e-3 * least, (1.0 - 1e-3) * least, 0.0, |demand| Ok::<f64, Infallible>(cycle_s(demand)), |a, b| a < b);
    let for_starts = 1.0 / (needs.starts_per_s * cycle_s(worst));
    let for_run = needs.shortest_run_s / fill_s(0.0);
    let (volume_m3, controlling_limit) = if for_starts >= for_run { (for_starts, "starts") } else { (for_run, "shortest run") };
    Ok(Tank {
        switch,
        volume_m3,
        precharge_pa,
        drawdown_m3: volume_m3 * drawdown,
        worst_demand_m3_per_s: worst,
        shortest_run_s: volume_m3 * fill_s(0.0),
        starts_per_s: 1.0 / (volume_m3 * cycle_s(worst)),
        controlling_limit,
    })
}

/// What the running pump gives at the switch against each pressure, everything downstream closed, m3/s.
fn pump_flows(garden: &Garden, switch: usize, pressures: &[f64]) -> Result<Vec<f64>, OperationError> {
    let source = garden.parts().len();
    let measured = feed_at(garden, garden.layout().places[switch].to, "measured water")?;
    let shut = |place: &crate::parts::Part| place.traits().opens || place.spec().placing == Placing::Outlet;
    let open: Vec<bool> = measured.parts().iter().map(|part| !shut(part)).collect();
    let mut network = Network::new(&measured, &open)?;
    garden.boosters().for_each(|booster| network.run_pump(booster, PumpState::Running));
    pressures
        .iter()
        .map(|&pressure_pa| {
            network.put_law(source, Law::Source { pressure_pa, resistance: 0.0 });
            let solved = network.solve().map(|_| -network.flow(source));
            solved.map_err(|error| OperationError::Solve {
                when: "any time".into(),
                setting: "all valves closed".into(),
                error: error.named(&measured),
            })
        })
        .collect()
}
