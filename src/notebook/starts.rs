//! The starts of controls in the text of a study: where each stands, and the text with other starts in their places.

use crate::quantity::{Quantity, UnitSystem, close};
use crate::script::controls::{Control, ControlKind};
use crate::script::tokens::{Token, TokenKind, depth_change, tokenize};
use std::ops::Range;
use thiserror::Error;

/// Why a start cannot be written.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum StartError {
    /// The control is not asked for by its name in quotes, or more than once.
    #[error("the study does not name '{name}' in one place: write its start there yourself")]
    NotOnce {
        /// Its name.
        name: String,
    },
    /// The options are no list in the call.
    #[error("the options of '{name}' are not written in its call: write its start there yourself")]
    OptionsElsewhere {
        /// Its name.
        name: String,
    },
    /// A value has a unit that scripts cannot write.
    #[error("the value of '{name}' has a unit that a study cannot write")]
    NoUnit {
        /// Its name.
        name: String,
    },
}

/// The functions that ask for controls.
const ASKING: &[&str] = &["slider", "number_field", "choice", "checkbox"];

/// The text of a study in which controls begin with the values that they have now.
///
/// Errors: a control that the text names in no place or in several, or whose options it works out.
pub fn with_starts(source: &str, controls: &[Control]) -> Result<String, StartError> {
    let mut places: Vec<(Range<usize>, String)> = Vec::new();
    let calls = calls(source);
    for control in controls {
        let mut named = calls.iter().filter(|call| call.name(source) == Some(control.name.as_str()));
        let (Some(call), None) = (named.next(), named.next()) else {
            return Err(StartError::NotOnce { name: control.name.clone() });
        };
        let Some(last) = call.arguments.last() else { return Err(StartError::NotOnce { name: control.name.clone() }) };
        places.push((last.clone(), start_of(source, call, control)?));
    }
    places.sort_by_key(|(range, _)| std::cmp::Reverse(range.start));
    let mut text = source.to_string();
    for (range, start) in places {
        text.replace_range(range, &start);
    }
    Ok(text)
}

/// A call that asks for a control: the bytes of its arguments.
struct Call {
    arguments: Vec<Range<usize>>,
}

impl Call {
    /// The name in quotes.
    fn name<'s>(&self, source: &'s str) -> Option<&'s str> {
        let text = &source[self.arguments.first()?.clone()];
        let name = text.strip_prefix('"')?.strip_suffix('"')?;
        (!name.contains(['"', '\\'])).then_some(name)
    }
}

fn calls(source: &str) -> Vec<Call> {
    let tokens = tokenize(source).tokens;
    let solid: Vec<&Token> = tokens
        .iter()
        .filter(|token| !matches!(token.kind, TokenKind::Space | TokenKind::LineComment | TokenKind::BlockComment))
        .collect();
    let asks = |at: &usize| {
        solid[*at].kind == TokenKind::Word
            && ASKING.contains(&&source[solid[*at].range.clone()])
            && solid.get(at + 1).is_some_and(|next| next.kind == TokenKind::Symbol('('))
    };
    (0..solid.len()).filter(asks).map(|at| Call { arguments: arguments(&solid[at + 1..]) }).collect()
}

/// The bytes of the arguments between brackets, of which the first token opens.
fn arguments(tokens: &[&Token]) -> Vec<Range<usize>> {
    let (mut found, mut depth): (Vec<Range<usize>>, i32) = (Vec::new(), 0);
    let mut open: Option<Range<usize>> = None;
    for token in tokens {
        depth += depth_change(token.kind);
        if depth == 0 || (depth == 1 && token.kind == TokenKind::Symbol(',')) {
            found.extend(open.take());
            if depth == 0 {
                break;
            }
        } else if depth > 1 || token.kind != TokenKind::Symbol('(') {
            let start = open.as_ref().map_or(token.range.start, |open| open.start);
            open = Some(start..token.range.end);
        }
    }
    found
}

