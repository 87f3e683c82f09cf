//! The window of a pressure switch: which cut-in and cut-out let the pump start in every zone, stay on, and stop.
//!
//! Cut-in must lie above the pressure of every zone without the pump, cut-out above that with the pump, and below the
//! pressure against shut valves, relief settings and ratings. The margins are those of `findings::limits`.

use super::bench::{Outlets, Pair, Push, Rest, with_zones};
use super::bounds::{Bound, Kind, bounds, under};
use super::error::SettingsError;
use super::open::{Opener, openers};
use crate::findings::limits::GAUGE_MARGIN_PA;
use crate::findings::reach::{Way, reached};
use crate::garden::Garden;
use crate::hydraulics::{PumpState, booster_of};
use crate::parts::Kind as PartKind;
use crate::quantity::{Preference, Quantity, Unit, dim};

const PSI_PA: f64 = 6_894.757_293_168;

/// Least difference between cut-in and cut-out that usual switches can be set to, Pa: 15 psi (20 psi is how they are sold).
/// Common practice, from memory.
pub const LEAST_DIFFERENTIAL_PA: f64 = 15.0 * PSI_PA;

/// What is asked of a window.
#[derive(Clone, Debug, PartialEq)]
pub struct Ask {
    /// Name of the switch; the first one unless said.
    pub switch: Option<String>,
    /// Zones that run at the same time, one list each; every valve behind the pump alone unless said.
    pub zones: Vec<Vec<String>>,
    /// The highest pressure of the street, as at night, Pa; that of the supply unless said.
    pub highest_static_pa: Option<f64>,
    /// Least difference between cut-in and cut-out, Pa. Default: 15 psi.
    pub differential_pa: f64,
}

impl Default for Ask {
    fn default() -> Ask {
        Ask { switch: None, zones: Vec::new(), highest_static_pa: None, differential_pa: LEAST_DIFFERENTIAL_PA }
    }
}

/// What the switch feels while some zones run, Pa.
#[derive(Clone, Debug, PartialEq)]
pub struct Case {
    pub zones: Vec<String>,
    /// Without and with the pump, at the usual street pressure.
    pub off_pa: f64,
    pub on_pa: f64,
    /// Without and with the pump, at the highest street pressure.
    pub off_highest_pa: f64,
    pub on_highest_pa: f64,
    /// Flow through the pump while it runs, m3/s.
    pub flow_m3_per_s: f64,
    /// What relief valves let go meanwhile, m3/s.
    pub relieved_m3_per_s: f64,
}

/// A range of a setting, Pa.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Range {
    pub low_pa: f64,
    pub high_pa: f64,
}

/// How much room there is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// There is a range that keeps all margins.
    Open,
    /// There is a range, but only without the margins.
    Narrow,
    /// No setting works.
    Shut,
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
    pub garden: Garden,
    pub ask: Ask,
    pub switch: usize,
    pub booster: usize,
    pub cases: Vec<Case>,
    /// At the switch with the pump off and all outlets shut, usual and highest street pressure, Pa.
    pub rest_pa: f64,
    pub rest_highest_pa: f64,
    /// At the switch with the pump running against shut outlets, usual and highest street pressure, Pa.
    pub dead_head_pa: f64,
    pub dead_head_highest_pa: f64,
    /// Where the pump settles against shut outlets with relief valves and leaks doing their work.
    pub settled: Settled,
    pub bounds: Vec<Bound>,
    pub verdict: Verdict,
    /// With margins where the window is open, without where it is narrow; nothing where it is shut.
    pub cut_in: Option<Range>,
    pub cut_out: Option<Range>,
    /// Round settings inside the window: cut-in and cut-out.
    pub suggestion: Option<(Quantity, Quantity)>,
    /// What would open a window that is not open, found by trying.
    pub openers: Vec<Opener>,
}

/// The window of a switch. Errors: no switch or booster, unknown zones, or no steady state in one of them.
pub fn switch_window(garden: &Garden, ask: &Ask) -> Result<Window, SettingsError> {
    let mut window = of(garden, ask)?;
    if window.verdict != Verdict::Open {
        window.openers = openers(&window);
    }
    Ok(window)
}

