//! What tests read from the log of a run over time.

use hosewright::operation::{EventKind, Log};
use hosewright::quantity::DAY_S;

/// When events of a kind happened, s.
pub fn times(log: &Log, kind: EventKind) -> Vec<f64> {
    log.events().filter(|event| event.kind == kind).map(|event| event.time_s).collect()
}

/// What was given adds up with what came and what is still there.
pub fn closes(log: &Log) {
    let totals = log.totals();
    let off = totals.error_m3().abs();
    assert!(off <= 1e-9 * totals.moved_m3, "{off} m3 of {} are lost: {totals:?}", totals.moved_m3);
}

/// All that a log tells; numbers in digits that are theirs alone.
pub fn told(log: &Log) -> Vec<String> {
    let mut told: Vec<String> = log.events().map(|event| format!("{event:?}")).collect();
    told.push(format!("{:?} {:?} {:?}", log.duration_s(), log.cut_short(), log.totals()));
    told.push(format!("{:?} {:?} {:?}", log.drawn_m3(), log.discharged_m3(), log.energy_j()));
    for booster in log.boosters() {
        told.extend(log.runs(booster).map(|run| format!("{run:?}")));
        told.push(format!("{:?} {:?}", log.dead_head_s(booster), log.dry_s(booster)));
    }
    for place in 0..log.garden.parts().len() {
        told.push(format!("{:?} {:?} {:?} {:?}", log.highest(place), log.lowest(place), log.need_s(place), log.tap_low_s(place)));
    }
    let end_s = log.duration_s();
    let trace = log.trace(end_s - 1.7 * DAY_S, end_s, 0, 200).expect("a trace");
    told.extend(trace.iter().map(|moment| format!("{} {:?} {:?}", moment.time_s, moment.runs, moment.open)));
    told
}
