//! Relief valves: opening while water is used, weeping at cut-out, set too near to it, too small for the pump.

use super::cycling::overshoot_pa;
use super::finding::{Book, Cause, Level, Source};
use super::limits::{NO_FLOW_M3_PER_S, RELIEF_ABOVE_CUT_OUT_PA};
use super::rest::AtRest;
use crate::hydraulics::Reading;
use crate::parts::{Id, Kind};

const OPENS: Cause = Cause {
    code: "relief-opens",
    level: Level::Warning,
    why: "a relief valve is for the day when something fails; open in daily use it wastes water and power, and wears",
    source: Source::CommonPractice,
};
const WEEPS: Cause = Cause {
    code: "relief-weeps",
    level: Level::Warning,
    why: "a relief valve set at or below cut-out weeps each time the pump stops, and the pump may never reach cut-out",
    source: Source::CommonPractice,
};
const NEVER_SHUTS: Cause = Cause {
    code: "relief-never-shuts",
    level: Level::Warning,
    why: "it runs day and night, with the pump off",
    source: Source::Physics,
};
const NEAR_CUT_OUT: Cause = Cause {
    code: "relief-near-cut-out",
    level: Level::Note,
    why: "springs and switches are not that exact: it may weep at cut-out",
    source: Source::CommonPractice,
};
const TOO_SMALL: Cause = Cause {
    code: "relief-too-small",
    level: Level::Warning,
    why: "a relief valve without capacity for the pump does not protect",
    source: Source::CommonPractice,
};

pub(super) fn look(book: &mut Book, reading: &Reading) {
    for place in reading.garden.of_kind(Kind::Relief) {
        let state = &reading.parts[place];
        let (Some(pressure_pa), Ok(set)) = (state.pressure_out_pa, reading.garden.parts()[place].get(Id::Set)) else { continue };
        if state.flow_m3_per_s > NO_FLOW_M3_PER_S && pressure_pa - overshoot_pa(reading, place) > set.si {
            let (flow, feels) = (book.flow(state.flow_m3_per_s), book.like(pressure_pa, set));
            let what =
                format!("{} is open and lets {flow} go: it feels {feels}, its setting is {}", book.title(place), book.given(set));
            book.add(
                OPENS,
                place,
                what,
                "set it higher, below the weakest rating, or lower the pressure with a regulator or a smaller pump",
            );
        }
    }
}

pub(super) fn look_at_rest(book: &mut Book, rest: &AtRest) {
    let garden = book.garden;
    for relief in garden.of_kind(Kind::Relief) {
        let Ok(set) = garden.parts()[relief].get(Id::Set) else { continue };
        if let Some(off_pa) = rest.off.at(garden, relief).filter(|&off_pa| off_pa > set.si) {
            let what = format!(
                "{} never shuts: at rest it feels {}, its setting is {}",
                book.title(relief),
                book.like(off_pa, set),
                book.given(set)
            );
            book.add(NEVER_SHUTS, relief, what, "set it higher, or put a regulator before it");
            continue;
        }
        look_at_cut_out(book, rest, relief);
        look_at_capacity(book, rest, relief);
    }
}

/// Compares the setting with the pressure at the relief when a switch stops its booster.
fn look_at_cut_out(book: &mut Book, rest: &AtRest, relief: usize) {
    let garden = book.garden;
    let Ok(set) = garden.parts()[relief].get(Id::Set) else { return };
    let felt = rest.stops.iter().filter_map(|stop| {
        let state = AtRest::at_cut_out(garden, stop)?;
        Some((stop.switch, state.at(garden, relief)?, rest.off.at(garden, relief)?))
    });
    // A relief that no booster pushes at has nothing to do with cut-out.
    let Some((switch, felt_pa, _)) = felt.filter(|(_, felt_pa, off_pa)| felt_pa > off_pa).max_by(|a, b| a.1.total_cmp(&b.1))
    else {
        return;
    };
    let margin_pa = set.si - felt_pa;
    let (title, stop) = (book.title(relief), book.title(switch));
    let (setting, feels) = (book.given(set), book.like(felt_pa, set));
    let action =
        format!("set it {} or more above cut-out, and below the weakest rating", book.like(RELIEF_ABOVE_CUT_OUT_PA, set));
    if margin_pa <= 1e-6 * set.si {
        let what = format!("{title} weeps: it is set at {setting} and feels {feels} when {stop} stops the pump");
        book.add(WEEPS, relief, what, action);
    } else if margin_pa < RELIEF_ABOVE_CUT_OUT_PA * (1.0 - 1e-9) {
        let margin = book.like(margin_pa, set);
        let what = format!("{title} is set at {setting}, only {margin} above the {feels} it feels when {stop} stops the pump");
        book.add(NEAR_CUT_OUT, relief, what, action);
    }
}

/// With the pump running on against shut valves the relief must pass its flow at no more than its overpressure.
fn look_at_capacity(book: &mut Book, rest: &AtRest, relief: usize) {
    let garden = book.garden;
    let part = &garden.parts()[relief];
    let (Ok(set), Ok(capacity)) = (part.get(Id::Set), part.get(Id::Flow)) else { return };
    let over_pa = part.si(Id::Over).unwrap_or(0.1 * set.si);
    let (Some(felt_pa), flow) = (rest.relieved.at(garden, relief), rest.relieved.flow(relief)) else { return };
    if flow <= NO_FLOW_M3_PER_S || felt_pa <= (set.si + over_pa) * (1.0 + 1e-6) {
        return;
    }
    let what = format!(
        "{} is too small: against shut valves the pump pushes {} through it and the pressure climbs to {}, though it is meant to pass {} at {}",
        book.title(relief),
        book.like(flow, capacity),
        book.like(felt_pa, set),
        book.given(capacity),
        book.like(set.si + over_pa, set)
    );
    book.add(TOO_SMALL, relief, what, "take a bigger relief valve, or a smaller pump");
}
