//! The fields of an entry.

/// How severe a finding is; the most severe comes first in the order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Level {
    /// Drinking water, injury, bursting, or damage within minutes.
    Danger,
    /// It will not work as meant, or wears out.
    Warning,
    /// Worth knowing.
    Note,
}

impl Level {
    /// The word for it, as it opens a finding that is shown.
    pub fn word(self) -> &'static str {
        match self {
            Level::Danger => "Danger",
            Level::Warning => "Warning",
            Level::Note => "Note",
        }
    }
}

/// Where the judgment of a finding comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Source {
    /// A published limit, in the document that is named.
    Published(&'static str),
    /// The same, but from memory: the document that is named was not looked up.
    FromMemory(&'static str),
    /// A rule of the trade without a source.
    CommonPractice,
    /// It follows from the laws of the parts and the limits that were given for them.
    Physics,
}

impl Source {
    /// The source in words.
    pub fn words(self) -> String {
        match self {
            Source::Published(document) => document.into(),
            Source::FromMemory(document) => format!("from memory, not looked up: {document}"),
            Source::CommonPractice => "common practice".into(),
            Source::Physics => "follows from the values given".into(),
        }
    }
}

/// A kind of finding.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Entry {
    /// A short stable word, such as `below-range`; by it a finding is known to programs.
    pub code: &'static str,
    /// How severe it is.
    pub level: Level,
    /// Why it matters.
    pub why: &'static str,
    /// Where and how much: a sentence with named places.
    pub what: &'static str,
    /// What to do, with named places.
    pub action: &'static str,
    /// Where the judgment comes from.
    pub source: Source,
}
