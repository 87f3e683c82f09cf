//! The law of friction for pipes side by side, a single pipe included: Colebrook's root, and what is remembered of it.

use crate::numeric::lanes::Numbers;
use crate::numeric::lns;
use std::f64::consts::LN_10;

/// Reynolds number up to which flow is laminar.
pub const LAMINAR_UP_TO: f64 = 2000.0;
/// Reynolds number from which flow is turbulent.
pub const TURBULENT_FROM: f64 = 4000.0;

/// From the natural logarithm to twice the common one.
const TWO_OVER_LN10: f64 = 2.0 / LN_10;
/// The root that is begun with when nothing better is known: that of a smooth hose at a Reynolds number of some 10,000.
const FIRST_ROOT: f64 = 6.0;
/// Inverse roots below this have no place on the Moody chart; a guess from far off may lead there.
const LEAST_INVERSE_ROOT: f64 = 0.03;
/// Steps to a root at most; from any guess three do.
const MOST_STEPS: usize = 20;
/// Share by which a Reynolds number may differ from that of the memory for the root to be taken from its Taylor series.
/// The fourth term left out is below 0.03 x share^4, 3e-12 of the root.
const NEAR: f64 = 3e-3;

/// Pipes side by side, made ready for many evaluations of their loss.
#[derive(Clone, Copy, Debug)]
pub struct Pipes<N: Numbers> {
    /// Roughness over 3.7 diameters: the constant term of Colebrook's equation.
    pub walls: N,
    /// Reynolds number = this x flow.
    pub reynolds_per_flow: N,
    /// Loss = friction factor x this x flow^2.
    pub loss_per_factor: N,
}

/// What one evaluation leaves for the next, which saves logarithms: y = 1/x = sqrt(f), where x is the root of Colebrook's equation, and its
/// derivatives to the growth of the Reynolds number.
#[derive(Clone, Copy, Debug)]
pub struct Remembered<N: Numbers> {
    /// sqrt(f) at its Reynolds number.
    pub(super) inverse_root: N,
    /// One over its Reynolds number; zero where nothing but a guess is known.
    inverse_reynolds: N,
    /// First derivative, half the second, a sixth of the third.
    series: [N; 3],
    /// The root belongs to other walls.
    stale: N::Mask,
}

impl<N: Numbers> Remembered<N> {
    /// Nothing but a first guess of the root, or of none where that is not above zero: as many as there are of some number, which has no other meaning.
    #[inline(always)]
    pub fn guess(like: N, root: f64) -> Self {
        let zero = like.like(0.0);
        let inverse_root = like.like(1.0 / if root > 0.0 { root } else { FIRST_ROOT });
        Remembered { inverse_root, inverse_reynolds: zero, series: [zero; 3], stale: zero.lt(zero) }
    }

    /// Keeps no more than a first guess in these lanes: what they hold belongs to other walls.
    #[inline(always)]
    pub fn forget(&mut self, lanes: N::Mask) {
        self.stale = self.stale | lanes;
    }

    /// What is known of nothing, in these lanes.
    #[inline(always)]
    pub fn begin_again(&mut self, lanes: N::Mask) {
        let zero = self.inverse_root.like(0.0);
        self.inverse_root = N::choose(lanes, zero.like(1.0 / FIRST_ROOT), self.inverse_root);
        self.inverse_reynolds = N::choose(lanes, zero, self.inverse_reynolds);
        for term in &mut self.series {
            *term = N::choose(lanes, zero, *term);
        }
        self.stale = self.stale & !lanes;
    }

    /// sqrt(f) at turbulent Reynolds numbers: from the memory, or in those lanes that matter and whose memory is too far off solved for and kept.
    #[inline(always)]
    fn inverse_root_at(&mut self, walls: N, reynolds: N, live: N::Mask) -> N {
        let growth = reynolds * self.inverse_reynolds - 1.0;
        let near = growth.abs().lt(growth.like(NEAR)) & !self.stale;
        let lost = live & !near;
        if N::any(lost) {
            self.solve(walls, reynolds, growth, lost);
        }
        let [first, second, third] = self.series;
        N::choose(near, self.inverse_root + growth * (first + growth * (second + growth * third)), self.inverse_root)
    }

