//! How a window is made: the cases of its zones, the bounds they set, and the ranges that these leave.

use super::bench::{AtRest, OpenZones, Pair};
use super::bounds::{Bound, BoundKind, bounds};
use super::case::{Ask, Case, Range};
use super::error::SettingsError;
use super::mains::Mains;
use super::scale::scale;
use super::suggest::suggestion;
use super::window::{Settled, Verdict, Window, preference};
use crate::garden::walk::{Way, reached};
use crate::garden::{Garden, GardenError, Sections, Starter, booster_of, starters_of};
use crate::hydraulics::{Drive, Network, PumpState};
use crate::limits;
use crate::operation::OperationError;
use crate::parts::Start;
use std::collections::HashMap;

/// The window without a search for what would open it. `known` are cases of the same garden that were worked out before.
pub(super) fn of(garden: &Garden, ask: &Ask, known: &[Case]) -> Result<Window, SettingsError> {
    let pair = pair_of(garden, ask)?;
    let lowest_static_pa = ask.lowest_static_pa.or_else(|| Some(garden.lowest_static()?.si));
    let ask = &Ask { lowest_static_pa, ..ask.clone() };
    let mains = Mains::of(garden, ask.lowest_static_pa, ask.highest_static_pa)?;
    let cases = cases(&mains, pair, ask, known)?;
    let mut at_rest = AtRest::of(garden, pair)?;
    let bounds = bounds(&mains, pair, &cases, &mut at_rest)?;
    let scale = scale(preference(garden, pair.switch));
    let differential_pa = ask.differential_pa.unwrap_or(scale.least_difference_pa);
    let widest_pa = ask.widest_pa.unwrap_or(scale.widest_difference_pa).max(differential_pa);
    let losing = at_rest.losing(garden)?;
    let mut rest_pa = |garden: &Garden, drive: Drive| at_rest.at_switch_pa(garden, drive);
    let (verdict, cut_in, cut_out) = ranges(&bounds, differential_pa);
    let mut window = Window {
        garden: garden.clone(),
        ask: ask.clone(),
        switch: pair.switch,
        booster: pair.booster,
        differential_pa,
        widest_pa,
        cases,
        rest_pa: rest_pa(garden, Drive::Off)?,
        rest_highest_pa: rest_pa(&mains.highest, Drive::Off)?,
        dead_head_lowest_pa: rest_pa(&mains.lowest, Drive::Full)?,
        dead_head_pa: rest_pa(garden, Drive::Full)?,
        dead_head_highest_pa: rest_pa(&mains.highest, Drive::Full)?,
        settled: Settled {
            pressure_pa: losing.at(garden, pair.switch).unwrap_or(f64::NAN),
            flow_m3_per_s: losing.flow(pair.booster).max(0.0),
        },
        bounds,
        verdict,
        cut_in,
        cut_out,
        suggestion: None,
        remedies: Vec::new(),
    };
    window.suggestion = suggestion(&window);
    Ok(window)
}

fn pair_of(garden: &Garden, ask: &Ask) -> Result<Pair, SettingsError> {
    let named = ask.switch.as_ref().map(|name| garden.find(name)).transpose()?;
    let concerned = |starter: &Starter| named.is_none_or(|switch| booster_of(garden, switch) == Some(starter.booster));
    if let Some(starter) = starters_of(garden).into_iter().find(|starter| starter.start != Start::Pressure && concerned(starter))
    {
        let (name, pump) = (garden.name(starter.place).to_string(), garden.name(starter.booster).to_string());
        if starter.start == Start::Speed {
            return Err(SettingsError::HasDrive { name, pump });
        }
        return Err(SettingsError::NoWindowNeeded { name, what: garden.spec(starter.place).word, pump });
    }
    let switch = match &ask.switch {
        Some(name) => garden.find(name)?,
        None => garden.switches().next().ok_or(SettingsError::NoSwitch)?,
    };
    let part = &garden.parts()[switch];
    let name = garden.name(switch).to_string();
    if !part.spec().is_switch() {
        return Err(SettingsError::NotASwitch { name, what: part.spec().word });
    }
    let booster = booster_of(garden, switch).ok_or(SettingsError::NoBooster { name })?;
    Ok(Pair { switch, booster })
}

