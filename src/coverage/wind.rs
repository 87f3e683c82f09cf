//! The rain of a head in wind: each ring of its pattern is the drop whose calm throw it is, flown again in the wind.
//!
//! Where a drop lands hardly depends on anything but its ring and the angle between throw and wind, so a few rings at a few angles
//! say it for all: along the angle the way that the wind takes it is a short series of cosines and sines.

use super::flight::{Launch, jet_m_per_s};
use super::raster::Raster;
use super::spray::{Profile, Spray};
use std::f64::consts::{FRAC_PI_4, TAU};

/// Angles between throw and wind that are flown: every eighth of a turn from down the wind to up the wind.
const ANGLES: usize = 5;
/// From one ring to the next smaller one the drop shrinks by this factor.
const SMALLER: f64 = 0.75;
/// Rings inside this share of the throw move like the one on it: little water falls there, and ever finer drops would be fog.
const INNERMOST: f64 = 0.1;
/// Rings of drops at most.
const MOST_RINGS: usize = 16;
/// Rings of the mesh that carries the water, and angles of it in a full circle, at least and at most.
const MESH_RINGS: (f64, f64) = (16.0, 40.0);
const MESH_ANGLES: (f64, f64) = (48.0, 120.0);
/// Cells that a piece of the mesh is wide and high, about.
const MESH_CELLS: f64 = 1.5;

/// Wind that is the same all over the garden.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wind {
    /// Speed, m/s.
    pub speed_m_per_s: f64,
    /// Bearing from which it blows, degrees clockwise from the y axis of the plan: 270 from the left.
    pub from_deg: f64,
}

impl Wind {
    /// The direction in which it blows, on the plan.
    pub fn toward(&self) -> (f64, f64) {
        let (sin, cos) = self.from_deg.to_radians().sin_cos();
        (-sin, -cos)
    }
}

/// Where a ring of drops is taken: the way along the wind as a series of cosines, across it of sines.
#[derive(Clone, Copy, Debug)]
struct Ring {
    /// Calm throw as a share of that of the head.
    share: f64,
    along_m: [f64; ANGLES],
    across_m: [f64; ANGLES],
}

/// Where the wind takes the drops of one head.
#[derive(Clone, Debug)]
pub struct Drift {
    /// From the outermost ring inward.
    rings: Vec<Ring>,
}

impl Drift {
    /// The drift of a head that throws a distance in calm air.
    pub fn of(launch: &Launch, throw_m: f64, wind_m_per_s: f64) -> Drift {
        let mut drop_m = launch.drop_for_m(throw_m);
        let mut rings: Vec<Ring> = Vec::new();
        while rings.len() < MOST_RINGS {
            let calm_m = launch.throw_m(drop_m);
            // Where no drop flies as far as the head throws, the largest one stands for the outermost ring.
            let share = if rings.is_empty() { 1.0 } else { calm_m / throw_m };
            rings.push(Ring::of(launch, drop_m, share, calm_m, wind_m_per_s));
            if calm_m <= INNERMOST * throw_m {
                break;
            }
            drop_m *= SMALLER;
        }
        Drift { rings }
    }

    /// The ways along and across the wind of water whose calm throw is a share of that of the head, thrown at an angle to the wind, rad.
    pub fn at(&self, share: f64, angle_rad: f64) -> (f64, f64) {
        let ring = self.ring(share);
        ring.at(angle_rad)
    }

    fn ring(&self, share: f64) -> Ring {
        let next = self.rings.partition_point(|ring| ring.share > share.max(INNERMOST));
        let (outer, inner) = match (next.checked_sub(1).map(|index| self.rings[index]), self.rings.get(next)) {
            (Some(outer), Some(&inner)) => (outer, inner),
            (Some(only), None) => return only,
            (None, Some(&only)) => return only,
            (None, None) => return Ring { share, along_m: [0.0; ANGLES], across_m: [0.0; ANGLES] },
        };
        let part = (share.max(INNERMOST) - inner.share) / (outer.share - inner.share);
        let mix = |outer: [f64; ANGLES], inner: [f64; ANGLES]| std::array::from_fn(|i| inner[i] + part * (outer[i] - inner[i]));
        Ring { share, along_m: mix(outer.along_m, inner.along_m), across_m: mix(outer.across_m, inner.across_m) }
    }
}

