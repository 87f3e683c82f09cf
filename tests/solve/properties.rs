//! Laws that every steady state keeps, on random networks; the name of a test is the law.

use crate::independent::Model;
use crate::march::{self, Rung};
use crate::support::*;
use hosewright::garden::{Garden, drawing};
use hosewright::hydraulics::{Network, Probe, ProbeKind, RunError, Solution, run};
use hosewright::parts::{Around, Id, Kind, Law, Part, Placing};
use proptest::prelude::*;
use std::sync::Arc;

/// How many cases to try; CASES in the environment multiplies them.
fn cases(usual: u32) -> u32 {
    usual * std::env::var("CASES").ok().and_then(|text| text.parse().ok()).unwrap_or(1)
}

/// Runs all of a garden; a case whose climbs bend a loop is left out.
fn solved(garden: &Garden) -> Result<Solution, TestCaseError> {
    run(garden, &[]).map_err(|error| match error {
        RunError::Garden(_) | RunError::Ended(_) => TestCaseError::reject("a crooked loop"),
        RunError::Solve(error) => TestCaseError::fail(format!("{error}\n{}", drawing(garden, Default::default()))),
    })
}

/// Leaves out a case in which nothing decides how a flow is split: two pumps side by side that pull all there is.
fn undivided(solution: &Solution) -> Result<(), TestCaseError> {
    if solution.undetermined.is_empty() { Ok(()) } else { Err(TestCaseError::reject("an undetermined split")) }
}

/// Random networks, half of them with loops.
fn networks(most: usize) -> impl Strategy<Value = Drawn> {
    (growths(most), joins(), prop::bool::ANY).prop_map(|(growths, joins, looped)| {
        if !looped {
            return Drawn(tree(&growths));
        }
        let flat: Vec<_> = growths.into_iter().filter(|(_, growth)| !matches!(growth, Growth::Climb { .. })).collect();
        Drawn(with_loops(tree(&flat), &joins))
    })
}

/// The same garden with a diameter of its own for every part, so that no part takes one from a neighbor.
fn with_own_bores(garden: &Garden) -> Vec<Part> {
    let own = |part: &Arc<Part>| {
        let mut part = (**part).clone();
        if part.spec().has(Id::K) {
            part.set(Id::Diameter, q(0.75, "inch")).expect("a diameter");
        }
        part
    };
    garden.parts().iter().map(own).collect()
}

fn joints(garden: &Garden) -> Vec<(usize, usize)> {
    garden.layout().places.iter().map(|place| (place.from, place.to)).collect()
}

fn law(garden: &Garden, place: usize) -> Law {
    let diameter_m = garden.layout().diameter_from()[place].map_or(f64::NAN, |hose| garden.parts()[hose].value(Id::Diameter));
    garden.parts()[place].law(&Around { water: *garden.water(), diameter_m })
}

/// What the law of a part says it loses at a flow; nothing where the law leaves it open.
fn loss_by_law(law: &Law, flow: f64) -> Option<f64> {
    let squared = flow * flow.abs();
    match law {
        Law::Free => Some(0.0),
        Law::Friction { pipe, resistance } => Some(pipe.loss(flow, &mut 0.0).loss_pa + resistance * squared),
        Law::Quadratic { resistance } => Some(resistance * squared),
        Law::Climb { rise_pa } => Some(*rise_pa),
        Law::OneWay { resistance, cracking_pa } if flow > 0.0 => Some(resistance * squared + cracking_pa),
        Law::Booster { curve, .. } => Some(-curve.rise(flow).0),
        _ => None,
    }
}

/// Pressure of an outlet by its law while it flows.
fn pressure_by_law(law: &Law, flow: f64) -> Option<f64> {
    match law {
        Law::Orifice { resistance } => Some(resistance * flow * flow),
        Law::Power { coefficient, exponent } => Some((flow / coefficient).powf(1.0 / exponent)),
        Law::Relief { set_pa, resistance } => Some(set_pa + resistance * flow),
        _ => None,
    }
}

/// True for a part at whose ends water stands at vapor pressure: behind such a place a pump or a falling line loses what is too
/// much for the water that comes.
fn stands_at_vapor(solution: &Solution, place: usize) -> bool {
    let (state, vapor_pa) = (&solution.parts[place], solution.garden.vapor_gauge_pa());
    [state.pressure_in_pa, state.pressure_out_pa].into_iter().flatten().any(|pressure_pa| pressure_pa < vapor_pa + 1.0)
}

/// The highest pressure of a solution, which misfits are measured against.
fn scale_pa(solution: &Solution) -> f64 {
    solution.node_pa.iter().filter(|pressure| !pressure.is_nan()).fold(1e4, |most: f64, pressure| most.max(pressure.abs()))
}

