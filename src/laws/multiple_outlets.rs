//! Friction in a line with equal outlets along its length: its loss as a share F of that of the full flow over the full length.
//!
//! For lines whose loss goes with a power m of the flow, such as 1.852 in the Hazen-Williams formula. How many outlets feel a
//! falling pressure is left to the soaker hose in `parts`.

/// Where the first outlet of a line sits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FirstOutlet {
    /// A full spacing behind the start.
    FullSpacing,
    /// Half a spacing behind the start.
    HalfSpacing,
}

/// The exact factor: the sum over the reaches between outlets.
///
/// `outlets` is at least 1, `exponent` above 0. Source: definition, F = sum of (k/N)^m over the reaches, by their lengths.
pub fn exact(outlets: usize, exponent: f64, first: FirstOutlet) -> f64 {
    let n = outlets.max(1) as f64;
    let reaches: f64 = (1..outlets.max(1)).map(|k| (k as f64 / n).powf(exponent)).sum();
    match first {
        FirstOutlet::FullSpacing => (reaches + 1.0) / n,
        FirstOutlet::HalfSpacing => (reaches + 0.5) / (n - 0.5),
    }
}

/// Christiansen's closed form for the first outlet at a full spacing: F = 1/(m+1) + 1/(2N) + sqrt(m-1)/(6 N^2).
///
/// Source: J. E. Christiansen, Univ. California Agr. Exp. Sta. Bull. 670 (1942), from memory.
pub fn christiansen(outlets: usize, exponent: f64) -> f64 {
    let n = outlets.max(1) as f64;
    1.0 / (exponent + 1.0) + 1.0 / (2.0 * n) + (exponent - 1.0).sqrt() / (6.0 * n * n)
}

/// The closed form for the first outlet at half a spacing: F = 2N/(2N-1) (1/(m+1) + sqrt(m-1)/(6 N^2)).
///
/// Source: M. C. Jensen and A. M. Fratini, Agr. Eng. 38 (1957), from memory.
pub fn half_spacing(outlets: usize, exponent: f64) -> f64 {
    let n = outlets.max(1) as f64;
    2.0 * n / (2.0 * n - 1.0) * (1.0 / (exponent + 1.0) + (exponent - 1.0).sqrt() / (6.0 * n * n))
}
