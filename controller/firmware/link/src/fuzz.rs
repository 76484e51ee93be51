//! Made-up wires: stories of a machine that is armed, driven and feeds, in which more or less goes
//! wrong, down to wires that say anything at all. The same seed tells the same stories everywhere, as
//! long as the controller answers the same: rollers and valve follow its outputs.

use crate::random::Random;
use heapless::Vec;
use strewn_controller::settings::{Config, Core, GroundConfig, SignalConfig, TicketConfig};
use strewn_controller::signals::isobus::{Direction, Flag, Message, Motion};
use strewn_controller::units::Instant;
use strewn_controller::wires::{
    FRAMES, Frame, Inputs, Outputs, PulseWire, SENTENCE_BYTES, SENTENCES, Sentence, SwitchBits,
};

/// Switches of a person in place with everything in order.
const READY: u16 = SwitchBits::PRESENT
    | SwitchBits::STOP_CLEAR_A
    | SwitchBits::STOP_CLEAR_B
    | SwitchBits::GUARD_SHUT
    | SwitchBits::HITCH_DOWN
    | SwitchBits::LEVEL;
/// One tick, us.
const TICK_US: u64 = 10_000;
/// Most edges of one sensor in a tick.
const EDGES: usize = 32;
/// Rollers with a longer time from edge to edge stand, us.
const LONGEST_PERIOD_US: u32 = 200_000;
/// Valve command at which the rollers begin to turn, and the time from edge to edge at one unit above
/// it, us: 342 edges a second at full command.
const DEAD_BAND: u32 = 4_915;
const EDGE_AT_ONE_US: u32 = 81_440_000;
/// Ground from edge to edge of the ground wheel, nm.
const PITCH_NM: u32 = 10_000_000;
/// Counts of the valve's supply when it is on.
const SUPPLY: u16 = 3_000;
/// A receiver's sentence without its checksum; the digits of the speed are overwritten.
const RMC: &[u8; 61] = b"$GNRMC,120000.00,A,4500.0000,N,10000.0000,W,00.0,,010126,,,A,";

/// The settings under which the stories of a seed are told: with more or fewer sensors and switches.
#[must_use]
pub fn config(seed: u32) -> Config {
    let mut random = Random::new(!seed);
    let mut signals = SignalConfig::TYPICAL;
    let pitch = GroundConfig { pitch_um: 10_000, shortest_us: 300, standing_ms: 500 };
    signals.ground = random.once_in(2).then_some(pitch);
    signals.weigh = signals.weigh.filter(|_| !random.once_in(4));
    signals.pressure = signals.pressure.filter(|_| !random.once_in(4));
    signals.gauge = signals.gauge.filter(|_| !random.once_in(2));
    let mut config = Config {
        signals,
        estimate: Default::default(),
        metering: Default::default(),
        safety: Default::default(),
        tickets: Vec::new(),
    };
    config.safety.run_pair_fitted = i32::from(random.once_in(2));
    config.safety.guard_fitted = i32::from(random.once_in(2));
    config.safety.coil_fitted = i32::from(random.once_in(8));
    config.safety.supply_fitted = i32::from(random.once_in(8));
    for core in [
        Core::Even,
        Core::Dense { ratio_permille: 1_400, radius_permille: 350 },
        Core::Soft { centre_permille: 500 },
    ] {
        let ticket = TicketConfig { mass_g: 500_000, diameter_mm: 1_524, bite_g: 6_500, core };
        // Three tickets always fit.
        let _ = config.tickets.push(ticket);
    }
    config
}

/// The teller of the stories of one seed.
#[derive(Clone, Debug)]
pub struct Fuzz {
    random: Random,
    inputs: Inputs,
    /// Ticks since the story began.
    tick: u32,
    story: Story,
}

