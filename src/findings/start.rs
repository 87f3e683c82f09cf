//! Boosters that a relay or control starts: without zones, against a closed line, with less flow than a control senses, with a leak.

use super::catalog::start as say;
use super::finding::{Book, flow as flow_of, like, rule_pa};
use super::heating;
use super::limits::{AT_LIMIT, SHUT_OFF_MARGIN, UNSEEN_M3_PER_S};
use super::phrase::Value;
use super::rest::AtRest;
use crate::garden::walk::{Way, reached, rises};
use crate::garden::{Garden, Starter, booster_of, starters_of};
use crate::hydraulics::{Drive, Outlets, Resting, SwitchState};
use crate::laws::section::pressure_of_head_pa;
use crate::operation::{Descent, leak_down};
use crate::parts::{Id, Spec, Start};

/// A control that stops its booster as if nothing flowed, though a zone is open.
pub(super) fn look_at_low_flow(book: &mut Book, state: &SwitchState, flow_m3_per_s: f64) {
    let part = &book.garden.parts()[state.place];
    let (Ok(least), Ok(delay)) = (part.get(Id::MinimumFlow), part.get(Id::Delay)) else { return };
    let finding = book.about(&say::BELOW_LEAST_FLOW, state.place).with("pump", book.title(state.booster));
    book.add(finding.with("flow", flow_of(flow_m3_per_s)).with("least", least).with("delay", delay));
}

/// What is to be said of relays and controls with all zones off.
pub(super) fn look_at_rest(book: &mut Book, rest: &AtRest) {
    let starters = starters_of(book.garden);
    look_at_others(book, &starters);
    for starter in &starters {
        match starter.start {
            Start::Pressure => {}
            Start::Zones if starter.valves.is_empty() => {
                book.add(book.about(&say::NO_ZONES, starter.place).with("pump", book.title(starter.booster)));
            }
            Start::Zones => {
                look_at_terminals(book, starter);
                look_at_relay(book, rest, starter);
            }
            Start::Flow | Start::Speed => {
                look_at_shut_off(book, rest, starter);
                look_at_leak(book, rest, starter);
            }
        }
    }
}

/// What starts a booster that something else starts already.
fn look_at_others(book: &mut Book, starters: &[Starter]) {
    let garden = book.garden;
    for place in garden.starters().filter(|&place| starters.iter().all(|starter| starter.place != place)) {
        let Some(booster) = booster_of(garden, place) else { continue };
        let Some(other) = starters.iter().find(|starter| starter.booster == booster) else { continue };
        let finding = book.about(&say::STARTER_WITHOUT_EFFECT, place).with("pump", book.title(booster));
        book.add(finding.with("other", book.title(other.place)));
    }
}

/// Zones that a timer of their own opens, of which the relay knows nothing.
fn look_at_terminals(book: &mut Book, starter: &Starter) {
    for &valve in starter.valves.iter().filter(|&&valve| book.garden.spec(valve).traits.own_timer) {
        let finding = book.about(&say::NO_TERMINAL, starter.place).with("pump", book.title(starter.booster));
        book.add(finding.with("valve", book.title(valve)));
    }
}

/// A control whose cut-in the pump does not reach at shut-off, at the lowest pressure of the main where that is given.
fn look_at_shut_off(book: &mut Book, rest: &AtRest, starter: &Starter) {
    let garden = book.garden;
    let shut_off = rest.dead_head_lowest.as_ref().unwrap_or(&rest.dead_head);
    let (Some(cut_in), Some(reaches_pa)) =
        (garden.parts()[starter.place].quantity(Id::CutIn), shut_off.at(garden, starter.place))
    else {
        return;
    };
    if reaches_pa <= cut_in.si * (1.0 + AT_LIMIT) {
        let finding = book.about(&say::CUT_IN_ABOVE_SHUT_OFF, starter.place).with("pump", book.title(starter.booster));
        let finding = finding.with("margin", rule_pa(SHUT_OFF_MARGIN.of(garden)).like(cut_in));
        book.add(
            finding.with("cut_in", cut_in).with("reaches", like(reaches_pa, cut_in)).with_some("main", garden.lowest_static()),
        );
    }
}

/// A booster that a relay would run against a closed line, where no relief valve lets water go.
fn look_at_relay(book: &mut Book, rest: &AtRest, starter: &Starter) {
    if rest.relieved.flow(starter.booster) > UNSEEN_M3_PER_S {
        return;
    }
    let (hot, minutes) = heating::time_to_hot(book.garden, starter.booster).unzip();
    let finding = book.about(&say::RELAY_DEAD_HEAD, starter.place).with("pump", book.title(starter.booster));
    book.add(finding.with_some("hot", hot).with_some("minutes", minutes));
}

/// A leak that a control answers; nothing where the main holds the line above cut-in, or where heads without a valve run.
fn look_at_leak(book: &mut Book, rest: &AtRest, starter: &Starter) -> Option<()> {
    let garden = book.garden;
    let part = &garden.parts()[starter.place];
    let starts_at_pa = part.starts_at_pa()?;
    let (least, delay) = (part.get(Id::MinimumFlow).ok()?, part.get(Id::Delay).ok()?);
    if garden.of_spec(Spec::loses_water).next().is_none()
        || rest.off.at(garden, starter.place)? > starts_at_pa
        || waters_without_valve(garden, starter.booster)
    {
        return None;
    }
    let leaking = Resting::of(garden, Outlets::Losing).ok()?.state(|_| Drive::Held).ok()?;
    let leak_m3_per_s = leaking.flow(starter.booster);
    if leak_m3_per_s <= 0.0 {
        return None;
    }
    let about = |book: &Book, entry| {
        let finding = book.about(entry, starter.place).with("pump", book.title(starter.booster));
        finding.with("leak", flow_of(leak_m3_per_s))
    };
    if leak_m3_per_s >= least.si {
        book.add(about(book, &say::LEAK_KEEPS_RUNNING).with("least", least));
        return None;
    }
    let from_pa = leaking.at(garden, starter.place)?;
    let down = leak_down(
        garden,
        &Descent { at: starter.place, from_pa, to_pa: starts_at_pa, higher_pa: &higher_pa(garden, starter.place), is_fed: true },
    );
    let period_s = delay.si + down.ok()?.time_s?;
    let times = Value::Number { value: 3600.0 / period_s, decimals: if period_s > 1800.0 { 1 } else { 0 } };
    book.add(about(book, &say::LEAK_CYCLES).with("times", times));
    Some(())
}

/// True when an outlet takes water from a booster with all valves closed because somebody wants it to.
fn waters_without_valve(garden: &Garden, booster: usize) -> bool {
    let places = &garden.layout().places;
    let passes = |place: usize, way: Way| way == Way::Down && place != booster && !garden.spec(place).traits.opens;
    let open = reached(garden, places[booster].to, passes);
    garden.of_spec(|spec| spec.traits.gives_water).any(|place| open[places[place].from])
}

/// By how much the pressure at each node lies above that at a place while the water is still, Pa; nothing beyond one-way parts.
fn higher_pa(garden: &Garden, place: usize) -> Vec<Option<f64>> {
    let joins = |at: usize| !garden.spec(at).is_one_way() && !garden.spec(at).traits.opens;
    let rise_m = |at: usize, _: Way| joins(at).then(|| garden.parts()[at].rise_m());
    let above_m = rises(garden, garden.layout().places[place].to, rise_m);
    let density_kg_per_m3 = garden.water().density_kg_per_m3;
    above_m.into_iter().map(|above_m| Some(-pressure_of_head_pa(above_m?, density_kg_per_m3))).collect()
}
