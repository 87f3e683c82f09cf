//! The functions of scripts by topic, with their documentation, collected from what the topics register.
//!
//! Names no function: the one list of topics is passed in. The top of `help/mod.rs` describes how functions are documented.

use rhai::Engine;
use std::collections::HashSet;
use std::sync::OnceLock;

/// A topic: a file of functions with a common subject.
pub struct Topic {
    /// The name by which `help` finds it.
    pub name: &'static str,
    /// One line for the list of topics.
    pub title: &'static str,
    /// Markdown shown above the functions; for everything that belongs to no single function, such as properties and operators.
    /// Fenced examples in it are run like those of functions.
    pub notes: &'static str,
    /// Registers the functions with an engine.
    pub register: fn(&mut Engine),
}

/// A documented function: a name with all its overloads.
#[derive(Clone, Debug)]
pub struct Function {
    pub name: String,
    pub topic: &'static str,
    /// How it is called, one for each overload, such as `min(a, b)`.
    pub signatures: Vec<String>,
    /// Markdown with fenced examples; empty when none of the overloads has a comment.
    pub doc: String,
    /// Documentation of other overloads that differs. There should be none: their order is not defined.
    pub others: Vec<String>,
}

/// All topics with their functions; the functions are collected once, at the first use.
pub struct Vocabulary {
    topics: &'static [Topic],
    functions: OnceLock<Vec<Function>>,
    names: OnceLock<HashSet<String>>,
}

impl Vocabulary {
    /// The functions of these topics.
    pub const fn of(topics: &'static [Topic]) -> Vocabulary {
        Vocabulary { topics, functions: OnceLock::new(), names: OnceLock::new() }
    }

    /// The topics, in the order in which help lists them.
    pub fn topics(&self) -> &'static [Topic] {
        self.topics
    }

    /// Registers all functions with an engine.
    pub fn register(&self, engine: &mut Engine) {
        self.topics.iter().for_each(|topic| (topic.register)(engine));
    }

    /// All documented functions, by topic and name.
    pub fn functions(&self) -> &[Function] {
        self.functions.get_or_init(|| self.topics.iter().flat_map(collect).collect())
    }

    /// The documented functions of a topic.
    pub fn functions_of(&self, topic: &Topic) -> impl Iterator<Item = &Function> {
        self.functions().iter().filter(move |function| function.topic == topic.name)
    }

    /// True for the name of a documented function.
    pub fn is_function(&self, name: &str) -> bool {
        self.names.get_or_init(|| self.functions().iter().map(|function| function.name.clone()).collect()).contains(name)
    }

    /// The signatures of a function, for messages about wrong arguments; none for a name that no function has.
    pub fn signatures(&self, name: &str) -> Vec<String> {
        self.functions()
            .iter()
            .filter(|function| function.name == name)
            .flat_map(|function| function.signatures.iter().cloned())
            .collect()
    }
}

fn collect(topic: &Topic) -> Vec<Function> {
    let mut engine = Engine::new_raw();
    (topic.register)(&mut engine);
    let registered = engine.collect_fn_metadata(
        None,
        |found| {
            let name = found.metadata.name.to_string();
            let comments: Vec<String> = found.metadata.comments.iter().map(ToString::to_string).collect();
            let parameters: Vec<String> = found.metadata.params_info.iter().map(ToString::to_string).collect();
            needs_help(&name).then(|| (name, call_text(&found.metadata.name, &parameters, found.metadata.num_params), comments))
        },
        false,
    );
    let mut functions: Vec<Function> = Vec::new();
    for (name, signature, comments) in registered {
        let doc = markdown(&comments);
        match functions.iter_mut().find(|function| function.name == name) {
            Some(function) => {
                if !function.signatures.contains(&signature) {
                    function.signatures.push(signature);
                }
                if function.doc.is_empty() {
                    function.doc = doc;
                } else if !doc.is_empty() && doc != function.doc {
                    function.others.push(doc);
                }
            }
            None => functions.push(Function { name, topic: topic.name, signatures: vec![signature], doc, others: Vec::new() }),
        }
    }
    for function in &mut functions {
        function.signatures.sort();
    }
    functions.sort_by(|a, b| a.name.cmp(&b.name));
    functions
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
