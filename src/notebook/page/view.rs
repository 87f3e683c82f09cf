//! The cells of a page, each in the parts that the live page exchanges; one that did not change is not made again.

use super::code::{CodeShown, code};
use super::footer::in_time;
use super::node::{Node, element, text};
use super::outputs::Kept;
use super::pieces::{self, Piece};
use super::prose::{self, Heading};
use super::rules::Use;
use super::{outputs, panel};
use crate::notebook::cells::{Cell, cells};
use crate::notebook::workbook::{Statement, Workbook};
use crate::script::present::Shown;
use std::path::Path;
use std::sync::Arc;
use std::time::SystemTime;

/// A cell that took less says nothing of it, s.
const WORTH_TELLING_S: f64 = 0.1;

/// A cell as the page shows it, in the parts that the live page exchanges.
#[derive(Clone, Debug)]
pub struct CellView {
    /// The prose before the code, as HTML, without the title of the study.
    pub prose: String,
    /// The code with its colors, as HTML.
    pub code: String,
    /// How the controls are set that the cell asks for.
    pub settings: String,
    /// What the cell shows.
    pub body: String,
    /// What the body is made of, on the live page.
    pub(super) pieces: Vec<Piece>,
    /// Its text in the file, where it can be changed.
    pub text: String,
    /// The title of the study, where the cell begins with it, as HTML.
    pub(super) title: String,
    pub(super) headings: Vec<Heading>,
    pub(super) results: Vec<outputs::NamedResult>,
    pub(super) took_s: f64,
    /// What is kept beside its markup.
    pub(super) kept: Kept,
    made_of: Made,
}

/// What a view was made of: while it is the same, the view is.
#[derive(Clone, Debug, PartialEq)]
struct Made {
    cell: Cell,
    used: Use,
    code: CodeShown,
    /// Runs and first lines of its statements.
    statements: Vec<(usize, usize)>,
    /// The files that it shows.
    files: Vec<Option<(SystemTime, u64)>>,
    /// Names of controls whose order decides where a value leads to.
    controls: Vec<String>,
}

impl CellView {
    /// True for one that shows the same on an open page.
    pub fn looks_like(&self, other: &CellView) -> bool {
        fn parts(view: &CellView) -> [&str; 5] {
            [&view.prose, &view.code, &view.settings, &view.body, &view.text]
        }
        parts(self) == parts(other)
    }
}

/// The number of the first line of each cell, that of the first one zero: what stands before it belongs to it.
pub fn first_lines(source: &str) -> Vec<usize> {
    cells(source).iter().enumerate().map(|(index, cell)| if index == 0 { 0 } else { cell.lines.0 }).collect()
}

/// All cells of a workbook as they stand now; of those that stood before, the ones that did not change are taken over.
pub fn views(book: &Workbook, used: Use, shown: CodeShown, before: &[Arc<CellView>]) -> Vec<Arc<CellView>> {
    let found = cells(book.source());
    let starts: Vec<usize> = found.iter().map(|cell| cell.lines.0).collect();
    let names: Vec<String> = book.controls().iter().map(|control| control.name.clone()).collect();
    let view = |(index, cell): (usize, &Cell)| {
        let next = starts.get(index + 1).copied().unwrap_or(usize::MAX);
        // What stands before the first cell belongs to it.
        let first = if index == 0 { 0 } else { cell.lines.0 };
        let statements: Vec<&Statement> =
            book.statements().iter().filter(|statement| (first..next).contains(&statement.lines.0)).collect();
        let root = book.context().folder.root();
        let own: Vec<String> = statements.iter().flat_map(|one| &one.result.controls).map(|one| one.name.clone()).collect();
        let made_of = Made {
            cell: cell.clone(),
            used,
            code: shown,
            statements: statements.iter().map(|statement| (statement.run, statement.lines.0)).collect(),
            files: statements.iter().flat_map(|statement| stamps(statement, root)).collect(),
            controls: if own.is_empty() { own } else { names.clone() },
        };
        match before.get(index).filter(|view| view.made_of == made_of) {
            Some(view) => view.clone(),
            None => Arc::new(cell_view(book, cell, &statements, index, &names, made_of, before.get(index))),
        }
    };
    found.iter().enumerate().map(view).collect()
}

/// When the files were written that a statement shows.
fn stamps(statement: &Statement, root: &Path) -> Vec<Option<(SystemTime, u64)>> {
    let stamp = |file: &String| {
        let data = std::fs::metadata(root.join(file)).ok()?;
        Some((data.modified().ok()?, data.len()))
    };
    let file = |shown: &Shown| if let Shown::Saved { file, .. } = shown { Some(stamp(file)) } else { None };
    statement.result.shown.iter().filter_map(file).collect()
}

/// What the text of a cell shows, which stays while its statements run again.
#[derive(Clone, Debug, PartialEq)]
struct Written {
    headings: Vec<Heading>,
    title: String,
    prose: String,
    code: String,
}

impl Written {
    fn of(cell: &Cell, index: usize, shown: CodeShown) -> Written {
        let headings = prose::headings(&cell.prose, &format!("part-{}", index + 1));
        let prose = if cell.prose.is_empty() { String::new() } else { prose::prose(&cell.prose, &headings).write() };
        // The title stands above all of the page, its answers too.
        let (title, prose) = if index == 0 { prose::titled(prose) } else { (String::new(), prose) };
        Written { headings, title, prose, code: code(cell, shown).map_or(String::new(), |code| code.write()) }
    }

    fn in_view(view: &CellView) -> Written {
        let CellView { headings, title, prose, code, .. } = view;
        Written { headings: headings.clone(), title: title.clone(), prose: prose.clone(), code: code.clone() }
    }
}

fn cell_view(
    book: &Workbook,
    cell: &Cell,
    statements: &[&Statement],
    index: usize,
    names: &[String],
    made_of: Made,
    before: Option<&Arc<CellView>>,
) -> CellView {
    let (used, shown) = (made_of.used, made_of.code);
    let stays = before.filter(|view| view.made_of.cell == *cell && view.made_of.code == shown);
    let Written { headings, title, prose, code } =
        stays.map_or_else(|| Written::of(cell, index, shown), |view| Written::in_view(view));
    let stem = book.name().trim_end_matches(".rhai");
    let took_s: f64 = statements.iter().map(|statement| statement.result.took.as_secs_f64()).sum();
    let mut kept = Kept::default();
    let show = |(at, statement): (usize, &&Statement)| {
        outputs::outputs(statement, used, &book.context().folder, &format!("{stem}-{}-{}", index + 1, at + 1), &mut kept)
    };
    let mut body: Vec<Node> = statements.iter().enumerate().flat_map(show).collect();
    if used != Use::Live && took_s >= WORTH_TELLING_S {
        body.push(element("p", "took", vec![text(format!("took {}", in_time(took_s)))]));
    }
    let setting = |control: &crate::script::controls::Control| {
        let at = names.iter().position(|name| *name == control.name).filter(|_| used != Use::File);
        panel::in_a_line(control, at).write()
    };
    let (body, pieces) = pieces::body(&body, used);
    CellView {
        prose,
        title,
        code,
        settings: statements.iter().flat_map(|statement| &statement.result.controls).map(setting).collect(),
        body,
        pieces,
        text: if used == Use::Live { book.source()[cell.range.clone()].to_string() } else { String::new() },
        results: outputs::named_results(book.source(), statements),
        headings,
        took_s,
        kept,
        made_of,
    }
}
