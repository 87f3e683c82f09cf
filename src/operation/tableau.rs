//! The weights of the implicit Runge-Kutta methods by which steps are taken.
//!
//! Both are L-stable and stiffly accurate: their last stage is the end of the step. All stages that are solved have one weight of their own
//! flow, so each is a steady solve over the same span.

/// Stages of a method at most.
pub const MOST_STAGES: usize = 6;

/// A method. Rows and weights of fewer stages end in zeros.
pub struct Tableau {
    /// How many stages it has.
    pub stages: usize,
    /// The stages that are solved; those before them are the state at the start.
    pub first_solved: usize,
    /// The weight of a stage in its own state.
    pub own: f64,
    /// What each stage takes of the flows at those before it and at itself. The last row holds the weights of the step.
    pub weights: [[f64; MOST_STAGES]; MOST_STAGES],
    /// Weights beside those of the step, one order lower.
    pub beside: [f64; MOST_STAGES],
    /// Order of the weights beside.
    pub order_beside: u32,
}

impl Tableau {
    /// The weights of the step.
    pub fn of_step(&self) -> &[f64; MOST_STAGES] {
        &self.weights[self.stages - 1]
    }

    /// When a stage is, as a share of the step.
    pub fn when(&self, stage: usize) -> f64 {
        self.weights[stage].iter().sum()
    }
}

/// The root of x^3 - 3x^2 + 3x/2 - 1/6 that makes a method of three stages L-stable.
const GAMMA: f64 = 0.435_866_521_508_459;

/// Order three, without the flows at the start, which between stores that do not agree are endless.
///
/// Source: R. Alexander, Diagonally implicit Runge-Kutta methods for stiff ODEs, SIAM J. Numer. Anal. 14 (1977), from memory.
pub const THREE: Tableau = Tableau {
    stages: 3,
    first_solved: 0,
    own: GAMMA,
    weights: [
        [GAMMA, 0.0, 0.0, 0.0, 0.0, 0.0],
        [0.5 * (1.0 - GAMMA), GAMMA, 0.0, 0.0, 0.0, 0.0],
        [
            -(6.0 * GAMMA * GAMMA - 16.0 * GAMMA + 1.0) / 4.0,
            (6.0 * GAMMA * GAMMA - 20.0 * GAMMA + 5.0) / 4.0,
            GAMMA,
            0.0,
            0.0,
            0.0,
        ],
        [0.0; MOST_STAGES],
        [0.0; MOST_STAGES],
        [0.0; MOST_STAGES],
    ],
    beside: [GAMMA / (1.0 - GAMMA), (1.0 - 2.0 * GAMMA) / (1.0 - GAMMA), 0.0, 0.0, 0.0, 0.0],
    order_beside: 2,
};

