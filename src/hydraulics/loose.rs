//! Nodes that no water comes to once the valves have settled, and water trapped between valves that are shut.
//!
//! A solve leaves any pressure there that pushes no valve open, and lets a pump drive any flow round a ring. From rest such a place
//! fills until the valves before it shut, and that is the pressure it is given; what nothing can fill has none, and nothing flows.

use super::network::{LinkState, Network};
use super::parting::{RESTS_BELOW, Supplied};
use super::structure::Link;

/// How the pressure of a node is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Tie {
    /// Open links tie it to a source or the air.
    Tied,
    /// Trapped, at the pressure to which it filled.
    Filled,
    /// Trapped, and nothing fills it.
    Loose,
}

/// Gives trapped water the pressure to which it fills, and marks what nothing fills.
pub(super) fn settle_loose(network: &mut Network) {
    network.ties.fill(Tie::Tied);
    // Few links are shut: that is asked first, of what lies close together in memory.
    let traps = |index: usize| {
        let ends = |link: &Link| link.to.is_some() || link.ends_in_source;
        is_shut(network, index) && ends(&network.structure.links[index])
    };
    if !(0..network.structure.links.len()).any(traps) {
        return;
    }
    network.ties.fill(Tie::Loose);
    spread_ties(network);
    loosen_unwatered(network);
    fill(network);
    still(network);
}

/// Of a valve that passes nothing only the way forward counts, whether it was pushed shut or has come to rest.
fn is_shut(network: &Network, index: usize) -> bool {
    let state = &network.states[index];
    state.closed || (state.flow == 0.0 && network.link_laws[index].one_way)
}

/// Ties spread from the air and the sources through all that is open; a regulator that holds ties what lies behind it.
fn spread_ties(network: &mut Network) {
    let structure = &*network.structure;
    for (tie, supplied) in network.ties.iter_mut().zip(&network.supplied) {
        if *supplied == Supplied::Short {
            *tie = Tie::Tied;
        }
    }
    for tap in network.taps.iter().filter(|tap| tap.runs()) {
        network.ties[tap.unknown] = Tie::Tied;
    }
    let mut spreads = true;
    while spreads {
        spreads = false;
        for (index, link) in structure.links.iter().enumerate() {
            if is_shut(network, index) {
                continue;
            }
            let follows = network.link_laws[index].follows(network.states[index].holding);
            let tied = |end: Option<usize>, network: &Network| end.is_none_or(|node| network.ties[node] == Tie::Tied);
            let (from_tied, to_tied) = (tied(link.from, network), tied(link.to, network));
            if let Some(to) = link.to.filter(|_| !to_tied && follows.to() && (from_tied || !follows.from())) {
                network.ties[to] = Tie::Tied;
                spreads = true;
            }
            if let Some(from) = link.from.filter(|_| !from_tied && follows.from() && (to_tied || !follows.to())) {
                network.ties[from] = Tie::Tied;
                spreads = true;
            }
        }
    }
}

/// Leaves tied only what water comes to from a source: pressures that a regulator holds or a pump pulls down to vapor in a ring that
/// no water comes to are none.
fn loosen_unwatered(network: &mut Network) {
    let structure = &*network.structure;
    network.scratch.fill(0.0);
    let mut spreads = true;
    while spreads {
        spreads = false;
        for (index, link) in structure.links.iter().enumerate() {
            let flow = network.states[index].flow;
            if network.link_laws[index].blocked || is_shut(network, index) {
                continue;
            }
            // Beyond a way without a node there is a source before it, and behind it another or the air.
            let watered = |end: Option<usize>, source: bool| end.map_or(source, |node| network.scratch[node] == 1.0);
            let (from_wet, to_wet) = (watered(link.from, true), watered(link.to, link.ends_in_source));
            let wets = match link.to {
                Some(to) if from_wet && !to_wet && flow >= -RESTS_BELOW => Some(to),
                _ => link.from.filter(|_| to_wet && !from_wet && flow <= RESTS_BELOW),
            };
            if let Some(node) = wets {
                network.scratch[node] = 1.0;
                spreads = true;
            }
        }
    }
    for (tie, watered) in network.ties.iter_mut().zip(&network.scratch) {
        if *watered == 0.0 {
            *tie = Tie::Loose;
        }
    }
}

/// Nothing flows where there is no water, whatever a pump there would drive round.
fn still(network: &mut Network) {
    let structure = &*network.structure;
    for (index, link) in structure.ends.iter().enumerate() {
        let dry = |end: Option<usize>| end.is_some_and(|node| network.ties[node] == Tie::Loose);
        if dry(link.from()) || dry(link.to()) {
            let closed = network.states[index].closed || network.link_laws[index].one_way;
            network.states[index] = LinkState { flow: 0.0, holding: None, closed };
        }
    }
}

/// Fills trapped water through shut links from what is known, until nothing more comes through.
fn fill(network: &mut Network) {
    // Every round carries the water one shut link further.
    for _ in 0..network.structure.links.len() {
        let mut rises = false;
        for index in 0..network.structure.links.len() {
            let (from, to) = (network.structure.links[index].from, network.structure.links[index].to);
            let Some(to) = to.filter(|&to| network.ties[to] != Tie::Tied) else { continue };
            let from_known = from.is_none_or(|from| network.ties[from] != Tie::Loose);
            if network.link_laws[index].blocked || !from_known || !is_shut(network, index) {
                continue;
            }
            let from_pa = from.map_or(0.0, |from| network.pressures_pa[from]);
            // Water does not get where it would stand below the pressure of its vapor.
            let filled_pa = network.link_laws[index].fills_to(from_pa).filter(|filled_pa| *filled_pa >= network.vapour_pa);
            let Some(filled_pa) = filled_pa else { continue };
            let rise_pa = filled_pa - network.pressures_pa[to];
            if network.ties[to] == Tie::Loose || rise_pa > 1e-9 * from_pa.abs() {
                raise(network, to, rise_pa);
                rises = true;
            }
        }
        if !rises {
            break;
        }
    }
}

