//! Every word has help with an example that is true, and the reference page is current.

use hosewright::script::VOCABULARY;
use hosewright::script::examples::{BARE, bares_a_booster, check, examples};
use hosewright::script::reference::reference_markdown;

#[test]
fn every_word_has_help_and_an_example() {
    let poor: Vec<String> = VOCABULARY
        .words()
        .iter()
        .filter(|word| word.doc.trim_start().starts_with("```") || word.doc.is_empty() || examples(&word.doc).is_empty())
        .map(|word| format!("{} ({})", word.name, word.area))
        .collect();
    assert!(poor.is_empty(), "without help or example: {}", poor.join(", "));
}

#[test]
fn a_word_says_one_thing_however_it_is_called() {
    let doubtful = VOCABULARY.words().iter().filter(|word| !word.others.is_empty());
    let told: Vec<String> =
        doubtful.map(|word| format!("{} ({}): {} or {}", word.name, word.area, word.doc, word.others.join(" or "))).collect();
    assert!(told.is_empty(), "words with two documentations: {}", told.join("\n"));
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
    for word in VOCABULARY.words() {
        wrong.extend(examples(&word.doc).iter().filter_map(fault).map(|error| format!("{}: {error}", word.name)));
    }
    for area in VOCABULARY.areas() {
        wrong.extend(examples(area.notes).iter().filter_map(fault).map(|error| format!("{}: {error}", area.name)));
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
