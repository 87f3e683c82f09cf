//! Nodes that no water comes to once the valves have settled, and water trapped between valves that are closed.
//!
//! A solve leaves any pressure there that pushes no valve open, and lets a pump drive any flow round a ring. From rest such a place
//! fills until the valves before it close, and that is the pressure it is given; what nothing can fill has none, and nothing flows.
//! A ring that fills and in which a regulator holds or water parts stays as the solve has left it.

use crate::hydraulics::circuit::Circuit;
use crate::hydraulics::model::structure::Link;
use crate::hydraulics::state::{LinkState, Supplied, Tie};
use crate::hydraulics::tolerances::{FILLS_TO, RESTS_BELOW};

/// Gives trapped water the pressure to which it fills, and marks what nothing fills.
pub fn settle_loose(circuit: &mut Circuit) {
    circuit.state.ties.fill(Tie::Tied);
    // Few links are closed: that is asked first, of what lies close together in memory.
    let traps = |index: usize| {
        let ends = |link: &Link| link.to.is_some() || link.ends_in_source;
        circuit.is_closed(index) && ends(&circuit.structure.links[index])
    };
    if !(0..circuit.structure.links.len()).any(traps) {
        return;
    }
    circuit.state.ties.fill(Tie::Loose);
    spread_ties(circuit);
    loosen_unwatered(circuit);
    fill(circuit);
    still(circuit);
}

/// Ties spread from the air and the sources through all that is open; a regulator that holds ties what is downstream of it.
fn spread_ties(circuit: &mut Circuit) {
    let structure = &*circuit.structure;
    for (tie, supplied) in circuit.state.ties.iter_mut().zip(&circuit.state.supplied) {
        if *supplied == Supplied::Short {
            *tie = Tie::Tied;
        }
    }
    for tap in circuit.state.taps.iter().filter(|tap| tap.runs()) {
        circuit.state.ties[tap.unknown] = Tie::Tied;
    }
    let mut spreads = true;
    while spreads {
        spreads = false;
        for (index, link) in structure.links.iter().enumerate() {
            if circuit.is_closed(index) {
                continue;
            }
            let follows = circuit.link_laws[index].follows(circuit.state.links[index].holding);
            let tied = |end: Option<usize>, circuit: &Circuit| end.is_none_or(|node| circuit.state.ties[node] == Tie::Tied);
            let (from_tied, to_tied) = (tied(link.from, circuit), tied(link.to, circuit));
            if let Some(to) = link.to.filter(|_| !to_tied && follows.to() && (from_tied || !follows.from())) {
                circuit.state.ties[to] = Tie::Tied;
                spreads = true;
            }
            if let Some(from) = link.from.filter(|_| !from_tied && follows.from() && (to_tied || !follows.to())) {
                circuit.state.ties[from] = Tie::Tied;
                spreads = true;
            }
        }
    }
}

/// Leaves tied only what water comes to from a source: pressures that a regulator holds or a pump pulls down to vapor in a ring that
/// no water comes to count only once something fills it.
fn loosen_unwatered(circuit: &mut Circuit) {
    let structure = &*circuit.structure;
    circuit.work.scratch.fill(0.0);
    let mut spreads = true;
    while spreads {
        spreads = false;
        for (index, link) in structure.links.iter().enumerate() {
            let flow = circuit.state.links[index].flow;
            if circuit.link_laws[index].blocked || circuit.is_closed(index) {
                continue;
            }
            // Beyond a way without a node there is a source upstream of it, and downstream another or the air.
            let watered = |end: Option<usize>, source: bool| end.map_or(source, |node| circuit.work.scratch[node] == 1.0);
            let (from_wet, to_wet) = (watered(link.from, true), watered(link.to, link.ends_in_source));
            let wets = match link.to {
                Some(to) if from_wet && !to_wet && flow >= -RESTS_BELOW => Some(to),
                _ => link.from.filter(|_| to_wet && !from_wet && flow <= RESTS_BELOW),
            };
            if let Some(node) = wets {
                circuit.work.scratch[node] = 1.0;
                spreads = true;
            }
        }
    }
    for (tie, watered) in circuit.state.ties.iter_mut().zip(&circuit.work.scratch) {
        if *watered == 0.0 && *tie == Tie::Tied {
            *tie = Tie::Ruled;
        }
    }
}

/// Nothing flows where there is no water, whatever a pump there would drive round.
fn still(circuit: &mut Circuit) {
    let structure = &*circuit.structure;
    for (index, link) in structure.ends.iter().enumerate() {
        let dry = |end: Option<usize>| end.is_some_and(|node| circuit.state.ties[node] == Tie::Loose);
        if dry(link.from()) || dry(link.to()) {
            let closed = circuit.state.links[index].closed || circuit.link_laws[index].one_way;
            circuit.state.links[index] = LinkState { flow: 0.0, holding: None, closed };
        }
    }
}

