//! How much of a head's water falls on a rectangle of ground: the integral of its application rate, in closed form.
//!
//! Seen from the head, the ground between it and a stretch of a straight line is a triangle. In polar coordinates the rate on
//! it is an integral over the angle alone, of F(r), the integral of rate x distance up to the line or to the end of the
//! throw. Around a rectangle the triangles of the four sides add up to its water, each positive or negative (Green's
//! theorem), whether the head is inside or outside. Lengths are in throws of the head here.

use super::spray::{Pattern, Profile, Spray};
use crate::parts::Layer;
use smallvec::SmallVec;
use std::f64::consts::{FRAC_PI_2, TAU};

/// A share of a head's water that is rounding: the four sides of a rectangle beyond the throw cancel to it.
const ROUNDING: f64 = 1e-13;

/// Rectangles in columns and rows, by the lines between them, m.
#[derive(Clone, Debug)]
pub struct Lattice {
    pub xs_m: Vec<f64>,
    pub ys_m: Vec<f64>,
}

impl Lattice {
    /// Shares of a head's water on the rectangles that its throw may reach, handed over with column and row.
    pub fn each_share(&self, spray: &Spray, pattern: Pattern, mut take: impl FnMut(usize, usize, f64)) {
        each_layer(spray, pattern, |spray, pattern, of_water| {
            self.each_share_of_layer(spray, pattern, |column, row, share| take(column, row, of_water * share));
        });
    }

    fn each_share_of_layer(&self, spray: &Spray, pattern: Pattern, mut take: impl FnMut(usize, usize, f64)) {
        let (columns, rows) = (reached(&self.xs_m, spray.x_m, spray.radius_m), reached(&self.ys_m, spray.y_m, spray.radius_m));
        let sector = Sector::of(spray, pattern);
        // In throws, as the head sees them.
        let xs: Vec<f64> = self.xs_m[columns.start..=columns.end].iter().map(|x_m| (x_m - spray.x_m) / spray.radius_m).collect();
        let ys: Vec<f64> = self.ys_m[rows.start..=rows.end].iter().map(|y_m| (y_m - spray.y_m) / spray.radius_m).collect();
        let along = |y: f64| -> Vec<f64> {
            let front = sector.front((0.0, y), (1.0, 0.0));
            xs.iter().map(|x| front.at(*x)).collect()
        };
        let fronts: Vec<Front> = xs.iter().map(|x| sector.front((*x, 0.0), (0.0, 1.0))).collect();
        let up = |y: f64| -> Vec<f64> { fronts.iter().map(|front| front.at(y)).collect() };
        let (mut below, mut lower) = (along(ys[0]), up(ys[0]));
        for (row, y) in rows.zip(&ys[1..]) {
            let (above, upper) = (along(*y), up(*y));
            for (index, column) in columns.clone().enumerate() {
                let level = below[index + 1] - below[index] - (above[index + 1] - above[index]);
                let upright = upper[index + 1] - lower[index + 1] - (upper[index] - lower[index]);
                let share = level + upright;
                if share > ROUNDING {
                    take(column, row, share);
                }
            }
            (below, lower) = (above, upper);
        }
    }
}

/// The head as it is where it has a pattern; where cans were set out, cones and a disc of several reaches on top of each other, each
/// with its share of the water.
fn each_layer(spray: &Spray, pattern: Pattern, mut take: impl FnMut(&Spray, Pattern, f64)) {
    match spray.profile(pattern) {
        Profile::Pattern(pattern) => take(spray, pattern, 1.0),
        Profile::Measured(cans) => {
            for Layer { reach, share, flat } in cans.layers() {
                let layer = Spray { radius_m: reach * spray.radius_m, measured: None, ..spray.clone() };
                take(&layer, if flat { Pattern::Disc } else { Pattern::Cone }, share);
            }
        }
    }
}

/// Share of a head's water that falls on a convex outline, whose corners run counterclockwise.
pub fn share_on(spray: &Spray, pattern: Pattern, corners: &[(f64, f64)]) -> f64 {
    let mut sum = 0.0;
    each_layer(spray, pattern, |spray, pattern, of_water| {
        let sector = Sector::of(spray, pattern);
        let next = corners.iter().cycle().skip(1);
        let around =
            corners.iter().zip(next).map(|(from, to)| sector.before(sector.seen(from.0, from.1), sector.seen(to.0, to.1)));
        sum += of_water * around.sum::<f64>();
    });
    sum.max(0.0)
}

