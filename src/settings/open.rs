//! What would open a window that is not open: each change is made and the window computed anew; only what helps is told.

use super::bounds::{Bound, Kind};
use super::window::{Ask, Range, Verdict, Window, of, preference, round_steps_pa};
use crate::garden::Garden;
use crate::parts::{Kind as PartKind, Part, Placing};
use crate::quantity::{Quantity, UnitSystem, dim};

/// A change that opens the window, and the ranges it gives.
#[derive(Clone, Debug)]
pub struct Opener {
    pub change: Change,
    pub garden: Garden,
    pub cut_in: Range,
    pub cut_out: Range,
    /// Round settings in the window it opens: cut-in and cut-out.
    pub suggestion: Option<(Quantity, Quantity)>,
}

/// What is changed.
#[derive(Clone, Debug)]
pub enum Change {
    /// Another setting of a relief valve.
    Relief { name: String, from: Quantity, to: Quantity },
    /// Parts of a higher rating.
    Ratings { names: Vec<String>, to: Quantity },
    /// A pump with this dead-head rise and this share of the flow at every rise.
    Pump { dead_head: Quantity, flow_share: f64 },
    /// A regulator before the pump.
    Regulator { set: Quantity },
    /// A zone that is run without the pump.
    LeaveOut { zones: Vec<String> },
    /// A zone that runs together with another.
    Together { zones: Vec<String>, with: Vec<String> },
    /// Several of them at once.
    Several(Vec<Change>),
}

impl Change {
    /// The change as an advice.
    pub fn words(&self, system: UnitSystem) -> String {
        match self {
            Change::Relief { name, from, to } => {
                format!("set relief '{name}' at {} instead of {}", to.show(system), from.show(system))
            }
            Change::Ratings { names, to } => {
                let names: Vec<String> = names.iter().map(|name| format!("'{name}'")).collect();
                format!("take parts rated {} or more for {}", to.show(system), names.join(", "))
            }
            Change::Pump { dead_head, flow_share } => {
                let flow = match flow_share {
                    share if *share == 1.0 => "the same flows".into(),
                    share => format!("{:.0} % of the flow at each share of its rise", 100.0 * share),
                };
                format!("take a pump with {} against a dead end and {flow}", dead_head.show(system))
            }
            Change::Regulator { set } => format!("put a regulator set to {} before the pump", set.show(system)),
            Change::LeaveOut { zones } => format!("run {} without the pump", in_words(zones)),
            Change::Together { zones, with } => format!("run {} only together with {}", in_words(zones), in_words(with)),
            Change::Several(changes) => changes.iter().map(|change| change.words(system)).collect::<Vec<_>>().join(", and "),
        }
    }

    /// The single changes of it.
    fn each(self) -> Vec<Change> {
        if let Change::Several(changes) = self { changes } else { vec![self] }
    }

    /// True when a later change makes this one idle.
    fn is_replaced_by(&self, later: &Change) -> bool {
        match (self, later) {
            (Change::Relief { name: a, .. }, Change::Relief { name: b, .. }) => a == b,
            (Change::Ratings { names: a, .. }, Change::Ratings { names: b, .. }) => a.iter().all(|name| b.contains(name)),
            _ => false,
        }
    }
}

fn in_words(zones: &[String]) -> String {
    zones.iter().map(|zone| format!("'{zone}'")).collect::<Vec<_>>().join(" and ")
}

/// A change made, before it is known whether it helps.
struct Trial {
    change: Change,
    garden: Garden,
    ask: Ask,
}

/// The changes that open a window, the easiest first; where none does alone, they are made beside higher settings and ratings.
pub fn openers(window: &Window) -> Vec<Opener> {
    let raised = raised(window);
    let mut found: Vec<Opener> = raised.iter().filter_map(opened).collect();
    found.extend(others(window));
    if let (true, Some(first)) = (found.is_empty(), raised)
        && let Ok(window) = of(&first.garden, &first.ask)
    {
        let both = |opener: Opener| {
            let changes = [first.change.clone(), opener.change].into_iter().flat_map(Change::each).collect();
            Opener { change: Change::Several(changes), ..opener }
        };
        found.extend(others(&window).into_iter().map(both));
    }
    found
}