/// What a story is like.
#[derive(Clone, Copy, Debug)]
struct Story {
    /// Ticks until the next one.
    length: u32,
    /// When the arming button is pressed and the run switch held, ticks.
    arm: u32,
    run: u32,
    /// Once in so many ticks something goes wrong; 1 in every tick, 0 never.
    trouble: u32,
    /// Every wire says anything in every tick.
    storm: bool,
    /// Time from edge to edge of the ground wheel, us.
    ground_us: u32,
    /// Ground speed on the bus, mm/s.
    speed: u16,
}

impl Fuzz {
    /// Before the first tick of a seed's stories.
    #[must_use]
    pub fn new(seed: u32) -> Self {
        let mut random = Random::new(seed);
        let story = Story::new(&mut random);
        Self { random, inputs: Inputs::default(), tick: 0, story }
    }

    /// The wires of the next tick, and whether a new machine is switched on in it.
    /// `outputs` are those of the tick before, or the default.
    pub fn advance(&mut self, outputs: &Outputs) -> (bool, &Inputs) {
        let over = self.tick >= self.story.length;
        let mut fresh = false;
        if over {
            self.story = Story::new(&mut self.random);
            self.tick = 0;
            fresh = !self.random.once_in(4);
        }
        self.tick = self.tick.wrapping_add(1);
        self.clock();
        self.pulses(outputs);
        self.amplifiers(outputs);
        self.panel();
        self.bus();
        self.receiver();
        if self.story.storm {
            self.storm();
        } else if self.story.trouble != 0 && self.random.once_in(self.story.trouble) {
            self.trouble();
        }
        (fresh, &self.inputs)
    }

    /// A single endless story without trouble, its switches moved by [`Fuzz::held`].
    #[must_use]
    pub fn calm(seed: u32) -> Self {
        let mut fuzz = Self::new(seed);
        fuzz.story = Story { length: u32::MAX, trouble: 0, storm: false, ..fuzz.story };
        fuzz
    }

    /// The wires of the next tick with these switches held beside those of a machine in order.
    pub fn held(&mut self, switches: u16, outputs: &Outputs) -> &Inputs {
        self.advance(outputs);
        self.inputs.switches = SwitchBits(READY | switches);
        &self.inputs
    }

    fn clock(&mut self) {
        let now = self.inputs.now.to_micros().wrapping_add(TICK_US);
        self.inputs.now = Instant::from_micros(now);
    }

    fn now_us(&self) -> u32 {
        let [a, b, c, d, ..] = self.inputs.now.to_micros().to_le_bytes();
        u32::from_le_bytes([a, b, c, d])
    }

    fn pulses(&mut self, outputs: &Outputs) {
        let now = self.now_us();
        let command = u32::from(outputs.valve.unsigned_abs());
        let above = command.checked_sub(DEAD_BAND).filter(|_| outputs.enable);
        let period_us = above.and_then(|above| EDGE_AT_ONE_US.checked_div(above));
        for wire in &mut self.inputs.rollers {
            let noise = self.random.below(256);
            follow(wire, now, period_us.map(|period_us| period_us.saturating_add(noise)));
        }
        follow(&mut self.inputs.ground, now, Some(self.story.ground_us));
    }

    fn amplifiers(&mut self, outputs: &Outputs) {
        let Inputs { weigh, analog, .. } = &mut self.inputs;
        if self.tick == 1 {
            weigh.counts = 600_000;
            (analog.pressure, analog.gauge) = (1_200, 2_000);
        }
        let [a, b, c, d] = self.random.bits().to_le_bytes();
        let fallen = if outputs.enable { i32::from(a) } else { 0 };
        weigh.counts = weigh.counts.wrapping_sub(fallen).wrapping_add(i32::from(b >> 2));
        weigh.sequence = weigh.sequence.wrapping_add(1);
        analog.pressure = walk(analog.pressure, c, 900, 3_000);
        analog.gauge = walk(analog.gauge, d, 600, 3_600);
        analog.reference = 2_048;
        analog.coil_current = outputs.valve.unsigned_abs() >> 4;
        analog.valve_supply = if outputs.enable { SUPPLY } else { 0 };
    }

