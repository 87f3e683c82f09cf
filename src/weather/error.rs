//! Why weather cannot be read or used.

use super::day::Field;
use crate::moment::Date;
use crate::nearest::did_you_mean;
use crate::told::Told;
use crate::unit_system::example;
use thiserror::Error;

/// Why weather cannot be read, or does not give what is asked of it.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum WeatherError {
    /// No line has the headings of columns.
    #[error("'{name}': no line has headings with a date or a month; the first line is '{first}'")]
    NoHeadings {
        /// Name of the text.
        name: String,
        /// Its first line.
        first: String,
    },
    /// A column that is needed is not there.
    #[error("'{name}', line {line}: no column for {}; not understood: {}", .missing.name(), listed(.not_read))]
    NoColumn {
        /// Name of the text.
        name: String,
        /// Line of the headings, from 1.
        line: usize,
        /// What is missing.
        missing: Field,
        /// Headings that were not understood.
        not_read: Vec<String>,
    },
    /// Two columns mean the same.
    #[error("'{name}', line {line}: two columns for {}: '{}' and '{}'", .field.name(), .headings.0, .headings.1)]
    TwoColumns {
        /// Name of the text.
        name: String,
        /// Line of the headings, from 1.
        line: usize,
        /// What they mean.
        field: Field,
        /// The two headings.
        headings: (String, String),
    },
    /// Lows and highs stand in each other's columns.
    #[error("'{name}', line {line}: the low is above the high on {days} of {of} days")]
    Swapped {
        /// Name of the text.
        name: String,
        /// Line of the headings, from 1.
        line: usize,
        /// Days on which the low is above the high.
        days: usize,
        /// All days.
        of: usize,
    },
    /// Month and day of the dates cannot be distinguished.
    #[error("'{name}', line {line}: '{text}' may be {month_first} or {day_first}, and no line decides")]
    DateOrder {
        /// Name of the text.
        name: String,
        /// Line, from 1.
        line: usize,
        /// The date as it stands there.
        text: String,
        /// The date if the month comes first.
        month_first: Date,
        /// The date if the day comes first.
        day_first: Date,
    },
    /// Dates of both orders.
    #[error("'{name}': dates in two orders: '{}' in line {} has the month first, '{}' in line {} the day", .month_first.1, .month_first.0, .day_first.1, .day_first.0)]
    TwoDateOrders {
        /// Name of the text.
        name: String,
        /// Line and text of a date with the month first.
        month_first: (usize, String),
        /// Line and text of a date with the day first.
        day_first: (usize, String),
    },
    /// No line with a day.
    #[error("'{name}' has no line with a day and its values")]
    NoDays {
        /// Name of the text.
        name: String,
    },
    /// The days lie further apart than any record of weather.
    #[error("'{name}': {first} to {last} is longer than {most_years} years")]
    TooLong {
        /// Name of the text.
        name: String,
        /// First day.
        first: Date,
        /// Last day.
        last: Date,
        /// The most years.
        most_years: i32,
    },
    /// Not twelve months, or one of them twice.
    #[error("'{name}': expected the months 1 to 12 once each, found {found} of them")]
    Months {
        /// Name of the text.
        name: String,
        /// How many different ones were found.
        found: usize,
    },
    /// The place is not given.
    #[error("the place of '{name}' is not given; the sun depends on it")]
    NoPlace {
        /// Name of the text.
        name: String,
    },
    /// A latitude or elevation that no place has.
    #[error("the {what} of the place is {found}; expected {expected}")]
    BadPlace {
        /// What it is.
        what: &'static str,
        /// What was given, in degrees or m.
        found: f64,
        /// What is accepted.
        expected: &'static str,
    },
    /// A number of the method that is out of range.
    #[error("the {what} is {found}; expected {expected}")]
    BadSetting {
        /// What it is.
        what: &'static str,
        /// What was given.
        found: f64,
        /// What is accepted.
        expected: &'static str,
    },
    /// Days without temperatures or rain, more in a row than are filled.
    #[error("'{name}' has no {} from {from} to {to}; at most {most} days in a row are filled", .field.name())]
    Gap {
        /// Name of the text.
        name: String,
        /// What is missing.
        field: Field,
        /// First day without it.
        from: Date,
        /// Last day without it.
        to: Date,
        /// How many days in a row are filled.
        most: usize,
    },
    /// Days that the text does not have.
    #[error("'{name}' has the days {first} to {last}; {wanted} is not among them")]
    Outside {
        /// Name of the text.
        name: String,
        /// First day of the text.
        first: Date,
        /// Last day of the text.
        last: Date,
        /// What was asked for.
        wanted: Date,
    },
}

fn listed(headings: &[String]) -> String {
    if headings.is_empty() {
        "none".into()
    } else {
        headings.iter().map(|text| format!("'{text}'")).collect::<Vec<_>>().join(", ")
    }
}

/// Headings that are advised.
const KNOWN: &[&str] = &[
    "date",
    "tmin",
    "tmax",
    "rain",
    "rh",
    "dew_point",
    "wind",
    "sunshine",
    "radiation",
    "et0",
    "month",
    "low",
    "high",
    "precip",
];

impl Told for WeatherError {
    fn hint(&self) -> Option<String> {
        Some(match self {
            WeatherError::Swapped { .. } => "exchange the headings of the two columns".into(),
            WeatherError::NoHeadings { .. } => "name the columns in one line, as in date,tmin_C,tmax_C,rain_mm".into(),
            WeatherError::NoColumn { missing, not_read, .. } => {
                let meant = not_read.iter().find_map(|text| {
                    let first = text.split([' ', '_', '(', '[']).next().unwrap_or_default();
                    did_you_mean(&first.to_lowercase(), KNOWN.iter().copied())
                });
                meant.unwrap_or_else(|| {
                    format!("name a column {}, with its unit in brackets or after an underscore", missing.name())
                })
            }
            WeatherError::TwoColumns { .. } => "rename or remove one of them".into(),
            WeatherError::DateOrder { .. } => "write dates as 2015-05-15, or take more days into the file".into(),
            WeatherError::TwoDateOrders { .. } => "write all dates in one order, best as 2015-05-15".into(),
            WeatherError::NoDays { .. } => "write one line a day, or one a month".into(),
            WeatherError::TooLong { .. } => "look for a year that was mistyped".into(),
            WeatherError::Months { .. } => "give tmin, tmax and rain of all twelve months".into(),
            WeatherError::NoPlace { .. } => {
                format!(
                    "give latitude, south below zero, and elevation: {}",
                    example(".place(47.45, 430.ft)", ".place(47.45, 130.m)")
                )
            }
            WeatherError::Gap { .. } => "add the days from a neighboring station, or choose a time without the gap".into(),
            WeatherError::Outside { .. } => "choose a day of the file, or read a file that has it".into(),
            WeatherError::BadPlace { .. } | WeatherError::BadSetting { .. } => return None,
        })
    }
}
