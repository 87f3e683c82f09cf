//! Pressure switches in a steady state: does the booster start, and does it stay on.
//!
//! Each switch drives the nearest booster upstream of it, or else the nearest downstream. From rest (booster off) it
//! starts at or below cut-in; a steady state with the booster at or above cut-out is none: there it starts and stops for ever.

use super::answer::probe::{Probe, ProbeKind};
use super::network::{Network, PumpState};
use super::outcome::{Convergence, SolveError};
use crate::garden::walk::Way;
use crate::garden::{Excerpt, Garden};
use crate::parts::Id;

/// What a switch does in a steady state.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// The pressure without the booster is above cut-in: the booster never starts.
    NeverStarts,
    /// The booster starts and stays on.
    Runs,
    /// The booster starts and drives the pressure to cut-out, or above: it starts and stops without end.
    ShortCycles,
}

impl Verdict {
    /// The verdict in short, for tables.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::NeverStarts => "never starts",
            Verdict::Runs => "runs",
            Verdict::ShortCycles => "short-cycles",
        }
    }
}

/// A switch after a solve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SwitchState {
    /// Place of the switch in its garden.
    pub place: usize,
    /// Place of the booster that it drives.
    pub booster: usize,
    /// Gauge pressure at the switch while all boosters with a switch are off, Pa.
    pub off_pa: f64,
    /// Gauge pressure at the switch in the state solved, Pa.
    pub at_pa: f64,
    /// What the switch makes of these pressures.
    pub verdict: Verdict,
}

/// The switches of a garden and their boosters.
#[derive(Clone, Debug, Default)]
pub struct Switches {
    pairs: Vec<(usize, usize)>,
}

impl Switches {
    /// Each switch of a garden with the booster that [`booster_of`] finds; a switch without one is left out.
    pub fn of(garden: &Garden) -> Switches {
        let pairs = garden.switches().filter_map(|place| Some((place, booster_of(garden, place)?)));
        Switches { pairs: pairs.collect() }
    }

    /// Places of each switch and of the booster it drives.
    pub fn pairs(&self) -> &[(usize, usize)] {
        &self.pairs
    }

    /// The same pairs in an excerpt of the garden; those that are not whole in it are left out.
    pub fn within(&self, excerpt: &Excerpt) -> Switches {
        let pairs = self.pairs.iter().filter_map(|&(switch, booster)| Some((excerpt.place(switch)?, excerpt.place(booster)?)));
        Switches { pairs: pairs.collect() }
    }

    /// Number of pairs.
    pub fn len(&self) -> usize {
        self.pairs.len()
    }

    /// True for a garden without a switch that drives a booster.
    pub fn is_empty(&self) -> bool {
        self.pairs.is_empty()
    }

    /// The places of the switches.
    pub fn places(&self) -> impl Iterator<Item = usize> + '_ {
        self.pairs.iter().map(|pair| pair.0)
    }

    /// Solves with the boosters that the switches start from rest; boosters without a switch run. A switch that would stop its
    /// booster again leaves it running in the answer, with [`Verdict::ShortCycles`].
    ///
    /// Errors: as for [`Network::solve`].
    pub fn settle(&self, network: &mut Network) -> Result<(Vec<SwitchState>, Convergence), SolveError> {
        for &(_, booster) in &self.pairs {
            network.run_pump(booster, PumpState::Off);
        }
        let mut convergence = network.solve()?;
        if self.pairs.is_empty() {
            return Ok((Vec::new(), convergence));
        }
        let sense = |network: &mut Network, place: usize| network.probe(&Probe { place, kind: ProbeKind::Pressure });
        let mut states: Vec<SwitchState> = Vec::with_capacity(self.pairs.len());
        for &(place, booster) in &self.pairs {
            let off_pa = sense(network, place);
            states.push(SwitchState { place, booster, off_pa, at_pa: off_pa, verdict: Verdict::NeverStarts });
        }
        // Boosters only ever join in here, so this ends after as many rounds as there are switches.
        loop {
            let mut started = false;
            for state in &mut states {
                let cut_in = network.parts()[state.place].value(Id::CutIn);
                if state.verdict == Verdict::NeverStarts && state.at_pa <= cut_in {
                    state.verdict = Verdict::Runs;
                    network.run_pump(state.booster, PumpState::Running);
                    started = true;
                }
            }
            if !started {
                break;
            }
            convergence = network.solve()?;
            for state in &mut states {
                state.at_pa = sense(network, state.place);
            }
        }
        for state in &mut states {
            let cut_out = network.parts()[state.place].value(Id::CutOut);
            if state.verdict == Verdict::Runs && state.at_pa >= cut_out {
                state.verdict = Verdict::ShortCycles;
            }
        }
        Ok((states, convergence))
    }
}

/// The place of the booster that a switch drives: the nearest upstream of it, or else the nearest downstream. `switch` is a place.
pub fn booster_of(garden: &Garden, switch: usize) -> Option<usize> {
    nearest_booster(garden, switch, Way::Up).or_else(|| nearest_booster(garden, switch, Way::Down))
}

fn nearest_booster(garden: &Garden, switch: usize, way: Way) -> Option<usize> {
    let start = garden.layout().places[switch].to;
    let mut walk = garden.walk();
    let mut passed = walk.from([start], |passage| (passage.way == way).then_some(())).map(|(passage, ())| passage.place);
    passed.find(|&place| garden.spec(place).traits.pumps)
}
