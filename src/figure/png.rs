//! A scene as a PNG picture: drawn four times as large and averaged down, with the font that plotters reads.

use super::error::FigureError;
use super::geometry::{Rect, Spot, dashes};
use super::scene::{Ink, Scene, Shape, Text};
use super::text::{FONT_HEIGHT, font};
use crate::limits::{self, Ended, while_going_on};
use ::png::{BitDepth, ColorType, Encoder, EncodingError};

/// Samples in each direction for one pixel of the picture.
const SAMPLES: usize = 4;

/// The bytes of the picture. Errors: [`FigureError::Picture`] when it cannot be encoded; the evaluation is to end.
pub(super) fn write(scene: &Scene) -> Result<Vec<u8>, FigureError> {
    let (width, height) = (scene.width as usize * SAMPLES, scene.height as usize * SAMPLES);
    limits::room_for(width.saturating_mul(height).saturating_mul(size_of::<[u8; 3]>()))?;
    let mut canvas = Canvas::new(width, height)?;
    for shape in while_going_on(&scene.shapes) {
        canvas.draw(shape);
    }
    limits::go_on()?;
    encode(canvas.averaged(), scene.width, scene.height)
}

/// Encodes red, green and blue of each pixel, row by row. Errors: as [`write`].
pub(super) fn encode(rgb: Vec<u8>, width: u32, height: u32) -> Result<Vec<u8>, FigureError> {
    limits::aside(move || encoded(&rgb, width, height))?
}

fn encoded(rgb: &[u8], width: u32, height: u32) -> Result<Vec<u8>, FigureError> {
    let failed = |error: EncodingError| FigureError::Picture { reason: error.to_string() };
    let mut bytes = Vec::new();
    let mut encoder = Encoder::new(&mut bytes, width, height);
    encoder.set_color(ColorType::Rgb);
    encoder.set_depth(BitDepth::Eight);
    let mut writer = encoder.write_header().map_err(failed)?;
    writer.write_image_data(rgb).map_err(failed)?;
    writer.finish().map_err(failed)?;
    Ok(bytes)
}

/// The large picture; lengths of the scene are multiplied by [`SAMPLES`].
struct Canvas {
    width: usize,
    height: usize,
    /// Red, green and blue of each sample, row by row.
    samples: Vec<[u8; 3]>,
}

impl Canvas {
    /// White paper. Errors: the evaluation is to end.
    fn new(width: usize, height: usize) -> Result<Canvas, Ended> {
        let mut samples = Vec::with_capacity(width * height);
        for row in 1..=height {
            limits::go_on()?;
            samples.resize(row * width, [255; 3]);
        }
        Ok(Canvas { width, height, samples })
    }

    fn draw(&mut self, shape: &Shape) {
        match shape {
            Shape::Line { points, ink, width, dash } => {
                for part in dashes(points, dash) {
                    self.stroke(&part, *width, *ink);
                }
            }
            Shape::Area { points, ink } => self.fill(points, *ink),
            Shape::Veil { points, ink, opacity } => self.veil(points, *ink, *opacity),
            Shape::Disc { centre, radius, ink } => self.fill(&circle(*centre, *radius), *ink),
            Shape::Box { rect, ink } => {
                let corners =
                    [(rect.left, rect.top), (rect.right, rect.top), (rect.right, rect.bottom), (rect.left, rect.bottom)];
                self.fill(&corners, *ink);
            }
            Shape::Picture { rect, columns, cells } => self.picture(rect, *columns, cells),
            Shape::Text(text) => self.print(text),
        }
    }

    fn picture(&mut self, rect: &Rect, columns: usize, cells: &[Ink]) {
        let rows = cells.len() / columns.max(1);
        let (wide, high) = (rect.width() / columns as f64, rect.height() / rows as f64);
        for (index, ink) in while_going_on(cells.iter().enumerate()) {
            let (left, top) = (rect.left + (index % columns) as f64 * wide, rect.top + (index / columns) as f64 * high);
            self.fill(&[(left, top), (left + wide, top), (left + wide, top + high), (left, top + high)], *ink);
        }
    }

    /// Each segment as a rectangle, with round joints.
    fn stroke(&mut self, points: &[Spot], width: f64, ink: Ink) {
        for pair in while_going_on(points.windows(2)) {
            let (from, to) = (pair[0], pair[1]);
            let (dx, dy) = (to.0 - from.0, to.1 - from.1);
            let length = dx.hypot(dy);
            if length == 0.0 {
                continue;
            }
            let (nx, ny) = (-dy / length * width / 2.0, dx / length * width / 2.0);
            let corners =
                [(from.0 + nx, from.1 + ny), (to.0 + nx, to.1 + ny), (to.0 - nx, to.1 - ny), (from.0 - nx, from.1 - ny)];
            self.fill(&corners, ink);
        }
        if width > 1.0 && points.len() > 2 {
            for joint in while_going_on(&points[1..points.len() - 1]) {
                self.fill(&circle(*joint, width / 2.0), ink);
            }
        }
    }

