//! Cuts a script into comments, texts, words and symbols, right about nested comments and texts inside texts.
//!
//! Knows the outer form of the script language only; every input is accepted, and nothing is evaluated.

use std::ops::Range;

/// What a token of a script is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TokenKind {
    /// Blanks, tabs and ends of lines.
    Space,
    /// From `//` to the end of the line.
    LineComment,
    /// From `/*` to the matching `*/`.
    BlockComment,
    /// A text or a character in quotes, with what it interpolates.
    Text,
    /// A name or a number.
    Word,
    /// A single character of punctuation.
    Symbol(char),
}

/// A token and where it stands, in bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Token {
    /// What it is.
    pub kind: TokenKind,
    /// Where it is in the text, bytes.
    pub range: Range<usize>,
}

/// What was still open at the end of a text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Open {
    /// A comment without its `*/`.
    Comment,
    /// A text in backticks, or a text in `#"`, both of which may go over several lines.
    LongText,
    /// A text in plain quotes, which must end on its line.
    ShortText,
}

/// All tokens of a text in order, without gaps, and what was left open at its end.
#[derive(Clone, Debug)]
pub struct Tokens {
    /// The tokens, in the order of the text.
    pub tokens: Vec<Token>,
    /// What has no end in the text; `None` where all is closed.
    pub open: Option<Open>,
}

/// Cuts a script into tokens.
pub fn tokenize(source: &str) -> Tokens {
    let mut scanner = Scanner { source, at: 0, open: None };
    let mut tokens = Vec::new();
    while scanner.at < source.len() {
        let start = scanner.at;
        let kind = scanner.token();
        tokens.push(Token { kind, range: start..scanner.at });
    }
    Tokens { tokens, open: scanner.open }
}

/// How deep brackets are open after a token; opens with `(`, `[`, `{`.
pub fn depth_change(kind: TokenKind) -> i32 {
    match kind {
        TokenKind::Symbol('(' | '[' | '{') => 1,
        TokenKind::Symbol(')' | ']' | '}') => -1,
        _ => 0,
    }
}

/// Variables that a script may have at one time: the engine looks through all of them for each name.
pub const MOST_VARIABLES: usize = 10_000;

/// The bytes of the first variable that a script defines while [`MOST_VARIABLES`] others are visible; `None` when there never
/// are more. Those of functions and loops are not counted, so none is refused that could run.
pub fn crowded(source: &str, cut: &Tokens) -> Option<Range<usize>> {
    variable_beyond(MOST_VARIABLES, source, cut)
}

fn variable_beyond(most: usize, source: &str, cut: &Tokens) -> Option<Range<usize>> {
    let (mut seen, mut outside) = (0, Vec::new());
    for token in &cut.tokens {
        match token.kind {
            TokenKind::Symbol('{') => outside.push(seen),
            TokenKind::Symbol('}') => seen = outside.pop().unwrap_or(seen),
            TokenKind::Word if matches!(&source[token.range.clone()], "let" | "const") => {
                seen += 1;
                if seen > most {
                    return Some(token.range.clone());
                }
            }
            _ => {}
        }
    }
    None
}

struct Scanner<'s> {
    source: &'s str,
    at: usize,
    open: Option<Open>,
}

impl Scanner<'_> {
    fn rest(&self) -> &str {
        &self.source[self.at..]
    }

    /// Moves over the next token, which exists.
    fn token(&mut self) -> TokenKind {
        let rest = self.rest();
        if rest.starts_with("//") {
            self.at += rest.find('\n').unwrap_or(rest.len());
            return TokenKind::LineComment;
        }
        if rest.starts_with("/*") {
            self.block_comment();
            return TokenKind::BlockComment;
        }
        let hashes = rest.bytes().take_while(|byte| *byte == b'#').count();
        if hashes > 0 && rest[hashes..].starts_with('"') {
            self.raw_text(hashes);
            return TokenKind::Text;
        }
        let Some(first) = rest.chars().next() else { return TokenKind::Space };
        match first {
            '"' | '\'' => {
                self.short_text(first);
                TokenKind::Text
            }
            '`' => {
                self.long_text();
                TokenKind::Text
            }
            c if c.is_whitespace() => {
                self.at += rest.find(|c: char| !c.is_whitespace()).unwrap_or(rest.len());
                TokenKind::Space
            }
            c if c.is_ascii_digit() => {
                self.at += number_length(rest);
                TokenKind::Word
            }
            c if c.is_alphabetic() || c == '_' => {
                self.at += rest.find(|c: char| !(c.is_alphanumeric() || c == '_')).unwrap_or(rest.len());
                TokenKind::Word
            }
            c => {
                self.at += c.len_utf8();
                TokenKind::Symbol(c)
            }
        }
    }

    fn block_comment(&mut self) {
        let mut depth = 0;
        while self.at < self.source.len() {
            let rest = self.rest();
            if rest.starts_with("/*") {
                depth += 1;
                self.at += 2;
            } else if rest.starts_with("*/") {
                depth -= 1;
                self.at += 2;
                if depth == 0 {
                    return;
                }
            } else {
                self.step();
            }
        }
        self.open = Some(Open::Comment);
    }

    fn raw_text(&mut self, hashes: usize) {
        let end = format!("\"{}", "#".repeat(hashes));
        let body = self.at + hashes + 1;
        match self.source[body..].find(&end) {
            Some(length) => self.at = body + length + end.len(),
            None => {
                self.at = self.source.len();
                self.open = Some(Open::LongText);
            }
        }
    }

    fn short_text(&mut self, quote: char) {
        self.at += 1;
        while let Some(c) = self.rest().chars().next() {
            self.at += c.len_utf8();
            match c {
                '\\' => self.step(),
                '\n' => return,
                c if c == quote => return,
                _ => {}
            }
        }
        self.open = Some(Open::ShortText);
    }

    fn long_text(&mut self) {
        self.at += 1;
        while let Some(c) = self.rest().chars().next() {
            if self.rest().starts_with("${") {
                self.at += 2;
                self.until_brace();
                continue;
            }
            self.at += c.len_utf8();
            match c {
                '\\' => self.step(),
                '`' => return,
                _ => {}
            }
        }
        self.open = Some(Open::LongText);
    }

    /// Moves past the brace that closes an interpolation.
    fn until_brace(&mut self) {
        let mut depth = 1;
        while depth > 0 && self.at < self.source.len() {
            match self.token() {
                TokenKind::Symbol('{') => depth += 1,
                TokenKind::Symbol('}') => depth -= 1,
                _ => {}
            }
        }
    }

    fn step(&mut self) {
        self.at += self.rest().chars().next().map_or(0, char::len_utf8);
    }
}

