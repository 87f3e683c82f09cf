//! Figures on a page: each is a picture that the page carries inside itself, drawings too.
//!
//! A drawing may come from anybody. As a picture its scripts do not run, its links lead nowhere and it fetches nothing, whatever
//! stands in it; set into the page as markup it would be a part of the page.

use super::node::{Node, element};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;

/// Characters of a description; a longer one is cut.
const MOST_TOLD: usize = 1000;

/// A drawing as SVG, with the name of its file below.
pub fn drawing(svg: &str, file: Option<&str>) -> Node {
    let told = [told(svg, "title"), told(svg, "desc")].into_iter().flatten().collect::<Vec<_>>().join(". ");
    let told = if told.is_empty() { usual(file) } else { told };
    figure("image/svg+xml", svg.as_bytes(), &told, file)
}

/// A picture from a file.
pub fn picture(kind: &str, bytes: &[u8], file: &str) -> Node {
    figure(kind, bytes, &usual(Some(file)), Some(file))
}

fn figure(kind: &str, bytes: &[u8], told: &str, file: Option<&str>) -> Node {
    let image = element("img", "", vec![])
        .with("src", format!("data:{kind};base64,{}", STANDARD.encode(bytes)))
        .with("alt", told)
        .with("decoding", "sync"); // Otherwise a picture that changes is blank for a moment.
    let mut children = vec![element("div", "scroll", vec![image]).with("tabindex", "0")];
    children.extend(file.map(|file| element("figcaption", "", vec![super::node::text(format!("saved as {file}"))])));
    element("figure", "", children)
}

fn usual(file: Option<&str>) -> String {
    file.map_or_else(|| "figure of the study".to_string(), |file| format!("figure of the study, saved as {file}"))
}

/// What the first element of that name holds, as plain text for those who do not see the picture.
fn told(svg: &str, name: &str) -> Option<String> {
    let (_, rest) = svg.split_once(&format!("<{name}>"))?;
    let (inside, _) = rest.split_once('<')?;
    let plain =
        inside.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&#39;", "'").replace("&amp;", "&");
    let plain: String = plain.trim().trim_end_matches('.').chars().take(MOST_TOLD).collect();
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
            let markup = drawing(hostile, Some("a\" onerror=\"x.svg")).write();
            assert!(markup.contains("<img src=\"data:image/svg+xml;base64,"), "{markup}");
            let tags: Vec<&str> = markup.split('<').skip(1).filter(|tag| !tag.starts_with('/')).collect();
            assert_eq!(tags.len(), 4, "{markup}");
            assert!(!markup.contains("<script") && !markup.contains("\" on"), "{markup}");
        }
    }

    #[test]
    fn title_and_description_are_told_to_those_who_do_not_see() {
        let svg = "<svg><title>Hose &amp; diameter</title>\n<desc>Two curves.</desc></svg>";
        assert!(drawing(svg, None).write().contains("alt=\"Hose &amp; diameter. Two curves\""), "{}", drawing(svg, None).write());
        assert!(drawing("<svg/>", None).write().contains("alt=\"figure of the study\""));
    }
}
