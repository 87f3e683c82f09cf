//! Figures on a page: each is a picture that the page carries inside itself, drawings too.
//!
//! A drawing may come from anybody. As a picture its scripts do not run, its links lead nowhere and it fetches nothing, whatever
//! stands in it; set into the page as markup it would be a part of the page.
//!
//! A picture sees no font of the page. So that each font stands in the page once, the script of the page puts it into all drawings of
//! this program before they are shown; where no script runs, their texts are shown in another font.

use super::node::{Node, element};
use crate::figure::{Glyphs, for_page, plain};
use crate::lines::as_sentence;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use std::borrow::Cow;

/// Characters of a description; a longer one is cut.
const MOST_TOLD: usize = 1000;

/// What a page has of a figure beside its drawing.
#[derive(Clone, Debug, Default)]
pub struct Beside {
    /// The drawing for a narrow page.
    pub narrow: Option<String>,
    /// True where that one needs more width than such a page has, as a line of many parts does: it scrolls there.
    pub is_long: bool,
    /// Its values, as JSON.
    pub values: Option<String>,
}

/// A drawing as SVG, with its title and the name of its file below. What it shows in fonts of the page is added to `glyphs`.
pub fn drawing(svg: &str, beside: &Beside, file: Option<&str>, glyphs: &mut Glyphs) -> Node {
    let title = told(svg, "title");
    let sentences = [title.as_deref().map(as_sentence), told(svg, "desc")];
    let told = sentences.into_iter().flatten().collect::<Vec<_>>().join(" ");
    let told = told.trim_end_matches('.').to_string();
    let told = if told.is_empty() { usual(file) } else { told };
    // A drawing that looks at the colors of the page needs no paper of its own.
    let class = if svg.contains("prefers-color-scheme") { "adapts" } else { "" };
    figure(class, Image::drawing(svg, glyphs), beside, &told, &caption(title, file), glyphs)
}

/// A picture from a file.
pub fn picture(kind: &'static str, bytes: &[u8], beside: &Beside, file: &str, glyphs: &mut Glyphs) -> Node {
    let image = Image { kind, bytes: Cow::Borrowed(bytes), needs_fonts: false };
    figure("", image, beside, &usual(Some(file)), &caption(None, Some(file)), glyphs)
}

/// The bytes of a picture.
struct Image<'a> {
    kind: &'static str,
    bytes: Cow<'a, [u8]>,
    /// True for a drawing that gets the fonts of the page.
    needs_fonts: bool,
}

impl Image<'_> {
    fn drawing<'a>(svg: &'a str, glyphs: &mut Glyphs) -> Image<'a> {
        let kind = "image/svg+xml";
        match for_page(svg) {
            Some((svg, shown)) => {
                glyphs.add(&shown);
                Image { kind, bytes: Cow::Owned(svg.into_bytes()), needs_fonts: true }
            }
            None => Image { kind, bytes: Cow::Borrowed(svg.as_bytes()), needs_fonts: false },
        }
    }

    /// The element with the picture in an attribute.
    fn within(&self, node: Node, attribute: &'static str) -> Node {
        let node = node.with(attribute, format!("data:{};base64,{}", self.kind, STANDARD.encode(&self.bytes)));
        if self.needs_fonts { node.with("data-fonts", "") } else { node }
    }
}

/// What stands below a figure; its number comes before.
fn caption(title: Option<String>, file: Option<&str>) -> String {
    let saved = file.map(|file| format!("saved as {file}"));
    [title, saved].into_iter().flatten().collect::<Vec<_>>().join("; ")
}

/// Up to this width a page shows the narrow drawings.
const NARROW_PAGE: &str = "(max-width: 34rem)";

fn figure(class: &str, image: Image, beside: &Beside, told: &str, caption: &str, glyphs: &mut Glyphs) -> Node {
    // Decoded later, a picture that changes would be blank for a moment.
    let image = image.within(element("img", "", vec![]), "src").with("alt", told).with("decoding", "sync");
    let narrow = beside
        .narrow
        .as_ref()
        .map(|svg| Image::drawing(svg, glyphs).within(element("source", "", vec![]).with("media", NARROW_PAGE), "srcset"));
    let shown = match narrow {
        Some(source) => element("picture", "", vec![source, image]),
        None => image,
    };
    let scroll = element("div", "scroll", vec![shown]).with("tabindex", "0").with("role", "group");
    let named = if beside.values.is_some() { "figure; the arrow keys read its values" } else { "figure" };
    let caption = element("figcaption", "", vec![super::node::text(caption)]);
    let class = [class, if beside.is_long { "long" } else { "" }].into_iter().filter(|one| !one.is_empty());
    let figure = element("figure", &class.collect::<Vec<_>>().join(" "), vec![scroll.with("aria-label", named), caption]);
    match &beside.values {
        Some(values) => figure.with("data-values", values.as_str()),
        None => figure,
    }
}

fn usual(file: Option<&str>) -> String {
    file.map_or_else(|| "figure of the study".to_string(), |file| format!("figure of the study, saved as {file}"))
}

/// What the first element of that name holds, as plain text for those who do not see the picture.
fn told(svg: &str, name: &str) -> Option<String> {
    let (_, rest) = svg.split_once(&format!("<{name}>"))?;
    let (inside, _) = rest.split_once('<')?;
    let plain: String = plain(inside).trim().trim_end_matches('.').chars().take(MOST_TOLD).collect();
    (!plain.is_empty()).then_some(plain)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_drawing_is_a_picture_whatever_stands_in_it() {
        for hostile in [
            "<svg onload=\"x\"><script>x</script></svg>",
            "<svg><rect x=\">\" onload=\"x\"/></svg>",
            "<svg\u{c}onload=x><rect/></svg>",
            "\"><script>x</script>",
            "<title>\"><script>x</script></title>",
            "<desc>&lt;script&gt;\" onerror=\"x</desc>",
        ] {
            let markup = drawing(
                hostile,
                &Beside { narrow: Some(hostile.into()), is_long: true, values: Some(hostile.into()) },
                Some("a\" onerror=\"x.svg"),
                &mut Glyphs::default(),
            )
            .write();
            assert!(markup.contains("<img src=\"data:image/svg+xml;base64,"), "{markup}");
            let tags: Vec<&str> = markup.split('<').skip(1).filter(|tag| !tag.starts_with('/')).collect();
            assert_eq!(tags.len(), 6, "{markup}");
            assert!(!markup.contains("<script") && !markup.contains("\" on"), "{markup}");
        }
    }

    #[test]
    fn title_and_description_are_told_to_those_who_do_not_see() {
        let written = |svg: &str| drawing(svg, &Beside::default(), None, &mut Glyphs::default()).write();
        let made = written("<svg><title>Hose &amp; diameter</title>\n<desc>Two curves.</desc></svg>");
        assert!(made.contains("alt=\"Hose &amp; diameter. Two curves\""), "{made}");
        assert!(written("<svg/>").contains("alt=\"figure of the study\""));
    }
}
