//! Water in store as part of a steady solve: each stage of an implicit method for a garden over time is one such solve.
//!
//! A source with [`Law::Stored`] gives the pressure at which its store holds what it began with less what flows out in a
//! span of time. That falls with what is taken, so the network is as sound as with any other law, and has one answer
//! also where no resistance keeps stores apart.

use super::link::LEAST_SLOPE;
use super::network::{LEAST_FLOW_CHANGE, LinkState, Network};
use super::newton::{States, linearise, step};
use crate::parts::Law;

/// Slope that stands in for none, as a share of that of the flattest store: small against all that matters.
const SHARE_OF_SLOPE: f64 = 1e-3;
/// A slope less than this would drown those of hoses in rounding, Pa s/m3.
const LEAST_OF_STORES: f64 = 1e-2;
/// Rounding of a pressure, Pa.
const ROUNDING_PA: f64 = 1e-9;
/// Volume that a flow which counts as none may move in the span, m3.
const NO_VOLUME_M3: f64 = 1e-10;
/// No flow is told more finely than this, m3/s.
const FINEST_FLOW: f64 = 1e-14;

impl Network {
    /// Makes the solve fit stores: flows are followed as finely as a span wants, and where a law is flat a step is taken by what
    /// the flattest store leaves, Pa s/m3.
    pub fn follow_stores(&mut self, span_s: f64, flattest: f64) {
        self.by_chords = true;
        self.least_slope = (SHARE_OF_SLOPE * flattest).clamp(LEAST_OF_STORES, LEAST_SLOPE);
        let finest = (NO_VOLUME_M3 / span_s).clamp(FINEST_FLOW, LEAST_FLOW_CHANGE);
        self.rests_within = finest.max(ROUNDING_PA / flattest);
    }

    /// Takes [`Network::follow_stores`] back.
    pub fn forget_stores(&mut self) {
        (self.by_chords, self.least_slope, self.rests_within) = (false, LEAST_SLOPE, LEAST_FLOW_CHANGE);
    }

    /// By how much the flow out of each of these stores would change if it had begun with a little more, by the tangents of the
    /// state just solved. `more` holds the place of a store and the volume, m3.
    pub fn flow_changes(&mut self, more: &[(usize, f64)]) -> Vec<f64> {
        let before: Vec<f64> = more.iter().map(|&(place, _)| self.flow(place)).collect();
        let pressures_pa = self.pressures_pa.clone();
        let states: Vec<LinkState> = self.states.clone();
        more.iter().for_each(|&(place, by_m3)| self.add_to_store(place, by_m3));
        if self.pressures_pa.is_empty() {
            self.tangents_alone();
        } else {
            linearise(self, States::Hold);
            step(self, States::Hold);
        }
        let changes = more.iter().zip(before).map(|(&(place, _), before)| self.flow(place) - before).collect();
        more.iter().for_each(|&(place, by_m3)| self.add_to_store(place, -by_m3));
        self.pressures_pa = pressures_pa;
        self.states = states;
        changes
    }

    fn tangents_alone(&mut self) {
        for (law, state) in self.link_laws.iter_mut().zip(&mut self.states).filter(|(_, state)| !state.closed) {
            let excess = law.excess(state.holding, 0.0, 0.0, state.flow);
            state.flow -= excess.loss_pa / excess.slope.max(self.least_slope);
        }
    }

    fn add_to_store(&mut self, place: usize, by_m3: f64) {
        if let Law::Stored { from_m3, .. } = &mut self.laws[place] {
            *from_m3 += by_m3;
        }
        if let Some(link) = self.structure.link_of[place] {
            self.renew_link(link);
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::garden::Garden;
    use crate::hydraulics::Network;
    use crate::hydraulics::test_parts::part;
    use crate::laws::vessel::{Held, Store, Vessel};
    use crate::parts::{Kind, Law};
    use std::sync::Arc;

    fn store(m3_per_pa: f64) -> Arc<Store> {
        Arc::new(Store { held: vec![Held { vessel: Vessel::Linear { m3_per_pa }, offset_pa: 0.0 }], rim_pa: None })
    }

    /// Two tanks and a valve between them, and what each holds at the end of a span.
    fn joined(k: f64, from_m3: [f64; 2], span_s: f64) -> [f64; 2] {
        let parts = vec![
            part(Kind::OpenTank, "one", &[("level", 2.0, "m")]),
            part(Kind::CheckValve, "check", &[("k", k, ""), ("bore", 1.0, "in")]),
            part(Kind::OpenTank, "other", &[("level", 1.0, "m")]),
        ];
        let garden = Garden::from_joints(parts, &[(0, 0), (0, 1), (1, 1)]).expect("joins");
        let mut network = Network::new(&garden, &[true; 3]).expect("a sound garden");
        for (place, m3_per_pa, from_m3) in [(0, 1e-5, from_m3[0]), (2, 4e-5, from_m3[1])] {
            network.put_law(place, Law::Stored { store: store(m3_per_pa), from_m3, span_s });
        }
        network.follow_stores(span_s, span_s / 4e-5);
        network.solve().expect("a steady state");
        let out = [network.flow(0), network.flow(2)];
        assert_eq!(out[0], -out[1], "no water is lost");
        let shift = network.flow_changes(&[(0, 1e-6), (2, 0.0)])[0];
        assert!((0.0..=1e-6 / span_s * 1.0001).contains(&shift), "{shift}");
        [from_m3[0] - span_s * out[0], from_m3[1] - span_s * out[1]]
    }

    #[test]
    fn stores_that_nothing_keeps_apart_share_one_pressure_after_any_span() {
        for span_s in [1e-8, 1e-3, 1.0, 1e5] {
            let [one, other] = joined(0.0, [0.2, 0.4], span_s);
            assert!((one / 1e-5 - other / 4e-5).abs() < 1e-7, "{one} {other} after {span_s} s");
        }
    }

    #[test]
    fn a_check_valve_between_stores_shuts_against_the_higher_one() {
        assert_eq!(joined(0.0, [0.1, 0.8], 10.0), [0.1, 0.8]);
        let [one, other] = joined(2.0, [0.2, 0.4], 1.0);
        assert!(one > 0.12 && one < 0.2 && (one + other - 0.6).abs() < 1e-15);
    }
}
