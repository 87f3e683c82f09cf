//! Beds over the days of a weather.

use super::balance::{BedDay, Totals, balance};
use super::bed::Bed;
use super::error::SeasonError;
use super::plan::Plan;
use crate::limits;
use crate::moment::Date;
use crate::weather::{Course, CourseDay, Remark, Weather};

/// The season of a bed.
#[derive(Clone, Debug, PartialEq)]
pub struct BedSeason {
    /// The bed.
    pub bed: Bed,
    /// Its days.
    pub days: Vec<BedDay>,
    /// The last day on which the crop would grow, where the weather ends before.
    pub cut_off: Option<Date>,
    /// The day of planting, where the weather begins after.
    pub begun_late: Option<Date>,
}

impl BedSeason {
    /// Its sums.
    pub fn totals(&self) -> Totals {
        Totals::of(&self.days)
    }

    /// The sums of each of its months, by year and month.
    pub fn by_month(&self) -> Vec<((i32, u32), Totals)> {
        let month = |day: &BedDay| (day.date.year(), day.date.month());
        self.days.chunk_by(|a, b| month(a) == month(b)).map(|days| (month(&days[0]), Totals::of(days))).collect()
    }

    /// How long its zone runs for a net depth, s; none where it has no rate.
    pub fn run_s(&self, given_mm: f64) -> Option<f64> {
        self.bed.run_s(given_mm)
    }

    /// True where the weather has all days of its crop.
    pub fn is_whole(&self) -> bool {
        self.cut_off.is_none() && self.begun_late.is_none()
    }

    /// Water that its waterings take on its ground, m3, by their net depth; none where the ground is not given.
    pub fn volume_m3(&self, given_mm: f64) -> Option<f64> {
        self.bed.volume_m3(self.bed.gross_mm(given_mm))
    }
}

/// The season of beds.
#[derive(Clone, Debug, PartialEq)]
pub struct Season {
    /// One for each bed, in their order.
    pub beds: Vec<BedSeason>,
    /// How it was watered.
    pub plan: Plan,
    /// What a reader must know of the weather of these days.
    pub remarks: Vec<Remark>,
}

/// From planting to the end of the crop, as far as the weather goes.
#[derive(Clone, Copy)]
pub(super) struct Span {
    pub planted: Date,
    pub from: Date,
    pub to: Date,
    pub cut_off: Option<Date>,
}

/// The days of a bed in a weather, in the year of the plan where it has one. Errors: not planted; no day of the crop in the weather.
pub(super) fn span(bed: &Bed, weather: &Weather, plan: &Plan) -> Result<Span, SeasonError> {
    let not_planted = || SeasonError::NotPlanted { bed: bed.name.clone(), crop: bed.crop.name.clone() };
    let known = weather.span();
    let stays = bed.crop.days().is_none();
    let new_year = plan.year.and_then(|year| Date::new(year, 1, 1)).filter(|_| stays);
    let in_year = |planted: Date| plan.year.map_or(Some(planted), |year| planted.in_year(year));
    let planted = bed.crop.planted.and_then(in_year).or(new_year).or(known.filter(|_| stays).map(|(first, _)| first));
    let planted = planted.ok_or_else(not_planted)?;
    let end_of_year = || Date::new(planted.year(), 12, 31).unwrap_or(planted);
    let grown = bed.crop.days().map(|days| planted.plus(days as i32 - 1)).or(plan.year.map(|_| end_of_year()));
    let last = grown.or(known.map(|(_, last)| last)).unwrap_or_else(end_of_year);
    let (from, to) = known.map_or((planted, last), |(first, end)| (planted.max(first), last.min(end)));
    if from > to {
        return Err(SeasonError::NoDays { bed: bed.name.clone(), crop: bed.crop.name.clone(), from: planted, to: last });
    }
    Ok(Span { planted, from, to, cut_off: (to < last).then_some(last) })
}

/// Errors: no bed, a name twice, a number that does not fit.
pub(super) fn check(beds: &[Bed], plan: &Plan) -> Result<(), SeasonError> {
    if beds.is_empty() {
        return Err(SeasonError::NoBeds);
    }
    plan.check()?;
    for (index, bed) in beds.iter().enumerate() {
        bed.check()?;
        if beds[..index].iter().any(|other| other.name == bed.name) {
            return Err(SeasonError::SameName { name: bed.name.clone() });
        }
    }
    Ok(())
}

/// The weather of several spans; where they overlap it is evaluated once.
pub(super) fn courses(spans: impl Iterator<Item = (Date, Date)>, weather: &Weather) -> Result<Vec<Course>, SeasonError> {
    let mut spans: Vec<(Date, Date)> = spans.collect();
    spans.sort();
    let mut joined: Vec<(Date, Date)> = Vec::new();
    for (from, to) in spans {
        match joined.last_mut() {
            Some((_, last)) if from <= last.plus(1) => *last = to.max(*last),
            _ => joined.push((from, to)),
        }
    }
    joined.into_iter().map(|(from, to)| weather.course(from, to).map_err(SeasonError::from)).collect()
}

/// The days of a span in the courses that were made for it; fewer after a stop.
pub(super) fn days_of(courses: &[Course], from: Date, to: Date) -> &[CourseDay] {
    let course = courses.iter().find(|course| {
        course.days.first().is_some_and(|first| first.date <= from) && course.days.last().is_some_and(|last| last.date >= from)
    });
    let Some(course) = course else { return &[] };
    let at = from.since(course.days[0].date) as usize;
    let end = (at + (to.since(from) + 1).max(0) as usize).min(course.days.len());
    &course.days[at..end]
}

/// The season of beds, each from its planting to its harvest or to the end of the weather.
///
/// Errors: no bed; a number that does not fit; weather that is missing.
pub fn season(beds: &[Bed], weather: &Weather, plan: &Plan) -> Result<Season, SeasonError> {
    check(beds, plan)?;
    let spans = beds.iter().map(|bed| span(bed, weather, plan)).collect::<Result<Vec<_>, _>>()?;
    let courses = courses(spans.iter().map(|span| (span.from, span.to)), weather)?;
    let mut season = on_courses(beds, &spans, &courses, plan);
    season.remarks = courses.into_iter().flat_map(|course| course.remarks).collect();
    Ok(season)
}

/// The same where the weather of all its days was evaluated before, without its remarks; for studies with many cases.
///
/// Errors: as for [`season`].
pub fn season_on(beds: &[Bed], weather: &Weather, whole: &Course, plan: &Plan) -> Result<Season, SeasonError> {
    check(beds, plan)?;
    let spans = beds.iter().map(|bed| span(bed, weather, plan)).collect::<Result<Vec<_>, _>>()?;
    Ok(on_courses(beds, &spans, std::slice::from_ref(whole), plan))
}

fn on_courses(beds: &[Bed], spans: &[Span], courses: &[Course], plan: &Plan) -> Season {
    let of_bed = |(bed, span): (&Bed, &Span)| {
        let weather = days_of(courses, span.from, span.to);
        let days = balance(bed, plan, span.planted, bed.missing_mm.unwrap_or(0.0), weather);
        let begun_late = (span.planted < span.from).then_some(span.planted);
        BedSeason { bed: bed.clone(), days, cut_off: span.cut_off, begun_late }
    };
    let beds = limits::while_going_on(beds.iter().zip(spans)).map(of_bed).collect();
    Season { beds, plan: plan.clone(), remarks: Vec::new() }
}
