//! How long solves take; every bench checks its answer too. Run with `cargo bench`.

mod support;

use divan::counter::ItemsCount;
use divan::{Bencher, black_box};
use hosewright::garden::Garden;
use hosewright::hydraulics::{Network, Probe, ProbeKind};
use hosewright::parts::{Id, Kind};
use hosewright::quantity::Quantity;
use support::*;

fn main() {
    divan::main();
}

/// A head at every third node, and a loop to one of the nodes before at every tenth.
fn head_and_loop(plan: &mut Plan, state: &mut u64, node: usize, reach: usize, diameter_in: f64) {
    if node.is_multiple_of(3) {
        plan.head(&format!("n{node}"), 0.02 + 0.001 * random(state, 20) as f64, node);
    }
    if node.is_multiple_of(10) {
        let other = node - 1 - random(state, node.min(reach));
        plan.hose(&format!("l{node}"), 5.0 + random(state, 60) as f64, diameter_in, other, node);
    }
}

/// A random number below another one, by Marsaglia's xorshift, so that every run meets the same trees.
fn random(state: &mut u64, below: usize) -> usize {
    *state ^= *state << 13;
    *state ^= *state >> 7;
    *state ^= *state << 17;
    (*state % below.max(1) as u64) as usize
}

/// A random tree of `nodes` nodes that branches like streets, with a loop to a near node for every tenth of them and a head
/// at every third. Its pipes are wide enough for about 1 m/s, so that heads work at any size.
fn tree_with_loops(nodes: usize, which: usize) -> Garden {
    let mut state = 88_172_645_463_325_252u64 ^ ((which as u64) << 32);
    let parent: Vec<usize> = (0..nodes).map(|node| (node / 2).saturating_sub(random(&mut state, 4))).collect();
    let mut heads_behind = vec![0.0; nodes];
    for node in (1..nodes).rev() {
        heads_behind[node] += if node % 3 == 0 { 1.0 } else { 0.0 };
        heads_behind[parent[node]] += heads_behind[node];
    }
    // A head of 0.03 in takes about 0.17 gpm; at 1 m/s a diameter of 1 in carries 8 gpm.
    let diameter_in = |heads: f64| (0.17 * heads / 8.0).sqrt().max(0.25);
    let gpm = 0.17 * heads_behind[0];
    let mut plan = Plan::fed(70.0, 60.0, gpm);
    for node in 1..nodes {
        plan.hose(&format!("t{node}"), 5.0 + random(&mut state, 40) as f64, diameter_in(heads_behind[node]), parent[node], node);
        head_and_loop(&mut plan, &mut state, node, 4, 0.5);
    }
    plan.garden()
}

/// A long random tree whose far heads run dry: each node hangs on one of the twenty before it.
fn starved_tree_with_loops(nodes: usize, which: usize) -> Garden {
    let mut state = 88_172_645_463_325_252u64 ^ ((which as u64) << 32);
    let mut plan = Plan::fed(70.0, 60.0, 10.0 * nodes as f64);
    for node in 1..nodes {
        let parent = node - 1 - random(&mut state, node.min(20));
        let (length, diameter) = (5.0 + random(&mut state, 40) as f64, 1.5 + 0.1 * random(&mut state, 30) as f64);
        plan.hose(&format!("t{node}"), length, diameter, parent, node);
        head_and_loop(&mut plan, &mut state, node, 30, 1.0);
    }
    plan.garden()
}

/// A trunk with a head behind a short hose at each of its nodes, more than it can feed.
fn starved_trunk(nodes: usize, which: usize) -> Garden {
    let heads = nodes / 2;
    let mut state = 88_172_645_463_325_252u64 ^ ((which as u64) << 32);
    let mut plan = Plan::fed(70.0, 60.0, 40.0);
    for index in 0..heads {
        plan.hose(&format!("t{index}"), 5.0 + random(&mut state, 10) as f64, 1.5, index, index + 1);
        plan.hose(&format!("h{index}"), 12.0, 0.5, index + 1, heads + 1 + index);
        plan.head(&format!("n{index}"), 0.06, heads + 1 + index);
    }
    plan.garden()
}

