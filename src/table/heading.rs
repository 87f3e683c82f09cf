//! The heading of a column in a file: its name, and its unit in square brackets.
//!
//! `feed.length [ft]` is a column of lengths in feet and `odd [kg m]` one in base units. A name that itself ends like a unit
//! is followed by `[]`, and `[text]`, `[yes/no]`, `[date]`, `[date and time]` or `[time of day]` marks a column whose values would be taken
//! for something else. In files of others `length (ft)` and `length_ft` are read, too, above numbers. What is no unit stays in the name.

use super::{ColumnKind, TableError};
use crate::quantity::{Currency, Dimension, Preference, Unit, UnitSystem, dim, find_unit};
use std::collections::{HashMap, HashSet};

/// What a heading says of the values below it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Says {
    /// Numbers in this unit.
    Unit(&'static Unit),
    /// Numbers in the SI base units of this dimension.
    BaseUnits(Dimension),
    Text,
    Flag,
    Date {
        clock: bool,
    },
    /// Times of the day.
    Clock,
    /// Nothing: the values show what they are.
    Nothing,
}

const TEXT: &str = "text";
const FLAG: &str = "yes/no";
const DATE: &str = "date";
const DATE_AND_TIME: &str = "date and time";
const CLOCK: &str = "time of day";

/// Ends of names that are no units, though units are called so: inflow, the lowest value, days.
const NO_UNITS: [&str; 8] = ["in", "min", "a", "t", "d", "day", "days", "C"];

/// A column of times of the day.
pub(super) const CLOCKS: ColumnKind = ColumnKind::Quantity { dimension: dim::TIME, preference: Preference::Clock };

/// What times of the day become in a file that has no place for times after midnight.
pub(super) fn hours() -> ColumnKind {
    ColumnKind::Quantity { dimension: dim::TIME, preference: Preference::written_in("h") }
}

/// A heading taken apart.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Head {
    pub name: String,
    pub says: Says,
    /// The whole heading, where only numbers below it make its end a unit.
    pub loose: Option<String>,
    /// What stands in brackets and is no unit.
    pub unknown: Option<String>,
}

impl Says {
    /// The kind of column this makes; nothing where the values must show it.
    pub(super) fn kind(self) -> Option<ColumnKind> {
        match self {
            Says::Unit(unit) => Some(ColumnKind::Quantity { dimension: unit.dimension, preference: Preference::Written(unit) }),
            Says::BaseUnits(dimension) => Some(ColumnKind::Quantity { dimension, preference: Preference::Usual }),
            Says::Text => Some(ColumnKind::Text),
            Says::Flag => Some(ColumnKind::Flag),
            Says::Date { clock } => Some(ColumnKind::Date { clock }),
            Says::Clock => Some(CLOCKS),
            Says::Nothing => None,
        }
    }

    /// A value below this heading, in SI.
    pub(super) fn to_si(self, value: f64) -> f64 {
        if let Says::Unit(unit) = self { unit.to_si(value) } else { value }
    }
}

impl Head {
    /// The head of a column whose values are no numbers, so that the end of its name is no unit.
    pub(super) fn without_unit(self) -> Head {
        match self.loose {
            Some(name) => Head { name, says: Says::Nothing, loose: None, unknown: None },
            None => self,
        }
    }
}

/// Where two columns would have one name since their units are left out of it, both keep the whole heading.
///
/// Errors: two columns of one name.
pub(super) fn unlike(mut heads: Vec<&mut Head>) -> Result<(), TableError> {
    let mut count: HashMap<String, usize> = HashMap::new();
    heads.iter().for_each(|head| *count.entry(head.name.clone()).or_default() += 1);
    for head in heads.iter_mut().filter(|head| count[&head.name] > 1) {
        if let Some(whole) = &head.loose {
            head.name = whole.clone();
        }
    }
    let mut seen = HashSet::new();
    match heads.iter().find(|head| !seen.insert(head.name.as_str())) {
        Some(head) => Err(TableError::RepeatedName { name: head.name.clone() }),
        None => Ok(()),
    }
}

/// The heading of a column; `marked` is for texts, flags, dates and times of the day that would be taken for something else.
pub(super) fn heading(name: &str, kind: ColumnKind, marked: bool, system: UnitSystem) -> String {
    let bracket = match kind {
        ColumnKind::Text if marked => Some(TEXT.to_string()),
        ColumnKind::Flag if marked => Some(FLAG.to_string()),
        ColumnKind::Date { clock } if marked => Some(if clock { DATE_AND_TIME } else { DATE }.to_string()),
        kind if kind.is_clock() && marked => Some(CLOCK.to_string()),
        kind => kind.unit_text(system),
    };
    match bracket {
        Some(bracket) => format!("{name} [{bracket}]"),
        None if name.ends_with(']') || (kind.is_numeric() && !kind.is_clock() && loose_unit(name).is_some()) => {
            format!("{name} []")
        }
        None => name.to_string(),
    }
}

