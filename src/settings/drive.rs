//! The set pressures of a variable-speed drive that work in every zone: not below what the heads need, not above what they bear, what the
//! pump reaches, relief settings and ratings.
//!
//! All pressures are those at the outlet of the pump, which the drive holds. The margins are those of `findings::limits`.

use super::bench::{AtRest, Pair};
use super::bounds::{Bound, BoundKind, of_parts};
use super::case::{Ask, Range};
use super::error::SettingsError;
use super::mains::Mains;
use super::make::zones_of;
use super::window::Verdict;
use super::words::zones_in_words;
use crate::findings::limits::{AT_LIMIT, GAUGE_MARGIN, SHUT_OFF_MARGIN};
use crate::garden::Garden;
use crate::hydraulics::{Network, Probe, ProbeKind, PumpState, RunError, run};
use crate::limits;
use crate::numeric::{End, narrow};
use crate::operation::OperationError;
use crate::parts::Id;
use crate::quantity::{PSI_PA, Preference, Quantity, Unit, UnitSystem, dim};
use std::fmt::Write;

/// Steps in which drives are set, Pa: 1 psi, or a tenth of a bar where pressures are written in metric units. Common practice, no source.
const STEPS_PA: (f64, f64) = (PSI_PA, 1e4);

/// The set pressure from which a zone is looked at, Pa: hardly any.
const HARDLY_ANY_PA: f64 = 1e3;

/// How near a pressure that heads just have is found, Pa.
const FOUND_WITHIN_PA: f64 = 10.0;

/// What is to be known of some zones that run at the same time; pressures at the outlet of the pump, Pa.
#[derive(Clone, Debug, PartialEq)]
pub struct DrivenZones {
    /// Names of the zones that run together.
    pub zones: Vec<String>,
    /// The least pressure at which all heads that say what they need have it; none where none says so.
    pub needs_pa: Option<f64>,
    /// The highest pressure at which no head is above its range; none where full speed brings none there.
    pub allows_pa: Option<f64>,
    /// The pressure at full speed, at the lowest pressure of the main.
    pub full_speed_pa: f64,
    /// The pressure without the pump, at the drive and at the highest pressure of the main.
    pub off_pa: f64,
    /// Whether a head has less than it needs without the pump, at the lowest pressure of the main.
    pub needs_pump: bool,
    /// With the suggested set pressure: flow through the pump, m3/s, its speed as a share of its own, and its electrical power, W, where known.
    pub suggested: Option<(f64, f64, Option<f64>)>,
}

impl DrivenZones {
    /// The zones in words.
    pub fn title(&self) -> String {
        if self.zones.is_empty() { "all open".into() } else { self.zones.join(" and ") }
    }
}

/// What sets an end of the range.
#[derive(Clone, Debug)]
pub enum DriveBound {
    /// Heads of zones need at least this pressure, Pa.
    Needs(Vec<String>, f64),
    /// The pump starts in zones that need it only where the set pressure is above this, Pa: the pressure without the pump and the start
    /// margin.
    Starts(Vec<String>, f64),
    /// Heads of zones are above their range beyond this pressure, Pa.
    Allows(Vec<String>, f64),
    /// The pump at full speed gives zones this pressure, Pa.
    FullSpeed(Vec<String>, f64),
    /// A relief valve or a rating.
    Part(Bound),
}

impl DriveBound {
    /// The pressure, and how far the set pressure keeps away from it, Pa.
    fn limit_and_margin_pa(&self, garden: &Garden) -> (f64, f64) {
        match self {
            DriveBound::Needs(_, limit_pa) | DriveBound::Starts(_, limit_pa) | DriveBound::Allows(_, limit_pa) => {
                (*limit_pa, GAUGE_MARGIN.of(garden))
            }
            DriveBound::FullSpeed(_, limit_pa) => (*limit_pa, SHUT_OFF_MARGIN.of(garden)),
            DriveBound::Part(bound) => (bound.limit_pa, bound.margin_pa),
        }
    }

    fn is_lower(&self) -> bool {
        matches!(self, DriveBound::Needs(..) | DriveBound::Starts(..))
    }
}

