//! Terms of laws that neither are straight nor go with the square of the flow, and are no pipes: powers of the flow, and what boosters add.

use crate::laws::powers::Powers;
use crate::numeric::lanes::{F, Mask, Vector};
use crate::parts::{Curve, FlowTable, Law};

/// How many numbers a piece of a term has: of a power the share of a flow from which on it counts and those of its law, of a curve the flow from which
/// on it counts, the rise there, and the factors of what the flow is more and of the square of that.
pub const PIECE: usize = 4;

/// Exponent less one above which Newton's steps on the flow do not arrive soon.
pub const STEEP: f64 = 1.5;

/// A piece that never counts.
const NO_PIECE: [f64; PIECE] = [f64::INFINITY, 0.0, 0.0, 0.0];

/// A term of a law that bends.
#[derive(Clone, Copy, Debug)]
pub enum Bent<'l> {
    Power(Powers<f64>),
    Table(&'l FlowTable),
    Rise(&'l Curve),
}

impl<'l> Bent<'l> {
    /// That of a law, if it has one.
    pub fn of(law: &'l Law) -> Option<Bent<'l>> {
        match law {
            Law::HazenWilliams { pipe, .. } => Some(Bent::Power(pipe.powers())),
            Law::Power { coefficient, exponent } => Some(Bent::Power(Powers::through(*coefficient, 1.0, 1.0 / exponent))),
            Law::Tabulated { table } => Some(Bent::Table(table)),
            Law::Booster { curve, .. } => Some(Bent::Rise(curve)),
            _ => None,
        }
    }

    /// How many pieces it has.
    pub fn pieces(&self) -> usize {
        match self {
            Bent::Power(_) => 1,
            Bent::Table(table) => table.number_of_pieces(),
            Bent::Rise(curve) => curve.number_of_pieces(),
        }
    }

    /// The numbers of one of its pieces, or of one that never counts beyond the last.
    pub fn piece(&self, piece: usize) -> [f64; PIECE] {
        let power = |from: f64, Powers { per_flow, steepness, above_one }: Powers<f64>| [from, per_flow, steepness, above_one];
        match self {
            _ if piece >= self.pieces() => NO_PIECE,
            Bent::Power(powers) => power(0.0, *powers),
            Bent::Table(table) => {
                let (from, powers) = table.piece(piece);
                power(from, powers)
            }
            Bent::Rise(curve) => curve.piece(piece),
        }
    }
}

/// A bent term of a link, by the places of its numbers.
#[derive(Clone, Copy, Debug)]
pub struct Bend {
    /// The part that it belongs to.
    pub place: usize,
    pub shape: Shape,
    /// The place of the first number of its first piece.
    pub number: usize,
    pub pieces: usize,
    /// Its link passes it in its own direction.
    pub forward: bool,
}

/// What kind of term it is.
#[derive(Clone, Copy, Debug)]
pub enum Shape {
    Power,
    /// What a booster adds while it runs, by its number among them.
    Rise(usize),
}

impl Bend {
    /// What it loses at flows in the direction of its link, with the slope. `runs` says which boosters run.
    #[inline(always)]
    pub fn loss<S: Vector, const W: usize>(&self, numbers: &[F<S, W>], runs: &[Mask<S, W>], flow: F<S, W>) -> (F<S, W>, F<S, W>) {
        match self.shape {
            Shape::Power => {
                let size = flow.abs();
                let [_, per_flow, steepness, above_one] = self.piece_at::<S, W, true>(numbers, size);
                Powers { per_flow, steepness, above_one }.loss(flow)
            }
            Shape::Rise(booster) => {
                let zero = flow.like(0.0);
                let own = if self.forward { flow } else { -flow };
                let above = own.or_greater(zero);
                let [from, rise, slope, bend] = self.piece_at::<S, W, false>(numbers, own);
                let past = above - from;
                let rise = runs[booster].keep(rise + past * (slope + bend * past));
                let slope = (runs[booster] & !own.lt(zero)).keep(slope + 2.0 * bend * past);
                (if self.forward { -rise } else { rise }, -slope)
            }
        }
    }

    /// The lanes, among some, in which it rises so steeply that its tangents mislead far from the answer.
    #[inline(always)]
    pub fn is_steep<S: Vector, const W: usize>(&self, numbers: &[F<S, W>], among: Mask<S, W>) -> Mask<S, W> {
        let mut steep = !among & among;
        if matches!(self.shape, Shape::Power) {
            for piece in 0..self.pieces {
                let above_one = numbers[self.number + PIECE * piece + 3];
                steep = steep | (among & above_one.gt(above_one.like(STEEP)));
            }
        }
        steep
    }

    /// The numbers of the last piece that counts at a flow: which is above where it begins, or with `INCLUSIVE` there too.
    #[inline(always)]
    fn piece_at<S: Vector, const W: usize, const INCLUSIVE: bool>(&self, numbers: &[F<S, W>], flow: F<S, W>) -> [F<S, W>; PIECE] {
        let first = self.number;
        let mut chosen = [numbers[first], numbers[first + 1], numbers[first + 2], numbers[first + 3]];
        for piece in 1..self.pieces {
            let first = self.number + PIECE * piece;
            let which = if INCLUSIVE { numbers[first].le(flow) } else { numbers[first].lt(flow) };
            chosen = [
                which.choose(numbers[first], chosen[0]),
                which.choose(numbers[first + 1], chosen[1]),
                which.choose(numbers[first + 2], chosen[2]),
                which.choose(numbers[first + 3], chosen[3]),
            ];
        }
        chosen
    }
}
