//! Scenes as the pages of a PDF document (ISO 32000-1): vectors, text as text, the used glyphs of the font inside the document.
//!
//! A pixel is 1/96 inch, so that a page of paper has its own size. The same scenes give the same bytes.

use super::error::FigureError;
use super::geometry::{Rect, Spot};
use super::scene::{Anchor, Ink, Scene, Shape, Text};
use super::text::{Weight, data_of};
use crate::limits::{self, while_going_on};
use miniz_oxide::deflate::compress_to_vec_zlib;
use pdf_writer::types::{CidFontType, FontFlags, LineJoinStyle, SystemInfo, UnicodeCmap};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect as Box, Ref, Str, TextStr};
use std::collections::BTreeMap;
use subsetter::{GlyphRemapper, subset};
use ttf_parser::Face;

/// Points of a page for one pixel of a scene.
const POINTS: f64 = 0.75;
/// How strongly streams are compressed, 0 to 10.
const EFFORT: u8 = 6;
/// Length of the handles of a quarter circle of radius 1.
const QUARTER: f64 = 0.552_284_75;
const WEIGHTS: [Weight; 2] = [Weight::Regular, Weight::Bold];

/// The document, a page for each scene. Errors: [`FigureError::Picture`] when the font cannot be read; the evaluation is to end.
pub(super) fn write(pages: &[Scene]) -> Result<Vec<u8>, FigureError> {
    let mut document = Document::new()?;
    for scene in while_going_on(pages) {
        document.page(scene);
    }
    limits::go_on()?;
    let (title, told) = pages.first().map_or(("", ""), |scene| (scene.title.as_str(), scene.description.as_str()));
    document.finish(title, told)
}

fn failed(what: impl std::fmt::Display) -> FigureError {
    FigureError::Picture { reason: what.to_string() }
}

/// One weight of the font and the glyphs that are used of it.
struct Font {
    data: &'static [u8],
    face: Face<'static>,
    glyphs: GlyphRemapper,
    /// The character of each glyph by its new number.
    characters: BTreeMap<u16, char>,
}

impl Font {
    fn of(weight: Weight) -> Result<Font, FigureError> {
        let data = data_of(weight);
        let face = Face::parse(data, 0).map_err(failed)?;
        Ok(Font { data, face, glyphs: GlyphRemapper::new(), characters: BTreeMap::new() })
    }

    /// A length of the font in thousandths of its size.
    fn thousandths(&self, units: impl Into<f64>) -> f32 {
        (1000.0 * units.into() / f64::from(self.face.units_per_em())) as f32
    }

    /// A text as numbers of glyphs, two bytes each, and its width at size 1.
    fn encode(&mut self, text: &str) -> (Vec<u8>, f64) {
        let mut bytes = Vec::with_capacity(2 * text.len());
        let mut width = 0.0;
        for character in text.chars() {
            let glyph = self.face.glyph_index(character).unwrap_or_default();
            width += f64::from(self.face.glyph_hor_advance(glyph).unwrap_or(0)) / f64::from(self.face.units_per_em());
            let number = self.glyphs.remap(glyph.0);
            self.characters.entry(number).or_insert(character);
            bytes.extend(number.to_be_bytes());
        }
        (bytes, width)
    }
}

/// A document in the making. Objects are numbered as they come.
struct Document {
    pdf: Pdf,
    fonts: [Font; 2],
    font_refs: [Ref; 2],
    catalog: Ref,
    tree: Ref,
    pages: Vec<Ref>,
    last: i32,
}

/// What a page needs beside its content.
#[derive(Default)]
struct Needs {
    /// Opacities in thousandths.
    veils: Vec<u32>,
    pictures: Vec<Ref>,
}

impl Document {
    fn new() -> Result<Document, FigureError> {
        Ok(Document {
            pdf: Pdf::new(),
            fonts: [Font::of(Weight::Regular)?, Font::of(Weight::Bold)?],
            font_refs: [Ref::new(3), Ref::new(4)],
            catalog: Ref::new(1),
            tree: Ref::new(2),
            pages: Vec::new(),
            last: 4,
        })
    }

    fn next(&mut self) -> Ref {
        self.last += 1;
        Ref::new(self.last)
    }

