//! What would give settings that keep all margins: each change is made and the window computed anew; only what helps is reported.

use super::bounds::{Bound, BoundKind};
use super::case::{Ask, Case};
use super::change::{Change, Remedy};
use super::error::SettingsError;
use super::make::of;
use super::scale::scale;
use super::window::{Window, preference};
use crate::garden::Garden;
use crate::parts::{Id, Kind as PartKind, Part, Placing};
use crate::quantity::{Quantity, dim};
use std::collections::{HashMap, HashSet};

/// A change made, before it is known whether it helps.
struct Trial {
    change: Change,
    garden: Garden,
    ask: Ask,
    /// Cases of its garden that are known.
    known: Vec<Case>,
}

impl Trial {
    /// A change of the garden of a window, with the same zones.
    fn of(window: &Window, change: Change, garden: Garden) -> Trial {
        let zones = window.cases.iter().map(|case| case.zones.clone()).collect();
        Trial { change, garden, ask: Ask { zones, ..window.ask.clone() }, known: Vec::new() }
    }
}

/// The changes that open a window, the easiest first; where none does alone, they are made beside higher settings and ratings.
pub fn remedies(window: &Window) -> Vec<Remedy> {
    let raised = raised(window);
    let mut found: Vec<Remedy> = raised.iter().filter_map(|trial| opened(window, trial)).collect();
    found.extend(others(window));
    if let (true, Some(first)) = (found.is_empty(), raised)
        && let Ok(window) = of(&first.garden, &first.ask, &first.known)
    {
        let both = |remedy: Remedy| {
            let changes = [first.change.clone(), remedy.change].into_iter().flat_map(Change::each).collect();
            Remedy { change: Change::Several(changes), ..remedy }
        };
        found.extend(others(&window).into_iter().map(both));
    }
    // Zones that the main serves alone have no use for the pump.
    let serves = |zones: &[String]| {
        let mut cases = window.cases.iter().filter(|case| case.zones.iter().any(|zone| zones.contains(zone)));
        cases.all(|case| case.needs_no_pump)
    };
    found.sort_by_key(|remedy| !matches!(&remedy.change, Change::LeaveOut { zones } if serves(zones)));
    found
}

/// Remedies that leave settings and ratings as they are: of zones all, of regulators and pumps the first.
fn others(window: &Window) -> Vec<Remedy> {
    let mut found: Vec<Remedy> = zones(window).iter().filter_map(|trial| opened(window, trial)).collect();
    found.extend(regulators(window).iter().find_map(|trial| opened(window, trial)));
    found.extend(pumps(window).iter().find_map(|trial| opened(window, trial)));
    found
}

/// The window of a trial, if it has settings that keep all margins. With many zones those that stand highest are looked at
/// first: where they leave no room, all of them leave none.
fn opened(window: &Window, trial: &Trial) -> Option<Remedy> {
    const FEW: usize = 8;
    if trial.ask.zones.len() > 2 * FEW {
        let heights_pa: HashMap<&[String], f64> =
            window.cases.iter().rev().map(|case| (&case.zones[..], case.on_highest_pa)).collect();
        let height = |zones: &&Vec<String>| heights_pa.get(&zones[..]).copied().unwrap_or(f64::INFINITY);
        let mut few: Vec<&Vec<String>> = trial.ask.zones.iter().collect();
        few.sort_by(|a, b| height(b).total_cmp(&height(a)));
        let ask = Ask { zones: few.into_iter().take(FEW).cloned().collect(), ..trial.ask.clone() };
        of(&trial.garden, &ask, &trial.known).ok().filter(Window::is_sound)?;
    }
    let window = of(&trial.garden, &trial.ask, &trial.known).ok().filter(Window::is_sound)?;
    Some(Remedy {
        change: trial.change.clone(),
        garden: trial.garden.clone(),
        cut_in: window.cut_in?,
        cut_out: window.cut_out?,
        suggestion: window.suggestion?,
    })
}

/// Relief settings and ratings raised until none of them is in the way; a relief that opens less lets zones stand higher,
/// so that takes a few rounds.
fn raised(window: &Window) -> Option<Trial> {
    const ROUNDS: usize = 6;
    let mut last = Trial::of(window, Change::Several(Vec::new()), window.garden.clone());
    last.known.clone_from(&window.cases);
    let mut changes: Vec<Change> = Vec::new();
    for _ in 0..ROUNDS {
        let now = of(&last.garden, &last.ask, &last.known).ok()?;
        let Some(next) = relief(&now).or_else(|| ratings(&now)) else { break };
        changes.retain(|change| !change.is_replaced_by(&next.change));
        changes.push(next.change.clone());
        last = next;
    }
    let change = if changes.len() == 1 { changes.pop()? } else { Change::Several(changes) };
    if let Change::Several(changes) = &change
        && changes.is_empty()
    {
        return None;
    }
    Some(Trial { change: from_the_start(change, &window.garden), ..last })
}

