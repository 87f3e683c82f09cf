//! One value of a table.

use crate::moment::Moment;
use crate::quantity::{Quantity, UnitSystem};

/// One value of a table.
#[derive(Clone, Debug)]
pub enum Cell {
    /// Nothing is known here.
    Missing,
    /// A number with its dimension; a plain number has the dimension `NUMBER`. One that is not finite counts as missing.
    Quantity(Quantity),
    /// A text, also an empty one.
    Text(String),
    /// Yes or no.
    Flag(bool),
    /// A date, maybe with a time of the day.
    Date(Moment),
}

impl Cell {
    /// A plain number.
    pub fn number(value: f64) -> Cell {
        Cell::Quantity(Quantity::number(value))
    }

    /// A text.
    pub fn text(text: impl Into<String>) -> Cell {
        Cell::Text(text.into())
    }

    /// True for [`Cell::Missing`] and for a quantity that is not finite.
    pub fn is_missing(&self) -> bool {
        match self {
            Cell::Missing => true,
            Cell::Quantity(quantity) => !quantity.si.is_finite(),
            Cell::Text(_) | Cell::Flag(_) | Cell::Date(_) => false,
        }
    }

    /// The value for people: `44 psi`, `yes`, a text as it is, and `-` for missing.
    pub fn show(&self, system: UnitSystem) -> String {
        match self {
            Cell::Quantity(quantity) if quantity.si.is_finite() => quantity.show(system),
            Cell::Missing | Cell::Quantity(_) => "-".into(),
            Cell::Text(text) => text.clone(),
            Cell::Flag(flag) => if *flag { "yes" } else { "no" }.into(),
            Cell::Date(date) => date.to_string(),
        }
    }
}

impl PartialEq for Cell {
    /// Equal in value and dimension; the unit a quantity is shown in does not matter, and missing equals missing.
    fn eq(&self, other: &Cell) -> bool {
        match (self, other) {
            (Cell::Quantity(a), Cell::Quantity(b)) if a.si.is_finite() && b.si.is_finite() => {
                a.si == b.si && a.dimension == b.dimension
            }
            (Cell::Text(a), Cell::Text(b)) => a == b,
            (Cell::Flag(a), Cell::Flag(b)) => a == b,
            (Cell::Date(a), Cell::Date(b)) => a == b,
            (a, b) => a.is_missing() && b.is_missing(),
        }
    }
}

impl From<Quantity> for Cell {
    fn from(quantity: Quantity) -> Cell {
        Cell::Quantity(quantity)
    }
}

impl From<Moment> for Cell {
    fn from(date: Moment) -> Cell {
        Cell::Date(date)
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Cell {
        Cell::Text(text.to_string())
    }
}

impl From<bool> for Cell {
    fn from(flag: bool) -> Cell {
        Cell::Flag(flag)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_that_is_not_finite_is_missing() {
        assert!(Cell::number(f64::NAN).is_missing());
        assert_eq!(Cell::number(f64::INFINITY), Cell::Missing);
        assert_eq!(Cell::number(f64::NAN).show(UnitSystem::Us), "-");
        assert_ne!(Cell::number(0.0), Cell::Missing);
    }
}