/// A steady state as it is read from a network.
struct Reading {
    garden: Garden,
    /// Pressures and flows of all places, in turn.
    everything: Vec<f64>,
    flows: Vec<f64>,
    node_pa: Vec<f64>,
}

impl Reading {
    /// Reads a network that stands solved; the garden has the numbers that it was solved with.
    fn of(garden: &Garden, network: &mut Network) -> Reading {
        let places = 0..garden.parts().len();
        let both = |place: usize| [ProbeKind::Pressure, ProbeKind::Flow].map(|kind| Probe { place, kind });
        Reading {
            garden: garden.clone(),
            everything: places.clone().flat_map(both).map(|probe| network.probe(&probe)).collect(),
            flows: places.map(|place| network.flow(place)).collect(),
            node_pa: network.node_pressures_pa().to_vec(),
        }
    }

    /// Fails where it misses a law, as the independent solver writes the laws out.
    fn keeps_laws(&self) -> Result<(), TestCaseError> {
        let (open, runs) = (self.garden.opened(&[]).expect("no zones"), vec![true; self.flows.len()]);
        let model = Model::new(&self.garden, &open, &runs);
        let (off_pa, off_m3_per_s) = model.misfit(&self.flows, &self.node_pa, self.garden.vapor_gauge_pa());
        let largest = self.flows.iter().fold(1e-5f64, |most, flow| most.max(flow.abs()));
        prop_assert!(off_pa < 0.1 && off_m3_per_s < 1e-8 * largest + 2e-11, "laws missed by {off_pa} Pa, {off_m3_per_s} m3/s");
        Ok(())
    }

    /// How many boosters, climbs and draws pull at water that stands at vapor pressure.
    fn pulls_at_vapor(&self) -> usize {
        let limit_pa = self.garden.vapor_gauge_pa() + 0.1;
        let pulls = |place: &usize| {
            let joint = &self.garden.layout().places[*place];
            match self.garden.parts()[*place].kind() {
                Kind::Booster | Kind::Downhill | Kind::Demand => self.node_pa[joint.from] < limit_pa,
                Kind::Uphill => self.node_pa[joint.to] < limit_pa,
                _ => false,
            }
        };
        (0..self.flows.len()).filter(pulls).count()
    }
}

/// Fails unless two readings of one garden are the same steady state, or are both steady states by all laws: what hardly changes
/// a pressure is known less closely, and where several pulls share water at vapor pressure nothing decides how they share it.
fn both_hold(one: &Reading, other: &Reading) -> Result<(), TestCaseError> {
    let Err(difference) = agree(&one.everything, &other.everything, 5e-8) else { return Ok(()) };
    for reading in [one, other] {
        let shared = reading.pulls_at_vapor() > 1;
        let close = || {
            let pairs = one.everything.iter().zip(&other.everything).enumerate();
            pairs.map(|(index, (a, b))| (a - b).abs() / [1.0, 1e-9][index % 2]).all(|share| share.is_nan() || share < 1.0)
        };
        prop_assert!(shared || close(), "{difference}; nothing shares water at vapor pressure");
        reading.keeps_laws().map_err(|error| TestCaseError::fail(format!("{difference}; {error}")))?;
    }
    Ok(())
}

