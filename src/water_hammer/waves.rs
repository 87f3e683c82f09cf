//! Wave speed in a yielding wall, and the formulas of Joukowsky and Michaud for the water hammer of a line.

use crate::laws::section::area_m2;

/// A round wall: thickness and modulus of elasticity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wall {
    /// Thickness of the wall, m.
    pub thickness_m: f64,
    /// Modulus of elasticity of its material, Pa.
    pub modulus_pa: f64,
}

/// What is taken for a hose without a stretch: a reinforced soft garden hose, 3 mm of 100 MPa. Common practice, no
/// source: moduli of soft and reinforced hoses run from 20 to 300 MPa; a stiffer one makes more water hammer.
pub const DEFAULT_HOSE_WALL: Wall = Wall { thickness_m: 3e-3, modulus_pa: 1e8 };
/// What is taken for a pipe without a stretch: 3 mm of rigid PVC, 2760 MPa (400,000 psi,
/// ASTM D1784 cell class 12454; from memory).
pub const DEFAULT_PIPE_WALL: Wall = Wall { thickness_m: 3e-3, modulus_pa: 2.76e9 };

/// Volume that a pipe of this wall takes up for each pressure and length, m3/(Pa m): A D / (E e).
///
/// Thin wall, free to move lengthwise. Source: ring formula, as in D. J. Korteweg, Annalen der Physik (1878), from memory.
pub fn compliance_of_wall(diameter_m: f64, wall: Wall) -> f64 {
    area_m2(diameter_m) * diameter_m / (wall.modulus_pa * wall.thickness_m)
}

/// Speed of a pressure wave, m/s: a = sqrt(1 / (rho (1/K + stretch/A))).
///
/// `bulk_modulus_pa` is that of the water, `stretch` the volume the wall gives for each pressure and length. With
/// stretch = A D / (E e) this is Korteweg's formula, a = sqrt((K/rho) / (1 + K D / (E e))).
/// Source: E. B. Wylie and V. L. Streeter, Fluid Transients (1978), chapter 1 (from memory).
pub fn wave_speed(density_kg_per_m3: f64, bulk_modulus_pa: f64, diameter_m: f64, stretch: f64) -> f64 {
    (density_kg_per_m3 * (1.0 / bulk_modulus_pa + stretch / area_m2(diameter_m))).sqrt().recip()
}

/// Rise of pressure when the speed changes at once, Pa: rho a dV.
///
/// Source: N. Joukowsky, Memoires de l'Academie Imperiale des Sciences de St.-Petersbourg, series 8, 9 (1900), from memory.
pub fn joukowsky_pa(density_kg_per_m3: f64, wave_speed_m_per_s: f64, speed_change_m_per_s: f64) -> f64 {
    density_kg_per_m3 * wave_speed_m_per_s * speed_change_m_per_s
}

/// Time in which a wave runs up a line and back, s: twice the sum of L/a. A valve that closes faster acts as if at once.
pub fn reflection_time_s(hoses: impl IntoIterator<Item = (f64, f64)>) -> f64 {
    2.0 * hoses.into_iter().map(|(length_m, wave_speed_m_per_s)| length_m / wave_speed_m_per_s).sum::<f64>()
}

/// Rise of pressure when a valve closes evenly in a time longer than the reflection time, Pa: 2 rho sum(L V) / T.
///
/// `hoses` are lengths and speeds. For hoses in series the moving mass counts.
/// Source: J. Michaud, Bulletin de la Societe Vaudoise (1878), from memory.
pub fn michaud_pa(density_kg_per_m3: f64, hoses: impl IntoIterator<Item = (f64, f64)>, closing_time_s: f64) -> f64 {
    let moving: f64 = hoses.into_iter().map(|(length_m, speed_m_per_s)| length_m * speed_m_per_s).sum();
    2.0 * density_kg_per_m3 * moving / closing_time_s
}
