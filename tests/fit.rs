//! Fits: known numbers come back, standard errors are those of theory and experiment, and what cannot be told is said.

mod support;

use hosewright::garden::Garden;
use hosewright::hydraulics::{ProbeKind, run};
use hosewright::parts::Kind;
use hosewright::quantity::UnitSystem;
use hosewright::study::fit::{Fit, FitError, Measurement, fit};
use support::*;

/// What a garden gives at a part, as a reading with an error.
fn read(garden: &Garden, zones: &[&str], at: &str, kind: ProbeKind, error: f64) -> Measurement {
    let reading = run(garden, zones).expect("a steady state");
    let (value, error) = match kind {
        ProbeKind::Pressure => (reading.pressure_pa(at).expect("known").expect("fed") / PSI, q(error, "psi")),
        ProbeKind::Flow => (reading.flow_m3_per_s(at).expect("known") / GPM, q(error, "gpm")),
    };
    let value = q(value, if kind == ProbeKind::Flow { "gpm" } else { "psi" });
    Measurement { zones: zones.iter().map(|zone| (*zone).to_string()).collect(), at: at.into(), kind, value, error: Some(error) }
}

fn gauge(zones: &[&str], at: &str, psi: f64, error_psi: f64) -> Measurement {
    let zones = zones.iter().map(|zone| (*zone).to_string()).collect();
    Measurement { zones, at: at.into(), kind: ProbeKind::Pressure, value: q(psi, "psi"), error: Some(q(error_psi, "psi")) }
}

fn but(garden: &Garden, numbers: &[(&str, f64, &str)]) -> Garden {
    numbers.iter().fold(garden.clone(), |garden, (path, value, unit)| garden.with(path, q(*value, unit)).expect("a number"))
}

fn value(fit: &Fit, path: &str) -> f64 {
    fit.parameters.iter().find(|number| number.path == path).expect("fitted").value.si
}

/// Readings in three runs of the two zones.
fn readings(garden: &Garden) -> Vec<Measurement> {
    vec![
        read(garden, &[], "supply", ProbeKind::Pressure, 0.5),
        read(garden, &["beds"], "bed", ProbeKind::Pressure, 0.5),
        read(garden, &["beds"], "bed", ProbeKind::Flow, 0.05),
        read(garden, &["berries"], "berry", ProbeKind::Pressure, 0.5),
        read(garden, &["berries"], "feed", ProbeKind::Pressure, 0.5),
        read(garden, &["beds", "berries"], "berry", ProbeKind::Pressure, 0.5),
    ]
}

#[test]
fn known_numbers_come_back_from_exact_readings() {
    let garden = two_zones();
    let numbers =
        [("supply.static_pressure", 52.0, "psi"), ("feed.roughness", 0.06, "mm"), ("bed.cd", 0.85, ""), ("berries.k", 9.0, "")];
    let truth = but(&garden, &numbers);
    let paths: Vec<&str> = numbers.iter().map(|number| number.0).collect();
    let found = fit(&garden, &readings(&truth), &paths).expect("a fit");
    for path in &paths {
        let (found, expected) = (value(&found, path), truth.parameter(path).expect("given").si);
        assert!((found - expected).abs() < 1e-6 * expected, "{path}: {found} instead of {expected}");
    }
    assert!(found.chi_square < 1e-12, "{}", found.chi_square);
    assert!(found.iterations < 30, "{} iterations", found.iterations);
    // The garden of the answer reads as the true one.
    let reading =
        |garden: &Garden| run(garden, &["berries"]).expect("a steady state").pressure_pa("berry").expect("known").expect("fed");
    assert!((reading(found.garden().expect("a garden")) - reading(&truth)).abs() < 1e-3);
}

#[test]
fn a_leak_is_found_from_none() {
    let leak = |gph: f64| part(Kind::Leak, "leak", &[("flow", q(gph, "gph")), ("pressure", q(50.0, "psi"))]);
    let garden =
        |gph: f64| line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 100.0, 0.625), leak(gph), valve("zone"), head("a", 0.1)]);
    let truth = garden(40.0);
    let readings = [read(&truth, &[], "tap", ProbeKind::Flow, 0.02), read(&truth, &["zone"], "a", ProbeKind::Pressure, 0.5)];
    for start in [0.0, 3.0] {
        let found = fit(&garden(start), &readings, &["leak.flow"]).expect("a fit");
        let gph = value(&found, "leak.flow") / GPM * 60.0;
        assert!((gph - 40.0).abs() < 1e-4, "from {start}: {gph}");
    }
}

