//! A bed, a lawn or a pot: its crop, its soil, its place in the sun, and the water it gets.

use super::error::SeasonError;
use crate::moment::Date;
use crate::soil::{Crop, GARDEN_ROOTS_M, LAWN_ROOTS_M, Soil};

/// Which part of the ground must get a depth of water.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum CountsOn {
    /// All of it on the mean.
    Mean,
    /// The mean of the dry half.
    LowHalf,
    /// The mean of the driest quarter.
    #[default]
    LowQuarter,
}

impl CountsOn {
    /// Each with the word for it.
    pub const ALL: [(&str, CountsOn); 3] =
        [("mean", CountsOn::Mean), ("low half", CountsOn::LowHalf), ("low quarter", CountsOn::LowQuarter)];
}

/// Share of the mean depth that is counted on, by the uniformity of the low quarter, as a share of one.
///
/// That of the low half is 0.386 + 0.614 of it, from memory, for catches that are distributed normally.
pub fn share_counted_on(counts_on: CountsOn, du: f64) -> f64 {
    match counts_on {
        CountsOn::Mean => 1.0,
        CountsOn::LowHalf => 0.386 + 0.614 * du,
        CountsOn::LowQuarter => du,
    }
}

/// How a bed is watered.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Water {
    /// Mean application rate, mm/h.
    pub rate_mm_per_h: f64,
    /// Uniformity of the low quarter, a share of one.
    pub du: f64,
}

/// A bed, a lawn or a pot.
#[derive(Clone, Debug, PartialEq)]
pub struct Bed {
    /// Its name.
    pub name: String,
    /// What grows on it.
    pub crop: Crop,
    /// Its soil.
    pub soil: Soil,
    /// Depth to which roots can go: of a pot its depth, m.
    pub ground_m: f64,
    /// What is missing from the reservoir in the morning of the first day, mm; by default nothing.
    pub missing_mm: Option<f64>,
    /// The day in whose evening the reservoir was last full.
    pub full_on: Option<Date>,
    /// Share of the ground under mulch.
    pub mulch: f64,
    /// What the place makes of the reference evapotranspiration: 1 in the open, less in shade, more before a hot wall.
    pub exposure: f64,
    /// Ground, m2.
    pub area_m2: Option<f64>,
    /// How it is watered.
    pub water: Option<Water>,
    /// Which part of the ground must get the depth.
    pub counts_on: CountsOn,
    /// Share of the water that is lost in the air.
    pub lost_share: f64,
    /// Share of the ground that its water wets: all by heads, less by drip lines.
    pub wetted_share: f64,
    /// Waterings that were really given: day, and depth where it is counted on, mm.
    pub log: Vec<(Date, f64)>,
    /// The valve of its zone; by default it has the name of the bed.
    pub zone: Option<String>,
}

/// How much of the initial coefficient full cover by mulch of straw or leaves takes away: evaporation of bare ground is most of it. From
/// memory, FAO Irrigation and Drainage Paper 56 (1998), chapter 10: about 5 % for each 10 % of the ground.
const FULL_MULCH: f64 = 0.5;

/// Crop coefficient of bare ground that is seldom wetted. From memory: 0.15 to 0.4.
const BARE_GROUND: f64 = 0.15;
/// Uniformity of the low quarter of new drip lines. Common practice, no source.
const DRIP_DU: f64 = 0.9;
/// Share of the ground that drip lines wet.
const DRIP_WETS: f64 = 0.4;
/// How much of its use full shade takes away.
const FULL_SHADE: f64 = 0.5;

/// Depth to which roots go where nobody has looked, m.
pub(super) fn usual_ground_m(crop: &Crop) -> f64 {
    if crop.is_lawn() { LAWN_ROOTS_M } else { GARDEN_ROOTS_M }
}

impl Bed {
    /// A bed of a crop on a soil, full of water, in the open; not yet watered by anything.
    ///
    /// Roots go down to 0.6 m at most, those of a lawn to 0.3 m (common practice), whatever the tables say.
    pub fn new(name: &str, crop: Crop, soil: Soil) -> Bed {
        let ground_m = usual_ground_m(&crop);
        Bed {
            name: name.into(),
            crop,
            soil,
            ground_m,
            missing_mm: None,
            full_on: None,
            mulch: 0.0,
            exposure: 1.0,
            area_m2: None,
            water: None,
            counts_on: CountsOn::default(),
            lost_share: 0.0,
            wetted_share: 1.0,
            log: Vec::new(),
            zone: None,
        }
    }

