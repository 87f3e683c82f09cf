//! A step of a run with several storages as it is tried: an implicit method of order four or three, or implicit Euler.
//!
//! Each stage is one steady solve in which the stores are part of the network, so check valves, dry heads and lines without
//! resistance need no care here. Volumes follow from flows by the weights of the method: no water is lost. The last stage is
//! the end of the step. Where a stage would begin with less water than there is, the step is taken by implicit Euler, which
//! never overshoots.
//! Source of the methods: [`super::tableau`]; of the error by way of the tangents: E. Hairer and G. Wanner, Solving Ordinary Differential
//! Equations II, section IV.8, from memory.

use super::frame::{Frame, Question, Tolerance};
use super::gauge::{Kink, What};
use super::plant::Plant;
use super::state::{State, volumes_m3};
use super::storage::Storage;
use super::tableau::{FOUR, MOST_STAGES, THREE, Tableau};
use crate::hydraulics::SolveError;

/// Error of a step at the usual tolerance: pressure, Pa, or volume, m3. The volume lets pass what is no water: the pressure of a
/// full, an empty or a rigid store.
const ERROR_PA: f64 = 1.0;
const ERROR_M3: f64 = 1e-9;
/// A stage that begins below this is one without water, Pa: a vacuum.
const VACUUM_PA: f64 = -1e5;

/// A step that was tried.
pub struct Tried {
    pub step_s: f64,
    pub integrals: Vec<f64>,
    pub frame: Frame,
    /// Error as a share of what is let pass.
    pub error: f64,
    pub order: Order,
}

/// How a step is taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Order {
    /// It goes on from a step that has ended where this one starts.
    Four,
    Three,
    /// Implicit Euler.
    One,
}

impl Order {
    /// The method of a step; none for implicit Euler.
    fn tableau(self) -> Option<&'static Tableau> {
        match self {
            Order::Four => Some(&FOUR),
            Order::Three => Some(&THREE),
            Order::One => None,
        }
    }

    /// The error that is let pass as a share of the usual one. That of order four lets less pass: its steps are longer, and with the same error
    /// at each the moments of events would be less exact.
    fn passes(self) -> f64 {
        if self == Order::Four { 0.1 } else { 1.0 }
    }

    /// The error of a step goes with its length to this power.
    pub fn power(self) -> f64 {
        self.tableau().map_or(2.0, |tableau| f64::from(tableau.order_beside + 1))
    }
}

/// What a step starts from.
pub struct Start<'a> {
    pub question: &'a Question<'a>,
    pub frame: Frame,
    /// When it is, s, as the answers that the network keeps count.
    at_s: f64,
    volumes_m3: Vec<f64>,
    tolerance: f64,
}

