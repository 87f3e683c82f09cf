//! The window of a pressure switch: which cut-in and cut-out let the pump start in every zone, stay on, and stop.
//!
//! Cut-in must lie above the pressure of every zone without the pump, cut-out above that with the pump, both at the highest
//! pressure of the main; cut-out below the pressure at shut-off at the lowest pressure of the main, relief settings and ratings.
//! The margins are those of `findings::limits`.

use super::bench::{AtRest, OpenZones, Pair};
use super::bounds::{Bound, Kind, bounds};
use super::error::SettingsError;
use super::mains::{Mains, with_main};
use super::open::{Opener, remedies};
use super::suggest::{Suggestion, scale, suggestion};
use crate::findings::limits::GAUGE_MARGIN_PA;
use crate::garden::walk::{Way, reached};
use crate::garden::{Garden, GardenError, Sections};
use crate::hydraulics::{Drive, Network, PumpState, booster_of};
use crate::limits;
use crate::numeric::seek;
use crate::operation::OperationError;
use crate::parts::Id;
use crate::quantity::{Preference, Quantity, dim};
use std::collections::HashMap;

/// What is asked of a window.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ask {
    /// Name of the switch; the first one unless said.
    pub switch: Option<String>,
    /// Zones that run at the same time, one list each; every valve behind the pump alone unless said.
    pub zones: Vec<Vec<String>>,
    /// The highest pressure of the main, as at night, Pa; that of the supply by default.
    pub highest_static_pa: Option<f64>,
    /// The lowest pressure of the main, as on a hot evening, Pa; that of the supply by default.
    pub lowest_static_pa: Option<f64>,
    /// Least difference between cut-in and cut-out, Pa; that of usual switches by default (15 psi, or 1 bar).
    pub differential_pa: Option<f64>,
    /// Widest difference between cut-in and cut-out, Pa; that of usual switches by default (30 psi, or 2 bar).
    pub widest_pa: Option<f64>,
}

/// What the switch feels while some zones run, Pa.
#[derive(Clone, Debug, PartialEq)]
pub struct Case {
    /// Names of the zones that run together.
    pub zones: Vec<String>,
    /// Without the pump, at the usual street pressure.
    pub off_pa: f64,
    /// With the pump, at the usual street pressure.
    pub on_pa: f64,
    /// Without the pump, at the highest street pressure.
    pub off_highest_pa: f64,
    /// With the pump, at the highest street pressure.
    pub on_highest_pa: f64,
    /// Flow through the pump while it runs, m3/s.
    pub flow_m3_per_s: f64,
    /// What relief valves let go meanwhile, m3/s.
    pub relieved_m3_per_s: f64,
    /// Whether heads that say what they need have it without the pump, also at the lowest pressure of the main.
    pub needs_no_pump: bool,
}

/// A range of a setting, Pa.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    /// The least setting, Pa.
    pub low_pa: f64,
    /// The greatest setting, Pa.
    pub high_pa: f64,
}

/// How much room there is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// There is a range that keeps all margins.
    Works,
    /// There is a range, but only without the margins.
    NoMargin,
    /// No setting works.
    DoesNotWork,
}

impl Verdict {
    /// The verdict in a word.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Works => "works",
            Verdict::NoMargin => "works, no margin",
            Verdict::DoesNotWork => "does not work",
        }
    }
}

/// What a pump does when its switch never stops it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Settled {
    pub pressure_pa: f64,
    /// Flow through relief valves and leaks meanwhile, m3/s.
    pub flow_m3_per_s: f64,
}

