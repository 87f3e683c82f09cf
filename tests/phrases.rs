//! Texts are plain American English of the trade: the phrases of this list stand in no text that users read.
//!
//! Looked through are the string literals of the program (without its test modules), the documentation of public items, the documents, and
//! the studies. A phrase is a row of words; `a|b` is either word, and a star at the end of a word takes any ending. Words of a
//! phrase follow each other without a stop or a comma between them.

use std::fmt::Write;
use std::path::{Path, PathBuf};

/// A phrase that is not written, what is written instead, and how often it may still stand as it is: the number never grows.
struct Phrase {
    not: &'static str,
    but: &'static str,
    left: usize,
}

const fn phrase(not: &'static str, but: &'static str, left: usize) -> Phrase {
    Phrase { not, but, left }
}

const PHRASES: &[Phrase] = &[
    phrase("unless said|told|given", "default ...", 4),
    phrase("is|are|was|were|be|been told", "is reported, is described", 21),
    phrase("tell|tells|telling", "report, show, describe", 28),
    phrase("speak|speaks of|about|for", "describe", 1),
    phrase("the street|street's", "the main", 1),
    phrase("street pressure", "main pressure", 1),
    phrase("area|areas of words", "topics", 0),
    phrase("word|words of|for script|scripts|hosewright|shell|ours", "functions", 5),
    phrase("a|an|any|each|every|no|some|another word", "function, name", 30),
    phrase("number|numbers of a|the|its part|parts", "parameter", 1),
    phrase("signs", "characters", 1),
    phrase("cannot be told", "cannot be determined", 4),
    phrase("by|to chance", "random", 2),
    phrase("blow|blows|blew|blowing off", "relieves, opens", 0),
    phrase("careful practitioner*", "an experienced installer", 0),
    phrase("bought for", "never runs in this zone", 0),
    phrase("suck|sucks|sucked|sucking", "pulls below atmospheric pressure (backsiphonage)", 0),
    phrase("hang|hangs|hung|hanging on|together|from", "depends on, is connected", 1),
    phrase("fight|fights each", "conflict", 0),
    phrase("so many|much|far", "at most n, up to", 29),
    phrase("behind", "downstream of, after", 41),
    phrase("in front of", "upstream of, before", 3),
    phrase("shut|shuts|shutting", "closed", 7),
    phrase("feels|felt|feel", "reads", 1),
    phrase("stand|stands|standing at", "reads, is at", 5),
    phrase("wake|wakes|woken|sleep|sleeps", "starts unneeded, stays off", 2),
    phrase("road|roads", "method", 0),
    phrase("knob|knobs", "variable", 0),
    phrase("evenness", "uniformity", 0),
    phrase("grave|graver|gravest", "severe", 5),
    phrase("mend|mends|mended", "fix, correct", 0),
    phrase("slip|slips of", "mistake", 1),
    // American spelling.
    phrase("programme|programmes", "schedule", 0),
    phrase("fertilis*", "fertilizer", 0),
    phrase("litre|litres|millilitre*", "liter", 0),
    phrase("metre|metres|millimetre*|centimetre*|kilometre*", "meter", 0),
    phrase("colour*", "color", 24),
    phrase("neighbour*", "neighbor", 5),
    phrase("behaviour*", "behavior", 0),
    phrase("centre|centres|centred", "center", 0),
    phrase("grey", "gray", 0),
    phrase("licence|licences", "license", 0),
    phrase("catalogue|catalogues", "catalog", 0),
    phrase("judgement*", "judgment", 3),
    phrase("optimis*|minimis*|maximis*|organis*|recognis*|summaris*|normalis*|vis|visualis*|initialis*|generalis*", "-ize", 0),
    phrase("modelled|modelling|labelled|labelling|travelled|travelling|cancelled", "one l", 2),
    phrase("mould*|plough*|tyre|tyres|aluminium|sulphur", "American spelling", 0),
    // Names that scripts no longer have.
    phrase("but(", "with, replace", 0),
    phrase("climb|climbs", "uphill, downhill, elevation change", 0),
    phrase("draw_at|rise_at|speed_in", "open_by_hand, boost_at, velocity_in", 0),
    phrase("washer", "restrictor", 0),
    phrase("rough(|stretch(|cracking(", "roughness, compliance, cracking_pressure", 0),
    phrase("booster_by_three|run_out|dry_stop", "booster_from, max_flow, dry_run_cutoff", 0),
    phrase("rated_table|rated_pressure|needs_low|needs_high", "performance_table, range_low, range_high", 0),
    phrase("grade_chart", "pressure_profile_chart", 0),
    phrase("busiest_hour|on_fraction|shortest_rest", "peak_starts_per_hour, duty_cycle, shortest_off_time", 0),
    phrase("try_faults|time_to_fall|leak_from", "failure_study, leak_down_time, leak_from_decay", 0),
    phrase("openers", "remedies", 0),
    phrase("knock|knocks", "water_hammer", 2),
    phrase("low_quarter|on_bed|catch_test|time_for", "du, overspray, catch_cans, run_time_for", 0),
    phrase("draw_from|even_samples|trade_off|error_of", "resampled, sobol_samples, pareto, standard_error, chi_square", 0),
    phrase("head_rows|tail_rows|some_rows|renamed(|join_all", "first_rows, last_rows, sample_rows, rename, left_join", 0),
    phrase("find_help", "search_help", 0),
];

