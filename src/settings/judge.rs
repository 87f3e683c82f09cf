//! The settings a switch has now against its window: what they do in each zone and at rest, as findings.

use super::bounds::{Bound, BoundKind};
use super::card::TIMER;
use super::case::Case;
use super::window::{Verdict, Window};
use super::words::zones_in_words;
use crate::findings::catalog::{relief, switch};
use crate::findings::limits::{AT_LIMIT, UNSEEN_M3_PER_S};
use crate::findings::phrase::Phrase;
use crate::findings::{Entry, Finding, Stops, in_order, stops};
use crate::parts::Id;
use crate::quantity::{Quantity, dim};
use std::collections::HashMap;

impl Window {
    /// What is to be said of the cut-in and cut-out that the switch has now, and of the window itself; the most severe first.
    pub fn findings(&self) -> Vec<Finding> {
        let alone: HashMap<&[String], &Case> =
            self.cases.iter().rev().filter(|case| case.needs_no_pump).map(|case| (&case.zones[..], case)).collect();
        let mut found: Vec<Finding> = self.bounds.iter().filter_map(|bound| self.judge(bound, &alone)).collect();
        found.extend(self.of_window());
        found.extend(self.of_main());
        in_order(found)
    }

    fn setting(&self, id: Id) -> Option<Quantity> {
        self.garden.parts()[self.switch].get(id).ok()
    }

    fn about(&self, entry: &'static Entry) -> Finding {
        Finding::about(entry, &self.garden, self.switch)
    }

    /// A setting against one bound: over the limit, or within its margin. `alone` are the cases whose heads have what they need
    /// without the pump, by their zones.
    fn judge(&self, bound: &Bound, alone: &HashMap<&[String], &Case>) -> Option<Finding> {
        let setting = self.setting(if bound.kind == BoundKind::ZoneWithoutPump { Id::CutIn } else { Id::CutOut })?;
        let room_pa = if bound.is_lower() { setting.si - bound.limit_pa } else { bound.limit_pa - setting.si };
        // At the limit itself a switch starts, but does not stay on; at dead head it may stop, but a relief weeps.
        let works = match bound.kind {
            BoundKind::DeadHead => stops(&self.garden, bound.limit_pa, setting.si) != Stops::Never,
            BoundKind::ZoneWithoutPump | BoundKind::Rating => room_pa >= 0.0,
            BoundKind::ZoneWithPump | BoundKind::Relief => room_pa > 1e-6 * setting.si,
        };
        let keeps_margin = match bound.kind {
            BoundKind::DeadHead => stops(&self.garden, bound.limit_pa, setting.si) == Stops::Surely,
            _ => room_pa >= bound.margin_pa * (1.0 - AT_LIMIT),
        };
        if works && keeps_margin {
            return None;
        }
        let finding = if works {
            let finding = self.about(near(bound.kind)).with("room", self.pressure(room_pa));
            finding.with("usual", self.margin_of(bound))
        } else if let (BoundKind::ZoneWithoutPump, Some(case)) = (bound.kind, alone.get(&bound.zones[..])) {
            return Some(self.no_pump_needed(case));
        } else {
            self.broken(bound, room_pa.abs() <= 1e-6 * setting.si)
        };
        let finding = finding.with("setting", setting).with("limit", self.source_of(bound));
        Some(finding.with("kept", self.pressure(bound.kept_pa())))
    }

    /// What a setting beyond a bound does; `coincide` where it lies on the bound.
    fn broken(&self, bound: &Bound, coincide: bool) -> Finding {
        match bound.kind {
            BoundKind::ZoneWithoutPump => self.about(&switch::WOULD_NEVER_START).with("zones", zones_in_words(&bound.zones)),
            BoundKind::ZoneWithPump => self.about(&switch::WOULD_SHORT_CYCLE).with("zones", zones_in_words(&bound.zones)),
            BoundKind::DeadHead => self.settles(self.about(&switch::WOULD_NEVER_STOP)),
            BoundKind::Relief if coincide => self.about(&relief::RELIEF_AT_CUT_OUT),
            BoundKind::Relief => self.about(&relief::RELIEF_WOULD_WEEP),
            BoundKind::Rating => self.about(&relief::WOULD_BE_OVER_RATING),
        }
    }

    fn no_pump_needed(&self, case: &Case) -> Finding {
        let finding = self.about(&switch::WOULD_NEED_NO_PUMP).with("off", self.pressure(case.off_pa));
        finding.with("zones", zones_in_words(&case.zones))
    }

    /// Where a pump settles that nothing stops.
    fn settles(&self, finding: Finding) -> Finding {
        let finding = finding.with("settled", self.pressure(self.settled.pressure_pa));
        if self.settled.flow_m3_per_s <= UNSEEN_M3_PER_S {
            return finding.with("no_flow", "with no flow");
        }
        finding.with("lost", self.garden.quantity(self.settled.flow_m3_per_s, dim::FLOW))
    }

    fn of_window(&self) -> Option<Finding> {
        let entry = match self.verdict {
            Verdict::Works => return None,
            Verdict::NoMargin => &switch::NO_MARGIN,
            Verdict::DoesNotWork => &switch::NO_SETTINGS,
        };
        let remedy = match self.remedies.first() {
            Some(remedy) => remedy.change.phrase(),
            None => Phrase::new(switch::OTHER_PUMP).with("timer", TIMER),
        };
        Some(self.about(entry).with("remedy", remedy))
    }

    /// The main: its highest and lowest pressure, and whether it holds the line above cut-in.
    fn of_main(&self) -> Vec<Finding> {
        let mut found = Vec::new();
        if self.ask.lowest_static_pa.is_none()
            && let Some(cut_out) = self.setting(Id::CutOut).filter(|cut_out| cut_out.si <= self.dead_head_pa)
        {
            found.push(self.about(&switch::LOWEST_MAIN).with("lowest", self.lowest(cut_out)));
        }
        if self.ask.highest_static_pa.is_none() {
            found.push(self.about(&switch::HIGHEST_MAIN));
        }
        if let Some(cut_in) = self.setting(Id::CutIn).filter(|cut_in| cut_in.si < self.rest_highest_pa) {
            let finding = self.about(&switch::MAIN_ABOVE_CUT_IN).with("rest", self.pressure(self.rest_highest_pa));
            found.push(finding.with("cut_in", cut_in));
        }
        found
    }
}

/// The finding on a bound that is kept by less than its margin.
fn near(kind: BoundKind) -> &'static Entry {
    match kind {
        BoundKind::ZoneWithoutPump => &switch::WOULD_BE_NEAR_CUT_IN,
        BoundKind::ZoneWithPump => &switch::WOULD_BE_NEAR_CUT_OUT,
        BoundKind::DeadHead => &switch::WOULD_BE_NEAR_DEAD_HEAD,
        BoundKind::Relief => &relief::RELIEF_WOULD_BE_NEAR,
        BoundKind::Rating => &relief::NEAR_RATING,
    }
}
