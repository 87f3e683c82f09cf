//! What a statement shows, as nodes: tables, figures, findings, texts and errors.

use super::node::{Node, element, text};
use super::pictures::{self, Beside};
use super::prose::lines;
use super::rules::Use;
use super::values::values;
use crate::figure::{Drawn, Glyphs, NARROW};
use crate::files::Folder;
use crate::findings::{FindingGroup, Level, NOTHING};
use crate::lines::as_sentence;
use crate::notebook::workbook::{Statement, StatementOutcome};
use crate::quantity::UnitSystem;
use crate::report::FindingList;
use crate::script::Diagnostic;
use crate::script::diagnostic::Color;
use crate::script::present::Shown;
use crate::table::{ColumnText, Table};
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};

/// Below this the live page has its tables.
pub const TABLES: &str = "tables/";

/// A longer table is folded to this many rows until somebody asks for all.
const FOLDED_ROWS: usize = 20;

/// What of a cell is kept beside its markup.
#[derive(Clone, Debug, Default)]
pub struct Kept {
    /// The characters of its drawings.
    pub glyphs: Glyphs,
    /// Its tables on the live page, by name: their texts to take along are written when somebody asks for them.
    pub tables: Vec<(String, Table, UnitSystem)>,
}

/// Everything that a statement shows, its error and the reason it did not run included.
pub fn outputs(statement: &Statement, used: Use, folder: &Folder, name: &str, kept: &mut Kept) -> Vec<Node> {
    let StatementOutcome { shown, error, skipped, units, .. } = &statement.result;
    let mut nodes: Vec<Node> = shown
        .iter()
        .enumerate()
        .flat_map(|(index, one)| output(one, used, *units, folder, &format!("{name}-{}", index + 1), kept))
        .collect();
    nodes.extend(error.as_ref().map(failure));
    nodes.extend(skipped.as_ref().map(|reason| {
        let line = format!("Line {} did not run: {reason}.", statement.lines.0);
        element("p", "skipped", vec![text(line)])
    }));
    nodes
}

fn output(shown: &Shown, used: Use, units: UnitSystem, folder: &Folder, name: &str, kept: &mut Kept) -> Vec<Node> {
    match shown {
        Shown::Text(content) => vec![lines(content)],
        Shown::Table(content) => vec![table(content, units, used, name, kept)],
        Shown::Findings(list) => findings(list, units),
        Shown::Figure(drawn) => {
            vec![pictures::drawing(&drawn.svg_without_fonts(), &beside(Some(drawn), used), None, &mut kept.glyphs)]
        }
        Shown::Saved { file, drawn } => vec![saved(file, drawn.as_deref(), used, folder, &mut kept.glyphs)],
        Shown::Named { name, value } => {
            let name = element("span", "name", vec![text(format!("{name}: "))]);
            vec![element("p", "answer", vec![name, element("strong", "", vec![text(value.as_str())])])]
        }
    }
}

/// A result with the name under which a page shows it first.
#[derive(Clone, Debug, PartialEq)]
pub struct NamedResult {
    pub name: String,
    pub value: String,
    /// True for one that the study names as an answer.
    pub answer: bool,
}

/// Characters of a value that has a name and is short enough for a card.
const LONGEST_VALUE: usize = 40;

/// The named results of statements: what is said with `answer`, and short values of statements that are a name alone.
pub fn named_results(source: &str, statements: &[&Statement]) -> Vec<NamedResult> {
    let of = |statement: &&Statement| {
        let said = source[statement.range.clone()].trim();
        let is_name = said.starts_with(|c: char| c.is_alphabetic()) && said.chars().all(|c| c.is_alphanumeric() || c == '_');
        match statement.result.shown.as_slice() {
            [Shown::Named { name, value }] => Some(NamedResult { name: name.clone(), value: value.clone(), answer: true }),
            [Shown::Text(value)] if is_name && !value.contains('\n') && value.chars().count() <= LONGEST_VALUE => {
                Some(NamedResult { name: said.replace('_', " "), value: value.trim_matches('"').into(), answer: false })
            }
            _ => None,
        }
    };
    statements.iter().filter_map(of).collect()
}

/// What a page has of a drawing beside it.
fn beside(drawn: Option<&Drawn>, used: Use) -> Beside {
    let Some(drawn) = drawn else { return Beside::default() };
    // The live page is for this machine, which is no phone.
    let narrow = if used == Use::Live { None } else { drawn.graphic().narrow() };
    let narrow = narrow.and_then(|narrow| narrow.drawn().ok());
    let is_long = narrow.as_ref().is_some_and(|narrow| narrow.size().0 > NARROW);
    Beside { values: values(drawn, narrow.as_ref()), is_long, narrow: narrow.map(|narrow| narrow.svg_without_fonts()) }
}

fn saved(file: &str, drawn: Option<&Drawn>, used: Use, folder: &Folder, glyphs: &mut Glyphs) -> Node {
    let said = || element("p", "saved", vec![text(format!("saved {file}"))]);
    let beside = &beside(drawn, used);
    // A document is no picture that a page shows; what it shows is drawn.
    if file.ends_with(".pdf")
        && let Some(drawn) = drawn
    {
        return pictures::drawing(&drawn.svg_without_fonts(), beside, Some(file), glyphs);
    }
    if file.ends_with(".svg")
        && let Ok(drawing) = folder.read_text(file)
    {
        return pictures::drawing(&drawing, beside, Some(file), glyphs);
    }
    if file.ends_with(".png")
        && let Ok(bytes) = folder.read(file)
    {
        return pictures::picture("image/png", &bytes, beside, file, glyphs);
    }
    said()
}

