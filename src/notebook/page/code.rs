//! Code under a line that folds it, highlighted.

use super::node::{Node, element, text};
use crate::notebook::cells::Cell;
use crate::script::highlight::{Role, roles};

/// Whether code is open at first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum CodeShown {
    /// It is open, and can be folded.
    #[default]
    Open,
    /// It is folded, and can be opened.
    Folded,
    /// It is left out.
    Out,
}

/// The code of a cell; nothing where there is none, or where it is left out.
pub fn code(cell: &Cell, shown: CodeShown) -> Option<Node> {
    if cell.code.is_empty() || shown == CodeShown::Out {
        return None;
    }
    let mut rows = vec![Vec::new()];
    for (role, range) in roles(&cell.code) {
        for token in cell.code[range].split_inclusive('\n') {
            rows.last_mut().expect("there is a first row").push(highlighted(role, token));
            if token.ends_with('\n') {
                rows.push(Vec::new());
            }
        }
    }
    // A row for each line, so that the rest of a line that is broken is indented below its beginning.
    let rows = rows.into_iter().map(|row| element("span", "row", row)).collect();
    let lines = cell.code.matches('\n').count() + 1;
    let first = cell.lines.1 + 1 - lines.min(cell.lines.1);
    let label = if lines == 1 { format!("line {first}") } else { format!("lines {first} to {}", cell.lines.1) };
    let script = element("pre", "script", vec![element("code", "", rows)]);
    let folded = element("details", "code", vec![element("summary", "", vec![text(label)]), script]);
    Some(if shown == CodeShown::Open { folded.with("open", "") } else { folded })
}

fn highlighted(role: Role, token: &str) -> Node {
    let part = text(token);
    match role {
        Role::Comment => element("span", "c", vec![part]),
        Role::Text => element("span", "s", vec![part]),
        Role::Number => element("span", "n", vec![part]),
        Role::Unit => element("span", "u", vec![part]),
        Role::Keyword => element("span", "k", vec![part]),
        Role::Call => element("span", "f", vec![part]),
        Role::Plain => part,
    }
}
