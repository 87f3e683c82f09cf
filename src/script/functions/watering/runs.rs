//! Seasons and weeks.

use super::ground::{day_of, depth_mm};
use crate::findings::{of_season, of_week};
use crate::garden::Accepted;
use crate::moment::Date;
use crate::operation::{Schedule, clock_time_s};
use crate::quantity::{DAY_S, dim};
use crate::report::FindingList;
use crate::report::watering as report;
use crate::script::language::error::{Answer, ScriptError, raise};
use crate::script::language::values::{describe, expect_number, expect_quantity};
use crate::season::{Bed, Plan, Rule, Scenario, Season, Week};
use crate::table::Table;
use crate::weather::Weather;
use rhai::plugin::*;
use rhai::{Array, Dynamic, Engine, EvalAltResult};
use std::sync::Arc;

/// A season as scripts hold it; what comes of it is computed anew with each change.
#[derive(Clone)]
pub struct SeasonAnswer {
    pub(super) scenario: Scenario,
    pub(super) season: Arc<Season>,
}

/// A week as scripts hold it.
#[derive(Clone)]
pub struct WeekAnswer {
    pub(super) scenario: Scenario,
    pub(super) week: Arc<Week>,
}

/// Beds in a weather, from a list of them.
fn scenario_of(beds: &Array, weather: Weather, word: &str) -> Answer<Scenario> {
    let bed = |value: &Dynamic| {
        let bed = value.read_lock::<Bed>().map(|bed| bed.clone());
        bed.ok_or_else(|| ScriptError::new(format!("{word}: expected a list of beds, found {}", describe(value))).into())
    };
    let beds = beds.iter().map(bed).collect::<Answer<Vec<Bed>>>()?;
    Ok(Scenario { beds, weather: Arc::new(weather), plan: Plan::default() })
}

impl SeasonAnswer {
    /// The season of a scenario. Errors: it cannot be computed.
    pub(super) fn of(scenario: Scenario) -> Answer<SeasonAnswer> {
        let season = scenario.season().map_err(raise)?;
        Ok(SeasonAnswer { season: Arc::new(season), scenario })
    }

    /// The same with a change of its plan.
    pub(super) fn planned(mut self, change: impl FnOnce(&mut Plan)) -> Answer<SeasonAnswer> {
        change(&mut self.scenario.plan);
        SeasonAnswer::of(self.scenario)
    }

    fn by(self, rule: Rule) -> Answer<SeasonAnswer> {
        self.planned(|plan| plan.rule = rule)
    }

    /// The season itself.
    pub fn season(&self) -> &Season {
        &self.season
    }

    /// Its findings.
    pub fn findings(&self) -> FindingList {
        FindingList::of_ground(&Accepted::default(), &of_season(&self.season, &self.scenario.weather))
    }

    /// Its table.
    pub fn table(&self) -> Option<Table> {
        report::season_table(&self.season).ok()
    }
}

impl WeekAnswer {
    /// The week of a scenario from a day on. Errors: it cannot be computed.
    pub(super) fn of(scenario: Scenario, date: Date) -> Answer<WeekAnswer> {
        let week = scenario.week(date).map_err(raise)?;
        Ok(WeekAnswer { week: Arc::new(week), scenario })
    }

    /// The same with a change of its plan.
    pub(super) fn planned(mut self, change: impl FnOnce(&mut Plan)) -> Answer<WeekAnswer> {
        change(&mut self.scenario.plan);
        WeekAnswer::of(self.scenario, self.week.date)
    }

    fn by(self, rule: Rule) -> Answer<WeekAnswer> {
        self.planned(|plan| plan.rule = rule)
    }

    /// The week itself.
    pub fn week(&self) -> &Week {
        &self.week
    }

    /// Its findings.
    pub fn findings(&self) -> FindingList {
        FindingList::of_ground(&Accepted::default(), &of_week(&self.week, &self.scenario.weather))
    }

