//! What the values of a column look like, and what the ending of a file name says.

use crate::clock;
use crate::limits;
use crate::moment::{DateOrder, Moment};
use crate::quantity::{Quantity, Unit, read_quantity};
use std::path::Path;

/// What stands for missing in columns of numbers and dates unless it is given.
const MISSING: [&str; 12] = ["NA", "N/A", "n/a", "#N/A", "NaN", "nan", "NULL", "null", "None", "-", "--", "?"];
/// Letters after a number that name something rather than a unit, as in `1a`.
const SINGLE: [&str; 5] = ["a", "t", "d", "C", "A"];
/// A number that loggers write for a missing one.
pub(super) const SENTINEL: f64 = -9999.0;

/// What the values of a column look like when their heading does not say it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Guess {
    Numbers,
    Flags,
    Dates {
        clock: bool,
    },
    /// Times of the day.
    Clocks,
    /// Numbers that all have a unit, such as `$12.50`; the first has this one.
    Quantities(&'static Unit),
    /// Numbers of which some are written as fractions, such as `5/8`: numbers below a heading with a unit, else texts.
    Fractions,
    Texts,
}

/// How single values of a file are written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Writing {
    /// The decimal sign.
    pub decimal: char,
    /// How dates are written that do not begin with the year; none where nobody knows.
    pub dates: Option<DateOrder>,
    /// What stands for missing besides nothing; where it is not given, the usual marks in columns of numbers and dates.
    pub missing: Option<Vec<String>>,
}

impl Default for Writing {
    fn default() -> Writing {
        Writing { decimal: '.', dates: None, missing: None }
    }
}

impl Writing {
    /// True for what stands for a missing value in a column of that kind.
    pub(super) fn is_missing(&self, text: &str, guess: Guess) -> bool {
        match &self.missing {
            Some(given) => given.iter().any(|sign| sign.trim() == text),
            None => {
                matches!(guess, Guess::Numbers | Guess::Dates { .. } | Guess::Clocks | Guess::Quantities(_))
                    && MISSING.contains(&text)
            }
        }
    }

    /// A finite decimal number.
    pub(super) fn number(&self, text: &str) -> Option<f64> {
        if self.decimal == ',' {
            return grouped(text, ',');
        }
        plain_number(text).or_else(|| if text.contains(',') { plain_number(&without_thousands(text)?) } else { None })
    }

    /// A number with its unit, such as `$1,234.50` or `30 psi`.
    pub(super) fn quantity(&self, text: &str) -> Option<Quantity> {
        let plain = if self.decimal == ',' { Some(text.replace(',', ".")) } else { without_thousands(text) };
        read_quantity(plain.as_deref().unwrap_or(text)).ok()
    }

    /// The unit of the first of texts that all are quantities of one dimension.
    fn unit_of<'a>(&self, mut texts: impl Iterator<Item = &'a str>) -> Option<&'static Unit> {
        let unit = self.quantity(texts.next()?)?.preference.unit().filter(|unit| !SINGLE.contains(&unit.symbol))?;
        let fits = |text: &str| !limits::ended() && self.quantity(text).is_some_and(|found| found.dimension == unit.dimension);
        texts.all(fits).then_some(unit)
    }

    /// A date.
    pub(super) fn date(&self, text: &str) -> Option<Moment> {
        Moment::read(text, self.dates.unwrap_or(DateOrder::YearMonthDay))
    }

    /// What texts would be taken for; no texts at all look like numbers.
    pub(super) fn guess<'a>(&self, texts: impl Iterator<Item = &'a str> + Clone) -> Guess {
        let given =
            |guess: Guess| texts.clone().map(str::trim).filter(move |text| !text.is_empty() && !self.is_missing(text, guess));
        if given(Guess::Numbers).all(|text| !limits::ended() && self.number(text).is_some()) {
            return Guess::Numbers;
        }
        let is_fraction = |text: &str| text.contains('/') && self.quantity(text).is_some_and(|found| found.dimension.is_number());
        if given(Guess::Numbers).all(|text| !limits::ended() && (self.number(text).is_some() || is_fraction(text))) {
            return Guess::Fractions;
        }
        let dates = Guess::Dates { clock: false };
        let clock =
            given(dates).try_fold(false, |clock, text| Some(clock | self.date(text).filter(|_| !limits::ended())?.has_clock()));
        if let Some(clock) = clock {
            return Guess::Dates { clock };
        }
        if given(Guess::Clocks).all(|text| !limits::ended() && clock::read_ns(text).is_some()) {
            return Guess::Clocks;
        }
        let numbers = given(Guess::Numbers);
        if let Some(unit) = self.unit_of(numbers) {
            return Guess::Quantities(unit);
        }
        if given(Guess::Flags).all(|text| matches!(text, "true" | "false")) { Guess::Flags } else { Guess::Texts }
    }
}