/// A tap with draws of known size: the gauge reads static - (static - measured) x with x = (draw / measured flow)^2.
fn tap_with_draws(static_psi: f64, measured_psi: f64) -> Garden {
    let draw = |gpm: f64| {
        line(&[
            part(Kind::Valve, &format!("v{gpm}").replace('.', "_"), &[("k", q(0.0, ""))]),
            part(Kind::Demand, &format!("d{gpm}").replace('.', "_"), &[("flow", q(gpm, "gpm"))]),
        ])
    };
    supply("tap", static_psi, measured_psi, 6.0)
        .then(&part(Kind::Point, "gauge", &[]))
        .and_then(|tap| tap.then_branches(&[draw(2.0), draw(4.0), draw(4.4), draw(5.0), draw(7.0)]))
        .expect("joins")
}

#[test]
fn a_straight_line_has_the_errors_of_its_closed_form() {
    // y = a + b x with errors s_i: S = sum 1/s^2, Sx = sum x/s^2, Sxx = sum x^2/s^2, Sy, Sxy alike, D = S Sxx - Sx^2;
    // a = (Sxx Sy - Sx Sxy)/D, b = (S Sxy - Sx Sy)/D, var a = Sxx/D, var b = S/D, cov = -Sx/D.
    // W. H. Press et al., Numerical Recipes, 2nd edition (1992), section 15.2 (from memory). Static pressure is a, the measured one a + b.
    let points = [(0.0, 57.2, 0.5), (2.0, 56.9, 1.0), (4.0, 51.1, 0.7), (5.0, 48.2, 0.5), (7.0, 39.4, 2.0)];
    let (mut s, mut sx, mut sxx, mut sy, mut sxy) = (0.0, 0.0, 0.0, 0.0, 0.0);
    let mut gauges = Vec::new();
    for (gpm, psi, error) in points {
        let (x, weight) = (gpm * gpm / 36.0, 1.0 / (error * error));
        (s, sx, sxx, sy, sxy) = (s + weight, sx + weight * x, sxx + weight * x * x, sy + weight * psi, sxy + weight * x * psi);
        let zone = format!("v{gpm}");
        let zones: Vec<&str> = if gpm > 0.0 { vec![&zone] } else { vec![] };
        gauges.push(gauge(&zones, "gauge", psi, error));
    }
    let d: f64 = s * sxx - sx * sx;
    let (a, b) = ((sxx * sy - sx * sxy) / d, (s * sxy - sx * sy) / d);
    let found = fit(&tap_with_draws(60.0, 50.0), &gauges, &["tap.static_pressure", "tap.measured_pressure"]).expect("a fit");
    let expected = [(a, (sxx / d).sqrt()), (a + b, (sxx / d + s / d - 2.0 * sx / d).sqrt())];
    for (number, (value, error)) in found.parameters.iter().zip(expected) {
        approx::assert_relative_eq!(number.value.si / PSI, value, max_relative = 1e-7);
        approx::assert_relative_eq!(number.error.expect("known") / PSI, error, max_relative = 1e-6);
    }
    let chi_square: f64 = points.iter().map(|(gpm, psi, error)| ((psi - a - b * gpm * gpm / 36.0) / error).powi(2)).sum();
    approx::assert_relative_eq!(found.chi_square, chi_square, max_relative = 1e-7);
    assert_eq!(found.freedom, 3);
}

/// Normal deviates from a fixed seed: splitmix64 and the polar form of Box and Muller.
struct Dice(u64);

impl Dice {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        let (radius, angle) = ((-2.0 * (1.0 - self.uniform()).ln()).sqrt(), std::f64::consts::TAU * self.uniform());
        radius * angle.cos()
    }
}

