//! What is fixed for a set of open valves: how what can flow is connected, the loss of each link, the pattern of the balances.
//!
//! It knows laws, and no state of a solve.

pub mod ends;
pub mod heights;
pub mod known;
pub mod link;
pub mod sparse;
pub mod square;
pub mod structure;
pub mod tree;
