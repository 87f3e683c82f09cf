//! A folder that is held open: what is done in it stays in it, wherever its name leads meanwhile.
//!
//! On Unix all is done by way of the open folder. Elsewhere by its path, as the system there keeps a folder that is in use.

#[cfg(unix)]
pub(super) use unix::{Held, open_regular};

#[cfg(not(unix))]
pub(super) use elsewhere::{Held, open_regular};

/// Why anything else than a regular file or a folder is not read: a named pipe or a device would be waited for without end.
pub(super) const NOT_REGULAR: &str = "it is a pipe, a device or a socket, not a file that can be read whole";

#[cfg(unix)]
mod unix {
    use super::NOT_REGULAR;
    use rustix::fs::{
        AtFlags, Dir, FileType, Mode, OFlags, RawMode, fstat, fsync, open, openat, renameat, stat, statat, unlinkat,
    };
    use rustix::io::Errno;
    use std::ffi::{OsStr, OsString};
    use std::fs::File;
    use std::io;
    use std::os::fd::OwnedFd;
    use std::os::unix::ffi::OsStrExt;
    use std::path::Path;

    const FOLDER: OFlags = OFlags::RDONLY.union(OFlags::DIRECTORY).union(OFlags::CLOEXEC);
    /// Whatever has come to stand there meanwhile is not waited for.
    const TO_READ: OFlags = OFlags::RDONLY.union(OFlags::NONBLOCK).union(OFlags::CLOEXEC);

    /// Opens a file to read it; links are followed. Errors: anything else than a regular file, which is not even opened.
    pub fn open_regular(path: &Path) -> io::Result<File> {
        regular(stat(path)?.st_mode)?;
        still_regular(open(path, TO_READ, Mode::empty())?)
    }

    fn regular(mode: RawMode) -> io::Result<()> {
        match FileType::from_raw_mode(mode) {
            FileType::RegularFile => Ok(()),
            FileType::Directory => Err(io::ErrorKind::IsADirectory.into()),
            _ => Err(io::Error::other(NOT_REGULAR)),
        }
    }

    /// Another program may have put something else there between the look and the opening.
    fn still_regular(file: OwnedFd) -> io::Result<File> {
        regular(fstat(&file)?.st_mode)?;
        Ok(file.into())
    }

    /// The folder.
    #[derive(Debug)]
    pub struct Held {
        folder: OwnedFd,
    }

    impl Held {
        /// Opens a folder; links on the way are followed.
        pub fn open(path: &Path) -> io::Result<Held> {
            Ok(Held { folder: open(path, FOLDER, Mode::empty())? })
        }

        /// Opens a folder below this one, by names without links: one that became a link meanwhile is refused.
        pub fn below(self, names: &Path) -> io::Result<Held> {
            names.iter().try_fold(self, |held, name| {
                Ok(Held { folder: openat(&held.folder, name, FOLDER | OFlags::NOFOLLOW, Mode::empty())? })
            })
        }

        /// Makes a file that did not exist, with the rights that new files have here.
        pub fn create(&self, name: &OsStr) -> io::Result<File> {
            let flags = OFlags::WRONLY | OFlags::CREATE | OFlags::EXCL | OFlags::NOFOLLOW | OFlags::CLOEXEC;
            Ok(openat(&self.folder, name, flags, Mode::from_raw_mode(0o666))?.into())
        }

        /// Opens a file to read it. Errors: anything else of that name, also a link, which is not even opened.
        pub fn look_at(&self, name: &OsStr) -> io::Result<File> {
            regular(statat(&self.folder, name, AtFlags::SYMLINK_NOFOLLOW)?.st_mode)?;
            still_regular(openat(&self.folder, name, TO_READ | OFlags::NOFOLLOW, Mode::empty())?)
        }

        /// True when the name stands for that very file.
        pub fn is_called(&self, name: &OsStr, file: &File) -> bool {
            let (Ok(named), Ok(open)) = (statat(&self.folder, name, AtFlags::SYMLINK_NOFOLLOW), fstat(file)) else {
                return false;
            };
            (named.st_dev, named.st_ino) == (open.st_dev, open.st_ino)
        }

        /// True when something has that name.
        pub fn has(&self, name: &OsStr) -> bool {
            statat(&self.folder, name, AtFlags::SYMLINK_NOFOLLOW).is_ok()
        }

