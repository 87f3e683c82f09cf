//! A garden with unknown parameters as residuals of readings, for the search.
//!
//! Unknowns are shares of their start values, so that all are of order one. Derivatives come from the sensitivities of the
//! solve; where a valve is just turning, from differences.

use super::marquardt::{Problem, Unknowns};
use super::measured::{Checked, FitError, Measurement, USUAL_BUCKET_ERROR, USUAL_GAUGE_ERROR_PA};
use crate::garden::{Garden, GardenError, ParameterPath};
use crate::hydraulics::{Change, Network, Probe, ProbeKind, Setting, Switches};
use crate::parts::Rule;
use crate::quantity::GPM_M3_PER_S;
use crate::quantity::{Quantity, dim, find_unit};

/// Shares of their start at which parameters that must stay above zero are stopped.
const LEAST_SHARE: f64 = 1e-6;
/// Step of a difference, as a share of the start value.
const STEP: f64 = 1e-5;
/// Error of a flow of nothing, of which nothing is said, m3/s: a tenth of a gallon a minute.
const LEAST_BUCKET_ERROR: f64 = 0.1 * GPM_M3_PER_S;

/// All readings that were taken with the same valves open.
struct Run {
    network: Network,
    /// The readings by their number.
    readings: Vec<usize>,
}

struct Target {
    probe: Probe,
    value: f64,
    error: f64,
}

struct Unknown {
    path: ParameterPath,
    start: f64,
    scale: f64,
    rule: Rule,
}

pub(super) struct Model {
    runs: Vec<Run>,
    targets: Vec<Target>,
    unknowns: Vec<Unknown>,
    /// What they change in each place.
    settings: Vec<Setting>,
    switches: Switches,
    garden: Garden,
    refusal: Option<String>,
}

impl Model {
    pub fn new(garden: &Garden, measurements: &[Measurement], unknowns: &[(ParameterPath, Quantity)]) -> Result<Model, FitError> {
        let garden = &garden.with_tests_kept(&unknowns.iter().map(|(path, _)| *path).collect::<Vec<_>>());
        let mut runs: Vec<(Vec<String>, Run)> = Vec::new();
        let mut targets = Vec::with_capacity(measurements.len());
        for (index, measurement) in measurements.iter().enumerate() {
            targets.push(target(garden, measurement)?);
            let mut zones = measurement.zones.clone();
            zones.sort();
            if let Some((_, run)) = runs.iter_mut().find(|(known, _)| *known == zones) {
                run.readings.push(index);
                continue;
            }
            let names: Vec<&str> = zones.iter().map(String::as_str).collect();
            let network = Network::new(garden, &garden.opened(&names)?)?;
            runs.push((zones, Run { network, readings: vec![index] }));
        }
        for (zones, run) in &runs {
            for &reading in &run.readings {
                let probe = targets[reading].probe;
                if probe.kind == ProbeKind::Pressure && !run.network.is_fed(probe.place) {
                    let zones = if zones.is_empty() { "no zone open".into() } else { format!("{} open", zones.join(" and ")) };
                    return Err(FitError::NotFed { at: garden.name(probe.place).to_string(), zones });
                }
            }
        }
        let unknown = |&(path, value): &(ParameterPath, Quantity)| {
            let number = garden.spec(path.place).parameter(path.parameter);
            let unit = number.and_then(|number| find_unit(number.unit)).map_or(1.0, |unit| unit.to_si(1.0));
            let scale = if value.si == 0.0 { unit } else { value.si.abs() };
            Unknown { path, start: value.si, scale, rule: number.map_or(Rule::Any, |number| number.rule) }
        };
        Ok(Model {
            runs: runs.into_iter().map(|(_, run)| run).collect(),
            targets,
            unknowns: unknowns.iter().map(unknown).collect(),
            settings: Setting::of(
                &unknowns.iter().map(|(path, _)| Change::Parameter(path.place, path.parameter)).collect::<Vec<_>>(),
            ),
            switches: Switches::of(garden),
            garden: garden.clone(),
            refusal: None,
        })
    }

    /// The garden with the parameters of the last residuals.
    pub fn garden(&self, garden: &Garden) -> Result<Garden, GardenError> {
        let Some(run) = self.runs.first() else { return Ok(garden.clone()) };
        let mut fitted = garden.clone();
        for unknown in &self.unknowns {
            let place = unknown.path.place;
            fitted = fitted.replace(garden.name(place), &run.network.parts()[place])?;
        }
        Ok(fitted)
    }

    pub fn checked(&self, measurements: &[Measurement], residuals: &[f64]) -> Vec<Checked> {
        let of = |((measurement, target), residual): ((&Measurement, &Target), &f64)| Checked {
            what: format!("{}.{}", measurement.at, if measurement.kind == ProbeKind::Flow { "flow" } else { "pressure" }),
            when: measurement.zones.join(" + "),
            value: measurement.value,
            error_is_usual: measurement.error.is_none(),
            model: target.value + residual * target.error,
            error: target.error,
        };
        measurements.iter().zip(&self.targets).zip(residuals).map(of).collect()
    }

    /// The error for parameters that do not even work to begin with.
    pub fn failed(&self) -> FitError {
        FitError::Start { reason: self.refusal.clone().unwrap_or_else(|| "a reading is not a number".into()) }
    }

    /// Sets the parameters of a run and solves it.
    fn solve(&mut self, run: usize, x: &[f64]) -> Result<(), String> {
        let values: Vec<f64> = (0..x.len()).map(|index| self.si(x, index)).collect();
        let network = &mut self.runs[run].network;
        for setting in &self.settings {
            network.put(setting, |unknown| values[unknown], |_| 0).map_err(|error| error.to_string())?;
        }
        match self.switches.settle(network) {
            Ok(_) => Ok(()),
            Err(error) => {
                network.start_afresh();
                Err(error.named(&self.garden).to_string())
            }
        }
    }

