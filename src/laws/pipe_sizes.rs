//! Pipes by their trade names: outside diameter, wall, pressure rating and its fall with temperature.
//!
//! Walls are the least that the standard allows, as in the friction tables of the trade; the mean wall of thermoplastic pipe is up to
//! 0.25 mm (0.010 in) thicker. Rows of PVC by inch are held against a reference library in `tests/checks/pipe_sizes.csv`.

use super::roughness::DEFAULT_ROUGHNESS_M;
use crate::nearest::did_you_mean;
use crate::quantity::{INCH_M, PSI_PA};
use crate::told::Told;
use thiserror::Error;

const MM_M: f64 = 1e-3;
const BAR_PA: f64 = 1e5;
/// Two names of a size are one when they differ by less, relative: 1.25 in and 1-1/4 in.
const SAME_SIZE: f64 = 1e-6;

/// The highest pressure at which a pipe may be used, at the temperature for which the standard gives it.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Rating {
    /// One for the whole series, Pa.
    All(f64),
    /// One for each size, in psi.
    Each(&'static [f64]),
}

/// Pipes made to one table of one standard.
#[derive(Debug)]
pub struct PipeSeries {
    /// The name after the size, as in `3/4 in sch 40`.
    pub name: &'static str,
    /// What else it is called.
    also: &'static [&'static str],
    /// What it is, for a column of a table.
    pub detail: &'static str,
    /// Where its dimensions come from.
    pub source: &'static str,
    /// Roughness of its wall, m.
    pub roughness_m: f64,
    /// The unit of its sizes.
    pub unit: LengthUnit,
    /// Nominal size, outside diameter and least wall, in the unit of the series.
    sizes: &'static [(f64, f64, f64)],
    rating: Rating,
    /// Temperature, degC, and the share of the rating that is left; straight between, nothing above the last.
    derating: &'static [(f64, f64)],
}

/// The unit in which a series names its sizes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LengthUnit {
    /// Inches, as fractions.
    Inch,
    /// Millimeters.
    Millimeter,
}

/// A pipe as the trade names it.
#[derive(Clone, Copy, Debug)]
pub struct PipeSize {
    /// The table it stands in.
    pub series: &'static PipeSeries,
    row: usize,
}

/// Why there is no pipe of a name.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum PipeSizeError {
    /// The name does not begin with a size.
    #[error("'{name}' does not begin with a size in inches or mm")]
    NoSize {
        /// What was asked for.
        name: String,
    },
    /// Nothing follows the size.
    #[error("'{name}' names no type of pipe, and the inside diameter of a size differs from type to type")]
    NoSeries {
        /// What was asked for.
        name: String,
    },
    /// The type of pipe is not known.
    #[error("there is no type of pipe '{series}'")]
    UnknownSeries {
        /// The type that was given.
        series: String,
    },
    /// The type of pipe is not made in that size.
    #[error("{series} pipe is not listed in {size}")]
    NotMade {
        /// The type of pipe.
        series: &'static str,
        /// The size, with its unit.
        size: String,
    },
    /// Warmer than the pipe may be under pressure.
    #[error("{pipe} has no pressure rating at {celsius} degC ({} degF)", (celsius * 9.0 / 5.0 + 32.0).round())]
    TooWarm {
        /// The pipe.
        pipe: String,
        /// Temperature of its wall, degC.
        celsius: f64,
        /// The highest temperature of its ratings, degC.
        highest: f64,
    },
}