    /// Solves Colebrook's equation x = -2 log10(a + b x) in these lanes, by the inverse of its Taylor series to the third order, which needs one
    /// logarithm a step and whose error shrinks with its fourth power.
    ///
    /// Source: C. F. Colebrook, J. Inst. Civ. Eng. 11 (1939): 1/sqrt(f) = -2 log10(e/(3.7 D) + 2.51/(Re sqrt(f))).
    #[inline(always)]
    fn solve(&mut self, a: N, reynolds: N, growth: N, lanes: N::Mask) {
        let one = reynolds.like(1.0);
        let inverse_reynolds = one / reynolds;
        let b = inverse_reynolds * 2.51;
        // By the logarithm of the ratio of both Reynolds numbers, roughly, which is sane for any ratio.
        let logarithm = growth * 2.0 / (growth + 2.0);
        let [first, second, _] = self.series;
        let guess = self.inverse_root + logarithm * (first + logarithm * (second + first * 0.5));
        let mut x = one / guess.or_greater(guess.like(LEAST_INVERSE_ROOT));
        let mut open = lanes;
        for _ in 0..MOST_STEPS {
            let argument = a + b * x;
            let value = x + lns(argument) * TWO_OVER_LN10;
            let sum = argument + b * TWO_OVER_LN10;
            let inverse = one / (argument * sum);
            // With u = b/(a + b x) the slope is 1 + 2 u/ln 10; the second and third derivative over it are -k and 2 k u.
            let (u, over_slope) = (b * sum * inverse, argument * argument * inverse);
            let (newton, k) = (value * over_slope, u * u * over_slope * TWO_OVER_LN10);
            let step = newton * (newton * k * (newton * (k * 0.5 - u * (1.0 / 3.0)) - 0.5) + 1.0);
            x = N::choose(open, x - step, x);
            // The next error is below 1e-4 of the fourth power of this step, which is rounding.
            open = open & !step.abs().lt(x * 1e-3);
            if !N::any(open) {
                break;
            }
        }
        self.keep(a, b, N::choose(open, x.like(f64::NAN), x), inverse_reynolds, lanes);
    }

    /// Keeps a root and its derivatives. With u = b/(a + b x), c = 2 u/ln 10 and d = x - x' the derivatives to ln Re follow from
    /// b' = -b: x' = c d, u' = u (u d - 1), x'' (1 + c) = c' d + c x', and one more by the same rules.
    #[inline(always)]
    fn keep(&mut self, a: N, b: N, x: N, inverse_reynolds: N, lanes: N::Mask) {
        let argument = a + b * x;
        let sum = argument + b * TWO_OVER_LN10;
        let inverse = x.like(1.0) / (argument * sum * x);
        let (u, over) = (b * sum * x * inverse, argument * argument * x * inverse);
        let c = u * TWO_OVER_LN10;
        let d = x * over;
        let x1 = c * d;
        let w = u * d - 1.0;
        let (u1, c1) = (u * w, c * w);
        let x2 = (c1 * d + c * x1) * over;
        let d1 = x1 - x2;
        let c2 = c1 * w + c * (u1 * d + u * d1);
        let x3 = (c2 * d + c1 * d1 * 2.0 + c * x2) * over;
        // Of y = 1/x, by what each derivative of x is of x.
        let y = argument * sum * inverse;
        let (r1, r2, r3) = (x1 * y, x2 * y, x3 * y);
        let (y1, y2, y3) = (-(r1 * y), (r1 * r1 * 2.0 - r2) * y, (r1 * (r2 - r1 * r1) * 6.0 - r3) * y);
        // From derivatives to ln Re to those to the growth of Re.
        let series = [y1, (y2 - y1) * 0.5, (y3 - y2 * 3.0 + y1 * 2.0) * (1.0 / 6.0)];
        self.inverse_root = N::choose(lanes, y, self.inverse_root);
        self.inverse_reynolds = N::choose(lanes, inverse_reynolds, self.inverse_reynolds);
        for (kept, term) in self.series.iter_mut().zip(series) {
            *kept = N::choose(lanes, term, *kept);
        }
        self.stale = self.stale & !lanes;
    }
}

/// The root 1/sqrt(f) at a turbulent Reynolds number, solved to rounding error from the guess in a memory.
pub(super) fn root(relative_roughness: f64, reynolds: f64, mut memory: Remembered<f64>) -> f64 {
    memory.inverse_root_at(relative_roughness / 3.7, reynolds, true);
    1.0 / memory.inverse_root
}

impl<N: Numbers> Pipes<N> {
    /// Loss and slope at flows of either sign. What is remembered changes in the lanes that matter only.
    ///
    /// The slope of turbulent flow is right to a share of some 1e-4, the loss to 1e-11.
    #[inline(always)]
    pub fn loss(&self, flow: N, memory: &mut Remembered<N>, live: N::Mask) -> (N, N) {
        let size = flow.abs();
        let reynolds = self.reynolds_per_flow * size;
        let turbulent = flow.like(TURBULENT_FROM);
        let y = memory.inverse_root_at(self.walls, reynolds.or_greater(turbulent), live);
        // f = y^2, and from d f/d ln Re = 2 y y' the slope of f q^2.
        let steepness = self.loss_per_factor * size;
        let (mut loss, mut slope) = (steepness * y * y * flow, steepness * y * (y + memory.series[0]) * 2.0);
        let below = reynolds.lt(turbulent);
        if N::any(below) {
            let low = 64.0 / LAMINAR_UP_TO;
            let rise = (y * y - low) / (TURBULENT_FROM - LAMINAR_UP_TO);
            let factor = rise * (reynolds - LAMINAR_UP_TO) + low;
            loss = N::choose(below, steepness * factor * flow, loss);
            slope = N::choose(below, steepness * (factor * 2.0 + rise * reynolds), slope);
            // f = 64/Re makes the loss a straight line through zero.
            let laminar = reynolds.le(flow.like(LAMINAR_UP_TO));
            let straight = self.loss_per_factor * 64.0 / self.reynolds_per_flow;
            loss = N::choose(laminar, straight * flow, loss);
            slope = N::choose(laminar, straight, slope);
        }
        (loss, slope)
    }
}
