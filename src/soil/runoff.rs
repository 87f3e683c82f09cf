//! Rain that runs off, by curve number: only for ground whose number somebody knows.
//!
//! Source: USDA NRCS, National Engineering Handbook, Part 630, chapter 10, with an initial share of 0.2.

/// Share of the retention that rain fills before any runs off.
const INITIAL_SHARE: f64 = 0.2;

/// Greatest retention of ground with a curve number from above 0 to 100, mm.
pub fn retention_mm(curve_number: f64) -> f64 {
    25_400.0 / curve_number - 254.0
}

/// Rain of a day before any runs off, mm.
pub fn rain_before_runoff_mm(curve_number: f64) -> f64 {
    INITIAL_SHARE * retention_mm(curve_number)
}

/// What runs off of the rain of a day, mm.
pub fn curve_number_runoff_mm(curve_number: f64, rain_mm: f64) -> f64 {
    let beyond_mm = rain_mm - rain_before_runoff_mm(curve_number);
    if beyond_mm <= 0.0 { 0.0 } else { beyond_mm.powi(2) / (beyond_mm + retention_mm(curve_number)) }
}
