//! A page as a tree of elements, written as text last.
//!
//! Knows how HTML is escaped, and nothing of what it shows.

use crate::visible::visible;
use pulldown_cmark_escape::{FmtWriter, escape_html};

/// An element, a text, or markup that is known to be safe.
#[derive(Clone, Debug, PartialEq)]
pub enum Node {
    /// An element of HTML.
    Element {
        /// Its name, as `div`.
        tag: &'static str,
        /// Names and values, which are not escaped yet.
        attributes: Vec<(&'static str, String)>,
        /// What it contains; nothing for an element without an end.
        children: Vec<Node>,
    },
    /// A text, which is not escaped yet.
    Text(String),
    /// Markup made by this program, or checked.
    Markup(String),
}

/// Elements without an end.
const EMPTY: &[&str] = &["meta", "link", "input", "br", "img", "hr", "wbr", "source"];
/// Elements that begin a line of their own in the written text.
const OWN_LINE: &[&str] = &[
    "head", "meta", "title", "style", "script", "body", "header", "main", "footer", "section", "div", "figure", "table", "thead",
    "tbody", "tr", "details", "nav", "ul", "li", "dl", "p", "aside", "pre", "form", "h1", "h2",
];

/// An element with a class.
pub fn element(tag: &'static str, class: &str, children: Vec<Node>) -> Node {
    let attributes = if class.is_empty() { Vec::new() } else { vec![("class", class.to_string())] };
    Node::Element { tag, attributes, children }
}

/// A text.
pub fn text(text: impl Into<String>) -> Node {
    Node::Text(text.into())
}

impl Node {
    /// The element with a further attribute.
    pub fn with(mut self, name: &'static str, value: impl Into<String>) -> Node {
        if let Node::Element { attributes, .. } = &mut self {
            attributes.push((name, value.into()));
        }
        self
    }

    /// The tree as text.
    pub fn write(&self) -> String {
        let mut out = String::new();
        self.write_to(&mut out);
        out
    }

    fn write_to(&self, out: &mut String) {
        match self {
            Node::Text(text) => escape(text, out),
            Node::Markup(markup) => out.push_str(markup),
            Node::Element { tag, attributes, children } => {
                if OWN_LINE.contains(tag) && !out.is_empty() && !out.ends_with('\n') {
                    out.push('\n');
                }
                out.push('<');
                out.push_str(tag);
                for (name, value) in attributes {
                    out.push(' ');
                    out.push_str(name);
                    out.push_str("=\"");
                    escape(value, out);
                    out.push('"');
                }
                out.push('>');
                if EMPTY.contains(tag) {
                    return;
                }
                for child in children {
                    child.write_to(out);
                }
                out.push_str("</");
                out.push_str(tag);
                out.push('>');
            }
        }
    }
}

/// Writes a text or the value of an attribute, which stands in double quotes.
fn escape(text: &str, out: &mut String) {
    // Writing to a text cannot fail.
    let _ = escape_html(FmtWriter(out), &visible(text));
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn texts_and_attributes_are_escaped() {
        let node = element("p", "a\"b", vec![text("<script>&"), element("br", "", vec![])]).with("title", "'x'");
        assert_eq!(node.write(), "<p class=\"a&quot;b\" title=\"&#39;x&#39;\">&lt;script&gt;&amp;<br></p>");
    }
}
