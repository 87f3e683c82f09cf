//! One head: the sector of ground that it waters, and how its application rate falls with distance.

use super::flight::USUAL_ANGLE_DEG;
use crate::parts::{Id, Part, RadialProfile};
use crate::quantity::{INCH_M, PSI_PA};
use std::sync::Arc;

/// How the application rate of a head changes from the head to the end of its throw.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Pattern {
    /// In a straight line down to nothing: the triangular pattern, and a fair guess for most heads (common practice).
    #[default]
    Cone,
    /// As a quarter of an ellipse.
    Ellipse,
    /// As a parabola, full at the head.
    Paraboloid,
    /// The same everywhere, and suddenly nothing.
    Disc,
}

impl Pattern {
    /// All patterns with the words by which scripts choose them, the usual one first.
    pub const ALL: [(&'static str, Pattern); 4] =
        [("cone", Pattern::Cone), ("ellipse", Pattern::Ellipse), ("paraboloid", Pattern::Paraboloid), ("disc", Pattern::Disc)];

    /// Rate at a distance, as a share of the rate at the head; `share` is the distance over the throw.
    pub fn at(self, share: f64) -> f64 {
        if share > 1.0 {
            return 0.0;
        }
        match self {
            Pattern::Cone => 1.0 - share,
            Pattern::Ellipse => (1.0 - share * share).sqrt(),
            Pattern::Paraboloid => 1.0 - share * share,
            Pattern::Disc => 1.0,
        }
    }

    /// Mean of [`Pattern::at`] over the sector: 2 times the integral of share x rate.
    pub fn mean(self) -> f64 {
        match self {
            Pattern::Cone => 1.0 / 3.0,
            Pattern::Ellipse => 2.0 / 3.0,
            Pattern::Paraboloid => 0.5,
            Pattern::Disc => 1.0,
        }
    }

    /// Share of the water within a share of the throw.
    pub fn within(self, share: f64) -> f64 {
        let share = share.clamp(0.0, 1.0);
        let square = share * share;
        match self {
            Pattern::Cone => square * (3.0 - 2.0 * share),
            Pattern::Ellipse => 1.0 - (1.0 - square).powf(1.5),
            Pattern::Paraboloid => square * (2.0 - square),
            Pattern::Disc => square,
        }
    }
}

/// How the water of a head falls with distance: as somebody measured it, or as a pattern.
#[derive(Clone, Copy, Debug)]
pub enum Profile<'a> {
    /// One of the usual shapes.
    Pattern(Pattern),
    /// What a row of cans caught.
    Measured(&'a RadialProfile),
}

impl Profile<'_> {
    /// Share of the water within a share of the throw.
    pub fn within(self, share: f64) -> f64 {
        match self {
            Profile::Pattern(pattern) => pattern.within(share),
            Profile::Measured(cans) => cans.within(share * cans.reach_m()) / cans.within(cans.reach_m()),
        }
    }

    /// Rate at a share of the throw, where the mean over the sector is one.
    pub fn at(self, share: f64) -> f64 {
        match self {
            Profile::Pattern(pattern) => pattern.at(share) / pattern.mean(),
            Profile::Measured(cans) => {
                let reach_m = cans.reach_m();
                let mean = cans.within(reach_m) / (std::f64::consts::PI * reach_m * reach_m);
                cans.at(share * reach_m) / mean
            }
        }
    }
}

/// What one head throws.
#[derive(Clone, Debug, PartialEq)]
pub struct Spray {
    /// The head's place from left to right, m.
    pub x_m: f64,
    /// The head's place from bottom to top, m.
    pub y_m: f64,
    /// How far the water flies, m.
    pub radius_m: f64,
    /// Width of the sector, degrees; 360 is a full circle.
    pub arc_deg: f64,
    /// Where its middle points, degrees from the x axis toward the y axis.
    pub middle_deg: f64,
    /// What the head gives, m3/s; all of it falls within the sector.
    pub flow_m3_per_s: f64,
    /// Gauge pressure at its nozzle, Pa. Only wind needs it.
    pub pressure_pa: f64,
    /// Angle of its stream above level ground, degrees. Only wind needs it.
    pub trajectory_deg: f64,
    /// Height of its nozzle above the ground, m. Only wind needs it.
    pub riser_m: f64,
    /// What a row of cans from it caught, in place of a pattern.
    pub measured: Option<Arc<RadialProfile>>,
}

/// Height of a nozzle whose riser is not given, m: 4 in, as pop-up heads have. Common practice, no source.
pub const USUAL_RISER_M: f64 = 4.0 * INCH_M;

impl Default for Spray {
    /// A full circle of a meter around the origin, with a liter a second at 30 psi.
    fn default() -> Spray {
        Spray {
            x_m: 0.0,
            y_m: 0.0,
            radius_m: 1.0,
            arc_deg: 360.0,
            middle_deg: 0.0,
            flow_m3_per_s: 1e-3,
            pressure_pa: 30.0 * PSI_PA,
            trajectory_deg: USUAL_ANGLE_DEG,
            riser_m: USUAL_RISER_M,
            measured: None,
        }
    }
}

impl Spray {
    /// The ground that it waters, m2.
    pub fn area_m2(&self) -> f64 {
        0.5 * self.arc_deg.to_radians() * self.radius_m * self.radius_m
    }

