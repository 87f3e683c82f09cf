//! Where the flows of a chain are heading: along a grid the numbers of the laws change from case to case by about as much, and so do the flows.

use crate::numeric::lanes::{F, Mask, Vector};

/// Share by which a number may change more or less than it did before to go on evenly.
const EVEN_WITHIN: f64 = 0.25;

/// What the last two cases of some chains say of the next.
pub struct Course<S: Vector, const W: usize> {
    /// The flows of all links in the case before the last one.
    earlier: Vec<F<S, W>>,
    /// By how much each number has changed to the last case.
    changes: Vec<F<S, W>>,
    /// All numbers go on evenly.
    even: Mask<S, W>,
    /// The last case has an answer, and so has the one before it.
    answered: [Mask<S, W>; 2],
}

impl<S: Vector, const W: usize> Course<S, W> {
    /// Of chains that have not begun.
    pub fn new(links: usize, numbers: usize, simd: S) -> Self {
        let (zero, no) = (F::splat(simd, 0.0), Mask::splat(simd, false));
        Course { earlier: vec![zero; links], changes: vec![zero; numbers], even: !no, answered: [no; 2] }
    }

    /// Of chains that begin again in these lanes.
    #[inline(always)]
    pub fn forget(&mut self, lanes: Mask<S, W>) {
        self.answered = self.answered.map(|answered| answered & !lanes);
    }

    /// Takes note of the change of a number.
    #[inline(always)]
    pub fn note(&mut self, number: usize, change: F<S, W>) {
        let before = self.changes[number];
        self.even = self.even & (change - before).abs().le(before.abs() * EVEN_WITHIN);
        self.changes[number] = change;
    }

    /// Moves flows from the last case on in these lanes, as far as they moved to the last one, where all numbers go on evenly.
    #[inline(always)]
    pub fn follow(&mut self, flows: &mut [F<S, W>], lanes: Mask<S, W>) {
        let [last, before_last] = self.answered;
        let follows = lanes & last & before_last & self.even;
        for (flow, earlier) in flows.iter_mut().zip(&mut self.earlier) {
            let ahead = *flow + (*flow - *earlier);
            // No flow turns on the way.
            let moves = follows & (ahead * *flow).gt(ahead.like(0.0));
            *earlier = lanes.choose(*flow, *earlier);
            *flow = moves.choose(ahead, *flow);
        }
        self.answered = [last | lanes, (last & lanes) | (before_last & !lanes)];
        self.even = !lanes | lanes;
    }
}
