//! One fault at work on the wires.

use super::bend::Bend;
use super::wires::{get, get_out, neighbour, now_us, reach, set, set_now_us, set_out, switch_bit};
use super::{Fault, Kind, Wire};
use crate::random::Stream;
use std::collections::VecDeque;
use strewn_controller::wires::{Frame, Inputs, LampBits, Outputs, PulseWire, Sentence};

/// Fastest speed that a bent message tells, mm/s.
const FASTEST_MM_S: i64 = 8_000;
/// Most edges a tick that a bent pulse wire gives.
const MOST_EDGES: i64 = 6;
/// Jump and jitter of a bent clock, us.
const JUMP_US: i64 = 2_000_000;
const LATE_US: i64 = 60_000;

/// A fault and what it must remember.
#[derive(Clone, Debug)]
pub struct Injector {
    wire: Wire,
    kind: Kind,
    onset: u64,
    bend: Bend,
    last_count: Option<u32>,
    pulses: PulseWire,
    clock_us: Option<u64>,
    frames: VecDeque<Vec<Frame>>,
    sentences: VecDeque<Vec<Sentence>>,
    held_speed: Option<[u8; 2]>,
    held_sentence: Option<Sentence>,
    sequence: Option<u8>,
    altered: bool,
}

impl Injector {
    /// A fault whose draws follow from `random`, with `ticks_s` ticks a second.
    #[must_use]
    pub fn new(fault: Fault, ticks_s: f64, random: Stream) -> Self {
        let Fault { wire, kind, onset_s } = fault;
        Self {
            wire,
            kind,
            onset: (onset_s * ticks_s).round() as u64,
            bend: Bend::new(kind, random),
            last_count: None,
            pulses: PulseWire::default(),
            clock_us: None,
            frames: VecDeque::new(),
            sentences: VecDeque::new(),
            held_speed: None,
            held_sentence: None,
            sequence: None,
            altered: false,
        }
    }

    /// Where it sits and what it is.
    #[must_use]
    pub fn place(&self) -> (Wire, Kind) {
        (self.wire, self.kind)
    }

    /// Whether the fault has changed anything so far.
    #[must_use]
    pub fn has_altered(&self) -> bool {
        self.altered
    }

    /// What the controller sees in this tick instead of these inputs.
    pub fn on_inputs(&mut self, tick: u64, inputs: &mut Inputs) {
        let since = tick.checked_sub(self.onset);
        match self.wire {
            Wire::Clock => self.clock(since, inputs),
            Wire::RollerA => {
                let other = inputs.ground;
                self.edges(since, now_us(inputs), other, &mut inputs.rollers[0]);
            }
            Wire::RollerB => {
                let other = inputs.ground;
                self.edges(since, now_us(inputs), other, &mut inputs.rollers[1]);
            }
            Wire::Ground => {
                let other = inputs.rollers[0];
                self.edges(since, now_us(inputs), other, &mut inputs.ground);
            }
            Wire::Bus => self.bus(since, inputs),
            Wire::Receiver => self.receiver(since, inputs),
            Wire::Valve | Wire::Enable => {}
            wire => {
                let shown =
                    self.value(since, wire, get(wire, inputs), get(neighbour(wire), inputs));
                self.altered |= shown != get(wire, inputs);
                set(wire, inputs, shown);
                if wire == Wire::Weigh {
                    self.conversions(since, inputs);
                }
            }
        }
    }

    /// What reaches valve and enable in this tick instead of these outputs.
    pub fn on_outputs(&mut self, tick: u64, outputs: &mut Outputs) {
        if !matches!(self.wire, Wire::Valve | Wire::Enable) {
            return;
        }
        let value = get_out(self.wire, outputs);
        // Two coils changed about turn the rollers backwards; a swapped enable follows a lamp.
        let other = match self.wire {
            Wire::Valve => -value,
            _ => i64::from(outputs.lamps.has(LampBits::LAYING)),
        };
        let shown = self.value(tick.checked_sub(self.onset), self.wire, value, other);
        self.altered |= shown != value;
        set_out(self.wire, outputs, shown);
    }