    fn page(&mut self, scene: &Scene) {
        let (width, height) = (f64::from(scene.width) * POINTS, f64::from(scene.height) * POINTS);
        let mut content = Content::new();
        // Scenes have y downwards and pixels.
        content.transform([POINTS as f32, 0.0, 0.0, -POINTS as f32, 0.0, height as f32]);
        content.set_line_join(LineJoinStyle::RoundJoin);
        let mut needs = Needs::default();
        for shape in while_going_on(&scene.shapes) {
            self.draw(shape, &mut content, &mut needs);
        }
        let (page, stream) = (self.next(), self.next());
        let data = compress_to_vec_zlib(&content.finish(), EFFORT);
        self.pdf.stream(stream, &data).filter(Filter::FlateDecode);
        let mut object = self.pdf.page(page);
        object.parent(self.tree).media_box(Box::new(0.0, 0.0, width as f32, height as f32)).contents(stream);
        let mut resources = object.resources();
        let mut fonts = resources.fonts();
        fonts.pair(Name(b"F0"), self.font_refs[0]).pair(Name(b"F1"), self.font_refs[1]);
        fonts.finish();
        let mut states = resources.ext_g_states();
        for veil in &needs.veils {
            let name = format!("V{veil}");
            states
                .insert(Name(name.as_bytes()))
                .start::<pdf_writer::writers::ExtGraphicsState>()
                .non_stroking_alpha(*veil as f32 / 1000.0);
        }
        states.finish();
        let mut pictures = resources.x_objects();
        for (index, picture) in needs.pictures.iter().enumerate() {
            pictures.pair(Name(format!("P{index}").as_bytes()), *picture);
        }
        pictures.finish();
        resources.finish();
        object.finish();
        self.pages.push(page);
    }

    fn draw(&mut self, shape: &Shape, content: &mut Content, needs: &mut Needs) {
        match shape {
            Shape::Line { points, ink, width, dash } => {
                stroke_color(content, *ink);
                content.set_line_width(*width as f32);
                content.set_dash_pattern(dash.iter().map(|length| *length as f32), 0.0);
                outline(content, points);
                content.stroke();
            }
            Shape::Area { points, ink } => {
                fill_color(content, *ink);
                outline(content, points);
                content.close_path().fill_nonzero();
            }
            Shape::Veil { points, ink, opacity } => {
                let veil = (1000.0 * opacity.clamp(0.0, 1.0)).round() as u32;
                if !needs.veils.contains(&veil) {
                    needs.veils.push(veil);
                }
                content.save_state();
                content.set_parameters(Name(format!("V{veil}").as_bytes()));
                fill_color(content, *ink);
                outline(content, points);
                content.close_path().fill_nonzero();
                content.restore_state();
            }
            Shape::Disc { center, radius, ink } => {
                fill_color(content, *ink);
                circle(content, *center, *radius);
                content.fill_nonzero();
            }
            Shape::Box { rect, ink } => {
                fill_color(content, *ink);
                let (width, height) = (rect.width().max(0.0), rect.height().max(0.0));
                content.rect(rect.left as f32, rect.top as f32, width as f32, height as f32).fill_nonzero();
            }
            Shape::Picture { rect, columns, cells } => self.picture(rect, *columns, cells, content, needs),
            Shape::Text(text) => self.text(text, content),
        }
    }

    fn picture(&mut self, rect: &Rect, columns: usize, cells: &[Ink], content: &mut Content, needs: &mut Needs) {
        let rows = cells.len() / columns.max(1);
        let rgb: Vec<u8> = cells.iter().flat_map(|ink| [ink.0, ink.1, ink.2]).collect();
        let data = compress_to_vec_zlib(&rgb, EFFORT);
        let reference = self.next();
        let mut image = self.pdf.image_xobject(reference, &data);
        image.filter(Filter::FlateDecode);
        image.width(columns as i32).height(rows as i32).bits_per_component(8).interpolate(false);
        image.color_space().device_rgb();
        image.finish();
        let name = format!("P{}", needs.pictures.len());
        needs.pictures.push(reference);
        content.save_state();
        // A picture fills the unit square with its first row on top.
        let (width, height) = (rect.width() as f32, rect.height() as f32);
        content.transform([width, 0.0, 0.0, -height, rect.left as f32, rect.bottom as f32]);
        content.x_object(Name(name.as_bytes()));
        content.restore_state();
    }

    fn text(&mut self, text: &Text, content: &mut Content) {
        let font = usize::from(text.weight == Weight::Bold);
        let (bytes, width) = self.fonts[font].encode(&text.content);
        let left = match text.anchor {
            Anchor::Start => text.at.0,
            Anchor::Middle => text.at.0 - width * text.size / 2.0,
            Anchor::End => text.at.0 - width * text.size,
        };
        fill_color(content, text.ink);
        content.begin_text().set_font(Name(if font == 1 { b"F1" } else { b"F0" }), text.size as f32);
        // Letters stand upright where y points downwards.
        content.set_text_matrix([1.0, 0.0, 0.0, -1.0, left as f32, text.at.1 as f32]);
        content.show(Str(&bytes)).end_text();
    }

