//! The water of one bed, day by day.
//!
//! Source: FAO Irrigation and Drainage Paper 56 (1998), equations 82 to 86 and 88, from memory: the single crop coefficient, stress by what
//! is missing at the start of the day. Rain and use of the day are booked, then, in the evening, what the rule gives; watering at dawn of
//! the next day is the same. What goes beyond field capacity percolates. Soil that growing roots newly reach is at field capacity.

use super::bed::Bed;
use super::plan::{Plan, Rule};
use crate::moment::Date;
use crate::soil::{adjusted_share, stress};
use crate::weather::CourseDay;

/// Rain of a day below this share of reference evapotranspiration evaporates before it counts, where that is asked for.
/// From memory, FAO Irrigation and Drainage Paper 56 (1998), chapter 8.
const LIGHT_RAIN_SHARE: f64 = 0.2;

/// A day of a bed; depths in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BedDay {
    /// The day.
    pub date: Date,
    /// Days since planting, the day of planting being 1.
    pub day_of_crop: u32,
    /// Rain that fell.
    pub rain_mm: f64,
    /// Rain that evaporated from leaves before it counted.
    pub lost_mm: f64,
    /// Rain that ran off.
    pub runoff_mm: f64,
    /// Reference evapotranspiration.
    pub et0_mm: f64,
    /// The crop coefficient with mulch and exposure.
    pub coefficient: f64,
    /// Depth of the roots, m.
    pub roots_m: f64,
    /// Water that the roots reach at field capacity.
    pub reservoir_mm: f64,
    /// Share of it that may be used without stress on this day.
    pub share: f64,
    /// What was missing in the morning.
    pub start_mm: f64,
    /// How much of what it would like to use the crop used, 0 to 1.
    pub stress: f64,
    /// What the crop used.
    pub used_mm: f64,
    /// What was given in the evening.
    pub given_mm: f64,
    /// What went below the roots.
    pub percolated_mm: f64,
    /// What is missing in the evening.
    pub end_mm: f64,
}

impl BedDay {
    /// What may be missing without stress, mm.
    pub fn limit_mm(&self) -> f64 {
        self.share * self.reservoir_mm
    }

    /// What the day does not account for, mm: nothing but rounding.
    pub fn imbalance_mm(&self) -> f64 {
        let gained_mm = self.rain_mm - self.lost_mm - self.runoff_mm + self.given_mm;
        self.start_mm + self.used_mm + self.percolated_mm - gained_mm - self.end_mm
    }
}

/// Sums over days; depths in mm.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Totals {
    /// How many days.
    pub days: usize,
    /// Rain.
    pub rain_mm: f64,
    /// Rain that evaporated at once or ran off.
    pub rain_lost_mm: f64,
    /// Reference evapotranspiration.
    pub et0_mm: f64,
    /// What the crop used.
    pub used_mm: f64,
    /// What was given.
    pub given_mm: f64,
    /// How often water was given.
    pub waterings: usize,
    /// What went below the roots.
    pub percolated_mm: f64,
    /// Days on which the crop used less than it would have liked.
    pub stress_days: usize,
    /// The day of the crop on which water was first given.
    pub first_watering: Option<u32>,
    /// The days on which water was first and last given.
    pub watered: Option<(Date, Date)>,
    /// The lowest share of what it would have liked to use.
    pub lowest_stress: f64,
    /// The most that was missing in an evening.
    pub most_missing_mm: f64,
    /// What is missing at the end.
    pub end_mm: f64,
}

impl Totals {
    /// The sums of days.
    pub fn of(days: &[BedDay]) -> Totals {
        let mut totals = Totals { days: days.len(), lowest_stress: 1.0, ..Totals::default() };
        for day in days {
            totals.rain_mm += day.rain_mm;
            totals.rain_lost_mm += day.lost_mm + day.runoff_mm;
            totals.et0_mm += day.et0_mm;
            totals.used_mm += day.used_mm;
            totals.given_mm += day.given_mm;
            totals.percolated_mm += day.percolated_mm;
            totals.stress_days += usize::from(day.stress < 1.0);
            totals.lowest_stress = totals.lowest_stress.min(day.stress);
            totals.most_missing_mm = totals.most_missing_mm.max(day.end_mm);
            totals.end_mm = day.end_mm;
            if day.given_mm > 0.0 {
                totals.waterings += 1;
                totals.first_watering = totals.first_watering.or(Some(day.day_of_crop));
                totals.watered = Some((totals.watered.map_or(day.date, |(first, _)| first), day.date));
            }
        }
        totals
    }
}

