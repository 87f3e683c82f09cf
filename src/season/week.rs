//! What the beds need in the next days: depths, minutes, runs and pauses, and the schedule that gives them.

use super::balance::{BedDay, balance};
use super::bed::Bed;
use super::error::SeasonError;
use super::plan::{Plan, Rule};
use super::run::{check, courses, days_of, span};
use crate::coverage::run_time_s;
use crate::moment::Date;
use crate::operation::{Schedule, Timer};
use crate::quantity::DAY_S;
use crate::soil::Cycles;
use crate::weather::{CourseDay, Remark, Weather, sunrise_and_sunset_s};

/// Days of a week, and days whose mean stands for those to come.
const WEEK_DAYS: i32 = 7;

/// A watering.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Watering {
    /// In the evening of this day or at dawn of the next.
    pub date: Date,
    /// Depth that the part of the ground gets that is counted on, mm.
    pub net_mm: f64,
    /// Depth on the mean of the ground, with what is lost in the air, mm.
    pub gross_mm: f64,
    /// How long the zone runs, s, in all; none where the bed has no rate.
    pub run_s: Option<f64>,
    /// Its runs and pauses; none where the bed has no rate.
    pub cycles: Option<Cycles>,
}

/// What a bed needs in a week.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    /// The bed.
    pub bed: Bed,
    /// What is missing in the morning of the first day, mm.
    pub short_by_mm: f64,
    /// What may be missing without stress on that day, mm.
    pub limit_mm: f64,
    /// The days of the week.
    pub days: Vec<BedDay>,
    /// The waterings of the week.
    pub waterings: Vec<Watering>,
    /// True where the crop is harvested before the week begins.
    pub is_over: bool,
}

impl Job {
    /// Depth of all waterings where it is counted on, mm.
    pub fn net_mm(&self) -> f64 {
        self.waterings.iter().map(|watering| watering.net_mm).sum()
    }

    /// How long the zone runs in the week, s; none where the bed has no rate.
    pub fn run_s(&self) -> Option<f64> {
        self.bed.water.map(|_| self.waterings.iter().filter_map(|watering| watering.run_s).sum())
    }

    /// Water that it takes in the week, m3; none where the bed has no ground.
    pub fn volume_m3(&self) -> Option<f64> {
        self.bed.volume_m3(self.waterings.iter().map(|watering| watering.gross_mm).sum())
    }
}

/// What beds need in the week from a day on.
#[derive(Clone, Debug, PartialEq)]
pub struct Week {
    /// The first day.
    pub date: Date,
    /// One for each bed, in their order.
    pub jobs: Vec<Job>,
    /// The first day that the weather does not have, from which on the mean of the days before it stands, without rain.
    pub assumed_from: Option<Date>,
    /// The hours in which its water is to run.
    pub window: Window,
    /// What a reader must know of the weather.
    pub remarks: Vec<Remark>,
}

/// What ends the hours in which water is to run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WindowEnd {
    /// The sun rises, by the clock of the place.
    Sunrise,
    /// The sun rises, by the sun's own time: the clock of the place is not known.
    SolarSunrise,
    /// A local rule.
    Rule,
    /// Neither place nor rule is known: 6 o'clock is taken.
    Morning,
}

/// Hours in which water is to run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// The beginning, s after midnight.
    pub from_s: f64,
    /// The end, s after the same midnight; beyond a day where it is in the next morning.
    pub to_s: f64,
    /// What ends it.
    pub end: WindowEnd,
}

impl Window {
    /// From midnight to sunrise, or the hours of a local rule.
    fn of(plan: &Plan, weather: &Weather, date: Date) -> Window {
        if let Some(hours) = plan.hours {
            return Window { from_s: hours.from_s, to_s: hours.end_s(), end: WindowEnd::Rule };
        }
        let Some(place) = weather.place else { return Window { from_s: 0.0, to_s: MORNING_S, end: WindowEnd::Morning } };
        let end = if place.zone.is_some() { WindowEnd::Sunrise } else { WindowEnd::SolarSunrise };
        Window { from_s: 0.0, to_s: sunrise_and_sunset_s(&place, date)[0].max(0.0), end }
    }

    /// How long it is, s.
    pub fn length_s(&self) -> f64 {
        self.to_s - self.from_s
    }
}

/// The runs of one day.
#[derive(Clone, Debug, PartialEq)]
struct DayRuns {
    date: Date,
    begin_s: f64,
    /// The end of the last run, s after the midnight with which the day begins.
    end_s: f64,
    rounds: Vec<(f64, Vec<(String, f64)>)>,
}

