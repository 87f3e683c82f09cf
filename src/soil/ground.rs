//! A soil with its numbers.

use super::error::SoilError;
use super::intake::Intake;
use super::runoff::curve_number_runoff_mm;
use super::soak::{Cycles, cycles};
use super::textures::{ALSO, TEXTURES, Texture};
use crate::nearest::nearest;

/// A soil.
#[derive(Clone, Debug, PartialEq)]
pub struct Soil {
    /// Its name.
    pub name: String,
    /// Water at field capacity, share of the volume.
    pub field_capacity: f64,
    /// Water at the wilting point, share of the volume.
    pub wilting_point: f64,
    /// How fast it takes water in.
    pub intake: Intake,
    /// Depth of a puddle that does not run off, mm.
    pub puddle_mm: f64,
    /// Curve number of its cover, where rain is to run off by it.
    pub curve_number: Option<f64>,
    /// The texture from which its numbers started.
    pub texture: Option<&'static Texture>,
}

/// Puddle that ground holds by its slope, mm: level 8, gently sloped 5, above 12 % 2. Common practice, no source.
pub fn puddle_by_slope_mm(slope_pct: f64) -> f64 {
    match slope_pct {
        slope if slope <= 2.0 => 8.0,
        slope if slope <= 12.0 => 5.0,
        _ => 2.0,
    }
}

/// Share of the intake of level ground that counts on a slope, since water that stands runs down at once: all up to 5 %, 0.75 to 8 %,
/// 0.55 to 12 %, 0.35 beyond. From memory, not looked up: middles of what the suggested greatest application rates of the National
/// Engineering Handbook of the NRCS, chapter on sprinklers, give for like soils (0.67 to 0.83, 0.5 to 0.6, 0.25 to 0.53).
pub fn intake_share_on_slope(slope_pct: f64) -> f64 {
    match slope_pct {
        slope if slope <= 5.0 => 1.0,
        slope if slope <= 8.0 => 0.75,
        slope if slope <= 12.0 => 0.55,
        _ => 0.35,
    }
}

/// How the surface of a soil was treated.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tilth {
    /// Walked on or driven over when wet.
    Compacted,
    /// Closed by rain on bare ground.
    Crusted,
    /// As it lies after a season.
    Settled,
    /// Forked or hoed.
    Loosened,
}

impl Tilth {
    /// Each with the word for it.
    pub const ALL: [(&str, Tilth); 4] = [
        ("compacted", Tilth::Compacted),
        ("crusted", Tilth::Crusted),
        ("settled", Tilth::Settled),
        ("loosened", Tilth::Loosened),
    ];

    /// What it makes of the intake of a texture. Common practice, no source.
    pub fn factor(self) -> f64 {
        match self {
            Tilth::Compacted => 0.3,
            Tilth::Crusted => 0.5,
            Tilth::Settled => 1.0,
            Tilth::Loosened => 1.5,
        }
    }
}

impl Soil {
    /// A soil by its texture; its ground is taken as gently sloped. Errors: no such texture.
    pub fn named(name: &str) -> Result<Soil, SoilError> {
        let plain = name.trim().to_lowercase().replace('_', " ");
        let wanted = ALSO.iter().find(|(also, _)| *also == plain).map_or(plain.as_str(), |(_, name)| name);
        let Some(texture) = TEXTURES.iter().find(|texture| texture.name == wanted) else {
            let names = || TEXTURES.iter().map(|texture| texture.name);
            let alike = nearest(wanted, names(), 3);
            let known = if alike.is_empty() { names().collect() } else { alike };
            return Err(SoilError::NoSoil { name: name.into(), known });
        };
        Ok(Soil {
            name: texture.name.into(),
            field_capacity: texture.field_capacity,
            wilting_point: texture.wilting_point,
            intake: Intake::Steady { mm_per_h: texture.intake_mm_per_h },
            puddle_mm: puddle_by_slope_mm(5.0),
            curve_number: None,
            texture: Some(texture),
        })
    }