    /// Its table.
    pub fn table(&self) -> Option<Table> {
        report::week_table(&self.week).ok()
    }
}

/// Registers these functions.
pub fn register(engine: &mut Engine) {
    engine.register_type_with_name::<SeasonAnswer>("a season").register_type_with_name::<WeekAnswer>("a week");
    for word in ["to_debug", "to_string"] {
        engine
            .register_fn(word, |season: SeasonAnswer| {
                let days = season.season.beds.iter().map(|bed| bed.days.len()).max().unwrap_or(0);
                format!("season of {} beds, up to {days} days", season.season.beds.len())
            })
            .register_fn(word, |week: WeekAnswer| {
                let in_words = |job: &crate::season::Job| match job.run_s() {
                    Some(run_s) => format!("{} {}", job.bed.name, report::minutes(run_s)),
                    None => format!("{} {}", job.bed.name, report::depth(job.net_mm())),
                };
                let jobs: Vec<String> = week.week.jobs.iter().map(in_words).collect();
                format!("week from {}: {}", week.week.date, jobs.join(", "))
            });
    }
    engine.register_global_module(exported_module!(functions).into());
}

fn fixed(depth: &Dynamic) -> Answer<Rule> {
    Ok(Rule::Fixed { mm: depth_mm(depth, "gives: depth")? })
}

fn every_days(period: &Dynamic, mm: Option<f64>) -> Answer<Rule> {
    let days = expect_quantity(period, dim::TIME, "every: time")? / DAY_S;
    if days.fract() != 0.0 || !(1.0..=366.0).contains(&days) {
        return Err(ScriptError::new(format!("every: beds are watered every 1 to 366 days, found {days} days")).into());
    }
    Ok(Rule::Every { days: days as u32, mm })
}

fn of_deficit(percent: &Dynamic) -> Answer<Rule> {
    Ok(Rule::Deficit { share: expect_number(percent, "deficit: percent")? / 100.0 })
}

#[export_module]
mod functions {
    /// The water of beds on every day from planting to harvest, or as far as the weather goes.
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam")).rate(0.5.in_per_h, 70).area(60.ft2);
    /// season([beans], w).table()["given"]                  // => [12 in]
    /// season([beans], w).no_water().table()["stress_days"]   // => [77]
    /// season([], w)   // => error: there is no bed
    /// ```
    #[rhai_fn(return_raw)]
    pub fn season(beds: Array, weather: Weather) -> Result<SeasonAnswer, Box<EvalAltResult>> {
        SeasonAnswer::of(scenario_of(&beds, weather, "season")?)
    }

    /// What beds need in the seven days from a day on. Until then they are taken as watered by the rule, unless `depletion` or `full_on` give how dry
    /// they are. Days that the weather does not have yet are like the mean of the last seven, without rain.
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam")).rate(0.5.in_per_h, 70).area(60.ft2);
    /// week([beans], w, "2015-07-13")   // => week from 2015-07-13: beans 0 min
    /// week([beans.depletion(1.inch)], w, "2015-07-13").table()["days"]   // => ["Tue"]
    /// week([beans], w, "13 July")      // => error: week: '13 July' is not a day
    /// ```
    #[rhai_fn(return_raw)]
    pub fn week(beds: Array, weather: Weather, first: Dynamic) -> Result<WeekAnswer, Box<EvalAltResult>> {
        WeekAnswer::of(scenario_of(&beds, weather, "week")?, day_of(&first, "week")?)
    }

    /// The rule to give a fixed depth whenever stress would begin.
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam"));
    /// season([beans], w).gives(0.5.inch).table()["waterings"]   // => [23]
    /// ```
    #[rhai_fn(name = "gives", return_raw)]
    pub fn season_gives(season: SeasonAnswer, depth: Dynamic) -> Result<SeasonAnswer, Box<EvalAltResult>> {
        season.by(fixed(&depth)?)
    }