#[test]
fn standard_errors_are_those_of_a_thousand_repeated_measurements() {
    let garden = but(&two_zones(), &[("feed.roughness", 0.2, "mm")]);
    let paths = ["supply.static_pressure", "feed.roughness", "bed.nozzle"];
    let mut exact = readings(&garden);
    // Errors small enough for the garden to be straight within them.
    for reading in &mut exact {
        reading.error = reading.error.map(|error| hosewright::quantity::Quantity { si: 0.2 * error.si, ..error });
    }
    let told = fit(&garden, &exact, &paths).expect("a fit");
    let mut dice = Dice(7);
    let times = 1000;
    let mut sums = [(0.0, 0.0); 3];
    let mut chi_square = 0.0;
    for _ in 0..times {
        let mut shaken = exact.clone();
        for reading in &mut shaken {
            reading.value.si += dice.normal() * reading.error.expect("said").si;
        }
        let found = fit(&garden, &shaken, &paths).expect("a fit");
        chi_square += found.chi_square / times as f64;
        for (sum, number) in sums.iter_mut().zip(&found.parameters) {
            *sum = (sum.0 + number.value.si, sum.1 + number.value.si * number.value.si);
        }
    }
    for (number, (sum, squares)) in told.parameters.iter().zip(sums) {
        let mean = sum / f64::from(times);
        let deviation = (squares / f64::from(times) - mean * mean).sqrt();
        let error = number.error.expect("known");
        // A thousand draws give a deviation to 1/sqrt(2000), 2.2 %; three and a half times that.
        assert!((deviation / error - 1.0).abs() < 0.08, "{}: {deviation} instead of {error}", number.path);
        assert!((mean - number.value.si).abs() < 0.15 * error, "{}: bias", number.path);
    }
    // Six readings less three unknowns, give or take sqrt(2 x 3 / 1000).
    assert!((chi_square - 3.0).abs() < 0.25, "{chi_square}");
}

#[test]
fn numbers_that_make_up_for_each_other_are_named() {
    let garden = two_zones();
    let found = fit(&garden, &readings(&garden), &["bed.nozzle", "bed.cd", "feed.roughness"]).expect("a fit");
    insta::assert_snapshot!(found.notes.join("\n"), @"the readings do not determine bed.nozzle and bed.cd separately: fix one of them, or take a reading at another place or zone");
    assert!(found.parameters[0].error.is_none() && found.parameters[1].error.is_none() && found.parameters[2].error.is_some());
}

#[test]
fn numbers_that_hang_together_are_named_with_their_correlation() {
    // Two readings at nearly the same draw hardly tell static from measured pressure: with x of 0.4444 and 0.5378 the columns
    // are (1 - x) and x, and the correlation is less the cosine between them, -0.9833.
    let garden = tap_with_draws(58.0, 44.0);
    let gauges = [gauge(&["v4"], "gauge", 51.8, 0.5), gauge(&["v4_4"], "gauge", 50.4, 0.5)];
    let found = fit(&garden, &gauges, &["tap.static_pressure", "tap.measured_pressure"]).expect("a fit");
    insta::assert_snapshot!(found.notes.join("\n"), @"tap.static_pressure and tap.measured_pressure are correlated (-0.983): the readings hardly determine them separately");
    let apart = [gauge(&["v2"], "gauge", 56.0, 0.5), gauge(&["v7"], "gauge", 39.0, 0.5)];
    let found = fit(&garden, &apart, &["tap.static_pressure", "tap.measured_pressure"]).expect("a fit");
    assert!(found.notes.is_empty(), "{:?}", found.notes);
}