/// Fills trapped water through closed links from what is known, until nothing more comes through. What nothing fills is loose.
fn fill(circuit: &mut Circuit) {
    // Every round carries the water one closed link further.
    for _ in 0..circuit.structure.links.len() {
        let mut rises = false;
        for index in 0..circuit.structure.links.len() {
            let (from, to) = (circuit.structure.links[index].from, circuit.structure.links[index].to);
            let Some(to) = to.filter(|&to| circuit.state.ties[to] != Tie::Tied) else { continue };
            let from_known = from.is_none_or(|from| matches!(circuit.state.ties[from], Tie::Tied | Tie::Filled));
            if circuit.link_laws[index].blocked || !from_known || !circuit.is_closed(index) {
                continue;
            }
            let from_pa = from.map_or(0.0, |from| circuit.state.pressures_pa[from]);
            // Water does not get where it would stand below the pressure of its vapor.
            let filled_pa = circuit.link_laws[index].fills_to(from_pa).filter(|filled_pa| *filled_pa >= circuit.vapor_pa);
            let Some(filled_pa) = filled_pa else { continue };
            let rise_pa = filled_pa - circuit.state.pressures_pa[to];
            if circuit.state.ties[to] == Tie::Ruled {
                tie_ring(circuit, to);
                rises = true;
            } else if circuit.state.ties[to] == Tie::Loose || rise_pa > FILLS_TO * from_pa.abs() {
                raise(circuit, to, rise_pa);
                rises = true;
            }
        }
        if !rises {
            break;
        }
    }
    circuit.state.ties.iter_mut().filter(|tie| **tie == Tie::Ruled).for_each(|tie| *tie = Tie::Loose);
}

/// Ties a ring that something fills: the solve has left it at pressures that keep all laws and open no valve before it. They are
/// kept, since what rules in the ring does not move along with them.
fn tie_ring(circuit: &mut Circuit, node: usize) {
    let structure = &*circuit.structure;
    circuit.state.ties[node] = Tie::Tied;
    let mut spreads = true;
    while spreads {
        spreads = false;
        for (index, link) in structure.links.iter().enumerate() {
            let (Some(from), Some(to)) = (link.from, link.to) else { continue };
            let ends = (circuit.state.ties[from], circuit.state.ties[to]);
            let one_of_both = matches!(ends, (Tie::Tied, Tie::Ruled) | (Tie::Ruled, Tie::Tied));
            if one_of_both && !circuit.is_closed(index) {
                (circuit.state.ties[from], circuit.state.ties[to]) = (Tie::Tied, Tie::Tied);
                spreads = true;
            }
        }
    }
}

/// Changes the pressure of a trapped node and of all that open links join to it by the same amount.
fn raise(circuit: &mut Circuit, node: usize, by_pa: f64) {
    let structure = &*circuit.structure;
    circuit.work.scratch.fill(0.0);
    circuit.work.scratch[node] = 1.0;
    let mut spreads = true;
    while spreads {
        spreads = false;
        for (index, link) in structure.links.iter().enumerate() {
            let (Some(from), Some(to)) = (link.from, link.to) else { continue };
            let one_of_both = circuit.work.scratch[from] != circuit.work.scratch[to];
            if one_of_both && !circuit.is_closed(index) && circuit.state.links[index].holding.is_none() {
                (circuit.work.scratch[from], circuit.work.scratch[to]) = (1.0, 1.0);
                spreads = true;
            }
        }
    }
    for node in (0..circuit.work.scratch.len()).filter(|&node| circuit.work.scratch[node] == 1.0) {
        circuit.state.pressures_pa[node] += by_pa;
        circuit.state.ties[node] = Tie::Filled;
    }
}

#[cfg(test)]
mod tests {
    use crate::garden::Garden;
    use crate::hydraulics::Network;
    use crate::hydraulics::test_parts::part;
    use crate::laws::section::pressure_of_head_pa;
    use crate::parts::{Id, Kind, Part};
    use crate::quantity::{GPM_M3_PER_S, PSI_PA};

