//! Bills of a garden, and purchases that save.

use super::{Entry, Level, Source};

/// The garden reaches the last block of its tariff.
pub const DEAREST_BLOCK: Entry = Entry {
    code: "dearest-block",
    level: Level::Note,
    why: "garden water comes on top of that of the house, so it is billed at the last block that the bill reaches",
    what: "the dearest block, {price} above {end}, is reached by {bills} of {all}, with {volume} of garden water",
    action: "save water in these months first: it is paid at that price",
    source: Source::CommonPractice,
};

/// What is saved never repays a price.
pub const NEVER_PAYS_BACK: Entry = Entry {
    code: "never-pays-back",
    level: Level::Warning,
    why: "a purchase that saves less than it costs must be worth it for another reason",
    what: "{price} never pays back: it saves {saving} a year",
    action: "leave it, find a cheaper change, or count what else it gains",
    source: Source::Physics,
};

/// Interest on the price is more than is saved.
pub const INTEREST: Entry =
    Entry { what: "{price} never pays back: it saves {saving} a year, and the interest alone is {interest}", ..NEVER_PAYS_BACK };

/// All of them.
pub const ALL: &[Entry] = &[DEAREST_BLOCK, NEVER_PAYS_BACK, INTEREST];
