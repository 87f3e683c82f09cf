//! General numerics: plain numbers in, plain numbers out; it knows nothing of water, parts or gardens.
//!
//! - `refined`: a curve that is dear to evaluate, looked up between points
//! - `chebyshev`: smooth functions as series
//! - `roots`: the root of a function inside a bracket
//! - `minimum`: the bottom of a valley
//! - `quadrature`: integrals
//! - `quantile`: quantiles of ordered values, the lowest and highest of others
//! - `lanes`: several numbers side by side in the registers of the processor
//! - `ln`: the natural logarithm and powers with the same bits everywhere
//! - `dense`, `symmetric`: small systems of equations and eigenvalues

pub mod chebyshev;
mod dense;
pub mod lanes;
mod ln;
mod minimum;
mod quadrature;
mod quantile;
mod refined;
mod roots;
mod symmetric;

pub use dense::solve_positive;
pub use ln::{exps, ln, lns, power};
pub use minimum::bottom;
pub use quadrature::{gauss_between, simpson};
pub use quantile::{lowest_and_highest, quantile};
pub use refined::{Point, RefinedCurve};
pub use roots::{End, SeekError, Sought, Tolerance, narrow, rising_root, seek, zero};
pub use symmetric::eigen;
