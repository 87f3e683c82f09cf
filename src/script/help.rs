//! Help: one source of documentation for `help`, the reference page and the tests of all examples.
//!
//! How to document a word (the convention):
//!
//! 1. Every function of ours is registered with a doc comment, either by `#[export_module]` (the `///` lines are taken as they
//!    stand; hand the module over with `engine.register_global_module(exported_module!(words).into())`), or by
//!    `FuncRegistration::new("name").with_params_info(["length: Dynamic"]).with_comments(DOC.lines())` for closures that
//!    need the context (each line of DOC begins with `///`). A word in an exported module finds the context with
//!    `engine::context_of(&call)` when its first parameter is `call: NativeCallContext`.
//! 2. The comment is one paragraph (or more) in Markdown, then an example in a fence that says `hw`:
//!
//!        /// The quantity in another unit.
//!        ///
//!        /// ```hw
//!        /// 44.psi.to("bar")   // => 3.034 bar
//!        /// ```
//!
//!    `// => text` behind a statement is what the statement shows; more lines follow as comments of their own, each
//!    beginning with `// => `. A line without `// =>` may show anything. `// => error: text` expects the message of an error, and
//!    ends the example. Statements in an example may leave out the `;` at the end of a line that has an expectation.
//! 3. Overloads of one name share one documentation: it is enough that one of them has it.
//! 4. Property getters and setters, operators, `to_string`, `to_debug` and indexers need none; tell of them in the notes of the
//!    area (`areas.rs`), with an example in a fence.
//!
//! A test fails for a function without documentation or example, for an example that shows something else, and for a
//! reference page that is out of date.

use super::areas::{AREAS, Area};
use super::error::{Answer, ScriptError};
use super::Context;
use crate::files::Folder;
use crate::nearest::{did_you_mean, nearest};
use crate::quantity::{UNITS, Unit, find_unit};
use rhai::{Engine, FuncRegistration};
use std::fmt::Write;
use std::sync::{Arc, OnceLock};

/// Help on everything that is not a function.
pub const NOTES: &str = r#"
In the shell, `help` alone works as a word, the Tab key completes names, units behind a point and topics of help, Ctrl-C
stops an evaluation and keeps the variables, and `quit` or Ctrl-D leaves. `exit()` ends a script early.
"#;

/// A documented word: a function name with all its overloads.
#[derive(Clone, Debug)]
pub struct Word {
    pub name: String,
    pub area: &'static str,
    /// How it is called, one for each overload, such as `min(a, b)`.
    pub signatures: Vec<String>,
    /// Markdown with fenced examples; empty when none of the overloads has a comment.
    pub doc: String,
}

/// Registers the words of this area.
pub fn register(engine: &mut Engine, _context: &Arc<Context>) {
    FuncRegistration::new("help")
        .with_params_info(["topic: &str"])
        .with_comments(HELP_DOC.lines())
        .register_into_engine(engine, |topic: &str| -> Answer<String> { Ok(topic_text(topic)?) });
    FuncRegistration::new("help").register_into_engine(engine, overview);
    FuncRegistration::new("find_help")
        .with_params_info(["text: &str"])
        .with_comments(FIND_DOC.lines())
        .register_into_engine(engine, search);
}

const HELP_DOC: &str = r#"/// Tells about a function, a unit or an area; without a topic, lists the areas.
///
/// ```hw
/// help("psi")   // => psi is a unit of pressure: 1 psi = 0.06895 bar
/// ```"#;

const FIND_DOC: &str = r#"/// Lists the words whose help speaks of a text.
///
/// ```hw
/// find_help("cube root")   // => cbrt   The cube root of a number or quantity; the dimension must have one.
/// ```"#;

/// All documented words, by area and name; collected once, at the first use.
pub fn words() -> &'static [Word] {
    static WORDS: OnceLock<Vec<Word>> = OnceLock::new();
    WORDS.get_or_init(|| AREAS.iter().flat_map(collect).collect())
}

/// Names that `help` knows, for completion.
pub fn topics() -> Vec<&'static str> {
    let areas = AREAS.iter().map(|area| area.name);
    areas.chain(words().iter().map(|word| word.name.as_str())).collect()
}

