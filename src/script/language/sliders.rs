//! Where the sliders of a session stand: numbers of a study that somebody moves on the live page.

use crate::quantity::Quantity;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Mutex, PoisonError};

/// A slider as the study described it, with the value it has now.
#[derive(Clone, Debug)]
pub struct Slider {
    /// Name that the page shows beside it, by which it is moved.
    pub name: String,
    /// Lower end of its range.
    pub low: Quantity,
    /// Upper end of its range.
    pub high: Quantity,
    /// Value that the study begins with.
    pub start: Quantity,
    /// Value that it has now.
    pub value: Quantity,
}

/// Where the sliders of a session stand.
#[derive(Debug, Default)]
pub struct Sliders {
    inner: Mutex<Inner>,
}

#[derive(Debug, Default)]
struct Inner {
    /// SI values that somebody chose.
    moved: BTreeMap<String, f64>,
    /// Values that the command line gave.
    given: BTreeMap<String, Quantity>,
    /// Names of all sliders that were met.
    known: BTreeSet<String>,
    /// Those met since the last look, in order.
    met: Vec<Slider>,
}

impl Sliders {
    /// Moves a slider; it takes effect when its statement runs again.
    pub fn move_to(&self, name: &str, si: f64) {
        self.lock().moved.insert(name.to_string(), si);
    }

    /// Gives a slider a value for the whole run.
    pub fn give(&self, name: &str, value: Quantity) {
        self.lock().given.insert(name.to_string(), value);
    }

    /// Forgets all values and names.
    pub fn forget(&self) {
        *self.lock() = Inner::default();
    }

    /// The value that a slider was given.
    pub fn given(&self, name: &str) -> Option<Quantity> {
        self.lock().given.get(name).copied()
    }

    /// The names that were given a value and that no slider has, and the names of all sliders.
    pub fn unknown(&self) -> (Vec<String>, Vec<String>) {
        let inner = self.lock();
        let unknown = inner.given.keys().filter(|name| !inner.known.contains(*name)).cloned().collect();
        (unknown, inner.known.iter().cloned().collect())
    }

    /// The sliders that statements asked for since the last call.
    pub fn take_met(&self) -> Vec<Slider> {
        std::mem::take(&mut self.lock().met)
    }

    /// A statement asks for a slider: the value it has now.
    pub fn meet(&self, mut slider: Slider) -> Quantity {
        let mut inner = self.lock();
        if let Some(si) = inner.moved.get(&slider.name) {
            slider.value.si = si.clamp(slider.low.si, slider.high.si);
        }
        let value = slider.value;
        inner.known.insert(slider.name.clone());
        inner.met.retain(|met| met.name != slider.name);
        inner.met.push(slider);
        value
    }

    fn lock(&self) -> std::sync::MutexGuard<'_, Inner> {
        self.inner.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
