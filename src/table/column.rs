//! A column: its name, its values and what kind they are.

use super::cell::Cell;
use crate::moment::Moment;
use crate::quantity::{Dimension, Preference, Quantity, Unit, UnitSystem, dim, unit_for_size};
use std::fmt;

/// A named column of values.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// Its name, unique in a table and without a unit.
    pub name: String,
    /// Its values, one a row.
    pub values: Values,
}

/// The values of a column; `None` is missing.
#[derive(Clone, Debug, PartialEq)]
pub enum Values {
    /// SI numbers of one dimension. One that is not finite counts as missing.
    Quantities {
        /// The numbers, one a row, SI.
        si: Vec<Option<f64>>,
        /// What all of them are.
        dimension: Dimension,
        /// How the whole column is shown.
        preference: Preference,
    },
    /// Texts, one a row.
    Texts(Vec<Option<String>>),
    /// Yes or no, one a row.
    Flags(Vec<Option<bool>>),
    /// Dates, one a row.
    Dates {
        /// Milliseconds since the midnight with which 1970 began.
        ms: Vec<Option<i64>>,
        /// Whether times of the day belong to them.
        clock: bool,
    },
}

/// What a column holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ColumnKind {
    /// Numbers of one dimension.
    Quantity {
        /// What the numbers are.
        dimension: Dimension,
        /// How the whole column is shown.
        preference: Preference,
    },
    /// Texts.
    Text,
    /// Yes or no.
    Flag,
    /// Dates.
    Date {
        /// Whether times of the day belong to them.
        clock: bool,
    },
}

impl Values {
    pub(super) fn len(&self) -> usize {
        match self {
            Values::Quantities { si, .. } => si.len(),
            Values::Texts(texts) => texts.len(),
            Values::Flags(flags) => flags.len(),
            Values::Dates { ms, .. } => ms.len(),
        }
    }

    pub(super) fn kind(&self) -> ColumnKind {
        match self {
            Values::Quantities { dimension, preference, .. } => {
                ColumnKind::Quantity { dimension: *dimension, preference: *preference }
            }
            Values::Texts(_) => ColumnKind::Text,
            Values::Flags(_) => ColumnKind::Flag,
            Values::Dates { clock, .. } => ColumnKind::Date { clock: *clock },
        }
    }
}

impl Column {
    /// Quantities of one dimension in SI, shown as `preference` says.
    pub fn quantities(
        name: impl Into<String>,
        si: impl IntoIterator<Item = Option<f64>>,
        dimension: Dimension,
        preference: Preference,
    ) -> Column {
        let si = si.into_iter().collect();
        Column { name: name.into(), values: Values::Quantities { si, dimension, preference } }
    }

    /// Plain numbers, none of them missing.
    pub fn numbers(name: impl Into<String>, values: impl IntoIterator<Item = f64>) -> Column {
        Column::quantities(name, values.into_iter().map(Some), dim::NUMBER, Preference::Usual)
    }

    /// Values as written in a unit, none of them missing.
    pub fn written(name: impl Into<String>, values: impl IntoIterator<Item = f64>, unit: &'static Unit) -> Column {
        let si = values.into_iter().map(|value| Some(unit.to_si(value)));
        Column::quantities(name, si, unit.dimension, Preference::Written(unit))
    }

    /// Texts, none of them missing.
    pub fn texts<T: Into<String>>(name: impl Into<String>, texts: impl IntoIterator<Item = T>) -> Column {
        Column { name: name.into(), values: Values::Texts(texts.into_iter().map(|text| Some(text.into())).collect()) }
    }

    /// Flags, none of them missing.
    pub fn flags(name: impl Into<String>, flags: impl IntoIterator<Item = bool>) -> Column {
        Column { name: name.into(), values: Values::Flags(flags.into_iter().map(Some).collect()) }
    }

    /// Number of rows.
    pub fn len(&self) -> usize {
        self.values.len()
    }

    /// True where it has no rows.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// What it holds.
    pub fn kind(&self) -> ColumnKind {
        self.values.kind()
    }

    /// The value in a row; missing as well where there is no such row.
    pub fn cell(&self, row: usize) -> Cell {
        let found = match &self.values {
            Values::Quantities { si, dimension, preference } => si
                .get(row)
                .copied()
                .flatten()
                .map(|si| Cell::Quantity(Quantity { si, dimension: *dimension, preference: *preference })),
            Values::Texts(texts) => texts.get(row).cloned().flatten().map(Cell::Text),
            Values::Flags(flags) => flags.get(row).copied().flatten().map(Cell::Flag),
            Values::Dates { ms, clock } => {
                ms.get(row).copied().flatten().and_then(|ms| Moment::of_ms(ms, *clock)).map(Cell::Date)
            }
        };
        found.filter(|cell| !cell.is_missing()).unwrap_or(Cell::Missing)
    }

