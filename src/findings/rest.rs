//! The states at rest that findings ask for: what stands with the boosters off, at shut-off, and when switches stop them.

use crate::garden::{Garden, starters_of};
use crate::hydraulics::{Drive, Outlets, RestState, Resting};
use crate::parts::{Id, Law, Start};

/// A switch or drive and its booster at rest.
pub(super) struct Stop {
    pub switch: usize,
    pub booster: usize,
    /// How the booster pushes when the switch reads cut-out, or when its drive holds the pressure; none when the booster cannot bring it
    /// to cut-out.
    pub drive: Option<Drive>,
}

/// The states at rest that findings ask for.
pub(super) struct AtRest {
    /// Boosters off, reliefs closed.
    pub off: RestState,
    /// Boosters run against closed valves, reliefs closed.
    pub dead_head: RestState,
    /// The same at the lowest static pressure of the main; none where it is not given.
    pub dead_head_lowest: Option<RestState>,
    /// Boosters run against closed valves, reliefs do their work: what stands when a switch fails to stop its booster.
    pub relieved: RestState,
    /// Reliefs do their work, switches stop their boosters, drives hold theirs, relays do not run theirs: the highest pressure in normal use.
    pub stopped: RestState,
    pub stops: Vec<Stop>,
    solving: Solving,
}

/// The garden made ready for further states.
struct Solving {
    plugged: Resting,
    /// With reliefs that do their work; none where the garden has none.
    relieved: Option<Resting>,
}

impl Solving {
    fn of(garden: &Garden) -> Option<Solving> {
        let relieved = Outlets::Relieved.let_go_in(garden).then(|| Resting::of(garden, Outlets::Relieved).ok());
        Some(Solving {
            plugged: Resting::of(garden, Outlets::Plugged).ok()?,
            relieved: relieved.map_or(Some(None), |one| one.map(Some))?,
        })
    }

    /// The state with reliefs that do their work.
    fn relieved(&mut self, drive: impl Fn(usize) -> Drive) -> Option<RestState> {
        self.relieved.as_mut().unwrap_or(&mut self.plugged).state(drive).ok()
    }

    /// The state with reliefs closed and one booster driven so, all others at full speed.
    fn driven(&mut self, booster: usize, drive: Drive) -> Option<RestState> {
        self.plugged.state(|other| if other == booster { drive } else { Drive::Full }).ok()
    }

    /// At rest the pressure at the switch grows with the rise of the booster, one to one: the share of speed that brings it
    /// to cut-out follows from the square in the affinity law, and is then tried.
    fn drive_at_cut_out(&mut self, garden: &Garden, switch: usize, booster: usize, dead_head: &RestState) -> Option<Drive> {
        let Law::Booster { curve, .. } = garden.law_of(booster) else { return None };
        let cut_out_pa = garden.parts()[switch].si(Id::CutOut)?;
        let rise_pa = curve.dead_head_pa();
        let needed_pa = rise_pa - (dead_head.at(garden, switch)? - cut_out_pa);
        if needed_pa <= 0.0 {
            return Some(Drive::Off);
        }
        let drive = Drive::Share((needed_pa / rise_pa).sqrt());
        let found_pa = self.driven(booster, drive)?.at(garden, switch)?;
        ((found_pa - cut_out_pa).abs() <= 1e-3 * cut_out_pa).then_some(drive)
    }
}

impl AtRest {
    /// Solves for all of them; none when one has no steady state.
    pub fn of(garden: &Garden) -> Option<AtRest> {
        let mut solving = Solving::of(garden)?;
        let off = solving.plugged.state(|_| Drive::Off).ok()?;
        let dead_head = solving.plugged.state(|_| Drive::Full).ok()?;
        let dead_head_lowest = garden.lowest_static().and_then(|lowest| {
            let lowest = garden.with_main(|usual_pa| usual_pa.min(lowest.si)).ok()?;
            Resting::of(&lowest, Outlets::Plugged).ok()?.state(|_| Drive::Full).ok()
        });
        let relieved = solving.relieved(|_| Drive::Full)?;
        let starters = starters_of(garden);
        let stops: Vec<Stop> = starters
            .iter()
            .filter(|starter| matches!(starter.start, Start::Pressure | Start::Speed))
            .map(|starter| {
                let (switch, booster) = (starter.place, starter.booster);
                let drive = match starter.start {
                    Start::Speed => Some(Drive::Held),
                    _ => solving.drive_at_cut_out(garden, switch, booster, &dead_head),
                };
                Stop { switch, booster, drive }
            })
            .collect();
        let on_relay =
            |booster: usize| starters.iter().any(|starter| starter.booster == booster && starter.start == Start::Zones);
        let stopped = solving.relieved(|booster| match on_relay(booster) {
            true => Drive::Off,
            false => weakest_drive(&stops, booster),
        })?;
        Some(AtRest { off, dead_head, dead_head_lowest, relieved, stopped, stops, solving })
    }

    /// Each switch that stops its booster, with the state in which it reads cut-out, reliefs closed.
    pub fn at_cut_out(&mut self) -> Vec<(usize, RestState)> {
        let AtRest { stops, solving, .. } = self;
        stops.iter().filter_map(|stop| Some((stop.switch, solving.driven(stop.booster, stop.drive?)?))).collect()
    }

    /// The state without one booster, all others at full speed, reliefs do their work.
    pub fn without(&mut self, booster: usize) -> Option<RestState> {
        self.solving.relieved(|other| if other == booster { Drive::Off } else { Drive::Full })
    }
}

/// How a booster pushes in normal use: at full speed, or as far as its switches let it.
fn weakest_drive(stops: &[Stop], booster: usize) -> Drive {
    let share = |drive: Drive| match drive {
        Drive::Off => 0.0,
        Drive::Full | Drive::Held => 1.0,
        Drive::Share(share) => share,
    };
    let drives = stops.iter().filter(|stop| stop.booster == booster).filter_map(|stop| stop.drive);
    drives.fold(Drive::Held, |least, drive| if share(drive) < share(least) { drive } else { least })
}
