//! Files that are being written: beside their place until they are whole, and gone with whoever wrote them.
//!
//! Each is held by a lock of the system that ends with its process. So one that nobody holds was left by a process that was
//! killed, and the next start takes it away.

use super::error::{FileError, failed_write};
use super::held::Held;
use super::place::{Place, keep_withheld, writes_are_withheld};
use std::collections::{BTreeMap, BTreeSet};
use std::ffi::{OsStr, OsString};
use std::fs::{File, TryLockError};
use std::io::{self, Write};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Names of unfinished files: this, sixteen hexadecimal digits, and the ending.
const BEGIN: &str = ".hosewright-";
const ENDING: &str = ".unfinished";
/// Names that are tried; a random one that is taken is rare enough.
const MOST_TRIES: usize = 16;

/// The unfinished files of this process, by name.
static BEGUN: Mutex<BTreeMap<OsString, Arc<Held>>> = Mutex::new(BTreeMap::new());
/// Folders that were swept up since the start.
static SWEPT: Mutex<BTreeSet<(u64, u64)>> = Mutex::new(BTreeSet::new());

fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A file that is put in its place when it is whole; dropped before, it leaves nothing.
pub struct Unfinished {
    /// Nothing where writes are withheld.
    file: Option<File>,
    /// What is written instead where they are.
    withheld: Vec<u8>,
    name: OsString,
    place: Place,
}

impl Unfinished {
    /// Begins a file for that place. Errors: the folder cannot be written.
    pub fn begin(place: &Place) -> Result<Unfinished, FileError> {
        let mut begun = Unfinished { file: None, withheld: Vec::new(), name: OsString::new(), place: place.clone() };
        if !writes_are_withheld() {
            sweep_up_once(&place.folder);
            let (file, name) = create(&place.folder).map_err(|error| failed_write(&place.path, &error))?;
            (begun.file, begun.name) = (Some(file), name);
        }
        Ok(begun)
    }

    /// Puts the file in its place, where it is whole from then on, also if the power fails, unless its place says otherwise.
    ///
    /// Errors: the reason of the operating system.
    pub fn finish(mut self) -> Result<(), FileError> {
        let Some(file) = self.file.take() else {
            keep_withheld(&self.place.path, std::mem::take(&mut self.withheld));
            return Ok(());
        };
        let put = self.put(&file);
        if put.is_err() {
            self.file = Some(file); // Dropped with it, it is taken away.
        }
        put.map_err(|error| failed_write(&self.place.path, &error))
    }

    fn put(&self, file: &File) -> io::Result<()> {
        let Place { folder, name, waits, .. } = &self.place;
        folder.copy_rights(name, file)?;
        // Without this the new name could be on the disk before what it stands for.
        if *waits {
            file.sync_all()?;
        }
        let mut begun = locked(&BEGUN);
        folder.rename(&self.name, name)?;
        begun.remove(&self.name);
        drop(begun);
        if *waits { folder.sync() } else { Ok(()) }
    }
}

impl Drop for Unfinished {
    fn drop(&mut self) {
        if self.file.is_some() && locked(&BEGUN).remove(&self.name).is_some() {
            let _ = self.place.folder.remove(&self.name); // The next start tries again.
        }
    }
}

impl Write for Unfinished {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        match &mut self.file {
            Some(file) => file.write(bytes),
            None => self.withheld.write(bytes),
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.as_mut().map_or(Ok(()), File::flush)
    }
}

/// Makes an unfinished file that is held by this process.
fn create(folder: &Arc<Held>) -> io::Result<(File, OsString)> {
    for _ in 0..MOST_TRIES {
        let name = OsString::from(format!("{BEGIN}{:016x}{ENDING}", getrandom::u64().map_err(io::Error::other)?));
        let mut begun = locked(&BEGUN);
        let file = match folder.create(&name) {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => continue,
            file => file?,
        };
        let held = match file.try_lock() {
            // Somebody who sweeps up was quicker than the lock, and takes the file away.
            Err(TryLockError::WouldBlock) => false,
            // On a file system without locks it is never swept up.
            Ok(()) | Err(TryLockError::Error(_)) => folder.is_called(&name, &file),
        };
        if held {
            begun.insert(name.clone(), folder.clone());
            return Ok((file, name));
        }
    }
    Err(io::ErrorKind::AlreadyExists.into())
}

