//! What starts boosters, in a steady state: does each booster start, and does it stay on.
//!
//! From rest (booster off) a switch or control starts its booster at or below cut-in, a drive at or below its set pressure less a margin; a
//! steady state with the booster at or above cut-out, or with less flow than a control or drive senses, is none: there it starts and stops
//! for ever. A relay runs it while a zone downstream of it is open.

use super::answer::probe::{Probe, ProbeKind};
use super::network::{Network, PumpState};
use super::outcome::{Convergence, SolveError};
use crate::garden::{Excerpt, Garden, Starter, starters_of};
use crate::parts::{Id, Start};

/// Flow of a booster that counts as none, m3/s: a drop in some seconds.
pub(super) const STILL_M3_PER_S: f64 = 1e-8;

/// What a switch does in a steady state.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// The pressure without the booster is above cut-in: the booster never starts.
    NeverStarts,
    /// The booster starts and stays on.
    Runs,
    /// The booster starts and drives the pressure to cut-out, or above, or moves less than its control senses: it starts and stops
    /// without end.
    ShortCycles,
    /// Nothing is open that the booster would run for.
    Rests,
}

impl Verdict {
    /// All of them.
    pub const ALL: [Verdict; 4] = [Verdict::NeverStarts, Verdict::Runs, Verdict::ShortCycles, Verdict::Rests];

    /// The verdict in short, for tables.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::NeverStarts => "never starts",
            Verdict::Runs => "runs",
            Verdict::ShortCycles => "short-cycles",
            Verdict::Rests => "off",
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
    /// How it drives it.
    pub start: Start,
    /// Gauge pressure at the switch while all boosters that pressure starts are off, Pa.
    pub off_pa: f64,
    /// Gauge pressure at the switch in the state solved, Pa.
    pub at_pa: f64,
    /// What the switch makes of these pressures.
    pub verdict: Verdict,
}

/// True when the water comes to a booster with all the pressure that its drive is to hold.
fn idles(network: &mut Network, state: &SwitchState) -> bool {
    let inlet_pa = network.pressure_upstream(state.booster);
    network.parts()[state.place].si(Id::Set).is_some_and(|set_pa| inlet_pa >= set_pa)
}

/// True while a zone is open that a relay follows.
fn zone_open(network: &Network, starter: &Starter) -> bool {
    starter.valves.iter().any(|&valve| network.is_open(valve))
}

/// The switches of a garden and their boosters.
#[derive(Clone, Debug, Default)]
pub struct Switches {
    starters: Vec<Starter>,
}

impl Switches {
    /// Each switch of a garden with its booster, as [`starters_of`] finds them.
    pub fn of(garden: &Garden) -> Switches {
        Switches { starters: starters_of(garden) }
    }

    /// Places of each switch and of the booster it drives.
    pub fn pairs(&self) -> impl Iterator<Item = (usize, usize)> + '_ {
        self.starters.iter().map(|starter| (starter.place, starter.booster))
    }

    /// The same in an excerpt of the garden; those that are not whole in it are left out.
    pub fn within(&self, excerpt: &Excerpt) -> Switches {
        let inside = |starter: &Starter| {
            let valves = starter.valves.iter().filter_map(|&valve| excerpt.place(valve)).collect();
            let (place, booster) = (excerpt.place(starter.place)?, excerpt.place(starter.booster)?);
            Some(Starter { place, booster, start: starter.start, valves })
        };
        Switches { starters: self.starters.iter().filter_map(inside).collect() }
    }

    /// Number of pairs.
    pub fn len(&self) -> usize {
        self.starters.len()
    }

    /// True for a garden without a switch that drives a booster.
    pub fn is_empty(&self) -> bool {
        self.starters.is_empty()
    }

    /// The places of the switches.
    pub fn places(&self) -> impl Iterator<Item = usize> + '_ {
        self.pairs().map(|pair| pair.0)
    }

    /// What starts boosters, and which.
    pub(super) fn starters(&self) -> &[Starter] {
        &self.starters
    }

    /// Stops the boosters that pressure starts, and runs those that relays run.
    pub(super) fn rest(&self, network: &mut Network) {
        for starter in &self.starters {
            let runs = starter.start == Start::Zones && zone_open(network, starter);
            network.run_pump(starter.booster, if runs { PumpState::Running } else { PumpState::Off });
        }
    }

    /// Solves with the boosters that relays run for open zones, and those that switches and controls start from rest; boosters without
    /// any run. A switch that would stop its booster again leaves it running in the answer, with [`Verdict::ShortCycles`].
    ///
    /// Errors: as for [`Network::solve`].
    pub fn settle(&self, network: &mut Network) -> Result<(Vec<SwitchState>, Convergence), SolveError> {
        self.rest(network);
        let mut convergence = network.solve()?;
        if self.is_empty() {
            return Ok((Vec::new(), convergence));
        }
        let sense = |network: &mut Network, place: usize| network.probe(&Probe { place, kind: ProbeKind::Pressure });
        let mut states: Vec<SwitchState> = Vec::with_capacity(self.len());
        for starter in &self.starters {
            let off_pa = sense(network, starter.place);
            let verdict = match starter.start {
                Start::Zones if zone_open(network, starter) => Verdict::Runs,
                Start::Zones => Verdict::Rests,
                Start::Pressure | Start::Flow | Start::Speed => Verdict::NeverStarts,
            };
            let &Starter { place, booster, start, .. } = starter;
            states.push(SwitchState { place, booster, start, off_pa, at_pa: off_pa, verdict });
        }
        // Boosters only ever join in here, so this ends after as many rounds as there are switches.
        loop {
            let mut started = false;
            for state in states.iter_mut().filter(|state| state.start != Start::Zones) {
                let starts_at_pa = network.parts()[state.place].starts_at_pa().unwrap_or(f64::NEG_INFINITY);
                if state.verdict == Verdict::NeverStarts && state.at_pa <= starts_at_pa {
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
        let mut stopped = false;
        for state in states.iter_mut().filter(|state| state.verdict == Verdict::Runs) {
            let flow = network.flow(state.booster);
            let stays = match state.start {
                Start::Pressure if state.at_pa >= network.parts()[state.place].value(Id::CutOut) => Verdict::ShortCycles,
                // What others add upstream is enough: its drive does without the booster.
                Start::Speed if idles(network, state) => Verdict::NeverStarts,
                // The line is closed: the control stops the booster, and nothing starts it again.
                Start::Flow | Start::Speed if flow <= STILL_M3_PER_S => Verdict::Rests,
                Start::Flow | Start::Speed if flow < network.parts()[state.place].value(Id::MinimumFlow) => Verdict::ShortCycles,
                _ => Verdict::Runs,
            };
            state.verdict = stays;
            if matches!(stays, Verdict::NeverStarts | Verdict::Rests) {
                network.run_pump(state.booster, PumpState::Off);
                stopped = true;
            }
        }
        if stopped {
            convergence = network.solve()?;
            for state in &mut states {
                state.at_pa = sense(network, state.place);
            }
        }
        Ok((states, convergence))
    }
}
