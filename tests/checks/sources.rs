//! Each row of the check values names where it comes from: a document that can be found, or one of a few fixed phrases.
//!
//! A file without a column `source` names the source of all of its rows in a first line, `# source: ...`.

use hosewright::findings::{Source, catalog};
use std::fs;
use std::path::{Path, PathBuf};

/// Phrases for what has no document, each with the kind of its rows. A detail may follow behind a colon.
const PHRASES: [(&str, &str); 4] = [
    ("common practice, no source", "common practice"),
    ("from memory, not looked up", "from memory"),
    ("definition", "definition"),
    ("exact arithmetic", "arithmetic"),
];

/// Words by which nobody finds a document; written small, as in running text, or large at its beginning.
const VAGUE: [&str; 16] = [
    "article",
    "articles",
    "blog",
    "column",
    "columnist",
    "guidance",
    "page",
    "pages",
    "site",
    "slides",
    "somewhere",
    "textbook",
    "textbooks",
    "undated",
    "web",
    "website",
];

/// Words of titles, which say nothing when they stand outside of one.
const VAGUE_OUTSIDE_TITLES: [&str; 3] = ["handbook", "journal", "manual"];

/// A word that leads to no document.
fn vague_word(text: &str) -> Option<&str> {
    let is_vague = |word: &&str| VAGUE.contains(&word.to_lowercase().as_str()) || VAGUE_OUTSIDE_TITLES.contains(word);
    text.split(|letter: char| !letter.is_alphanumeric()).find(is_vague)
}

/// The kind that rows of this source have, or why it is none.
fn kind_of_source(source: &str) -> Result<&'static str, String> {
    if let Some(word) = vague_word(source) {
        return Err(format!("'{word}' leads to no document"));
    }
    let behind = |phrase: &str| source.strip_prefix(phrase).is_some_and(|rest| rest.is_empty() || rest.starts_with(": "));
    if let Some((_, kind)) = PHRASES.iter().find(|(phrase, _)| behind(phrase)) {
        return Ok(kind);
    }
    if let Some(library) = source.strip_prefix("computed with ") {
        return if is_library(library) { Ok("library") } else { Err("a library and its version are missing".into()) };
    }
    if has_year(source) || has_number(source) {
        return Ok("published");
    }
    Err("neither a year nor the number of a document, nor one of the fixed phrases".into())
}

/// A name and a version: `numpy 2.4.6`.
fn is_library(text: &str) -> bool {
    let mut words = text.split([' ', ':']);
    let (name, version) = (words.next().unwrap_or(""), words.next().unwrap_or(""));
    let parts: Vec<&str> = version.split('.').collect();
    name.starts_with(|letter: char| letter.is_ascii_alphabetic()) && parts.len() > 1 && parts.iter().all(|part| is_count(part))
}

fn is_count(text: &str) -> bool {
    !text.is_empty() && text.chars().all(|letter| letter.is_ascii_digit())
}

/// A year since printing, in the words of a citation: `(1942)`, `June 1996`.
fn has_year(source: &str) -> bool {
    let years = source.split(|letter: char| !letter.is_ascii_alphanumeric() && letter != '.');
    years.filter_map(|word| word.trim_end_matches('.').parse::<u32>().ok()).any(|year| (1500..2100).contains(&year))
}

/// The number of a standard, code or bulletin: `TP-410`, `P2903.3.1`, `EC 1369`, `Plumbing Code 608.2`, `part 906`.
fn has_number(source: &str) -> bool {
    let words: Vec<&str> = source.split([' ', ',', ';', ':', '(', ')']).filter(|word| !word.is_empty()).collect();
    let digits = |word: &str| word.chars().filter(char::is_ascii_digit).count();
    let is_capital = |letter: char| letter.is_ascii_uppercase();
    let stands_alone = |word: &&str| word.starts_with(is_capital) && digits(word) >= 3;
    let opens = |word: &str| {
        ["Code", "part", "Part"].contains(&word)
            || word.len() > 1 && word.chars().all(|letter| is_capital(letter) || letter == '/')
    };
    let is_numbered =
        |pair: &[&str]| opens(pair[0]) && pair[1].starts_with(|letter: char| letter.is_ascii_digit()) && digits(pair[1]) >= 3;
    words.iter().any(stands_alone) || words.windows(2).any(is_numbered)
}

fn files() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/checks");
    let entries = fs::read_dir(folder).expect("the folder of check values").map(|entry| entry.expect("an entry").path());
    let mut files: Vec<PathBuf> = entries.filter(|path| path.extension().is_some_and(|extension| extension == "csv")).collect();
    files.sort();
    files
}

/// What is wrong with the sources of a file, and how many rows it has.
fn doubts(name: &str, text: &str) -> (Vec<String>, usize) {
    let of_all = text.lines().next().and_then(|line| line.strip_prefix("# source: "));
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    let heads = reader.headers().expect("heads of columns").clone();
    let column = |name: &str| heads.iter().position(|head| head == name);
    let (source_at, kind_at) = (column("source"), column("kind"));
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.expect("a readable row")).collect();
    let judge = |row: &csv::StringRecord| {
        let source = source_at.map(|at| &row[at]).or(of_all).unwrap_or("");
        let doubt = match (kind_of_source(source), kind_at.map(|at| &row[at])) {
            (Err(doubt), _) => doubt,
            (Ok(kind), Some(said)) if kind != said => format!("the kind is '{said}', its source is that of '{kind}'"),
            _ => return None,
        };
        Some(format!("{name}: {}: {doubt}\n    source: {source}", &row[0]))
    };
    (rows.iter().filter_map(judge).collect(), rows.len())
}

