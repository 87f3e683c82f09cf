//! Boosters in a steady state: off their curve, backward, dry, against shut valves, starved at the inlet.

use super::finding::{Book, Cause, Level, Source};
use super::heating;
use super::limits::{BIG_MOTOR_W, NO_FLOW_M3_PER_S, NPSH_MARGIN_M};
use super::reach::reached;
use crate::atmosphere::SEA_LEVEL_PRESSURE_PA;
use crate::hydraulics::{Reading, Verdict};
use crate::laws::npsh::available_from_gauge_m;
use crate::parts::{Around, Kind, Law};

const RUNS_DRY: Cause = Cause {
    code: "runs-dry",
    level: Level::Danger,
    why: "a pump without water ruins its seal in minutes and overheats",
    source: Source::CommonPractice,
};
const DEAD_HEADED: Cause = Cause {
    code: "dead-headed",
    level: Level::Warning,
    why: "all its power heats the water inside, until the seal fails or the water boils",
    source: Source::CommonPractice,
};
const BACKWARD: Cause = Cause {
    code: "booster-backward",
    level: Level::Warning,
    why: "pump and motor turn the wrong way and may be damaged when they start; what it gives then is not known",
    source: Source::CommonPractice,
};
const BEYOND_CURVE: Cause = Cause {
    code: "beyond-curve",
    level: Level::Warning,
    why: "out there the curve is a guess, and a pump that far out may overload its motor",
    source: Source::CommonPractice,
};
const CAVITATES: Cause = Cause {
    code: "cavitates",
    level: Level::Warning,
    why: "the water boils in the pump: it rattles, wears and loses its rise",
    source: Source::Physics,
};
const NPSH_MARGIN: Cause = Cause {
    code: "npsh-margin",
    level: Level::Note,
    why: "warm water, a clogged strainer or a garden high above the sea uses that margin up",
    source: Source::CommonPractice,
};
const INLET_SUCTION_TAP: Cause = Cause {
    code: "inlet-suction",
    level: Level::Danger,
    why: "the pump sucks on the drinking water, and a soft hose before it collapses",
    source: Source::CommonPractice,
};
const INLET_SUCTION_TANK: Cause =
    Cause { level: Level::Note, why: "a soft hose before it collapses, and air leaks in", ..INLET_SUCTION_TAP };

const START_CURRENT: Cause = Cause {
    code: "start-current",
    level: Level::Note,
    why: "a motor draws four to eight times its running current for a moment; on a long thin cord it may not start, and a tight breaker trips",
    source: Source::CommonPractice,
};

pub(super) fn look(book: &mut Book, reading: &Reading) {
    for place in reading.garden.of_kind(Kind::Booster) {
        look_at(book, reading, place);
    }
}

fn look_at(book: &mut Book, reading: &Reading, place: usize) {
    let state = &reading.parts[place];
    let (title, flow) = (book.title(place), state.flow_m3_per_s);
    let runs = reading.runs[place];
    let Some(inlet_pa) = state.pressure_in_pa else {
        if runs {
            let what = format!("{title} runs and no supply reaches it");
            book.add(RUNS_DRY, place, what, "give it a pressure switch or a dry-run cut-off, and open the valve before it first");
        }
        return;
    };
    if flow < -NO_FLOW_M3_PER_S {
        let what = format!("{} of water run backward through {title}", book.flow(-flow));
        book.add(BACKWARD, place, what, "put a check valve beside it");
    }
    if !runs || flow < -NO_FLOW_M3_PER_S {
        return;
    }
    if flow <= NO_FLOW_M3_PER_S {
        let stopped = reading.switches.iter().any(|switch| switch.booster == place && switch.verdict == Verdict::Cycles);
        if !stopped {
            let behind = state.pressure_out_pa.map_or("its dead-head pressure".into(), |pressure_pa| book.pressure(pressure_pa));
            let what = format!("{title} runs and nothing flows: it stands at {behind}");
            book.add(DEAD_HEADED, place, what, "let a pressure switch stop it, with cut-out below that pressure");
            heating::tell(book, place);
        }
        return;
    }
    look_at_start(book, reading, place);
    look_at_curve(book, reading, place);
    look_at_suction(book, reading, place, inlet_pa);
    if inlet_pa < 0.0 {
        let cause = if fed_by_tap(reading, place) { INLET_SUCTION_TAP } else { INLET_SUCTION_TANK };
        let what = format!("the pressure at the inlet of {title} is {}, below that of the air", book.pressure(inlet_pa));
        book.add(cause, place, what, "put the pump nearer to the source and lower, widen the hose before it, or draw less");
    }
}

fn look_at_start(book: &mut Book, reading: &Reading, place: usize) {
    let Ok(watts) = reading.garden.parts()[place].get("watts") else { return };
    if watts.si < BIG_MOTOR_W {
        return;
    }
    let what = format!("{} takes {} while it runs, and several times that as it starts", book.title(place), book.given(watts));
    book.add(START_CURRENT, place, what, "ask a licensed electrician for a circuit of its own, with residual-current protection");
}

fn look_at_curve(book: &mut Book, reading: &Reading, place: usize) {
    let part = &reading.garden.parts()[place];
    let Law::Booster { curve } = part.law(&Around { water: *reading.garden.water(), bore_m: f64::NAN }) else { return };
    let flow = reading.parts[place].flow_m3_per_s;
    let last = curve.last_flow_m3_per_s();
    if flow <= last {
        return;
    }
    let rise_pa = curve.rise(flow).0;
    let brakes = if rise_pa < 0.0 { format!(" and takes away {}", book.pressure(-rise_pa)) } else { String::new() };
    let what = format!(
        "{} passes {}, beyond the last point of its curve at {}{brakes}",
        book.title(place),
        book.flow(flow),
        book.flow(last)
    );
    book.add(BEYOND_CURVE, place, what, "take a bigger pump or fewer heads, or add points of the maker's curve");
}

/// The height above the sea is not known here: the air is that of sea level. The speed at the inlet is left out, which is
/// on the safe side.
fn look_at_suction(book: &mut Book, reading: &Reading, place: usize, inlet_pa: f64) {
    let Ok(required) = reading.garden.parts()[place].get("npsh") else { return };
    let available_m = available_from_gauge_m(SEA_LEVEL_PRESSURE_PA, inlet_pa, 0.0, 0.0, reading.garden.water());
    let cause = match available_m - required.si {
        margin_m if margin_m < 0.0 => CAVITATES,
        margin_m if margin_m < NPSH_MARGIN_M => NPSH_MARGIN,
        _ => return,
    };
    let what = format!(
        "at the inlet of {} a suction head (NPSH) of {} is left, and it requires {}",
        book.title(place),
        book.like(available_m, required),
        book.given(required)
    );
    let action = format!(
        "leave at least {} more than it requires: pump lower and nearer, hose before it wider",
        book.like(NPSH_MARGIN_M, required)
    );
    book.add(cause, place, what, action);
}

/// True when a public tap feeds the booster through open parts.
fn fed_by_tap(reading: &Reading, booster: usize) -> bool {
    let garden = &reading.garden;
    let places = &garden.layout().places;
    let nodes = reached(garden, places[booster].from, |place, _| place != booster && reading.open[place]);
    garden.of_kind(Kind::Supply).any(|supply| nodes[places[supply].to])
}
