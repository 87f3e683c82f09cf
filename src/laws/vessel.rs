//! Stored water: how much a place holds at a pressure, and back. Tanks with an air cushion, lines that stretch, open tanks.
//!
//! Knows volumes and pressures, not what flows. Every law rises with the pressure, and a place that holds water is never
//! without the compression of the water in its line: no law is flat, below a precharge or above a rim.

use super::section::pressure_of_head_pa;
use crate::numeric::rising_root;
use crate::quantity::STANDARD_ATMOSPHERE_PA;

/// Pressure of the air at sea level, Pa.
pub const ATMOSPHERE_PA: f64 = STANDARD_ATMOSPHERE_PA;
/// Bulk modulus of water at 15 degC, Pa: rho w^2 of IAPWS-95 is 2.147 GPa (iapws 1.5.5). It makes trapped water a little elastic.
pub const WATER_BULK_MODULUS_PA: f64 = 2.15e9;
/// Overflow of an open tank for each Pa that the water is above its rim, m3/s/Pa: enough that it is never more than a hand's
/// breadth above the rim. It decides how high a film of water is, not how much runs over.
pub const OVER_RIM_M3_PER_S_PA: f64 = 1e-3;

/// One thing that holds water.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Vessel {
    /// An air cushion: nothing at or below its precharge, isothermal above it (Boyle's law).
    Cushion {
        /// Room for air and water together, m3.
        volume_m3: f64,
        /// Gauge pressure of the air while no water is in, Pa.
        precharge_pa: f64,
    },
    /// A constant volume a pressure: stretch of a hose, water that is compressed, an open tank with upright walls. It goes on
    /// below zero: a wall that stretches also gives way to suction.
    Linear {
        /// Water taken in for each pascal, m3/Pa.
        m3_per_pa: f64,
    },
}

impl Vessel {
    /// Water held at a gauge pressure, m3.
    #[inline]
    pub fn volume_m3(&self, pressure_pa: f64) -> f64 {
        match *self {
            Vessel::Cushion { volume_m3, precharge_pa } if pressure_pa > precharge_pa => {
                // V = V0 (P - P0) / (P + Pa): Boyle's law, written so that nothing cancels.
                volume_m3 * (pressure_pa - precharge_pa) / (pressure_pa + ATMOSPHERE_PA)
            }
            Vessel::Cushion { .. } => 0.0,
            Vessel::Linear { m3_per_pa } => m3_per_pa * pressure_pa,
        }
    }

    /// Volume for a small rise of pressure, m3/Pa.
    #[inline]
    pub fn m3_per_pa(&self, pressure_pa: f64) -> f64 {
        match *self {
            Vessel::Cushion { volume_m3, precharge_pa } if pressure_pa > precharge_pa => {
                let absolute_pa = pressure_pa + ATMOSPHERE_PA;
                volume_m3 * (precharge_pa + ATMOSPHERE_PA) / (absolute_pa * absolute_pa)
            }
            Vessel::Cushion { .. } => 0.0,
            Vessel::Linear { m3_per_pa } => m3_per_pa,
        }
    }
}

/// Volume that an open tank with upright walls holds for each pressure at its outlet, m3/Pa.
pub fn open_tank_m3_per_pa(volume_m3: f64, level_m: f64, density_kg_per_m3: f64) -> f64 {
    volume_m3 / pressure_of_head_pa(level_m, density_kg_per_m3)
}

/// A vessel of a store and what its pressure differs by from that of the store, Pa.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Held {
    /// What holds the water.
    pub vessel: Vessel,
    /// Pressure at the vessel less that of the store, Pa: that of the height between them.
    pub offset_pa: f64,
}

impl Held {
    /// Water held at a pressure of the store, m3.
    pub fn volume_m3(&self, pressure_pa: f64) -> f64 {
        self.vessel.volume_m3(pressure_pa + self.offset_pa)
    }

    /// Volume for a small rise of the pressure of the store, m3/Pa.
    #[inline]
    pub fn m3_per_pa(&self, pressure_pa: f64) -> f64 {
        self.vessel.m3_per_pa(pressure_pa + self.offset_pa)
    }
}

