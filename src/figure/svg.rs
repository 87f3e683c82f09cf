//! A scene as SVG text (W3C SVG 1.1): coordinates to two decimals, text as text, a title and a description for readers.
//!
//! A style sheet inside brings the used glyphs of the font, and the colors for readers who prefer dark screens; print stays light.
//! Whoever knows no style sheets shows the light colors and a font of like width.

use super::dark::on_dark;
use super::geometry::{Rect, Spot};
use super::png;
use super::scene::{Anchor, Ink, Scene, Shape, Text};
use super::text::Weight;
use super::webfont::{self, FAMILY, Glyphs};
use crate::limits::while_going_on;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use pulldown_cmark_escape::{FmtWriter, escape_html};
use std::collections::BTreeSet;
use std::fmt::Write;

/// Our font where it is installed, then fonts of like width.
const FONTS: &str = "Noto Sans, Open Sans, Segoe UI, Helvetica Neue, Arial, sans-serif";

/// Where the fonts of a drawing are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Fonts {
    /// In the drawing.
    Inside,
    /// In the page that shows it.
    Outside,
}

/// The colors of a drawing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Colors {
    /// Those that its reader prefers.
    LightAndDark,
    /// Light on every screen: for paper.
    Light,
}

/// The whole document.
pub(super) fn write(scene: &Scene, fonts: Fonts, colors: Colors) -> String {
    let (width, height) = (scene.width, scene.height);
    let fonts = if fonts == Fonts::Inside { webfont::rules(&Glyphs::of(scene)) } else { String::new() };
    let colors = if colors == Colors::Light { String::new() } else { dark_rules(scene) };
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\" \
         role=\"img\" aria-label=\"{title}\" font-family=\"{FAMILY}, {FONTS}\">\n<title>{title}</title>\n\
         <desc>{description}</desc>\n<style>{fonts}{colors}</style>\n",
        title = escaped(&scene.title),
        description = escaped(&scene.description),
    );
    for shape in while_going_on(&scene.shapes) {
        write_shape(shape, &mut out);
    }
    out.push_str("</svg>\n");
    out
}

/// Rules that turn each color of the scene into its dark counterpart, on screens of readers who prefer that.
fn dark_rules(scene: &Scene) -> String {
    let (mut fills, mut strokes) = (BTreeSet::new(), BTreeSet::new());
    for shape in &scene.shapes {
        match shape {
            Shape::Line { ink, .. } => strokes.insert((ink.0, ink.1, ink.2)),
            Shape::Area { ink, .. } | Shape::Veil { ink, .. } | Shape::Disc { ink, .. } | Shape::Box { ink, .. } => {
                fills.insert((ink.0, ink.1, ink.2))
            }
            Shape::Text(text) => fills.insert((text.ink.0, text.ink.1, text.ink.2)),
            Shape::Picture { .. } => false,
        };
    }
    let mut rules = String::new();
    for (property, inks) in [("fill", fills), ("stroke", strokes)] {
        for ink in inks.into_iter().map(|(red, green, blue)| Ink(red, green, blue)) {
            let dark = on_dark(ink);
            if dark != ink {
                rules += &format!("[{property}=\"{}\"]{{{property}:{}}}", hex(ink), hex(dark));
            }
        }
    }
    format!("@media screen and (prefers-color-scheme:dark){{{rules}}}")
}

/// Writing to a text cannot fail, so results of `write!` are dropped here and below.
fn write_shape(shape: &Shape, out: &mut String) {
    match shape {
        Shape::Line { points, ink, width, dash } => {
            let dash = if dash.is_empty() { String::new() } else { format!(" stroke-dasharray=\"{}\"", list(dash)) };
            let (points, ink, width) = (spots(points), hex(*ink), decimal(*width));
            let _ = writeln!(
                out,
                "<polyline points=\"{points}\" fill=\"none\" stroke=\"{ink}\" stroke-width=\"{width}\" stroke-linejoin=\"round\"{dash}/>"
            );
        }
        Shape::Area { points, ink } => {
            let _ = writeln!(out, "<polygon points=\"{}\" fill=\"{}\"/>", spots(points), hex(*ink));
        }
        Shape::Veil { points, ink, opacity } => {
            let (points, ink, opacity) = (spots(points), hex(*ink), decimal(*opacity));
            let _ = writeln!(out, "<polygon points=\"{points}\" fill=\"{ink}\" fill-opacity=\"{opacity}\"/>");
        }
        Shape::Disc { center, radius, ink } => {
            let (x, y, r) = (decimal(center.0), decimal(center.1), decimal(*radius));
            let _ = writeln!(out, "<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\" fill=\"{}\"/>", hex(*ink));
        }
        Shape::Box { rect, ink } => {
            let (x, y) = (decimal(rect.left), decimal(rect.top));
            let (width, height) = (decimal(rect.width().max(0.0)), decimal(rect.height().max(0.0)));
            let _ = writeln!(out, "<rect x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" fill=\"{}\"/>", hex(*ink));
        }
        Shape::Picture { rect, columns, cells } => write_picture(rect, *columns, cells, out),
        Shape::Text(text) => write_text(text, out),
    }
}

/// A picture inside the document, as PNG in base 64; when it cannot be encoded its place stays empty.
fn write_picture(rect: &Rect, columns: usize, cells: &[Ink], out: &mut String) {
    let rgb: Vec<u8> = cells.iter().flat_map(|ink| [ink.0, ink.1, ink.2]).collect();
    let rows = cells.len() / columns.max(1);
    let Ok(bytes) = png::encode(rgb, columns as u32, rows as u32) else { return };
    let (x, y, width, height) = (decimal(rect.left), decimal(rect.top), decimal(rect.width()), decimal(rect.height()));
    let _ = writeln!(
        out,
        "<image x=\"{x}\" y=\"{y}\" width=\"{width}\" height=\"{height}\" preserveAspectRatio=\"none\" href=\"data:image/png;base64,{}\"/>",
        STANDARD.encode(&bytes)
    );
}

fn write_text(text: &Text, out: &mut String) {
    let anchor = match text.anchor {
        Anchor::Start => "",
        Anchor::Middle => " text-anchor=\"middle\"",
        Anchor::End => " text-anchor=\"end\"",
    };
    let weight = if text.weight == Weight::Bold { " font-weight=\"bold\"" } else { "" };
    let (x, y, size) = (decimal(text.at.0), decimal(text.at.1), decimal(text.size));
    let (ink, content) = (hex(text.ink), escaped(&text.content));
    let _ = writeln!(out, "<text x=\"{x}\" y=\"{y}\" font-size=\"{size}\" fill=\"{ink}\"{anchor}{weight}>{content}</text>");
}

fn spots(points: &[Spot]) -> String {
    points.iter().map(|(x, y)| format!("{},{}", decimal(*x), decimal(*y))).collect::<Vec<_>>().join(" ")
}

fn list(numbers: &[f64]) -> String {
    numbers.iter().map(|number| decimal(*number)).collect::<Vec<_>>().join(" ")
}

/// At most two decimals.
fn decimal(value: f64) -> String {
    let text = format!("{value:.2}");
    let short = text.trim_end_matches('0').trim_end_matches('.');
    if short == "-0" { "0".into() } else { short.into() }
}

fn hex(ink: Ink) -> String {
    format!("#{:02x}{:02x}{:02x}", ink.0, ink.1, ink.2)
}

fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    // Writing to a text cannot fail.
    let _ = escape_html(FmtWriter(&mut out), text);
    out
}
