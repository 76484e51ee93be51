//! The book: what was fed where, what was found there the day after, how much hay is left.
//!
//! One SQLite file. Nothing in it is ever changed or taken out: a correction is a further version of
//! an entry, and triggers in the file itself refuse anything else. Every act is one transaction that
//! is on the disk before it is confirmed, so that a killed program or a full disk costs nothing that
//! was confirmed, and two programs may write at once.
//!
//! | file | turns |
//! | --- | --- |
//! | `day`, `words` | text into days, times, names and numbers that are allowed |
//! | `feeding` | them into feedings, looks and stock |
//! | `store` | a path into an open book |
//! | `entries` | acts into transactions |
//! | `table` | a book into CSV and back |
//! | `from_log` | a controller's log into feedings |
//! | `summary` | entries into totals and days of hay left |

mod day;
mod entries;
mod error;
mod feeding;
mod from_log;
mod store;
mod summary;
mod table;
pub mod words;

pub use day::{Clock, Day};
pub use entries::Filter;
pub use error::BookError;
pub use feeding::{Entry, Feeding, Look, Stock, Version};
pub use from_log::{LogFeeding, LogFeedings, feedings};
pub use store::Book;
pub use summary::{By, HayLeft, LotLeft, Total, days_left, totals};
pub use table::{TableError, read_table, write_table};
pub use words::Allowed;
