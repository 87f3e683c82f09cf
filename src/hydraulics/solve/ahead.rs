//! Where a solve begins that follows others in time: on a curve through their answers.
//!
//! The answers of a way in time lie on smooth lines as long as no valve changes, so a point of a curve through some of them is nearer to the
//! next answer than the last one, and saves steps. It is only a guess: it touches no answer.

use crate::hydraulics::circuit::Circuit;
use crate::hydraulics::state::{Gives, LinkState, State};

/// Answers that are kept: those of two steps of a run over time.
const MOST_KEPT: usize = 10;
/// A curve goes through this many answers at most.
const MOST_POINTS: usize = 4;
/// A guess goes no farther out than where the weights of its answers add up to this, each without its sign: else their errors grow.
const MOST_WEIGHT: f64 = 8.0;

/// An answer of a solve.
#[derive(Clone, Debug, Default)]
struct Answer {
    at_s: f64,
    /// Answers in which all that opens and closes stands alike have the same number.
    kind: usize,
    pressures_pa: Vec<f64>,
    links: Vec<LinkState>,
    gives: Vec<Gives>,
}

/// The last answers on a way in time.
#[derive(Clone, Debug, Default)]
pub struct Answers {
    kept: Vec<Answer>,
    /// Where the next one goes: the oldest gives way.
    next: usize,
    kinds: usize,
}

impl Answers {
    /// Forgets all: what comes lies on another way.
    pub fn clear(&mut self) {
        self.kept.clear();
        self.next = 0;
    }

    /// Keeps the answer of a solve at a time, s.
    pub fn keep(&mut self, state: &State, at_s: f64) {
        if state.parts_water {
            return self.clear();
        }
        let alike = self.kept.iter().rev().find(|answer| answer.is_alike(state)).map(|answer| answer.kind);
        let kind = alike.unwrap_or_else(|| {
            self.kinds += 1;
            self.kinds
        });
        if self.kept.len() < MOST_KEPT {
            self.kept.push(Answer::default());
            self.next = self.kept.len() - 1;
        }
        let answer = &mut self.kept[self.next];
        (answer.at_s, answer.kind) = (at_s, kind);
        answer.pressures_pa.clone_from(&state.pressures_pa);
        answer.links.clone_from(&state.links);
        answer.gives.clear();
        answer.gives.extend(state.taps.iter().map(|tap| tap.gives));
        self.next = (self.next + 1) % MOST_KEPT;
    }

    /// Makes the next solve begin where the answers lead to at a time, s.
    pub fn lead(&self, circuit: &mut Circuit, at_s: f64) {
        let state = &mut circuit.state;
        let off_s = |answer: &Answer| (answer.at_s - at_s).abs();
        let Some(nearest) = self.kept.iter().min_by(|one, other| off_s(one).total_cmp(&off_s(other))) else { return };
        if state.parts_water || nearest.gives.len() != state.taps.len() {
            return;
        }
        let (points, number) = self.points(nearest, at_s);
        let (weights, number) = weights(&points[..number], at_s);
        state.taps.iter_mut().zip(&nearest.gives).for_each(|(tap, gives)| tap.gives = *gives);
        state.pressures_pa.fill(0.0);
        circuit.work.moved.fill(0.0);
        for (point, weight) in points[..number].iter().zip(weights) {
            let pressures = state.pressures_pa.iter_mut().zip(&point.pressures_pa);
            pressures.for_each(|(sum, pressure_pa)| *sum += weight * pressure_pa);
            let flows = circuit.work.moved.iter_mut().zip(&point.links);
            flows.for_each(|(sum, link)| *sum += weight * link.flow);
        }
        for ((link, known), flow) in state.links.iter_mut().zip(&nearest.links).zip(&circuit.work.moved) {
            *link = *known;
            // What turns round is left to the solve.
            if flow * known.flow > 0.0 {
                link.flow = *flow;
            }
        }
    }

    /// The answers that a curve goes through, the nearest first: those that stand as it does, each as far from the others as the nearest is
    /// from the time that is asked for.
    fn points<'a>(&'a self, nearest: &'a Answer, at_s: f64) -> ([&'a Answer; MOST_POINTS], usize) {
        let apart_s = (nearest.at_s - at_s).abs();
        let (mut points, mut number) = ([nearest; MOST_POINTS], 1);
        while number < MOST_POINTS {
            let far = |answer: &&Answer| {
                let from_all = |point: &&Answer| (point.at_s - answer.at_s).abs() >= apart_s && point.at_s != answer.at_s;
                answer.kind == nearest.kind && points[..number].iter().all(from_all)
            };
            let off_s = |answer: &Answer| (answer.at_s - at_s).abs();
            let Some(next) = self.kept.iter().filter(far).min_by(|one, other| off_s(one).total_cmp(&off_s(other))) else { break };
            points[number] = next;
            number += 1;
        }
        (points, number)
    }
}

