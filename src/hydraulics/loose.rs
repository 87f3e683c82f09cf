//! Nodes that nothing ties to the rest once the valves have settled: water trapped between valves that are shut.
//!
//! A solve leaves any pressure there that pushes no valve open. From rest such a node fills until the valves before it shut,
//! and that is the pressure it is given; a node that nothing can fill has none.

use super::network::Network;

/// Gives loose nodes the pressure to which they fill, and marks those that nothing fills.
pub(super) fn settle_loose(network: &mut Network) {
    network.loose.fill(false);
    let structure = &*network.structure;
    // Of a valve that passes nothing only the way forward counts, whether it was pushed shut or has come to rest.
    let shut =
        |index: usize| network.states[index].closed || (network.link_laws[index].one_way && network.states[index].flow == 0.0);
    if !(0..structure.links.len()).any(|index| structure.links[index].slot.is_some() && shut(index)) {
        return;
    }
    network.loose.fill(true);
    // Ties spread from the air and the sources through all that is open; a regulator that holds ties what lies behind it.
    let mut spreads = true;
    while spreads {
        spreads = false;
        for index in (0..structure.links.len()).filter(|&index| !shut(index)) {
            let (link, state) = (&structure.links[index], &network.states[index]);
            let tied = |end: Option<usize>, loose: &[bool]| end.is_none_or(|node| !loose[node]);
            let (from_tied, to_tied) = (tied(link.from, &network.loose), tied(link.to, &network.loose));
            if let Some(to) = link.to.filter(|_| !to_tied && (from_tied || state.holding.is_some())) {
                network.loose[to] = false;
                spreads = true;
            }
            if let Some(from) = link.from.filter(|_| !from_tied && to_tied && state.holding.is_none()) {
                network.loose[from] = false;
                spreads = true;
            }
        }
    }
    fill(network);
}

/// Fills loose nodes through shut links from nodes that are known.
fn fill(network: &mut Network) {
    let structure = &*network.structure;
    loop {
        let mut fullest: Option<(usize, f64)> = None;
        for (index, link) in structure.links.iter().enumerate() {
            let Some(to) = link.to.filter(|&to| network.loose[to]) else { continue };
            if network.link_laws[index].blocked || link.from.is_some_and(|from| network.loose[from]) {
                continue;
            }
            let from_pa = link.from.map_or(0.0, |from| network.pressures_pa[from]);
            let pressure_pa = network.link_laws[index].fills_to(from_pa);
            if fullest.is_none_or(|(_, most)| pressure_pa > most) {
                fullest = Some((to, pressure_pa));
            }
        }
        // The fullest first: what it fills in turn can only be lower.
        let Some((node, pressure_pa)) = fullest else { break };
        network.loose[node] = false;
        network.pressures_pa[node] = pressure_pa;
    }
}
