//! How fast soil takes water in, and when water begins to stand on it.

use crate::numeric::rising_root;

/// A law of intake.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Intake {
    /// A steady rate: a ring test that was left to run, or the rate of a texture.
    Steady {
        /// Rate, mm/h; above zero.
        mm_per_h: f64,
    },
    /// A wetting front that is drawn down: Green and Ampt, with steady rain after Mein and Larson.
    GreenAmpt {
        /// Saturated conductivity, mm/h; above zero.
        conductivity_mm_per_h: f64,
        /// Suction at the front, mm.
        suction_mm: f64,
        /// Share of the volume that is still empty.
        deficit: f64,
    },
    /// A fitted ring test, F = k t^a + f t with t in h: Kostiakov with a final rate.
    Kostiakov {
        /// Factor k, mm.
        factor_mm: f64,
        /// Exponent a, above 0 and below 1.
        exponent: f64,
        /// Final rate f, mm/h.
        final_mm_per_h: f64,
    },
}

impl Intake {
    /// The same with all its rates and depths times a factor: soil that was compacted or loosened, or a slope.
    pub fn scaled(self, factor: f64) -> Intake {
        match self {
            Intake::Steady { mm_per_h } => Intake::Steady { mm_per_h: factor * mm_per_h },
            Intake::GreenAmpt { conductivity_mm_per_h, suction_mm, deficit } => {
                Intake::GreenAmpt { conductivity_mm_per_h: factor * conductivity_mm_per_h, suction_mm, deficit }
            }
            Intake::Kostiakov { factor_mm, exponent, final_mm_per_h } => {
                Intake::Kostiakov { factor_mm: factor * factor_mm, exponent, final_mm_per_h: factor * final_mm_per_h }
            }
        }
    }

    /// The rate that it never falls below, mm/h.
    pub fn final_mm_per_h(&self) -> f64 {
        match *self {
            Intake::Steady { mm_per_h } => mm_per_h,
            Intake::GreenAmpt { conductivity_mm_per_h, .. } => conductivity_mm_per_h,
            Intake::Kostiakov { final_mm_per_h, .. } => final_mm_per_h,
        }
    }

    /// Sets the rate that it never falls below, mm/h.
    pub fn set_final(&mut self, rate_mm_per_h: f64) {
        match self {
            Intake::Steady { mm_per_h } => *mm_per_h = rate_mm_per_h,
            Intake::GreenAmpt { conductivity_mm_per_h, .. } => *conductivity_mm_per_h = rate_mm_per_h,
            Intake::Kostiakov { final_mm_per_h, .. } => *final_mm_per_h = rate_mm_per_h,
        }
    }

    /// The most it takes when a depth of water has gone in, mm/h.
    pub fn capacity_mm_per_h(&self, taken_mm: f64) -> f64 {
        match *self {
            Intake::Steady { mm_per_h } => mm_per_h,
            Intake::GreenAmpt { conductivity_mm_per_h, suction_mm, deficit } => {
                conductivity_mm_per_h * (1.0 + suction_mm * deficit / taken_mm.max(1e-9))
            }
            Intake::Kostiakov { factor_mm, exponent, final_mm_per_h } => {
                let time_h = kostiakov_time_h(factor_mm, exponent, final_mm_per_h, taken_mm.max(1e-9));
                exponent * factor_mm * time_h.powf(exponent - 1.0) + final_mm_per_h
            }
        }
    }

    /// How long water can be applied at a steady rate until it stands on dry ground, h; none where it never does.
    ///
    /// By time compression: soil that has taken a depth takes as much as if it had always stood under water until then.
    pub fn ponding_h(&self, rate_mm_per_h: f64) -> Option<f64> {
        if rate_mm_per_h <= self.final_mm_per_h() {
            return None;
        }
        Some(match *self {
            Intake::Steady { .. } => 0.0,
            Intake::GreenAmpt { conductivity_mm_per_h, suction_mm, deficit } => {
                conductivity_mm_per_h * suction_mm * deficit / (rate_mm_per_h * (rate_mm_per_h - conductivity_mm_per_h))
            }
            Intake::Kostiakov { factor_mm, exponent, final_mm_per_h } => {
                let time_h = (exponent * factor_mm / (rate_mm_per_h - final_mm_per_h)).powf(1.0 / (1.0 - exponent));
                (factor_mm * time_h.powf(exponent) + final_mm_per_h * time_h) / rate_mm_per_h
            }
        })
    }

    /// Depth that goes in within a time at a steady rate; the rest stands or runs off, mm.
    pub fn taken_mm(&self, rate_mm_per_h: f64, time_h: f64) -> f64 {
        let Some(ponding_h) = self.ponding_h(rate_mm_per_h).filter(|ponding_h| *ponding_h < time_h) else {
            return rate_mm_per_h * time_h;
        };
        let (before_mm, after_h) = (rate_mm_per_h * ponding_h, time_h - ponding_h);
        match *self {
            Intake::Steady { mm_per_h } => mm_per_h * time_h,
            Intake::GreenAmpt { conductivity_mm_per_h, suction_mm, deficit } => {
                let drawn_mm = suction_mm * deficit;
                let wanted_mm = conductivity_mm_per_h * after_h;
                let most_mm = rate_mm_per_h * time_h;
                rising_root(before_mm, most_mm, before_mm + wanted_mm, 1e-10, |taken_mm| {
                    let value =
                        taken_mm - before_mm - drawn_mm * ((taken_mm + drawn_mm) / (before_mm + drawn_mm)).ln() - wanted_mm;
                    (value, taken_mm / (taken_mm + drawn_mm))
                })
            }
            Intake::Kostiakov { factor_mm, exponent, final_mm_per_h } => {
                let since_h = kostiakov_time_h(factor_mm, exponent, final_mm_per_h, before_mm) + after_h;
                factor_mm * since_h.powf(exponent) + final_mm_per_h * since_h
            }
        }
    }
}

/// How fast a front that has gone down to a depth draws water from a puddle of a head, mm/h: Green and Ampt.
pub fn front_rate_mm_per_h(conductivity_mm_per_h: f64, suction_mm: f64, head_mm: f64, depth_mm: f64) -> f64 {
    conductivity_mm_per_h * (suction_mm + head_mm + depth_mm) / depth_mm
}

/// When such a front is at a depth, h, in ground of which a share is empty.
pub fn front_time_h(conductivity_mm_per_h: f64, suction_mm: f64, head_mm: f64, deficit: f64, depth_mm: f64) -> f64 {
    let drawn_mm = suction_mm + head_mm;
    deficit / conductivity_mm_per_h * (depth_mm - drawn_mm * (1.0 + depth_mm / drawn_mm).ln())
}

/// When a depth has gone into ground under water, h.
fn kostiakov_time_h(factor_mm: f64, exponent: f64, final_mm_per_h: f64, taken_mm: f64) -> f64 {
    let most_h = (taken_mm / factor_mm).powf(1.0 / exponent);
    rising_root(0.0, most_h, most_h, 1e-11, |time_h| {
        let value = factor_mm * time_h.powf(exponent) + final_mm_per_h * time_h - taken_mm;
        (value, exponent * factor_mm * time_h.powf(exponent - 1.0) + final_mm_per_h)
    })
}
