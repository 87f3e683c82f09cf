//! Fitting: unknown parameters of a garden from gauge and bucket readings taken in several runs, or of beds from readings of their soil.
//!
//! Weighted least squares inside the ranges of the parameters. It knows gardens, solves and seasons; `report` presents a fit to people.
//!
//! - `model`: a garden with unknowns as residuals and derivatives
//! - `season`: beds with unknowns in the same way
//! - `marquardt`: the search, `symmetric`: eigenvalues
//! - `spread`: how sure the answer is
//! - `measured`: what was read, and what comes of it
//! - `report`: tables and text

mod marquardt;
mod measured;
mod model;
mod report;
mod season;
mod spread;

use crate::garden::{Garden, ParameterPath};
use crate::quantity::Quantity;
use crate::season::Scenario;
use marquardt::{Problem, Stop, Unknowns, least_squares};
use model::Model;
use season::{SeasonModel, USUAL_SOIL_ERRORS};

pub use measured::{Checked, Fit, FitError, Fitted, Measurement, Subject, USUAL_BUCKET_ERROR, USUAL_GAUGE_ERROR_PA};
pub use model::usual_error;
pub use season::{FingerTest, SoilReading, SoilState};

/// Finds the parameters at these paths for which the garden comes nearest to the readings.
///
/// The search begins with the parameters that the garden has, and keeps them inside their ranges. It always gives an answer;
/// `notes` report where the readings are not sufficient for it.
/// Errors: unknown names, readings that make no sense, or a garden that cannot be run to begin with.
pub fn fit(garden: &Garden, measurements: &[Measurement], paths: &[&str]) -> Result<Fit, FitError> {
    if measurements.is_empty() {
        return Err(FitError::NoReadings);
    }
    if paths.is_empty() {
        return Err(FitError::NoUnknowns);
    }
    let mut unknowns: Vec<(ParameterPath, Quantity)> = Vec::with_capacity(paths.len());
    for (index, path) in paths.iter().enumerate() {
        if paths[..index].contains(path) {
            return Err(FitError::Twice { path: (*path).to_string() });
        }
        unknowns.push((garden.parameter_path(path)?, garden.parameter(path)?));
    }
    let mut model = Model::new(garden, measurements, &unknowns)?;
    let starts: Vec<Quantity> = unknowns.iter().map(|(_, start)| *start).collect();
    let found = fitted(&mut model, paths, &starts).ok_or_else(|| model.failed())?;
    let subject = Subject::Garden(model.garden(garden)?);
    let readings = model.checked(measurements, &found.residuals);
    Ok(found.fit(&model, subject, readings, "default errors: 1 psi for a gauge and 3 % for a bucket test"))
}

/// The readings against the garden as it is. Errors: as [`fit`].
pub fn compared(garden: &Garden, measurements: &[Measurement]) -> Result<Vec<Checked>, FitError> {
    if measurements.is_empty() {
        return Err(FitError::NoReadings);
    }
    let mut model = Model::new(garden, measurements, &[])?;
    let residuals = model.residuals(&[]).ok_or_else(|| model.failed())?;
    Ok(model.checked(measurements, &residuals))
}

/// Finds the numbers of a season at these paths for which its beds come nearest to readings of their soil.
///
/// Errors: unknown paths or beds, days without a reading, a season that cannot be computed to begin with.
pub fn fit_season(scenario: &Scenario, readings: &[SoilReading], paths: &[&str]) -> Result<Fit, FitError> {
    if readings.is_empty() {
        return Err(FitError::NoSoilReadings);
    }
    if paths.is_empty() {
        return Err(FitError::NoUnknowns);
    }
    if let Some((_, path)) = paths.iter().enumerate().find(|(index, path)| paths[..*index].contains(path)) {
        return Err(FitError::Twice { path: (*path).to_string() });
    }
    let mut model = SeasonModel::new(scenario, readings, paths)?;
    let starts = model.starts().to_vec();
    let found = fitted(&mut model, paths, &starts).ok_or_else(|| model.failed())?;
    let subject = Subject::Season(Box::new(model.found(&found.x)));
    let checked = model.checked(&found.residuals);
    Ok(found.fit(&model, subject, checked, USUAL_SOIL_ERRORS))
}

/// What the search found, before it is put into words.
struct Sought {
    parameters: Vec<Fitted>,
    x: Vec<f64>,
    residuals: Vec<f64>,
    spread: spread::Spread,
    bound: Vec<bool>,
    iterations: usize,
    why: Stop,
}

/// The least sum of squares from the start of a model; none where the start has no residuals.
fn fitted<M: Unknowns>(model: &mut M, paths: &[&str], starts: &[Quantity]) -> Option<Sought> {
    let (start, bounds) = (model.start(), model.bounds());
    let found = least_squares(model, &start, &bounds)?;
    let names: Vec<String> = paths.iter().map(|path| (*path).to_string()).collect();
    let spread = spread::spread(&found.jacobian, &found.bound, &names);
    let parameters = names.iter().enumerate().map(|(index, path)| Fitted {
        path: path.clone(),
        start: starts[index],
        value: Quantity { si: model.si(&found.x, index), ..starts[index] },
        error: spread.errors[index].map(|error| error * model.scale(index)),
        bound: found.bound[index],
    });
    let parameters = parameters.collect();
    let (x, residuals, bound) = (found.x, found.residuals, found.bound);
    Some(Sought { parameters, x, residuals, spread, bound, iterations: found.iterations, why: found.why })
}

impl Sought {
    fn fit<M: Unknowns>(self, model: &M, subject: Subject, readings: Vec<Checked>, usual_errors: &str) -> Fit {
        let mut fit = Fit {
            subject,
            freedom: readings.len() as i64 - self.bound.iter().filter(|bound| !**bound).count() as i64,
            parameters: self.parameters,
            readings,
            chi_square: self.residuals.iter().map(|residual| residual * residual).sum(),
            correlation: self.spread.correlation,
            notes: self.spread.notes,
            iterations: self.iterations,
        };
        let mut notes = report::first_notes(&fit, |index| model.must_be(index), usual_errors);
        notes.append(&mut fit.notes);
        notes.extend(report::last_notes(&fit));
        if self.why == Stop::TooMany || (self.why == Stop::Stuck && fit.chi_square > 1e-12) {
            let reason = model.refusal().map_or(String::new(), |reason| format!(": {reason}"));
            notes.push(format!("the search stopped before it converged; try other start values{reason}"));
        }
        fit.notes = notes;
        fit
    }
}
