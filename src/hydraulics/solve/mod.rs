//! The solve: from the laws of a circuit and its last state to a steady one.
//!
//! Needs no garden and no parts. The methods are in files of their own; all of them put their steps together in `assemble`.
//!
//! What is proven and what is only tested. A step makes the balances of all nodes exact. An answer is taken only when
//! pressures close along every link, nodes balance, states fit, and flows have come to rest; so what is returned is a
//! steady state, whatever method led there. That Newton's method arrives is not proven: states can follow each other in
//! circles. Then `pivoting` holds the states and changes one at a time, which cannot come back to the same states where
//! the laws are straight lines, and then `relaxation` takes over, which only ever lowers the sum of imbalances but may do so
//! slowly. All three have a bound on their steps, so every solve ends, with an answer or an error that names the worst
//! place. On random networks some 1 in 2,500 takes the second method, 1 in 100,000 the third; none of 105,000 failed.

pub mod ahead;
pub mod assemble;
mod isolated_nodes;
mod newton;
mod parting;
mod pivoting;
mod relaxation;
mod start;
pub mod stores;
mod taps;

pub use start::{start_afresh, start_over};

use super::circuit::Circuit;
use super::outcome::{Convergence, Method, SolveError};
use super::state::Tie;
use super::tolerances::{CLOSES_TO, FIRST_FLOW, LEAST_SCALE_PA, MOST_ITERATIONS, MOST_SUCTION, STAGES, SUSPECT_PA};
use newton::iterate;
use pivoting::change_one_by_one;

/// Solves and gives water trapped between closed valves the pressure it fills to.
///
/// Errors: no steady state, or one that is no answer: a flow or pressure is not finite, or higher than the sources can drive it.
pub fn solve(circuit: &mut Circuit) -> Result<Convergence, SolveError> {
    circuit.renew_demands();
    let found = attempt(circuit);
    if !circuit.state.parts_water {
        if !circuit.may_part() || (found.is_ok() && !parting::overdrawn(circuit)) {
            return found;
        }
        if found.is_err() {
            start_over(circuit);
        }
        parting::look(circuit, true);
    } else if found.is_ok() {
        return found;
    }
    attempt(circuit).or_else(|_| by_stages(circuit))
}

/// The longest way to a state in which water parts: from the answer for water that holds any suction, in stages of water that
/// holds less and less, each begun from the last. So few places part at a time.
fn by_stages(circuit: &mut Circuit) -> Result<Convergence, SolveError> {
    let own_pa = circuit.vapor_pa;
    start_over(circuit);
    let mut found = attempt(circuit);
    let lowest_pa = parting::lowest_pa(circuit).clamp(MOST_SUCTION * own_pa, own_pa);
    parting::look(circuit, true);
    for stage in 1..=STAGES {
        let share = (own_pa / lowest_pa).powf(f64::from(stage) / f64::from(STAGES));
        circuit.part_at(if stage == STAGES { own_pa } else { lowest_pa * share });
        found = attempt(circuit);
    }
    found
}

/// A solve with water that parts where it must, or holds any suction, whichever is looked at.
fn attempt(circuit: &mut Circuit) -> Result<Convergence, SolveError> {
    let convergence = settle(circuit)?;
    parting::close_resting(circuit);
    isolated_nodes::settle_loose(circuit);
    parting::mark_resting(circuit);
    if believable(circuit) { Ok(convergence) } else { Err(failure(circuit, convergence.iterations)) }
}

/// True where flows and pressures can be: what nothing ties has no pressure that counts.
fn believable(circuit: &Circuit) -> bool {
    let known = |(pressure, tie): (&f64, &Tie)| if *tie == Tie::Loose { 0.0 } else { *pressure };
    let (mut sum, mut highest) = (0.0, 0.0f64);
    for pressure in circuit.state.pressures_pa.iter().zip(&circuit.state.ties).map(known) {
        sum += pressure;
        highest = highest.max(pressure);
    }
    sum += circuit.state.links.iter().map(|state| state.flow).sum::<f64>();
    sum.is_finite() && (highest < SUSPECT_PA || highest <= circuit.ceiling_pa())
}

fn settle(circuit: &mut Circuit) -> Result<Convergence, SolveError> {
    if circuit.state.pressures_pa.is_empty() {
        return Ok(solve_alone(circuit));
    }
    let (mut done, mut iterations) = iterate(circuit, MOST_ITERATIONS);
    if let Some(residual_pa) = done {
        return Ok(Convergence { iterations, method: Method::Newton, residual_pa });
    }
    for method in [Method::OneByOne, Method::Relaxed, Method::Relaxed] {
        if method == Method::Relaxed {
            iterations += relaxation::relax(circuit);
        }
        iterations += change_one_by_one(circuit);
        let (polished, more) = iterate(circuit, MOST_ITERATIONS);
        iterations += more;
        done = polished;
        if let Some(residual_pa) = done {
            return Ok(Convergence { iterations, method, residual_pa });
        }
    }
    Err(failure(circuit, iterations))
}

/// Links between known pressures need no nodes: each is a root of its own.
fn solve_alone(circuit: &mut Circuit) -> Convergence {
    for (law, state) in circuit.link_laws.iter_mut().zip(&mut circuit.state.links) {
        let start = if state.flow == 0.0 { FIRST_FLOW } else { state.flow };
        let mut found = law.flow_between(0.0, 0.0, start);
        if circuit.tolerances.to_rounding && found.flow_m3_per_s != 0.0 {
            law.work_out_anew();
            found = law.flow_between(0.0, 0.0, found.flow_m3_per_s);
        }
        state.flow = found.flow_m3_per_s;
        if state.flow != 0.0
            && law.is_rigid(found.holding, state.flow)
            && law.excess(found.holding, 0.0, 0.0, state.flow).loss_pa.abs() > CLOSES_TO * LEAST_SCALE_PA
        {
            // Nothing slows down what drives the water: there is no such flow.
            state.flow = f64::NAN;
        }
        state.holding = found.holding;
        let parted = law.parted_step(found.holding).is_some();
        state.closed = law.blocked || (state.flow == 0.0 && (law.one_way || parted));
    }
    Convergence { iterations: 1, method: Method::Direct, residual_pa: 0.0 }
}

/// The error that names the link whose pressures are furthest from closing.
fn failure(circuit: &Circuit, iterations: usize) -> SolveError {
    let (mut worst_place, mut worst_pa) = (0, 0.0f64);
    for (index, link) in circuit.structure.links.iter().enumerate() {
        let (from_pa, to_pa) = circuit.ends_pa(index);
        let state = &circuit.state.links[index];
        let misfit_pa = (from_pa - to_pa - circuit.link_laws[index].clone().open(state.flow).loss_pa).abs();
        if !state.closed && misfit_pa > worst_pa {
            (worst_place, worst_pa) = (link.steps.first().map_or(0, |step| step.place), misfit_pa);
        }
    }
    SolveError::at(worst_place, worst_pa, iterations)
}
