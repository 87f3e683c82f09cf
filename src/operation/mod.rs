//! The garden over time: pressure switch, tanks and stretching hoses, timers, leaks, faults, pump starts.
//!
//! Between events the network is solved quasi-steadily: each stored volume sets the pressure at its place, the steady solve
//! gives what flows into and out of it. With one storage connected this is a scalar equation, tabulated once a
//! configuration (`curve`) and then read; with several it is an implicit method with events (`radau`). `programme` says
//! what opens when, `plant` turns a garden into one whose stored water feeds it, `run` goes from event to event, `log`
//! keeps what happened; `leak_down` is the fall of the pressure alone.
//!
//! It knows gardens and the steady solve, and nothing of scripts, tables, figures or findings. It leaves out the inertia of
//! water (the knock of a valve), air that comes in through dry heads, and the spin-up of pumps.

mod accumulate;
mod chebyshev;
mod config;
mod curve;
mod error;
mod event;
mod fault;
mod gauge;
mod growth;
mod leak_down;
mod log;
mod machine;
mod plant;
mod programme;
mod radau;
mod rest;
mod run;
mod storage;
mod tank;
mod trace;

pub use accumulate::PumpRun;
pub use error::OperationError;
pub use event::{Event, EventKind};
pub use fault::{Fault, FaultKind};
pub use leak_down::{Descent, LeakDown, leak_down};
pub use log::{Log, Totals};
pub use programme::{DrawTime, Interval, Overlap, Programme, Timer, clock_time_s, day_and_clock, days_and_clocks, time_in_words};
pub use run::{Options, operate, operate_with};
pub use storage::{ATMOSPHERE_PA, Storage, Vessel};
pub use tank::{Tank, TankNeeds, tank_for};
pub use trace::Moment;
