//! Bytes into settings and thousands of ticks, each judged; steered by the code they reach.
#![no_main]

#[path = "../../../controller/tests/safety/sequence/mod.rs"]
mod sequence;

use libfuzzer_sys::fuzz_target;
use sequence::{Fit, Piece, run};
use std::sync::atomic::{AtomicU64, Ordering};

/// Ticks so far; told each time so many more have been run.
static TICKS: AtomicU64 = AtomicU64::new(0);
const TOLD: u64 = 1_000_000;

/// Lengths of a tick worth trying, us.
const TICKS_US: [u64; 12] = [
    0, 1, 9_999, 10_001, 11_000, 15_001, 25_000, 25_001, 100_000, 1_000_000, 4_294_967_296, u64::MAX,
];
/// Messages worth trying: speeds, the stop button of the bus.
const FRAMES: [u32; 5] = [0x0CFE_4845, 0x0CFE_4945, 0x0CF0_2245, 0x0CFD_0226, 0x0CFD_0245];

/// Bytes from the front; zeros once they are used up.
struct Bytes<'a>(&'a [u8]);

impl Bytes<'_> {
    fn take<const COUNT: usize>(&mut self) -> [u8; COUNT] {
        let mut taken = [0; COUNT];
        for byte in &mut taken {
            if let Some((first, rest)) = self.0.split_first() {
                (*byte, self.0) = (*first, rest);
            }
        }
        taken
    }

    fn byte(&mut self) -> u8 {
        self.take::<1>()[0]
    }

    fn short(&mut self) -> u16 {
        u16::from_le_bytes(self.take())
    }
}

fn fit(bytes: &mut Bytes<'_>) -> Fit {
    let first = bytes.byte();
    Fit {
        fitted: first & 63,
        pauses: first & 64 != 0,
        tick_limit_ms: 11 + bytes.byte() % 90,
        arming_s: 1 + bytes.byte() % 30,
        duty_limit: 10 + bytes.byte() % 91,
    }
}

fn piece(bytes: &mut Bytes<'_>) -> Piece {
    let mut piece = Piece { ticks: 1 + u32::from(bytes.byte() % 64), hands: bytes.byte(), ..Piece::CALM };
    let changes = bytes.short();
    let changed = |bit: u32| changes >> bit & 1 != 0;
    if changed(0) {
        piece.flip = bytes.short();
    }
    if changed(1) {
        piece.tick_us = TICKS_US[usize::from(bytes.byte()) % TICKS_US.len()];
    }
    if changed(2) {
        piece.jump_us = Some(u64::from_le_bytes(bytes.take()));
    }
    if changed(3) {
        piece.pressure = bytes.short() % 4_096;
    }
    piece.reference_off = changed(4);
    piece.coil = changed(5).then(|| bytes.short() % 4_096);
    piece.supply = changed(6).then(|| bytes.short() % 4_096);
    for (roller, edges) in (7..).zip(&mut piece.edges) {
        *edges = changed(roller).then(|| match bytes.byte() {
            255 => u32::from_le_bytes(bytes.take()),
            few => u32::from(few % 9),
        });
    }
    if changed(9) {
        piece.ground_mm_s = bytes.short();
    }
    piece.silent_bus = changed(10);
    piece.frame = changed(11).then(|| {
        let id = FRAMES.get(usize::from(bytes.byte() % 8)).copied();
        (id.unwrap_or_else(|| u32::from_le_bytes(bytes.take())), bytes.take())
    });
    if changed(12) {
        piece.weigh = i32::from_le_bytes(bytes.take());
    }
    piece
}

fuzz_target!(|data: &[u8]| {
    let mut bytes = Bytes(data);
    let fit = fit(&mut bytes);
    let mut pieces = Vec::new();
    while !bytes.0.is_empty() {
        pieces.push(piece(&mut bytes));
    }
    if let Err(told) = run(fit, &pieces) {
        panic!("{told}");
    }
    let ticks: u64 = pieces.iter().map(|piece| u64::from(piece.ticks)).sum();
    let before = TICKS.fetch_add(ticks, Ordering::Relaxed);
    if before / TOLD != (before + ticks) / TOLD {
        eprintln!("{} million ticks", (before + ticks) / TOLD);
    }
});
