//! Files in and out. What is written appears whole or not at all.

use std::fmt::{Display, Formatter};
use std::fs::{self, File};
use std::io::{self, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};

/// Why a file or folder could not be read or written.
#[derive(Debug)]
pub struct FileError {
    /// What was tried: "read", "write", "make the folder".
    action: &'static str,
    path: PathBuf,
    cause: io::Error,
}

impl Display for FileError {
    fn fmt(&self, formatter: &mut Formatter<'_>) -> std::fmt::Result {
        write!(formatter, "cannot {} {}: ", self.action, self.path.display())?;
        match self.cause.kind() {
            ErrorKind::NotFound => formatter.write_str("there is no such file or folder"),
            ErrorKind::PermissionDenied => formatter.write_str("permission is denied"),
            ErrorKind::IsADirectory => formatter.write_str("it is a folder; a file is wanted"),
            ErrorKind::NotADirectory | ErrorKind::AlreadyExists => {
                formatter.write_str("a part of the path is a file; a folder is wanted")
            }
            ErrorKind::StorageFull => formatter.write_str("the disk is full"),
            ErrorKind::ReadOnlyFilesystem => formatter.write_str("the disk can only be read"),
            _ => self.cause.fmt(formatter),
        }
    }
}

impl std::error::Error for FileError {}

fn because(action: &'static str, path: &Path) -> impl FnOnce(io::Error) -> FileError {
    let path = path.to_owned();
    move |cause| FileError { action, path, cause }
}

/// Reads a file of at most `most` bytes.
///
/// # Errors
/// Whatever keeps it from being read, and a file that is longer.
pub fn read(path: &Path, most: u64) -> Result<Vec<u8>, FileError> {
    let read = || {
        let mut bytes = Vec::new();
        File::open(path)?.take(most.saturating_add(1)).read_to_end(&mut bytes)?;
        if bytes.len() as u64 > most {
            let words = format!("it is larger than allowed, which is {most} bytes");
            return Err(io::Error::new(ErrorKind::FileTooLarge, words));
        }
        Ok(bytes)
    };
    read().map_err(because("read", path))
}

/// Makes a folder and those above it; one that exists already is left as it is.
///
/// # Errors
/// Whatever keeps it from being made.
pub fn make_folder(path: &Path) -> Result<(), FileError> {
    fs::create_dir_all(path).map_err(because("make the folder", path))
}

/// Writes a file: first beside its place under another name, then into its place in one step. A file
/// that was there stays whole until then, and for good if anything goes wrong.
///
/// # Errors
/// Whatever keeps it from being written; nothing is left behind then.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), FileError> {
    write_whole_by(path, |file| file.write_all(bytes))
}

/// The same for a file that is too large to be held in memory: `fill` writes it.
///
/// # Errors
/// Whatever keeps it from being written, and whatever `fill` gives; nothing is left behind then.
pub fn write_whole_by(
    path: &Path,
    fill: impl FnOnce(&mut File) -> io::Result<()>,
) -> Result<(), FileError> {
    let write = || {
        let folder = match path.parent() {
            Some(folder) if !folder.as_os_str().is_empty() => folder,
            _ => Path::new("."),
        };
        // Opened by hand, so that it gets the rights of any other new file.
        let new = |path: &Path| File::options().write(true).create_new(true).open(path);
        let mut file = tempfile::Builder::new().prefix(".strewn-").make_in(folder, new)?;
        fill(file.as_file_mut())?;
        file.as_file().sync_all()?;
        file.persist(path).map_err(|error| error.error)?;
        Ok(())
    };
    write().map_err(because("write", path))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let names = fs::read_dir(folder).unwrap();
        names.map(|entry| entry.unwrap().file_name().into_string().unwrap()).collect()
    }

    #[test]
    fn a_file_is_replaced_as_a_whole() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("page");
        write_whole(&path, b"first, and longer").unwrap();
        write_whole(&path, b"second").unwrap();
        assert_eq!(read(&path, 6).unwrap(), b"second");
        assert_eq!(names(folder.path()), ["page"]);
    }

    #[test]
    fn a_failure_leaves_nothing_behind() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("page");
        make_folder(&path).unwrap();
        let told = write_whole(&path, b"hay").unwrap_err().to_string();
        assert!(told.contains("page: it is a folder; a file is wanted"), "{told}");
        assert_eq!(names(folder.path()), ["page"]);
    }

    #[test]
    fn a_file_that_is_too_large_is_not_read() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("page");
        write_whole(&path, b"hay").unwrap();
        let told = read(&path, 2).unwrap_err().to_string();
        assert!(told.contains("larger than allowed, which is 2 bytes"), "{told}");
    }
}
