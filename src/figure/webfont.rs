//! The used glyphs of the font inside a drawing, so that its texts have their measured widths where the font is not installed.
//!
//! Each weight becomes a font file of the web (WOFF File Format 1.0, W3C 2012) in base 64: the tables of the OpenType format that a
//! browser asks for, glyphs without the instructions for coarse screens.

use super::error::FigureError;
use super::scene::{Scene, Shape};
use super::text::{Weight, data_of};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use miniz_oxide::deflate::compress_to_vec_zlib;
use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::sync::{Mutex, PoisonError};
use subsetter::{GlyphRemapper, subset};
use ttf_parser::{Face, RawFace, Tag};

/// The name by which the drawing calls its font.
pub(super) const FAMILY: &str = "hosewright";

/// How strongly tables are compressed, 0 to 10.
const EFFORT: u8 = 9;
/// Glyphs of TrueType outlines, as the first bytes of a font file say it.
const TRUE_TYPE: u32 = 0x0001_0000;

type Table = (&'static [u8; 4], Vec<u8>);

/// The weights of the font, each with its number in a style sheet.
const WEIGHTS: [(Weight, u32); 2] = [(Weight::Regular, 400), (Weight::Bold, 700)];
/// How a rule that brings a font begins.
const RULE: &str = "@font-face{font-family:hosewright;";
/// Fonts that are kept, since the next drawing often needs the same.
const MOST_KEPT: usize = 16;

/// The characters that drawings show, by the weight of the font.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Glyphs {
    regular: BTreeSet<u16>,
    bold: BTreeSet<u16>,
}

impl Glyphs {
    pub(super) fn of(scene: &Scene) -> Glyphs {
        let mut all = Glyphs::default();
        for shape in &scene.shapes {
            if let Shape::Text(text) = shape {
                all.note(&text.content, text.weight);
            }
        }
        all
    }

    fn note(&mut self, text: &str, weight: Weight) {
        let used = if weight == Weight::Bold { &mut self.bold } else { &mut self.regular };
        used.extend(text.chars().filter_map(|character| u16::try_from(u32::from(character)).ok()));
    }

    fn used(&self, weight: Weight) -> &BTreeSet<u16> {
        if weight == Weight::Bold { &self.bold } else { &self.regular }
    }

    /// Takes in the characters of others.
    pub fn add(&mut self, others: &Glyphs) {
        self.regular.extend(&others.regular);
        self.bold.extend(&others.bold);
    }
}

/// The rules of a style sheet that bring the fonts with these characters; of a font that cannot be read none: its texts are shown in
/// another one.
pub fn rules(glyphs: &Glyphs) -> String {
    WEIGHTS.iter().map(|(weight, number)| rule(glyphs.used(*weight), *weight, *number)).collect()
}

fn rule(used: &BTreeSet<u16>, weight: Weight, number: u32) -> String {
    type Kept = (u32, BTreeSet<u16>, String);
    static KEPT: Mutex<VecDeque<Kept>> = Mutex::new(VecDeque::new());
    if used.is_empty() {
        return String::new();
    }
    let lock = || KEPT.lock().unwrap_or_else(PoisonError::into_inner);
    if let Some(found) = lock().iter().find(|(of, characters, _)| *of == number && characters == used) {
        return found.2.clone();
    }
    let Ok(font) = web_font(weight, used.iter().map(|character| (*character, 0)).collect()) else { return String::new() };
    let file = STANDARD.encode(font);
    let made = format!("{RULE}font-weight:{number};src:url(data:font/woff;base64,{file})format(\"woff\")}}");
    let mut kept = lock();
    kept.truncate(MOST_KEPT - 1);
    kept.push_front((number, used.clone(), made.clone()));
    made
}

