//! What a standing caution is: its name, subject, texts and source, and when it applies.

use super::facts::Facts;
use crate::findings::Source;

/// What a caution protects; cautions are shown grouped by it, in this order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Subject {
    /// Drinking water of the house and the main.
    DrinkingWater,
    /// Pumps, electricity, and parts under pressure.
    PumpsAndPressure,
    /// People on the site, and the site through the year.
    PeopleAndSite,
}

impl Subject {
    /// All subjects, in the order in which they are shown.
    pub const ALL: [Subject; 3] = [Subject::DrinkingWater, Subject::PumpsAndPressure, Subject::PeopleAndSite];

    /// The subject in words, as a heading.
    pub fn words(self) -> &'static str {
        match self {
            Subject::DrinkingWater => "Drinking water",
            Subject::PumpsAndPressure => "Pumps and pressure",
            Subject::PeopleAndSite => "People and site",
        }
    }
}

/// A standing caution.
#[derive(Clone, Copy, Debug)]
pub struct Caution {
    /// A short stable name for programs, such as `cross-connection`.
    pub id: &'static str,
    /// What it protects.
    pub subject: Subject,
    /// What to do, in a few words that begin small and end without a stop.
    pub short: &'static str,
    /// The caution in whole sentences.
    pub text: &'static str,
    /// Where it comes from.
    pub source: Source,
    /// Whether it applies to a garden.
    pub(super) applies: fn(&Facts) -> bool,
}
