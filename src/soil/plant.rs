//! A crop with its numbers: its coefficient, its roots and its stage on each day.

use super::crops::{ALSO, CROPS, CropRow, Stages, TENDER};
use super::error::SoilError;
use crate::moment::Date;
use crate::nearest::nearest;

/// Depth to which roots go in a garden bed at most where nobody has dug deeper, m: 0.2 m to 0.6 m is usual, while tables for fields go
/// to 1.5 m. Common practice, no source.
pub const GARDEN_ROOTS_M: f64 = 0.6;
/// The same below a lawn, m. Common practice, no source.
pub const LAWN_ROOTS_M: f64 = 0.3;
/// Depth of the roots of a young plant, m. Common practice, no source.
const YOUNG_ROOTS_M: f64 = 0.25;

/// Height of a crop of which the tables have none, m. Common practice, no source.
const UNKNOWN_HEIGHT_M: f64 = 0.3;
/// Coefficients of the end below it are of crops that dry in the field, and are not adjusted to the climate (equation 65).
const LEAST_ADJUSTED_END: f64 = 0.45;

/// The climate of a stage of a crop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Climate {
    /// Mean wind at 2 m, m/s.
    pub wind_m_per_s: f64,
    /// Mean of the lowest relative humidity of each day, percent.
    pub lowest_humidity_pct: f64,
}

/// A stage of an annual crop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// From planting until a tenth of the ground is covered.
    Initial,
    /// Until the ground is covered.
    Development,
    /// Until the leaves age.
    Middle,
    /// Until harvest.
    Late,
}

/// A crop.
#[derive(Clone, Debug, PartialEq)]
pub struct Crop {
    /// Its name.
    pub name: String,
    /// Crop coefficients of the initial and middle stage and of the end of the late one.
    pub coefficients: [f64; 3],
    /// Days of its four stages; none for a cover that stays, which keeps the coefficient of its middle stage.
    pub stages_d: Option<[u32; 4]>,
    /// Depth of its roots when it is planted and when it is grown, m.
    pub roots_m: [f64; 2],
    /// Share of the reservoir that may be used without stress at 5 mm a day.
    pub share: f64,
    /// Height at full cover, m.
    pub height_m: Option<f64>,
    /// The day of planting; day 1.
    pub planted: Option<Date>,
    /// The row of the tables from which its numbers started.
    pub row: Option<&'static CropRow>,
}

impl Crop {
    /// A crop by its name, in singular or plural.
    ///
    /// Errors: no such crop; one whose stages no table gives, unless they are given here in days.
    pub fn named(name: &str, stages_d: Option<[u32; 4]>) -> Result<Crop, SoilError> {
        let row = find(name)?;
        let (stages_d, young_m) = match (stages_d, row.stages) {
            (Some(stages_d), _) => (Some(stages_d), YOUNG_ROOTS_M),
            (None, Stages::Printed(stages_d) | Stages::Remembered(stages_d)) => (Some(stages_d), YOUNG_ROOTS_M),
            (None, Stages::AllYear) => (None, row.roots_m),
            (None, Stages::Unknown) => return Err(SoilError::NoStages { name: row.name.into() }),
        };
        Ok(Crop {
            name: row.name.into(),
            coefficients: row.coefficients,
            stages_d,
            roots_m: [young_m.min(row.roots_m), row.roots_m],
            share: row.share,
            height_m: row.height_m,
            planted: None,
            row: Some(row),
        })
    }

