//! Several storages, or one that nothing keeps from a source, go by steps of [`super::attempt`] whose length follows the error.
//!
//! Where the state of a part changes inside a step that is not good, implicit Euler is tried before a shorter one.

use super::attempt::{Order, Start, Tried};
use super::frame::{Frame, Leg, Question};
use super::locate::locate;
use super::state::State;
use crate::hydraulics::SolveError;

/// The first step after something has changed, s, until a step from there is known.
const FIRST_STEP_S: f64 = 1e-2;
/// Least step, s: below it an error is let pass.
const LEAST_STEP_S: f64 = 1e-9;
/// By how much a step may be longer than the one before.
const MOST_GROWTH: f64 = 5.0;
/// The same after a step that leaves less than this share of the error that is let pass: nothing moves.
const MOST_GROWTH_AT_REST: f64 = 8.0;
const AT_REST: f64 = 1e-6;
/// By how much each good step lifts what a step without an answer has set.
const CEILING_RISES: f64 = 1.1;
const MOST_SHRINK: f64 = 0.2;
/// By how much the error of a step counts more in which the state of a part changes: what it is worked out from is smooth.
const STRICT: f64 = 10.0;
const SAFETY: f64 = 0.9;

/// What the steps of a setting leave for the next one.
pub struct Steps {
    /// The next step, s.
    step_s: f64,
    /// The first step after the setting is entered, s: the one that the first good step of the last time has called for.
    begin_s: f64,
    /// The next step may not be longer, s: one that was had no answer.
    ceiling_s: f64,
    /// Where the last step ended.
    last: Option<Frame>,
    /// The state in which the setting is entered, where it is known.
    entered: Option<Frame>,
    /// Gauges that have just been reported: they do not end the next step too.
    logged: Vec<usize>,
    /// How long the setting has been gone through since it was entered, s.
    at_s: f64,
    /// The last step was one of implicit Euler: its flows are those of the step as a whole, and may have ended with it.
    is_abrupt: bool,
}

impl Default for Steps {
    fn default() -> Steps {
        Steps {
            step_s: FIRST_STEP_S,
            begin_s: FIRST_STEP_S,
            ceiling_s: f64::INFINITY,
            last: None,
            entered: None,
            logged: Vec::new(),
            at_s: 0.0,
            is_abrupt: false,
        }
    }
}

impl Steps {
    /// Whether the last step has ended at the beginning of this question.
    pub fn goes_on(&self, question: &Question) -> bool {
        self.last.as_ref().is_some_and(|frame| frame.stored_pa == question.stored_pa)
    }

    /// Notes the state in which a setting is entered, with these pressures of the stores.
    pub fn enter(&mut self, stored_pa: &[f64], frame: &Frame) {
        let mut frame = frame.clone();
        frame.stored_pa.copy_from_slice(stored_pa);
        self.entered = Some(frame);
    }

    /// One step, cut short where a watched gauge changes. Errors: a state at its start or end has no steady
    /// solution, however short it is.
    pub fn step(&mut self, state: &mut State, question: &Question) -> Result<Leg, SolveError> {
        let &Question { plant, stored_pa, .. } = question;
        let goes_on = self.goes_on(question);
        let (frame, enters) = match self.last.take() {
            Some(frame) if goes_on => (frame, false),
            _ => {
                let found = match self.entered.take().filter(|frame| frame.stored_pa == stored_pa) {
                    Some(frame) => frame,
                    None => {
                        let mut frame = Frame::default();
                        state.at_once(plant, stored_pa, &mut frame)?;
                        frame.stored_pa.copy_from_slice(stored_pa);
                        frame
                    }
                };
                (found, true)
            }
        };
        if enters {
            (self.step_s, self.ceiling_s) = (self.begin_s, f64::INFINITY);
            self.logged.clear();
            self.at_s = 0.0;
            state.network.leave_way();
        }
        let start = Start::new(question, frame, self.at_s);
        let tried = self.accepted(&start, state, enters || self.is_abrupt)?;
        if enters {
            self.begin_s = self.step_s.max(LEAST_STEP_S);
        }
        let (tried, event) = locate(&start, state, tried, &mut self.logged);
        self.at_s += tried.step_s;
        self.is_abrupt = tried.order == Order::One;
        let raised_s = raised_s(&start, &tried);
        let leg = Leg {
            start_pa: stored_pa.to_vec(),
            end_pa: tried.frame.stored_pa.clone(),
            time_s: tried.step_s,
            integrals: tried.integrals,
            raised_s,
            raised: tried.frame.raised.clone(),
            start_node_pa: start.frame.node_pa,
            end_node_pa: tried.frame.node_pa.clone(),
            event,
        };
        self.last = Some(tried.frame);
        Ok(leg)
    }

