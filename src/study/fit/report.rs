//! A fit for people: tables, text, and notes on its quality.

use super::measured::{Fit, Fitted};
use crate::lines::broken_between_words;
use crate::quantity::{Preference, Quantity, UnitSystem, dim, show_number};
use crate::table::{Column, Sheet, Table, TableError};

/// Readings off by more standard errors than this are named.
const FAR_OFF: f64 = 3.0;
/// The normal deviate that 99 % stay below.
const NINETY_NINE: f64 = 2.326_347_9;

impl Fit {
    /// The parameters: path, start, fitted, and standard error.
    pub fn table(&self, system: UnitSystem) -> Result<Table, TableError> {
        let mixed = self.parameters.iter().any(|number| number.value.dimension != self.parameters[0].value.dimension);
        let column = |name: &str, of: &dyn Fn(&Fitted) -> Option<Quantity>| {
            quantities(name, self.parameters.iter().map(of).collect(), mixed, system)
        };
        Table::new(vec![
            Column::texts("parameter", self.parameters.iter().map(|number| number.path.clone())),
            column("start", &|number| Some(number.start)),
            column("fitted", &|number| Some(number.value)),
            column("plus_minus", &|number| Some(Quantity { si: number.error?, ..number.value })),
        ])
    }

    /// The readings: where, with which zones, what was read, what the fitted garden says, and how far it is off in errors.
    pub fn residuals(&self, system: UnitSystem) -> Result<Table, TableError> {
        let read = |model: bool| {
            let of = move |checked: &super::Checked| {
                Some(if model { Quantity { si: checked.model, ..checked.value } } else { checked.value })
            };
            self.readings.iter().map(of).collect::<Vec<_>>()
        };
        let mixed = self.readings.iter().any(|checked| checked.value.dimension != self.readings[0].value.dimension);
        let when = if self.garden().is_some() { "zones" } else { "day" };
        Table::new(vec![
            Column::texts("reading", self.readings.iter().map(|checked| checked.what.as_str())),
            Column::texts(when, self.readings.iter().map(|checked| checked.when.as_str())),
            quantities("read", read(false), mixed, system),
            quantities("fitted", read(true), mixed, system),
            Column::numbers("off_in_errors", self.readings.iter().map(|checked| (checked.off() * 100.0).round() / 100.0)),
        ])
    }

    /// All of it as text. Errors: none that tables of a fit can raise.
    pub fn text(&self, system: UnitSystem, width: usize) -> Result<String, TableError> {
        let sheet = || Sheet { system, width: Some(width), ..Sheet::default() };
        let count = |n: usize, one: &str| format!("{n} {one}{}", if n == 1 { "" } else { "s" });
        let mut text = format!(
            "calibration of {} to {}\n\n{}\n\n{}\n\n{}",
            count(self.parameters.len(), "parameter"),
            count(self.readings.len(), "reading"),
            self.table(system)?.show_on(&sheet()).trim_end(),
            self.residuals(system)?.show_on(&sheet()).trim_end(),
            self.quality()
        );
        for note in &self.notes {
            text.push_str("\n- ");
            text.push_str(&broken_between_words(note, width.max(20) - 2, "").join("\n  "));
        }
        Ok(text)
    }

    /// Chi-square per degree of freedom; nothing without freedom.
    pub fn chi_square(&self) -> Option<f64> {
        (self.freedom > 0).then(|| self.chi_square / self.freedom as f64)
    }

    fn quality(&self) -> String {
        let Some(chi_square) = self.chi_square() else {
            return "chi_square: undetermined; it needs more readings than parameters".into();
        };
        format!(
            "chi_square: {} for each of {} degree{} of freedom, {}",
            show_number((chi_square * 1000.0).round() / 1000.0),
            self.freedom,
            if self.freedom == 1 { "" } else { "s" },
            if self.chi_square > worst_usual(self.freedom) { "too large" } else { "consistent with the errors of the readings" }
        )
    }
}

/// The chi-square that 99 of 100 sound fits stay below.
///
/// Source: E. B. Wilson and M. M. Hilferty, Proc. Natl. Acad. Sci. 17 (1931).
fn worst_usual(freedom: i64) -> f64 {
    let part = 2.0 / (9.0 * freedom as f64);
    freedom as f64 * (1.0 - part + NINETY_NINE * part.sqrt()).powi(3)
}

/// Notes on too few readings, bounds and errors that nobody told.
pub(super) fn first_notes(fit: &Fit, must_be: impl Fn(usize) -> String, usual_errors: &str) -> Vec<String> {
    let mut notes = Vec::new();
    let (readings, parameters) = (fit.readings.len(), fit.parameters.len());
    if readings < parameters {
        notes.push(format!(
            "there are fewer readings ({readings}) than parameters ({parameters}): many other values match as well; take more readings or calibrate fewer parameters"
        ));
    }
    let subject = if fit.garden().is_some() { "garden" } else { "season" };
    for (index, number) in fit.parameters.iter().enumerate().filter(|(_, number)| number.bound) {
        let rule = must_be(index);
        notes.push(format!(
            "{} is at its limit, {}: it must be {rule}; the {subject} as described cannot match the readings",
            number.path, number.value
        ));
    }
    if fit.readings.iter().any(|checked| checked.error_is_usual) {
        notes.push(usual_errors.into());
    }
    notes
}

/// Notes on the chi_square.
pub(super) fn last_notes(fit: &Fit) -> Vec<String> {
    let mut notes = Vec::new();
    if fit.freedom > 0 && fit.chi_square > worst_usual(fit.freedom) {
        notes.push(
            match fit.garden() {
                Some(_) => "the readings do not match the garden as described: an error is larger than given, or a part is missing or different",
                None => "the readings do not match the season as described: an error is larger than given, or a watering or rain is missing",
            }
            .into(),
        );
    }
    for checked in fit.readings.iter().filter(|checked| checked.off().abs() > FAR_OFF) {
        notes.push(format!(
            "the reading of {} at '{}' is off by {:.1} standard errors",
            checked.value,
            checked.what.rsplit_once('.').map_or(checked.what.as_str(), |(at, _)| at),
            checked.off().abs()
        ));
    }
    notes
}

/// A column of quantities; texts where they are of mixed dimensions.
fn quantities(name: &str, values: Vec<Option<Quantity>>, mixed: bool, system: UnitSystem) -> Column {
    if mixed {
        let text = |value: &Option<Quantity>| value.map_or_else(|| "-".to_string(), |value| value.show(system));
        return Column::texts(name, values.iter().map(text));
    }
    let first = values.iter().flatten().next();
    let (dimension, preference) = first.map_or((dim::NUMBER, Preference::Usual), |first| (first.dimension, first.preference));
    Column::quantities(name, values.iter().map(|value| value.map(|value| value.si)), dimension, preference)
}