    /// The same with its numbers checked.
    pub fn checked(self) -> Result<Soil, SoilError> {
        SoilError::within("water at the wilting point", self.wilting_point, 0.0, 0.9, "a share of the volume, 0 to 0.9")?;
        let (least, expected) = (self.wilting_point + 0.005, "a share of the volume above the wilting point, to 0.95");
        SoilError::within("water at field capacity", self.field_capacity, least, 0.95, expected)?;
        SoilError::within(
            "the intake of soil in mm/h",
            self.intake.final_mm_per_h(),
            0.01,
            10_000.0,
            "0.01 mm/h to 10,000 mm/h",
        )?;
        match self.intake {
            Intake::GreenAmpt { suction_mm, deficit, .. } => {
                SoilError::within("suction in mm", suction_mm, 0.0, 5000.0, "0 mm to 5000 mm")?;
                SoilError::within("the empty share of the volume", deficit, 0.001, 0.9, "0.001 to 0.9")?;
            }
            Intake::Kostiakov { factor_mm, exponent, .. } => {
                SoilError::within("the factor of intake in mm", factor_mm, 1e-3, 10_000.0, "0.001 mm to 10,000 mm")?;
                SoilError::within("the exponent of intake", exponent, 0.01, 0.99, "0.01 to 0.99")?;
            }
            Intake::Steady { .. } => {}
        }
        SoilError::within("the puddle in mm", self.puddle_mm, 0.01, 500.0, "0.01 mm to 500 mm")?;
        if let Some(curve_number) = self.curve_number {
            SoilError::within("the curve number", curve_number, 30.0, 100.0, "30 to 100")?;
        }
        Ok(self)
    }

    /// The same on a slope in percent: a smaller puddle, and less of its intake. Errors: a slope outside of 0 to 60 %.
    pub fn on_slope(self, slope_pct: f64) -> Result<Soil, SoilError> {
        SoilError::within("the slope in percent", slope_pct, 0.0, 60.0, "0 to 60 percent")?;
        let intake = self.intake.scaled(intake_share_on_slope(slope_pct));
        Soil { puddle_mm: puddle_by_slope_mm(slope_pct), intake, ..self }.checked()
    }

    /// The same with its surface treated in a way.
    pub fn with_tilth(self, tilth: Tilth) -> Soil {
        Soil { intake: self.intake.scaled(tilth.factor()), ..self }
    }

    /// Green and Ampt by the numbers of its texture, for soil that is half empty; none where the table has none.
    pub fn green_ampt_of_texture(&self) -> Option<Intake> {
        let [conductivity_mm_per_h, suction_mm, porosity] = self.texture?.green_ampt?;
        Some(Intake::GreenAmpt { conductivity_mm_per_h, suction_mm, deficit: porosity / 2.0 })
    }

    /// Green and Ampt by the numbers of loam, where a texture has none.
    pub fn green_ampt_of_loam(&self) -> Option<Intake> {
        Soil { texture: TEXTURES.iter().find(|texture| texture.name == "loam"), ..self.clone() }.green_ampt_of_texture()
    }

    /// True where what it holds or how it takes water in is still that of its texture.
    pub fn is_by_name(&self) -> bool {
        let of_texture = |texture: &Texture| {
            (texture.field_capacity, texture.wilting_point) == (self.field_capacity, self.wilting_point)
                || self.intake == Intake::Steady { mm_per_h: texture.intake_mm_per_h }
        };
        self.texture.is_some_and(of_texture)
    }

    /// Water within reach of roots that go so deep, between field capacity and the wilting point, mm.
    pub fn reservoir_mm(&self, roots_m: f64) -> f64 {
        1000.0 * (self.field_capacity - self.wilting_point) * roots_m
    }

    /// What runs off of the rain of a day, mm: nothing unless a curve number was given.
    pub fn runoff_mm(&self, rain_mm: f64) -> f64 {
        self.curve_number.map_or(0.0, |curve_number| curve_number_runoff_mm(curve_number, rain_mm))
    }

    /// Runs and pauses that give a depth at a rate without any running off.
    ///
    /// Where its intake falls as it gets wet, a single run ends before water stands, and more runs count on the intake at the end.
    pub fn cycles(&self, rate_mm_per_h: f64, depth_mm: f64) -> Cycles {
        let whole_h = depth_mm / rate_mm_per_h;
        let intake_mm_per_h = match self.intake.ponding_h(rate_mm_per_h) {
            Some(ponding_h) if ponding_h < whole_h => self.intake.capacity_mm_per_h(depth_mm),
            _ => rate_mm_per_h,
        };
        cycles(rate_mm_per_h, intake_mm_per_h, self.puddle_mm, depth_mm)
    }
}
