//! A figure as a list of simple shapes, painted in order. Knows nothing of data, axes or file formats.

use super::axis::Axis;
use super::geometry::{Reading, Rect, Spot};
use super::text::{Weight, width, width_in_our_font};

/// Sizes of text in pixels.
pub(super) const TITLE_SIZE: f64 = 17.0;
pub(super) const LABEL_SIZE: f64 = 14.0;
pub(super) const TICK_SIZE: f64 = 13.0;
pub(super) const NOTE_SIZE: f64 = 12.0;

/// A color: red, green, blue.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Ink(pub u8, pub u8, pub u8);

/// The sheet with everything on it.
#[derive(Clone, Debug)]
pub(super) struct Scene {
    pub width: u32,
    pub height: u32,
    /// One line that names the figure.
    pub title: String,
    /// What the figure shows, in words, for those who cannot see it.
    pub description: String,
    pub shapes: Vec<Shape>,
    /// Where values lie, for what has two axes of numbers.
    pub reading: Option<Reading>,
    /// The values that things show.
    pub told: Vec<Told>,
    /// The values of the cells of a part of it.
    pub cells: Option<Cells>,
}

/// A value that a figure shows, for whoever points at it.
#[derive(Clone, Debug, PartialEq)]
pub struct Told {
    /// Where it is seen, pixels.
    pub at: Spot,
    /// Which values belong together.
    pub row: usize,
    /// What it is, then a colon and its value.
    pub words: String,
}

/// Values of the cells of a part of a sheet, as of water on the ground, for whoever points at one.
#[derive(Clone, Debug, PartialEq)]
pub struct Cells {
    /// Left, top, right and bottom edge of all of them, pixels.
    pub edges: [f64; 4],
    /// Cells from left to right.
    pub columns: usize,
    /// Row by row from the bottom; missing where nothing is shown.
    pub values: Vec<Option<f64>>,
    /// What the values are.
    pub axis: Axis,
    /// The lower left and the upper right corner in lengths of the ground.
    pub ground: ((f64, f64), (f64, f64)),
    /// The unit of these lengths.
    pub ground_unit: String,
}

#[derive(Clone, Debug)]
pub(super) enum Shape {
    /// A stroke through points; `dash` holds lengths of stroke and space in turn, empty for a whole line.
    Line {
        points: Vec<Spot>,
        ink: Ink,
        width: f64,
        dash: &'static [f64],
    },
    /// A filled outline.
    Area {
        points: Vec<Spot>,
        ink: Ink,
    },
    /// A filled outline that lets through what lies below; `opacity` from 0 to 1.
    Veil {
        points: Vec<Spot>,
        ink: Ink,
        opacity: f64,
    },
    Disc {
        center: Spot,
        radius: f64,
        ink: Ink,
    },
    Box {
        rect: Rect,
        ink: Ink,
    },
    /// A picture of square cells of color, row by row from the top.
    Picture {
        rect: Rect,
        columns: usize,
        cells: Vec<Ink>,
    },
    Text(Text),
}

/// One line of text; `at` is on its base line.
#[derive(Clone, Debug)]
pub(super) struct Text {
    pub at: Spot,
    pub content: String,
    pub size: f64,
    pub weight: Weight,
    pub anchor: Anchor,
    pub ink: Ink,
}

/// Which point of a text lies at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

impl Text {
    pub fn new(content: impl Into<String>, at: Spot, size: f64, anchor: Anchor, ink: Ink) -> Text {
        Text { at, content: content.into(), size, weight: Weight::Regular, anchor, ink }
    }

    pub fn bold(mut self) -> Text {
        self.weight = Weight::Bold;
        self
    }

    /// Where the text begins when it is drawn in our font.
    pub fn left(&self) -> f64 {
        self.start(width_in_our_font(&self.content, self.size, self.weight))
    }

    /// The rectangle to be kept free for the text.
    pub fn bounds(&self) -> Rect {
        let length = width(&self.content, self.size, self.weight);
        let left = self.start(length);
        Rect { left, top: self.at.1 - self.size, right: left + length, bottom: self.at.1 + 0.25 * self.size }
    }

    fn start(&self, length: f64) -> f64 {
        match self.anchor {
            Anchor::Start => self.at.0,
            Anchor::Middle => self.at.0 - length / 2.0,
            Anchor::End => self.at.0 - length,
        }
    }
}

impl Scene {
    pub fn new((width, height): (u32, u32), title: String, description: String, shapes: Vec<Shape>) -> Scene {
        Scene { width, height, title, description, shapes, reading: None, told: Vec::new(), cells: None }
    }

    /// The first row without a value yet.
    pub fn free_row(&self) -> usize {
        self.told.iter().map(|told| told.row + 1).max().unwrap_or(0)
    }

    /// Says what a value is that is seen at a place.
    pub fn tell(&mut self, at: Spot, row: usize, words: String) {
        self.told.push(Told { at, row, words });
    }

    pub fn line(&mut self, points: Vec<Spot>, ink: Ink, width: f64) {
        self.shapes.push(Shape::Line { points, ink, width, dash: &[] });
    }

    pub fn text(&mut self, text: Text) {
        self.shapes.push(Shape::Text(text));
    }
}

/// The distance from the middle of a text's height to its base line.
pub(super) fn half_height(size: f64) -> f64 {
    0.36 * size
}
