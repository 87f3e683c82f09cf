//! Pressures at all nodes of the layout: the answer of a solve spread over parts in series and legs without flow.

use super::trace::loss_pa;
use crate::hydraulics::circuit::Circuit;
use crate::hydraulics::model::structure::{Link, LinkStep};
use crate::hydraulics::state::{Supplied, Tie};
use crate::parts::Law;

/// Fills in the pressures of all nodes of the layout; NaN where no supply reaches.
pub fn spread(circuit: &Circuit, node_pa: &mut [f64]) {
    node_pa.fill(f64::NAN);
    for (index, &node) in circuit.structure.unknowns.iter().enumerate() {
        node_pa[node] = known_pa(circuit, index);
    }
    for (index, link) in circuit.structure.links.iter().enumerate() {
        walk(circuit, index, link, node_pa);
    }
    for &(place, node) in &circuit.structure.idle_sources {
        match &circuit.laws[place] {
            Law::Source { pressure_pa, .. } => node_pa[node] = *pressure_pa,
            Law::Stored { store, from_m3, span_s } => node_pa[node] = store.stand(*from_m3, *span_s).pressure_pa,
            _ => {}
        }
    }
    for leg in &circuit.structure.still {
        let step = LinkStep { place: leg.place, forward: leg.forward };
        let before_pa = node_pa[leg.from_node];
        let downstream_pa = downstream(circuit, step, before_pa, 0.0);
        // No water comes down from a crest that it does not reach.
        let parted = before_pa <= circuit.at_vapor_below_pa() && downstream_pa > before_pa;
        node_pa[leg.to_node] = if parted { f64::NAN } else { held_up(circuit, downstream_pa) };
        if !leg.forward && circuit.laws[leg.place].is_gate() {
            // Nothing flows back through it: what is downstream has no supply.
            node_pa[leg.to_node] = f64::NAN;
        }
    }
}

/// Pressure of an unknown; NaN where nothing ties it.
fn known_pa(circuit: &Circuit, unknown: usize) -> f64 {
    if circuit.state.ties[unknown] == Tie::Loose { f64::NAN } else { held_up(circuit, circuit.state.pressures_pa[unknown]) }
}

/// Pressure of an unknown up to which water reaches without flow; NaN where it does not get there.
fn standing_pa(circuit: &Circuit, unknown: usize) -> f64 {
    let known_pa = circuit.state.pressures_pa[unknown];
    let stands = known_pa >= circuit.vapor_pa || circuit.state.supplied[unknown] == Supplied::Short;
    if !stands || circuit.state.ties[unknown] == Tie::Loose { f64::NAN } else { known_pa.max(circuit.vapor_pa) }
}

/// A pressure, or that of vapor where water would stand below it; NaN stays.
fn held_up(circuit: &Circuit, pressure_pa: f64) -> f64 {
    if pressure_pa < circuit.vapor_pa { circuit.vapor_pa } else { pressure_pa }
}

/// Pressure downstream of a step, from the pressure before it and the flow in the direction of the link.
fn downstream(circuit: &Circuit, step: LinkStep, before_pa: f64, flow: f64) -> f64 {
    let sign = if step.forward { 1.0 } else { -1.0 };
    let (law, runs) = (&circuit.laws[step.place], circuit.runs[step.place]);
    if let Some(set_pa) = law.holds_pa().filter(|_| step.forward && !law.discharges()) {
        let open_pa = before_pa - loss_pa(law, runs, sign, flow);
        // `f64::min` would turn "nothing fed" into the setting.
        return if open_pa > set_pa { set_pa } else { open_pa };
    }
    match law {
        // A source begins at the outside.
        Law::Source { .. } => 0.0 - law.loss(runs, flow).loss_pa,
        Law::Stored { .. } => 0.0 - law.loss(runs, sign * flow).loss_pa,
        _ if law.discharges() => before_pa,
        _ => before_pa - loss_pa(law, runs, sign, flow),
    }
}

/// Fills in the pressures along a link.
fn walk(circuit: &Circuit, index: usize, link: &Link, node_pa: &mut [f64]) {
    let flow = circuit.state.links[index].flow;
    let parted = circuit.link_laws[index].parted_step(circuit.state.links[index].holding);
    let last = link.steps.len().saturating_sub(1);
    let mut pressure =
        link.from.map_or(0.0, |node| if flow == 0.0 { standing_pa(circuit, node) } else { known_pa(circuit, node) });
    for (position, step) in link.steps.iter().enumerate() {
        if link.to.is_none() && position == last && link.steps.len() > 1 {
            break;
        }
        if flow == 0.0 && parted == Some((position, true)) {
            // A pump or a way downhill that gets no water pushes nothing on.
            break;
        }
        let comes_through = flow != 0.0 || step.forward || !is_gate(circuit, step);
        pressure = if comes_through { downstream(circuit, *step, pressure, flow) } else { f64::NAN };
        if flow != 0.0 {
            // Beyond a place where water parts it may part again.
            pressure = held_up(circuit, pressure);
        }
        if position < last || link.to.is_none() {
            node_pa[link.nodes[position]] = held_up(circuit, pressure);
        }
        if flow == 0.0 && pressure < circuit.vapor_pa {
            // Without flow nothing comes over a crest that it does not reach.
            break;
        }
    }
    if flow == 0.0 {
        walk_back_at_rest(circuit, link, parted, node_pa);
    } else if let Some((step, forward)) = parted {
        walk_back_to_gap(circuit, link, (step, forward), flow, node_pa);
    }
}

/// Beyond the place where water parts the far end rules: what stands there is what the rest of the link has still to lose.
fn walk_back_to_gap(circuit: &Circuit, link: &Link, (gap, forward): (usize, bool), flow: f64, node_pa: &mut [f64]) {
    let loss = |step: &LinkStep| {
        let sign = if step.forward { 1.0 } else { -1.0 };
        loss_pa(&circuit.laws[step.place], circuit.runs[step.place], sign, flow)
    };
    let mut pressure = link.to.map_or(0.0, |node| known_pa(circuit, node));
    let lowest = if forward { gap + 1 } else { 1 };
    for position in (lowest..link.steps.len()).rev() {
        pressure = held_up(circuit, pressure + loss(&link.steps[position]));
        // Water that flows backward has the far end upstream of the gap, and the walk from the near end is right beyond it.
        if forward || position > gap {
            node_pa[link.nodes[position - 1]] = pressure;
        }
    }
}

/// Water at rest fills a link from its far end too: of two sides the one with more pressure rules what lies between gates.
fn walk_back_at_rest(circuit: &Circuit, link: &Link, parted: Option<(usize, bool)>, node_pa: &mut [f64]) {
    if link.to.is_none() && !link.ends_in_source {
        return;
    }
    let mut pressure = link.to.map_or(0.0, |node| standing_pa(circuit, node));
    for position in (1..link.steps.len()).rev() {
        if parted == Some((position, false)) {
            break;
        }
        let step = link.steps[position];
        let back = LinkStep { forward: !step.forward, ..step };
        let comes_through = back.forward || !is_gate(circuit, &step);
        pressure = if comes_through { downstream(circuit, back, pressure, 0.0) } else { f64::NAN };
        let node = link.nodes[position - 1];
        // `f64::max` takes the other where one is no number, which is what is wanted here.
        node_pa[node] = node_pa[node].max(held_up(circuit, pressure));
        if pressure < circuit.vapor_pa {
            break;
        }
    }
}

/// True for parts that let water through one way only.
fn is_gate(circuit: &Circuit, step: &LinkStep) -> bool {
    circuit.laws[step.place].is_gate()
}