    /// Errors: a number of the bed, its soil or its crop that does not fit.
    pub fn check(&self) -> Result<(), SeasonError> {
        let of_soil = |error| SeasonError::Soil { bed: self.name.clone(), error };
        self.soil.clone().checked().map_err(of_soil)?;
        self.crop.clone().checked().map_err(of_soil)?;
        let within = |what: &str, found: f64, least: f64, most: f64, expected: &'static str| {
            let sound = (least..=most).contains(&found);
            let what = format!("{what} of bed '{}'", self.name);
            if sound { Ok(()) } else { Err(SeasonError::OutOfRange { what, found, expected }) }
        };
        within("the depth of ground in m", self.ground_m, 0.02, 10.0, "0.02 m to 10 m")?;
        within("the missing water in mm", self.missing_mm.unwrap_or(0.0), 0.0, 10_000.0, "0 mm to 10,000 mm")?;
        within("the share under mulch", self.mulch, 0.0, 1.0, "0 to 1")?;
        within("the exposure", self.exposure, 0.1, 2.0, "0.1 to 2")?;
        within("the share lost in the air", self.lost_share, 0.0, 0.9, "0 to 0.9")?;
        within("the share of the ground that is wetted", self.wetted_share, 0.05, 1.0, "0.05 to 1")?;
        for (_, mm) in &self.log {
            within("a watering of the log in mm", *mm, 0.0, 1000.0, "0 mm to 1000 mm")?;
        }
        within("the ground in m2", self.area_m2.unwrap_or(1.0), 1e-4, 1e7, "above 0")?;
        if let Some(water) = self.water {
            within("the application rate in mm/h", water.rate_mm_per_h, 1e-3, 10_000.0, "above 0 mm/h")?;
            within("the low-quarter uniformity", water.du, 0.01, 1.0, "a share of one, 0.01 to 1 (1 to 100 percent)")?;
        }
        Ok(())
    }

    /// The coefficients of its crop below its mulch, on ground of which its water wets a share.
    ///
    /// What wets a share of the ground makes that share evaporate while leaves are small: the initial coefficient is times the share (FAO
    /// Irrigation and Drainage Paper 56, 1998, equation 60), and not below that of bare ground that is seldom wetted.
    pub fn coefficients(&self) -> [f64; 3] {
        let [initial, middle, end] = self.crop.coefficients;
        let wetted = (initial * self.wetted_share).max(BARE_GROUND.min(initial));
        [wetted * (1.0 - FULL_MULCH * self.mulch), middle, end]
    }

    /// The same watered by drip lines: emitters of a flow in m3/s at a spacing along lines that lie a distance apart, in m.
    ///
    /// Common practice, no source: new lines are even to nine tenths, lose nothing in the air, and wet four tenths of the ground (FAO
    /// Irrigation and Drainage Paper 56, 1998, Table 20, from memory: 0.3 to 0.4).
    pub fn with_drip(self, flow_m3_per_s: f64, along_m: f64, between_m: f64) -> Bed {
        let rate_mm_per_h = 3.6e6 * flow_m3_per_s / (along_m * between_m);
        let water = Some(Water { rate_mm_per_h, du: DRIP_DU });
        Bed { water, wetted_share: DRIP_WETS, lost_share: 0.0, counts_on: CountsOn::LowQuarter, ..self }
    }

    /// The same in shade that covers a share of the day or the sky: full shade halves what it uses. From memory: microclimate factors of
    /// the landscape coefficient method, 0.5 to 1.4.
    pub fn in_shade(self, share: f64) -> Bed {
        Bed { exposure: 1.0 - FULL_SHADE * share, ..self }
    }

    /// What was given on a day by its log, mm.
    pub fn logged_mm(&self, date: Date) -> f64 {
        self.log.iter().filter(|(day, _)| *day == date).map(|(_, mm)| mm).sum()
    }

    /// How long its zone runs for a net depth, s; none where it has no rate.
    pub fn run_s(&self, net_mm: f64) -> Option<f64> {
        self.water.map(|water| 3600.0 * self.gross_mm(net_mm) / water.rate_mm_per_h)
    }

    /// Depth where it is counted on of a depth that was given on the mean, mm.
    pub fn net_mm(&self, gross_mm: f64) -> f64 {
        let whole = self.gross_mm(1.0);
        gross_mm / whole
    }

    /// Depth that must be applied on the mean for a net depth where it counts, mm.
    pub fn gross_mm(&self, net_mm: f64) -> f64 {
        let share = self.water.map_or(1.0, |water| share_counted_on(self.counts_on, water.du));
        net_mm / (share * (1.0 - self.lost_share))
    }

    /// Volume of a depth on its ground, m3.
    pub fn volume_m3(&self, depth_mm: f64) -> Option<f64> {
        self.area_m2.map(|area_m2| area_m2 * depth_mm / 1000.0)
    }

    /// True where the depth of its ground is the usual one, as if nobody had looked.
    pub fn ground_is_usual(&self) -> bool {
        self.ground_m == usual_ground_m(&self.crop)
    }

    /// The name of the valve of its zone.
    pub fn zone(&self) -> &str {
        self.zone.as_deref().unwrap_or(&self.name)
    }
}