    fn panel(&mut self) {
        let Story { arm, run, .. } = self.story;
        let mut bits = READY;
        if (arm..arm.wrapping_add(20)).contains(&self.tick) {
            bits |= SwitchBits::ARM;
        }
        if self.tick >= run {
            bits |= SwitchBits::RUN | SwitchBits::RUN_B;
        }
        self.inputs.switches = SwitchBits(bits);
        if self.tick == 1 {
            let [ticket, ..] = self.random.below(4).to_le_bytes();
            self.inputs.ticket = ticket;
            self.inputs.switches.0 |= SwitchBits::NEW_BALE;
        }
    }

    fn bus(&mut self) {
        self.inputs.frames.clear();
        if self.tick & 7 != 0 {
            return;
        }
        let [noise, ..] = self.random.bits().to_le_bytes();
        let speed_mm_s = self.story.speed.wrapping_add(u16::from(noise >> 3));
        let motion =
            Motion { speed_mm_s, distance_mm: self.now_us(), direction: Direction::Forward };
        let frame = Message::Wheel {
            motion,
            power_time_min: 0,
            key: Flag::On,
            operations: Flag::On,
            reversed: Flag::Off,
        };
        let _ = self.inputs.frames.push(frame.encode(0x45));
        if self.random.once_in(4) {
            let frame = Message::Ground { motion };
            let _ = self.inputs.frames.push(frame.encode(0x45));
        }
    }

    fn receiver(&mut self) {
        self.inputs.sentences.clear();
        if self.tick & 15 == 3 {
            let sentence = self.sentence();
            let _ = self.inputs.sentences.push(sentence);
        }
    }

    /// A sound sentence with a speed near the story's.
    fn sentence(&mut self) -> Sentence {
        let mut text = Sentence::new();
        let _ = text.extend_from_slice(RMC);
        // A tenth of a knot is 51.4 mm/s.
        let mut tenths = self.story.speed.checked_div(51).unwrap_or_default();
        for place in [47, 45, 44] {
            let [digit, _] = tenths.checked_rem(10).unwrap_or_default().to_le_bytes();
            tenths = tenths.checked_div(10).unwrap_or_default();
            if let Some(byte) = text.get_mut(place) {
                *byte = b'0'.wrapping_add(digit);
            }
        }
        let sum = text.iter().skip(1).fold(0, |sum, byte| sum ^ byte);
        let hex = |nibble: u8| {
            if nibble < 10 { b'0'.wrapping_add(nibble) } else { b'7'.wrapping_add(nibble) }
        };
        let _ = text.extend_from_slice(&[b'*', hex(sum >> 4), hex(sum & 15)]);
        text
    }

    /// One wire says something else.
    fn trouble(&mut self) {
        let random = &mut self.random;
        let inputs = &mut self.inputs;
        match random.below(14) {
            0 => {
                let late = u64::from(random.below(200_000));
                inputs.now = Instant::from_micros(inputs.now.to_micros().wrapping_add(late));
            }
            1 => inputs.rollers = [any_pulses(random), any_pulses(random)],
            2 => inputs.ground = any_pulses(random),
            3 => inputs.weigh.counts = random.bits().cast_signed(),
            4 => inputs.weigh.sequence = random.byte(),
            5 => inputs.analog.pressure = random.short(),
            6 => inputs.analog.gauge = random.short() & 0xFFF,
            7 => inputs.analog.reference = random.short(),
            8 => inputs.analog.coil_current = random.short() & 0xFFF,
            9 => inputs.analog.valve_supply = random.short() & 0xFFF,
            10 => inputs.switches.0 ^= 1u16.wrapping_shl(random.below(10)),
            11 => inputs.ticket = random.byte(),
            12 => {
                let _ = inputs.frames.push(any_frame(random));
            }
            _ => {
                if let Some(byte) = inputs.sentences.first_mut().and_then(|text| text.get_mut(20)) {
                    *byte = random.byte();
                }
            }
        }
    }

