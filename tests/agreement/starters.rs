//! Random gardens in which a relay, control or drive starts the booster: whether it runs is worked out here a second time, and the solution must keep the laws.

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
    if garden.starters().next().is_some() {
        return None;
    }
    let boosters: Vec<usize> = garden.boosters().collect();
    let [booster] = boosters[..] else { return None };
    let cut_in = Quantity::new(0.2e5 + 4e5 * (seed % 17) as f64 / 17.0, dim::PRESSURE);
    let least = Quantity::new(1e-4 * (1 + seed % 5) as f64, dim::FLOW);
    let margin = Quantity::new(0.1 * cut_in.si, dim::PRESSURE);
    let numbers = match kind {
        Kind::PumpControl => &[(Id::CutIn, cut_in), (Id::MinimumFlow, least)][..],
        Kind::Drive => &[(Id::Set, cut_in), (Id::StartMargin, margin), (Id::MinimumFlow, least)][..],
        _ => &[],
    };
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
    for seed in 20_000..22_400 {
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
    for seed in 20_000..20_900 {
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

#[test]
fn a_drive_holds_its_pressure_by_the_speed_that_the_affinity_laws_ask_for() {
    let (mut held, mut at_full_speed, mut other) = (0, 0, [0; 3]);
    for seed in 20_000..22_400 {
        let Some((garden, booster, zones)) = with_starter(Kind::Drive, seed) else { continue };
        let names: Vec<&str> = zones.iter().map(String::as_str).collect();
        let Ok(solution) = run(&garden, &names) else { continue };
        let drive = garden.find("starter").expect("it is there");
        let part = &garden.parts()[drive];
        let (set_pa, margin_pa) = (part.value(Id::Set), part.value(Id::StartMargin));
        let mut network = Network::new(&garden, &solution.open).expect("sound");
        network.run_pump(booster, PumpState::Off);
        if network.solve().is_err() {
            continue;
        }
        let off_pa = network.probe(&Probe { place: drive, kind: ProbeKind::Pressure });
        if off_pa.is_nan() {
            continue;
        }
        let state = &solution.parts[booster];
        let verdict = solution.switches[0].verdict;
        let starts = off_pa <= set_pa - margin_pa;
        let runs = matches!(verdict, Verdict::Runs | Verdict::ShortCycles);
        assert_eq!((starts && verdict != Verdict::Rests, solution.runs[booster]), (runs, runs), "garden {seed}: {verdict:?}");
        assert!(keeps_laws(&garden, &solution, booster, runs), "garden {seed}");
        match verdict {
            Verdict::NeverStarts => other[0] += 1,
            Verdict::Rests => other[1] += 1,
            Verdict::ShortCycles => {
                assert!(state.flow_m3_per_s < part.value(Id::MinimumFlow), "garden {seed}");
                other[2] += 1;
            }
            Verdict::Runs => {}
        }
        if !runs || !solution.parted.is_empty() {
            continue;
        }
        let (inlet_pa, outlet_pa) = (state.pressure_in_pa.expect("fed"), state.pressure_out_pa.expect("fed"));
        assert!(outlet_pa <= set_pa + 1.0 && inlet_pa < set_pa, "garden {seed}: {inlet_pa} to {outlet_pa} Pa at {set_pa} Pa");
        // At a share n of its speed the pump adds n^2 H(q / n).
        let (pump, share) = (&garden.parts()[booster], solution.share_of_speed(booster));
        let speed = pump.value(Id::Speed) * share;
        let rise_pa = speed * speed * pump.curve().expect("a curve").rise(state.flow_m3_per_s / speed).0;
        assert!((rise_pa - (outlet_pa - inlet_pa)).abs() <= 1e-6 * set_pa + 1.0, "garden {seed}: {rise_pa} Pa at {share}");
        if outlet_pa < set_pa - 1.0 {
            let flow = state.flow_m3_per_s;
            assert!(
                share > 1.0 - 1e-6,
                "garden {seed}: {share} at {flow}, {inlet_pa} to {outlet_pa} of {set_pa}, {:?}",
                solution.parted
            );
            at_full_speed += 1;
        } else {
            held += 1;
        }
    }
    assert!(held >= 20 && at_full_speed >= 10 && other.iter().all(|&number| number >= 3), "{held}, {at_full_speed}, {other:?}");
}
