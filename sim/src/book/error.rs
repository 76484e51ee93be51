//! Why the book refuses or fails, in one sentence each.

use super::day::{Clock, Day};
use rusqlite::ErrorCode;
use rusqlite::ffi::SQLITE_IOERR_SHMSIZE;

/// Why an act on a book was refused or failed. In either case nothing was changed.
#[derive(Debug, thiserror::Error)]
pub enum BookError {
    /// No file, or one that nothing was ever written to.
    #[error("there is no book here yet; `strewn book add` begins one")]
    NoBook,
    /// The file is something else.
    #[error("this is not a book of strewn")]
    NotABook,
    /// A later program wrote it.
    #[error("the book has version {0}; this program knows version {1}")]
    OtherVersion(u32, u32),
    /// The number of an entry that does not exist or was struck out.
    #[error("the book has no entry {0}; `strewn book list` shows all of them")]
    NoEntry(u32),
    /// Left before entered.
    #[error("`left` is {left}; allowed is {entered}, when the place was entered, or later")]
    LeftBeforeEntered {
        /// When it was entered.
        entered: Clock,
        /// When it was left.
        left: Clock,
    },
    /// A time of leaving alone says nothing.
    #[error("`left` is given without `entered`; both or neither are allowed")]
    LeftButNeverEntered,
    /// A look before the feeding.
    #[error("`day` of the look is {look}; allowed is {fed}, the day of the feeding, or later")]
    LookedTooEarly {
        /// Day of the look.
        look: Day,
        /// Day of the feeding.
        fed: Day,
    },
    /// More found than fed.
    #[error(
        "refusal and residue are {found_lb} lb in all; allowed is up to {fed_lb} lb, what was fed"
    )]
    FoundMoreThanFed {
        /// Refusal and residue, lb.
        found_lb: f64,
        /// Hay fed, lb.
        fed_lb: f64,
    },
    /// A feeding that is in the book already.
    #[error("entry {number} says already: {words}; if it was fed twice, say --again")]
    KnownFeeding {
        /// The entry.
        number: u32,
        /// What was fed.
        words: String,
    },
    /// A log that is in the book already.
    #[error("this log is in the book already, as entry {0}")]
    KnownLog(u32),
    /// A correction that corrects nothing.
    #[error("nothing was given to correct; name at least one field, or --strike")]
    NothingToCorrect,
    /// No room for what was to be written.
    #[error("the disk is full; nothing was changed")]
    Full,
    /// The operating system refused to read or write.
    #[error("the disk refused to read or write ({0}); nothing was changed")]
    Disk(String),
    /// Somebody else writes and does not end.
    #[error("another program has held the book for {0} s; nothing was changed, try again")]
    Busy(u64),
    /// The file or its folder cannot be opened.
    #[error("the book cannot be opened: its folder is missing, or permission is denied")]
    CannotOpen,
    /// It can be read, not written.
    #[error("the book cannot be written: permission is denied")]
    ReadOnly,
    /// The file is not what was once written.
    #[error("the book is damaged ({0}); go back to a copy of it")]
    Damaged(String),
    /// Anything else.
    #[error("the book failed: {0}")]
    Other(String),
}

impl BookError {
    /// Whether what was asked for was wrong, rather than the disk or the moment.
    #[must_use]
    pub fn is_input(&self) -> bool {
        !matches!(
            self,
            Self::Full | Self::Disk(_) | Self::Busy(_) | Self::Damaged(_) | Self::Other(_)
        )
    }
}

impl From<rusqlite::Error> for BookError {
    fn from(error: rusqlite::Error) -> Self {
        let words = error.to_string();
        // What readers and writers share lies in a file of its own; no room for that is no room.
        if error.sqlite_error().is_some_and(|error| error.extended_code == SQLITE_IOERR_SHMSIZE) {
            return Self::Full;
        }
        match error.sqlite_error_code() {
            Some(ErrorCode::DiskFull) => Self::Full,
            Some(ErrorCode::SystemIoFailure) => Self::Disk(words),
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => {
                Self::Busy(super::store::PATIENCE.as_secs())
            }
            Some(ErrorCode::NotADatabase) => Self::NotABook,
            Some(ErrorCode::DatabaseCorrupt) => Self::Damaged(words),
            Some(ErrorCode::CannotOpen) => Self::CannotOpen,
            Some(ErrorCode::ReadOnly) => Self::ReadOnly,
            _ => Self::Other(words),
        }
    }
}