impl Ring {
    fn of(launch: &Launch, drop_m: f64, share: f64, calm_m: f64, wind_m_per_s: f64) -> Ring {
        let ways: [(f64, f64); ANGLES] = std::array::from_fn(|index| {
            let angle = FRAC_PI_4 * index as f64;
            let landing = launch.fly(drop_m, wind_m_per_s, angle);
            (landing.along_m - calm_m * angle.cos(), landing.across_m - calm_m * angle.sin())
        });
        // The series through all five angles; ends of the cosines count half, and there are no sines at the ends.
        let half = |index: usize| if index == 0 || index == ANGLES - 1 { 0.5 } else { 1.0 };
        let wave = |index: usize, order: usize| FRAC_PI_4 * (index * order) as f64;
        let along_m = std::array::from_fn(|order| {
            let sum: f64 = (0..ANGLES).map(|index| half(index) * ways[index].0 * wave(index, order).cos()).sum();
            0.5 * half(order) * sum
        });
        let across_m = std::array::from_fn(|order| {
            if order == ANGLES - 1 {
                0.0
            } else {
                0.5 * (0..ANGLES).map(|index| ways[index].1 * wave(index, order).sin()).sum::<f64>()
            }
        });
        Ring { share, along_m, across_m }
    }

    fn at(&self, angle_rad: f64) -> (f64, f64) {
        let mut way = (self.along_m[0], 0.0);
        for order in 1..ANGLES {
            let (sin, cos) = (angle_rad * order as f64).sin_cos();
            way = (way.0 + self.along_m[order] * cos, way.1 + self.across_m[order] * sin);
        }
        way
    }
}

/// Cosine and sine of a direction, and sine and cosine of the multiples of its angle to the wind.
type Direction = (f64, f64, [(f64, f64); ANGLES]);

/// The grid on which water is gathered, m.
#[derive(Clone, Copy, Debug)]
pub struct Cells {
    pub left_m: f64,
    pub bottom_m: f64,
    pub width_m: f64,
    pub height_m: f64,
}

/// How the drops of a head leave it.
pub fn launch_of(spray: &Spray) -> Launch {
    Launch { speed_m_per_s: jet_m_per_s(spray.pressure_pa), angle_deg: spray.trajectory_deg, height_m: spray.riser_m }
}