    #[rhai_fn(name = "gives", return_raw)]
    pub fn week_gives(week: WeekAnswer, depth: Dynamic) -> Result<WeekAnswer, Box<EvalAltResult>> {
        week.by(fixed(&depth)?)
    }

    /// The rule to water at an interval of days, with all that is missing or with a depth.
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam"));
    /// season([beans], w).every(3.days, 0.5.inch).table()["waterings"]   // => [30]
    /// ```
    #[rhai_fn(name = "every", return_raw)]
    pub fn season_every(season: SeasonAnswer, period: Dynamic) -> Result<SeasonAnswer, Box<EvalAltResult>> {
        season.by(every_days(&period, None)?)
    }

    #[rhai_fn(name = "every", return_raw)]
    pub fn season_every_depth(season: SeasonAnswer, period: Dynamic, depth: Dynamic) -> Result<SeasonAnswer, Box<EvalAltResult>> {
        season.by(every_days(&period, Some(depth_mm(&depth, "every: depth")?))?)
    }

    #[rhai_fn(name = "every", return_raw)]
    pub fn week_every(week: WeekAnswer, period: Dynamic) -> Result<WeekAnswer, Box<EvalAltResult>> {
        week.by(every_days(&period, None)?)
    }

    #[rhai_fn(name = "every", return_raw)]
    pub fn week_every_depth(week: WeekAnswer, period: Dynamic, depth: Dynamic) -> Result<WeekAnswer, Box<EvalAltResult>> {
        week.by(every_days(&period, Some(depth_mm(&depth, "every: depth")?))?)
    }

    /// The rule of deficit irrigation: when stress would begin, a percentage of what the crop would have used.
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam"));
    /// season([beans], w).deficit(60).table()["given"]   // => [7.75 in]
    /// ```
    #[rhai_fn(name = "deficit", return_raw)]
    pub fn season_deficit(season: SeasonAnswer, percent: Dynamic) -> Result<SeasonAnswer, Box<EvalAltResult>> {
        season.by(of_deficit(&percent)?)
    }

    #[rhai_fn(name = "deficit", return_raw)]
    pub fn week_deficit(week: WeekAnswer, percent: Dynamic) -> Result<WeekAnswer, Box<EvalAltResult>> {
        week.by(of_deficit(&percent)?)
    }