/// A drawing of this program for a page: without its fonts, which the page has, and with what its shapes have in common said once; and
/// the characters that it shows. Nothing for a drawing of others.
pub fn for_page(svg: &str) -> Option<(String, Glyphs)> {
    let (head, _) = svg.split_once('>')?;
    if !head.starts_with("<svg ") || !head.contains(&format!(" font-family=\"{FAMILY}, ")) {
        return None;
    }
    let start = svg.find(STYLE)? + STYLE.len();
    let mut end = start;
    while svg[end..].starts_with(RULE) {
        end += svg[end..].find('}')? + 1;
    }
    let mut glyphs = Glyphs::default();
    // Size and color of each text, and how often.
    let mut looks: BTreeMap<&str, usize> = BTreeMap::new();
    for text in svg[end..].split("<text ").skip(1) {
        let (attributes, rest) = text.split_once('>')?;
        let weight = if attributes.contains("font-weight=\"bold\"") { Weight::Bold } else { Weight::Regular };
        glyphs.note(&plain(rest.split('<').next().unwrap_or_default()), weight);
        *looks.entry(look_of(attributes)).or_default() += 1;
    }
    let look = looks.into_iter().max_by_key(|(_, count)| *count).map_or("", |(look, _)| look);
    let mut body = svg[end..].replace(ROUND, "").replace(">\n<", "><");
    if !look.is_empty() {
        body = body.replace(look, "");
    }
    Some((format!("<svg{look}{ROUND} {}{body}", &svg["<svg ".len()..start]), glyphs))
}

/// Joints of lines, as all have them.
const ROUND: &str = " stroke-linejoin=\"round\"";

/// Size and color among the attributes of a text.
fn look_of(attributes: &str) -> &str {
    let found = || {
        let from = attributes.find(" font-size=\"")?;
        let fill = from + attributes[from..].find(" fill=\"#")?;
        let end = fill + " fill=\"#".len();
        Some(&attributes[from..end + attributes[end..].find('"')? + 1])
    };
    found().unwrap_or_default()
}

/// How the style sheet of a drawing begins; a page puts its fonts after it.
const STYLE: &str = "<style>";

