//! Sentences out of the bytes of a serial line.

use crate::wires::Sentence;

/// Cuts NMEA 0183 sentences out of a stream of bytes.
///
/// A sentence begins with `$` and ends before carriage return or line feed. One that is longer than a
/// sentence can be is dropped whole; what it says and whether its checksum is right, floor 1 judges.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Framer {
    sentence: Sentence,
    within: bool,
    dropped: u32,
}

impl Framer {
    /// At the start of a stream, which may be the middle of a sentence.
    #[must_use]
    pub const fn new() -> Self {
        Self { sentence: Sentence::new(), within: false, dropped: 0 }
    }

    /// Takes one byte, from the interrupt of the line; gives the sentence that it ends. A `$` begins a
    /// new sentence even if the last one has not ended.
    pub fn take(&mut self, byte: u8) -> Option<Sentence> {
        match byte {
            b'$' => {
                self.drop_rest();
                self.within = true;
                // One byte always fits in an empty sentence.
                let _ = self.sentence.push(byte);
                None
            }
            b'\r' | b'\n' if self.within => {
                self.within = false;
                Some(core::mem::take(&mut self.sentence))
            }
            _ if self.within => {
                if self.sentence.push(byte).is_err() {
                    self.drop_rest();
                }
                None
            }
            _ => None,
        }
    }

    /// Takes the line's word that bytes were lost: what was begun is dropped.
    pub fn on_error(&mut self) {
        self.drop_rest();
    }

    /// How many sentences were begun and dropped; saturates.
    #[must_use]
    pub const fn dropped(&self) -> u32 {
        self.dropped
    }

    fn drop_rest(&mut self) {
        if self.within {
            self.dropped = self.dropped.saturating_add(1);
        }
        self.within = false;
        self.sentence.clear();
    }
}
