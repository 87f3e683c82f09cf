//! A session that takes a study one statement at a time, in any order, so that a notebook can run again only what changed.
//!
//! Knows nothing of cells and pages. Which statement needs which is decided by the notebook.

use crate::garden::Garden;
use crate::limits;
use crate::script::functions::VOCABULARY;
use crate::script::language::diagnostic::{Diagnostic, Trouble};
use crate::script::language::place::Place;
use crate::script::language::session::Session;
use crate::script::language::span::Lines;
use crate::script::language::stopped::report_stop;
use crate::script::present::{Shown, present};
use rhai::{AST, Scope};
use std::collections::BTreeSet;
use std::ops::Range;

/// What one statement of a study gave.
#[derive(Clone, Debug, Default)]
pub struct StatementResult {
    /// What it printed, then its value.
    pub shown: Vec<Shown>,
    /// Why it failed or was stopped, if so.
    pub error: Option<Diagnostic>,
    /// True when it ended the study, by `return` or `exit`.
    pub ended: bool,
}

impl Session {
    /// Evaluates the statement in a range of a study; places in messages are places of the whole text.
    ///
    /// `lines_in_front` is the number of lines of the text before the range.
    pub fn evaluate_in_study(&mut self, name: &str, text: &str, range: Range<usize>, lines_in_front: usize) -> StatementResult {
        let mut result = StatementResult::default();
        let line_start = text[..range.start].rfind('\n').map_or(0, |at| at + 1);
        let column = text[line_start..range.start].chars().count();
        let alone = format!("{}{}", " ".repeat(column), &text[range]);
        let mut value = None;
        self.evaluate_part(name, &alone, lines_in_front, &mut |mut cell| {
            if let Some(found) = cell.value.take() {
                value = Some((found, cell.shown.pop().unwrap_or_default()));
            }
            result.shown.extend(cell.shown.into_iter().map(Shown::Text));
            result.error = cell.error;
        });
        if let Some((value, text)) = value {
            let watched = self.context().watch.begin();
            result.shown.extend(present(&value, text, self.context()));
            if limits::ended() {
                let mut error = Diagnostic::new(Trouble::Stopped, "");
                report_stop(&mut error, &self.context().watch);
                result.error = Some(error);
            }
            drop(watched);
        }
        if let Some(error) = &mut result.error {
            let calls = error.calls.iter_mut().filter_map(|call| call.place.as_mut());
            for place in error.place.iter_mut().chain(calls) {
                in_whole_text(place, name, text);
            }
        }
        result.ended = self.ended();
        result
    }

    /// Forgets variables, as if they had never been said.
    pub fn forget(&mut self, names: &BTreeSet<String>) {
        let old = std::mem::replace(self.scope_mut(), Scope::new());
        for (name, constant, value) in old.iter_raw() {
            if names.contains(name) {
                continue;
            }
            let scope = self.scope_mut();
            if constant {
                scope.push_constant_dynamic(name, value.clone());
            } else {
                scope.push_dynamic(name, value.clone());
            }
        }
    }

    /// The gardens that variables hold, with the names of those, in the order in which they were made.
    pub fn gardens(&self) -> Vec<(String, Garden)> {
        let values = self.scope().iter_raw();
        let gardens = values.filter_map(|(name, _, value)| Some((name.to_string(), value.read_lock::<Garden>()?.clone())));
        // The scope gives the latest first.
        let mut gardens: Vec<(String, Garden)> = gardens.collect();
        gardens.reverse();
        gardens
    }

    /// Forgets all functions of the script; those still wanted are evaluated again.
    pub fn forget_functions(&mut self) {
        self.set_functions(AST::empty());
    }
}

/// A place in a statement that stood alone becomes a place in the whole text.
fn in_whole_text(place: &mut Place, name: &str, text: &str) {
    if place.source != name {
        return;
    }
    let lines = Lines::of(text);
    let length = place.range.len();
    let start = lines.offset(place.line, place.column);
    let mut end = (start + length).min(text.len());
    while !text.is_char_boundary(end) {
        end += 1;
    }
    place.range = start..end;
    place.text = text.to_string();
}

/// Methods that leave the value they are called on as it was: our own functions, except those named here, and the
/// engine's questions.
pub fn leaves_its_value(method: &str) -> bool {
    const CHANGES: &[&str] = &["push", "sort", "sort_by", "sort_desc", "dedup", "drain", "retain"];
    const ASKS: &[&str] = &[
        "len",
        "contains",
        "map",
        "filter",
        "reduce",
        "all",
        "some",
        "find",
        "index_of",
        "to_string",
        "to_debug",
        "keys",
        "values",
        "is_empty",
        "call",
        "round",
        "floor",
        "ceiling",
        "split",
        "starts_with",
        "ends_with",
        "sub_string",
        "to_upper",
        "to_lower",
        "to_int",
        "to_float",
        "type_of",
    ];
    !CHANGES.contains(&method) && (ASKS.contains(&method) || VOCABULARY.is_function(method))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::Folder;

    #[test]
    fn the_place_of_an_error_is_one_of_the_whole_text() {
        let text = "let a = 1.ft;\n// é prose\nlet é = 2; a + 1.psi;";
        let mut session = Session::new(Folder::new("."));
        session.evaluate_in_study("s", text, 0..13, 0);
        let result = session.evaluate_in_study("s", text, text.find("a + 1").unwrap()..text.len(), 2);
        let place = result.error.expect("lengths and pressures").place.expect("a place");
        assert_eq!((place.line, place.column), (3, 14));
        assert_eq!(&place.text[place.range.clone()], "+");
    }

    #[test]
    fn a_forgotten_variable_is_unknown_and_the_others_stay() {
        let mut session = Session::new(Folder::new("."));
        session.evaluate("let a = 1; let b = 2;");
        session.forget(&["a".to_string()].into());
        assert!(session.evaluate("a").error().is_some());
        assert_eq!(session.evaluate("b").shown(), ["2"]);
    }
}
