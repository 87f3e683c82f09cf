//! Hoses and valves between waterings, and what friction takes in a hose.

use super::{Entry, Level, Source};

/// Friction in a hose takes much of the pressure.
pub const HOSE_FRICTION: Entry = Entry {
    code: "hose-friction",
    level: Level::Note,
    why: "what friction takes is paid for at the pump and missing at the heads, and changes with every head that is added",
    what: "{part} loses {lost}, {percent}% of static pressure; at most {most}% is usual",
    action: "use a larger or shorter hose, or run fewer heads at once",
    source: Source::CommonPractice,
};

/// A hose stays under pressure between waterings.
pub const HOSE_LEFT: Entry = Entry {
    code: "hose-left-under-pressure",
    level: Level::Note,
    why: "most hoses burst between waterings, in the sun",
    what: "{part} stays at {pressure} between waterings[, {percent}% of its rating]",
    action: "put the timer or valve at the tap, or use pipe",
    source: Source::CommonPractice,
};
/// More severe where that is much of its rating.
pub const HOSE_LEFT_NEAR_RATING: Entry = Entry { level: Level::Warning, ..HOSE_LEFT };

/// The sun on a closed hose would bring it near its rating.
pub const HOT_HOSE: Entry = Entry {
    code: "hot-hose",
    level: Level::Note,
    why: "water that is trapped and heated expands and finds no room, and a hot hose is weaker",
    what: "sun on the closed hose '{name}' could raise it by {rise}, to {pressure}",
    action: "close the tap and let a head drain",
    source: Source::Physics,
};

/// A valve or timer without a rating is near that of hose timers.
pub const TIMER_RATING: Entry = Entry {
    code: "timer-rating",
    level: Level::Note,
    why: "water hammer adds to static pressure at every closing",
    what: "{part} is at {pressure} with no flow, and its range is not given; hose timers are usually rated {rating}",
    action: "read its highest pressure on the package, and give it with .operating_range, or fit a regulator upstream of it",
    source: Source::CommonPractice,
};
/// More severe above it.
pub const TIMER_OVER_RATING: Entry = Entry { level: Level::Danger, ..TIMER_RATING };

/// The entries of this file.
pub const ALL: &[Entry] = &[HOSE_FRICTION, HOSE_LEFT, HOSE_LEFT_NEAR_RATING, HOT_HOSE, TIMER_RATING, TIMER_OVER_RATING];