    fn fill(&mut self, outline: &[Spot], ink: Ink) {
        self.spans(outline, |samples| samples.fill([ink.0, ink.1, ink.2]));
    }

    /// Fills an outline with a colour that lets through what lies below.
    fn veil(&mut self, outline: &[Spot], ink: Ink, opacity: f64) {
        let mix = |old: u8, new: u8| (f64::from(old) + (f64::from(new) - f64::from(old)) * opacity).round() as u8;
        self.spans(outline, |samples| {
            samples.iter_mut().for_each(|old| *old = [mix(old[0], ink.0), mix(old[1], ink.1), mix(old[2], ink.2)]);
        });
    }

    /// Paints the inside of an outline by the even-odd rule, row by row through the middles of samples.
    fn spans(&mut self, outline: &[Spot], paint: impl Fn(&mut [[u8; 3]])) {
        let scale = SAMPLES as f64;
        let top = outline.iter().map(|spot| spot.1).fold(f64::INFINITY, f64::min) * scale;
        let bottom = outline.iter().map(|spot| spot.1).fold(f64::NEG_INFINITY, f64::max) * scale;
        let last = (bottom.ceil().max(0.0) as usize).min(self.height);
        for row in top.floor().max(0.0) as usize..last {
            let y = (row as f64 + 0.5) / scale;
            let mut crossings: Vec<f64> = (0..outline.len())
                .filter_map(|index| {
                    let (from, to) = (outline[index], outline[(index + 1) % outline.len()]);
                    let crosses = (from.1 <= y) != (to.1 <= y);
                    crosses.then(|| (from.0 + (y - from.1) / (to.1 - from.1) * (to.0 - from.0)) * scale)
                })
                .collect();
            crossings.sort_by(f64::total_cmp);
            for span in crossings.chunks_exact(2) {
                let start = (span[0] - 0.5).ceil().max(0.0) as usize;
                let end = ((span[1] - 0.5).ceil().max(0.0) as usize).min(self.width);
                if start < end {
                    paint(&mut self.samples[row * self.width + start..row * self.width + end]);
                }
            }
        }
    }

    fn print(&mut self, text: &Text) {
        let scale = SAMPLES as f64;
        let size = text.size * scale;
        // plotters puts the base line half the font's height below the given place.
        let place = ((text.left() * scale).round() as i32, (text.at.1 * scale - FONT_HEIGHT * size / 2.0).round() as i32);
        let drawn = font(size, text.weight).draw(&text.content, place, |x, y, coverage| {
            if let (Ok(x), Ok(y)) = (usize::try_from(x), usize::try_from(y)) {
                self.blend(x, y, text.ink, f64::from(coverage));
            }
            Ok::<(), std::convert::Infallible>(())
        });
        // Without a font the picture still shows its shapes; the SVG is not affected.
        drop(drawn);
    }

    fn blend(&mut self, x: usize, y: usize, ink: Ink, coverage: f64) {
        if x >= self.width || y >= self.height {
            return;
        }
        let sample = &mut self.samples[y * self.width + x];
        for (old, new) in sample.iter_mut().zip([ink.0, ink.1, ink.2]) {
            *old = (f64::from(*old) + (f64::from(new) - f64::from(*old)) * coverage.clamp(0.0, 1.0)).round() as u8;
        }
    }

    /// The picture in its own size: each pixel the mean of its samples.
    fn averaged(&self) -> Vec<u8> {
        let mut small = Vec::with_capacity(self.samples.len() * 3 / (SAMPLES * SAMPLES));
        for top in (0..self.height).step_by(SAMPLES) {
            if limits::ended() {
                break;
            }
            for left in (0..self.width).step_by(SAMPLES) {
                let mut sum = [0u32; 3];
                for row in top..top + SAMPLES {
                    let start = row * self.width + left;
                    for [red, green, blue] in &self.samples[start..start + SAMPLES] {
                        sum[0] += u32::from(*red);
                        sum[1] += u32::from(*green);
                        sum[2] += u32::from(*blue);
                    }
                }
                small.extend(sum.map(|channel| (channel / (SAMPLES * SAMPLES) as u32) as u8));
            }
        }
        small
    }
}

fn circle((x, y): Spot, radius: f64) -> Vec<Spot> {
    let n_corners = 28;
    let corner = |index: i32| {
        let angle = f64::from(index) * std::f64::consts::TAU / f64::from(n_corners);
        (x + radius * angle.cos(), y + radius * angle.sin())
    };
    (0..n_corners).map(corner).collect()
}
