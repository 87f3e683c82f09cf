//! Is a text a whole entry, does it go on in the next line, or does it go on from the entry before?

use super::chains::grouped;
use super::tokens::{Open, Token, TokenKind, crowded, depth_change, tokenize};
use rhai::{Engine, ParseErrorType, Position};

/// Distinguishes whole entries from those that go on.
pub struct Entries {
    /// Parses only; knows no functions.
    parser: Engine,
}

impl Default for Entries {
    fn default() -> Self {
        Entries { parser: Engine::new_raw() }
    }
}

impl Entries {
    /// True when the text cannot be an entry yet, but can become one: a bracket, a long text or a comment is open, or the
    /// parser wants more at its end.
    pub fn goes_on(&self, text: &str) -> bool {
        // A search is one line, whatever brackets and quotes are in it.
        if text.trim_start().starts_with('?') {
            return false;
        }
        let cut = tokenize(text);
        match cut.open {
            Some(Open::Comment | Open::LongText) => return true,
            Some(Open::ShortText) => return false,
            None => {}
        }
        let depth: i32 = cut.tokens.iter().map(|token| depth_change(token.kind)).sum();
        if depth != 0 {
            return depth > 0;
        }
        if ends_with_comment_or_nothing(&cut.tokens) {
            return false;
        }
        if crowded(text, &cut).is_some() {
            return false;
        }
        // What goes on from the entry before is whole when it is whole after a name.
        let whole = if continues(text) { format!("it {text}") } else { text.to_string() };
        let body = whole.trim_end();
        match self.parser.compile(&*grouped(body)) {
            Ok(_) => false,
            Err(error) => match error.err_type() {
                ParseErrorType::BadInput(_) => false,
                ParseErrorType::UnexpectedEOF => true,
                _ => at_end(error.position(), body),
            },
        }
    }

    /// The text with semicolons after the lines that are statements, when it is no script without them; otherwise `None`.
    pub fn mended(&self, text: &str) -> Option<String> {
        let is_short = !text.trim_end().contains('\n') || crowded(text, &tokenize(text)).is_some();
        if is_short || self.parser.compile(&*grouped(text)).is_ok() {
            return None;
        }
        let mut lines = text.split_inclusive('\n').peekable();
        let (mut mended, mut statement) = (String::new(), String::new());
        while let Some(line) = lines.next() {
            statement += line;
            if lines.peek().is_some_and(|next| continues(next)) {
                statement = without_end(&statement);
            } else if !self.goes_on(&statement) {
                mended += &with_end(&std::mem::take(&mut statement));
            }
        }
        mended += &statement;
        (mended != text && self.parser.compile(&*grouped(&mended)).is_ok()).then_some(mended)
    }
}

/// True when a text begins with what can only follow something: `>>`, or a point and a name.
pub fn continues(text: &str) -> bool {
    let cut = tokenize(text);
    let mut solid = cut.tokens.iter().filter(|token| !is_quiet(token.kind));
    let (Some(first), second) = (solid.next(), solid.next()) else { return false };
    let next = second.map_or("", |token| &text[token.range.clone()]);
    match first.kind {
        TokenKind::Symbol('>') => next == ">",
        TokenKind::Symbol('.') => next.starts_with(|c: char| c.is_alphabetic() || c == '_'),
        _ => false,
    }
}

/// True when a text says nothing but comments.
pub fn only_comments(text: &str) -> bool {
    tokenize(text).tokens.iter().all(|token| is_quiet(token.kind))
}

/// An entry and the one that goes on from it, as one.
pub fn joined(before: &str, entry: &str) -> String {
    format!("{}\n{}", without_end(before.trim_end()), entry.trim_end())
}

/// A text without the semicolon at its end, comments kept.
fn without_end(text: &str) -> String {
    let cut = tokenize(text);
    match cut.tokens.iter().rev().find(|token| !is_quiet(token.kind)) {
        Some(last) if last.kind == TokenKind::Symbol(';') => {
            format!("{}{}", &text[..last.range.start], &text[last.range.end..])
        }
        _ => text.to_string(),
    }
}

