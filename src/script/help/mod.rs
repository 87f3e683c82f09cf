//! Help: one source of documentation for `help`, the reference page and the tests of all examples.
//!
//! How to document a function:
//!
//! 1. Every function of ours is registered with a doc comment, either by `#[export_module]` (the `///` lines are taken as they
//!    stand; hand the module over with `engine.register_global_module(exported_module!(functions).into())`), or by
//!    `FuncRegistration::new("name").with_params_info(["length: Dynamic"]).with_comments(DOC.lines())` for closures that
//!    need the context (each line of DOC begins with `///`). A function in an exported module finds the context with
//!    `calling::context_of(&call)` when its first parameter is `call: NativeCallContext`.
//! 2. The comment is one paragraph (or more) in Markdown, then an example in a fence that says `hw`:
//!
//!    ~~~text
//!    /// The quantity in another unit.
//!    ///
//!    /// ```hw
//!    /// 44.psi.to("bar")   // => 3.03 bar
//!    /// ```
//!    ~~~
//!
//!    `// => text` after a statement is what the statement shows; more lines follow as comments of their own, each
//!    beginning with `// => `. A line without `// =>` may show anything. `// => error: text` expects the message of an error, and
//!    ends the example. Statements in an example may leave out the `;` at the end of a line that has an expectation.
//! 3. Overloads of one name share one documentation: it is enough that one of them has it.
//! 4. Property getters and setters, operators, `to_string`, `to_debug` and indexers need none; describe them in the notes of the
//!    topic (`functions/mod.rs`), with an example in a fence.
//! 5. Types are registered with an article, `engine.register_type_with_name::<Part>("a part")`: messages say it as it stands.
//!
//! A test fails for a function without documentation or example, for a name with two documentations, for an example that shows something else, and for a
//! reference page that is out of date.

pub mod examples; // runs the examples of the help texts
mod leaf; // what pages of help and the search share
pub mod reference; // the reference page
mod search; // functions by the terms of the trade
mod terms; // the terms of each function

pub use search::search;

use crate::findings::CautionSet;
use crate::lines::broken_between_words;
use crate::nearest::did_you_mean;
use crate::quantity::{Unit, all_units, find_unit, show_number};
use crate::script::language::error::ScriptError;
use crate::script::language::vocabulary::{Function, Topic, Vocabulary};
use leaf::{LEAST_WIDTH, QUESTIONS, SAFETY, WIDTH, beside};
use reference::{first_sentence, unit_table};
use search::found;
use std::fmt::Write;

/// Names that `help` knows, for completion.
pub fn topics(vocabulary: &Vocabulary) -> Vec<&str> {
    let topics = vocabulary.topics().iter().map(|topic| topic.name);
    topics.chain(vocabulary.functions().iter().map(|function| function.name.as_str())).collect()
}

/// The topics by question.
pub fn overview(vocabulary: &Vocabulary, width: usize) -> String {
    let paragraph = |text: &str| broken_between_words(text, width.clamp(LEAST_WIDTH, WIDTH), "").join("\n");
    let mut text = paragraph("help(\"coverage\") opens a topic, help(\"hose\") a function, search_help(\"dry spot\") searches.");
    text.push('\n');
    text += &paragraph("Functions of lists and texts change them in place; functions of gardens and tables give a new one.");
    for (question, topics) in QUESTIONS {
        let _ = write!(text, "\n\n{}", paragraph(question));
        for topic in topics.iter().filter_map(|name| vocabulary.topics().iter().find(|topic| topic.name == *name)) {
            let _ = write!(text, "\n{}", beside(&format!("  {:<13} ", topic.name), topic.title, width));
        }
    }
    text
}

