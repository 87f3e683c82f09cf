//! The window in words: what the switch reads, what is left for cut-in and cut-out, what sets the ends, what would help.

use super::bounds::{Bound, BoundKind};
use super::case::{Case, Range};
use super::scale::{Suggestion, scale};
use super::window::{Verdict, Window, preference};
use super::words::zones_in_words;
use crate::findings::limits::GAUGE_MARGIN;
use crate::findings::phrase::{Limit, Phrase};
use crate::findings::title;
use crate::quantity::{Quantity, UnitSystem};
use std::fmt::Write;

impl Window {
    /// The window as a card of a few lines.
    pub fn card(&self, system: UnitSystem) -> String {
        let system = system.or_own(self.garden.units());
        let show = |si: f64| self.pressure(si).show(system);
        let (switch, pump) = (self.garden.name(self.switch), self.garden.name(self.booster));
        let mut text = format!("Settings for pressure switch '{switch}' and booster '{pump}'; the switch reads");
        let width = self.cases.iter().map(|case| case.title().chars().count()).max().unwrap_or(0).max(20);
        for case in &self.cases {
            let (off, on) = (show(case.off_highest_pa), show(case.on_highest_pa));
            let _ = write!(text, "\n  {:<width$}  {off} without the pump, {on} with it", case.title());
        }
        let highest = if self.ask.highest_static_pa.is_some() { " at the highest main pressure" } else { "" };
        let _ = write!(text, "\n  {:<width$}  {} without the pump{highest}", "all closed", show(self.rest_highest_pa));
        let lowest = if self.ask.lowest_static_pa.is_some() { "lowest" } else { "usual" };
        let _ = write!(text, "\n  {:<width$}  {} with it, at the {lowest} main pressure", "", show(self.dead_head_lowest_pa));
        text.push_str(&self.ends(system));
        text.push_str(&self.alone(system));
        if !self.is_sound() {
            let _ = write!(text, "\n  {TIMER}");
        }
        for remedy in &self.remedies {
            let Suggestion { cut_in, cut_out, .. } = remedy.suggestion;
            let (cut_in, cut_out) = (cut_in.show(system), cut_out.show(system));
            let _ = write!(text, "\n  it works if you {}: then cut-in {cut_in}, cut-out {cut_out}", remedy.change.words(system));
        }
        text
    }

    fn ends(&self, system: UnitSystem) -> String {
        let floor = |kind: BoundKind| self.highest_floor(kind).map_or(String::new(), |bound| self.bound_words(bound, system));
        let ceiling = self.lowest_ceiling().map_or(String::new(), |bound| self.bound_words(bound, system));
        let mut text = String::new();
        match (self.verdict, self.cut_in, self.cut_out) {
            (Verdict::DoesNotWork, ..) | (_, None, _) | (_, _, None) => {
                let _ = write!(
                    text,
                    "\nNo setting works: cut-out must be at least {}, and at most {}.",
                    self.pressure(self.least_cut_out_pa()).show(system),
                    self.pressure(self.lowest_ceiling().map_or(f64::NAN, Bound::kept_pa)).show(system)
                );
            }
            (verdict, Some(cut_in), Some(cut_out)) => {
                let note = if verdict == Verdict::NoMargin { ", without the usual margins" } else { "" };
                let _ = write!(text, "\nCut-in may be {}{note}.", self.between(cut_in, system));
                let apart = self.pressure(self.differential_pa).show(system);
                let cut_out = self.between(cut_out, system);
                let _ = write!(text, "\nCut-out may be {cut_out}, and at least {apart} above cut-in{note}.");
            }
        }
        let _ = write!(text, "\n  lowest cut-in        {}", floor(BoundKind::ZoneWithoutPump));
        let _ = write!(text, "\n  lowest cut-out       {}", self.cut_out_floor(system));
        let _ = write!(text, "\n  highest cut-out      {ceiling}");
        text.push_str(&self.suggested(system));
        text
    }

    /// The suggested settings, and how far the main may fall with them.
    fn suggested(&self, system: UnitSystem) -> String {
        let step = self.pressure(scale(preference(&self.garden, self.switch)).step_pa).show(system);
        let Some(Suggestion { cut_in, cut_out, keeps_margins }) = self.suggestion else {
            return if self.verdict == Verdict::DoesNotWork {
                String::new()
            } else {
                format!("\nIn steps of {step} no setting works.")
            };
        };
        let margins = if keeps_margins { "" } else { ", without the usual margins" };
        let mut text =
            format!("\nIn steps of {step}: cut-in {}, cut-out {}{margins}.", cut_in.show(system), cut_out.show(system));
        let _ = write!(text, " That cut-in is {}.", self.quiet_words(cut_in, system));
        if self.ask.lowest_static_pa.is_none() {
            let _ = write!(text, "\nThe lowest main pressure is not given: {}.", self.lowest(cut_out).show(system));
        }
        text
    }

    /// How far the main may fall with a cut-out.
    pub(super) fn lowest(&self, cut_out: Quantity) -> Phrase {
        let phrase = match self.stops_down_to_pa(cut_out.si) {
            Ok(Some(main_pa)) => {
                let pattern = "at cut-out {cut_out} the pump stops only while the main stays above {main}";
                Phrase::new(pattern).with("main", self.pressure(main_pa))
            }
            _ => Phrase::new("at cut-out {cut_out} the pump stops at any main pressure"),
        };
        phrase.with("cut_out", cut_out)
    }

