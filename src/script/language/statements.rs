//! Cuts a study into its top-level statements, without a parser, so that one that cannot be read does not hide the others.
//!
//! Knows the outer form of the script language only. Of a text that the parser takes, each statement of the parser lies in one of these.

use super::tokens::{Token, TokenKind, Tokens, depth_change};
use std::ops::Range;

/// Words that begin a statement which ends with its closing brace.
const BLOCKS: &[&str] = &["if", "switch", "for", "while", "loop", "do", "try", "fn", "private"];
/// Keywords that go on after the closing brace.
const GOES_ON: &[&str] = &["else", "catch"];

/// The bytes of each statement, without the `;` after it; comments before it are left out.
pub fn statements(source: &str, scan: &Tokens) -> Vec<Range<usize>> {
    let solid: Vec<&Token> = scan
        .tokens
        .iter()
        .filter(|token| !matches!(token.kind, TokenKind::Space | TokenKind::LineComment | TokenKind::BlockComment))
        .collect();
    let word = |index: usize| solid.get(index).map_or("", |token: &&Token| &source[token.range.clone()]);
    let mut found = Vec::new();
    let (mut first, mut depth) = (None, 0);
    for (index, token) in solid.iter().enumerate() {
        if first.is_none() && token.kind != TokenKind::Symbol(';') {
            first = Some(index);
        }
        depth += depth_change(token.kind);
        let Some(start) = first else { continue };
        let ends = match token.kind {
            TokenKind::Symbol(';') => depth <= 0,
            TokenKind::Symbol('}') if depth <= 0 => ends_at_brace(word(start), word(index + 1)),
            _ => false,
        };
        let last = index + 1 == solid.len();
        if ends || last {
            let end = if token.kind == TokenKind::Symbol(';') { solid[index - 1].range.end } else { token.range.end };
            found.push(solid[start].range.start..end);
            (first, depth) = (None, 0);
        }
    }
    found
}

fn ends_at_brace(first: &str, next: &str) -> bool {
    let block = first == "{" || BLOCKS.contains(&first);
    block && !GOES_ON.contains(&next) && !(first == "do" && matches!(next, "while" | "until"))
}

/// The statement that a byte lies in; that byte alone where it lies in none.
pub fn holding(statements: &[Range<usize>], at: usize) -> Range<usize> {
    let after = statements.partition_point(|range| range.start <= at);
    after.checked_sub(1).map(|index| statements[index].clone()).filter(|range| at < range.end).unwrap_or(at..at)
}

#[cfg(test)]
mod tests {
    use super::super::tokens::tokenize;
    use super::*;
    use proptest::prelude::*;

    fn cut(source: &str) -> Vec<&str> {
        statements(source, &tokenize(source)).into_iter().map(|range| &source[range]).collect()
    }

    #[test]
    fn statements_end_at_semicolons_and_at_the_braces_of_blocks() {
        let source = "/* a; */ let a = #{ x: 1 }; // b;\nfn f(x) { x; 1 }\nif a { 1 } else { 2 }\ndo { 1 } while false;\n;`a;${1;2}`;#{ y: 2 }";
        assert_eq!(
            cut(source),
            ["let a = #{ x: 1 }", "fn f(x) { x; 1 }", "if a { 1 } else { 2 }", "do { 1 } while false", "`a;${1;2}`", "#{ y: 2 }"]
        );
    }

    #[test]
    fn a_bracket_too_many_does_not_hide_what_follows() {
        assert_eq!(cut("let a = 1);\na;"), ["let a = 1)", "a"]);
    }

    #[test]
    fn a_byte_lies_in_its_statement_or_in_none() {
        let source = "let a = 1; // one\n(a +\n 1);";
        let cut = statements(source, &tokenize(source));
        let at = |text: &str| holding(&cut, source.find(text).expect("it is there"));
        assert_eq!((&source[at("a")], &source[at("+")]), ("let a = 1", "(a +\n 1)"));
        assert!(at("one").is_empty() && holding(&[], 3).is_empty());
    }

    proptest! {
        #[test]
        fn statements_stand_in_order_inside_the_text(source in "[a-z0-9 \"'`${}();/*#\n.é]{0,60}") {
            let mut last = 0;
            for range in statements(&source, &tokenize(&source)) {
                prop_assert!(last <= range.start && range.start <= range.end && range.end <= source.len());
                prop_assert!(source.get(range.clone()).is_some());
                last = range.end;
            }
        }
    }
}
