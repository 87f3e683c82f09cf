//! What a reader of weather must know: faults of lines, days without values, units that were read from the size of the numbers.

use super::day::Field;
use crate::moment::Date;

/// Something about weather that must be reported.
#[derive(Clone, Debug, PartialEq)]
pub enum Remark {
    /// The low of a day is above its high; neither is used.
    LowAboveHigh {
        /// Line of the text, from 1.
        line: usize,
        /// The day.
        date: Date,
        /// What stands as the low, degC.
        low_c: f64,
        /// What stands as the high, degC.
        high_c: f64,
    },
    /// A value that no weather has; it is not used.
    OutOfReason {
        /// Line of the text, from 1.
        line: usize,
        /// The day.
        date: Date,
        /// What it is.
        field: Field,
        /// The value in the unit of the field.
        value: f64,
    },
    /// Low and high of a day lie further apart than weather has them: one of them may be wrong. They are used.
    WideDay {
        /// Line of the text, from 1.
        line: usize,
        /// The day.
        date: Date,
        /// The low, degC.
        low_c: f64,
        /// The high, degC.
        high_c: f64,
    },
    /// Rain below zero; it is not used.
    RainBelowZero {
        /// Line of the text, from 1.
        line: usize,
        /// The day.
        date: Date,
        /// The rain, mm.
        rain_mm: f64,
    },
    /// A day stands twice. It is used where both lines agree, else neither.
    DayTwice {
        /// Both lines of the text, from 1.
        lines: (usize, usize),
        /// The day.
        date: Date,
        /// True where both say the same.
        same: bool,
    },
    /// Days for which the text has no line.
    DaysMissing {
        /// The first.
        from: Date,
        /// The last.
        to: Date,
    },
    /// A cell that is neither a number nor one of the marks for a missing value; it counts as missing.
    Unreadable {
        /// Line of the text, from 1.
        line: usize,
        /// What should stand there.
        field: Field,
        /// What stands there.
        text: String,
    },
    /// A line whose first cell is no day; it is not used.
    NotADay {
        /// Line of the text, from 1.
        line: usize,
        /// What stands there.
        text: String,
    },
    /// Days with a line but without a value in a column that is needed.
    NoValue {
        /// What is missing.
        field: Field,
        /// The days.
        dates: Vec<Date>,
    },
    /// Traces of rain, which count as none.
    Traces {
        /// On how many days.
        days: usize,
    },
    /// Units that no heading names, as they were read from the size of the numbers.
    ReadAs {
        /// The unit of the temperatures, of depths and of wind, for those that were read so.
        units: Vec<&'static str>,
    },
    /// Headings that were not understood.
    NotRead {
        /// The headings.
        headings: Vec<String>,
    },
    /// Days whose temperatures or rain were missing and were filled: temperatures on a straight line, rain with none.
    Filled {
        /// What was filled.
        field: Field,
        /// The days.
        dates: Vec<Date>,
    },
    /// The text has no rain at all, and it counts as none.
    NoRain,
    /// The height of the wind instrument is not given; 10 m is taken, the height at which stations measure.
    WindHeightAssumed,
    /// Reference evapotranspiration is from temperatures alone.
    TemperaturesOnly {
        /// On how many days.
        days: usize,
        /// Of how many.
        of: usize,
    },
    /// Wind was measured on no instrument, and 2 m/s is taken, where other instruments are known.
    WindAssumed {
        /// On how many days.
        days: usize,
        /// Of how many.
        of: usize,
    },
    /// Radiation is from temperatures, where other instruments are known.
    SunAssumed {
        /// On how many days.
        days: usize,
        /// Of how many.
        of: usize,
    },
    /// The mean wind at 2 m of these days is that of an open place, m/s.
    WindOfStation {
        /// Mean wind at 2 m, m/s.
        wind_m_per_s: f64,
    },
    /// Rain is from a gauge.
    Gauge {
        /// How many readings it has.
        readings: usize,
    },
    /// The mean reference evapotranspiration of a month is higher than anywhere, mm.
    Et0Unusual {
        /// Its year and month.
        month: (i32, u32),
        /// The mean, mm a day.
        mean_mm: f64,
    },
    /// Days are made from monthly means.
    FromMonths,
}
