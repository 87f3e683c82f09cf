//! A storage: the water that one place of a garden holds, with the source by which it feeds the garden.
//!
//! How much is held at a pressure is the law of `laws::vessel`.

use crate::laws::vessel::Store;
use std::sync::Arc;

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
    /// The vessels there, as one law of volume and pressure.
    pub store: Arc<Store>,
    /// The part of each vessel of the store, by its place in the garden; none for the compression of the water.
    pub places: Vec<Option<usize>>,
    /// What the open tank among them adds; none where there is none.
    pub barrel: Option<Barrel>,
}

impl Storage {
    /// Water held at a pressure, m3.
    pub fn volume_m3(&self, pressure_pa: f64) -> f64 {
        self.store.volume_m3(pressure_pa)
    }

    /// Volume for a small rise of pressure, m3/Pa.
    #[inline]
    pub fn m3_per_pa(&self, pressure_pa: f64) -> f64 {
        self.store.m3_per_pa(pressure_pa)
    }

    /// Water that comes into it by itself, m3/s.
    pub fn inflow_m3_per_s(&self) -> f64 {
        self.barrel.map_or(0.0, |barrel| barrel.inflow_m3_per_s)
    }

    /// The parts whose law has a kink, with the pressure of the storage at which it is.
    pub fn kinks_pa(&self) -> impl Iterator<Item = (usize, f64)> + '_ {
        self.store.kinks_pa().filter_map(|(index, kink_pa)| Some((self.places[index]?, kink_pa)))
    }
}