/// Name and meaning of the heading of column number `position`, counted from 1. Errors: no name before the bracket.
pub(super) fn read_heading(heading: &str, position: usize) -> Result<Head, TableError> {
    let heading = heading.trim();
    let split = heading.strip_suffix(']').and_then(|body| body.rsplit_once('['));
    let (name, bracket) = split.map_or((heading, None), |(name, bracket)| (name.trim(), Some(bracket.trim())));
    if name.is_empty() {
        return Err(TableError::NoName { position });
    }
    let plain = |name: &str, says| Head { name: name.to_string(), says, loose: None, unknown: None };
    let Some(bracket) = bracket else {
        return Ok(match loose_unit(name) {
            Some((short, unit)) => Head { loose: Some(name.to_string()), ..plain(short, Says::Unit(unit)) },
            None => plain(name, Says::Nothing),
        });
    };
    let says = match bracket {
        "" => Says::Nothing,
        TEXT => Says::Text,
        FLAG => Says::Flag,
        DATE => Says::Date { clock: false },
        DATE_AND_TIME => Says::Date { clock: true },
        CLOCK => Says::Clock,
        unit => match (unit_of(unit), base_units(unit)) {
            (Some(unit), _) => Says::Unit(unit),
            (None, Some(dimension)) => Says::BaseUnits(dimension),
            (None, None) => return Ok(Head { unknown: Some(unit.to_string()), ..plain(heading, Says::Nothing) }),
        },
    };
    Ok(plain(name, says))
}

/// Name and unit of a heading such as `length (ft)` or `length_ft`.
fn loose_unit(heading: &str) -> Option<(&str, &'static Unit)> {
    if let Some((name, unit)) = heading.strip_suffix(')').and_then(|body| body.rsplit_once('(')) {
        return unit_of(unit.trim()).map(|unit| (name.trim(), unit)).filter(|(name, _)| !name.is_empty());
    }
    let (name, unit) = heading.rsplit_once('_').filter(|(name, unit)| !name.is_empty() && !NO_UNITS.contains(unit))?;
    unit_of(unit).map(|unit| (name, unit))
}

/// The unit of that name, also where it is written in capitals, as in PSI, or with a sign for degrees.
pub(super) fn unit_of(text: &str) -> Option<&'static Unit> {
    if let Some(degrees) = text.strip_prefix('°') {
        return find_unit(&format!("deg{degrees}"));
    }
    let capitals = || (text.len() > 2 && !text.contains(char::is_whitespace)).then(|| find_unit(&text.to_lowercase())).flatten();
    find_unit(text).or_else(capitals)
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

    fn read(text: &str) -> (String, Says) {
        let head = read_heading(text, 1).expect("a heading");
        (head.name, head.says)
    }

    fn quantity(dimension: Dimension, preference: Preference) -> ColumnKind {
        ColumnKind::Quantity { dimension, preference }
    }

    #[test]
    fn every_unit_is_found_again_in_its_heading() {
        for unit in all_units() {
            let text = heading("a.b", quantity(unit.dimension, Preference::Written(unit)), false, UnitSystem::AsWritten);
            assert_eq!(read(&text), ("a.b".to_string(), Says::Unit(unit)));
        }
    }

    #[test]
    fn unusual_dimensions_are_written_in_base_units_and_read_back() {
        let euros = Dimension { currency: Currency::of_code("EUR").expect("a code"), ..dim::MONEY };
        let odd = dim::MASS.times(euros).over(dim::TIME.power(3)).over(dim::TEMPERATURE_DIFFERENCE);
        let text = heading("odd", quantity(odd, Preference::Usual), false, UnitSystem::Us);
        assert_eq!(text, "odd [kg s^-3 K^-1 EUR]");
        assert_eq!(read(&text), ("odd".to_string(), Says::BaseUnits(odd)));
    }

    #[test]
    fn a_name_that_ends_like_a_unit_stays_a_name() {
        for name in ["zone [north]", "x [ft]", "a ]", "[]", "x (ft)", "flow_gpm", "p_max", "t_min"] {
            let text = heading(name, quantity(dim::NUMBER, Preference::Usual), false, UnitSystem::Us);
            assert_eq!(read(&text), (name.to_string(), Says::Nothing));
            let text = heading(name, ColumnKind::Flag, true, UnitSystem::Us);
            assert_eq!(read(&text), (name.to_string(), Says::Flag));
        }
        assert_eq!(heading("flow_gpm", ColumnKind::Text, false, UnitSystem::Us), "flow_gpm");
    }

    #[test]
    fn units_of_other_programs_are_read() {
        for (text, name, symbol) in [
            ("Flow (L/min)", "Flow", "L/min"),
            ("flow_gpm", "flow", "gpm"),
            ("feed_pressure_psi", "feed_pressure", "psi"),
            ("Pressure [PSI]", "Pressure", "psi"),
            ("Temp (°C)", "Temp", "degC"),
        ] {
            let head = read_heading(text, 1).expect("a heading");
            let Says::Unit(unit) = head.says else { panic!("{text} has a unit") };
            assert_eq!((head.name.as_str(), unit.symbol), (name, symbol));
            assert_eq!(head.loose.is_some(), !text.contains('['), "{text}");
        }
    }

    #[test]
    fn what_is_no_unit_stays_in_the_name() {
        let head = read_heading("flow [gmp]", 3).expect("a heading");
        assert_eq!((head.name.as_str(), head.says, head.unknown.as_deref()), ("flow [gmp]", Says::Nothing, Some("gmp")));
        assert_eq!(read("Zone (north)"), ("Zone (north)".to_string(), Says::Nothing));
        assert!(matches!(read_heading(" [ft]", 2), Err(TableError::NoName { position: 2 })));
        assert_eq!(read("x [m^x]").0, "x [m^x]");
    }
}
