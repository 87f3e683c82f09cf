//! Figures on a page: drawings that are known to be harmless stand in it as they are, others as pictures.

use super::node::{Node, element, text};

/// What our drawings are made of; anything else could run or fetch something.
const HARMLESS: &[&str] = &[
    "svg", "title", "desc", "rect", "polyline", "polygon", "line", "circle", "ellipse", "path", "g", "text", "tspan", "defs",
    "clipPath",
];

/// A drawing with the name of its file below.
pub fn figure(drawing: &str, file: Option<&str>) -> Node {
    let start = drawing.find("<svg").unwrap_or(0);
    if !is_harmless(&drawing[start..]) {
        return picture("image/svg+xml", drawing.as_bytes(), file.unwrap_or("figure"));
    }
    with_caption(Node::Markup(drawing[start..].trim_end().to_string()), file)
}

/// A picture that the page carries inside itself.
pub fn picture(kind: &str, bytes: &[u8], file: &str) -> Node {
    let image = element("img", "", vec![])
        .with("src", format!("data:{kind};base64,{}", base64(bytes)))
        .with("alt", format!("figure of the study, saved as {file}"));
    with_caption(image, Some(file))
}

fn with_caption(content: Node, file: Option<&str>) -> Node {
    let mut children = vec![element("div", "scroll", vec![content]).with("tabindex", "0")];
    children.extend(file.map(|file| element("figcaption", "", vec![text(format!("saved as {file}"))])));
    element("figure", "", children)
}

/// True for a drawing of known elements without handlers, links and styles.
fn is_harmless(drawing: &str) -> bool {
    drawing.starts_with("<svg")
        && drawing.split('<').skip(1).all(|part| {
            let name = part.trim_start_matches('/').split(|c: char| !c.is_ascii_alphanumeric()).next().unwrap_or("");
            let tag = part.split('>').next().unwrap_or("").to_lowercase();
            let bad = ["href", " on", "\non", "\ton", "style", "url(", "/on", "\"on", "'on"];
            HARMLESS.contains(&name) && !bad.iter().any(|word| tag.contains(word))
        })
}

/// Base64 (RFC 4648, section 4).
pub fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for group in bytes.chunks(3) {
        let bits = group.iter().enumerate().fold(0u32, |bits, (at, byte)| bits | u32::from(*byte) << (16 - 8 * at));
        for at in 0..4 {
            let letter = LETTERS[(bits >> (18 - 6 * at)) as usize & 63] as char;
            out.push(if at <= group.len() { letter } else { '=' });
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn base64_is_that_of_the_standard() {
        // Test vectors of RFC 4648, section 10.
        for (plain, coded) in
            [("", ""), ("f", "Zg=="), ("fo", "Zm8="), ("foo", "Zm9v"), ("foob", "Zm9vYg=="), ("foobar", "Zm9vYmFy")]
        {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }

    #[test]
    fn only_known_drawings_stand_in_the_page_as_they_are() {
        assert!(is_harmless("<svg width=\"1\"><rect x=\"0\"/><text>a</text></svg>"));
        for bad in [
            "<svg><script>x</script></svg>",
            "<svg onload=\"x\"></svg>",
            "<svg><a href=\"http://x\"/></svg>",
            "<svg><foreignObject/></svg>",
            "<svg><rect style=\"x\"/></svg>",
            "no drawing",
        ] {
            assert!(!is_harmless(bad), "{bad}");
        }
    }
}
