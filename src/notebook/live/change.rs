//! Changes of the study's file that somebody makes in the page: the text of a cell, or the values with which controls begin.
//!
//! Only the file of the study is written, whole or not at all, and only while it is still the text that the page shows.

use crate::files::{Place, read_bytes, text_of, write_atomically};
use crate::notebook::cells::cells;
use crate::notebook::page::mark_of_text;
use crate::notebook::page::panel::setting_of;
use crate::notebook::starts::with_starts;
use crate::script::controls::Control;
use std::path::Path;

/// The mark that some editors put at the start of a file.
const MARK_OF_EDITORS: &str = "\u{feff}";

/// A changed cell.
#[derive(Debug, serde::Deserialize)]
pub struct CellChange {
    /// The mark of the text that the page shows.
    pub study: String,
    /// Which cell, from zero.
    pub cell: usize,
    /// What stands there.
    pub was: String,
    /// What is to stand there.
    pub text: String,
}

/// Values that controls are to begin with.
#[derive(Debug, serde::Deserialize)]
pub struct StartChange {
    /// The mark of the text that the page shows.
    pub study: String,
    /// Names, and values in the units of their inputs.
    pub values: Vec<(String, f64)>,
}

/// Why nothing was written, in a sentence for the page.
pub type Refused = String;

const CHANGED: &str = "the file has changed meanwhile; look at the new text, then change that";

/// Writes the new text of a cell. Errors: the file has changed, cannot be read or written.
pub fn write_cell(file: &Path, change: &CellChange) -> Result<(), Refused> {
    rewrite(file, &change.study, |source| {
        let found = cells(source);
        let own_ends = |text: &str| if source.contains("\r\n") { text.replace('\n', "\r\n") } else { text.to_string() };
        let text = own_ends(change.text.replace("\r\n", "\n").trim_end());
        if change.cell == found.len() && change.was.is_empty() {
            return Ok(format!("{}{}{text}{}", source.trim_end(), own_ends("\n\n"), own_ends("\n")));
        }
        let cell = found.get(change.cell).filter(|cell| source[cell.range.clone()] == change.was).ok_or(CHANGED)?;
        Ok(format!("{}{text}{}", &source[..cell.range.start], &source[cell.range.end..]))
    })
}

/// Writes the values with which controls begin. Errors: the file has changed, a start that the study works out.
pub fn write_starts(file: &Path, change: &StartChange, controls: &[Control]) -> Result<(), Refused> {
    let set = |(name, value): &(String, f64)| {
        let mut control = controls.iter().find(|control| control.name == *name)?.clone();
        control.set(setting_of(&control, *value));
        Some(control)
    };
    let set: Vec<Control> = change.values.iter().filter_map(set).collect();
    rewrite(file, &change.study, |source| with_starts(source, &set).map_err(|error| error.to_string()))
}

fn rewrite(file: &Path, study: &str, new: impl FnOnce(&str) -> Result<String, Refused>) -> Result<(), Refused> {
    let bytes = read_bytes(file).map_err(|error| error.to_string())?;
    let marked = bytes.starts_with(MARK_OF_EDITORS.as_bytes());
    let source = text_of(bytes, file).map_err(|error| error.to_string())?;
    if mark_of_text(&source) != study {
        return Err(CHANGED.into());
    }
    let text = format!("{}{}", if marked { MARK_OF_EDITORS } else { "" }, new(&source)?);
    let written = Place::at(file).and_then(|place| write_atomically(&place, text.as_bytes()));
    written.map_err(|error| error.to_string())
}

#[cfg(test)]
mod tests {
    use super::*;

    const STUDY: &str = "// # One\nlet a = 1;\n\n// Two\na + 1;\n";

    fn file(text: &str) -> (tempfile::TempDir, std::path::PathBuf) {
        let home = tempfile::tempdir().expect("a folder");
        let file = home.path().join("study.rhai");
        std::fs::write(&file, text).expect("written");
        (home, file)
    }

    fn change(shown: &str, cell: usize, was: &str, text: &str) -> CellChange {
        CellChange { study: mark_of_text(shown), cell, was: was.into(), text: text.into() }
    }

    #[test]
    fn the_text_of_a_cell_is_written_and_all_else_stays() {
        let (_home, file) = file(STUDY);
        write_cell(&file, &change(STUDY, 1, "// Two\na + 1;", "// Two\na + 2;\n\n")).expect("written");
        let text = || std::fs::read_to_string(&file).expect("read");
        assert_eq!(text(), STUDY.replace("a + 1", "a + 2"));
        write_cell(&file, &change(&text(), 0, "// # One\nlet a = 1;", "")).expect("written");
        assert_eq!(text(), "\n\n// Two\na + 2;\n");
        write_cell(&file, &change(&text(), 1, "", "// Three\n3;\n")).expect("written");
        assert_eq!(text(), "\n\n// Two\na + 2;\n\n// Three\n3;\n", "one after the last is added");
    }

    #[test]
    fn a_file_that_changed_is_not_written() {
        let (_home, file) = file(STUDY);
        let old = STUDY.replace("a + 1", "a + 7");
        for wrong in [
            change(&old, 1, "// Two\na + 1;", "5;"),
            change(STUDY, 1, "// Two\na + 7;", "5;"),
            change(STUDY, 0, "// Two\na + 1;", "5;"),
            change(STUDY, 9, "// Two\na + 1;", "5;"),
        ] {
            assert_eq!(write_cell(&file, &wrong), Err(CHANGED.to_string()));
        }
        assert_eq!(std::fs::read_to_string(&file).expect("read"), STUDY);
    }

    #[test]
    fn ends_of_lines_and_the_mark_of_an_editor_stay() {
        let text = format!("{MARK_OF_EDITORS}{}", STUDY.replace('\n', "\r\n"));
        let shown = STUDY.replace('\n', "\r\n");
        let (_home, file) = file(&text);
        write_cell(&file, &change(&shown, 1, "// Two\r\na + 1;", "// Two\n// and more\na + 1;")).expect("written");
        let after = std::fs::read_to_string(&file).expect("read");
        assert_eq!(after, text.replace("// Two\r\n", "// Two\r\n// and more\r\n"));
    }
}