impl Told for PipeSizeError {
    fn hint(&self) -> Option<String> {
        let examples = "write it as in \"3/4 in sch 40\", \"1 in PE 100 psi\" or \"25 mm PE SDR 11\"; pipe_sizes() lists all";
        Some(match self {
            PipeSizeError::NoSize { .. } | PipeSizeError::NoSeries { .. } => examples.into(),
            PipeSizeError::UnknownSeries { series } => did_you_mean(series, SERIES.iter().flat_map(PipeSeries::names))
                .unwrap_or_else(|| format!("the types are {}", SERIES.iter().map(|s| s.name).collect::<Vec<_>>().join(", "))),
            PipeSizeError::NotMade { series, .. } => {
                let sizes = SERIES.iter().filter(|found| found.name == *series).flat_map(PipeSeries::sizes);
                format!("it is listed in {}", sizes.map(|size| size.nominal()).collect::<Vec<_>>().join(", "))
            }
            PipeSizeError::TooWarm { highest, .. } => {
                format!(
                    "its ratings end at {highest:.0} degC ({} degF); keep it cooler, or take another pipe",
                    (highest * 9.0 / 5.0 + 32.0).round()
                )
            }
        })
    }
}

impl PipeSeries {
    fn names(&self) -> impl Iterator<Item = &'static str> {
        std::iter::once(self.name).chain(self.also.iter().copied())
    }

    /// All its sizes, the smallest first.
    pub fn sizes(&'static self) -> impl Iterator<Item = PipeSize> {
        (0..self.sizes.len()).map(move |row| PipeSize { series: self, row })
    }

    fn length_m(&self, value: f64) -> f64 {
        value * if self.unit == LengthUnit::Inch { INCH_M } else { MM_M }
    }
}

impl PipeSize {
    /// The nominal size with its unit, as in `1-1/4 in`.
    pub fn nominal(&self) -> String {
        let size = self.series.sizes[self.row].0;
        match self.series.unit {
            LengthUnit::Millimeter => format!("{size} mm"),
            LengthUnit::Inch => {
                let (whole, eighths) = (size.trunc(), (8.0 * size.fract()).round() as u32);
                let shift = eighths.trailing_zeros().min(3);
                match (whole, eighths) {
                    (_, 0) => format!("{whole} in"),
                    (0.0, _) => format!("{}/{} in", eighths >> shift, 8 >> shift),
                    _ => format!("{whole}-{}/{} in", eighths >> shift, 8 >> shift),
                }
            }
        }
    }

    /// The whole name, by which [`find_pipe_size`] finds it.
    pub fn name(&self) -> String {
        format!("{} {}", self.nominal(), self.series.name)
    }

    /// Outside diameter, m.
    pub fn outside_m(&self) -> f64 {
        self.series.length_m(self.series.sizes[self.row].1)
    }

    /// The least thickness of the wall, m.
    pub fn wall_m(&self) -> f64 {
        self.series.length_m(self.series.sizes[self.row].2)
    }

    /// Inside diameter at the least wall, m.
    pub fn inside_m(&self) -> f64 {
        let (_, outside, wall) = self.series.sizes[self.row];
        self.series.length_m(outside - 2.0 * wall)
    }

    /// Pressure rating at the temperature of the standard, Pa.
    pub fn rating_pa(&self) -> f64 {
        match self.series.rating {
            Rating::All(pa) => pa,
            Rating::Each(psi) => psi[self.row] * PSI_PA,
        }
    }

    /// Pressure rating when the wall is this warm, Pa. Errors: warmer than the ratings of the pipe reach.
    pub fn rating_at_pa(&self, celsius: f64) -> Result<f64, PipeSizeError> {
        let points = self.series.derating;
        let share = match points.iter().position(|&(at, _)| celsius <= at) {
            Some(0) => points[0].1,
            Some(next) => {
                let ((low, before), (high, after)) = (points[next - 1], points[next]);
                before + (after - before) * (celsius - low) / (high - low)
            }
            None => {
                let highest = points.last().map_or(0.0, |point| point.0);
                return Err(PipeSizeError::TooWarm { pipe: self.name(), celsius, highest });
            }
        };
        Ok(share * self.rating_pa())
    }
}

