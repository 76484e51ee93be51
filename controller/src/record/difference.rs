//! How the inputs of a tick differ from those of the tick before, in postcard's variable-length
//! numbers: the time passed, a set of flags, then only the parts whose flag is set.

use crate::units::Instant;
use crate::wires::{AnalogWires, Inputs, PulseWire, WeighWire};
use postcard::{Error, Result, take_from_bytes, to_slice};
use serde::Serialize;
use serde::de::DeserializeOwned;

/// Flags of the parts of the inputs, in the order in which the parts follow.
const ROLLERS: [u16; 2] = [1, 1 << 1];
const GROUND: u16 = 1 << 2;
const WEIGH: u16 = 1 << 3;
const ANALOG: u16 = 1 << 4;
const SWITCHES: u16 = 1 << 5;
const TICKET: u16 = 1 << 6;
const FRAMES: u16 = 1 << 7;
const SENTENCES: u16 = 1 << 8;
const UNKNOWN: u16 = !0x1FF;

/// Writes the difference to the start of `room` and returns its length.
pub(super) fn write(previous: &Inputs, inputs: &Inputs, room: &mut [u8]) -> Result<usize> {
    let flags = flags(previous, inputs);
    let passed = inputs.now.to_micros().wrapping_sub(previous.now.to_micros());
    let mut writer = Writer { room, used: 0, flags };
    writer.put(&(passed, flags))?;
    let rollers = previous.rollers.iter().zip(&inputs.rollers);
    for (flag, (before, after)) in ROLLERS.into_iter().zip(rollers) {
        writer.put_if(flag, &edges_between(before, after))?;
    }
    writer.put_if(GROUND, &edges_between(&previous.ground, &inputs.ground))?;
    let (before, after) = (previous.weigh, inputs.weigh);
    let counts = after.counts.wrapping_sub(before.counts);
    writer.put_if(WEIGH, &(counts, after.sequence.wrapping_sub(before.sequence)))?;
    writer.put_if(ANALOG, &analog_between(previous.analog, inputs.analog))?;
    writer.put_if(SWITCHES, &inputs.switches)?;
    writer.put_if(TICKET, &inputs.ticket)?;
    writer.put_if(FRAMES, &inputs.frames)?;
    writer.put_if(SENTENCES, &inputs.sentences)?;
    Ok(writer.used)
}

/// The inputs that differ from the previous ones in this way. Every byte must be used.
pub(super) fn apply(previous: &Inputs, difference: &[u8]) -> Result<Inputs> {
    let ((passed, flags), rest) = take_from_bytes::<(u64, u16)>(difference)?;
    let mut reader = Reader { rest, flags };
    let now = Instant::from_micros(previous.now.to_micros().wrapping_add(passed));
    let mut inputs = Inputs { now, ..previous.clone() };
    for (flag, pulses) in ROLLERS.into_iter().zip(&mut inputs.rollers) {
        add_edges(pulses, reader.take_if(flag)?);
    }
    add_edges(&mut inputs.ground, reader.take_if(GROUND)?);
    let (counts, sequence) = reader.take_if::<(i32, u8)>(WEIGH)?.unwrap_or_default();
    let WeighWire { counts: old_counts, sequence: old_sequence } = inputs.weigh;
    inputs.weigh = WeighWire {
        counts: old_counts.wrapping_add(counts),
        sequence: old_sequence.wrapping_add(sequence),
    };
    let changes = reader.take_if::<[i16; 5]>(ANALOG)?.unwrap_or_default();
    let [pressure, gauge, reference, coil_current, valve_supply] = changes;
    let before = inputs.analog;
    inputs.analog = AnalogWires {
        pressure: before.pressure.wrapping_add_signed(pressure),
        gauge: before.gauge.wrapping_add_signed(gauge),
        reference: before.reference.wrapping_add_signed(reference),
        coil_current: before.coil_current.wrapping_add_signed(coil_current),
        valve_supply: before.valve_supply.wrapping_add_signed(valve_supply),
    };
    inputs.switches = reader.take_if(SWITCHES)?.unwrap_or(inputs.switches);
    inputs.ticket = reader.take_if(TICKET)?.unwrap_or(inputs.ticket);
    inputs.frames = reader.take_if(FRAMES)?.unwrap_or_default();
    inputs.sentences = reader.take_if(SENTENCES)?.unwrap_or_default();
    let used_up = reader.rest.is_empty() && flags & UNKNOWN == 0;
    if used_up { Ok(inputs) } else { Err(Error::DeserializeBadEncoding) }
}

/// Which parts must be written. Frames and sentences come in their tick only, so that they are
/// written as they are, when there are any.
fn flags(previous: &Inputs, inputs: &Inputs) -> u16 {
    let [left, right] = inputs.rollers;
    let [old_left, old_right] = previous.rollers;
    let [left_flag, right_flag] = ROLLERS;
    [
        (left_flag, left != old_left),
        (right_flag, right != old_right),
        (GROUND, inputs.ground != previous.ground),
        (WEIGH, inputs.weigh != previous.weigh),
        (ANALOG, inputs.analog != previous.analog),
        (SWITCHES, inputs.switches != previous.switches),
        (TICKET, inputs.ticket != previous.ticket),
        (FRAMES, !inputs.frames.is_empty()),
        (SENTENCES, !inputs.sentences.is_empty()),
    ]
    .into_iter()
    .fold(0, |flags, (flag, differs)| if differs { flags | flag } else { flags })
}

fn edges_between(before: &PulseWire, after: &PulseWire) -> (u32, u32) {
    let passed = after.last_edge_us.wrapping_sub(before.last_edge_us);
    (after.count.wrapping_sub(before.count), passed)
}

fn add_edges(pulses: &mut PulseWire, edges: Option<(u32, u32)>) {
    let (count, passed) = edges.unwrap_or_default();
    pulses.count = pulses.count.wrapping_add(count);
    pulses.last_edge_us = pulses.last_edge_us.wrapping_add(passed);
}

fn analog_between(before: AnalogWires, after: AnalogWires) -> [i16; 5] {
    [
        after.pressure.wrapping_sub(before.pressure).cast_signed(),
        after.gauge.wrapping_sub(before.gauge).cast_signed(),
        after.reference.wrapping_sub(before.reference).cast_signed(),
        after.coil_current.wrapping_sub(before.coil_current).cast_signed(),
        after.valve_supply.wrapping_sub(before.valve_supply).cast_signed(),
    ]
}

struct Writer<'a> {
    room: &'a mut [u8],
    used: usize,
    flags: u16,
}

impl Writer<'_> {
    fn put(&mut self, part: &impl Serialize) -> Result<()> {
        let free = self.room.get_mut(self.used..).ok_or(Error::SerializeBufferFull)?;
        self.used = self.used.saturating_add(to_slice(part, free)?.len());
        Ok(())
    }

    fn put_if(&mut self, flag: u16, part: &impl Serialize) -> Result<()> {
        if self.flags & flag == 0 { Ok(()) } else { self.put(part) }
    }
}

struct Reader<'a> {
    rest: &'a [u8],
    flags: u16,
}

impl Reader<'_> {
    fn take_if<T: DeserializeOwned>(&mut self, flag: u16) -> Result<Option<T>> {
        if self.flags & flag == 0 {
            return Ok(None);
        }
        let (part, rest) = take_from_bytes(self.rest)?;
        self.rest = rest;
        Ok(Some(part))
    }
}
