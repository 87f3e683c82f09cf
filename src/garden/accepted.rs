//! Findings that the owner of a garden has accepted: their codes, each with its reason. What a code means is the matter of `findings`.

use std::collections::BTreeMap;
use std::sync::Arc;

/// Codes of findings with the reasons for which they were accepted, in the order of the codes.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Accepted {
    reasons: Arc<BTreeMap<String, String>>,
}

impl Accepted {
    /// The reason for which a code was accepted; nothing for one that was not.
    pub fn reason(&self, code: &str) -> Option<&str> {
        self.reasons.get(code).map(String::as_str)
    }

    /// All codes with their reasons.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &str)> {
        self.reasons.iter().map(|(code, reason)| (code.as_str(), reason.as_str()))
    }

    /// The same with one code more; of a code that was accepted before, the later reason holds.
    pub(super) fn with(&self, code: &str, reason: &str) -> Accepted {
        let mut reasons = (*self.reasons).clone();
        reasons.insert(code.into(), reason.into());
        Accepted { reasons: Arc::new(reasons) }
    }

    /// Those of both; of a code that both accept, the reason here holds.
    pub(super) fn and(&self, other: &Accepted) -> Accepted {
        if other.reasons.is_empty() || Arc::ptr_eq(&self.reasons, &other.reasons) {
            return self.clone();
        }
        let mut reasons = (*other.reasons).clone();
        reasons.extend(self.iter().map(|(code, reason)| (code.to_string(), reason.to_string())));
        Accepted { reasons: Arc::new(reasons) }
    }

    /// A copy that shares nothing, for another thread.
    pub(super) fn detached(&self) -> Accepted {
        Accepted { reasons: Arc::new((*self.reasons).clone()) }
    }
}
