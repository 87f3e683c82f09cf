//! Fitting: unknown parameters of a garden from gauge and bucket readings taken in several runs.
//!
//! Weighted least squares inside the ranges of the parameters. It knows gardens and solves; `report` presents a fit to people.
//!
//! - `model`: a garden with unknowns as residuals and derivatives
//! - `marquardt`: the search, `symmetric`: eigenvalues
//! - `spread`: how sure the answer is
//! - `measured`: what was read, and what comes of it
//! - `report`: tables and text

mod marquardt;
mod measured;
mod model;
mod report;
mod spread;

use crate::garden::{Garden, ParameterPath};
use crate::quantity::Quantity;
use marquardt::{Stop, least_squares};
use model::Model;

pub use measured::{Checked, Fit, FitError, Fitted, Measurement, USUAL_BUCKET_ERROR, USUAL_GAUGE_ERROR_PA};

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
    let (start, bounds) = (model.start(), model.bounds());
    let Some(found) = least_squares(&mut model, &start, &bounds) else {
        return Err(model.failed());
    };
    let names: Vec<String> = paths.iter().map(|path| (*path).to_string()).collect();
    let spread = spread::spread(&found.jacobian, &found.bound, &names);
    let parameters = names.iter().enumerate().map(|(index, path)| Fitted {
        path: path.clone(),
        start: unknowns[index].1,
        value: Quantity { si: model.si(&found.x, index), ..unknowns[index].1 },
        error: spread.errors[index].map(|error| error * model.scale(index)),
        bound: found.bound[index],
    });
    let mut fit = Fit {
        parameters: parameters.collect(),
        garden: model.garden(garden)?,
        readings: model.checked(measurements, &found.residuals),
        chi_square: found.residuals.iter().map(|residual| residual * residual).sum(),
        freedom: measurements.len() as i64 - found.bound.iter().filter(|bound| !**bound).count() as i64,
        correlation: spread.correlation,
        notes: spread.notes,
        iterations: found.iterations,
    };
    let mut notes = report::first_notes(&fit, garden, &unknowns);
    notes.append(&mut fit.notes);
    notes.extend(report::last_notes(&fit));
    if found.why == Stop::TooMany || (found.why == Stop::Stuck && fit.chi_square > 1e-12) {
        let reason = model.refusal().map_or(String::new(), |reason| format!(": {reason}"));
        notes.push(format!("the search stopped before it converged; try other start values{reason}"));
    }
    fit.notes = notes;
    Ok(fit)
}
