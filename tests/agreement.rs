//! Thousands of random gardens against a solver of another kind, and every parameter of every part set in three ways.

#[path = "agreement/gardens.rs"]
mod gardens;
#[path = "agreement/independent.rs"]
mod independent;
#[cfg(feature = "app")]
#[path = "agreement/parameters.rs"]
mod parameters;
mod support;

use hosewright::garden::Garden;
use hosewright::hydraulics::{Reading, run};
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
fn moved(reading: &Reading) -> Vec<bool> {
    let (parts, places) = (reading.garden.parts(), &reading.garden.layout().places);
    let nodes = reading.garden.layout().number_of_nodes;
    let (mut moved, mut tied) = (vec![false; nodes], vec![false; nodes]);
    let flows = |place: usize| reading.parts[place].flow_m3_per_s.abs() > 1e-9;
    for (place, joint) in places.iter().enumerate() {
        if flows(place) {
            (moved[joint.from], moved[joint.to]) = (true, true);
        }
        let fixes = match parts[place].spec().placing {
            Placing::Source => true,
            Placing::Outlet => flows(place) && parts[place].kind() != Kind::Draw,
            _ => flows(place) && parts[place].kind() == Kind::Regulator,
        };
        tied[joint.to] |= fixes;
    }
    let gate = |place: usize| matches!(parts[place].kind(), Kind::CheckValve | Kind::Backflow | Kind::Regulator);
    let mut spreads = true;
    while spreads {
        spreads = false;
        for (place, joint) in places.iter().enumerate() {
            let passes = reading.open[place] && (flows(place) || !gate(place));
            if passes && parts[place].spec().placing == Placing::Inline && tied[joint.from] != tied[joint.to] {
                (tied[joint.from], tied[joint.to]) = (true, true);
                spreads = true;
            }
        }
    }
    moved.iter().zip(tied).map(|(moved, tied)| *moved && tied).collect()
}

/// True where the other solver, which knows no such limit, pulls water below what air and water bear; not where nothing fills.
fn parts(reading: &Reading, answer: &Answer) -> bool {
    let low = |node: usize| answer.node_pa[node] < -0.8e5 && !reading.node_pa[node].is_nan();
    let runs = |place: usize| answer.flows[place].abs() > 1e-9 || reading.parts[place].flow_m3_per_s.abs() > 1e-9;
    let places = reading.garden.layout().places.iter().enumerate();
    places.filter(|(place, _)| runs(*place)).any(|(_, joint)| low(joint.from) || low(joint.to))
}

/// The worst differences of a reading from an answer, as shares of what is allowed: 1e-6 of a flow, 5e-8 of the largest and
/// 1e-10 m3/s; 1e-6 of the highest pressure. With the place or node where it is.
fn differences(reading: &Reading, answer: &Answer) -> (f64, String) {
    let largest = reading.parts.iter().fold(1e-5f64, |most, state| most.max(state.flow_m3_per_s.abs()));
    let highest = answer.node_pa.iter().fold(1e4f64, |most, pressure| most.max(pressure.abs()));
    let mut worst = (0.0, String::new());
    let mut look = |share: f64, where_: &dyn Fn() -> String| {
        // What is no number is the worst.
        if share > worst.0 || share.is_nan() {
            worst = (if share.is_nan() { f64::INFINITY } else { share }, where_());
        }
    };
    for (place, state) in reading.parts.iter().enumerate() {
        let joint = &reading.garden.layout().places[place];
        if reading.node_pa[joint.from].is_nan() && reading.node_pa[joint.to].is_nan() {
            // Behind shut valves that nothing fills there is no water, which the other solver lets run in a circle.
            continue;
        }
        let (found, expected) = (state.flow_m3_per_s, answer.flows[place]);
        let allowed = 1e-6 * expected.abs() + 5e-8 * largest + 1e-10;
        look((found - expected).abs() / allowed, &|| format!("{}: {found} and {expected} m3/s", reading.garden.name(place)));
    }
    for (node, _) in moved(reading).iter().enumerate().filter(|(_, moved)| **moved) {
        let (found, expected) = (reading.node_pa[node], answer.node_pa[node]);
        look((found - expected).abs() / (1e-6 * highest), &|| format!("node {node}: {found} and {expected} Pa"));
    }
    worst
}