/// The set pressures of a drive that work.
#[derive(Clone, Debug)]
pub struct DriveWindow {
    /// The garden as it was given.
    pub garden: Garden,
    /// The drive, by its place in the garden.
    pub drive: usize,
    /// The booster that it drives, by its place in the garden.
    pub booster: usize,
    /// The lowest pressure of the main that was given, Pa; without one full speed is taken at the usual pressure.
    pub lowest_static_pa: Option<f64>,
    /// One entry for each set of zones that run together.
    pub zones: Vec<DrivenZones>,
    /// What sets the ends of the range.
    pub bounds: Vec<DriveBound>,
    /// How much room the bounds leave.
    pub verdict: Verdict,
    /// The range, with margins where it has them; none where no set pressure works.
    pub range: Option<Range>,
    /// The lowest set pressure of the range in the steps of a drive: it takes the least power.
    pub suggested: Option<Quantity>,
}

/// The set pressures of a drive that work in every zone. `ask` names the drive where there are several.
///
/// Errors: no drive, unknown zones, or no steady state in one of them.
pub fn drive_window(garden: &Garden, ask: &Ask) -> Result<DriveWindow, SettingsError> {
    let (drive, booster) = driven(garden, ask)?;
    let lowest_static_pa = ask.lowest_static_pa.or_else(|| Some(garden.lowest_static()?.si));
    let mains = Mains::of(garden, lowest_static_pa, ask.highest_static_pa)?;
    let pair = Pair { switch: booster, booster };
    let (all, masters) = zones_of(garden, pair, ask);
    let masters: Vec<&str> = masters.into_iter().map(|master| garden.name(master)).collect();
    let mut zones = Vec::with_capacity(all.len());
    for names in all {
        if limits::ended() {
            return Err(OperationError::Stopped.into());
        }
        zones.push(zone(&mains, (drive, booster), names, &masters)?);
    }
    let mut bounds: Vec<DriveBound> = Vec::new();
    for zone in &zones {
        bounds.extend(zone.needs_pa.map(|pa| DriveBound::Needs(zone.zones.clone(), pa)));
        if zone.needs_pump {
            let margin_pa = garden.parts()[drive].value(Id::StartMargin);
            bounds.push(DriveBound::Starts(zone.zones.clone(), zone.off_pa + margin_pa));
        }
        bounds.extend(zone.allows_pa.map(|pa| DriveBound::Allows(zone.zones.clone(), pa)));
        bounds.push(DriveBound::FullSpeed(zone.zones.clone(), zone.full_speed_pa));
    }
    let mut at_rest = AtRest::of(garden, pair)?;
    bounds.extend(of_parts(&mains.highest, pair, &mut at_rest)?.into_iter().map(DriveBound::Part));
    let (verdict, range) = range(garden, &bounds);
    let mut window =
        DriveWindow { garden: garden.clone(), drive, booster, lowest_static_pa, zones, bounds, verdict, range, suggested: None };
    window.suggested = window.suggestion();
    window.try_suggested(&masters)?;
    Ok(window)
}

/// The drive that is asked for, with its booster.
fn driven(garden: &Garden, ask: &Ask) -> Result<(usize, usize), SettingsError> {
    match &ask.switch {
        Some(name) => {
            let place = garden.find(name)?;
            let what = garden.spec(place).word;
            let booster = garden.layout().driven_by(place);
            booster.map(|booster| (place, booster)).ok_or(SettingsError::NotADrive { name: name.clone(), what })
        }
        None => garden.layout().drives.first().map(|drive| (drive.place, drive.booster)).ok_or(SettingsError::NoDrive),
    }
}

/// Some zones open, with the drive at any set pressure.
struct Opened<'a> {
    garden: &'a Garden,
    network: Network,
    drive: usize,
    booster: usize,
    /// Heads that water can reach, each with its range, Pa.
    heads: Vec<(usize, Option<f64>, Option<f64>)>,
}

