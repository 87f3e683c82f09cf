//! Heads and emitters in a steady state: dry, stalled, over-pressured, or near to it; draws that are not fed; regulators
//! that cannot hold.

use super::finding::{Book, Cause, Level, Source};
use super::limits::{MOST_DRIP_PA, NEAR_SHARE, NO_FLOW_M3_PER_S};
use super::reach::{Way, reached};
use crate::hydraulics::Reading;
use crate::parts::{Id, Kind, Placing};

const NO_SUPPLY: Cause = Cause {
    code: "no-supply",
    level: Level::Warning,
    why: "its valve is open, but a part that lets water through one way only stands against it",
    source: Source::Physics,
};
const DRY: Cause = Cause {
    code: "dry",
    level: Level::Warning,
    why: "no water comes out, and what it should water stays dry",
    source: Source::Physics,
};
const STALLED: Cause = Cause {
    code: "stalled",
    level: Level::Warning,
    why: "below it the arm stops or the stream does not break up: one spot drowns, the rest stays dry",
    source: Source::Physics,
};
const DRIPS_UNEVENLY: Cause = Cause { why: "below it the outlets give little and unevenly", ..STALLED };
const NEAR_STALL: Cause = Cause {
    code: "near-stall",
    level: Level::Note,
    why: "a reading that is a little off, an open kitchen tap or an older hose is enough to stall it",
    source: Source::CommonPractice,
};
const OVER_PRESSURED: Cause = Cause {
    code: "over-pressured",
    level: Level::Warning,
    why: "above it the water turns to mist that the wind takes, and the head wears or breaks",
    source: Source::Physics,
};
const DRIP_OVER_PRESSURE: Cause = Cause {
    code: "drip-over-pressure",
    level: Level::Warning,
    why: "barbed fittings pop off and soaker walls split near 40 psi",
    source: Source::CommonPractice,
};
const NEAR_HIGH: Cause = Cause {
    code: "near-high",
    level: Level::Note,
    why: "the street pressure rises at night, and then it mists",
    source: Source::CommonPractice,
};
const DRAW_STARVED: Cause = Cause {
    code: "draw-starved",
    level: Level::Warning,
    why: "no tap gives water at that pressure: the flow was taken for granted, and all pressures around it are too low",
    source: Source::Physics,
};
const DRAW_SHORT: Cause =
    Cause { why: "at full vacuum water parts and no more comes; no tap gives water long before that", ..DRAW_STARVED };
const REGULATOR_STARVED: Cause = Cause {
    code: "regulator-starved",
    level: Level::Note,
    why: "it stands wide open and only takes pressure away",
    source: Source::Physics,
};

pub(super) fn look(book: &mut Book, reading: &Reading) {
    for place in 0..reading.parts.len() {
        let part = &reading.garden.parts()[place];
        match part.kind() {
            Kind::Regulator => look_at_regulator(book, reading, place),
            _ if part.spec().traits.waters => look_at_outlet(book, reading, place),
            _ if part.spec().traits.gives_water => look_at_draw(book, reading, place),
            _ => {}
        }
    }
}

fn look_at_outlet(book: &mut Book, reading: &Reading, place: usize) {
    let title = book.title(place);
    let Some(pressure_pa) = reading.parts[place].pressure_out_pa.filter(|_| is_supplied(reading, place)) else {
        if is_supplied(reading, place) {
            let action = "put it lower, or lower the pump or the crest that the water does not climb";
            return book.add(DRY, place, format!("no water gets to {title}: {}", too_high(book, reading)), action);
        }
        if stands_open(reading, place) {
            let what = format!("{title} gets no supply");
            book.add(NO_SUPPLY, place, what, "turn the check valve, backflow preventer or regulator on the way to it round");
        }
        return;
    };
    if reading.parts[place].flow_m3_per_s <= NO_FLOW_M3_PER_S {
        let lacking_pa = -reading.node_pa[reading.garden.layout().places[place].to];
        let what = if lacking_pa > 0.0 {
            format!("{title} is dry: the water lacks {} to reach it", book.pressure(lacking_pa))
        } else {
            format!("{title} is dry: no pressure is left before it")
        };
        return book.add(DRY, place, what, "put it lower, run fewer heads at once, use a wider hose, or add a booster");
    }
    let part = &reading.garden.parts()[place];
    let number = |id| part.get(id).ok();
    if let Some(low) = number(Id::NeedsLow) {
        let (has, needs) = (book.like(pressure_pa, low), book.given(low));
        let margin = book.like(pressure_pa - low.si, low);
        if pressure_pa < low.si {
            let what =
                format!("{title} gets {has} and stalls below {needs}: {} are missing", book.like(low.si - pressure_pa, low));
            return book.add(
                if part.spec().traits.drips { DRIPS_UNEVENLY } else { STALLED },
                place,
                what,
                "run fewer heads at once, shorten or widen the hose, fit a smaller nozzle, or add a booster",
            );
        }
        if pressure_pa < low.si * (1.0 + NEAR_SHARE) {
            let what = format!("{title} gets {has} and stalls below {needs}: the margin is {margin}");
            book.add(
                NEAR_STALL,
                place,
                what,
                "leave it a tenth more than it needs: a wider hose, a smaller nozzle, one head fewer",
            );
        }
    }
    if part.spec().traits.drips && number(Id::NeedsHigh).is_none() && pressure_pa > MOST_DRIP_PA {
        let (has, most) = (book.pressure(pressure_pa), book.pressure(MOST_DRIP_PA));
        let what = format!("{title} is at {has}; drip parts usually take {most} at most, and its own limit is not given");
        book.add(
            DRIP_OVER_PRESSURE,
            place,
            what,
            "fit a 25 psi regulator downstream of the valve, or give its limit with .needs",
        );
    }
    if let Some(high) = number(Id::NeedsHigh) {
        let (has, most) = (book.like(pressure_pa, high), book.given(high));
        if pressure_pa > high.si {
            let what = format!("{title} gets {has}, {} above the {most} it can take", book.like(pressure_pa - high.si, high));
            book.add(OVER_PRESSURED, place, what, "put a regulator before it, or run more heads at once");
        } else if pressure_pa > high.si * (1.0 - NEAR_SHARE) {
            let what =
                format!("{title} gets {has} and can take {most}: the margin is {}", book.like(high.si - pressure_pa, high));
            book.add(NEAR_HIGH, place, what, "put a regulator before it where the street pressure varies");
        }
    }
}