    /// The values from the first row to the last.
    pub fn cells(&self) -> impl Iterator<Item = Cell> + '_ {
        (0..self.len()).map(|row| self.cell(row))
    }
}

impl ColumnKind {
    /// True when values of both kinds may stand in one column; how they are shown does not matter.
    pub fn fits(self, other: ColumnKind) -> bool {
        match (self, other) {
            (ColumnKind::Quantity { dimension: a, .. }, ColumnKind::Quantity { dimension: b, .. }) => a == b,
            (ColumnKind::Text, ColumnKind::Text)
            | (ColumnKind::Flag, ColumnKind::Flag)
            | (ColumnKind::Date { .. }, ColumnKind::Date { .. }) => true,
            _ => false,
        }
    }

    /// True for times of the day, which are seconds after midnight and show as `05:30`.
    pub fn is_clock(self) -> bool {
        matches!(self, ColumnKind::Quantity { dimension: dim::TIME, preference: Preference::Clock })
    }

    /// For people: computed times and lengths in the unit that fits the largest of them.
    pub fn fitting(self, si: &[Option<f64>], system: UnitSystem) -> ColumnKind {
        let ColumnKind::Quantity { dimension, preference: Preference::Usual } = self else { return self };
        let largest = si.iter().flatten().map(|si| si.abs()).filter(|size| size.is_finite()).fold(0.0, f64::max);
        let unit = unit_for_size(dimension, system.is_metric(), largest);
        ColumnKind::Quantity { dimension, preference: unit.map_or(Preference::Usual, Preference::Asked) }
    }

    /// The unit in which the column is shown; nothing for plain numbers, unusual dimensions, texts and flags.
    pub fn shown_unit(self, system: UnitSystem) -> Option<&'static Unit> {
        match self {
            ColumnKind::Quantity { dimension, .. } if dimension.is_number() => None,
            ColumnKind::Quantity { dimension, preference } => Quantity { si: 0.0, dimension, preference }.shown_unit(system),
            ColumnKind::Text | ColumnKind::Flag | ColumnKind::Date { .. } => None,
        }
    }

    /// The text of that unit: its symbol, the base units of an unusual dimension such as `kg m`, or nothing, as for times of the day,
    /// though their numbers are hours.
    pub fn unit_text(self, system: UnitSystem) -> Option<String> {
        let ColumnKind::Quantity { dimension, .. } = self else { return None };
        if dimension.is_number() || self.is_clock() {
            return None;
        }
        Some(self.shown_unit(system).map_or_else(|| dimension.base_units(), |unit| unit.symbol.to_string()))
    }

    /// An SI value of this column as the number shown with [`ColumnKind::unit_text`].
    pub fn shown_value(self, si: f64, system: UnitSystem) -> f64 {
        self.shown_unit(system).map_or(si, |unit| unit.from_si(si))
    }

    /// All SI values of this column as shown; the unit is looked up once.
    pub fn shown_values(self, si: &[Option<f64>], system: UnitSystem) -> Vec<Option<f64>> {
        match self.shown_unit(system) {
            Some(unit) => si.iter().map(|value| value.map(|si| unit.from_si(si))).collect(),
            None => si.to_vec(),
        }
    }
}

impl fmt::Display for ColumnKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            kind if kind.is_clock() => f.write_str("a time of day"),
            ColumnKind::Quantity { dimension, .. } => dimension.fmt(f),
            ColumnKind::Text => f.write_str("a string"),
            ColumnKind::Flag => f.write_str("a boolean"),
            ColumnKind::Date { .. } => f.write_str("a date"),
        }
    }
}

/// A cell for messages: `30 psi (a pressure)`, `'dry' (a string)`.
pub(super) fn described(cell: &Cell) -> String {
    match cell {
        Cell::Missing => "a missing value".into(),
        Cell::Quantity(quantity) => quantity.described(),
        Cell::Text(text) => format!("'{text}' ({})", ColumnKind::Text),
        Cell::Flag(flag) => format!("{flag} ({})", ColumnKind::Flag),
        Cell::Date(date) => format!("{date} (a date)"),
    }
}
