//! Accepting a finding: the code must be one of the catalog, and no danger; the reason must say something.

use super::catalog::{self, Level};
use crate::garden::Garden;
use crate::nearest::did_you_mean;
use crate::told::Told;
use thiserror::Error;

/// Why a finding cannot be accepted.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum AcceptError {
    /// The catalog has no such code.
    #[error("there is no finding with the code '{code}'")]
    UnknownCode {
        /// The code as it was given.
        code: String,
    },
    /// All findings with the code are dangers.
    #[error("'{code}' is a danger, which cannot be accepted")]
    Danger {
        /// The code.
        code: String,
    },
    /// The reason is empty.
    #[error("accepting '{code}' needs a reason")]
    NoReason {
        /// The code.
        code: String,
    },
}

impl Told for AcceptError {
    fn hint(&self) -> Option<String> {
        Some(match self {
            AcceptError::UnknownCode { code } => did_you_mean(code, catalog::all().map(|entry| entry.code))
                .unwrap_or_else(|| "the column 'code' of garden.findings().table() lists the codes".into()),
            AcceptError::Danger { .. } => "do what the finding advises".into(),
            AcceptError::NoReason { .. } => "write why it is fine here, such as \"gravity zone, needs no pump\"".into(),
        })
    }

    fn about(&self) -> Option<String> {
        let parameter = if matches!(self, AcceptError::NoReason { .. }) { "reason" } else { "code" };
        Some(parameter.into())
    }
}

/// The garden with a finding accepted: shown with the reason, after the others. Of a code that can be a danger too, the danger
/// is not accepted.
///
/// Errors: an unknown code; one that is always a danger; an empty reason.
pub fn accept(garden: &Garden, code: &str, reason: &str) -> Result<Garden, AcceptError> {
    let mut entries = catalog::all().filter(|entry| entry.code == code).peekable();
    if entries.peek().is_none() {
        return Err(AcceptError::UnknownCode { code: code.into() });
    }
    if entries.all(|entry| entry.level == Level::Danger) {
        return Err(AcceptError::Danger { code: code.into() });
    }
    if reason.trim().is_empty() {
        return Err(AcceptError::NoReason { code: code.into() });
    }
    Ok(garden.accepting(code, reason.trim()))
}
