//! Where in a step a watched gauge changes: the step is taken anew, shorter, until it ends right behind the first change.

use super::attempt::{Start, Tried};
use super::frame::Frame;
use super::gauge::What;
use super::state::State;

/// A change is located to this, s, or until the gauge is this far behind it, Pa.
const LOCATED_TO_S: f64 = 1e-7;
/// The same of a change that is only told.
const TOLD_TO_S: f64 = 1e-5;
const BEHIND_PA: f64 = 1e-4;
const MOST_TRIES: usize = 80;

/// The step cut short at its first event, and whether there is one. `told` are gauges that ended the last step although nothing
/// acts on them; they do not end this one too, and are set anew.
pub fn locate(start: &Start, state: &mut State, tried: Tried, told: &mut Vec<usize>) -> (Tried, bool) {
    let deaf = std::mem::take(told);
    let mut tried = tried;
    let mut event = false;
    for _ in 0..start.question.watches.len() {
        let Some(gauge) = changed(start, &tried.frame, &deaf) else { break };
        event = true;
        let (before, behind) = narrow(start, state, tried, gauge);
        if is_only_told(state.gauges[gauge].what) {
            told.push(gauge);
        }
        // Is another gauge still earlier?
        match before.filter(|before| changed(start, &before.frame, &deaf).is_some()) {
            Some(earlier) => tried = earlier,
            None => {
                tried = behind;
                break;
            }
        }
    }
    (tried, event)
}

/// The first watched gauge that has changed since the start of the step.
fn changed(start: &Start, frame: &Frame, deaf: &[usize]) -> Option<usize> {
    let question = start.question;
    let sees = |&gauge: &usize| question.watches[gauge].sees(question.raised[gauge], frame.raised[gauge]);
    (0..question.watches.len()).filter(|gauge| !deaf.contains(gauge)).find(sees)
}

/// Nothing acts on it: the log alone tells of its changes.
fn is_only_told(what: What) -> bool {
    matches!(what, What::Check | What::Relief | What::Tank { .. })
}

/// The steps that end right before and right behind the change of a gauge, by false position with halving where it creeps
/// (Illinois). Nothing before where it changes at once.
fn narrow(start: &Start, state: &mut State, tried: Tried, gauge: usize) -> (Option<Tried>, Tried) {
    let sign = if start.question.raised[gauge] { 1.0 } else { -1.0 };
    // Above zero before the change, below it behind.
    let value = |frame: &Frame| sign * frame.gauges[gauge] + 0.5 * BEHIND_PA;
    let is_behind = |frame: &Frame| frame.raised[gauge] != start.question.raised[gauge];
    let (mut low_s, mut low) = (0.0, value(&start.frame).max(BEHIND_PA));
    let (mut before, mut behind) = (None, tried);
    let mut high = value(&behind.frame).min(-0.25 * BEHIND_PA);
    let mut halves = 0;
    let located_to_s = if is_only_told(state.gauges[gauge].what) { TOLD_TO_S } else { LOCATED_TO_S };
    for _ in 0..MOST_TRIES {
        let width_s = behind.step_s - low_s;
        if width_s <= located_to_s.max(1e-13 * behind.step_s) || behind.frame.gauges[gauge].abs() <= BEHIND_PA {
            break;
        }
        let share = low / (low - high);
        let share = if halves >= 2 { 0.5 } else { share.clamp(1e-3, 1.0 - 1e-3) };
        let at_s = low_s + share * width_s;
        let Ok(here) = start.like(state, &behind, at_s) else { break };
        let value_here = value(&here.frame);
        if is_behind(&here.frame) {
            high = value_here.min(-0.25 * BEHIND_PA);
            behind = here;
        } else {
            (low_s, low) = (at_s, value_here.max(0.25 * BEHIND_PA));
            before = Some(here);
        }
        let slow = behind.step_s - low_s > 0.5 * width_s;
        halves = if halves >= 2 || !slow { 0 } else { halves + 1 };
    }
    (before, behind)
}
