//! What is read from the state of some chains side by side.

use super::readings::Reading;
use super::state::State;
use crate::numeric::lanes::{F, Mask, Vector};

/// What is read from a state, and in which lanes it is beyond doubt.
#[inline(always)]
pub fn read<S: Vector, const W: usize>(
    reading: &Reading,
    state: &mut State<S, W>,
    arrived: Mask<S, W>,
    simd: S,
) -> (F<S, W>, Mask<S, W>) {
    let zero = F::splat(simd, 0.0);
    let always = Mask::splat(simd, true);
    let own =
        |state: &State<S, W>, (link, forward): (usize, bool)| if forward { state.flows[link] } else { zero - state.flows[link] };
    match *reading {
        Reading::Always(number) => (F::splat(simd, number), always),
        Reading::Number(number) => (state.numbers[number], always),
        Reading::Flow { link, forward } => (own(state, (link, forward)), always),
        Reading::Source { flow, pressure, resistance } => {
            let flow = flow.map_or(zero, |flow| own(state, flow));
            (state.numbers[pressure] - state.numbers[resistance] * flow.abs() * flow, always)
        }
        Reading::Outlet { link, terms } => {
            let flow = state.flows[link];
            let flows = flow.gt(zero);
            let offset = state.numbers[terms];
            let given = offset + (state.numbers[terms + 1] + state.numbers[terms + 2] * flow) * flow;
            let dry = !flows;
            if !dry.any() {
                return (given, always);
            }
            // Water that stands lower than an outlet leaves it dry, at the pressure of the air.
            let (stands, whole) = state.standing(link, offset);
            (flows.choose(given, stands.gt(zero).keep(stands)), flows | whole)
        }
        Reading::Along { stretch } => {
            let pressure = state.along(stretch, arrived);
            // Where nothing flows, water may stand there from the other side.
            let flows = !state.flow_along(stretch).same(zero);
            (pressure, flows & state.is_whole(pressure))
        }
        Reading::Before { stretch } => {
            let pressure = state.along(stretch, arrived);
            let flows = state.flow_along(stretch).gt(zero);
            // Water that stands lower than an outlet leaves it dry, at the pressure of the air.
            (pressure.gt(zero).keep(pressure), flows | state.stands(stretch, pressure))
        }
        Reading::Node { unknown } => (state.pressures[unknown], state.is_whole(state.pressures[unknown])),
    }
}
