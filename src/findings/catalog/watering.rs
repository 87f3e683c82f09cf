//! Beds over a season and a week: water that is lost, stress, runs that are too short or run off, and what was taken for granted.

use super::{Entry, Level, Source};

/// The soil is known by its texture only.
pub const SOIL_BY_NAME: Entry = Entry {
    code: "soil-by-name",
    level: Level::Note,
    why: "the water that a texture holds is a range, and its intake differs fourfold between tables: the middle and the low end are taken",
    what: "bed '{bed}': {soil} by its name, {reservoir} in the root zone, an intake of {intake}",
    action: "look with a spade, test the intake with a ring, and give .holds(..) and .takes_in(..)",
    source: Source::CommonPractice,
};

/// Roots that the tables let grow deeper than the bed.
pub const ROOTS_STOPPED: Entry = Entry {
    code: "roots-stopped",
    level: Level::Note,
    why: "tables are for fields: garden soil is loose for a spade or two, and a shallow reservoir needs water sooner",
    what: "bed '{bed}': roots of {crop} go to {table} by the tables, and to {depth} here",
    action: "give .soil_depth(..) if a spade goes deeper",
    source: Source::CommonPractice,
};

/// The weather ends before the crop, or begins after it.
pub const BEYOND_WEATHER: Entry = Entry {
    code: "season-beyond-weather",
    level: Level::Note,
    why: "sums of a part of a season are too small",
    what: "bed '{bed}': {crop} grows from {from} to {to}, and the weather has {first} to {last}",
    action: "read weather that has the whole season",
    source: Source::Physics,
};

/// Much of the water that is given goes below the roots.
pub const PERCOLATES: Entry = Entry {
    code: "watering-percolates",
    level: Level::Warning,
    why: "water below the roots is paid for, and takes fertilizer along",
    what: "bed '{bed}': {percent} % of rain and watering, {depth}, goes below the roots, with {given} given",
    action: "give less at a time, or only when the reservoir is used",
    source: Source::CommonPractice,
};

/// The crop suffers.
pub const STRESS: Entry = Entry {
    code: "crop-stress",
    level: Level::Warning,
    why: "a crop that cannot take what it wants grows less, and some drop their fruit",
    what: "bed '{bed}': {crop} is in stress on {days} of {of} days, down to {percent} % of what it would use",
    action: "water sooner or more",
    source: Source::FromMemory("FAO Irrigation and Drainage Paper 56 (1998), chapter 8"),
};

/// The reservoir holds less than a day's use.
pub const SMALL_RESERVOIR: Entry = Entry {
    code: "reservoir-below-a-day",
    level: Level::Warning,
    why: "a pot or a shallow bed runs dry between one evening and the next",
    what: "bed '{bed}': {limit} may be used without stress on {day}, and {crop} uses {used} on that day",
    action: "water twice a day, take a deeper pot, or give shade",
    source: Source::Physics,
};

/// The rate is above the intake: a single run would run off.
pub const RUNS_OFF: Entry = Entry {
    code: "watering-runs-off",
    level: Level::Warning,
    why: "water that stands runs to the lowest corner or the pavement, and the bed gets less than it is given",
    what: "bed '{bed}': {rate} on soil that takes {intake}; after {longest} water runs off",
    action: "give it in {cycles} of {run} with pauses of {soak}, as the schedule does, or use nozzles with a lower rate",
    source: Source::CommonPractice,
};

/// Runs and pauses do not fit into a night.
pub const LONG: Entry = Entry {
    code: "watering-longer-than-a-night",
    level: Level::Warning,
    why: "water that is given in the sun evaporates, and wet leaves in the evening rot",
    what: "bed '{bed}': runs and pauses of one watering take {elapsed}",
    action: "use nozzles with a lower rate, loosen the soil, or give half of it every other day",
    source: Source::CommonPractice,
};

/// The water is uneven.
pub const UNEVEN: Entry = Entry {
    code: "watering-uneven",
    level: Level::Warning,
    why: "the run lasts until the driest quarter has enough, so the rest gets too much",
    what: "bed '{bed}': the driest quarter gets {percent} % of the mean; the run is {factor} times as long as for even water",
    action: "look for worn or tilted heads and wrong spacing, or count on the mean with .counts_on(\"mean\")",
    source: Source::CommonPractice,
};

/// A run is shorter than heads need to fill their lines.
pub const SHORT_RUN: Entry = Entry {
    code: "watering-short-run",
    level: Level::Note,
    why: "lines fill and valves open within the first minute or two, so a short run gives less than it should",
    what: "bed '{bed}': a run of {run}",
    action: "water less often and longer",
    source: Source::CommonPractice,
};

/// The rate of a bed is not given.
pub const NO_RATE: Entry = Entry {
    code: "watering-no-rate",
    level: Level::Note,
    why: "without a rate there are depths, but no minutes",
    what: "bed '{bed}' has no application rate",
    action: "give .watered_by(coverage of its zone) or .rate({0.5.in_per_h|12.mm_per_h}, 70)",
    source: Source::Physics,
};

/// Days that the weather does not have yet.
pub const DAYS_TO_COME: Entry = Entry {
    code: "week-days-to-come",
    level: Level::Note,
    why: "rain or heat to come changes the minutes",
    what: "from {day} on the days are like the mean of the last 7 without rain",
    action: "look at the forecast, skip a watering after rain, and compute the week again",
    source: Source::CommonPractice,
};

/// A computed watering is an estimate.
pub const ESTIMATE: Entry = Entry {
    code: "watering-estimate",
    level: Level::Note,
    why: "soil, shade and wind of a garden are not those of a table or a station; many places allow watering on certain days and hours only",
    what: "depths and minutes are estimates for planning",
    action: "follow local watering rules, and look at the soil before trusting a balance",
    source: Source::CommonPractice,
};

/// The entries of this file.
pub const ALL: &[Entry] = &[
    SOIL_BY_NAME,
    ROOTS_STOPPED,
    BEYOND_WEATHER,
    PERCOLATES,
    STRESS,
    SMALL_RESERVOIR,
    RUNS_OFF,
    LONG,
    UNEVEN,
    SHORT_RUN,
    NO_RATE,
    DAYS_TO_COME,
    ESTIMATE,
];