    /// A number or a switch, and what its neighbour shows.
    fn value(&mut self, since: Option<u64>, wire: Wire, value: i64, other: i64) -> i64 {
        let Some(since) = since else {
            self.bend.note(value);
            return value;
        };
        let (low, high) = reach(wire);
        match self.kind {
            Kind::Swapped if wire == Wire::Weigh => (value & 0xFF) << 8 | (value >> 8 & 0xFF),
            Kind::Swapped if wire == Wire::Ticket => 255 - value,
            Kind::Swapped => other.clamp(low, high),
            _ if switch_bit(wire).is_some() || wire == Wire::Enable => {
                i64::from(self.bend.switch(value != 0, since))
            }
            _ => self.bend.number(value, (low, high), since),
        }
    }

    /// Weigh cells that are off convert no more.
    fn conversions(&mut self, since: Option<u64>, inputs: &mut Inputs) {
        let out = since.is_some_and(|since| {
            self.kind == Kind::Off || self.kind == Kind::Intermittent && self.bend.is_out(since)
        });
        if out {
            inputs.weigh.sequence = *self.sequence.get_or_insert(inputs.weigh.sequence);
        } else {
            self.sequence = Some(inputs.weigh.sequence);
        }
    }

    fn clock(&mut self, since: Option<u64>, inputs: &mut Inputs) {
        let true_us = now_us(inputs) as i64;
        let Some(since) = since else {
            self.clock_us = Some(now_us(inputs));
            self.bend.note(true_us);
            return;
        };
        let start_us = *self.clock_us.get_or_insert(now_us(inputs)) as i64;
        let passed_us = (true_us - start_us) as f64;
        let shown = match self.kind {
            Kind::Off => 0,
            Kind::Stuck => start_us + 1_000_000_000,
            Kind::Frozen => start_us,
            Kind::Offset => true_us + self.bend.number(0, (-JUMP_US, JUMP_US), since),
            Kind::Scale => start_us + (passed_us * self.bend.factor()) as i64,
            Kind::Drift => start_us + (passed_us * (1.0 + 0.001 * since as f64)) as i64,
            Kind::Noise => true_us + self.bend.number(0, (-LATE_US, LATE_US), since),
            Kind::Spike => true_us + i64::from(self.bend.spikes(since)) * LATE_US,
            Kind::Delay => true_us - 10_000 * self.bend.delay() as i64,
            Kind::Intermittent if self.bend.is_out(since) => true_us - true_us % 1_000_000,
            Kind::Swapped => (true_us & 0xFFFF) << 16 | (true_us >> 16 & 0xFFFF),
            Kind::BitFlipped => self.bend.number(true_us, (0, i64::from(u32::MAX)), since),
            Kind::Intermittent => true_us,
        };
        self.altered |= shown != true_us;
        set_now_us(inputs, shown.max(0) as u64);
    }

    /// A pulse wire: the edges of each tick are bent and counted on.
    fn edges(&mut self, since: Option<u64>, now_us: u64, other: PulseWire, wire: &mut PulseWire) {
        let swapped = self.kind == Kind::Swapped && since.is_some();
        let source = if swapped { other } else { *wire };
        let new = i64::from(source.count.wrapping_sub(self.last_count.unwrap_or(source.count)));
        self.last_count = Some(source.count);
        let Some(since) = since else {
            self.bend.note(new);
            self.pulses = *wire;
            return;
        };
        // The counter of another wire does not begin where this one ended.
        let new = if swapped && since == 0 { 0 } else { new };
        let shown = match self.kind {
            Kind::Stuck => 1,
            Kind::Frozen | Kind::Swapped => new,
            Kind::Offset => new + i64::from(since % (2 + self.bend.delay() as u64 / 10) == 0),
            Kind::Scale => {
                let whole = |ticks: u64| (ticks as f64 * self.bend.factor()) as i64;
                let count = u64::from(source.count);
                whole(count) - whole(count.saturating_sub(new.unsigned_abs()))
            }
            _ => self.bend.number(new, (0, MOST_EDGES.max(new)), since),
        };
        self.pulses.count = self.pulses.count.wrapping_add(shown as u32);
        if self.kind != Kind::Frozen && shown > 0 {
            let own = if new > 0 { source.last_edge_us } else { (now_us & 0xFFFF_FFFF) as u32 };
            self.pulses.last_edge_us = own;
        }
        if self.kind == Kind::BitFlipped && self.bend.bits(since) & 15 == 1 {
            self.pulses.count ^= 1 << ((self.bend.bits(since) >> 8) % 32);
        }
        self.altered |= self.pulses != *wire;
        *wire = self.pulses;
    }

