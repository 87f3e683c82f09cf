//! How a season is watered and counted: the rule, the days and hours that are allowed, the year, and what a study makes of the weather.

use super::error::SeasonError;
use crate::moment::Date;
use crate::operation::{CalendarDays, Hours};

/// Days after which any calendar of allowed days has come round.
const LONGEST_WAIT_DAYS: i32 = 31;

/// When and how much water is given.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Rule {
    /// All that is missing, on the day on which stress would begin.
    #[default]
    Refill,
    /// A fixed depth on such days.
    Fixed {
        /// Depth, mm.
        mm: f64,
    },
    /// At an interval of days, whether it is needed or not.
    Every {
        /// From one day to the next.
        days: u32,
        /// Depth, mm; none for all that is missing.
        mm: Option<f64>,
    },
    /// On the day on which stress would begin and after it, a share of what the crop would have used since the last watering less the rain.
    Deficit {
        /// The share of one.
        share: f64,
    },
    /// None.
    NoWater,
}

/// How a season is watered and counted.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// When and how much.
    pub rule: Rule,
    /// False where rain of a day below a fifth of reference evapotranspiration counts for nothing.
    pub light_rain_counts: bool,
    /// Days on which watering is allowed; all by default.
    pub allowed: Option<CalendarDays>,
    /// Hours in which watering is allowed; from midnight to sunrise where none are given.
    pub hours: Option<Hours>,
    /// The year in which beds are planted and covers are watered, in place of the years of their planting.
    pub year: Option<i32>,
    /// What a study makes of the rain of the weather: times one by default.
    pub rain_factor: f64,
    /// What a study makes of the reference evapotranspiration: times one by default.
    pub et0_factor: f64,
}

impl Default for Plan {
    fn default() -> Plan {
        Plan {
            rule: Rule::Refill,
            light_rain_counts: true,
            allowed: None,
            hours: None,
            year: None,
            rain_factor: 1.0,
            et0_factor: 1.0,
        }
    }
}

impl Plan {
    /// Errors: a depth, a number of days or a share that does not fit; no day on which watering is allowed.
    pub fn check(&self) -> Result<(), SeasonError> {
        let within = |what: &str, found: f64, least: f64, most: f64, expected: &'static str| {
            let sound = (least..=most).contains(&found);
            if sound { Ok(()) } else { Err(SeasonError::OutOfRange { what: what.into(), found, expected }) }
        };
        within("the share of the rain", self.rain_factor, 0.0, 10.0, "0 to 10 (0 to 1000 percent)")?;
        within("the share of evapotranspiration", self.et0_factor, 0.1, 10.0, "0.1 to 10 (10 to 1000 percent)")?;
        if matches!(&self.allowed, Some(CalendarDays::Weekdays(days)) if days.is_empty()) {
            return Err(SeasonError::OutOfRange {
                what: "the number of allowed days".into(),
                found: 0.0,
                expected: "at least one",
            });
        }
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

    /// True on days on which watering is allowed.
    pub fn allows(&self, date: Date) -> bool {
        self.allowed.as_ref().is_none_or(|days| days.contains(date))
    }

    /// Days from a day to the next one on which watering is allowed: 1 where that is the day after.
    pub fn days_to_next(&self, date: Date) -> i32 {
        if self.allowed.is_none() {
            return 1;
        }
        (1..=LONGEST_WAIT_DAYS).find(|days| self.allows(date.plus(*days))).unwrap_or(LONGEST_WAIT_DAYS)
    }
}