/// Runs of a day that do not end in their hours.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Late {
    /// The day.
    pub date: Date,
    /// Their beginning, s after midnight.
    pub begin_s: f64,
    /// Their end, s after the same midnight.
    pub end_s: f64,
}

/// The end of the hours where nothing is known of the place, s after midnight.
const MORNING_S: f64 = 6.0 * 3600.0;
/// Starts are at full minutes of this many seconds.
const START_STEP_S: f64 = 300.0;

/// What beds need in the seven days from a day on.
///
/// Until that day a bed is taken as watered by the rule, from planting on; where it says what is missing now, or when it was last full,
/// that counts instead. Days that the weather does not have yet are taken like the mean of the last week, without rain.
///
/// Errors: as for a season; a day before the weather begins, or more than a week after it ends.
pub fn week(beds: &[Bed], weather: &Weather, date: Date, plan: &Plan) -> Result<Week, SeasonError> {
    check(beds, plan)?;
    if let Some((first, end)) = weather.span().filter(|&(first, end)| date < first || end.plus(WEEK_DAYS) < date) {
        return Err(SeasonError::NoWeek { date, first, end });
    }
    let last = date.plus(WEEK_DAYS - 1);
    let known_to = weather.span().map_or(last, |(_, end)| last.min(end));
    let before = weather.span().map_or(date, |(first, _)| date.plus(-WEEK_DAYS).max(first)).min(known_to);
    let spans = beds.iter().map(|bed| span(bed, weather, plan)).collect::<Result<Vec<_>, _>>()?;
    let wanted = spans.iter().map(|span| (span.from.min(known_to), known_to));
    let courses = courses(wanted.chain([(before, known_to)]), weather)?;
    let coming = coming(days_of(&courses, before, known_to), date, last);
    let job = |(bed, span): (&Bed, &super::run::Span)| {
        let ends = bed.crop.days().map(|days| span.planted.plus(days as i32 - 1));
        let from = bed.full_on.map_or(span.from, |full_on| full_on.plus(1).max(span.from));
        let missing_mm = match (bed.missing_mm, bed.full_on) {
            (Some(missing_mm), _) => missing_mm,
            (None, full_on) if from < date => {
                // What was given is known where somebody kept a log.
                let is_known = full_on.is_some() || !bed.log.is_empty();
                let until_now = Plan { rule: if is_known { Rule::NoWater } else { plan.rule }, ..plan.clone() };
                let past = days_of(&courses, from, date.plus(-1).min(known_to));
                let past = balance(bed, &until_now, span.planted, 0.0, past);
                past.last().map_or(0.0, |day| day.end_mm)
            }
            _ => 0.0,
        };
        let grows = |day: &&CourseDay| ends.is_none_or(|ends| day.date <= ends) && day.date >= span.planted;
        let weather: Vec<CourseDay> = coming.iter().filter(grows).copied().collect();
        let days = balance(bed, plan, span.planted, missing_mm, &weather);
        let waterings = days.iter().filter(|day| day.given_mm > 0.0).map(|day| watering(bed, day)).collect();
        let (short_by_mm, limit_mm) = days.first().map_or((0.0, 0.0), |day| (day.start_mm, day.limit_mm()));
        Job { bed: bed.clone(), short_by_mm, limit_mm, waterings, is_over: ends.is_some_and(|ends| ends < date), days }
    };
    let jobs = beds.iter().zip(&spans).map(job).collect();
    let assumed_from = (known_to < last).then(|| known_to.plus(1).max(date));
    let window = Window::of(plan, weather, date);
    Ok(Week { date, jobs, assumed_from, window, remarks: courses.into_iter().flat_map(|course| course.remarks).collect() })
}

/// The days of the week: those that are known, then the mean of the last days without rain.
fn coming(known: &[CourseDay], date: Date, last: Date) -> Vec<CourseDay> {
    let recent = &known[known.len().saturating_sub(WEEK_DAYS as usize)..];
    let Some(latest) = recent.last() else { return Vec::new() };
    let mean_mm = recent.iter().map(|day| day.et0.mm).sum::<f64>() / recent.len() as f64;
    let mut et0 = latest.et0;
    et0.mm = mean_mm;
    let day = |step: i32| {
        let date = date.plus(step);
        let known = known.iter().find(|day| day.date == date);
        known.copied().unwrap_or(CourseDay { date, rain_mm: 0.0, et0, filled: true })
    };
    (0..=last.since(date)).map(day).collect()
}

fn watering(bed: &Bed, day: &BedDay) -> Watering {
    let gross_mm = bed.gross_mm(day.given_mm);
    let cycles = bed.water.map(|water| bed.soil.cycles(water.rate_mm_per_h, gross_mm));
    let run_s = bed.water.map(|water| 3600.0 * run_time_s(gross_mm, water.rate_mm_per_h, 1.0));
    Watering { date: day.date, net_mm: day.given_mm, gross_mm, run_s, cycles }
}

