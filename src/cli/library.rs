//! Folders from which a study may read besides its own: those of `--library`, and those that a file `hosewright.toml` beside the study
//! or above names.

use super::input::say_problem;
use crate::files::read_text;
use std::path::{Path, PathBuf};

/// The file that names libraries.
const SETTINGS: &str = "hosewright.toml";

/// The libraries of a study in that folder: first those given, then those of the nearest file of settings. A folder that is not there
/// is named and left out.
pub fn libraries(folder: &Path, given: &[PathBuf]) -> Vec<PathBuf> {
    let folder = if folder.as_os_str().is_empty() { Path::new(".") } else { folder };
    let above = folder.canonicalize().unwrap_or_else(|_| folder.to_path_buf());
    let settings = above.ancestors().map(|folder| folder.join(SETTINGS)).find(|file| file.is_file());
    let mut found = given.to_vec();
    if let Some(file) = settings {
        let named = read_text(&file).map_err(|error| error.to_string()).and_then(|text| named(&text));
        match named {
            Ok(names) => found.extend(names.iter().map(|name| file.parent().unwrap_or(Path::new(".")).join(name))),
            Err(error) => say_problem(&format!("{}: {error}", file.display()), "write library = [\"../stock\"]"),
        }
    }
    found.retain(|library| {
        let is_there = library.is_dir();
        if !is_there {
            say_problem(&format!("there is no library folder {}", library.display()), "");
        }
        is_there
    });
    found
}

/// The folders that a file of settings names: `library = ["a", "b"]`, over several lines if need be, and comments after `#`.
///
/// Errors: anything else.
fn named(text: &str) -> Result<Vec<String>, String> {
    let lines = text.lines().map(|line| line.split_once('#').map_or(line, |(line, _)| line));
    let text = lines.collect::<Vec<_>>().join(" ");
    let Some((name, rest)) = text.split_once('=') else {
        return if text.trim().is_empty() { Ok(Vec::new()) } else { Err(format!("'{}' is no setting", text.trim())) };
    };
    if name.trim() != "library" {
        return Err(format!("there is no setting '{}'", name.trim()));
    }
    let inside =
        rest.trim().strip_prefix('[').and_then(|rest| rest.strip_suffix(']')).ok_or("a list in [ ] must follow library =")?;
    let items = inside.split(',').map(str::trim).filter(|item| !item.is_empty());
    items
        .map(|item| {
            let quoted = item.strip_prefix('"').and_then(|item| item.strip_suffix('"')).filter(|item| !item.contains('"'));
            quoted.map(String::from).ok_or_else(|| format!("{item} must be a folder in quotes"))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn settings_name_folders_and_nothing_else() {
        let folders = ["a", "../b"].map(String::from).to_vec();
        assert_eq!(named("# ours\nlibrary = [\n  \"a\", # one\n  \"../b\",\n]\n"), Ok(folders));
        assert_eq!(named(""), Ok(Vec::new()));
        for wrong in ["library", "lib = [\"a\"]", "library = \"a\"", "library = [a]", "library = [\"a\"] x"] {
            assert!(named(wrong).is_err(), "{wrong}");
        }
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