/// Help on a topic, a function or a unit, for a terminal of `width` columns.
///
/// Errors: an unknown topic names the nearest.
pub fn topic_text(vocabulary: &Vocabulary, topic: &str, width: usize) -> Result<String, ScriptError> {
    let topic = topic.trim().trim_end_matches("()");
    if topic.is_empty() {
        return Ok(overview(vocabulary, width));
    }
    let whole = vocabulary.topics().iter().filter(|known| known.name == topic).map(|known| list_text(vocabulary, known, width));
    let single = vocabulary.functions().iter().filter(|function| function.name == topic);
    let texts: Vec<String> = whole.chain(single.map(|function| function_text(function, width))).collect();
    if !texts.is_empty() {
        return Ok(texts.join("\n\n"));
    }
    if let Some(unit) = find_unit(topic) {
        return Ok(unit_text(unit));
    }
    let mut near: Vec<&str> = found(vocabulary, topic).into_iter().map(|function| function.name.as_str()).collect();
    near.truncate(MOST_NEAR);
    if !near.is_empty() {
        let names = near.iter().map(|name| format!("help(\"{name}\")")).collect::<Vec<_>>();
        let error = ScriptError::new(format!("there is no help on \"{topic}\""));
        return Err(error.with_hint(format!("look at {}", names.join(", "))));
    }
    let known = topics(vocabulary).into_iter().chain(all_units().flat_map(|unit| unit.names.iter().copied()));
    let hint = did_you_mean(topic, known).unwrap_or_else(|| "help() lists the topics, search_help(\"text\") searches".into());
    Err(ScriptError::new(format!("there is no help on \"{topic}\"")).with_hint(hint))
}

fn function_text(function: &Function, width: usize) -> String {
    format!("{}\n\n{}", function.signatures.join("\n"), plain(&function.doc, width))
}

fn list_text(vocabulary: &Vocabulary, topic: &Topic, width: usize) -> String {
    let mut text = format!("{}: {}\n\n{}", topic.name, topic.title, plain(topic.notes.trim(), width));
    if topic.name == "units" {
        let _ = write!(text, "\n\n{}", unit_table().trim_end());
    }
    if topic.name == SAFETY {
        let _ = write!(text, "\n\n{}", CautionSet::all().in_full(width.clamp(LEAST_WIDTH, WIDTH)));
    }
    text.push('\n');
    for function in vocabulary.functions_of(topic) {
        let call = function.signatures.first().map_or("", String::as_str);
        let _ = write!(text, "\n{}", beside(&format!("{call:<24} "), &first_sentence(&function.doc), width));
    }
    text
}

fn unit_text(unit: &'static Unit) -> String {
    let kind = unit.dimension.to_string();
    let kind = kind.split_once(' ').map_or(kind.as_str(), |(_, rest)| rest);
    let other = [unit.metric, unit.us].into_iter().filter(|other| *other != unit.symbol).find_map(find_unit);
    // A definition, which has more digits than a reading.
    let in_other = |other: &Unit| show_number(other.from_si(unit.to_si(1.0)));
    let equal = other.map_or(String::new(), |other| format!(": 1 {} = {} {}", unit.symbol, in_other(other), other.symbol));
    format!("{} is a unit of {kind}{equal}", unit.symbol)
}

/// Functions that are named for a topic that has no help.
const MOST_NEAR: usize = 6;

/// Markdown for the terminal: fences go, examples are set in, paragraphs are broken to the width.
fn plain(doc: &str, width: usize) -> String {
    let width = width.clamp(LEAST_WIDTH, WIDTH);
    let mut inside = false;
    let mut lines: Vec<String> = Vec::new();
    let mut paragraph = String::new();
    for line in doc.lines() {
        let fence = line.trim_start().starts_with("```");
        let text = !inside && !fence && !line.trim().is_empty() && !line.starts_with(['|', ' ', '#', '-']);
        if text {
            if !paragraph.is_empty() {
                paragraph.push(' ');
            }
            paragraph.push_str(line.trim());
            continue;
        }
        lines.extend(take_paragraph(&mut paragraph, width));
        if fence {
            inside = !inside;
        } else {
            lines.push(if inside { format!("    {line}") } else { line.to_string() });
        }
    }
    lines.extend(take_paragraph(&mut paragraph, width));
    lines.join("\n")
}

fn take_paragraph(paragraph: &mut String, width: usize) -> Vec<String> {
    let text = std::mem::take(paragraph);
    if text.is_empty() { Vec::new() } else { broken_between_words(&text, width, "") }
}

#[cfg(test)]
mod tests {
    use super::leaf::topics_in_order;
    use super::*;
    use crate::script::VOCABULARY;

    #[test]
    fn each_topic_answers_one_question() {
        let mut known: Vec<&str> = VOCABULARY.topics().iter().map(|topic| topic.name).collect();
        let mut asked = topics_in_order();
        known.sort_unstable();
        asked.sort_unstable();
        assert_eq!(asked, known);
        let text = overview(&VOCABULARY, 80);
        assert!(text.contains("How even is the coverage?\n  coverage      application rate"), "{text}");
        assert!(overview(&VOCABULARY, 40).lines().all(|line| line.len() <= 40), "{}", overview(&VOCABULARY, 40));
    }
}
