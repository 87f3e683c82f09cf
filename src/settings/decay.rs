//! How the pressure falls by a leak when the pump has stopped, and the leak from a fall that was seen.
//!
//! The store gives C(P) dP for a fall dP and the leak takes q(P) dt, so a fall from P1 to P2 takes the integral of C/q.
//! It is taken by Gauss-Legendre quadrature between the corners of the laws, in a variable in which a leak that dies off
//! with the root of the pressure leaves no singularity.

use super::error::SettingsError;
use super::store::Store;
use crate::findings::limits::NO_FLOW_M3_PER_S;
use crate::garden::Garden;
use crate::hydraulics::{Network, Probe, ProbeKind, PumpState};
use crate::parts::{Around, Kind, Law, Part, Placing};
use crate::quantity::{Preference, Quantity, dim};

/// A fall of pressure and how long it takes.
#[derive(Clone, Debug, PartialEq)]
pub struct Fall {
    pub from_pa: f64,
    pub to_pa: f64,
    /// How long it takes, s; nothing when the pressure never falls so far.
    pub time_s: Option<f64>,
    /// Where the pressure is read.
    pub at: String,
    /// What the leaks take at the start and at the end, m3/s.
    pub leak_from_m3_per_s: f64,
    pub leak_to_m3_per_s: f64,
    /// Water that the stores give on the way, m3.
    pub water_m3: f64,
    /// What the street alone holds there, Pa; below that a leak is fed by the street.
    pub street_pa: Option<f64>,
}

/// The leak that lets the pressure fall from `from` to `to` in a time, with the tap shut or the pressure above that of the
/// street all the while: its flow at the higher pressure, as a hole that keeps its size (q = c sqrt(P)).
///
/// `at` names where the pressure was read; the switch, or else the tank, unless said. Leaks the garden has already count:
/// only what they do not explain is given. Errors: nothing that stores water or holds the pressure, a pressure that rises,
/// a time that is not above zero.
pub fn leak_from(garden: &Garden, from: Quantity, to: Quantity, time_s: f64, at: Option<&str>) -> Result<Part, SettingsError> {
    check_fall(from, to)?;
    if !(time_s > 0.0 && time_s.is_finite()) {
        return Err(SettingsError::NoTime { found: Quantity::new(time_s, dim::TIME).to_string() });
    }
    let store = Store::of(garden, at)?;
    // C dP / sqrt(P) summed over the fall is c times the time.
    let sum = integral(&store, from.si, to.si, &|pressure_pa| store.per_pa(pressure_pa) / pressure_pa.sqrt());
    let flow = sum / time_s * from.si.sqrt();
    let flow = Quantity { si: flow, dimension: dim::FLOW, preference: gallons_per_hour() };
    Ok(Part::build(Kind::Leak, Some("leak"), &[("flow", flow), ("pressure", from)]).map_err(crate::garden::GardenError::from)?)
}

fn gallons_per_hour() -> Preference {
    crate::quantity::find_unit("gph").map_or(Preference::Usual, Preference::Written)
}

/// How long the pressure takes to fall by the leaks of the garden, valves shut and pump off; from cut-out to cut-in it is
/// the time until the pump kicks in by itself.
///
/// Errors: nothing that stores water or holds the pressure, no leak, a pressure that rises.
pub fn time_to_fall(garden: &Garden, from: Quantity, to: Quantity, at: Option<&str>) -> Result<Fall, SettingsError> {
    check_fall(from, to)?;
    let store = Store::of(garden, at)?;
    let laws: Vec<(Law, f64)> = store.outlets.iter().map(|&(place, higher_pa)| (law(garden, place), higher_pa)).collect();
    let taken = |pressure_pa: f64| laws.iter().map(|(law, higher_pa)| outflow(law, pressure_pa + higher_pa)).sum::<f64>();
    if laws.is_empty() {
        return Err(SettingsError::NoLeak);
    }
    let street_pa = street(garden, store.at);
    let fed = street_pa.is_some_and(|street_pa| street_pa > to.si);
    let runs_out = taken(to.si) <= NO_FLOW_M3_PER_S * 1e-3;
    let time_s = (!fed && !runs_out)
        .then(|| integral(&store, from.si, to.si, &|pressure_pa| store.per_pa(pressure_pa) / taken(pressure_pa)));
    Ok(Fall {
        from_pa: from.si,
        to_pa: to.si,
        time_s: time_s.filter(|time_s| time_s.is_finite()),
        at: garden.name(store.at).to_string(),
        leak_from_m3_per_s: taken(from.si),
        leak_to_m3_per_s: taken(to.si),
        water_m3: store.water_m3(from.si) - store.water_m3(to.si),
        street_pa,
    })
}