/// Prints all parts with both answers, for those who look into a garden that does not agree.
fn show(garden: &Garden, answers: Option<(&Reading, &Answer)>) {
    for (place, joint) in garden.layout().places.iter().enumerate() {
        let numbers: Vec<String> =
            garden.parts()[place].given().map(|(number, value)| format!("{} {value}", number.name())).collect();
        let both = answers.map(|(reading, answer)| {
            let flows = (1e6 * reading.parts[place].flow_m3_per_s, 1e6 * answer.flows[place]);
            (flows, [joint.from, joint.to].map(|node| (reading.node_pa[node], answer.node_pa[node])), reading.open[place])
        });
        println!("{:>3} to {:>3} {}: {both:.3?} mL/s, Pa; {}", joint.from, joint.to, garden.name(place), numbers.join(", "));
    }
}

/// What became of a garden.
enum Outcome {
    Agrees {
        iterations: usize,
    },
    /// Where a draw or a pump pulls below what air and water bear, other laws hold.
    Parted,
    /// Both answers keep all laws.
    SeveralAnswers(String),
    /// The other solver stalls; the reading keeps all laws as it writes them.
    LawsKept,
    /// No steady state was found.
    NoState(String),
    Wrong(String),
}

fn outcome(garden: &Garden, seed: u64) -> Outcome {
    let zones = zones(garden, seed);
    let zones: Vec<&str> = zones.iter().map(String::as_str).collect();
    let reading = match run(garden, &zones) {
        Err(error) => {
            if std::env::var("SHOW").is_ok() {
                show(garden, None);
            }
            return Outcome::NoState(error.to_string());
        }
        Ok(reading) => reading,
    };
    let model = Model::new(garden, &reading.open, &reading.runs);
    let flows: Vec<f64> = reading.parts.iter().map(|state| state.flow_m3_per_s).collect();
    let (pressure, balance) = model.misfit(&flows, &reading.node_pa);
    let largest = flows.iter().fold(1e-5f64, |most, flow| most.max(flow.abs()));
    let keeps_laws = pressure < 1.0 && balance < 1e-8 * largest;
    let answer = match model.solve() {
        Ok(answer) => answer,
        Err(_) if reading.node_pa.iter().any(|&pressure| pressure < -0.8e5) => return Outcome::Parted,
        Err(_) if keeps_laws => return Outcome::LawsKept,
        Err(lost) => return Outcome::Wrong(format!("it misses the laws by {pressure} Pa, and the other solver stalls: {lost}")),
    };
    if parts(&reading, &answer) {
        return Outcome::Parted;
    }
    let (worst, what) = differences(&reading, &answer);
    if std::env::var("SHOW").is_ok() {
        show(garden, Some((&reading, &answer)));
    }
    if worst <= 1.0 {
        return Outcome::Agrees { iterations: answer.iterations };
    }
    if keeps_laws {
        return Outcome::SeveralAnswers(what);
    }
    Outcome::Wrong(format!("{what}; the reading misses the laws by {pressure} Pa and {balance} m3/s"))
}

#[test]
fn random_gardens_agree_with_an_independent_solver() {
    let (mut agree, mut parted, mut kept, mut iterations) = (0, 0, 0, 0);
    let (mut several, mut lost, mut wrong): (Vec<String>, Vec<String>, Vec<String>) = Default::default();
    let seeds = seeds(5500);
    let number = seeds.end - seeds.start;
    for seed in seeds {
        let garden = gardens::garden(seed);
        match outcome(&garden, seed) {
            Outcome::Agrees { iterations: taken } => {
                agree += 1;
                iterations += taken;
            }
            Outcome::Parted => parted += 1,
            Outcome::LawsKept => kept += 1,
            Outcome::NoState(what) => lost.push(format!("{seed}: {what}")),
            Outcome::SeveralAnswers(what) => several.push(format!("{seed}: {what}")),
            Outcome::Wrong(what) => wrong.push(format!("{seed}: {what}")),
        }
    }
    println!(
        "of {number} gardens {agree} agree ({:.1} iterations each), in {parted} water parts, {kept} are \
         checked by their laws alone; several answers {several:#?}, no steady state {lost:#?}",
        iterations as f64 / agree.max(1) as f64,
    );
    let shown: Vec<String> = wrong.iter().take(40).cloned().collect();
    assert!(wrong.is_empty(), "{} are wrong: {shown:#?}", wrong.len());
    assert!(several.len() as u64 <= number / 250, "{}", several.len());
    assert!(parted <= number / 18, "{parted} of {number}");
    assert!(kept <= number / 50, "{kept} of {number}");
    assert!(lost.len() as u64 <= number / 1000, "{lost:#?}");
    assert!(agree >= number * 10 / 11, "{agree} of {number}");
}
