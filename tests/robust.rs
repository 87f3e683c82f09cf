//! No text that somebody types makes the program panic, whatever it says.

use hosewright::files::Folder;
use hosewright::notebook::cells;
use hosewright::script::Session;
use hosewright::script::diagnostic::Colour;
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
                    error.render(Colour::No);
                }
            }
        }
    }
}
