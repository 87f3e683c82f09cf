//! Long chains of `>>`, grouped so that the parser does not take each link for one more level of brackets.
//!
//! Brackets replace blanks, so no place in the text moves. Joining is associative: the result is the same.

use super::tokens::{Token, TokenKind, depth_change, tokenize};
use std::borrow::Cow;
use std::ops::Range;

/// Links of a group, and of a chain that stays as it is.
const GROUP: usize = 64;

/// Words of the language that may stand in a chain as its value.
const VALUES: &[&str] = &["true", "false", "this"];

/// The text with its long chains in groups.
pub fn grouped(text: &str) -> Cow<'_, str> {
    if text.matches(">>").nth(GROUP).is_none() {
        return Cow::Borrowed(text);
    }
    let pieces = tokenize(text).tokens;
    let mut bytes = text.as_bytes().to_vec();
    let mut open: Vec<Vec<Range<usize>>> = vec![Vec::new()];
    let mut at = 0;
    while let Some(piece) = pieces.get(at) {
        let link = link_at(&pieces, at);
        at += link.as_ref().map_or(1, |link| link.len());
        match piece.kind {
            _ if link.is_some() => open.last_mut().into_iter().for_each(|links| links.extend(link.clone())),
            kind if depth_change(kind) > 0 => {
                if kind == TokenKind::Symbol('{') {
                    group(&mut open, &pieces, &mut bytes);
                }
                open.push(Vec::new());
            }
            kind if depth_change(kind) < 0 => {
                group(&mut open, &pieces, &mut bytes);
                if open.len() > 1 {
                    open.pop();
                }
                if kind == TokenKind::Symbol('}') {
                    group(&mut open, &pieces, &mut bytes);
                }
            }
            TokenKind::Symbol('.' | '#')
            | TokenKind::Space
            | TokenKind::LineComment
            | TokenKind::BlockComment
            | TokenKind::Text => {}
            TokenKind::Word if !is_keyword(&text[piece.range.clone()]) => {}
            _ => group(&mut open, &pieces, &mut bytes),
        }
    }
    while !open.is_empty() {
        group(&mut open, &pieces, &mut bytes);
        open.pop();
    }
    String::from_utf8(bytes).map_or(Cow::Borrowed(text), Cow::Owned)
}

fn is_keyword(word: &str) -> bool {
    super::names::KEYWORDS.contains(&word) && !VALUES.contains(&word)
}

/// The two pieces of a `>>`, not of a `>>=`.
fn link_at(pieces: &[Token], at: usize) -> Option<Range<usize>> {
    let is = |at: usize, symbol: char| pieces.get(at).is_some_and(|piece| piece.kind == TokenKind::Symbol(symbol));
    (is(at, '>') && is(at + 1, '>') && !is(at + 2, '=')).then_some(at..at + 2)
}

/// Groups the chain that ends here: each group opens in the blank after a link and closes in the one before a later link.
fn group(open: &mut [Vec<Range<usize>>], pieces: &[Token], bytes: &mut [u8]) {
    let links = open.last_mut().map(std::mem::take).unwrap_or_default();
    let blank = |at: usize| {
        let space = pieces.get(at).filter(|piece| piece.kind == TokenKind::Space)?;
        Some(space.range.end - 1).filter(|at| bytes[*at] == b' ')
    };
    let blanks: Vec<[Option<usize>; 2]> = links.iter().map(|link| [blank(link.start.wrapping_sub(1)), blank(link.end)]).collect();
    if links.len() <= GROUP {
        return;
    }
    let mut opened: Option<(usize, usize)> = None;
    for (n, [before, behind]) in blanks.into_iter().enumerate() {
        if let (Some((from, start)), Some(end)) = (opened, before)
            && n >= from + GROUP
        {
            (bytes[start], bytes[end]) = (b'(', b')');
            opened = None;
        }
        if opened.is_none() {
            opened = behind.map(|start| (n, start));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_short_chain_stays_and_a_long_one_keeps_its_places() {
        assert!(matches!(grouped(&"a >> ".repeat(GROUP)), Cow::Borrowed(_)));
        let long = format!("let g = {}a; // a >> b", "a >>\n    b.c(1 >> 2) >> ".repeat(200));
        let other = grouped(&long);
        assert_eq!(other.len(), long.len());
        assert!(other.matches('(').count() > long.matches('(').count());
        assert_eq!(other.matches('(').count(), other.matches(')').count());
        assert_eq!(other.replace(['(', ')'], " "), long.replace(['(', ')'], " "));
    }

    #[test]
    fn what_binds_less_ends_a_chain() {
        for between in [" >> a + a", " >> a; a", " >> a, a", " > a >> a"] {
            let text = format!("a{}", between.repeat(200));
            assert_eq!(grouped(&text), text, "{between}");
        }
    }
}
