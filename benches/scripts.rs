//! How fast scripts are: the closure form of a sweep, and the engine's start. Run with `cargo bench --bench scripts`.

use divan::{Bencher, counter::ItemsCount};
use hosewright::files::Folder;
use hosewright::script::Session;

fn main() {
    divan::main();
}

const GARDEN: &str = r#"
let plot = supply(58.psi).measured(44.psi, 6.gpm) >> hose(100.ft, (5/8).inch).named("feed")
    >> [ hose(40.ft, (1/2).inch) >> head("a", (3/32).inch),
         hose(60.ft, (1/2).inch) >> head("b", (3/32).inch),
         hose(80.ft, (1/2).inch) >> head("c", (3/32).inch) ];
"#;
const CASES: usize = 100_000;

/// One case: a changed garden, a solve, three pressures.
#[divan::bench]
fn closure_sweep_of_three_heads(bencher: Bencher) {
    let study = format!(
        "{GARDEN}
let t = sweep(vary(\"length\", steps(0.002.ft, {}.ft, 0.002.ft)), |case| {{
    let r = plot.with(\"feed.length\", case.length).run();
    #{{ a: r.pressure(\"a\"), b: r.pressure(\"b\"), c: r.pressure(\"c\") }}
}});
t.rows",
        CASES as f64 * 0.002
    );
    bencher.counter(ItemsCount::new(CASES)).bench(|| {
        let mut session = Session::new(Folder::new("."));
        let outcome = session.evaluate(&study);
        assert!(outcome.error().is_none(), "{:?}", outcome.error());
        assert_eq!(outcome.shown().last().copied(), Some(CASES.to_string().as_str()));
    });
}

/// The native form of the same sweep, as a script calls it, table included.
#[divan::bench]
fn native_sweep_of_three_heads_from_a_script(bencher: Bencher) {
    let cases: usize = 200_000;
    let study =
        format!("{GARDEN}\nsweep(plot, vary(\"feed.length\", steps(0.001.ft, {}.ft, 0.001.ft))).rows", cases as f64 * 0.001);
    bencher.counter(ItemsCount::new(cases)).bench(|| {
        let mut session = Session::new(Folder::new("."));
        let outcome = session.evaluate(&study);
        assert_eq!(outcome.shown().last().copied(), Some(cases.to_string().as_str()), "{:?}", outcome.error());
    });
}

/// The native form into a parquet file, three random numbers a case.
#[divan::bench(sample_count = 3)]
fn native_sweep_of_three_heads_into_a_file(bencher: Bencher) {
    let home = tempfile::tempdir().expect("a folder");
    let cases: usize = 200_000;
    let study = format!(
        "{GARDEN}
let axes = vary(\"feed.length\", between(50.ft, 300.ft)).vary(\"feed.diameter\", normal((5/8).inch, (1/64).inch))
    .vary(\"supply.static_pressure\", normal(58.psi, 1.psi)).samples({cases}, 2026);
sweep_to(\"cases.parquet\", plot, axes)"
    );
    bencher.counter(ItemsCount::new(cases)).bench(|| {
        let mut session = Session::new(Folder::new(home.path()));
        let outcome = session.evaluate(&study);
        assert_eq!(outcome.shown().last().copied(), Some("saved cases.parquet: 200,000 cases"), "{:?}", outcome.error());
    });
}

/// An engine with all words, and a first answer.
#[divan::bench]
fn first_answer_of_a_session() -> String {
    let mut session = Session::new(Folder::new("."));
    session.evaluate("head(\"x\", (1/8).inch).flow_at(40.psi)").shown().join("")
}

/// A line that a loop joins part by part: the time grows with the number of parts, not with its square.
#[divan::bench(args = [1000, 2000, 4000], sample_count = 10)]
fn a_line_joined_in_a_loop(bencher: Bencher, parts: usize) {
    let study = format!(
        "let g = supply(4.bar); for i in 0..{parts} {{ g = g >> hose(1.m, 16.mm); }}
(g >> head(\"last\", 3.mm)).names().len()"
    );
    bencher.counter(ItemsCount::new(parts)).bench(|| {
        let mut session = Session::new(Folder::new("."));
        let outcome = session.evaluate(&study);
        assert_eq!(outcome.shown().last().copied(), Some((parts + 2).to_string().as_str()), "{:?}", outcome.error());
    });
}

/// A garden that a loop builds from branches, changes and lists of arms: the time grows with the number of parts, not with its square.
#[divan::bench(args = [1000, 2000, 4000], sample_count = 10)]
fn a_garden_built_in_a_loop(bencher: Bencher, parts: usize) {
    let study = format!(
        "let g = supply(4.bar) >> hose(1.m, 16.mm).named(\"main\");
for i in 0..{} {{
    g = g.branch(\"main\", valve(\"zone\" + i) >> head(\"head\" + i, 3.mm));
    g = g.with(\"head\" + i + \".nozzle\", 2.mm) >> [hose(1.m, 16.mm), hose(2.m, 16.mm)];
}}
g.names().len()",
        parts / 4
    );
    bencher.counter(ItemsCount::new(parts)).bench(|| {
        let mut session = Session::new(Folder::new("."));
        let outcome = session.evaluate(&study);
        assert_eq!(outcome.shown().last().copied(), Some((parts + 2).to_string().as_str()), "{:?}", outcome.error());
    });
}
