//! The sweep of three heads that `compare.py` sets against plain numerical Python: times it and writes its answers.
//!
//! `cargo bench --bench peer -- --answers FILE` writes pressure and flow of each head, case by case, as little-endian f64.

use hosewright::garden::Garden;
use hosewright::parts::{Kind, Part};
use hosewright::quantity::{Quantity, find_unit};
use hosewright::study::{Axes, Axis, SweepOptions, sweep};
use hosewright::table::{Table, Values};
use std::io::Write;
use std::time::Instant;

/// Steps of the length and of the diameter of the feed hose.
const LENGTHS: usize = 400;
const BORES: usize = 250;
/// The best of so many runs counts.
const RUNS: usize = 5;
const ZONES: [&str; 3] = ["v0", "v1", "v2"];

fn q(value: f64, unit: &str) -> Quantity {
    Quantity::written(value, find_unit(unit).expect("a unit of this bench"))
}

/// One tap, a feed hose, and three branches of valve, hose and head.
fn garden() -> Garden {
    let build = |kind, name: &str, numbers: &[(&str, Quantity)]| Part::of_words(kind, Some(name), numbers).expect("a sound part");
    let hose = |name: &str, length: f64, diameter: f64| {
        build(Kind::Hose, name, &[("length", q(length, "ft")), ("diameter", q(diameter, "in"))])
    };
    let tap = [("static_pressure", q(58.0, "psi")), ("measured_pressure", q(44.0, "psi")), ("measured_flow", q(6.0, "gpm"))];
    let mut parts = vec![build(Kind::Supply, "tap", &tap), hose("feed", 100.0, 0.75)];
    let mut joints = vec![(0, 0), (0, 1)];
    for (index, (length, diameter, nozzle)) in
        [(40.0, 0.5, 0.125), (60.0, 0.625, 0.15), (80.0, 0.625, 0.11)].into_iter().enumerate()
    {
        let node = 2 + 2 * index;
        parts.push(build(Kind::Valve, &format!("v{index}"), &[]));
        parts.push(hose(&format!("h{index}"), length, diameter));
        parts.push(build(Kind::Head, &format!("n{index}"), &[("nozzle", q(nozzle, "in"))]));
        joints.extend([(1, node), (node, node + 1), (node + 1, node + 1)]);
    }
    Garden::from_joints(parts, &joints).expect("joins")
}

fn even(low: f64, high: f64, count: usize, unit: &str) -> Vec<Quantity> {
    (0..count).map(|step| q(low + (high - low) * step as f64 / (count - 1) as f64, unit)).collect()
}

/// Seconds of the best run on so many threads, and the table.
fn timed(garden: &Garden, axes: &Axes, threads: usize) -> (f64, Table) {
    let options = SweepOptions { threads: Some(threads), ..SweepOptions::default() };
    let run = || {
        let start = Instant::now();
        let table = sweep(garden, axes, &ZONES, &options).expect("a sound sweep");
        (start.elapsed().as_secs_f64(), table)
    };
    (1..RUNS).map(|_| run()).fold(run(), |best, next| if next.0 < best.0 { next } else { best })
}

fn column(table: &Table, name: &str) -> Vec<f64> {
    match table.column(name).expect("a column of the sweep").values {
        Values::Quantities { si, .. } => si.into_iter().map(|value| value.expect("a case that settles")).collect(),
        _ => Vec::new(),
    }
}

fn main() {
    let garden = garden();
    let axis = |name: &str, values: Vec<Quantity>| Axis::of_quantities(name, &values).expect("an axis");
    let axes = Axes::default()
        .and(axis("feed.length", even(25.0, 300.0, LENGTHS, "ft")))
        .and_then(|axes| axes.and(axis("feed.diameter", even(0.5, 1.0, BORES, "in"))))
        .expect("two axes");
    let (one, table) = timed(&garden, &axes, 1);
    let (two, _) = timed(&garden, &axes, 2);
    println!("{{\"lengths\": {LENGTHS}, \"diameters\": {BORES}, \"one_thread_s\": {one}, \"two_threads_s\": {two}}}");
    let arguments: Vec<String> = std::env::args().collect();
    let Some(path) = arguments.iter().position(|word| word == "--answers").and_then(|index| arguments.get(index + 1)) else {
        return;
    };
    let names = (0..3).flat_map(|head| [format!("n{head}.pressure"), format!("n{head}.flow")]);
    let columns: Vec<Vec<f64>> = names.map(|name| column(&table, &name)).collect();
    let mut out = std::io::BufWriter::new(std::fs::File::create(path).expect("a file"));
    for case in 0..LENGTHS * BORES {
        for column in &columns {
            out.write_all(&column[case].to_le_bytes()).expect("written");
        }
    }
}