#[test]
fn too_few_readings_and_numbers_without_effect_are_told() {
    let garden = two_zones();
    let few = [gauge(&["beds"], "bed", 40.0, 1.0)];
    let found = fit(&garden, &few, &["feed.roughness", "supply.static_pressure", "berry.nozzle"]).expect("a fit");
    insta::assert_snapshot!(found.notes.join("\n"), @r#"
there are fewer readings (1) than parameters (3): many other values match as well; take more readings or calibrate fewer parameters
no reading depends on berry.nozzle: it keeps its value
the readings do not determine feed.roughness and supply.static_pressure separately: fix one of them, or take a reading at another place or zone
"#);
    assert_eq!(value(&found, "berry.nozzle"), garden.parameter("berry.nozzle").expect("given").si);
    assert!((found.readings[0].off()).abs() < 1e-6);
}

#[test]
fn a_number_that_runs_into_its_bound_is_told() {
    let garden = two_zones();
    // More pressure at the head than even the smoothest hose leaves.
    let found = fit(&garden, &[gauge(&["berries"], "berry", 48.0, 1.0)], &["feed.roughness"]).expect("a fit");
    assert_eq!(value(&found, "feed.roughness"), 0.0);
    insta::assert_snapshot!(found.text(UnitSystem::AsWritten, 100).expect("a text"), @r#"
calibration of 1 parameter to 1 reading

parameter         start   fitted   plus_minus
                   (mm)     (mm)
---------------------------------------------
feed.roughness   0.0015        0            -

reading          zones      read   fitted   off_in_errors
                           (psi)    (psi)
---------------------------------------------------------
berry.pressure   berries      48     38.4           -9.61

chi_square: 92.36 for each of 1 degree of freedom, too large
- feed.roughness is at its limit, 0 mm: it must be zero or above; the garden as described cannot
  match the readings
- the readings do not match the garden as described: an error is larger than given, or a part is
  missing or different
- the reading of 48 psi at 'berry' is off by 9.6 standard errors
"#);
    let worn = fit(&garden, &[gauge(&["berries"], "berry", 30.0, 1.0), gauge(&["berries"], "feed", 44.0, 1.0)], &["berry.cd"])
        .expect("a fit");
    assert_eq!(value(&worn, "berry.cd"), 1.0);
    assert!(worn.parameters[0].bound);
}

#[test]
fn readings_that_contradict_the_garden_are_named() {
    let garden = two_zones();
    let mut shifted = readings(&garden);
    shifted[3].value.si += 6.0 * PSI;
    let found = fit(&garden, &shifted, &["feed.roughness", "supply.static_pressure"]).expect("a fit");
    insta::assert_snapshot!(found.text(UnitSystem::AsWritten, 100).expect("a text"), @r#"
calibration of 2 parameters to 6 readings

parameter                start       fitted     plus_minus
----------------------------------------------------------
feed.roughness           0.0015 mm   0 mm       -
supply.static_pressure   58 psi      59.3 psi   0.29 psi

reading           zones            read       fitted     off_in_errors
----------------------------------------------------------------------
supply.pressure                    58 psi     59.3 psi            2.66
bed.pressure      beds             46.2 psi   47.2 psi            2.19
bed.flow          beds             3.04 gpm   3.08 gpm            0.72
berry.pressure    berries          44.4 psi   39.3 psi          -10.09
feed.pressure     berries          43.7 psi   44.8 psi            2.11
berry.pressure    beds + berries   27.2 psi   27.9 psi            1.44

chi_square: 24.16 for each of 5 degrees of freedom, too large
- feed.roughness is at its limit, 0 mm: it must be zero or above; the garden as described cannot
  match the readings
- the readings do not match the garden as described: an error is larger than given, or a part is
  missing or different
- the reading of 44.4 psi at 'berry' is off by 10.1 standard errors
"#);
}

#[test]
fn wrong_uses_are_refused() {
    let garden = two_zones();
    let one = [gauge(&["beds"], "bed", 40.0, 1.0)];
    let refused = |readings: &[Measurement], paths: &[&str]| fit(&garden, readings, paths).expect_err("refused").to_string();
    assert!(matches!(fit(&garden, &[], &["feed.roughness"]), Err(FitError::NoReadings)));
    assert!(matches!(fit(&garden, &one, &[]), Err(FitError::NoUnknowns)));
    insta::assert_snapshot!(refused(&one, &["feed.roughness", "feed.roughness"]), @"'feed.roughness' is listed twice among the parameters");
    insta::assert_snapshot!(refused(&one, &["bed.rated_flow"]), @"head 'bed': rated_flow is not given");
    insta::assert_snapshot!(refused(&[gauge(&["berries"], "bed", 40.0, 1.0)], &["feed.roughness"]), @"no supply reaches 'bed' with berries open, so there is no reading");
    insta::assert_snapshot!(refused(&[gauge(&["beds"], "bed", 40.0, 0.0)], &["feed.roughness"]), @"the error of the reading at 'bed' must be above zero, found 0 psi");
    let mut flow = gauge(&["beds"], "bed", 40.0, 1.0);
    flow.kind = ProbeKind::Flow;
    insta::assert_snapshot!(refused(&[flow], &["feed.roughness"]), @"the reading at 'bed' must be a flow, found 40 psi (a pressure)");
}