    /// The same with its numbers checked: coefficients 0 to 2, a share 0.05 to 0.95, roots 0.02 m to 5 m that do not shrink, stages of at
    /// most 5000 days together.
    pub fn checked(self) -> Result<Crop, SoilError> {
        for coefficient in self.coefficients {
            SoilError::within("a crop coefficient", coefficient, 0.0, 2.0, "0 to 2")?;
        }
        SoilError::within("the share of the reservoir that may be used", self.share, 0.05, 0.95, "0.05 to 0.95")?;
        SoilError::within("the first depth of roots in m", self.roots_m[0], 0.02, 5.0, "0.02 m to 5 m")?;
        SoilError::within(
            "the full depth of roots in m",
            self.roots_m[1],
            self.roots_m[0],
            5.0,
            "the first depth of roots to 5 m",
        )?;
        let days = self.stages_d.map_or(1.0, |stages_d| stages_d.iter().map(|days| f64::from(*days)).sum());
        SoilError::within("the sum of the stages in days", days, 1.0, 5000.0, "1 to 5000 days")?;
        Ok(self)
    }

    /// The same with the coefficients of its middle stage and of its end in another climate than that of the tables, where the mean wind at
    /// 2 m is 2 m/s and the lowest humidity 45 percent; an end below 0.45 stays. A crop without a height is taken as 0.3 m.
    ///
    /// Source: FAO Irrigation and Drainage Paper 56 (1998), equations 62 and 65.
    pub fn in_climate(self, [middle, end]: [Climate; 2]) -> Crop {
        let height_m = self.height_m.unwrap_or(UNKNOWN_HEIGHT_M);
        let adjusted = |coefficient: f64, climate: Climate| {
            middle_coefficient_in_climate(coefficient, height_m, climate.wind_m_per_s, climate.lowest_humidity_pct)
        };
        let [initial, kc_mid, kc_end] = self.coefficients;
        let kc_end = if kc_end >= LEAST_ADJUSTED_END { adjusted(kc_end, end) } else { kc_end };
        Crop { coefficients: [initial, adjusted(kc_mid, middle), kc_end], ..self }
    }

    /// Days from planting to harvest; none for a cover that stays.
    pub fn days(&self) -> Option<u32> {
        self.stages_d.map(|stages_d| stages_d.iter().sum())
    }

    /// True for a lawn.
    pub fn is_lawn(&self) -> bool {
        self.row.is_some_and(|row| row.name.ends_with("turf"))
    }

    /// True where frost kills it.
    pub fn is_tender(&self) -> bool {
        self.row.is_some_and(|row| TENDER.contains(&row.name))
    }

    /// Its stage on a day, counted from 1; none for a cover that stays.
    pub fn stage(&self, day: u32) -> Option<Stage> {
        let [initial, development, middle, _] = self.stages_d?;
        Some(match day {
            day if day <= initial => Stage::Initial,
            day if day <= initial + development => Stage::Development,
            day if day <= initial + development + middle => Stage::Middle,
            _ => Stage::Late,
        })
    }

    /// Its coefficient on a day, counted from 1, with these coefficients in place of its own.
    ///
    /// Source: FAO Irrigation and Drainage Paper 56 (1998), equation 66.
    pub fn coefficient_of(&self, [initial, middle, end]: [f64; 3], day: u32) -> f64 {
        let (Some(stage), Some(stages_d)) = (self.stage(day), self.stages_d) else { return middle };
        let between = |from: f64, to: f64, before: u32, lasting: u32| {
            from + f64::from(day - before) / f64::from(lasting.max(1)) * (to - from)
        };
        match stage {
            Stage::Initial => initial,
            Stage::Development => between(initial, middle, stages_d[0], stages_d[1]),
            Stage::Middle => middle,
            Stage::Late => between(middle, end, stages_d[..3].iter().sum(), stages_d[3]),
        }
    }

    /// Its coefficient on a day, counted from 1.
    pub fn coefficient(&self, day: u32) -> f64 {
        self.coefficient_of(self.coefficients, day)
    }

    /// Depth of its roots on a day, counted from 1, in ground that lets them go so deep, m.
    ///
    /// Roots go down evenly and are grown after the development stage.
    pub fn roots_on_m(&self, day: u32, ground_m: f64) -> f64 {
        let full_m = self.roots_m[1].min(ground_m);
        let first_m = self.roots_m[0].min(full_m);
        let Some([initial, development, ..]) = self.stages_d else { return full_m };
        let share = f64::from(day.saturating_sub(1)) / f64::from((initial + development).max(1));
        first_m + (full_m - first_m) * share.min(1.0)
    }
}

