//! Several cases of one garden solved side by side, in the lanes of vector registers.
//!
//! A sweep asks for many cases of one structure. Their steps of Newton's method are the same instructions on other numbers, so that registers of
//! four or eight numbers do them at the price of one. It is for gardens whose links hold pipes, fittings, valves, one-way parts, changes of elevation, sources,
//! outlets, regulators and boosters without drives; others, and the few cases that do not arrive here, are solved one by one.
//!
//! The answers are the same bits on every processor, with any kind of register, on any number of threads and in any part of a study:
//!
//! - only sums, products, quotients, roots and comparisons, which IEEE 754 rounds alike everywhere, and a logarithm and its inverse made of them;
//! - cases are solved in chains, each case from its neighbor in the chain, and how many chains lie side by side changes nothing: a lane that
//!   has arrived stands still until all have;
//! - a case that does not arrive is begun afresh by the methods for one case, which owe nothing to any other.
//!
//! In this order, each knowing those above it:
//!
//! - `bends`: terms of laws that are neither straight nor squares nor pipes
//! - `model`: what is fixed for a network: links, the places of all numbers, where to begin
//! - `readings`: what is read from the state of a case
//! - `changes`: which numbers of laws change with the cases
//! - `renewal`: from the values of cases to those numbers
//! - `course`: where the flows of a chain are heading
//! - `state`: the steps of some chains side by side
//! - `read`: what is read from those
//! - `starting`: boosters that switches start
//! - `block`: the chains of a block of cases, one after another

mod bends;
mod block;
mod changes;
mod course;
mod model;
mod read;
mod readings;
mod renewal;
mod starting;
mod state;

pub use block::{Cases, Lanes};
pub use renewal::Given;
