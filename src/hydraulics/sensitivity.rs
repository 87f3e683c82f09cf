//! Sensitivities: how a pressure or flow of a solved garden changes with any number of any part.
//!
//! What a change of every law is worth is known from one solve (`answer::slopes`); how a law changes with a number is a difference
//! of the law alone, without any further solve.

use super::answer::no_slope::NoSlope;
use super::answer::probe::Probe;
use super::answer::slopes::{self, Slopes};
use super::network::Network;
use super::tolerances::DIFFERENCE_STEP;
use crate::parts::{Id, Law, Part};
use crate::quantity::find_unit;

impl Network {
    /// The derivatives of a solution at the last solve, which must have succeeded.
    ///
    /// Errors: [`NoSlope`] says why there are none. Boosters keep running or resting as they do.
    pub fn slopes(&mut self, probe: &Probe) -> Result<Slopes, NoSlope> {
        let node = self.node_downstream(probe.place);
        slopes::slopes(&mut self.circuit, probe, node)
    }
}

impl Slopes {
    /// The derivative to a parameter of a part, SI over SI; exactly zero where it has no effect.
    ///
    /// `network` is the one the slopes were taken from. Accurate to about 1e-8. Errors: [`NoSlope`].
    pub fn to(&self, network: &Network, place: usize, number: Id) -> Result<f64, NoSlope> {
        let part = &network.parts[place];
        let value = part.value(number);
        if value.is_nan() {
            return Err(NoSlope::NotGiven);
        }
        if matches!(network.circuit.laws[place], Law::Closed) && network.circuit.structure.link_of[place].is_some() {
            return Err(NoSlope::Closed { place, name: String::new() });
        }
        let step = DIFFERENCE_STEP * if value == 0.0 { unit_of(part, number) } else { value.abs() };
        let at = |steps: f64| self.worth_at(network, place, number, value + steps * step);
        let here = || at(0.0).unwrap_or(0.0);
        let per_step = match (at(-1.0), at(1.0)) {
            (Some(below), Some(above)) => 0.5 * (above - below),
            // Where one side is forbidden, the other one to the second order.
            (None, Some(above)) => at(2.0).map_or(f64::NAN, |beyond| 1.5 * (above - here()) - 0.5 * (beyond - above)),
            (Some(below), None) => at(-2.0).map_or(f64::NAN, |beyond| 1.5 * (here() - below) - 0.5 * (below - beyond)),
            (None, None) => f64::NAN,
        };
        if per_step.is_nan() { Err(NoSlope::Refused { place, name: String::new() }) } else { Ok(per_step / step) }
    }

    /// What the laws that a number touches are worth at a value of it; none where the part refuses the value.
    fn worth_at(&self, network: &Network, place: usize, number: Id, si: f64) -> Option<f64> {
        let laws = network.laws_at(place, number, si).ok()?;
        Some(self.weigh(&laws, &network.circuit.runs))
    }
}

/// The SI size of one usual unit of a number.
fn unit_of(part: &Part, number: Id) -> f64 {
    part.spec().parameter(number).and_then(|number| find_unit(number.unit)).map_or(1.0, |unit| unit.to_si(1.0) - unit.to_si(0.0))
}
