//! The words of scripts by area, with their documentation, collected from what the areas register.
//!
//! Knows no word: the one list of areas is handed in. How words are documented is told at the top of `help/mod.rs`.

use rhai::Engine;
use std::collections::HashSet;
use std::sync::OnceLock;

/// An area: a file of words with a common subject.
pub struct Area {
    /// The topic under which `help` knows it.
    pub name: &'static str,
    /// One line for the list of areas.
    pub title: &'static str,
    /// Markdown shown above the words; for everything that belongs to no single function, such as properties and operators.
    /// Fenced examples in it are run like those of functions.
    pub notes: &'static str,
    /// Registers the words with an engine.
    pub register: fn(&mut Engine),
}

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

/// All areas with their words; the words are collected once, at the first use.
pub struct Vocabulary {
    areas: &'static [Area],
    words: OnceLock<Vec<Word>>,
    names: OnceLock<HashSet<String>>,
}

impl Vocabulary {
    /// The words of these areas.
    pub const fn of(areas: &'static [Area]) -> Vocabulary {
        Vocabulary { areas, words: OnceLock::new(), names: OnceLock::new() }
    }

    /// The areas, in the order in which help lists them.
    pub fn areas(&self) -> &'static [Area] {
        self.areas
    }

    /// Registers all words with an engine.
    pub fn register(&self, engine: &mut Engine) {
        self.areas.iter().for_each(|area| (area.register)(engine));
    }

    /// All documented words, by area and name.
    pub fn words(&self) -> &[Word] {
        self.words.get_or_init(|| self.areas.iter().flat_map(collect).collect())
    }

    /// The documented words of an area.
    pub fn words_of(&self, area: &Area) -> impl Iterator<Item = &Word> {
        self.words().iter().filter(move |word| word.area == area.name)
    }

    /// True for the name of a documented word.
    pub fn is_word(&self, name: &str) -> bool {
        self.names.get_or_init(|| self.words().iter().map(|word| word.name.clone()).collect()).contains(name)
    }

    /// The signatures of a word, for messages about wrong arguments; none for a name that is no word.
    pub fn signatures(&self, name: &str) -> Vec<String> {
        self.words().iter().filter(|word| word.name == name).flat_map(|word| word.signatures.iter().cloned()).collect()
    }
}

fn collect(area: &Area) -> Vec<Word> {
    let mut engine = Engine::new_raw();
    (area.register)(&mut engine);
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