/// Openers that leave settings and ratings as they are: of zones all, of regulators and pumps the first.
fn others(window: &Window) -> Vec<Opener> {
    let mut found: Vec<Opener> = zones(window).iter().filter_map(opened).collect();
    found.extend(first_opened(regulators(window)));
    found.extend(first_opened(pumps(window)));
    found
}

fn opened(trial: &Trial) -> Option<Opener> {
    let window = of(&trial.garden, &trial.ask).ok().filter(|window| window.verdict == Verdict::Open)?;
    Some(Opener {
        change: trial.change.clone(),
        garden: trial.garden.clone(),
        cut_in: window.cut_in?,
        cut_out: window.cut_out?,
        suggestion: window.suggestion,
    })
}

fn first_opened(trials: impl IntoIterator<Item = Trial>) -> Option<Opener> {
    trials.into_iter().find_map(|trial| opened(&trial))
}

/// Relief settings and ratings raised until none of them is in the way; a relief that opens less lets zones stand higher,
/// so that takes a few rounds.
fn raised(window: &Window) -> Option<Trial> {
    const ROUNDS: usize = 6;
    let mut last = Trial { change: Change::Several(Vec::new()), garden: window.garden.clone(), ask: window.ask.clone() };
    let mut changes: Vec<Change> = Vec::new();
    for _ in 0..ROUNDS {
        let now = of(&last.garden, &last.ask).ok()?;
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

/// A relief that was raised in several rounds, told from the setting it has now.
fn from_the_start(change: Change, garden: &Garden) -> Change {
    match change {
        Change::Relief { name, from, to } => {
            let from = garden.number(&format!("{name}.set")).unwrap_or(from);
            Change::Relief { name, from, to }
        }
        Change::Several(changes) => Change::Several(changes.into_iter().map(|change| from_the_start(change, garden)).collect()),
        other => other,
    }
}

/// The next round pressure at or above one.
fn round_up(window: &Window, pressure_pa: f64) -> Quantity {
    let step_pa = round_steps_pa(preference(&window.garden, window.switch))[0];
    window.pressure((pressure_pa / step_pa).ceil() * step_pa)
}

/// Bounds of a kind that leave no room above the least cut-out.
fn in_the_way(window: &Window, kind: Kind) -> impl Iterator<Item = &Bound> {
    let least_pa = window.least_cut_out_pa();
    window.bounds.iter().filter(move |bound| bound.kind == kind && bound.kept_pa() <= least_pa)
}

/// The number of a part that would leave one coarse step of room.
fn needed(window: &Window, bound: &Bound) -> Option<Quantity> {
    let own_pa = bound.own?.si;
    let step_pa = round_steps_pa(preference(&window.garden, window.switch))[0];
    Some(round_up(window, own_pa + window.least_cut_out_pa() - bound.kept_pa() + 0.5 * step_pa))
}

fn relief(window: &Window) -> Option<Trial> {
    let bound = in_the_way(window, Kind::Relief).min_by(|a, b| a.kept_pa().total_cmp(&b.kept_pa()))?;
    let (name, to) = (window.garden.name(bound.place?).to_string(), needed(window, bound)?);
    let garden = window.garden.but(&format!("{name}.set"), to).ok()?;
    let to = Quantity { preference: bound.own?.preference, ..to };
    Some(Trial { change: Change::Relief { name, from: bound.own?, to }, garden, ask: window.ask.clone() })
}

fn ratings(window: &Window) -> Option<Trial> {
    let bounds: Vec<&Bound> = in_the_way(window, Kind::Rating).collect();
    let to = bounds.iter().filter_map(|bound| needed(window, bound)).max_by(|a, b| a.si.total_cmp(&b.si))?;
    let names: Vec<String> =
        bounds.iter().filter_map(|bound| bound.place).map(|place| window.garden.name(place).to_string()).collect();
    let mut garden = window.garden.clone();
    for name in &names {
        garden = garden.but(&format!("{name}.rating"), to).ok()?;
    }
    Some(Trial { change: Change::Ratings { names, to }, garden, ask: window.ask.clone() })
}

/// Each case left out, and each that stands in the way run together with another.
fn zones(window: &Window) -> Vec<Trial> {
    let all: Vec<Vec<String>> = window.cases.iter().map(|case| case.zones.clone()).collect();
    if all.len() < 2 {
        return Vec::new();
    }
    let trial = |change: Change, zones: Vec<Vec<String>>| Trial {
        change,
        garden: window.garden.clone(),
        ask: Ask { zones, ..window.ask.clone() },
    };
    let mut trials = Vec::new();
    for (index, zones) in all.iter().enumerate() {
        let others = || all.iter().enumerate().filter(|(other, _)| *other != index).map(|(_, zones)| zones.clone());
        trials.push(trial(Change::LeaveOut { zones: zones.clone() }, others().collect()));
        for with in others().filter(|with| with.len() == 1 && zones.len() == 1) {
            let mut rest: Vec<Vec<String>> = others().collect();
            rest.push([zones.clone(), with.clone()].concat());
            trials.push(trial(Change::Together { zones: zones.clone(), with }, rest));
        }
    }
    trials
}

/// Regulators before the pump, the highest setting first.
fn regulators(window: &Window) -> Vec<Trial> {
    const LOWEST_PA: f64 = 1e5;
    let highest_pa = window.rest_highest_pa;
    let step_pa = round_steps_pa(preference(&window.garden, window.switch))[0];
    let settings = (1..100).map(|n| (highest_pa / step_pa).floor() * step_pa - f64::from(n - 1) * step_pa);
    let trial = |set_pa: f64| {
        let set = window.pressure(set_pa);
        let garden = with_regulator(&window.garden, window.booster, set)?;
        Some(Trial { change: Change::Regulator { set }, garden, ask: window.ask.clone() })
    };
    settings.take_while(|&set_pa| set_pa >= LOWEST_PA).filter_map(trial).collect()
}

/// The garden with a regulator right before a booster.
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
    parts.push(Part::build(PartKind::Regulator, Some(&free_name(garden)), &[("set", set)]).ok()?);
    joints.push((layout.places[booster].from, middle));
    debug_assert!(garden.parts()[booster].spec().placing == Placing::Inline);
    Garden::from_joints(parts, &joints).ok().map(|changed| changed.with_surroundings(*garden.surroundings()))
}

fn free_name(garden: &Garden) -> String {
    let free = |name: &String| garden.layout().find(name).is_none();
    let mut names = (1..).map(|n| if n == 1 { "regulator".to_string() } else { format!("regulator{n}") });
    names.find(free).unwrap_or_default()
}

/// Other pumps: rise and flow of the curve in proportion, the nearest to the one at hand first.
fn pumps(window: &Window) -> Vec<Trial> {
    const RISES: [f64; 16] = [1.1, 0.9, 1.2, 0.8, 1.3, 0.7, 1.4, 0.6, 1.5, 0.5, 1.6, 1.7, 1.8, 1.9, 2.0, 1.0];
    const FLOWS: [f64; 7] = [1.0, 0.8, 0.65, 0.5, 0.4, 0.3, 0.2];
    let part = &window.garden.parts()[window.booster];
    let Some(curve) = part.curve() else { return Vec::new() };
    let speed = part.value(0);
    let mut shares: Vec<(f64, f64)> = FLOWS.iter().flat_map(|&flow| RISES.iter().map(move |&rise| (rise, flow))).collect();
    let distance = |&(rise, flow): &(f64, f64)| f64::abs(rise.ln()) + f64::abs(flow.ln());
    shares.sort_by(|a, b| distance(a).total_cmp(&distance(b)));
    let trial = |(rise_share, flow_share): (f64, f64)| {
        let other = (**part).clone().running_on(curve.scaled(flow_share, rise_share));
        let garden = window.garden.but_part(window.garden.name(window.booster), &other).ok()?;
        let dead_head = Quantity::new(curve.dead_head_pa() * rise_share * speed * speed, dim::PRESSURE);
        Some(Trial { change: Change::Pump { dead_head, flow_share }, garden, ask: window.ask.clone() })
    };
    shares.into_iter().filter(|&shares| shares != (1.0, 1.0)).filter_map(trial).collect()
}
