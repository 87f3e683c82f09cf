//! The window in words: what the switch feels, what is left for cut-in and cut-out, what sets the ends, what would help.

use super::bounds::{Bound, Kind};
use super::window::{Case, Range, Verdict, Window};
use crate::findings::limits::GAUGE_MARGIN_PA;
use crate::quantity::{Quantity, UnitSystem};
use std::fmt::Write;

impl Window {
    /// The window as a card of a few lines.
    pub fn card(&self, system: UnitSystem) -> String {
        let show = |si: f64| self.pressure(si).show(system);
        let (switch, pump) = (self.garden.name(self.switch), self.garden.name(self.booster));
        let mut text = format!("Settings for pressure switch '{switch}' and booster '{pump}'; at the switch stand");
        let width = self.cases.iter().map(|case| case.title().chars().count()).max().unwrap_or(0).max(20);
        for case in &self.cases {
            let (off, on) = (show(case.off_highest_pa), show(case.on_highest_pa));
            let _ = write!(text, "\n  {:<width$}  {off} without the pump, {on} with it", case.title());
        }
        let highest = if self.ask.highest_static_pa.is_some() { " at the highest street pressure" } else { "" };
        let _ = write!(text, "\n  {:<width$}  {} without the pump{highest}", "all shut", show(self.rest_highest_pa));
        let _ = write!(text, "\n  {:<width$}  {} with it, at the usual one", "", show(self.dead_head_pa));
        text.push_str(&self.ends(system));
        for opener in &self.openers {
            let settings = opener.suggestion.map_or_else(
                || format!("cut-out {}", self.between(opener.cut_out, system)),
                |(cut_in, cut_out)| format!("cut-in {}, cut-out {}", cut_in.show(system), cut_out.show(system)),
            );
            let _ = write!(text, "\n  it opens if you {}: then {settings}", opener.change.words(system));
        }
        text
    }

    fn ends(&self, system: UnitSystem) -> String {
        let floor = |kind: Kind| self.highest_floor(kind).map_or(String::new(), |bound| self.bound_words(bound, system));
        let ceiling = self.lowest_ceiling().map_or(String::new(), |bound| self.bound_words(bound, system));
        let mut text = String::new();
        match (self.verdict, self.cut_in, self.cut_out) {
            (Verdict::Shut, ..) | (_, None, _) | (_, _, None) => {
                let _ = write!(
                    text,
                    "\nNo setting works: cut-out must be at least {}, and at most {}.",
                    self.pressure(self.least_cut_out_pa()).show(system),
                    self.pressure(self.lowest_ceiling().map_or(f64::NAN, Bound::kept_pa)).show(system)
                );
            }
            (verdict, Some(cut_in), Some(cut_out)) => {
                let note = if verdict == Verdict::Narrow { ", without any margin" } else { "" };
                let _ = write!(text, "\nCut-in may be {}{note}.", self.between(cut_in, system));
                let apart = self.pressure(self.ask.differential_pa).show(system);
                let cut_out = self.between(cut_out, system);
                let _ = write!(text, "\nCut-out may be {cut_out}, and at least {apart} above cut-in{note}.");
            }
        }
        let _ = write!(text, "\n  cut-in from below    {}", floor(Kind::ZoneWithoutPump));
        let _ = write!(text, "\n  cut-out from below   {}", self.cut_out_floor(system));
        let _ = write!(text, "\n  cut-out from above   {ceiling}");
        if let Some((cut_in, cut_out)) = self.suggestion {
            let _ = write!(text, "\nRound settings: cut-in {}, cut-out {}.", cut_in.show(system), cut_out.show(system));
            let quiet = self.quiet_words(cut_in, system);
            let _ = write!(text, " That cut-in is {quiet}.");
        }
        text
    }

    /// How a cut-in lies to what the street holds at rest.
    fn quiet_words(&self, cut_in: Quantity, system: UnitSystem) -> String {
        let off_pa = cut_in.si - self.rest_pa;
        if off_pa.abs() < 0.05 * GAUGE_MARGIN_PA {
            return "what the street holds at rest: chance decides whether the pump starts with nothing open".into();
        }
        let by = self.pressure(off_pa.abs()).show(system);
        let near = if off_pa.abs() < 0.99 * GAUGE_MARGIN_PA { "only " } else { "" };
        if off_pa < 0.0 {
            format!("{near}{by} below what the street holds at rest, so a leak does not wake the pump")
        } else {
            format!("{near}{by} above what the street holds at rest, so every leak wakes the pump in time")
        }
    }

    /// What sets the least cut-out: a zone with the pump, or the difference to cut-in.
    fn cut_out_floor(&self, system: UnitSystem) -> String {
        let by_zone = self.highest_floor(Kind::ZoneWithPump);
        let least_pa = self.least_cut_out_pa();
        match by_zone {
            Some(bound) if bound.kept_pa() >= least_pa => self.bound_words(bound, system),
            _ => format!(
                "{}: {} above the least cut-in, the difference a switch needs",
                self.pressure(least_pa).show(system),
                self.pressure(self.ask.differential_pa).show(system)
            ),
        }
    }

    /// A bound in words: the setting it asks for, what it comes from, and its margin.
    pub fn bound_words(&self, bound: &Bound, system: UnitSystem) -> String {
        let show = |si: f64| self.pressure(si).show(system);
        let margin = if bound.is_lower() { "and" } else { "less" };
        format!("{}: {}, {margin} {} of margin", show(bound.kept_pa()), self.source_words(bound, system), show(bound.margin_pa))
    }

    /// What a bound comes from, in words.
    pub fn source_words(&self, bound: &Bound, system: UnitSystem) -> String {
        let limit = self.pressure(bound.limit_pa).show(system);
        let part = |own: Quantity, verb: &str| {
            let name = bound.place.map_or("", |place| self.garden.name(place));
            let word = bound.place.map_or("part", |place| self.garden.parts()[place].spec().word).replace('_', " ");
            let height =
                if (own.si - bound.limit_pa).abs() > 1e-6 * own.si { format!(", {limit} at the switch") } else { String::new() };
            format!("{word} '{name}' {verb} {}{height}", own.show(system))
        };
        match (bound.kind, bound.own) {
            (Kind::Relief, Some(own)) => part(own, "set at"),
            (Kind::Rating, Some(own)) => part(own, "rated"),
            (Kind::DeadHead, _) => format!("{limit}, all that pump and supply reach against shut valves"),
            (Kind::ZoneWithoutPump, _) => format!("{limit} with {} and no pump", zones_in_words(&bound.zones)),
            _ => format!("{limit} with {} and the pump", zones_in_words(&bound.zones)),
        }
    }

    fn between(&self, range: Range, system: UnitSystem) -> String {
        format!("{} to {}", self.pressure(range.low_pa).show(system), self.pressure(range.high_pa).show(system))
    }
}

impl Case {
    /// The zones of a case in words.
    pub fn title(&self) -> String {
        if self.zones.is_empty() { "everything open".into() } else { self.zones.join(" and ") }
    }
}

pub(super) fn zones_in_words(zones: &[String]) -> String {
    if zones.is_empty() {
        return "everything open".into();
    }
    zones.iter().map(|zone| format!("'{zone}'")).collect::<Vec<_>>().join(" and ")
}
