//! Boosters in a steady state: off their curve, backward, dry, against closed valves, starved at the inlet.

use super::catalog::pump as say;
use super::finding::{Book, flow as flow_of, like, pressure, rule_pa};
use super::limits::{BIG_MOTOR_W, LOWEST_INLET, NPSH_MARGIN, UNSEEN_M3_PER_S, USUAL_NPSH_M};
use super::phrase::{Limit, Value};
use super::{heating, suction};
use crate::hydraulics::{Solution, Verdict};
use crate::laws::npsh::available_from_gauge_m;
use crate::parts::{Id, Law};
use crate::quantity::{Quantity, dim};

pub(super) fn look(book: &mut Book, solution: &Solution) {
    let lines = suction::suction_lines(solution);
    for place in solution.garden.boosters() {
        look_at(book, solution, &lines, place);
    }
    suction::report_lines(book, solution, &lines);
}

fn look_at(book: &mut Book, solution: &Solution, lines: &[usize], place: usize) {
    let state = &solution.parts[place];
    let flow = state.flow_m3_per_s;
    let runs = solution.runs[place];
    let Some(inlet_pa) = state.pressure_in_pa else {
        if runs {
            book.add(book.about(&say::RUNS_DRY, place));
        }
        return;
    };
    if solution.parted.contains(&place) && flow >= -UNSEEN_M3_PER_S {
        look_at_parted(book, solution, place);
        return look_at_inlet(book, solution, lines, place, inlet_pa);
    }
    if flow < -UNSEEN_M3_PER_S {
        book.add(book.about(&say::BACKWARD, place).with("flow", flow_of(-flow)));
    }
    if !runs || flow < -UNSEEN_M3_PER_S {
        return;
    }
    if flow <= UNSEEN_M3_PER_S {
        let stopped = solution.switches.iter().any(|switch| switch.booster == place && switch.verdict == Verdict::ShortCycles);
        if !stopped {
            let downstream: Value =
                state.pressure_out_pa.map_or("its dead-head pressure".into(), |downstream_pa| pressure(downstream_pa).into());
            book.add(book.about(&say::DEAD_HEADED, place).with("pressure", downstream));
            heating::report(book, place);
        }
        return;
    }
    look_at_start(book, solution, place);
    look_at_curve(book, solution, place);
    look_at_suction(book, place, inlet_pa);
    look_at_inlet(book, solution, lines, place, inlet_pa);
}

/// Suction at the inlet, which is worst on a public main. Where a suction line is reported, that says it.
fn look_at_inlet(book: &mut Book, solution: &Solution, lines: &[usize], place: usize, inlet_pa: f64) {
    let on_main = suction::fed_by_tap(solution, place);
    if inlet_pa < 0.0 && (on_main || !suction::lead_to(book.garden, place, lines)) {
        let entry = if on_main { &say::INLET_SUCTION_ON_MAIN } else { &say::INLET_SUCTION };
        book.add(book.about(entry, place).with("inlet", pressure(inlet_pa)));
    }
}

fn look_at_start(book: &mut Book, solution: &Solution, place: usize) {
    let Ok(watts) = solution.garden.parts()[place].get(Id::InputPower) else { return };
    // A drive brings the motor up slowly.
    if watts.si >= BIG_MOTOR_W && solution.garden.drive_of(place).is_none() {
        book.add(book.about(&say::START_CURRENT, place).with("power", watts));
    }
}

fn look_at_curve(book: &mut Book, solution: &Solution, place: usize) {
    let Law::Booster { curve, .. } = solution.garden.law_of(place) else { return };
    let share = solution.share_of_speed(place);
    if share <= 0.0 {
        return;
    }
    let curve = curve.at_speed(share);
    let flow = solution.parts[place].flow_m3_per_s;
    let last = curve.last_flow_m3_per_s();
    if flow <= last {
        return;
    }
    let rise_pa = curve.rise(flow).0;
    let finding = book.about(&say::BEYOND_CURVE, place).with("flow", flow_of(flow)).with("last", flow_of(last));
    book.add(finding.with_some("brakes", (rise_pa < 0.0).then(|| pressure(-rise_pa))));
}

/// A pump that pulls as hard as water can bear.
fn look_at_parted(book: &mut Book, solution: &Solution, place: usize) {
    let flow = solution.parts[place].flow_m3_per_s;
    let finding = if flow > UNSEEN_M3_PER_S {
        book.about(&say::SUCTION_AT_VACUUM, place).with("flow", flow_of(flow))
    } else {
        book.about(&say::SUCTION_AT_VACUUM_NO_FLOW, place)
    };
    book.add(finding.with("vapor", pressure(solution.garden.vapor_gauge_pa())));
}

/// Compares what is left before the water at the inlet boils with what the pump requires. The speed at the inlet is left
/// out, which is on the safe side.
pub(super) fn look_at_suction(book: &mut Book, place: usize, inlet_pa: f64) {
    let given = book.garden.parts()[place].quantity(Id::Npsh);
    let required = given.unwrap_or(Quantity::new(USUAL_NPSH_M, dim::LENGTH));
    let atmosphere_pa = book.garden.surroundings().atmosphere_pa;
    let available_m = available_from_gauge_m(atmosphere_pa, inlet_pa, 0.0, 0.0, book.garden.water());
    let entry = match available_m - required.si {
        margin_m if margin_m < 0.0 && given.is_some() => &say::CAVITATES,
        margin_m if margin_m < 0.0 => &say::CAVITATES_AS_USUAL,
        _ if given.is_none() && inlet_pa < LOWEST_INLET.of(book.garden) => return report_lift(book, place, inlet_pa),
        margin_m if margin_m < NPSH_MARGIN.of(book.garden) && given.is_some() => &say::NPSH_MARGIN,
        _ => return,
    };
    let shown = given.map_or(Limit::of_practice(required, "ft").as_least().into(), Value::from);
    let finding = book.about(entry, place).with("available", like(available_m, required)).with("required", shown);
    book.add(finding.with("margin", Limit::of_practice(like(NPSH_MARGIN.of(book.garden), required), "m")));
}

fn report_lift(book: &mut Book, place: usize, inlet_pa: f64) {
    let finding = book.about(&say::LIFT_TOO_HIGH, place);
    book.add(finding.with("inlet", pressure(inlet_pa)).with("lowest", rule_pa(LOWEST_INLET.of(book.garden)).as_least()));
}