/// The value of a control as a script writes it.
fn start_of(source: &str, call: &Call, control: &Control) -> Result<String, StartError> {
    match &control.kind {
        ControlKind::Range { start, value, .. } => {
            let value = Quantity { si: value.si, ..*start };
            written(value).ok_or_else(|| StartError::NoUnit { name: control.name.clone() })
        }
        ControlKind::Choice { options, value, .. } => {
            let elsewhere = || StartError::OptionsElsewhere { name: control.name.clone() };
            let list = call.arguments.get(1).ok_or_else(elsewhere)?;
            let inside = source[list.clone()].strip_prefix('[').and_then(|text| text.strip_suffix(']')).ok_or_else(elsewhere)?;
            // As an argument list, so that its parts are found in the same way.
            let as_call = format!("({inside})");
            let tokens = tokenize(&as_call).tokens;
            let solid: Vec<&Token> = tokens
                .iter()
                .filter(|token| !matches!(token.kind, TokenKind::Space | TokenKind::LineComment | TokenKind::BlockComment))
                .collect();
            let parts = arguments(&solid);
            let part = parts.get(*value).filter(|_| parts.len() == options.len()).ok_or_else(elsewhere)?;
            Ok(as_call[part.clone()].to_string())
        }
        ControlKind::Check { value, .. } => Ok(value.to_string()),
    }
}

/// A quantity as a script writes it, `150.ft`; nothing where its unit has no name.
fn written(value: Quantity) -> Option<String> {
    if value.dimension.is_number() {
        return Some(short(value.si));
    }
    let unit = value.shown_unit(UnitSystem::AsWritten)?;
    let name = unit.names.first()?;
    let number = unit.from_si(value.si);
    Some(if number < 0.0 { format!("({}).{name}", short(number)) } else { format!("{}.{name}", short(number)) })
}

/// A number without the rounding of its unit's size.
fn short(number: f64) -> String {
    let rounded: f64 = format!("{number:.9e}").parse().unwrap_or(number);
    let number = if close(rounded, number) { rounded } else { number };
    if number == 0.0 { "0".into() } else { number.to_string() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::Folder;
    use crate::notebook::workbook::Workbook;
    use crate::script::Context;
    use std::sync::Arc;

    /// The controls of a study, set to these numbers.
    fn set(source: &str, settings: &[f64]) -> Vec<Control> {
        let mut book = Workbook::new("study.rhai", Arc::new(Context::new(Folder::new("."))));
        book.renew(source, &mut |_, _, _| {});
        let mut controls: Vec<Control> = book.controls().into_iter().cloned().collect();
        controls.iter_mut().zip(settings).for_each(|(control, setting)| control.set(*setting));
        controls
    }

    const STUDY: &str = "let l = slider(\"length\", 25.ft, 300.ft, 100.ft); // slider(\"length\")\n\
        let d = choice(\"hose\", [(1/2).inch, /* no, */ (5/8).inch], (1/2).inch);\n\
        let n = number_field( \"heads\" , 1 , 9 , max(2, 3) );\nlet b = checkbox(\"boost\", true);\nl; d; n; b;\n";

    #[test]
    fn starts_are_written_in_their_places_and_run_as_they_were_set() {
        let controls = set(STUDY, &[37.5 * 0.3048, 1.0, 5.0, 0.0]);
        let text = with_starts(STUDY, &controls).expect("written");
        for part in ["300.ft, 37.5.ft);", "(5/8).inch], (5/8).inch);", "9 , 5 );", "(\"boost\", false)", "// slider(\"length\")"]
        {
            assert!(text.contains(part), "{part} in {text}");
        }
        let again = set(&text, &[]);
        let words = |controls: &[Control]| controls.iter().map(Control::in_words).collect::<Vec<_>>();
        assert_eq!(words(&again), words(&controls));
        assert!(again.iter().all(|control| control.setting() == control.start()));
    }

    #[test]
    fn a_start_that_the_study_works_out_is_left_alone() {
        for (study, expected) in [
            ("let a = \"x\"; slider(a, 1, 9, 2);", StartError::NotOnce { name: "x".into() }),
            ("slider(\"x\", 1, 9, 2); slider(\"x\", 1, 9, 2);", StartError::NotOnce { name: "x".into() }),
            ("let o = [1, 2]; choice(\"x\", o, 1);", StartError::OptionsElsewhere { name: "x".into() }),
        ] {
            assert_eq!(with_starts(study, &set(study, &[3.0])), Err(expected), "{study}");
        }
    }

    #[test]
    fn values_below_zero_and_in_words_of_other_units_run_again() {
        let study = "slider(\"rise\", -10.ft, 10.ft, 1.ft); slider(\"start\", 5.h, 9.h, 6.h);";
        let text = with_starts(study, &set(study, &[-3.5 * 0.3048, 7.25 * 3600.0])).expect("written");
        assert!(text.contains("10.ft, (-3.5).ft)") && text.contains("9.h, 7.25.h)"), "{text}");
        assert_eq!(set(&text, &[])[0].in_words(), "-3.5 ft");
    }
}
