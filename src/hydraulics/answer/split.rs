//! Flows that nothing decides: where several ways lose no pressure, or several supplies hold one, any split of the flow
//! between them is a steady state.
//!
//! Links that lose nothing at the solution, and those without loss downstream of their regulator, are edges between nodes;
//! the air and the sources are one node. The flow round a ring of such edges is undetermined: all sums at nodes are exact.

use crate::hydraulics::circuit::Circuit;
use crate::hydraulics::model::link::Follows;
use crate::hydraulics::tolerances::{LEAST_SCALE_PA, LEVEL_WITHIN};

/// The links between which the split of the flow is undetermined, each group for itself.
pub fn undetermined(circuit: &Circuit) -> Vec<Vec<usize>> {
    let ground = circuit.structure.unknowns.len();
    let mut edges: Vec<(usize, (usize, usize))> =
        (0..circuit.state.links.len()).filter_map(|link| Some((link, edge(circuit, link, ground)?))).collect();
    if edges.is_empty() {
        return Vec::new();
    }
    strip_dead_ends(&mut edges, ground + 1);
    edges = (0..edges.len()).filter(|&index| closes_ring(&edges, index, ground + 1)).map(|index| edges[index]).collect();
    groups(&edges, ground)
}

/// The nodes that a link joins without loss.
fn edge(circuit: &Circuit, link: usize, ground: usize) -> Option<(usize, usize)> {
    let (ends, state) = (circuit.structure.ends[link], circuit.state.links[link]);
    let law = &circuit.link_laws[link];
    if law.blocked || !law.is_rigid(state.holding, state.flow) {
        return None;
    }
    let at = |end: Option<usize>| end.unwrap_or(ground);
    match law.follows(state.holding) {
        Follows::Both => {}
        Follows::To => return Some((ground, at(ends.to()))),
        Follows::From => return Some((ground, at(ends.from()))),
        Follows::Neither => return Some((ground, ground)),
    }
    let (from_pa, to_pa) = circuit.ends_pa(link);
    let scale_pa = from_pa.abs().max(to_pa.abs()).max(LEAST_SCALE_PA);
    // One that is closed only because nothing pushes it may as well be open.
    let level = law.clone().ruler(from_pa, to_pa, state.flow).1.loss_pa.abs() <= LEVEL_WITHIN * scale_pa;
    level.then_some((at(ends.from()), at(ends.to())))
}

/// Takes away edges that end where no other goes on.
fn strip_dead_ends(edges: &mut Vec<(usize, (usize, usize))>, nodes: usize) {
    loop {
        let mut degree = vec![0; nodes];
        for &(_, (a, b)) in edges.iter() {
            degree[a] += 1;
            degree[b] += 1;
        }
        let before = edges.len();
        edges.retain(|&(_, (a, b))| a == b || (degree[a] > 1 && degree[b] > 1));
        if edges.len() == before {
            return;
        }
    }
}

/// True when the ends of an edge are joined without it too.
fn closes_ring(edges: &[(usize, (usize, usize))], index: usize, nodes: usize) -> bool {
    let (from, to) = edges[index].1;
    let mut reached = vec![false; nodes];
    reached[from] = true;
    let mut spreads = true;
    while spreads && !reached[to] {
        spreads = false;
        for (_, &(_, (a, b))) in edges.iter().enumerate().filter(|(other, _)| *other != index) {
            if reached[a] != reached[b] {
                (reached[a], reached[b]) = (true, true);
                spreads = true;
            }
        }
    }
    reached[to]
}

/// Rings that share a node other than the ground belong together; those at the ground too, since sources share it.
fn groups(edges: &[(usize, (usize, usize))], ground: usize) -> Vec<Vec<usize>> {
    let mut of_node: Vec<usize> = (0..=ground).collect();
    let root = |of_node: &[usize], mut node: usize| {
        while of_node[node] != node {
            node = of_node[node];
        }
        node
    };
    for &(_, (a, b)) in edges {
        let (a, b) = (root(&of_node, a), root(&of_node, b));
        of_node[a.max(b)] = a.min(b);
    }
    let mut groups: Vec<(usize, Vec<usize>)> = Vec::new();
    for &(link, (a, _)) in edges {
        let at = root(&of_node, a);
        match groups.iter_mut().find(|(known, _)| *known == at) {
            Some((_, links)) => links.push(link),
            None => groups.push((at, vec![link])),
        }
    }
    groups.into_iter().map(|(_, links)| links).collect()
}
