//! Coverage: water that misses the bed, and a picture of heads that do not work.

use super::catalog::water as say;
use super::finding::Finding;
use super::limits::OFF_BED;
use super::phrase::Value;
use crate::coverage::Coverage;

/// What is to be said of the coverage of a bed.
pub fn of_coverage(coverage: &Coverage) -> Vec<Finding> {
    let mut findings = Vec::new();
    if let [first, others @ ..] = coverage.stalled.as_slice() {
        let first = |entry| Finding::of_whole(entry).with("first", first.as_str());
        let finding = match others {
            [] => first(&say::COVERAGE_BELOW_RANGE),
            more if more.len() + 1 == coverage.sprays.len() => {
                Finding::of_whole(&say::COVERAGE_OF_NONE_IN_RANGE).with("heads", coverage.sprays.len().to_string())
            }
            [second] => first(&say::COVERAGE_OF_TWO_BELOW_RANGE).with("second", second.as_str()),
            more => first(&say::COVERAGE_OF_MANY_BELOW_RANGE).with("others", more.len().to_string()),
        };
        findings.push(finding.with("percent", Value::percent(coverage.uniformity.christiansen)));
    }
    let off = 1.0 - coverage.caught_share();
    let most = OFF_BED.given_in(&coverage.accepted);
    if off > most {
        let finding = Finding::of_whole(&say::OVERSPRAY);
        findings.push(finding.with("off", Value::percent(off)).with("most", Value::percent(most)));
    }
    findings
}
