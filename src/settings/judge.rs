//! The settings a switch has now against its window: what they do in each zone and at rest, as findings.

use super::bounds::{Bound, Kind};
use super::card::{TIMER, zones_in_words};
use super::window::{Case, Verdict, Window};
use crate::findings::limits::NO_FLOW_M3_PER_S;
use crate::findings::{Finding, Level, Source};
use crate::parts::Id;
use crate::quantity::{Quantity, UnitSystem, dim};

impl Window {
    /// What is to be said of the cut-in and cut-out that the switch has now, and of the window itself; the gravest first.
    pub fn findings(&self, system: UnitSystem) -> Vec<Finding> {
        let mut found: Vec<Finding> = self.bounds.iter().filter_map(|bound| self.judge(bound, system)).collect();
        found.extend(self.of_window(system));
        found.extend(self.of_street(system));
        found.sort_by_key(|finding| (finding.level, finding.place));
        found
    }

    fn setting(&self, id: Id) -> Option<Quantity> {
        self.garden.parts()[self.switch].get(id).ok()
    }

    fn finding(&self, level: Level, code: &'static str, what: String, why: &str, action: String, source: Source) -> Finding {
        let (place, name) = (Some(self.switch), self.garden.name(self.switch).to_string());
        Finding { level, code, place, name, what, why: why.into(), action, source }
    }

    /// A setting against one bound: over the limit, or within its margin.
    fn judge(&self, bound: &Bound, system: UnitSystem) -> Option<Finding> {
        let setting = self.setting(if bound.kind == Kind::ZoneWithoutPump { Id::CutIn } else { Id::CutOut })?;
        let room_pa = if bound.is_lower() { setting.si - bound.limit_pa } else { bound.limit_pa - setting.si };
        // At the limit itself a switch starts, but does not stay on; at dead head it may stop, but a relief weeps.
        let works = match bound.kind {
            Kind::ZoneWithoutPump | Kind::DeadHead | Kind::Rating => room_pa >= 0.0,
            Kind::ZoneWithPump | Kind::Relief => room_pa > 1e-6 * setting.si,
        };
        if works && room_pa >= bound.margin_pa * (1.0 - 1e-9) {
            return None;
        }
        if let (false, Kind::ZoneWithoutPump, Some(case)) = (works, bound.kind, self.without_need(bound)) {
            return Some(self.no_pump_needed(case, system));
        }
        let (level, code, why) = told(bound.kind, works);
        let title = format!("{} {} of '{}'", bound.setting(), setting.show(system), self.garden.name(self.switch));
        let source = self.source_words(bound, system);
        let what = match (works, bound.kind) {
            (true, _) => {
                let room = self.pressure(room_pa).show(system);
                let usual = self.pressure(bound.margin_pa).show(system);
                format!("{title} has a margin of {room} only: {source}; {usual} is usual")
            }
            (false, Kind::ZoneWithoutPump) => {
                format!("{title} never starts the pump with {}: {source}", zones_in_words(&bound.zones))
            }
            (false, Kind::ZoneWithPump) => {
                format!("{title} short-cycles the pump with {}: {source}", zones_in_words(&bound.zones))
            }
            (false, Kind::DeadHead) => format!("{title} never stops the pump: {source}; {}", self.settles(system)),
            (false, Kind::Relief) if room_pa.abs() <= 1e-6 * setting.si => {
                format!("{title} and the relief valve coincide: {source}")
            }
            (false, _) => format!("{title} lies above a limit: {source}"),
        };
        let action = format!(
            "set {} {} {}",
            bound.setting(),
            if bound.is_lower() { "above" } else { "below" },
            self.pressure(bound.kept_pa()).show(system)
        );
        let common = works || bound.kind == Kind::Relief;
        let source = if common { Source::CommonPractice } else { Source::Physics };
        Some(self.finding(level, code, what, why, action, source))
    }

    /// The case of a bound, if its heads have what they need without the pump.
    fn without_need(&self, bound: &Bound) -> Option<&Case> {
        self.cases.iter().find(|case| case.needs_no_pump && case.zones == bound.zones)
    }

    fn no_pump_needed(&self, case: &Case, system: UnitSystem) -> Finding {
        let off = self.pressure(case.off_pa).show(system);
        let zones = zones_in_words(&case.zones);
        let what = format!("the pump stays off in {zones}, which has {off} and all its heads need without it");
        let why = "the main alone serves this zone; the pump would only use power and raise the pressure";
        let action = format!("nothing; or take {zones} off upstream of the pump, so that it bounds no setting");
        self.finding(Level::Note, "zone-needs-no-pump", what, why, action, Source::Physics)
    }

