//! Gardens with a known fault: readings of them lead back to it.

use super::*;
use crate::parts::{Id, Kind, Part};
use crate::quantity::dim;
use crate::support::*;
use proptest::prelude::*;

/// What a gauge or bucket would read; none where no water comes from any supply.
fn value(garden: &Garden, zones: &[String], at: &str, kind: ProbeKind) -> Result<Option<f64>, RunError> {
    let names: Vec<&str> = zones.iter().map(String::as_str).collect();
    let solution = run(garden, &names)?;
    Ok(match kind {
        ProbeKind::Pressure => solution.pressure_pa(at)?,
        ProbeKind::Flow => Some(solution.flow_m3_per_s(at)?),
    })
}

/// A tap, a screen, a feed with gauges on both ends, two zones.
fn plot() -> Garden {
    let screen = part(Kind::Filter, "screen", &[("loss", q(1.0, "psi")), ("flow", q(6.0, "gpm"))]);
    line(&[
        supply("tap", 58.0, 44.0, 6.0),
        part(Kind::Point, "near", &[]),
        screen,
        hose("feed", 100.0, 0.75),
        part(Kind::Point, "far", &[]),
    ])
    .then_branches(&[
        line(&[valve("beds"), hose("bed line", 40.0, 0.5), head("bed", 0.125)]),
        line(&[valve("berries"), hose("berry line", 60.0, 0.625), head("berry", 5.0 / 32.0)]),
    ])
    .expect("joins")
}

/// Gauges at all named places in both zones, without errors.
fn readings_of(garden: &Garden, places: &[(&str, &str)]) -> Vec<Measurement> {
    let read = |(zone, at): &(&str, &str)| Measurement {
        zones: vec![(*zone).to_string()],
        at: (*at).to_string(),
        kind: ProbeKind::Pressure,
        value: Quantity::new(
            value(garden, &[(*zone).to_string()], at, ProbeKind::Pressure).expect("solves").expect("fed"),
            dim::PRESSURE,
        ),
        error: None,
    };
    places.iter().map(read).collect()
}

const EVERYWHERE: [(&str, &str); 8] = [
    ("beds", "near"),
    ("beds", "screen"),
    ("beds", "far"),
    ("beds", "bed"),
    ("berries", "near"),
    ("berries", "screen"),
    ("berries", "far"),
    ("berries", "berry"),
];