impl Week {
    /// The schedule of the week: each day's zones one after another from a time of day on, in seconds after midnight, in the evening or
    /// at dawn of the day on which they are due; pauses of one zone are used by others. Day 1 is the first day of the week.
    ///
    /// Errors: a bed that needs water and has no rate.
    pub fn schedule(&self, start_s: f64) -> Result<Schedule, SeasonError> {
        let mut schedule = Schedule { first_date: Some(self.date.moment()), ..Schedule::default() };
        for day in self.runs(start_s)? {
            for (round, (begin_s, zones)) in day.rounds.into_iter().enumerate() {
                let mut timer = Timer::new(&format!("{} {}, round {}", day.date.weekday(), day.date, round + 1));
                timer.starts_s = vec![begin_s];
                timer.every_s = f64::from(WEEK_DAYS) * DAY_S;
                timer.first_day = (day.date.since(self.date) + 1) as u32;
                timer.zones = zones;
                schedule.timers.push(timer);
            }
        }
        Ok(schedule)
    }

    /// When to start so that the longest day ends with the hours in which water is to run, at full five minutes: at the beginning of
    /// the hours where that does not fit.
    ///
    /// Errors: a bed that needs water and has no rate.
    pub fn latest_start_s(&self) -> Result<f64, SeasonError> {
        let longest_s = self.runs(self.window.from_s)?.iter().map(|day| day.end_s - day.begin_s).fold(0.0, f64::max);
        let start_s = ((self.window.to_s - longest_s) / START_STEP_S).floor() * START_STEP_S;
        Ok(start_s.max(self.window.from_s))
    }

    /// The days whose runs do not end within the hours in which water is to run, from a start.
    ///
    /// Errors: a bed that needs water and has no rate.
    pub fn late(&self, start_s: f64) -> Result<Vec<Late>, SeasonError> {
        // A start in the evening of hours that end in the morning is before their midnight.
        let window = self.window;
        let shift_s = if start_s < window.from_s && start_s + DAY_S <= window.to_s { DAY_S } else { 0.0 };
        let is_outside = |day: &DayRuns| {
            let (begin_s, end_s) = (day.begin_s + shift_s, day.end_s + shift_s);
            begin_s < window.from_s - 1e-6 || end_s > window.to_s + 1e-6
        };
        let late = |day: DayRuns| Late { date: day.date, begin_s: day.begin_s, end_s: day.end_s };
        Ok(self.runs(start_s)?.into_iter().filter(is_outside).map(late).collect())
    }

    /// The runs of each day on which a bed needs water.
    fn runs(&self, start_s: f64) -> Result<Vec<DayRuns>, SeasonError> {
        let mut found = Vec::new();
        let mut busy_to_s = 0.0;
        for offset in 0..WEEK_DAYS {
            let date = self.date.plus(offset);
            let mut left: Vec<(&str, Cycles, usize, f64)> = Vec::new();
            for job in &self.jobs {
                let Some(watering) = job.waterings.iter().find(|watering| watering.date == date) else { continue };
                let cycles = watering.cycles.ok_or_else(|| SeasonError::NoRate { bed: job.bed.name.clone() })?;
                left.push((job.bed.zone(), cycles, 0, start_s));
            }
            // Runs and pauses of the day before may not be over yet.
            let mut now_s = f64::max(start_s, busy_to_s - f64::from(offset) * DAY_S);
            let mut rounds = Vec::new();
            while !left.is_empty() {
                // No zone of this round begins before its puddle is gone.
                let mut begin_s = now_s;
                let mut ahead_s = 0.0;
                for (_, cycles, _, ready_s) in &left {
                    begin_s = f64::max(begin_s, ready_s - ahead_s);
                    ahead_s += cycles.run_s;
                }
                now_s = begin_s;
                let mut zones = Vec::new();
                for (zone, cycles, done, ready_s) in &mut left {
                    now_s += cycles.run_s;
                    zones.push((zone.to_string(), cycles.run_s));
                    *done += 1;
                    *ready_s = now_s + cycles.soak_s;
                }
                left.retain(|(_, cycles, done, _)| *done < cycles.count);
                rounds.push((begin_s, zones));
                busy_to_s = now_s + f64::from(offset) * DAY_S;
            }
            if let Some((begin_s, _)) = rounds.first() {
                found.push(DayRuns { date, begin_s: *begin_s, end_s: now_s, rounds });
            }
        }
        Ok(found)
    }
}
