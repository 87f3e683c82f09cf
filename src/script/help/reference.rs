//! The reference page, made of the documented functions.

use crate::findings::{CautionSet, ESTIMATES, FOLLOW};
use crate::quantity::{UNITS, dim};
use crate::script::language::vocabulary::Vocabulary;
use std::fmt::Write;

/// The reference page in Markdown.
pub fn reference_markdown(vocabulary: &Vocabulary) -> String {
    let mut page =
        String::from("# Functions of hosewright\n\nMade by `hosewright reference` from the help texts; do not edit.\n");
    for topic in vocabulary.topics() {
        let _ = write!(page, "\n## {}: {}\n\n{}\n", topic.name, topic.title, topic.notes.trim());
        if topic.name == "units" {
            let _ = write!(page, "\n{}\n", unit_table());
        }
        if topic.name == super::leaf::SAFETY {
            let _ = write!(page, "\n{}", caution_list());
        }
        for function in vocabulary.functions_of(topic) {
            let calls: Vec<String> = function.signatures.iter().map(|call| format!("`{call}`")).collect();
            let _ = write!(page, "\n### {}\n\n{}\n\n{}\n", function.name, calls.join(" · "), function.doc);
        }
    }
    page
}

/// All cautions by subject, with their sources.
fn caution_list() -> String {
    let mut list = String::new();
    for (subject, cautions) in CautionSet::all().by_subject() {
        let _ = write!(list, "**{}**\n\n", subject.words());
        for caution in cautions {
            let _ = writeln!(list, "- `{}`: {} ({})", caution.id, caution.text, caution.source.words());
        }
        list.push('\n');
    }
    format!("{list}{FOLLOW} {ESTIMATES}\n")
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
    let _ =
        write!(table, "\n- {}: USD, EUR, GBP and the other codes of ISO 4217; prices: USD_per_ft, EUR_per_m3, ...", dim::MONEY);
    table
}

/// The first line of a documentation.
pub fn first_line(doc: &str) -> &str {
    doc.lines().next().unwrap_or("")
}

/// The first sentence of a documentation, without what an example or a list after it says.
pub fn first_sentence(doc: &str) -> String {
    let paragraph: Vec<&str> = doc.lines().map(str::trim).take_while(|line| !line.is_empty()).collect();
    let text = paragraph.join(" ");
    let end = text.find(". ").map_or(text.len(), |at| at + 1);
    text[..end].to_string()
}
