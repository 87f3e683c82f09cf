//! Sensitivities against finite differences of whole solves.

use super::{GPM, PSI};
use hosewright::garden::Garden;
use hosewright::hydraulics::{Network, Probe, ProbeKind, Slopes};
use hosewright::parts::{Id, Placing};
use proptest::prelude::*;

/// The solution with one number at another value; nothing where there is no such garden or no steady state.
fn read_at(network: &Network, probe: &Probe, (place, number): (usize, Id), si: f64) -> Option<f64> {
    let mut other = network.clone();
    other.set(place, number, si).ok()?;
    // Once more from its own answer, to the rounding: differences of readings are small.
    other.solve().and_then(|_| other.solve()).ok()?;
    Some(other.probe(probe)).filter(|value| value.is_finite())
}

/// A central difference, extrapolated from two steps; nothing where a corner of the solution lies between.
///
/// A corner shows in two ways: the two central differences disagree, or the second differences do not grow with the step as
/// those of a smooth solution do.
fn difference(network: &Network, probe: &Probe, path: (usize, Id), floor: f64) -> Option<f64> {
    let value = network.parts()[path.0].value(path.1);
    let step = 2e-4 * if value == 0.0 { 1.0 } else { value.abs() };
    let here = read_at(network, probe, path, value)?;
    let at = |step: f64| {
        let (low, high) = (read_at(network, probe, path, value - step)?, read_at(network, probe, path, value + step)?);
        Some(((high - low) / (2.0 * step), ((high - here) - (here - low)) / step))
    };
    let ((coarse, coarse_bend), (fine, fine_bend)) = (at(step)?, at(0.5 * step)?);
    let allowed = 1e-5 * fine.abs() + floor;
    let smooth = (coarse - fine).abs() <= allowed && (coarse_bend - 2.0 * fine_bend).abs() <= allowed;
    smooth.then_some((4.0 * fine - coarse) / 3.0)
}

/// The numbers of all parts that are given.
pub fn numbers(garden: &Garden) -> Vec<(usize, Id)> {
    let of = |place: usize| garden.parts()[place].spec().parameters.iter().map(move |number| (place, number.id));
    (0..garden.parts().len()).flat_map(of).filter(|&(place, number)| !garden.parts()[place].value(number).is_nan()).collect()
}

/// Compares all slopes of a solution with differences; gives how many were compared.
///
/// Differences of solves carry the tolerance of the solves, up to some 1e-9 of the solution over the step of 2e-4: where a
/// number hardly matters they say nothing. The floor is above that: 1e-5 of the scale for a change of all of the number.
pub fn compare(garden: &Garden, network: &Network, probe: &Probe, slopes: &Slopes) -> Result<usize, TestCaseError> {
    let scale = match probe.kind {
        ProbeKind::Pressure => 58.0 * PSI,
        ProbeKind::Flow => GPM,
    };
    let scale = scale.max(network.clone().probe(probe).abs());
    let mut compared = 0;
    for (place, number) in numbers(garden) {
        let value = network.parts()[place].value(number);
        let floor = 1e-5 * scale / if value == 0.0 { 1.0 } else { value.abs() };
        let expected = difference(network, probe, (place, number), floor);
        let (Ok(slope), Some(expected)) = (slopes.to(network, place, number), expected) else { continue };
        prop_assert!(
            (slope - expected).abs() <= 1e-5 * expected.abs() + floor,
            "{}.{number}: {slope} instead of {expected} for {probe:?} at {}",
            garden.name(place),
            garden.name(probe.place)
        );
        compared += usize::from(expected.abs() > 10.0 * floor);
    }
    Ok(compared)
}

/// All readings of a random garden against differences; gives how many slopes were compared.
pub fn check_all(garden: &Garden, zones: &[&str]) -> Result<usize, TestCaseError> {
    let open = garden.opened(zones).expect("known zones");
    let Ok(mut network) = Network::new(garden, &open) else { return Ok(0) };
    if network.solve().is_err() {
        return Ok(0);
    }
    let mut compared = 0;
    for place in 0..garden.parts().len() {
        let kinds: &[ProbeKind] = match garden.parts()[place].spec().placing {
            Placing::Inline => &[ProbeKind::Pressure],
            _ => &[ProbeKind::Pressure, ProbeKind::Flow],
        };
        for &kind in kinds {
            let probe = Probe { place, kind };
            if let Ok(slopes) = network.slopes(&probe) {
                compared += compare(garden, &network, &probe, &slopes)?;
            }
        }
    }
    Ok(compared)
}