/// A text of a drawing as it was before it was escaped.
pub fn plain(escaped: &str) -> String {
    let signs = [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&#39;", "'"), ("&#x27;", "'"), ("&amp;", "&")];
    signs.iter().fold(escaped.to_string(), |text, (written, sign)| text.replace(written, sign))
}

fn failed(what: impl std::fmt::Display) -> FigureError {
    FigureError::Picture { reason: what.to_string() }
}

/// A font file with the glyphs of these characters; the numbers of glyphs beside them are filled in.
fn web_font(weight: Weight, mut used: BTreeMap<u16, u16>) -> Result<Vec<u8>, FigureError> {
    let data = data_of(weight);
    let face = Face::parse(data, 0).map_err(failed)?;
    let mut glyphs = GlyphRemapper::new();
    for (character, number) in &mut used {
        let glyph = char::from_u32(u32::from(*character)).and_then(|character| face.glyph_index(character));
        *number = glyph.map_or(0, |glyph| glyphs.remap(glyph.0));
    }
    used.retain(|_, number| *number > 0);
    let small = subset(data, 0, &glyphs).map_err(failed)?;
    let small = RawFace::parse(&small, 0).map_err(failed)?;
    let of = |face: &RawFace<'_>, tag: &[u8; 4]| face.table(Tag::from_bytes(tag)).map(<[u8]>::to_vec).unwrap_or_default();
    let mut head = of(&small, b"head");
    let (glyf, loca) = plain_glyphs(&of(&small, b"glyf"), &of(&small, b"loca"), head.get(50..52) == Some(&[0, 1][..]));
    if head.len() >= 54 {
        head[8..12].fill(0); // The sum over a whole file, which this is not.
        head[50..52].copy_from_slice(&[0, 1]);
    }
    let mut post = of(&small, b"post");
    post.truncate(32);
    if post.len() == 32 {
        post[..4].copy_from_slice(&[0, 3, 0, 0]); // Without names of glyphs.
    }
    let tables = [
        (b"OS/2", of(face.raw_face(), b"OS/2")),
        (b"cmap", character_map(&used)),
        (b"glyf", glyf),
        (b"head", head),
        (b"hhea", of(&small, b"hhea")),
        (b"hmtx", of(&small, b"hmtx")),
        (b"loca", loca),
        (b"maxp", of(&small, b"maxp")),
        (b"name", vec![0, 0, 0, 0, 0, 6]), // No names.
        (b"post", post),
    ];
    Ok(packed(&tables))
}

fn short(bytes: &[u8], at: usize) -> Option<usize> {
    Some(usize::from(u16::from_be_bytes([*bytes.get(at)?, *bytes.get(at + 1)?])))
}

/// The glyphs without instructions, and where each begins, in four bytes.
fn plain_glyphs(glyf: &[u8], loca: &[u8], is_long: bool) -> (Vec<u8>, Vec<u8>) {
    let place = |index: usize| match is_long {
        true => Some((short(loca, 4 * index)? << 16) + short(loca, 4 * index + 2)?),
        false => Some(2 * short(loca, 2 * index)?),
    };
    let count = (loca.len() / if is_long { 4 } else { 2 }).saturating_sub(1);
    let (mut out, mut places) = (Vec::with_capacity(glyf.len()), Vec::with_capacity(4 * (count + 1)));
    for index in 0..count {
        places.extend((out.len() as u32).to_be_bytes());
        let whole = place(index).zip(place(index + 1)).and_then(|(from, to)| glyf.get(from..to)).unwrap_or_default();
        out.extend(plain_glyph(whole).unwrap_or_else(|| whole.to_vec()));
        out.resize(out.len().next_multiple_of(4), 0);
    }
    places.extend((out.len() as u32).to_be_bytes());
    (out, places)
}

/// One glyph without its instructions; nothing where it has another form than that of the OpenType specification, table `glyf`.
fn plain_glyph(glyph: &[u8]) -> Option<Vec<u8>> {
    const HEADER: usize = 10;
    const COMPOSITE: usize = 0x8000;
    let outlines = short(glyph, 0)?;
    let mut plain = glyph.to_vec();
    if outlines < COMPOSITE {
        let at = HEADER + 2 * outlines;
        let instructions = short(glyph, at)?;
        plain[at..at + 2].fill(0);
        plain.drain(at + 2..(at + 2 + instructions).min(glyph.len()));
        return Some(plain);
    }
    let mut at = HEADER;
    loop {
        let flags = short(glyph, at)?;
        plain[at] &= !1; // Instructions follow.
        let arguments = if flags & 1 != 0 { 4 } else { 2 };
        let scale = match flags {
            flags if flags & 0x08 != 0 => 2,
            flags if flags & 0x40 != 0 => 4,
            flags if flags & 0x80 != 0 => 8,
            _ => 0,
        };
        at += 4 + arguments + scale;
        if flags & 0x20 == 0 {
            plain.truncate(at);
            return Some(plain);
        }
    }
}

/// Which glyph shows which character: one table of format 4 (OpenType specification, table `cmap`), a segment for each run of characters
/// whose glyphs follow each other.
fn character_map(used: &BTreeMap<u16, u16>) -> Vec<u8> {
    let mut segments: Vec<(u16, u16, u16)> = Vec::new();
    for (&character, &glyph) in used {
        let delta = glyph.wrapping_sub(character);
        match segments.last_mut() {
            Some((_, last, same)) if *same == delta && last.checked_add(1) == Some(character) => *last = character,
            _ => segments.push((character, character, delta)),
        }
    }
    if segments.last().is_none_or(|(_, last, _)| *last != u16::MAX) {
        segments.push((u16::MAX, u16::MAX, 1));
    }
    let count = segments.len() as u16;
    let power = count.ilog2();
    let range = 2 * (1u16 << power);
    let mut words: Vec<u16> = vec![4, 16 + 8 * count, 0, 2 * count, range, power as u16, 2 * count - range];
    words.extend(segments.iter().map(|segment| segment.1));
    words.push(0);
    words.extend(segments.iter().map(|segment| segment.0));
    words.extend(segments.iter().map(|segment| segment.2));
    words.extend(segments.iter().map(|_| 0));
    // One table for Unicode on platform 3, which begins after these 12 bytes.
    [0u16, 1, 3, 1, 0, 12].into_iter().chain(words).flat_map(u16::to_be_bytes).collect()
}

/// Tables in the order of their names as a WOFF file.
fn packed(tables: &[Table]) -> Vec<u8> {
    const HEADER: usize = 44;
    const ENTRY: usize = 20;
    let aligned = |length: usize| length.next_multiple_of(4);
    let (mut entries, mut body) = (Vec::new(), Vec::new());
    let start = HEADER + ENTRY * tables.len();
    let mut whole = 12 + 16 * tables.len();
    for (tag, data) in tables {
        let small = Some(compress_to_vec_zlib(data, EFFORT)).filter(|small| small.len() < data.len());
        let stored = small.as_ref().unwrap_or(data);
        entries.extend(tag.iter());
        for number in [(start + body.len()) as u32, stored.len() as u32, data.len() as u32, checksum(data)] {
            entries.extend(number.to_be_bytes());
        }
        body.extend(stored);
        body.resize(aligned(body.len()), 0);
        whole += aligned(data.len());
    }
    let mut file = b"wOFF".to_vec();
    file.extend(TRUE_TYPE.to_be_bytes());
    file.extend(((start + body.len()) as u32).to_be_bytes());
    file.extend((tables.len() as u16).to_be_bytes());
    file.extend([0, 0]);
    file.extend((whole as u32).to_be_bytes());
    file.resize(HEADER, 0);
    file.extend(entries);
    file.extend(body);
    file
}

/// The sum of a table in words of four bytes, by which a file is checked.
fn checksum(data: &[u8]) -> u32 {
    let word = |bytes: &[u8]| {
        let mut four = [0; 4];
        four[..bytes.len()].copy_from_slice(bytes);
        u32::from_be_bytes(four)
    };
    data.chunks(4).map(word).fold(0, u32::wrapping_add)
}

#[cfg(test)]
mod tests {
    use super::*;
    use miniz_oxide::inflate::decompress_to_vec_zlib;

    fn number(bytes: &[u8], at: usize) -> usize {
        (short(bytes, at).expect("two bytes") << 16) + short(bytes, at + 2).expect("two bytes")
    }

    /// The tables of a WOFF file as a font file of the OpenType specification.
    fn unpacked(file: &[u8]) -> Vec<u8> {
        let count = short(file, 12).expect("a count");
        let (mut head, mut body) = (TRUE_TYPE.to_be_bytes().to_vec(), Vec::new());
        head.extend([(count as u16).to_be_bytes(), [0; 2], [0; 2], [0; 2]].concat());
        for entry in file[44..].chunks(20).take(count) {
            let (offset, stored, length) = (number(entry, 4), number(entry, 8), number(entry, 12));
            let data = &file[offset..offset + stored];
            let table = if stored < length { decompress_to_vec_zlib(data).expect("compressed") } else { data.to_vec() };
            assert_eq!(table.len(), length);
            assert_eq!(checksum(&table) as usize, number(entry, 16));
            head.extend([&entry[..4], &entry[16..20]].concat());
            head.extend(((12 + 16 * count + body.len()) as u32).to_be_bytes());
            head.extend((length as u32).to_be_bytes());
            body.extend(&table);
            body.resize(body.len().next_multiple_of(4), 0);
        }
        [head, body].concat()
    }

    /// The parser of the font finds each character with the width that it has in the whole font, and its outline.
    #[test]
    fn a_drawing_for_a_page_leaves_out_its_fonts_and_says_what_is_common_once() {
        let text =
            |at: u32, ink: &str, rest: &str| format!("<text x=\"{at}\" y=\"2\" font-size=\"13\" fill=\"{ink}\"{rest}</text>\n");
        let texts =
            [text(1, "#22282e", ">a&lt;b"), text(2, "#22282e", " font-weight=\"bold\">c"), text(3, "#5c646c", ">d")].concat();
        let line = "<polyline points=\"1,2\" stroke=\"#22282e\" stroke-linejoin=\"round\"/>\n";
        let head = format!("xmlns=\"x\" font-family=\"{FAMILY}, Arial\">\n<title>t</title>\n<style>");
        let whole = format!("<svg {head}{RULE}src:url(a)}}{RULE}src:url(b)}}[fill]{{fill:red}}</style>\n{line}{texts}</svg>\n");
        let (short, glyphs) = for_page(&whole).expect("one of ours");
        let expected = format!(
            "<svg font-size=\"13\" fill=\"#22282e\" stroke-linejoin=\"round\" {head}[fill]{{fill:red}}</style><polyline points=\"1,2\" \
             stroke=\"#22282e\"/><text x=\"1\" y=\"2\">a&lt;b</text><text x=\"2\" y=\"2\" font-weight=\"bold\">c</text>\
             <text x=\"3\" y=\"2\" font-size=\"13\" fill=\"#5c646c\">d</text></svg>\n"
        );
        assert_eq!(short, expected);
        let of = |text: &str| text.chars().map(|sign| sign as u16).collect::<BTreeSet<u16>>();
        assert_eq!(glyphs, Glyphs { regular: of("a<bd"), bold: of("c") });
        assert_eq!(for_page("<svg xmlns=\"x\"><style>a</style><text>b</text></svg>"), None);
        // Both rules are there, each with its font.
        let made = rules(&glyphs);
        assert_eq!((made.matches(RULE).count(), made.matches("font-weight:700").count()), (2, 1));
        assert_eq!(rules(&glyphs), made);
    }

    #[test]
    fn the_small_font_shows_its_characters_as_the_whole_one_does() {
        struct Strokes(Vec<(u8, i32, i32)>);
        impl ttf_parser::OutlineBuilder for Strokes {
            fn move_to(&mut self, x: f32, y: f32) {
                self.0.push((0, x as i32, y as i32));
            }
            fn line_to(&mut self, x: f32, y: f32) {
                self.0.push((1, x as i32, y as i32));
            }
            fn quad_to(&mut self, _: f32, _: f32, x: f32, y: f32) {
                self.0.push((2, x as i32, y as i32));
            }
            fn curve_to(&mut self, _: f32, _: f32, _: f32, _: f32, x: f32, y: f32) {
                self.0.push((3, x as i32, y as i32));
            }
            fn close(&mut self) {}
        }
        let text = "Pressure at the berry 0123456789 psi – ü é … × ≤ °";
        for weight in [Weight::Regular, Weight::Bold] {
            let whole = Face::parse(data_of(weight), 0).expect("a font");
            let used = text.chars().map(|character| (character as u16, 0)).collect();
            let file = web_font(weight, used).expect("a font");
            assert!(file.len() < 7000, "{} bytes", file.len());
            assert_eq!(number(&file, 8), file.len());
            let bytes = unpacked(&file);
            assert_eq!(bytes.len(), number(&file, 16));
            let small = Face::parse(&bytes, 0).expect("a small font");
            for character in text.chars() {
                let (there, here) = (whole.glyph_index(character), small.glyph_index(character));
                let (there, here) = (there.expect("in the font"), here.unwrap_or_else(|| panic!("{character} is lost")));
                assert_eq!(whole.glyph_hor_advance(there), small.glyph_hor_advance(here), "{character}");
                let (mut expected, mut found) = (Strokes(Vec::new()), Strokes(Vec::new()));
                whole.outline_glyph(there, &mut expected);
                small.outline_glyph(here, &mut found);
                assert_eq!(expected.0, found.0, "{character}");
            }
            assert!(small.glyph_index('Q').is_none());
        }
    }
}
