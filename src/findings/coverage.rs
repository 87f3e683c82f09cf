//! Coverage: water that misses the bed, and a picture of heads that do not work.

use super::catalogue::water as say;
use super::finding::Finding;
use super::limits::MOST_OFF_BED_SHARE;
use super::phrase::Value;
use crate::coverage::Coverage;

/// What is to be said of the rain on a bed.
pub fn of_rain(rain: &Coverage) -> Vec<Finding> {
    let mut findings = Vec::new();
    if let [first, others @ ..] = rain.stalled.as_slice() {
        let finding = match others {
            [] => Finding::of_whole(&say::COVERAGE_OF_STALLED),
            [second] => Finding::of_whole(&say::COVERAGE_OF_TWO_STALLED).with("second", second.as_str()),
            more => Finding::of_whole(&say::COVERAGE_OF_MANY_STALLED).with("others", more.len().to_string()),
        };
        findings.push(finding.with("first", first.as_str()).with("percent", Value::percent(rain.evenness.christiansen)));
    }
    let off = 1.0 - rain.caught_share();
    if off > MOST_OFF_BED_SHARE {
        let finding = Finding::of_whole(&say::OFF_BED);
        findings.push(finding.with("off", Value::percent(off)).with("most", Value::percent(MOST_OFF_BED_SHARE)));
    }
    findings
}