impl Answer {
    /// Whether all that opens and closes stands as it does in a state.
    fn is_alike(&self, state: &State) -> bool {
        let links = self.links.iter().zip(&state.links);
        self.gives.len() == state.taps.len()
            && self.gives.iter().zip(&state.taps).all(|(gives, tap)| *gives == tap.gives)
            && links.into_iter().all(|(own, link)| {
                own.closed == link.closed && own.holding == link.holding && (own.flow > 0.0) == (link.flow > 0.0)
            })
    }
}

/// The weights by which as many of the answers as may be, the first ones, are added up to a polynomial through them (Lagrange), and their
/// number.
fn weights(points: &[&Answer], at_s: f64) -> ([f64; MOST_POINTS], usize) {
    for number in (2..=points.len()).rev() {
        let mut weights = [0.0; MOST_POINTS];
        for (index, point) in points[..number].iter().enumerate() {
            let others = points[..number].iter().enumerate().filter(|(other, _)| *other != index);
            weights[index] = others.map(|(_, other)| (at_s - other.at_s) / (point.at_s - other.at_s)).product();
        }
        if weights.iter().map(|weight: &f64| weight.abs()).sum::<f64>() <= MOST_WEIGHT {
            return (weights, number);
        }
    }
    let mut one = [0.0; MOST_POINTS];
    one[0] = 1.0;
    (one, 1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::garden::Garden;
    use crate::hydraulics::Network;
    use crate::hydraulics::test_parts::part;
    use crate::parts::Kind;
    use proptest::prelude::*;

    /// A head behind a hose, and another behind a second one.
    fn garden() -> Network {
        let hose = |name: &str| part(Kind::Hose, name, &[("length", 60.0, "ft"), ("diameter", 0.5, "in")]);
        let parts = vec![
            part(Kind::Supply, "tap", &[("static_pressure", 50.0, "psi")]),
            hose("feed"),
            part(Kind::Head, "near", &[("nozzle", 0.1, "in")]),
            hose("on"),
            part(Kind::Head, "far", &[("nozzle", 0.15, "in")]),
        ];
        let garden = Garden::from_joints(parts, &[(0, 0), (0, 1), (1, 1), (1, 2), (2, 2)]).expect("joins");
        let mut network = Network::new(&garden, &[true; 5]).expect("a sound garden");
        network.solve().expect("a steady state");
        network
    }

    proptest! {
        /// Pressures and flows that go by a polynomial of third degree are found to rounding.
        #[test]
        fn answers_on_a_cubic_lead_along_it(
            factors in prop::array::uniform3(-0.1f64..0.1), times_s in prop::collection::btree_set(1u32..40, 4..12), to_s in 0.0f64..41.0,
        ) {
            let mut network = garden();
            let at = |time_s: f64| 1.0 + factors.iter().rev().fold(0.0, |sum, factor| (sum + factor) * (time_s / 20.0 - 1.0));
            let solved = network.circuit.state.clone();
            let scaled = |share: f64| {
                let mut state = solved.clone();
                state.pressures_pa.iter_mut().for_each(|pressure_pa| *pressure_pa *= share);
                state.links.iter_mut().for_each(|link| link.flow *= share);
                state
            };
            let mut answers = Answers::default();
            times_s.iter().for_each(|&time_s| answers.keep(&scaled(at(f64::from(time_s))), f64::from(time_s)));
            answers.lead(&mut network.circuit, to_s);
            let nearest = answers.kept.iter().min_by(|a, b| (a.at_s - to_s).abs().total_cmp(&(b.at_s - to_s).abs())).expect("some");
            let (points, number) = answers.points(nearest, to_s);
            let (weights, used) = weights(&points[..number], to_s);
            prop_assert!((weights.iter().sum::<f64>() - 1.0).abs() < 1e-9);
            prop_assume!(used == MOST_POINTS);
            for (found, solved) in network.circuit.state.pressures_pa.iter().zip(&solved.pressures_pa) {
                prop_assert!((found / solved - at(to_s)).abs() < 1e-9, "{} of {}", found / solved, at(to_s));
            }
            for (found, solved) in network.circuit.state.links.iter().zip(&solved.links) {
                prop_assert!((found.flow / solved.flow - at(to_s)).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn answers_after_a_valve_has_closed_do_not_lead_to_those_before() {
        let mut network = garden();
        let open = network.circuit.state.clone();
        let mut shut = open.clone();
        (shut.links[0].flow, shut.links[0].closed) = (0.0, true);
        shut.pressures_pa.fill(0.0);
        let mut answers = Answers::default();
        for (state, at_s) in [(&open, 0.0), (&open, 1.0), (&shut, 2.0), (&shut, 3.0), (&open, 1.5)] {
            answers.keep(state, at_s);
        }
        answers.lead(&mut network.circuit, 1.6);
        assert!(!network.circuit.state.links[0].closed);
        for (found, known) in network.circuit.state.pressures_pa.iter().zip(&open.pressures_pa) {
            assert!((found / known - 1.0).abs() < 1e-12);
        }
        answers.lead(&mut network.circuit, 2.4);
        assert!(network.circuit.state.links[0].closed);
        assert_eq!(network.circuit.state.pressures_pa, shut.pressures_pa);
    }
}
