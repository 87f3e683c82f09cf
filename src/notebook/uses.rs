//! Which names a statement reads and which it writes, so that a change runs what depends on it and nothing else.
//!
//! In doubt a name counts as read and as written: running too much costs time, running too little would show what is not
//! so. Knows nothing of values.

use crate::script::by_statement::leaves_its_value;
use crate::script::tokens::{Token, TokenKind, tokenize};
use std::collections::BTreeSet;

/// What a statement is to the others.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Uses {
    /// Names that it reads.
    pub reads: BTreeSet<String>,
    /// Names that it makes or changes.
    pub writes: BTreeSet<String>,
    /// Texts in quotes: perhaps names of files.
    pub texts: BTreeSet<String>,
    /// True when it saves a file.
    pub saves: bool,
    /// True when it defines a function.
    pub function: bool,
    /// True when it holds a closure: what it writes then sees later changes of what it reads.
    pub closure: bool,
    /// True when it changes something that may affect every later statement, such as the units that are shown or the thresholds of findings.
    pub global: bool,
}

/// Functions that change how everything after them runs or shows.
const GLOBAL: &[&str] = &["units", "seed", "judgment"];

/// The names of a statement.
pub fn uses(statement: &str) -> Uses {
    let tokens: Vec<Token> = tokenize(statement).tokens;
    let solid: Vec<Token> = tokens
        .into_iter()
        .filter(|token| !matches!(token.kind, TokenKind::Space | TokenKind::LineComment | TokenKind::BlockComment))
        .collect();
    let reader = Reader { text: statement, solid: &solid };
    let mut uses = Uses::default();
    let first = reader.word(0);
    uses.function = first == "fn" || (first == "private" && reader.word(1) == "fn");
    for index in 0..solid.len() {
        reader.look(index, &mut uses);
    }
    uses
}

struct Reader<'t> {
    text: &'t str,
    solid: &'t [Token],
}

