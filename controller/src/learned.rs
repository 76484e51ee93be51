//! Beside the floors: what was learned, as bytes that outlast power-off.
//!
//! ```text
//! words    0        1         2..19    19     20
//!          version  settings  account  valve  CRC-32 of all before
//! ```
//! Words are 32 bits with the low byte first. A board keeps the bytes when a bale is over or a row has
//! ended, in a store such as `drivers::store`, and hands them to
//! [`State::with_learned`](crate::step::State::with_learned) at power-on. What is not whole, is of
//! another version or was learned under other settings is refused: the controller then starts without.

use crate::estimate::{ACCOUNT_WORDS, Account};
use crate::metering::MOST_LEARNED;
use crate::record::{CRC, digest};
use crate::settings::{Config, MeteringConfig, SafetyConfig};
use crate::units::Duty;

/// The record's version; another one is another crate's.
const VERSION: u32 = 1;
const WORD: usize = 4;
/// Bytes of a record.
pub const LEARNED_BYTES: usize = 84;
const _: () = assert!(LEARNED_BYTES == (ACCOUNT_WORDS + 4) * WORD);

/// What a controller has learned.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Learned {
    /// Of lots and of the bale in hand.
    pub hay: Account,
    /// Of the valve: what its command is corrected by.
    pub valve: Duty,
}

/// Why bytes are not taken for what was learned.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum LearnedError {
    /// There are more or fewer than [`LEARNED_BYTES`], or they do not sum to their checksum.
    Damaged,
    /// They are of another version.
    Version,
    /// They were learned under other settings.
    Settings,
    /// A number in them is none that can be learned.
    Range,
}

/// Tells settings apart under which something else is learned. Target and safety do not count: neither
/// another rate nor another limit makes what hay and valve have taught wrong.
#[must_use]
pub fn settings_digest(config: &Config) -> u32 {
    let MeteringConfig { target_g_per_m, .. } = MeteringConfig::TYPICAL;
    let metering = MeteringConfig { target_g_per_m, ..config.metering };
    digest(0, &Config { metering, safety: SafetyConfig::TYPICAL, ..config.clone() })
}

impl Learned {
    /// As bytes, learned under settings of this [`settings_digest`].
    #[must_use]
    pub fn to_bytes(&self, settings: u32) -> [u8; LEARNED_BYTES] {
        let account = self.hay.to_words();
        let words = [VERSION.cast_signed(), settings.cast_signed()].into_iter().chain(account);
        let words = words.chain([self.valve.to_bits()]);
        let mut bytes = [0; LEARNED_BYTES];
        let Some((body, checksum)) = bytes.split_last_chunk_mut::<WORD>() else { return bytes };
        for (place, word) in body.as_chunks_mut::<WORD>().0.iter_mut().zip(words) {
            *place = word.to_le_bytes();
        }
        *checksum = CRC.checksum(body).to_le_bytes();
        bytes
    }

    /// From bytes, for settings of this [`settings_digest`].
    ///
    /// # Errors
    /// [`LearnedError`] for any that are not wholly to be believed.
    pub fn from_bytes(bytes: &[u8], settings: u32) -> Result<Self, LearnedError> {
        let whole: &[u8; LEARNED_BYTES] = bytes.try_into().map_err(|_| LearnedError::Damaged)?;
        let (body, checksum) = whole.split_last_chunk::<WORD>().ok_or(LearnedError::Damaged)?;
        if CRC.checksum(body) != u32::from_le_bytes(*checksum) {
            return Err(LearnedError::Damaged);
        }
        let mut words = body.as_chunks::<WORD>().0.iter().map(|word| i32::from_le_bytes(*word));
        if words.next() != Some(VERSION.cast_signed()) {
            return Err(LearnedError::Version);
        }
        if words.next() != Some(settings.cast_signed()) {
            return Err(LearnedError::Settings);
        }
        let mut account = [0; ACCOUNT_WORDS];
        account.iter_mut().zip(&mut words).for_each(|(place, word)| *place = word);
        let hay = Account::from_words(account).ok_or(LearnedError::Range)?;
        let valve = words.next().map(Duty::from_bits).ok_or(LearnedError::Range)?;
        let sound = valve.magnitude() <= MOST_LEARNED;
        if sound { Ok(Self { hay, valve }) } else { Err(LearnedError::Range) }
    }
}