/// A relief that was raised in several rounds, stated from the setting it has now.
fn from_the_start(change: Change, garden: &Garden) -> Change {
    match change {
        Change::Relief { name, from, to } => {
            let from = garden.parameter(&format!("{name}.set")).unwrap_or(from);
            Change::Relief { name, from, to }
        }
        Change::Several(changes) => Change::Several(changes.into_iter().map(|change| from_the_start(change, garden)).collect()),
        other => other,
    }
}

/// The next round pressure at or above one.
fn round_up(window: &Window, pressure_pa: f64) -> Quantity {
    let step_pa = scale(preference(&window.garden, window.switch)).step_pa;
    window.pressure((pressure_pa / step_pa).ceil() * step_pa)
}

/// Bounds of a kind that leave no room above the least cut-out.
fn in_the_way(window: &Window, kind: BoundKind) -> impl Iterator<Item = &Bound> {
    let least_pa = window.least_cut_out_pa();
    window.bounds.iter().filter(move |bound| bound.kind == kind && bound.kept_pa() <= least_pa)
}

/// The parameter of a part that would leave one coarse step of room.
fn needed(window: &Window, bound: &Bound) -> Option<Quantity> {
    let own_pa = bound.own?.si;
    let step_pa = scale(preference(&window.garden, window.switch)).step_pa;
    Some(round_up(window, own_pa + window.least_cut_out_pa() - bound.kept_pa() + 0.5 * step_pa))
}

fn relief(window: &Window) -> Option<Trial> {
    let bound = in_the_way(window, BoundKind::Relief).min_by(|a, b| a.kept_pa().total_cmp(&b.kept_pa()))?;
    let (name, to) = (window.garden.name(bound.place?).to_string(), needed(window, bound)?);
    let garden = window.garden.with(&format!("{name}.set"), to).ok()?;
    let to = Quantity { preference: bound.own?.preference, ..to };
    Some(Trial::of(window, Change::Relief { name, from: bound.own?, to }, garden))
}

fn ratings(window: &Window) -> Option<Trial> {
    let bounds: Vec<&Bound> = in_the_way(window, BoundKind::Rating).collect();
    let to = bounds.iter().filter_map(|bound| needed(window, bound)).max_by(|a, b| a.si.total_cmp(&b.si))?;
    let names: Vec<String> =
        bounds.iter().filter_map(|bound| bound.place).map(|place| window.garden.name(place).to_string()).collect();
    let mut garden = window.garden.clone();
    for name in &names {
        garden = garden.with(&format!("{name}.pressure_rating"), to).ok()?;
    }
    // A rating changes no flow.
    Some(Trial { known: window.cases.clone(), ..Trial::of(window, Change::Ratings { names, to }, garden) })
}

/// The cases that stand in the way left out, one or all of them, and each of them run together with another.
fn zones(window: &Window) -> Vec<Trial> {
    /// Zones that are tried beside one that stands in the way.
    const MOST_PARTNERS: usize = 24;
    let all: Vec<Vec<String>> = window.cases.iter().map(|case| case.zones.clone()).collect();
    if all.len() < 2 {
        return Vec::new();
    }
    let trial = |change: Change, zones: Vec<Vec<String>>| Trial {
        change,
        garden: window.garden.clone(),
        ask: Ask { zones, ..window.ask.clone() },
        known: window.cases.clone(),
    };
    let (in_the_way, fails) = cases_in_the_way(window);
    let without = |left: &[&Case]| -> Vec<Vec<String>> {
        let left: HashSet<&[String]> = left.iter().map(|case| &case.zones[..]).collect();
        all.iter().filter(|zones| !left.contains(&zones[..])).cloned().collect()
    };
    let mut trials = Vec::new();
    // Of several that leave no room by themselves it helps nobody to take one away.
    for case in in_the_way.iter().filter(|_| fails == Fails::Together || in_the_way.len() == 1) {
        let rest = without(&[case]);
        trials.push(trial(Change::LeaveOut { zones: case.zones.clone() }, rest.clone()));
        for with in rest.iter().filter(|with| with.len() == 1 && case.zones.len() == 1).take(MOST_PARTNERS) {
            let mut zones = rest.clone();
            zones.push([case.zones.clone(), with.clone()].concat());
            trials.push(trial(Change::Together { zones: case.zones.clone(), with: with.clone() }, zones));
        }
    }
    if in_the_way.len() > 1 && in_the_way.len() < all.len() {
        let zones = in_the_way.iter().flat_map(|case| case.zones.clone()).collect();
        trials.push(trial(Change::LeaveOut { zones }, without(&in_the_way)));
    }
    trials
}

