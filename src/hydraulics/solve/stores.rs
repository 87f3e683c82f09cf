//! Water in store as part of a steady solve: each stage of an implicit method for a garden over time is one such solve.
//!
//! A source with [`Law::Stored`] gives the pressure at which its store holds what it began with less what flows out in a
//! span of time. That falls with what is taken, so the circuit is as sound as with any other law, and has one answer
//! also where no resistance keeps stores apart.

use super::assemble::linearize;
use super::newton::step;
use crate::hydraulics::circuit::Circuit;
use crate::hydraulics::state::States;
use crate::parts::Law;
use std::sync::Arc;

/// By how much the flow out of each of these stores would change if it had begun with a little more, by the tangents of the
/// state just solved. `more` holds the place of a store and the volume, m3.
pub fn flow_changes(circuit: &mut Circuit, more: &[(usize, f64)]) -> Vec<f64> {
    let before: Vec<f64> = more.iter().map(|&(place, _)| circuit.flow(place)).collect();
    let pressures_pa = circuit.state.pressures_pa.clone();
    let links = circuit.state.links.clone();
    more.iter().for_each(|&(place, by_m3)| add_to_store(circuit, place, by_m3));
    if circuit.state.pressures_pa.is_empty() {
        tangents_alone(circuit);
    } else {
        linearize(circuit, States::Hold);
        step(circuit, States::Hold);
    }
    let changes = more.iter().zip(before).map(|(&(place, _), before)| circuit.flow(place) - before).collect();
    more.iter().for_each(|&(place, by_m3)| add_to_store(circuit, place, -by_m3));
    circuit.state.pressures_pa = pressures_pa;
    circuit.state.links = links;
    changes
}

fn tangents_alone(circuit: &mut Circuit) {
    let Circuit { link_laws, state, tolerances, .. } = circuit;
    for (law, link) in link_laws.iter_mut().zip(&mut state.links).filter(|(_, link)| !link.closed) {
        let excess = law.excess(link.holding, 0.0, 0.0, link.flow);
        link.flow -= excess.loss_pa / excess.slope.max(tolerances.least_slope);
    }
}

fn add_to_store(circuit: &mut Circuit, place: usize, by_m3: f64) {
    if let Law::Stored { store, from_m3, span_s } = &circuit.laws[place] {
        let (store, from_m3, span_s) = (Arc::clone(store), from_m3 + by_m3, *span_s);
        circuit.refill(place, &store, from_m3, span_s);
    }
}

#[cfg(test)]
mod tests {
    use crate::garden::Garden;
    use crate::hydraulics::test_parts::part;
    use crate::hydraulics::{Foresight, Network};
    use crate::laws::vessel::{Held, Store, Vessel};
    use crate::parts::{Kind, Law};
    use proptest::prelude::*;
    use std::sync::Arc;

    fn store(m3_per_pa: f64) -> Arc<Store> {
        Arc::new(Store { held: vec![Held { vessel: Vessel::Linear { m3_per_pa }, offset_pa: 0.0 }], rim_pa: None })
    }