/// All vessels at one place that no resistance keeps apart. At least one of them is linear.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Store {
    /// The vessels, each with its difference of pressure.
    pub held: Vec<Held>,
    /// The pressure at which an open tank is full to its rim, Pa.
    pub rim_pa: Option<f64>,
}

/// The pressure of a store and its slope.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stand {
    /// Gauge pressure of the store, Pa.
    pub pressure_pa: f64,
    /// Rise of pressure for a small volume, Pa/m3.
    pub pa_per_m3: f64,
}

impl Store {
    /// Water held at a pressure, m3.
    pub fn volume_m3(&self, pressure_pa: f64) -> f64 {
        self.held.iter().map(|held| held.volume_m3(pressure_pa)).sum()
    }

    /// Volume for a small rise of pressure, m3/Pa.
    #[inline]
    pub fn m3_per_pa(&self, pressure_pa: f64) -> f64 {
        self.held.iter().map(|held| held.m3_per_pa(pressure_pa)).sum()
    }

    /// The pressure at which it holds a volume, Pa.
    pub fn pressure_pa(&self, volume_m3: f64) -> f64 {
        self.stand(volume_m3, 0.0).pressure_pa
    }

    /// The pressure at which a volume is held or, above the rim, has run over in `span_s` seconds.
    pub fn stand(&self, volume_m3: f64, span_s: f64) -> Stand {
        if let Some(rim_pa) = self.rim_pa {
            let (over_m3, spills) = (volume_m3 - self.volume_m3(rim_pa), span_s * OVER_RIM_M3_PER_S_PA);
            if over_m3 > 0.0 && spills > 0.0 {
                return Stand { pressure_pa: rim_pa + over_m3 / spills, pa_per_m3: 1.0 / spills };
            }
        }
        let (mut linear, mut rest_m3) = (0.0, volume_m3);
        let mut cushion = None;
        let (mut cushions, mut all_rooms_m3) = (0, 0.0);
        for held in &self.held {
            match held.vessel {
                Vessel::Linear { m3_per_pa } => {
                    linear += m3_per_pa;
                    rest_m3 -= m3_per_pa * held.offset_pa;
                }
                Vessel::Cushion { volume_m3, precharge_pa } => {
                    cushion = Some((volume_m3, precharge_pa, held.offset_pa));
                    cushions += 1;
                    all_rooms_m3 += volume_m3;
                }
            }
        }
        let pressure_pa = match cushion {
            None => return Stand { pressure_pa: rest_m3 / linear, pa_per_m3: 1.0 / linear },
            Some(_) if cushions > 1 => {
                // Cushions hold something between nothing and all their room.
                let (low_pa, high_pa) = ((rest_m3 - all_rooms_m3) / linear, rest_m3 / linear);
                let excess = |pressure_pa: f64| (self.volume_m3(pressure_pa) - volume_m3, self.m3_per_pa(pressure_pa));
                rising_root(low_pa, high_pa, ATMOSPHERE_PA.clamp(low_pa, high_pa), 0.0, excess)
            }
            Some((room_m3, precharge_pa, offset_pa)) => {
                // In terms of the pressure at the cushion.
                pressure_of_cushion(linear, room_m3, precharge_pa, rest_m3 + linear * offset_pa) - offset_pa
            }
        };
        Stand { pressure_pa, pa_per_m3: 1.0 / self.m3_per_pa(pressure_pa) }
    }

    /// The most volume that it takes for a small rise of pressure, whatever its pressure, m3/Pa.
    pub fn most_m3_per_pa(&self) -> f64 {
        let most = |vessel: &Vessel| match *vessel {
            Vessel::Cushion { volume_m3, precharge_pa } => volume_m3 / (precharge_pa + ATMOSPHERE_PA),
            Vessel::Linear { m3_per_pa } => m3_per_pa,
        };
        self.held.iter().map(|held| most(&held.vessel)).sum()
    }