/// The window without a search for what would open it.
pub(super) fn of(garden: &Garden, ask: &Ask) -> Result<Window, SettingsError> {
    let pair = pair_of(garden, ask)?;
    let highest = ask.highest_static_pa.map_or(Ok(garden.clone()), |pressure_pa| under(garden, pressure_pa))?;
    let cases = cases(garden, &highest, pair, ask)?;
    let bounds = bounds(garden, &highest, pair, &cases)?;
    let rest =
        |garden: &Garden, push: Push| Ok::<f64, SettingsError>(Rest::of(garden, pair, Outlets::Plugged, push)?.felt.pressure_pa);
    let relieved = Rest::of(garden, pair, Outlets::Relieved, Push::Share(1.0))?.felt;
    let (verdict, cut_in, cut_out) = ranges(&bounds, ask.differential_pa);
    let mut window = Window {
        garden: garden.clone(),
        ask: ask.clone(),
        switch: pair.switch,
        booster: pair.booster,
        cases,
        rest_pa: rest(garden, Push::Off)?,
        rest_highest_pa: rest(&highest, Push::Off)?,
        dead_head_pa: rest(garden, Push::Share(1.0))?,
        dead_head_highest_pa: rest(&highest, Push::Share(1.0))?,
        settled: Settled { pressure_pa: relieved.pressure_pa, flow_m3_per_s: relieved.flow_m3_per_s.max(0.0) },
        bounds,
        verdict,
        cut_in,
        cut_out,
        suggestion: None,
        openers: Vec::new(),
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
        floor(Kind::ZoneWithPump).max(floor(Kind::ZoneWithoutPump) + self.ask.differential_pa)
    }

    /// The garden with the round settings given to its switch; nothing where there are none.
    pub fn settled_garden(&self) -> Option<Garden> {
        let (cut_in, cut_out) = self.suggestion?;
        let name = self.garden.name(self.switch);
        let part = (*self.garden.parts()[self.switch]).clone().with(&[("cut_in", cut_in), ("cut_out", cut_out)]).ok()?;
        self.garden.but_part(name, &part).ok()
    }

    /// A pressure in the unit of the switch's settings.
    pub fn pressure(&self, si: f64) -> Quantity {
        Quantity { si, dimension: dim::PRESSURE, preference: preference(&self.garden, self.switch) }
    }
}

pub(super) fn preference(garden: &Garden, switch: usize) -> Preference {
    garden.parts()[switch].get("cut_in").map_or(Preference::Usual, |cut_in| cut_in.preference)
}

fn pair_of(garden: &Garden, ask: &Ask) -> Result<Pair, SettingsError> {
    let switch = match &ask.switch {
        Some(name) => garden.find(name)?,
        None => garden.of_kind(PartKind::PressureSwitch).next().ok_or(SettingsError::NoSwitch)?,
    };
    let part = &garden.parts()[switch];
    let name = garden.name(switch).to_string();
    if part.kind() != PartKind::PressureSwitch {
        return Err(SettingsError::NotASwitch { name, word: part.spec().word });
    }
    let booster = booster_of(garden, switch).ok_or(SettingsError::NoBooster { name })?;
    Ok(Pair { switch, booster })
}

/// The zones that are asked for, or every valve behind the pump alone; valves before the pump stand open in all of them.
fn zones_of(garden: &Garden, pair: Pair, ask: &Ask) -> (Vec<Vec<String>>, Vec<String>) {
    let places = &garden.layout().places;
    let before = reached(garden, places[pair.booster].from, |_, way| way == Way::Up);
    let valves: Vec<usize> = garden.of_kind(PartKind::Valve).collect();
    let name = |&place: &usize| garden.name(place).to_string();
    let masters = valves.iter().filter(|&&place| before[places[place].to]).map(name).collect();
    let each: Vec<Vec<String>> =
        valves.iter().filter(|&&place| !before[places[place].to]).map(|place| vec![name(place)]).collect();
    let zones = match (ask.zones.is_empty(), each.is_empty()) {
        (false, _) => ask.zones.clone(),
        (true, true) => vec![Vec::new()],
        (true, false) => each,
    };
    (zones, masters)
}