    fn finish(mut self, title: &str, told: &str) -> Result<Vec<u8>, FigureError> {
        let tree = self.tree;
        let mut catalog = self.pdf.catalog(self.catalog);
        catalog.pages(tree).lang(TextStr("en-US"));
        catalog.finish();
        let count = self.pages.len() as i32;
        self.pdf.pages(tree).kids(self.pages.iter().copied()).count(count);
        for index in 0..WEIGHTS.len() {
            self.write_font(index)?;
        }
        let info = self.next();
        self.pdf.document_info(info).title(TextStr(title)).subject(TextStr(told)).producer(TextStr("hosewright"));
        Ok(self.pdf.finish())
    }

    /// The glyphs that are used, with what is needed to search and copy the text.
    fn write_font(&mut self, index: usize) -> Result<(), FigureError> {
        let [cid, descriptor, file, map] = [self.next(), self.next(), self.next(), self.next()];
        let font = &self.fonts[index];
        let data = subset(font.data, 0, &font.glyphs).map_err(failed)?;
        // A tag of six letters marks a font that is not whole.
        let name = if index == 1 { b"HOSEWB+NotoSans-Bold".as_slice() } else { b"HOSEWR+NotoSans".as_slice() };
        let info = SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };

        let mut type0 = self.pdf.type0_font(self.font_refs[index]);
        type0.base_font(Name(name)).encoding_predefined(Name(b"Identity-H")).descendant_font(cid).to_unicode(map);
        type0.finish();

        let widths = font.glyphs.remapped_gids().map(|glyph| {
            let advance = font.face.glyph_hor_advance(ttf_parser::GlyphId(glyph)).unwrap_or(0);
            font.thousandths(advance)
        });
        let mut object = self.pdf.cid_font(cid);
        object.subtype(CidFontType::Type2).base_font(Name(name)).system_info(info).font_descriptor(descriptor).default_width(0.0);
        object.cid_to_gid_map_predefined(Name(b"Identity"));
        object.widths().consecutive(0, widths);
        object.finish();

        let bounds = font.face.global_bounding_box();
        let corners = [bounds.x_min, bounds.y_min, bounds.x_max, bounds.y_max].map(|corner| font.thousandths(corner));
        let capital = font.face.capital_height().unwrap_or(font.face.ascender());
        self.pdf
            .font_descriptor(descriptor)
            .name(Name(name))
            .flags(FontFlags::SYMBOLIC)
            .bbox(Box::new(corners[0], corners[1], corners[2], corners[3]))
            .italic_angle(0.0)
            .ascent(font.thousandths(font.face.ascender()))
            .descent(font.thousandths(font.face.descender()))
            .cap_height(font.thousandths(capital))
            .stem_v(if index == 1 { 140.0 } else { 90.0 })
            .font_file2(file);

        let compressed = compress_to_vec_zlib(&data, EFFORT);
        let mut stream = self.pdf.stream(file, &compressed);
        stream.filter(Filter::FlateDecode).pair(Name(b"Length1"), data.len() as i32);
        stream.finish();

        let mut characters = UnicodeCmap::new(Name(b"Characters"), info);
        font.characters.iter().for_each(|(glyph, character)| characters.pair(*glyph, *character));
        self.pdf.cmap(map, &characters.finish());
        Ok(())
    }
}

fn share(level: u8) -> f32 {
    f32::from(level) / 255.0
}

fn fill_color(content: &mut Content, ink: Ink) {
    content.set_fill_rgb(share(ink.0), share(ink.1), share(ink.2));
}

fn stroke_color(content: &mut Content, ink: Ink) {
    content.set_stroke_rgb(share(ink.0), share(ink.1), share(ink.2));
}

fn outline(content: &mut Content, points: &[Spot]) {
    for (index, (x, y)) in points.iter().enumerate() {
        if index == 0 {
            content.move_to(*x as f32, *y as f32);
        } else {
            content.line_to(*x as f32, *y as f32);
        }
    }
}

