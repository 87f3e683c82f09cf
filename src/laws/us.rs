//! US units in SI, for the laws that are defined in them (NIST SP 811, appendix B; exact).
//!
//! Reading and showing of units is the business of `quantity/`.

pub(super) const FOOT_M: f64 = 0.3048;
pub(super) const INCH_M: f64 = 0.0254;
pub(super) const GPM_M3_PER_S: f64 = 231.0 * INCH_M * INCH_M * INCH_M / 60.0;
pub(super) const PSI_PA: f64 = 0.453_592_37 * 9.80665 / (INCH_M * INCH_M);