/// The length of the number at the start of a text: the point belongs to it only when a digit follows.
fn number_length(text: &str) -> usize {
    let bytes = text.as_bytes();
    let word = |from: usize| bytes[from..].iter().take_while(|byte| byte.is_ascii_alphanumeric() || **byte == b'_').count();
    let mut end = word(0);
    if bytes.get(end) == Some(&b'.') && bytes.get(end + 1).is_some_and(u8::is_ascii_digit) {
        end += 1 + word(end + 1);
    }
    let exponent = end > 0 && matches!(bytes[end - 1], b'e' | b'E') && !text.starts_with("0x");
    if exponent && matches!(bytes.get(end), Some(b'+' | b'-')) && bytes.get(end + 1).is_some_and(u8::is_ascii_digit) {
        end += 1 + word(end + 1);
    }
    end
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn kinds(source: &str) -> Vec<(TokenKind, &str)> {
        tokenize(source).tokens.into_iter().filter(|p| p.kind != TokenKind::Space).map(|p| (p.kind, &source[p.range])).collect()
    }

    #[test]
    fn comments_inside_texts_are_texts_and_comments_nest() {
        assert_eq!(
            kinds("\"// no\" /* a /* b */ c */ x"),
            [(TokenKind::Text, "\"// no\""), (TokenKind::BlockComment, "/* a /* b */ c */"), (TokenKind::Word, "x")]
        );
    }

    #[test]
    fn an_interpolated_text_holds_other_texts() {
        let source = "`a ${ f(`b ${\"}\"}`) } c`;";
        assert_eq!(kinds(source), [(TokenKind::Text, &source[..source.len() - 1]), (TokenKind::Symbol(';'), ";")]);
    }

    #[test]
    fn a_unit_is_not_part_of_the_number() {
        assert_eq!(kinds("1.5.bar"), [(TokenKind::Word, "1.5"), (TokenKind::Symbol('.'), "."), (TokenKind::Word, "bar")]);
        assert_eq!(kinds("1e-3"), [(TokenKind::Word, "1e-3")]);
    }

    #[test]
    fn variables_are_counted_where_they_can_be_seen() {
        let source = "let a = 1; { let b = 2; let c = 3; } const d = \"let\"; let e = #{ let_f: 1 }; // let";
        assert_eq!(variable_beyond(3, source, &tokenize(source)), None);
        let third = source.rfind("let e").expect("there");
        let open = source.replace("; }", ";  ");
        assert_eq!(variable_beyond(4, &open, &tokenize(&open)), Some(third..third + 3));
    }

    #[test]
    fn says_what_is_open_at_the_end() {
        assert_eq!(tokenize("/* a").open, Some(Open::Comment));
        assert_eq!(tokenize("`a ${b").open, Some(Open::LongText));
        assert_eq!(tokenize("\"a").open, Some(Open::ShortText));
        assert_eq!(tokenize("1 + 2").open, None);
    }

    proptest! {
        #[test]
        fn the_pieces_are_the_whole_text(source in "[a-z0-9 \"'`${}/*#\n.\\\\é]{0,40}") {
            let together: String = tokenize(&source).tokens.iter().map(|p| &source[p.range.clone()]).collect();
            prop_assert_eq!(together, source);
        }
    }
}
