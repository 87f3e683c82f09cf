//! Where is the restriction? Gauge and bucket readings of a garden that does not do what it should, against the garden as drawn:
//! single causes ranked by how well they explain the readings, and the reading that would distinguish the best two.
//!
//! Each cause is a garden with one unknown, fitted by `fit`. `candidates` makes them. Knows no scripts.

mod candidates;
#[cfg(test)]
mod tests;

use super::fit::{Checked, Fit, FitError, Measurement, compared, fit, usual_error};
use crate::findings::title;
use crate::garden::Garden;
use crate::hydraulics::{ProbeKind, RunError, Solution, run};
use crate::limits::Ended;
use crate::parts::Placing;
use crate::quantity::Quantity;
use crate::thread_pool::all_of;
use crate::told::Told;
use candidates::{Candidate, candidates};
use thiserror::Error;

/// A cause has to lower chi-square by this much to be listed: less is within the errors of the readings.
const LEAST_GAIN: f64 = 1.0;

/// Two causes whose chi-squares differ by less are not told apart by the readings.
const LIKE: f64 = 1.0;

/// Chi-squares this near are the same.
const SAME: f64 = 1e-6;

/// Readings off by more standard errors than this, under the best cause, are not explained by it.
pub const UNEXPLAINED: f64 = 3.0;

/// What may be wrong at a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// A valve is not fully open.
    PartlyClosed,
    /// A filter or meter loses more than it should.
    Clogged,
    /// A hose or pipe is kinked, pinched, scaled or of a smaller size.
    Narrower,
    /// Something obstructs a part in line.
    Obstructed,
    /// The nozzle of a head is larger than drawn: worn, or of another size.
    LargerNozzle,
    /// The nozzle of a head is smaller than drawn: clogged, or of another size.
    SmallerNozzle,
    /// Water leaks downstream of a part.
    Leak,
    /// The static pressure of the main is lower.
    WeakMain,
    /// The service line to the tap loses more: a stop valve, a meter or a regulator of the house.
    Service,
    /// A pump gives less than its curve.
    WeakPump,
}

/// One cause with the value that fits.
#[derive(Clone, Debug)]
pub struct Cause {
    /// What is wrong.
    pub fault: Fault,
    /// The part, as messages call it.
    pub part: String,
    /// The name of the part.
    pub name: String,
    /// What the garden says; nothing where the cause is put in, as a leak is.
    pub drawn: Option<Quantity>,
    /// What fits the readings best.
    pub fits: Quantity,
    /// Sum of the squares of what is left between readings and garden, in standard errors.
    pub chi_square: f64,
    /// How far each reading is then from the garden, in standard errors.
    pub left: Vec<f64>,
    /// How likely it is among the listed causes and the garden as drawn, 0 to 1.
    ///
    /// Akaike weights, which count each fitted value as 2. Source: K. P. Burnham, D. R. Anderson, Model Selection and Multimodel
    /// Inference (2002), section 2.9; from memory.
    pub likelihood: f64,
    /// The garden with this cause.
    pub garden: Garden,
}

/// The reading that tells the best two causes apart.
#[derive(Clone, Debug)]
pub struct NextReading {
    /// The open zones.
    pub zones: Vec<String>,
    /// The part.
    pub at: String,
    /// Pressure or flow.
    pub kind: ProbeKind,
    /// What would be read with the first cause and with the second one, SI.
    pub would_be: (f64, f64),
    /// By how many standard errors of a usual gauge or bucket the two differ.
    pub apart: f64,
    /// The two causes, as places in the list.
    pub between: (usize, usize),
}

/// What was found.
#[derive(Clone, Debug)]
pub struct Restriction {
    /// The garden as drawn.
    pub garden: Garden,
    /// The readings.
    pub readings: Vec<Measurement>,
    /// How far each is from the garden as drawn, in standard errors.
    pub off: Vec<f64>,
    /// Likelihood of the garden as drawn.
    pub as_drawn: f64,
    /// The causes, the likeliest first.
    pub causes: Vec<Cause>,
    /// The reading to take next; none where no two causes are left, or no reading tells them apart.
    pub next: Option<NextReading>,
}

impl Restriction {
    /// True where no reading is off by more than errors of readings explain.
    pub fn agrees(&self) -> bool {
        self.off.iter().all(|off| off.abs() <= UNEXPLAINED) && self.as_drawn > 0.5
    }
}

/// Why nothing can be looked for.
#[derive(Debug, Error)]
pub enum RestrictionError {
    /// Unusable readings, or a garden that cannot be run.
    #[error(transparent)]
    Fit(#[from] FitError),
}

impl Told for RestrictionError {
    fn hint(&self) -> Option<String> {
        let RestrictionError::Fit(error) = self;
        error.hint()
    }