/// Numbers of the intervals between lines that lie within a throw of a place.
fn reached(lines_m: &[f64], place_m: f64, radius_m: f64) -> std::ops::Range<usize> {
    let intervals = lines_m.len().saturating_sub(1);
    let first = lines_m.partition_point(|line| *line <= place_m - radius_m).saturating_sub(1);
    let end = lines_m.partition_point(|line| *line < place_m + radius_m).min(intervals);
    first.min(end)..end
}

/// The sector that a head waters.
struct Sector<'s> {
    spray: &'s Spray,
    pattern: Pattern,
    /// Half the angle, rad; none for a full circle.
    half_rad: Option<f64>,
    middle_rad: f64,
    /// Water of the whole sector where the rate at the head is one.
    whole: f64,
}

impl Sector<'_> {
    fn of(spray: &Spray, pattern: Pattern) -> Sector<'_> {
        let arc_rad = spray.arc_deg.to_radians().min(TAU);
        Sector {
            spray,
            pattern,
            half_rad: (spray.arc_deg < 360.0).then_some(0.5 * arc_rad),
            middle_rad: spray.middle_deg.to_radians(),
            whole: arc_rad * up_to_the_end(pattern),
        }
    }

    /// A place as the head sees it, in throws.
    fn seen(&self, x_m: f64, y_m: f64) -> (f64, f64) {
        ((x_m - self.spray.x_m) / self.spray.radius_m, (y_m - self.spray.y_m) / self.spray.radius_m)
    }

    /// Share of the water that falls between the head and a line, below zero where the line runs clockwise around it.
    fn before(&self, from: (f64, f64), to: (f64, f64)) -> f64 {
        let (dx, dy) = (to.0 - from.0, to.1 - from.1);
        let length = dx.hypot(dy);
        if length == 0.0 {
            return 0.0;
        }
        let toward = (dx / length, dy / length);
        let front = self.front(from, toward);
        let along = |at: (f64, f64)| at.0 * toward.0 + at.1 * toward.1;
        front.at(along(to)) - front.at(along(from))
    }

    /// The straight line through a place in a direction of length one.
    fn front(&self, through: (f64, f64), (dx, dy): (f64, f64)) -> Front {
        let turn = through.0 * dy - through.1 * dx;
        let (sign, line) = (turn.signum(), Line { pattern: self.pattern, away: turn.abs() });
        let mut pieces = SmallVec::new();
        if turn != 0.0 {
            match self.half_rad {
                None => pieces.push(line.piece(f64::NEG_INFINITY, f64::INFINITY)),
                Some(half_rad) => {
                    // Angles count from the nearest point of the line, in the direction of the line.
                    let nearest_rad = (-sign * dx).atan2(sign * dy);
                    let middle_rad = sign * (self.middle_rad - nearest_rad);
                    let middle_rad = middle_rad - TAU * (middle_rad / TAU).round();
                    for turn in [-TAU, 0.0, TAU] {
                        let ends = [middle_rad - half_rad + turn, middle_rad + half_rad + turn];
                        if ends[0] < FRAC_PI_2 && ends[1] > -FRAC_PI_2 {
                            let at = |rad: f64, beyond: f64| if rad.abs() < FRAC_PI_2 { line.away * rad.tan() } else { beyond };
                            pieces.push(line.piece(at(ends[0], f64::NEG_INFINITY), at(ends[1], f64::INFINITY)));
                        }
                    }
                }
            }
        }
        Front { line, pieces, scale: sign / self.whole }
    }
}

/// A line as a head waters the ground before it: within its sector alone.
struct Front {
    line: Line,
    pieces: SmallVec<[Piece; 2]>,
    scale: f64,
}

/// A stretch of a line within the sector, with the water between its nearest point and both ends.
struct Piece {
    from: f64,
    to: f64,
    at_from: f64,
    at_to: f64,
}

impl Front {
    /// Share of the water between the head and the line up to a place along it. Differences of two places count, as the place from
    /// which it starts is any.
    fn at(&self, along: f64) -> f64 {
        let of = |piece: &Piece| match along {
            along if along <= piece.from => 0.0,
            along if along >= piece.to => piece.at_to - piece.at_from,
            along => self.line.water(along) - piece.at_from,
        };
        self.scale * self.pieces.iter().map(of).sum::<f64>()
    }
}

