//! The tangents of links at a solution, and where there are none: a valve that just turns, a corner of a law.

use super::no_slope::NoSlope;
use super::trace::loss_slope;
use crate::hydraulics::circuit::Circuit;
use crate::hydraulics::model::link::{Follows, Rule};
use crate::hydraulics::model::structure::LinkStep;
use crate::hydraulics::state::Supplied;
use crate::hydraulics::tolerances::{CORNER_WITHIN, LEAST_TANGENT, NO_TANGENT_FLOW, TABLE_CORNER, TURNS_WITHIN};
use crate::parts::Law;
use std::ops::Range;

/// The tangent of a link at the solution.
pub struct Tangent {
    /// Derivative of the flow to the excess of pressure; zero for a link that nothing flows through.
    pub conductance: f64,
    /// The ends whose pressures it follows.
    pub follows: Follows,
    /// The step of the regulator that holds.
    pub holds: Option<usize>,
    /// The steps whose losses rule the flow.
    pub ruling: Range<usize>,
    /// What its slope has too much, where one stands in for it, Pa s/m3.
    pub stand_in: f64,
    /// Why it has no tangent, if so.
    pub kink: Option<NoSlope>,
}

/// The tangent of a link, and whether it has one.
pub fn tangent(circuit: &mut Circuit, index: usize, tied: &[bool], scale_pa: f64) -> Tangent {
    let (from_pa, to_pa) = circuit.ends_pa(index);
    let structure = &*circuit.structure;
    let (link, law, state) = (&structure.links[index], &mut circuit.link_laws[index], circuit.state.links[index]);
    let shut = |kink: Option<NoSlope>| Tangent {
        conductance: 0.0,
        follows: Follows::Both,
        holds: None,
        ruling: 0..0,
        stand_in: 0.0,
        kink,
    };
    if law.blocked {
        return shut(None);
    }
    let near_pa = TURNS_WITHIN * scale_pa;
    let gate = |turns: fn(&Law) -> bool| link.steps.iter().find(|step| turns(&circuit.laws[step.place])).map(|step| step.place);
    if state.closed || (law.one_way && state.flow.abs() <= NO_TANGENT_FLOW) {
        let isolated_nodes = [link.from, link.to].into_iter().flatten().any(|node| !tied[node]);
        let about_to_flow = law.ruler(from_pa, to_pa, 0.0).1.loss_pa <= near_pa
            || (!law.one_way && law.backward_ruler_at_rest(from_pa, to_pa).1.loss_pa >= -near_pa);
        let turning = !isolated_nodes && about_to_flow;
        let place = gate(Law::is_one_way).unwrap_or(link.steps[0].place);
        return shut(turning.then(|| NoSlope::turning(place)));
    }
    let regulates = |&at: &usize| {
        let law = &circuit.laws[link.steps[at].place];
        law.holds_pa().is_some() && (link.steps[at].forward || law.discharges())
    };
    let regulators: Vec<usize> = (0..link.steps.len()).filter(regulates).collect();
    let follows = law.follows(state.holding);
    let holds = law.holds(state.holding).map(|regulator| regulators[regulator]);
    // A regulator controls what is downstream of it; one that is part of an outlet, its nozzle.
    let first = holds.map_or(0, |at| match &circuit.laws[link.steps[at].place] {
        Law::RegulatedOrifice { .. } => at,
        _ => at + 1,
    });
    // Where water parts, what lies upstream of that rules.
    let ruling = match law.parted_step(state.holding) {
        Some((gap, true)) => first..gap,
        Some((gap, false)) => gap + 1..link.steps.len(),
        None => first..link.steps.len(),
    };
    let signed = |step: &LinkStep| (step.place, if step.forward { 1.0 } else { -1.0 });
    let mut kink = corner(circuit, link.steps.iter().map(signed), state.flow);
    // Summed afresh: the law of the link keeps slopes of flows nearby, which are good enough for its steps alone.
    let signed_ruling = link.steps[ruling.clone()].iter().map(signed);
    let slope_of = |(place, sign): (usize, f64)| loss_slope(&circuit.laws[place], circuit.runs[place], sign, state.flow);
    let slope: f64 = signed_ruling.map(slope_of).sum();
    let law = &mut circuit.link_laws[index];
    let forward = state.flow >= 0.0;
    let others = std::iter::once(None).chain(law.rules(forward).map(Some)).filter(|other| *other != state.holding);
    for candidate in others.collect::<Vec<_>>() {
        let excess_pa = law.excess(candidate, from_pa, to_pa, state.flow).loss_pa;
        if (if forward { excess_pa } else { -excess_pa }) > -near_pa {
            let step = |rule: Rule| match rule {
                Rule::Regulator(regulator) => regulators[regulator],
                Rule::Parted(_) => law.parted_step(Some(rule)).map_or(0, |(step, _)| step),
            };
            let turning = candidate.or(state.holding).map_or(0, |rule| link.steps[step(rule)].place);
            kink = Some(NoSlope::turning(turning));
        }
    }
    let steep = slope.max(LEAST_TANGENT);
    Tangent { conductance: 1.0 / steep, follows, holds, ruling, stand_in: steep - slope, kink }
}

