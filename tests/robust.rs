//! No text that somebody types makes the program panic, whatever it says.

use hosewright::files::Folder;
use hosewright::notebook::cells;
use hosewright::script::Session;
use hosewright::script::diagnostic::Color;
use hosewright::script::entry::Entries;
use proptest::prelude::*;

/// Words from which texts are made, whole and broken.
const WORDS: &[&str] = &[
    "let ",
    "a",
    "b",
    " = ",
    "1",
    "2.5",
    ".ft",
    ".psi",
    "(",
    ")",
    "[",
    "]",
    "{",
    "}",
    "#{",
    "a: ",
    ";",
    ",",
    "\n",
    " + ",
    " / ",
    "/",
    "**",
    "\"text\"",
    "\"",
    "`x ${a} y`",
    "`",
    "${",
    "// note\n",
    "/* note */",
    "/*",
    "fn f(x) ",
    "f(",
    "|x| ",
    "if ",
    "else ",
    "for i in 0..3 ",
    "=>",
    ">>",
    "é",
    "“",
    "import \"a\" as a",
    "::",
    "return ",
    "break",
    "throw ",
    ".to(\"bar\")",
    "min(",
    "help(\"",
    "q(\"5/8 in\")",
    "0",
    "-",
    "!",
    "switch a ",
    "_ ",
    "global::",
    "const ",
    "sorted(",
    "exit()",
    "this",
    "\\",
    "'x'",
    "#\"raw\"#",
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn any_entries_are_answered(entries in prop::collection::vec(prop::collection::vec(0..WORDS.len(), 0..14), 1..4)) {
        let mut session = Session::new(Folder::new("tests"));
        session.engine_mut().set_max_operations(2_000);
        for words in entries {
            let text: String = words.into_iter().map(|word| WORDS[word]).collect();
            Entries::default().goes_on(&text);
            cells(&text);
            for cell in session.evaluate(&text).cells {
                prop_assert!(cell.range.end <= text.len() && cell.range.start <= cell.range.end);
                if let Some(error) = cell.error {
                    prop_assert!(!error.message.is_empty());
                    error.render(Color::No);
                }
            }
        }
    }
}

/// A number of a part with its unit, of any size that a part takes and a little more, mostly an ordinary one.
fn size(unit: &'static str, ordinary: f64) -> impl Strategy<Value = String> {
    prop_oneof![
        3 => (0.2..5.0_f64).prop_map(move |share| share * ordinary),
        2 => (-32..16_i32, 1.0..9.9_f64).prop_map(|(power, digits)| digits * 10.0_f64.powi(power)),
    ]
    .prop_map(move |number| format!("({number:e}).{unit}"))
}

/// A garden of some parts with these sizes.
fn plot([main, weak, flow, length, diameter, wall, height, nozzle, k]: [&str; 9]) -> String {
    format!(
        "let plot = supply({main}).measured({weak}, {flow}) >> hose({length}, {diameter}).roughness({wall}) >> fitting(\"f\", {k}) \
         >> uphill({height}) >> [ hose({length}, {diameter}) >> head(\"a\", {nozzle}), soaker(\"row\", {length}, {diameter}, {flow}, {weak}) ];"
    )
}

#[test]
fn the_garden_of_any_sizes_runs_with_ordinary_ones() {
    let ordinary = ["58.psi", "40.psi", "6.gpm", "100.ft", "0.6.inch", "0.01.mm", "5.ft", "0.1.inch", "1"];
    let mut session = Session::new(Folder::new("tests"));
    let outcome = session.evaluate(&format!("{} plot.run().flow(\"a\") > 0.5.gpm", plot(ordinary)));
    assert_eq!(outcome.shown(), ["true"], "{:?}", outcome.error());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn a_garden_of_any_sizes_shows_finite_numbers_or_says_what_is_wrong(
        main in size("psi", 58.0), weak in size("psi", 40.0), flow in size("gpm", 6.0), length in size("ft", 100.0),
        diameter in size("inch", 0.6), wall in size("mm", 0.01), height in size("ft", 5.0), nozzle in size("inch", 0.1),
        k in size("psi", 1.0),
    ) {
        let study = plot([&main, &weak, &flow, &length, &diameter, &wall, &height, &nozzle, k.trim_end_matches(".psi")]);
        let mut session = Session::new(Folder::new("tests"));
        session.evaluate(&study);
        for entry in ["plot", "plot.run()", "plot.run().findings()", "plot.run().table()", "plot.run().pressure(\"a\")"] {
            for cell in session.evaluate(entry).cells {
                let error = cell.error.iter().map(|error| error.message.clone());
                for text in cell.shown.iter().cloned().chain(error) {
                    let wrong = text.split(|c: char| !c.is_alphanumeric()).any(|word| matches!(word, "infinite" | "inf" | "NaN" | "nan"));
                    prop_assert!(!wrong && !text.contains("not a number"), "{study}\n{entry}\n{text}");
                }
            }
        }
    }
}