/// The pipe of a trade name: a size, its unit and the type of pipe, as in `3/4 in sch 40` or `25 mm PE SDR 11`. Case, spaces and the
/// words "pipe", "tube", "tubing" and "type" do not matter.
///
/// Errors: no size, no type of pipe, one that is not listed, or not in that size.
pub fn find_pipe_size(name: &str) -> Result<PipeSize, PipeSizeError> {
    let no_size = || PipeSizeError::NoSize { name: name.into() };
    let lower = name.trim().to_lowercase();
    let digits = lower.find(|c: char| c.is_alphabetic() || c == '"').ok_or_else(no_size)?;
    let (number, rest) = lower.split_at(digits);
    let size = read_size(number).ok_or_else(no_size)?;
    let units = [
        ("inches", LengthUnit::Inch),
        ("inch", LengthUnit::Inch),
        ("in", LengthUnit::Inch),
        ("\"", LengthUnit::Inch),
        ("mm", LengthUnit::Millimeter),
    ];
    let found = units.iter().find_map(|(word, unit)| Some((*unit, rest.strip_prefix(word)?)));
    let (unit, series) = found.ok_or_else(no_size)?;
    if plain(series).is_empty() {
        return Err(PipeSizeError::NoSeries { name: name.trim().into() });
    }
    let found = find_series(series)?;
    let same = |other: f64| (other - size).abs() <= SAME_SIZE * size;
    let row = found.sizes.iter().position(|row| found.unit == unit && same(row.0));
    row.map(|row| PipeSize { series: found, row }).ok_or_else(|| PipeSizeError::NotMade {
        series: found.name,
        size: format!("{} {}", number.trim(), if unit == LengthUnit::Inch { "in" } else { "mm" }),
    })
}

/// The type of pipe of a name, as in `class 200`. Errors: none is called so.
pub fn find_series(name: &str) -> Result<&'static PipeSeries, PipeSizeError> {
    let wanted = plain(name);
    let found = SERIES.iter().find(|series| series.names().any(|name| plain(name) == wanted));
    found.ok_or_else(|| PipeSizeError::UnknownSeries { series: name.trim().into() })
}

/// What decides between types of pipe in a name.
fn plain(series: &str) -> String {
    let lower = series.to_lowercase().replace("schedule", "sch").replace("cl.", "class").replace("poly", "pe");
    let words = lower.split(|c: char| c.is_whitespace() || c == '-' || c == ',');
    words.filter(|word| !["pipe", "tube", "tubing", "type"].contains(word)).collect()
}

/// A size as the trade writes it: `3/4`, `1-1/4`, `1 1/4`, `1.25`.
fn read_size(text: &str) -> Option<f64> {
    let mut sum = 0.0;
    for piece in text.split([' ', '-']).filter(|piece| !piece.is_empty()) {
        sum += match piece.split_once('/') {
            Some((above, below)) => above.parse::<f64>().ok()? / below.parse::<f64>().ok().filter(|&below| below > 0.0)?,
            None => piece.parse::<f64>().ok()?,
        };
    }
    (sum > 0.0 && f64::is_finite(sum)).then_some(sum)
}

/// The listed pipe whose name gives just this diameter, m, as its size though it is wider or narrower inside: the pipe that was
/// perhaps meant by an inside diameter. The most usual type first.
pub fn named_by(diameter_m: f64) -> Option<PipeSize> {
    let usual = SERIES.iter().filter(|series| [SCH_40, PE_SDR_11_MM].contains(&series.name));
    usual.flat_map(PipeSeries::sizes).find(|size| {
        let nominal_m = size.series.length_m(size.series.sizes[size.row].0);
        (nominal_m - diameter_m).abs() <= SAME_SIZE * nominal_m
    })
}

const SCH_40: &str = "sch 40";
const PE_SDR_11_MM: &str = "PE SDR 11";

/// degF in degC.
const fn fahrenheit(degrees: f64) -> f64 {
    (degrees - 32.0) / 1.8
}