    /// A column of derivatives by differences of whole solves, central where both sides are allowed.
    fn column(&mut self, x: &[f64], index: usize) -> Vec<f64> {
        let bounds = self.bounds()[index];
        let mut at = |share: f64| {
            let mut near = x.to_vec();
            near[index] = (x[index] + share).clamp(bounds.0, bounds.1);
            (near[index], self.residuals(&near))
        };
        let step = STEP * x[index].abs().max(1e-2);
        let (low, high) = (at(-step), at(step));
        let here = at(0.0);
        let pair = match (low.1, high.1, here.1) {
            (Some(a), Some(b), _) if high.0 > low.0 => Some((low.0, a, high.0, b)),
            (None, Some(b), Some(a)) => Some((here.0, a, high.0, b)),
            (Some(a), None, Some(b)) => Some((low.0, a, here.0, b)),
            _ => None,
        };
        pair.map_or_else(
            || vec![0.0; self.targets.len()],
            |(from, a, to, b)| a.iter().zip(&b).map(|(a, b)| (b - a) / (to - from)).collect(),
        )
    }
}

impl Unknowns for Model {
    fn start(&self) -> Vec<f64> {
        self.unknowns.iter().map(|unknown| unknown.start / unknown.scale).collect()
    }

    fn bounds(&self) -> Vec<(f64, f64)> {
        let of = |unknown: &Unknown| match unknown.rule {
            Rule::Any => (f64::NEG_INFINITY, f64::INFINITY),
            Rule::Positive => (LEAST_SHARE, f64::INFINITY),
            Rule::NotNegative => (0.0, f64::INFINITY),
            Rule::Share | Rule::Ratio | Rule::Diameter => {
                ((unknown.rule.least() / unknown.scale).max(LEAST_SHARE), unknown.rule.most() / unknown.scale)
            }
        };
        self.unknowns.iter().map(of).collect()
    }

    fn scale(&self, index: usize) -> f64 {
        self.unknowns[index].scale
    }

    fn si(&self, x: &[f64], index: usize) -> f64 {
        // The product may pass the end of the range by rounding.
        (x[index] * self.unknowns[index].scale).min(self.unknowns[index].rule.most())
    }

    fn refusal(&self) -> Option<&str> {
        self.refusal.as_deref()
    }

    fn must_be(&self, index: usize) -> String {
        self.unknowns[index].rule.words().to_string()
    }
}

impl Problem for Model {
    fn residuals(&mut self, x: &[f64]) -> Option<Vec<f64>> {
        let mut residuals = vec![0.0; self.targets.len()];
        for run in 0..self.runs.len() {
            if let Err(reason) = self.solve(run, x) {
                self.refusal = Some(reason);
                return None;
            }
            for position in 0..self.runs[run].readings.len() {
                let reading = self.runs[run].readings[position];
                let target = &self.targets[reading];
                let model = self.runs[run].network.probe(&target.probe);
                if model.is_nan() {
                    return None;
                }
                residuals[reading] = (model - target.value) / target.error;
            }
        }
        self.refusal = None;
        Some(residuals)
    }

    fn jacobian(&mut self, x: &[f64]) -> Vec<Vec<f64>> {
        let mut rows = vec![vec![0.0; x.len()]; self.targets.len()];
        let mut unclear: Vec<(usize, usize)> = Vec::new();
        for run in &mut self.runs {
            for &reading in &run.readings {
                let target = &self.targets[reading];
                let slopes = run.network.slopes(&target.probe);
                for (column, unknown) in self.unknowns.iter().enumerate() {
                    let slope = slopes
                        .as_ref()
                        .ok()
                        .and_then(|all| all.to(&run.network, unknown.path.place, unknown.path.parameter).ok());
                    match slope {
                        Some(slope) => rows[reading][column] = slope * unknown.scale / target.error,
                        None => unclear.push((reading, column)),
                    }
                }
            }
        }
        unclear.sort_by_key(|&(_, column)| column);
        for group in unclear.chunk_by(|a, b| a.1 == b.1) {
            let differences = self.column(x, group[0].1);
            group.iter().for_each(|&(reading, column)| rows[reading][column] = differences[reading]);
        }
        rows
    }
}

/// The standard error of a reading of which nothing is said, SI.
pub fn usual_error(kind: ProbeKind, si: f64) -> f64 {
    match kind {
        ProbeKind::Pressure => USUAL_GAUGE_ERROR_PA,
        ProbeKind::Flow => (USUAL_BUCKET_ERROR * si.abs()).max(LEAST_BUCKET_ERROR * USUAL_BUCKET_ERROR),
    }
}

/// A reading with its place, value and error, checked.
fn target(garden: &Garden, measurement: &Measurement) -> Result<Target, FitError> {
    let place = garden.find(&measurement.at)?;
    let expected = match measurement.kind {
        ProbeKind::Pressure => dim::PRESSURE,
        ProbeKind::Flow => dim::FLOW,
    };
    let at = || measurement.at.clone();
    for quantity in std::iter::once(&measurement.value).chain(&measurement.error) {
        if quantity.dimension != expected || !quantity.si.is_finite() {
            return Err(FitError::Dimension { at: at(), expected: expected.to_string(), found: quantity.described() });
        }
    }
    let value = measurement.value.si;
    let error = measurement.error.map_or_else(|| usual_error(measurement.kind, value), |error| error.si);
    if error <= 0.0 {
        let found = measurement.error.map_or_else(String::new, |error| error.to_string());
        return Err(FitError::BadError { at: at(), found });
    }
    Ok(Target { probe: Probe { place, kind: measurement.kind }, value, error })
}
