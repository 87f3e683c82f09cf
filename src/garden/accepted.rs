//! What the owner of a garden decided about its findings: codes that are accepted, each with its reason, and thresholds in place of the
//! usual ones. What a code or a threshold means is the matter of `findings`.

use std::collections::BTreeMap;
use std::sync::Arc;

/// Codes of findings with the reasons for which they were accepted, in the order of the codes, and thresholds by their names.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Accepted {
    reasons: Arc<BTreeMap<String, String>>,
    thresholds: Thresholds,
}

/// Values of thresholds in place of the usual ones, SI, by their names.
pub type Thresholds = Arc<BTreeMap<&'static str, f64>>;

impl Accepted {
    /// The reason for which a code was accepted; nothing for one that was not.
    pub fn reason(&self, code: &str) -> Option<&str> {
        self.reasons.get(code).map(String::as_str)
    }

    /// All codes with their reasons.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &str)> {
        self.reasons.iter().map(|(code, reason)| (code.as_str(), reason.as_str()))
    }

    /// The value of a threshold, SI; nothing where the usual one holds.
    pub fn threshold(&self, name: &str) -> Option<f64> {
        self.thresholds.get(name).copied()
    }

    /// The thresholds in place of the usual ones.
    pub fn thresholds(&self) -> &Thresholds {
        &self.thresholds
    }

    /// The same with these thresholds in place of those it had.
    pub(super) fn judged_by(&self, thresholds: &Thresholds) -> Accepted {
        Accepted { thresholds: thresholds.clone(), ..self.clone() }
    }

    /// The same with one code more; of a code that was accepted before, the later reason holds.
    pub(super) fn with(&self, code: &str, reason: &str) -> Accepted {
        let mut reasons = (*self.reasons).clone();
        reasons.insert(code.into(), reason.into());
        Accepted { reasons: Arc::new(reasons), ..self.clone() }
    }

    /// Those of both; of a code or threshold that both have, the one here holds.
    pub(super) fn and(&self, other: &Accepted) -> Accepted {
        if Arc::ptr_eq(&self.reasons, &other.reasons) && Arc::ptr_eq(&self.thresholds, &other.thresholds) {
            return self.clone();
        }
        let mut reasons = (*other.reasons).clone();
        reasons.extend(self.iter().map(|(code, reason)| (code.to_string(), reason.to_string())));
        let mut thresholds = (*other.thresholds).clone();
        thresholds.extend(self.thresholds.iter());
        Accepted { reasons: Arc::new(reasons), thresholds: Arc::new(thresholds) }
    }

    /// A copy that shares nothing, for another thread.
    pub(super) fn detached(&self) -> Accepted {
        Accepted { reasons: Arc::new((*self.reasons).clone()), thresholds: Arc::new((*self.thresholds).clone()) }
    }
}