/// Order four; its first stage is the state at the start.
///
/// Source: ARK4(3)6L[2]SA, the implicit half, of C. A. Kennedy and M. H. Carpenter, Additive Runge-Kutta schemes for convection-diffusion-reaction
/// equations, Appl. Numer. Math. 44 (2003), from memory.
pub const FOUR: Tableau = Tableau {
    stages: 6,
    first_solved: 1,
    own: 0.25,
    weights: [
        [0.0; MOST_STAGES],
        [0.25, 0.25, 0.0, 0.0, 0.0, 0.0],
        [8_611.0 / 62_500.0, -1_743.0 / 31_250.0, 0.25, 0.0, 0.0, 0.0],
        [5_012_029.0 / 34_652_500.0, -654_441.0 / 2_922_500.0, 174_375.0 / 388_108.0, 0.25, 0.0, 0.0],
        [
            15_267_082_809.0 / 155_376_265_600.0,
            -71_443_401.0 / 120_774_400.0,
            730_878_875.0 / 902_184_768.0,
            2_285_395.0 / 8_070_912.0,
            0.25,
            0.0,
        ],
        [82_889.0 / 524_892.0, 0.0, 15_625.0 / 83_664.0, 69_875.0 / 102_672.0, -2_260.0 / 8_211.0, 0.25],
    ],
    beside: [
        4_586_570_599.0 / 29_645_900_160.0,
        0.0,
        178_811_875.0 / 945_068_544.0,
        814_220_225.0 / 1_159_782_912.0,
        -3_700_637.0 / 11_593_932.0,
        61_727.0 / 225_920.0,
    ],
    order_beside: 3,
};

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    type Weights = [f64; MOST_STAGES];

    fn times(weights: &Weights, values: &Weights) -> f64 {
        weights.iter().zip(values).map(|(weight, value)| weight * value).sum()
    }

    /// What each weight must give up to an order, beside what it gives, for autonomous problems of any dimension: one condition for each
    /// rooted tree (J. C. Butcher; E. Hairer, S. P. Norsett and G. Wanner, Solving Ordinary Differential Equations I, section II.2).
    fn conditions(tableau: &Tableau, weights: &Weights, order: u32) -> Vec<(f64, f64)> {
        let each = |value: &dyn Fn(usize) -> f64| -> Weights { std::array::from_fn(value) };
        let c = each(&|stage| tableau.when(stage));
        let inner = |values: &Weights| each(&|stage| times(&tableau.weights[stage], values));
        let (square, cube) = (each(&|stage| c[stage].powi(2)), each(&|stage| c[stage].powi(3)));
        let beside = each(&|stage| c[stage] * inner(&c)[stage]);
        let trees = [
            (1, [1.0; MOST_STAGES], 1.0),
            (2, c, 2.0),
            (3, square, 3.0),
            (3, inner(&c), 6.0),
            (4, cube, 4.0),
            (4, beside, 8.0),
            (4, inner(&square), 12.0),
            (4, inner(&inner(&c)), 24.0),
        ];
        trees.iter().filter(|(of, ..)| *of <= order).map(|(_, values, parts)| (times(weights, values), 1.0 / parts)).collect()
    }

    #[test]
    fn the_weights_keep_the_conditions_of_their_order_and_not_those_of_the_next() {
        for (tableau, order) in [(&THREE, 3), (&FOUR, 4)] {
            for (weights, order) in [(tableau.of_step(), order), (&tableau.beside, tableau.order_beside)] {
                for (found, wanted) in conditions(tableau, weights, order) {
                    assert_relative_eq!(found, wanted, max_relative = 1e-12);
                }
            }
            assert_eq!(tableau.order_beside + 1, order);
            let off = |(found, wanted): (f64, f64)| (found - wanted).abs() > 1e-4;
            assert!(conditions(tableau, &tableau.beside, order).into_iter().any(off), "they give no error");
        }
    }

    /// y' = z y: the share of y that is left by a step with h z = `z`, stage by stage.
    fn left(tableau: &Tableau, z: f64) -> f64 {
        let mut values = [1.0; MOST_STAGES];
        for stage in tableau.first_solved..tableau.stages {
            let before: f64 = (0..stage).map(|other| tableau.weights[stage][other] * values[other]).sum();
            values[stage] = (1.0 + z * before) / (1.0 - z * tableau.own);
        }
        values[tableau.stages - 1]
    }

    #[test]
    fn what_is_stiff_is_gone_after_one_step_and_nothing_grows_that_should_fade() {
        for (tableau, order) in [(&THREE, 3), (&FOUR, 4)] {
            assert!(left(tableau, -1e9).abs() < 1e-8, "{}", left(tableau, -1e9));
            for z in (1..400).map(|step| -0.1 * 1.05f64.powi(step)) {
                assert!(left(tableau, z).abs() < 1.0, "{} at {z}", left(tableau, z));
            }
            // Half the step has an error that is less by two to the power of the order, and one more.
            let error = |z: f64| (left(tableau, z) - z.exp()).abs();
            assert_relative_eq!((error(-0.04) / error(-0.02)).log2(), f64::from(order + 1), max_relative = 0.02);
        }
    }
}