/// The faults that can be told apart by gauges everywhere, each with the part, the path that shows it and its value as a share of the drawn one.
fn faulty(which: usize, share: f64) -> (Garden, Fault, &'static str, f64) {
    let plot = plot();
    let with = |path: &str, factor: f64| {
        let drawn = plot.parameter(path).expect("there");
        (plot.with(path, Quantity { si: drawn.si * factor, ..drawn }).expect("allowed"), drawn.si * factor)
    };
    let (garden, fault, name, value) = match which {
        0 => {
            let (garden, value) = with("screen.loss", 1.0 + 12.0 * share);
            (garden, Fault::Clogged, "screen", value)
        }
        1 => {
            let (garden, value) = with("feed.diameter", 0.9 - 0.4 * share);
            (garden, Fault::Narrower, "feed", value)
        }
        2 => {
            let (garden, value) = with("bed.nozzle", 1.15 + 0.3 * share);
            (garden, Fault::LargerNozzle, "bed", value)
        }
        3 => {
            let (garden, value) = with("tap.static_pressure", 0.9 - 0.3 * share);
            (garden, Fault::WeakMain, "tap", value)
        }
        4 => {
            let bore_m = (0.3 - 0.12 * share) * crate::quantity::INCH_M;
            let hole = Part::new(Kind::Restrictor).with(&[(Id::Bore, Quantity::new(bore_m, dim::LENGTH))]).expect("a hole");
            let shut = plot.insert(crate::garden::Side::Before, "berries", &Garden::of(hole)).expect("joins");
            (shut, Fault::PartlyClosed, "berries", bore_m)
        }
        _ => {
            let flow = (1.0 + 3.0 * share) * GPM;
            let leak = Part::new(Kind::Leak)
                .with(&[(Id::Flow, Quantity::new(flow, dim::FLOW)), (Id::Pressure, q(50.0, "psi"))])
                .expect("a leak");
            (plot.branch("feed", &Garden::of(leak)).expect("joins"), Fault::Leak, "feed", flow)
        }
    };
    (garden, fault, name, value)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, ..ProptestConfig::default() })]

    /// Gauges at all places lead to the fault, with its value.
    #[test]
    fn gauges_everywhere_lead_to_the_fault(which in 0usize..6, share in 0.1f64..1.0) {
        let (garden, fault, name, value) = faulty(which, share);
        let found = find_restriction(&plot(), &readings_of(&garden, &EVERYWHERE), Some(1)).expect("found");
        prop_assert!(!found.agrees());
        let first = &found.causes[0];
        prop_assert_eq!((first.fault, first.name.as_str()), (fault, name), "{:?}", found.causes.iter().map(|cause| (cause.fault, &cause.name, cause.chi_square)).collect::<Vec<_>>());
        prop_assert!((first.fits.si / value - 1.0).abs() < 0.01, "{} for {value}", first.fits.si);
        prop_assert!(first.chi_square < 1e-3);
        if fault == Fault::LargerNozzle {
            // A leak beside the head takes as much water: only a bucket at the head knows better.
            let next = found.next.as_ref().expect("a bucket");
            prop_assert_eq!((next.at.as_str(), next.kind), (name, ProbeKind::Flow));
        }
        let sum: f64 = found.as_drawn + found.causes.iter().map(|cause| cause.likelihood).sum::<f64>();
        prop_assert!((sum - 1.0).abs() < 1e-9);
    }

    /// With few gauges the fault is still among the causes that cannot be told apart, and the reading that is asked for rules out the one
    /// or the other.
    #[test]
    fn the_next_reading_tells_the_best_two_apart(which in 0usize..6, share in 0.3f64..1.0) {
        let (garden, fault, name, _) = faulty(which, share);
        let few = readings_of(&garden, &[("beds", "near"), ("beds", "bed"), ("berries", "berry")]);
        let found = find_restriction(&plot(), &few, Some(1)).expect("found");
        let truth = found.causes.iter().find(|cause| cause.fault == fault && cause.name == name);
        prop_assume!(found.off.iter().any(|off| off.abs() > 2.0));
        let truth = truth.expect("the fault is among the causes");
        prop_assert!(truth.chi_square < 1e-2, "{}", truth.chi_square);
        if let Some(next) = &found.next {
            let (one, other) = (&found.causes[next.between.0], &found.causes[next.between.1]);
            let read = |garden: &Garden| value(garden, &next.zones, &next.at, next.kind).expect("solves").expect("fed");
            prop_assert!((read(&one.garden) - next.would_be.0).abs() <= 1e-6 * next.would_be.0.abs());
            let apart = (read(&one.garden) - read(&other.garden)).abs() / usual_error(next.kind, 0.5 * (next.would_be.0 + next.would_be.1));
            prop_assert!((apart - next.apart).abs() < 1e-6 * apart && apart > LIKE);
        }
    }
}

#[test]
fn readings_that_agree_have_no_cause() {
    let found = find_restriction(&plot(), &readings_of(&plot(), &EVERYWHERE), None).expect("found");
    assert!(found.agrees() && found.causes.is_empty(), "{:?}", found.causes);
    assert!(found.as_drawn > 0.999);
}

#[test]
fn two_gauges_cannot_tell_a_screen_from_the_hose_behind_it_and_a_third_one_can() {
    let (garden, ..) = faulty(0, 0.8);
    let found =
        find_restriction(&plot(), &readings_of(&garden, &[("berries", "near"), ("berries", "far")]), Some(1)).expect("found");
    let names: Vec<&str> = found.causes.iter().take(2).map(|cause| cause.name.as_str()).collect();
    assert!(names.contains(&"screen") && names.contains(&"feed"), "{names:?}");
    let next = found.next.expect("a third gauge");
    assert_eq!((next.at.as_str(), next.kind), ("screen", ProbeKind::Pressure));
}

#[test]
fn unusable_readings_are_refused() {
    assert!(find_restriction(&plot(), &[], None).is_err());
    let mut odd = readings_of(&plot(), &[("beds", "bed")]);
    odd[0].at = "nowhere".into();
    assert!(find_restriction(&plot(), &odd, None).is_err());
    let mut length = readings_of(&plot(), &[("beds", "bed")]);
    length[0].value = q(30.0, "ft");
    assert!(find_restriction(&plot(), &length, None).is_err(), "a length is no pressure");
    let mut certain = readings_of(&plot(), &[("beds", "bed")]);
    certain[0].error = Some(q(0.0, "psi"));
    assert!(find_restriction(&plot(), &certain, None).is_err(), "no gauge is without error");
}
