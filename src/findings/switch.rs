//! Pressure switches: does the booster start, stay on and stop; and is the tank's air right for the switch.

use super::finding::{Book, Cause, Level, Source};
use super::heating;
use super::limits::{DEAD_HEAD_MARGIN_PA, GAUGE_MARGIN_PA, NO_FLOW_M3_PER_S, PRECHARGE_BELOW_CUT_IN_PA};
use super::reach::reached;
use super::rest::{AtRest, Stop};
use crate::hydraulics::{Reading, SwitchState, Verdict};
use crate::parts::{Id, Kind, Placing};
use crate::quantity::Quantity;

const SLEEPS: Cause = Cause {
    code: "never-starts",
    level: Level::Warning,
    why: "the pump was bought for nothing as long as this zone runs",
    source: Source::Physics,
};
const NEEDS_NO_PUMP: Cause = Cause {
    code: "zone-needs-no-pump",
    level: Level::Note,
    why: "the pump stays off while this zone runs, as it should",
    source: Source::Physics,
};
const BARELY_STARTS: Cause = Cause {
    code: "barely-starts",
    level: Level::Note,
    why: "a gauge or a switch may be off by that much, and in the small hours the street pressure is higher",
    source: Source::CommonPractice,
};
const CYCLES: Cause = Cause {
    code: "short-cycles",
    level: Level::Warning,
    why: "it starts and stops for ever, the pressure swings, and motor and switch wear out in a season",
    source: Source::Physics,
};
const NEAR_CUT_OUT: Cause = Cause {
    code: "near-cut-out",
    level: Level::Note,
    why: "one nozzle less or a clogged one, and it short-cycles; a gauge or a switch may be off by that much",
    source: Source::CommonPractice,
};
const NEVER_STOPS: Cause = Cause {
    code: "never-stops",
    level: Level::Warning,
    why: "with all valves shut the pump runs on against a dead end, heats its water and fails",
    source: Source::Physics,
};
const NEAR_DEAD_HEAD: Cause = Cause {
    code: "near-dead-head",
    level: Level::Warning,
    why: "when the street pressure falls or the pump wears it no longer reaches cut-out and never stops",
    source: Source::CommonPractice,
};
const CYCLES_AT_REST: Cause = Cause {
    code: "cycles-at-rest",
    level: Level::Warning,
    why: "as soon as it stops, the water runs back through it, the pressure falls, and it starts again, day and night",
    source: Source::Physics,
};
const PRECHARGE: Cause = Cause {
    code: "precharge",
    level: Level::Warning,
    why: "the tank is empty before the pump starts: the pressure drops at once, and the bladder is pressed flat each time",
    source: Source::CommonPractice,
};

/// What the switches make of a steady state in which water is used.
pub(super) fn look(book: &mut Book, reading: &Reading) {
    let used = |place: usize| reading.garden.parts()[place].spec().traits.gives_water;
    if !reading.parts.iter().any(|state| used(state.place) && state.flow_m3_per_s > NO_FLOW_M3_PER_S) {
        return;
    }
    for state in reading.switches.iter().filter(|state| !state.off_pa.is_nan()) {
        look_at_verdict(book, reading, state);
    }
}

fn look_at_verdict(book: &mut Book, reading: &Reading, state: &SwitchState) {
    let part = &reading.garden.parts()[state.place];
    let (Ok(cut_in), Ok(cut_out)) = (part.get(Id::CutIn), part.get(Id::CutOut)) else { return };
    let (title, pump) = (book.title(state.place), book.title(state.booster));
    let (off, at) = (book.like(state.off_pa, cut_in), book.like(state.at_pa, cut_out));
    match state.verdict {
        Verdict::Sleeps if works_without_pump(reading).is_some() => {
            let Some((outlet, has, low)) = works_without_pump(reading) else { return };
            let what = format!(
                "{} has {} without {pump} and needs {}: this zone needs no pump",
                book.title(outlet),
                book.like(has, low),
                book.given(low)
            );
            book.add(NEEDS_NO_PUMP, state.place, what, "leave it as it is, or connect this zone upstream of the pump");
        }
        Verdict::Sleeps => {
            let what = format!("{title} never starts: pressure without {pump} is {off}, above cut-in {}", book.given(cut_in));
            book.add(SLEEPS, state.place, what, format!("set cut-in above {off}, or run this zone without the pump"));
        }
        Verdict::Cycles => {
            let what = format!("{title} short-cycles: with {pump} it reaches {at}, at or above cut-out {}", book.given(cut_out));
            book.add(CYCLES, state.place, what, "set cut-out higher, run more heads at once, or take a smaller pump");
        }
        Verdict::Runs => {
            if state.off_pa > cut_in.si - GAUGE_MARGIN_PA {
                let margin = book.like(cut_in.si - state.off_pa, cut_in);
                let what = format!(
                    "{title} starts by a margin of {margin}: without {pump} it feels {off}, cut-in is {}",
                    book.given(cut_in)
                );
                book.add(BARELY_STARTS, state.place, what, "set cut-in a little higher");
            }
            if state.at_pa > cut_out.si - GAUGE_MARGIN_PA {
                let margin = book.like(cut_out.si - state.at_pa, cut_out);
                let what = format!(
                    "{title} stays on by a margin of {margin}: with {pump} it feels {at}, cut-out is {}",
                    book.given(cut_out)
                );
                book.add(NEAR_CUT_OUT, state.place, what, "set cut-out higher, below dead-head pressure, relief and ratings");
            }
        }
    }
}

