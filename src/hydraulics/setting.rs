//! What the axes of a study change in the parts of a network, place by place: parameters that only make sense together are set together.

use crate::parts::{Id, Part, PartError};
use std::sync::Arc;

/// What an axis changes.
#[derive(Clone, Debug)]
pub enum Change {
    /// A parameter of the part in a place.
    Parameter(usize, Id),
    /// The part in a place, by one of these.
    Part(usize, Vec<Arc<Part>>),
    /// Nothing of a part.
    Nothing,
}

/// What the axes change in one place, by their numbers among all axes.
#[derive(Clone, Debug)]
pub struct Setting {
    pub(super) place: usize,
    /// The axis that puts a part there, and its parts.
    part: Option<(usize, Vec<Arc<Part>>)>,
    /// The axes that set a parameter of it.
    parameters: Vec<(usize, Id)>,
}

impl Setting {
    /// What some axes change, a setting a place, in the order of their first axes.
    pub fn of(changes: &[Change]) -> Vec<Setting> {
        let mut all: Vec<Setting> = Vec::new();
        for (axis, change) in changes.iter().enumerate() {
            let place = match change {
                Change::Parameter(place, _) | Change::Part(place, _) => *place,
                Change::Nothing => continue,
            };
            let at = all.iter().position(|setting| setting.place == place).unwrap_or_else(|| {
                all.push(Setting { place, part: None, parameters: Vec::new() });
                all.len() - 1
            });
            match change {
                Change::Parameter(_, id) => all[at].parameters.push((axis, *id)),
                Change::Part(_, parts) => all[at].part = Some((axis, parts.clone())),
                Change::Nothing => {}
            }
        }
        all
    }

    /// Its axes.
    pub fn axes(&self) -> impl Iterator<Item = usize> {
        let parameters = self.parameters.iter().map(|(axis, _)| *axis);
        self.part.iter().map(|(axis, _)| *axis).chain(parameters)
    }

    /// The first of its axes.
    pub(super) fn first_axis(&self) -> usize {
        self.axes().min().unwrap_or_default()
    }

    /// Its axes with the parameters that they set; none where an axis puts another part.
    pub(super) fn parameters(&self) -> Option<&[(usize, Id)]> {
        self.part.is_none().then_some(&self.parameters)
    }

    /// True where some axis of it sets this parameter or puts another part.
    pub(super) fn touches(&self, id: Id) -> bool {
        self.part.is_some() || self.parameters.iter().any(|(_, other)| *other == id)
    }

    /// Puts the values of a case: of each axis a number in SI, or which of its parts.
    ///
    /// Errors: the part refuses a value, or the values contradict each other. It keeps them: put others before using it.
    #[inline]
    pub(super) fn put(
        &self,
        part: &mut Part,
        si: impl Fn(usize) -> f64,
        index: impl Fn(usize) -> usize,
    ) -> Result<(), PartError> {
        if let Some((axis, parts)) = &self.part {
            part.clone_from(&parts[index(*axis)]);
        }
        part.set_all_si(self.parameters.iter().map(|&(axis, id)| (id, si(axis))))
    }
}
