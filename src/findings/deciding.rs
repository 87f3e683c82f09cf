//! Which findings each threshold decides, and what is said of a finding that a threshold set by its owner decided.

use super::catalog::{Entry, coverage, hose, pump, relief, source, switch, water, zone};
use super::limits::{self, Threshold};
use super::phrase::Limit;
use crate::garden::Accepted;
use crate::quantity::{Quantity, UnitSystem};

/// Each threshold with the entries that appear or stay away by it.
pub const DECIDED: &[(Threshold, &[&Entry])] = &[
    (limits::HOUSE_PRESSURE, &[&source::LOW_TAP_PRESSURE, &source::LOW_TAP_PRESSURE_IN_RUN]),
    (limits::LOW_STATIC, &[&source::LOW_STATIC]),
    (limits::HIGH_STATIC, &[&source::HIGH_STATIC]),
    (limits::BEYOND_TEST, &[&source::BEYOND_TEST]),
    (limits::TESTS_APART, &[&source::TESTS_DISAGREE]),
    (limits::METER_FLOW, &[&source::METER_LIMIT]),
    (limits::PREVENTER_LOSS, &[&source::PREVENTER_TYPE_UNKNOWN]),
    (limits::HOSE_BREAKER_HEIGHT, &[&source::BACKPRESSURE_OF_HEIGHT]),
    (limits::LOW_SUCTION, &[&pump::NO_LOW_SUCTION_CUTOFF]),
    (limits::LOWEST_INLET, &[&pump::LIFT_TOO_HIGH]),
    (limits::NPSH_MARGIN, &[&pump::NPSH_MARGIN]),
    (limits::SHUT_OFF_MARGIN, &[&switch::NEAR_DEAD_HEAD, &switch::WOULD_BE_NEAR_DEAD_HEAD, &switch::NO_MARGIN]),
    (
        limits::GAUGE_MARGIN,
        &[
            &switch::NEAR_CUT_IN,
            &switch::WOULD_BE_NEAR_CUT_IN,
            &switch::NEAR_CUT_OUT,
            &switch::WOULD_BE_NEAR_CUT_OUT,
            &switch::CUT_IN_NEAR_STATIC,
            &switch::CUT_IN_AT_STATIC,
            &switch::NO_MARGIN,
        ],
    ),
    (limits::RELIEF_MARGIN, &[&relief::RELIEF_NEAR_CUT_OUT, &relief::RELIEF_WOULD_BE_NEAR, &switch::NO_MARGIN]),
    (limits::PRECHARGE_LOW, &[&switch::PRECHARGE_LOW]),
    (limits::STARTS_PER_HOUR, &[&switch::MANY_STARTS]),
    (limits::MOST_STARTS, &[&switch::SHORT_CYCLED]),
    (limits::STARTS_PER_DAY, &[&switch::STARTS_OF_DAY]),
    (limits::LEAST_RUN, &[&switch::MANY_STARTS]),
    (limits::FAST_IN_HOSE, &[&water::HIGH_VELOCITY_IN_HOSE]),
    (limits::FAST_IN_PIPE, &[&water::HIGH_VELOCITY]),
    (limits::TOO_FAST, &[&water::EXCESSIVE_VELOCITY]),
    (limits::HOSE_FRICTION, &[&hose::HOSE_FRICTION]),
    (limits::HOSE_RATING, &[&relief::HOSE_NEAR_RATING, &hose::HOT_HOSE, &hose::TIMER_RATING]),
    (limits::PIPE_RATING, &[&relief::PIPE_NEAR_RATING]),
    (limits::HOSE_LEFT, &[&hose::HOSE_LEFT_NEAR_RATING]),
    (limits::TIMER_RATING, &[&hose::TIMER_RATING, &hose::TIMER_OVER_RATING]),
    (
        limits::NEAR_RANGE,
        &[
            &water::NEAR_RANGE_LOW,
            &water::NEAR_RANGE_HIGH,
            &switch::RUNS_UNNEEDED,
            &switch::NEEDS_NO_PUMP_ON_RELAY,
            &switch::NEEDS_NO_PUMP_UNSWITCHED,
        ],
    ),
    (limits::DRIP_PRESSURE, &[&water::DRIP_OVER_PRESSURE]),
    (limits::DRIP_MESH, &[&zone::DRIP_NO_FILTER, &zone::SOAKER_NO_FILTER]),
    (limits::ZONE_VARIATION, &[&zone::ZONE_VARIATION_HIGH]),
    (limits::OFF_BED, &[&coverage::OVERSPRAY]),
    (limits::LEAST_DU, &[&coverage::COVERAGE_UNEVEN]),
    (limits::BLOWN, &[&coverage::COVERAGE_WIND]),
    (limits::RING, &[&coverage::COVERAGE_RING]),
    (limits::REACH, &[&coverage::SPACING]),
    (limits::UNMATCHED, &[&coverage::UNMATCHED]),
    (limits::REGULATOR_FLOW, &[&zone::REGULATOR_FLOW]),
    (limits::DRAINAGE_HEIGHT, &[&zone::LOW_HEAD_DRAINAGE, &zone::TOO_SHORT]),
    (limits::FILL_TIMES, &[&zone::TOO_SHORT]),
    (limits::WEAK_LINE, &[&zone::WEAK_CHECK]),
];

/// The thresholds that decide a finding and that an owner set otherwise than usual, with their values, SI.
pub(super) fn set_for(entry: &Entry, accepted: &Accepted) -> Vec<(Threshold, f64)> {
    let decide = DECIDED.iter().filter(|(_, entries)| entries.contains(&entry)).map(|(threshold, _)| *threshold);
    let set = decide.filter_map(|threshold| Some((threshold, accepted.threshold(threshold.name)?)));
    set.filter(|(threshold, si)| *si != threshold.usual).collect()
}

/// Thresholds that were set, in words: `set for this garden: shut_off_margin 8 psi, 5 psi is usual`; nothing where none was.
pub(super) fn in_words(set: &[(Threshold, f64)], system: UnitSystem) -> Option<String> {
    let one = |(threshold, si): &(Threshold, f64)| {
        let value = |si: f64| Quantity::new(si, threshold.dimension);
        let usual = Limit::of_practice(value(threshold.usual), threshold.unit).show(system);
        format!("{} {}, {usual} is usual", threshold.name, value(*si).show(system))
    };
    let all: Vec<String> = set.iter().map(one).collect();
    (!all.is_empty()).then(|| format!("set for this garden: {}", all.join("; ")))
}