/// The part whose law has a corner at this flow.
fn corner(circuit: &Circuit, steps: impl Iterator<Item = (usize, f64)>, flow: f64) -> Option<NoSlope> {
    use crate::laws::friction::{LAMINAR_UP_TO, TURBULENT_FROM};
    let near = |value: f64, corner: f64| (value - corner).abs() <= CORNER_WITHIN * corner.abs();
    for (place, sign) in steps {
        let at_corner = match &circuit.laws[place] {
            Law::Friction { pipe, .. } => {
                let reynolds = pipe.reynolds(flow);
                near(reynolds, LAMINAR_UP_TO) || near(reynolds, TURBULENT_FROM)
            }
            Law::Booster { curve, .. } if circuit.runs[place] => curve.corners().any(|corner| near(sign * flow, corner)),
            law @ (Law::Tabulated { .. } | Law::Soaker { .. }) => {
                let slope = |share: f64| loss_slope(law, false, sign, flow * share);
                (slope(1.0 + CORNER_WITHIN) / slope(1.0 - CORNER_WITHIN) - 1.0).abs() > TABLE_CORNER
            }
            _ => false,
        };
        if at_corner {
            return Some(NoSlope::Corner { place, name: String::new() });
        }
    }
    None
}

/// Which unknowns the air or a source ties to a pressure through what is open.
pub fn tied(circuit: &Circuit) -> Vec<bool> {
    let structure = &*circuit.structure;
    // A node whose demands are not met is at vapor pressure.
    let mut tied: Vec<bool> = circuit.state.supplied.iter().map(|supplied| *supplied == Supplied::Short).collect();
    let shut = |index: usize| {
        let (law, state) = (&circuit.link_laws[index], &circuit.state.links[index]);
        law.blocked || state.closed || (law.one_way && state.flow.abs() <= NO_TANGENT_FLOW)
    };
    let mut spreads = true;
    while spreads {
        spreads = false;
        for (index, link) in structure.links.iter().enumerate().filter(|(index, _)| !shut(*index)) {
            let follows = circuit.link_laws[index].follows(circuit.state.links[index].holding);
            let known = |end: Option<usize>, tied: &[bool]| end.is_none_or(|node| tied[node]);
            if let Some(to) = link.to.filter(|&to| !tied[to] && follows.to())
                && (known(link.from, &tied) || !follows.from())
            {
                tied[to] = true;
                spreads = true;
            }
            if let Some(from) = link.from.filter(|&from| !tied[from] && follows.from())
                && (known(link.to, &tied) || !follows.to())
            {
                tied[from] = true;
                spreads = true;
            }
        }
    }
    tied
}
