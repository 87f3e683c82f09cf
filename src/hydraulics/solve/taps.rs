//! Demands over time: a tap takes up to its flow while there is pressure, and nothing where there is none.
//!
//! From nothing at no pressure to its whole flow at [`TAP_FULL_PA`](crate::hydraulics::TAP_FULL_PA) a tap follows a straight line. In Newton's method each is in one
//! of three states, which change one step at a time, as those of valves do: so a line that can feed a tap in part is found.

use crate::hydraulics::circuit::Circuit;
use crate::hydraulics::state::{Gives, State, States, Tap, Work};
use crate::hydraulics::tolerances::TAP_FULL_PA;

/// Adds what taps take to the sums of the nodes.
pub fn add_flows(taps: &[Tap], pressures_pa: &[f64], sums: &mut [f64]) {
    for tap in taps {
        sums[tap.unknown] += tap.flow(pressures_pa[tap.unknown]);
    }
}

/// Adds the taps to the balances of a step.
pub fn linearize(circuit: &mut Circuit, states: States) {
    let Circuit { state: State { taps, pressures_pa, .. }, work: Work { right, matrix, .. }, .. } = circuit;
    for tap in taps {
        let pressure_pa = pressures_pa[tap.unknown];
        if states == States::Follow && tap.gives != Gives::Part {
            tap.gives = tap.next(pressure_pa);
        }
        right[tap.unknown] -= tap.flow(pressure_pa);
        matrix.add_diagonal(tap.unknown, tap.conductance());
    }
}

/// Lets states follow the pressures that a step has led to; a change keeps the solve going.
pub fn follow(circuit: &mut Circuit, states: States) {
    if states == States::Hold {
        return;
    }
    let Circuit { state: State { taps, pressures_pa, .. }, work: Work { flow_change, .. }, .. } = circuit;
    for tap in taps {
        if tap.next(pressures_pa[tap.unknown]) == tap.gives {
            continue;
        }
        *flow_change = f64::INFINITY;
        if tap.gives == Gives::Part {
            tap.gives = tap.next(pressures_pa[tap.unknown]);
        }
    }
}

/// Changes the first state that does not fit; false when all do.
pub fn change_first(circuit: &mut Circuit) -> bool {
    let State { taps, pressures_pa, .. } = &mut circuit.state;
    let Some(tap) = taps.iter_mut().find(|tap| tap.next(pressures_pa[tap.unknown]) != tap.gives) else { return false };
    tap.gives = tap.next(pressures_pa[tap.unknown]);
    true
}

/// Adds what taps take by their pressures alone, and sets their states by them.
pub fn relax(circuit: &mut Circuit) {
    let Circuit { state: State { taps, pressures_pa, .. }, work: Work { right, matrix, .. }, .. } = circuit;
    for tap in taps {
        let pressure_pa = pressures_pa[tap.unknown];
        tap.gives = match pressure_pa {
            below if below <= 0.0 => Gives::Nothing,
            above if above >= TAP_FULL_PA => Gives::All,
            _ => Gives::Part,
        };
        right[tap.unknown] -= tap.flow(pressure_pa);
        matrix.add_diagonal(tap.unknown, tap.conductance());
    }
}

#[cfg(test)]
mod tests {
    use crate::garden::Garden;
    use crate::hydraulics::Network;
    use crate::hydraulics::test_parts::part;
    use crate::parts::{Kind, Law};

    /// What a tap of 5 gpm takes at the end of a hose that rises by so much, and the pressure there.
    fn at_the_top(height_m: f64) -> (f64, f64) {
        let parts = vec![
            part(Kind::Supply, "main", &[("static_pressure", 1.0, "bar")]),
            part(Kind::Hose, "feed", &[("length", 30.0, "m"), ("diameter", 16.0, "mm")]),
            part(Kind::Uphill, "rise", &[("height", height_m, "m")]),
            part(Kind::Demand, "tap", &[("flow", 5.0, "gpm")]),
            part(Kind::Head, "drip", &[("nozzle", 1.0, "mm")]),
        ];
        let garden = Garden::from_joints(parts, &[(0, 0), (0, 1), (1, 2), (2, 2), (1, 1)]).expect("joins");
        let mut network = Network::new(&garden, &[true; 5]).expect("a sound garden");
        let Law::Demand { flow_m3_per_s } = *network.law(3) else { panic!("a demand has its law") };
        network.put_law(3, Law::UpTo { flow_m3_per_s });
        network.solve().expect("a steady state");
        let top_pa = network.node_pressures_pa()[2];
        (network.flow(3) / flow_m3_per_s, top_pa)
    }

    #[test]
    fn a_tap_takes_all_it_is_asked_for_what_comes_or_nothing() {
        let (share, pressure_pa) = at_the_top(0.0);
        assert!(share == 1.0 && pressure_pa > 1e3, "{share} at {pressure_pa}");
        let (share, pressure_pa) = at_the_top(9.0);
        assert!(share > 0.05 && share < 0.95 && (share - pressure_pa).abs() < 1e-9, "{share} at {pressure_pa}");
        let (share, pressure_pa) = at_the_top(11.0);
        assert!(share == 0.0 && pressure_pa < 0.0, "{share} at {pressure_pa}");
    }
}
