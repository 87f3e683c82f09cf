//! The foot of a page: cautions, and when and with what the study was run.

use super::node::{Node, element, text};
use super::rules::Use;
use crate::findings::{Caution, CautionSet, ESTIMATES, FOLLOW, Subject};
use crate::notebook::date::Moment;
use crate::notebook::workbook::Workbook;
use crate::quantity::UnitSystem;
use std::collections::BTreeSet;

/// What stands below a page, as HTML. When and with what the study was run: lines that differ from run to run stand on lines of their own.
/// `took_s` is how long the statements took.
pub fn footer(book: &Workbook, took_s: f64, used: Use, moment: &Moment) -> String {
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
    if used != Use::Live {
        list.push(("run on", moment.to_string()));
        list.push(("took", in_time(took_s)));
    }
    let rows = list
        .into_iter()
        .map(|(name, value)| element("div", "", vec![element("dt", "", vec![text(name)]), element("dd", "", vec![text(value)])]));
    let safety = element("div", "cautions", cautions(book.cautions())).with("id", "cautions");
    [safety, element("dl", "facts", rows.collect())].iter().map(Node::write).collect()
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

/// A time in short.
pub fn in_time(seconds: f64) -> String {
    if seconds < 1.0 { format!("{:.0} ms", seconds * 1000.0) } else { format!("{seconds:.1} s") }
}