/// Fails unless both lists agree: pressures to a share of the highest, flows to a share of the largest.
fn agree(one: &[f64], other: &[f64], share: f64) -> Result<(), TestCaseError> {
    for kind in [0, 1] {
        let of_kind = |list: &[f64]| list.iter().skip(kind).step_by(2).copied().collect::<Vec<f64>>();
        let (one, other) = (of_kind(one), of_kind(other));
        let least = [1e4, 1e-3][kind];
        let scale = one.iter().filter(|value| !value.is_nan()).fold(least, |most: f64, value| most.max(value.abs()));
        for (index, (a, b)) in one.iter().zip(&other).enumerate() {
            prop_assert!(
                (a - b).abs() <= share * scale || (a.is_nan() && b.is_nan()),
                "{a} and {b} at place {index}, kind {kind}"
            );
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(cases(400)) })]

    #[test]
    fn energy_closes_along_every_part(Drawn(garden) in networks(24)) {
        let solution = solved(&garden)?;
        let allowed = 2e-9 * scale_pa(&solution);
        for (place, state) in solution.parts.iter().enumerate() {
            let (law, flow) = (law(&garden, place), state.flow_m3_per_s);
            let Some(out_pa) = state.pressure_out_pa else { continue };
            if let (Some(expected), Some(loss)) = (loss_by_law(&law, flow), state.loss_pa().filter(|_| !stands_at_vapor(&solution, place))) {
                prop_assert!((loss - expected).abs() <= allowed, "{} loses {loss}, by its law {expected}", garden.name(place));
            }
            if let Some(expected) = pressure_by_law(&law, flow).filter(|_| flow > 0.0) {
                prop_assert!((out_pa - expected).abs() <= allowed, "{} at {out_pa}, by its law {expected}", garden.name(place));
            }
            match law {
                Law::Regulator { resistance, set_pa } => {
                    prop_assert!(flow >= 0.0);
                    let open = state.pressure_in_pa.expect("fed") - resistance * flow * flow;
                    let holds = (out_pa - set_pa).abs() <= allowed;
                    prop_assert!(flow == 0.0 || holds || (out_pa < set_pa && (out_pa - open).abs() <= allowed));
                }
                Law::Relief { set_pa, .. } => prop_assert!(flow > 0.0 || out_pa <= set_pa + allowed),
                Law::OneWay { .. } | Law::Orifice { .. } | Law::Power { .. } => prop_assert!(flow >= 0.0),
                Law::Source { pressure_pa, resistance } => {
                    prop_assert!((pressure_pa - resistance * flow * flow.abs() - out_pa).abs() <= allowed);
                }
                _ => {}
            }
        }
    }

    #[test]
    fn power_lost_equals_power_supplied(Drawn(garden) in networks(24)) {
        let solution = solved(&garden)?;
        let (mut supplied, mut turned_over) = (0.0, 0.0);
        for (place, state) in solution.parts.iter().enumerate() {
            let flow = state.flow_m3_per_s;
            let Some(out_pa) = state.pressure_out_pa.filter(|_| flow != 0.0) else { continue };
            let power = match garden.parts()[place].spec().placing {
                Placing::Source => out_pa * flow,
                Placing::Outlet => -pressure_by_law(&law(&garden, place), flow).unwrap_or(out_pa) * flow,
                _ if stands_at_vapor(&solution, place) => -state.loss_pa().expect("fed") * flow,
                _ => -loss_by_law(&law(&garden, place), flow).or(state.loss_pa()).expect("fed") * flow,
            };
            supplied += power;
            turned_over += power.abs();
        }
        prop_assert!(supplied.abs() <= 1e-8 * turned_over + 1e-9, "{supplied} W left over of {turned_over} W");
    }

    #[test]
    fn neither_the_order_of_parts_nor_the_direction_of_hoses_matters(Drawn(garden) in networks(20), seed in any::<u64>()) {
        let (parts, joints) = (with_own_bores(&garden), joints(&garden));
        let plain = Garden::from_joints(parts.clone(), &joints).expect("joins");
        // The order by a multiplicative hash of the places; every other hose is joined from its other end.
        let mut order: Vec<usize> = (0..parts.len()).collect();
        order.sort_by_key(|&place| (place as u64 + 1).wrapping_mul(seed | 1).rotate_left(17));
        let turned = |place: usize| parts[place].kind() == Kind::Hose && place.is_multiple_of(2);
        let shuffled_parts = order.iter().map(|&place| parts[place].clone()).collect();
        let swap = |(from, to): (usize, usize), turn: bool| if turn { (to, from) } else { (from, to) };
        let shuffled_joints: Vec<(usize, usize)> = order.iter().map(|&place| swap(joints[place], turned(place))).collect();
        let shuffled = Garden::from_joints(shuffled_parts, &shuffled_joints).expect("joins");
        let (one, other) = (solved(&plain)?, solved(&shuffled)?);
        undivided(&one)?;
        let scale = scale_pa(&one);
        let largest = one.parts.iter().fold(1e-3, |most: f64, state| most.max(state.flow_m3_per_s.abs()));
        for (index, &place) in order.iter().enumerate() {
            let (a, b) = (&one.parts[place], &other.parts[index]);
            let flow = if turned(place) { -b.flow_m3_per_s } else { b.flow_m3_per_s };
            prop_assert!((a.flow_m3_per_s - flow).abs() <= 5e-8 * largest, "{}: {} and {flow}", plain.name(place), a.flow_m3_per_s);
            let pressure = if turned(place) { b.pressure_in_pa } else { b.pressure_out_pa };
            prop_assert_eq!(a.pressure_out_pa.is_some(), pressure.is_some());
            if let (Some(a), Some(b)) = (a.pressure_out_pa, pressure) {
                prop_assert!((a - b).abs() <= 5e-8 * scale, "{}: {a} and {b}", plain.name(place));
            }
        }
    }

    #[test]
    fn more_pressure_at_the_tap_lowers_none(Drawn(garden) in networks(20), more_psi in 0.1f64..30.0) {
        let before = solved(&garden)?;
        let mut higher = garden.clone();
        for number in ["tap.static_pressure", "tap.measured_pressure"] {
            let now = higher.parameter(number).expect("given");
            higher = higher.with(number, q(now.si / PSI + more_psi, "psi")).expect("a pressure");
        }
        let after = solved(&higher)?;
        for (place, (a, b)) in before.parts.iter().zip(&after.parts).enumerate() {
            if let (Some(a), Some(b)) = (a.pressure_out_pa, b.pressure_out_pa) {
                prop_assert!(b >= a - 1e-8 * scale_pa(&before), "{} fell from {a} to {b}", garden.name(place));
            }
        }
    }

    #[test]
    fn a_warm_start_gives_what_a_cold_one_gives_and_setting_back_restores(Drawn(garden) in networks(20), length_ft in 1.0f64..400.0) {
        undivided(&solved(&garden)?)?;
        undivided(&solved(&garden.with("feed.length", q(length_ft, "ft")).expect("a length"))?)?;
        let open = garden.opened(&[]).expect("no zones");
        let Ok(mut network) = Network::new(&garden, &open) else { return Err(TestCaseError::reject("a crooked loop")) };
        let feed = garden.find("feed").expect("known");
        let changed = garden.with("feed.length", q(length_ft, "ft")).expect("a length");
        let mut solve = |length_m: f64, cold: bool, garden: &Garden| {
            network.set(feed, Id::Length, length_m).expect("a length");
            if cold {
                network.start_afresh();
            }
            network.solve().map_err(|error| TestCaseError::fail(format!("{error}")))?;
            Ok::<_, TestCaseError>(Reading::of(garden, &mut network))
        };
        let before = garden.parts()[feed].value(Id::Length);
        let first = solve(before, true, &garden)?;
        let warm = solve(length_ft * FT, false, &changed)?;
        both_hold(&solve(length_ft * FT, true, &changed)?, &warm)?;
        both_hold(&solve(before, false, &garden)?, &first)?;
    }
}

