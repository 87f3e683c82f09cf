//! The causes that are tried: for each part that water ran through in a reading, what may be wrong with it.

use super::super::fit::{FitError, Measurement};
use super::Fault;
use crate::garden::{Garden, Side};
use crate::hydraulics::{NO_FLOW_M3_PER_S, run};
use crate::parts::{Id, Kind, Part, Placing};
use crate::quantity::{GPM_M3_PER_S, PSI_PA, Quantity, dim};

/// A garden with one unknown.
pub(super) struct Candidate {
    pub fault: Fault,
    /// The part in the garden as drawn.
    pub place: usize,
    /// The garden in which the unknown is a parameter.
    pub garden: Garden,
    pub path: String,
    /// Its value as drawn; nothing for what was put in.
    pub drawn: Option<Quantity>,
    /// Values at which the fit begins.
    pub starts: Vec<Quantity>,
}

/// Pressure at which the flow of a leak is given, Pa.
const LEAK_AT_PA: f64 = 50.0 * PSI_PA;

/// All candidates.
pub(super) fn candidates(garden: &Garden, readings: &[Measurement]) -> Result<Vec<Candidate>, FitError> {
    let count = garden.parts().len();
    let (mut carries, mut wet) = (vec![false; count], vec![false; count]);
    let mut runs: Vec<&[String]> = readings.iter().map(|reading| reading.zones.as_slice()).collect();
    runs.sort();
    runs.dedup();
    for zones in runs {
        let names: Vec<&str> = zones.iter().map(String::as_str).collect();
        let solution = run(garden, &names)?;
        for (place, state) in solution.parts.iter().enumerate() {
            carries[place] |= state.flow_m3_per_s.abs() > NO_FLOW_M3_PER_S;
            wet[place] |= state.pressure_out_pa.is_some_and(|pressure_pa| pressure_pa > 0.0);
        }
    }
    let mut found = Vec::new();
    // Leaks come last: what explains the readings without more water on the ground goes first.
    let (mut leaks, mut leaked) = (Vec::new(), Vec::new());
    for place in 0..count {
        if carries[place] {
            found.extend(of_flow(garden, place));
        }
        let joint = &garden.layout().places[place];
        let inline = garden.spec(place).placing == Placing::Inline;
        if wet[place] && (inline || garden.spec(place).placing == Placing::Source) && !leaked.contains(&joint.to) {
            leaked.push(joint.to);
            leaks.extend(leak(garden, place));
        }
    }
    found.extend(leaks);
    Ok(found)
}

/// What may be wrong with a part that water runs through.
fn of_flow(garden: &Garden, place: usize) -> Vec<Candidate> {
    let (spec, name) = (garden.spec(place), garden.name(place));
    let own = |fault: Fault, id: Id, shares: &[f64]| {
        let drawn = garden.parts()[place].quantity(id)?;
        let starts = shares.iter().map(|share| Quantity { si: drawn.si * share, ..drawn }).collect();
        let path = format!("{name}.{}", id.word());
        Some(Candidate { fault, place, garden: garden.clone(), path, drawn: Some(drawn), starts })
    };
    let mut found: Vec<Option<Candidate>> = Vec::new();
    if spec.is_line() {
        found.push(own(Fault::Narrower, Id::Diameter, &[0.95, 0.7]));
    } else if spec.traits.pumps {
        found.push(own(Fault::WeakPump, Id::Speed, &[0.95, 0.8]));
    } else if spec.placing == Placing::Source {
        found.push(own(Fault::WeakMain, Id::StaticPressure, &[0.97, 0.85]));
        found.push(own(Fault::Service, Id::MeasuredPressure, &[0.97, 0.8]));
    } else if spec.placing == Placing::Outlet {
        found.push(own(Fault::LargerNozzle, Id::Nozzle, &[1.1, 0.9]));
    } else if spec.has(Id::Loss) {
        found.push(own(Fault::Clogged, Id::Loss, &[2.0, 8.0]));
    } else if spec.placing == Placing::Inline && !spec.has(Id::Height) {
        found.push(restrictor(garden, place));
    }
    found.into_iter().flatten().collect()
}

/// A hole upstream of a part in line: its loss lies between the gauges upstream and downstream of that part.
fn restrictor(garden: &Garden, place: usize) -> Option<Candidate> {
    let hose = garden.layout().diameter_from()[place]?;
    let diameter = garden.parts()[hose].quantity(Id::Diameter)?;
    let starts: Vec<Quantity> = [0.6, 0.35].map(|share| Quantity { si: diameter.si * share, ..diameter }).to_vec();
    let name = garden.free_name("restriction");
    let part = Part::new(Kind::Restrictor).with(&[(Id::Bore, starts[0])]).ok()?.named(&name).ok()?;
    let fault = if garden.spec(place).traits.opens { Fault::PartlyClosed } else { Fault::Obstructed };
    let made = garden.insert(Side::Before, garden.name(place), &Garden::of(part)).ok()?;
    Some(Candidate { fault, place, garden: made, path: format!("{name}.{}", Id::Bore.word()), drawn: None, starts })
}

/// A leak downstream of a part.
fn leak(garden: &Garden, place: usize) -> Option<Candidate> {
    let name = garden.free_name("unseen leak");
    let units = garden.units();
    let flow = |gpm: f64| units.quantity(gpm * GPM_M3_PER_S, dim::FLOW);
    let starts = vec![flow(0.3), flow(3.0)];
    let pressure = units.quantity(LEAK_AT_PA, dim::PRESSURE);
    let part = Part::new(Kind::Leak).with(&[(Id::Flow, starts[0]), (Id::Pressure, pressure)]).ok()?.named(&name).ok()?;
    let made = garden.branch(garden.name(place), &Garden::of(part)).ok()?;
    Some(Candidate { fault: Fault::Leak, place, garden: made, path: format!("{name}.{}", Id::Flow.word()), drawn: None, starts })
}
