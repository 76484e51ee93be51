//! The log of a run: what the controller saw and did in every tick, in one file.
//!
//! ```text
//! magic     8 bytes   "strewn", carriage return, line feed: shows a transfer as text
//! version   u16
//! header    u32 length, then: seed u64, scenario (u32 length, text), configuration (u32 length)
//! sum       u32       CRC of everything before
//! tick      u16 length, 1 to 4,096, then that many bytes; u16: low half of the CRC of everything
//!           before; as often as there were ticks
//! end       u16 zero, u32 count of ticks, u32 CRC of everything before
//! ```
//!
//! All numbers have the low byte first; the CRC is CRC-32/ISO-HDLC, run on from the first byte of the
//! file. A tick is opaque here: the controller's record room writes and reads it.

use crc::{CRC_32_ISO_HDLC, Crc, Digest, Table};
use std::io::{self, Write};

const MAGIC: [u8; 8] = *b"strewn\r\n";
const VERSION: u16 = 2;
/// Longest header, bytes.
const LONGEST_HEADER: usize = 1 << 20;
/// Longest tick, bytes.
const LONGEST_TICK: usize = 4_096;
/// Sixteen bytes at a time: a log is written in every tick of many runs.
type Tables = Table<16>;
static CRC: Crc<u32, Tables> = Crc::<u32, Tables>::new(&CRC_32_ISO_HDLC);

/// What a log says of its run as a whole.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Header {
    /// Name of the scenario.
    pub scenario: String,
    /// Seed of the run.
    pub seed: u64,
    /// The controller's configuration, in the bytes that its settings room writes and reads.
    pub configuration: Vec<u8>,
}

/// Writes a log, tick by tick.
pub struct LogWriter<W: Write> {
    out: W,
    sum: Digest<'static, u32, Tables>,
    ticks: u32,
}

impl<W: Write> LogWriter<W> {
    /// Starts a log.
    ///
    /// # Errors
    /// Those of `out`, and a header above 1 MiB.
    pub fn new(out: W, header: &Header) -> io::Result<Self> {
        let mut body = header.seed.to_le_bytes().to_vec();
        for part in [header.scenario.as_bytes(), &header.configuration] {
            body.extend(length(part, LONGEST_HEADER)?.to_le_bytes());
            body.extend(part);
        }
        let mut writer = Self { out, sum: CRC.digest(), ticks: 0 };
        writer.put(&MAGIC)?;
        writer.put(&VERSION.to_le_bytes())?;
        writer.put(&length(&body, LONGEST_HEADER)?.to_le_bytes())?;
        writer.put(&body)?;
        writer.put(&writer.sum().to_le_bytes())?;
        Ok(writer)
    }

    /// Adds a tick.
    ///
    /// # Errors
    /// Those of `out`, and a tick of no bytes or above 4,096.
    pub fn tick(&mut self, tick: &[u8]) -> io::Result<()> {
        let length = u16::try_from(length(tick, LONGEST_TICK)?).unwrap_or(u16::MAX);
        if length == 0 {
            return Err(io::Error::new(io::ErrorKind::InvalidInput, "a tick without bytes"));
        }
        self.put(&length.to_le_bytes())?;
        self.put(tick)?;
        self.put(&low_half(self.sum()))?;
        self.ticks += 1;
        Ok(())
    }

    /// Ends the log and hands the sink back.
    ///
    /// # Errors
    /// Those of `out`.
    pub fn finish(mut self) -> io::Result<W> {
        let end = self.end()?;
        self.put(&end)?;
        self.out.flush()?;
        Ok(self.out)
    }

    /// Hands everything so far to the sink's keeper and gives the bytes that would end the log here: a
    /// copy of the log with them is whole, and the log goes on.
    ///
    /// # Errors
    /// Those of `out`.
    pub fn end(&mut self) -> io::Result<Vec<u8>> {
        self.out.flush()?;
        let mut end = 0u16.to_le_bytes().to_vec();
        end.extend(self.ticks.to_le_bytes());
        let mut sum = self.sum.clone();
        sum.update(&end);
        end.extend(sum.finalize().to_le_bytes());
        Ok(end)
    }

    fn put(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.sum.update(bytes);
        self.out.write_all(bytes)
    }

    fn sum(&self) -> u32 {
        self.sum.clone().finalize()
    }
}

fn length(part: &[u8], longest: usize) -> io::Result<u32> {
    match u32::try_from(part.len()) {
        Ok(length) if part.len() <= longest => Ok(length),
        _ => Err(io::Error::new(io::ErrorKind::InvalidInput, "a part too long for a log")),
    }
}

fn low_half(sum: u32) -> [u8; 2] {
    let [low, high, ..] = sum.to_le_bytes();
    [low, high]
}

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
    /// A tick or the end is changed.
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
            let length = cursor.u16().ok_or(LogError::Truncated(number))?;
            match usize::from(length) {
                0 => break read_end(&mut cursor, ticks.len())?,
                length if length > LONGEST_TICK => return Err(LogError::Damaged(number)),
                length => {
                    let tick = cursor.take(length).ok_or(LogError::Truncated(number))?;
                    let sum = low_half(cursor.sum());
                    let given = cursor.take(2).ok_or(LogError::Truncated(number))?;
                    if given != sum {
                        return Err(LogError::Damaged(number));
                    }
                    ticks.push(tick);
                }
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
    let count = cursor.u32().ok_or(cut)?;
    let sum = cursor.sum();
    let whole = cursor.u32().ok_or(cut)? == sum && usize::try_from(count) == Ok(ticks);
    if whole { Ok(()) } else { Err(LogError::Damaged(ticks + 1)) }
}

/// Walks over bytes and sums them up.
struct Cursor<'a> {
    bytes: &'a [u8],
    at: usize,
    sum: Digest<'static, u32, Tables>,
}

impl<'a> Cursor<'a> {
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
