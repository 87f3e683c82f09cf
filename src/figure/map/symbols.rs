//! The shapes of things on a map: plain, distinguished without color, drawn along the way of the water; and discs with numbers.

use super::what::Activity;
use crate::figure::geometry::Spot;
use crate::figure::palette::{INK, PAPER, QUIET};
use crate::figure::scene::{Anchor, Ink, Scene, Shape, Text, half_height};
use crate::parts::SymbolShape;

/// Radius of a disc with a number, and the size of the number for that number of digits.
const DISC: f64 = 9.0;
const DIGITS: [f64; 3] = [12.0, 11.5, 9.0];

/// Half the size of a symbol in pixels.
const R: f64 = 9.0;
const WET: Ink = Ink(39, 96, 160);

/// A pen that draws in a frame of its own: u along the water, v to its right.
struct Pen<'a> {
    scene: &'a mut Scene,
    at: Spot,
    along: Spot,
    /// Color of what is open, runs or is wet; paper for what is not.
    fill: Ink,
}

/// Draws a shape at its place; what is idle is drawn hollow.
pub(super) fn draw(scene: &mut Scene, shape: SymbolShape, at: Spot, toward: Spot, active: Activity) {
    let length = toward.0.hypot(toward.1);
    let along = if length > 0.0 { (toward.0 / length, toward.1 / length) } else { (1.0, 0.0) };
    // Things that have an upper side stay upright.
    let upright = matches!(
        shape,
        SymbolShape::OpenTank
            | SymbolShape::PressureTank
            | SymbolShape::Relief
            | SymbolShape::Switch
            | SymbolShape::Relay
            | SymbolShape::FlowSwitch
            | SymbolShape::Drive
            | SymbolShape::Draw
            | SymbolShape::Drip
    );
    let along = if upright { (1.0, 0.0) } else { along };
    let fill = if active == Activity::Active { INK } else { PAPER };
    let mut pen = Pen { scene, at, along, fill };
    match shape {
        SymbolShape::Bare => {}
        SymbolShape::Tap => {
            pen.disc((0.0, 0.0), R, INK);
            pen.disc((0.0, 0.0), R - 3.0, PAPER);
            pen.disc((0.0, 0.0), R - 5.5, INK);
        }
        SymbolShape::OpenTank => {
            pen.area(&[(-R, -2.0), (R, -2.0), (R, R), (-R, R)], WET);
            pen.line(&[(-R, -R), (-R, R), (R, R), (R, -R)], INK, 2.0);
        }
        SymbolShape::Valve => pen.shaped(&[(-R, -6.5), (0.0, 0.0), (R, -6.5), (R, 6.5), (0.0, 0.0), (-R, 6.5)]),
        SymbolShape::OneWay => {
            pen.shaped(&[(-R, -7.0), (R - 3.0, 0.0), (-R, 7.0)]);
            pen.line(&[(R - 2.0, -8.0), (R - 2.0, 8.0)], INK, 2.4);
        }
        SymbolShape::TwoWay => {
            for shift in [-6.5, 5.5] {
                pen.shaped(&[(shift - 5.0, -6.5), (shift + 4.0, 0.0), (shift - 5.0, 6.5)]);
                pen.line(&[(shift + 4.8, -7.5), (shift + 4.8, 7.5)], INK, 2.0);
            }
        }
        SymbolShape::Regulator => {
            pen.hollow(&[(-R, 0.0), (0.0, -R), (R, 0.0), (0.0, R)]);
            pen.line(&[(-4.0, 0.0), (4.0, 0.0)], INK, 2.4);
        }
        SymbolShape::Relief => {
            pen.shaped(&[(-7.0, R - 1.0), (0.0, -4.0), (7.0, R - 1.0)]);
            pen.line(&[(-6.0, -6.5), (6.0, -6.5)], INK, 2.4);
        }
        SymbolShape::Pump => {
            pen.disc((0.0, 0.0), R + 2.0, INK);
            pen.disc((0.0, 0.0), R + 0.2, PAPER);
            pen.shaped(&[(-5.0, -6.5), (R - 0.5, 0.0), (-5.0, 6.5)]);
        }
        SymbolShape::Switch => {
            pen.hollow(&[(-R, -R), (R, -R), (R, R), (-R, R)]);
            pen.line(&[(-5.0, 4.0), (-1.0, 4.0), (1.0, -4.0), (5.0, -4.0)], INK, 2.0);
        }
        SymbolShape::Relay => {
            pen.hollow(&[(-R, -R), (R, -R), (R, R), (-R, R)]);
            pen.line(&[(-R, 3.0), (-3.0, 3.0), (4.0, -3.5)], INK, 2.0);
            pen.line(&[(4.0, 3.0), (R, 3.0)], INK, 2.0);
        }
        SymbolShape::FlowSwitch => {
            pen.hollow(&[(-R, -R), (R, -R), (R, R), (-R, R)]);
            pen.line(&[(-5.5, 1.5), (-3.0, -2.5), (0.0, 0.0), (3.0, 2.5), (5.5, -1.5)], INK, 2.0);
        }
        SymbolShape::Drive => {
            pen.hollow(&[(-R, -R), (R, -R), (R, R), (-R, R)]);
            pen.line(&[(-5.5, 5.0), (-5.5, 2.5), (5.5, -4.5)], INK, 2.0);
            pen.line(&[(5.5, -4.5), (5.5, 5.0)], INK, 1.2);
        }
        SymbolShape::PressureTank => {
            pen.disc((0.0, -4.0), 7.5, INK);
            pen.disc((0.0, 4.0), 7.5, INK);
            pen.area(&[(-7.5, -4.0), (7.5, -4.0), (7.5, 4.0), (-7.5, 4.0)], INK);
            pen.disc((0.0, -4.0), 5.5, PAPER);
            pen.area(&[(-5.5, -4.0), (5.5, -4.0), (5.5, 0.0), (-5.5, 0.0)], PAPER);
        }
        SymbolShape::Head => {
            let spokes = [0.0_f64, 60.0, 120.0, 180.0, 240.0, 300.0].map(f64::to_radians);
            for angle in spokes {
                let (cos, sin) = (angle.cos(), angle.sin());
                pen.line(&[(4.0 * cos, 4.0 * sin), (R * cos, R * sin)], INK, 1.8);
            }
            pen.disc((0.0, 0.0), 5.4, INK);
            if pen.fill != INK {
                pen.disc((0.0, 0.0), 3.6, PAPER);
            }
        }
        SymbolShape::Drip => pen.shaped(&[(0.0, -R), (5.5, 2.0), (3.0, 7.0), (-3.0, 7.0), (-5.5, 2.0)]),
        SymbolShape::Draw => {
            pen.line(&[(0.0, -R), (0.0, 0.0)], INK, 2.2);
            pen.shaped(&[(-7.0, -1.0), (7.0, -1.0), (0.0, R)]);
        }
        SymbolShape::Leak => {
            pen.line(&[(-6.0, -6.0), (6.0, 6.0)], INK, 2.4);
            pen.line(&[(-6.0, 6.0), (6.0, -6.0)], INK, 2.4);
        }
        SymbolShape::Fitting => pen.area(&[(-5.0, 0.0), (0.0, -5.0), (5.0, 0.0), (0.0, 5.0)], INK),
        SymbolShape::Filter => {
            pen.hollow(&[(-R, -7.0), (R, -7.0), (R, 7.0), (-R, 7.0)]);
            for x in [-4.5, 0.0, 4.5] {
                pen.line(&[(x, -4.5), (x, 4.5)], INK, 1.4);
            }
        }
        SymbolShape::Meter => {
            pen.disc((0.0, 0.0), R, INK);
            pen.disc((0.0, 0.0), R - 1.8, PAPER);
            pen.line(&[(0.0, 0.0), (4.0, -4.0)], INK, 1.8);
        }
        SymbolShape::Restrictor => {
            pen.line(&[(0.0, -R), (0.0, -3.0)], INK, 3.2);
            pen.line(&[(0.0, 3.0), (0.0, R)], INK, 3.2);
        }
        SymbolShape::Climb => {
            pen.along = (1.0, 0.0);
            pen.area(&[(-R, -R), (R, -R), (R, R), (-R, R)], PAPER);
            pen.line(&[(-R, 7.0), (-3.0, 7.0), (-3.0, 0.0), (3.0, 0.0), (3.0, -7.0), (R, -7.0)], INK, 2.2);
        }
        SymbolShape::Point => {
            pen.disc((0.0, 0.0), 5.0, QUIET);
            pen.disc((0.0, 0.0), 3.0, PAPER);
        }
    }
}