    /// Where a pump settles that nothing stops.
    fn settles(&self, system: UnitSystem) -> String {
        let at = self.pressure(self.settled.pressure_pa).show(system);
        if self.settled.flow_m3_per_s <= NO_FLOW_M3_PER_S {
            return format!("it settles at {at}, with nothing flowing");
        }
        let flow = Quantity::new(self.settled.flow_m3_per_s, dim::FLOW).show(system);
        format!("it settles at {at}, with {flow} lost through relief valves and leaks")
    }

    fn of_window(&self, system: UnitSystem) -> Option<Finding> {
        const WHY: &str = "the pressures of the zones, the pump, the relief valve and the ratings leave too little between them";
        let (level, code, what) = match self.verdict {
            Verdict::Open => return None,
            Verdict::Narrow => (Level::Note, "narrow-window", "cut-in and cut-out can be set, but not with the usual margins"),
            Verdict::Shut => (Level::Warning, "no-window", "no cut-in and cut-out work in all these zones"),
        };
        let action = match self.openers.first() {
            Some(opener) => opener.change.words(system),
            None => format!("take a pump whose pressure falls off more with its flow; {TIMER}"),
        };
        Some(self.finding(level, code, what.into(), WHY, action, Source::Physics))
    }

    /// The main: its highest and lowest pressure, and whether it holds the line above cut-in.
    fn of_street(&self, system: UnitSystem) -> Vec<Finding> {
        let mut found = Vec::new();
        if self.ask.lowest_static_pa.is_none()
            && let Some(cut_out) = self.setting(Id::CutOut).filter(|cut_out| cut_out.si <= self.dead_head_pa)
        {
            let what = format!("the lowest main pressure is not given: {}", self.lowest_words(cut_out, system));
            let why = "on a hot evening, when all water, the pump may run dead-headed for hours: it overheats and fails";
            let action = "read a gauge then, and give the lowest pressure as lowest_static".to_string();
            found.push(self.finding(Level::Warning, "lowest-main", what, why, action, Source::CommonPractice));
        }
        if self.ask.highest_static_pa.is_none() {
            let what = "the highest main pressure is not given; that of the supply is taken".to_string();
            let why = "in the small hours it is higher, zones are higher with it, and a low cut-in is not reached";
            let action = "read a gauge with a needle that stays at the highest, and give it as highest_static".to_string();
            found.push(self.finding(Level::Note, "night-unknown", what, why, action, Source::CommonPractice));
        }
        let Some(cut_in) = self.setting(Id::CutIn).filter(|cut_in| cut_in.si < self.rest_highest_pa) else { return found };
        let what = format!(
            "with all zones off the main holds {} at '{}', above cut-in {}: the pump stays off until a zone opens",
            self.pressure(self.rest_highest_pa).show(system),
            self.garden.name(self.switch),
            cut_in.show(system)
        );
        let why = "a trickle, such as a drip line or a leak, never starts it; that is quiet at night, and no fault";
        let action = "nothing, if every zone starts it; else raise cut-in above that".to_string();
        found.push(self.finding(Level::Note, "street-above-cut-in", what, why, action, Source::Physics));
        found
    }
}

/// Level, code and reason of a bound that is broken, or that is kept by less than its margin.
fn told(kind: Kind, works: bool) -> (Level, &'static str, &'static str) {
    const OFF: &str = "a gauge or a switch may be off by that much, and the main pressure moves";
    match (kind, works) {
        (Kind::ZoneWithoutPump, false) => (Level::Warning, "never-starts", "the pump does not start in this zone"),
        (Kind::ZoneWithoutPump, true) => (Level::Note, "barely-starts", OFF),
        (Kind::ZoneWithPump, false) => {
            (Level::Warning, "short-cycles", "the pump short-cycles; the motor and the switch contacts wear out")
        }
        (Kind::ZoneWithPump, true) => (Level::Note, "near-cut-out", OFF),
        (Kind::DeadHead, false) => {
            (Level::Warning, "never-stops", "with all valves closed the pump runs dead-headed, overheats and fails")
        }
        (Kind::DeadHead, true) => {
            (Level::Warning, "near-dead-head", "when the main pressure falls or the pump wears it no longer reaches cut-out")
        }
        (Kind::Relief, false) => {
            (Level::Warning, "relief-weeps", "it opens each time before the pump stops, and the pump may never reach cut-out")
        }
        (Kind::Relief, true) => (Level::Note, "relief-near-cut-out", "springs and switches are not that exact: it may weep"),
        (Kind::Rating, false) => (Level::Danger, "over-rating", "above its rating it can burst, and a hose under pressure whips"),
        (Kind::Rating, true) => (Level::Note, "near-rating", OFF),
    }
}
