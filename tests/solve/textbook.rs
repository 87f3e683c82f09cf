//! A network worked by hand in a textbook, and the same by a solver of its own.

use crate::support::*;
use hosewright::garden::Garden;
use hosewright::hydraulics::run;
use hosewright::parts::{Kind, Part};
use hosewright::water::Water;

/// Length m, diameter m, relative roughness, level of the reservoir m; and the flow out of the reservoir that the book finds, m3/s.
const PIPES: [(f64, f64, f64, f64, f64); 3] =
    [(3000.0, 1.0, 0.0002, 30.0, 1.183), (600.0, 0.45, 0.002, 18.0, -0.325), (1000.0, 0.6, 0.001, 9.0, -0.856)];

fn garden() -> Garden {
    let mut parts = Vec::new();
    let mut joints = Vec::new();
    for (index, &(length, diameter, relative, level, _)) in PIPES.iter().enumerate() {
        let node = index + 1;
        let tank = [("level", q(level, "m"))];
        parts.push(Part::of_words(Kind::OpenTank, Some(&format!("reservoir{node}")), &tank).expect("a sound tank"));
        joints.push((node, node));
        let pipe = [("length", q(length, "m")), ("diameter", q(diameter, "m")), ("roughness", q(relative * diameter, "m"))];
        parts.push(Part::of_words(Kind::Pipe, Some(&format!("pipe{node}")), &pipe).expect("a sound pipe"));
        joints.push((node, 0));
    }
    Garden::from_joints(parts, &joints).expect("joins").with_water(Water::at(293.15).expect("water"))
}

/// The flow that a head drives through a pipe: friction factor and speed in turn until neither moves.
fn flow_by_hand(length: f64, diameter: f64, relative: f64, head_m: f64, water: &Water) -> f64 {
    let mut factor: f64 = 0.02;
    let mut speed = 0.0;
    for _ in 0..200 {
        speed = (2.0 * 9.80665 * diameter * head_m.abs() / (factor * length)).sqrt();
        let reynolds = water.density_kg_per_m3 * speed * diameter / water.viscosity_pa_s;
        factor = (-2.0 * (relative / 3.7 + 2.51 / (reynolds * factor.sqrt())).log10()).powi(-2);
    }
    (speed * std::f64::consts::PI * diameter * diameter / 4.0).copysign(head_m)
}

/// V. L. Streeter and E. B. Wylie, Fluid Mechanics, 8th edition (1985), the example of three reservoirs joined at a point (from memory, data and
/// answers). The book reads friction factors off a chart and stops when the junction balances to some 0.002 m3/s, so
/// that its flows are good to 2 %.
#[test]
fn three_reservoirs_share_their_water_as_in_the_textbook() {
    let solution = run(&garden(), &[]).expect("a steady state");
    for (index, &(.., book)) in PIPES.iter().enumerate() {
        let flow = solution.flow_m3_per_s(&format!("pipe{}", index + 1)).expect("known");
        assert!((flow / book - 1.0).abs() < 0.02, "pipe {}: {flow} m3/s, {book} in the book", index + 1);
    }
}

#[test]
fn three_reservoirs_agree_with_the_head_at_the_junction_found_by_halving() {
    let garden = garden();
    let water = *garden.water();
    let flows = |head_m: f64| {
        PIPES.map(|(length, diameter, relative, level, _)| flow_by_hand(length, diameter, relative, level - head_m, &water))
    };
    let (mut low, mut high) = (18.0, 30.0);
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if flows(middle).iter().sum::<f64>() > 0.0 { low = middle } else { high = middle }
    }
    let solution = run(&garden, &[]).expect("a steady state");
    for (index, expected) in flows(low).into_iter().enumerate() {
        let flow = solution.flow_m3_per_s(&format!("pipe{}", index + 1)).expect("known");
        // Pipes and halving share nothing but the laws; 1e-9 is what the solve closes to.
        assert!((flow / expected - 1.0).abs() < 1e-8, "pipe {}: {flow} and {expected} m3/s", index + 1);
    }
}
