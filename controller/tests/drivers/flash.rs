//! NOR flash in memory that loses its power at a chosen operation.

use embedded_storage::nor_flash::{
    ErrorType, NorFlash, NorFlashError, NorFlashErrorKind, ReadNorFlash,
};

/// Two slots and a neighbour before and after them that must not be touched.
pub(crate) const ERASE: usize = 1_024;
pub(crate) const PIECES: usize = 4;

/// The power is gone.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(crate) struct PowerCut;

impl NorFlashError for PowerCut {
    fn kind(&self) -> NorFlashErrorKind {
        NorFlashErrorKind::Other
    }
}

#[derive(Clone)]
pub(crate) struct Flash<const WRITE: usize> {
    pub(crate) bytes: [u8; ERASE * PIECES],
    /// Operations, each an erase or a write of one piece, until the power is cut within the next.
    pub(crate) left: Option<u64>,
    /// Operations done.
    pub(crate) done: u64,
    pub(crate) noise: Noise,
}

/// Bits that a cut leaves behind: Marsaglia, Xorshift RNGs, Journal of Statistical Software 8(14), 2003.
#[derive(Clone)]
pub(crate) struct Noise(pub(crate) u64);

impl Noise {
    pub(crate) fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    pub(crate) fn below(&mut self, end: u64) -> u64 {
        self.next() % end
    }

    fn byte(&mut self) -> u8 {
        self.next().to_le_bytes()[3]
    }
}

impl<const WRITE: usize> Flash<WRITE> {
    pub(crate) fn new(seed: u64) -> Self {
        Self { bytes: [0xFF; ERASE * PIECES], left: None, done: 0, noise: Noise(seed) }
    }

    /// Whether the power holds for one operation more.
    fn holds(&mut self) -> bool {
        match &mut self.left {
            Some(0) => return false,
            Some(left) => *left -= 1,
            None => {}
        }
        self.done += 1;
        true
    }
}

impl<const WRITE: usize> ErrorType for Flash<WRITE> {
    type Error = PowerCut;
}

impl<const WRITE: usize> ReadNorFlash for Flash<WRITE> {
    const READ_SIZE: usize = 1;

    fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), PowerCut> {
        let from = usize::try_from(offset).unwrap();
        bytes.copy_from_slice(&self.bytes[from..from + bytes.len()]);
        Ok(())
    }

    fn capacity(&self) -> usize {
        self.bytes.len()
    }
}

impl<const WRITE: usize> NorFlash for Flash<WRITE> {
    const WRITE_SIZE: usize = WRITE;
    const ERASE_SIZE: usize = ERASE;

    /// A cut leaves each byte as it was, erased, or anything.
    fn erase(&mut self, from: u32, to: u32) -> Result<(), PowerCut> {
        let (from, to) = (usize::try_from(from).unwrap(), usize::try_from(to).unwrap());
        assert!(
            from.is_multiple_of(ERASE) && to.is_multiple_of(ERASE) && from < to,
            "not whole pieces"
        );
        if self.holds() {
            self.bytes[from..to].fill(0xFF);
            return Ok(());
        }
        let kind = self.noise.below(4);
        for place in from..to {
            self.bytes[place] = match kind {
                0 => self.bytes[place],
                1 => self.noise.byte(),
                2 => self.bytes[place] | self.noise.byte(),
                _ if place < usize::midpoint(from, to) => 0xFF,
                _ => self.bytes[place],
            };
        }
        Err(PowerCut)
    }

    /// Each piece may be written once after an erase; a cut leaves anything in the piece it lands on.
    fn write(&mut self, offset: u32, bytes: &[u8]) -> Result<(), PowerCut> {
        let from = usize::try_from(offset).unwrap();
        assert!(
            from.is_multiple_of(WRITE) && bytes.len().is_multiple_of(WRITE),
            "not whole pieces"
        );
        for (place, piece) in (from..).step_by(WRITE).zip(bytes.chunks(WRITE)) {
            let holds = self.holds();
            let room = &mut self.bytes[place..place + WRITE];
            assert!(room.iter().all(|byte| *byte == 0xFF), "written twice without an erase");
            if !holds {
                room.fill_with(|| self.noise.byte());
                return Err(PowerCut);
            }
            room.copy_from_slice(piece);
        }
        Ok(())
    }
}