/// PVC falls by these shares. From memory, not looked up: temperature factors printed by makers of PVC 1120 pipe.
const PVC_DERATING: &[(f64, f64)] = &[
    (fahrenheit(73.0), 1.0),
    (fahrenheit(80.0), 0.88),
    (fahrenheit(90.0), 0.75),
    (fahrenheit(100.0), 0.62),
    (fahrenheit(110.0), 0.50),
    (fahrenheit(120.0), 0.40),
    (fahrenheit(130.0), 0.30),
    (fahrenheit(140.0), 0.22),
];
/// From memory, not looked up: ISO 4427-1, annex on pressure reduction coefficients for PE 100.
const PE_DERATING: &[(f64, f64)] = &[(20.0, 1.0), (30.0, 0.87), (40.0, 0.74)];
/// From memory, not looked up: ASTM F876, 160 psi at 73 degF, 100 psi at 180 degF.
const PEX_DERATING: &[(f64, f64)] = &[(fahrenheit(73.0), 1.0), (fahrenheit(180.0), 0.625)];
/// From memory, not looked up: ISO 1452-2, derating factors of PVC-U up to 45 degC.
const PVC_U_DERATING: &[(f64, f64)] = &[(25.0, 1.0), (45.0, 0.63)];
/// From memory, not looked up: ratings of annealed tube in ASTM B88 handbooks hold to 100 degF and lose a sixth by 150 degF.
const COPPER_DERATING: &[(f64, f64)] = &[(fahrenheit(100.0), 1.0), (fahrenheit(150.0), 0.85)];

const IPS: &str = "ASTM D1785 as tabulated by fluids 1.3.1 (ratings from memory)";
const CLASS: &str = "ASTM D2241 as tabulated by fluids 1.3.1 (ratings from memory)";
const PE_INSIDE: &str = "from memory, not looked up: ASTM D2239, sizes by inside diameter";
const COPPER: &str = "from memory, not looked up: ASTM B88 (ratings of annealed tube)";
const PE_METRIC: &str = "from memory, not looked up: ISO 4427-2, PE 100";
const PVC_METRIC: &str = "from memory, not looked up: ISO 1452-2, PVC-U";
/// The drawn wall of copper and of new plastic pipe.
const SMOOTH_M: f64 = DEFAULT_ROUGHNESS_M;

/// Schedule 40, of PVC and of steel.
const SCHEDULE_40: &[(f64, f64, f64)] = &[
    (0.5, 0.840, 0.109),
    (0.75, 1.050, 0.113),
    (1.0, 1.315, 0.133),
    (1.25, 1.660, 0.140),
    (1.5, 1.900, 0.145),
    (2.0, 2.375, 0.154),
    (2.5, 2.875, 0.203),
    (3.0, 3.500, 0.216),
    (4.0, 4.500, 0.237),
];

