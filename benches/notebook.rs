//! How fast the prompt and the report are: completion among many names, and what a page adds to a run.
//! Run with `cargo bench --bench notebook`.

use divan::Bencher;
use hosewright::files::Folder;
use hosewright::notebook::page::{CodeShown, Use, page};
use hosewright::notebook::workbook::Workbook;
use hosewright::notebook::{Moment, uses};
use hosewright::script::diagnostic::Color;
use hosewright::script::{Context, Session};
use hosewright::shell::helper::{Typing, highlighted};
use std::fmt::Write;
use std::sync::Arc;

fn main() {
    divan::main();
}

/// A session with a thousand variables, every tenth of them a garden.
fn crowded() -> Session {
    let mut session = Session::new(Folder::new("."));
    let mut text = String::new();
    for number in 0..1000 {
        let value = if number % 10 == 0 { "supply(50.psi) >> head(\"spray\", (1/8).inch)" } else { "100.ft" };
        let _ = writeln!(text, "let hose_{number} = {value};");
    }
    assert!(session.evaluate(&text).error().is_none());
    session
}

/// A key press to the names that Tab offers, with a thousand names.
#[divan::bench]
fn completion_among_a_thousand_names(bencher: Bencher) {
    let typing = Typing::new(crowded().names(), Folder::new("."), 100, Color::Yes);
    bencher.bench(|| {
        assert!(typing.offers("let a = hose_").1.len() >= 200);
        assert!(!typing.offers("hose_0.").1.is_empty());
    });
}

/// Names are collected once after each entry.
#[divan::bench]
fn names_after_an_entry(bencher: Bencher) {
    let session = crowded();
    bencher.bench(|| session.names().variables.len());
}

/// The colors of a long entry, which every key press asks for.
#[divan::bench]
fn colors_of_a_long_entry(bencher: Bencher) {
    let entry = "let plot = supply(58.psi) >> hose(100.ft, (5/8).inch); // prose\n".repeat(50);
    bencher.bench(|| assert!(highlighted(&entry).len() > entry.len()));
}

/// A study of thirty cells with tables and charts.
fn thirty_cells() -> String {
    let mut text = String::from(
        "let plot = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named(\"feed\") >> head(\"berry\", (5/32).inch);\n",
    );
    for number in 1..=30 {
        let _ = write!(
            text,
            "/* ## Part {number} */\nlet t{number} = sweep(plot, vary(\"feed.length\", steps(5.ft, 200.ft, 5.ft)));\nt{number};\n\
             chart(t{number}).x(\"feed.length\").y(\"berry.pressure\");\nplot.run();\n"
        );
    }
    text
}

fn ran() -> Workbook {
    let mut book = Workbook::new("study.rhai", Arc::new(Context::new(Folder::new("."))));
    book.renew(&thirty_cells(), &mut |_, _, _| {});
    assert!(book.statements().iter().all(|statement| statement.result.error.is_none()));
    book
}

/// What the report of thirty cells costs over their evaluation.
#[divan::bench]
fn page_of_thirty_cells(bencher: Bencher) {
    let book = ran();
    bencher.bench_local(|| assert!(page(&book, Use::File, CodeShown::Folded, &Moment::now()).len() > 100_000));
}

/// The evaluation itself.
#[divan::bench]
fn evaluation_of_thirty_cells(bencher: Bencher) {
    bencher.bench_local(ran);
}

/// Names that a study reads and writes.
#[divan::bench]
fn names_of_a_statement(bencher: Bencher) {
    let text = "let plot = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named(\"feed\")";
    bencher.bench(|| uses::uses(text));
}
