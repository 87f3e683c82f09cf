//! The heading of a column in a file: its name, and its unit in square brackets.
//!
//! `feed.length [ft]` is a column of lengths in feet and `odd [kg m]` one in base units. A name that itself ends with a
//! bracket is followed by `[]`, and `[text]` or `[yes/no]` marks a column whose values would be taken for something else.

use super::{ColumnKind, TableError};
use crate::quantity::{Currency, Dimension, Preference, Unit, UnitSystem, dim, find_unit, nearest_units};

/// What a heading says of the values below it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Says {
    /// Numbers in this unit.
    Unit(&'static Unit),
    /// Numbers in the SI base units of this dimension.
    BaseUnits(Dimension),
    Text,
    Flag,
    /// Nothing: the values show what they are.
    Nothing,
}

const TEXT: &str = "text";
const FLAG: &str = "yes/no";

impl Says {
    /// The kind of column this makes; nothing where the values must show it.
    pub(super) fn kind(self) -> Option<ColumnKind> {
        match self {
            Says::Unit(unit) => Some(ColumnKind::Quantity { dimension: unit.dimension, preference: Preference::Written(unit) }),
            Says::BaseUnits(dimension) => Some(ColumnKind::Quantity { dimension, preference: Preference::Usual }),
            Says::Text => Some(ColumnKind::Text),
            Says::Flag => Some(ColumnKind::Flag),
            Says::Nothing => None,
        }
    }

    /// A value below this heading, in SI.
    pub(super) fn to_si(self, value: f64) -> f64 {
        if let Says::Unit(unit) = self { unit.to_si(value) } else { value }
    }
}

/// The heading of a column; `marked` is for texts and flags that would be taken for something else.
pub(super) fn heading(name: &str, kind: ColumnKind, marked: bool, system: UnitSystem) -> String {
    let bracket = match kind {
        ColumnKind::Text if marked => Some(TEXT.to_string()),
        ColumnKind::Flag if marked => Some(FLAG.to_string()),
        kind => kind.unit_text(system),
    };
    match bracket {
        Some(bracket) => format!("{name} [{bracket}]"),
        None if name.ends_with(']') => format!("{name} []"),
        None => name.to_string(),
    }
}

/// Name and meaning of the heading of column number `position`, counted from 1.
///
/// Errors: no name before the bracket, an unknown unit in it.
pub(super) fn read_heading(heading: &str, position: usize) -> Result<(String, Says), TableError> {
    let heading = heading.trim();
    let split = heading.strip_suffix(']').and_then(|body| body.rsplit_once('['));
    let (name, bracket) = split.map_or((heading, ""), |(name, bracket)| (name.trim(), bracket.trim()));
    if name.is_empty() {
        return Err(TableError::NoName { position });
    }
    let says = match bracket {
        "" => Says::Nothing,
        TEXT => Says::Text,
        FLAG => Says::Flag,
        unit => match (find_unit(unit), base_units(unit)) {
            (Some(unit), _) => Says::Unit(unit),
            (None, Some(dimension)) => Says::BaseUnits(dimension),
            (None, None) => {
                let (column, unit) = (name.to_string(), unit.to_string());
                let nearest = nearest_units(&unit);
                return Err(TableError::UnknownUnit { column, position, unit, nearest });
            }
        },
    };
    Ok((name.to_string(), says))
}

/// The dimension of a product of base units as [`Dimension::base_units`] writes it, such as `kg m^-1 s^-2`.
fn base_units(text: &str) -> Option<Dimension> {
    let mut dimension = dim::NUMBER;
    for word in text.split_whitespace() {
        let (base, exponent) = word.split_once('^').map_or(Some((word, 1)), |(base, power)| Some((base, power.parse().ok()?)))?;
        let base = match base {
            "kg" => dim::MASS,
            "m" => dim::LENGTH,
            "s" => dim::TIME,
            "K" => dim::TEMPERATURE_DIFFERENCE,
            code => Dimension { currency: Currency::of_code(code)?, ..dim::MONEY },
        };
        dimension = dimension.times(base.power(exponent));
    }
    (!dimension.is_number()).then_some(dimension)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::all_units;
    use crate::told::Told;

    fn quantity(dimension: Dimension, preference: Preference) -> ColumnKind {
        ColumnKind::Quantity { dimension, preference }
    }

    #[test]
    fn every_unit_is_found_again_in_its_heading() {
        for unit in all_units() {
            let text = heading("a.b", quantity(unit.dimension, Preference::Written(unit)), false, UnitSystem::AsWritten);
            assert_eq!(read_heading(&text, 1).expect("a heading"), ("a.b".to_string(), Says::Unit(unit)));
        }
    }

    #[test]
    fn unusual_dimensions_are_written_in_base_units_and_read_back() {
        let euros = Dimension { currency: Currency::of_code("EUR").expect("a code"), ..dim::MONEY };
        let odd = dim::MASS.times(euros).over(dim::TIME.power(3)).over(dim::TEMPERATURE_DIFFERENCE);
        let text = heading("odd", quantity(odd, Preference::Usual), false, UnitSystem::Us);
        assert_eq!(text, "odd [kg s^-3 K^-1 EUR]");
        assert_eq!(read_heading(&text, 1).expect("a heading"), ("odd".to_string(), Says::BaseUnits(odd)));
    }

    #[test]
    fn a_name_that_ends_with_a_bracket_stays_a_name() {
        for name in ["zone [north]", "x [ft]", "a ]", "[]"] {
            let text = heading(name, ColumnKind::Text, false, UnitSystem::Us);
            assert_eq!(read_heading(&text, 1).expect("a heading"), (name.to_string(), Says::Nothing));
            let text = heading(name, ColumnKind::Flag, true, UnitSystem::Us);
            assert_eq!(read_heading(&text, 1).expect("a heading"), (name.to_string(), Says::Flag));
        }
    }

    #[test]
    fn an_unknown_unit_names_the_column_and_the_nearest() {
        let error = read_heading("flow [gmp]", 3).unwrap_err();
        assert_eq!(error.to_string(), "column 3, 'flow', has the unknown unit 'gmp'");
        assert!(error.hint().is_some_and(|hint| hint.contains("gpm")), "{error:?}");
        assert!(matches!(read_heading(" [ft]", 2), Err(TableError::NoName { position: 2 })));
        assert!(matches!(read_heading("x [m^x]", 2), Err(TableError::UnknownUnit { .. })));
    }
}
