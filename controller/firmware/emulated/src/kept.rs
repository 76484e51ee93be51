//! A few words of memory that a reset leaves alone: how the last run ended.

use core::sync::atomic::{AtomicU32, Ordering};
use strewn_link::message::Ended;

/// Says that the words have been written; what the power-on leaves in memory does not read like this.
const MARK: u32 = 0x5EED_0F0A;

struct Kept {
    mark: AtomicU32,
    starts: AtomicU32,
    kind: AtomicU32,
    detail: AtomicU32,
    /// Rounds of the rehearsal so far and its seed; no rounds, no rehearsal.
    rounds: AtomicU32,
    seed: AtomicU32,
    hands: AtomicU32,
}

const fn zero() -> AtomicU32 {
    AtomicU32::new(0)
}

// The attribute is unsafe because a section's content may not be what the type demands; any bits are
// an `AtomicU32`.
#[unsafe(link_section = ".uninit.kept")]
static KEPT: Kept = Kept {
    mark: zero(),
    starts: zero(),
    kind: zero(),
    detail: zero(),
    rounds: zero(),
    seed: zero(),
    hands: zero(),
};

fn set(word: &AtomicU32, value: u32) {
    word.store(value, Ordering::Relaxed);
}

fn get(word: &AtomicU32) -> u32 {
    word.load(Ordering::Relaxed)
}

/// Notes how this run ends. The last note counts.
pub fn note(ended: Ended) {
    let (kind, detail) = match ended {
        Ended::Power => (0, 0),
        Ended::Panic(line) => (1, line),
        Ended::Fault(address) => (2, address),
        Ended::Watchdog => (3, 0),
        Ended::Rehearsal { in_step } => (4, u32::from(in_step)),
    };
    set(&KEPT.kind, kind);
    set(&KEPT.detail, detail);
}

/// How the last run ended and how many starts there were, this one included. Forgets the former.
pub fn on_start() -> (Ended, u32) {
    if get(&KEPT.mark) != MARK {
        set(&KEPT.starts, 0);
        set(&KEPT.rounds, 0);
        note(Ended::Power);
        set(&KEPT.mark, MARK);
    }
    let starts = get(&KEPT.starts).wrapping_add(1);
    set(&KEPT.starts, starts);
    let detail = get(&KEPT.detail);
    let ended = match get(&KEPT.kind) {
        1 => Ended::Panic(detail),
        2 => Ended::Fault(detail),
        3 => Ended::Watchdog,
        4 => Ended::Rehearsal { in_step: detail != 0 },
        _ => Ended::Power,
    };
    note(Ended::Power);
    (ended, starts)
}

/// Seed, round and switches held at the reset, while a rehearsal goes on.
pub fn rehearsal() -> Option<(u32, u32, u16)> {
    let round = get(&KEPT.rounds);
    let [low, high, ..] = get(&KEPT.hands).to_le_bytes();
    (round != 0).then(|| (get(&KEPT.seed), round, u16::from_le_bytes([low, high])))
}

/// Begins a round of a rehearsal; the next start goes on from it.
pub fn begin_round(seed: u32, round: u32) {
    set(&KEPT.seed, seed);
    set(&KEPT.rounds, round);
}

/// Notes which switches are held.
pub fn hold(switches: u16) {
    set(&KEPT.hands, u32::from(switches));
}