impl<'a> Opened<'a> {
    fn of(garden: &'a Garden, (drive, booster): (usize, usize), open: &[&str]) -> Result<Opened<'a>, SettingsError> {
        let mut network = Network::new(garden, &garden.opened(open)?)?;
        // Any set pressure is tried, also one below the start margin, which has no effect on what is held.
        network.set(drive, Id::StartMargin, 0.5 * HARDLY_ANY_PA)?;
        let waters = garden.of_spec(|spec| spec.traits.waters).filter(|&place| network.carries(place));
        let range = |place: usize| (place, garden.parts()[place].si(Id::RangeLow), garden.parts()[place].si(Id::RangeHigh));
        let heads = waters.map(range).collect();
        Ok(Opened { garden, network, drive, booster, heads })
    }

    fn solve(&mut self, pump: PumpState) -> Result<f64, SettingsError> {
        self.network.run_pump(self.booster, pump);
        self.network.solve().map_err(|error| RunError::from(error.named(self.garden)))?;
        Ok(self.network.probe(&Probe { place: self.booster, kind: ProbeKind::Pressure }))
    }

    /// The pressure at the drive without the pump, Pa.
    fn off_pa(&mut self) -> Result<f64, SettingsError> {
        self.solve(PumpState::Off)?;
        Ok(self.network.probe(&Probe { place: self.drive, kind: ProbeKind::Pressure }))
    }

    /// By how much the head that is worst off is above what it needs, and below the highest that it bears, in the state just solved, Pa;
    /// infinite where no head says so.
    fn rooms_pa(&mut self) -> (f64, f64) {
        let felt_pa = self.network.pressures_pa(self.heads.iter().map(|head| head.0));
        let mut rooms = (f64::INFINITY, f64::INFINITY);
        for (&(_, low, high), felt_pa) in self.heads.iter().zip(felt_pa) {
            let felt_pa = if felt_pa.is_nan() { 0.0 } else { felt_pa };
            rooms.0 = low.map_or(rooms.0, |low_pa| rooms.0.min(felt_pa - low_pa));
            rooms.1 = high.map_or(rooms.1, |high_pa| rooms.1.min(high_pa - felt_pa));
        }
        rooms
    }

    fn rooms_at_pa(&mut self, set_pa: f64) -> Result<(f64, f64), SettingsError> {
        self.network.set(self.drive, Id::Set, set_pa)?;
        self.solve(PumpState::Running)?;
        Ok(self.rooms_pa())
    }
}

/// What is to be known of some zones. A drive that holds less than comes from the main counts as a regulator here: whether the pump helps at
/// all shows in the pressure without it.
fn zone(mains: &Mains, pair: (usize, usize), zones: Vec<String>, masters: &[&str]) -> Result<DrivenZones, SettingsError> {
    let garden = &mains.usual;
    let open: Vec<&str> = zones.iter().map(String::as_str).chain(masters.iter().copied()).collect();
    let mut lowest = Opened::of(&mains.lowest, pair, &open)?;
    let full_speed_pa = lowest.solve(PumpState::FullSpeed)?;
    lowest.solve(PumpState::Off)?;
    let needs_pump = lowest.rooms_pa().0 < 0.0;
    let off_pa = Opened::of(&mains.highest, pair, &open)?.off_pa()?;
    let mut opened = Opened::of(garden, pair, &open)?;
    let full_pa = opened.solve(PumpState::FullSpeed)?;
    if full_pa.is_nan() || full_speed_pa.is_nan() {
        let zones = zones_in_words(&zones);
        return Err(SettingsError::NotReached { name: garden.name(pair.0).into(), zones: format!("{zones} open") });
    }
    let (above_low, below_high) = opened.rooms_pa();
    let has_low = opened.heads.iter().any(|head| head.1.is_some());
    let low = HARDLY_ANY_PA;
    let (least, most) = opened.rooms_at_pa(low)?;
    let needs_pa = match above_low {
        _ if !has_low => None,
        short if short < 0.0 => Some(f64::INFINITY),
        _ if least >= 0.0 => Some(low),
        _ => {
            let ends = (End { x: low, value: -least }, End { x: full_pa, value: -above_low });
            Some(narrow(ends.0, ends.1, FOUND_WITHIN_PA, |set_pa| Ok::<f64, SettingsError>(-opened.rooms_at_pa(set_pa)?.0))?.1.x)
        }
    };
    let allows_pa = match below_high {
        room if room > 0.0 => None,
        _ if most <= 0.0 => Some(low),
        _ => {
            let ends = (End { x: low, value: most }, End { x: full_pa, value: below_high });
            Some(narrow(ends.0, ends.1, FOUND_WITHIN_PA, |set_pa| Ok::<f64, SettingsError>(opened.rooms_at_pa(set_pa)?.1))?.0.x)
        }
    };
    Ok(DrivenZones { zones, needs_pa, allows_pa, full_speed_pa, off_pa, needs_pump, suggested: None })
}

/// The range that all bounds leave, with margins if that is possible.
fn range(garden: &Garden, bounds: &[DriveBound]) -> (Verdict, Option<Range>) {
    let between = |margins: f64| {
        let of = |lower: bool| {
            bounds.iter().filter(move |bound| bound.is_lower() == lower).map(|bound| bound.limit_and_margin_pa(garden))
        };
        let low_pa = of(true).map(|(limit_pa, margin_pa)| limit_pa + margins * margin_pa).fold(0.0, f64::max);
        let high_pa = of(false).map(|(limit_pa, margin_pa)| limit_pa - margins * margin_pa).fold(f64::INFINITY, f64::min);
        (low_pa <= high_pa).then_some(Range { low_pa, high_pa })
    };
    match (between(1.0), between(0.0)) {
        (Some(range), _) => (Verdict::Works, Some(range)),
        (None, Some(range)) => (Verdict::NoMargin, Some(range)),
        (None, None) => (Verdict::DoesNotWork, None),
    }
}

impl DriveWindow {
    fn preference(&self) -> Preference {
        let own = || self.garden.units().preference(dim::PRESSURE);
        self.garden.parts()[self.drive].get(Id::Set).map_or_else(|_| own(), |set| set.preference)
    }

