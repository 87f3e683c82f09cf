//! What of the rain of a month plants can use, by rules for months: for a look at a climate, where a balance of days needs days.

/// Rain of a month of which plants can use 60 percent, mm; above it a tenth of each further depth counts.
const BEND_MM: f64 = 250.0;

/// The part of the rain of a month that plants can use, mm: P (125 - 0.2 P) / 125 up to 250 mm, then 125 + 0.1 P.
///
/// Source: rule of the FAO for monthly climate files, from memory; it agrees with pairs that such a file gives.
pub fn effective_rain_of_month_mm(rain_mm: f64) -> f64 {
    if rain_mm <= BEND_MM { rain_mm * (125.0 - 0.2 * rain_mm) / 125.0 } else { 125.0 + 0.1 * rain_mm }
}

/// The same by what plants use in the month and by the depth that the soil can store between waterings, mm; never more than either.
///
/// Source: USDA Soil Conservation Service, Technical Release 21 (1970), from memory.
pub fn effective_rain_of_month_scs_mm(rain_mm: f64, use_mm: f64, storage_mm: f64) -> f64 {
    let depth_mm = storage_mm;
    let storage = 0.531_747 + 0.011_621 * depth_mm - 8.943e-5 * depth_mm.powi(2) + 2.321e-7 * depth_mm.powi(3);
    let whole = storage * (1.2525 * rain_mm.powf(0.824_16) - 2.9352) * 10f64.powf(0.000_955_12 * use_mm);
    whole.clamp(0.0, rain_mm.min(use_mm))
}
