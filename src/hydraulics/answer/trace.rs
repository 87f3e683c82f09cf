//! What a solution depends on: the pressure or flow of a place as a linear form in node pressures, link flows and laws.
//!
//! The counterpart of the walk by which `solution` spreads pressures along links and dead legs, for small changes.

use super::no_slope::NoSlope;
use super::probe::{Probe, ProbeKind};
use crate::hydraulics::circuit::Circuit;
use crate::hydraulics::model::structure::{Link, LinkStep};
use crate::hydraulics::state::Supplied;
use crate::hydraulics::tolerances::{LEAST_SCALE_PA, TURNS_WITHIN};
use crate::parts::Law;

/// How a small change of a solution follows from small changes elsewhere:
/// that of an unknown, of a link's flow, of the losses of parts, of settings, and of a demand's own flow.
#[derive(Clone, Debug, Default)]
pub struct Form {
    pub unknown: Option<usize>,
    pub flow: Option<(usize, f64)>,
    pub losses: Vec<(usize, f64)>,
    pub set: Option<usize>,
    pub demand: Option<usize>,
}

/// The form of what a probe reads; `node` lies downstream of its place. Errors: no supply, trapped water, or a regulator that is just turning.
pub fn form(circuit: &Circuit, probe: &Probe, node: usize, tied: &[bool]) -> Result<Form, NoSlope> {
    let place = probe.place;
    if probe.kind == ProbeKind::Flow {
        if matches!(circuit.laws[place], Law::Demand { .. }) {
            let node = circuit.structure.demands.iter().find(|(_, demand)| *demand == place).map(|(node, _)| *node);
            return match node.map(|node| circuit.state.supplied[node]) {
                Some(Supplied::Full) => Ok(Form { demand: Some(place), ..Form::default() }),
                Some(Supplied::Short) => Err(NoSlope::Short { place, name: String::new() }),
                Some(Supplied::Dry) | None => Ok(Form::default()),
            };
        }
        let sign = if circuit.structure.forward[place] { 1.0 } else { -1.0 };
        let flow = circuit.structure.link_of[place].map(|link| (link, sign));
        return Ok(Form { flow, ..Form::default() });
    }
    let tracer = Tracer { circuit, tied, scale_pa: scale_pa(circuit) };
    let (form, pressure_pa) = tracer.at_node(node)?;
    if circuit.structure.outlet[place] && pressure_pa < TURNS_WITHIN * tracer.scale_pa {
        // Water that stands lower than an outlet leaves it dry, at the pressure of the air.
        let dry = pressure_pa < -TURNS_WITHIN * tracer.scale_pa;
        return if dry { Ok(Form::default()) } else { Err(NoSlope::turning(place)) };
    }
    Ok(form)
}

/// The pressure that small differences are measured against, Pa.
pub fn scale_pa(circuit: &Circuit) -> f64 {
    let unknown = circuit.state.pressures_pa.iter().fold(LEAST_SCALE_PA, |most, pressure| most.max(pressure.abs()));
    circuit.laws.iter().fold(unknown, |most, law| match law {
        Law::Source { pressure_pa, .. } => most.max(*pressure_pa),
        _ => most,
    })
}

/// What a part takes from the pressure at a flow in the direction of its link, Pa; `sign` is -1 where the link passes it
/// against its own direction.
pub fn loss_pa(law: &Law, runs: bool, sign: f64, flow: f64) -> f64 {
    sign * law.loss(runs, sign * flow).loss_pa
}

/// The derivative of [`loss_pa`] to the flow, Pa s/m3.
pub fn loss_slope(law: &Law, runs: bool, sign: f64, flow: f64) -> f64 {
    law.loss(runs, sign * flow).slope_pa_s_per_m3
}

/// Follows the pressure from where it is known to a node.
struct Tracer<'a> {
    circuit: &'a Circuit,
    tied: &'a [bool],
    scale_pa: f64,
}

