//! A study as a page: one HTML text that needs nothing else, for a file or for the live server.
//!
//! - `node`: the tree that is written last
//! - `prose`, `outputs`, `pictures`, `code`, `panel`, `values`, `footer`: what stands in it
//! - `view`: its cells, in the parts that the live page exchanges; `news`: what of them is sent, `pieces`: in which pieces
//! - `rules`: what a browser may do on it
//! - here: the whole page

mod code;
mod footer;
mod news;
pub mod node;
mod outputs;
pub mod panel;
mod pictures;
mod pieces;
mod prose;
mod rules;
mod values;
mod view;

pub use code::CodeShown;
pub use news::CellNews;
pub use outputs::{TABLES, percent};
pub use rules::{Use, rules};
pub use view::{CellView, first_lines, views};

use super::date::Moment;
use super::workbook::Workbook;
use crate::figure::{Glyphs, font_rules};
use node::{Node, element, text};
use panel::Panel;
use prose::Heading;
use sha2::{Digest, Sha256};
use std::sync::Arc;

/// A page before it is written: what an open page exchanges, and what else stands on it.
#[derive(Clone, Debug)]
pub struct Page {
    /// The first heading, or the name of the study.
    pub title: String,
    /// The title as it stands above the page, as HTML.
    pub heading: String,
    /// The fonts of all drawings, as rules of a style sheet.
    pub fonts: String,
    /// Its cells.
    pub views: Vec<Arc<CellView>>,
    /// Its controls.
    pub panel: Panel,
    /// Its named results, as HTML.
    pub results: String,
    /// Which text of the study it shows.
    pub study: String,
    /// The number of the run.
    pub run: usize,
    /// What stands below, as HTML.
    pub footer: String,
    /// What was computed ahead.
    pub ahead: Ahead,
    used: Use,
}

/// A name for a text: another text has another one.
pub fn mark_of_text(source: &str) -> String {
    Sha256::digest(source.as_bytes()).iter().map(|byte| format!("{byte:02x}")).collect()
}

/// Settings of controls that were computed ahead, for a page that shows them without a server.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Ahead {
    /// For the script of the page, as JSON.
    pub data: String,
    /// What was computed and what was left out, in a sentence.
    pub said: String,
    /// The characters of the drawings in all settings.
    pub glyphs: Glyphs,
}

/// The whole page of a study.
pub fn page(book: &Workbook, used: Use, shown: CodeShown, moment: &Moment) -> String {
    Page::of(book, used, shown, moment, &[]).write()
}

impl Page {
    /// The page of a workbook as it stands now; of the cells that stood before, those that did not change are taken over.
    pub fn of(book: &Workbook, used: Use, shown: CodeShown, moment: &Moment, before: &[Arc<CellView>]) -> Page {
        let views = views(book, used, shown, before);
        let headings = || views.iter().flat_map(|view| &view.headings);
        let title = headings().find(|heading| heading.level == 1);
        let title = title.map_or_else(|| book.name().to_string(), |heading| heading.text.clone());
        let results = results(&views).map_or(String::new(), |node| node.write());
        let panel = if used != Use::File { panel::panel(&book.controls()) } else { Panel::default() };
        let study = if used == Use::Live { mark_of_text(book.source()) } else { String::new() };
        let took_s = views.iter().map(|view| view.took_s).sum();
        let footer = footer::footer(book, took_s, used, moment);
        let heading = views.first().map_or(String::new(), |view| view.title.clone());
        let fonts = font_rules(&glyphs_of(&views));
        Page { title, heading, fonts, views, panel, results, study, run: book.runs(), footer, ahead: Ahead::default(), used }
    }

    /// With settings that were computed ahead.
    pub fn with_ahead(self, ahead: Ahead) -> Page {
        let mut glyphs = ahead.glyphs.clone();
        glyphs.add(&glyphs_of(&self.views));
        Page { ahead, fonts: font_rules(&glyphs), ..self }
    }

    /// A table of the live page as CSV, by the name of its file; nothing where there is none.
    pub fn csv(&self, file: &str) -> Option<String> {
        let name = file.strip_suffix(".csv")?;
        let (_, table, units) = self.views.iter().flat_map(|view| &view.kept.tables).find(|(known, ..)| known == name)?;
        table.to_csv(*units).ok()
    }