/// The window of a switch.
#[derive(Clone, Debug)]
pub struct Window {
    /// The garden as it was given.
    pub garden: Garden,
    /// What was asked for.
    pub ask: Ask,
    /// The switch, by its place in the garden.
    pub switch: usize,
    /// The booster that it drives, by its place in the garden.
    pub booster: usize,
    /// Least difference between cut-in and cut-out, Pa.
    pub differential_pa: f64,
    /// Widest difference between cut-in and cut-out, Pa; never below the least.
    pub widest_pa: f64,
    /// What the switch feels, one entry for each set of zones that run together.
    pub cases: Vec<Case>,
    /// At the switch with the pump off and all outlets closed, at the usual pressure of the main, Pa.
    pub rest_pa: f64,
    /// The same at the highest pressure of the main, Pa.
    pub rest_highest_pa: f64,
    /// At the switch with the pump at shut-off, at the lowest pressure of the main, Pa.
    pub dead_head_lowest_pa: f64,
    /// The same at the usual pressure of the main, Pa.
    pub dead_head_pa: f64,
    /// The same at the highest pressure of the main, Pa.
    pub dead_head_highest_pa: f64,
    /// Where the pump settles against shut outlets with relief valves and leaks doing their work.
    pub settled: Settled,
    /// What bounds cut-in and cut-out, from zones, the pump, relief valves and ratings.
    pub bounds: Vec<Bound>,
    /// How much room the bounds leave.
    pub verdict: Verdict,
    /// With margins where the window is open, without where it is narrow; nothing where it is shut.
    pub cut_in: Option<Range>,
    /// Cut-out pressures that work; as for cut-in.
    pub cut_out: Option<Range>,
    /// Settings on the scale of a switch that work, those that keep all margins first.
    pub suggestion: Option<Suggestion>,
    /// What would open a window that is not open, found by trying.
    pub remedies: Vec<Opener>,
}

/// The window of a switch. Errors: no switch or booster, unknown zones, or no steady state in one of them.
pub fn switch_window(garden: &Garden, ask: &Ask) -> Result<Window, SettingsError> {
    let mut window = of(garden, ask, &[])?;
    if !window.is_sound() {
        window.remedies = remedies(&window);
    }
    Ok(window)
}