fn hoses() -> impl Strategy<Value = (f64, f64)> {
    (1.0f64..40.0, 0.008f64..0.025)
}

fn meters(value: f64) -> hosewright::quantity::Quantity {
    q(value, "m")
}

fn hose_m(name: &str, (length_m, diameter_m): (f64, f64)) -> Garden {
    part(Kind::Hose, name, &[("length", meters(length_m)), ("diameter", meters(diameter_m))])
}

fn head_m(name: &str, diameter_m: f64) -> Garden {
    part(Kind::Head, name, &[("nozzle", meters(diameter_m))])
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(12) })]

    #[test]
    fn a_ladder_of_heads_gives_what_a_march_from_its_end_gives(
        rungs in prop::collection::vec((hoses(), hoses(), 0.001f64..0.005), 1..5),
    ) {
        let rungs: Vec<Rung> =
            rungs.into_iter().map(|(trunk, branch, nozzle_m)| Rung { trunk, branch, nozzle_m }).collect();
        let mut garden = supply("tap", 58.0, 44.0, 6.0);
        for (index, rung) in rungs.iter().enumerate() {
            let branch = line(&[hose_m(&format!("b{index}"), rung.branch), head_m(&format!("n{index}"), rung.nozzle_m)]);
            let trunk = format!("t{index}");
            garden = garden.then(&hose_m(&trunk, rung.trunk)).and_then(|line| line.branch(&trunk, &branch)).expect("joins");
        }
        let solution = solved(&garden)?;
        let flows = march::ladder(58.0 * PSI, 14.0 * PSI / (6.0 * GPM).powi(2), &rungs);
        for (index, flow) in flows.iter().enumerate() {
            let found = solution.flow_m3_per_s(&format!("n{index}")).expect("known");
            prop_assert!((found - flow).abs() < 1e-7 * flow + 1e-12, "head {index}: {found} and {flow}");
        }
    }

    #[test]
    fn a_ring_gives_what_cutting_it_and_bisecting_gives(
        level_m in 5.0f64..40.0, first in hoses(), second in hoses(), between in hoses(), nozzles in prop::array::uniform2(0.001f64..0.005),
    ) {
        let tank = part(Kind::OpenTank, "tank", &[("level", meters(level_m))]);
        let [a, b] = [0, 1].map(|index| [first, second][index]);
        let garden = tank
            .then_branches(&[line(&[hose_m("first", a), head_m("n0", nozzles[0])]), line(&[hose_m("second", b), head_m("n1", nozzles[1])])])
            .and_then(|garden| garden.connect("first", "second", &hose_m("between", between)))
            .expect("joins");
        let solution = solved(&garden)?;
        let flows = march::ring(999.1 * 9.80665 * level_m, first, second, between, nozzles);
        for (index, flow) in flows.iter().enumerate() {
            let found = solution.flow_m3_per_s(&format!("n{index}")).expect("known");
            prop_assert!((found - flow).abs() < 1e-7 * flow + 1e-11, "head {index}: {found} and {flow}");
        }
    }
}