    /// Every wire says anything, and frames and sentences come as many as can.
    fn storm(&mut self) {
        let random = &mut self.random;
        let inputs = &mut self.inputs;
        if random.once_in(64) {
            let jump = u64::from(random.bits()) << random.below(32);
            inputs.now = Instant::from_micros(inputs.now.to_micros().wrapping_add(jump));
        }
        inputs.rollers = [any_pulses(random), any_pulses(random)];
        inputs.ground = any_pulses(random);
        inputs.weigh.counts = random.bits().cast_signed();
        inputs.weigh.sequence = random.byte();
        let analog = &mut inputs.analog;
        for channel in [&mut analog.pressure, &mut analog.gauge, &mut analog.coil_current] {
            *channel = random.short();
        }
        inputs.switches.0 ^= random.short() & random.short() & random.short();
        inputs.ticket = random.byte();
        inputs.frames.clear();
        for _ in 0..FRAMES {
            if !random.once_in(3) {
                // There is room for each of them.
                let _ = inputs.frames.push(any_frame(random));
            }
        }
        inputs.sentences.clear();
        if random.once_in(8) {
            for _ in 0..SENTENCES {
                let sentence = self.sentence();
                let sentence = if self.random.once_in(2) { sentence } else { self.any_sentence() };
                let _ = self.inputs.sentences.push(sentence);
            }
        }
    }

    /// Printable letters as many as fit.
    fn any_sentence(&mut self) -> Sentence {
        let mut text = Sentence::new();
        let _ = text.push(b'$');
        while text.len() < SENTENCE_BYTES {
            let _ = text.push(b' '.wrapping_add(self.random.byte() & 63));
        }
        text
    }
}

impl Story {
    fn new(random: &mut Random) -> Self {
        let arm = random.below(100).wrapping_add(30);
        let speed = random.below(2_500).wrapping_add(400);
        let [low, high, ..] = speed.to_le_bytes();
        Self {
            length: random.below(3_000).wrapping_add(200),
            arm,
            run: arm.wrapping_add(random.below(120)).wrapping_add(15),
            trouble: match random.below(4) {
                0 => 0,
                1 => 500,
                2 => 50,
                _ => 4,
            },
            storm: random.once_in(8),
            ground_us: PITCH_NM.checked_div(speed).unwrap_or(PITCH_NM),
            speed: u16::from_le_bytes([low, high]),
        }
    }
}

/// Edges until now; none without a time from edge to edge.
fn follow(wire: &mut PulseWire, now: u32, period_us: Option<u32>) {
    let PulseWire { count, last_edge_us } = wire;
    let Some(period_us) = period_us else { return };
    // After a standstill the next edge is a period from now.
    if now.wrapping_sub(*last_edge_us) > LONGEST_PERIOD_US {
        *last_edge_us = now;
    }
    for _ in 0..EDGES {
        if now.wrapping_sub(*last_edge_us) < period_us {
            return;
        }
        *last_edge_us = last_edge_us.wrapping_add(period_us);
        *count = count.wrapping_add(1);
    }
}

/// A little up or down, within bounds.
fn walk(counts: u16, noise: u8, low: u16, high: u16) -> u16 {
    counts.wrapping_add(u16::from(noise >> 3)).wrapping_sub(16).clamp(low, high)
}

fn any_pulses(random: &mut Random) -> PulseWire {
    PulseWire { count: random.bits(), last_edge_us: random.bits() }
}

/// A frame that may be one of those understood.
fn any_frame(random: &mut Random) -> Frame {
    let id = match random.below(6) {
        0 => 0x0CFE_4845,
        1 => 0x0CFE_4945,
        2 => 0x0CF0_2245,
        3 => 0x0CFD_0245,
        _ => random.bits(),
    };
    let [a, b, c, d] = random.bits().to_le_bytes();
    let [e, f, g, h] = random.bits().to_le_bytes();
    Frame { id, data: [a, b & 0x0F, c, d, e, f, g, h] }
}