/// The zones that are asked for, or every valve downstream of the pump alone, and the valves upstream of the pump, which stand open in all
/// of them.
pub(super) fn zones_of(garden: &Garden, pair: Pair, ask: &Ask) -> (Vec<Vec<String>>, Vec<usize>) {
    let places = &garden.layout().places;
    let before = reached(garden, places[pair.booster].from, |_, way| way == Way::Up);
    let valves: Vec<usize> = garden.valves().collect();
    let (masters, downstream): (Vec<usize>, Vec<usize>) = valves.into_iter().partition(|&place| before[places[place].to]);
    let each: Vec<Vec<String>> = downstream.into_iter().map(|place| vec![garden.name(place).to_string()]).collect();
    let zones = match (ask.zones.is_empty(), each.is_empty()) {
        (false, _) => ask.zones.clone(),
        (true, true) => vec![Vec::new()],
        (true, false) => each,
    };
    (zones, masters)
}

fn cases(mains: &Mains, pair: Pair, ask: &Ask, known: &[Case]) -> Result<Vec<Case>, SettingsError> {
    let garden = &mains.usual;
    let (zones, masters) = zones_of(garden, pair, ask);
    let known: HashMap<&[String], &Case> = known.iter().map(|case| (&case.zones[..], case)).collect();
    let valves = |zones: &Vec<String>| zones.iter().map(|zone| garden.valve(zone)).collect::<Result<Vec<usize>, GardenError>>();
    let valves = zones.iter().map(valves).collect::<Result<Vec<_>, _>>()?;
    // What no zone can be solved with may lie outside of what one opens: a loop that does not close, a part without a diameter.
    Network::new(garden, &garden.opened(&[])?)?;
    let sections = Sections::of(garden);
    let one = |(zones, valves): (&Vec<String>, &Vec<usize>)| -> Result<Case, SettingsError> {
        if limits::ended() {
            return Err(OperationError::Stopped.into());
        }
        if let Some(&case) = known.get(&zones[..]) {
            return Ok(case.clone());
        }
        let open: Vec<usize> = valves.iter().chain(masters.iter().filter(|master| !valves.contains(master))).copied().collect();
        let mut opened = OpenZones::of(garden, &sections, pair, &open)?;
        let mut felt = |garden: &Garden, pump| opened.felt(garden, pump);
        let (off, on) = (felt(garden, PumpState::Off)?, felt(garden, PumpState::Running)?);
        if off.pressure_pa.is_nan() || on.pressure_pa.is_nan() {
            let zones = if zones.is_empty() { "all open".into() } else { format!("{} open", zones.join(" and ")) };
            return Err(SettingsError::NotReached { name: garden.name(pair.switch).into(), zones });
        }
        let (lowest_off, highest_off, highest_on) = (
            if ask.lowest_static_pa.is_some() { felt(&mains.lowest, PumpState::Off)? } else { off },
            if ask.highest_static_pa.is_some() { felt(&mains.highest, PumpState::Off)? } else { off },
            if ask.highest_static_pa.is_some() { felt(&mains.highest, PumpState::Running)? } else { on },
        );
        Ok(Case {
            zones: zones.clone(),
            off_pa: off.pressure_pa,
            on_pa: on.pressure_pa,
            off_highest_pa: highest_off.pressure_pa,
            on_highest_pa: highest_on.pressure_pa,
            flow_m3_per_s: on.flow_m3_per_s,
            relieved_m3_per_s: on.relieved_m3_per_s,
            needs_no_pump: lowest_off.is_enough == Some(true),
        })
    };
    zones.iter().zip(&valves).map(one).collect()
}

type Ranges = (Verdict, Option<Range>, Option<Range>);

/// The ranges that all bounds leave, with margins if that is possible.
fn ranges(bounds: &[Bound], differential_pa: f64) -> Ranges {
    let between = |value: &dyn Fn(&Bound) -> f64| -> Option<(Range, Range)> {
        let floor = |kind: BoundKind| bounds.iter().filter(|b| b.kind == kind).map(value).fold(0.0, f64::max);
        let cut_in_pa = floor(BoundKind::ZoneWithoutPump);
        let low_pa = floor(BoundKind::ZoneWithPump).max(cut_in_pa + differential_pa);
        let high_pa = bounds.iter().filter(|b| !b.is_lower()).map(value).fold(f64::INFINITY, f64::min);
        (low_pa < high_pa).then_some((Range { low_pa: cut_in_pa, high_pa: high_pa - differential_pa }, Range { low_pa, high_pa }))
    };
    if let Some((cut_in, cut_out)) = between(&Bound::kept_pa) {
        return (Verdict::Works, Some(cut_in), Some(cut_out));
    }
    match between(&|bound| bound.limit_pa) {
        Some((cut_in, cut_out)) => (Verdict::NoMargin, Some(cut_in), Some(cut_out)),
        None => (Verdict::DoesNotWork, None, None),
    }
}
