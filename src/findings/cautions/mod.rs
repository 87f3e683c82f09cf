//! Standing cautions: they hold whatever the results are, for what a garden is made of. They are no findings.
//!
//! [`CautionSet::of`] gives those that apply to a garden, from the traits of its parts, the temperature of its water and the units
//! of its source. Texts and sources stand in `list`, each once; here is how they are grouped and shortened for people. Every
//! page and list ends with [`FOLLOW`], once.

mod caution; // what a caution is
mod facts;
mod list; // every caution once

pub use caution::{Caution, Subject};
pub use list::{ALL, BARE_BOOSTER};

use crate::garden::Garden;
use crate::lines::broken_between_words;
use facts::Facts;

/// The sentence that ends every list of cautions.
pub const FOLLOW: &str = "Follow local code; licensed practice where it requires it.";
/// What holds for every result.
pub const ESTIMATES: &str = "Results are estimates for planning: measure before you buy.";
/// Where all texts stand.
const POINTER: &str = "Texts and sources: help(\"safety\").";
/// A line is not made narrower than this, in characters.
const LEAST_WIDTH: usize = 30;

/// Some of the cautions in [`ALL`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct CautionSet(u64);

impl CautionSet {
    /// The cautions that apply to a garden; none for a line without a source.
    pub fn of(garden: &Garden) -> CautionSet {
        let facts = Facts::of(garden);
        if !facts.is_fed() {
            return CautionSet::default();
        }
        let applying = ALL.iter().enumerate().filter(|(_, caution)| (caution.applies)(&facts));
        CautionSet(applying.fold(0, |bits, (at, _)| bits | 1 << at))
    }

    /// Every caution there is.
    pub fn all() -> CautionSet {
        CautionSet((1 << ALL.len()) - 1)
    }

    /// The set as bits, one for each place in [`ALL`].
    pub fn bits(self) -> u64 {
        self.0
    }

    /// The set of these bits; those that stand for no caution are left out.
    pub fn from_bits(bits: u64) -> CautionSet {
        CautionSet(bits & CautionSet::all().0)
    }

    /// The cautions of either set.
    pub fn and(self, other: CautionSet) -> CautionSet {
        CautionSet(self.0 | other.0)
    }

    /// True when no caution is in it.
    pub fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// The cautions in the order of [`ALL`], which is that of their subjects.
    pub fn iter(self) -> impl Iterator<Item = &'static Caution> {
        ALL.iter().enumerate().filter(move |(at, _)| self.0 >> at & 1 == 1).map(|(_, caution)| caution)
    }

    /// The cautions by subject, without subjects that have none.
    pub fn by_subject(self) -> impl Iterator<Item = (Subject, Vec<&'static Caution>)> {
        let of = move |subject: Subject| (subject, self.iter().filter(|caution| caution.subject == subject).collect::<Vec<_>>());
        Subject::ALL.into_iter().map(of).filter(|(_, cautions)| !cautions.is_empty())
    }

    /// One line a subject of at most `width` characters, with what fits and how many more there are, then where all texts stand.
    pub fn in_short(self, width: usize) -> String {
        let width = width.max(LEAST_WIDTH);
        let start = |at: usize| if at == 0 { "Cautions. " } else { "" };
        let subjects = self.by_subject().enumerate();
        let mut lines: Vec<String> =
            subjects.map(|(at, (subject, cautions))| line(start(at), subject, &cautions, width)).collect();
        lines.push(POINTER.to_string());
        for sentence in [FOLLOW, ESTIMATES] {
            let longer = format!("{} {sentence}", lines.last().map_or("", String::as_str));
            if longer.chars().count() < width {
                lines.pop();
                lines.push(longer);
            }
        }
        let broken = lines.iter().flat_map(|line| broken_between_words(line, width, "  "));
        broken.collect::<Vec<_>>().join("\n")
    }

    /// What to do, all in one sentence a subject; for descriptions that are read aloud.
    pub fn in_sentences(self) -> String {
        let sentence = |(subject, cautions): (Subject, Vec<&Caution>)| {
            let short: Vec<&str> = cautions.iter().map(|caution| caution.short).collect();
            format!("Cautions, {}: {}.", subject.words().to_lowercase(), short.join("; "))
        };
        self.by_subject().map(sentence).collect::<Vec<_>>().join(" ")
    }

    /// All texts by subject, each with its source, of at most `width` characters a line.
    pub fn in_full(self, width: usize) -> String {
        let mut lines = Vec::new();
        for (subject, cautions) in self.by_subject() {
            lines.push(format!("{}:", subject.words()));
            for caution in cautions {
                let text = format!("- {}: {} ({})", caution.id, caution.text, caution.source.words());
                lines.extend(broken_between_words(&text, width.max(LEAST_WIDTH), "  "));
            }
            lines.push(String::new());
        }
        lines.extend(broken_between_words(&format!("{FOLLOW} {ESTIMATES}"), width.max(LEAST_WIDTH), ""));
        lines.join("\n")
    }
}