/// The window without a search for what would open it. `known` are cases of the same garden that were worked out before.
pub(super) fn of(garden: &Garden, ask: &Ask, known: &[Case]) -> Result<Window, SettingsError> {
    let pair = pair_of(garden, ask)?;
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

impl Window {
    /// The bound from above that holds cut-out lowest; always there, since a pump has a dead head.
    pub fn lowest_ceiling(&self) -> Option<&Bound> {
        let ceilings = self.bounds.iter().filter(|bound| !bound.is_lower());
        ceilings.min_by(|a, b| a.kept_pa().total_cmp(&b.kept_pa()))
    }

    /// The zone that pushes a setting highest.
    pub fn highest_floor(&self, kind: Kind) -> Option<&Bound> {
        let floors = self.bounds.iter().filter(|bound| bound.kind == kind);
        floors.max_by(|a, b| a.kept_pa().total_cmp(&b.kept_pa()))
    }

    /// The least cut-out that keeps the margins from below, Pa: above the zones, and far enough above cut-in.
    pub fn least_cut_out_pa(&self) -> f64 {
        let floor = |kind: Kind| self.highest_floor(kind).map_or(0.0, Bound::kept_pa);
        floor(Kind::ZoneWithPump).max(floor(Kind::ZoneWithoutPump) + self.differential_pa)
    }

    /// True where settings that can be bought keep all margins.
    pub fn is_sound(&self) -> bool {
        self.suggestion.is_some_and(|suggestion| suggestion.keeps_margins)
    }

    /// The cases that leave room between their own pressures and what bounds cut-out from above, and those that do not. Cases
    /// that do so one by one do so together, for each adds a bound from below of its own.
    pub fn works_and_fails(&self) -> (Vec<&Case>, Vec<&Case>) {
        let ceiling_pa = self.lowest_ceiling().map_or(f64::NAN, Bound::kept_pa);
        let least_pa = |case: &Case| {
            (case.on_highest_pa + GAUGE_MARGIN_PA).max(case.off_highest_pa + GAUGE_MARGIN_PA + self.differential_pa)
        };
        self.cases.iter().partition(|case| least_pa(case) <= ceiling_pa)
    }

    /// The pressure to which the main may fall before a pump that starts no longer reaches this cut-out, Pa; nothing where it
    /// reaches it whatever the main does, or never. Errors: no steady state.
    pub fn stops_down_to_pa(&self, cut_out_pa: f64) -> Result<Option<f64>, SettingsError> {
        const TOLERANCE_PA: f64 = 10.0;
        let pair = Pair { switch: self.switch, booster: self.booster };
        let supplies = self.garden.supplies();
        let Some(usual_pa) = supplies.filter_map(|supply| self.garden.parts()[supply].si(Id::StaticPressure)).reduce(f64::max)
        else {
            return Ok(None);
        };
        let mut at_rest = AtRest::of(&self.garden, pair)?;
        let mut above = |main_pa: f64| -> Result<f64, SettingsError> {
            // All supplies fall by the same.
            let fallen = with_main(&self.garden, |own_pa| (own_pa - usual_pa + main_pa).max(TOLERANCE_PA))?;
            Ok(at_rest.at_switch_pa(&fallen, Drive::Full)? - cut_out_pa)
        };
        if above(usual_pa)? < 0.0 || above(TOLERANCE_PA)? >= 0.0 {
            return Ok(None);
        }
        Ok(seek(TOLERANCE_PA, usual_pa, TOLERANCE_PA, above).ok().map(|sought| sought.x))
    }

    /// The garden with the suggested settings given to its switch; nothing where there are none.
    pub fn settled_garden(&self) -> Option<Garden> {
        let Suggestion { cut_in, cut_out, .. } = self.suggestion?;
        let name = self.garden.name(self.switch);
        let part = (*self.garden.parts()[self.switch]).clone().with(&[(Id::CutIn, cut_in), (Id::CutOut, cut_out)]).ok()?;
        self.garden.replace(name, &part).ok()
    }

    /// A pressure in the unit of the switch's settings.
    pub fn pressure(&self, si: f64) -> Quantity {
        Quantity { si, dimension: dim::PRESSURE, preference: preference(&self.garden, self.switch) }
    }
}

pub(super) fn preference(garden: &Garden, switch: usize) -> Preference {
    let own = || garden.units().preference(dim::PRESSURE);
    garden.parts()[switch].get(Id::CutIn).map_or_else(|_| own(), |cut_in| cut_in.preference)
}

fn pair_of(garden: &Garden, ask: &Ask) -> Result<Pair, SettingsError> {
    let switch = match &ask.switch {
        Some(name) => garden.find(name)?,
        None => garden.switches().next().ok_or(SettingsError::NoSwitch)?,
    };
    let part = &garden.parts()[switch];
    let name = garden.name(switch).to_string();
    if !part.traits().switches {
        return Err(SettingsError::NotASwitch { name, word: part.spec().word });
    }
    let booster = booster_of(garden, switch).ok_or(SettingsError::NoBooster { name })?;
    Ok(Pair { switch, booster })
}

/// The zones that are asked for, or every valve behind the pump alone, and the valves before the pump, which stand open in all
/// of them.
fn zones_of(garden: &Garden, pair: Pair, ask: &Ask) -> (Vec<Vec<String>>, Vec<usize>) {
    let places = &garden.layout().places;
    let before = reached(garden, places[pair.booster].from, |_, way| way == Way::Up);
    let valves: Vec<usize> = garden.valves().collect();
    let (masters, behind): (Vec<usize>, Vec<usize>) = valves.into_iter().partition(|&place| before[places[place].to]);
    let each: Vec<Vec<String>> = behind.into_iter().map(|place| vec![garden.name(place).to_string()]).collect();
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
        let floor = |kind: Kind| bounds.iter().filter(|b| b.kind == kind).map(value).fold(0.0, f64::max);
        let cut_in_pa = floor(Kind::ZoneWithoutPump);
        let low_pa = floor(Kind::ZoneWithPump).max(cut_in_pa + differential_pa);
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
