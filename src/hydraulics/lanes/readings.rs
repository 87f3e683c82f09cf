//! What is read from the state of a case, worked out once for a network: the counterpart of probes for many cases.

use super::model::{LaneModel, Own, Plain};
use crate::hydraulics::answer::probe::{Probe, ProbeKind};
use crate::hydraulics::circuit::Circuit;
use crate::hydraulics::model::structure::Link;
use crate::parts::Law;

/// How one reading follows from flows, pressures and numbers of laws; numbers by their places.
#[derive(Clone, Copy, Debug)]
pub enum Reading {
    /// What no case changes.
    Always(f64),
    /// One of the numbers.
    Number(usize),
    /// The flow of a link, or what flows against it.
    Flow { link: usize, forward: bool },
    /// The pressure of a source: static less resistance times the square of its flow. Without a link nothing flows.
    Source { flow: Option<(usize, bool)>, pressure: usize, resistance: usize },
    /// The pressure before an outlet: offset, factor of its flow and factor of the square of that, or what stands there.
    Outlet { link: usize, terms: usize },
    /// The pressure of a node.
    Node { unknown: usize },
    /// The pressure inside a link, downstream of a stretch of it.
    Along { stretch: usize },
    /// The pressure before an outlet, downstream of a stretch of its link.
    Before { stretch: usize },
}

impl Reading {
    /// The reading of a probe whose place lies before this node of the layout. None where lanes cannot read it.
    pub fn of(probe: &Probe, node: usize, circuit: &Circuit, model: &mut LaneModel) -> Option<Reading> {
        let (place, structure) = (probe.place, &circuit.structure);
        let flow = structure.link_of[place].map(|link| (link, structure.forward[place]));
        let law = &circuit.laws[place];
        if probe.kind == ProbeKind::Flow {
            return Some(match (law, flow) {
                (Law::Demand { flow_m3_per_s }, _) if structure.drawn[place] => {
                    let number = model.another(*flow_m3_per_s);
                    model.own.push((place, Own::Demand(number)));
                    Reading::Number(number)
                }
                (_, Some((link, forward))) => Reading::Flow { link, forward },
                _ => Reading::Always(0.0),
            });
        }
        if let Law::Source { pressure_pa, resistance } = law {
            let pressure = model.another(*pressure_pa);
            let resistance = model.another(*resistance);
            model.own.push((place, Own::Source(pressure)));
            return Some(Reading::Source { flow, pressure, resistance });
        }
        if !structure.fed[node] {
            return Some(Reading::Always(f64::NAN));
        }
        if let (true, Some((link, _)), Some(plain)) = (law.discharges(), flow, Plain::of(law, true)) {
            if !model.links[link].is_plain() {
                let before = structure.links[link].steps.len() - 1;
                return Some(Reading::Before { stretch: model.stretch(circuit, link, 0..before)? });
            }
            let terms = model.another(plain.offset_pa);
            model.another(plain.linear);
            model.another(plain.quadratic);
            model.own.push((place, Own::Outlet(terms)));
            return Some(Reading::Outlet { link, terms });
        }
        if structure.outlet[place] {
            return None;
        }
        if let Some(unknown) = structure.unknowns.iter().position(|&known| known == node) {
            return Some(Reading::Node { unknown });
        }
        let inside = |link: &Link| link.nodes.iter().position(|&on| on == node).filter(|&at| at + 1 < link.steps.len());
        let (link, at) = structure.links.iter().enumerate().find_map(|(link, of)| Some((link, inside(of)?)))?;
        Some(Reading::Along { stretch: model.stretch(circuit, link, 0..at + 1)? })
    }
}