/// What texts would be taken for in a file of ours.
pub(super) fn guess<'a>(texts: impl Iterator<Item = &'a str> + Clone) -> Guess {
    Writing::default().guess(texts)
}

/// The part of a file name after its last point, in lower case.
pub(super) fn ending(path: &Path) -> String {
    path.extension().map(|ending| ending.to_string_lossy().to_lowercase()).unwrap_or_default()
}

/// A finite decimal number.
pub(super) fn plain_number(text: &str) -> Option<f64> {
    text.trim().parse().ok().and_then(finite)
}

/// A finite number with that decimal sign, in which points may set thousands apart, as in 1.234,5.
pub(super) fn grouped(text: &str, decimal: char) -> Option<f64> {
    let text = text.trim();
    let (whole, rest) = text.split_once(decimal).map_or((text, None), |(whole, rest)| (whole, Some(rest)));
    if rest.is_some_and(|rest| rest.contains(['.', decimal])) {
        return None;
    }
    let mut groups = whole.split('.');
    let first = groups.next().unwrap_or_default();
    let is_number = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    if whole.contains('.') && !(groups.all(|group| group.len() == 3 && is_number(group)) && (1..=4).contains(&first.len())) {
        return None;
    }
    let whole = whole.replace('.', "");
    plain_number(&rest.map_or_else(|| whole.clone(), |rest| format!("{whole}.{rest}")))
}

/// The text without commas that set thousands apart, as in `$1,234.50`; none where it has others or none.
pub(super) fn without_thousands(text: &str) -> Option<String> {
    let (whole, rest) = text.split_once('.').map_or((text, None), |(whole, rest)| (whole, Some(rest)));
    let mut groups = whole.split(',');
    let is_number = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    let first = groups.next()?;
    let digits = first.trim_start_matches(|sign: char| !sign.is_ascii_digit());
    let (mut count, mut fine) = (0, (1..=3).contains(&digits.len()) && is_number(digits));
    for group in groups {
        // A unit may follow the last one.
        let end = group.find(|sign: char| !sign.is_ascii_digit()).unwrap_or(group.len());
        fine &= end == 3 && !group[end..].starts_with(|sign: char| sign.is_ascii_digit());
        count += 1;
    }
    let fine = fine && count > 0 && rest.is_none_or(|rest| !rest.contains(','));
    fine.then(|| text.replace(',', ""))
}

pub(super) fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_with_a_decimal_comma_are_read() {
        for (text, expected) in [
            ("1,5", Some(1.5)),
            ("-0,25", Some(-0.25)),
            ("1.234,5", Some(1234.5)),
            ("-12.345.678", Some(-12_345_678.0)),
            ("7", Some(7.0)),
            (",5", Some(0.5)),
            ("1,5e3", Some(1500.0)),
            ("1.5", None),
            ("1,2,3", None),
            ("1,234.5", None),
            ("", None),
            (",", None),
            ("5/8", None),
        ] {
            assert_eq!(grouped(text, ','), expected, "{text}");
        }
    }

    #[test]
    fn signs_of_missing_values_do_not_make_a_column_of_texts() {
        assert_eq!(guess(["1", "NA", "", "-"].into_iter()), Guess::Numbers);
        assert_eq!(guess(["NA", "beds"].into_iter()), Guess::Texts);
        assert_eq!(guess(["2026-07-01", "n/a", "2026-07-02 05:30"].into_iter()), Guess::Dates { clock: true });
        assert_eq!(guess(["true", "false", ""].into_iter()), Guess::Flags);
        assert_eq!(guess(["05:30", "-", "5:30 PM", "17:05:30"].into_iter()), Guess::Clocks);
        assert_eq!(guess(["05:30", "24:10"].into_iter()), Guess::Texts);
        assert!(matches!(guess(["$1,234.50", "-", "$8"].into_iter()), Guess::Quantities(unit) if unit.symbol == "$"));
        assert!(matches!(guess(["30 psi", "2 bar"].into_iter()), Guess::Quantities(unit) if unit.symbol == "psi"));
        assert_eq!(guess(["30 psi", "2 ft"].into_iter()), Guess::Texts);
        assert_eq!(guess(["1a", "2a"].into_iter()), Guess::Texts);
        assert_eq!(guess(["1,234", "5"].into_iter()), Guess::Numbers);
        assert_eq!(guess(["1,23", "5"].into_iter()), Guess::Texts);
        let given = Writing { missing: Some(vec!["x".into()]), ..Writing::default() };
        assert_eq!(given.guess(["1", "x"].into_iter()), Guess::Numbers);
        assert_eq!(given.guess(["1", "NA"].into_iter()), Guess::Texts);
    }
}