/// The row of a crop by its name.
fn find(name: &str) -> Result<&'static CropRow, SoilError> {
    let plain = name.trim().to_lowercase().replace('_', " ");
    let singular = |ending: &str, with: &str| plain.strip_suffix(ending).map(|stem| format!("{stem}{with}"));
    let forms = [Some(plain.clone()), singular("s", ""), singular("es", ""), singular("ies", "y")];
    let row = |name: &str| CROPS.iter().find(|row| row.name == name);
    for form in forms.into_iter().flatten() {
        let other = ALSO.iter().find(|(also, _)| *also == form).map(|(_, name)| *name);
        if let Some(row) = row(&form).or_else(|| other.and_then(row)) {
            return Ok(row);
        }
    }
    let names = || CROPS.iter().map(|row| row.name);
    let alike = nearest(&plain, names(), 3);
    Err(SoilError::NoCrop { name: name.into(), known: if alike.is_empty() { names().collect() } else { alike } })
}

/// The coefficient of the middle stage of a crop of some height in another climate than that of the table.
///
/// The wind at 2 m counts from 1 m/s to 6 m/s, the lowest humidity from 20 to 80 percent, the height from 0.1 m to 10 m.
/// Source: FAO Irrigation and Drainage Paper 56 (1998), equation 62.
pub fn middle_coefficient_in_climate(coefficient: f64, height_m: f64, wind_m_per_s: f64, lowest_humidity_pct: f64) -> f64 {
    let climate = 0.04 * (wind_m_per_s.clamp(1.0, 6.0) - 2.0) - 0.004 * (lowest_humidity_pct.clamp(20.0, 80.0) - 45.0);
    coefficient + climate * (height_m.clamp(0.1, 10.0) / 3.0).powf(0.3)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn crops_are_found_in_plural_and_by_other_names() {
        for (name, row) in [
            ("Tomatoes", "tomato"),
            ("lawn", "cool-season turf"),
            ("blueberries", "berry bushes"),
            ("radishes", "radish"),
            ("sweet_corn", "sweet corn"),
            ("peas", "fresh pea"),
            ("strawberries", "strawberry"),
            ("berry bushes", "berry bushes"),
        ] {
            assert_eq!(find(name).map(|row| row.name), Ok(row), "{name}");
        }
        let Err(SoilError::NoCrop { known, .. }) = find("tomatoe plants") else { panic!("unknown") };
        assert!(known.contains(&"tomato"), "{known:?}");
        assert!(matches!(Crop::named("garlic", None), Err(SoilError::NoStages { .. })));
        assert!(Crop::named("garlic", Some([20, 30, 60, 30])).is_ok());
    }

    #[test]
    fn every_crop_and_texture_of_the_tables_is_sound() {
        for row in CROPS {
            assert!(Crop::named(row.name, Some([10, 10, 10, 10])).and_then(Crop::checked).is_ok(), "{}", row.name);
        }
        for (also, name) in ALSO {
            assert_eq!(find(also).map(|row| row.name), Ok(*name));
        }
        for texture in super::super::TEXTURES {
            assert!(super::super::Soil::named(texture.name).and_then(super::super::Soil::checked).is_ok(), "{}", texture.name);
        }
    }

    #[test]
    fn roots_stop_at_the_bottom_of_the_bed() {
        let tomato = Crop::named("tomato", None).expect("a crop");
        assert_eq!((tomato.roots_on_m(1, 0.6), tomato.roots_on_m(500, 0.6), tomato.roots_on_m(500, 2.0)), (0.25, 0.6, 1.1));
        assert_eq!(tomato.roots_on_m(1, 0.15), 0.15);
    }
}