fn cases(garden: &Garden, highest: &Garden, pair: Pair, ask: &Ask) -> Result<Vec<Case>, SettingsError> {
    let (zones, masters) = zones_of(garden, pair, ask);
    let one = |zones: &Vec<String>| -> Result<Case, SettingsError> {
        let mut open = zones.clone();
        open.extend(masters.iter().filter(|master| !zones.contains(master)).cloned());
        let felt = |garden: &Garden, pump| with_zones(garden, pair, &open, pump);
        let (off, on) = (felt(garden, PumpState::Off)?, felt(garden, PumpState::Running)?);
        if off.pressure_pa.is_nan() || on.pressure_pa.is_nan() {
            let zones = if zones.is_empty() { "everything open".into() } else { format!("{} open", zones.join(" and ")) };
            return Err(SettingsError::NotReached { name: garden.name(pair.switch).into(), zones });
        }
        Ok(Case {
            zones: zones.clone(),
            off_pa: off.pressure_pa,
            on_pa: on.pressure_pa,
            off_highest_pa: felt(highest, PumpState::Off)?.pressure_pa,
            on_highest_pa: felt(highest, PumpState::Running)?.pressure_pa,
            flow_m3_per_s: on.flow_m3_per_s,
            relieved_m3_per_s: on.relieved_m3_per_s,
        })
    };
    zones.iter().map(one).collect()
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
        return (Verdict::Open, Some(cut_in), Some(cut_out));
    }
    match between(&|bound| bound.limit_pa) {
        Some((cut_in, cut_out)) => (Verdict::Narrow, Some(cut_in), Some(cut_out)),
        None => (Verdict::Shut, None, None),
    }
}

/// Steps of round settings, coarse first, Pa: 5, 1 and 0.5 psi, or 0.5, 0.1 and 0.05 bar.
pub(super) fn round_steps_pa(preference: Preference) -> [f64; 3] {
    if preference.unit().is_some_and(Unit::is_metric) { [5e4, 1e4, 5e3] } else { [5.0 * PSI_PA, PSI_PA, 0.5 * PSI_PA] }
}

/// The lowest round cut-in, so that the garden is quiet at rest and a tank gives much water between two starts, and with it
/// a cut-out in the middle of what is left.
///
/// A cut-in near the pressure at rest leaves it to chance whether the pump starts: one that lies clear below it comes
/// first, then one a little below, then one clear above.
fn suggestion(window: &Window) -> Option<(Quantity, Quantity)> {
    let (cut_in, cut_out) = (window.cut_in?, window.cut_out?);
    let rest_pa = window.rest_pa;
    let places = [
        f64::NEG_INFINITY..rest_pa - GAUGE_MARGIN_PA,
        f64::NEG_INFINITY..rest_pa - PSI_PA,
        rest_pa + GAUGE_MARGIN_PA..f64::INFINITY,
        f64::NEG_INFINITY..f64::INFINITY,
    ];
    let rounded = |step_pa: f64, place: &std::ops::Range<f64>| -> Option<(f64, f64)> {
        let least_pa = cut_in.low_pa.max(place.start);
        let start_pa = (least_pa / step_pa - 1e-9).ceil() * step_pa;
        if start_pa > place.end + 1e-6 * step_pa {
            return None;
        }
        let low_pa = cut_out.low_pa.max(start_pa + window.ask.differential_pa);
        let middle_pa = (0.5 * (low_pa + cut_out.high_pa) / step_pa).round() * step_pa;
        let within = |pressure_pa: f64| (low_pa..=cut_out.high_pa).contains(&pressure_pa);
        let stop_pa = [middle_pa, middle_pa - step_pa, middle_pa + step_pa].into_iter().find(|&p| within(p))?;
        Some((start_pa, stop_pa))
    };
    let steps = round_steps_pa(preference(&window.garden, window.switch));
    let tries = places.iter().flat_map(|place| steps.iter().map(move |&step_pa| (step_pa, place)));
    let (start_pa, stop_pa) = tries.into_iter().find_map(|(step_pa, place)| rounded(step_pa, place))?;
    Some((window.pressure(start_pa), window.pressure(stop_pa)))
}
