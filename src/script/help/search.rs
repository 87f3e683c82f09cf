//! Search in the help: functions by the terms of the trade, by name, and by what their help says.
//!
//! Knows no function; the terms of each are in `terms.rs`.

use super::leaf::{beside, prose, topics_in_order, words};
use super::terms::{not_covered, terms_of};
use crate::nearest::nearest;
use crate::script::help::reference::first_sentence;
use crate::script::language::vocabulary::{Function, Vocabulary};

/// At most this many functions are listed.
const MOST_LISTED: usize = 12;

/// A shorter word is looked for whole: "arc" is not found in "search".
const SHORTEST_BEGINNING: usize = 4;

/// A longer text is not searched for.
const LONGEST_BYTES: usize = 200;

/// How well a function fits what is searched, best first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Fit {
    /// A term or the name is what was typed.
    Exact,
    /// All that was typed is in a term, in words that follow each other.
    InTerm,
    /// It is in the name.
    InName,
    /// It is in the first sentence of the help.
    InFirstSentence,
    /// It is in the rest of the help.
    InText,
    /// A term is part of what was typed.
    PartOfTyped,
}

/// The words that are searched. None of a long text, which is no term: comparing it would take its length times all help.
fn asked(text: &str) -> Vec<String> {
    if text.len() > LONGEST_BYTES { Vec::new() } else { words(text) }
}

/// The functions that fit a text, best first; equals are in the order of the topics of help.
pub fn found<'v>(vocabulary: &'v Vocabulary, text: &str) -> Vec<&'v Function> {
    let asked = asked(text);
    if asked.is_empty() {
        return Vec::new();
    }
    let order = topics_in_order();
    let place = |function: &Function| order.iter().position(|topic| *topic == function.topic).unwrap_or(order.len());
    let mut fits: Vec<(Fit, usize, &Function)> =
        vocabulary.functions().iter().filter_map(|function| Some((fit(function, &asked)?, place(function), function))).collect();
    fits.sort_by_key(|(fit, place, _)| (*fit, *place));
    // Parts of what was typed count only where nothing has all of it.
    let whole = fits.iter().any(|(fit, ..)| *fit != Fit::PartOfTyped);
    fits.into_iter().filter(|(fit, ..)| !whole || *fit != Fit::PartOfTyped).map(|(.., function)| function).collect()
}

/// The functions that fit a text, one a line with the first sentence of their help, for a terminal of `width` columns.
pub fn search(vocabulary: &Vocabulary, text: &str, width: usize) -> String {
    let answer = not_covered(&asked(text));
    let found = found(vocabulary, text);
    if answer.is_none() && found.is_empty() {
        let terms = |function: &Function| terms_of(function.topic, &function.name).collect::<Vec<&str>>();
        let names = vocabulary.functions().iter().flat_map(|function| [vec![function.name.as_str()], terms(function)].concat());
        let alike = nearest(text, names, 3);
        let hint = if alike.is_empty() {
            "help() lists the topics".to_string()
        } else {
            format!("did you mean {}?", alike.join(" or "))
        };
        return format!("no help on \"{text}\"; {hint}");
    }
    let shared = |function: &Function| found.iter().filter(|other| other.name == function.name).count() > 1;
    let title = |function: &Function| {
        if shared(function) { format!("{} ({})   ", function.name, function.topic) } else { format!("{}   ", function.name) }
    };
    let mut lines: Vec<String> = answer.map(str::to_string).into_iter().collect();
    lines.extend(found.iter().take(MOST_LISTED).map(|function| beside(&title(function), &first_sentence(&function.doc), width)));
    if found.len() > MOST_LISTED {
        lines.push(format!("and {} more; a longer text finds fewer", found.len() - MOST_LISTED));
    }
    lines.join("\n")
}

fn fit(function: &Function, asked: &[String]) -> Option<Fit> {
    let name = words(&function.name);
    let terms: Vec<Vec<String>> = terms_of(function.topic, &function.name).map(words).collect();
    let in_term = || terms.iter().any(|term| holds(term, asked));
    let first = || words(&first_sentence(&function.doc));
    if name == asked || terms.iter().any(|term| term == asked) {
        Some(Fit::Exact)
    } else if in_term() {
        Some(Fit::InTerm)
    } else if holds(&name, asked) {
        Some(Fit::InName)
    } else if holds(&first(), asked) {
        Some(Fit::InFirstSentence)
    } else if holds(&words(&prose(&function.doc)), asked) {
        Some(Fit::InText)
    } else {
        (asked.len() > 1 && terms.iter().chain([&name]).any(|term| holds(asked, term))).then_some(Fit::PartOfTyped)
    }
}