    /// How its water falls: as measured, or by the pattern of all heads that nobody measured.
    pub fn profile(&self, pattern: Pattern) -> Profile<'_> {
        self.measured.as_deref().map_or(Profile::Pattern(pattern), Profile::Measured)
    }

    /// True where the least circle around corners is within the throw, at least in part.
    pub fn may_reach(&self, corners: &[(f64, f64)]) -> bool {
        let Some(&(x_m, y_m)) = corners.first() else { return false };
        let across_m = corners.iter().map(|at| (at.0 - x_m).hypot(at.1 - y_m)).fold(0.0, f64::max);
        (x_m - self.x_m).hypot(y_m - self.y_m) <= self.radius_m + across_m
    }

    /// Rate at a spot, m/s.
    pub fn rate_at(&self, pattern: Pattern, x_m: f64, y_m: f64) -> f64 {
        let (dx, dy) = (x_m - self.x_m, y_m - self.y_m);
        let distance_m = dx.hypot(dy);
        if distance_m > self.radius_m || !self.faces(dx, dy) {
            return 0.0;
        }
        self.flow_m3_per_s / self.area_m2() * self.profile(pattern).at(distance_m / self.radius_m)
    }

    fn faces(&self, dx: f64, dy: f64) -> bool {
        if self.arc_deg >= 360.0 || (dx == 0.0 && dy == 0.0) {
            return true;
        }
        let away = (dy.atan2(dx).to_degrees() - self.middle_deg).rem_euclid(360.0);
        away.min(360.0 - away) <= 0.5 * self.arc_deg + 1e-9
    }
}

/// Nearer to half a quarter, 45 degrees, where to turn is a toss-up.
const MOST_TURN_DEG: f64 = 44.0;

