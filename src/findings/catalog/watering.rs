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

/// Runs do not end within the hours in which water is to run.
pub const OUTSIDE_HOURS: Entry = Entry {
    code: "watering-outside-hours",
    level: Level::Warning,
    why: "water in the sun evaporates, wet leaves in the evening rot, and many places fine who waters outside of the allowed hours",
    what: "the runs of {day} last from {begin} to {end}, and the hours are {from} to {to}[, {sun}]",
    action: "start earlier, spread the beds over more days, or use nozzles with a higher rate where the soil takes it",
    source: Source::CommonPractice,
};

/// A pause between runs is longer than the usual.
pub const LONG_SOAK: Entry = Entry {
    code: "watering-long-soak",
    level: Level::Note,
    why: "pauses of 30 to 60 minutes are usual; where the puddle needs longer, the soil is tight or the rate is high",
    what: "bed '{bed}': pauses of {soak} between runs",
    action: "loosen the surface, give less at a time, or use nozzles with a lower rate",
    source: Source::CommonPractice,
};

/// A share of the water lost in the air that is beyond the measured means.
pub const AIR_LOSSES: Entry = Entry {
    code: "watering-air-losses",
    level: Level::Note,
    why: "losses by drift and evaporation were measured at 3 to 49 %, 21 % on the mean, and published formulas give 1 to 18 % for one and the same case",
    what: "bed '{bed}': {percent} % of the water counts as lost in the air",
    action: "water before sunrise and out of the wind, or use drip lines, instead of giving more",
    source: Source::Published(
        "American Society of Agricultural and Biological Engineers, meeting paper 2019, abstract: losses by drift and evaporation of a linear move over three summers",
    ),
};

/// A crop coefficient that no garden crop has.
pub const COEFFICIENT_UNUSUAL: Entry = Entry {
    code: "crop-coefficient-unusual",
    level: Level::Note,
    why: "bare dry ground has 0.15 to 0.4, and a full cover 0.95 to 1.15; in dry wind tall crops reach 1.3",
    what: "bed '{bed}': a coefficient of {kc} for {crop}",
    action: "check the number, or take that of the table",
    source: Source::Published("R. G. Allen and others, FAO Irrigation and Drainage Paper 56 (1998), Table 12"),
};

/// An allowed depletion outside of the usual.
pub const DEPLETION_UNUSUAL: Entry = Entry {
    code: "allowed-depletion-unusual",
    level: Level::Note,
    why: "light feeders are watered when a fifth of their water is used, deep ones when half of it is; more brings stress, less wets the leaves every day",
    what: "bed '{bed}': {percent} % of the reservoir may be used before {crop} gets water",
    action: "take 20 to 50 %, or accept stress on purpose",
    source: Source::Published("R. G. Allen and others, FAO Irrigation and Drainage Paper 56 (1998), Table 22"),
};

/// A root zone deeper or shallower than garden beds have.
pub const ROOTS_UNUSUAL: Entry = Entry {
    code: "soil-depth-unusual",
    level: Level::Note,
    why: "garden beds are loose for 8 to 24 inches (0.2 m to 0.6 m); a deeper reservoir makes the days between waterings too long",
    what: "bed '{bed}': roots go down to {depth}",
    action: "look with a spade how deep the roots of last year went",
    source: Source::CommonPractice,
};

/// A puddle that ground hardly holds.
pub const PUDDLE_UNUSUAL: Entry = Entry {
    code: "soil-puddle-unusual",
    level: Level::Note,
    why: "level ground holds 0.3 inch (8 mm), a gentle slope 0.2 inch (5 mm) and a steep one 0.1 inch (2 mm); with more on it, water runs off before the run ends",
    what: "bed '{bed}': a puddle of {depth} counts as staying",
    action: "give .slope(..) of the ground, or watch when water begins to run",
    source: Source::CommonPractice,
};

/// A tender crop has days with frost.
pub const MEETS_FROST: Entry = Entry {
    code: "crop-meets-frost",
    level: Level::Warning,
    why: "a crop outside its season dies in the first frost, and its water with it",
    what: "bed '{bed}': {crop} from {from} to {to} has {days} with frost, the first on {day}, with {low}",
    action: "plant after the last frost, or cover it; give the day of planting in .planted(..)",
    source: Source::CommonPractice,
};

/// A watering of a log is on no day of the season.
pub const LOG_OUTSIDE: Entry = Entry {
    code: "log-outside-season",
    level: Level::Warning,
    why: "a watering that is not booked leaves the soil too dry",
    what: "bed '{bed}': the watering of {day} is outside of {from} to {to} and does not count",
    action: "check the day, and the year of planting",
    source: Source::Physics,
};

/// Local rules leave a bed dry between allowed days.
pub const RULE_LETS_DRY: Entry = Entry {
    code: "local-rule-brings-stress",
    level: Level::Warning,
    why: "where more days pass than the reservoir lasts, the crop suffers before the next allowed day",
    what: "bed '{bed}': {crop} is in stress on {days} since watering is allowed on some days only",
    action: "mulch, give shade, deepen the bed, or ask for an exemption for vegetables and drip lines, which many local rules have",
    source: Source::CommonPractice,
};

/// Water of a barrel is not drinking water.
pub const BARREL_NOT_FOR_DRINKING: Entry = Entry {
    code: "barrel-not-for-drinking",
    level: Level::Note,
    why: "roofs have droppings, dust and metals: water from them is not for drinking, and its pipe must never be joined to drinking water without an air gap",
    what: "barrel water is for the ground, not for drinking",
    action: "label the tap, keep a lid with a screen on the barrel against children and mosquitoes, water the soil and not leaves that are eaten raw, and follow local code",
    source: Source::CommonPractice,
};

/// A barrel spills most of what it catches.
pub const BARREL_SPILLS: Entry = Entry {
    code: "barrel-spills",
    level: Level::Note,
    why: "one storm fills a small barrel, and the next runs over",
    what: "the barrel of {volume} spills {percent} % of what the roof brings, {spilled}",
    action: "lead the overflow to a bed away from the house, or add a second barrel",
    source: Source::CommonPractice,
};

/// A barrel is often empty when beds need water.
pub const BARREL_SHORT: Entry = Entry {
    code: "barrel-short",
    level: Level::Note,
    why: "rain comes when the soil is wet already, and none comes when it is dry",
    what: "the barrel gives {percent} % of what the beds need, and not all of it on {days}",
    action: "count on the tap for the rest; more roof or a larger barrel helps as long as it spills",
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
    OUTSIDE_HOURS,
    LONG_SOAK,
    AIR_LOSSES,
    COEFFICIENT_UNUSUAL,
    DEPLETION_UNUSUAL,
    ROOTS_UNUSUAL,
    PUDDLE_UNUSUAL,
    MEETS_FROST,
    LOG_OUTSIDE,
    RULE_LETS_DRY,
    BARREL_NOT_FOR_DRINKING,
    BARREL_SPILLS,
    BARREL_SHORT,
];