/// Whether the words that are asked for stand in a row of words; the last may be the beginning of one.
fn holds(row: &[String], asked: &[String]) -> bool {
    let Some((last, before)) = asked.split_last() else { return false };
    let fits = |window: &[String]| {
        let (end, start) = (&window[window.len() - 1], &window[..window.len() - 1]);
        start == before && (end == last || last.chars().count() >= SHORTEST_BEGINNING && end.starts_with(last.as_str()))
    };
    row.windows(asked.len()).any(fits)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::help::terms::{NOT_COVERED, TERMS};
    use crate::script::{VOCABULARY, topics};
    use std::collections::HashSet;

    fn names(text: &str) -> Vec<&'static str> {
        found(&VOCABULARY, text).into_iter().map(|function| function.name.as_str()).collect()
    }

    fn places(text: &str) -> Vec<String> {
        found(&VOCABULARY, text).into_iter().map(|function| format!("{}.{}", function.topic, function.name)).collect()
    }

    #[test]
    fn every_function_has_a_term_besides_its_name() {
        let without =
            |function: &&Function| !terms_of(function.topic, &function.name).any(|term| words(term) != words(&function.name));
        let poor: Vec<String> = VOCABULARY
            .functions()
            .iter()
            .filter(without)
            .map(|function| format!("{}.{}", function.topic, function.name))
            .collect();
        assert!(poor.is_empty(), "without search terms in terms.rs: {}", poor.join(", "));
    }

    #[test]
    fn terms_belong_to_functions_that_exist() {
        let known: HashSet<(&str, &str)> =
            VOCABULARY.functions().iter().map(|function| (function.topic, function.name.as_str())).collect();
        let listed = TERMS.iter().flat_map(|terms| terms.functions.iter().map(|(name, _)| (terms.topic, *name)));
        let stale: Vec<(&str, &str)> = listed.filter(|entry| !known.contains(entry)).collect();
        assert!(stale.is_empty(), "{stale:?}");
    }

    #[test]
    fn trade_terms_find_their_topic_among_the_first_three() {
        let text = include_str!("../../../tests/checks/trade_terms.csv");
        let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
        let known: HashSet<&str> = topics(&VOCABULARY).into_iter().collect();
        let (mut lost, mut tried) = (Vec::new(), 0);
        for row in reader.records().map(|row| row.expect("a row")) {
            let (term, topic) = (row[0].to_string(), row[1].to_string());
            if topic.is_empty() {
                if not_covered(&words(&term)).is_none() {
                    lost.push(format!("{term}: no answer"));
                }
            } else if known.contains(topic.as_str()) {
                tried += 1;
                let found = names(&term);
                if !found.iter().take(3).any(|name| *name == topic) {
                    lost.push(format!("{term}: {topic} is not in the first of {found:?}"));
                }
            }
        }
        assert!(lost.is_empty(), "{}", lost.join("\n"));
        assert!(tried >= 230, "{tried}");
    }

    #[test]
    fn short_terms_are_whole_words_and_marks_and_case_do_not_count() {
        assert_eq!(names("arc")[0], "arc");
        assert!(!names("arc").contains(&"search_help"));
        assert_eq!(names("CU")[0], "coverage");
        assert!(!names("ID").contains(&"residuals"));
        for same in ["cut-in", "CUT IN", "cut_in"] {
            assert_eq!(names(same), names("cut-in"), "{same}");
        }
        assert_eq!(names("catch cans")[0], names("Catch-Can")[0]);
    }

    #[test]
    fn names_that_mean_two_things_are_sorted() {
        assert_eq!(places("filter")[0], "parts.filter");
        assert!(places("filter").contains(&"tables.filter".to_string()));
        assert_eq!(places("schedule")[0], "operation.schedule");
        assert!(places("schedule").contains(&"parts.diameter".to_string()));
        assert_eq!(places("demand")[0], "parts.demand");
        assert_eq!(places("head")[0], "parts.head");
    }

    #[test]
    fn what_is_not_covered_is_said() {
        for entry in NOT_COVERED {
            for term in entry.terms.split(", ") {
                assert!(search(&VOCABULARY, term, 96).starts_with(entry.answer), "{term}");
            }
        }
        assert!(search(&VOCABULARY, "sprinkeler", 96).contains("did you mean sprinkler"));
        assert_eq!(search(&VOCABULARY, "xqzzy", 96), "no help on \"xqzzy\"; help() lists the topics");
    }
}
