//! Where old entries are kept between sessions: one a line, the oldest first.
//!
//! Each is added in one piece as soon as it is entered, so shells beside each other and a killed one lose nothing.

use crate::files::{Place, append_private, write_atomically};
use std::env;
use std::path::{Path, PathBuf};

/// Entries that are kept.
pub const MOST_ENTRIES: usize = 10_000;

/// The first line of the file: its form, in which a backslash stands before a backslash and for a line end.
const FORM: &str = "#V2";

/// The file of old entries.
pub struct History {
    path: PathBuf,
}

impl History {
    /// The history file: `HOSEWRIGHT_HISTORY` if set (empty means none), else in the user's data folder; its folder is made.
    pub fn find() -> Option<History> {
        let path = match env::var_os("HOSEWRIGHT_HISTORY") {
            Some(path) if path.is_empty() => return None,
            Some(path) => PathBuf::from(path),
            None => data_folder()?.join("hosewright").join("history"),
        };
        if let Some(folder) = path.parent() {
            std::fs::create_dir_all(folder).ok()?;
        }
        Some(History { path })
    }

    /// The newest entries; a file that has grown to twice as many is cut down to them.
    pub fn load(&self) -> Vec<String> {
        // Where an entry is no text, the others still are.
        let bytes = std::fs::read(&self.path).unwrap_or_default();
        let text = String::from_utf8_lossy(&bytes);
        let lines: Vec<&str> = text.lines().filter(|line| !line.is_empty() && *line != FORM).collect();
        let newest = &lines[lines.len().saturating_sub(MOST_ENTRIES)..];
        if lines.len() >= 2 * MOST_ENTRIES {
            let whole = std::iter::once(FORM).chain(newest.iter().copied()).map(|line| format!("{line}\n")).collect::<String>();
            // A history that cannot be written must not stop the work.
            drop(Place::at(&self.path).and_then(|place| write_atomically(&place, whole.as_bytes())));
        }
        newest.iter().map(|line| entry(line)).collect()
    }

    /// Adds an entry.
    pub fn add(&self, entry: &str) {
        let form = if is_empty(&self.path) { format!("{FORM}\n") } else { String::new() };
        drop(append_private(&self.path, format!("{form}{}\n", line(entry)).as_bytes())); // As above.
    }
}

fn is_empty(path: &Path) -> bool {
    std::fs::metadata(path).map_or(true, |file| file.len() == 0)
}

fn line(entry: &str) -> String {
    entry.replace('\\', "\\\\").replace('\n', "\\n")
}

fn entry(line: &str) -> String {
    let mut entry = String::with_capacity(line.len());
    let mut letters = line.chars();
    while let Some(letter) = letters.next() {
        match letter {
            '\\' => match letters.next() {
                Some('n') => entry.push('\n'),
                Some(other) => entry.push(other),
                None => entry.push('\\'),
            },
            other => entry.push(other),
        }
    }
    entry
}

/// The user's data folder by the XDG base directory specification.
fn data_folder() -> Option<PathBuf> {
    let set = env::var_os("XDG_DATA_HOME").map(PathBuf::from).filter(|path| path.is_absolute());
    set.or_else(|| Some(env::home_dir()?.join(".local").join("share")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn entries_come_back_and_a_bad_one_costs_no_other() {
        let home = tempfile::tempdir().expect("a folder");
        let history = History { path: home.path().join("history") };
        assert!(history.load().is_empty());
        history.add("let a = \"\\n\";\na");
        append_private(&history.path, b"\xff\xfe\n").expect("written");
        history.add("1 + 1");
        let entries = history.load();
        assert_eq!((entries[0].as_str(), entries[2].as_str(), entries.len()), ("let a = \"\\n\";\na", "1 + 1", 3));
    }

    #[test]
    fn ten_thousand_entries_are_kept_and_the_file_does_not_grow_without_end() {
        let home = tempfile::tempdir().expect("a folder");
        let history = History { path: home.path().join("history") };
        let many: String = (0..25_000).map(|n| format!("{n}\n")).collect();
        append_private(&history.path, format!("{FORM}\n{many}").as_bytes()).expect("written");
        for _ in 0..2 {
            let entries = history.load();
            assert_eq!((entries.len(), entries[0].as_str(), entries[9_999].as_str()), (10_000, "15000", "24999"));
        }
        assert_eq!(std::fs::read_to_string(&history.path).expect("there").lines().count(), 10_001);
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode = std::fs::metadata(&history.path).expect("there").permissions().mode();
            assert_eq!(mode & 0o777, 0o600, "only its user may read it");
        }
    }
}
