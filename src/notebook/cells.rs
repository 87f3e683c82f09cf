//! Cuts a study into cells: comments at top level are prose, what stands between them is code.
//!
//! A comment is prose when it stands on lines of its own outside of every statement. A comment after code, inside a statement,
//! or before a function (`///`, `/**`) belongs to the code.

use crate::script::span::Lines;
use crate::script::tokens::{Token, TokenKind, depth_change, tokenize};
use std::ops::Range;

/// Prose and the code below it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cell {
    /// Markdown without comment marks; empty when the study begins with code.
    pub prose: String,
    /// The code as it stands, without blank lines around it; empty for prose at the end.
    pub code: String,
    /// First and last line of the cell, prose included, counted from one.
    pub lines: (usize, usize),
    /// Where it is in the text of the study, bytes: prose and code.
    pub range: Range<usize>,
}

/// The cells of a study, in order; a text without comments is one cell.
pub fn cells(source: &str) -> Vec<Cell> {
    let tokens = tokenize(source).tokens;
    let mut parts: Vec<(Vec<&Token>, Range<usize>)> = Vec::new();
    // The next token that is no comment, after each.
    let mut after = vec![None; tokens.len()];
    let mut next = None;
    for (index, token) in tokens.iter().enumerate().rev() {
        after[index] = next;
        if !matches!(token.kind, TokenKind::Space | TokenKind::LineComment | TokenKind::BlockComment) {
            next = Some(token);
        }
    }
    let start_of_text = source.len() - source.trim_start().len();
    let mut depth = 0;
    let mut ended = true;
    let mut in_prose = false;
    for (index, token) in tokens.iter().enumerate() {
        let comment = matches!(token.kind, TokenKind::LineComment | TokenKind::BlockComment);
        if comment
            && depth == 0
            && ended
            && alone_on_line(source, &token.range)
            && !documents_function(source, token, after[index])
        {
            if !in_prose {
                parts.push((Vec::new(), token.range.start..token.range.end));
            }
            in_prose = true;
            if let Some((prose, range)) = parts.last_mut() {
                prose.push(token);
                *range = range.start..token.range.end;
            }
            continue;
        }
        if comment || token.kind == TokenKind::Space {
            continue;
        }
        depth += depth_change(token.kind);
        ended = depth <= 0 && matches!(token.kind, TokenKind::Symbol(';' | '}'));
        in_prose = false;
        match parts.last_mut() {
            Some((_, range)) => range.end = token.range.end,
            None => parts.push((Vec::new(), start_of_text..token.range.end)),
        }
    }
    let starts: Vec<usize> = parts.iter().skip(1).map(|(_, range)| range.start).chain([source.len()]).collect();
    let lines = Lines::of(source);
    parts.iter().zip(starts).map(|((prose, range), next)| cell(&lines, source, prose, range.start, next)).collect()
}

fn cell(lines: &Lines, source: &str, prose: &[&Token], start: usize, next: usize) -> Cell {
    let code_start = prose.last().map_or(start, |token| token.range.end);
    let text: Vec<String> = blocks(source, prose).into_iter().filter(|block| !block.is_empty()).collect();
    let end = start + source[start..next].trim_end().len();
    let line = |at: usize| lines.line(at);
    Cell {
        prose: text.join("\n\n"),
        code: source[code_start..next].trim_matches(['\n', '\r', ' ', '\t']).to_string(),
        lines: (line(start), line(end)),
        range: start..end,
    }
}

