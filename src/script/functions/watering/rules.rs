//! Local rules of watering: days and hours.

use super::runs::{SeasonAnswer, WeekAnswer};
use crate::findings::{of_start, of_week};
use crate::garden::Accepted;
use crate::operation::{CalendarDays, clock_time_s};
use crate::report::FindingList;
use crate::script::functions::operation::read::{calendar_days, hours_between};
use crate::script::language::error::{Answer, raise};
use rhai::plugin::*;
use rhai::{Dynamic, Engine, EvalAltResult};

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_global_module(exported_module!(functions).into());
}

/// Days of the calendar by their names.
fn days_of(days: &Dynamic) -> Answer<CalendarDays> {
    calendar_days(days, "allowed_on", ["Tue", "Sat"])
}

#[export_module]
mod functions {
    /// The days on which a local rule allows watering: days of the week, or "odd" or "even" days of the month. A bed gets water on the last allowed
    /// day before its crop would begin to suffer.
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam")).rate(0.5.in_per_h, 70);
    /// week([beans.depletion(1.inch)], w, "2015-07-13").allowed_on(["Wed", "Sat"]).table()["days"]   // => ["Wed"]
    /// season([beans], w).allowed_on("odd").table()["stress_days"]   // => [0]
    /// ```
    #[rhai_fn(name = "allowed_on", return_raw)]
    pub fn season_allowed_on(season: SeasonAnswer, days: Dynamic) -> Result<SeasonAnswer, Box<EvalAltResult>> {
        let allowed = days_of(&days)?;
        season.planned(|plan| plan.allowed = Some(allowed))
    }

    #[rhai_fn(name = "allowed_on", return_raw)]
    pub fn week_allowed_on(week: WeekAnswer, days: Dynamic) -> Result<WeekAnswer, Box<EvalAltResult>> {
        let allowed = days_of(&days)?;
        week.planned(|plan| plan.allowed = Some(allowed))
    }

    /// The hours in which a local rule allows watering, in place of those from midnight to sunrise; an end before the beginning is in the next
    /// morning. What does not fit is a finding.
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam")).rate(0.5.in_per_h, 70);
    /// let jobs = week([beans.depletion(1.inch)], w, "2015-07-13").allowed_between("18:00", "20:00");
    /// jobs.findings().table().filter(|f| f.code == "watering-outside-hours").rows   // => 1
    /// ```
    #[rhai_fn(return_raw)]
    pub fn allowed_between(week: WeekAnswer, from: &str, to: &str) -> Result<WeekAnswer, Box<EvalAltResult>> {
        let hours = hours_between(from, to)?;
        week.planned(|plan| plan.hours = Some(hours))
    }

    #[rhai_fn(name = "findings", return_raw)]
    pub fn week_findings_from(week: WeekAnswer, clock: &str) -> Result<FindingList, Box<EvalAltResult>> {
        let start_s = clock_time_s(clock).map_err(raise)?;
        let mut findings = of_week(&week.week, &week.scenario.weather);
        let found = of_start(&week.week, Some(start_s));
        findings.retain(|finding| found.iter().all(|other| other.code() != finding.code()));
        findings.extend(found);
        Ok(FindingList::of_ground(&Accepted::default(), &findings))
    }
}
