//! A scene as a PNG picture: plotters draws it four times as large into a buffer, which is averaged down and encoded in memory.
//!
//! The backend draws in whole samples, and outlines with hard edges; the averaging makes both smooth. Strokes are given to it segment by
//! segment with round joints, since its own joints are pointed.

use super::error::FigureError;
use super::geometry::{Rect, Spot, dashes};
use super::scene::{Ink, Scene, Shape, Text};
use super::text::{FONT_HEIGHT, font};
use crate::limits::{self, while_going_on};
use image::codecs::png::PngEncoder;
use image::{ColorType, ImageEncoder, RgbImage, imageops};
use plotters::backend::{BitMapBackend, DrawingBackend};
use plotters::style::{Color, RGBAColor, RGBColor};

/// Samples in each direction for one pixel of the picture.
const SAMPLES: u32 = 4;
/// Samples that an outline of the backend is larger than its corners say, since it paints those on its edges too.
const EDGE: f64 = 1.0;
/// Places of the backend are limited to this many samples around the picture, whatever the scene has.
const FARTHEST: f64 = 1e6;

/// A place in the large picture, in samples.
type Sample = (i32, i32);
type Drawn = Result<(), FigureError>;

/// The bytes of the picture. Errors: [`FigureError::Picture`] when it cannot be drawn or encoded; the evaluation is to end.
pub(super) fn write(scene: &Scene) -> Result<Vec<u8>, FigureError> {
    let (width, height) = (scene.width.saturating_mul(SAMPLES), scene.height.saturating_mul(SAMPLES));
    limits::room_for((width as usize).saturating_mul(height as usize).saturating_mul(size_of::<[u8; 3]>()))?;
    let mut large = paper(width, height)?;
    let mut canvas = Canvas { backend: BitMapBackend::with_buffer(&mut large, (width, height)) };
    while_going_on(&scene.shapes).try_for_each(|shape| canvas.draw(shape))?;
    drop(canvas);
    limits::go_on()?;
    let size = (scene.width, scene.height);
    limits::aside(move || encoded(&imageops::thumbnail(&large, size.0, size.1), size.0, size.1))?
}

/// White paper, laid out row by row. Errors: the evaluation is to end.
fn paper(width: u32, height: u32) -> Result<RgbImage, FigureError> {
    let row = width as usize * size_of::<[u8; 3]>();
    let mut samples = Vec::with_capacity(row * height as usize);
    for rows in 1..=height as usize {
        limits::go_on()?;
        samples.resize(rows * row, 255);
    }
    RgbImage::from_raw(width, height, samples).ok_or(FigureError::LargePicture { width, height })
}

/// Encodes red, green and blue of each pixel, row by row. Errors: as [`write`].
pub(super) fn encode(rgb: Vec<u8>, width: u32, height: u32) -> Result<Vec<u8>, FigureError> {
    limits::aside(move || encoded(&rgb, width, height))?
}

fn encoded(rgb: &[u8], width: u32, height: u32) -> Result<Vec<u8>, FigureError> {
    let mut bytes = Vec::new();
    PngEncoder::new(&mut bytes).write_image(rgb, width, height, ColorType::Rgb8).map_err(failed)?;
    Ok(bytes)
}

fn failed(error: impl std::error::Error) -> FigureError {
    FigureError::Picture { reason: error.to_string() }
}

/// The large picture; lengths of the scene are multiplied by [`SAMPLES`].
struct Canvas<'b> {
    backend: BitMapBackend<'b>,
}

impl Canvas<'_> {
    fn draw(&mut self, shape: &Shape) -> Drawn {
        match shape {
            Shape::Line { points, ink, width, dash } => {
                dashes(points, dash).iter().try_for_each(|part| self.stroke(part, *width, *ink))
            }
            Shape::Area { points, ink } => self.fill(points, color(*ink).to_rgba()),
            Shape::Veil { points, ink, opacity } => self.fill(points, color(*ink).mix(*opacity)),
            Shape::Disc { center, radius, ink } => self.disc(*center, *radius, *ink),
            Shape::Box { rect, ink } => self.rect((rect.left, rect.top), (rect.right, rect.bottom), *ink),
            Shape::Picture { rect, columns, cells } => self.picture(rect, *columns, cells),
            Shape::Text(text) => self.print(text),
        }
    }

    fn picture(&mut self, rect: &Rect, columns: usize, cells: &[Ink]) -> Drawn {
        let rows = cells.len() / columns.max(1);
        let (wide, high) = (rect.width() / columns as f64, rect.height() / rows as f64);
        while_going_on(cells.iter().enumerate()).try_for_each(|(index, ink)| {
            let (left, top) = (rect.left + (index % columns) as f64 * wide, rect.top + (index / columns) as f64 * high);
            self.rect((left, top), (left + wide, top + high), *ink)
        })
    }

    /// Each segment as a rectangle, with round joints.
    fn stroke(&mut self, points: &[Spot], width: f64, ink: Ink) -> Drawn {
        let half = (width - EDGE / f64::from(SAMPLES)).max(0.0) / 2.0;
        for pair in while_going_on(points.windows(2)) {
            let (from, to) = (pair[0], pair[1]);
            let (dx, dy) = (to.0 - from.0, to.1 - from.1);
            let length = dx.hypot(dy);
            if length > 0.0 {
                let (nx, ny) = (-dy / length * half, dx / length * half);
                let corners = [from, to].map(|spot| [(spot.0 + nx, spot.1 + ny), (spot.0 - nx, spot.1 - ny)]);
                self.fill(&[corners[0][0], corners[1][0], corners[1][1], corners[0][1]], color(ink).to_rgba())?;
            }
        }
        let joints = if width > 1.0 && points.len() > 2 { &points[1..points.len() - 1] } else { &[] };
        while_going_on(joints).try_for_each(|joint| self.disc(*joint, width / 2.0, ink))
    }

    fn fill(&mut self, outline: &[Spot], color: RGBAColor) -> Drawn {
        self.backend.fill_polygon(outline.iter().map(|spot| sample(*spot)), &color).map_err(failed)
    }

    fn rect(&mut self, from: Spot, to: Spot, ink: Ink) -> Drawn {
        self.backend.draw_rect(sample(from), sample(to), &color(ink), true).map_err(failed)
    }

    fn disc(&mut self, center: Spot, radius: f64, ink: Ink) -> Drawn {
        let radius = (radius * f64::from(SAMPLES) - EDGE / 2.0).round().clamp(0.0, FARTHEST) as u32;
        self.backend.draw_circle(sample(center), radius, &color(ink), true).map_err(failed)
    }

    fn print(&mut self, text: &Text) -> Drawn {
        // plotters puts the base line half the font's height below the given place.
        let place = sample((text.left(), text.at.1 - FONT_HEIGHT * text.size / 2.0));
        let size = text.size * f64::from(SAMPLES);
        let drawn = font(size, text.weight).draw(&text.content, place, |x, y, coverage| {
            self.backend.draw_pixel((x, y), color(text.ink).mix(f64::from(coverage)).to_backend_color())
        });
        // Without a font the picture still shows its shapes; the SVG is not affected.
        drawn.unwrap_or(Ok(())).map_err(failed)
    }
}

fn color(ink: Ink) -> RGBColor {
    RGBColor(ink.0, ink.1, ink.2)
}

fn sample(spot: Spot) -> Sample {
    let whole = |length: f64| (length * f64::from(SAMPLES)).round().clamp(-FARTHEST, FARTHEST) as i32;
    (whole(spot.0), whole(spot.1))
}
