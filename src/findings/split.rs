//! Flows that no resistance decides: ways side by side without loss, supplies without a measured fall of pressure.

use super::finding::{Book, Cause, Level, Source};
use crate::hydraulics::Reading;

const SPLIT_UNDETERMINED: Cause = Cause {
    code: "split-undetermined",
    level: Level::Note,
    why: "none of them loses any pressure, so any split between them is a steady state; their sum, all pressures and all other \
          flows are exact",
    source: Source::Physics,
};

pub(super) fn look(book: &mut Book, reading: &Reading) {
    for ways in &reading.undetermined {
        let [first, .., last] = ways[..] else { continue };
        let names: Vec<String> = ways[..ways.len() - 1].iter().map(|&place| book.title(place)).collect();
        let what = format!(
            "nothing decides how the flow is split between {} and {}: the flow shown for each is one of many",
            names.join(", "),
            book.title(last)
        );
        let action = "give each a loss coefficient k or a hose of its length, and each supply its measured pressure and flow";
        book.add(SPLIT_UNDETERMINED, first, what, action);
    }
}