impl<'a> Start<'a> {
    /// The start of a step; `frame` is the state there.
    pub fn new(question: &'a Question<'a>, frame: Frame, at_s: f64) -> Start<'a> {
        let volumes_m3 = volumes_m3(question.plant, question.stored_pa);
        Start { question, frame, at_s, volumes_m3, tolerance: question.tolerance.share / Tolerance::USUAL.share }
    }

    fn plant(&self) -> &Plant {
        self.question.plant
    }

    /// The order that a first try of a step from here has. One that enters a setting or follows implicit Euler knows no flows that fit the pressures
    /// of all stores, nor does one from the rim of a tank, where the film that has run over comes back first.
    pub fn order(&self, knows_no_flows: bool) -> Order {
        let rim = |(storage, at_pa): (&Storage, &f64)| storage.store.rim_pa.is_some_and(|rim_pa| *at_pa >= rim_pa);
        let at_rim = self.plant().storages.iter().zip(self.question.stored_pa).any(rim);
        if knows_no_flows || at_rim { Order::Three } else { Order::Four }
    }

    /// Tries a step of this length, s, of an order.
    ///
    /// Errors: a state within it has no steady solution.
    pub fn attempt(&self, state: &mut State, step_s: f64, order: Order) -> Result<Tried, SolveError> {
        let Some(tableau) = order.tableau() else { return self.euler(state, step_s) };
        let plant = self.plant();
        let span_s = tableau.own * step_s;
        let mut flows = std::mem::take(&mut state.stages);
        let at = |flows: &[Frame; MOST_STAGES], stage: usize, index: usize| {
            if stage < tableau.first_solved { self.frame.integrands[index] } else { flows[stage].integrands[index] }
        };
        for stage in tableau.first_solved..tableau.stages {
            let weights = &tableau.weights[stage];
            let before = |k: usize| (0..stage).map(|other| weights[other] * at(&flows, other, k)).sum::<f64>();
            let from_m3: Vec<f64> =
                self.volumes_m3.iter().enumerate().map(|(k, volume_m3)| volume_m3 + step_s * before(k)).collect();
            if stage > 0 && self.runs_out(&from_m3) {
                return self.euler(state, step_s);
            }
            state.network.lead_to(self.at_s + tableau.when(stage) * step_s);
            if stage + 1 == tableau.stages {
                state.stage(plant, &from_m3, span_s, &mut flows[stage])?;
            } else {
                state.flows_of_stage(plant, &from_m3, span_s, &mut flows[stage])?;
            }
            state.network.keep_answer(self.at_s + tableau.when(stage) * step_s);
        }
        let sum = |weights: &[f64; MOST_STAGES], index: usize| -> f64 {
            step_s * (0..tableau.stages).map(|stage| weights[stage] * at(&flows, stage, index)).sum::<f64>()
        };
        let number = self.frame.integrands.len();
        let integrals: Vec<f64> = (0..number).map(|index| sum(tableau.of_step(), index)).collect();
        let off_m3: Vec<f64> = (0..self.volumes_m3.len()).map(|k| integrals[k] - sum(&tableau.beside, k)).collect();
        let frame = std::mem::take(&mut flows[tableau.stages - 1]);
        state.stages = flows;
        Ok(self.tried(state, (step_s, span_s), order, integrals, &off_m3, frame))
    }

    /// Tries a step of this length, s, by implicit Euler: first order, but at rest at once where rates change abruptly.
    ///
    /// Errors: the state at its end has no steady solution.
    pub fn euler(&self, state: &mut State, step_s: f64) -> Result<Tried, SolveError> {
        let mut frame = Frame::default();
        state.network.lead_to(self.at_s + step_s);
        state.stage(self.plant(), &self.volumes_m3, step_s, &mut frame)?;
        state.network.keep_answer(self.at_s + step_s);
        let integrals: Vec<f64> = frame.integrands.iter().map(|value| step_s * value).collect();
        let change = |k: usize| 0.5 * step_s * (frame.integrands[k] - self.frame.integrands[k]);
        let off_m3: Vec<f64> = (0..self.volumes_m3.len()).map(change).collect();
        Ok(self.tried(state, (step_s, step_s), Order::One, integrals, &off_m3, frame))
    }

    fn tried(
        &self,
        state: &mut State,
        (step_s, span_s): (f64, f64),
        order: Order,
        mut integrals: Vec<f64>,
        off_m3: &[f64],
        mut frame: Frame,
    ) -> Tried {
        let plant = self.plant();
        let rises_pa = state.rises_pa(plant, &frame, off_m3, span_s);
        let passes = self.tolerance * order.passes();
        let share = |(rise_pa, off_m3): (&f64, &f64)| (rise_pa.abs() / ERROR_PA).min(off_m3.abs() / ERROR_M3) / passes;
        let error = rises_pa.iter().zip(off_m3).map(share).fold(0.0, f64::max);
        close(plant, &self.volumes_m3, &mut integrals, &mut frame);
        Tried { step_s, integrals, frame, error: if error.is_nan() { f64::INFINITY } else { error }, order }
    }

    /// Whether a store would begin a stage with less than nothing.
    fn runs_out(&self, from_m3: &[f64]) -> bool {
        let storages = self.plant().storages.iter().zip(from_m3).zip(self.question.stored_pa);
        storages.into_iter().any(|((storage, &from_m3), &at_pa)| {
            let least_pa = if storage.barrel.is_some() { 0.0 } else { VACUUM_PA };
            from_m3 < storage.volume_m3(at_pa.min(0.0) + least_pa)
        })
    }

    /// Whether the state of a part changes in a step in a way that bends the way of the state.
    pub fn turns(&self, state: &State, tried: &Tried) -> bool {
        let bends = |what: What| {
            !matches!(what, What::CutIn(_) | What::CutOut(_) | What::LeastFlow(_) | What::Needs | What::Tap | What::DeadHead)
        };
        self.changes(state, tried, bends)
    }

    /// Whether a pressure begins or ends to be held in a step, or a drive runs out of flow: then that ends as the root of what is left of the time,
    /// which a method of high order does not see.
    pub fn breaks(&self, state: &State, tried: &Tried) -> bool {
        self.changes(state, tried, |what| matches!(what, What::Kink(Kink::Held) | What::LeastFlow(_) | What::Idles(_)))
    }

    /// Whether some gauge of these changes in a step, or a barrel comes to its rim.
    fn changes(&self, state: &State, tried: &Tried, counts: impl Fn(What) -> bool) -> bool {
        let rim = |(storage, (before_pa, after_pa)): (&Storage, (&f64, &f64))| {
            storage.barrel.is_some_and(|barrel| (*before_pa < barrel.full_pa) != (*after_pa < barrel.full_pa))
        };
        let ends = self.question.stored_pa.iter().zip(&tried.frame.stored_pa);
        let mut gauges = state.gauges.iter().zip(self.frame.raised.iter().zip(&tried.frame.raised));
        gauges.any(|(gauge, (before, after))| before != after && counts(gauge.what))
            || self.plant().storages.iter().zip(ends).any(rim)
    }

    /// Tries a step of another length, s, by the method of one that was tried. Errors: as for that method.
    pub fn like(&self, state: &mut State, tried: &Tried, step_s: f64) -> Result<Tried, SolveError> {
        self.attempt(state, step_s, tried.order)
    }
}