impl Tracer<'_> {
    /// Form and pressure of a layout node.
    fn at_node(&self, node: usize) -> Result<(Form, f64), NoSlope> {
        let structure = &*self.circuit.structure;
        if let Some(unknown) = structure.unknowns.iter().position(|&known| known == node) {
            return self.at_unknown(Some(unknown)).map(|here| self.held_up(here));
        }
        for (index, link) in structure.links.iter().enumerate() {
            let last = link.steps.len() - 1;
            let position = link.nodes.iter().position(|&on| on == node);
            if let Some(position) = position.filter(|&position| position < last || link.to.is_none()) {
                return self.inside(index, link, position).map(|here| self.held_up(here));
            }
        }
        if let Some(&(place, _)) = structure.idle_sources.iter().find(|(_, at)| *at == node) {
            return self.downstream(LinkStep { place, forward: true }, None, 0.0, (Form::default(), 0.0));
        }
        let Some(leg) = structure.still.iter().find(|leg| leg.to_node == node) else { return Err(NoSlope::NotFed) };
        if !leg.forward && self.circuit.laws[leg.place].is_gate() {
            return Err(NoSlope::NotFed);
        }
        let before = self.at_node(leg.from_node)?;
        let before_pa = before.1;
        let downstream = self.downstream(LinkStep { place: leg.place, forward: leg.forward }, None, 0.0, before)?;
        if before_pa <= self.circuit.vapor_pa && downstream.1 > before_pa {
            return Err(NoSlope::NotFed);
        }
        Ok(self.held_up(downstream))
    }

    /// Water that would be below vapor pressure is at it, whatever changes a little elsewhere.
    fn held_up(&self, here: (Form, f64)) -> (Form, f64) {
        if here.1 < self.circuit.vapor_pa { (Form::default(), self.circuit.vapor_pa) } else { here }
    }

    fn at_unknown(&self, unknown: Option<usize>) -> Result<(Form, f64), NoSlope> {
        match unknown {
            None => Ok((Form::default(), 0.0)),
            Some(index) if !self.tied[index] => Err(NoSlope::Trapped),
            Some(index) => Ok((Form { unknown, ..Form::default() }, self.circuit.state.pressures_pa[index])),
        }
    }

    /// Form and pressure downstream of a step of a link. Water at rest fills a link with gates from both ends, as in `solution`.
    fn inside(&self, index: usize, link: &Link, position: usize) -> Result<(Form, f64), NoSlope> {
        let flow = self.circuit.state.links[index].flow;
        let parted = self.circuit.link_laws[index].parted_step(self.circuit.state.links[index].holding);
        if let Some((gap, forward)) = parted.filter(|_| flow != 0.0) {
            let at_gap = if forward { position + 1 == gap } else { position == gap };
            return match at_gap {
                true => Ok((Form::default(), self.circuit.vapor_pa)),
                false if position < gap => self.onward(index, link, position, flow),
                false => self.at_far_end(index, link, position, flow),
            };
        }
        let onward = self.onward(index, link, position, flow);
        let last = link.steps.len() - 1;
        let gated = link.steps.iter().any(|step| self.is_gate(step));
        let alone = !gated && !matches!(onward, Err(NoSlope::NotFed));
        if flow != 0.0 || alone || position == last || (link.to.is_none() && !link.ends_in_source) {
            return onward;
        }
        match (onward, self.backward(link, parted, position)) {
            (Ok(onward), Ok(backward)) => {
                let over_pa = onward.1 - backward.1;
                if over_pa.abs() < TURNS_WITHIN * self.scale_pa {
                    let gate = link.steps.iter().find(|step| self.is_gate(step)).map_or(0, |step| step.place);
                    return Err(NoSlope::turning(gate));
                }
                Ok(if over_pa > 0.0 { onward } else { backward })
            }
            (Err(NoSlope::NotFed), backward) => backward,
            (onward, Err(NoSlope::NotFed)) => onward,
            (Err(reason), _) | (_, Err(reason)) => Err(reason),
        }
    }

    /// True for parts that let water through one way only.
    fn is_gate(&self, step: &LinkStep) -> bool {
        self.circuit.laws[step.place].is_gate()
    }

    /// From the beginning of a link.
    fn onward(&self, index: usize, link: &Link, position: usize, flow: f64) -> Result<(Form, f64), NoSlope> {
        // At an outlet or source that ends a link the pressure is that before it.
        let last = link.steps.len() - 1;
        let end = if link.to.is_none() && last > 0 { (position + 1).min(last) } else { position + 1 };
        let mut here = self.at_unknown(link.from)?;
        let parted = self.circuit.link_laws[index].parted_step(self.circuit.state.links[index].holding);
        for (position, step) in link.steps[..end].iter().enumerate() {
            if flow == 0.0 && parted == Some((position, true)) {
                return Err(NoSlope::NotFed);
            }
            if flow == 0.0 && !step.forward && self.is_gate(step) {
                return Err(NoSlope::NotFed);
            }
            if flow == 0.0 && here.1 < self.circuit.vapor_pa {
                // Without flow nothing comes over a crest that it does not reach.
                return Err(NoSlope::NotFed);
            }
            here = self.downstream(*step, Some(index), flow, here)?;
            if flow != 0.0 {
                // Beyond a place where water parts it may part again.
                here = self.held_up(here);
            }
        }
        Ok(here)
    }

    /// From the far end of a link that flows, against the way of its steps.
    fn at_far_end(&self, index: usize, link: &Link, position: usize, flow: f64) -> Result<(Form, f64), NoSlope> {
        let (mut form, mut pressure_pa) = self.at_unknown(link.to)?;
        for step in link.steps[position + 1..].iter().rev() {
            let (law, runs) = (&self.circuit.laws[step.place], self.circuit.runs[step.place]);
            let sign = if step.forward { 1.0 } else { -1.0 };
            form.losses.push((step.place, 1.0));
            let so_far = form.flow.map_or(0.0, |(_, weight)| weight);
            form.flow = Some((index, so_far + loss_slope(law, runs, sign, flow)));
            pressure_pa += loss_pa(law, runs, sign, flow);
            (form, pressure_pa) = self.held_up((form, pressure_pa));
        }
        Ok((form, pressure_pa))
    }

    /// From the far end of a link whose water rests.
    fn backward(&self, link: &Link, parted: Option<(usize, bool)>, position: usize) -> Result<(Form, f64), NoSlope> {
        let mut here = self.at_unknown(link.to)?;
        for (at, step) in link.steps.iter().enumerate().skip(position + 1).rev() {
            if parted == Some((at, false)) || (step.forward && self.is_gate(step)) || here.1 < self.circuit.vapor_pa {
                return Err(NoSlope::NotFed);
            }
            let source = matches!(self.circuit.laws[step.place], Law::Source { .. });
            let before = if source { (Form::default(), 0.0) } else { here };
            here = self.downstream(LinkStep { forward: !step.forward, ..*step }, None, 0.0, before)?;
            // The form counts losses in the direction of the link.
            if let Some((_, weight)) = here.0.losses.last_mut().filter(|(place, _)| *place == step.place) {
                *weight = -*weight;
            }
        }
        Ok(here)
    }

    /// Form and pressure downstream of a step, from those before it.
    fn downstream(
        &self,
        step: LinkStep,
        link: Option<usize>,
        flow: f64,
        (mut form, before_pa): (Form, f64),
    ) -> Result<(Form, f64), NoSlope> {
        let circuit = self.circuit;
        let (law, runs) = (&circuit.laws[step.place], circuit.runs[step.place]);
        let sign = if step.forward { 1.0 } else { -1.0 };
        let loss = loss_pa(law, runs, sign, flow);
        if let Some(set_pa) = law.holds_pa()
            && step.forward
            && !law.discharges()
        {
            let over_pa = before_pa - loss - set_pa;
            if over_pa.abs() < TURNS_WITHIN * self.scale_pa {
                return Err(NoSlope::turning(step.place));
            }
            if over_pa > 0.0 {
                return Ok((Form { set: Some(step.place), ..Form::default() }, set_pa));
            }
        }
        if circuit.structure.outlet[step.place] {
            return Ok((form, before_pa));
        }
        form.losses.push((step.place, -1.0));
        if let Some(link) = link {
            let so_far = form.flow.map_or(0.0, |(_, weight)| weight);
            form.flow = Some((link, so_far - loss_slope(law, runs, sign, flow)));
        }
        Ok((form, before_pa - loss))
    }
}