    fn about(&self) -> Option<String> {
        let RestrictionError::Fit(error) = self;
        error.about()
    }
}

/// Ranks single causes for readings that the garden as drawn does not give.
///
/// Errors: no readings, unknown names or readings that make no sense, a garden that cannot be run.
pub fn find_restriction(
    garden: &Garden,
    readings: &[Measurement],
    threads: Option<usize>,
) -> Result<Restriction, RestrictionError> {
    let off: Vec<f64> = compared(garden, readings)?.iter().map(Checked::off).collect();
    let drawn_chi_square: f64 = off.iter().map(|off| off * off).sum();
    let candidates = candidates(garden, readings)?;
    let tried = all_of(threads, candidates.len(), |index| explain(garden, &candidates[index], readings));
    if tried.len() < candidates.len() {
        return Err(FitError::from(RunError::from(Ended)).into());
    }
    let mut causes: Vec<Cause> =
        tried.into_iter().flatten().filter(|cause| cause.chi_square < drawn_chi_square - LEAST_GAIN).collect();
    // Where two explain the readings alike, the order of the candidates stays.
    causes.sort_by(|a, b| (a.chi_square / SAME).round().total_cmp(&(b.chi_square / SAME).round()));
    // Akaike: two for the fitted value.
    let best = causes.iter().map(|cause| cause.chi_square + 2.0).fold(drawn_chi_square, f64::min);
    let weight = |criterion: f64| (-0.5 * (criterion - best)).exp();
    let sum = weight(drawn_chi_square) + causes.iter().map(|cause| weight(cause.chi_square + 2.0)).sum::<f64>();
    for cause in &mut causes {
        cause.likelihood = weight(cause.chi_square + 2.0) / sum;
    }
    let next = next_reading(garden, readings, &causes);
    Ok(Restriction {
        garden: garden.clone(),
        readings: readings.to_vec(),
        off,
        as_drawn: weight(drawn_chi_square) / sum,
        causes,
        next,
    })
}

/// The best fit of a candidate over its start values; none where none converges or the value goes the wrong way.
fn explain(garden: &Garden, candidate: &Candidate, readings: &[Measurement]) -> Option<Cause> {
    let mut best: Option<Fit> = None;
    for start in &candidate.starts {
        let Ok(begun) = candidate.garden.with(&candidate.path, *start) else { continue };
        let Ok(found) = fit(&begun, readings, &[&candidate.path]) else { continue };
        if best.as_ref().is_none_or(|best| found.chi_square < best.chi_square) {
            best = Some(found);
        }
    }
    let best = best?;
    let fits = best.parameters.first()?.value;
    let fault = match candidate.fault {
        Fault::LargerNozzle if candidate.drawn.is_some_and(|drawn| fits.si < drawn.si) => Fault::SmallerNozzle,
        fault => fault,
    };
    if candidate.drawn.is_some_and(|drawn| fault.is_less().is_some_and(|less| less != (fits.si < drawn.si))) {
        return None;
    }
    Some(Cause {
        fault,
        part: title(garden, candidate.place),
        name: garden.name(candidate.place).into(),
        drawn: candidate.drawn,
        fits,
        chi_square: best.chi_square,
        left: best.readings.iter().map(Checked::off).collect(),
        likelihood: 0.0,
        garden: best.garden()?.clone(),
    })
}

impl Fault {
    /// Whether the value has to be below the drawn one (true) or above it; nothing where both are faults or none is drawn.
    fn is_less(self) -> Option<bool> {
        match self {
            Fault::Narrower | Fault::WeakMain | Fault::Service | Fault::WeakPump => Some(true),
            Fault::Clogged => Some(false),
            Fault::PartlyClosed | Fault::Obstructed | Fault::Leak | Fault::LargerNozzle | Fault::SmallerNozzle => None,
        }
    }
}

/// The reading that differs most between the likeliest cause and the next one at another part or of another kind.
fn next_reading(garden: &Garden, readings: &[Measurement], causes: &[Cause]) -> Option<NextReading> {
    let first = causes.first()?;
    let mut sets: Vec<Vec<String>> = readings.iter().map(|reading| reading.zones.clone()).collect();
    sets.extend(garden.valves().map(|valve| vec![garden.name(valve).to_string()]));
    sets.push(Vec::new());
    sets.sort();
    sets.dedup();
    // Causes that a reading tells from the first: the likeliest of them counts.
    for (index, other) in causes.iter().enumerate().skip(1) {
        let mut best: Option<NextReading> = None;
        for zones in &sets {
            let names: Vec<&str> = zones.iter().map(String::as_str).collect();
            let (Ok(one), Ok(two)) = (run(&first.garden, &names), run(&other.garden, &names)) else { continue };
            for place in 0..garden.parts().len() {
                let at = garden.name(place);
                let outlet = garden.spec(place).placing == Placing::Outlet;
                for kind in [ProbeKind::Pressure, ProbeKind::Flow] {
                    let taken = |reading: &Measurement| reading.zones == *zones && reading.at == at && reading.kind == kind;
                    if (kind == ProbeKind::Flow && !outlet) || readings.iter().any(taken) {
                        continue;
                    }
                    let read = |solution: &Solution| match kind {
                        ProbeKind::Pressure => solution.pressure_pa(at).ok().flatten(),
                        ProbeKind::Flow => solution.flow_m3_per_s(at).ok(),
                    };
                    let (Some(a), Some(b)) = (read(&one), read(&two)) else { continue };
                    let apart = (a - b).abs() / usual_error(kind, 0.5 * (a + b));
                    if apart > best.as_ref().map_or(LIKE, |best| best.apart * (1.0 + 1e-6)) {
                        best = Some(NextReading {
                            zones: zones.clone(),
                            at: at.into(),
                            kind,
                            would_be: (a, b),
                            apart,
                            between: (0, index),
                        });
                    }
                }
            }
        }
        if best.is_some() {
            return best;
        }
    }
    None
}
