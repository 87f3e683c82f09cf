//! Water hammer: the pressure surge when a valve closes.

use super::{Entry, Level, Source};

/// The surge of a closing valve peaks above the rating of a part.
pub const WATER_HAMMER_OVER_RATING: Entry = Entry {
    code: "water-hammer-over-rating",
    level: Level::Danger,
    why: "each closing repeats it; couplings loosen, and a hose may burst after a season rather than on the first day",
    what: "when '{valve}' closes in {time}, water hammer at {part} peaks at {pressure}, above its rating of {rating}",
    action: "[close it in {slower} or more, or ]use a larger hose to lower the velocity, a lower pressure, or parts with a higher rating",
    source: Source::Physics,
};

/// The surge of a closing valve peaks near the rating of a part.
pub const WATER_HAMMER_NEAR_RATING: Entry = Entry {
    code: "water-hammer-near-rating",
    level: Level::Warning,
    what: "when '{valve}' closes in {time}, water hammer at {part} peaks at {pressure}, near its rating of {rating}",
    source: Source::CommonPractice,
    ..WATER_HAMMER_OVER_RATING
};

/// The rating of parts that the surge reaches is not given, so that they cannot be judged.
pub const WATER_HAMMER_NO_RATING: Entry = Entry {
    code: "water-hammer-no-rating",
    level: Level::Note,
    why: "without a rating it cannot be determined whether the part withstands water hammer",
    what: "water hammer at {part} peaks at {pressure}; its rating is not given[, nor is that of {another} part][, nor are those of \
           {others} others]",
    action: "give the pressure printed on it, such as .pressure_rating({150.psi|10.bar})",
    source: Source::Physics,
};

/// In the downsurge the water would boil.
pub const WATER_HAMMER_COLUMN_SEPARATION: Entry = Entry {
    code: "water-hammer-column-separation",
    level: Level::Warning,
    why: "column separation: the water rejoins with a shock that can exceed the peak computed here",
    what: "in the downsurge {part} drops to {pressure}, below vapor pressure",
    action: "close the valve more slowly, or use a larger hose",
    source: Source::Physics,
};

/// In the downsurge the pressure falls below atmospheric, but not to boiling.
pub const WATER_HAMMER_DOWNSURGE: Entry = Entry {
    code: "water-hammer-downsurge",
    level: Level::Note,
    why: "a soft hose collapses briefly under vacuum, and leaks draw in air and dirt",
    what: "in the downsurge {part} drops to {pressure}, below atmospheric pressure",
    ..WATER_HAMMER_COLUMN_SEPARATION
};

/// The entries of this file.
pub const ALL: &[Entry] = &[
    WATER_HAMMER_OVER_RATING,
    WATER_HAMMER_NEAR_RATING,
    WATER_HAMMER_NO_RATING,
    WATER_HAMMER_COLUMN_SEPARATION,
    WATER_HAMMER_DOWNSURGE,
];
