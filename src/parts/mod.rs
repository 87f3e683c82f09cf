//! Parts: what a garden is made of. One file a part says what it is, which numbers it has, what is nonsense, and its law.
//!
//! A part knows its own numbers and law, not its neighbours: joining parts is the work of `garden`, solving that of
//! `hydraulics`. Every number is SI inside and can be read and set by name, so that scripts, `but` and sweeps share one way.

mod booster;
mod error;
mod flow_table;
mod hose;
mod id;
mod inline;
mod kind;
mod law;
mod number;
mod outlets;
mod part;
mod soaker;
mod source;
mod storage;

pub use booster::{Curve, CurveError, USUAL_NPSH_M};
pub use error::PartError;
pub use flow_table::{FlowTable, TableError};
pub use id::Id;
pub use kind::{Around, Backward, Kind, Placing, Soil, Spec, Traits};
pub use law::{Curved, Law, Outflow, Terms};
pub use number::{Number, Rule};
pub use part::Part;
pub use source::LEAST_TAP_PA;