#[test]
fn every_row_names_a_source_that_can_be_found_or_says_that_it_has_none() {
    let mut all = Vec::new();
    let mut count = 0;
    for path in files() {
        let text = fs::read_to_string(&path).expect("a readable file");
        let (found, rows) = doubts(&path.file_name().expect("a name").to_string_lossy(), &text);
        assert!(rows > 0, "{} has no rows", path.display());
        all.extend(found);
        count += rows;
    }
    assert!(all.is_empty(), "{} of {count} rows:\n{}", all.len(), all.join("\n"));
    assert!(count > 600, "{count} rows only");
}

#[test]
fn findings_name_a_document_or_say_that_it_was_not_looked_up() {
    let mut documents = 0;
    for entry in catalog::all() {
        let kind = match entry.source {
            Source::Published(_) => "published",
            Source::FromMemory(_) => "from memory",
            Source::CommonPractice | Source::Physics => continue,
        };
        assert_eq!(kind_of_source(&entry.source.words()), Ok(kind), "{}: {}", entry.code, entry.source.words());
        documents += 1;
    }
    assert!(documents >= 5, "{documents} only");
}

/// The lines of comments in a folder of Rust files that name a source, with their place.
fn sources_in_comments(folder: &Path) -> Vec<String> {
    let mut found = Vec::new();
    for path in fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry").path()) {
        if path.is_dir() {
            found.extend(sources_in_comments(&path));
        } else if path.extension().is_some_and(|extension| extension == "rs") {
            let text = fs::read_to_string(&path).expect("a readable file");
            let comments = text.lines().filter(|line| line.trim_start().starts_with("//") && line.contains("Source: "));
            found.extend(comments.map(|line| format!("{}: {}", path.display(), line.trim())));
        }
    }
    found
}

#[test]
fn comments_that_name_a_source_use_no_vague_word() {
    let found = sources_in_comments(&Path::new(env!("CARGO_MANIFEST_DIR")).join("src"));
    assert!(found.len() > 30, "{} only", found.len());
    for line in found {
        let source = line.split("Source: ").nth(1).unwrap_or("");
        assert_eq!(vague_word(source), None, "{line}");
    }
}

#[test]
fn sources_have_the_kind_of_their_phrase() {
    for (source, kind) in [
        ("common practice, no source", "common practice"),
        ("common practice, no source: settings 20/40", "common practice"),
        ("from memory, not looked up: L. F. Moody (1944)", "from memory"),
        ("definition: gross depth = net depth / efficiency", "definition"),
        ("exact arithmetic", "arithmetic"),
        ("computed with numpy 2.4.6: exact sum", "library"),
        ("L. F. Moody, Friction Factors for Pipe Flow, Transactions of the ASME 66 (1944)", "published"),
        ("Uniform Plumbing Code 608.2", "published"),
        ("International Plumbing Code, appendix E, E103.1", "published"),
        ("Illinois Administrative Code, title 77, part 906", "published"),
        ("Estimating Water Flow Rates, EC 1369, Table 3", "published"),
        ("ISO 5167", "published"),
        ("DOE-HDBK-1012/3-92, Thermodynamics", "published"),
    ] {
        assert_eq!(kind_of_source(source), Ok(kind), "{source}");
    }
}

#[test]
fn sources_that_lead_nowhere_are_refused() {
    for source in [
        "",
        "common practice",
        "from memory",
        "definitions of the trade",
        "exact arithmetic, more or less",
        "computed with numpy",
        "computed with 2.4.6",
        "training slides (2003)",
        "a trade-journal column (2008)",
        "Engineering reference site, 4 psi",
        "fluid mechanics textbook, Table 8.2 (2002)",
        "course page 5.3",
        "pump handbook (1990)",
        "a lecture, gpm x ft / 3960 and 18e-6 K",
        "J. Doe, Pumps, 2nd edition, pp. 336-337",
    ] {
        assert!(kind_of_source(source).is_err(), "{source}: {:?}", kind_of_source(source));
    }
}

#[test]
fn a_row_whose_kind_is_not_that_of_its_source_is_reported() {
    let text = "case_id,kind,source\nA,published,ISO 5167\nB,published,definition\nC,library,\n";
    let (found, rows) = doubts("file", text);
    assert_eq!((found.len(), rows), (2, 3), "{found:?}");
    assert!(found[0].starts_with("file: B: the kind is 'published', its source is that of 'definition'"), "{found:?}");
    assert!(found[1].starts_with("file: C: neither a year"), "{found:?}");
    assert_eq!(doubts("file", "# source: common practice, no source\nterm,topic\nhose bib,supply\n"), (Vec::new(), 1));
    assert_eq!(doubts("file", "term,topic\nhose bib,supply\n").0.len(), 1);
}
