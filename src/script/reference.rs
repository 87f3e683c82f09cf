//! The documented words, collected from the engine, and the reference page made of them.
//!
//! How words are documented is told at the top of `help.rs`.

use super::Context;
use super::areas::{AREAS, Area};
use crate::files::Folder;
use crate::quantity::UNITS;
use rhai::Engine;
use std::collections::HashSet;
use std::fmt::Write;
use std::sync::{Arc, OnceLock};

/// A documented word: a function name with all its overloads.
#[derive(Clone, Debug)]
pub struct Word {
    pub name: String,
    pub area: &'static str,
    /// How it is called, one for each overload, such as `min(a, b)`.
    pub signatures: Vec<String>,
    /// Markdown with fenced examples; empty when none of the overloads has a comment.
    pub doc: String,
    /// What other overloads say instead. There should be none: which of them stands first is left to chance.
    pub others: Vec<String>,
}

/// All documented words, by area and name; collected once, at the first use.
pub fn words() -> &'static [Word] {
    static WORDS: OnceLock<Vec<Word>> = OnceLock::new();
    WORDS.get_or_init(|| AREAS.iter().flat_map(collect).collect())
}

/// True for the name of a documented word.
pub fn is_word(name: &str) -> bool {
    static NAMES: OnceLock<HashSet<&'static str>> = OnceLock::new();
    NAMES.get_or_init(|| words().iter().map(|word| word.name.as_str()).collect()).contains(name)
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

/// All units by dimension, as script names.
pub fn unit_table() -> String {
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

fn collect(area: &Area) -> Vec<Word> {
    let mut engine = Engine::new_raw();
    (area.register)(&mut engine, &Arc::new(Context::new(Folder::new("."))));
    let functions = engine.collect_fn_metadata(
        None,
        |function| {
            let name = function.metadata.name.to_string();
            let comments: Vec<String> = function.metadata.comments.iter().map(ToString::to_string).collect();
            let parameters: Vec<String> = function.metadata.params_info.iter().map(ToString::to_string).collect();
            needs_help(&name)
                .then(|| (name, call_text(&function.metadata.name, &parameters, function.metadata.num_params), comments))
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
                } else if !doc.is_empty() && doc != word.doc {
                    word.others.push(doc);
                }
            }
            None => words.push(Word { name, area: area.name, signatures: vec![signature], doc, others: Vec::new() }),
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
    let bare = lines
        .map(|line| line.trim_start().trim_start_matches("///"))
        .map(|line| line.strip_prefix(' ').unwrap_or(line).trim_end());
    bare.collect::<Vec<_>>().join("\n").trim().to_string()
}

/// The first line of a documentation.
pub fn first_line(doc: &str) -> &str {
    doc.lines().next().unwrap_or("")
}

/// The first sentence of a documentation, without what an example or a list behind it says.
pub fn first_sentence(doc: &str) -> String {
    let paragraph: Vec<&str> = doc.lines().map(str::trim).take_while(|line| !line.is_empty()).collect();
    let text = paragraph.join(" ");
    let end = text.find(". ").map_or(text.len(), |at| at + 1);
    text[..end].to_string()
}
