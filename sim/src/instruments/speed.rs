//! Ground speed as messages: frames of the tractor's bus, sentences of a satellite receiver.

use super::InstrumentSpec;
use crate::random::Stream;
use crate::units::M_S_PER_KNOT;
use crate::world::World;
use std::fmt::{self, Arguments, Display, Write};
use strewn_controller::wires::{Frame, Sentence};

/// Steps between two frames: 100 ms.
const FRAME_STEPS: u64 = 100;
/// Steps between two speeds that the receiver remembers.
const MEMORY_STEPS: u64 = 10;
/// Speeds it remembers: two seconds and a little.
const MEMORY: usize = 256;
/// Metres in a minute of latitude, by the nautical mile.
const M_PER_MINUTE: f64 = 1852.0;

/// Which speed message the tractor sends, every 100 ms.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BusSpeed {
    /// Ground-based: a radar.
    Ground,
    /// Wheel-based: the drive train.
    Wheel,
    /// The one that the tractor takes for the best.
    Selected,
}

/// The tractor as sender on the bus.
#[derive(Clone, Debug)]
pub struct Bus {
    kind: BusSpeed,
    scale: f64,
    sent: u64,
}

impl Bus {
    /// A tractor whose speed is wrong by a constant factor.
    #[must_use]
    pub fn new(kind: BusSpeed, scale: f64) -> Self {
        Self { kind, scale, sent: 0 }
    }

    /// The frame that has arrived since the last reading.
    pub fn read(&mut self, world: &World) -> Option<Frame> {
        let due = world.steps() / FRAME_STEPS;
        if due == self.sent {
            return None;
        }
        self.sent = due;
        let mm = |metres: f64| (metres * self.scale * 1000.0 + 0.5) as u32;
        // Wheels that slip make more way than the tractor.
        let slip = if self.kind == BusSpeed::Wheel { world.spot().slip } else { 0.0 };
        let speed_m_s = world.ground_speed_m_s() / (1.0 - slip);
        Some(frame(self.kind, mm(speed_m_s), mm(world.odometer_m())))
    }
}

/// A speed frame that says forward, from speed, mm/s, and distance, mm. Values above the valid
/// range of 0xFAFF and 0xFAFF_FFFF become its end.
///
/// Source of the layout: ISO 11783-7 as coded and tested in AgIsoStack++ (MIT), 2026.
#[must_use]
pub fn frame(kind: BusSpeed, speed_mm_s: u32, distance_mm: u32) -> Frame {
    let speed = speed_mm_s.min(0xFAFF).to_le_bytes();
    let distance = distance_mm.min(0xFAFF_FFFF).to_le_bytes();
    let (id, tail) = match kind {
        // Byte 7 reserved; forward.
        BusSpeed::Ground => (0x0CFE_4945, [0xFF, 0xFD]),
        // No limit on power; key on, implements allowed, direction not reversed, forward.
        BusSpeed::Wheel => (0x0CFE_4845, [0xFF, 0x15]),
        // No reason to exit; source ground speed, not limited, forward.
        BusSpeed::Selected => (0x0CF0_2245, [0xFF, 0x05]),
    };
    let [d0, d1, d2, d3] = distance;
    Frame { id, data: [speed[0], speed[1], d0, d1, d2, d3, tail[0], tail[1]] }
}

/// A satellite receiver that sends RMC and VTG.
#[derive(Clone, Debug)]
pub struct Receiver {
    noise: Stream,
    dropouts: Stream,
    dropout_share: f64,
    dropout_s: f64,
    noise_m_s: f64,
    hz: f64,
    lag: usize,
    memory: Vec<f64>,
    remembered: usize,
    sent: u64,
}

impl Receiver {
    /// A receiver that sends so often a second.
    #[must_use]
    pub fn new(hz: f64, spec: &InstrumentSpec, noise: Stream) -> Self {
        let lag = (spec.nmea_lag_s * 1000.0 / MEMORY_STEPS as f64) as usize;
        Self {
            noise,
            dropouts: noise.named("dropouts"),
            dropout_share: spec.nmea_dropouts,
            dropout_s: spec.nmea_dropout_s,
            noise_m_s: spec.nmea_noise_m_s,
            hz,
            lag: lag.min(MEMORY - 1),
            memory: vec![0.0; MEMORY],
            remembered: 0,
            sent: 0,
        }
    }

    /// Remembers the speed, for it is sent late.
    pub fn watch(&mut self, world: &World) {
        if world.steps().is_multiple_of(MEMORY_STEPS) {
            self.remembered = (self.remembered + 1) % MEMORY;
            self.memory[self.remembered] = world.ground_speed_m_s();
        }
    }

    /// The sentences that have arrived since the last reading.
    pub fn read(&mut self, world: &World) -> Option<[Sentence; 2]> {
        let due = (world.time_s() * self.hz) as u64;
        if due == self.sent {
            return None;
        }
        self.sent = due;
        let speed_m_s = self.memory[(self.remembered + MEMORY - self.lag) % MEMORY];
        let noise_m_s = self.noise_m_s * self.noise.normal(due);
        let knots = (speed_m_s + noise_m_s).max(0.0) / M_S_PER_KNOT;
        let (knots, kmh) = (hundredths(knots), hundredths(knots * 1.852));
        let stretch = (world.time_s() / self.dropout_s) as u64;
        if self.dropouts.uniform(stretch) < self.dropout_share {
            return Some([
                sentence(format_args!("GNRMC,,V,,,,,,,,,,N")),
                sentence(format_args!("GNVTG,,T,,M,,N,,K,N")),
            ]);
        }
        let centis = world.steps() / 10;
        let (minute, second) = (centis / 6000, centis % 6000);
        // An invented place: north from where equator and prime meridian cross.
        let north = (world.odometer_m() / M_PER_MINUTE * 1e4) as u64;
        Some([
            sentence(format_args!(
                "GNRMC,{:02}{:02}{:02}.{:02},A,{:02}{:02}.{:04},N,00000.0000,E,{knots},000.0,010100,,,A",
                minute / 60 % 24,
                minute % 60,
                second / 100,
                second % 100,
                north / 600_000,
                north / 10_000 % 60,
                north % 10_000,
            )),
            sentence(format_args!("GNVTG,000.0,T,,M,{knots},N,{kmh},K,A")),
        ])
    }
}

/// A number, not negative, as `000.00`.
fn hundredths(value: f64) -> impl Display {
    let hundredths = (value * 100.0 + 0.5) as u32;
    fmt::from_fn(move |formatter| {
        write!(formatter, "{:03}.{:02}", hundredths / 100, hundredths % 100)
    })
}

/// Wraps a text as an NMEA 0183 sentence: `$`, text, `*`, exclusive or of the text's bytes.
fn sentence(text: Arguments<'_>) -> Sentence {
    let mut sentence = Sentence::new();
    // A sentence that did not fit would be cut, and its missing checksum would tell.
    let _ = write!(sentence, "${text}");
    let sum = sentence.iter().skip(1).fold(0, |sum, byte| sum ^ byte);
    let _ = write!(sentence, "*{sum:02X}");
    sentence
}