    /// Which zones would work alone, where not all of them do.
    fn alone(&self, system: UnitSystem) -> String {
        let (works, fails) = self.works_and_fails();
        if fails.is_empty() || self.cases.len() < 2 {
            return String::new();
        }
        let names = |cases: &[&Case]| listed(&cases.iter().map(|case| case.title()).collect::<Vec<_>>());
        let ceiling = self.lowest_ceiling().map_or(String::new(), |bound| self.bound_words(bound, system));
        let stuck = format!("{} {} no room below {ceiling}", names(&fails), if fails.len() == 1 { "leaves" } else { "leave" });
        if works.is_empty() {
            return format!("\nNo zone has a setting by itself: {stuck}.");
        }
        format!("\nWith {} alone there is a setting; {stuck}.", names(&works))
    }

    /// How a cut-in lies to what the main holds at rest.
    fn quiet_words(&self, cut_in: Quantity, system: UnitSystem) -> String {
        let off_pa = cut_in.si - self.rest_pa;
        if off_pa.abs() < 0.05 * GAUGE_MARGIN.of(&self.garden) {
            return "equal to static main pressure: the pump may or may not start with all zones off".into();
        }
        let by = self.pressure(off_pa.abs()).show(system);
        let near = if off_pa.abs() < 0.99 * GAUGE_MARGIN.of(&self.garden) { "only " } else { "" };
        if off_pa < 0.0 {
            format!("{near}{by} below static main pressure, so a leak does not start the pump")
        } else {
            format!("{near}{by} above static main pressure, so any leak starts the pump")
        }
    }

    /// What sets the least cut-out: a zone with the pump, or the difference to cut-in.
    fn cut_out_floor(&self, system: UnitSystem) -> String {
        let by_zone = self.highest_floor(BoundKind::ZoneWithPump);
        let least_pa = self.least_cut_out_pa();
        match by_zone {
            Some(bound) if bound.kept_pa() >= least_pa => self.bound_words(bound, system),
            _ => format!(
                "{}: {} above the lowest cut-in, the differential of the switch",
                self.pressure(least_pa).show(system),
                self.pressure(self.differential_pa).show(system)
            ),
        }
    }

    /// A bound in words: the setting it asks for, what it comes from, and its margin.
    fn bound_words(&self, bound: &Bound, system: UnitSystem) -> String {
        let show = |si: f64| self.pressure(si).show(system);
        let margin = if bound.is_lower() { "and" } else { "less" };
        format!(
            "{}: {}, {margin} {} of margin",
            show(bound.kept_pa()),
            self.source_of(bound).show(system),
            self.margin_of(bound).show(system)
        )
    }

    /// The usual margin to a bound.
    pub(super) fn margin_of(&self, bound: &Bound) -> Limit {
        Limit::of_practice(self.pressure(bound.margin_pa), "psi")
    }

    /// What a bound comes from.
    pub fn source_of(&self, bound: &Bound) -> Phrase {
        let limit = self.pressure(bound.limit_pa);
        let zones = || zones_in_words(&bound.zones);
        match (bound.kind, bound.own, bound.place) {
            (BoundKind::Relief, Some(own), Some(place)) => {
                self.of_part(bound, "{part} set at {own}[, {limit} at the switch]", own, place)
            }
            (BoundKind::Rating, Some(own), Some(place)) => {
                self.of_part(bound, "{part} rated {own}[, {limit} at the switch]", own, place)
            }
            (BoundKind::DeadHead, ..) if self.ask.lowest_static_pa.is_some() => {
                Phrase::new("{limit} at shut-off of pump and supply, at the lowest main pressure").with("limit", limit)
            }
            (BoundKind::DeadHead, ..) => Phrase::new("{limit} at shut-off of pump and supply").with("limit", limit),
            (BoundKind::ZoneWithoutPump, ..) => {
                Phrase::new("{limit} with {zones} and no pump").with("limit", limit).with("zones", zones())
            }
            _ => Phrase::new("{limit} with {zones} and the pump").with("limit", limit).with("zones", zones()),
        }
    }

    /// A bound that is a parameter of a part; the limit is said where the part lies higher or lower than the switch.
    fn of_part(&self, bound: &Bound, pattern: &'static str, own: Quantity, place: usize) -> Phrase {
        let phrase = Phrase::new(pattern).with("part", title(&self.garden, place)).with("own", own);
        match (own.si - bound.limit_pa).abs() > 1e-6 * own.si {
            true => phrase.with("limit", self.pressure(bound.limit_pa)),
            false => phrase,
        }
    }

    fn between(&self, range: Range, system: UnitSystem) -> String {
        format!("{} to {}", self.pressure(range.low_pa).show(system), self.pressure(range.high_pa).show(system))
    }
}

impl Case {
    /// The zones of a case in words.
    pub fn title(&self) -> String {
        if self.zones.is_empty() { "all open".into() } else { self.zones.join(" and ") }
    }
}

/// At most this many zones are named one by one.
const MOST_NAMED: usize = 6;

/// Zones in words; of many the first.
fn listed(titles: &[String]) -> String {
    let named: Vec<String> = titles.iter().take(MOST_NAMED).map(|title| format!("'{title}'")).collect();
    match titles.len() {
        0 | 1 => named.join(""),
        n if n <= MOST_NAMED => format!("{} and {}", named[..n - 1].join(", "), named[n - 1]),
        n => format!("{} and {} others", named.join(", "), n - MOST_NAMED),
    }
}

/// The remedy that needs no window. Common practice, no source.
pub(super) const TIMER: &str = "start the pump from the timer with pump_start() in place of the switch: that needs no settings; or hold a \
                                 pressure with drive(), whose settings drive_window() gives";