    /// Two tanks and a valve between them, and what each holds at the end of a span.
    fn joined(k: f64, from_m3: [f64; 2], span_s: f64) -> [f64; 2] {
        let parts = vec![
            part(Kind::OpenTank, "one", &[("level", 2.0, "m")]),
            part(Kind::CheckValve, "check", &[("k", k, ""), ("diameter", 1.0, "in")]),
            part(Kind::OpenTank, "other", &[("level", 1.0, "m")]),
        ];
        let garden = Garden::from_joints(parts, &[(0, 0), (0, 1), (1, 1)]).expect("joins");
        let mut network = Network::new(&garden, &[true; 3]).expect("a sound garden");
        for (place, m3_per_pa, from_m3) in [(0, 1e-5, from_m3[0]), (2, 4e-5, from_m3[1])] {
            network.put_law(place, Law::Stored { store: store(m3_per_pa), from_m3, span_s });
        }
        network.follow_stores(span_s, [4e-5, 1e-5]);
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

    const M3_PER_PA: f64 = 3e-8;

    /// A tank that feeds outlets of these resistances, solved at the end of a span, and their number of unknown pressures.
    fn feeding(resistances: &[f64], from_m3: f64, span_s: f64, foresight: Foresight) -> (Network, usize) {
        let parts = std::iter::once(part(Kind::OpenTank, "tank", &[("level", 2.0, "m")]))
            .chain((0..resistances.len()).map(|number| part(Kind::Head, &format!("head {number}"), &[("nozzle", 2.0, "mm")])));
        let joints: Vec<(usize, usize)> = std::iter::repeat_n((0, 0), resistances.len() + 1).collect();
        let garden = Garden::from_joints(parts.collect(), &joints).expect("joins");
        let mut network = Network::new(&garden, &vec![true; joints.len()]).expect("a sound garden");
        for (index, &resistance) in resistances.iter().enumerate() {
            network.put_law(index + 1, Law::Orifice { resistance });
        }
        network.put_law(0, Law::Stored { store: store(M3_PER_PA), from_m3, span_s });
        network.foresee(foresight);
        network.follow_stores(span_s, [M3_PER_PA; 2]);
        network.solve().expect("a steady state");
        let unknowns = network.circuit.state.pressures_pa.len();
        (network, unknowns)
    }

    proptest! {
        /// With (V - s q) / c = R q^2 the flow q out of a store rises with the volume V by 1 / (s + 2 c R q). One outlet makes one link between
        /// known pressures, several have a node before them.
        #[test]
        fn a_flow_changes_with_the_volume_of_its_store_by_the_tangents_of_its_laws(
            resistances in prop::collection::vec(1e11f64..1e13, 1..4), from_pa in 1e4f64..5e5, log_span in -3.0f64..2.0,
        ) {
            let span_s = 10f64.powf(log_span);
            let (mut network, unknowns) = feeding(&resistances, M3_PER_PA * from_pa, span_s, Foresight::Nothing);
            prop_assert_eq!(unknowns == 0, resistances.len() == 1);
            let conductance: f64 = resistances.iter().map(|resistance| 1.0 / resistance.sqrt()).sum();
            let by_flow = 2.0 * M3_PER_PA * network.flow(0) / (conductance * conductance);
            let change = network.flow_changes(&[(0, 1e-9)])[0];
            prop_assert!((change * (span_s + by_flow) / 1e-9 - 1.0).abs() < 1e-6, "{} {}", change, 1e-9 / (span_s + by_flow));
        }

        /// A solve that foresees its end ends at the same answer as one that looks at its last step.
        #[test]
        fn a_solve_that_foresees_its_end_finds_the_same(
            resistances in prop::collection::vec(1e11f64..1e13, 1..4), from_pa in 1e2f64..5e5, log_span in -3.0f64..2.0,
        ) {
            let flows = |foresight: Foresight| {
                let (network, _) = feeding(&resistances, M3_PER_PA * from_pa, 10f64.powf(log_span), foresight);
                (0..=resistances.len()).map(|place| network.flow(place)).collect::<Vec<f64>>()
            };
            for (found, known) in flows(Foresight::Ending).into_iter().zip(flows(Foresight::Nothing)) {
                prop_assert!((found - known).abs() <= 1e-8 * known.abs() + 1e-11, "{} {}", found, known);
            }
        }

        /// What was solved stands as before, to the last bit, and asking again gives the same.
        #[test]
        fn asking_how_flows_change_changes_nothing(
            resistances in prop::collection::vec(1e11f64..1e13, 1..4), from_pa in -1e4f64..5e5, more_m3 in -1e-7f64..1e-7,
        ) {
            let (mut network, _) = feeding(&resistances, M3_PER_PA * from_pa, 0.3, Foresight::Nothing);
            let state = |network: &Network| {
                let links = network.circuit.state.links.iter().map(|link| (link.flow.to_bits(), link.holding, link.closed));
                (links.collect::<Vec<_>>(), network.circuit.state.pressures_pa.iter().map(|at| at.to_bits()).collect::<Vec<_>>())
            };
            let before = state(&network);
            let changes = network.flow_changes(&[(0, more_m3)]);
            prop_assert_eq!(&state(&network), &before);
            let again = network.flow_changes(&[(0, more_m3)]);
            prop_assert_eq!(changes[0].to_bits(), again[0].to_bits());
            // An empty tank behind outlets that are dry gives nothing, a little more or less.
            prop_assert!(from_pa > 0.0 || changes[0] == 0.0, "{}", changes[0]);
        }
    }

    #[test]
    fn a_check_valve_between_stores_shuts_against_the_higher_one() {
        assert_eq!(joined(0.0, [0.1, 0.8], 10.0), [0.1, 0.8]);
        let [one, other] = joined(2.0, [0.2, 0.4], 1.0);
        assert!(one > 0.12 && one < 0.2 && (one + other - 0.6).abs() < 1e-15);
    }
}
