//! Gardens for the tests: short ways to make parts and random networks.
#![allow(dead_code, unused_imports)]

pub mod logs;
pub mod slopes;

use hosewright::garden::{Garden, drawing};
use hosewright::parts::{Kind, Part};
use hosewright::quantity::{Quantity, find_unit};
use proptest::prelude::*;
use std::fmt;

pub use hosewright::quantity::{FOOT_M as FT, GPM_M3_PER_S as GPM, PSI_PA as PSI};

/// A quantity in a unit.
pub fn q(value: f64, unit: &str) -> Quantity {
    if unit.is_empty() {
        return Quantity::number(value);
    }
    Quantity::written(value, find_unit(unit).expect("a unit of the tests"))
}

/// A part of a kind, named, with numbers.
pub fn part(kind: Kind, name: &str, numbers: &[(&str, Quantity)]) -> Garden {
    Garden::of(Part::of_words(kind, Some(name), numbers).expect("a sound part"))
}

pub fn supply(name: &str, static_psi: f64, measured_psi: f64, flow_gpm: f64) -> Garden {
    part(
        Kind::Supply,
        name,
        &[
            ("static_pressure", q(static_psi, "psi")),
            ("measured_pressure", q(measured_psi, "psi")),
            ("measured_flow", q(flow_gpm, "gpm")),
        ],
    )
}

pub fn hose(name: &str, length_ft: f64, diameter_in: f64) -> Garden {
    part(Kind::Hose, name, &[("length", q(length_ft, "ft")), ("diameter", q(diameter_in, "inch"))])
}

pub fn head(name: &str, diameter_in: f64) -> Garden {
    part(Kind::Head, name, &[("nozzle", q(diameter_in, "inch"))])
}

pub fn valve(name: &str) -> Garden {
    part(Kind::Valve, name, &[])
}

pub fn climb(name: &str, height_ft: f64) -> Garden {
    part(Kind::Uphill, name, &[("height", q(height_ft, "ft"))])
}

pub fn booster(name: &str, points: &[(f64, f64)]) -> Garden {
    let si: Vec<(f64, f64)> = points.iter().map(|(gpm, psi)| (gpm * GPM, psi * PSI)).collect();
    Garden::of(Part::new(Kind::Booster).named(name).and_then(|part| part.with_curve(&si)).expect("a sound booster"))
}

/// Parts in series.
pub fn line(parts: &[Garden]) -> Garden {
    let (first, rest) = parts.split_first().expect("at least one part");
    rest.iter().fold(first.clone(), |line, next| line.then(next).expect("joins"))
}

/// The garden of the design's example: a feed and two zones.
pub fn two_zones() -> Garden {
    line(&[supply("supply", 58.0, 44.0, 6.0), hose("feed", 100.0, 0.625)])
        .then_branches(&[
            line(&[valve("beds"), hose("bed line", 40.0, 0.5), head("bed", 0.125)]),
            line(&[valve("berries"), hose("berry line", 60.0, 0.625), climb("rise", 2.0), head("berry", 5.0 / 32.0)]),
        ])
        .expect("joins")
}

/// A recipe for one more part of a random network.
#[derive(Clone, Debug)]
pub enum Growth {
    Hose { length_ft: f64, diameter_in: f64 },
    Climb { height_ft: f64 },
    Check,
    Regulator { psi: f64 },
    Booster { psi: f64, gpm: f64 },
    Relief { psi: f64 },
    Head { diameter_in: f64 },
    Emitter { gph: f64, exponent: f64 },
    Draw { gpm: f64 },
    Fitting { k: f64 },
}

