//! A study with its values as Markdown, for other programs and for reading as text.

use super::cells::cells;
use super::date::Moment;
use super::workbook::{Statement, Workbook};
use crate::figure::{Drawn, Figure, Graphic, description};
use crate::findings::{CautionSet, ESTIMATES, FOLLOW, FindingGroup, NOTHING};
use crate::lines::as_sentence;
use crate::quantity::UnitSystem;
use crate::script::diagnostic::Color;
use crate::script::present::Shown;
use crate::visible::visible;
use std::fmt::Write;

/// The whole study: prose, code, and below it what it shows.
pub fn markdown(book: &Workbook, moment: &Moment) -> String {
    let found = cells(book.source());
    let mut out = String::new();
    for (index, cell) in found.iter().enumerate() {
        if !cell.prose.is_empty() {
            let _ = write!(out, "{}\n\n", cell.prose);
        }
        if !cell.code.is_empty() {
            out.push_str(&fenced("rhai", &cell.code));
        }
        let first = if index == 0 { 0 } else { cell.lines.0 };
        let next = found.get(index + 1).map_or(usize::MAX, |next| next.lines.0);
        for statement in book.statements().iter().filter(|statement| (first..next).contains(&statement.lines.0)) {
            outputs(statement, &mut out);
        }
    }
    let borrowed: Vec<String> = book.context().folder.borrowed().iter().map(|file| format!("`{}`", file.display())).collect();
    if !borrowed.is_empty() {
        let _ = write!(out, "Read from libraries: {}.\n\n", borrowed.join(", "));
    }
    let _ = write!(out, "---\n\n{}{} by hosewright {}.\n\n", cautions(book.cautions()), book.name(), env!("CARGO_PKG_VERSION"));
    let _ = writeln!(out, "Run on {moment}.");
    visible(&out).into_owned()
}

fn outputs(statement: &Statement, out: &mut String) {
    for shown in &statement.result.shown {
        out.push_str(&output(shown, statement.result.units));
    }
    if let Some(error) = &statement.result.error {
        out.push_str(&fenced("text", &error.render(Color::No)));
    }
    if let Some(reason) = &statement.result.skipped {
        let _ = write!(out, "*Line {} did not run: {reason}.*\n\n", statement.lines.0);
    }
}

fn output(shown: &Shown, units: UnitSystem) -> String {
    match shown {
        Shown::Text(text) => fenced("text", text),
        Shown::Table(table) => match table.show_markdown(units) {
            Ok(text) => format!("{text}\n"),
            Err(error) => format!("{error}\n\n"),
        },
        Shown::Findings(found) => {
            let items: String = found.list().iter().map(|one| finding(one, units)).collect();
            let items = if items.is_empty() { format!("{NOTHING}\n") } else { items };
            let unmet = found.unmet().map_or(String::new(), |words| format!("{words}\n\n"));
            format!("{items}\n{unmet}")
        }
        Shown::Figure(_) => "*A chart that was not saved.*\n\n".into(),
        Shown::Named { name, value } => format!("**{name}:** {value}\n\n"),
        Shown::Saved { file, drawn } if file.ends_with(".svg") || file.ends_with(".png") => {
            let told = drawn.as_deref().and_then(in_words).unwrap_or_else(|| file.clone());
            format!("!{}\n\n", link(&told, file))
        }
        Shown::Saved { file, .. } => format!("saved {}\n\n", link(file, file)),
    }
}

/// The cautions by subject, then what holds for all.
fn cautions(set: CautionSet) -> String {
    let mut out = String::new();
    for (subject, found) in set.by_subject() {
        let _ = write!(out, "**Cautions, {}**\n\n", subject.words().to_lowercase());
        found.iter().for_each(|caution| {
            let _ = writeln!(out, "- {} ({})", caution.text, caution.source.words());
        });
        out.push('\n');
    }
    let follow = if set.is_empty() { String::new() } else { format!("{FOLLOW} ") };
    let _ = write!(out, "{follow}{ESTIMATES}\n\n");
    out
}

/// What stands for a figure where it cannot be seen; cautions end the report.
fn in_words(drawn: &Drawn) -> Option<String> {
    let Graphic::Figure(figure) = drawn.graphic() else { return None };
    let told = description(&Figure { remarks: String::new(), ..figure.clone() }).ok()?;
    let title = figure.title.as_deref().map_or(String::new(), |title| format!("{} ", as_sentence(title)));
    Some(format!("{title}{told}").replace('\n', " "))
}

/// A link to a file under a text, whatever characters both have.
fn link(text: &str, file: &str) -> String {
    let (mut name, mut target) = (String::new(), String::new());
    for sign in file.chars() {
        match sign {
            '<' | '>' | '\\' | '%' => target.push_str(&format!("%{:02X}", sign as u32)),
            other => target.push(other),
        }
    }
    for sign in text.chars() {
        if matches!(sign, '[' | ']' | '<' | '>' | '\\' | '`' | '&' | '!') {
            name.push('\\');
        }
        name.push(sign);
    }
    format!("[{name}](<{target}>)")
}

fn finding(finding: &FindingGroup, units: UnitSystem) -> String {
    let last = finding.accepted().map_or_else(|| finding.action(units), |reason| format!("Accepted: {reason}"));
    format!("- **{}:** {} {} *{last}*\n", finding.heading(), finding.what(units), finding.why(units))
}

/// A block with a fence longer than any in it.
fn fenced(language: &str, text: &str) -> String {
    let mut fence = "```".to_string();
    while text.contains(&fence) {
        fence.push('`');
    }
    format!("{fence}{language}\n{}\n{fence}\n\n", text.trim_end())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_name_of_a_file_stays_a_name() {
        assert_eq!(link("a b.svg", "a b.svg"), "[a b.svg](<a b.svg>)");
        assert_eq!(
            link("a>) <img src=x>.svg", "a>) <img src=x>.svg"),
            "[a\\>) \\<img src=x\\>.svg](<a%3E) %3Cimg src=x%3E.svg>)"
        );
    }

    #[test]
    fn a_fence_is_longer_than_those_inside() {
        assert_eq!(fenced("text", "```\nx"), "````text\n```\nx\n````\n\n");
    }
}