/// The areas with their words.
pub fn overview() -> String {
    let mut text = String::from("Areas of words; help(\"units\") tells about one, help(\"min\") about a word.\n");
    for area in AREAS {
        let names: Vec<&str> = words().iter().filter(|word| word.area == area.name).map(|word| word.name.as_str()).collect();
        let _ = write!(text, "\n{:<10} {}", area.name, area.title);
        for line in wrap(&names.join(", "), 66) {
            let _ = write!(text, "\n           {line}");
        }
    }
    text
}

/// Help on one topic: a word, an area or a unit.
///
/// Errors: an unknown topic names the nearest.
pub fn topic_text(topic: &str) -> Result<String, ScriptError> {
    let topic = topic.trim().trim_end_matches("()");
    if topic.is_empty() {
        return Ok(overview());
    }
    if let Some(area) = AREAS.iter().find(|area| area.name == topic) {
        return Ok(area_text(area));
    }
    if let Some(word) = words().iter().find(|word| word.name == topic) {
        return Ok(word_text(word));
    }
    if let Some(unit) = find_unit(topic) {
        return Ok(unit_text(unit));
    }
    let known = topics().into_iter().chain(UNITS.iter().flat_map(|unit| unit.names.iter().copied()));
    let hint = did_you_mean(topic, known).unwrap_or_else(|| "help() lists the areas, find_help(\"text\") searches".into());
    Err(ScriptError::new(format!("there is no help on \"{topic}\"")).with_hint(hint))
}

/// The words whose name or documentation holds a text, one a line.
pub fn search(text: &str) -> String {
    let wanted = text.to_lowercase();
    let hits = words().iter().filter(|word| word.name.contains(&wanted) || word.doc.to_lowercase().contains(&wanted));
    let lines: Vec<String> = hits.map(|word| format!("{}   {}", word.name, first_line(&word.doc))).collect();
    if lines.is_empty() { format!("no help speaks of \"{text}\"") } else { lines.join("\n") }
}

/// The signatures of a word of ours, for messages about wrong arguments.
pub fn signatures(name: &str) -> Vec<String> {
    words().iter().filter(|word| word.name == name).flat_map(|word| word.signatures.iter().cloned()).collect()
}

/// The reference page in Markdown.
pub fn reference_markdown() -> String {
    let mut page = String::from("# Words of hosewright\n\nMade by `hosewright reference` from the help texts; do not edit.\n");
    for area in AREAS {
        let _ = write!(page, "\n## {}: {}\n\n{}\n", area.name, area.title, area.notes.trim());
        if area.name == "units" {
            let _ = write!(page, "\n{}\n", unit_table());
        }
        for word in words().iter().filter(|word| word.area == area.name) {
            let calls: Vec<String> = word.signatures.iter().map(|call| format!("`{call}`")).collect();
            let _ = write!(page, "\n### {}\n\n{}\n\n{}\n", word.name, calls.join(" · "), word.doc);
        }
    }
    page
}

/// The examples in a Markdown text: the insides of fences that say `hw`.
pub fn examples(markdown: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut open: Option<String> = None;
    for line in markdown.lines() {
        match (&mut open, line.trim()) {
            (None, "```hw") => open = Some(String::new()),
            (Some(_), "```") => found.extend(open.take()),
            (Some(text), _) => {
                text.push_str(line);
                text.push('\n');
            }
            _ => {}
        }
    }
    found
}

fn collect(area: &Area) -> Vec<Word> {
    let mut engine = Engine::new_raw();
    (area.register)(&mut engine, &Arc::new(Context::new(Folder::new("."))));
    let functions = engine.collect_fn_metadata(
        None,
        |function| {
            let name = function.metadata.name.to_string();
            let comments: Vec<String> = function.metadata.comments.iter().map(ToString::to_string).collect();
            let parameters: Vec<String> = function.metadata.params_info.iter().map(ToString::to_string).collect();
            needs_help(&name).then(|| (name, call_text(&function.metadata.name, &parameters, function.metadata.num_params), comments))
        },
        false,
    );
    let mut words: Vec<Word> = Vec::new();
    for (name, signature, comments) in functions {
        let doc = markdown(&comments);
        match words.iter_mut().find(|word| word.name == name) {
            Some(word) => {
                if !word.signatures.contains(&signature) {
                    word.signatures.push(signature);
                }
                if word.doc.is_empty() {
                    word.doc = doc;
                }
            }
            None => words.push(Word { name, area: area.name, signatures: vec![signature], doc }),
        }
    }
    for word in &mut words {
        word.signatures.sort();
    }
    words.sort_by(|a, b| a.name.cmp(&b.name));
    words
}

