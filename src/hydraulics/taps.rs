//! Draws over time: a tap takes up to its flow while there is pressure, and nothing where there is none.
//!
//! From nothing at no pressure to its whole flow at [`FULL_PA`] a tap follows a straight line. In Newton's method each is in one
//! of three states, which change one step at a time, as those of valves do: so a line that can feed a tap in part is found.

use super::network::Network;
use super::newton::States;
use crate::parts::Law;

/// Pressure from which on a tap gives all it is asked for, Pa: a tenth of a millimetre of water.
pub const FULL_PA: f64 = 1.0;
/// A state is left when the pressure is past its end by this, Pa, so that rounding does not pass it to and fro.
const PAST_PA: f64 = 1e-6;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum State {
    Dry,
    /// Gives in proportion to its pressure.
    Part,
    Full,
}

/// A draw that takes what comes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Tap {
    pub unknown: usize,
    place: usize,
    pub most_m3_per_s: f64,
    state: State,
}

impl Tap {
    /// Whether it holds its node near no pressure.
    pub(super) fn runs(&self) -> bool {
        self.state != State::Dry
    }

    fn flow(&self, pressure_pa: f64) -> f64 {
        match self.state {
            State::Dry => 0.0,
            State::Part => self.most_m3_per_s * pressure_pa / FULL_PA,
            State::Full => self.most_m3_per_s,
        }
    }

    fn give(&self) -> f64 {
        if self.state == State::Part { self.most_m3_per_s / FULL_PA } else { 0.0 }
    }

    /// The state that a pressure leads to from the present one.
    fn next(&self, pressure_pa: f64) -> State {
        match self.state {
            State::Dry if pressure_pa > PAST_PA => State::Part,
            State::Full if pressure_pa < FULL_PA - PAST_PA => State::Part,
            State::Part if pressure_pa < 0.0 => State::Dry,
            State::Part if pressure_pa > FULL_PA => State::Full,
            same => same,
        }
    }
}

/// Gathers the taps of a network; those that were there keep their state.
pub(super) fn renew(network: &mut Network) {
    let known = std::mem::take(&mut network.taps);
    for &(unknown, place) in &network.structure.draws {
        if let Law::UpTo { flow_m3_per_s } = network.laws[place] {
            let state = known.iter().find(|tap| tap.place == place).map_or(State::Full, |tap| tap.state);
            network.taps.push(Tap { unknown, place, most_m3_per_s: flow_m3_per_s, state });
        }
    }
}

/// What a tap takes, m3/s.
pub(super) fn flow(network: &Network, place: usize) -> f64 {
    let tap = network.taps.iter().find(|tap| tap.place == place);
    tap.map_or(0.0, |tap| tap.flow(network.pressures_pa[tap.unknown]))
}

pub(super) fn add_flows(taps: &[Tap], pressures_pa: &[f64], sums: &mut [f64]) {
    for tap in taps {
        sums[tap.unknown] += tap.flow(pressures_pa[tap.unknown]);
    }
}

/// Adds the taps to the balances of a step.
pub(super) fn linearise(network: &mut Network, states: States) {
    let Network { taps, pressures_pa, right, matrix, .. } = network;
    for tap in taps {
        let pressure_pa = pressures_pa[tap.unknown];
        if states == States::Follow && tap.state != State::Part {
            tap.state = tap.next(pressure_pa);
        }
        right[tap.unknown] -= tap.flow(pressure_pa);
        matrix.add_diagonal(tap.unknown, tap.give());
    }
}

/// Lets states follow the pressures that a step has led to; a change keeps the solve going.
pub(super) fn follow(network: &mut Network, states: States) {
    if states == States::Hold {
        return;
    }
    let Network { taps, pressures_pa, flow_change, .. } = network;
    for tap in taps {
        if tap.next(pressures_pa[tap.unknown]) == tap.state {
            continue;
        }
        *flow_change = f64::INFINITY;
        if tap.state == State::Part {
            tap.state = tap.next(pressures_pa[tap.unknown]);
        }
    }
}

/// Changes the first state that does not fit; false when all do.
pub(super) fn change_first(network: &mut Network) -> bool {
    let Network { taps, pressures_pa, .. } = network;
    let Some(tap) = taps.iter_mut().find(|tap| tap.next(pressures_pa[tap.unknown]) != tap.state) else { return false };
    tap.state = tap.next(pressures_pa[tap.unknown]);
    true
}

/// Adds what taps take by their pressures alone, and sets their states by them.
pub(super) fn relax(network: &mut Network) {
    let Network { taps, pressures_pa, right, matrix, .. } = network;
    for tap in taps {
        let pressure_pa = pressures_pa[tap.unknown];
        tap.state = match pressure_pa {
            below if below <= 0.0 => State::Dry,
            above if above >= FULL_PA => State::Full,
            _ => State::Part,
        };
        right[tap.unknown] -= tap.flow(pressure_pa);
        matrix.add_diagonal(tap.unknown, tap.give());
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
            part(Kind::Hose, "feed", &[("length", 30.0, "m"), ("bore", 16.0, "mm")]),
            part(Kind::Climb, "rise", &[("height", height_m, "m")]),
            part(Kind::Draw, "tap", &[("flow", 5.0, "gpm")]),
            part(Kind::Head, "drip", &[("bore", 1.0, "mm")]),
        ];
        let garden = Garden::from_joints(parts, &[(0, 0), (0, 1), (1, 2), (2, 2), (1, 1)]).expect("joins");
        let mut network = Network::new(&garden, &[true; 5]).expect("a sound garden");
        let Law::Demand { flow_m3_per_s } = *network.law(3) else { panic!("a draw demands") };
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
