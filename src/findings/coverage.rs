//! Coverage: water that misses the bed, and a picture of heads that do not work.

use super::finding::{Cause, Finding, Level, Source};
use super::limits::MOST_OFF_BED_SHARE;
use crate::coverage::Rain;

const OFF_BED: Cause = Cause {
    code: "off-bed",
    level: Level::Warning,
    why: "that water is paid for and pumped, and wets paths, walls and weeds; the rate on the bed is that much lower",
    source: Source::CommonPractice,
};
const STALLED: Cause = Cause {
    code: "coverage-of-stalled-heads",
    level: Level::Warning,
    why: "a head below its need does not turn or throws a ring: the evenness shown holds for heads that work",
    source: Source::Physics,
};

/// What is to be said of the rain on a bed.
pub fn of_rain(rain: &Rain) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut add = |cause: Cause, what: String, action: &str| {
        let Cause { code, level, why, source } = cause;
        let (why, action) = (why.to_string(), action.to_string());
        findings.push(Finding { level, code, place: None, name: String::new(), what, why, action, source });
    };
    if let [first, others @ ..] = rain.stalled.as_slice() {
        let (heads, get) = match others {
            [] => (format!("head '{first}'"), "gets"),
            [second] => (format!("heads '{first}' and '{second}'"), "get"),
            more => (format!("head '{first}' and {} others", more.len()), "get"),
        };
        let share = (100.0 * rain.evenness.christiansen).round();
        let what = format!("{heads} {get} less pressure than needed, so the {share}% evenness shown is not what they give");
        add(STALLED, what, "raise the pressure until they work: fewer heads at once, a wider hose, smaller nozzles or a booster");
    }
    let off = 1.0 - rain.caught_share();
    if off > MOST_OFF_BED_SHARE {
        let (off, most) = ((100.0 * off).round(), 100.0 * MOST_OFF_BED_SHARE);
        let what = format!("{off}% of the water falls outside the bed, more than {most}%");
        add(OFF_BED, what, "fit smaller arcs or radii at the edges, turn the arcs inward, or move the heads");
    }
    findings
}
