//! Which value of a call an error is about, and where that value is written.
//!
//! Knows the script by its outer form alone: the brackets after a name, the commas in them, texts and the names in maps. A value that
//! is written elsewhere, as in a variable of the script, is marked where it is handed over.

use super::arguments::{Written, parameters};
use super::error::ScriptError;
use super::names::Names;
use super::place::Place;
use super::tokens::{Token, TokenKind, depth_change, tokenize};
use super::types::is_name;
use std::ops::Range;

/// Stands in messages before the value that was found in the place of another.
const FOUND: &str = ", found ";
/// How messages call what a closure of the call gave or has to give.
const CLOSURE: &str = "the closure ";

/// The bytes of the value that an error of the call at a place is about; nothing where that is the call as a whole.
///
/// The value of the parameter that the error names, the value that contains the name it gives, or the only value there is. For an error
/// that names nothing it is the closure in its message, the value that contains what it quotes, or the only value if one was found.
pub fn value_at_fault(place: &Place, error: &ScriptError, names: &Names) -> Option<Range<usize>> {
    let call = Call::at(place)?;
    let what = error.to_string();
    let found = what.contains(FOUND);
    match &error.about {
        Some(about) => match call.parameter(about, names) {
            Some(at) => call.value(at),
            None => call.saying(about, true, found).or_else(|| call.only()),
        },
        None if what.contains(CLOSURE) => call.closure(),
        None => {
            let said = quoted(&what).into_iter().find_map(|word| call.saying(word, !found, found));
            said.or_else(|| call.only().filter(|_| found))
        }
    }
}

/// The bytes of the values after the first `most` ones of the call at a place; nothing where there are none.
pub fn values_after(place: &Place, most: usize) -> Option<Range<usize>> {
    let call = Call::at(place)?;
    let first = call.value(most)?;
    Some(first.start..call.values.last()?.end)
}

/// A call and the values between its brackets.
struct Call<'p> {
    text: &'p str,
    name: &'p str,
    /// How many values come before the brackets.
    in_front: usize,
    /// Without spaces and comments.
    tokens: Vec<Token>,
    values: Vec<Range<usize>>,
}

