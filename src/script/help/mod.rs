//! Help: one source of documentation for `help`, the reference page and the tests of all examples.
//!
//! How to document a word (the convention):
//!
//! 1. Every function of ours is registered with a doc comment, either by `#[export_module]` (the `///` lines are taken as they
//!    stand; hand the module over with `engine.register_global_module(exported_module!(words).into())`), or by
//!    `FuncRegistration::new("name").with_params_info(["length: Dynamic"]).with_comments(DOC.lines())` for closures that
//!    need the context (each line of DOC begins with `///`). A word in an exported module finds the context with
//!    `calling::context_of(&call)` when its first parameter is `call: NativeCallContext`.
//! 2. The comment is one paragraph (or more) in Markdown, then an example in a fence that says `hw`:
//!
//!    ~~~text
//!    /// The quantity in another unit.
//!    ///
//!    /// ```hw
//!    /// 44.psi.to("bar")   // => 3.034 bar
//!    /// ```
//!    ~~~
//!
//!    `// => text` behind a statement is what the statement shows; more lines follow as comments of their own, each
//!    beginning with `// => `. A line without `// =>` may show anything. `// => error: text` expects the message of an error, and
//!    ends the example. Statements in an example may leave out the `;` at the end of a line that has an expectation.
//! 3. Overloads of one name share one documentation: it is enough that one of them has it.
//! 4. Property getters and setters, operators, `to_string`, `to_debug` and indexers need none; tell of them in the notes of the
//!    area (`functions/mod.rs`), with an example in a fence.
//! 5. Types are registered with an article, `engine.register_type_with_name::<Part>("a part")`: messages say it as it stands.
//!
//! A test fails for a function without documentation or example, for a name with two documentations, for an example that shows something else, and for a
//! reference page that is out of date.

pub mod examples; // runs the examples of the help texts
pub mod reference; // the reference page

use crate::lines::broken_between_words;
use crate::nearest::did_you_mean;
use crate::quantity::{Quantity, UNITS, Unit, find_unit};
use crate::script::language::error::ScriptError;
use crate::script::language::vocabulary::{Area, Vocabulary, Word};
use reference::{first_sentence, unit_table};
use std::fmt::Write;

/// Names that `help` knows, for completion.
pub fn topics(vocabulary: &Vocabulary) -> Vec<&str> {
    let areas = vocabulary.areas().iter().map(|area| area.name);
    areas.chain(vocabulary.words().iter().map(|word| word.name.as_str())).collect()
}

/// The areas with their words.
pub fn overview(vocabulary: &Vocabulary, width: usize) -> String {
    let mut text = String::from("Areas of words; help(\"units\") tells about one, help(\"min\") about a word.\n");
    for area in vocabulary.areas() {
        let names: Vec<&str> = vocabulary.words_of(area).map(|word| word.name.as_str()).collect();
        let _ = write!(text, "\n{:<10} {}", area.name, area.title);
        for line in broken_between_words(&names.join(", "), WIDTH.min(width).saturating_sub(12).clamp(LEAST_WIDTH, 66), "") {
            let _ = write!(text, "\n           {line}");
        }
    }
    text
}

/// Help on one topic: a word, an area or a unit, for a terminal of so many columns.
///
/// Errors: an unknown topic names the nearest.
pub fn topic_text(vocabulary: &Vocabulary, topic: &str, width: usize) -> Result<String, ScriptError> {
    let topic = topic.trim().trim_end_matches("()");
    if topic.is_empty() {
        return Ok(overview(vocabulary, width));
    }
    let area = vocabulary.areas().iter().filter(|area| area.name == topic).map(|area| area_text(vocabulary, area, width));
    let texts: Vec<String> =
        area.chain(vocabulary.words().iter().filter(|word| word.name == topic).map(|word| word_text(word, width))).collect();
    if !texts.is_empty() {
        return Ok(texts.join("\n\n"));
    }
    if let Some(unit) = find_unit(topic) {
        return Ok(unit_text(unit));
    }
    let holding: Vec<&str> = topics(vocabulary).into_iter().filter(|name| name.split('_').any(|part| part == topic)).collect();
    let others = search_words(topic);
    if !holding.is_empty() || !others.is_empty() {
        let names = [holding, others.to_vec()].concat().iter().map(|name| format!("help(\"{name}\")")).collect::<Vec<_>>();
        let error = ScriptError::new(format!("there is no help on \"{topic}\""));
        return Err(error.with_hint(format!("look at {}", names.join(", "))));
    }
    let known = topics(vocabulary).into_iter().chain(UNITS.iter().flat_map(|unit| unit.names.iter().copied()));
    let hint = did_you_mean(topic, known).unwrap_or_else(|| "help() lists the areas, search_help(\"text\") searches".into());
    Err(ScriptError::new(format!("there is no help on \"{topic}\"")).with_hint(hint))
}

