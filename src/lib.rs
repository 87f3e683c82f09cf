//! hosewright: a notebook-style scripting shell for what-if studies of a garden watered through hoses.
//!
//! The rooms, in the order in which data flows; each knows only the ones above it. The core knows nothing of the script engine, the
//! table library, figures or the shell, and is all there is without the feature `app`.

pub mod atmosphere;
pub mod coverage;
pub mod findings;
pub mod garden;
pub mod hydraulics;
pub mod knock;
pub mod laws;
pub mod limits;
pub mod lines;
pub mod nearest;
pub mod numeric;
pub mod operation;
pub mod parts;
pub mod quantity;
pub mod settings;
pub mod told;
pub mod visible;
pub mod water;

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
pub mod script;
#[cfg(feature = "app")]
pub mod shell;
#[cfg(feature = "app")]
pub mod signals;
#[cfg(feature = "app")]
pub mod study;
#[cfg(feature = "app")]
pub mod table;