    /// The season with rain alone.
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam"));
    /// season([beans], w).no_water().table()["given"]   // => [0 in]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn no_water(season: SeasonAnswer) -> Result<SeasonAnswer, Box<EvalAltResult>> {
        season.by(Rule::NoWater)
    }

    /// Leaves light rain out: rain of a day below a fifth of its evapotranspiration wets leaves and counts for nothing (FAO-56 chapter 8).
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam"));
    /// [season([beans], w), season([beans], w).without_light_rain()].map(|s| s.table()["given"][0])   // => [12 in, 14.7 in]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn without_light_rain(season: SeasonAnswer) -> Result<SeasonAnswer, Box<EvalAltResult>> {
        season.planned(|plan| plan.light_rain_counts = false)
    }

    /// The beds of a season or a week, a row each: depths, waterings, run times, volumes.
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam"));
    /// week([beans], w, "2015-07-13").table().names   // => ["bed", "short_by", "limit", "days", "depth", "run_time", "cycles", "run", "soak", "water"]
    /// ```
    #[rhai_fn(name = "table", return_raw)]
    pub fn season_table(season: SeasonAnswer) -> Result<Table, Box<EvalAltResult>> {
        report::season_table(&season.season).map_err(raise)
    }

    #[rhai_fn(name = "table", return_raw)]
    pub fn week_table(week: WeekAnswer) -> Result<Table, Box<EvalAltResult>> {
        report::week_table(&week.week).map_err(raise)
    }

    /// Every day of the beds of a season or a week: rain, et0, kc, used, given, percolated, depletion in the evening and its limit, stress.
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam"));
    /// season([beans], w).daily()["kc"][0]   // => 0.5
    /// ```
    #[rhai_fn(name = "daily", return_raw)]
    pub fn season_days(season: SeasonAnswer) -> Result<Table, Box<EvalAltResult>> {
        let beds = season.season.beds.iter().map(|bed| (&bed.bed, bed.days.as_slice()));
        report::days_table(beds).map_err(raise)
    }

    #[rhai_fn(name = "daily", return_raw)]
    pub fn week_days(week: WeekAnswer) -> Result<Table, Box<EvalAltResult>> {
        report::days_table(week.week.jobs.iter().map(|job| (&job.bed, job.days.as_slice()))).map_err(raise)
    }

    /// The months of a season: rain, use, what is given, waterings of each bed.
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam"));
    /// season([beans], w).by_month()["month"]   // => ["2015-05", "2015-06", "2015-07", "2015-08"]
    /// ```
    #[rhai_fn(name = "by_month", return_raw)]
    pub fn season_by_month(season: SeasonAnswer) -> Result<Table, Box<EvalAltResult>> {
        report::season_by_month(&season.season).map_err(raise)
    }

    /// The waterings of a week: bed, date, depth where it is counted on, run time, cycles.
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam")).rate(0.5.in_per_h, 70);
    /// week([beans.depletion(1.inch)], w, "2015-07-13").waterings()["date"]   // => [2015-07-14]
    /// ```
    #[rhai_fn(return_raw)]
    pub fn waterings(week: WeekAnswer) -> Result<Table, Box<EvalAltResult>> {
        report::waterings_table(&week.week).map_err(raise)
    }

    /// The schedule of a week for `operate`: from a time of day on one zone after another, in runs and pauses; day 1 is the first day of the week.
    /// Without a time it ends with the hours of `allowed_between`, else at sunrise.
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft).clock(-122.3, -7);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("sandy loam")).rate(0.5.in_per_h, 70);
    /// let jobs = week([beans.depletion(1.inch)], w, "2015-07-13");
    /// jobs.schedule("05:00")   // => Tue 2015-07-14, round 1: 05:00 every 7 days from day 2: beans 3.95 h
    ///                          // => from Mon 2015-07-13
    /// jobs.schedule()          // => Tue 2015-07-14, round 1: 01:25 every 7 days from day 2: beans 3.95 h
    ///                          // => from Mon 2015-07-13
    /// ```
    #[rhai_fn(name = "schedule", return_raw)]
    pub fn week_schedule(week: WeekAnswer, clock: &str) -> Result<Schedule, Box<EvalAltResult>> {
        week.week.schedule(clock_time_s(clock).map_err(raise)?).map_err(raise)
    }

    #[rhai_fn(name = "schedule", return_raw)]
    pub fn week_schedule_in_time(week: WeekAnswer) -> Result<Schedule, Box<EvalAltResult>> {
        let start_s = week.week.latest_start_s().map_err(raise)?;
        // A start before midnight is the evening before.
        week.week.schedule(start_s.rem_euclid(DAY_S)).map_err(raise)
    }

    /// What to mind of a season or a week: lines of the weather file, stress, percolation, runoff, short runs, what was taken for granted; of a week
    /// also with the time at which its schedule starts. A rain barrel has some too.
    ///
    /// ```hw
    /// let w = months([[12.degC, 26.degC, 20.mm]]).place(47.45, 430.ft);
    /// let beans = bed("beans", crop("bean").planted("2015-05-15"), soil("loam")).soil_depth(1.ft);
    /// season([beans], w).no_water().findings().warnings   // => 1
    /// ```
    #[rhai_fn(name = "findings")]
    pub fn season_findings(season: SeasonAnswer) -> FindingList {
        season.findings()
    }

    #[rhai_fn(name = "findings")]
    pub fn week_findings(week: WeekAnswer) -> FindingList {
        week.findings()
    }
}