/// Operators, properties, indexers and the two functions that show values need no help of their own.
fn needs_help(name: &str) -> bool {
    let is_name = name.chars().all(|c| c.is_alphanumeric() || c == '_');
    is_name && !matches!(name, "to_string" | "to_debug")
}

/// How a function is called: its parameters by name, without types.
fn call_text(name: &str, parameters: &[String], count: usize) -> String {
    let names = parameters.iter().take(count).map(|parameter| parameter.split(':').next().unwrap_or("value").trim().to_string());
    format!("{name}({})", names.collect::<Vec<_>>().join(", "))
}

fn markdown(comments: &[String]) -> String {
    let lines = comments.iter().flat_map(|comment| comment.lines());
    let bare = lines.map(|line| line.trim_start().trim_start_matches("///")).map(|line| line.strip_prefix(' ').unwrap_or(line).trim_end());
    bare.collect::<Vec<_>>().join("\n").trim().to_string()
}

fn first_line(doc: &str) -> &str {
    doc.lines().next().unwrap_or("")
}

fn word_text(word: &Word) -> String {
    format!("{}\n\n{}", word.signatures.join("\n"), plain(&word.doc))
}

fn area_text(area: &Area) -> String {
    let mut text = format!("{}: {}\n\n{}", area.name, area.title, plain(area.notes.trim()));
    if area.name == "units" {
        let _ = write!(text, "\n\n{}", unit_table().trim_end());
    }
    text.push('\n');
    for word in words().iter().filter(|word| word.area == area.name) {
        let _ = write!(text, "\n{:<24} {}", word.signatures.first().map_or("", String::as_str), first_line(&word.doc));
    }
    text
}

fn unit_text(unit: &'static Unit) -> String {
    let kind = unit.dimension.to_string();
    let kind = kind.split_once(' ').map_or(kind.as_str(), |(_, rest)| rest);
    let one = crate::quantity::Quantity::written(1.0, unit);
    let other = [unit.metric, unit.us].into_iter().find(|other| *other != unit.symbol);
    let equal = other.and_then(|name| one.to(name).ok()).map_or(String::new(), |other| format!(": {one} = {other}"));
    format!("{} is a unit of {kind}{equal}", unit.symbol)
}

/// All units by dimension, as script names.
fn unit_table() -> String {
    let mut table = String::new();
    let mut last = None;
    for unit in UNITS {
        if last != Some(unit.dimension) {
            let _ = write!(table, "{}- {}: ", if last.is_some() { "\n" } else { "" }, unit.dimension);
        } else {
            table.push_str(", ");
        }
        table.push_str(unit.names[0]);
        last = Some(unit.dimension);
    }
    table
}

/// Markdown for the terminal: fences go, examples are set in.
fn plain(doc: &str) -> String {
    let mut inside = false;
    let mut lines = Vec::new();
    for line in doc.lines() {
        if line.trim_start().starts_with("```") {
            inside = !inside;
            continue;
        }
        lines.push(if inside { format!("    {line}") } else { line.to_string() });
    }
    lines.join("\n")
}

fn wrap(text: &str, width: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split(' ') {
        let full = lines.last().is_some_and(|line| !line.is_empty() && line.len() + 1 + word.len() > width);
        if full {
            lines.push(String::new());
        }
        if let Some(line) = lines.last_mut() {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines
}

/// Names of words that look like the given one.
pub fn nearest_words(name: &str) -> Vec<&'static str> {
    nearest(name, words().iter().map(|word| word.name.as_str()), 3)
}
