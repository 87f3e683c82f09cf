//! What is given of a part in many cases, row by row, and what the numbers of its law are in each.

use super::law::Law;
use crate::water::Water;
use std::mem::Discriminant;

/// The inside diameter beside a part, m; not a number where there is none.
#[derive(Clone, Copy, Debug)]
pub enum Beside<'r> {
    /// The same in all rows.
    Same(f64),
    /// Another in each row.
    Each(&'r [f64]),
}

impl Beside<'_> {
    /// That of a row.
    #[inline]
    pub fn at(&self, row: usize) -> f64 {
        match self {
            Beside::Same(diameter_m) => *diameter_m,
            Beside::Each(diameters_m) => diameters_m[row],
        }
    }
}

/// The cases of a part.
#[derive(Clone, Copy, Debug)]
pub struct Rows<'r> {
    /// Where each parameter that changes stands among those of its kind, and its value in each row, SI.
    pub changed: &'r [(usize, &'r [f64])],
    /// What lies beside the part.
    pub beside: Beside<'r>,
    /// The water that flows.
    pub water: Water,
    /// How many there are.
    pub count: usize,
    /// The kind of law that lanes expect.
    pub kind: Discriminant<Law>,
}

impl<'r> Rows<'r> {
    /// The values of the parameter at a place, if it changes; where it is changed twice, those of the last change.
    pub fn values_at(&self, place: usize) -> Option<&'r [f64]> {
        self.changed.iter().rev().find(|(changed, _)| *changed == place).map(|(_, values)| &values[..self.count])
    }
}

/// How many parameters a law may be worked out from row by row.
pub const OF_LAW: usize = 4;
/// How many numbers the law of a pipe has.
pub const OF_PIPE: usize = 3;

/// What laws without bends are made of, row by row.
#[derive(Clone, Debug, Default)]
pub struct LawRows {
    /// Pressure lost at no flow, Pa.
    pub offset_pa: Vec<f64>,
    /// Factor of the flow, Pa s/m3.
    pub linear: Vec<f64>,
    /// Factor of the square of the flow, Pa s2/m6.
    pub quadratic: Vec<f64>,
    /// The numbers of a pipe; of a part that is none zeros.
    pub pipe: [Vec<f64>; OF_PIPE],
    /// Room for the parameters of the law.
    pub given: [Vec<f64>; OF_LAW],
}

impl LawRows {
    /// None yet, with room for that number.
    pub fn with_room_for(count: usize) -> LawRows {
        let mut rows = LawRows::default();
        rows.resize(count);
        rows
    }

    /// Makes room for that number of rows.
    pub fn resize(&mut self, count: usize) {
        let LawRows { offset_pa, linear, quadratic, pipe, given: _ } = self;
        [offset_pa, linear, quadratic].into_iter().chain(pipe).for_each(|column| column.resize(count, 0.0));
    }
}