/// A table that sorts by its headings, folds when long, and can be taken along as CSV.
fn table(table: &Table, units: UnitSystem, used: Use, name: &str, kept: &mut Kept) -> Node {
    let columns = match table.texts(units) {
        Ok(columns) => columns,
        Err(error) => return lines(&error.to_string()),
    };
    let heads = columns.iter().map(head).collect();
    let row = |row: usize| {
        let cell = |column: &ColumnText| {
            let cell = &column.cells[row];
            // Texts may break, numbers must not.
            let parts = if column.numeric { vec![text(cell.replace(' ', "\u{a0}"))] } else { breakable(cell) };
            element("td", if column.numeric { "number" } else { class_of(cell) }, parts)
        };
        element("tr", "", columns.iter().map(cell).collect())
    };
    let body = element("tbody", "", (0..table.rows()).map(row).collect());
    let class = if table.rows() > FOLDED_ROWS { "long" } else { "" };
    let grid = element("table", class, vec![element("thead", "", vec![element("tr", "", heads)]), body]);
    let count = match table.rows() {
        1 => "1 row".to_string(),
        rows => format!("{rows} rows"),
    };
    let mut foot = vec![element("span", "count", vec![text(count)])];
    let link = |to: String| {
        let link = element("a", "", vec![text("download as CSV")]);
        link.with("download", format!("{name}.csv")).with("href", to)
    };
    if used == Use::Live {
        kept.tables.push((name.to_string(), table.clone(), units));
        foot.push(link(format!("{TABLES}{}.csv", percent(name))));
    } else if let Ok(csv) = table.to_csv(units) {
        foot.push(link(format!("data:text/csv;charset=utf-8,{}", percent(&csv))));
    }
    // A wide table scrolls by itself; with a tab stop, by the keyboard too.
    let scroll = element("div", "scroll", vec![grid]).with("tabindex", "0").with("role", "group").with("aria-label", "table");
    element("div", "table", vec![scroll, element("p", "below", foot)])
}

/// A day of the calendar is not broken at its hyphens.
fn class_of(cell: &str) -> &'static str {
    let is_day = cell.len() <= 16 && cell.starts_with(|c: char| c.is_ascii_digit()) && cell.matches('-').count() == 2;
    if is_day { "day" } else { "" }
}

fn head(column: &ColumnText) -> Node {
    let mut label = breakable(&column.name);
    if let Some(unit) = &column.unit {
        label.push(element("span", "unit", vec![text(unit.as_str())]));
    }
    let button = element("button", "", label).with("type", "button").with("title", "sort by this column");
    element("th", if column.numeric { "number" } else { "" }, vec![button]).with("scope", "col")
}

/// A name that may break after its points and underscores; whoever copies it gets the name alone.
fn breakable(name: &str) -> Vec<Node> {
    let mut parts = Vec::new();
    for part in name.split_inclusive(['.', '_']) {
        if !parts.is_empty() {
            parts.push(element("wbr", "", vec![]));
        }
        parts.push(text(part));
    }
    parts
}

/// What does not stand for itself in a data link.
const WRITTEN_AS_NUMBERS: &AsciiSet =
    &NON_ALPHANUMERIC.remove(b'-').remove(b'_').remove(b'.').remove(b'~').remove(b',').remove(b'(').remove(b')');

/// Bytes that a data link must not hold are written as percent and two digits (RFC 3986).
pub fn percent(content: &str) -> String {
    utf8_percent_encode(content, WRITTEN_AS_NUMBERS).to_string()
}

fn findings(found: &FindingList, units: UnitSystem) -> Vec<Node> {
    let unmet = found.unmet().map(|words| element("p", "unmet", vec![text(words)]));
    if found.list().is_empty() {
        return [element("p", "well", vec![text(NOTHING)])].into_iter().chain(unmet).collect();
    }
    let items = found.list().iter().map(|group| finding(group, units)).collect();
    [element("ul", "findings", items)].into_iter().chain(unmet).collect()
}

/// A finding as an item of a list; an accepted one has its reason in the place of what to do.
fn finding(group: &FindingGroup, units: UnitSystem) -> Node {
    let level = match group.level() {
        Level::Danger => "danger",
        Level::Warning => "warning",
        Level::Note => "note",
    };
    let more = format!("{} Source: {}.", sentence(&group.why(units)), group.source(units));
    let (label, last) = match group.accepted() {
        None => ("What to do: ", group.action(units)),
        Some(reason) => ("Accepted: ", reason.to_string()),
    };
    let children = vec![
        element("strong", "", vec![text(format!("{}: ", group.heading()))]),
        text(sentence(&group.what(units))),
        element("p", "", vec![text(more)]),
        element("p", "", vec![element("em", "", vec![text(label)]), text(sentence(&last))]),
    ];
    let class = if group.accepted().is_some() { format!("{level} accepted") } else { level.to_string() };
    element("li", &class, children)
}

/// A sentence with its capital and its full stop.
fn sentence(words: &str) -> String {
    let mut letters = words.chars();
    let first: String = letters.next().map(|c| c.to_uppercase().collect()).unwrap_or_default();
    as_sentence(&format!("{first}{}", letters.as_str()))
}

fn failure(error: &Diagnostic) -> Node {
    let place = error.place.as_ref().map_or(String::new(), |place| format!(" in line {}", place.line));
    let title = element("strong", "", vec![text(format!("Error{place}: ")), text(error.message.as_str())]);
    let mut children = vec![element("p", "", vec![title])];
    if error.place.is_some() {
        children.push(element("pre", "text", vec![text(error.render(Color::No))]));
    } else if let Some(hint) = &error.hint {
        children.push(element("p", "", vec![text(hint.as_str())]));
    }
    element("div", "failure", children).with("role", "alert")
}