/// A square grid of hoses, too narrow for its heads at every third node.
fn starved_grid(nodes: usize, which: usize) -> Garden {
    let side = nodes.isqrt();
    let mut state = 88_172_645_463_325_252u64 ^ ((which as u64) << 32);
    let mut plan = Plan::fed(70.0, 60.0, 0.2 * nodes as f64);
    for node in 0..side * side {
        if !node.is_multiple_of(side) {
            plan.hose(&format!("x{node}"), 5.0 + random(&mut state, 40) as f64, 0.5, node - 1, node);
        }
        if node >= side {
            plan.hose(&format!("y{node}"), 5.0 + random(&mut state, 40) as f64, 0.5, node - side, node);
        }
        if node % 3 == 1 {
            plan.head(&format!("n{node}"), 0.06, node);
        }
    }
    plan.garden()
}

fn network(garden: &Garden) -> Network {
    Network::new(garden, &vec![true; garden.parts().len()]).expect("a sound garden")
}

fn probes(garden: &Garden) -> Vec<Probe> {
    let heads: Vec<usize> = garden.of_kind(Kind::Head).collect();
    let both = |&place: &usize| [ProbeKind::Pressure, ProbeKind::Flow].map(|kind| Probe { place, kind });
    heads.iter().flat_map(both).collect()
}

/// Cases of a sweep over the length of the feed hose: three pressures and three flows each.
#[divan::bench(args = [1000, 12], sample_count = 200)]
fn sweep_three_heads(bencher: Bencher, steps: usize) {
    let garden = three_heads();
    let mut network = network(&garden);
    let (feed, probes) = (garden.find("feed").expect("known"), probes(&garden));
    let lengths: Vec<f64> = (0..steps).map(|step| (25.0 + 275.0 * step as f64 / (steps - 1) as f64) * FT).collect();
    let mut iterations = 0;
    let mut cases = 0;
    bencher.counter(ItemsCount::new(steps)).bench_local(|| {
        let mut sum = 0.0;
        for &length in &lengths {
            network.set(feed, Id::Length, black_box(length)).expect("a length");
            iterations += network.solve().expect("a steady state").iterations;
            cases += 1;
            for probe in &probes {
                sum += network.probe(probe);
            }
        }
        sum
    });
    // The last case from a cold start must give the same.
    let warm: Vec<f64> = probes.iter().map(|probe| network.probe(probe)).collect();
    network.start_afresh();
    network.solve().expect("a steady state");
    for (probe, warm) in probes.iter().zip(warm) {
        assert!((network.probe(probe) - warm).abs() < 1e-8 * warm, "{} and {warm}", network.probe(probe));
    }
    if cases > 0 {
        println!("  {:.2} iterations a case", iterations as f64 / cases as f64);
    }
}

/// Cases of a sweep over the length of the feed hose of a drip line of 300 outlets on a barrel; what the line gives is followed
/// outlet by outlet where a case needs it, and looked up after.
#[divan::bench(args = [1000], sample_count = 20)]
fn sweep_drip_line(bencher: Bencher, steps: usize) {
    let drip = [
        ("length", q(100.0, "m")),
        ("diameter", q(13.6, "mm")),
        ("flow", q(10.0, "L/min")),
        ("pressure", q(1.0, "bar")),
        ("exponent", Quantity::number(0.05)),
        ("outlets", Quantity::number(300.0)),
    ];
    let mut plan = Plan::default();
    plan.add(build(Kind::OpenTank, "barrel", &[("level", q(1.0, "m"))]), 0, 0);
    plan.hose("feed", 30.0, 0.6, 0, 1);
    plan.head("spout", 0.1, 1);
    plan.add(build(Kind::Soaker, "drip", &drip), 1, 1);
    let garden = plan.garden();
    let (feed, line) = (garden.find("feed").expect("known"), garden.find("drip").expect("known"));
    let lengths: Vec<f64> = (0..steps).map(|step| (5.0 + 60.0 * step as f64 / (steps - 1) as f64) * FT).collect();
    bencher.counter(ItemsCount::new(steps)).with_inputs(|| network(&garden)).bench_local_refs(|network| {
        lengths.iter().fold(0.0, |sum, &length| {
            network.set(feed, Id::Length, black_box(length)).expect("a length");
            network.solve().expect("a steady state");
            sum + network.flow(line)
        })
    });
}

