//! The blow of a valve that shuts.

use super::{Entry, Level, Source};

/// The knock of a valve strikes a part with more than its rating.
pub const WATER_HAMMER_OVER_RATING: Entry = Entry {
    code: "water-hammer-over-rating",
    level: Level::Danger,
    why: "each closing strikes again; couplings work loose, and hoses burst after a season and not on the first day",
    what: "when '{valve}' shuts in {time}, {part} is struck with {pressure}, above its rating of {rating}",
    action: "[let it shut in {slower} or more, or ]use a wider hose so that the water runs slower, a lower pressure, or parts of a \
             higher rating",
    source: Source::Physics,
};

/// The knock of a valve comes near the rating of a part.
pub const WATER_HAMMER_NEAR_RATING: Entry = Entry {
    code: "water-hammer-near-rating",
    level: Level::Note,
    what: "when '{valve}' shuts in {time}, {part} is struck with {pressure}, near its rating of {rating}",
    source: Source::CommonPractice,
    ..WATER_HAMMER_OVER_RATING
};

/// The knock strikes parts whose rating is not given, so that nobody can say whether they bear it.
pub const WATER_HAMMER_NOT_JUDGED: Entry = Entry {
    code: "water-hammer-not-judged",
    level: Level::Note,
    why: "so nothing can be said on whether they bear the knock",
    what: "{part} is struck with {pressure}; its rating is not given[, nor is that of {another} part][, nor are those of {others} \
           others]",
    action: "give the pressure printed on it, such as .pressure_rating({150.psi|10.bar})",
    source: Source::Physics,
};

/// In the swing back after the knock the water would boil.
pub const WATER_HAMMER_PARTS_COLUMN: Entry = Entry {
    code: "water-hammer-parts-column",
    level: Level::Warning,
    why: "column separation: the water rejoins with a shock that can exceed the peak computed here",
    what: "in the swing back {part} falls to {pressure}, below the pressure of boiling",
    action: "let the valve shut more slowly, or use a wider hose",
    source: Source::Physics,
};

/// In the swing back after the knock the pressure falls below that of the air, but not to boiling.
pub const WATER_HAMMER_SUCTION: Entry = Entry {
    code: "water-hammer-suction",
    level: Level::Note,
    why: "for a moment a soft hose is pressed flat, and leaks suck in air and dirt",
    what: "in the swing back {part} falls to {pressure}, below the pressure of the air",
    ..WATER_HAMMER_PARTS_COLUMN
};

/// The entries of this file.
pub const ALL: &[Entry] = &[
    WATER_HAMMER_OVER_RATING,
    WATER_HAMMER_NEAR_RATING,
    WATER_HAMMER_NOT_JUDGED,
    WATER_HAMMER_PARTS_COLUMN,
    WATER_HAMMER_SUCTION,
];
