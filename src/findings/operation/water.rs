//! Water in a run: reliefs that weep, heads and the house that get too little, water that runs back, zones that overlap.

use crate::findings::catalog::{relief as of_relief, source, water};
use crate::findings::finding::{Book, Finding, pressure, rule_pa, volume};
use crate::findings::limits::HOUSE_PRESSURE;
use crate::findings::phrase::Value;
use crate::operation::{Log, time_in_words};
use crate::parts::Id;

/// Share of its open time in which a head may be below its need: valves open and close.
const STARVED_SHARE: f64 = 0.05;
/// The house may have too little for this long, s: while a pump fills an empty line.
const TAP_LOW_S: f64 = 2.0;
/// Volumes below this are rounding and the last drops of a check valve, m3.
const DROPS_M3: f64 = 1e-5;

/// Reliefs that let water go with nothing broken; how they lie to cut-out is judged at rest.
pub(super) fn reliefs(log: &Log, book: &mut Book) {
    for relief in log.garden.reliefs() {
        let lost_m3 = log.water_m3(relief).unwrap_or(0.0);
        if lost_m3 > 0.0 && log.faults.is_empty() {
            book.add(book.about(&of_relief::RELIEF_WEPT, relief).with("lost", volume(lost_m3)));
        }
    }
}

pub(super) fn heads(log: &Log, book: &mut Book) {
    let garden = &log.garden;
    for head in (0..garden.parts().len()).filter(|&place| garden.parts()[place].needs_pa().is_some()) {
        let (open_s, below_s) = log.need_s(head);
        if open_s > 0.0 && below_s > STARVED_SHARE * open_s {
            let finding = book.about(&water::BELOW_RANGE_IN_RUN, head).with("below", time_in_words(below_s));
            book.add(finding.with("open", time_in_words(open_s)).with("percent", Value::percent(below_s / open_s)));
        }
    }
}

pub(super) fn house(log: &Log, book: &mut Book) {
    for supply in log.garden.supplies() {
        let Some(lowest) = log.lowest(supply) else { continue };
        let (low_s, least_pa) = (log.tap_low_s(supply), HOUSE_PRESSURE.of(&log.garden));
        if lowest.pressure_pa < least_pa && low_s > TAP_LOW_S && log.garden.parts()[supply].value(Id::StaticPressure) > least_pa {
            let finding = book.about(&source::LOW_TAP_PRESSURE_IN_RUN, supply).with("pressure", pressure(lowest.pressure_pa));
            let finding = finding.with("when", log.schedule.moment(lowest.time_s)).with("least", rule_pa(least_pa).as_least());
            book.add(finding.with("low", time_in_words(low_s)));
        }
    }
    for &(place, volume_m3) in log.drawn_m3() {
        if volume_m3 < -DROPS_M3 {
            let fills = log.garden.spec(place).traits.fills;
            let entry = if fills { &source::TANK_FILLED } else { &source::BACKFLOW_IN_RUN };
            book.add(book.about(entry, place).with("volume", volume(-volume_m3)));
        }
    }
}

pub(super) fn overlaps(log: &Log, book: &mut Book) {
    let Ok(overlaps) = log.schedule.overlaps(log.duration_s()) else { return };
    if let Some(first) = overlaps.first() {
        let overlaps = Value::Count { number: overlaps.len(), word: "overlap" };
        let finding = Finding::of_whole(&water::OVERLAP).with("overlaps", overlaps);
        let finding = finding.with("first", first.first.name.as_str()).with("second", first.second.name.as_str());
        book.add(finding.with("when", log.schedule.moment(first.from_s)));
    }
}

/// The first opening outside of the allowed days and hours, and how many there are.
pub(super) fn restriction(log: &Log, book: &mut Book) {
    let breaches = log.schedule.breaches(log.duration_s());
    let (Some(allowed), Some(first)) = (&log.schedule.allowed, breaches.first()) else { return };
    let (Ok(place), Some(timer)) = (log.garden.find(&first.interval.name), &first.interval.timer) else { return };
    let more = (breaches.len() > 1).then_some(Value::Count { number: breaches.len(), word: "opening" });
    let finding = book.about(&water::RESTRICTION, place).with("timer", timer.as_str());
    let finding = finding.with("when", log.schedule.moment(first.at_s)).with("allowed", allowed.in_words());
    book.add(finding.with_some("more", more));
}