fn check_fall(from: Quantity, to: Quantity) -> Result<(), SettingsError> {
    if from.si > to.si && to.si >= 0.0 && from.si.is_finite() {
        return Ok(());
    }
    Err(SettingsError::NoFall { from: from.to_string(), to: to.to_string() })
}

/// What the street alone holds at a place with all valves and outlets shut and the pumps off, Pa; nothing where it does not
/// reach.
fn street(garden: &Garden, at: usize) -> Option<f64> {
    let flows = |kind: Kind| kind != Kind::Valve && kind.spec().placing != Placing::Outlet;
    let open: Vec<bool> = garden.parts().iter().map(|part| flows(part.kind())).collect();
    let mut network = Network::new(garden, &open).ok()?;
    garden.of_kind(Kind::Booster).for_each(|booster| network.run_pump(booster, PumpState::Off));
    network.solve().ok()?;
    let pressure_pa = network.probe(&Probe { place: at, kind: ProbeKind::Pressure });
    pressure_pa.is_finite().then_some(pressure_pa)
}

fn law(garden: &Garden, place: usize) -> Law {
    garden.parts()[place].law(&Around { water: *garden.water(), bore_m: f64::NAN })
}

/// What an outlet takes at a pressure, m3/s.
fn outflow(law: &Law, pressure_pa: f64) -> f64 {
    let above_pa = pressure_pa.max(0.0);
    match law {
        Law::Orifice { resistance } => (above_pa / resistance).sqrt(),
        Law::RegulatedOrifice { resistance, set_pa } => (above_pa.min(*set_pa) / resistance).sqrt(),
        Law::Tabulated { table } => table.flow(above_pa),
        Law::Soaker { line } => line.flow(above_pa),
        Law::Power { coefficient, exponent } => coefficient * above_pa.powf(*exponent),
        Law::Relief { set_pa, resistance } => ((pressure_pa - set_pa) / resistance).max(0.0),
        Law::Demand { flow_m3_per_s } => *flow_m3_per_s,
        _ => 0.0,
    }
}

/// The integral of a function of pressure from `low` to `high`, split where stores have corners.
fn integral(store: &Store, high_pa: f64, low_pa: f64, value: &dyn Fn(f64) -> f64) -> f64 {
    let mut ends = vec![low_pa, high_pa];
    ends.extend(
        store.stored.iter().filter_map(|stored| stored.corner_pa()).filter(|&corner| corner > low_pa && corner < high_pa),
    );
    ends.sort_by(f64::total_cmp);
    ends.windows(2).map(|pair| between(pair[0], pair[1], value)).sum()
}

/// The integral between two pressures, in u with P = low + (high - low) u^2.
fn between(low_pa: f64, high_pa: f64, value: &dyn Fn(f64) -> f64) -> f64 {
    /// Pieces of the interval; with ten points each the error is far below 1e-12 for the smooth laws here.
    const PIECES: usize = 16;
    let span_pa = high_pa - low_pa;
    let width = 1.0 / PIECES as f64;
    let mut sum = 0.0;
    for piece in 0..PIECES {
        let middle = (piece as f64 + 0.5) * width;
        for (point, weight) in GAUSS_10 {
            for sign in [-1.0, 1.0] {
                let u = middle + sign * 0.5 * width * point;
                sum += 0.5 * width * weight * 2.0 * u * span_pa * value(low_pa + span_pa * u * u);
            }
        }
    }
    sum
}

