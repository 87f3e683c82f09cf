//! Random gardens in which a relay or control starts the booster: whether it runs is worked out here a second time, and the solution must keep the laws.

use super::gardens::garden;
use super::independent::Model;
use hosewright::garden::Garden;
use hosewright::hydraulics::{Network, Probe, ProbeKind, PumpState, Solution, Verdict, run};
use hosewright::parts::{Id, Kind, Part, Placing};
use hosewright::quantity::{Quantity, dim};

/// The nodes that water from a booster gets to along the direction of parts, through any valve.
fn downstream(garden: &Garden, booster: usize) -> Vec<bool> {
    let places = &garden.layout().places;
    let mut fed = vec![false; garden.layout().number_of_nodes];
    fed[places[booster].to] = true;
    for _ in 0..places.len() {
        for (place, joint) in places.iter().enumerate() {
            let inline = garden.spec(place).placing == Placing::Inline && place != booster;
            fed[joint.to] |= inline && fed[joint.from];
        }
    }
    fed
}

/// Gardens with one booster, with a part at its outlet; the place of the booster, and the zones that are open.
fn with_starter(kind: Kind, seed: u64) -> Option<(Garden, usize, Vec<String>)> {
    let garden = garden(seed);
    let boosters: Vec<usize> = garden.boosters().collect();
    let [booster] = boosters[..] else { return None };
    let cut_in = Quantity::new(0.2e5 + 4e5 * (seed % 17) as f64 / 17.0, dim::PRESSURE);
    let least = Quantity::new(1e-4 * (1 + seed % 5) as f64, dim::FLOW);
    let numbers = if kind == Kind::PumpControl { &[(Id::CutIn, cut_in), (Id::MinimumFlow, least)][..] } else { &[] };
    let part = Part::build(kind, Some("starter"), numbers).expect("sound");
    let name = garden.name(booster).to_string();
    let started = garden.branch(&name, &Garden::of(part)).expect("joins");
    // Every valve but some is open.
    let open = garden.valves().enumerate().filter(|(index, _)| !(seed as usize + index).is_multiple_of(3));
    let zones = open.map(|(_, place)| garden.name(place).to_string()).collect();
    Some((started, booster, zones))
}

/// The solution must keep the laws of all parts with the booster running or not, as it should.
fn keeps_laws(garden: &Garden, solution: &Solution, booster: usize, runs: bool) -> bool {
    let expected: Vec<bool> = (0..garden.parts().len()).map(|place| place == booster && runs).collect();
    let model = Model::new(garden, &solution.open, &expected);
    let flows: Vec<f64> = solution.parts.iter().map(|state| state.flow_m3_per_s).collect();
    let (pressure_pa, balance) = model.misfit(&flows, &solution.node_pa, garden.vapor_gauge_pa());
    let largest = flows.iter().fold(1e-5f64, |most, flow| most.max(flow.abs()));
    pressure_pa < 1.0 && balance < 1e-8 * largest + 2e-11
}

#[test]
fn a_relay_runs_its_booster_while_a_zone_downstream_is_open() {
    let (mut on, mut off) = (0, 0);
    for seed in 20_000..21_600 {
        let Some((garden, booster, zones)) = with_starter(Kind::PumpStart, seed) else { continue };
        let names: Vec<&str> = zones.iter().map(String::as_str).collect();
        let Ok(solution) = run(&garden, &names) else { continue };
        let fed = downstream(&garden, booster);
        let places = &garden.layout().places;
        let waters = |place: usize| garden.spec(place).traits.opens && solution.open[place] && fed[places[place].from];
        let runs = (0..places.len()).any(waters);
        assert_eq!(solution.runs[booster], runs, "garden {seed}");
        assert!(keeps_laws(&garden, &solution, booster, runs), "garden {seed}");
        *(if runs { &mut on } else { &mut off }) += 1;
    }
    assert!(on >= 20 && off >= 20, "{on} run and {off} do not");
}

#[test]
fn a_control_starts_by_pressure_and_stays_on_by_flow() {
    let mut seen = [0; 4];
    for seed in 20_000..20_600 {
        let Some((garden, booster, zones)) = with_starter(Kind::PumpControl, seed) else { continue };
        let names: Vec<&str> = zones.iter().map(String::as_str).collect();
        let Ok(solution) = run(&garden, &names) else { continue };
        let control = garden.find("starter").expect("it is there");
        let part = &garden.parts()[control];
        let felt = |state: PumpState| {
            let mut network = Network::new(&garden, &solution.open).expect("sound");
            network.run_pump(booster, state);
            network.solve().ok()?;
            Some((network.probe(&Probe { place: control, kind: ProbeKind::Pressure }), network.flow(booster)))
        };
        let (Some((off_pa, _)), Some((_, flow))) = (felt(PumpState::Off), felt(PumpState::Running)) else { continue };
        if off_pa.is_nan() {
            continue;
        }
        let verdict = if off_pa > part.value(Id::CutIn) {
            Verdict::NeverStarts
        } else if flow <= 1e-8 {
            Verdict::Rests
        } else if flow < part.value(Id::MinimumFlow) {
            Verdict::ShortCycles
        } else {
            Verdict::Runs
        };
        assert_eq!(solution.switches[0].verdict, verdict, "garden {seed}: {off_pa} Pa off, {flow} m3/s");
        let runs = matches!(verdict, Verdict::Runs | Verdict::ShortCycles);
        assert!(solution.runs[booster] == runs && keeps_laws(&garden, &solution, booster, runs), "garden {seed}");
        seen[verdict as usize] += 1;
    }
    assert!(seen.iter().all(|&number| number >= 3), "{seen:?}");
}