impl<'p> Call<'p> {
    /// The call of the name at a place; `None` where no bracket follows it.
    fn at(place: &'p Place) -> Option<Call<'p>> {
        let name = &place.text[place.range.clone()];
        if !is_name(name) {
            return None;
        }
        let mut tokens = tokenize(&place.text).tokens;
        tokens.retain(|token| !is_quiet(token.kind) && token.range.start >= place.range.end);
        if tokens.first()?.kind != TokenKind::Symbol('(') {
            return None;
        }
        let mut depth = 0;
        let close = tokens.iter().position(|token| {
            depth += depth_change(token.kind);
            depth == 0
        })?;
        let tokens = tokens[1..close].to_vec();
        let values = values(&tokens);
        let in_front = usize::from(Written::at(Some(place)) == Written::AfterPoint);
        Some(Call { text: &place.text, name, in_front, tokens, values })
    }

    /// Which of the values a parameter gets, by the signatures of the function; blanks in its name stand for underscores.
    fn parameter(&self, name: &str, names: &Names) -> Option<usize> {
        let name = name.replace(' ', "_");
        let count = self.values.len() + self.in_front;
        names
            .signatures(self.name)
            .iter()
            .map(|signature| parameters(signature))
            .filter(|parameters| parameters.len() == count)
            .find_map(|parameters| parameters.iter().position(|known| *known == name))
    }

    /// One of the values; `None` for the one before the brackets.
    fn value(&self, at: usize) -> Option<Range<usize>> {
        self.values.get(at.checked_sub(self.in_front)?).cloned()
    }

    fn only(&self) -> Option<Range<usize>> {
        self.values.first().filter(|_| self.values.len() == 1).cloned()
    }

    /// The one closure that is written among the values.
    fn closure(&self) -> Option<Range<usize>> {
        let mut closures = self.values.iter().filter(|value| self.text[(*value).clone()].starts_with('|'));
        closures.next().filter(|_| closures.next().is_none()).cloned()
    }

    /// The value that contains a name: a text in quotes where texts count, a name in a map, or its value where that is what counts. Where several say
    /// it, the value that holds them all.
    fn saying(&self, word: &str, texts: bool, value_of_name: bool) -> Option<Range<usize>> {
        let mut found: Vec<Range<usize>> = Vec::new();
        for (at, token) in self.tokens.iter().enumerate() {
            let text = &self.text[token.range.clone()];
            let is_name = self.tokens.get(at + 1).is_some_and(|next| next.kind == TokenKind::Symbol(':'));
            let says = match token.kind {
                TokenKind::Word => is_name && text == word,
                TokenKind::Text => (is_name || texts) && says(text.trim_matches(['"', '\'', '`']), word),
                _ => false,
            };
            match says {
                true if is_name && value_of_name => found.extend(values(&self.tokens[at + 2..]).into_iter().next()),
                true => found.push(token.range.clone()),
                false => {}
            }
        }
        if let [one] = found.as_slice() {
            return Some(one.clone());
        }
        let (first, last) = (found.first()?, found.last()?);
        self.values.iter().find(|value| value.start <= first.start && last.end <= value.end).cloned()
    }
}

/// True when a text in a script is a name, or a path that has it, or a file whose whole path it is.
fn says(text: &str, word: &str) -> bool {
    let is_end_of = |whole: &str| whole.strip_suffix(text).is_some_and(|rest| rest.ends_with('/'));
    let is_start_of = |path: &str| path.strip_prefix(text).is_some_and(|rest| rest.starts_with('.'));
    !text.is_empty() && (text.split('.').any(|part| part == word) || text == word || is_end_of(word) || is_start_of(word))
}

/// The values that stand between commas, up to the bracket that closes them all.
fn values(tokens: &[Token]) -> Vec<Range<usize>> {
    let mut values: Vec<Range<usize>> = Vec::new();
    let (mut depth, mut begins, mut in_parameters) = (0, true, false);
    for token in tokens {
        let bar = token.kind == TokenKind::Symbol('|');
        // The parameters of a closure stand between bars, at the beginning of a value.
        if bar && (begins || in_parameters) {
            in_parameters = !in_parameters;
        }
        depth += depth_change(token.kind);
        if depth < 0 {
            break;
        }
        let parts = depth == 0 && !in_parameters && token.kind == TokenKind::Symbol(',');
        match values.last_mut() {
            _ if parts => {}
            Some(value) if !begins => value.end = token.range.end,
            _ => values.push(token.range.clone()),
        }
        begins = parts;
    }
    values
}

/// What stands in quotes in a message.
fn quoted(message: &str) -> Vec<&str> {
    let mut words = Vec::new();
    for mark in ['\'', '"'] {
        words.extend(message.split(mark).skip(1).step_by(2).filter(|word| !word.is_empty()));
    }
    words
}

fn is_quiet(kind: TokenKind) -> bool {
    matches!(kind, TokenKind::Space | TokenKind::LineComment | TokenKind::BlockComment)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::functions::VOCABULARY;

    fn place(text: &str, word: &str) -> Place {
        let start = text.find(word).expect("the word is there");
        Place { source: "s".into(), line: 1, column: 1, column_end: 1, text: text.into(), range: start..start + word.len() }
    }

    fn marked<'t>(text: &'t str, word: &str, error: &ScriptError) -> &'t str {
        value_at_fault(&place(text, word), error, &Names::of_functions(&VOCABULARY)).map_or("", |range| &text[range])
    }

    #[test]
    fn values_end_at_their_commas_and_closures_keep_theirs() {
        let text = "best(#{ a: [1, 2] }, |k, n| f(k, n) /* , */ , \"x, y\", [a || b])";
        let call = place(text, "best");
        let values: Vec<&str> = Call::at(&call).expect("a call").values.into_iter().map(|value| &text[value]).collect();
        assert_eq!(values, ["#{ a: [1, 2] }", "|k, n| f(k, n)", "\"x, y\"", "[a || b]"]);
        assert!(Call::at(&place("a + f", "a")).is_none() && Call::at(&place("f(1, (", "f")).is_none());
        assert!(Call::at(&place("f( )", "f")).expect("a call").values.is_empty());
    }

    #[test]
    fn the_value_of_a_named_parameter_is_marked() {
        let error = ScriptError::new("hose: diameter must be a length, found 0.6 (a plain number)").about("diameter");
        assert_eq!(marked("hose(100.ft, 0.6)", "hose", &error), "0.6");
        let after = ScriptError::new("measured: flow must be a flow, found 6 (a plain number)").about("flow");
        assert_eq!(marked("tap.measured(44.psi, 6)", "measured", &after), "6");
        let only = ScriptError::new("booster: flow of point 1 must be a flow").about("flow of point 1");
        assert_eq!(marked("booster([[1, 2]])", "booster", &only), "[[1, 2]]");
        assert_eq!(marked("hose(100.ft, 0.6)", "hose", &only), "");
    }

    #[test]
    fn the_text_or_the_name_that_says_the_quoted_word_is_marked() {
        let unknown = ScriptError::new("hose 'feed' has no parameter 'lenght'");
        assert_eq!(marked("sweep(plot, vary(\"x.lenght\", [1]))", "sweep", &unknown), "\"x.lenght\"");
        let key = ScriptError::new("compare: there is no 'need'");
        assert_eq!(marked("compare([1], |x| x, #{ need: #{ p: 1 } })", "compare", &key), "need");
        let value = ScriptError::new("paired: 'a' must be a list of values, found 5 ft (a length)");
        assert_eq!(marked("zipped(#{ a: 5.ft, b: [\"a\"] })", "zipped", &value), "5.ft");
        let file = ScriptError::new("cannot write 'of/this/p.csv': no such file");
        assert_eq!(marked("t.save(\"this/p.csv\")", "save", &file), "\"this/p.csv\"");
    }

    #[test]
    fn a_word_that_is_said_twice_marks_the_value_that_holds_both_or_nothing() {
        let mixed = ScriptError::new("column 'p' holds 30 psi, but row 1 gives 10 ft");
        assert_eq!(marked("table([#{ p: 1 }, #{ p: 2 }])", "table", &mixed), "[#{ p: 1 }, #{ p: 2 }]");
        assert_eq!(marked("f(\"p\", \"p\")", "f", &mixed), "");
    }

    #[test]
    fn values_that_are_too_many_are_marked() {
        let text = "hose(1.ft, 2.ft, 3, 4)";
        assert_eq!(values_after(&place(text, "hose"), 2).map(|range| &text[range]), Some("3, 4"));
        let after = "a.named(\"x\", 2)";
        assert_eq!(values_after(&place(after, "named"), 2).map(|range| &after[range]), Some("2"));
    }
}