/// A subject with as many of its cautions as fit into a line.
fn line(start: &str, subject: Subject, cautions: &[&Caution], width: usize) -> String {
    let head = format!("{start}{}: ", subject.words());
    let with = |shown: usize| {
        let short: Vec<&str> = cautions[..shown].iter().map(|caution| caution.short).collect();
        let more = cautions.len() - shown;
        let tail = if more == 0 { String::new() } else { format!("; {more} more") };
        format!("{head}{}{tail}", short.join("; "))
    };
    let fits = |shown: &usize| with(*shown).chars().count() < width;
    let shown = (1..=cautions.len()).rev().find(fits).unwrap_or(1);
    with(shown)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_caution_is_well_formed_and_its_id_stands_once() {
        for (at, caution) in ALL.iter().enumerate() {
            let sound = |letter: char| letter.is_ascii_lowercase() || letter == '-';
            assert!(!caution.id.is_empty() && caution.id.chars().all(sound), "{}", caution.id);
            assert!(ALL[..at].iter().all(|other| other.id != caution.id), "{} twice", caution.id);
            assert!(caution.text.ends_with('.') && caution.text.trim() == caution.text, "{}", caution.id);
            assert!(!caution.short.ends_with('.') && caution.short.chars().count() <= 40, "{}: {}", caution.id, caution.short);
            assert!(!caution.text.contains("local code;"), "{}: the closing sentence stands once, below all", caution.id);
        }
        assert!(ALL.is_sorted_by_key(|caution| caution.subject), "a subject stands together");
        assert!(ALL.len() < 64, "a set is 64 bits");
    }

    #[test]
    fn a_set_is_shown_in_four_lines_however_many_it_has() {
        for width in [80, 100, 200] {
            let short = CautionSet::all().in_short(width);
            assert!(short.lines().count() <= 4, "{short}");
            assert!(short.lines().all(|line| line.chars().count() <= width), "{short}");
            assert!(short.contains("help(\"safety\")") && short.contains(" more"), "{short}");
        }
    }

    #[test]
    fn a_set_in_full_has_every_text_and_the_closing_sentence_once() {
        let full = CautionSet::all().in_full(usize::MAX);
        for caution in ALL {
            assert!(full.contains(caution.text) && full.contains(&caution.source.words()), "{}", caution.id);
        }
        assert_eq!(full.matches(FOLLOW).count(), 1);
    }

    #[test]
    fn bits_and_back_is_the_same_set() {
        let some = CautionSet::from_bits(0b1011);
        assert_eq!(CautionSet::from_bits(some.bits()), some);
        assert_eq!(some.iter().count(), 3);
        assert_eq!(some.and(CautionSet::from_bits(0b0100)).iter().count(), 4);
        assert_eq!(CautionSet::from_bits(u64::MAX), CautionSet::all());
    }
}
