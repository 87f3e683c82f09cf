//! How a run begins: everything closed for a long time, pumps off, tanks filled as far as the supply fills them.

use super::error::OperationError;
use super::plant::{Plant, heights_m};
use crate::garden::GardenError;
use crate::hydraulics::{Network, PumpState};
use crate::laws::section::pressure_of_head_pa;

/// Pressures of the storages at the beginning. `held_pa` is what the garden still holds where that is more, at the height of
/// its first source: water at rest has more pressure where it stands lower. Gauge, Pa.
///
/// Errors: the network cannot be made. A rest without a steady state is no error: the run begins empty.
pub fn at_rest_pa(plant: &Plant, held_pa: Option<f64>) -> Result<Vec<f64>, OperationError> {
    let parts = plant.hydraulic.parts();
    let mut open: Vec<bool> = parts.iter().map(|part| !(part.traits().opens || part.traits().demands)).collect();
    plant.storages.iter().filter(|storage| storage.barrel.is_none()).for_each(|storage| open[storage.source] = false);
    let solve = || -> Result<Vec<f64>, GardenError> {
        let mut network = Network::new(&plant.hydraulic, &open)?;
        plant.boosters.iter().for_each(|&booster| network.run_pump(booster, PumpState::Off));
        // Where even this has no steady state the run begins empty.
        Ok(if network.solve().is_ok() {
            network.node_pressures_pa().to_vec()
        } else {
            vec![f64::NAN; plant.hydraulic.layout().number_of_nodes]
        })
    };
    let node_pa = solve()?;
    let places = &plant.hydraulic.layout().places;
    let heights_m = heights_m(&plant.hydraulic);
    let density_kg_per_m3 = plant.garden.water().density_kg_per_m3;
    let pressure = |storage: &super::storage::Storage| {
        if let Some(barrel) = storage.barrel {
            return barrel.full_pa;
        }
        let fed_pa = node_pa[places[storage.source].to];
        let fed_pa = if fed_pa.is_nan() { 0.0 } else { fed_pa };
        let node = places[storage.source].to;
        held_pa.map_or(fed_pa, |held_pa| fed_pa.max(held_pa - pressure_of_head_pa(heights_m[node], density_kg_per_m3)))
    };
    Ok(plant.storages.iter().map(pressure).collect())
}
