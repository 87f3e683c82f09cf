//! Weather: lines that are wrong, gaps, units, and how sure reference evapotranspiration is.

use super::{Entry, Level, Source};

/// The low of a day is above its high.
pub const LOW_ABOVE_HIGH: Entry = Entry {
    code: "weather-low-above-high",
    level: Level::Warning,
    why: "a swapped or mistyped temperature spoils the evapotranspiration of its day",
    what: "line {line}, {day}: the low of {low} is above the high of {high}; neither is used",
    action: "look up the day at the station, and correct the line",
    source: Source::Physics,
};

/// A value that no weather has.
pub const OUT_OF_REASON: Entry = Entry {
    code: "weather-out-of-reason",
    level: Level::Warning,
    why: "no place on earth has such weather; often a unit was mixed up",
    what: "line {line}, {day}: {column} of {value} is outside of all records; it is not used",
    action: "look up the day at the station, and correct the line",
    source: Source::CommonPractice,
};

/// Low and high of a day far apart.
pub const WIDE_DAY: Entry = Entry {
    code: "weather-wide-day",
    level: Level::Note,
    why: "temperatures of one day seldom differ that much; one may be in another unit",
    what: "line {line}, {day}: low {low} and high {high}",
    action: "look up the day at the station",
    source: Source::CommonPractice,
};

/// Rain below zero.
pub const RAIN_BELOW_ZERO: Entry = Entry {
    code: "weather-rain-below-zero",
    level: Level::Warning,
    why: "a gauge cannot catch less than nothing",
    what: "line {line}, {day}: rain of {rain}; it is not used",
    action: "look up the day at the station, and correct the line",
    source: Source::Physics,
};

/// A day stands twice with different values.
pub const DAY_TWICE: Entry = Entry {
    code: "weather-day-twice",
    level: Level::Warning,
    why: "it cannot be determined which line is right",
    what: "{day} is in line {line} and again in line {second} with other values; neither is used",
    action: "remove the wrong line",
    source: Source::Physics,
};

/// Days without a line.
pub const DAYS_MISSING: Entry = Entry {
    code: "weather-days-missing",
    level: Level::Note,
    why: "up to 3 days in a row are filled, and longer gaps stop a season",
    what: "no line for {day}[ to {last}]",
    action: "add the days from a neighboring station",
    source: Source::Physics,
};

/// A cell that is no number.
pub const UNREADABLE: Entry = Entry {
    code: "weather-unreadable",
    level: Level::Warning,
    why: "a value that cannot be read counts as missing",
    what: "line {line}: {column} is '{text}', which is not a number",
    action: "write a number, or leave it empty",
    source: Source::Physics,
};

/// A line that begins with no day.
pub const NOT_A_DAY: Entry = Entry {
    code: "weather-not-a-day",
    level: Level::Note,
    why: "a line without a day is left out",
    what: "line {line}: '{text}' is not a day",
    action: "write days as 2015-05-15, or begin the line with # if it is a comment",
    source: Source::Physics,
};

/// Days without a value that is needed.
pub const NO_VALUE: Entry = Entry {
    code: "weather-no-value",
    level: Level::Note,
    why: "up to 3 days in a row are filled, and longer gaps stop a season",
    what: "no {column} on {days}",
    action: "add the values from a neighboring station",
    source: Source::Physics,
};

/// Days that were filled.
pub const FILLED: Entry = Entry {
    code: "weather-filled",
    level: Level::Note,
    why: "temperatures between two days are taken on a straight line, and missing rain as none",
    what: "{column} was filled on {days}",
    action: "add the values from a neighboring station",
    source: Source::CommonPractice,
};

/// Units that no heading names.
pub const UNITS_ASSUMED: Entry = Entry {
    code: "weather-units-assumed",
    level: Level::Note,
    why: "headings name no unit, so the size of the numbers decided",
    what: "read as {units}",
    action: "put the unit into the heading, as in tmax_F or rain_in",
    source: Source::CommonPractice,
};

/// Headings that were not understood.
pub const COLUMNS_NOT_READ: Entry = Entry {
    code: "weather-columns-not-read",
    level: Level::Note,
    why: "a column under another name is not used",
    what: "not read: {headings}",
    action: "if one of them has rain, wind, humidity or sun, rename it, with its unit",
    source: Source::Physics,
};

/// A file without rain.
pub const NO_RAIN: Entry = Entry {
    code: "weather-no-rain",
    level: Level::Warning,
    why: "without rain every season is a drought, and too much water is given",
    what: "the file has no rain, and it counts as none",
    action: "read a gauge with .rain_from(\"gauge.csv\")",
    source: Source::Physics,
};