    /// A pressure in the unit in which the set pressure is given.
    pub fn pressure(&self, si: f64) -> Quantity {
        Quantity { si, dimension: dim::PRESSURE, preference: self.preference() }
    }

    /// The garden with the suggested set pressure; none where there is none.
    pub fn settled_garden(&self) -> Option<Garden> {
        self.garden.with(&format!("{}.{}", self.garden.name(self.drive), Id::Set), self.suggested?).ok()
    }

    /// The lowest pressure of the range in steps of a drive, and above the pressure that the heads need; in a range of no step its lower end.
    fn suggestion(&self) -> Option<Quantity> {
        let Range { low_pa, high_pa } = self.range?;
        let step_pa = if self.preference().unit().is_some_and(Unit::is_metric) { STEPS_PA.1 } else { STEPS_PA.0 };
        // Where no head says what it needs, only the highest is known.
        if low_pa <= 0.0 {
            return None;
        }
        let stepped_pa = (low_pa / step_pa - AT_LIMIT).ceil() * step_pa;
        Some(self.pressure(if stepped_pa <= high_pa { stepped_pa } else { low_pa }))
    }

    /// Runs each zone with the suggested set pressure.
    fn try_suggested(&mut self, masters: &[&str]) -> Result<(), SettingsError> {
        let Some(garden) = self.settled_garden() else { return Ok(()) };
        for zone in &mut self.zones {
            let open: Vec<&str> = zone.zones.iter().map(String::as_str).chain(masters.iter().copied()).collect();
            let solution = run(&garden, &open)?;
            let flow_m3_per_s = solution.parts[self.booster].flow_m3_per_s;
            let power_w = solution.electric_power_w(self.booster);
            zone.suggested = Some((flow_m3_per_s, solution.share_of_speed(self.booster), power_w));
        }
        Ok(())
    }