    /// The least volume that it takes for a small rise of pressure below its rim, m3/Pa: that of what takes some at any pressure.
    pub fn least_m3_per_pa(&self) -> f64 {
        let least = |vessel: &Vessel| match *vessel {
            Vessel::Cushion { .. } => 0.0,
            Vessel::Linear { m3_per_pa } => m3_per_pa,
        };
        self.held.iter().map(|held| least(&held.vessel)).sum()
    }

    /// Whether its law bends: a cushion, or a rim.
    pub fn has_edges(&self) -> bool {
        self.rim_pa.is_some() || self.held.iter().any(|held| matches!(held.vessel, Vessel::Cushion { .. }))
    }

    /// Pressures at which its law has a kink, with the number of the vessel: a precharge.
    pub fn kinks_pa(&self) -> impl Iterator<Item = (usize, f64)> + '_ {
        self.held.iter().enumerate().filter_map(|(index, held)| match held.vessel {
            Vessel::Cushion { precharge_pa, .. } => Some((index, precharge_pa - held.offset_pa)),
            Vessel::Linear { .. } => None,
        })
    }
}

/// The pressure at which a cushion beside a linear store holds a volume: the root of a quadratic, in the form without
/// cancellation.
fn pressure_of_cushion(linear: f64, room_m3: f64, precharge_pa: f64, held_m3: f64) -> f64 {
    if held_m3 <= linear * precharge_pa {
        return held_m3 / linear;
    }
    // k y^2 + (V0 - W - k Pa) y - V0 (P0 + Pa) = 0 for the absolute pressure y.
    let half = 0.5 * (room_m3 - held_m3 - linear * ATMOSPHERE_PA);
    let last = room_m3 * (precharge_pa + ATMOSPHERE_PA);
    let root = (half * half + linear * last).sqrt();
    let absolute_pa = if half > 0.0 { last / (half + root) } else { (root - half) / linear };
    absolute_pa - ATMOSPHERE_PA
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn linear(m3_per_pa: f64, offset_pa: f64) -> Held {
        Held { vessel: Vessel::Linear { m3_per_pa }, offset_pa }
    }

    fn cushion(volume_m3: f64, precharge_pa: f64, offset_pa: f64) -> Held {
        Held { vessel: Vessel::Cushion { volume_m3, precharge_pa }, offset_pa }
    }

    #[test]
    fn the_pressure_of_a_volume_is_that_at_which_it_holds_it() {
        let stores = [
            vec![linear(3e-10, 2e3), linear(4.7e-13, 0.0)],
            vec![cushion(0.02, 1.9e5, -3e3), linear(3e-10, 0.0)],
            vec![cushion(0.02, 1.9e5, -3e3), linear(4.7e-13, 0.0)],
            vec![cushion(0.02, 1.9e5, -3e3), cushion(0.1, 1e5, 5e3), linear(4.7e-13, 0.0)],
        ];
        for held in stores {
            let store = Store { held, rim_pa: None };
            for pressure_pa in [-2e4, 0.0, 1e5, 1.929e5, 1.931e5, 3e5, 9e5, 1e8] {
                let found = store.stand(store.volume_m3(pressure_pa), 1.0);
                // Volumes carry some 16 digits, of which the flat parts far above and below lose some.
                assert_relative_eq!(found.pressure_pa, pressure_pa, max_relative = 1e-8, epsilon = 1e-6);
                assert_relative_eq!(found.pa_per_m3 * store.m3_per_pa(pressure_pa), 1.0, max_relative = 1e-6);
            }
        }
    }

    #[test]
    fn above_its_rim_an_open_tank_stands_as_high_as_what_runs_over_wants() {
        let store = Store { held: vec![linear(1e-5, 0.0)], rim_pa: Some(1e4) };
        assert_relative_eq!(store.stand(0.09, 2.0).pressure_pa, 9e3, max_relative = 1e-14);
        // A liter over in two seconds: half a pascal at a liter a second and pascal.
        assert_relative_eq!(store.stand(0.101, 2.0).pressure_pa, 1e4 + 0.5, max_relative = 1e-9);
    }
}