    fn bus(&mut self, since: Option<u64>, inputs: &mut Inputs) {
        self.frames.push_back(inputs.frames.to_vec());
        while self.frames.len() > self.bend.delay() + 1 {
            self.frames.pop_front();
        }
        let Some(since) = since else {
            if let Some(frame) = inputs.frames.first() {
                self.held_speed = Some([frame.data[0], frame.data[1]]);
            }
            return;
        };
        let before = inputs.frames.clone();
        match self.kind {
            Kind::Off => inputs.frames.clear(),
            Kind::Intermittent if self.bend.is_out(since) => inputs.frames.clear(),
            Kind::Delay => {
                let late = self.frames.front().cloned().unwrap_or_default();
                inputs.frames = late.into_iter().collect();
            }
            _ => {
                for frame in &mut inputs.frames {
                    self.frame(since, frame);
                }
            }
        }
        self.altered |= before != inputs.frames;
    }

    fn frame(&mut self, since: u64, frame: &mut Frame) {
        let speed = i64::from(u16::from_le_bytes([frame.data[0], frame.data[1]]));
        let bytes = match self.kind {
            Kind::Stuck => [0, 0],
            Kind::Frozen => *self.held_speed.get_or_insert([frame.data[0], frame.data[1]]),
            Kind::Swapped => [frame.data[1], frame.data[0]],
            Kind::BitFlipped => {
                let bit = self.bend.bits(since) % 64;
                frame.data[(bit / 8) as usize] ^= 1 << (bit % 8);
                return;
            }
            _ => (self.bend.number(speed, (0, FASTEST_MM_S), since) as u16).to_le_bytes(),
        };
        [frame.data[0], frame.data[1]] = bytes;
    }

    fn receiver(&mut self, since: Option<u64>, inputs: &mut Inputs) {
        self.sentences.push_back(inputs.sentences.to_vec());
        while self.sentences.len() > self.bend.delay() + 1 {
            self.sentences.pop_front();
        }
        let Some(since) = since else {
            if let Some(sentence) = inputs.sentences.last() {
                self.held_sentence = Some(sentence.clone());
            }
            return;
        };
        let before = inputs.sentences.clone();
        match self.kind {
            Kind::Off => inputs.sentences.clear(),
            Kind::Intermittent if self.bend.is_out(since) => inputs.sentences.clear(),
            Kind::Delay => {
                let late = self.sentences.front().cloned().unwrap_or_default();
                inputs.sentences = late.into_iter().collect();
            }
            _ => {
                for sentence in &mut inputs.sentences {
                    self.sentence(since, sentence);
                }
            }
        }
        self.altered |= before != inputs.sentences;
    }

    /// A sentence: held, spoiled, or with a digit changed and its checksum made good.
    fn sentence(&mut self, since: u64, sentence: &mut Sentence) {
        let bits = self.bend.bits(since);
        match self.kind {
            Kind::Frozen => {
                let held = self.held_sentence.get_or_insert_with(|| sentence.clone());
                sentence.clone_from(held);
            }
            Kind::Stuck => sentence.fill(b'U'),
            Kind::BitFlipped => {
                let length = sentence.len().max(1);
                if let Some(byte) = sentence.get_mut((bits >> 8) as usize % length) {
                    *byte ^= 1 << (bits % 8);
                }
            }
            Kind::Swapped => {
                let length = sentence.len().max(2);
                let place = (bits >> 8) as usize % (length - 1);
                if place + 1 < sentence.len() {
                    sentence.swap(place, place + 1);
                }
            }
            Kind::Spike if !self.bend.spikes(since) => {}
            _ => {
                let digits: Vec<usize> = (7..sentence.len().saturating_sub(3))
                    .filter(|at| sentence[*at].is_ascii_digit())
                    .collect();
                if let Some(at) = digits.get((bits >> 8) as usize % digits.len().max(1)) {
                    sentence[*at] = b'0' + (bits % 10) as u8;
                }
                mend_checksum(sentence);
            }
        }
    }
}

/// Makes the checksum of a whole sentence good again.
fn mend_checksum(sentence: &mut Sentence) {
    let Some(star) = sentence.iter().position(|byte| *byte == b'*') else { return };
    let sum = sentence[1..star.max(1)].iter().fold(0, |sum, byte| sum ^ byte);
    for (place, byte) in format!("{sum:02X}").bytes().enumerate() {
        if let Some(old) = sentence.get_mut(star + 1 + place) {
            *old = byte;
        }
    }
}
