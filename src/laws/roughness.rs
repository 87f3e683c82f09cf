//! Roughness of pipe materials, and their coefficient in the Hazen-Williams formula.
//!
//! New and clean; age, lime and iron deposits raise the roughness many times over.

/// Roughness of a hose or pipe by default, m: drawn tubing and smooth plastic (see the table for the source).
pub const DEFAULT_ROUGHNESS_M: f64 = 1.5e-6;

/// A pipe material.
///
/// Roughness: B. R. Munson, D. F. Young and T. H. Okiishi, Fundamentals of Fluid Mechanics, 4th edition (2002), Table 8.1,
/// equivalent roughness for new pipes; table and edition from memory. Hazen-Williams C: common practice, no source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Material {
    /// The name for it, as scripts write it.
    pub name: &'static str,
    /// Absolute roughness, m.
    pub roughness_m: Option<f64>,
    /// Lowest and highest Hazen-Williams C printed.
    pub hazen_williams_c: Option<(f64, f64)>,
}

impl Material {
    /// The middle of the printed range of C.
    pub fn middle_c(&self) -> Option<f64> {
        self.hazen_williams_c.map(|(low, high)| 0.5 * (low + high))
    }
}

/// The material of that name.
pub fn find_material(name: &str) -> Option<&'static Material> {
    MATERIALS.iter().find(|material| material.name == name.trim())
}

/// All materials. "Smooth" in the table means that the roughness is too small to measure: zero.
pub const MATERIALS: &[Material] = &[
    Material { name: "plastic", roughness_m: Some(0.0), hazen_williams_c: Some((140.0, 150.0)) },
    Material { name: "copper", roughness_m: Some(1.5e-6), hazen_williams_c: Some((130.0, 140.0)) },
    Material { name: "steel", roughness_m: Some(45e-6), hazen_williams_c: None },
    Material { name: "galvanized", roughness_m: Some(0.15e-3), hazen_williams_c: Some((120.0, 120.0)) },
    Material { name: "cast_iron", roughness_m: None, hazen_williams_c: Some((130.0, 130.0)) },
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rougher_material_never_has_a_higher_c() {
        let mut known: Vec<(f64, f64)> = MATERIALS.iter().filter_map(|m| Some((m.roughness_m?, m.middle_c()?))).collect();
        known.sort_by(|a, b| a.0.total_cmp(&b.0));
        assert!(known.len() >= 3 && known.windows(2).all(|pair| pair[1].1 <= pair[0].1), "{known:?}");
    }

    #[test]
    fn materials_are_found_by_name() {
        assert_eq!(find_material(" copper ").and_then(|m| m.roughness_m), Some(DEFAULT_ROUGHNESS_M));
        assert_eq!(find_material("gold"), None);
    }
}
