//! General numerics: plain numbers in, plain numbers out; it knows nothing of water, parts or gardens.
//!
//! - `roots`: the root of a function inside a bracket

mod roots;

pub use roots::{SeekError, Sought, seek};