/// A statement with its semicolon, before the comment after it.
fn with_end(text: &str) -> String {
    let cut = tokenize(text);
    match cut.tokens.iter().rev().find(|token| !is_quiet(token.kind)) {
        Some(last) if last.kind != TokenKind::Symbol(';') => {
            format!("{};{}", &text[..last.range.end], &text[last.range.end..])
        }
        _ => text.to_string(),
    }
}

fn is_quiet(kind: TokenKind) -> bool {
    matches!(kind, TokenKind::Space | TokenKind::LineComment | TokenKind::BlockComment)
}

fn ends_with_comment_or_nothing(tokens: &[Token]) -> bool {
    tokens.iter().all(|token| is_quiet(token.kind))
}

/// True for a position after the last character.
fn at_end(at: Position, text: &str) -> bool {
    let lines = text.matches('\n').count() + 1;
    let columns = text.rsplit('\n').next().map_or(0, |line| line.chars().count());
    match (at.line(), at.position()) {
        (None, _) => true,
        (Some(line), column) => line > lines || (line == lines && column.unwrap_or(0) > columns),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn open_brackets_comments_and_operators_go_on() {
        let entries = Entries::default();
        for text in
            ["supply(58.psi", "let a =", "a >>", "fn f(x) {", "/* prose", "`text", "let a = [1,", "if a { 1 } else", "#{ a: 1"]
        {
            assert!(entries.goes_on(text), "{text}");
        }
    }

    #[test]
    fn whole_and_hopeless_entries_do_not_go_on() {
        let entries = Entries::default();
        for text in ["let a = 1", "let a = 1;", "a)", "\"open", "", "// prose", "1 2", "f(1) + 2", "5 5;", "let = 3;"] {
            assert!(!entries.goes_on(text), "{text}");
        }
    }

    #[test]
    fn what_begins_with_an_arrow_or_a_point_continues() {
        for text in [">> hose(1.ft, 1.inch)", "  .named(\"feed\")", "// a word\n>> bed", ". named(\"a\")"] {
            assert!(continues(text), "{text}");
        }
        for text in ["", "> 3", "a >> b", ".5", "..", "// >> a", "-3", "\">>\""] {
            assert!(!continues(text), "{text}");
        }
        let entries = Entries::default();
        assert!(entries.goes_on(">> hose(1.ft,") && entries.goes_on(">> a >>") && entries.goes_on(">>"));
        assert!(!entries.goes_on(">> hose(1.ft, 1.inch)") && !entries.goes_on(".named(\"x\");"));
    }

    #[test]
    fn joined_entries_lose_the_semicolon_between_them_and_nothing_else() {
        assert_eq!(joined("let a = b; // tap; old", ">> c;"), "let a = b // tap; old\n>> c;");
        assert_eq!(joined("a", ".b\n"), "a\n.b");
    }

    #[test]
    fn lines_without_semicolons_are_mended_and_good_scripts_left() {
        let entries = Entries::default();
        let mended = |text: &str| entries.mended(text);
        assert_eq!(mended("1 + 1\n2 + 2 // four\n").as_deref(), Some("1 + 1;\n2 + 2; // four\n"));
        assert_eq!(
            mended("let a = [1,\n 2]\n/* word */\n\na.len()").as_deref(),
            Some("let a = [1,\n 2];\n/* word */\n\na.len();")
        );
        assert_eq!(mended("let a = b; // tap\n>> c\na").as_deref(), Some("let a = b // tap\n>> c;\na;"));
        for text in ["1 + 1", "let a = 1\n- 2", "a;\nb", "fn f(x) {\n x\n}\nf(1)", "let = 3\n4"] {
            assert_eq!(mended(text), None, "{text}");
        }
    }
}
