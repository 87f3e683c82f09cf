//! Stored water: how much a place holds at a pressure. Tanks with an air cushion, hoses that stretch, open tanks.
//!
//! Knows volumes and pressures, not what flows.

use crate::quantity::STANDARD_GRAVITY_M_PER_S2;

/// Pressure of the air at sea level, Pa.
pub const ATMOSPHERE_PA: f64 = 101_325.0;
/// Bulk modulus of water at 15 degC, Pa; handbook value, from memory. It makes trapped water a little elastic.
pub const WATER_BULK_MODULUS_PA: f64 = 2.15e9;

/// One thing that holds water.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Vessel {
    /// An air cushion: nothing at or below its precharge, isothermal above it.
    Cushion { volume_m3: f64, precharge_pa: f64 },
    /// A constant volume a pressure: hose stretch, water that is compressed, an open tank with upright walls.
    Linear { m3_per_pa: f64 },
}

impl Vessel {
    /// Water held at a gauge pressure, m3.
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

/// A vessel of a storage and what its pressure differs by from that of the storage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Item {
    /// The part, by its place in the garden; nothing for the compression of the water.
    pub place: Option<usize>,
    pub vessel: Vessel,
    pub offset_pa: f64,
}

/// What an open tank adds to a storage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Barrel {
    /// Its place in the garden.
    pub place: usize,
    pub inflow_m3_per_s: f64,
    pub full_pa: f64,
}

/// Water stored at one place: all vessels that no resistance keeps apart.
#[derive(Clone, Debug, PartialEq)]
pub struct Storage {
    /// The source, by its place in the garden that is solved, which stands for it.
    pub source: usize,
    pub items: Vec<Item>,
    pub barrel: Option<Barrel>,
}

impl Storage {
    /// Water held at a pressure, m3.
    pub fn volume_m3(&self, pressure_pa: f64) -> f64 {
        self.items.iter().map(|item| item.vessel.volume_m3(pressure_pa + item.offset_pa)).sum()
    }

    /// Volume for a small rise of pressure, m3/Pa.
    #[inline]
    pub fn m3_per_pa(&self, pressure_pa: f64) -> f64 {
        self.items.iter().map(|item| item.vessel.m3_per_pa(pressure_pa + item.offset_pa)).sum()
    }

    /// The pressure at which it holds a volume, by Newton's method inside a bracket; `near_pa` is a guess.
    pub fn pressure_pa(&self, volume_m3: f64, near_pa: f64) -> f64 {
        let (mut low, mut high) = (f64::NEG_INFINITY, f64::INFINITY);
        let mut pressure_pa = near_pa;
        for _ in 0..100 {
            let excess = self.volume_m3(pressure_pa) - volume_m3;
            if excess > 0.0 {
                high = high.min(pressure_pa);
            } else if excess < 0.0 {
                low = low.max(pressure_pa);
            } else {
                return pressure_pa;
            }
            let mut next = pressure_pa - excess / self.m3_per_pa(pressure_pa);
            if !(next > low && next < high) {
                next = match (low.is_finite(), high.is_finite()) {
                    (true, true) => 0.5 * (low + high),
                    (true, false) => low + 2.0 * (low.abs() + 1e3),
                    (false, true) => high - 2.0 * (high.abs() + 1e3),
                    (false, false) => 0.0,
                };
            }
            let step = (next - pressure_pa).abs();
            pressure_pa = next;
            if step <= 1e-14 * pressure_pa.abs() {
                break;
            }
        }
        pressure_pa
    }

    /// Pressures at which its law has a kink: a precharge.
    pub fn kinks_pa(&self) -> impl Iterator<Item = (usize, f64)> + '_ {
        self.items.iter().filter_map(|item| match item.vessel {
            Vessel::Cushion { precharge_pa, .. } => Some((item.place?, precharge_pa - item.offset_pa)),
            Vessel::Linear { .. } => None,
        })
    }
}

/// Volume that an open tank with upright walls holds for each pressure at its outlet, m3/Pa.
pub fn barrel_m3_per_pa(volume_m3: f64, level_m: f64, density_kg_per_m3: f64) -> f64 {
    volume_m3 / (density_kg_per_m3 * STANDARD_GRAVITY_M_PER_S2 * level_m)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_pressure_of_a_volume_is_that_at_which_it_holds_it() {
        let items = vec![
            Item { place: Some(1), vessel: Vessel::Cushion { volume_m3: 0.02, precharge_pa: 1.9e5 }, offset_pa: -3e3 },
            Item { place: Some(2), vessel: Vessel::Linear { m3_per_pa: 3e-10 }, offset_pa: 0.0 },
        ];
        let storage = Storage { source: 0, items, barrel: None };
        for pressure_pa in [-2e4, 0.0, 1e5, 1.929e5, 1.931e5, 3e5, 9e5] {
            let found = storage.pressure_pa(storage.volume_m3(pressure_pa), 2e5);
            // Volumes carry some 16 digits, of which the flat part below the precharge loses few.
            assert_relative_eq!(found, pressure_pa, max_relative = 1e-10, epsilon = 1e-6);
        }
    }
}
