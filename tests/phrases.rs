//! Texts are plain American English of the trade: no text has a phrase of this list.
//!
//! Checked are the string literals and the comments of the program (without its test modules), the documents, and the studies. A phrase is a sequence of words; `a|b` is either word, and a star at the end of a word takes any ending. Words of a
//! phrase follow each other without punctuation between them.

use std::fmt::Write;
use std::path::{Path, PathBuf};

/// Phrases that are not written, each with what is written instead.
const PHRASES: &[(&str, &str)] = &[
    ("unless said|told|given", "default ..."),
    ("is|are|was|were|be|been told", "is reported, is described"),
    ("tell|tells|telling", "report, show, describe"),
    ("speak|speaks of|about|for", "describe"),
    ("the street|street's", "the main"),
    ("street pressure", "main pressure"),
    ("area|areas of words", "topics"),
    ("word|words of|for script|scripts|hosewright|shell|ours", "functions"),
    ("a|an|any|each|every|no|some|another word", "function, name"),
    ("number|numbers of a|the|its part|parts", "parameter"),
    ("signs", "characters"),
    ("cannot be told", "cannot be determined"),
    ("by|to chance", "random"),
    ("blow|blows|blew|blowing off", "relieves, opens"),
    ("careful practitioner*", "an experienced installer"),
    ("bought for", "never runs in this zone"),
    ("suck|sucks|sucked|sucking", "pulls below atmospheric pressure (backsiphonage)"),
    ("hang|hangs|hung|hanging on|together|from", "depends on, is connected"),
    ("fight|fights each", "conflict"),
    ("so many|much|far", "at most n, up to"),
    ("behind", "downstream of, after"),
    ("in front of", "upstream of, before"),
    ("shut|shuts|shutting", "closed"),
    ("feels|felt|feel", "reads"),
    ("stand|stands|standing at", "reads, is at"),
    (SLEEP, "starts unneeded, stays off"),
    ("road|roads", "method"),
    ("knob|knobs", "variable"),
    ("evenness", "uniformity"),
    ("grave|graver|gravest", "severe"),
    ("mend|mends|mended", "fix, correct"),
    ("slip|slips of", "mistake"),
    // American spelling.
    ("programme|programmes", "schedule"),
    ("fertilis*", "fertilizer"),
    ("litre|litres|millilitre*", "liter"),
    ("metre|metres|millimetre*|centimetre*|kilometre*", "meter"),
    ("colour*", "color"),
    ("neighbour*", "neighbor"),
    ("behaviour*", "behavior"),
    ("centre|centres|centred", "center"),
    ("grey", "gray"),
    ("licence|licences", "license"),
    ("catalogue|catalogues", "catalog"),
    ("judgement*", "judgment"),
    ("optimis*|minimis*|maximis*|organis*|recognis*|summaris*|normalis*|vis|visualis*|initialis*|generalis*", "-ize"),
    ("modelled|modelling|labelled|labelling|travelled|travelling|cancelled", "one l"),
    ("mould*|plough*|tyre|tyres|aluminium|sulphur|vapour*|misspelt|towards|linearis*", "American spelling"),
    // Names that scripts no longer have.
    ("but(", "with, replace"),
    ("climb|climbs", "uphill, downhill, elevation change"),
    ("draw_at|rise_at|speed_in", "open_by_hand, boost_at, velocity_in"),
    ("washer", "restrictor"),
    ("rough(|stretch(|cracking(", "roughness, compliance, cracking_pressure"),
    ("booster_by_three|run_out|dry_stop", "booster_from, max_flow, dry_run_cutoff"),
    ("rated_table|rated_pressure|needs_low|needs_high", "performance_table, range_low, range_high"),
    ("grade_chart", "pressure_profile_chart"),
    ("busiest_hour|on_fraction|shortest_rest", "peak_starts_per_hour, duty_cycle, shortest_off_time"),
    ("try_faults|time_to_fall|leak_from", "failure_study, leak_down_time, leak_from_decay"),
    ("openers", "remedies"),
    ("knock|knocks", "water_hammer"),
    ("low_quarter|on_bed|catch_test|time_for", "du, overspray, catch_cans, run_time_for"),
    ("draw_from|even_samples|trade_off|error_of", "resampled, sobol_samples, pareto, standard_error, chi_square"),
    ("head_rows|tail_rows|some_rows|renamed(|join_all", "first_rows, last_rows, sample_rows, rename, left_join"),
    ("find_help", "search_help"),
];