    /// The page as text.
    pub fn write(&self) -> String {
        let used = self.used;
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
                element("title", "", vec![text(self.title.as_str())]),
                element("link", "", vec![]).with("rel", "icon").with("href", "data:,"),
                rules::style(),
            ],
        );
        let mut children = Vec::new();
        children.push(element("a", "skip", vec![text("to the study")]).with("href", "#study"));
        if used == Use::Live {
            children.push(status(self.run, &self.study));
        }
        let mut parts = vec![element("div", "", vec![Node::Markup(self.heading.clone())]).with("id", "heading")];
        let results = element("section", "results", vec![Node::Markup(self.results.clone())]);
        parts.push(results.with("id", "results").with("aria-label", "results"));
        parts.extend(contents(&self.views));
        let sections = self.views.iter().enumerate().map(|(index, view)| section(view, index)).collect();
        parts.push(element("div", "", sections).with("id", "study"));
        children.push(element("main", "", parts));
        if used != Use::File {
            children.push(panel_box(&self.panel, used, &self.ahead.said));
        }
        children.push(element("footer", "", vec![Node::Markup(self.footer.clone())]));
        if used == Use::Ahead {
            // A browser runs no script of this type, and it cannot end its element.
            let data = Node::Markup(self.ahead.data.replace('<', "\\u003c"));
            children.push(element("script", "", vec![data]).with("type", "application/json").with("id", "ahead"));
        }
        children.push(element("template", "", vec![text(self.fonts.as_str())]).with("id", "fonts"));
        children.push(rules::script(used));
        let class = if self.panel.markup.is_empty() { "" } else { "with-panel" };
        let html = Node::Element {
            tag: "html",
            attributes: vec![("lang", "en".to_string())],
            children: vec![head, element("body", class, children)],
        };
        format!("<!doctype html>\n{}\n", html.write())
    }
}

/// The characters of all drawings of cells.
pub fn glyphs_of(views: &[Arc<CellView>]) -> Glyphs {
    let mut all = Glyphs::default();
    views.iter().for_each(|view| all.add(&view.kept.glyphs));
    all
}

/// A cell with the parts that the live page exchanges.
fn section(view: &CellView, index: usize) -> Node {
    let part = |class: &str, markup: &str| element("div", class, vec![Node::Markup(markup.to_string())]);
    let mut source = part("source", &view.code);
    if !view.text.is_empty() {
        source = source.with("data-text", view.text.as_str());
    }
    let parts = vec![part("prose", &view.prose), source, part("settings", &view.settings), part("body", &view.body)];
    element("section", "", parts).with("id", format!("cell-{}", index + 1))
}

/// The controls beside the study, and what is done with their values.
fn panel_box(panel: &Panel, used: Use, said: &str) -> Node {
    let button =
        |id: &'static str, words: &'static str| element("button", "", vec![text(words)]).with("type", "button").with("id", id);
    let mut acts = vec![button("set-back", "set back to the start")];
    if used == Use::Live {
        acts.push(button("keep", "write these values into the study"));
        acts.push(element("span", "", vec![]).with("id", "kept").with("role", "status"));
    }
    if !said.is_empty() {
        acts.push(element("span", "said", vec![text(said)]));
    }
    let controls =
        element("div", "", vec![Node::Markup(panel.markup.clone())]).with("id", "controls").with("data-key", panel.key.as_str());
    let folded =
        element("details", "", vec![element("summary", "", vec![text("controls")]), controls, element("p", "acts", acts)]);
    let box_of_all = element("aside", "panel", vec![folded.with("open", "")]).with("id", "panel").with("aria-label", "controls");
    if panel.markup.is_empty() { box_of_all.with("hidden", "") } else { box_of_all }
}

/// Most named results on top of a page: with more, nobody finds one.
const MOST_RESULTS: usize = 12;

/// The named results, each as a card that leads to its cell.
fn results(views: &[Arc<CellView>]) -> Option<Node> {
    let all = || views.iter().enumerate().flat_map(|(index, view)| view.results.iter().map(move |result| (index, result)));
    // Where the study names answers, values that are only shown are no cards.
    let answers = all().any(|(_, result)| result.answer);
    let card = |(index, result): (usize, &outputs::NamedResult)| {
        let name = element(
            "dt",
            "",
            vec![element("a", "", vec![text(result.name.as_str())]).with("href", format!("#cell-{}", index + 1))],
        );
        element("div", "card", vec![name, element("dd", "", vec![text(result.value.as_str())])])
    };
    let cards: Vec<Node> = all().filter(|(_, result)| result.answer == answers).take(MOST_RESULTS).map(card).collect();
    (!cards.is_empty()).then(|| element("dl", "cards", cards))
}

/// Links to the headings, for studies with several.
fn contents(views: &[Arc<CellView>]) -> Option<Node> {
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
fn status(run: usize, study: &str) -> Node {
    let line = element("span", "", vec![text("connecting")]).with("id", "state").with("role", "status");
    let note = element("span", "", vec![]).with("id", "note");
    let bar = element("progress", "", vec![]).with("id", "progress").with("hidden", "").with("aria-label", "progress of the run");
    element("header", "status", vec![line, bar, note])
        .with("id", "status")
        .with("data-run", run.to_string())
        .with("data-study", study)
}
