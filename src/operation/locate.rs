//! Where in a step a watched gauge changes: the step is taken anew, shorter, until it ends right after the first change.

use super::attempt::{Start, Tried};
use super::frame::Frame;
use super::gauge::What;
use super::state::State;
use super::tolerances::{BEHIND_PA, LOCATED_TO_S, LOGGED_TO_S};
use crate::numeric::{End, narrow};

/// The step cut short at its first event, and whether there is one. `logged` are gauges that ended the last step although nothing
/// acts on them; they do not end this one too, and are set anew.
pub fn locate(start: &Start, state: &mut State, tried: Tried, logged: &mut Vec<usize>) -> (Tried, bool) {
    let deaf = std::mem::take(logged);
    let mut tried = tried;
    let mut event = false;
    for _ in 0..start.question.watches.len() {
        let Some(gauge) = changed(start, &tried.frame, &deaf) else { break };
        event = true;
        let (before, after) = narrowed(start, state, tried, gauge);
        if is_only_logged(state.gauges[gauge].what) {
            logged.push(gauge);
        }
        // Is another gauge still earlier?
        match before.filter(|before| changed(start, &before.frame, &deaf).is_some()) {
            Some(earlier) => tried = earlier,
            None => {
                tried = after;
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

/// Nothing acts on it: only the log has its changes.
fn is_only_logged(what: What) -> bool {
    matches!(what, What::Check | What::Relief | What::Tank { .. })
}

/// The steps that end right before and right after the change of a gauge. Nothing before where it changes at once.
fn narrowed(start: &Start, state: &mut State, tried: Tried, gauge: usize) -> (Option<Tried>, Tried) {
    let raised = start.question.raised[gauge];
    let sign = if raised { 1.0 } else { -1.0 };
    let located_to_s = if is_only_logged(state.gauges[gauge].what) { LOGGED_TO_S } else { LOCATED_TO_S };
    // Above zero before the change, below zero after it, and `None` where it need not be located any nearer.
    let value = |frame: &Frame| {
        let value = sign * frame.gauges[gauge] + 0.5 * BEHIND_PA;
        match frame.raised[gauge] == raised {
            true => value.max(0.25 * BEHIND_PA),
            false if frame.gauges[gauge].abs() <= BEHIND_PA => 0.0,
            false => value.min(-0.25 * BEHIND_PA),
        }
    };
    let above = End { x: 0.0, value: value(&start.frame).max(BEHIND_PA) };
    let below = End { x: tried.step_s, value: value(&tried.frame) };
    let (mut before, mut after) = (None, tried);
    // A step that cannot be taken ends the search with what there is.
    let _ = narrow(above, below, located_to_s, |at_s| {
        let here = start.like(state, &after, at_s).map_err(drop)?;
        let value = value(&here.frame);
        if value > 0.0 {
            before = Some(here);
        } else {
            after = here;
        }
        Ok::<f64, ()>(value)
    });
    (before, after)
}
