//! The controls of a session: values of a study that somebody sets on the live page or at the command line.

use crate::quantity::{Quantity, UnitSystem};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Mutex, PoisonError};

/// A control as the study described it, with the value it has now.
#[derive(Clone, Debug, PartialEq)]
pub struct Control {
    /// Name that the page shows beside it, by which it is set.
    pub name: String,
    /// What can be set, and how it is set now.
    pub kind: ControlKind,
}

/// What can be set, and how it is set now.
#[derive(Clone, Debug, PartialEq)]
pub enum ControlKind {
    /// A value between two ends.
    Range {
        /// How it is shown.
        form: RangeForm,
        /// Lower end.
        low: Quantity,
        /// Upper end.
        high: Quantity,
        /// Value that the study begins with.
        start: Quantity,
        /// Value that it has now.
        value: Quantity,
    },
    /// One of a few.
    Choice {
        /// What can be chosen, as people read it.
        options: Vec<String>,
        /// Which of them the study begins with.
        start: usize,
        /// Which it is now.
        value: usize,
    },
    /// Yes or no.
    Check {
        /// What the study begins with.
        start: bool,
        /// What it is now.
        value: bool,
    },
}

/// How a value between two ends is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RangeForm {
    /// A handle to move, with a field beside it.
    Slider,
    /// A field alone.
    Field,
}

impl Control {
    /// The number by which it is set now: an SI value, the place of an option, or 1 for yes.
    pub fn setting(&self) -> f64 {
        match &self.kind {
            ControlKind::Range { value, .. } => value.si,
            ControlKind::Choice { value, .. } => *value as f64,
            ControlKind::Check { value, .. } => f64::from(u8::from(*value)),
        }
    }

    /// The number with which the study begins.
    pub fn start(&self) -> f64 {
        match &self.kind {
            ControlKind::Range { start, .. } => start.si,
            ControlKind::Choice { start, .. } => *start as f64,
            ControlKind::Check { start, .. } => f64::from(u8::from(*start)),
        }
    }

    /// Sets it by such a number; the nearest that it can have counts.
    pub fn set(&mut self, setting: f64) {
        match &mut self.kind {
            ControlKind::Range { low, high, value, .. } => value.si = setting.clamp(low.si, high.si),
            ControlKind::Choice { options, value, .. } => *value = (setting.max(0.0) as usize).min(options.len() - 1),
            ControlKind::Check { value, .. } => *value = setting >= 0.5,
        }
    }

    /// How it is set, in words.
    pub fn in_words(&self) -> String {
        match &self.kind {
            ControlKind::Range { low, value, .. } => Quantity { si: value.si, ..*low }.show(UnitSystem::AsWritten),
            ControlKind::Choice { options, value, .. } => options[*value].clone(),
            ControlKind::Check { value, .. } => yes_or_no(*value).into(),
        }
    }

    /// What it can be, in words.
    pub fn range_in_words(&self) -> String {
        match &self.kind {
            ControlKind::Range { low, high, .. } => format!("{low} to {high}"),
            ControlKind::Choice { options, .. } => options.join(", "),
            ControlKind::Check { .. } => "yes or no".into(),
        }
    }
}

/// A flag in words.
pub fn yes_or_no(flag: bool) -> &'static str {
    if flag { "yes" } else { "no" }
}

/// A value that the command line gave to a control.
#[derive(Clone, Debug)]
pub struct Given {
    /// As it was written.
    pub text: String,
    /// As a quantity, if it is one.
    pub quantity: Option<Quantity>,
}

/// How the controls of a session are set.
#[derive(Debug, Default)]
pub struct Controls {
    inner: Mutex<Inner>,
}

#[derive(Debug, Default)]
struct Inner {
    /// Settings that somebody chose.
    set: BTreeMap<String, f64>,
    /// Values that the command line gave.
    given: BTreeMap<String, Given>,
    /// Names of all controls that were met.
    known: BTreeSet<String>,
    /// Those met since the last look, in order.
    met: Vec<Control>,
}

impl Controls {
    /// Sets a control, or sets it back to its start; it takes effect when its statement runs again.
    pub fn set(&self, name: &str, setting: Option<f64>) {
        let mut inner = self.lock();
        match setting {
            Some(setting) => inner.set.insert(name.to_string(), setting),
            None => inner.set.remove(name),
        };
    }

    /// Gives a control a value for the whole run.
    pub fn give(&self, name: &str, given: Given) {
        self.lock().given.insert(name.to_string(), given);
    }

    /// Forgets all values and names.
    pub fn forget(&self) {
        *self.lock() = Inner::default();
    }

    /// The value that a control was given.
    pub fn given(&self, name: &str) -> Option<Given> {
        self.lock().given.get(name).cloned()
    }

    /// The names that were given a value and that no control has, and the names of all controls.
    pub fn unknown(&self) -> (Vec<String>, Vec<String>) {
        let inner = self.lock();
        let unknown = inner.given.keys().filter(|name| !inner.known.contains(*name)).cloned().collect();
        (unknown, inner.known.iter().cloned().collect())
    }

    /// The controls that statements asked for since the last call.
    pub fn take_met(&self) -> Vec<Control> {
        std::mem::take(&mut self.lock().met)
    }

    /// A statement asks for a control: how it is set.
    pub fn meet(&self, mut control: Control) -> Control {
        let mut inner = self.lock();
        if let Some(setting) = inner.set.get(&control.name) {
            control.set(*setting);
        }
        inner.known.insert(control.name.clone());
        inner.met.retain(|met| met.name != control.name);
        inner.met.push(control.clone());
        control
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn choice() -> Control {
        let options = vec!["1/2 in".to_string(), "5/8 in".to_string()];
        Control { name: "hose".into(), kind: ControlKind::Choice { options, start: 1, value: 1 } }
    }

    #[test]
    fn a_setting_beyond_the_ends_is_the_nearest() {
        let mut choice = choice();
        for (setting, words) in [(0.0, "1/2 in"), (-3.0, "1/2 in"), (1.0, "5/8 in"), (9.0, "5/8 in"), (f64::NAN, "1/2 in")] {
            choice.set(setting);
            assert_eq!(choice.in_words(), words, "{setting}");
        }
        let mut check = Control { name: "pump".into(), kind: ControlKind::Check { start: true, value: true } };
        check.set(0.0);
        assert_eq!((check.in_words().as_str(), check.start()), ("no", 1.0));
    }

    #[test]
    fn a_control_that_is_set_back_has_its_start() {
        let controls = Controls::default();
        controls.set("hose", Some(0.0));
        assert_eq!(controls.meet(choice()).in_words(), "1/2 in");
        controls.set("hose", None);
        assert_eq!(controls.meet(choice()).in_words(), "5/8 in");
        assert_eq!(controls.take_met().len(), 1, "one that was met twice counts once");
    }
}
