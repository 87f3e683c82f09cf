//! Thousands of random gardens against a solver of another kind, and every parameter of every part set in place and anew.

#[path = "agreement/gardens.rs"]
mod gardens;
#[path = "agreement/independent.rs"]
mod independent;
#[path = "agreement/parameters.rs"]
mod parameters;
#[path = "agreement/starters.rs"]
mod starters;
mod support;

use hosewright::garden::Garden;
use hosewright::hydraulics::{Solution, run};
use hosewright::parts::{Kind, Placing};
use independent::{Answer, Model};

/// How many gardens; GARDENS in the environment changes it, FIRST the first seed.
fn seeds(usual: u64) -> std::ops::Range<u64> {
    let from_environment = |name: &str| std::env::var(name).ok().and_then(|text| text.parse::<u64>().ok());
    let first = from_environment("FIRST").unwrap_or(0);
    first..first + from_environment("GARDENS").unwrap_or(usual)
}

/// The zones of a garden: every valve but some is open.
fn zones(garden: &Garden, seed: u64) -> Vec<String> {
    let valves = garden.of_kind(Kind::Valve).map(|place| garden.name(place).to_string());
    valves.enumerate().filter(|(index, _)| !(seed as usize + index).is_multiple_of(4)).map(|(_, name)| name).collect()
}

/// Nodes that something flows through, and whose pressure a source or the air fixes: that of water which rests or runs in a
/// circle behind shut valves follows from no law of the flow.
fn moved(solution: &Solution) -> Vec<bool> {
    let (parts, places) = (solution.garden.parts(), &solution.garden.layout().places);
    let nodes = solution.garden.layout().number_of_nodes;
    let (mut moved, mut tied) = (vec![false; nodes], vec![false; nodes]);
    let flows = |place: usize| solution.parts[place].flow_m3_per_s.abs() > 1e-9;
    for (place, joint) in places.iter().enumerate() {
        if flows(place) {
            (moved[joint.from], moved[joint.to]) = (true, true);
        }
        let fixes = match parts[place].spec().placing {
            Placing::Source => true,
            Placing::Outlet => flows(place) && parts[place].kind() != Kind::Demand,
            _ => {
                flows(place)
                    && (parts[place].kind() == Kind::Regulator
                        || solution.runs[place] && solution.garden.drive_of(place).is_some())
            }
        };
        tied[joint.to] |= fixes;
    }
    let gate = |place: usize| parts[place].spec().is_one_way();
    let mut spreads = true;
    while spreads {
        spreads = false;
        for (place, joint) in places.iter().enumerate() {
            let passes = solution.open[place] && (flows(place) || !gate(place));
            if passes && parts[place].spec().placing == Placing::Inline && tied[joint.from] != tied[joint.to] {
                (tied[joint.from], tied[joint.to]) = (true, true);
                spreads = true;
            }
        }
    }
    moved.iter().zip(tied).map(|(moved, tied)| *moved && tied).collect()
}

/// The worst differences of a solution from an answer, as shares of what is allowed: 1e-6 of a flow, 5e-8 of the largest and
/// 1e-10 m3/s, and what the balances of the answer itself miss, at most 1e-9 m3/s; 1e-6 of the highest pressure. With the place or
/// node where it is.
fn differences(solution: &Solution, answer: &Answer, missed: f64) -> (f64, String) {
    let largest = solution.parts.iter().fold(1e-5f64, |most, state| most.max(state.flow_m3_per_s.abs()));
    let highest = answer.node_pa.iter().fold(1e4f64, |most, pressure| most.max(pressure.abs()));
    let mut worst = (0.0, String::new());
    let mut look = |share: f64, where_: &dyn Fn() -> String| {
        // What is no number is the worst.
        if share > worst.0 || share.is_nan() {
            worst = (if share.is_nan() { f64::INFINITY } else { share }, where_());
        }
    };
    for (place, state) in solution.parts.iter().enumerate() {
        let joint = &solution.garden.layout().places[place];
        if solution.node_pa[joint.from].is_nan() && solution.node_pa[joint.to].is_nan() {
            // Behind shut valves that nothing fills there is no water, which the other solver lets run in a circle.
            continue;
        }
        let (found, expected) = (state.flow_m3_per_s, answer.flows[place]);
        let allowed = 1e-6 * expected.abs() + 5e-8 * largest + 1e-10 + missed.min(1e-9);
        look((found - expected).abs() / allowed, &|| format!("{}: {found} and {expected} m3/s", solution.garden.name(place)));
    }
    for (node, _) in moved(solution).iter().enumerate().filter(|(_, moved)| **moved) {
        let (found, expected) = (solution.node_pa[node], answer.node_pa[node]);
        look((found - expected).abs() / (1e-6 * highest), &|| format!("node {node}: {found} and {expected} Pa"));
    }
    worst
}

/// Prints all parts with both answers, for those who look into a garden that does not agree.
fn show(garden: &Garden, answers: Option<(&Solution, &Answer)>) {
    for (place, joint) in garden.layout().places.iter().enumerate() {
        let numbers: Vec<String> =
            garden.parts()[place].given().map(|(number, value)| format!("{} {value}", number.name())).collect();
        let both = answers.map(|(solution, answer)| {
            let flows = (1e6 * solution.parts[place].flow_m3_per_s, 1e6 * answer.flows[place]);
            (flows, [joint.from, joint.to].map(|node| (solution.node_pa[node], answer.node_pa[node])), solution.open[place])
        });
        println!("{:>3} to {:>3} {}: {both:.3?} mL/s, Pa; {}", joint.from, joint.to, garden.name(place), numbers.join(", "));
    }
}