impl Reader<'_> {
    fn word(&self, index: usize) -> &str {
        self.solid.get(index).map_or("", |token| &self.text[token.range.clone()])
    }

    fn symbol(&self, index: usize) -> Option<char> {
        match self.solid.get(index)?.kind {
            TokenKind::Symbol(symbol) => Some(symbol),
            _ => None,
        }
    }

    fn before(&self, index: usize) -> Option<usize> {
        index.checked_sub(1)
    }

    /// True for two symbols that touch, such as `==`.
    fn touches_next(&self, index: usize) -> bool {
        self.solid.get(index + 1).is_some_and(|next| next.range.start == self.solid[index].range.end)
    }

    fn is_member(&self, index: usize) -> bool {
        let point = |at: usize| self.symbol(at) == Some('.');
        let Some(at) = self.before(index) else { return false };
        point(at) && !self.before(at).is_some_and(point)
    }

    fn look(&self, index: usize, uses: &mut Uses) {
        match self.solid[index].kind {
            TokenKind::Text => self.look_at_text(index, uses),
            TokenKind::Symbol('|') => uses.closure = true,
            TokenKind::Symbol('=') if self.assigns(index) => self.write_root_before(index, uses),
            TokenKind::Word => self.look_at_word(index, uses),
            _ => {}
        }
    }

    fn look_at_text(&self, index: usize, uses: &mut Uses) {
        let text = self.word(index);
        if text.starts_with('`') {
            let words = text.split(|c: char| !(c.is_alphanumeric() || c == '_')).filter(|word| !word.is_empty());
            uses.reads.extend(words.map(String::from));
        }
        uses.texts.insert(text.trim_matches(['"', '`', '#', '\'']).to_string());
    }

    fn look_at_word(&self, index: usize, uses: &mut Uses) {
        let word = self.word(index);
        if word.starts_with(|c: char| c.is_ascii_digit()) {
            return;
        }
        let called = self.symbol(index + 1) == Some('(');
        if self.is_member(index) {
            uses.saves |= called && word == "save";
            if called && !leaves_its_value(word) {
                self.write_root_before(index - 1, uses);
            }
            return;
        }
        if called && GLOBAL.contains(&word) {
            uses.global = true;
        }
        let previous = self.before(index).map_or("", |at| self.word(at));
        match previous {
            "let" | "const" | "fn" | "as" => {
                uses.writes.insert(word.to_string());
            }
            _ => {
                let key = self.symbol(index + 1) == Some(':') && self.symbol(index + 2) != Some(':');
                if !key {
                    uses.reads.insert(word.to_string());
                }
            }
        }
    }

    /// True for the `=` of an assignment, `+=` and its like included; not for `==`, `<=`, `>=`, `!=` and `=>`.
    fn assigns(&self, index: usize) -> bool {
        let next = self.symbol(index + 1).filter(|_| self.touches_next(index));
        let before = self.before(index).filter(|at| self.touches_next(*at)).and_then(|at| self.symbol(at));
        !matches!(next, Some('=' | '>')) && !matches!(before, Some('=' | '<' | '>' | '!'))
            || matches!(before, Some('<' | '>')) && self.is_shift(index)
    }

    /// `<<=` and `>>=`.
    fn is_shift(&self, index: usize) -> bool {
        let at = |back: usize| index.checked_sub(back).and_then(|at| self.symbol(at));
        at(1) == at(2) && matches!(at(1), Some('<' | '>'))
    }

    /// Notes that the variable at the start of the chain before a place is written: `a` of `a.b[0].c`.
    fn write_root_before(&self, mut index: usize, uses: &mut Uses) {
        while let Some(at) = self.before(index) {
            index = at;
            match self.solid[at].kind {
                TokenKind::Symbol(']' | ')') => index = self.opening(at),
                TokenKind::Word if self.is_member(at) => {}
                TokenKind::Word => {
                    uses.writes.insert(self.word(at).to_string());
                    return;
                }
                TokenKind::Symbol('.' | '+' | '-' | '*' | '/' | '%' | '<' | '>' | '&' | '|' | '^' | '?') => {}
                _ => return,
            }
        }
    }

    /// The bracket that opens what closes at a place.
    fn opening(&self, closing: usize) -> usize {
        let mut depth = 0;
        for at in (0..=closing).rev() {
            match self.symbol(at) {
                Some(')' | ']' | '}') => depth += 1,
                Some('(' | '[' | '{') => depth -= 1,
                _ => {}
            }
            if depth == 0 {
                return at;
            }
        }
        0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(set: &BTreeSet<String>) -> Vec<&str> {
        set.iter().map(String::as_str).collect()
    }

    #[test]
    fn a_let_writes_its_name_and_reads_the_rest() {
        let found = uses("let plot = supply(58.psi) >> stock::hose(100.ft).named(\"feed\")");
        assert_eq!(names(&found.writes), ["plot"]);
        assert_eq!(names(&found.reads), ["hose", "let", "stock", "supply"]);
        assert!(found.texts.contains("feed") && !found.closure);
    }

    #[test]
    fn assignments_and_changing_methods_write_the_variable_at_the_root() {
        for statement in
            ["a = 1", "a.b[2].c = 1", "a += 1", "a[0].push(1)", "if x == 1 { a.length = 2.ft }", "a >>= b", "a.sort()"]
        {
            assert_eq!(names(&uses(statement).writes), ["a"], "{statement}");
        }
        for statement in ["a == 1", "a <= b", "a.run(\"x\").pressure(\"y\")", "a >= 2", "#{ a: 1 }", "switch a { 1 => 2 }"] {
            assert!(uses(statement).writes.is_empty(), "{statement}");
        }
    }

    #[test]
    fn ranges_and_texts_with_values_read_their_names() {
        assert!(uses("for i in 0..n { }").reads.contains("n"));
        assert!(uses("print(`at ${length}`)").reads.contains("length"));
    }

    #[test]
    fn closures_and_words_that_change_everything_are_marked() {
        assert!(uses("let f = |x| x + base").closure);
        assert!(uses("units(\"metric\")").global);
        assert!(uses("fn twice(x) { 2 * x }").function);
    }
}
