//! Beds over the days of a weather.

use super::balance::{BedDay, Rule, Totals, balance};
use super::bed::Bed;
use super::error::SeasonError;
use crate::limits;
use crate::moment::Date;
use crate::weather::{Course, CourseDay, Remark, Weather};

/// How a season is watered and counted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plan {
    /// When and how much.
    pub rule: Rule,
    /// False where rain of a day below a fifth of reference evapotranspiration counts for nothing.
    pub light_rain_counts: bool,
}

impl Default for Plan {
    fn default() -> Plan {
        Plan { rule: Rule::Refill, light_rain_counts: true }
    }
}

impl Plan {
    /// Errors: a depth, a number of days or a share that does not fit.
    pub fn check(&self) -> Result<(), SeasonError> {
        let within = |what: &str, found: f64, least: f64, most: f64, expected: &'static str| {
            let sound = (least..=most).contains(&found);
            if sound { Ok(()) } else { Err(SeasonError::OutOfRange { what: what.into(), found, expected }) }
        };
        match self.rule {
            Rule::Fixed { mm } => within("the depth of a watering in mm", mm, 0.01, 1000.0, "above 0 mm, to 1000 mm"),
            Rule::Every { days, mm } => {
                within("the days between waterings", f64::from(days), 1.0, 366.0, "1 to 366 days")?;
                within("the depth of a watering in mm", mm.unwrap_or(1.0), 0.01, 1000.0, "above 0 mm, to 1000 mm")
            }
            Rule::Deficit { share } => within("the share of a deficit", share, 0.0, 1.0, "0 to 1"),
            Rule::Refill | Rule::NoWater => Ok(()),
        }
    }
}

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

/// The days of a bed in a weather. Errors: not planted; no day of the crop in the weather.
pub(super) fn span(bed: &Bed, weather: &Weather) -> Result<Span, SeasonError> {
    let not_planted = || SeasonError::NotPlanted { bed: bed.name.clone(), crop: bed.crop.name.clone() };
    let known = weather.span();
    let stays = bed.crop.days().is_none();
    let planted = bed.crop.planted.or(known.filter(|_| stays).map(|(first, _)| first)).ok_or_else(not_planted)?;
    let end_of_year = || Date::new(planted.year(), 12, 31).unwrap_or(planted);
    let grown = bed.crop.days().map(|days| planted.plus(days as i32 - 1));
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
    let spans = beds.iter().map(|bed| span(bed, weather)).collect::<Result<Vec<_>, _>>()?;
    let courses = courses(spans.iter().map(|span| (span.from, span.to)), weather)?;
    let of_bed = |(bed, span): (&Bed, &Span)| {
        let weather = days_of(&courses, span.from, span.to);
        let missing_mm = bed.missing_mm.unwrap_or(0.0);
        let days = balance(bed, plan.rule, plan.light_rain_counts, span.planted, missing_mm, weather);
        let begun_late = (span.planted < span.from).then_some(span.planted);
        BedSeason { bed: bed.clone(), days, cut_off: span.cut_off, begun_late }
    };
    let beds = limits::while_going_on(beds.iter().zip(&spans)).map(of_bed).collect();
    Ok(Season { beds, plan: *plan, remarks: courses.into_iter().flat_map(|course| course.remarks).collect() })
}
