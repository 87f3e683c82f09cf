//! Prose in Markdown as nodes: no markup of its own passes, no link runs anything, no picture is fetched.

use super::node::{Node, text};
use crate::visible::visible;
use pulldown_cmark::{CowStr, Event, Options, Parser, Tag, TagEnd, html};

/// A heading of the prose.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Heading {
    pub level: u8,
    pub text: String,
    pub anchor: String,
}

fn parser(markdown: &str) -> Parser<'_> {
    Parser::new_ext(markdown, Options::ENABLE_TABLES | Options::ENABLE_STRIKETHROUGH | Options::ENABLE_TASKLISTS)
}

/// The prose as markup; headings get the given anchors, in order.
pub fn prose(markdown: &str, headings: &[Heading]) -> Node {
    let shown = visible(markdown);
    let mut anchors = headings.iter().map(|heading| heading.anchor.clone());
    let events = parser(&shown).map(|event| match event {
        Event::Html(markup) | Event::InlineHtml(markup) => Event::Text(markup),
        Event::Start(Tag::Heading { level, classes, attrs, .. }) => {
            Event::Start(Tag::Heading { level, id: anchors.next().map(CowStr::from), classes, attrs })
        }
        Event::Start(Tag::Link { link_type, dest_url, title, id }) => {
            let dest_url = if is_harmless(&dest_url) { dest_url } else { CowStr::from("#") };
            Event::Start(Tag::Link { link_type, dest_url, title, id })
        }
        Event::Start(Tag::Image { .. }) => Event::Start(Tag::Emphasis),
        Event::End(TagEnd::Image) => Event::End(TagEnd::Emphasis),
        other => other,
    });
    let mut markup = String::new();
    html::push_html(&mut markup, events);
    Node::Markup(markup)
}

/// Prose as markup that begins with a heading of the first level: the heading, and the rest.
pub fn titled(markup: String) -> (String, String) {
    const END: &str = "</h1>\n";
    match markup.find(END).filter(|_| markup.starts_with("<h1")) {
        Some(at) => (markup[..at + END.len()].to_string(), markup[at + END.len()..].to_string()),
        None => (String::new(), markup),
    }
}

/// The headings of the prose, each with an anchor that begins with a prefix.
pub fn headings(markdown: &str, prefix: &str) -> Vec<Heading> {
    let mut found: Vec<Heading> = Vec::new();
    let mut inside = false;
    for event in parser(&visible(markdown)) {
        match event {
            Event::Start(Tag::Heading { level, .. }) => {
                inside = true;
                let anchor = format!("{prefix}-{}", found.len() + 1);
                found.push(Heading { level: level as u8, text: String::new(), anchor });
            }
            Event::End(TagEnd::Heading(_)) => inside = false,
            Event::Text(part) | Event::Code(part) if inside => {
                if let Some(heading) = found.last_mut() {
                    heading.text.push_str(&part);
                }
            }
            _ => {}
        }
    }
    found
}

fn is_harmless(link: &str) -> bool {
    let scheme = link.split_once(':').map(|(scheme, _)| scheme.to_lowercase());
    scheme.is_none_or(|scheme| scheme.contains(['/', '?', '#']) || matches!(scheme.as_str(), "http" | "https" | "mailto"))
}

/// Plain lines as a block; those that stand in columns are not broken.
pub fn lines(content: &str) -> Node {
    let rule = |line: &str| line.len() > 2 && line.bytes().all(|byte| byte == b'-');
    let in_columns = content.lines().any(|line| rule(line) || line.trim_start().contains("   "));
    let class = if in_columns { "text columns" } else { "text" };
    let block = super::node::element("pre", class, vec![text(content)]);
    // What scrolls by itself has a tab stop, so that it scrolls by the keyboard too.
    if in_columns { block.with("tabindex", "0") } else { block }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn markup(markdown: &str) -> String {
        prose(markdown, &headings(markdown, "h")).write()
    }

    #[test]
    fn headings_have_anchors() {
        assert_eq!(markup("# Hose & diameter"), "<h1 id=\"h-1\">Hose &amp; diameter</h1>\n");
        assert_eq!(headings("## A `b` c", "h")[0].text, "A b c");
    }

    #[test]
    fn a_title_at_the_beginning_is_taken_apart() {
        assert_eq!(titled(markup("# A\nb")), ("<h1 id=\"h-1\">A</h1>\n".into(), "<p>b</p>\n".into()));
        for other in ["b\n# A", "## A\nb\n# c", ""] {
            assert_eq!(titled(markup(other)), (String::new(), markup(other)));
        }
    }

    #[test]
    fn markup_scripts_and_pictures_do_not_pass() {
        let made = markup("<script>x</script>\n\n[a](javascript:x) [b](JAVASCRIPT:x) ![c](http://x/y.png) <img src=x onerror=y>");
        assert!(!made.contains("<script") && !made.contains("<img") && !made.to_lowercase().contains("javascript:"), "{made}");
        assert!(made.contains("<em>c</em>"), "{made}");
    }
}
