//! Every function has help with an example that is true, and the reference page is current.

use hosewright::script::VOCABULARY;
use hosewright::script::examples::{BARE, bares_a_booster, check, examples};
use hosewright::script::reference::reference_markdown;

#[test]
fn every_function_has_help_and_an_example() {
    let poor: Vec<String> = VOCABULARY
        .functions()
        .iter()
        .filter(|function| {
            function.doc.trim_start().starts_with("```") || function.doc.is_empty() || examples(&function.doc).is_empty()
        })
        .map(|function| format!("{} ({})", function.name, function.topic))
        .collect();
    assert!(poor.is_empty(), "without help or example: {}", poor.join(", "));
}

#[test]
fn a_function_has_one_documentation() {
    let doubtful = VOCABULARY.functions().iter().filter(|function| !function.others.is_empty());
    let doubled: Vec<String> = doubtful
        .map(|function| format!("{} ({}): {} or {}", function.name, function.topic, function.doc, function.others.join(" or ")))
        .collect();
    assert!(doubled.is_empty(), "functions with two documentations: {}", doubled.join("\n"));
}

/// What is wrong with an example: what it shows, or a booster on a main that is not protected.
fn fault(example: &String) -> Option<String> {
    match check(example) {
        Err(error) => Some(error),
        Ok(cautions) => bares_a_booster(cautions).then(|| format!("{BARE}\n{example}")),
    }
}

#[test]
fn every_example_shows_what_it_says() {
    let mut wrong = Vec::new();
    for function in VOCABULARY.functions() {
        wrong.extend(examples(&function.doc).iter().filter_map(fault).map(|error| format!("{}: {error}", function.name)));
    }
    for topic in VOCABULARY.topics() {
        wrong.extend(examples(topic.notes).iter().filter_map(fault).map(|error| format!("{}: {error}", topic.name)));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

#[test]
fn the_reference_page_is_current() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/reference.md");
    let page = reference_markdown(&VOCABULARY);
    if std::env::var_os("HOSEWRIGHT_UPDATE").is_some() {
        std::fs::write(path, &page).expect("the page can be written");
    }
    let kept = std::fs::read_to_string(path).unwrap_or_default();
    assert!(kept == page, "docs/reference.md is out of date: run the tests with HOSEWRIGHT_UPDATE=1");
}
