//! Every script in `scripts/good` runs, every script in `scripts/wrong` fails; what they show is kept in snapshots.
//!
//! A new case is a new file. `// steps: N` in the first line limits the steps of a script that would run without end.

use hosewright::files::Folder;
use hosewright::script::diagnostic::Color;
use hosewright::script::{Diagnostic, Outcome, Session};
use std::path::{Path, PathBuf};

#[test]
fn good_scripts_run_and_show_what_they_should() {
    for path in scripts("good") {
        let outcome = evaluate(&path);
        if let Some(error) = outcome.error() {
            panic!("{}", error.render(Color::No));
        }
        snapshot("good", &path, outcome.shown().join("\n"));
    }
}

#[test]
fn wrong_scripts_fail_with_their_message() {
    for path in scripts("wrong") {
        let outcome = evaluate(&path);
        let error = outcome.error().unwrap_or_else(|| panic!("{} did not fail", path.display()));
        snapshot("wrong", &path, nowhere(error).render(Color::No));
    }
}

/// The message without the folder of this clone, which is nobody's business and would change where lines break.
fn nowhere(error: &Diagnostic) -> Diagnostic {
    let mut error = error.clone();
    error.message = without_folder(&error.message);
    error.hint = error.hint.as_deref().map(without_folder);
    error
}

fn without_folder(text: &str) -> String {
    text.replace(concat!(env!("CARGO_MANIFEST_DIR"), "/"), "")
}

fn evaluate(path: &Path) -> Outcome {
    let text = std::fs::read_to_string(path).expect("the script can be read");
    let mut session = Session::new(Folder::new(path.parent().expect("a folder")));
    if let Some(steps) = text.lines().next().and_then(|line| line.strip_prefix("// steps: ")) {
        session.engine_mut().set_max_operations(steps.trim().parse().expect("a number of steps"));
    }
    let name = path.file_name().expect("a name").to_string_lossy().into_owned();
    let mut outcome = Outcome::default();
    session.evaluate_each(&name, &text, &mut |cell| outcome.cells.push(cell));
    outcome
}

fn scripts(kind: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/scripts").join(kind);
    let entries = std::fs::read_dir(folder).expect("the folder of the cases");
    let mut paths: Vec<PathBuf> = entries.map(|entry| entry.expect("an entry").path()).collect();
    paths.retain(|path| path.extension().is_some_and(|ending| ending == "rhai"));
    paths.sort();
    assert!(!paths.is_empty());
    paths
}

fn snapshot(kind: &str, path: &Path, text: String) {
    // The same text must come out wherever the project lies.
    let text = without_folder(&text);
    let name = format!("{kind}-{}", path.file_stem().expect("a name").to_string_lossy());
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!(name, text);
    });
}