    /// Still rings downstream of a check valve once kept whatever pressure the steps had left there.
    #[test]
    fn a_still_ring_behind_a_check_valve_right_at_the_tap_fills_to_the_pressure_of_the_tap() {
        let hose = [("length", 50.0, "ft"), ("diameter", 0.5, "in")];
        let parts = vec![
            part(Kind::Supply, "tap", &[("static_pressure", 50.0, "psi")]),
            part(Kind::CheckValve, "guard", &[("diameter", 0.5, "in")]),
            part(Kind::Hose, "left", &hose),
            part(Kind::Hose, "right", &hose),
        ];
        let garden = Garden::from_joints(parts, &[(0, 0), (0, 1), (1, 2), (1, 2)]).expect("joins");
        let mut network = Network::new(&garden, &[true; 4]).expect("a sound garden");
        network.circuit.state.pressures_pa.fill(6e5);
        network.solve().expect("a steady state");
        for pressure_pa in &network.circuit.state.pressures_pa {
            assert!((pressure_pa / (50.0 * crate::quantity::PSI_PA) - 1.0).abs() < 1e-12, "{pressure_pa}");
        }
    }

    /// A pump in a ring with a part in line, and a check valve between the ring and a tap of 50 psi.
    fn ring(valve: (usize, usize), other: Part) -> Network {
        let curve = [(0.0, 2e5), (1e-3, 1e5)];
        let hose = [("length", 50.0, "ft"), ("diameter", 0.5, "in")];
        let parts = vec![
            part(Kind::Supply, "tap", &[("static_pressure", 50.0, "psi")]),
            part(Kind::CheckValve, "guard", &[("diameter", 0.5, "in")]),
            Part::new(Kind::Booster).named("pump").and_then(|part| part.with_curve(&curve)).expect("a booster"),
            other,
            part(Kind::Hose, "back", &hose),
        ];
        let garden = Garden::from_joints(parts, &[(0, 0), valve, (1, 2), (2, 3), (3, 1)]).expect("joins");
        Network::new(&garden, &[true; 5]).expect("a sound garden")
    }

    #[test]
    fn a_pump_drives_water_round_a_ring_that_fills_and_nothing_round_one_that_does_not() {
        let fitting = || part(Kind::Fitting, "bend", &[("k", 2.0, ""), ("diameter", 0.5, "in")]);
        let mut filled = ring((0, 1), fitting());
        filled.solve().expect("a steady state");
        assert!(filled.flow(2) > 1e-4, "{}", filled.flow(2));
        let mut empty = ring((1, 0), fitting());
        empty.solve().expect("a steady state");
        assert_eq!([2, 3, 4].map(|place| empty.flow(place)), [0.0; 3]);
        assert!(empty.node_pressures_pa()[1..].iter().all(|pressure| pressure.is_nan()));
    }

    /// A pump parts the water before it, and beside its way back lies a closed regulator: pressures that are moved in part of such a
    /// ring do not fit the flows.
    #[test]
    fn a_ring_that_fills_and_where_water_parts_keeps_its_laws_at_any_pressure_that_opens_no_valve() {
        let curve = [(0.0, 4e5), (1e-3, 3e5)];
        let parts = vec![
            part(Kind::OpenTank, "tank", &[("level", 0.9, "m")]),
            part(Kind::CheckValve, "guard", &[("diameter", 20.0, "mm")]),
            part(Kind::Uphill, "up", &[("height", 4.0, "m")]),
            part(Kind::Hose, "out", &[("length", 58.0, "m"), ("diameter", 13.0, "mm")]),
            part(Kind::Head, "high", &[("nozzle", 4.0, "mm")]),
            part(Kind::Uphill, "down", &[("height", -12.0, "m")]),
            Part::new(Kind::Booster).named("pump").and_then(|part| part.with_curve(&curve)).expect("a booster"),
            part(Kind::Uphill, "back up", &[("height", 8.0, "m")]),
            part(Kind::Hose, "back", &[("length", 38.0, "m"), ("diameter", 18.0, "mm")]),
            part(Kind::Uphill, "beside up", &[("height", 8.0, "m")]),
            part(Kind::Regulator, "regulator", &[("set", 1.2, "bar"), ("diameter", 18.0, "mm")]),
        ];
        let joints = [(0, 0), (0, 1), (1, 2), (2, 3), (3, 3), (3, 4), (4, 5), (5, 6), (6, 1), (5, 7), (7, 1)];
        let garden = Garden::from_joints(parts, &joints).expect("joins");
        let mut network = Network::new(&garden, &[true; 11]).expect("a sound garden");
        network.solve().expect("a steady state");
        let start = network.circuit.structure.unknowns.iter().position(|&node| node == 1).expect("where the ring fills");
        for further_pa in [0.0, 1e4, 2e4, -3e4] {
            network.circuit.state.pressures_pa[start] += further_pa;
            network.solve().expect("a steady state");
            assert!(network.flow(6) > 1e-4 && network.is_parted(5), "{} m3/s", network.flow(6));
            for (index, link) in network.circuit.structure.ends.iter().enumerate() {
                let at = |end: Option<usize>| end.map_or(0.0, |node| network.circuit.state.pressures_pa[node]);
                let flow = network.circuit.state.links[index].flow;
                let (_, excess) = network.circuit.link_laws[index].ruler(at(link.from()), at(link.to()), flow);
                // What pushes a closed link is below zero.
                let fits = excess.loss_pa.abs() < 0.1 || (flow == 0.0 && excess.loss_pa > 0.0);
                assert!(fits, "link {index} after {further_pa} Pa: {} Pa", excess.loss_pa);
            }
        }
    }

