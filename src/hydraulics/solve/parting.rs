//! Where water parts: no pressure falls below that of its vapor, and nothing comes through beyond that.
//!
//! Water that is pulled too hard, by a pump above it or by the long leg of a siphon, boils and parts. The pressure stays at
//! that of vapor there, and the flow is what the way up to that place lets through, whatever pulls downstream of it. `link` has
//! the law; here is when it is asked, and what demands get that are fed too little.
//!
//! A garden is first solved as if water held any suction: where no pressure is too low, that answer is right as it stands.
//! Otherwise it is solved again with these limits. They only ever lower a flow, and the lower the pressure before them the
//! more, so that the balances stay monotone and have one answer.

use crate::hydraulics::circuit::Circuit;
use crate::hydraulics::state::{Supplied, Tie};
use crate::hydraulics::tolerances::{CLOSES_BELOW, DEMANDS_WAIT, LINKS_GIVE_WAY_PA, RESTS_BELOW};

/// True when the state of the last solve holds more suction than water can.
pub fn overdrawn(circuit: &mut Circuit) -> bool {
    let allowed_pa = circuit.allowed_pa();
    let structure = &*circuit.structure;
    let lowest_pa = circuit.vapor_pa - allowed_pa;
    if structure.demands.iter().any(|&(unknown, _)| circuit.state.pressures_pa[unknown] < lowest_pa) {
        return true;
    }
    let pressures = &circuit.state.pressures_pa;
    structure.ends.iter().zip(&mut circuit.link_laws).zip(&circuit.state.links).any(|((link, law), state)| {
        if !law.may_part() || law.blocked || state.closed || (law.one_way && state.flow == 0.0) {
            return false;
        }
        let from_pa = link.from().map_or(0.0, |node| pressures[node]);
        let to_pa = link.to().map_or(0.0, |node| pressures[node]);
        // At rest the sign of a flow is rounding, and water stands no higher whichever way it came.
        let rests = state.flow.abs() <= RESTS_BELOW;
        let flows = if rests { [f64::MIN_POSITIVE, -f64::MIN_POSITIVE] } else { [state.flow; 2] };
        flows[..if rests { 2 } else { 1 }].iter().any(|&flow| law.too_low_pa(from_pa, to_pa, flow) > allowed_pa)
    })
}

/// The lowest pressure of the last solve, also where a link would part, Pa.
pub fn lowest_pa(circuit: &mut Circuit) -> f64 {
    let pressures = &circuit.state.pressures_pa;
    let lowest_pa = pressures.iter().fold(circuit.vapor_pa, |least, pressure| least.min(*pressure));
    let links = circuit.structure.ends.iter().zip(&mut circuit.link_laws).zip(&circuit.state.links);
    let too_low_pa = links.fold(0.0f64, |most, ((link, law), state)| {
        let at = |end: Option<usize>| end.map_or(0.0, |node| pressures[node]);
        if law.blocked { most } else { most.max(law.too_low_pa(at(link.from()), at(link.to()), state.flow)) }
    });
    lowest_pa.min(circuit.vapor_pa - too_low_pa)
}

/// From now on solves look at all places where water may part, or at none.
pub fn look(circuit: &mut Circuit, parts: bool) {
    if !parts && !circuit.state.parts_water {
        return;
    }
    circuit.state.parts_water = parts;
    circuit.link_laws.iter_mut().for_each(|law| law.parts = parts);
    circuit.state.supplied.fill(Supplied::Full);
    circuit.state.unmet.fill(0.0);
}

/// Nodes that a pump or a falling line pulls on so hard that water parts right there: that limits the pull first.
fn mark_pulled(circuit: &mut Circuit) {
    circuit.work.scratch.fill(0.0);
    for ((link, law), state) in circuit.structure.ends.iter().zip(&circuit.link_laws).zip(&circuit.state.links) {
        let pulled = match law.parted_step(state.holding).filter(|_| !state.closed) {
            Some((_, true)) => link.from(),
            Some((_, false)) => link.to(),
            None => None,
        };
        if let Some(node) = pulled {
            circuit.work.scratch[node] = 1.0;
        }
    }
}