/// Draws a disc with a number: dark for what is active, hollow for what is not; a head has its rays.
pub(super) fn draw_number(scene: &mut Scene, number: usize, shape: SymbolShape, at: Spot, active: Activity) {
    if shape == SymbolShape::Head {
        for step in 0..8 {
            let (sin, cos) = (f64::from(step) * std::f64::consts::FRAC_PI_4 + 0.39).sin_cos();
            let on = |radius: f64| (at.0 + radius * cos, at.1 + radius * sin);
            scene.line(vec![on(DISC), on(DISC + 2.8)], INK, 1.6);
        }
    }
    let (fill, ink) = if active == Activity::Active { (INK, PAPER) } else { (PAPER, INK) };
    scene.shapes.push(Shape::Disc { center: at, radius: DISC, ink: INK });
    scene.shapes.push(Shape::Disc { center: at, radius: DISC - 1.4, ink: fill });
    let text = number.to_string();
    let size = DIGITS[text.len().clamp(1, DIGITS.len()) - 1];
    scene.text(Text::new(text, (at.0, at.1 + half_height(size)), size, Anchor::Middle, ink).bold());
}

impl Pen<'_> {
    fn spot(&self, (u, v): Spot) -> Spot {
        (self.at.0 + u * self.along.0 - v * self.along.1, self.at.1 + u * self.along.1 + v * self.along.0)
    }

    fn area(&mut self, corners: &[Spot], ink: Ink) {
        let points = corners.iter().map(|corner| self.spot(*corner)).collect();
        self.scene.shapes.push(Shape::Area { points, ink });
    }

    fn line(&mut self, points: &[Spot], ink: Ink, width: f64) {
        let points = points.iter().map(|point| self.spot(*point)).collect();
        self.scene.line(points, ink, width);
    }

    fn disc(&mut self, center: Spot, radius: f64, ink: Ink) {
        let center = self.spot(center);
        self.scene.shapes.push(Shape::Disc { center, radius, ink });
    }

    /// Filled when active, paper otherwise, with an outline.
    fn shaped(&mut self, corners: &[Spot]) {
        self.area(corners, self.fill);
        self.outline(corners);
    }

    fn hollow(&mut self, corners: &[Spot]) {
        self.area(corners, PAPER);
        self.outline(corners);
    }

    fn outline(&mut self, corners: &[Spot]) {
        let closed: Vec<Spot> = corners.iter().chain(corners.first()).copied().collect();
        self.line(&closed, INK, 1.8);
    }
}