/// What became of a garden.
enum Outcome {
    Agrees {
        iterations: usize,
        /// Water parts somewhere: before a pump, at a crest or at a draw.
        parted: bool,
    },
    /// Both answers keep all laws: where several pumps or ways downhill pull at one place at vapor pressure nothing decides how they
    /// share what comes, and in a ring that no source feeds nothing decides how much water there is. The least resistance of the other
    /// solver keeps a node some 1e-4 Pa above vapor pressure, which drives up to 2e-8 m3/s on to a second place where water parts.
    SeveralAnswers(String),
    /// The other solver stalls; the solution keeps all laws as it writes them.
    LawsKept(String),
    /// No steady state was found.
    NoState(String),
    Wrong(String),
}

fn outcome(garden: &Garden, seed: u64) -> Outcome {
    let zones = zones(garden, seed);
    let zones: Vec<&str> = zones.iter().map(String::as_str).collect();
    let solution = match run(garden, &zones) {
        Err(error) => {
            if std::env::var("SHOW").is_ok() {
                show(garden, None);
            }
            return Outcome::NoState(error.to_string());
        }
        Ok(solution) => solution,
    };
    let vapor_pa = garden.vapor_gauge_pa();
    let model = Model::new(garden, &solution.open, &solution.runs);
    let flows: Vec<f64> = solution.parts.iter().map(|state| state.flow_m3_per_s).collect();
    let (pressure, balance) = model.misfit(&flows, &solution.node_pa, vapor_pa);
    let largest = flows.iter().fold(1e-5f64, |most, flow| most.max(flow.abs()));
    // A solution takes flows at rest below 1e-11 m3/s for none where water parts; two may meet in a node.
    let keeps_laws = pressure < 1.0 && balance < 1e-8 * largest + 2e-11;
    let free = model.solve().ok().filter(|answer| model.holds(answer, vapor_pa));
    // The laws that do not know the limit are enough where they do not reach it.
    let parted = free.is_none() && !solution.parted.is_empty();
    let answer = match free.map_or_else(|| model.with_vapor(vapor_pa).solve(), Ok) {
        Ok(answer) => answer,
        Err(lost) if keeps_laws => return Outcome::LawsKept(lost),
        Err(lost) => return Outcome::Wrong(format!("it misses the laws by {pressure} Pa, and the other solver stalls: {lost}")),
    };
    let (other_pressure, other_balance) = model.misfit(&answer.flows, &answer.node_pa, vapor_pa);
    let (worst, what) = differences(&solution, &answer, other_balance);
    if std::env::var("SHOW").is_ok() {
        show(garden, Some((&solution, &answer)));
    }
    if worst <= 1.0 {
        return Outcome::Agrees { iterations: answer.iterations, parted };
    }
    if keeps_laws && other_pressure < 1.0 && other_balance < 1e-8 * largest + 1e-10 {
        return Outcome::SeveralAnswers(what);
    }
    Outcome::Wrong(format!(
        "{what}; the reading misses the laws by {pressure} Pa and {balance} m3/s, the other by {other_pressure} Pa and \
         {other_balance} m3/s"
    ))
}

#[test]
fn random_gardens_agree_with_an_independent_solver() {
    let (mut agree, mut agree_parted, mut iterations) = (0, 0, 0);
    let mut kept: Vec<String> = Vec::new();
    let (mut several, mut lost, mut wrong): (Vec<String>, Vec<String>, Vec<String>) = Default::default();
    let seeds = seeds(5500);
    let number = seeds.end - seeds.start;
    for seed in seeds {
        let garden = gardens::garden(seed);
        match outcome(&garden, seed) {
            Outcome::Agrees { iterations: taken, parted } => {
                agree += 1;
                agree_parted += u64::from(parted);
                iterations += taken;
            }
            Outcome::LawsKept(what) => kept.push(format!("{seed}: {what}")),
            Outcome::NoState(what) => lost.push(format!("{seed}: {what}")),
            Outcome::SeveralAnswers(what) => several.push(format!("{seed}: {what}")),
            Outcome::Wrong(what) => wrong.push(format!("{seed}: {what}")),
        }
    }
    println!(
        "of {number} gardens {agree} agree ({:.1} iterations each), in {agree_parted} of them water parts; by their laws alone \
         {kept:#?}, several answers {several:#?}, no steady state {lost:#?}",
        iterations as f64 / agree.max(1) as f64,
    );
    let shown: Vec<String> = wrong.iter().take(400).cloned().collect();
    assert!(wrong.is_empty(), "{} are wrong: {shown:#?}", wrong.len());
    assert_eq!(agree + (several.len() + kept.len() + lost.len()) as u64, number);
    assert!(several.len() as u64 <= number / 250, "{}", several.len());
    assert!(kept.len() as u64 <= number / 250, "{}", kept.len());
    assert!(lost.len() as u64 <= number / 1000, "{lost:#?}");
    assert!(agree >= number * 99 / 100, "{agree} of {number}");
    assert!(agree_parted >= number / 40, "{agree_parted} of {number}");
}