/// Random growth; each goes on from the open end at `at`, modulo the number of ends.
pub fn growths(most: usize) -> impl Strategy<Value = Vec<(usize, Growth)>> {
    let growth = prop_oneof![
        4 => (5.0f64..200.0, 0.3f64..1.2).prop_map(|(length_ft, diameter_in)| Growth::Hose { length_ft, diameter_in }),
        1 => (-30.0f64..60.0).prop_map(|height_ft| Growth::Climb { height_ft }),
        1 => Just(Growth::Check),
        1 => (15.0f64..60.0).prop_map(|psi| Growth::Regulator { psi }),
        1 => (10.0f64..60.0, 4.0f64..30.0).prop_map(|(psi, gpm)| Growth::Booster { psi, gpm }),
        1 => (20.0f64..90.0).prop_map(|psi| Growth::Relief { psi }),
        4 => (0.05f64..0.3).prop_map(|diameter_in| Growth::Head { diameter_in }),
        1 => (0.5f64..20.0, 0.1f64..1.0).prop_map(|(gph, exponent)| Growth::Emitter { gph, exponent }),
        1 => (0.1f64..3.0).prop_map(|gpm| Growth::Draw { gpm }),
        1 => (0.0f64..20.0).prop_map(|k| Growth::Fitting { k }),
    ];
    prop::collection::vec((0usize..1000, growth), 1..most)
}

/// The line of one growth.
pub fn grow(growth: &Growth) -> Garden {
    let unnamed =
        |kind: Kind, numbers: &[(&str, Quantity)]| Garden::of(Part::of_words(kind, None, numbers).expect("a sound part"));
    match *growth {
        Growth::Hose { length_ft, diameter_in } => {
            unnamed(Kind::Hose, &[("length", q(length_ft, "ft")), ("diameter", q(diameter_in, "inch"))])
        }
        Growth::Climb { height_ft } => unnamed(Kind::Uphill, &[("height", q(height_ft, "ft"))]),
        Growth::Check => unnamed(Kind::CheckValve, &[]),
        Growth::Regulator { psi } => unnamed(Kind::Regulator, &[("set", q(psi, "psi"))]),
        Growth::Booster { psi, gpm } => {
            let part = Part::new(Kind::Booster).with_curve(&[(0.0, psi * PSI), (gpm * GPM, 0.4 * psi * PSI)]);
            Garden::of(part.expect("a sound booster"))
        }
        Growth::Relief { psi } => unnamed(Kind::Relief, &[("set", q(psi, "psi"))]),
        Growth::Head { diameter_in } => unnamed(Kind::Head, &[("nozzle", q(diameter_in, "inch"))]),
        Growth::Emitter { gph, exponent } => {
            unnamed(Kind::Emitter, &[("flow", q(gph, "gph")), ("pressure", q(15.0, "psi")), ("exponent", q(exponent, ""))])
        }
        Growth::Draw { gpm } => unnamed(Kind::Demand, &[("flow", q(gpm, "gpm"))]),
        Growth::Fitting { k } => unnamed(Kind::Fitting, &[("k", q(k, ""))]),
    }
}

/// A random tree: each growth hangs behind an earlier part, by its number.
pub fn tree(growths: &[(usize, Growth)]) -> Garden {
    let mut garden = line(&[supply("tap", 58.0, 44.0, 6.0), hose("feed", 60.0, 0.75)]);
    for (at, growth) in growths {
        let place = at % garden.parts().len();
        let name = garden.name(place).to_string();
        garden = garden.branch(&name, &grow(growth)).expect("joins");
    }
    garden
}

/// Hoses that close loops: two places by number, length in ft and diameter in inches.
pub type Join = (usize, usize, f64, f64);

pub fn joins() -> impl Strategy<Value = Vec<Join>> {
    prop::collection::vec((0usize..1000, 0usize..1000, 5.0f64..100.0, 0.3f64..1.0), 1..5)
}

/// A garden with hoses between some of its places.
pub fn with_loops(mut garden: Garden, joins: &[Join]) -> Garden {
    for &(from, to, length, diameter) in joins {
        let n = garden.parts().len();
        let (from, to) = (garden.name(from % n).to_string(), garden.name(to % n).to_string());
        let hose = Part::of_words(Kind::Hose, None, &[("length", q(length, "ft")), ("diameter", q(diameter, "inch"))]);
        if let Ok(joined) = garden.connect(&from, &to, &Garden::of(hose.expect("a sound hose"))) {
            garden = joined;
        }
    }
    garden
}

/// A garden that a failing case shows as a drawing.
#[derive(Clone)]
pub struct Drawn(pub Garden);

impl fmt::Debug for Drawn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "\n{}", drawing(&self.0, Default::default()))
    }
}