/// Adds what demands go without to the right side; returns by how far nodes that are short are off vapor pressure.
pub fn linearize_demands(circuit: &mut Circuit) -> f64 {
    let slope = 1.0 / circuit.stand_in_slope();
    let mut worst_pa = 0.0f64;
    for node in 0..circuit.demands.len() {
        if circuit.state.supplied[node] == Supplied::Short {
            // The node is tied to vapor pressure; what that takes is what is missing.
            let over_pa = circuit.state.pressures_pa[node] - circuit.vapor_pa;
            circuit.state.unmet[node] -= slope * over_pa;
            circuit.work.flow_change = circuit.work.flow_change.max((slope * over_pa).abs());
            circuit.work.matrix.add_diagonal(node, slope);
            worst_pa = worst_pa.max(over_pa.abs());
        }
        circuit.work.right[node] += circuit.state.unmet[node];
    }
    worst_pa
}

/// Follows a step that has just been solved for; its changes of pressure stand in the right side.
pub fn step_demands(circuit: &mut Circuit) {
    let slope = 1.0 / circuit.stand_in_slope();
    for node in 0..circuit.demands.len() {
        if circuit.state.supplied[node] == Supplied::Short {
            let change = slope * circuit.work.right[node];
            circuit.work.flow_change = circuit.work.flow_change.max(change.abs());
            circuit.state.unmet[node] -= change;
        }
    }
}

/// Looks at the demands once the rest has settled, or has had its time; true when a state of one has changed.
///
/// They come last: what pulls too hard gives way first, and the pressures of the first steps say nothing of what is left.
pub fn draws_change(circuit: &mut Circuit, settled: bool, iteration: usize) -> bool {
    circuit.state.parts_water && (settled || (iteration + 1).is_multiple_of(DEMANDS_WAIT)) && change_demand_states(circuit)
}

/// Changes the states of demands that do not fit pressures and flows; false when all do.
pub fn change_demand_states(circuit: &mut Circuit) -> bool {
    if !circuit.state.parts_water {
        return false;
    }
    mark_pulled(circuit);
    let allowed_pa = circuit.allowed_pa();
    let mut changes = false;
    for node in (0..circuit.demands.len()).filter(|&node| circuit.demands[node] != 0.0) {
        let over_pa = circuit.state.pressures_pa[node] - circuit.vapor_pa;
        let (demand, unmet) = (circuit.demands[node], circuit.state.unmet[node]);
        let (supplied, unmet) = match circuit.state.supplied[node] {
            Supplied::Full if over_pa < -allowed_pa && circuit.work.scratch[node] == 0.0 => (Supplied::Short, unmet),
            Supplied::Short if unmet < -CLOSES_BELOW => (Supplied::Full, 0.0),
            Supplied::Short if unmet > demand + CLOSES_BELOW => (Supplied::Dry, demand),
            Supplied::Dry if over_pa > allowed_pa => (Supplied::Short, unmet),
            _ => continue,
        };
        (circuit.state.supplied[node], circuit.state.unmet[node]) = (supplied, unmet);
        changes = true;
    }
    changes
}

/// What a demand goes without at a pressure, when its shortage is given a little slope so that it follows from the pressure.
fn relaxed(circuit: &Circuit, node: usize) -> f64 {
    ((circuit.vapor_pa - circuit.state.pressures_pa[node]) / circuit.stand_in_slope()).clamp(0.0, circuit.demands[node])
}

/// The part of demands in the imbalances of a relaxation.
pub fn relax_draws(circuit: &mut Circuit) {
    if !circuit.state.parts_water {
        return;
    }
    for node in (0..circuit.demands.len()).filter(|&node| circuit.demands[node] != 0.0).collect::<Vec<_>>() {
        let unmet = relaxed(circuit, node);
        circuit.work.right[node] += unmet;
        if unmet > 0.0 && unmet < circuit.demands[node] {
            circuit.work.matrix.add_diagonal(node, 1.0 / circuit.stand_in_slope());
        }
    }
}

/// Sets the states of demands to match pressures that were found by relaxation.
pub fn supply_relaxed(circuit: &mut Circuit) {
    for node in 0..circuit.demands.len() {
        let unmet = if circuit.state.parts_water { relaxed(circuit, node) } else { 0.0 };
        circuit.state.unmet[node] = unmet;
        circuit.state.supplied[node] = match unmet {
            _ if unmet == 0.0 => Supplied::Full,
            _ if unmet < circuit.demands[node] => Supplied::Short,
            _ => Supplied::Dry,
        };
    }
}