/// Files, or lines of files, where a phrase has its reason to stand.
const ALLOWED: &[(&str, &str, &str)] = &[
    // file, a part of the line (or nothing for the whole file), the reason
    ("src/nearest.rs", "", "names that somebody may still type, beside those that stand for them"),
    ("src/script/help/terms.rs", "", "terms of all countries, by which functions are searched"),
    ("NOTICE", "docs/licences", "the name of a folder"),
    ("src/quantity/unit.rs", "", "spellings of units that are read"),
];

#[test]
fn no_text_has_a_phrase_that_the_trade_does_not_use() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut found: Vec<Vec<String>> = PHRASES.iter().map(|_| Vec::new()).collect();
    for path in files(root) {
        let name = path.strip_prefix(root).unwrap_or(&path).display().to_string();
        let text = std::fs::read_to_string(&path).expect("a text");
        let lines: Vec<&str> = text.lines().collect();
        let allowed = |line: usize| {
            ALLOWED.iter().any(|(file, part, _)| *file == name && lines.get(line - 1).is_some_and(|text| text.contains(part)))
        };
        for passage in passages(&name, &text) {
            let words = words(&passage);
            for (phrase, found) in PHRASES.iter().zip(&mut found) {
                let places = places(phrase.not, &words).into_iter().filter(|line| !allowed(*line));
                found.extend(places.map(|line| format!("{name}:{line}: {}", lines.get(line - 1).unwrap_or(&"").trim())));
            }
        }
    }
    if std::env::var_os("HOSEWRIGHT_COUNT").is_some() {
        for (phrase, found) in PHRASES.iter().zip(&found) {
            println!("\n{} {} (at most {})\n  {}", found.len(), phrase.not, phrase.left, found.join("\n  "));
        }
    }
    let mut report = String::new();
    for (phrase, found) in PHRASES.iter().zip(&found).filter(|(phrase, found)| found.len() > phrase.left) {
        let _ = writeln!(
            report,
            "\"{}\" stands {} times, {} are left to replace by \"{}\":",
            phrase.not,
            found.len(),
            phrase.left,
            phrase.but
        );
        let _ = writeln!(report, "  {}", found.join("\n  "));
    }
    assert!(report.is_empty(), "{report}");
}

/// A stretch of text with the line on which it begins.
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
            if entry.is_dir() && name != "licences" {
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

/// String literals and documentation of public items, without the modules of tests.
fn rust_passages(source: &str) -> Vec<Passage> {
    let source = source.split("\n#[cfg(test)]\nmod ").next().unwrap_or(source);
    let mut found = documentation(source);
    let mut rest = source;
    let line_of = |rest: &str| source[..source.len() - rest.len()].matches('\n').count() + 1;
    while let Some(start) = rest.find(['"', '\'', '/', 'r']) {
        let before = rest[..start].chars().next_back();
        rest = &rest[start..];
        let raw = rest.strip_prefix('r').map(|after| after.len() - after.trim_start_matches('#').len());
        if let Some(text) = rest.strip_prefix("//") {
            rest = text.find('\n').map_or("", |end| &text[end..]);
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

/// The documentation of modules, of what is public, and of variants.
fn documentation(source: &str) -> Vec<Passage> {
    let lines: Vec<&str> = source.lines().map(str::trim_start).collect();
    let mut found = Vec::new();
    let mut block: Option<Passage> = None;
    for (index, line) in lines.iter().enumerate() {
        if let Some(text) = line.strip_prefix("///").or(line.strip_prefix("//!")) {
            let block = block.get_or_insert_with(|| Passage { line: index + 1, text: String::new() });
            block.text.push_str(text);
            block.text.push('\n');
            continue;
        }
        let of_module = index > 0 && lines[index - 1].starts_with("//!");
        let variant = line.starts_with(|first: char| first.is_ascii_uppercase());
        if line.starts_with("#[") {
            continue;
        }
        found.extend(block.take().filter(|_| of_module || variant || line.starts_with("pub ")));
    }
    found
}

/// The words of a passage with their lines; a stop, a comma or a colon is a word that no phrase has.
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
    let source = "//! A word of the street.\n\n/// Hidden street.\nfn f() { g(\"the\n  street\"); let the_street = '\"'; } // the street\n\
                  #[cfg(test)]\nmod tests {\n \"the street\" }\n";
    let lines: Vec<usize> = passages("a.rs", source).iter().flat_map(|passage| places("the street", &words(passage))).collect();
    assert_eq!(lines, [1, 4]);
    let text = Passage { line: 7, text: "is shut-off, colourful. The\nroad; so,\nmany knock(1) but(2)".to_string() };
    let count = |phrase: &str| places(phrase, &words(&text)).len();
    assert_eq!(["shut", "colour*", "the road", "so many", "knock", "but", "but("].map(count), [0, 1, 1, 0, 1, 1, 1]);
}
