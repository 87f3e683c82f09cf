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

/// Samples in each direction for one pixel of the scene, and at least for one of the picture.
const SAMPLES: u32 = 4;
const LEAST_SAMPLES: u32 = 2;
/// Samples that an outline of the backend is larger than its corners say, since it paints those on its edges too.
const EDGE: f64 = 1.0;
/// Places of the backend are limited to this many samples around the picture, whatever the scene has.
const FARTHEST: f64 = 1e6;

/// A place in the large picture, in samples.
type Sample = (i32, i32);
type Drawn = Result<(), FigureError>;

/// The bytes of the picture, with `ratio` pixels each way for one of the scene. Errors: [`FigureError::Picture`] when it cannot be drawn
/// or encoded; the evaluation is to end.
pub(super) fn write(scene: &Scene, ratio: u32) -> Result<Vec<u8>, FigureError> {
    let samples = SAMPLES.max(LEAST_SAMPLES * ratio);
    let (width, height) = (scene.width.saturating_mul(samples), scene.height.saturating_mul(samples));
    limits::room_for((width as usize).saturating_mul(height as usize).saturating_mul(size_of::<[u8; 3]>()))?;
    let mut large = paper(width, height)?;
    let backend = BitMapBackend::with_buffer(&mut large, (width, height));
    let mut canvas = Canvas { backend, samples: f64::from(samples) };
    while_going_on(&scene.shapes).try_for_each(|shape| canvas.draw(shape))?;
    drop(canvas);
    limits::go_on()?;
    let size = (scene.width.saturating_mul(ratio), scene.height.saturating_mul(ratio));
    let bytes = limits::aside(move || encoded(&imageops::thumbnail(&large, size.0, size.1), size.0, size.1))??;
    Ok(with_texts(bytes, &[("Title", &scene.title), ("Description", &scene.description)]))
}

/// Length of the signature and of the first chunk of a PNG, after which texts may stand.
const HEAD: usize = 8 + 25;

/// The picture with texts for readers who do not see it, by the keywords of the standard: chunks `iTXt` (PNG, third edition, W3C 2025, 11.3.3).
fn with_texts(mut bytes: Vec<u8>, texts: &[(&str, &str)]) -> Vec<u8> {
    let mut chunks = Vec::new();
    for (keyword, text) in texts.iter().filter(|(_, text)| !text.is_empty()) {
        // After the keyword: not compressed, no language, no translated keyword.
        let body: Vec<u8> = [&b"iTXt"[..], keyword.as_bytes(), &[0; 5], text.as_bytes()].concat();
        chunks.extend(((body.len() - 4) as u32).to_be_bytes());
        chunks.extend(&body);
        chunks.extend(checksum(&body).to_be_bytes());
    }
    if bytes.len() > HEAD {
        bytes.splice(HEAD..HEAD, chunks);
    }
    bytes
}

/// The cyclic redundancy check of a chunk (PNG, annex D: the polynomial of ISO 3309).
fn checksum(bytes: &[u8]) -> u32 {
    let step = |sum: u32, byte: &u8| {
        (0..8).fold(sum ^ u32::from(*byte), |sum, _| if sum & 1 == 1 { 0xEDB8_8320 ^ (sum >> 1) } else { sum >> 1 })
    };
    !bytes.iter().fold(u32::MAX, step)
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

/// The large picture; lengths of the scene are multiplied by the samples for one pixel.
struct Canvas<'b> {
    backend: BitMapBackend<'b>,
    samples: f64,
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
        let half = (width - EDGE / self.samples).max(0.0) / 2.0;
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
        let outline: Vec<Sample> = outline.iter().map(|spot| self.sample(*spot)).collect();
        self.backend.fill_polygon(outline, &color).map_err(failed)
    }

    fn rect(&mut self, from: Spot, to: Spot, ink: Ink) -> Drawn {
        let (from, to) = (self.sample(from), self.sample(to));
        self.backend.draw_rect(from, to, &color(ink), true).map_err(failed)
    }

    fn disc(&mut self, center: Spot, radius: f64, ink: Ink) -> Drawn {
        let radius = (radius * self.samples - EDGE / 2.0).round().clamp(0.0, FARTHEST) as u32;
        let center = self.sample(center);
        self.backend.draw_circle(center, radius, &color(ink), true).map_err(failed)
    }

    fn print(&mut self, text: &Text) -> Drawn {
        // plotters puts the base line half the font's height below the given place.
        let place = self.sample((text.left(), text.at.1 - FONT_HEIGHT * text.size / 2.0));
        let size = text.size * self.samples;
        let drawn = font(size, text.weight).draw(&text.content, place, |x, y, coverage| {
            self.backend.draw_pixel((x, y), color(text.ink).mix(f64::from(coverage)).to_backend_color())
        });
        // Without a font the picture still shows its shapes; the SVG is not affected.
        drawn.unwrap_or(Ok(())).map_err(failed)
    }

    fn sample(&self, spot: Spot) -> Sample {
        let whole = |length: f64| (length * self.samples).round().clamp(-FARTHEST, FARTHEST) as i32;
        (whole(spot.0), whole(spot.1))
    }
}

fn color(ink: Ink) -> RGBColor {
    RGBColor(ink.0, ink.1, ink.2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_says_what_it_shows_and_stays_a_picture() {
        // The check value of this polynomial for the digits 1 to 9 (Williams 1993, A painless guide to CRC error detection algorithms).
        assert_eq!(checksum(b"123456789"), 0xCBF4_3926);
        let plain = encoded(&[0, 0, 0, 255, 255, 255], 2, 1).expect("a picture");
        let told = with_texts(plain.clone(), &[("Title", "Größe"), ("Description", ""), ("Comment", "two pixels")]);
        let text = String::from_utf8_lossy(&told).to_string();
        assert!(
            text.contains("iTXtTitle") && text.contains("Größe") && !text.contains("Description") && text.contains("two pixels")
        );
        let pixels = |bytes: &[u8]| image::load_from_memory(bytes).expect("a picture").to_rgb8().into_raw();
        assert_eq!(pixels(&told), pixels(&plain));
    }
}
