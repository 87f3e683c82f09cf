//! The garden over time: pressure switch, tanks and stretching hoses, timers, leaks, faults, pump starts.
//!
//! Between events the network is solved quasi-steadily. With one storage connected its pressure determines what flows: a scalar
//! equation, tabulated once a configuration (`curve`, `growth`) and then read. Several storages, or one that nothing keeps
//! from a source, are part of the network: an implicit method (`attempt`, with its weights in `tableau`) goes by steps whose length follows the error
//! (`steps`) and which end where something happens (`locate`), or takes a way that was gone before (`ways`); each stage of it is a steady solve (`state`). `schedule`
//! says what opens when, `plant` turns a garden into one whose stored water feeds it, `config` chooses the way of a leg,
//! `machine` keeps what was made for a setting, `run` goes from event to event, `log` keeps its `day`s and so what happened; `leak_down` is
//! the fall of the pressure alone, `power` what pumps take by the time of the day.
//!
//! It knows gardens and the steady solve, and nothing of scripts, tables, figures or findings. It leaves out the inertia of
//! water (the water hammer of a valve), air that comes in through dry heads, and the spin-up of pumps.

mod accumulate;
mod allowed;
mod attempt;
mod config;
mod curve;
mod day;
mod error;
mod event;
mod fault;
mod frame;
mod gauge;
mod growth;
mod leak_down;
mod locate;
mod log;
mod machine;
mod plant;
mod power;
mod rest;
mod run;
mod schedule;
mod state;
mod steps;
mod storage;
mod tableau;
mod tank;
#[cfg(test)]
mod tests;
mod tolerances;
mod trace;
mod ways;

pub use crate::laws::vessel::{ATMOSPHERE_PA, Vessel};
pub use crate::parts::FaultKind;
pub use accumulate::PumpRun;
pub use allowed::Breach;
pub use day::Cycle;
pub use error::OperationError;
pub use event::{Event, EventKind};
pub use fault::Fault;
pub use leak_down::{Descent, LeakDown, leak_down};
pub use log::{CutShort, Log, Totals};
pub use power::{Power, PowerOfDays};
pub use run::{Options, operate, operate_with};
pub use schedule::{
    Allowed, CalendarDays, HandOpening, Hours, Interval, Overlap, Schedule, Timer, clock, clock_time_s, day_and_clock,
    time_in_words,
};
pub use storage::Storage;
pub use tank::{PRECHARGE_BELOW_CUT_IN_PA, Tank, TankNeeds, tank_for};
pub use trace::Moment;
