//! What pages of help and the search in them share: the questions, texts beside names, prose without examples.

use crate::lines::broken_between_words;

/// The topic whose help lists all cautions.
pub(super) const SAFETY: &str = "safety";
/// Columns of help on a wide terminal, and on the narrowest.
pub(super) const WIDTH: usize = 96;
pub(super) const LEAST_WIDTH: usize = 30;

/// What people ask, and the topics that answer it. Each topic stands once; search goes by this order too.
pub(super) const QUESTIONS: &[(&str, &[&str])] = &[
    ("What reaches each head?", &["parts", "gardens"]),
    ("What is wrong with it?", &["findings"]),
    ("Is it safe for drinking water and people?", &["safety"]),
    ("How even is the coverage?", &["coverage"]),
    ("Does the pressure switch work? Does it leak?", &["settings"]),
    ("What happens over a day or a season? How often does the pump start?", &["operation"]),
    ("How long must each zone run this week?", &["watering", "weather"]),
    ("What does it cost, and does it pay?", &["money"]),
    ("What stays at the garden, on paper?", &["cards"]),
    ("What happens when a valve closes fast?", &["water_hammer"]),
    ("What helps most? What do the gauge readings show?", &["insight"]),
    ("Which option is best, and how sure am I?", &["answers", "studies"]),
    ("How does it look?", &["plans", "charts", "pages"]),
    ("How do I work with units, tables, dates and numbers?", &["units", "tables", "dates", "numbers", "lists"]),
    ("How do I write a study?", &["language", "help"]),
];

/// Names of the topics in the order of the questions.
pub(super) fn topics_in_order() -> Vec<&'static str> {
    QUESTIONS.iter().flat_map(|(_, topics)| topics.iter().copied()).collect()
}

/// A text after a name; what does not fit into the line is below, indented.
pub(super) fn beside(name: &str, text: &str, width: usize) -> String {
    let width = width.clamp(LEAST_WIDTH, WIDTH);
    let indent = if name.len() + LEAST_WIDTH > width { 4 } else { name.len() };
    let mut lines = Vec::new();
    let mut rest = text.to_string();
    if indent == name.len() {
        lines = broken_between_words(text, width - indent, "");
        rest = lines.drain(1..).collect::<Vec<_>>().join(" ");
        lines[0].insert_str(0, name);
    } else {
        lines.push(name.trim_end().to_string());
    }
    let below = if rest.is_empty() { Vec::new() } else { broken_between_words(&rest, width - indent, "") };
    lines.extend(below.into_iter().map(|line| format!("{}{line}", " ".repeat(indent))));
    lines.join("\n")
}

/// A documentation without its examples.
pub(super) fn prose(doc: &str) -> String {
    let parts = doc.split("```");
    parts.step_by(2).collect()
}

/// The words of a text: small letters, no plural; an underscore, a hyphen and a space are alike.
pub(super) fn words(text: &str) -> Vec<String> {
    let text = text.to_lowercase().replace(['\'', '’'], "");
    let words = text.split(|letter: char| !letter.is_alphanumeric()).filter(|word| !word.is_empty());
    words.map(|word| singular(word).to_string()).collect()
}

fn singular(word: &str) -> &str {
    match word.strip_suffix('s') {
        Some(stem) if word.len() > 3 && !stem.ends_with(['s', 'u', 'i']) => {
            stem.strip_suffix("sse").map_or(stem, |_| &stem[..stem.len() - 1])
        }
        _ => word,
    }
}