/// Where one phrase is right: file, phrase (empty: all), a part of the line (empty: all), the reason.
const ALLOWED: &[(&str, &str, &str, &str)] = &[
    ("src/nearest.rs", "", "", "names that somebody may still type, with those that replace them"),
    ("src/script/help/terms.rs", "", "", "terms of all countries, by which functions are searched"),
    ("src/quantity/unit.rs", "", "", "spellings of units that are read"),
    ("NOTICE", "colour*", "Scientific colour maps", "the name of a work"),
    ("src/figure/ramp.rs", "colour*", "Scientific colour maps", "the name of a work"),
    ("src/script/language/engine.rs", SLEEP, "REFUSED_", "a function of the engine"),
    ("src/script/language/syntax.rs", SLEEP, "\"sleep\" =>", "a function of the engine"),
];

const SLEEP: &str = "wake|wakes|woken|sleep|sleeps";

#[test]
fn no_text_has_a_phrase_that_the_trade_does_not_use() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut found = String::new();
    for path in files(root) {
        let name = path.strip_prefix(root).unwrap_or(&path).display().to_string();
        let text = std::fs::read_to_string(&path).expect("a text");
        let lines: Vec<&str> = text.lines().collect();
        for passage in passages(&name, &text) {
            let words = words(&passage);
            for (not, but) in PHRASES {
                for line in places(not, &words) {
                    let text = lines.get(line - 1).unwrap_or(&"").trim();
                    let allowed = |(file, phrase, part, _): &(&str, &str, &str, &str)| {
                        *file == name && (phrase.is_empty() || phrase == not) && text.contains(part)
                    };
                    if !ALLOWED.iter().any(allowed) {
                        let _ = writeln!(found, "{name}:{line}: {text}\n  not \"{not}\", but: {but}");
                    }
                }
            }
        }
    }
    assert!(found.is_empty(), "{found}");
}

/// A piece of text with the line on which it begins.
struct Passage {
    line: usize,
    text: String,
}

/// Every file that has texts for users.
fn files(root: &Path) -> Vec<PathBuf> {
    let mut found = vec![root.join("README.md"), root.join("NOTICE")];
    let mut folders = vec![(root.join("src"), "rs"), (root.join("scripts"), "rhai"), (root.join("docs"), "md")];
    while let Some((folder, ending)) = folders.pop() {
        for entry in std::fs::read_dir(&folder).expect("a folder").map(|entry| entry.expect("an entry").path()) {
            let name = entry.file_name().and_then(|name| name.to_str()).unwrap_or("").to_string();
            if entry.is_dir() && name != "licenses" {
                folders.push((entry, ending));
            } else if entry.extension().is_some_and(|found| found == ending) && !OUTSIDE.contains(&name.as_str()) {
                found.push(entry);
            }
        }
    }
    found.sort();
    found
}

/// The reference is made of the texts in `src`, and the list of crates of what crates say; the others are tests.
const OUTSIDE: [&str; 4] = ["reference.md", "third-party.md", "tests.rs", "test_parts.rs"];

fn passages(name: &str, text: &str) -> Vec<Passage> {
    if name.ends_with(".rs") { rust_passages(text) } else { vec![Passage { line: 1, text: text.to_string() }] }
}

