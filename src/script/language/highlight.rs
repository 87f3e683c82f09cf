//! What each token of a script is to a reader, for colors on a page and at the prompt.
//!
//! Knows the keywords of the language and the units; which colors they get is decided elsewhere.

use super::names::KEYWORDS;
use super::tokens::{Token, TokenKind, tokenize};
use crate::quantity::find_unit;
use std::ops::Range;

/// What a token of a script is to a reader.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// A comment of either form.
    Comment,
    /// A text or character in quotes, with what it interpolates.
    Text,
    /// A number without its unit.
    Number,
    /// A unit after a number or a bracket.
    Unit,
    /// A keyword of the language.
    Keyword,
    /// A name that is called.
    Call,
    /// Everything else.
    Plain,
}

/// The tokens of a script in order, without gaps, each with its role.
pub fn roles(source: &str) -> Vec<(Role, Range<usize>)> {
    let tokens = tokenize(source).tokens;
    (0..tokens.len()).map(|index| (role(source, &tokens, index), tokens[index].range.clone())).collect()
}

fn role(source: &str, tokens: &[Token], index: usize) -> Role {
    let token = &tokens[index];
    match token.kind {
        TokenKind::LineComment | TokenKind::BlockComment => return Role::Comment,
        TokenKind::Text => return Role::Text,
        TokenKind::Space | TokenKind::Symbol(_) => return Role::Plain,
        TokenKind::Word => {}
    }
    let word = &source[token.range.clone()];
    if word.starts_with(|c: char| c.is_ascii_digit()) {
        return Role::Number;
    }
    let kind = |at: Option<usize>| at.and_then(|at| tokens.get(at)).map(|token| token.kind);
    let called = kind(Some(index + 1)) == Some(TokenKind::Symbol('('));
    let member = kind(index.checked_sub(1)) == Some(TokenKind::Symbol('.'));
    if member && !called && find_unit(word).is_some() && measures(source, tokens, index) {
        return Role::Unit;
    }
    if !member && KEYWORDS.contains(&word) {
        return Role::Keyword;
    }
    if called { Role::Call } else { Role::Plain }
}

/// True when what stands before the point can carry a unit: a number or a closing bracket.
fn measures(source: &str, tokens: &[Token], index: usize) -> bool {
    let Some(owner) = index.checked_sub(2).map(|at| &tokens[at]) else { return false };
    match owner.kind {
        TokenKind::Symbol(')') => true,
        TokenKind::Word => source[owner.range.clone()].starts_with(|c: char| c.is_ascii_digit()),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn highlighted(source: &str) -> Vec<(Role, &str)> {
        roles(source).into_iter().filter(|(role, _)| *role != Role::Plain).map(|(role, range)| (role, &source[range])).collect()
    }

    #[test]
    fn units_stand_behind_numbers_and_brackets_only() {
        assert_eq!(
            highlighted("let a = (5/8).inch + 3.ft; b.ft; a.m(2) // m"),
            [
                (Role::Keyword, "let"),
                (Role::Number, "5"),
                (Role::Number, "8"),
                (Role::Unit, "inch"),
                (Role::Number, "3"),
                (Role::Unit, "ft"),
                (Role::Call, "m"),
                (Role::Number, "2"),
                (Role::Comment, "// m")
            ]
        );
    }
}