/// The outlet that has least above its need, with what it has and needs, where all that run have what they need; nothing where
/// one has less, or none says what it needs.
fn works_without_pump(reading: &Reading) -> Option<(usize, f64, Quantity)> {
    let mut weakest: Option<(usize, f64, Quantity)> = None;
    for state in reading.parts.iter().filter(|state| state.flow_m3_per_s > NO_FLOW_M3_PER_S) {
        let part = &reading.garden.parts()[state.place];
        if !part.spec().traits.waters {
            continue;
        }
        let (low, has_pa) = (part.get(Id::NeedsLow).ok()?, state.pressure_out_pa?);
        let margin_pa = has_pa - low.si;
        if margin_pa < 0.0 {
            return None;
        }
        if weakest.is_none_or(|(_, has, needs)| margin_pa < has - needs.si) {
            weakest = Some((state.place, has_pa, low));
        }
    }
    weakest
}

/// What the switches and tanks make of shut valves.
pub(super) fn look_at_rest(book: &mut Book, rest: &AtRest) {
    for stop in &rest.stops {
        look_at_stop(book, rest, stop);
    }
    look_at_precharge(book, rest);
}

fn look_at_stop(book: &mut Book, rest: &AtRest, stop: &Stop) {
    let garden = book.garden;
    let part = &garden.parts()[stop.switch];
    let (Ok(cut_in), Ok(cut_out)) = (part.get(Id::CutIn), part.get(Id::CutOut)) else { return };
    let Some(dead_head_pa) = rest.dead_head.at(garden, stop.switch) else { return };
    let (title, pump) = (book.title(stop.switch), book.title(stop.booster));
    let (reaches, limit) = (book.like(dead_head_pa, cut_out), book.given(cut_out));
    if dead_head_pa < cut_out.si {
        let what = format!("{title} never stops: against shut valves {pump} brings it to {reaches}, below cut-out {limit}");
        let action = format!("set cut-out at least {} below {reaches}", book.like(DEAD_HEAD_MARGIN_PA, cut_out));
        book.add(NEVER_STOPS, stop.switch, what, action);
        return heating::tell(book, stop.booster);
    }
    if dead_head_pa < cut_out.si + DEAD_HEAD_MARGIN_PA {
        let margin = book.like(dead_head_pa - cut_out.si, cut_out);
        let what = format!(
            "{title} stops by a margin of {margin}: against shut valves {pump} brings it to {reaches}, cut-out is {limit}"
        );
        let action = format!("set cut-out at least {} below {reaches}", book.like(DEAD_HEAD_MARGIN_PA, cut_out));
        book.add(NEAR_DEAD_HEAD, stop.switch, what, action);
    }
    let Some(off_pa) = rest.off.at(garden, stop.switch) else { return };
    if off_pa <= cut_in.si && runs_back(book, stop.switch) {
        let off = book.like(off_pa, cut_in);
        let what = format!(
            "{title} never comes to rest: once {pump} stops it falls back to {off}, and cut-in is {}",
            book.given(cut_in)
        );
        book.add(
            CYCLES_AT_REST,
            stop.switch,
            what,
            "put a check valve between the source and the switch, or set cut-in below that",
        );
    }
}

/// True when nothing keeps water at the switch from running back to a source.
fn runs_back(book: &Book, switch: usize) -> bool {
    let garden = book.garden;
    let places = &garden.layout().places;
    let blocks = |place: usize| garden.parts()[place].spec().is_one_way();
    let nodes = reached(garden, places[switch].to, |place, _| !blocks(place));
    (0..places.len()).any(|place| garden.parts()[place].spec().placing == Placing::Source && nodes[places[place].to])
}

/// Compares the precharge of each tank with cut-in, brought to the height of the tank.
fn look_at_precharge(book: &mut Book, rest: &AtRest) {
    let garden = book.garden;
    for tank in garden.of_kind(Kind::PressureTank) {
        let Ok(precharge) = garden.parts()[tank].get(Id::Precharge) else { continue };
        let cut_ins = rest.stops.iter().filter_map(|stop| {
            let cut_in = garden.parts()[stop.switch].get(Id::CutIn).ok()?;
            let lower_pa = rest.dead_head.at(garden, tank)? - rest.dead_head.at(garden, stop.switch)?;
            Some((stop.switch, Quantity { si: cut_in.si + lower_pa, ..cut_in }))
        });
        let Some((switch, cut_in)) = cut_ins.min_by(|a, b| a.1.si.total_cmp(&b.1.si)) else { continue };
        if precharge.si < cut_in.si * (1.0 - 1e-9) {
            continue;
        }
        let what = format!(
            "the precharge of {}, {}, is not below cut-in of {}, {} at its place",
            book.title(tank),
            book.given(precharge),
            book.title(switch),
            book.given(cut_in)
        );
        let action = format!(
            "let air out until it is {} below cut-in, with the tank empty",
            book.like(PRECHARGE_BELOW_CUT_IN_PA, precharge)
        );
        book.add(PRECHARGE, tank, what, action);
    }
}