/// Closes the links at rest through which water could flow neither way, were vapor at the ends that it does not reach: what
/// is downstream of them has none, whichever way the steps came there. Demands that get nothing there are dry.
pub fn close_resting(circuit: &mut Circuit) {
    if !circuit.state.parts_water {
        return;
    }
    for node in 0..circuit.demands.len() {
        if circuit.state.supplied[node] == Supplied::Short && circuit.demands[node] - circuit.state.unmet[node] <= RESTS_BELOW {
            (circuit.state.supplied[node], circuit.state.unmet[node]) = (Supplied::Dry, circuit.demands[node]);
        }
    }
    let vapor_pa = circuit.at_vapor_below_pa();
    let structure = &*circuit.structure;
    for (index, link) in structure.ends.iter().enumerate() {
        let (law, state) = (&mut circuit.link_laws[index], &mut circuit.state.links[index]);
        if law.blocked || !law.may_part() || state.closed || state.flow.abs() > RESTS_BELOW {
            continue;
        }
        let below = |end: Option<usize>| end.is_some_and(|node| circuit.state.pressures_pa[node] < vapor_pa);
        let at = |end: Option<usize>| end.map_or(0.0, |node| circuit.state.pressures_pa[node].max(circuit.vapor_pa));
        let (from_pa, to_pa) = (at(link.from()), at(link.to()));
        let stands = (below(link.from()) || below(link.to())) && !law.pushes_open(from_pa, to_pa, 4.0 * LINKS_GIVE_WAY_PA);
        if stands {
            (state.flow, state.closed) = (0.0, true);
        }
    }
}

/// Marks the links at rest in which water would flow but is parted by a crest or a pump too high.
pub fn mark_resting(circuit: &mut Circuit) {
    if !circuit.state.parts_water {
        return;
    }
    let allowed_pa = circuit.allowed_pa();
    let structure = &*circuit.structure;
    let has_water = |end: Option<usize>, ties: &[Tie]| end.is_none_or(|node| ties[node] != Tie::Loose);
    for (index, link) in structure.ends.iter().enumerate() {
        let (law, state) = (&mut circuit.link_laws[index], &mut circuit.state.links[index]);
        if law.blocked || !law.may_part() || !(state.closed || state.flow == 0.0) {
            continue;
        }
        let at = |end: Option<usize>| end.map_or(0.0, |node| circuit.state.pressures_pa[node].max(circuit.vapor_pa));
        let (from_pa, to_pa) = (at(link.from()), at(link.to()));
        let pushed_pa = -law.excess(None, from_pa, to_pa, 0.0).loss_pa;
        let (from_wet, to_wet) = (has_water(link.from(), &circuit.state.ties), has_water(link.to(), &circuit.state.ties));
        state.holding = if pushed_pa > allowed_pa && from_wet {
            law.ruler(from_pa, to_pa, 0.0).0
        } else if pushed_pa < -allowed_pa && !law.one_way && to_wet {
            law.backward_ruler_at_rest(from_pa, to_pa).0
        } else {
            None
        };
    }
}

#[cfg(test)]
mod tests {
    use crate::garden::Garden;
    use crate::hydraulics::test_parts::part;
    use crate::hydraulics::{Network, Probe, ProbeKind};
    use crate::parts::{Id, Kind, Part};
    use crate::quantity::{GPM_M3_PER_S, PSI_PA};

    fn weak_tap() -> Part {
        let numbers = [("static_pressure", 20.0, "psi"), ("measured_pressure", 5.0, "psi"), ("measured_flow", 3.0, "gpm")];
        part(Kind::Supply, "tap", &numbers)
    }

    /// A pump that adds `psi` at rest and half of it at 20 gpm.
    fn strong_pump(psi: f64) -> Part {
        let curve = [(0.0, psi * PSI_PA), (20.0 * GPM_M3_PER_S, 0.5 * psi * PSI_PA)];
        Part::new(Kind::Booster).named("strong").and_then(|part| part.with_curve(&curve)).expect("a booster")
    }