    /// The first step that is good enough, and the length of the one after it. `knows_no_flows` says that those at its start may not fit the
    /// pressures there.
    fn accepted(&mut self, start: &Start, state: &mut State, knows_no_flows: bool) -> Result<Tried, SolveError> {
        let most_s = start.question.most_s;
        // A last step is no sliver.
        let mut step_s = if self.step_s >= 0.9 * most_s { most_s } else { self.step_s };
        let (mut tries_euler, mut most_growth) = (true, f64::INFINITY);
        let (mut order, mut strictness) = (start.order(knows_no_flows), 1.0);
        loop {
            let tried = match start.attempt(state, step_s, order) {
                Ok(tried) => Tried { error: tried.error * strictness, ..tried },
                Err(_) if order == Order::Four => {
                    order = Order::Three;
                    continue;
                }
                Err(_) if step_s > LEAST_STEP_S => {
                    (step_s, most_growth) = (0.5 * step_s, 1.0);
                    self.ceiling_s = step_s;
                    continue;
                }
                Err(error) => return Err(error),
            };
            if order == Order::Four && start.breaks(state, &tried) {
                (order, strictness) = (Order::Three, STRICT);
                continue;
            }
            if tried.is_good() {
                self.grow(&tried, most_s, most_growth);
                return Ok(tried);
            }
            if tries_euler && tried.order != Order::One && start.turns(state, &tried) {
                tries_euler = false;
                if let Ok(low) = start.euler(state, step_s)
                    && low.is_good()
                {
                    self.grow(&low, most_s, most_growth);
                    return Ok(low);
                }
            }
            // Right after a step that was too long the next one is no longer.
            (step_s, most_growth) = ((step_s * tried.factor().min(SAFETY)).max(0.5 * LEAST_STEP_S), 1.0);
        }
    }

    fn grow(&mut self, tried: &Tried, most_s: f64, most_growth: f64) {
        let next_s = tried.step_s * tried.factor().min(most_growth);
        // A step that the schedule has cut short is no evidence against the longer one that was meant.
        let wanted_s = if tried.step_s < most_s { next_s } else { self.step_s.max(next_s) };
        self.step_s = wanted_s.min(self.ceiling_s);
        self.ceiling_s *= CEILING_RISES;
    }
}

/// How long each gauge was raised in a step, s; one that changes is taken to go evenly.
fn raised_s(start: &Start, tried: &Tried) -> Vec<f64> {
    let raised = start.question.raised.iter().zip(&tried.frame.raised);
    let gauges = start.frame.gauges.iter().zip(&tried.frame.gauges);
    let share = |((before, after), (from, to)): ((&bool, &bool), (&f64, &f64))| match (before, after) {
        (true, true) => 1.0,
        (false, false) => 0.0,
        _ => (from.max(*to) / (from - to).abs()).clamp(0.0, 1.0),
    };
    raised.zip(gauges).map(share).map(|share: f64| if share.is_nan() { 0.0 } else { share * tried.step_s }).collect()
}

impl Tried {
    fn is_good(&self) -> bool {
        self.error <= 1.0 || self.step_s <= LEAST_STEP_S
    }

    /// By how much the next step should be longer.
    fn factor(&self) -> f64 {
        let most = if self.error < AT_REST { MOST_GROWTH_AT_REST } else { MOST_GROWTH };
        (SAFETY * self.error.powf(-1.0 / self.order.power())).clamp(MOST_SHRINK, most)
    }
}
