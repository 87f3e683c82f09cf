//! Hoses and pipes in a steady state: fast water, pressure below that of the air, and siphons whose water parts at the top.

use super::catalog::hose;
use super::catalog::water as say;
use super::finding::{Book, flow as flow_of, like, pressure, speed as speed_of};
use super::limits::{AT_LIMIT, FAST_IN_HOSE, FAST_IN_PIPE, HOSE_FRICTION, TOO_FAST, Threshold, UNSEEN_M3_PER_S};
use super::phrase::Value;
use super::suction::suction_lines;
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

/// What friction takes in a hose, without what the hose lacks by its height: other parts have that.
fn look_at_friction(book: &mut Book, solution: &Solution, place: usize, static_pa: f64) {
    let state = &solution.parts[place];
    let (Some(in_pa), Some(out_pa)) = (state.pressure_in_pa, state.pressure_out_pa) else { return };
    let (lost_pa, most) = ((in_pa - out_pa).abs(), HOSE_FRICTION.of(book.garden));
    if lost_pa > most * static_pa * (1.0 + AT_LIMIT) {
        let finding = book.about(&hose::HOSE_FRICTION, place).with("lost", pressure(lost_pa));
        book.add(finding.with("percent", Value::percent(lost_pa / static_pa)).with("most", Value::percent(most)));
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
    let sucking = suction_lines(solution);
    let static_pa = garden.supplies().filter_map(|supply| garden.parts()[supply].si(Id::StaticPressure)).reduce(f64::max);
    for place in (0..solution.parts.len()).filter(|&place| garden.spec(place).is_line()) {
        let state = &solution.parts[place];
        let flexible = garden.spec(place).traits.flexible;
        let fast = if flexible { FAST_IN_HOSE } else { FAST_IN_PIPE };
        let above = |limit: &Threshold| state.speed_m_per_s.filter(|&speed| speed > limit.of(garden));
        let found = match (above(&TOO_FAST), above(&fast)) {
            (Some(speed), _) => Some((&say::EXCESSIVE_VELOCITY, speed, TOO_FAST)),
            (None, Some(speed)) if flexible => Some((&say::HIGH_VELOCITY_IN_HOSE, speed, fast)),
            (None, Some(speed)) => Some((&say::HIGH_VELOCITY, speed, fast)),
            (None, None) => None,
        };
        if let Some((entry, speed, limit)) = found {
            book.add(book.about(entry, place).with("velocity", speed_of(speed)).with("limit", limit.limit(garden)));
        }
        // Fast water says the same of its hose.
        if let Some(static_pa) = static_pa.filter(|_| flexible && found.is_none()) {
            look_at_friction(book, solution, place, static_pa);
        }
        let lowest_pa = [state.pressure_in_pa, state.pressure_out_pa].into_iter().flatten().fold(0.0, f64::min);
        if lowest_pa < 0.0 && !sucking.contains(&place) && state.flow_m3_per_s.abs() > UNSEEN_M3_PER_S {
            book.add(book.about(&say::HOSE_BELOW_ATMOSPHERIC, place).with("lowest", pressure(lowest_pa)));
        }
    }
}
