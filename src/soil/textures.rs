//! Soils by their texture. A texture's reservoir is a range, not a number: these are middles, and a ring test or a spade knows better.

/// A soil by its texture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Texture {
    /// Its name.
    pub name: &'static str,
    /// Water at field capacity, share of the volume: the middle of the range.
    pub field_capacity: f64,
    /// Water at the wilting point, share of the volume: the middle of the range.
    pub wilting_point: f64,
    /// Where both come from.
    pub source: &'static str,
    /// Steady intake on bare level ground, mm/h: the low end of the range, which is on the safe side.
    pub intake_mm_per_h: f64,
    /// Saturated conductivity, mm/h; suction at the wetting front, mm; effective porosity. None where the table has none.
    pub green_ampt: Option<[f64; 3]>,
}

/// Source of the conductivities, suctions and porosities.
pub const GREEN_AMPT_SOURCE: &str = "W. J. Rawls, D. L. Brakensiek and N. Miller, Green-Ampt infiltration parameters from soils data, \
     Journal of Hydraulic Engineering 109 (1983): suctions as printed, the rest from memory";
/// Source of the intakes.
pub const INTAKE_SOURCE: &str =
    "from memory, not looked up: FAO irrigation water management training manuals, basic infiltration rates";

const TABLE_19: &str =
    "from memory, not looked up: FAO Irrigation and Drainage Paper 56 (1998), Table 19, near the middle of the range";
const RAWLS: &str = "from memory, not looked up: W. J. Rawls, D. L. Brakensiek and K. E. Saxton, Estimation of soil water properties, \
     Transactions of the ASAE 25 (1982)";
/// Table 19 has neither of them.
const BETWEEN: &str =
    "common practice, no source: between the neighbors of Table 19, with the 1.5 to 2.5 inches a foot of extension tables";
const POTTING: &str = "common practice, no source: peat or bark mix in a pot that has drained";

const fn texture(
    name: &'static str,
    (field_capacity, wilting_point): (f64, f64),
    source: &'static str,
    intake_mm_per_h: f64,
    green_ampt: Option<[f64; 3]>,
) -> Texture {
    Texture { name, field_capacity, wilting_point, source, intake_mm_per_h, green_ampt }
}

/// All textures, from coarse to fine, and potting mix.
pub const TEXTURES: &[Texture] = &[
    texture("sand", (0.12, 0.045), TABLE_19, 30.0, Some([117.8, 49.5, 0.417])),
    texture("loamy sand", (0.15, 0.065), TABLE_19, 25.0, Some([29.9, 61.3, 0.401])),
    texture("sandy loam", (0.23, 0.11), TABLE_19, 20.0, Some([10.9, 110.1, 0.412])),
    texture("loam", (0.25, 0.12), TABLE_19, 10.0, Some([3.4, 88.9, 0.434])),
    texture("silt loam", (0.29, 0.15), TABLE_19, 7.0, Some([6.5, 166.8, 0.486])),
    texture("silt", (0.33, 0.16), TABLE_19, 7.0, None),
    texture("sandy clay loam", (0.28, 0.145), BETWEEN, 5.0, Some([1.5, 218.5, 0.330])),
    texture("clay loam", (0.35, 0.19), BETWEEN, 5.0, Some([1.0, 208.8, 0.309])),
    texture("silt clay loam", (0.335, 0.205), TABLE_19, 4.0, Some([1.0, 273.0, 0.432])),
    texture("sandy clay", (0.339, 0.239), RAWLS, 2.0, Some([0.6, 239.0, 0.321])),
    texture("silty clay", (0.36, 0.23), TABLE_19, 1.0, Some([0.5, 292.2, 0.423])),
    texture("clay", (0.36, 0.22), TABLE_19, 1.0, Some([0.3, 316.3, 0.385])),
    texture("potting mix", (0.50, 0.20), POTTING, 100.0, None),
];

/// Other names of textures.
pub(super) const ALSO: &[(&str, &str)] = &[
    ("silty clay loam", "silt clay loam"),
    ("potting soil", "potting mix"),
    ("compost", "potting mix"),
    ("sandy", "sandy loam"),
    ("loamy", "loam"),
];
