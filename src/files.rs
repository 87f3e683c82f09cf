//! Writing files so that nothing is lost, and keeping scripts inside their own folder. Whoever writes a file does it by way of this.
//!
//! - `held`: a folder that is held open
//! - `unfinished`: files that are being written, and what is left of them where a process was killed
//! - `place`: where a file is to be written, `error`: why it could not be
//! - here: the folder of a script, places in it, reading and writing
//!
//! Knows nothing of what the files hold. What is read is in `read`.

mod error;
mod held;
mod place;
mod read;
mod unfinished;

pub use error::{FileError, plain_reason};
pub use place::{Place, withhold_writes};
pub use read::{read_bytes, read_in_pieces, read_text, read_text_or_pipe, text_of};
pub use unfinished::{Unfinished, abandon};

use crate::nearest::did_you_mean;
use error::{failed_read, failed_write};
use held::Held;
use place::writes_are_withheld;
use std::collections::BTreeSet;
use std::fs;
use std::io::Write;
use std::path::{Component, Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

/// The folder a script may read from and write to.
#[derive(Clone, Debug)]
pub struct Folder {
    root: PathBuf,
    /// Folders that are read where a file is not in this one; never written.
    libraries: Arc<[PathBuf]>,
    /// Files that were read from libraries.
    borrowed: Arc<Mutex<BTreeSet<PathBuf>>>,
}

impl Folder {
    /// The folder at `root`, which need not exist yet.
    pub fn new(root: impl Into<PathBuf>) -> Folder {
        let root = root.into();
        let root = if root.as_os_str().is_empty() { PathBuf::from(".") } else { root };
        Folder { root, libraries: Arc::default(), borrowed: Arc::default() }
    }

    /// The same folder with others that are read, in this order, where a file is not in it.
    pub fn with_libraries(self, libraries: Vec<PathBuf>) -> Folder {
        Folder { libraries: libraries.into(), ..self }
    }

    /// The libraries.
    pub fn libraries(&self) -> &[PathBuf] {
        &self.libraries
    }

    /// The files that were read from libraries until now, in order.
    pub fn borrowed(&self) -> Vec<PathBuf> {
        self.borrowed.lock().unwrap_or_else(PoisonError::into_inner).iter().cloned().collect()
    }

    /// The path that a file is read from: in this folder, else in the first library that has it. Errors: those of [`Folder::file`].
    pub fn found(&self, name: &str) -> Result<PathBuf, FileError> {
        let own = self.file(name)?;
        if own.exists() {
            return Ok(own);
        }
        Ok(self.library_with(name).map_or(own, |library| library.join(name)))
    }

    /// The first library that has a file.
    fn library_with(&self, name: &str) -> Option<&PathBuf> {
        self.libraries.iter().find(|library| Folder::new(*library).file(name).is_ok_and(|path| path.exists()))
    }

    /// Where the folder is.
    pub fn root(&self) -> &Path {
        &self.root
    }

    /// The path of a file in this folder.
    ///
    /// Errors: an empty name, an absolute path, a `..`, or a link that leads outside are refused.
    pub fn file(&self, name: &str) -> Result<PathBuf, FileError> {
        if name.trim().is_empty() {
            return Err(FileError::NoName);
        }
        if name.contains(char::is_control) {
            return Err(FileError::BadName { name: name.escape_debug().to_string() });
        }
        let outside = || FileError::Outside { name: name.to_string() };
        let relative = Path::new(name);
        if relative.components().any(|part| !matches!(part, Component::Normal(_) | Component::CurDir)) {
            return Err(outside());
        }
        let path = self.root.join(relative);
        // A link inside the folder must not lead out of it: compare what exists of the path with the real folder.
        let real_root = self.root.canonicalize().unwrap_or_else(|_| self.root.clone());
        let existing = path.ancestors().find_map(|ancestor| ancestor.canonicalize().ok());
        if existing.is_some_and(|real| !real.starts_with(&real_root) && !real_root.starts_with(&real)) {
            return Err(outside());
        }
        Ok(path)
    }

    /// The place of a file to be written. Its folder is held open: should a name on the way become a link to elsewhere meanwhile,
    /// the file does not go there.
    ///
    /// Errors: those of [`Folder::file`], a folder that is not there.
    pub fn place(&self, name: &str) -> Result<Place, FileError> {
        let path = self.file(name)?;
        let failed = |error| failed_write(&path, &error);
        let Some(last) = path.file_name() else { return Err(FileError::BadName { name: name.into() }) };
        let (root, below) = self.real(name, path.parent().unwrap_or(&self.root), failed)?;
        Ok(Place { folder: Arc::new(root.below(&below).map_err(failed)?), name: last.into(), path: path.clone(), waits: true })
    }

    /// Reads a file of this folder whole. Links that stay inside are followed as they are at the beginning: if a name on the
    /// way becomes another link meanwhile, nothing is read through it.
    ///
    /// Errors: those of [`Folder::file`] and [`read_bytes`].
    pub fn read(&self, name: &str) -> Result<Vec<u8>, FileError> {
        let path = self.file(name)?;
        if let Some(bytes) = place::withheld(&path) {
            return Ok(bytes);
        }
        if !path.exists()
            && let Some(library) = self.library_with(name)
        {
            let bytes = Folder::new(library).read(name)?;
            self.borrowed.lock().unwrap_or_else(PoisonError::into_inner).insert(library.join(name));
            return Ok(bytes);
        }
        if !path.exists()
            && let Some(meant) = self.alike(name)
        {
            return Err(FileError::Misspelled { path: path.display().to_string(), meant });
        }
        let (root, below) = self.real(name, &path, |error| failed_read(&path, &error))?;
        let file = match (below.parent(), below.file_name()) {
            (Some(folder), Some(last)) => root.below(folder).and_then(|folder| folder.look_at(last)),
            _ => Err(std::io::ErrorKind::IsADirectory.into()),
        };
        read::bytes_of(file, &path)
    }

    /// Reads a text file of this folder, as [`read_text`] does. Errors: those of [`Folder::read`]; it is not a text in UTF-8.
    pub fn read_text(&self, name: &str) -> Result<String, FileError> {
        text_of(self.read(name)?, &self.root.join(name))
    }

    /// The names of what lies in a folder below this one, in order. Errors: those of [`Folder::file`], no such folder.
    pub fn names(&self, name: &str) -> Result<Vec<String>, FileError> {
        let path = self.file(name)?;
        let failed = |error| failed_read(&path, &error);
        let (root, below) = self.real(name, &path, failed)?;
        let found = root.below(&below).and_then(|folder| folder.names()).map_err(failed)?;
        let mut names: Vec<String> = found.into_iter().filter_map(|name| name.into_string().ok()).collect();
        names.sort();
        Ok(names)
    }

    /// The files beside one that is not there whose names look like it, as the end of a sentence.
    fn alike(&self, name: &str) -> Option<String> {
        let (folder, last) = name.rsplit_once('/').unwrap_or((".", name));
        let names = self.names(folder).ok()?;
        let shown = names.iter().map(String::as_str).filter(|other| !other.starts_with('.'));
        did_you_mean(last, shown)
    }

    /// This folder, held open, and the names without links that lead from it to what the path of a name stands for now.
    ///
    /// Errors: it leads outside; whatever `failed` makes of those of the system.
    fn real(
        &self,
        name: &str,
        path: &Path,
        failed: impl Fn(std::io::Error) -> FileError + Copy,
    ) -> Result<(Held, PathBuf), FileError> {
        let root = self.root.canonicalize().map_err(failed)?;
        let real = path.canonicalize().map_err(failed)?;
        let below = real.strip_prefix(&root).map_err(|_| FileError::Outside { name: name.into() })?;
        Ok((Held::open(&root).map_err(failed)?, below.to_path_buf()))
    }

    /// Takes away what killed runs of this program left in the folder.
    pub fn sweep_up(&self) {
        if let (Ok(held), false) = (Held::open(&self.root), writes_are_withheld()) {
            unfinished::sweep_up_once(&held);
        }
    }
}

/// Writes a file whole or not at all: an old file of that name survives a failed write.
///
/// Errors: [`FileError::Failed`] with the reason of the operating system.
pub fn write_atomically(place: &Place, bytes: &[u8]) -> Result<(), FileError> {
    let mut file = Unfinished::begin(place)?;
    file.write_all(bytes).map_err(|error| failed_write(place.path(), &error))?;
    file.finish()
}

/// Adds bytes to the end of a file that only its user may read, in one piece; it is made where there is none.
///
/// Errors: [`FileError::Failed`] with the reason of the operating system.
pub fn append_private(path: &Path, bytes: &[u8]) -> Result<(), FileError> {
    let mut options = fs::OpenOptions::new();
    options.append(true).create(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path).and_then(|mut file| file.write_all(bytes)).map_err(|error| failed_write(path, &error))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::{AtomicBool, Ordering};

    #[test]
    fn paths_that_leave_the_folder_are_refused() {
        let home = tempfile::tempdir().expect("a folder");
        let folder = Folder::new(home.path());
        for bad in ["../x.csv", "/etc/passwd", "a/../../x", ""] {
            assert!(folder.file(bad).is_err(), "{bad}");
        }
        assert!(folder.file("tables/x.csv").is_ok());
    }

    #[cfg(unix)]
    #[test]
    fn a_link_that_leads_outside_is_refused() {
        let home = tempfile::tempdir().expect("a folder");
        let elsewhere = tempfile::tempdir().expect("a folder");
        std::os::unix::fs::symlink(elsewhere.path(), home.path().join("way-out")).expect("a link");
        assert!(Folder::new(home.path()).file("way-out/x.csv").is_err());
    }

    fn write(path: &Path, bytes: &[u8]) -> Result<(), FileError> {
        write_atomically(&Place::at(path)?, bytes)
    }

    #[test]
    fn an_old_file_survives_a_failed_write() {
        let home = tempfile::tempdir().expect("a folder");
        let path = home.path().join("keep.txt");
        write(&path, b"old").expect("the first write");
        assert!(write(&home.path().join("no-such-folder/keep.txt"), b"new").is_err());
        fs::create_dir(home.path().join("folder")).expect("made");
        assert!(write(&home.path().join("folder"), b"new").is_err(), "a folder is not written over");
        assert_eq!(read_text(&path).expect("still there"), "old");
        write(&path, b"new").expect("the second write");
        assert_eq!(read_text(&path).expect("replaced"), "new");
        assert_eq!(fs::read_dir(home.path()).expect("a folder").count(), 2, "nothing is left beside");
    }

    #[test]
    fn a_library_is_read_where_the_folder_lacks_a_file_and_never_written() {
        let (home, library) = (tempfile::tempdir().expect("a folder"), tempfile::tempdir().expect("a folder"));
        for (place, name) in [(&library, "both.csv"), (&library, "theirs.csv"), (&home, "both.csv")] {
            fs::write(place.path().join(name), place.path().display().to_string()).expect("written");
        }
        let folder = Folder::new(home.path()).with_libraries(vec![library.path().to_path_buf()]);
        let from = |name: &str| folder.read_text(name).map(PathBuf::from).ok();
        assert_eq!(from("both.csv").as_deref(), Some(home.path()));
        assert_eq!(folder.borrowed(), Vec::<PathBuf>::new());
        assert_eq!(from("theirs.csv").as_deref(), Some(library.path()));
        assert_eq!(folder.borrowed(), [library.path().join("theirs.csv")]);
        assert_eq!(folder.found("theirs.csv").expect("found"), library.path().join("theirs.csv"));
        assert_eq!(from("none.csv"), None);
        assert!(folder.read("../both.csv").is_err(), "a library is no way out");
        write_atomically(&folder.place("theirs.csv").expect("a place"), b"ours").expect("written");
        assert_eq!(from("theirs.csv").as_deref(), Some(Path::new("ours")));
        assert_eq!(
            fs::read_to_string(library.path().join("theirs.csv")).ok().map(PathBuf::from).as_deref(),
            Some(library.path())
        );
    }

    #[test]
    fn names_without_a_last_part_are_no_places() {
        let home = tempfile::tempdir().expect("a folder");
        for name in [".", "./", "a/..", "", "/"] {
            assert!(Folder::new(home.path()).place(name).is_err(), "{name}");
        }
        assert!(Folder::new(home.path()).place("./a.csv").is_ok());
    }

    #[cfg(unix)]
    #[test]
    fn a_file_keeps_its_rights() {
        use std::os::unix::fs::PermissionsExt;
        let home = tempfile::tempdir().expect("a folder");
        let path = home.path().join("a.txt");
        write(&path, b"old").expect("written");
        fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).expect("set");
        write(&path, b"new").expect("written");
        assert_eq!(fs::metadata(&path).expect("there").permissions().mode() & 0o777, 0o640);
    }

    /// What comes of something done this often while another program makes a folder a link to elsewhere and back. It must not panic.
    #[cfg(unix)]
    fn while_it_flips<T>(times: usize, folder: &Path, elsewhere: &Path, work: impl Fn() -> Option<T>) -> Vec<T> {
        let aside = folder.with_extension("aside");
        let over = AtomicBool::new(false);
        std::thread::scope(|scope| {
            scope.spawn(|| {
                while !over.load(Ordering::Relaxed) {
                    fs::rename(folder, &aside).expect("put aside");
                    std::os::unix::fs::symlink(elsewhere, folder).expect("linked");
                    std::thread::yield_now();
                    fs::remove_file(folder).expect("the link");
                    fs::rename(&aside, folder).expect("back");
                    std::thread::yield_now();
                }
            });
            let done = (0..times).filter_map(|_| work()).collect();
            over.store(true, Ordering::Relaxed);
            done
        })
    }

    #[cfg(unix)]
    #[test]
    fn a_link_that_is_changed_during_a_read_shows_nothing_from_outside() {
        let (home, elsewhere) = (tempfile::tempdir().expect("a folder"), tempfile::tempdir().expect("a folder"));
        let sub = home.path().join("sub");
        fs::create_dir(&sub).expect("made");
        for (place, text) in [(sub.as_path(), "ours"), (elsewhere.path(), "theirs")] {
            fs::write(place.join("a.csv"), text).expect("written");
        }
        let folder = Folder::new(home.path());
        let read = while_it_flips(10_000, &sub, elsewhere.path(), || folder.read("sub/a.csv").ok());
        assert!(!read.is_empty(), "some reads fall into a quiet moment");
        assert!(read.iter().all(|bytes| bytes == b"ours"));
    }

    #[cfg(unix)]
    #[test]
    fn links_that_stay_inside_are_read_and_what_is_no_file_is_told() {
        use std::os::unix::fs::symlink;
        let home = tempfile::tempdir().expect("a folder");
        fs::create_dir_all(home.path().join("sub/deep")).expect("made");
        fs::write(home.path().join("sub/deep/a.csv"), "a").expect("written");
        symlink("sub/deep", home.path().join("way")).expect("linked");
        symlink("../way/a.csv", home.path().join("sub/b.csv")).expect("linked");
        let folder = Folder::new(home.path());
        for name in ["sub/deep/a.csv", "./way/a.csv", "sub/b.csv"] {
            assert_eq!(folder.read_text(name).expect(name), "a");
        }
        for (name, says) in [(".", "it is a folder"), ("way", "it is a folder"), ("sub/none", "no such file or folder")] {
            let error = folder.read(name).unwrap_err().to_string();
            assert!(error.starts_with("cannot read '") && error.ends_with(says), "{error}");
        }
        assert!(folder.names("way").expect("a folder").contains(&"a.csv".to_string()));
    }

    #[cfg(unix)]
    #[test]
    fn a_link_that_is_changed_during_a_save_leads_nothing_outside() {
        let (home, elsewhere) = (tempfile::tempdir().expect("a folder"), tempfile::tempdir().expect("a folder"));
        let sub = home.path().join("sub");
        fs::create_dir(&sub).expect("made");
        let folder = Folder::new(home.path());
        let save = || write_atomically(&folder.place("sub/a.csv").ok()?, b"a\n").ok();
        let saved = while_it_flips(400, &sub, elsewhere.path(), save);
        assert!(!saved.is_empty(), "some saves fall into a quiet moment");
        assert_eq!(fs::read_dir(elsewhere.path()).expect("a folder").count(), 0);
        // Where the folder is put aside during a save, the file goes with it, and nothing unfinished is left.
        assert_eq!(fs::read_dir(&sub).expect("a folder").count(), 1);
    }
}
