//! The file: begun, opened, recognised.

use super::BookError;
use rusqlite::{Connection, OpenFlags, Transaction, TransactionBehavior};
use std::path::Path;
use std::time::Duration;

/// How long to wait for another program that writes.
pub(super) const PATIENCE: Duration = Duration::from_secs(20);
/// Between two tries where the file itself cannot make us wait.
const BETWEEN_TRIES: Duration = Duration::from_millis(20);
/// "strn" as a number, in the file's header.
const APPLICATION: u32 = 0x7374_726E;
const VERSION: u32 = 1;
const SCHEMA: &str = include_str!("schema.sql");

/// An open book.
pub struct Book {
    connection: Connection,
}

impl Book {
    /// Opens a book that exists.
    ///
    /// # Errors
    /// No book, something else than a book, and whatever keeps the file from being opened.
    pub fn open(path: &Path) -> Result<Self, BookError> {
        match path.metadata() {
            Ok(file) if file.is_file() && file.len() > 0 => {}
            Ok(file) if file.is_dir() => return Err(BookError::NotABook),
            _ => return Err(BookError::NoBook),
        }
        let connection = connect(path, OpenFlags::SQLITE_OPEN_READ_WRITE)?;
        match stamps(&connection)? {
            (APPLICATION, VERSION) => Ok(Self { connection }),
            (APPLICATION, version) => Err(BookError::OtherVersion(version, VERSION)),
            // Begun, and killed before anything was written.
            (0, 0) if is_blank(&connection)? => Err(BookError::NoBook),
            _ => Err(BookError::NotABook),
        }
    }

    /// Opens a book, or begins one where there is none.
    ///
    /// # Errors
    /// As [`Book::open`], but for no book.
    pub fn open_or_begin(path: &Path) -> Result<Self, BookError> {
        match Self::open(path) {
            Err(BookError::NoBook) => Self::begin(path),
            other => other,
        }
    }

    /// Two programs may begin the same book at once: the second finds it begun.
    fn begin(path: &Path) -> Result<Self, BookError> {
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE;
        let mut connection = connect(path, flags)?;
        let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
        if stamps(&transaction)? == (0, 0) && is_blank(&transaction)? {
            transaction.execute_batch(SCHEMA)?;
            transaction.pragma_update(None, "application_id", APPLICATION)?;
            transaction.pragma_update(None, "user_version", VERSION)?;
        }
        transaction.commit()?;
        drop(connection);
        Self::open(path)
    }

    /// Proves the whole file.
    ///
    /// # Errors
    /// [`BookError::Damaged`] with what is wrong.
    pub fn prove(&self) -> Result<(), BookError> {
        let found: String =
            self.connection.query_row("PRAGMA integrity_check", (), |row| row.get(0))?;
        if found == "ok" { Ok(()) } else { Err(BookError::Damaged(found)) }
    }

    /// For reading.
    pub(super) fn reader(&self) -> &Connection {
        &self.connection
    }

    /// For one act. It takes the right to write at once, so that what it reads still holds when it
    /// writes; dropped without a commit it changes nothing.
    pub(super) fn act(&mut self) -> Result<Transaction<'_>, BookError> {
        Ok(self.connection.transaction_with_behavior(TransactionBehavior::Immediate)?)
    }
}

fn connect(path: &Path, flags: OpenFlags) -> Result<Connection, BookError> {
    let connection = Connection::open_with_flags(path, flags | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
    connection.busy_timeout(PATIENCE)?;
    write_ahead(&connection)?;
    // Every commit is on the disk before it is confirmed.
    connection.pragma_update(None, "synchronous", "FULL")?;
    Ok(connection)
}

/// Writes ahead to a log of its own: readers and a writer do not keep each other waiting. The change
/// to it, once a file, does not wait for others by itself.
fn write_ahead(connection: &Connection) -> Result<(), BookError> {
    let mut waited = Duration::ZERO;
    loop {
        let mode: Result<String, BookError> = connection
            .pragma_update_and_check(None, "journal_mode", "WAL", |row| row.get(0))
            .map_err(BookError::from);
        match mode {
            Err(BookError::Busy(_)) if waited < PATIENCE => {
                std::thread::sleep(BETWEEN_TRIES);
                waited += BETWEEN_TRIES;
            }
            other => return other.map(|_| ()),
        }
    }
}

/// Application and version that a file's header names.
fn stamps(connection: &Connection) -> Result<(u32, u32), BookError> {
    let read = |name| connection.pragma_query_value(None, name, |row| row.get(0));
    Ok((read("application_id")?, read("user_version")?))
}

fn is_blank(connection: &Connection) -> Result<bool, BookError> {
    Ok(connection.query_row("SELECT count(*) = 0 FROM sqlite_schema", (), |row| row.get(0))?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::Stock;

    #[test]
    fn a_full_disk_is_told_and_changes_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("book");
        let mut book = Book::open_or_begin(&path).unwrap();
        let pages: i64 =
            book.connection.query_row("PRAGMA page_count", (), |row| row.get(0)).unwrap();
        // The file may not grow: the same failure as of a disk without room.
        book.connection.pragma_update_and_check(None, "max_page_count", pages, |_| Ok(())).unwrap();
        let day = "2025-01-10".parse().unwrap();
        let stock = |number: usize| Stock {
            day,
            lot: format!("lot {number} {}", "x".repeat(40)),
            bales: 1.0,
            weight_lb: 1_000.0,
        };
        let full = (0..10_000).find_map(|number| {
            let told = book.count_stock(&stock(number)).err()?;
            Some((number, told.to_string()))
        });
        let (number, told) = full.unwrap();
        assert_eq!(told, "the disk is full; nothing was changed");
        book.prove().unwrap();
        assert_eq!(book.stock().unwrap().len(), number);
    }

    #[test]
    fn what_was_written_cannot_be_overwritten() {
        let folder = tempfile::tempdir().unwrap();
        let mut book = Book::open_or_begin(&folder.path().join("book")).unwrap();
        let day = "2025-01-10".parse().unwrap();
        let stock = Stock { day, lot: "meadow".to_owned(), bales: 1.0, weight_lb: 1_000.0 };
        book.count_stock(&stock).unwrap();
        for act in ["UPDATE stock SET bales = 2", "DELETE FROM stock"] {
            let told = book.connection.execute(act, ()).unwrap_err().to_string();
            assert!(told.contains("nothing in a book is changed"), "{told}");
        }
        assert_eq!(book.stock().unwrap(), [stock]);
    }

    #[test]
    fn other_files_are_no_books() {
        let folder = tempfile::tempdir().unwrap();
        let path = |name: &str| folder.path().join(name);
        let told = |name: &str| match Book::open_or_begin(&path(name)) {
            Ok(_) => String::new(),
            Err(error) => error.to_string(),
        };
        std::fs::write(path("hay"), "hay, and more hay, and even more hay".repeat(100)).unwrap();
        assert_eq!(told("hay"), "this is not a book of strewn");
        let other = Connection::open(path("other")).unwrap();
        other.execute_batch("CREATE TABLE cow(name TEXT)").unwrap();
        assert_eq!(told("other"), "this is not a book of strewn");
        let later = Connection::open(path("later")).unwrap();
        later.pragma_update(None, "application_id", APPLICATION).unwrap();
        later.pragma_update(None, "user_version", 7).unwrap();
        assert_eq!(told("later"), "the book has version 7; this program knows version 1");
        assert!(told("none/book").contains("its folder is missing"));
        assert!(matches!(Book::open(&path("none")), Err(BookError::NoBook)));
        assert!(!path("none").exists());
    }
}
