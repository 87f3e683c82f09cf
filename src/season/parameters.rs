//! The numbers of a bed by their paths, such as `crop.kc_mid`: read, set and listed in one place.

use super::bed::{Bed, Water};
use super::error::SeasonError;
use crate::nearest::nearest;
use crate::quantity::{DAY_S, Dimension, dim};
use crate::soil::Intake;

/// A number of a bed that can be read and set.
pub struct Parameter {
    /// Its path.
    pub path: &'static str,
    /// Its dimension; shares are plain numbers in percent.
    pub dimension: Dimension,
    /// The US symbol of the unit in which it is shown, where that is not the usual one.
    pub unit: Option<&'static str>,
    /// One line of help.
    pub about: &'static str,
    get: fn(&Bed) -> Option<f64>,
    set: fn(&mut Bed, f64),
}

impl Parameter {
    /// Its value in SI, percent or days; none where it has none.
    pub fn get(&self, bed: &Bed) -> Option<f64> {
        (self.get)(bed)
    }
}

const MM: f64 = 1e-3;
const MM_PER_H: f64 = 1e-3 / 3600.0;
const PERCENT: f64 = 0.01;

const fn parameter(
    path: &'static str,
    (dimension, unit): (Dimension, Option<&'static str>),
    about: &'static str,
    get: fn(&Bed) -> Option<f64>,
    set: fn(&mut Bed, f64),
) -> Parameter {
    Parameter { path, dimension, unit, about, get, set }
}

const DEPTH: (Dimension, Option<&str>) = (dim::LENGTH, Some("in"));
const LENGTH: (Dimension, Option<&str>) = (dim::LENGTH, None);
const RATE: (Dimension, Option<&str>) = (dim::SPEED, Some("in/h"));
const NUMBER: (Dimension, Option<&str>) = (dim::NUMBER, None);
const DAYS: (Dimension, Option<&str>) = (dim::TIME, Some("day"));

fn stage(bed: &Bed, at: usize) -> Option<f64> {
    bed.crop.stages_d.map(|stages_d| DAY_S * f64::from(stages_d[at]))
}

fn set_stage(bed: &mut Bed, at: usize, seconds: f64) {
    let days = bed.crop.stages_d.get_or_insert([0; 4]);
    days[at] = (seconds / DAY_S).round().clamp(0.0, 10_000.0) as u32;
}

fn green_ampt(bed: &Bed) -> Option<(f64, f64)> {
    let Intake::GreenAmpt { suction_mm, deficit, .. } = bed.soil.intake else { return None };
    Some((suction_mm, deficit))
}

/// Sets a number of Green and Ampt; a steady intake becomes their conductivity, with the other number of the texture where it has one.
fn set_green_ampt(bed: &mut Bed, set: impl Fn(&mut f64, &mut f64)) {
    if green_ampt(bed).is_none() {
        let of_texture = bed.soil.green_ampt_of_texture();
        let Some(Intake::GreenAmpt { suction_mm, deficit, .. }) = of_texture.or(bed.soil.green_ampt_of_loam()) else { return };
        let conductivity_mm_per_h = bed.soil.intake.final_mm_per_h();
        bed.soil.intake = Intake::GreenAmpt { conductivity_mm_per_h, suction_mm, deficit };
    }
    if let Intake::GreenAmpt { suction_mm, deficit, .. } = &mut bed.soil.intake {
        set(suction_mm, deficit);
    }
}

fn set_water(bed: &mut Bed, set: impl Fn(&mut Water)) {
    set(bed.water.get_or_insert(Water { rate_mm_per_h: f64::NAN, du: 1.0 }));
}

/// All parameters.
pub const PARAMETERS: &[Parameter] = &[
    parameter(
        "rate",
        RATE,
        "application rate, on the mean",
        |bed| bed.water.map(|water| MM_PER_H * water.rate_mm_per_h),
        |bed, si| {
            set_water(bed, |water| water.rate_mm_per_h = si / MM_PER_H);
        },
    ),
    parameter(
        "du",
        NUMBER,
        "low-quarter uniformity, percent",
        |bed| bed.water.map(|water| water.du / PERCENT),
        |bed, si| {
            set_water(bed, |water| water.du = si * PERCENT);
        },
    ),
    parameter("area", (dim::AREA, None), "ground that is watered", |bed| bed.area_m2, |bed, si| bed.area_m2 = Some(si)),
    parameter(
        "losses",
        NUMBER,
        "share lost in the air, percent",
        |bed| Some(bed.lost_share / PERCENT),
        |bed, si| {
            bed.lost_share = si * PERCENT;
        },
    ),
    parameter(
        "wets",
        NUMBER,
        "ground that its water wets, percent",
        |bed| Some(bed.wetted_share / PERCENT),
        |bed, si| {
            bed.wetted_share = si * PERCENT;
        },
    ),
    parameter(
        "depletion",
        DEPTH,
        "what is missing on the first morning",
        |bed| bed.missing_mm.map(|mm| MM * mm),
        |bed, si| {
            bed.missing_mm = Some(si / MM);
        },
    ),
    parameter("soil_depth", LENGTH, "depth to which roots can go", |bed| Some(bed.ground_m), |bed, si| bed.ground_m = si),
    parameter(
        "mulch",
        NUMBER,
        "ground under mulch, percent",
        |bed| Some(bed.mulch / PERCENT),
        |bed, si| bed.mulch = si * PERCENT,
    ),
    parameter(
        "exposure",
        NUMBER,
        "factor of the place: 1 in the open, less in shade",
        |bed| Some(bed.exposure),
        |bed, si| {
            bed.exposure = si;
        },
    ),
    parameter(
        "soil.field_capacity",
        NUMBER,
        "water at field capacity, percent of the volume",
        |bed| Some(bed.soil.field_capacity / PERCENT),
        |bed, si| bed.soil.field_capacity = si * PERCENT,
    ),
    parameter(
        "soil.wilting_point",
        NUMBER,
        "water at the wilting point, percent of the volume",
        |bed| Some(bed.soil.wilting_point / PERCENT),
        |bed, si| bed.soil.wilting_point = si * PERCENT,
    ),
    parameter(
        "soil.intake",
        RATE,
        "intake that it never falls below: steady, or the conductivity of Green and Ampt",
        |bed| Some(MM_PER_H * bed.soil.intake.final_mm_per_h()),
        |bed, si| bed.soil.intake.set_final(si / MM_PER_H),
    ),
    parameter(
        "soil.suction",
        DEPTH,
        "suction at the wetting front, of Green and Ampt",
        |bed| green_ampt(bed).map(|(suction_mm, _)| MM * suction_mm),
        |bed, si| set_green_ampt(bed, |suction_mm, _| *suction_mm = si / MM),
    ),
    parameter(
        "soil.empty",
        NUMBER,
        "volume that water can fill, percent, of Green and Ampt",
        |bed| green_ampt(bed).map(|(_, deficit)| deficit / PERCENT),
        |bed, si| set_green_ampt(bed, |_, deficit| *deficit = si * PERCENT),
    ),
    parameter(
        "soil.puddle",
        DEPTH,
        "depth of a puddle that does not run off",
        |bed| Some(MM * bed.soil.puddle_mm),
        |bed, si| {
            bed.soil.puddle_mm = si / MM;
        },
    ),
    parameter(
        "soil.curve_number",
        NUMBER,
        "curve number, by which rain runs off",
        |bed| bed.soil.curve_number,
        |bed, si| {
            bed.soil.curve_number = Some(si);
        },
    ),
    parameter(
        "crop.kc_initial",
        NUMBER,
        "crop coefficient of the initial stage",
        |bed| Some(bed.crop.coefficients[0]),
        |bed, si| {
            bed.crop.coefficients[0] = si;
        },
    ),
    parameter(
        "crop.kc_mid",
        NUMBER,
        "crop coefficient of the middle stage",
        |bed| Some(bed.crop.coefficients[1]),
        |bed, si| {
            bed.crop.coefficients[1] = si;
        },
    ),
    parameter(
        "crop.kc_end",
        NUMBER,
        "crop coefficient at harvest",
        |bed| Some(bed.crop.coefficients[2]),
        |bed, si| {
            bed.crop.coefficients[2] = si;
        },
    ),
    parameter("crop.initial", DAYS, "length of the initial stage", |bed| stage(bed, 0), |bed, si| set_stage(bed, 0, si)),
    parameter("crop.development", DAYS, "length of the development stage", |bed| stage(bed, 1), |bed, si| set_stage(bed, 1, si)),
    parameter("crop.middle", DAYS, "length of the middle stage", |bed| stage(bed, 2), |bed, si| set_stage(bed, 2, si)),
    parameter("crop.late", DAYS, "length of the late stage", |bed| stage(bed, 3), |bed, si| set_stage(bed, 3, si)),
    parameter(
        "crop.first_roots",
        LENGTH,
        "depth of roots when planted",
        |bed| Some(bed.crop.roots_m[0]),
        |bed, si| {
            bed.crop.roots_m[0] = si;
        },
    ),
    parameter(
        "crop.roots",
        LENGTH,
        "depth of roots when grown",
        |bed| Some(bed.crop.roots_m[1]),
        |bed, si| bed.crop.roots_m[1] = si,
    ),
    parameter("crop.height", LENGTH, "height at full cover", |bed| bed.crop.height_m, |bed, si| bed.crop.height_m = Some(si)),
    parameter(
        "crop.allowed_depletion",
        NUMBER,
        "share used without stress at 5 mm a day, percent",
        |bed| Some(bed.crop.share / PERCENT),
        |bed, si| bed.crop.share = si * PERCENT,
    ),
];

impl Bed {
    /// A parameter by its path. Errors: none has that path.
    pub fn parameter(path: &str) -> Result<&'static Parameter, SeasonError> {
        PARAMETERS.iter().find(|parameter| parameter.path == path).ok_or_else(|| {
            let names = || PARAMETERS.iter().map(|parameter| parameter.path);
            let alike = nearest(path, names(), 3);
            SeasonError::NoParameter { path: path.into(), known: if alike.is_empty() { names().collect() } else { alike } }
        })
    }

    /// Sets a parameter, in SI, percent or a number, without checking the bed.
    pub fn set(&mut self, parameter: &Parameter, si: f64) {
        (parameter.set)(self, si);
    }

    /// The same with a parameter, in SI, percent or a number; the bed is checked. Errors: no such path; a value that does not fit.
    pub fn with(mut self, path: &str, si: f64) -> Result<Bed, SeasonError> {
        (Bed::parameter(path)?.set)(&mut self, si);
        if self.water.is_none_or(|water| !water.rate_mm_per_h.is_nan()) {
            self.check()?;
        }
        Ok(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::soil::{Crop, Soil};

    #[test]
    fn every_parameter_is_read_as_it_was_set() {
        let bed = || Bed::new("bed", Crop::named("tomato", None).expect("a crop"), Soil::named("loam").expect("a soil"));
        for parameter in PARAMETERS {
            let first = if parameter.dimension == dim::LENGTH { 0.01 } else { 60.0 };
            let was = parameter.get(&bed()).unwrap_or(if parameter.dimension == dim::SPEED { 1e-6 } else { first });
            let wanted = if parameter.dimension == dim::TIME { was + DAY_S } else { 0.99 * was };
            let set = bed().with(parameter.path, wanted).unwrap_or_else(|error| panic!("{}: {error}", parameter.path));
            let found = parameter.get(&set).expect("a value");
            assert!((found - wanted).abs() <= 1e-9 * wanted, "{}: {found} for {wanted}", parameter.path);
            // Each of these has no value without its twin.
            let twins = ["du", "rate", "soil.suction", "soil.empty"];
            let others = PARAMETERS.iter().filter(|other| other.path != parameter.path && !twins.contains(&other.path));
            for other in others {
                assert_eq!(other.get(&set), other.get(&bed()), "{} moves {}", parameter.path, other.path);
            }
        }
        assert!(
            matches!(bed().with("crop.kc_midd", 1.0), Err(SeasonError::NoParameter { known, .. }) if known.contains(&"crop.kc_mid"))
        );
        assert!(bed().with("mulch", 130.0).is_err());
    }
}
