//! Names for the Tab key: words, variables, units behind a point, topics inside `help("`.

use crate::quantity::UNITS;
use crate::script::help;
use crate::script::names::{KEYWORDS, Names};
use rustyline::completion::{Completer, Pair};
use rustyline::{Context, Helper, Highlighter, Hinter, Validator};

/// Completes from the names of the session; the shell renews them after each entry.
#[derive(Helper, Hinter, Highlighter, Validator)]
pub struct Completion {
    pub names: Names,
}

impl Completer for Completion {
    type Candidate = Pair;

    fn complete(&self, line: &str, pos: usize, _: &Context<'_>) -> rustyline::Result<(usize, Vec<Pair>)> {
        Ok(candidates(&self.names, &line[..pos]))
    }
}

/// Where the word before the cursor begins, and what it can become.
fn candidates(names: &Names, before: &str) -> (usize, Vec<Pair>) {
    if let Some(start) = inside_help(before) {
        return (start, matching(&before[start..], help::topics().into_iter().map(plain)));
    }
    let start = before
        .rfind(|c: char| !(c.is_alphanumeric() || c == '_'))
        .map_or(0, |at| at + before[at..].chars().next().map_or(1, char::len_utf8));
    let (left, word) = before.split_at(start);
    let functions = names.functions.iter().map(|name| pair(name, format!("{name}(")));
    let Some(owner) = left.strip_suffix('.') else {
        if word.is_empty() || word.starts_with(|c: char| c.is_ascii_digit()) {
            return (start, Vec::new());
        }
        let others = names.variables.iter().map(String::as_str).chain(KEYWORDS.iter().copied()).map(plain);
        return (start, matching(word, functions.chain(others)));
    };
    if owner.ends_with(|c: char| c.is_ascii_digit() || c == ')') {
        let units = UNITS.iter().flat_map(|unit| unit.names.iter().copied()).map(plain);
        let found = matching(word, units);
        if !found.is_empty() && owner.ends_with(|c: char| c.is_ascii_digit()) {
            return (start, found);
        }
    }
    let variable = &owner[owner
        .rfind(|c: char| !(c.is_alphanumeric() || c == '_'))
        .map_or(0, |at| at + owner[at..].chars().next().map_or(1, char::len_utf8))..];
    let members = names.members_of(variable);
    if !members.is_empty() {
        let call = |name: &str| {
            if names.functions.contains(name) && !names.properties.contains(name) { format!("{name}(") } else { name.to_string() }
        };
        return (start, matching(word, members.into_iter().map(|name| pair(name, call(name)))));
    }
    let properties = names.properties.iter().map(|name| plain(name));
    (start, matching(word, properties.chain(functions)))
}

/// The start of the topic when the cursor is inside `help("`.
fn inside_help(before: &str) -> Option<usize> {
    let at = before.rfind("help(\"")? + "help(\"".len();
    (!before[at..].contains('"')).then_some(at)
}

fn matching(word: &str, candidates: impl Iterator<Item = Pair>) -> Vec<Pair> {
    let mut found: Vec<Pair> = candidates.filter(|candidate| candidate.display.starts_with(word)).collect();
    found.sort_by(|a, b| a.display.cmp(&b.display));
    found.dedup_by(|a, b| a.display == b.display);
    found
}

fn plain(name: &str) -> Pair {
    pair(name, name.to_string())
}

fn pair(name: &str, replacement: String) -> Pair {
    Pair { display: name.to_string(), replacement }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn completed(before: &str) -> Vec<String> {
        let mut names = Names::default();
        names.functions.extend(["sqrt", "supply"].map(String::from));
        names.variables.insert("spring".into());
        names.properties.extend(["psi", "length"].map(String::from));
        candidates(&names, before).1.into_iter().map(|pair| pair.replacement).collect()
    }

    #[test]
    fn completes_words_variables_and_keywords() {
        assert_eq!(completed("let a = s"), ["spring", "sqrt(", "supply(", "switch"]);
    }

    #[test]
    fn completes_units_behind_a_number_and_properties_behind_a_name() {
        assert_eq!(completed("30.ps"), ["psi"]);
        assert_eq!(completed("feed.le"), ["length"]);
    }

    #[test]
    fn completes_only_what_the_value_of_a_variable_has() {
        let mut session = crate::script::Session::new(crate::files::Folder::new("."));
        session.evaluate("let feed = 100.ft; let beds = [1]; let row = #{ width: 3.ft };");
        let names = session.names();
        let completed = |before: &str| candidates(&names, before).1.into_iter().map(|pair| pair.replacement).collect::<Vec<_>>();
        assert_eq!(completed("feed.in_u"), ["in_unit("]);
        assert_eq!(completed("feed.pu"), Vec::<String>::new());
        assert_eq!(completed("1 + beds.pu"), ["push("]);
        assert_eq!(completed("row.wi"), ["width"]);
    }

    #[test]
    fn completes_topics_inside_help() {
        assert_eq!(completed("help(\"unit"), ["units"]);
    }
}