fn circle(content: &mut Content, (x, y): Spot, radius: f64) {
    let at = |dx: f64, dy: f64| ((x + radius * dx) as f32, (y + radius * dy) as f32);
    let (start_x, start_y) = at(1.0, 0.0);
    content.move_to(start_x, start_y);
    for turn in [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)] {
        let (c, s) = turn;
        let points = [(c - QUARTER * s, s + QUARTER * c), (QUARTER * c - s, QUARTER * s + c), (-s, c)];
        let [first, second, end] = points.map(|(dx, dy)| at(dx, dy));
        content.cubic_to(first.0, first.1, second.0, second.1, end.0, end.1);
    }
    content.close_path();
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::figure::{Axis, Field, Figure, Graphic, Plot, Sheet, SheetBlock, pdf};
    use miniz_oxide::inflate::decompress_to_vec_zlib;

    /// The place of a text in bytes, from a place on.
    fn find(bytes: &[u8], text: &str, from: usize) -> Option<usize> {
        bytes[from..].windows(text.len()).position(|window| window == text.as_bytes()).map(|at| from + at)
    }

    fn number(bytes: &[u8]) -> usize {
        let digits: String = bytes.iter().map(|byte| char::from(*byte)).take_while(char::is_ascii_digit).collect();
        digits.parse().expect("a number")
    }

    /// Each entry of the table of objects leads to its object; returns how many there are.
    fn objects(bytes: &[u8]) -> usize {
        assert!(bytes.starts_with(b"%PDF-1.7") && bytes.ends_with(b"%%EOF"));
        let start = find(bytes, "startxref", 0).expect("a start") + "startxref".len() + 1;
        let table = number(&bytes[start..]);
        assert!(bytes[table..].starts_with(b"xref"));
        let text = String::from_utf8_lossy(&bytes[table..]).to_string();
        let mut lines = text.lines().skip(1);
        let count: usize = lines.next().expect("a range").split(' ').nth(1).expect("a count").trim().parse().expect("a number");
        for (index, line) in lines.take(count).enumerate().skip(1) {
            let offset: usize = line[..10].parse().expect("an offset");
            assert!(bytes[offset..].starts_with(format!("{index} 0 obj").as_bytes()), "object {index}");
        }
        count - 1
    }

    /// What the streams hold.
    fn streams(bytes: &[u8]) -> Vec<Vec<u8>> {
        let mut found = Vec::new();
        let mut from = 0;
        while let Some(at) = find(bytes, "\nstream\n", from) {
            let begin = at + "\nstream\n".len();
            let end = find(bytes, "\nendstream", begin).expect("an end");
            found.push(decompress_to_vec_zlib(&bytes[begin..end]).unwrap_or_else(|_| bytes[begin..end].to_vec()));
            from = end;
        }
        found
    }

    fn sheet(steps: usize) -> Sheet {
        let steps = (0..steps).map(|step| format!("step {step} of a list")).collect();
        Sheet { title: "A list".into(), blocks: vec![SheetBlock::Steps(steps)], ..Sheet::default() }
    }

    #[test]
    fn a_document_has_all_its_objects_pages_and_texts() {
        for steps in [3, 200] {
            let bytes = Graphic::Sheet(sheet(steps)).drawn().and_then(|drawn| drawn.pdf()).expect("a document");
            objects(&bytes);
            let pages = number(&bytes[find(&bytes, "/Count ", 0).expect("a count") + "/Count ".len()..]);
            assert_eq!(pages > 1, steps == 200, "{steps} steps on {pages} pages");
            let content: Vec<u8> = streams(&bytes).concat();
            let shown = content
                .windows(3)
                .filter(|window| *window == b" Tj" || *window == b"\nTj" || *window == b")Tj" || *window == b">Tj")
                .count();
            // A number and a text for each step; a title and a number for each page.
            let numbers = if pages > 1 { pages } else { 0 };
            assert_eq!(shown, 2 * steps + pages + numbers);
        }
    }

    #[test]
    fn the_used_glyphs_are_inside_with_their_characters() {
        let bytes = Graphic::Sheet(sheet(3)).drawn().and_then(|drawn| drawn.pdf()).expect("a document");
        assert_eq!(String::from_utf8_lossy(&bytes).matches("/FontFile2").count(), 2);
        let streams = streams(&bytes);
        let fonts: Vec<&Vec<u8>> = streams.iter().filter(|stream| stream.starts_with(&[0, 1, 0, 0])).collect();
        assert_eq!(fonts.len(), 2);
        for font in fonts {
            let face = Face::parse(font, 0).expect("a font");
            assert!(face.number_of_glyphs() < 40, "{}", face.number_of_glyphs());
        }
        let maps: String = streams
            .iter()
            .map(|stream| String::from_utf8_lossy(stream).to_string())
            .filter(|text| text.contains("begincmap"))
            .collect();
        for letter in "stepofal".chars() {
            assert!(maps.contains(&format!("<{:04X}>", u32::from(letter))), "{letter}");
        }
        assert!(bytes.len() < 30_000, "{} bytes", bytes.len());
    }

    #[test]
    fn the_same_figure_gives_the_same_bytes_and_pictures_are_inside() {
        let field = Field {
            xs: vec![1.0, 2.0, 3.0],
            ys: vec![1.0, 2.0],
            values: (0..6).map(|value| Some(f64::from(value))).collect(),
            axis: Axis::new("z"),
            marks: vec![],
        };
        let figure = Figure::new(Axis::new("x"), Axis::new("y"), Plot::Heat(field));
        let bytes = pdf(&figure).expect("a document");
        assert_eq!(bytes, pdf(&figure).expect("a document"));
        objects(&bytes);
        assert!(find(&bytes, "/Subtype/Image", 0).or(find(&bytes, "/Subtype /Image", 0)).is_some());
    }
}
