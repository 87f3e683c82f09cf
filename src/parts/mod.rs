//! Parts: what a garden is made of. One file a part says what it is, which parameters it has, what is nonsense, and its law.
//!
//! A part knows its own parameters and law, not its neighbors: joining parts is the work of `garden`, solving that of
//! `hydraulics`. Every parameter is SI inside and can be read and set by name, so that scripts, `with` and sweeps share one way.

mod booster;
mod catalog;
mod curve;
mod devices;
mod error;
mod faults;
mod flow_table;
mod hose;
mod id;
mod inline;
mod kind;
mod law;
mod law_of;
mod outlets;
mod parameter;
mod part;
mod preventers;
mod rows;
mod soaker;
mod source;
mod start;
mod storage;
#[cfg(test)]
mod tests;
mod throw;
mod traits;

pub use booster::{Running, USUAL_NPSH_M};
pub use curve::{Curve, CurveError};
pub use error::{Contradiction, PartError};
pub use faults::FaultKind;
pub use flow_table::{FlowTable, TableError};
pub use id::Id;
pub use kind::Kind;
pub use law::{Curved, Law, Outflow, Terms};
pub use outlets::RELIEF_FLOW_M3_PER_S;
pub use parameter::{Parameter, Parameters, Rule};
pub use part::{Around, LawOf, Part, Spec};
pub(crate) use rows::{Beside, LawRows, Rows};
pub use source::LEAST_TAP_PA;
pub use throw::{Layer, RadialProfile, ThrowError, ThrowTable};
pub use traits::{Backward, Guard, Placing, Soil, Start, SymbolShape, Traits};