/// The height of the wind instrument is not given.
pub const WIND_HEIGHT: Entry = Entry {
    code: "weather-wind-height",
    level: Level::Note,
    why: "wind near the ground is weaker: at 2 m it has three quarters of its speed at 10 m; a garden with hedges has less than an airport",
    what: "the height of the wind instrument is not given; 10 m is taken, as stations measure",
    action: "give it as in .wind_at({33.ft|10.m})",
    source: Source::CommonPractice,
};

/// Evapotranspiration from temperatures alone.
pub const FROM_TEMPERATURES: Entry = Entry {
    code: "evapotranspiration-from-temperatures",
    level: Level::Note,
    why: "single days are off by 15 to 30 %; against all instruments, season totals were 18 to 24 % low in New York in 2013, 4 to 5 % high in \
          Greensboro, and 8 to 9 % high in Seattle, where only wind was known besides",
    what: "evapotranspiration is from temperatures alone on {days} of {of} days",
    action: "add humidity, wind or sun from the station; methods() compares the totals",
    source: Source::CommonPractice,
};

/// Weather from monthly means.
pub const FROM_MONTHS: Entry = Entry {
    code: "weather-from-months",
    level: Level::Note,
    why: "rain that is spread evenly never percolates and no dry spell comes, so water for the garden is underestimated in a dry year",
    what: "days are made from monthly means",
    action: "use days of a dry and of a wet year where they are known",
    source: Source::CommonPractice,
};

/// Wind that nobody measured.
pub const WIND_ASSUMED: Entry = Entry {
    code: "weather-wind-assumed",
    level: Level::Note,
    why: "2 m/s (4.5 mph) is the mean of many stations; gardens with hedges have less, and use less water",
    what: "wind of 2 m/s is taken on {days} of {of} days",
    action: "add the wind of a station, or count on a little less water",
    source: Source::FromMemory("FAO Irrigation and Drainage Paper 56 (1998), chapter 3"),
};

/// Sun that nobody measured.
pub const SUN_ASSUMED: Entry = Entry {
    code: "weather-sun-assumed",
    level: Level::Note,
    why: "the range of temperatures shows how clear the sky was, by a factor of 0.16 inland and 0.19 on a coast",
    what: "radiation is estimated from temperatures on {days} of {of} days",
    action: "add sunshine or radiation of a station, and .coast() near the sea",
    source: Source::FromMemory("FAO Irrigation and Drainage Paper 56 (1998), equation 50"),
};

/// Wind that is stronger than gardens have it.
pub const WIND_OF_STATION: Entry = Entry {
    code: "weather-wind-of-a-station",
    level: Level::Note,
    why: "stations and airports stand in the open; a garden between hedges and houses has half of their wind or less, and evapotranspiration is too high with it",
    what: "wind at 2 m is {wind} on the mean of these days",
    action: "compare with 2 m/s (4.5 mph), and count on less water where the garden is sheltered",
    source: Source::CommonPractice,
};

/// Rain of a gauge.
pub const GAUGE_LOW: Entry = Entry {
    code: "weather-gauge-in-wind",
    level: Level::Note,
    why: "a gauge in the wind catches 3 to 10 % too little",
    what: "rain is from a gauge with {readings}",
    action: "place the gauge in the open and sheltered from wind, and read it in the morning",
    source: Source::CommonPractice,
};

/// Evapotranspiration beyond what warm dry places have.
pub const ET0_UNUSUAL: Entry = Entry {
    code: "evapotranspiration-unusual",
    level: Level::Warning,
    why: "a cool humid place has 2 to 4 mm (0.08 to 0.16 inch) on a summer day, and a warm dry one 6 to 8 mm (0.24 to 0.31 inch); more is often a unit of wind or sun that was mixed up",
    what: "evapotranspiration is {mean} on the mean of the month of {month}",
    action: "check the units of wind, humidity and sun, and the latitude",
    source: Source::FromMemory("FAO Irrigation and Drainage Paper 56 (1998), Table 2"),
};

/// The entries of this file.
pub const ALL: &[Entry] = &[
    LOW_ABOVE_HIGH,
    OUT_OF_REASON,
    WIDE_DAY,
    RAIN_BELOW_ZERO,
    DAY_TWICE,
    DAYS_MISSING,
    UNREADABLE,
    NOT_A_DAY,
    NO_VALUE,
    FILLED,
    UNITS_ASSUMED,
    COLUMNS_NOT_READ,
    NO_RAIN,
    WIND_HEIGHT,
    FROM_TEMPERATURES,
    FROM_MONTHS,
    WIND_ASSUMED,
    SUN_ASSUMED,
    WIND_OF_STATION,
    GAUGE_LOW,
    ET0_UNUSUAL,
];
