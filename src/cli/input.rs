//! The text of a study, and what is said where it cannot be read.

use crate::files::{FileError, read_text_or_pipe};
use crate::nearest::did_you_mean;
use crate::told::Told;
use crate::visible::visible;
use std::io::{self, Read, Write};
use std::path::Path;

/// The name and the text of a study, from standard input for `-`; nothing, and it is said, where it cannot be read.
pub fn study_text(file: &Path) -> io::Result<Option<(String, String)>> {
    if file == Path::new("-") {
        let mut source = String::new();
        io::stdin().read_to_string(&mut source)?;
        return Ok(Some(("standard input".to_string(), source)));
    }
    Ok(read_study(file).map(|source| (file.display().to_string(), source)))
}

/// The text of a study; nothing, and it is said, where it cannot be read.
pub fn read_study(file: &Path) -> Option<String> {
    read_text_or_pipe(file).map_err(|error| say_problem(&error.to_string(), &missing_hint(file, &error))).ok()
}

pub fn say_problem(message: &str, hint: &str) {
    let _ = writeln!(io::stderr(), "hosewright: {}", visible(message));
    if !hint.is_empty() {
        let _ = writeln!(io::stderr(), "  {}", visible(hint));
    }
}

/// The names beside a missing file that look like it.
pub fn missing_hint(file: &Path, error: &FileError) -> String {
    if file.is_dir() {
        return format!("give a study in it, such as {}", file.join("study.rhai").display());
    }
    if file.exists() {
        return match error {
            FileError::NotText { .. } => "save it again as plain text in UTF-8 from your editor".into(),
            other => other.hint().unwrap_or_default(),
        };
    }
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let name = file.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let names: Vec<String> =
        entries.map(|entry| entry.file_name().to_string_lossy().into_owned()).filter(|other| *other != name).collect();
    let scripts = names.iter().map(String::as_str).filter(|name| name.ends_with(".rhai"));
    let nothing = || match folder == Path::new(".") {
        true => "there is no such file in this folder; hosewright new writes a first study".into(),
        false => format!("there is no such file in {}", folder.display()),
    };
    did_you_mean(&name, scripts).unwrap_or_else(nothing)
}
