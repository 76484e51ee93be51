//! Logs through both at once: the emulator lays the ticks into the board's store before it starts, so that
//! no serial line is waited for.

use super::{Board, BoardError};
use crate::bench::configuration;
use crate::bench::log::Log;
use std::ffi::OsString;
use std::io::Write;
use std::path::Path;
use std::thread;
use strewn_link::message::{Answer, Order};
use strewn_link::run::{self, Tally, Uncounted};
use tempfile::NamedTempFile;

/// Where the board's store begins.
const STORE: &str = "0x21000000";

/// Lets the board make every tick of a log, and the library the same, and compares the digest of every
/// output and of the whole state after every tick. Gives the board's tally.
///
/// # Errors
/// Digests that differ; a log that is not whole or larger than the board's store, 16 MiB; a board that
/// fails.
pub fn recorded(image: &Path, log: &[u8]) -> Result<Tally, BoardError> {
    let config = configuration(log)?;
    let settings = config.build()?;
    let ticks = Log::read(log)?.ticks.concat();
    let mut file = NamedTempFile::new().map_err(BoardError::Store)?;
    file.write_all(&ticks).map_err(BoardError::Store)?;
    let mut loader = OsString::from("loader,force-raw=on,addr=");
    loader.push(STORE);
    loader.push(",file=");
    loader.push(file.path());
    let words = [OsString::from("-device"), loader];
    let (mut board, _) = Board::start_with(image, Path::new("/dev/null"), &words)?;
    let Answer::Ready(_) = board.order(&Order::Set(config))? else {
        return Err(BoardError::Refused);
    };
    let bytes = u32::try_from(ticks.len()).map_err(|_| BoardError::Refused)?;
    // The library works while the board does.
    let library = thread::spawn(move || {
        let mut tally = Tally::new();
        run::replay(&settings, &ticks, &mut Uncounted, &mut tally).map(|()| tally)
    });
    let answer = board.order(&Order::Replay { bytes })?;
    let library = library.join().map_err(|_| BoardError::Silent)?;
    match (answer, library) {
        (Answer::Ran(tally), Ok(library))
            if (tally.steps, tally.digest) == (library.steps, library.digest) =>
        {
            Ok(tally)
        }
        (Answer::Ran(tally), _) => Err(BoardError::RecordDiffers(tally.steps)),
        _ => Err(BoardError::Refused),
    }
}