        /// Gives a file the rights of the one that has that name, if there is one.
        pub fn copy_rights(&self, name: &OsStr, file: &File) -> io::Result<()> {
            let Ok(old) = statat(&self.folder, name, AtFlags::SYMLINK_NOFOLLOW) else { return Ok(()) };
            if regular(old.st_mode).is_ok() {
                rustix::fs::fchmod(file, Mode::from_raw_mode(old.st_mode & 0o777))?;
            }
            Ok(())
        }

        /// Renames a file, over another of that name.
        pub fn rename(&self, from: &OsStr, to: &OsStr) -> io::Result<()> {
            Ok(renameat(&self.folder, from, &self.folder, to)?)
        }

        pub fn remove(&self, name: &OsStr) -> io::Result<()> {
            Ok(unlinkat(&self.folder, name, AtFlags::empty())?)
        }

        /// The names of all that lies in it.
        pub fn names(&self) -> io::Result<Vec<OsString>> {
            let entries = Dir::read_from(&self.folder)?;
            entries.map(|entry| Ok(OsStr::from_bytes(entry?.file_name().to_bytes()).to_os_string())).collect()
        }

        /// Waits until the disk holds what was renamed, made and removed in it.
        pub fn sync(&self) -> io::Result<()> {
            match fsync(&self.folder) {
                // A file system that knows no such order for folders.
                Err(Errno::INVAL | Errno::NOTSUP) => Ok(()),
                other => Ok(other?),
            }
        }

        /// What distinguishes this folder from all others on the machine.
        pub fn identity(&self) -> Option<(u64, u64)> {
            fstat(&self.folder).ok().map(|found| (found.st_dev, found.st_ino))
        }
    }
}

#[cfg(not(unix))]
mod elsewhere {
    use super::NOT_REGULAR;
    use std::ffi::{OsStr, OsString};
    use std::fs::{self, File, Metadata, OpenOptions};
    use std::io;
    use std::path::{Path, PathBuf};

    pub fn open_regular(path: &Path) -> io::Result<File> {
        regular(&fs::metadata(path)?)?;
        let file = File::open(path)?;
        regular(&file.metadata()?)?;
        Ok(file)
    }

    fn regular(found: &Metadata) -> io::Result<()> {
        match found.is_dir() {
            true => Err(io::ErrorKind::IsADirectory.into()),
            false if found.is_file() => Ok(()),
            false => Err(io::Error::other(NOT_REGULAR)),
        }
    }

    /// The folder.
    #[derive(Debug)]
    pub struct Held {
        folder: PathBuf,
    }

    impl Held {
        pub fn open(path: &Path) -> io::Result<Held> {
            Ok(Held { folder: path.canonicalize()? })
        }

        pub fn below(self, names: &Path) -> io::Result<Held> {
            Ok(Held { folder: self.folder.join(names) })
        }

        pub fn create(&self, name: &OsStr) -> io::Result<File> {
            OpenOptions::new().write(true).create_new(true).open(self.folder.join(name))
        }

        pub fn look_at(&self, name: &OsStr) -> io::Result<File> {
            regular(&fs::symlink_metadata(self.folder.join(name))?)?;
            open_regular(&self.folder.join(name))
        }

        pub fn is_called(&self, _: &OsStr, _: &File) -> bool {
            true
        }

        pub fn has(&self, name: &OsStr) -> bool {
            self.folder.join(name).symlink_metadata().is_ok()
        }

        pub fn copy_rights(&self, _: &OsStr, _: &File) -> io::Result<()> {
            Ok(())
        }

        pub fn rename(&self, from: &OsStr, to: &OsStr) -> io::Result<()> {
            fs::rename(self.folder.join(from), self.folder.join(to))
        }

        pub fn remove(&self, name: &OsStr) -> io::Result<()> {
            fs::remove_file(self.folder.join(name))
        }

        pub fn names(&self) -> io::Result<Vec<OsString>> {
            fs::read_dir(&self.folder)?.map(|entry| Ok(entry?.file_name())).collect()
        }

        pub fn sync(&self) -> io::Result<()> {
            Ok(())
        }

        pub fn identity(&self) -> Option<(u64, u64)> {
            None
        }
    }
}