/// Points and weights of ten-point Gauss-Legendre quadrature on -1 to 1, positive half.
/// Source: M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, table 25.4 (from memory).
const GAUSS_10: [(f64, f64); 5] = [
    (0.148_874_338_981_631_2, 0.295_524_224_714_752_9),
    (0.433_395_394_129_247_2, 0.269_266_719_309_996_4),
    (0.679_409_568_299_024_4, 0.219_086_362_515_982),
    (0.865_063_366_688_984_5, 0.149_451_349_150_580_6),
    (0.973_906_528_517_171_7, 0.066_671_344_308_688_1),
];

#[cfg(test)]
mod tests {
    use super::super::store::{StoreLaw, Stored};
    use super::*;
    use approx::assert_relative_eq;

    fn store(law: StoreLaw) -> Store {
        Store { at: 0, stored: vec![Stored { place: 0, law, higher_pa: 0.0 }], outlets: Vec::new() }
    }

    #[test]
    fn the_quadrature_is_exact_to_rounding_for_polynomials() {
        // The weights belong to the points: the integral of x^18 from 0 to 1 is 1/19.
        assert_relative_eq!(between(0.0, 1.0, &|x| x.powi(9)), 0.1, max_relative = 1e-13);
        assert_relative_eq!(between(0.0, 1.0, &|x| x.powi(0)), 1.0, max_relative = 1e-13);
    }

    #[test]
    fn a_stretching_hose_with_a_hole_falls_as_the_closed_form_says() {
        // dP/dt = -c sqrt(P)/C gives t = 2 C (sqrt(P1) - sqrt(P2)) / c, down to no pressure at all.
        let store = store(StoreLaw::Stretch { volume_per_pa: 2e-9 });
        let c = 3e-9;
        for to in [0.0, 1e5, 3.9e5] {
            let time = integral(&store, 4e5, to, &|p| store.per_pa(p) / (c * p.sqrt()));
            assert_relative_eq!(time, 2.0 * 2e-9 * (4e5f64.sqrt() - f64::sqrt(to)) / c, max_relative = 1e-12);
        }
    }

    #[test]
    fn a_tank_with_a_hole_falls_as_the_closed_form_says() {
        // With s = sqrt(P) and a2 the atmosphere: the integral of 2 A ds / (s^2 + a2)^2 is A (s/(a2 (s^2+a2)) + atan(s/a)/a^3).
        let (volume_m3, precharge_pa, a2) = (0.02, 1.5e5, 101_325.0f64);
        let store = store(StoreLaw::Tank { volume_m3, precharge_pa });
        let c = 3e-9;
        let a = a2.sqrt();
        let part = |p: f64| p.sqrt() / (a2 * (p + a2)) + (p.sqrt() / a).atan() / (a * a * a);
        let exact = volume_m3 * (precharge_pa + a2) * (part(4e5) - part(2e5)) / c;
        assert_relative_eq!(integral(&store, 4e5, 2e5, &|p| store.per_pa(p) / (c * p.sqrt())), exact, max_relative = 1e-12);
        // Below the precharge the tank is empty and gives nothing more.
        let all = integral(&store, 4e5, 1e5, &|p| store.per_pa(p) / (c * p.sqrt()));
        let exact = volume_m3 * (precharge_pa + a2) * (part(4e5) - part(precharge_pa)) / c;
        assert_relative_eq!(all, exact, max_relative = 1e-12);
    }

    #[test]
    fn the_water_given_is_the_integral_of_what_each_fall_gives() {
        let store = store(StoreLaw::Tank { volume_m3: 0.02, precharge_pa: 1.5e5 });
        let sum = integral(&store, 4e5, 1e5, &|p| store.per_pa(p));
        assert_relative_eq!(sum, store.water_m3(4e5) - store.water_m3(1e5), max_relative = 1e-12);
    }
}
