//! Runs the examples of the help texts and compares what they show with what they say.
//!
//! The form of an example is described at the top of `help/mod.rs`.

use crate::files::Folder;
use crate::findings::{BARE_BOOSTER, CautionSet};
use crate::script::language::diagnostic::Color;
use crate::script::language::session::Session;

/// The examples in a Markdown text: the insides of fences that say `hw`.
pub fn examples(markdown: &str) -> Vec<String> {
    let mut found = Vec::new();
    let mut open: Option<String> = None;
    for line in markdown.lines() {
        match (&mut open, line.trim()) {
            (None, "```hw") => open = Some(String::new()),
            (Some(_), "```") => found.extend(open.take()),
            (Some(text), _) => {
                text.push_str(line);
                text.push('\n');
            }
            _ => {}
        }
    }
    found
}

/// Runs an example in a folder of its own and compares what it shows; gives the cautions that apply to the gardens that it makes.
/// Errors: what differs, for the author of the example.
pub fn check(example: &str) -> Result<CautionSet, String> {
    let folder = tempfile::tempdir().map_err(|error| format!("no folder for the example: {error}"))?;
    let (code, expectations) = read(example);
    let mut session = Session::new(Folder::new(folder.path()));
    let outcome = session.evaluate(&code);
    let cautions = session.context().take_cautions();
    let mut differing = Vec::new();
    for Expectation { line, lines } in &expectations {
        if let Some(wanted) = lines.first().and_then(|first| first.strip_prefix("error: ")) {
            let found = outcome.error().map_or("no error", |error| error.message.as_str());
            return if !differing.is_empty() {
                Err(format!("{}\nin\n{example}", differing.join("\n")))
            } else if found == wanted {
                Ok(cautions)
            } else {
                Err(format!("expected the error\n  {wanted}\nfound\n  {found}\nin\n{example}"))
            };
        }
        let shown = outcome.cells.iter().filter(|cell| cell.lines.1 == *line && cell.error.is_none());
        let found: Vec<String> =
            shown.flat_map(|cell| &cell.shown).flat_map(|text| text.lines()).map(|text| text.trim_end().to_string()).collect();
        if found != *lines {
            differing.push(format!("expected\n  {}\nfound\n  {}", lines.join("\n  "), found.join("\n  ")));
        }
    }
    match outcome.error() {
        Some(error) => Err(format!("{}\nin\n{example}", error.render(Color::No))),
        None if !differing.is_empty() => Err(format!("{}\nin\n{example}", differing.join("\n"))),
        None => Ok(cautions),
    }
}

/// What is wrong with an example for which [`bares_a_booster`] holds.
pub const BARE: &str = "a booster on a supply needs a backflow preventer upstream and a relief downstream, before any outlet";

/// True when a garden with one of these cautions has a booster on a main without a preventer upstream or a relief downstream.
pub fn bares_a_booster(cautions: CautionSet) -> bool {
    cautions.iter().any(|caution| caution.id == BARE_BOOSTER.id)
}

/// What the statement that ends on a line must show.
struct Expectation {
    line: usize,
    lines: Vec<String>,
}

/// The code with its missing semicolons, and what it must show.
fn read(example: &str) -> (String, Vec<Expectation>) {
    let mut code = String::new();
    let mut expectations: Vec<Expectation> = Vec::new();
    for (index, line) in example.lines().enumerate() {
        let Some((before, wanted)) = line.split_once("// =>") else {
            code.push_str(line);
            code.push('\n');
            continue;
        };
        let wanted = wanted.strip_prefix(' ').unwrap_or(wanted).trim_end().to_string();
        let before = before.trim_end();
        match expectations.last_mut() {
            Some(last) if before.trim().is_empty() => last.lines.push(wanted),
            _ => expectations.push(Expectation { line: index + 1, lines: vec![wanted] }),
        }
        let mark = if before.is_empty() || before.ends_with(';') { "" } else { ";" };
        code.push_str(&format!("{before}{mark}\n"));
    }
    (code, expectations)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_example_that_shows_something_else_fails() {
        assert!(check("1 + 1 // => 2").is_ok());
        assert!(check("1 + 1 // => 3").is_err());
        assert!(check("print(\"a\\nb\") // => a\n// => b").is_ok());
        assert!(check("1.psi + 1.ft // => error: cannot add 1 psi (a pressure) and 1 ft (a length)").is_ok());
        assert!(check("1 + 1 // => 3\n1.psi + 1.ft // => error: cannot add 1 psi (a pressure) and 1 ft (a length)").is_err());
        assert!(check("no_such_name").is_err());
    }

    #[test]
    fn a_booster_on_a_main_without_protection_is_seen_even_inside_a_function() {
        let of = |middle: &str| {
            let line = format!("supply(50.psi) >> {middle} >> hose(50.ft, (5/8).inch) >> head(\"a\", (1/8).inch)");
            check(&format!("fn made() {{ {line} }} made().run().flow(\"a\")")).map(bares_a_booster)
        };
        let pump = "booster([[0.gpm, 40.psi], [10.gpm, 20.psi]])";
        assert_eq!(of(pump), Ok(true));
        assert_eq!(of(&format!("backflow_preventer() >> {pump}")), Ok(true));
        assert_eq!(of(&format!("{pump} >> relief(90.psi)")), Ok(true));
        assert_eq!(of(&format!("backflow_preventer() >> {pump} >> relief(90.psi)")), Ok(false));
    }
}