    fn pumped(psi: f64, rise_ft: f64, diameter_in: f64, head_in: f64, draw_gpm: f64) -> Network {
        let parts = vec![
            weak_tap(),
            part(Kind::Head, "head2", &[("nozzle", 0.2979, "in")]),
            part(Kind::Relief, "relief2", &[("set", 32.36, "psi")]),
            part(Kind::Hose, "feed", &[("length", 40.0, "ft"), ("diameter", diameter_in, "in")]),
            part(Kind::Demand, "demand", &[("flow", draw_gpm, "gpm")]),
            part(Kind::Uphill, "rise", &[("height", rise_ft, "ft")]),
            strong_pump(psi),
            part(Kind::Head, "head", &[("nozzle", head_in, "in")]),
            part(Kind::Relief, "relief", &[("set", 43.53, "psi")]),
        ];
        let joints = [(0, 0), (0, 0), (0, 0), (0, 1), (1, 1), (1, 2), (2, 3), (3, 3), (3, 3)];
        let garden = Garden::from_joints(parts, &joints).expect("joins");
        Network::new(&garden, &[true; 9]).expect("a sound garden")
    }

    /// Beyond a crest that no water passes, a demand that asks for more still gets nothing.
    #[test]
    fn a_dry_demand_that_asks_for_more_stays_dry() {
        let parts = vec![
            weak_tap(),
            part(Kind::Uphill, "up", &[("height", 200.0, "ft")]),
            part(Kind::Hose, "top", &[("length", 5.0, "ft"), ("diameter", 0.5, "in")]),
            part(Kind::Downhill, "down", &[("height", 190.0, "ft")]),
            part(Kind::Demand, "draw", &[("flow", 1.0, "gpm")]),
        ];
        let garden = Garden::from_joints(parts, &[(0, 0), (0, 1), (1, 2), (2, 3), (3, 3)]).expect("joins");
        let mut network = Network::new(&garden, &[true; 5]).expect("a sound garden");
        for gpm in [1.0, 2.0, 0.5] {
            network.set(4, Id::Flow, gpm * GPM_M3_PER_S).expect("a flow");
            network.solve().expect("a steady state");
            let flow = network.probe(&Probe { place: 4, kind: ProbeKind::Flow });
            assert_eq!(flow, 0.0, "{gpm} gpm");
        }
    }

    /// A demand and a pump with nothing but a climb between them, and a branch that makes the inlet a fork.
    #[test]
    fn a_pump_at_a_fork_that_pulls_on_a_draw_through_a_climb_has_a_steady_state() {
        for step in 0..60 {
            let psi = 20.0 + 2.0 * f64::from(step);
            let parts = vec![
                weak_tap(),
                part(Kind::Hose, "feed", &[("length", 40.0, "ft"), ("diameter", 0.3, "in")]),
                part(Kind::Demand, "demand", &[("flow", 0.1, "gpm")]),
                part(Kind::Uphill, "rise", &[("height", 17.25, "ft")]),
                strong_pump(psi),
                part(Kind::Head, "head", &[("nozzle", 0.1955, "in")]),
                part(Kind::Hose, "out", &[("length", 5.0, "ft"), ("diameter", 0.3, "in")]),
                part(Kind::Relief, "relief2", &[("set", 20.0, "psi")]),
                part(Kind::Hose, "side", &[("length", 5.0, "ft"), ("diameter", 0.3, "in")]),
                part(Kind::Relief, "relief", &[("set", 20.0, "psi")]),
            ];
            let joints = [(0, 0), (0, 1), (1, 1), (1, 2), (2, 3), (3, 3), (3, 4), (4, 4), (2, 5), (5, 5)];
            let garden = Garden::from_joints(parts, &joints).expect("joins");
            let mut network = Network::new(&garden, &[true; 10]).expect("a sound garden");
            network.solve().unwrap_or_else(|error| panic!("{psi} psi: {error}"));
        }
    }

    #[test]
    fn a_pump_of_any_strength_that_pulls_beside_a_draw_has_a_steady_state() {
        for step in 0..60 {
            let psi = 20.0 + 2.0 * f64::from(step);
            let mut network = pumped(psi, 18.47, 0.8705, 0.1669, 0.1);
            network.solve().unwrap_or_else(|error| panic!("{psi} psi: {error}"));
            let mut network = pumped(psi, 30.32, 0.5556, 0.05, 1.866);
            network.solve().unwrap_or_else(|error| panic!("thirsty, {psi} psi: {error}"));
        }
    }
}
