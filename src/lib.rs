//! hosewright: a notebook-style scripting shell for what-if studies of a garden watered through hoses.
//!
//! The rooms, in the order in which data flows; each knows only the ones above it. The core knows nothing of the script engine, the
//! table library, figures or the shell, and is all there is without the feature `app`.
//!
//! A garden is made of parts that are joined; what it does in a steady state is a solution:
//!
//! ```
//! use hosewright::garden::Garden;
//! use hosewright::hydraulics::run;
//! use hosewright::parts::{Id, Kind, Part};
//! use hosewright::quantity::read_quantity;
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let tap = [
//!     (Id::StaticPressure, read_quantity("58 psi")?),
//!     (Id::MeasuredPressure, read_quantity("44 psi")?),
//!     (Id::MeasuredFlow, read_quantity("6 gpm")?),
//! ];
//! let hose = [(Id::Length, read_quantity("200 ft")?), (Id::Diameter, read_quantity("5/8 in")?)];
//! let garden = Garden::of(Part::build(Kind::Supply, Some("tap"), &tap)?)
//!     .then(&Garden::of(Part::build(Kind::Hose, Some("feed"), &hose)?))?
//!     .then(&Garden::of(Part::build(Kind::Head, Some("berry"), &[(Id::Nozzle, read_quantity("5/32 in")?)])?))?;
//!
//! // All zones that are not named stay closed; this garden has none.
//! let solution = run(&garden, &[])?;
//! let pressure_pa = solution.pressure_pa("berry")?.expect("water reaches the head");
//! assert!((pressure_pa / 6894.757 - 37.29).abs() < 0.005);
//!
//! // What would a hose of twice the length give?
//! let longer = run(&garden.with("feed.length", read_quantity("400 ft")?)?, &[])?;
//! assert!(longer.pressure_pa("berry")? < Some(pressure_pa));
//! # Ok(())
//! # }
//! ```

#![warn(missing_docs)]

pub mod atmosphere;
pub mod clock;
pub mod coverage;
pub mod findings;
pub mod garden;
pub mod hydraulics;
pub mod laws;
pub mod limits;
pub mod lines;
pub mod moment;
pub mod money;
pub mod nearest;
pub mod numeric;
pub mod operation;
pub mod parts;
pub mod quantity;
pub mod season;
pub mod settings;
pub mod soil;
pub mod thread_pool;
pub mod told;
pub mod unit_system;
pub mod visible;
pub mod water;
pub mod water_hammer;
pub mod weather;

#[cfg(feature = "app")]
pub mod cli;
#[cfg(feature = "app")]
pub mod figure;
#[cfg(feature = "app")]
pub mod files;
#[cfg(feature = "app")]
pub mod notebook;
#[cfg(feature = "app")]
pub mod plan;
#[cfg(feature = "app")]
pub mod report;
#[cfg(feature = "app")]
pub mod script;
#[cfg(feature = "app")]
pub mod shell;
#[cfg(feature = "app")]
pub mod signals;
#[cfg(feature = "app")]
pub mod study;
#[cfg(feature = "app")]
pub mod table;

// The gardens of the tests stand once, for those beside the code and those in tests/.
#[cfg(test)]
extern crate self as hosewright;
#[cfg(test)]
#[path = "../tests/support/mod.rs"]
mod support;
