//! A study as a page: one HTML text that needs nothing else, for a file or for the live server.
//!
//! - `node`: the tree that is written last
//! - `prose`, `outputs`, `pictures`: what stands in it
//! - `rules`: what a browser may do on it
//! - here: cells and the whole page

pub mod node;
mod outputs;
mod pictures;
mod prose;
mod rules;

pub use outputs::percent;
pub use rules::{Use, rules};

use super::cells::{Cell, cells};
use super::date::Moment;
use super::workbook::{Statement, Workbook};
use crate::findings::{Caution, CautionSet, ESTIMATES, FOLLOW, Subject};
use crate::quantity::{Quantity, UnitSystem};
use crate::script::highlight::{Role, roles};
use crate::script::sliders::Slider;
use node::{Node, element, text};
use prose::Heading;
use std::collections::BTreeSet;

/// A cell that took less says nothing of it, s.
const WORTH_TELLING_S: f64 = 0.1;

/// A cell as the page shows it, in the parts that the live page exchanges.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct CellView {
    /// The prose before the code, as HTML.
    pub prose: String,
    /// The code with its colors, as HTML.
    pub code: String,
    /// The controls; on the live page they are kept while `controls_key` stays the same.
    pub controls: String,
    /// Changes when the controls must be made anew.
    pub controls_key: String,
    /// What the cell shows.
    pub body: String,
    /// Where each slider stands, in words and as the number of its control.
    pub standing: Vec<(String, String, f64)>,
    #[serde(skip)]
    headings: Vec<Heading>,
    #[serde(skip)]
    took_s: f64,
}

/// All cells of a workbook as they stand now.
pub fn views(book: &Workbook, used: Use) -> Vec<CellView> {
    let found = cells(book.source());
    let starts: Vec<usize> = found.iter().map(|cell| cell.lines.0).collect();
    let stem = book.name().trim_end_matches(".rhai");
    let view = |(index, cell): (usize, &Cell)| {
        let next = starts.get(index + 1).copied().unwrap_or(usize::MAX);
        // What stands before the first cell belongs to it.
        let first = if index == 0 { 0 } else { cell.lines.0 };
        let statements: Vec<&Statement> =
            book.statements().iter().filter(|statement| (first..next).contains(&statement.lines.0)).collect();
        cell_view(cell, &statements, index, used, &|statement, number| {
            outputs::outputs(statement, &book.context().folder, &format!("{stem}-{number}"))
        })
    };
    found.iter().enumerate().map(view).collect()
}

fn cell_view(
    cell: &Cell,
    statements: &[&Statement],
    index: usize,
    used: Use,
    show: &dyn Fn(&Statement, String) -> Vec<Node>,
) -> CellView {
    let headings = prose::headings(&cell.prose, &format!("part-{}", index + 1));
    let sliders: Vec<&Slider> = statements.iter().flat_map(|statement| &statement.result.sliders).collect();
    let took_s: f64 = statements.iter().map(|statement| statement.result.took.as_secs_f64()).sum();
    let mut body: Vec<Node> =
        statements.iter().enumerate().flat_map(|(at, statement)| show(statement, format!("{}-{}", index + 1, at + 1))).collect();
    if used == Use::File && took_s >= WORTH_TELLING_S {
        body.push(element("p", "took", vec![text(format!("took {}", in_time(took_s)))]));
    }
    let standing =
        sliders.iter().map(|slider| (slider.name.clone(), stands_at(slider), in_its_unit(slider, slider.value))).collect();
    let ends = |slider: &&Slider| format!("{}|{}|{}|{}", slider.name, slider.low, slider.high, slider.start);
    CellView {
        prose: if cell.prose.is_empty() { String::new() } else { prose::prose(&cell.prose, &headings).write() },
        code: if cell.code.is_empty() { String::new() } else { code(cell).write() },
        controls: sliders.iter().map(|slider| control(slider, index, used).write()).collect(),
        controls_key: sliders.iter().map(ends).collect::<Vec<_>>().join(";"),
        body: body.iter().map(|node| node.write() + "\n").collect(),
        standing,
        headings,
        took_s,
    }
}