/// A straight line that passes a head at a distance.
struct Line {
    pattern: Pattern,
    away: f64,
}

impl Line {
    fn piece(&self, from: f64, to: f64) -> Piece {
        Piece { from, to, at_from: self.water(from), at_to: self.water(to) }
    }

    /// Water between the head and the line, from its nearest point to one at a distance along it.
    fn water(&self, along: f64) -> f64 {
        let end = (1.0 - self.away * self.away).max(0.0).sqrt();
        let inside = along.clamp(-end, end);
        let beyond_rad = if inside == along { 0.0 } else { along.atan2(self.away) - inside.atan2(self.away) };
        up_to_a_line(self.pattern, self.away, inside) + up_to_the_end(self.pattern) * beyond_rad
    }
}

/// Integral of rate x distance from the head to the end of the throw, for a rate of one at the head.
fn up_to_the_end(pattern: Pattern) -> f64 {
    0.5 * pattern.mean()
}

/// The integral over the angle of F(r) = integral of rate x distance, r being the distance of a line that passes the head at
/// `h`, from its nearest point to one `t` along it; all of it lies within the throw.
fn up_to_a_line(pattern: Pattern, h: f64, t: f64) -> f64 {
    let flat = 0.5 * h * t; // F = r2/2, and r2 d(angle) = h dt
    match pattern {
        Pattern::Disc => flat,
        // F = r2/2 - r4/4
        Pattern::Paraboloid => flat - 0.25 * h * t * (h * h + t * t / 3.0),
        // F = r2/2 - r3/3
        Pattern::Cone => {
            let distance = (h * h + t * t).sqrt();
            let inverse_sine = ((t.abs() + distance) / h).ln().copysign(t);
            flat - h / 6.0 * (t * distance + h * h * inverse_sine)
        }
        // F = (1 - (1 - r2)^1.5) / 3
        Pattern::Ellipse => {
            let widest2 = (1.0 - h * h).max(0.0);
            let rest = (widest2 - t * t).max(0.0).sqrt();
            // In terms of the rest alone, whose rounding cancels where it is small.
            let thinned = t.atan2(h * rest) - h * (1.0 + 0.5 * widest2) * t.atan2(rest) - 0.5 * h * t * rest;
            (t.atan2(h) - thinned) / 3.0
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parts::RadialProfile;
    use proptest::prelude::*;
    use std::sync::Arc;

    fn share(spray: &Spray, pattern: Pattern, x_m: [f64; 2], y_m: [f64; 2]) -> f64 {
        let mut sum = 0.0;
        Lattice { xs_m: x_m.to_vec(), ys_m: y_m.to_vec() }.each_share(spray, pattern, |_, _, share| sum += share);
        sum
    }

    /// The same by the midpoint rule in polar coordinates around the head, which knows no rectangle but by its edges.
    fn by_rings(spray: &Spray, pattern: Pattern, x_m: [f64; 2], y_m: [f64; 2], n: usize) -> f64 {
        let arc_rad = spray.arc_deg.to_radians();
        let inside = |value: f64, ends: [f64; 2]| value > ends[0] && value < ends[1];
        let mut sum = 0.0;
        for ring in 0..n {
            let radius = (ring as f64 + 0.5) / n as f64;
            for place in 0..n {
                let angle = spray.middle_deg.to_radians() + ((place as f64 + 0.5) / n as f64 - 0.5) * arc_rad;
                let (x, y) =
                    (spray.x_m + radius * spray.radius_m * angle.cos(), spray.y_m + radius * spray.radius_m * angle.sin());
                if inside(x, x_m) && inside(y, y_m) {
                    sum += pattern.at(radius) * radius;
                }
            }
        }
        2.0 * sum / (n * n) as f64 / pattern.mean()
    }

    fn spray(arc_deg: f64, middle_deg: f64) -> Spray {
        Spray { x_m: 1.0, y_m: -2.0, radius_m: 5.0, arc_deg, middle_deg, flow_m3_per_s: 1e-4, ..Spray::default() }
    }

    #[test]
    fn all_water_falls_on_a_rectangle_that_is_large_enough() {
        for (word, pattern) in Pattern::ALL {
            for arc_deg in [1.0, 90.0, 180.0, 270.0, 359.0, 360.0] {
                for middle_deg in [0.0, 45.0, 111.0, -170.0] {
                    let found = share(&spray(arc_deg, middle_deg), pattern, [-20.0, 30.0], [-9.0, 4.0]);
                    assert!((found - 1.0).abs() < 1e-13, "{word} {arc_deg} {middle_deg}: {found}");
                }
            }
        }
    }

    #[test]
    fn a_quarter_falls_beside_a_head_in_the_corner() {
        for (word, pattern) in Pattern::ALL {
            let found = share(&spray(360.0, 0.0), pattern, [1.0, 7.0], [-2.0, 7.0]);
            assert!((found - 0.25).abs() < 1e-14, "{word}: {found}");
            assert_eq!(share(&spray(90.0, 45.0), pattern, [-5.0, 1.0], [-2.0, 7.0]), 0.0, "{word}");
            assert_eq!(share(&spray(360.0, 0.0), pattern, [4.8, 7.0], [1.8, 7.0]), 0.0, "{word}: beyond the throw");
        }
    }

    #[test]
    fn a_chord_cuts_the_segment_of_the_circle() {
        // Half a throw from the head: (pi/3 - sqrt(3)/4) / pi of a disc lies beyond the chord.
        let found = share(&spray(360.0, 0.0), Pattern::Disc, [3.5, 10.0], [-10.0, 10.0]);
        let exact = 1.0 / 3.0 - 3.0_f64.sqrt() / (4.0 * std::f64::consts::PI);
        assert!((found - exact).abs() < 1e-14, "{found} {exact}");
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(40))]

        #[test]
        fn any_rectangle_catches_what_falls_on_it(
            arc_deg in 5.0..360.0, middle_deg in -400.0..400.0, left in -6.0..6.0, bottom in -8.0..4.0,
            width in 0.1..9.0, height in 0.1..9.0, number in 0_usize..4, full: bool,
        ) {
            let pattern = Pattern::ALL[number].1;
            let spray = spray(if full { 360.0 } else { arc_deg }, middle_deg);
            let (x, y) = ([left, left + width], [bottom, bottom + height]);
            let (exact, counted) = (share(&spray, pattern, x, y), by_rings(&spray, pattern, x, y, 500));
            // Places on the edge are in or out: about one in the number of rings.
            prop_assert!((exact - counted).abs() < 4e-3, "{exact} {counted}");
        }

        #[test]
        fn a_rectangle_is_an_outline_too_also_below_cans(
            arc_deg in 5.0..365.0, middle_deg in -400.0..400.0, left in -6.0..6.0, bottom in -8.0..4.0, last in 0.0..2.0,
        ) {
            let cans = RadialProfile::new(&[(0.0, 3.0), (2.0, 1.0), (5.0, 4.0), (6.0, last)]).expect("cans");
            let spray = Spray { measured: Some(Arc::new(cans)), ..spray(arc_deg, middle_deg) };
            let (x, y) = ([left, left + 4.0], [bottom, bottom + 3.0]);
            let corners = [(x[0], y[0]), (x[1], y[0]), (x[1], y[1]), (x[0], y[1])];
            let (one, other) = (share(&spray, Pattern::Cone, x, y), share_on(&spray, Pattern::Cone, &corners));
            prop_assert!((one - other).abs() < 1e-12, "{one} {other}");
            prop_assert!((share(&spray, Pattern::Cone, [-20.0, 30.0], [-9.0, 4.0]) - 1.0).abs() < 1e-12);
        }

        #[test]
        fn parts_of_a_rectangle_add_up(
            arc_deg in 5.0..365.0, middle_deg in -400.0..400.0, left in -6.0..6.0, bottom in -8.0..4.0,
            cut in 0.0..1.0, number in 0_usize..4,
        ) {
            let pattern = Pattern::ALL[number].1;
            let spray = spray(arc_deg, middle_deg);
            let (x, y) = ([left, left + 7.0], [bottom, bottom + 3.0]);
            let middle = left + 7.0 * cut;
            let parts = share(&spray, pattern, [left, middle], y) + share(&spray, pattern, [middle, left + 7.0], y);
            prop_assert!((parts - share(&spray, pattern, x, y)).abs() < 1e-12);
        }
    }
}