/// How cases stand in the way of a setting.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Fails {
    /// Each leaves no room by itself.
    Alone,
    /// Each alone leaves room.
    Together,
}

/// Cases that leave no room by themselves; where all do, the two that stand highest with and without the pump.
fn cases_in_the_way(window: &Window) -> (Vec<&Case>, Fails) {
    let (_, failing) = window.works_and_fails();
    if !failing.is_empty() {
        return (failing, Fails::Alone);
    }
    let highest = |pressure: fn(&Case) -> f64| window.cases.iter().max_by(|a, b| pressure(a).total_cmp(&pressure(b)));
    let mut found: Vec<&Case> =
        [highest(|case| case.on_highest_pa), highest(|case| case.off_highest_pa)].into_iter().flatten().collect();
    found.dedup_by(|a, b| a.zones == b.zones);
    (found, Fails::Together)
}

/// Regulators upstream of the pump, the highest setting first.
fn regulators(window: &Window) -> Vec<Trial> {
    const LOWEST_PA: f64 = 1e5;
    let highest_pa = window.rest_highest_pa;
    let step_pa = scale(preference(&window.garden, window.switch)).step_pa;
    let settings = (1..100).map(|n| (highest_pa / step_pa).floor() * step_pa - f64::from(n - 1) * step_pa);
    let trial = |set_pa: f64| {
        let set = window.pressure(set_pa);
        let garden = with_regulator(&window.garden, window.booster, set)?;
        Some(Trial::of(window, Change::Regulator { set }, garden))
    };
    settings.take_while(|&set_pa| set_pa >= LOWEST_PA).filter_map(trial).collect()
}

/// The garden with a regulator just upstream of a booster.
fn with_regulator(garden: &Garden, booster: usize, set: Quantity) -> Option<Garden> {
    let layout = garden.layout();
    let middle = layout.number_of_nodes;
    let mut parts: Vec<Part> = Vec::with_capacity(garden.parts().len() + 1);
    let mut joints: Vec<(usize, usize)> = Vec::with_capacity(garden.parts().len() + 1);
    for (place, part) in garden.parts().iter().enumerate() {
        parts.push((**part).clone().named(garden.name(place)).ok()?);
        let joint = &layout.places[place];
        joints.push(if place == booster { (middle, joint.to) } else { (joint.from, joint.to) });
    }
    parts.push(Part::build(PartKind::Regulator, Some(&garden.free_name("regulator")), &[(Id::Set, set)]).ok()?);
    joints.push((layout.places[booster].from, middle));
    debug_assert!(garden.spec(booster).placing == Placing::Inline);
    Garden::from_joints(parts, &joints)
        .ok()
        .map(|changed| changed.with_surroundings(*garden.surroundings()).accepting_all_of(garden))
}

/// Other pumps: rise and flow of the curve in proportion, the nearest to the one at hand first.
fn pumps(window: &Window) -> Vec<Trial> {
    const RISES: [f64; 16] = [1.1, 0.9, 1.2, 0.8, 1.3, 0.7, 1.4, 0.6, 1.5, 0.5, 1.6, 1.7, 1.8, 1.9, 2.0, 1.0];
    const FLOWS: [f64; 7] = [1.0, 0.8, 0.65, 0.5, 0.4, 0.3, 0.2];
    let part = &window.garden.parts()[window.booster];
    let Some(curve) = part.curve() else { return Vec::new() };
    let speed = part.value(Id::Speed);
    let mut shares: Vec<(f64, f64)> = FLOWS.iter().flat_map(|&flow| RISES.iter().map(move |&rise| (rise, flow))).collect();
    let distance = |&(rise, flow): &(f64, f64)| f64::abs(rise.ln()) + f64::abs(flow.ln());
    shares.sort_by(|a, b| distance(a).total_cmp(&distance(b)));
    let trial = |(rise_share, flow_share): (f64, f64)| {
        let other = (**part).clone().running_on(curve.scaled(flow_share, rise_share));
        let garden = window.garden.replace(window.garden.name(window.booster), &other).ok()?;
        let dead_head = window.garden.quantity(curve.dead_head_pa() * rise_share * speed * speed, dim::PRESSURE);
        Some(Trial::of(window, Change::Pump { dead_head, flow_share }, garden))
    };
    shares.into_iter().filter(|&shares| shares != (1.0, 1.0)).filter_map(trial).collect()
}

/// The window of a switch. Errors: no switch or booster, unknown zones, or no steady state in one of them.
pub fn switch_window(garden: &Garden, ask: &Ask) -> Result<Window, SettingsError> {
    let mut window = of(garden, ask, &[])?;
    if !window.is_sound() {
        window.remedies = remedies(&window);
    }
    Ok(window)
}
