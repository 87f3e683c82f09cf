//! General numerics: plain numbers in, plain numbers out; it knows nothing of water, parts or gardens.
//!
//! - `refined`: a curve that is dear to evaluate, looked up between points
//! - `roots`: the root of a function inside a bracket

mod refined;
mod roots;

pub use refined::{Point, RefinedCurve};
pub use roots::{SeekError, Sought, seek};