/// Changes the pressure of a trapped node and of all that open links join to it by the same amount.
fn raise(network: &mut Network, node: usize, by_pa: f64) {
    let structure = &*network.structure;
    network.scratch.fill(0.0);
    network.scratch[node] = 1.0;
    let mut spreads = true;
    while spreads {
        spreads = false;
        for (index, link) in structure.links.iter().enumerate() {
            let (Some(from), Some(to)) = (link.from, link.to) else { continue };
            let one_of_both = network.scratch[from] != network.scratch[to];
            if one_of_both && !is_shut(network, index) && network.states[index].holding.is_none() {
                (network.scratch[from], network.scratch[to]) = (1.0, 1.0);
                spreads = true;
            }
        }
    }
    for node in (0..network.scratch.len()).filter(|&node| network.scratch[node] == 1.0) {
        network.pressures_pa[node] += by_pa;
        network.ties[node] = Tie::Filled;
    }
}

#[cfg(test)]
mod tests {
    use crate::garden::Garden;
    use crate::hydraulics::Network;
    use crate::hydraulics::test_parts::part;
    use crate::parts::{Kind, Part};

    /// Still rings behind a check valve once kept whatever pressure the steps had left there.
    #[test]
    fn a_still_ring_behind_a_check_valve_right_at_the_tap_fills_to_the_pressure_of_the_tap() {
        let hose = [("length", 50.0, "ft"), ("bore", 0.5, "in")];
        let parts = vec![
            part(Kind::Supply, "tap", &[("static_pressure", 50.0, "psi")]),
            part(Kind::CheckValve, "guard", &[("bore", 0.5, "in")]),
            part(Kind::Hose, "left", &hose),
            part(Kind::Hose, "right", &hose),
        ];
        let garden = Garden::from_joints(parts, &[(0, 0), (0, 1), (1, 2), (1, 2)]).expect("joins");
        let mut network = Network::new(&garden, &[true; 4]).expect("a sound garden");
        network.pressures_pa.fill(6e5);
        network.solve().expect("a steady state");
        for pressure_pa in &network.pressures_pa {
            assert!((pressure_pa / (50.0 * crate::quantity::PSI_PA) - 1.0).abs() < 1e-12, "{pressure_pa}");
        }
    }

    /// A pump in a ring with a part in line, and a check valve between the ring and a tap of 50 psi.
    fn ring(valve: (usize, usize), other: Part) -> Network {
        let curve = [(0.0, 2e5), (1e-3, 1e5)];
        let hose = [("length", 50.0, "ft"), ("bore", 0.5, "in")];
        let parts = vec![
            part(Kind::Supply, "tap", &[("static_pressure", 50.0, "psi")]),
            part(Kind::CheckValve, "guard", &[("bore", 0.5, "in")]),
            Part::new(Kind::Booster).named("pump").and_then(|part| part.with_curve(&curve)).expect("a booster"),
            other,
            part(Kind::Hose, "back", &hose),
        ];
        let garden = Garden::from_joints(parts, &[(0, 0), valve, (1, 2), (2, 3), (3, 1)]).expect("joins");
        Network::new(&garden, &[true; 5]).expect("a sound garden")
    }

    #[test]
    fn a_pump_drives_water_round_a_ring_that_fills_and_nothing_round_one_that_does_not() {
        let fitting = || part(Kind::Fitting, "bend", &[("k", 2.0, ""), ("bore", 0.5, "in")]);
        let mut filled = ring((0, 1), fitting());
        filled.solve().expect("a steady state");
        assert!(filled.flow(2) > 1e-4, "{}", filled.flow(2));
        let mut empty = ring((1, 0), fitting());
        empty.solve().expect("a steady state");
        assert_eq!([2, 3, 4].map(|place| empty.flow(place)), [0.0; 3]);
        assert!(empty.node_pressures_pa()[1..].iter().all(|pressure| pressure.is_nan()));
    }

    #[test]
    fn no_water_stands_above_a_crest_however_the_steps_came_there() {
        // A tap of 0.1 bar below a rise of 12 m, at the top of which a head and a relief valve let nothing in.
        let parts = vec![
            part(Kind::Supply, "tap", &[("static_pressure", 0.1, "bar")]),
            part(Kind::Climb, "rise", &[("height", 12.0, "m")]),
            part(Kind::Head, "high", &[("bore", 2.0, "mm")]),
            part(Kind::Relief, "relief", &[("set", 1.0, "bar")]),
        ];
        let garden = Garden::from_joints(parts, &[(0, 0), (0, 1), (1, 1), (1, 1)]).expect("joins");
        let mut network = Network::new(&garden, &[true; 4]).expect("a sound garden");
        for start_m3_per_s in [0.0, 1e-27, -1e-27, 1e-4] {
            network.solve().expect("a steady state");
            assert!(network.node_pressures_pa()[1].is_nan(), "from {start_m3_per_s}: {:?}", network.node_pressures_pa());
            network.start_afresh();
            network.states.iter_mut().for_each(|state| state.flow = start_m3_per_s);
        }
    }
}