/// Words of ours for what people call their trouble; codes of findings count as well.
fn search_words(text: &str) -> &'static [&'static str] {
    const OTHERS: &[(&[&str], &[&str])] = &[
        (
            &["chatter", "chatters", "short-cycles", "cycling", "cycles", "many-starts", "on and off"],
            &["operate", "switch_window", "tank_for"],
        ),
        (
            &["night", "unneeded-starts", "leak", "drip", "cut-in-near-static"],
            &["operate", "leak_down_time", "leak_from_decay", "switch_window"],
        ),
        (&["burst", "bang", "hammer", "water hammer", "over-rating"], &["water_hammer", "pressure_rating"]),
        (&["stall", "stalls", "below-range", "weak", "no-flow", "dry"], &["run", "operating_range", "seek", "best"]),
        (&["cost", "season", "bill", "money", "cheap"], &["bill_of_materials", "operate", "pareto", "compare"]),
        (&["never-starts", "never-stops", "cut-in", "cut-out"], &["switch_window", "operate"]),
        (&["brown", "patches", "even", "evenness", "coverage"], &["coverage"]),
    ];
    OTHERS.iter().find(|(asked, _)| asked.contains(&text)).map_or(&[], |(_, words)| words)
}

/// The words whose name or documentation holds a text, one a line.
pub fn search(vocabulary: &Vocabulary, text: &str, width: usize) -> String {
    let wanted = text.to_lowercase();
    let others = search_words(&wanted);
    let holds = |word: &&Word| {
        word.name.contains(&wanted) || prose(&word.doc).to_lowercase().contains(&wanted) || others.contains(&word.name.as_str())
    };
    let hits = vocabulary.words().iter().filter(holds);
    let lines: Vec<String> = hits.map(|word| beside(&format!("{}   ", word.name), &first_sentence(&word.doc), width)).collect();
    if lines.is_empty() { format!("no help speaks of \"{text}\"") } else { lines.join("\n") }
}

fn word_text(word: &Word, width: usize) -> String {
    format!("{}\n\n{}", word.signatures.join("\n"), plain(&word.doc, width))
}

fn area_text(vocabulary: &Vocabulary, area: &Area, width: usize) -> String {
    let mut text = format!("{}: {}\n\n{}", area.name, area.title, plain(area.notes.trim(), width));
    if area.name == "units" {
        let _ = write!(text, "\n\n{}", unit_table().trim_end());
    }
    text.push('\n');
    for word in vocabulary.words_of(area) {
        let call = word.signatures.first().map_or("", String::as_str);
        let _ = write!(text, "\n{}", beside(&format!("{call:<24} "), &first_sentence(&word.doc), width));
    }
    text
}

fn unit_text(unit: &'static Unit) -> String {
    let kind = unit.dimension.to_string();
    let kind = kind.split_once(' ').map_or(kind.as_str(), |(_, rest)| rest);
    let one = Quantity::written(1.0, unit);
    let other = [unit.metric, unit.us].into_iter().find(|other| *other != unit.symbol);
    let equal = other.and_then(|name| one.to(name).ok()).map_or(String::new(), |other| format!(": {one} = {other}"));
    format!("{} is a unit of {kind}{equal}", unit.symbol)
}

/// Columns of help on a wide terminal, and on the narrowest.
const WIDTH: usize = 96;
const LEAST_WIDTH: usize = 30;

/// A text behind a word; what does not fit into the line stands below, indented.
fn beside(word: &str, text: &str, width: usize) -> String {
    let width = width.clamp(LEAST_WIDTH, WIDTH);
    let indent = if word.len() + LEAST_WIDTH > width { 4 } else { word.len() };
    let mut lines = Vec::new();
    let mut rest = text.to_string();
    if indent == word.len() {
        lines = broken_between_words(text, width - indent, "");
        rest = lines.drain(1..).collect::<Vec<_>>().join(" ");
        lines[0].insert_str(0, word);
    } else {
        lines.push(word.trim_end().to_string());
    }
    let below = if rest.is_empty() { Vec::new() } else { broken_between_words(&rest, width - indent, "") };
    lines.extend(below.into_iter().map(|line| format!("{}{line}", " ".repeat(indent))));
    lines.join("\n")
}

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

/// A documentation without its examples.
fn prose(doc: &str) -> String {
    let parts = doc.split("```");
    parts.step_by(2).collect()
}