/// String literals and comments, without the modules of tests.
fn rust_passages(source: &str) -> Vec<Passage> {
    let source = source.split("\n#[cfg(test)]\nmod ").next().unwrap_or(source);
    let mut found = Vec::new();
    let mut rest = source;
    let line_of = |rest: &str| source[..source.len() - rest.len()].matches('\n').count() + 1;
    while let Some(start) = rest.find(['"', '\'', '/', 'r']) {
        let before = rest[..start].chars().next_back();
        rest = &rest[start..];
        let raw = rest.strip_prefix('r').map(|after| after.len() - after.trim_start_matches('#').len());
        if rest.starts_with("//") {
            // The lines of a comment are one passage.
            let mut passage = Passage { line: line_of(rest), text: String::new() };
            let mut next = Some(rest);
            while let Some(comment) = next {
                let (line, after) = comment.split_at(comment.find('\n').unwrap_or(comment.len()));
                passage.text.push_str(line.trim_start_matches(['/', '!']));
                passage.text.push('\n');
                rest = after;
                next =
                    after.strip_prefix('\n').map(|after| after.trim_start_matches(' ')).filter(|after| after.starts_with("//"));
            }
            found.push(passage);
        } else if let Some(text) = rest.strip_prefix('"') {
            let mut escaped = false;
            let end = text.find(|letter: char| {
                let ends = letter == '"' && !escaped;
                escaped = letter == '\\' && !escaped;
                ends
            });
            let (inside, after) = text.split_at(end.unwrap_or(text.len()));
            found.push(Passage { line: line_of(rest), text: inside.replace("\\n", "\n").replace('\\', " ") });
            rest = after.get(1..).unwrap_or("");
        } else if let Some(hashes) =
            raw.filter(|hashes| rest[1 + hashes..].starts_with('"') && !before.is_some_and(char::is_alphanumeric))
        {
            let text = &rest[hashes + 2..];
            let mark = format!("\"{}", "#".repeat(hashes));
            let end = text.find(&mark).unwrap_or(text.len());
            found.push(Passage { line: line_of(rest), text: text[..end].to_string() });
            rest = text.get(end + mark.len()..).unwrap_or("");
        } else if rest.starts_with('\'') {
            // A letter such as '"' or '\'' is skipped; a lifetime has no second quote near.
            let letter = ['\\'].iter().any(|slash| rest[1..].starts_with(*slash));
            let quote = rest[1..].char_indices().nth(1 + usize::from(letter)).filter(|(_, next)| *next == '\'');
            rest = quote.map_or(&rest[1..], |(at, _)| &rest[at + 2..]);
        } else {
            rest = &rest[1..];
        }
    }
    found
}

/// The words of a passage with their lines; punctuation is a word that no phrase has.
fn words(passage: &Passage) -> Vec<(String, usize)> {
    let mut found: Vec<(String, usize)> = Vec::new();
    let mut line = passage.line;
    let mut word = String::new();
    for letter in passage.text.chars().chain([' ']) {
        if letter.is_alphanumeric() || matches!(letter, '_' | '\'' | '-') {
            word.extend(letter.to_lowercase());
            continue;
        }
        if letter == '(' {
            word.push('(');
        }
        let bare = word.trim_matches('\'');
        if !bare.is_empty() {
            found.push((bare.to_string(), line));
        }
        word.clear();
        if matches!(letter, '.' | ',' | ';' | ':' | '|' | '"') {
            found.push((letter.to_string(), line));
        }
        line += usize::from(letter == '\n');
    }
    found
}

/// The lines on which a phrase begins.
fn places(phrase: &str, words: &[(String, usize)]) -> Vec<usize> {
    let wanted: Vec<Vec<&str>> = phrase.split(' ').map(|word| word.split('|').collect()).collect();
    let fits = |choices: &[&str], word: &str| {
        choices.iter().any(|choice| match choice.strip_suffix('*') {
            Some(stem) => word.starts_with(stem),
            None if choice.ends_with('(') => word == *choice,
            None => word.trim_end_matches('(') == *choice,
        })
    };
    let begins =
        words.windows(wanted.len()).filter(|row| row.iter().zip(&wanted).all(|((word, _), choices)| fits(choices, word)));
    begins.map(|row| row[0].1).collect()
}

#[test]
fn phrases_are_found_in_texts_and_not_in_code() {
    let source = "//! A word of the street.\n\n/// Along the\n/// street.\nfn f() { g(\"the\n  street\"); let the_street = '\"'; } // the street\n\
                  #[cfg(test)]\nmod tests {\n \"the street\" }\n";
    let mut lines: Vec<usize> =
        passages("a.rs", source).iter().flat_map(|passage| places("the street", &words(passage))).collect();
    lines.sort_unstable();
    assert_eq!(lines, [1, 3, 5, 6]);
    let text = Passage { line: 7, text: "is shut-off, colourful. The\nroad; so,\nmany knock(1) but(2)".to_string() };
    let count = |phrase: &str| places(phrase, &words(&text)).len();
    assert_eq!(["shut", "colour*", "the road", "so many", "knock", "but", "but("].map(count), [0, 1, 1, 0, 1, 1, 1]);
}