    #[test]
    fn no_water_stands_above_a_crest_however_the_steps_came_there() {
        // A tap of 0.1 bar below a rise of 12 m, at the top of which a head and a relief valve let nothing in.
        let parts = vec![
            part(Kind::Supply, "tap", &[("static_pressure", 0.1, "bar")]),
            part(Kind::Uphill, "rise", &[("height", 12.0, "m")]),
            part(Kind::Head, "high", &[("nozzle", 2.0, "mm")]),
            part(Kind::Relief, "relief", &[("set", 1.0, "bar")]),
        ];
        let garden = Garden::from_joints(parts, &[(0, 0), (0, 1), (1, 1), (1, 1)]).expect("joins");
        let mut network = Network::new(&garden, &[true; 4]).expect("a sound garden");
        for start_m3_per_s in [0.0, 1e-27, -1e-27, 1e-4] {
            network.solve().expect("a steady state");
            assert!(network.node_pressures_pa()[1].is_nan(), "from {start_m3_per_s}: {:?}", network.node_pressures_pa());
            network.start_afresh();
            network.circuit.state.links.iter_mut().for_each(|state| state.flow = start_m3_per_s);
        }
    }

    /// A pump and a fall from one fork, with relief valves at the foot of the fall that stay closed.
    fn fork_above_a_fall(shut_off_psi: f64, full_flow_gpm: f64) -> Garden {
        let shut_off_pa = shut_off_psi * PSI_PA;
        let curve = [(0.0, shut_off_pa), (full_flow_gpm * GPM_M3_PER_S, 0.4 * shut_off_pa)];
        let hose = |name: &str, length_ft: f64, diameter_in: f64| {
            part(Kind::Hose, name, &[("length", length_ft, "ft"), ("diameter", diameter_in, "in")])
        };
        let mut parts = vec![
            part(Kind::Supply, "tap", &[("static_pressure", 58.0, "psi")]),
            hose("feed", 60.0, 0.75),
            part(Kind::Head, "near", &[("nozzle", 0.05, "in")]),
            hose("on", 190.0, 0.45),
            Part::new(Kind::Booster).named("pump").and_then(|part| part.with_curve(&curve)).expect("a booster"),
            part(Kind::Head, "far", &[("nozzle", 0.2, "in")]),
            part(Kind::Uphill, "fall", &[("height", -28.0, "ft")]),
        ];
        let mut joints = vec![(0, 0), (0, 1), (1, 1), (1, 2), (2, 3), (3, 3), (2, 4)];
        for relief in 0..2 {
            parts.push(part(Kind::Relief, &format!("relief{relief}"), &[("set", 20.0, "psi")]));
            joints.push((4, 4));
        }
        Garden::from_joints(parts, &joints).expect("joins")
    }

    /// Rounding once told whether water stood there.
    #[test]
    fn no_water_stands_at_the_foot_of_a_fall_from_a_fork_that_a_pump_pulls_down_to_vapor() {
        let (mut parted, mut full) = (0, 0);
        for (shut_off_psi, full_flow_gpm) in (10..60).step_by(5).flat_map(|psi| (4..30).map(move |gpm| (psi, gpm))) {
            let garden = fork_above_a_fall(f64::from(shut_off_psi), f64::from(full_flow_gpm));
            let mut network = Network::new(&garden, &vec![true; garden.parts().len()]).expect("a sound garden");
            for length_ft in [60.0, 1.0, 60.0] {
                network.set(1, Id::Length, length_ft * 0.3048).expect("a length");
                network.solve().expect("a steady state");
                let at_vapor_below_pa = network.circuit.at_vapor_below_pa();
                let (fork_pa, foot_pa) = (network.node_pressures_pa()[2], network.node_pressures_pa()[4]);
                if fork_pa < at_vapor_below_pa {
                    assert!(foot_pa.is_nan(), "{foot_pa} Pa downstream of a pump of {shut_off_psi} psi, {full_flow_gpm} gpm");
                    parted += 1;
                } else {
                    let stands_pa = fork_pa + pressure_of_head_pa(28.0 * 0.3048, garden.water().density_kg_per_m3);
                    assert!((foot_pa - stands_pa).abs() < 1e-2, "{foot_pa} Pa, not {stands_pa} Pa");
                    full += 1;
                }
            }
        }
        assert!(parted > 50 && full > 50, "{parted} parted, {full} full");
    }
}