    /// The window as a card of a few lines.
    pub fn card(&self, system: UnitSystem) -> String {
        let system = system.or_own(self.garden.units());
        let show = |si: f64| self.pressure(si).show(system);
        let (drive, pump) = (self.garden.name(self.drive), self.garden.name(self.booster));
        let mut text = format!("Set pressure of drive '{drive}', held at the outlet of booster '{pump}'");
        let width = self.zones.iter().map(|zone| zone.title().chars().count()).max().unwrap_or(0);
        for zone in &self.zones {
            let _ = write!(text, "\n  {:<width$}  {} at full speed", zone.title(), show(zone.full_speed_pa));
            match zone.needs_pa {
                Some(needs_pa) if needs_pa.is_infinite() => text.push_str(", less than its heads need"),
                Some(needs_pa) => {
                    let _ = write!(text, ", {} for its heads", show(needs_pa));
                }
                None => text.push_str(", no head says what it needs"),
            }
            if zone.needs_pa.is_some() && !zone.needs_pump {
                text.push_str(", which the main gives alone");
            }
        }
        match self.range {
            Some(Range { low_pa, high_pa }) => {
                let note = if self.verdict == Verdict::NoMargin { ", without the usual margins" } else { "" };
                let _ = write!(text, "\nThe set pressure may be {} to {}{note}.", show(low_pa), show(high_pa));
            }
            None => text.push_str("\nNo set pressure works in all zones."),
        }
        for (end, bound) in [("lowest ", self.end(true)), ("highest", self.end(false))] {
            let _ = bound.map_or(Ok(()), |bound| write!(text, "\n  {end}  {}", self.words(bound, system)));
        }
        if let Some(suggested) = self.suggested {
            let _ = write!(text, "\nThe lowest takes the least power: {}.", suggested.show(system));
            for zone in &self.zones {
                text.push_str(&self.suggested_words(zone, width, system));
            }
        }
        if self.lowest_static_pa.is_none() {
            text.push_str("\nThe lowest main pressure is not given: full speed is taken at its static pressure.");
        }
        text
    }

    fn suggested_words(&self, zone: &DrivenZones, width: usize, system: UnitSystem) -> String {
        let Some((_, speed, power_w)) = zone.suggested else { return String::new() };
        if speed == 0.0 {
            return format!("\n  {:<width$}  the pump stays off", zone.title());
        }
        let power =
            power_w.map_or(String::new(), |power_w| format!(", {}", self.garden.quantity(power_w, dim::POWER).show(system)));
        format!("\n  {:<width$}  {:.0}% of full speed{power}", zone.title(), 100.0 * speed)
    }

    /// The bound that sets an end of the range.
    pub fn end(&self, lower: bool) -> Option<&DriveBound> {
        let kept_pa = |bound: &DriveBound| {
            let (limit_pa, margin_pa) = bound.limit_and_margin_pa(&self.garden);
            if lower { -(limit_pa + margin_pa) } else { limit_pa - margin_pa }
        };
        self.bounds.iter().filter(|bound| bound.is_lower() == lower).min_by(|a, b| kept_pa(a).total_cmp(&kept_pa(b)))
    }

    /// A bound in words: the pressure, what it comes from, and the margin.
    pub fn words(&self, bound: &DriveBound, system: UnitSystem) -> String {
        let show = |si: f64| self.pressure(si).show(system);
        let (limit_pa, margin_pa) = bound.limit_and_margin_pa(&self.garden);
        let (limit, margin) = (show(limit_pa), show(margin_pa));
        match bound {
            DriveBound::Needs(zones, _) if limit_pa.is_infinite() => {
                format!("heads of {} need more than full speed gives", zones_in_words(zones))
            }
            DriveBound::Needs(zones, _) => format!("{limit} for the heads of {}, and {margin} of margin", zones_in_words(zones)),
            DriveBound::Starts(zones, _) => {
                format!("{limit} so that the pump starts with {}, and {margin} of margin", zones_in_words(zones))
            }
            DriveBound::Allows(zones, _) => {
                format!("{limit} where a head of {} is above its range, less {margin} of margin", zones_in_words(zones))
            }
            DriveBound::FullSpeed(zones, _) => {
                format!("{limit} at full speed with {} open, less {margin} of margin", zones_in_words(zones))
            }
            DriveBound::Part(bound) => {
                let part = bound.place.map_or_else(String::new, |place| crate::findings::title(&self.garden, place));
                let own = bound.own.map_or(limit, |own| own.show(system));
                let what = if bound.kind == BoundKind::Relief { "set at" } else { "rated" };
                format!("{part} {what} {own}, less {margin} of margin")
            }
        }
    }
}
