//! The wires in C's layout. What each of them means stands beside the controller's own.

use strewn_controller::units::Instant;
use strewn_controller::wires::{
    AnalogWires, FRAMES, Frame, Inputs, Outputs, PulseWire, SENTENCE_BYTES, SENTENCES, Sentence,
    SwitchBits, WeighWire,
};

/// Most CAN frames of a tick.
pub const STREWN_FRAMES: usize = 4;
/// Most NMEA sentences of a tick.
pub const STREWN_SENTENCES: usize = 2;
/// Longest sentence.
pub const STREWN_SENTENCE_BYTES: usize = 82;

const _: () = assert!(STREWN_FRAMES == FRAMES);
const _: () = assert!(STREWN_SENTENCES == SENTENCES);
const _: () = assert!(STREWN_SENTENCE_BYTES == SENTENCE_BYTES);

/// Edges of a pulse sensor as a capture timer keeps them.
#[repr(C)]
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub struct StrewnPulses {
    /// Edges since the start; wraps.
    pub count: u32,
    /// Low 32 bits of the microsecond clock at the last edge.
    pub last_edge_us: u32,
}

/// One CAN frame with a 29-bit identifier and eight data bytes.
#[repr(C)]
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub struct StrewnFrame {
    /// The 29-bit identifier.
    pub id: u32,
    /// The data bytes.
    pub data: [u8; 8],
}

/// One NMEA 0183 sentence, `$` first, without the line end.
#[repr(C)]
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct StrewnSentence {
    /// Bytes used; more than there are count as all of them.
    pub length: u8,
    /// The bytes.
    pub bytes: [u8; STREWN_SENTENCE_BYTES],
}

impl Default for StrewnSentence {
    fn default() -> Self {
        Self { length: 0, bytes: [0; STREWN_SENTENCE_BYTES] }
    }
}

/// Everything the controller sees in one tick.
#[repr(C)]
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub struct StrewnInputs {
    /// The caller's clock at the start of the tick, us; never runs backwards.
    pub now_us: u64,
    /// The two rollers.
    pub rollers: [StrewnPulses; 2],
    /// A ground wheel or radar.
    pub ground: StrewnPulses,
    /// Weigh-cell amplifier, counts of 24 bits with sign.
    pub weigh_counts: i32,
    /// Steps by one with each conversion of it; wraps.
    pub weigh_sequence: u8,
    /// Which lot of bales is selected, from 0.
    pub ticket: u8,
    /// Switches, a bit each, set while current flows: 0 seat, 1 and 2 stop clear, 3 arm, 4 run, 5 new
    /// bale, 6 guards shut, 7 hitch down, 8 level, 9 second contact of run.
    pub switches: u16,
    /// Pressure across the roller motors, counts of 12 bits, as the four below.
    pub pressure: u16,
    /// Bale gauge.
    pub gauge: u16,
    /// Reference voltage.
    pub reference: u16,
    /// Current through the valve's coil.
    pub coil_current: u16,
    /// Supply of the valve behind the series enable.
    pub valve_supply: u16,
    /// CAN frames used; more than there are count as all of them.
    pub frame_count: u8,
    /// Sentences used; more than there are count as all of them.
    pub sentence_count: u8,
    /// CAN frames since the last tick.
    pub frames: [StrewnFrame; STREWN_FRAMES],
    /// Sentences since the last tick.
    pub sentences: [StrewnSentence; STREWN_SENTENCES],
}

/// Everything the controller commands in one tick.
#[repr(C)]
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug)]
pub struct StrewnOutputs {
    /// Signed valve duty, -32767 (full reverse) to 32767 (full forward).
    pub valve: i16,
    /// The enable in series with the valve's supply. Off is safe.
    pub enable: bool,
    /// Feed the watchdog outside the processor in this tick.
    pub feed_watchdog: bool,
    /// Lamps, a bit each: 0 armed, 1 laying, 2 stopped, 3 rollers still turn, 4 horn.
    pub lamps: u8,
}

impl From<&Outputs> for StrewnOutputs {
    fn from(outputs: &Outputs) -> Self {
        let Outputs { valve, enable, feed_watchdog, lamps, .. } = *outputs;
        Self { valve, enable, feed_watchdog, lamps: lamps.0 }
    }
}

impl StrewnPulses {
    fn to_wire(self) -> PulseWire {
        PulseWire { count: self.count, last_edge_us: self.last_edge_us }
    }
}

impl From<PulseWire> for StrewnPulses {
    fn from(wire: PulseWire) -> Self {
        Self { count: wire.count, last_edge_us: wire.last_edge_us }
    }
}

impl StrewnInputs {
    /// The controller's own wires.
    pub(crate) fn to_wires(self) -> Inputs {
        let mut wires = Inputs {
            now: Instant::from_micros(self.now_us),
            rollers: self.rollers.map(StrewnPulses::to_wire),
            ground: self.ground.to_wire(),
            weigh: WeighWire { counts: self.weigh_counts, sequence: self.weigh_sequence },
            analog: AnalogWires {
                pressure: self.pressure,
                gauge: self.gauge,
                reference: self.reference,
                coil_current: self.coil_current,
                valve_supply: self.valve_supply,
            },
            switches: SwitchBits(self.switches),
            ticket: self.ticket,
            ..Inputs::default()
        };
        // There is room for all of them, as asserted above.
        for frame in self.frames.iter().take(self.frame_count.into()) {
            let _ = wires.frames.push(Frame { id: frame.id, data: frame.data });
        }
        for sentence in self.sentences.iter().take(self.sentence_count.into()) {
            let used = sentence.bytes.iter().take(sentence.length.into()).copied();
            let _ = wires.sentences.push(Sentence::from_iter(used));
        }
        wires
    }
}

impl From<&Inputs> for StrewnInputs {
    fn from(wires: &Inputs) -> Self {
        let mut inputs = Self {
            now_us: wires.now.to_micros(),
            rollers: wires.rollers.map(StrewnPulses::from),
            ground: wires.ground.into(),
            weigh_counts: wires.weigh.counts,
            weigh_sequence: wires.weigh.sequence,
            ticket: wires.ticket,
            switches: wires.switches.0,
            pressure: wires.analog.pressure,
            gauge: wires.analog.gauge,
            reference: wires.analog.reference,
            coil_current: wires.analog.coil_current,
            valve_supply: wires.analog.valve_supply,
            ..Self::default()
        };
        for (place, frame) in inputs.frames.iter_mut().zip(&wires.frames) {
            *place = StrewnFrame { id: frame.id, data: frame.data };
            inputs.frame_count = inputs.frame_count.saturating_add(1);
        }
        for (place, sentence) in inputs.sentences.iter_mut().zip(&wires.sentences) {
            for (byte, given) in place.bytes.iter_mut().zip(sentence) {
                *byte = *given;
                place.length = place.length.saturating_add(1);
            }
            inputs.sentence_count = inputs.sentence_count.saturating_add(1);
        }
        inputs
    }
}
