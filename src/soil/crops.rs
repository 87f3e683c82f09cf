//! Crops of gardens: coefficients, stages, roots and how far their soil may dry.

/// How the year of a crop goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stages {
    /// Days of the initial, development, middle and late stage, as printed.
    Printed([u32; 4]),
    /// The same from memory.
    Remembered([u32; 4]),
    /// It covers the ground all year, at the coefficient of its middle stage.
    AllYear,
    /// No table gives them.
    Unknown,
}

/// A crop of the tables.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CropRow {
    /// Its name.
    pub name: &'static str,
    /// Crop coefficients of the initial and middle stage and of the end of the late one.
    pub coefficients: [f64; 3],
    /// Source of the coefficients and the height.
    pub coefficients_source: &'static str,
    /// Height at full cover, m.
    pub height_m: Option<f64>,
    /// How its year goes.
    pub stages: Stages,
    /// How deep its roots go, m: the middle of the range.
    pub roots_m: f64,
    /// Share of the reservoir that may be used without stress at 5 mm a day.
    pub share: f64,
    /// Source of roots and share.
    pub roots_source: &'static str,
}

impl CropRow {
    /// Where its stages come from.
    pub fn stages_source(&self) -> &'static str {
        match self.stages {
            Stages::Printed(_) => TABLE_11,
            Stages::Remembered(_) => "from memory, not looked up: FAO Irrigation and Drainage Paper 56 (1998), Table 11",
            Stages::AllYear => "common practice, no source: a cover that stays",
            Stages::Unknown => "none",
        }
    }
}

/// Crops that frost kills. Common practice, no source.
pub(super) const TENDER: [&str; 13] = [
    "tomato",
    "sweet pepper",
    "eggplant",
    "cucumber",
    "zucchini",
    "winter squash",
    "cantaloupe",
    "watermelon",
    "potato",
    "sweet potato",
    "green bean",
    "sweet corn",
    "table grape",
];

const TABLE_11: &str =
    "R. G. Allen and others, FAO Irrigation and Drainage Paper 56 (1998), Table 11, read in an open data package";
const TABLE_12: &str =
    "R. G. Allen and others, FAO Irrigation and Drainage Paper 56 (1998), Table 12, read in open data packages";
const TABLE_22: &str = "R. G. Allen and others, FAO Irrigation and Drainage Paper 56 (1998), Table 22, middle of the range, read in an open data package";
const TABLE_22_MEMORY: &str =
    "from memory, not looked up: FAO Irrigation and Drainage Paper 56 (1998), Table 22, middle of the range";

const fn row(
    name: &'static str,
    coefficients: [f64; 3],
    height_m: Option<f64>,
    stages: Stages,
    (roots_m, share): (f64, f64),
    roots_source: &'static str,
) -> CropRow {
    CropRow { name, coefficients, coefficients_source: TABLE_12, height_m, stages, roots_m, share, roots_source }
}

