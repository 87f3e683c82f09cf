//! Where old entries are kept between sessions.

use std::env;
use std::path::PathBuf;

/// The history file: `HOSEWRIGHT_HISTORY` if set (empty means none), else in the user's data folder; its folder is made.
pub fn file() -> Option<PathBuf> {
    let path = match env::var_os("HOSEWRIGHT_HISTORY") {
        Some(path) if path.is_empty() => return None,
        Some(path) => PathBuf::from(path),
        None => data_folder()?.join("hosewright").join("history"),
    };
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder).ok()?;
    }
    Some(path)
}

/// The user's data folder by the XDG base directory specification.
fn data_folder() -> Option<PathBuf> {
    let set = env::var_os("XDG_DATA_HOME").map(PathBuf::from).filter(|path| path.is_absolute());
    set.or_else(|| Some(env::home_dir()?.join(".local").join("share")))
}