/// Why water does not get to a place to which the way is open.
fn too_high(book: &Book, reading: &Reading) -> String {
    match reading.parted.first() {
        Some(&parted) => {
            let vapor = book.pressure(reading.garden.vapour_gauge_pa());
            format!("it parts before {} at {vapor}, full vacuum", book.title(parted))
        }
        None => "it does not climb that high".into(),
    }
}

fn look_at_draw(book: &mut Book, reading: &Reading, place: usize) {
    let Some(wanted) = reading.garden.parts()[place].get(Id::Flow).ok().filter(|flow| flow.si > 0.0) else { return };
    let (title, wants) = (book.title(place), book.given(wanted));
    match reading.parts[place].pressure_out_pa.filter(|_| is_supplied(reading, place)) {
        None if is_supplied(reading, place) => {
            let what = format!("{title} wants {wants} and gets nothing: {}", too_high(book, reading));
            book.add(DRAW_SHORT, place, what, "put it lower, or lower the pump or the crest that the water does not climb");
        }
        None if stands_open(reading, place) => {
            let what = format!("{title} wants {wants} and gets no supply");
            book.add(NO_SUPPLY, place, what, "turn the one-way part on the way to it round, or leave the draw out");
        }
        Some(pressure_pa) if pressure_pa <= 0.0 => {
            let takes_m3_per_s = reading.parts[place].flow_m3_per_s;
            let short = takes_m3_per_s < wanted.si * (1.0 - 1e-9);
            let takes = if short { format!("{} of {wants}", book.like(takes_m3_per_s, wanted)) } else { wants };
            let what = format!("{title} takes {takes} at {}", book.pressure(pressure_pa));
            let cause = if short { DRAW_SHORT } else { DRAW_STARVED };
            book.add(cause, place, what, "give the draw less flow, or look at another time of day");
        }
        _ => {}
    }
}

fn look_at_regulator(book: &mut Book, reading: &Reading, place: usize) {
    let state = &reading.parts[place];
    let (Some(before_pa), Some(behind_pa)) = (state.pressure_in_pa, state.pressure_out_pa) else { return };
    let Ok(set) = reading.garden.parts()[place].get(Id::Set) else { return };
    if state.flow_m3_per_s <= NO_FLOW_M3_PER_S || behind_pa >= set.si * (1.0 - 1e-6) {
        return;
    }
    let what = format!(
        "{} cannot hold its {}: it gets {} and passes on {}",
        book.title(place),
        book.given(set),
        book.like(before_pa, set),
        book.like(behind_pa, set)
    );
    book.add(REGULATOR_STARVED, place, what, "set it lower, raise the pressure before it, or leave it out");
}

/// True when open parts join the place to a source, whichever way water may go through them.
fn stands_open(reading: &Reading, place: usize) -> bool {
    joined(reading, place, |part, _| reading.open[part])
}

/// True when water can come from a source to the place: one-way parts are passed their own way only.
fn is_supplied(reading: &Reading, place: usize) -> bool {
    let garden = &reading.garden;
    let one_way = |part: usize| garden.parts()[part].spec().is_one_way();
    // The search goes from the place to the source, against the water.
    joined(reading, place, |part, way| reading.open[part] && (way == Way::Up || !one_way(part)))
}

fn joined(reading: &Reading, place: usize, pass: impl Fn(usize, Way) -> bool) -> bool {
    let garden = &reading.garden;
    let places = &garden.layout().places;
    let nodes = reached(garden, places[place].to, pass);
    (0..places.len()).any(|other| garden.parts()[other].spec().placing == Placing::Source && nodes[places[other].to])
}