/// The end of a span by implicit Euler: where a state at rest is at its end. Gives what was added up, the state, and how
/// long it took.
pub fn settle(state: &mut State, plant: &Plant, stored_pa: &[f64], span_s: f64) -> Result<(Vec<f64>, Frame), SolveError> {
    let volumes = volumes_m3(plant, stored_pa);
    let mut frame = Frame::default();
    state.stage(plant, &volumes, span_s, &mut frame)?;
    let mut integrals: Vec<f64> = frame.integrands.iter().map(|value| span_s * value).collect();
    close(plant, &volumes, &mut integrals, &mut frame);
    Ok((integrals, frame))
}

/// Sets the pressures at the end of a step by what its flows have brought. The film above a rim runs over.
fn close(plant: &Plant, volumes_m3: &[f64], integrals: &mut [f64], frame: &mut Frame) {
    let n = plant.storages.len();
    for (k, storage) in plant.storages.iter().enumerate() {
        let mut end_m3 = volumes_m3[k] + integrals[k];
        if let Some(rim_pa) = storage.store.rim_pa {
            let over_m3 = (end_m3 - storage.volume_m3(rim_pa)).max(0.0);
            end_m3 -= over_m3;
            integrals[k] -= over_m3;
            integrals[n + k] += over_m3;
        }
        frame.stored_pa[k] = storage.store.pressure_pa(end_m3);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::garden::Garden;
    use crate::operation::frame::Setting;
    use crate::parts::{Kind, Law};
    use crate::support::{part, q};

    const SPAN_S: f64 = 100.0;
    const START_PA: f64 = 1.8e4;

    /// An open tank of 20 L whose water leaves through two emitters that go with a power of its pressure.
    fn emptying() -> Garden {
        let tank = part(Kind::OpenTank, "tank", &[("level", q(2.0, "m")), ("volume", q(20.0, "L"))]);
        let emitter = |name: &str| {
            part(Kind::Emitter, name, &[("flow", q(5.0, "L/min")), ("pressure", q(0.15, "bar")), ("exponent", q(0.8, ""))])
        };
        tank.then_branches(&[emitter("one"), emitter("other")]).expect("joins")
    }

    /// How far the pressure of the tank is off at the end of a span gone in so many steps, Pa.
    ///
    /// With C dP/dt = -k P^x the power P^(1 - x) falls evenly, by (1 - x) k / C.
    fn off_pa(order: Order, steps: usize) -> f64 {
        let garden = emptying();
        let plant = Plant::of(&garden).expect("a plant");
        let places = plant.hydraulic.parts().len();
        let setting = Setting { open: vec![true; places], runs: vec![false; places], faults: Vec::new(), mains: Vec::new() };
        let mut state = State::new(&plant, &[], &setting).expect("a sound garden");
        let one = garden.find("one").expect("an emitter");
        let Law::Power { coefficient, exponent } = *state.network.law(one) else { panic!("an emitter goes with a power") };
        let falls = (1.0 - exponent) * 2.0 * coefficient / plant.storages[0].m3_per_pa(START_PA);
        let wanted_pa = (START_PA.powf(1.0 - exponent) - falls * SPAN_S).powf(1.0 / (1.0 - exponent));
        let mut frame = Frame::default();
        state.with_pressures(&plant, &[START_PA], &mut frame).expect("a state");
        let (mut stored_pa, step_s) = (vec![START_PA], SPAN_S / steps as f64);
        for step in 0..steps {
            let (raised, tolerance) = (frame.raised.clone(), Tolerance::USUAL);
            let question =
                Question { plant: &plant, stored_pa: &stored_pa, raised: &raised, most_s: SPAN_S, watches: &[], tolerance };
            let start = Start::new(&question, frame, step as f64 * step_s);
            let tried = start.attempt(&mut state, step_s, order).expect("a step");
            assert_eq!(tried.order, order);
            frame = tried.frame;
            stored_pa = frame.stored_pa.clone();
        }
        stored_pa[0] - wanted_pa
    }

    #[test]
    fn half_the_step_leaves_of_the_error_what_the_order_says() {
        for (order, power) in [(Order::Four, 4.0), (Order::Three, 3.0), (Order::One, 1.0)] {
            let errors = [2, 4].map(|steps| off_pa(order, steps).abs());
            let found = (errors[0] / errors[1]).log2();
            assert!((found - power).abs() < 0.25, "{order:?}: {found} by {errors:?} Pa");
        }
        assert!(off_pa(Order::Four, 4).abs() < 0.02 * off_pa(Order::Three, 4).abs());
    }
}
