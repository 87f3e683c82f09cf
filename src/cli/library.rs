//! Folders from which a study may read besides its own: those of `--library`, and those that a file `hosewright.toml` beside the study
//! or above names.

use super::input::say_problem;
use super::status::say_error;
use crate::files::read_text;
use crate::nearest::did_you_mean;
use crate::script::Diagnostic;
use crate::script::diagnostic::Trouble;
use crate::script::place::Place;
use serde::Deserialize;
use std::path::{Path, PathBuf};
use toml::Spanned;

/// The file that names libraries.
const SETTINGS: &str = "hosewright.toml";
/// How a library is named in it.
const EXAMPLE: &str = "write library = [\"../stock\"]";

/// What the file may hold.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Settings {
    #[serde(default)]
    library: Vec<Spanned<String>>,
}

/// The libraries of a study in that folder: first those given, then those of the nearest file of settings. What cannot be read, and a
/// folder that is not there, is reported and left out.
pub fn libraries(folder: &Path, given: &[PathBuf]) -> Vec<PathBuf> {
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let (found, missing): (Vec<PathBuf>, Vec<PathBuf>) = given.iter().cloned().partition(|library| library.is_dir());
    missing.iter().for_each(|library| say_problem(&format!("there is no library folder {}", library.display()), ""));
    let (named, problems) = settings_of(folder).map(|file| named_in(&file)).unwrap_or_default();
    for problem in &problems {
        say_error(problem);
    }
    found.into_iter().chain(named).collect()
}

/// The nearest file of settings, in the folder or above it.
fn settings_of(folder: &Path) -> Option<PathBuf> {
    let above = folder.canonicalize().unwrap_or_else(|_| folder.to_path_buf());
    above.ancestors().map(|folder| folder.join(SETTINGS)).find(|file| file.is_file())
}

/// The folders that a file of settings names and that are there, and what is wrong with it.
fn named_in(file: &Path) -> (Vec<PathBuf>, Vec<Diagnostic>) {
    let text = match read_text(file) {
        Ok(text) => text,
        Err(error) => return (Vec::new(), vec![Diagnostic::new(Trouble::Value, error.to_string())]),
    };
    let at = |range: std::ops::Range<usize>| {
        let (source, text) = (file.display().to_string(), text.clone());
        Some(Place { source, line: 1, column: 1, column_end: 1, text, range: 0..0 }.moved_to(range))
    };
    let settings: Settings = match toml::from_str(&text) {
        Ok(settings) => settings,
        Err(error) => {
            let message = error.message().replace('`', "'");
            let unknown = message.strip_prefix("unknown field '").and_then(|rest| rest.split('\'').next()).map(String::from);
            let meant = unknown.as_deref().and_then(|key| did_you_mean(key, ["library"]));
            let message = unknown.map_or(message, |key| format!("there is no setting '{key}'"));
            let place = error.span().filter(|range| text.is_char_boundary(range.start) && text.is_char_boundary(range.end));
            let hint = Some(meant.unwrap_or_else(|| EXAMPLE.into()));
            let trouble = Diagnostic { hint, place: place.and_then(at), ..Diagnostic::new(Trouble::Syntax, message) };
            return (Vec::new(), vec![trouble]);
        }
    };
    let (mut found, mut problems) = (Vec::new(), Vec::new());
    for library in settings.library {
        let folder = file.parent().unwrap_or(Path::new(".")).join(library.get_ref());
        if folder.is_dir() {
            found.push(folder);
        } else {
            let message = format!("there is no folder {}", folder.display());
            let hint = Some("folders are named from where this file is".into());
            problems.push(Diagnostic { hint, place: at(library.span()), ..Diagnostic::new(Trouble::Value, message) });
        }
    }
    (found, problems)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn settings_name_folders_and_what_is_wrong_is_shown_at_its_place() {
        let home = tempfile::tempdir().expect("a folder");
        for folder in ["a", "b # c"] {
            std::fs::create_dir(home.path().join(folder)).expect("made");
        }
        let file = home.path().join(SETTINGS);
        let read = |text: &str| {
            std::fs::write(&file, text).expect("written");
            let (found, problems) = named_in(&file);
            let found: Vec<String> =
                found.iter().filter_map(|path| Some(path.file_name()?.to_string_lossy().into_owned())).collect();
            let folder = home.path().display().to_string();
            let shown: Vec<String> = problems
                .iter()
                .map(|problem| problem.render(crate::script::diagnostic::Color::No).replace(&folder, "HOME"))
                .collect();
            (found, shown.join("\n"))
        };
        assert_eq!(
            read("# ours\nlibrary = [\n  \"a\", # one\n  'b # c',\n]\n"),
            (vec!["a".into(), "b # c".into()], String::new())
        );
        assert_eq!(read(""), (Vec::new(), String::new()));
        let wrong = [
            "# ours\nlibary = [\"a\"]",
            "library = \"a\"",
            "library = [a]",
            "library = [\"a\"] x",
            "library = [\n  \"a\",\n  \"none\",\n]",
            "é = 1",
            "library = [\"é",
        ];
        insta::assert_snapshot!(wrong.map(|text| read(text).1).join("\n\n"));
    }

    #[test]
    fn the_nearest_settings_above_a_study_count() {
        let home = tempfile::tempdir().expect("a folder");
        let study = home.path().join("gardens/willow");
        std::fs::create_dir_all(&study).expect("made");
        std::fs::create_dir(home.path().join("stock")).expect("made");
        assert_eq!(libraries(&study, &[]), Vec::<PathBuf>::new());
        std::fs::write(home.path().join(SETTINGS), "library = [\"stock\", \"none\"]").expect("written");
        let real = home.path().canonicalize().expect("a path");
        assert_eq!(libraries(&study, &[]), [real.join("stock")]);
        assert_eq!(libraries(&study, std::slice::from_ref(&study)), [study.clone(), real.join("stock")]);
    }
}
