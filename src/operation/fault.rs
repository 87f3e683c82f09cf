//! Faults: which part fails, how, and when. What it leads to follows from the run.

use super::error::OperationError;
use crate::garden::Garden;
use crate::parts::{Around, FaultKind, Law, Part};

impl FaultKind {
    /// The fault of these words; "leaks back" is another name for a check valve that sticks open. Errors: unknown words.
    pub fn of_words(words: &str) -> Result<FaultKind, OperationError> {
        if words == "leaks back" {
            return Ok(FaultKind::SticksOpen);
        }
        FaultKind::ALL
            .iter()
            .copied()
            .find(|kind| kind.words() == words)
            .ok_or_else(|| OperationError::UnknownFault { kind: words.to_string(), possible: list(FaultKind::ALL) })
    }
}

/// A part that fails for a time.
#[derive(Clone, Debug, PartialEq)]
pub struct Fault {
    /// Name of the part.
    pub part: String,
    /// How it fails.
    pub kind: FaultKind,
    /// Seconds after midnight of the first day.
    pub from_s: f64,
    /// How long, s; for ever by default.
    pub lasting_s: f64,
}

impl Fault {
    /// A fault from the beginning on, for ever.
    pub fn new(part: &str, kind: FaultKind) -> Fault {
        Fault { part: part.to_string(), kind, from_s: 0.0, lasting_s: f64::INFINITY }
    }

    /// The place of the part that fails. Errors: an unknown part, or one that cannot fail that way.
    pub(super) fn place(&self, garden: &Garden) -> Result<usize, OperationError> {
        let place = garden.find(&self.part)?;
        let part = &garden.parts()[place];
        let possible = part.spec().faults;
        if possible.contains(&self.kind) {
            return Ok(place);
        }
        let (name, word, kind) = (self.part.clone(), part.spec().word, self.kind.words());
        if possible.is_empty() {
            let able = garden.of_spec(|spec| !spec.faults.is_empty()).map(|place| garden.name(place).to_string()).collect();
            return Err(OperationError::NeverFails { name, what: word, able });
        }
        Err(OperationError::NoSuchFault { name, what: word, kind, possible: list(possible) })
    }

    /// The law that the failed part follows instead of its own; none when only what opens and runs changes.
    pub(super) fn law(&self, part: &Part, around: &Around) -> Option<Law> {
        match (self.kind, part.law(around)) {
            (FaultKind::SticksOpen, Law::OneWay { resistance, .. }) => Some(Law::Quadratic { resistance }),
            (FaultKind::SticksOpen, Law::Relief { resistance, .. }) => Some(Law::Relief { set_pa: 0.0, resistance }),
            (FaultKind::LosesPressure, Law::Source { resistance, .. }) => Some(Law::Source { pressure_pa: 0.0, resistance }),
            _ => None,
        }
    }
}

fn list(kinds: &[FaultKind]) -> String {
    kinds.iter().map(|kind| kind.words()).collect::<Vec<_>>().join(", ")
}
