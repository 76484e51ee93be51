//! Reading a log, every sum proved.

use super::{CRC, Header, MAGIC, VERSION, sum_of};
use crc::Digest;
use strewn_controller::record::{RecordError, frame};

/// Why a file is not a whole log.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum LogError {
    /// It does not begin as a log does.
    #[error("this is not a log of strewn")]
    NotALog,
    /// It is a log, of a version that is not read.
    #[error("the log has version {0}; allowed is {VERSION}")]
    OtherVersion(u16),
    /// Its header is cut or changed.
    #[error("the header of the log is damaged")]
    HeaderDamaged,
    /// It ends too early.
    #[error("the log is cut off in tick {0}")]
    Truncated(usize),
    /// A tick is changed, or the end, which says that ticks are missing or in another order.
    #[error("the log is damaged at tick {0}")]
    Damaged(usize),
    /// Something follows the end.
    #[error("the log is followed by {0} bytes that do not belong to it")]
    Trailing(usize),
}

/// A whole log, every sum proved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Log<'a> {
    /// What it says of the run.
    pub header: Header,
    /// The ticks in their order.
    pub ticks: Vec<&'a [u8]>,
}

impl<'a> Log<'a> {
    /// Reads a log.
    ///
    /// # Errors
    /// The first place where it is not whole; ticks are counted from 1, the end counts as one.
    pub fn read(bytes: &'a [u8]) -> Result<Self, LogError> {
        let mut cursor = Cursor { bytes, at: 0, sum: CRC.digest() };
        if cursor.take(MAGIC.len()) != Some(&MAGIC) {
            return Err(LogError::NotALog);
        }
        match cursor.u16() {
            Some(VERSION) => {}
            Some(other) => return Err(LogError::OtherVersion(other)),
            None => return Err(LogError::HeaderDamaged),
        }
        let header = read_header(&mut cursor).ok_or(LogError::HeaderDamaged)?;
        let mut ticks = Vec::new();
        loop {
            let number = ticks.len() + 1;
            if cursor.rest().starts_with(&[0, 0]) {
                break read_end(&mut cursor, ticks.len())?;
            }
            match frame(cursor.rest()) {
                Ok(tick) => {
                    cursor.at += tick.len();
                    cursor.sum.update(sum_of(tick));
                    ticks.push(tick);
                }
                Err(RecordError::Short) => return Err(LogError::Truncated(number)),
                Err(_) => return Err(LogError::Damaged(number)),
            }
        }
        match bytes.len() - cursor.at {
            0 => Ok(Self { header, ticks }),
            more => Err(LogError::Trailing(more)),
        }
    }
}

fn read_header(cursor: &mut Cursor<'_>) -> Option<Header> {
    let length = cursor.u32()?;
    let end = cursor.at.checked_add(usize::try_from(length).ok()?)?;
    let low = cursor.u32()?;
    let high = cursor.u32()?;
    let mut part = || {
        let length = usize::try_from(cursor.u32()?).ok()?;
        cursor.take(length).map(<[u8]>::to_vec)
    };
    let scenario = String::from_utf8(part()?).ok()?;
    let configuration = part()?;
    let sum = cursor.sum();
    let whole = cursor.at == end && cursor.u32()? == sum;
    whole.then_some(Header {
        scenario,
        seed: u64::from(high) << 32 | u64::from(low),
        configuration,
    })
}

fn read_end(cursor: &mut Cursor<'_>, ticks: usize) -> Result<(), LogError> {
    let cut = LogError::Truncated(ticks + 1);
    let _ = cursor.u16().ok_or(cut)?;
    let count = cursor.u32().ok_or(cut)?;
    let sum = cursor.sum();
    let whole = cursor.u32().ok_or(cut)? == sum && usize::try_from(count) == Ok(ticks);
    if whole { Ok(()) } else { Err(LogError::Damaged(ticks + 1)) }
}

/// Walks over bytes and sums them up.
struct Cursor<'a> {
    bytes: &'a [u8],
    at: usize,
    sum: Digest<'static, u32>,
}

impl<'a> Cursor<'a> {
    fn rest(&self) -> &'a [u8] {
        self.bytes.get(self.at..).unwrap_or_default()
    }

    fn take(&mut self, length: usize) -> Option<&'a [u8]> {
        let end = self.at.checked_add(length)?;
        let taken = self.bytes.get(self.at..end)?;
        self.sum.update(taken);
        self.at = end;
        Some(taken)
    }

    fn u16(&mut self) -> Option<u16> {
        self.take(2)?.try_into().ok().map(u16::from_le_bytes)
    }

    fn u32(&mut self) -> Option<u32> {
        self.take(4)?.try_into().ok().map(u32::from_le_bytes)
    }

    fn sum(&self) -> u32 {
        self.sum.clone().finalize()
    }
}
