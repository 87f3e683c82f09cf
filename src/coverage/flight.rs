//! The flight of one drop through air that stands or moves: gravity, buoyancy and the drag of a sphere.
//!
//! m dv/dt = m g (1 - rho_a/rho_w) - rho_a/2 Cd A |v - w| (v - w), by Runge-Kutta steps of fixed order. One drop with drag flies less far
//! than a jet, so nothing here says how far a head throws; it says where wind takes a drop whose calm throw is known.

use crate::numeric::seek;
use crate::quantity::STANDARD_GRAVITY_M_PER_S2 as GRAVITY;

/// Density of water, kg/m3, and of air at 20 degC, kg/m3, and kinematic viscosity of that air, m2/s.
pub const WATER_KG_PER_M3: f64 = 999.1;
/// Density of air at 20 degC and sea level, kg/m3.
pub const AIR_KG_PER_M3: f64 = 1.2047;
/// Kinematic viscosity of that air, m2/s.
pub const AIR_M2_PER_S: f64 = 1.511e-5;
/// Velocity of a jet over that of Torricelli. Common practice, no source: nozzles lose 2 to 4 % of it.
const JET_SHARE: f64 = 0.98;

/// A step is at most this share of the time in which drag would take all speed of the drop.
const STEP_SHARE: f64 = 0.3;
/// The longest step, s.
const LONGEST_STEP_S: f64 = 0.04;
/// Steps of a flight at most; a drop that is still in the air then is fog.
const MOST_STEPS: usize = 4000;
/// The smallest and the largest drop that are looked for, m.
const DROPS_M: (f64, f64) = (2e-5, 2e-2);
/// A drop from which the search starts, m.
const USUAL_DROP_M: f64 = 2e-3;

/// Drag coefficient of a smooth sphere.
///
/// Source: N.-S. Cheng, Comparison of formulas for drag coefficient and settling velocity of spherical particles, Powder Technology 189
/// (2009): 24/Re (1 + 0.27 Re)^0.43 + 0.47 (1 - exp(-0.04 Re^0.38)), below Re 2e5, as in the documentation of fluids 1.3.1.
pub fn sphere_drag(reynolds: f64) -> f64 {
    24.0 / reynolds * (1.0 + 0.27 * reynolds).powf(0.43) - 0.47 * (-0.04 * reynolds.powf(0.38)).exp_m1()
}

/// Velocity of the jet of a nozzle at a gauge pressure, m/s.
pub fn jet_m_per_s(pressure_pa: f64) -> f64 {
    JET_SHARE * (2.0 * pressure_pa.max(0.0) / WATER_KG_PER_M3).sqrt()
}

/// How drops leave a head.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Launch {
    /// Speed, m/s.
    pub speed_m_per_s: f64,
    /// Angle above level ground, degrees.
    pub angle_deg: f64,
    /// Height above the ground, m.
    pub height_m: f64,
}

/// Where and when a drop comes down.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Landing {
    /// Distance from the head in the direction of the wind, m.
    pub along_m: f64,
    /// Distance to the left of that direction, m.
    pub across_m: f64,
    /// Time in the air, s.
    pub time_s: f64,
}

/// Speed relative to the air at which a drop of a diameter falls evenly, m/s.
pub fn terminal_speed_m_per_s(drop_m: f64) -> f64 {
    let pull = 4.0 / 3.0 * drop_m * GRAVITY * (WATER_KG_PER_M3 / AIR_KG_PER_M3 - 1.0);
    let mut speed = 1.0;
    // v2 Cd(v) = pull, and v2 Cd rises with v; the fixed point v = sqrt(pull / Cd) comes closer in every round.
    for _ in 0..200 {
        let next = (pull / sphere_drag(speed * drop_m / AIR_M2_PER_S)).sqrt();
        if (next - speed).abs() <= 1e-12 * next {
            return next;
        }
        speed = next;
    }
    speed
}

/// Place and velocity: along the wind, across it, up.
type State = [f64; 6];