/// Code under a line that folds it, highlighted.
fn code(cell: &Cell) -> Node {
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
    element("details", "code", vec![element("summary", "", vec![text(label)]), script]).with("open", "")
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

/// A slider: to move on the live page, in words in a file.
fn control(slider: &Slider, index: usize, used: Use) -> Node {
    let (low, high, value) =
        (in_its_unit(slider, slider.low), in_its_unit(slider, slider.high), in_its_unit(slider, slider.value));
    let range = format!("{} to {}", slider.low, slider.high);
    if used == Use::File {
        let line = format!("{}: {} (from {range})", slider.name, stands_at(slider));
        return element("p", "slider", vec![text(line)]);
    }
    let id = format!("slider-{}-{}", index + 1, percent(&slider.name).replace('%', "-"));
    let input = element("input", "", vec![])
        .with("type", "range")
        .with("id", id.as_str())
        .with("data-slider", slider.name.as_str())
        .with("min", low.to_string())
        .with("max", high.to_string())
        .with("step", step_of(slider, low, high).to_string())
        .with("value", value.to_string());
    let label = element("label", "", vec![text(slider.name.as_str())]).with("for", id.as_str());
    let standing = element("output", "", vec![text(stands_at(slider))]).with("for", id.as_str());
    element("div", "slider", vec![label, input, standing, element("span", "range", vec![text(range)])])
}

/// A slider's value as its study wrote the units.
fn stands_at(slider: &Slider) -> String {
    Quantity { si: slider.value.si, ..slider.low }.show(UnitSystem::AsWritten)
}

fn in_its_unit(slider: &Slider, quantity: Quantity) -> f64 {
    let value = slider.low.shown_unit(UnitSystem::AsWritten).map_or(quantity.si, |unit| unit.from_si(quantity.si));
    // Twelve digits: the rest is rounding of the unit's size.
    format!("{value:.11e}").parse().unwrap_or(value)
}

/// The SI value of a number that a control of the slider was moved to.
pub fn slider_si(slider: &Slider, value: f64) -> f64 {
    slider.low.shown_unit(UnitSystem::AsWritten).map_or(value, |unit| unit.to_si(value))
}

/// A round statement that makes at least a hundred of the way, and that leads from the low end to the start and to the high end;
/// whole for whole numbers. Where no round statement does, a hundredth of the way.
fn step_of(slider: &Slider, low: f64, high: f64) -> f64 {
    let start = in_its_unit(slider, slider.start);
    let whole = slider.low.dimension.is_number() && [low, high, start].iter().all(|value| value.fract() == 0.0);
    if whole && high - low <= 1000.0 {
        return 1.0;
    }
    let rough = (high - low) / 100.0;
    let power = 10f64.powf(rough.log10().floor());
    let meets = |statement: f64| {
        [high, start].iter().all(|end| ((end - low) / statement - ((end - low) / statement).round()).abs() < 1e-6)
    };
    let factors = [5.0, 2.5, 2.0, 1.0, 0.5, 0.25, 0.2, 0.1];
    let round =
        factors.into_iter().map(|factor| factor * power).find(|statement| *statement <= rough * 1.000_001 && meets(*statement));
    let statement = round.unwrap_or(rough);
    format!("{statement:.11e}").parse().unwrap_or(statement)
}

fn in_time(seconds: f64) -> String {
    if seconds < 1.0 { format!("{:.0} ms", seconds * 1000.0) } else { format!("{seconds:.1} s") }
}

/// The whole page.
pub fn page(book: &Workbook, used: Use, moment: &Moment) -> String {
    let views = views(book, used);
    let title = title(&views, book.name());
    let meta = |name: &'static str, content: &str| element("meta", "", vec![]).with("name", name).with("content", content);
    let head = element(
        "head",
        "",
        vec![
            element("meta", "", vec![]).with("charset", "utf-8"),
            element("meta", "", vec![]).with("http-equiv", "Content-Security-Policy").with("content", rules(used)),
            meta("referrer", "no-referrer"),
            meta("viewport", "width=device-width, initial-scale=1"),
            meta("color-scheme", "light dark"),
            element("title", "", vec![text(title.as_str())]),
            element("link", "", vec![]).with("rel", "icon").with("href", "data:,"),
            rules::style(),
        ],
    );
    let mut children = Vec::new();
    children.push(element("a", "skip", vec![text("to the study")]).with("href", "#study"));
    if used == Use::Live {
        children.push(status(book));
    }
    children.extend(contents(&views));
    let sections = views.iter().enumerate().map(|(index, view)| section(view, index)).collect();
    children.push(element("main", "", sections).with("id", "study"));
    children.push(facts(book, &views, used, moment));
    children.push(rules::script(used));
    let html = Node::Element {
        tag: "html",
        attributes: vec![("lang", "en".to_string())],
        children: vec![head, element("body", "", children)],
    };
    format!("<!doctype html>\n{}\n", html.write())
}

/// A cell with the parts that the live page exchanges.
fn section(view: &CellView, index: usize) -> Node {
    let part = |class: &str, markup: &str| element("div", class, vec![Node::Markup(markup.to_string())]);
    let parts = vec![
        part("prose", &view.prose),
        part("source", &view.code),
        part("controls", &view.controls).with("data-key", view.controls_key.as_str()),
        part("body", &view.body),
    ];
    element("section", "", parts).with("id", format!("cell-{}", index + 1))
}

/// The first heading, or the name of the study.
pub fn title(views: &[CellView], name: &str) -> String {
    let first = views.iter().flat_map(|view| &view.headings).find(|heading| heading.level == 1);
    first.map_or_else(|| name.to_string(), |heading| heading.text.clone())
}

/// Links to the headings, for studies with several.
fn contents(views: &[CellView]) -> Option<Node> {
    let headings: Vec<&Heading> = views.iter().flat_map(|view| &view.headings).filter(|heading| heading.level == 2).collect();
    if headings.len() < 3 {
        return None;
    }
    let link = |heading: &&Heading| {
        let link = element("a", "", vec![text(heading.text.as_str())]).with("href", format!("#{}", heading.anchor));
        element("li", "", vec![link])
    };
    let list = element("ul", "", headings.iter().map(link).collect());
    Some(element("nav", "contents", vec![list]).with("aria-label", "parts of the study"))
}

/// What the live page says of itself.
fn status(book: &Workbook) -> Node {
    let line = element("span", "", vec![text("connecting")]).with("id", "state").with("role", "status");
    let note = element("span", "", vec![]).with("id", "note");
    let bar = element("progress", "", vec![]).with("id", "progress").with("hidden", "").with("aria-label", "progress of the run");
    element("header", "status", vec![line, bar, note]).with("id", "status").with("data-run", book.runs().to_string())
}

/// When and with what the study was run; lines that differ from run to run stand on lines of their own.
fn facts(book: &Workbook, views: &[CellView], used: Use, moment: &Moment) -> Node {
    let units = match book.context().units() {
        UnitSystem::AsWritten | UnitSystem::AsWrittenMetric => "as written",
        UnitSystem::Us => "US",
        UnitSystem::Metric => "metric",
    };
    let mut list = vec![("study", book.name().to_string()), ("made by", format!("hosewright {}", env!("CARGO_PKG_VERSION")))];
    list.push(("units", units.to_string()));
    list.push(("random samples", random_samples(book)));
    let borrowed: Vec<String> = book.context().folder.borrowed().iter().map(|file| file.display().to_string()).collect();
    if !borrowed.is_empty() {
        list.push(("read from libraries", borrowed.join(", ")));
    }
    if used == Use::File {
        list.push(("run on", moment.to_string()));
        list.push(("took", in_time(views.iter().map(|view| view.took_s).sum())));
    }
    let rows = list
        .into_iter()
        .map(|(name, value)| element("div", "", vec![element("dt", "", vec![text(name)]), element("dd", "", vec![text(value)])]));
    let safety = element("div", "cautions", cautions(book.cautions())).with("id", "cautions");
    element("footer", "", vec![safety, element("dl", "", rows.collect())])
}

/// Cautions by subject in short, below them folded all texts with their sources.
fn cautions(set: CautionSet) -> Vec<Node> {
    let estimates =
        element("p", "", vec![text(if set.is_empty() { ESTIMATES.to_string() } else { format!("{FOLLOW} {ESTIMATES}") })]);
    if set.is_empty() {
        return vec![estimates];
    }
    let group = |(subject, found): (Subject, Vec<&Caution>)| {
        let short = found.iter().map(|caution| element("li", "", vec![text(caution.short)])).collect();
        [element("p", "subject", vec![text(subject.words())]), element("ul", "", short)]
    };
    let mut nodes = vec![element("p", "title", vec![text("Cautions")])];
    nodes.extend(set.by_subject().flat_map(group));
    nodes.push(estimates);
    let full = set.iter().map(|caution| {
        let source = element("span", "from", vec![text(format!(" ({})", caution.source.words()))]);
        element("li", "", vec![text(caution.text), source])
    });
    let texts = element("ul", "", full.collect());
    nodes.push(element("details", "", vec![element("summary", "", vec![text("Cautions in full, with sources")]), texts]));
    nodes
}

/// The cautions of a study as HTML, which a live page exchanges.
pub fn cautions_html(book: &Workbook) -> String {
    cautions(book.cautions()).iter().map(|node| node.write()).collect()
}

/// The seeds from which samples were drawn, each with the numbers of samples.
fn random_samples(book: &Workbook) -> String {
    let drawn: BTreeSet<(u64, usize)> =
        book.statements().iter().flat_map(|statement| statement.result.drawn.iter().copied()).collect();
    if drawn.is_empty() {
        return "none".to_string();
    }
    let one = |(seed, n): &(u64, usize)| format!("{n} from the seed {seed}");
    drawn.iter().map(one).collect::<Vec<_>>().join(", ")
}