/// All types of pipe, those of the trade in inches first.
pub static SERIES: &[PipeSeries] = &[
    PipeSeries {
        name: SCH_40,
        also: &["PVC sch 40", "sch 40 PVC", "40"],
        detail: "PVC 1120, schedule 40",
        source: IPS,
        roughness_m: SMOOTH_M,
        unit: LengthUnit::Inch,
        sizes: SCHEDULE_40,
        rating: Rating::Each(&[600.0, 480.0, 450.0, 370.0, 330.0, 280.0, 300.0, 260.0, 220.0]),
        derating: PVC_DERATING,
    },
    PipeSeries {
        name: "sch 80",
        also: &["PVC sch 80", "sch 80 PVC", "80"],
        detail: "PVC 1120, schedule 80",
        source: IPS,
        roughness_m: SMOOTH_M,
        unit: LengthUnit::Inch,
        sizes: &[
            (0.5, 0.840, 0.147),
            (0.75, 1.050, 0.154),
            (1.0, 1.315, 0.179),
            (1.25, 1.660, 0.191),
            (1.5, 1.900, 0.200),
            (2.0, 2.375, 0.218),
            (2.5, 2.875, 0.276),
            (3.0, 3.500, 0.300),
            (4.0, 4.500, 0.337),
        ],
        rating: Rating::Each(&[850.0, 690.0, 630.0, 520.0, 470.0, 400.0, 420.0, 370.0, 320.0]),
        derating: PVC_DERATING,
    },
    PipeSeries {
        name: "class 315",
        also: &["PVC class 315", "class 315 PVC", "PVC SDR 13.5"],
        detail: "PVC 1120, SDR 13.5",
        source: CLASS,
        roughness_m: SMOOTH_M,
        unit: LengthUnit::Inch,
        sizes: &[
            (0.5, 0.840, 0.062),
            (0.75, 1.050, 0.078),
            (1.0, 1.315, 0.097),
            (1.25, 1.660, 0.123),
            (1.5, 1.900, 0.141),
            (2.0, 2.375, 0.176),
            (2.5, 2.875, 0.213),
            (3.0, 3.500, 0.259),
            (4.0, 4.500, 0.333),
        ],
        rating: Rating::All(315.0 * PSI_PA),
        derating: PVC_DERATING,
    },
    PipeSeries {
        name: "class 200",
        also: &["PVC class 200", "class 200 PVC", "PVC SDR 21"],
        detail: "PVC 1120, SDR 21",
        source: CLASS,
        roughness_m: SMOOTH_M,
        unit: LengthUnit::Inch,
        sizes: &[
            (0.75, 1.050, 0.060),
            (1.0, 1.315, 0.063),
            (1.25, 1.660, 0.079),
            (1.5, 1.900, 0.090),
            (2.0, 2.375, 0.113),
            (2.5, 2.875, 0.137),
            (3.0, 3.500, 0.167),
            (4.0, 4.500, 0.214),
        ],
        rating: Rating::All(200.0 * PSI_PA),
        derating: PVC_DERATING,
    },
    PipeSeries {
        name: "class 160",
        also: &["PVC class 160", "class 160 PVC", "PVC SDR 26"],
        detail: "PVC 1120, SDR 26",
        source: CLASS,
        roughness_m: SMOOTH_M,
        unit: LengthUnit::Inch,
        sizes: &[
            (1.0, 1.315, 0.060),
            (1.25, 1.660, 0.064),
            (1.5, 1.900, 0.073),
            (2.0, 2.375, 0.091),
            (2.5, 2.875, 0.110),
            (3.0, 3.500, 0.135),
            (4.0, 4.500, 0.173),
        ],
        rating: Rating::All(160.0 * PSI_PA),
        derating: PVC_DERATING,
    },
    PipeSeries {
        name: "PE 100 psi",
        also: &["PE SIDR 15", "PE SDR 15", "PE"],
        detail: "polyethylene for insert fittings, SIDR 15",
        source: PE_INSIDE,
        roughness_m: SMOOTH_M,
        unit: LengthUnit::Inch,
        sizes: &[
            (0.5, 0.742, 0.060),
            (0.75, 0.944, 0.060),
            (1.0, 1.189, 0.070),
            (1.25, 1.564, 0.092),
            (1.5, 1.824, 0.107),
            (2.0, 2.343, 0.138),
        ],
        rating: Rating::All(100.0 * PSI_PA),
        derating: PE_DERATING,
    },
    PipeSeries {
        name: "PE 160 psi",
        also: &["PE SIDR 9"],
        detail: "polyethylene for insert fittings, SIDR 9",
        source: PE_INSIDE,
        roughness_m: SMOOTH_M,
        unit: LengthUnit::Inch,
        sizes: &[
            (0.5, 0.760, 0.069),
            (0.75, 1.008, 0.092),
            (1.0, 1.283, 0.117),
            (1.25, 1.686, 0.153),
            (1.5, 1.968, 0.179),
            (2.0, 2.527, 0.230),
        ],
        rating: Rating::All(160.0 * PSI_PA),
        derating: PE_DERATING,
    },
    PipeSeries {
        name: "PEX",
        also: &["PEX SDR 9"],
        detail: "cross-linked polyethylene, SDR 9, by copper tube size",
        source: "from memory, not looked up: ASTM F876",
        roughness_m: SMOOTH_M,
        unit: LengthUnit::Inch,
        sizes: &[
            (0.375, 0.500, 0.070),
            (0.5, 0.625, 0.070),
            (0.75, 0.875, 0.097),
            (1.0, 1.125, 0.125),
            (1.25, 1.375, 0.153),
            (1.5, 1.625, 0.181),
            (2.0, 2.125, 0.236),
        ],
        rating: Rating::All(160.0 * PSI_PA),
        derating: PEX_DERATING,
    },
    PipeSeries {
        name: "copper K",
        also: &["K copper"],
        detail: "copper water tube, type K",
        source: COPPER,
        roughness_m: SMOOTH_M,
        unit: LengthUnit::Inch,
        sizes: &[
            (0.5, 0.625, 0.049),
            (0.75, 0.875, 0.065),
            (1.0, 1.125, 0.065),
            (1.25, 1.375, 0.065),
            (1.5, 1.625, 0.072),
            (2.0, 2.125, 0.083),
        ],
        rating: Rating::Each(&[891.0, 852.0, 655.0, 532.0, 494.0, 435.0]),
        derating: COPPER_DERATING,
    },
    PipeSeries {
        name: "copper L",
        also: &["L copper", "copper"],
        detail: "copper water tube, type L",
        source: COPPER,
        roughness_m: SMOOTH_M,
        unit: LengthUnit::Inch,
        sizes: &[
            (0.5, 0.625, 0.040),
            (0.75, 0.875, 0.045),
            (1.0, 1.125, 0.050),
            (1.25, 1.375, 0.055),
            (1.5, 1.625, 0.060),
            (2.0, 2.125, 0.070),
        ],
        rating: Rating::Each(&[722.0, 582.0, 494.0, 439.0, 408.0, 364.0]),
        derating: COPPER_DERATING,
    },
    PipeSeries {
        name: "copper M",
        also: &["M copper"],
        detail: "copper water tube, type M",
        source: COPPER,
        roughness_m: SMOOTH_M,
        unit: LengthUnit::Inch,
        sizes: &[
            (0.5, 0.625, 0.028),
            (0.75, 0.875, 0.032),
            (1.0, 1.125, 0.035),
            (1.25, 1.375, 0.042),
            (1.5, 1.625, 0.049),
            (2.0, 2.125, 0.058),
        ],
        rating: Rating::Each(&[494.0, 407.0, 337.0, 338.0, 331.0, 299.0]),
        derating: COPPER_DERATING,
    },
    PipeSeries {
        name: PE_SDR_11_MM,
        also: &["PE 100 SDR 11", "PE PN 16", "PE 100 PN 16"],
        detail: "polyethylene PE 100 by outside diameter, SDR 11",
        source: PE_METRIC,
        roughness_m: SMOOTH_M,
        unit: LengthUnit::Millimeter,
        sizes: &[
            (20.0, 20.0, 2.0),
            (25.0, 25.0, 2.3),
            (32.0, 32.0, 3.0),
            (40.0, 40.0, 3.7),
            (50.0, 50.0, 4.6),
            (63.0, 63.0, 5.8),
            (75.0, 75.0, 6.8),
            (90.0, 90.0, 8.2),
            (110.0, 110.0, 10.0),
        ],
        rating: Rating::All(16.0 * BAR_PA),
        derating: PE_DERATING,
    },
    PipeSeries {
        name: "PE SDR 17",
        also: &["PE 100 SDR 17", "PE PN 10", "PE 100 PN 10"],
        detail: "polyethylene PE 100 by outside diameter, SDR 17",
        source: PE_METRIC,
        roughness_m: SMOOTH_M,
        unit: LengthUnit::Millimeter,
        sizes: &[
            (32.0, 32.0, 2.0),
            (40.0, 40.0, 2.4),
            (50.0, 50.0, 3.0),
            (63.0, 63.0, 3.8),
            (75.0, 75.0, 4.5),
            (90.0, 90.0, 5.4),
            (110.0, 110.0, 6.6),
        ],
        rating: Rating::All(10.0 * BAR_PA),
        derating: PE_DERATING,
    },
    PipeSeries {
        name: "PVC PN 16",
        also: &["PVC-U PN 16", "PVC SDR 13.6"],
        detail: "PVC-U by outside diameter, PN 16",
        source: PVC_METRIC,
        roughness_m: SMOOTH_M,
        unit: LengthUnit::Millimeter,
        sizes: &[
            (20.0, 20.0, 1.5),
            (25.0, 25.0, 1.9),
            (32.0, 32.0, 2.4),
            (40.0, 40.0, 3.0),
            (50.0, 50.0, 3.7),
            (63.0, 63.0, 4.7),
            (75.0, 75.0, 5.6),
            (90.0, 90.0, 6.7),
        ],
        rating: Rating::All(16.0 * BAR_PA),
        derating: PVC_U_DERATING,
    },
    PipeSeries {
        name: "PVC PN 10",
        also: &["PVC-U PN 10"],
        detail: "PVC-U by outside diameter, PN 10",
        source: PVC_METRIC,
        roughness_m: SMOOTH_M,
        unit: LengthUnit::Millimeter,
        sizes: &[
            (32.0, 32.0, 1.6),
            (40.0, 40.0, 1.9),
            (50.0, 50.0, 2.4),
            (63.0, 63.0, 3.0),
            (75.0, 75.0, 3.6),
            (90.0, 90.0, 4.3),
        ],
        rating: Rating::All(10.0 * BAR_PA),
        derating: PVC_U_DERATING,
    },
    PipeSeries {
        name: "galvanized",
        also: &["galvanized sch 40", "steel sch 40", "galvanized steel", "steel"],
        detail: "galvanized steel, schedule 40",
        source: "ASTM D1785 and ASME B36.10M share the dimensions of schedule 40 (rating: common practice)",
        roughness_m: 0.15e-3,
        unit: LengthUnit::Inch,
        sizes: SCHEDULE_40,
        rating: Rating::All(150.0 * PSI_PA),
        derating: &[(fahrenheit(150.0), 1.0)],
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    fn inside_mm(name: &str) -> f64 {
        1e3 * find_pipe_size(name).expect("known").inside_m()
    }

    #[test]
    fn pipes_are_found_by_every_way_to_write_them() {
        for name in ["3/4 in sch 40", "3/4\" Sch 40 PVC", "0.75 inch schedule 40 pipe", " 3/4 in PVC sch-40"] {
            assert!((inside_mm(name) - 0.824 * 25.4).abs() < 1e-9, "{name}");
        }
        for name in ["1-1/4 in class 200", "1 1/4 in PVC class 200", "1.25 in PVC SDR 21"] {
            assert!((inside_mm(name) - 1.502 * 25.4).abs() < 1e-9, "{name}");
        }
        assert!((inside_mm("25 mm PE SDR 11") - 20.4).abs() < 1e-9);
        assert!((inside_mm("1/2 in type L copper tube") - 0.545 * 25.4).abs() < 1e-9);
        assert!((inside_mm("1 in poly 100 psi") - 1.049 * 25.4).abs() < 1e-9);
    }

    #[test]
    fn every_listed_pipe_is_found_by_its_name_and_has_a_wall() {
        for size in SERIES.iter().flat_map(PipeSeries::sizes) {
            let found = find_pipe_size(&size.name()).expect("listed");
            assert!(std::ptr::eq(found.series, size.series) && found.row == size.row, "{}", size.name());
            assert!(0.5 * size.outside_m() < size.inside_m() && size.inside_m() < size.outside_m(), "{}", size.name());
        }
        for series in SERIES {
            assert!(series.sizes.windows(2).all(|pair| pair[0].0 < pair[1].0 && pair[0].1 < pair[1].1), "{}", series.name);
            assert!(series.derating.windows(2).all(|pair| pair[0].0 < pair[1].0 && pair[0].1 > pair[1].1), "{}", series.name);
            if let Rating::Each(psi) = series.rating {
                assert_eq!(psi.len(), series.sizes.len(), "{}", series.name);
            }
        }
    }

    /// A pipe by its outside diameter that is rated by its SDR: P = 2 S / (SDR - 1), S the design stress.
    #[test]
    fn ratings_of_pipes_by_their_sdr_follow_from_one_design_stress() {
        for (sdr, psi) in [(13.5, 315.0), (21.0, 200.0), (26.0, 160.0)] {
            let stress_psi: f64 = psi * (sdr - 1.0) / 2.0;
            assert!((stress_psi - 2000.0).abs() < 0.016 * 2000.0, "SDR {sdr}: {stress_psi} psi");
        }
        for size in SERIES.iter().filter(|series| series.detail.contains("SDR 21")).flat_map(PipeSeries::sizes) {
            let least_m = (size.outside_m() / 21.0).max(0.060 * INCH_M);
            assert!((size.wall_m() - least_m).abs() < 0.0006 * INCH_M, "{}", size.name());
        }
    }

    #[test]
    fn ratings_fall_with_heat_and_end() {
        let pipe = find_pipe_size("1 in class 200").expect("listed");
        let psi = |celsius| pipe.rating_at_pa(celsius).map(|pa| (10.0 * pa / PSI_PA).round() / 10.0);
        let at = |degrees| psi(fahrenheit(degrees));
        assert_eq!((at(40.0), at(73.0), at(76.5), at(100.0)), (Ok(200.0), Ok(200.0), Ok(188.0), Ok(124.0)));
        assert_eq!(
            psi(60.1).map_err(|error| error.to_string()),
            Err("1 in class 200 has no pressure rating at 60.1 degC (140 degF)".into())
        );
    }

    #[test]
    fn names_that_are_no_pipe_say_why_and_what_to_do() {
        let told = |name: &str| {
            let error = find_pipe_size(name).expect_err(name);
            format!("{error}: {}", error.hint().expect("advice"))
        };
        assert!(told("sch 40").starts_with("'sch 40' does not begin with a size in inches or mm: write it as in"));
        assert!(told("3/4 in").starts_with("'3/4 in' names no type of pipe, and"));
        assert!(told("3/0 in sch 40").starts_with("'3/0 in sch 40' does not begin with a size"));
        assert_eq!(told("1 in shc 40"), "there is no type of pipe 'shc 40': did you mean sch 40 or sch 80?");
        assert_eq!(
            told("16 mm PVC PN 10"),
            "PVC PN 10 pipe is not listed in 16 mm: it is listed in 32 mm, 40 mm, 50 mm, 63 mm, 75 mm, 90 mm"
        );
        assert_eq!(told("25 mm sch 40").split(':').next(), Some("sch 40 pipe is not listed in 25 mm"));
    }

    #[test]
    fn diameters_that_are_names_of_sizes_are_known() {
        let name = |diameter_m| named_by(diameter_m).map(|size| size.name());
        assert_eq!(name(0.75 * INCH_M), Some("3/4 in sch 40".into()));
        assert_eq!(name(0.025), Some("25 mm PE SDR 11".into()));
        assert_eq!((name(0.824 * INCH_M), name(0.0204)), (None, None));
    }
}
