//! Stress of plants by how much of the water within reach of their roots is used.
//!
//! Source: FAO Irrigation and Drainage Paper 56 (1998), equations 82 to 84 and the note to Table 22, from memory.

/// Share of the reservoir that may be used without stress, by what the crop uses on the day, mm; within 0.1 and 0.8.
pub fn adjusted_share(share_at_5_mm: f64, use_mm: f64) -> f64 {
    (share_at_5_mm + 0.04 * (5.0 - use_mm)).clamp(0.1, 0.8)
}

/// How much of what it would like to use a crop uses, 0 to 1, by what is missing from its reservoir.
pub fn stress(reservoir_mm: f64, share: f64, missing_mm: f64) -> f64 {
    if missing_mm <= share * reservoir_mm {
        return 1.0;
    }
    ((reservoir_mm - missing_mm) / ((1.0 - share) * reservoir_mm)).clamp(0.0, 1.0)
}
