//! What the browser may do on a page: run our own scripts, use our own styles, show pictures that are in the page; nothing else.
//!
//! Should a text ever get past the escaping, it stays a text.
//! Source: W3C, Content Security Policy Level 3.

use super::node::{Node, element};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use sha2::{Digest, Sha256};
use std::sync::LazyLock;

const STYLE: &str = include_str!("style.css");
const FILE: &str = concat!(include_str!("tables.js"), include_str!("cells.js"), include_str!("charts.js"));
const LIVE: &str = concat!(
    include_str!("tables.js"),
    include_str!("cells.js"),
    include_str!("charts.js"),
    include_str!("panel.js"),
    include_str!("live.js"),
    include_str!("edit.js")
);
const AHEAD: &str = concat!(
    include_str!("tables.js"),
    include_str!("cells.js"),
    include_str!("charts.js"),
    include_str!("panel.js"),
    include_str!("ahead.js")
);

/// Styles on elements: those that columns of a table in prose get.
const ALIGNMENTS: &[&str] = &["text-align: left", "text-align: center", "text-align: right"];

/// The content security policy of a page, without what a page in a file cannot say.
pub fn rules(used: Use) -> &'static str {
    static FILE_PAGE: LazyLock<String> = LazyLock::new(|| policy(FILE, ""));
    static AHEAD_PAGE: LazyLock<String> = LazyLock::new(|| policy(AHEAD, ""));
    static LIVE_PAGE: LazyLock<String> = LazyLock::new(|| policy(LIVE, "connect-src 'self'; "));
    match used {
        Use::File => &FILE_PAGE,
        Use::Ahead => &AHEAD_PAGE,
        Use::Live => &LIVE_PAGE,
    }
}

fn policy(script: &str, connect: &str) -> String {
    let alignments: String = ALIGNMENTS.iter().map(|style| format!(" {}", hash(style))).collect();
    format!(
        "default-src 'none'; script-src {}; style-src {} 'unsafe-hashes'{alignments}; img-src data:; {connect}base-uri 'none'; \
         form-action 'none'",
        hash(script),
        hash(STYLE)
    )
}

/// The element with all scripts of a page.
pub fn script(used: Use) -> Node {
    let text = match used {
        Use::File => FILE,
        Use::Ahead => AHEAD,
        Use::Live => LIVE,
    };
    element("script", "", vec![Node::Markup(text.to_string())])
}

/// The element with all styles.
pub fn style() -> Node {
    element("style", "", vec![Node::Markup(STYLE.to_string())])
}

fn hash(text: &str) -> String {
    format!("'sha256-{}'", STANDARD.encode(Sha256::digest(text.as_bytes())))
}

/// Whether the page stands in a file or is served and kept current.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Use {
    /// It stands in a file.
    File,
    /// It stands in a file, with settings of its controls that were computed ahead.
    Ahead,
    /// It is served and kept current.
    Live,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_our_own_script_may_run() {
        // The example of W3C, Content Security Policy Level 2, section 4.2 (from memory; computed anew with another program).
        assert_eq!(hash("alert('Hello, world.');"), "'sha256-qznLcsROx4GACP2dm0UCKCzCG+HiZ1guq6ZZDob/Tng='");
        for used in [Use::File, Use::Ahead, Use::Live] {
            let rules = rules(used);
            assert!(rules.starts_with("default-src 'none'; script-src 'sha256-"), "{rules}");
            assert!(!rules.contains("unsafe-inline") && !rules.contains("unsafe-eval") && !rules.contains('*'), "{rules}");
            assert_eq!(rules.contains("connect-src 'self'"), used == Use::Live);
        }
    }

    #[test]
    fn scripts_and_styles_cannot_end_their_elements() {
        for text in [LIVE, FILE, AHEAD, STYLE] {
            assert!(!text.contains("</") && !text.contains("<!--"), "the browser would take the rest for markup");
        }
    }
}