/// All crops.
pub const CROPS: &[CropRow] = &[
    row("tomato", [0.6, 1.15, 0.8], Some(0.6), Stages::Printed([30, 40, 45, 30]), (1.1, 0.4), TABLE_22),
    row("sweet pepper", [0.6, 1.05, 0.9], Some(0.7), Stages::Remembered([30, 35, 40, 20]), (0.75, 0.3), TABLE_22),
    row("eggplant", [0.6, 1.05, 0.9], Some(0.8), Stages::Printed([30, 40, 40, 20]), (0.95, 0.45), TABLE_22),
    row("cucumber", [0.6, 1.0, 0.75], Some(0.3), Stages::Printed([20, 30, 40, 15]), (0.95, 0.5), TABLE_22),
    row("zucchini", [0.5, 0.95, 0.75], Some(0.3), Stages::Printed([20, 30, 25, 15]), (0.8, 0.5), TABLE_22),
    row("winter squash", [0.5, 1.0, 0.8], Some(0.4), Stages::Printed([25, 35, 35, 25]), (1.25, 0.35), TABLE_22_MEMORY),
    row("cantaloupe", [0.5, 0.85, 0.6], Some(0.3), Stages::Remembered([30, 45, 35, 10]), (1.2, 0.45), TABLE_22),
    row("watermelon", [0.4, 1.0, 0.75], Some(0.4), Stages::Printed([20, 30, 30, 30]), (1.15, 0.4), TABLE_22),
    row("cabbage", [0.7, 1.05, 0.95], Some(0.4), Stages::Printed([20, 30, 20, 10]), (0.65, 0.45), TABLE_22),
    row("broccoli", [0.7, 1.05, 0.95], Some(0.3), Stages::Remembered([35, 45, 40, 15]), (0.5, 0.45), TABLE_22),
    row("cauliflower", [0.7, 1.05, 0.95], Some(0.4), Stages::Remembered([35, 50, 40, 15]), (0.55, 0.45), TABLE_22_MEMORY),
    row("carrot", [0.7, 1.05, 0.95], Some(0.3), Stages::Printed([30, 40, 60, 20]), (0.75, 0.35), TABLE_22),
    row("lettuce", [0.7, 1.0, 0.95], Some(0.3), Stages::Printed([20, 30, 15, 10]), (0.4, 0.3), TABLE_22),
    row("onion", [0.7, 1.05, 0.75], Some(0.4), Stages::Printed([15, 25, 70, 40]), (0.45, 0.3), TABLE_22),
    row("spinach", [0.7, 1.0, 0.95], Some(0.3), Stages::Remembered([20, 20, 25, 5]), (0.4, 0.2), TABLE_22),
    row("radish", [0.7, 0.9, 0.85], Some(0.3), Stages::Printed([5, 10, 15, 5]), (0.4, 0.3), TABLE_22),
    row("garlic", [0.7, 1.0, 0.7], Some(0.3), Stages::Unknown, (0.4, 0.3), TABLE_22_MEMORY),
    row("celery", [0.7, 1.05, 1.0], Some(0.6), Stages::Remembered([25, 40, 45, 15]), (0.4, 0.2), TABLE_22),
    row("table beet", [0.5, 1.05, 0.95], Some(0.4), Stages::Printed([15, 25, 20, 10]), (0.8, 0.5), TABLE_22),
    row("potato", [0.5, 1.15, 0.75], Some(0.6), Stages::Printed([30, 35, 50, 30]), (0.5, 0.35), TABLE_22),
    row("sweet potato", [0.5, 1.15, 0.65], Some(0.4), Stages::Remembered([20, 30, 60, 40]), (1.25, 0.65), TABLE_22),
    row("green bean", [0.5, 1.05, 0.9], Some(0.4), Stages::Printed([20, 30, 30, 10]), (0.6, 0.45), TABLE_22),
    row("fresh pea", [0.5, 1.15, 1.1], Some(0.5), Stages::Printed([15, 25, 35, 15]), (0.8, 0.35), TABLE_22),
    row("sweet corn", [0.3, 1.15, 1.05], Some(1.5), Stages::Printed([20, 25, 25, 10]), (1.0, 0.5), TABLE_22_MEMORY),
    row("strawberry", [0.4, 0.85, 0.75], Some(0.2), Stages::AllYear, (0.25, 0.2), TABLE_22),
    row("asparagus", [0.5, 0.95, 0.3], None, Stages::AllYear, (1.5, 0.45), TABLE_22),
    row("mint", [0.6, 1.15, 1.1], None, Stages::AllYear, (0.6, 0.4), TABLE_22_MEMORY),
    row("berry bushes", [0.3, 1.05, 0.5], Some(1.5), Stages::AllYear, (0.9, 0.5), TABLE_22_MEMORY),
    row("table grape", [0.3, 0.85, 0.45], Some(2.0), Stages::Printed([20, 50, 90, 20]), (1.5, 0.35), TABLE_22_MEMORY),
    row("cool-season turf", [0.9, 0.95, 0.95], Some(0.1), Stages::AllYear, (0.75, 0.4), TABLE_22),
    row("warm-season turf", [0.8, 0.85, 0.85], Some(0.1), Stages::AllYear, (0.75, 0.5), TABLE_22),
];

/// Other names of crops, in singular.
pub(super) const ALSO: &[(&str, &str)] = &[
    ("pepper", "sweet pepper"),
    ("bell pepper", "sweet pepper"),
    ("courgette", "zucchini"),
    ("summer squash", "zucchini"),
    ("squash", "winter squash"),
    ("pumpkin", "winter squash"),
    ("melon", "cantaloupe"),
    ("beet", "table beet"),
    ("beetroot", "table beet"),
    ("bean", "green bean"),
    ("pea", "fresh pea"),
    ("corn", "sweet corn"),
    ("aubergine", "eggplant"),
    ("grape", "table grape"),
    ("berry", "berry bushes"),
    ("blueberry", "berry bushes"),
    ("raspberry", "berry bushes"),
    ("lawn", "cool-season turf"),
    ("grass", "cool-season turf"),
    ("turf", "cool-season turf"),
    ("warm-season lawn", "warm-season turf"),
];