impl Launch {
    /// The flight of a drop that is thrown at an angle to the direction of the wind, rad, to the left of it.
    pub fn fly(&self, drop_m: f64, wind_m_per_s: f64, bearing_rad: f64) -> Landing {
        let (sin, cos) = self.angle_deg.to_radians().sin_cos();
        let (across, along) = bearing_rad.sin_cos();
        let level = self.speed_m_per_s * cos;
        let mut now: State = [0.0, 0.0, self.height_m, level * along, level * across, self.speed_m_per_s * sin];
        let mut time_s = 0.0;
        let slowing = |state: &State| {
            let (u, v, w) = (state[3] - wind_m_per_s, state[4], state[5]);
            let speed = (u * u + v * v + w * w).sqrt().max(1e-9);
            0.75 * sphere_drag(speed * drop_m / AIR_M2_PER_S) * AIR_KG_PER_M3 / WATER_KG_PER_M3 * speed / drop_m
        };
        let change = |state: &State| -> State {
            let k = slowing(state);
            let fall = GRAVITY * (1.0 - AIR_KG_PER_M3 / WATER_KG_PER_M3);
            [state[3], state[4], state[5], -k * (state[3] - wind_m_per_s), -k * state[4], -fall - k * state[5]]
        };
        let moved = |state: &State, by: &State, step: f64| -> State { std::array::from_fn(|i| state[i] + step * by[i]) };
        let stepped = |state: &State, step: f64| -> State {
            let a = change(state);
            let b = change(&moved(state, &a, 0.5 * step));
            let c = change(&moved(state, &b, 0.5 * step));
            let d = change(&moved(state, &c, step));
            std::array::from_fn(|i| state[i] + step / 6.0 * (a[i] + 2.0 * (b[i] + c[i]) + d[i]))
        };
        for _ in 0..MOST_STEPS {
            let step_s = LONGEST_STEP_S.min(STEP_SHARE / slowing(&now));
            let next = stepped(&now, step_s);
            if next[2] > 0.0 {
                (now, time_s) = (next, time_s + step_s);
                continue;
            }
            // It came down within the step: the part of the step that ends on the ground, by Newton's method.
            let mut part_s = step_s * now[2] / (now[2] - next[2]);
            let mut down = stepped(&now, part_s);
            for _ in 0..3 {
                part_s = (part_s - down[2] / down[5]).clamp(0.0, step_s);
                down = stepped(&now, part_s);
            }
            return Landing { along_m: down[0], across_m: down[1], time_s: time_s + part_s };
        }
        Landing { along_m: now[0], across_m: now[1], time_s }
    }

    /// How far a drop flies in calm air, m.
    pub fn throw_m(&self, drop_m: f64) -> f64 {
        self.fly(drop_m, 0.0, 0.0).along_m
    }

    /// How far it would fly without air, m.
    pub fn throw_without_air_m(&self) -> f64 {
        let (sin, cos) = self.angle_deg.to_radians().sin_cos();
        let (up, level) = (self.speed_m_per_s * sin, self.speed_m_per_s * cos);
        level * (up + (up * up + 2.0 * GRAVITY * self.height_m).sqrt()) / GRAVITY
    }

    /// The drop whose calm throw is a distance, m; the largest or smallest drop where the throw is beyond theirs.
    pub fn drop_for_m(&self, throw_m: f64) -> f64 {
        // Throw grows nearly as a power of the diameter: in logarithms a few steps find it.
        let target = throw_m.max(1e-6).ln();
        let far = |log: f64| self.throw_m(log.exp()).max(1e-9).ln() - target;
        let (least, most) = (DROPS_M.0.ln(), DROPS_M.1.ln());
        let (mut low, mut high) = (USUAL_DROP_M.ln(), USUAL_DROP_M.ln());
        while far(high) < 0.0 {
            if high >= most {
                return DROPS_M.1;
            }
            (low, high) = (high, (high + 0.7).min(most));
        }
        while far(low) > 0.0 {
            if low <= least {
                return DROPS_M.0;
            }
            (low, high) = ((low - 0.7).max(least), low);
        }
        let found = seek(low, high, 1e-6, |log| Ok::<f64, std::convert::Infallible>(far(log)));
        found.map_or(low, |found| found.x).exp()
    }
}

/// Angle at which a head throws where it is not given, degrees. Common practice, no source: rotors throw at 25 degrees, low-angle
/// nozzles at 10 to 15.
pub const USUAL_ANGLE_DEG: f64 = 25.0;
