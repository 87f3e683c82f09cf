//! The prompt, and the lead of a line that goes on from the one above it: a prompt of its own under the first one.
//!
//! The line editor knows no second prompt. So each line that goes on begins with figure spaces, one for each column of the prompt: they
//! are painted as the lead, and taken out wherever the entry is read.

use crate::script::entry::Entries;
use rustyline::{CharSearch, Cmd, ConditionalEventHandler, Event, EventContext, Movement, RepeatCount};

/// The prompt.
pub(super) const PROMPT: &str = "hosewright> ";

/// What stands in the entry for a column of the lead. Nobody types it, and scripts have no use for it.
const GAP: char = '\u{2007}';

/// What is shown instead, as wide as the prompt.
pub(super) const LEAD: &str = "   goes on> ";

/// The entry with a lead after each line end.
pub(super) fn led(entry: &str) -> String {
    entry.replace('\n', &format!("\n{}", gap()))
}

/// The entry as it was meant, without leads.
pub(super) fn plain(entry: &str) -> String {
    entry.replace(GAP, "")
}

/// Whether a line of the entry has a lead.
pub(super) fn is_led(entry: &str) -> bool {
    entry.contains(GAP)
}

/// The painted lines of an entry with their leads, each as wide as in the entry; `lead` is a painted [`LEAD`].
pub(super) fn shown(entry: &str, painted: &str, lead: &str) -> String {
    let lines = entry.split('\n').zip(painted.split('\n')).map(|(raw, painted)| {
        let before = raw.chars().take_while(|c| *c == GAP).count();
        if raw.chars().filter(|c| *c == GAP).count() > before {
            raw.to_string()
        } else if before == PROMPT.len() {
            format!("{lead}{painted}")
        } else {
            format!("{}{painted}", " ".repeat(before))
        }
    });
    lines.collect::<Vec<_>>().join("\n")
}

fn gap() -> String {
    GAP.to_string().repeat(PROMPT.len())
}

/// Whether an entry takes another line; an empty last line ends it in any case.
pub(super) fn goes_on(entries: &Entries, entry: &str) -> bool {
    let entry = plain(entry);
    let ended = entry.rsplit_once('\n').is_some_and(|(_, last)| last.trim().is_empty());
    !ended && entries.goes_on(&entry)
}

/// Enter in an entry that goes on begins a line with its lead.
#[derive(Default)]
pub(super) struct Enter(Entries);

/// Backspace right after a lead takes the whole of it, with the line end.
pub(super) struct Backspace;

impl ConditionalEventHandler for Enter {
    fn handle(&self, _: &Event, _: RepeatCount, _: bool, context: &EventContext) -> Option<Cmd> {
        goes_on(&self.0, context.line()).then(|| Cmd::Insert(1, format!("\n{}", gap())))
    }
}

impl ConditionalEventHandler for Backspace {
    fn handle(&self, _: &Event, n: RepeatCount, _: bool, context: &EventContext) -> Option<Cmd> {
        let lead = format!("\n{}", gap());
        let at_lead = context.line()[..context.pos()].ends_with(&lead);
        (n == 1 && at_lead).then_some(Cmd::Kill(Movement::ViCharSearch(1, CharSearch::Backward('\n'))))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lead_is_as_wide_as_the_prompt_and_leaves_the_entry_as_it_was() {
        assert_eq!(LEAD.len(), PROMPT.len());
        let entry = "let a = `x\n  y`;\na";
        assert_eq!(plain(&led(entry)), entry);
        assert_eq!(shown(&led("a +\n b"), "A +\n B", "<lead>"), "A +\n<lead> B");
        // What was pasted has none; one that was cut or typed into keeps its width.
        assert_eq!(shown("a +\nb", "A +\nB", "<lead>"), "A +\nB");
        assert_eq!(shown("a +\n\u{2007}b", "A +\nB", "<lead>"), "A +\n B");
        assert_eq!(shown("a +\n\u{2007}b\u{2007}", "A +\nB", "<lead>"), "A +\n\u{2007}b\u{2007}");
    }
}
