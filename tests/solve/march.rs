//! Small networks worked out by hand: bisection and a friction factor of its own, nothing of the library but quantities.

const DENSITY: f64 = 999.1;
const VISCOSITY: f64 = 1.138e-3;
const ROUGHNESS_M: f64 = 1.5e-6;

/// Loss of a smooth hose: 64/Re, Colebrook-White by repeated insertion, a straight line in Re between.
pub fn hose_loss(length_m: f64, diameter_m: f64, flow: f64) -> f64 {
    let area = std::f64::consts::PI * diameter_m * diameter_m / 4.0;
    let speed = flow / area;
    let re = DENSITY * speed.abs() * diameter_m / VISCOSITY;
    let colebrook = |re: f64| {
        let once = |f: f64, _| (-2.0 * (ROUGHNESS_M / diameter_m / 3.7 + 2.51 / (re * f.sqrt())).log10()).powi(-2);
        (0..14).fold(0.03, once)
    };
    let factor = if re <= 2000.0 {
        64.0 / re.max(1e-12)
    } else if re >= 4000.0 {
        colebrook(re)
    } else {
        0.032 + (colebrook(4000.0) - 0.032) * (re - 2000.0) / 2000.0
    };
    factor * length_m / diameter_m * DENSITY * speed * speed.abs() / 2.0
}

/// Resistance of a nozzle: P = resistance q^2.
pub fn nozzle(diameter_m: f64) -> f64 {
    let area = 0.96 * std::f64::consts::PI * diameter_m * diameter_m / 4.0;
    DENSITY / 2.0 / (area * area)
}

/// Where a rising function crosses zero.
pub fn bisect(mut low: f64, mut high: f64, rising: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if rising(middle) < 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// A length of trunk and, at its end, a branch of hose and head; lengths and diameters in m.
#[derive(Clone, Copy, Debug)]
pub struct Rung {
    pub trunk: (f64, f64),
    pub branch: (f64, f64),
    pub nozzle_m: f64,
}

impl Rung {
    fn branch_flow(&self, pressure: f64) -> f64 {
        let excess = |flow: f64| hose_loss(self.branch.0, self.branch.1, flow) + nozzle(self.nozzle_m) * flow * flow - pressure;
        bisect(0.0, 0.01, excess)
    }
}

/// Head flows of a ladder of rungs on a supply, marched from the far end: the pressure there is bisected.
pub fn ladder(static_pa: f64, resistance: f64, rungs: &[Rung]) -> Vec<f64> {
    let march = |last_pa: f64| {
        let (mut pressure, mut flow) = (last_pa, 0.0);
        let mut flows = Vec::new();
        for rung in rungs.iter().rev() {
            let branch = rung.branch_flow(pressure);
            flows.push(branch);
            flow += branch;
            pressure += hose_loss(rung.trunk.0, rung.trunk.1, flow);
        }
        flows.reverse();
        (pressure - (static_pa - resistance * flow * flow), flows)
    };
    march(bisect(0.0, static_pa, |last_pa| march(last_pa).0)).1
}

/// Flows of two heads on a ring fed at one point: hoses to each, one between them, which is cut and its flow bisected.
pub fn ring(pressure: f64, to_first: (f64, f64), to_second: (f64, f64), between: (f64, f64), nozzles_m: [f64; 2]) -> [f64; 2] {
    // Pressure at a head whose hose brings `flow` while `extra` comes from the other side.
    let head = |hose: (f64, f64), nozzle_m: f64, extra: f64| {
        let off = |flow: f64| {
            let out = flow + extra;
            hose_loss(hose.0, hose.1, flow) + nozzle(nozzle_m) * out * out.abs() - pressure
        };
        let flow = bisect(-0.01, 0.01, off);
        (flow + extra, pressure - hose_loss(hose.0, hose.1, flow))
    };
    let at = |cut: f64| (head(to_first, nozzles_m[0], cut), head(to_second, nozzles_m[1], -cut));
    let cut = bisect(-5e-4, 5e-4, |cut| {
        let ((_, first_pa), (_, second_pa)) = at(cut);
        first_pa + hose_loss(between.0, between.1, cut) - second_pa
    });
    let ((first, _), (second, _)) = at(cut);
    [first, second]
}