/// Comments as Markdown: a run of line comments is one block, and so is each block comment.
fn blocks(source: &str, prose: &[&Token]) -> Vec<String> {
    let mut blocks: Vec<String> = Vec::new();
    let mut last_line_end = None;
    for token in prose {
        let text = &source[token.range.clone()];
        if token.kind == TokenKind::BlockComment {
            blocks.push(inside_block(text));
            last_line_end = None;
            continue;
        }
        let line = text.trim_start_matches('/').trim_start_matches('!');
        let line = line.strip_prefix(' ').unwrap_or(line).trim_end();
        let follows = last_line_end.is_some_and(|end: usize| source[end..token.range.start].matches('\n').count() == 1);
        match blocks.last_mut() {
            Some(block) if follows => {
                block.push('\n');
                block.push_str(line);
            }
            _ => blocks.push(line.to_string()),
        }
        last_line_end = Some(token.range.end);
    }
    blocks
}

/// The text of a block comment without its marks and without the indentation that its lines share.
fn inside_block(text: &str) -> String {
    let body = text.trim_start_matches("/*").trim_start_matches(['!', '*']);
    let body = body.strip_suffix("*/").unwrap_or(body);
    let (first, rest) = body.split_once('\n').unwrap_or((body, ""));
    let indent = |line: &str| line.len() - line.trim_start().len();
    let shared = rest.lines().filter(|line| !line.trim().is_empty()).map(indent).min().unwrap_or(0);
    let rest = rest.lines().map(|line| line.get(shared..).unwrap_or("").trim_end());
    let lines: Vec<&str> = std::iter::once(first.trim()).chain(rest).collect();
    lines.join("\n").trim_matches('\n').trim_end().to_string()
}

/// True when only spaces stand before the comment and nothing but spaces after it.
fn alone_on_line(source: &str, range: &Range<usize>) -> bool {
    let before = source[..range.start].rsplit('\n').next().unwrap_or("");
    let after = source[range.end..].split('\n').next().unwrap_or("");
    before.trim().is_empty() && after.trim().is_empty()
}

/// `///` and `/**` before a function are its documentation.
fn documents_function(source: &str, token: &Token, next: Option<&Token>) -> bool {
    let text = &source[token.range.clone()];
    let doc = (text.starts_with("///") && !text.starts_with("////")) || (text.starts_with("/**") && !text.starts_with("/***"));
    doc && next.is_some_and(|token| matches!(&source[token.range.clone()], "fn" | "private"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comments_at_top_level_are_prose_and_part_the_cells() {
        let source = "/* # How long?\n   The row stands far. */\nlet a = 1; // not prose\na;\n\n// Second\n// part.\nlet b = [1, // no\n 2];\nb;\n// end";
        let found = cells(source);
        let prose: Vec<&str> = found.iter().map(|cell| cell.prose.as_str()).collect();
        assert_eq!(prose, ["# How long?\nThe row stands far.", "Second\npart.", "end"]);
        assert_eq!(found[0].code, "let a = 1; // not prose\na;");
        assert_eq!(found[0].lines, (1, 4));
        assert!(source[found[0].range.clone()].ends_with("a;") && source[found[1].range.clone()].starts_with("// Second"));
        assert_eq!(found[1].lines, (6, 10));
        assert_eq!(found[2].code, "");
    }

    #[test]
    fn marks_inside_texts_are_no_comments() {
        let source = "let a = \"/* no */ // no\";\nlet b = `x ${ \"`// no\" } y`;\n/* yes /* nested */ still */\nb";
        let found = cells(source);
        assert_eq!(found.len(), 2);
        assert_eq!(found[1].prose, "yes /* nested */ still");
        assert_eq!(found[1].code, "b");
    }

    #[test]
    fn the_documentation_of_a_function_is_code() {
        let source = "/// Twice.\nfn twice(a) { 2 * a }\ntwice(2)";
        let found = cells(source);
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].prose, "");
        assert!(found[0].code.starts_with("/// Twice."));
    }

    #[test]
    fn a_comment_between_the_lines_of_a_statement_is_code() {
        let source = "let a = 1\n// why\n + 2;\na";
        assert_eq!(cells(source).len(), 1);
    }

    #[test]
    fn an_empty_text_has_no_cells() {
        assert_eq!(cells("\n \n"), []);
    }
}
