//! Boosters in a steady state: off their curve, backward, dry, against shut valves, starved at the inlet.

use super::finding::{Book, Cause, Level, Source};
use super::heating;
use super::limits::{BIG_MOTOR_W, LOWEST_INLET_PA, NO_FLOW_M3_PER_S, NPSH_MARGIN_M, USUAL_NPSH_M};
use super::reach::reached;
use crate::hydraulics::{Reading, Verdict};
use crate::laws::npsh::available_from_gauge_m;
use crate::parts::{Around, Id, Kind, Law};
use crate::quantity::{Quantity, dim};

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
const COLUMN_PARTS: Cause = Cause {
    code: "suction-parts",
    level: Level::Danger,
    why: "water boils at that pressure and its column parts: no pump can pull more, and it cavitates and runs hot",
    source: Source::Physics,
};
const LIFT_TOO_HIGH: Cause = Cause {
    code: "lift-too-high",
    level: Level::Warning,
    why: "most garden pumps lift water 15 ft at most; with more they lose prime and cavitate",
    source: Source::CommonPractice,
};
const CAVITATES: Cause = Cause {
    code: "cavitates",
    level: Level::Danger,
    why: "the water boils in the pump: it rattles, wears and loses its rise, so pressures and flows here come out too high",
    source: Source::Physics,
};
const CAVITATES_AS_USUAL: Cause = Cause { source: Source::CommonPractice, ..CAVITATES };
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
    if reading.parted.contains(&place) && flow >= -NO_FLOW_M3_PER_S {
        look_at_parted(book, reading, place);
        return look_at_inlet(book, reading, place, inlet_pa);
    }
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
    look_at_suction(book, place, inlet_pa);
    look_at_inlet(book, reading, place, inlet_pa);
}

/// Suction at the inlet, which is worst on a public main.
fn look_at_inlet(book: &mut Book, reading: &Reading, place: usize, inlet_pa: f64) {
    if inlet_pa < 0.0 {
        let cause = if fed_by_tap(reading, place) { INLET_SUCTION_TAP } else { INLET_SUCTION_TANK };
        let what =
            format!("the pressure at the inlet of {} is {}, below that of the air", book.title(place), book.pressure(inlet_pa));
        book.add(cause, place, what, "put the pump nearer to the source and lower, widen the hose before it, or draw less");
    }
}

fn look_at_start(book: &mut Book, reading: &Reading, place: usize) {
    let Ok(watts) = reading.garden.parts()[place].get(Id::Watts) else { return };
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

/// A pump that pulls as hard as water can bear.
fn look_at_parted(book: &mut Book, reading: &Reading, place: usize) {
    let flow = reading.parts[place].flow_m3_per_s;
    let vapor = book.pressure(reading.garden.vapour_gauge_pa());
    let title = book.title(place);
    let what = if flow > NO_FLOW_M3_PER_S {
        format!("the inlet of {title} is at {vapor}, full vacuum: no more than {} gets there", book.flow(flow))
    } else {
        format!("no water gets to {title}: its inlet is at {vapor}, full vacuum, and water climbs no higher")
    };
    let action = "set the pump at most about 15 ft above the water, shorten or widen the suction line, or draw less";
    book.add(COLUMN_PARTS, place, what, action);
}

/// Compares what is left before the water at the inlet boils with what the pump requires. The speed at the inlet is left
/// out, which is on the safe side.
pub(super) fn look_at_suction(book: &mut Book, place: usize, inlet_pa: f64) {
    let given = book.garden.parts()[place].get(Id::Npsh).ok();
    let required = given.unwrap_or(Quantity::new(USUAL_NPSH_M, dim::LENGTH));
    let atmosphere_pa = book.garden.surroundings().atmosphere_pa;
    let available_m = available_from_gauge_m(atmosphere_pa, inlet_pa, 0.0, 0.0, book.garden.water());
    let cause = match available_m - required.si {
        margin_m if margin_m < 0.0 && given.is_some() => CAVITATES,
        margin_m if margin_m < 0.0 => CAVITATES_AS_USUAL,
        _ if given.is_none() && inlet_pa < LOWEST_INLET_PA => return tell_lift(book, place, inlet_pa),
        margin_m if margin_m < NPSH_MARGIN_M && given.is_some() => NPSH_MARGIN,
        _ => return,
    };
    let requires = if given.is_some() { "it requires" } else { "its NPSH is not given; small pumps require" };
    let what = format!(
        "at the inlet of {} a suction head (NPSH) of {} is left; {requires} {}",
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

fn tell_lift(book: &mut Book, place: usize, inlet_pa: f64) {
    let (inlet, lowest) = (book.pressure(inlet_pa), book.pressure(LOWEST_INLET_PA));
    let what = format!("the inlet of {} is at {inlet}, below {lowest}; its NPSH is not given", book.title(place));
    book.add(LIFT_TOO_HIGH, place, what, "set the pump lower, at most about 15 ft above the water, and give its NPSH");
}

/// True when a public tap feeds the booster through open parts.
fn fed_by_tap(reading: &Reading, booster: usize) -> bool {
    let garden = &reading.garden;
    let places = &garden.layout().places;
    let nodes = reached(garden, places[booster].from, |place, _| place != booster && reading.open[place]);
    garden.of_kind(Kind::Supply).any(|supply| nodes[places[supply].to])
}
