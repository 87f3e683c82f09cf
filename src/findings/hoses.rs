//! Hoses and pipes in a steady state: fast water, pressure below that of the air, and siphons whose water parts at the top.

use super::catalog::water as say;
use super::finding::{Book, flow as flow_of, like, pressure, speed as speed_of};
use super::limits::{FAST_IN_HOSE_M_PER_S, FAST_IN_PIPE_M_PER_S, TOO_FAST_M_PER_S, UNSEEN_M3_PER_S};
use super::phrase::Limit;
use crate::hydraulics::Solution;
use crate::laws::friction::MOST_RELATIVE_ROUGHNESS;
use crate::laws::pipe_sizes::named_by;
use crate::parts::Id;
use crate::quantity::Quantity;

/// Walls rougher than the law of friction is known for.
pub(super) fn look_at_walls(book: &mut Book) {
    let garden = book.garden;
    for (place, part) in garden.parts().iter().enumerate() {
        let (Some(diameter_m), Some(roughness_m)) = (part.si(Id::Diameter), part.si(Id::Roughness)) else { continue };
        if roughness_m > MOST_RELATIVE_ROUGHNESS * diameter_m && part.si(Id::HazenWilliamsC).is_none() {
            let percent = Quantity::number(100.0 * roughness_m / diameter_m);
            book.add(book.about(&say::TOO_ROUGH, place).with("percent", percent));
        }
    }
}

/// Pipes whose inside diameter is given as the name of a size.
pub(super) fn look_at_pipe_sizes(book: &mut Book) {
    let garden = book.garden;
    for (place, part) in garden.parts().iter().enumerate().filter(|(_, part)| part.traits().trenched) {
        let Some(size) = part.si(Id::Diameter).and_then(named_by) else { continue };
        let inside = part.quantity(Id::Diameter).map(|given| like(size.inside_m(), given));
        let finding = book.about(&say::NOMINAL_DIAMETER, place).with("size", size.name()).with_some("inside", inside);
        book.add(finding.with_some("has", part.quantity(Id::Diameter)));
    }
}

pub(super) fn look(book: &mut Book, solution: &Solution) {
    let garden = &solution.garden;
    for &place in solution.parted.iter().filter(|&&place| !garden.spec(place).traits.pumps) {
        let flow = solution.parts[place].flow_m3_per_s.abs();
        let finding = if flow > UNSEEN_M3_PER_S {
            book.about(&say::SIPHON_BREAKS, place).with("flow", flow_of(flow))
        } else {
            book.about(&say::SIPHON_BROKEN, place)
        };
        book.add(finding.with("vapor", pressure(garden.vapor_gauge_pa())));
    }
    for place in (0..solution.parts.len()).filter(|&place| garden.spec(place).is_line()) {
        let state = &solution.parts[place];
        let flexible = garden.spec(place).traits.flexible;
        let fast_m_per_s = if flexible { FAST_IN_HOSE_M_PER_S } else { FAST_IN_PIPE_M_PER_S };
        if let Some(speed) = state.speed_m_per_s.filter(|&speed| speed > fast_m_per_s) {
            let (entry, limit) = match (speed > TOO_FAST_M_PER_S, flexible) {
                (true, _) => (&say::EXCESSIVE_VELOCITY, Limit::published(speed_of(TOO_FAST_M_PER_S), "ft/s")),
                (false, true) => (&say::HIGH_VELOCITY_IN_HOSE, Limit::of_practice(speed_of(fast_m_per_s), "ft/s")),
                (false, false) => (&say::HIGH_VELOCITY, Limit::published(speed_of(fast_m_per_s), "ft/s")),
            };
            book.add(book.about(entry, place).with("velocity", speed_of(speed)).with("limit", limit));
        }
        let lowest_pa = [state.pressure_in_pa, state.pressure_out_pa].into_iter().flatten().fold(0.0, f64::min);
        if lowest_pa < 0.0 && state.flow_m3_per_s.abs() > UNSEEN_M3_PER_S {
            book.add(book.about(&say::HOSE_BELOW_ATMOSPHERIC, place).with("lowest", pressure(lowest_pa)));
        }
    }
}
