//! What a statement shows, as nodes: tables, figures, findings, texts and errors.

use super::node::{Node, element, text};
use super::pictures;
use super::prose::lines;
use crate::files::Folder;
use crate::findings::{FindingGroup, Level, NOTHING};
use crate::notebook::workbook::{Statement, StatementOutcome};
use crate::quantity::UnitSystem;
use crate::report::FindingList;
use crate::script::Diagnostic;
use crate::script::diagnostic::Color;
use crate::script::present::Shown;
use crate::table::{ColumnText, Table};
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};

/// A longer table is folded to this many rows until somebody asks for all.
const FOLDED_ROWS: usize = 20;

/// Everything that a statement shows, its error and the reason it did not run included.
pub fn outputs(statement: &Statement, folder: &Folder, name: &str) -> Vec<Node> {
    let StatementOutcome { shown, error, skipped, units, .. } = &statement.result;
    let mut nodes: Vec<Node> =
        shown.iter().enumerate().flat_map(|(index, one)| output(one, *units, folder, &format!("{name}-{}", index + 1))).collect();
    nodes.extend(error.as_ref().map(failure));
    nodes.extend(skipped.as_ref().map(|reason| {
        let line = format!("Line {} did not run: {reason}.", statement.lines.0);
        element("p", "skipped", vec![text(line)])
    }));
    nodes
}

fn output(shown: &Shown, units: UnitSystem, folder: &Folder, name: &str) -> Vec<Node> {
    match shown {
        Shown::Text(content) => vec![lines(content)],
        Shown::Table(content) => vec![table(content, units, name)],
        Shown::Findings(list) => findings(list, units),
        Shown::Figure(drawing) => vec![pictures::drawing(drawing, None)],
        Shown::Saved(file) => vec![saved(file, folder)],
    }
}

fn saved(file: &str, folder: &Folder) -> Node {
    let said = || element("p", "saved", vec![text(format!("saved {file}"))]);
    if file.ends_with(".svg")
        && let Ok(drawing) = folder.read_text(file)
    {
        return pictures::drawing(&drawing, Some(file));
    }
    if file.ends_with(".png")
        && let Ok(bytes) = folder.read(file)
    {
        return pictures::picture("image/png", &bytes, file);
    }
    said()
}

/// A table that sorts by its headings, folds when long, and can be taken along as CSV.
fn table(table: &Table, units: UnitSystem, name: &str) -> Node {
    let columns = match table.texts(units) {
        Ok(columns) => columns,
        Err(error) => return lines(&error.to_string()),
    };
    let heads = columns.iter().map(head).collect();
    let row = |row: usize| {
        let cell = |column: &ColumnText| {
            let cell = &column.cells[row];
            // Texts may break, numbers must not.
            let cell = if column.numeric {
                cell.replace(' ', "\u{a0}")
            } else {
                cell.replace('_', "_\u{200b}").replace('.', ".\u{200b}")
            };
            element("td", if column.numeric { "number" } else { "" }, vec![text(cell)])
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
    if let Ok(csv) = table.to_csv(units) {
        let link = element("a", "", vec![text("download as CSV")])
            .with("download", format!("{name}.csv"))
            .with("href", format!("data:text/csv;charset=utf-8,{}", percent(&csv)));
        foot.push(link);
    }
    // A wide table scrolls by itself; with a tab stop, by the keyboard too.
    let scroll = element("div", "scroll", vec![grid]).with("tabindex", "0").with("role", "group").with("aria-label", "table");
    element("div", "table", vec![scroll, element("p", "below", foot)])
}

fn head(column: &ColumnText) -> Node {
    let mut label = vec![text(column.name.replace('.', ".\u{200b}"))];
    if let Some(unit) = &column.unit {
        label.push(element("span", "unit", vec![text(unit.as_str())]));
    }
    let button = element("button", "", label).with("type", "button").with("title", "sort by this column");
    element("th", if column.numeric { "number" } else { "" }, vec![button]).with("scope", "col")
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
    let more = format!("{} Source: {}.", sentence(&group.why(units)), group.source().words());
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
    let stop = if words.ends_with(['.', '!', '?']) { "" } else { "." };
    format!("{first}{}{stop}", letters.as_str())
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