/// Where the middle of a head's arc points, degrees from the x axis toward the y axis: as its `facing` says, a bearing
/// clockwise from the y axis, or else from the head (its place in m) to a given middle, that of its zone.
///
/// Beds are mostly laid out along the axes: the edges of quarter, half and three-quarter circles without a `facing` are turned
/// to the axes, unless two ways of doing so are about as good.
pub fn middle_of_arc_deg(head: &Part, place_m: (f64, f64), middle_m: (f64, f64)) -> f64 {
    if let Some(bearing_deg) = head.si(Id::Facing) {
        return 90.0 - bearing_deg;
    }
    let toward_deg = (middle_m.1 - place_m.1).atan2(middle_m.0 - place_m.0).to_degrees();
    let arc_deg = head.si(Id::Arc).unwrap_or(360.0);
    if arc_deg % 90.0 != 0.0 {
        return toward_deg;
    }
    let edge_deg = ((toward_deg - 0.5 * arc_deg) / 90.0).round() * 90.0;
    let turned_deg = edge_deg + 0.5 * arc_deg;
    if (turned_deg - toward_deg).abs() > MOST_TURN_DEG { toward_deg } else { turned_deg }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::parts::Kind;
    use crate::quantity::{Quantity, find_unit};

    fn spray(arc_deg: f64) -> Spray {
        Spray { x_m: 0.0, y_m: 0.0, radius_m: 5.0, arc_deg, middle_deg: 45.0, flow_m3_per_s: 1e-4, ..Spray::default() }
    }

    #[test]
    fn all_water_of_a_head_falls_on_its_sector() {
        for (word, pattern) in Pattern::ALL {
            for arc_deg in [90.0, 360.0] {
                let spray = spray(arc_deg);
                let n = 800;
                let step = 10.0 / f64::from(n);
                let spots = (0..n).flat_map(|i| (0..n).map(move |j| (f64::from(i) + 0.5, f64::from(j) + 0.5)));
                let sum: f64 = spots.map(|(i, j)| spray.rate_at(pattern, i * step - 5.0, j * step - 5.0)).sum();
                // Cells on the edge of a disc are in or out: one part in n of the ground.
                assert!((sum * step * step / 1e-4 - 1.0).abs() < 2e-3, "{word} {arc_deg}");
            }
        }
    }

    #[test]
    fn water_within_a_share_is_the_integral_of_the_rate() {
        let cans = RadialProfile::new(&[(0.0, 3.0), (2.0, 1.0), (5.0, 4.0), (6.0, 0.5)]).expect("cans");
        let patterns = Pattern::ALL.map(|(_, pattern)| Profile::Pattern(pattern));
        for profile in patterns.into_iter().chain([Profile::Measured(&cans)]) {
            let n = 2000;
            let mut sum = 0.0;
            for step in 0..n {
                let share = (f64::from(step) + 0.5) / f64::from(n);
                sum += 2.0 * share * profile.at(share) / f64::from(n);
                let end = f64::from(step + 1) / f64::from(n);
                assert!((sum - profile.within(end)).abs() < 1e-4, "{profile:?} {end}: {sum} {}", profile.within(end));
            }
        }
    }

    fn head(numbers: &[(Id, f64)]) -> Part {
        let inch = |value: f64| Quantity::written(value, find_unit("inch").expect("a unit"));
        let plain = numbers.iter().map(|(name, value)| (*name, Quantity::number(*value)));
        let all: Vec<(Id, Quantity)> = [(Id::Nozzle, inch(0.125))].into_iter().chain(plain).collect();
        Part::new(Kind::Head).with(&all).expect("a sound head")
    }

    #[test]
    fn quarter_and_half_circles_lie_along_the_axes_and_face_the_middle() {
        let corner = head(&[(Id::Arc, 90.0)]);
        assert_eq!(middle_of_arc_deg(&corner, (0.0, 0.0), (15.0, 10.0)), 45.0);
        assert_eq!(middle_of_arc_deg(&corner, (30.0, 0.0), (15.0, 10.0)), 135.0);
        assert_eq!(middle_of_arc_deg(&head(&[(Id::Arc, 180.0)]), (6.0, 0.0), (15.0, 10.0)).rem_euclid(360.0), 90.0);
        let odd = middle_of_arc_deg(&head(&[(Id::Arc, 100.0)]), (0.0, 0.0), (15.0, 10.0));
        assert!((odd - 33.69).abs() < 0.01, "{odd}");
        assert_eq!(middle_of_arc_deg(&head(&[(Id::Arc, 90.0), (Id::Facing, 90.0)]), (0.0, 0.0), (15.0, 10.0)), 0.0);
    }

    #[test]
    fn a_quarter_circle_stays_in_its_quarter() {
        let spray = spray(90.0);
        assert!(spray.rate_at(Pattern::Cone, 1.0, 1.0) > 0.0);
        assert_eq!(spray.rate_at(Pattern::Cone, -1.0, 1.0), 0.0);
        assert_eq!(spray.rate_at(Pattern::Cone, 1.0, -0.1), 0.0);
        assert_eq!(spray.rate_at(Pattern::Cone, 4.0, 4.0), 0.0);
    }
}