/// Takes away all unfinished files of this process, which ends: from now on whoever begins or finishes one waits for the end.
pub fn abandon() {
    let begun = locked(&BEGUN);
    for (name, folder) in begun.iter() {
        let _ = folder.remove(name);
    }
    std::mem::forget(begun);
}

/// Takes away what killed processes of this program left in a folder, the first time that it is asked for.
pub(super) fn sweep_up_once(folder: &Held) {
    if folder.identity().is_none_or(|identity| locked(&SWEPT).insert(identity)) {
        sweep_up(folder);
    }
}

fn sweep_up(folder: &Held) {
    let names = folder.names().unwrap_or_default();
    for name in names.iter().filter(|name| is_ours(name)) {
        // Opened by name, it may be anything; only a file of ours that no living process holds is taken away.
        let Ok(file) = folder.look_at(name) else { continue };
        if is_plain(&file) && file.try_lock().is_ok() && folder.is_called(name, &file) {
            let _ = folder.remove(name);
        }
    }
}

fn is_ours(name: &OsStr) -> bool {
    let middle = name.to_str().and_then(|name| name.strip_prefix(BEGIN)?.strip_suffix(ENDING));
    middle.is_some_and(|middle| middle.len() == 16 && middle.bytes().all(|byte| matches!(byte, b'0'..=b'9' | b'a'..=b'f')))
}

/// True for a file with one name that belongs to the user of this process.
fn is_plain(file: &File) -> bool {
    let Ok(found) = file.metadata() else { return false };
    #[cfg(unix)]
    {
        use std::os::unix::fs::MetadataExt;
        found.is_file() && found.nlink() == 1 && found.uid() == rustix::process::geteuid().as_raw()
    }
    #[cfg(not(unix))]
    found.is_file()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    fn entries(folder: &Path) -> Vec<String> {
        let entries = std::fs::read_dir(folder).expect("a folder");
        let mut names: Vec<String> = entries.map(|entry| entry.expect("an entry").file_name().to_string_lossy().into()).collect();
        names.sort();
        names
    }

    #[test]
    fn what_nobody_holds_is_swept_up_and_nothing_else() {
        let home = tempfile::tempdir().expect("a folder");
        let left = format!("{BEGIN}0123456789abcdef{ENDING}");
        let others = [
            ".hosewright-notes.txt".to_string(),
            format!("{BEGIN}0123456789ABCDEF{ENDING}"),
            format!("{BEGIN}0123456789abcde{ENDING}"),
            format!("{BEGIN}0123456789abcdef{ENDING}.txt"),
            format!("x{BEGIN}0123456789abcdef{ENDING}"),
        ];
        for name in others.iter().chain([&left]) {
            std::fs::write(home.path().join(name), "x").expect("written");
        }
        let folder_of_that_name = format!("{BEGIN}00000000000000aa{ENDING}");
        std::fs::create_dir(home.path().join(&folder_of_that_name)).expect("made");
        let place = Place::at(&home.path().join("a.txt")).expect("a place");
        let mut mine = Unfinished::begin(&place).expect("begun");
        mine.write_all(b"x").expect("written");
        // Of this very process, and held: another process would leave it as well.
        sweep_up(&place.folder);
        let now = entries(home.path());
        assert_eq!(now.len(), others.len() + 2, "{now:?}");
        assert!(!now.contains(&left) && others.iter().all(|other| now.contains(other)), "{now:?}");
        mine.finish().expect("finished");
        assert!(entries(home.path()).contains(&"a.txt".to_string()));
    }

    #[cfg(unix)]
    #[test]
    fn links_and_pipes_of_such_a_name_are_left_alone() {
        let (home, elsewhere) = (tempfile::tempdir().expect("a folder"), tempfile::tempdir().expect("a folder"));
        let name = |digit: u8| format!("{BEGIN}000000000000000{digit}{ENDING}");
        std::fs::write(elsewhere.path().join("keep"), "x").expect("written");
        std::os::unix::fs::symlink(elsewhere.path().join("keep"), home.path().join(name(1))).expect("linked");
        std::fs::write(home.path().join("keep"), "x").expect("written");
        std::fs::hard_link(home.path().join("keep"), home.path().join(name(2))).expect("linked");
        let made = std::process::Command::new("mkfifo").arg(home.path().join(name(3))).status().expect("mkfifo");
        assert!(made.success());
        sweep_up(&Held::open(home.path()).expect("a folder"));
        assert_eq!(entries(home.path()), [name(1), name(2), name(3), "keep".into()]);
        assert_eq!(entries(elsewhere.path()), ["keep"]);
    }
}