/// Adds the water of a head in wind to a grid; returns its mean way, m, on the plan.
pub fn blow(spray: &Spray, profile: Profile, wind: &Wind, cells: Cells, raster: &mut Raster) -> (f64, f64) {
    let drift = Drift::of(&launch_of(spray), spray.radius_m, wind.speed_m_per_s);
    let (ex, ey) = wind.toward();
    let wind_rad = ey.atan2(ex);
    let fine = spray.radius_m / (MESH_CELLS * cells.width_m.min(cells.height_m));
    let n_rings = fine.clamp(MESH_RINGS.0, MESH_RINGS.1).ceil() as usize;
    let whole = (TAU * fine).clamp(MESH_ANGLES.0, MESH_ANGLES.1);
    let arc_rad = spray.arc_deg.min(360.0).to_radians();
    let n_angles = (whole * arc_rad / TAU).ceil().max(4.0) as usize;
    let start_rad = spray.middle_deg.to_radians() - 0.5 * arc_rad;
    let directions: Vec<Direction> = (0..=n_angles)
        .map(|index| {
            let angle = start_rad + arc_rad * index as f64 / n_angles as f64;
            let (sin, cos) = angle.sin_cos();
            (cos, sin, std::array::from_fn(|order| ((angle - wind_rad) * order as f64).sin_cos()))
        })
        .collect();
    let ring_at = |share: f64| -> Vec<(f64, f64)> {
        let ring = drift.ring(share);
        let place = |(cos, sin, waves): &Direction| {
            let along: f64 = waves.iter().zip(ring.along_m).map(|(wave, way)| wave.1 * way).sum();
            let across: f64 = waves.iter().zip(ring.across_m).map(|(wave, way)| wave.0 * way).sum();
            let throw_m = share * spray.radius_m;
            let x_m = spray.x_m + throw_m * cos + along * ex - across * ey;
            let y_m = spray.y_m + throw_m * sin + along * ey + across * ex;
            ((x_m - cells.left_m) / cells.width_m, (y_m - cells.bottom_m) / cells.height_m)
        };
        directions.iter().map(place).collect()
    };
    let mut mean = (0.0, 0.0);
    let mut inner = ring_at(0.0);
    // Densities of the triangles on the outer side of the ring before: what a ring shares with the next one is added once.
    let mut before = vec![0.0; n_angles];
    for index in 1..=n_rings {
        let (from, share) = ((index - 1) as f64 / n_rings as f64, index as f64 / n_rings as f64);
        let outer = ring_at(share);
        let of_water = (profile.within(share) - profile.within(from)) / n_angles as f64;
        let water = of_water * spray.flow_m3_per_s;
        // A ring sector is a triangle on its outer side and one on its inner side; their ground is as their radii.
        let of_outer = share / (share + from);
        let mut beside = 0.0;
        for place in 0..n_angles {
            let [a, b, c, d] = [inner[place], outer[place], outer[place + 1], inner[place + 1]];
            let on_outer = raster.density([a, b, c], water * of_outer);
            let on_inner = if from > 0.0 { raster.density([a, c, d], water * (1.0 - of_outer)) } else { 0.0 };
            raster.add_side(a, b, on_outer - beside);
            raster.add_side(a, c, on_inner - on_outer);
            raster.add_side(a, d, before[place] - on_inner);
            (beside, before[place]) = (on_inner, on_outer);
        }
        raster.add_side(outer[n_angles], inner[n_angles], beside);
        let middle = drift.ring(0.5 * (share + from));
        for place in 0..n_angles {
            let (along, across) = middle.at(start_rad - wind_rad + arc_rad * (place as f64 + 0.5) / n_angles as f64);
            mean = (mean.0 + of_water * (along * ex - across * ey), mean.1 + of_water * (along * ey + across * ex));
        }
        inner = outer;
    }
    for (place, density) in before.iter().enumerate() {
        raster.add_side(inner[place], inner[place + 1], *density);
    }
    mean
}

#[cfg(test)]
mod tests {
    use super::*;

    const ROTOR: Launch = Launch { speed_m_per_s: 23.2, angle_deg: 25.0, height_m: 0.5 };

    #[test]
    fn the_series_says_where_a_drop_lands_at_any_angle() {
        for wind_m_per_s in [1.0, 3.0, 6.0] {
            let drift = Drift::of(&ROTOR, 12.0, wind_m_per_s);
            for share in [1.0, 0.8, 0.5, 0.3, 0.15] {
                let drop_m = ROTOR.drop_for_m(12.0 * share);
                let calm_m = ROTOR.throw_m(drop_m);
                for step in 0..24 {
                    let angle = TAU / 24.0 * f64::from(step) + 0.1;
                    let flown = ROTOR.fly(drop_m, wind_m_per_s, angle);
                    let way = drift.at(share, angle);
                    let off = (flown.along_m - calm_m * angle.cos() - way.0).hypot(flown.across_m - calm_m * angle.sin() - way.1);
                    assert!(off < 0.03 * wind_m_per_s, "{wind_m_per_s} {share} {angle}: off by {off}");
                }
            }
        }
    }

    #[test]
    fn no_wind_takes_nothing_anywhere() {
        let drift = Drift::of(&ROTOR, 12.0, 0.0);
        let (along, across) = drift.at(0.7, 1.0);
        assert!(along.abs() < 1e-6 && across.abs() < 1e-6, "{along} {across}");
        assert_eq!(Wind { speed_m_per_s: 1.0, from_deg: 270.0 }.toward().0, 1.0);
    }

    #[test]
    fn a_throw_beyond_all_drops_still_drifts() {
        let drift = Drift::of(&Launch { speed_m_per_s: 4.0, ..ROTOR }, 12.0, 3.0);
        let (along, _) = drift.at(1.0, 0.5);
        assert!(along > 0.0 && along < 12.0, "{along}");
    }
}
