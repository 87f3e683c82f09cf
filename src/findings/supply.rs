//! Taps and tanks: pressure left for the house, suction on the main, water that runs back, a tap that is too strong.

use super::finding::{Book, Cause, Level, Source};
use super::limits::{BEYOND_TEST_SHARE, LEAST_TAP_PA, MOST_STATIC_PA, MOST_STATIC_SOURCE, NO_FLOW_M3_PER_S};
use crate::hydraulics::Reading;
use crate::parts::{Id, Kind};

const TAP_BACKWARD: Cause = Cause {
    code: "tap-backward",
    level: Level::Danger,
    why: "garden water enters the drinking water of the house and the street",
    source: Source::Physics,
};
pub(super) const TANK_FILLS: Cause = Cause {
    code: "tank-fills",
    level: Level::Note,
    why: "when it is full it runs over, as long as nothing shuts the water off",
    source: Source::Physics,
};
pub(super) const KEEP_FROM_FILLING: &str =
    "let a float valve end it; where the tank is not meant to be filled from here, put a check valve behind it";
const TAP_SUCTION: Cause = Cause {
    code: "tap-suction",
    level: Level::Danger,
    why: "suction on the main can draw dirty water into the drinking water through any leak or open hose",
    source: Source::Physics,
};
const TAP_LOW: Cause = Cause {
    code: "tap-low",
    level: Level::Warning,
    why: "health codes usually ask for that much to be left, and the house notices: the shower weakens, a heater may switch off",
    source: Source::CommonPractice,
};
const TAP_HIGH: Cause = Cause {
    code: "tap-high",
    level: Level::Note,
    why: "building codes ask for a pressure-reducing valve above that; hoses, valves and washing machines suffer",
    source: MOST_STATIC_SOURCE,
};
const BEYOND_TEST: Cause = Cause {
    code: "beyond-bucket-test",
    level: Level::Note,
    why: "out there the supply curve is a guess",
    source: Source::CommonPractice,
};
const UNMEASURED: Cause = Cause {
    code: "tap-unmeasured",
    level: Level::Note,
    why: "every real tap weakens as it gives more, so pressures and flows come out too high",
    source: Source::Physics,
};

pub(super) fn look(book: &mut Book, reading: &Reading) {
    for place in reading.garden.of_kind(Kind::Supply) {
        look_at_tap(book, reading, place);
    }
    let parts = reading.garden.parts();
    for place in (0..parts.len()).filter(|&place| parts[place].spec().traits.fills) {
        let flow = reading.parts[place].flow_m3_per_s;
        if flow < -NO_FLOW_M3_PER_S {
            let what = format!("{} fills at {}", book.title(place), book.flow(-flow));
            book.add(TANK_FILLS, place, what, KEEP_FROM_FILLING);
        }
    }
}

pub(super) fn look_at_layout(book: &mut Book) {
    let garden = book.garden;
    for place in garden.of_kind(Kind::Supply) {
        let Ok(at_rest) = garden.parts()[place].get(Id::StaticPressure) else { continue };
        if at_rest.si > MOST_STATIC_PA * (1.0 + 1e-9) {
            let limit = book.like(MOST_STATIC_PA, at_rest);
            let what = format!("{} stands at {}, above {limit}", book.title(place), book.given(at_rest));
            book.add(TAP_HIGH, place, what, "have a pressure-reducing valve fitted where the water enters the house");
        }
    }
}

fn look_at_tap(book: &mut Book, reading: &Reading, place: usize) {
    let state = &reading.parts[place];
    let (title, flow) = (book.title(place), state.flow_m3_per_s);
    if flow < -NO_FLOW_M3_PER_S {
        let what = format!("{} of water run backward into {title}", book.flow(-flow));
        book.add(TAP_BACKWARD, place, what, "separate the two waters, or fit the backflow preventer that local code asks for");
    }
    if flow <= NO_FLOW_M3_PER_S {
        return;
    }
    let Some(pressure_pa) = state.pressure_out_pa else { return };
    if pressure_pa < 0.0 {
        let what = format!(
            "{title} falls to {} while {} run, below the pressure of the air",
            book.pressure(pressure_pa),
            book.flow(flow)
        );
        book.add(TAP_SUCTION, place, what, "draw less: a smaller pump or fewer heads, or a tank between tap and pump");
    } else if pressure_pa < LEAST_TAP_PA {
        let what = format!(
            "{title} falls to {} while {} run, below {}",
            book.pressure(pressure_pa),
            book.flow(flow),
            book.pressure(LEAST_TAP_PA)
        );
        book.add(TAP_LOW, place, what, "draw less: smaller nozzles, fewer heads at once, or a tank between tap and pump");
    }
    match reading.garden.parts()[place].get(Id::MeasuredFlow) {
        Ok(tested) if flow > BEYOND_TEST_SHARE * tested.si => {
            let what =
                format!("{title} gives {}, but its bucket test went only to {}", book.like(flow, tested), book.given(tested));
            book.add(BEYOND_TEST, place, what, "repeat the bucket test with the tap opened further");
        }
        Ok(_) => {}
        Err(_) => {
            let what =
                format!("no bucket test of {title} is given: it is taken to hold {} whatever flows", book.pressure(pressure_pa));
            let fix =
                "read a gauge at the tap while you fill a bucket by the clock, and give both with .measured(pressure, flow)";
            book.add(UNMEASURED, place, what, fix);
        }
    }
}
