//! Is a text a whole entry, or does it go on in the next line?

use super::scan::{Kind, Open, Piece, depth_change, scan};
use rhai::{Engine, ParseErrorType, Position};

/// Tells whole entries from those that go on.
pub struct Entries {
    /// Parses only; knows no words.
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
        let cut = scan(text);
        match cut.open {
            Some(Open::Comment | Open::LongText) => return true,
            Some(Open::ShortText) => return false,
            None => {}
        }
        let depth: i32 = cut.pieces.iter().map(|piece| depth_change(piece.kind)).sum();
        if depth != 0 {
            return depth > 0;
        }
        if ends_with_comment_or_nothing(&cut.pieces) {
            return false;
        }
        let body = text.trim_end();
        match self.parser.compile(body) {
            Ok(_) => false,
            Err(error) => match error.err_type() {
                ParseErrorType::BadInput(_) => false,
                ParseErrorType::UnexpectedEOF => true,
                _ => at_end(error.position(), body),
            },
        }
    }
}

fn ends_with_comment_or_nothing(pieces: &[Piece]) -> bool {
    !pieces.iter().any(|piece| !matches!(piece.kind, Kind::Space | Kind::LineComment | Kind::BlockComment))
}

/// True for a position behind the last character.
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
}