/// The days of a bed over the days of a weather, from `missing_mm` in the morning of the first; `planted` is day 1 of the crop.
///
/// Where the bed has a log, water is given as it says until its last day, and by the rule afterwards. Where only some days are allowed,
/// the rule acts on them, and water is due where a use like that of the day would bring stress before the next of them.
pub fn balance(bed: &Bed, plan: &Plan, planted: Date, missing_mm: f64, weather: &[CourseDay]) -> Vec<BedDay> {
    let coefficients = bed.coefficients();
    let logged_to = bed.log.iter().map(|(date, _)| *date).max();
    let mut missing_mm = missing_mm;
    // What the crop would have used since the last watering less the rain, for a deficit.
    let mut wanted_mm = 0.0;
    let mut waited_days = 0;
    let mut days = Vec::with_capacity(weather.len());
    for weather in weather {
        let date = weather.date;
        let (rain_mm, et0_mm) = (plan.rain_factor * weather.rain_mm, plan.et0_factor * weather.et0.mm);
        let day_of_crop = (date.since(planted) + 1).max(1) as u32;
        let coefficient = bed.exposure * bed.crop.coefficient_of(coefficients, day_of_crop);
        // Dew is not counted as rain.
        let would_use_mm = (coefficient * et0_mm).max(0.0);
        let roots_m = bed.crop.roots_on_m(day_of_crop, bed.ground_m);
        let reservoir_mm = bed.soil.reservoir_mm(roots_m);
        let share = adjusted_share(bed.crop.share, would_use_mm);
        let start_mm = missing_mm.min(reservoir_mm);
        let stress = stress(reservoir_mm, share, start_mm);
        let is_light = rain_mm < LIGHT_RAIN_SHARE * et0_mm;
        let lost_mm = if is_light && !plan.light_rain_counts { rain_mm } else { 0.0 };
        let runoff_mm = bed.soil.runoff_mm(rain_mm - lost_mm);
        let entered_mm = rain_mm - lost_mm - runoff_mm;
        let used_mm = (stress * would_use_mm).min(reservoir_mm - start_mm + entered_mm);
        let before_mm = start_mm + used_mm - entered_mm;
        let left_mm = before_mm.max(0.0);
        wanted_mm += would_use_mm - entered_mm;
        waited_days += 1;
        let given_mm = match logged_to {
            Some(last) if date <= last => bed.logged_mm(date),
            _ if !plan.allows(date) => 0.0,
            _ => {
                let ahead_mm = f64::from(plan.days_to_next(date) - 1) * would_use_mm;
                let is_due = left_mm + ahead_mm >= share * reservoir_mm;
                match plan.rule {
                    Rule::Refill if is_due => left_mm,
                    Rule::Fixed { mm } if is_due => mm,
                    Rule::Every { days, mm } if waited_days >= days.max(1) => {
                        waited_days = 0;
                        mm.unwrap_or(left_mm)
                    }
                    Rule::Deficit { share } if is_due => (share * wanted_mm).clamp(0.0, left_mm),
                    _ => 0.0,
                }
            }
        };
        if given_mm > 0.0 {
            wanted_mm = 0.0;
        }
        let after_mm = left_mm - given_mm;
        let percolated_mm = (-before_mm).max(0.0) + (-after_mm).max(0.0);
        missing_mm = after_mm.max(0.0);
        days.push(BedDay {
            date,
            day_of_crop,
            rain_mm,
            lost_mm,
            runoff_mm,
            et0_mm,
            coefficient,
            roots_m,
            reservoir_mm,
            share,
            start_mm,
            stress,
            used_mm,
            given_mm,
            percolated_mm,
            end_mm: missing_mm,
        });
    }
    days
}
