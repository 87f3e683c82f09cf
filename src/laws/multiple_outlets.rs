//! Friction in a line with equal outlets along its length: its loss as a share F of that of the full flow over the full length.
//!
//! For lines whose loss goes with a power m of the flow, such as 1.852 in the Hazen-Williams formula. How many outlets see a
//! falling pressure is left to the soaker hose in `parts`.

/// Where the first outlet of a line sits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FirstOutlet {
    /// A full spacing downstream of the start.
    FullSpacing,
    /// Half a spacing downstream of the start.
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_outlet_feels_the_whole_flow_and_ever_more_a_line_that_gives_evenly() {
        for exponent in [1.75, 1.852, 2.0] {
            assert_eq!(exact(1, exponent, FirstOutlet::FullSpacing), 1.0);
            assert_eq!(exact(1, exponent, FirstOutlet::HalfSpacing), 1.0);
            // The integral of x^m over the line.
            for first in [FirstOutlet::FullSpacing, FirstOutlet::HalfSpacing] {
                assert!((exact(100_000, exponent, first) - 1.0 / (exponent + 1.0)).abs() < 1e-5);
            }
        }
    }

    #[test]
    fn sums_of_squares_are_those_of_the_closed_formula() {
        // m = 2: sum k^2 = N (N+1) (2N+1) / 6, hence F = (N+1) (2N+1) / (6 N^2), which Christiansen's form meets exactly.
        for outlets in [1usize, 2, 5, 17, 200] {
            let n = outlets as f64;
            let closed = (n + 1.0) * (2.0 * n + 1.0) / (6.0 * n * n);
            assert!((exact(outlets, 2.0, FirstOutlet::FullSpacing) - closed).abs() < 1e-12);
            assert!((christiansen(outlets, 2.0) - closed).abs() < 1e-12);
        }
    }

    #[test]
    fn the_closed_forms_keep_to_the_exact_sums_and_fall_with_the_number_of_outlets() {
        for exponent in [1.75, 1.852, 1.9, 2.0] {
            for outlets in 3..60 {
                let full = exact(outlets, exponent, FirstOutlet::FullSpacing);
                let half = exact(outlets, exponent, FirstOutlet::HalfSpacing);
                assert!((christiansen(outlets, exponent) / full - 1.0).abs() < 2e-3, "{outlets} at {exponent}");
                assert!((half_spacing(outlets, exponent) / half - 1.0).abs() < 2e-2, "{outlets} at {exponent}");
                assert!(full < exact(outlets - 1, exponent, FirstOutlet::FullSpacing));
                assert!(half < full, "half a spacing less of the whole flow");
            }
        }
    }
}