/// One cold solve of a tree of sixty heads.
#[divan::bench(sample_count = 500)]
fn cold_tree_of_sixty_heads(bencher: Bencher) {
    let garden = trunk(60);
    let mut network = network(&garden);
    bencher.bench_local(|| {
        network.start_afresh();
        network.solve().expect("a steady state")
    });
    closes(&mut network, &garden);
}

/// One warm solve of the same after a change of its first hose.
#[divan::bench(sample_count = 500)]
fn warm_tree_of_sixty_heads(bencher: Bencher) {
    let garden = trunk(60);
    let mut network = network(&garden);
    let first = garden.find("t0").expect("known");
    let mut longer = false;
    bencher.bench_local(|| {
        longer = !longer;
        network.set(first, Id::Length, if longer { 3.1 } else { 3.0 }).expect("a length");
        network.solve().expect("a steady state")
    });
    closes(&mut network, &garden);
}

/// Cold solves of random trees with loops. Each size solves as many different trees as make ten thousand nodes, so that
/// caches and the prediction of branches serve all sizes alike.
#[divan::bench(args = [100, 1000, 10000], sample_count = 30)]
fn cold_trees_with_loops(bencher: Bencher, nodes: usize) {
    cold(bencher, "cold trees", nodes, tree_with_loops);
}

/// The same for trees whose far heads run dry, a harder question the larger the tree.
#[divan::bench(args = [100, 1000, 10000], sample_count = 30)]
fn cold_starved_trees(bencher: Bencher, nodes: usize) {
    cold(bencher, "starved trees", nodes, starved_tree_with_loops);
}

/// Cold solves of trunks whose far heads run dry.
#[divan::bench(args = [100, 1000, 10000], sample_count = 30)]
fn cold_starved_trunks(bencher: Bencher, nodes: usize) {
    cold(bencher, "starved trunks", nodes, starved_trunk);
}

/// Cold solves of square grids whose far heads run dry. Elimination itself takes more than n steps here.
#[divan::bench(args = [100, 1000, 10000], sample_count = 10)]
fn cold_starved_grids(bencher: Bencher, nodes: usize) {
    cold(bencher, "starved grids", nodes, starved_grid);
}

fn cold(bencher: Bencher, what: &'static str, nodes: usize, tree: impl Fn(usize, usize) -> Garden) {
    let trees = 10_000 / nodes;
    let gardens: Vec<Garden> = (0..trees).map(|which| tree(nodes, which)).collect();
    let mut networks: Vec<Network> = gardens.iter().map(network).collect();
    let mut iterations = 0;
    let mut growth = Growth::of(what, nodes);
    bencher.counter(ItemsCount::new(10_000usize)).bench_local(|| {
        iterations = 0;
        growth.time_shared(trees, || {
            for network in &mut networks {
                network.start_afresh();
                iterations += network.solve().expect("a steady state").iterations;
            }
        });
    });
    println!("  {:.1} iterations a solve", iterations as f64 / trees as f64);
    networks.iter_mut().zip(&gardens).for_each(|(network, garden)| closes(network, garden));
}

/// Making a network ready for the first solve, the analysis of its structure included.
#[divan::bench(args = [100, 1000, 10000], sample_count = 10)]
fn analysis(bencher: Bencher, nodes: usize) {
    let garden = tree_with_loops(nodes, 0);
    let open = vec![true; garden.parts().len()];
    bencher
        .counter(ItemsCount::new(nodes))
        .with_inputs(|| tree_with_loops(nodes, 0))
        .bench_local_values(|garden| Network::new(&garden, &open).expect("a sound garden"));
}

/// What the tap gives leaves by the heads; each node balances to 1e-9 of the largest flow, and there are many.
fn closes(network: &mut Network, garden: &Garden) {
    let given = network.flow(garden.find("tap").expect("known"));
    let taken: f64 = garden.of_kind(Kind::Head).map(|place| network.flow(place)).sum();
    assert!(given > 0.0 && (given - taken).abs() < 1e-8 * given, "{given} given and {taken} taken");
}
