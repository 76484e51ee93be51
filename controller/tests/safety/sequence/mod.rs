//! Sequences of ticks in pieces, their settings, and the judge of what comes of them.
//!
//! Used by the property tests, and by the fuzzer in tests/fuzz, which makes the pieces out of bytes.
#![allow(dead_code, reason = "the fuzzer and the tests each use their own part")]

mod judge;

pub(crate) use judge::Judge;

use strewn_controller::settings::{
    Config, Core, SafetyConfig, Settings, SignalConfig, TicketConfig,
};
use strewn_controller::step::{State, step};
use strewn_controller::units::Instant;
use strewn_controller::wires::*;

/// What differs from machine to machine in a way that matters to safe stop.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Fit {
    /// Guard, hitch, level, second run contact, coil current, valve supply: a bit each.
    pub(crate) fitted: u8,
    /// Whether a standing tractor only pauses.
    pub(crate) pauses: bool,
    /// Longest tick, ms, 11 to 100.
    pub(crate) tick_limit_ms: u8,
    /// Time for the second act, s, 1 to 30.
    pub(crate) arming_s: u8,
    /// Largest command, percent, 10 to 100.
    pub(crate) duty_limit: u8,
}

impl Fit {
    /// All switches and feedback fitted, everything else typical.
    pub(crate) const ALL: Self =
        Self { fitted: 63, pauses: false, tick_limit_ms: 25, arming_s: 6, duty_limit: 100 };

    /// Settings of such a machine.
    pub(crate) fn settings(self) -> Settings {
        let fitted = |bit: u8| i32::from(self.fitted >> bit & 1);
        let safety = SafetyConfig {
            guard_fitted: fitted(0),
            hitch_fitted: fitted(1),
            level_fitted: fitted(2),
            run_pair_fitted: fitted(3),
            coil_fitted: fitted(4),
            supply_fitted: fitted(5),
            pause_ms: if self.pauses { 2_000 } else { 0 },
            tick_limit_ms: i32::from(self.tick_limit_ms),
            arming_ms: i32::from(self.arming_s) * 1_000,
            duty_limit_permille: i32::from(self.duty_limit) * 10,
            ..SafetyConfig::TYPICAL
        };
        let ticket =
            TicketConfig { mass_g: 500_000, diameter_mm: 1_524, bite_g: 6_500, core: Core::Even };
        let config = Config {
            signals: SignalConfig { ground: None, ..Default::default() },
            estimate: Default::default(),
            metering: Default::default(),
            safety,
            tickets: [ticket].into_iter().collect(),
        };
        config.build().expect("these settings are allowed")
    }
}

/// One piece of a sequence: so many ticks with something done to the wires.
#[derive(Clone, Debug)]
pub(crate) struct Piece {
    pub(crate) ticks: u32,
    pub(crate) tick_us: u64,
    /// The clock jumps here first, us.
    pub(crate) jump_us: Option<u64>,
    /// What the hands hold, and what is changed about it.
    pub(crate) hands: u8,
    pub(crate) flip: u16,
    pub(crate) pressure: u16,
    pub(crate) reference_off: bool,
    pub(crate) coil: Option<u16>,
    pub(crate) supply: Option<u16>,
    /// Edges of each roller a tick; `None` as the valve makes them.
    pub(crate) edges: [Option<u32>; 2],
    pub(crate) ground_mm_s: u16,
    pub(crate) silent_bus: bool,
    pub(crate) frame: Option<(u32, [u8; 8])>,
    pub(crate) weigh: i32,
}

impl Piece {
    /// Nothing done to the wires.
    pub(crate) const CALM: Self = Self {
        ticks: 40,
        tick_us: 10_000,
        jump_us: None,
        hands: 0,
        flip: 0,
        pressure: 900,
        reference_off: false,
        coil: None,
        supply: None,
        edges: [None; 2],
        ground_mm_s: 1_341,
        silent_bus: false,
        frame: None,
        weigh: 500_000,
    };
}

/// Sitting, all shut and clear.
pub(crate) const SEATED: u16 = SwitchBits::PRESENT
    | SwitchBits::STOP_CLEAR_A
    | SwitchBits::STOP_CLEAR_B
    | SwitchBits::GUARD_SHUT
    | SwitchBits::HITCH_DOWN
    | SwitchBits::LEVEL;
/// The run switch is held: both contacts.
pub(crate) const HELD: u16 = SwitchBits::RUN | SwitchBits::RUN_B;

/// Hands that mostly do as they should, so that sequences reach every phase.
fn hands(number: u8) -> u16 {
    SEATED | [0, SwitchBits::ARM, 0, HELD, HELD][usize::from(number % 5)]
}

/// Runs a sequence under the judge; the number of ticks in which hay was laid.
pub(crate) fn run(fit: Fit, pieces: &[Piece]) -> Result<u32, String> {
    let settings = fit.settings();
    let mut state = State::new(&settings);
    let (mut judge, mut inputs) = (Judge::new(&settings.safety), Inputs::default());
    let (mut laid, mut tick, mut valve) = (0, 0u32, 0);
    for piece in pieces {
        if let Some(jump_us) = piece.jump_us {
            inputs.now = Instant::from_micros(jump_us);
        }
        for _ in 0..piece.ticks {
            tick += 1;
            show(piece, tick, valve, &mut inputs);
            let outputs = step(&settings, &mut state, &inputs);
            judge.tick(&inputs, &outputs).map_err(|told| format!("tick {tick}: {told}"))?;
            // Coil and supply as the command makes them.
            let current = (u32::from(outputs.valve.unsigned_abs()) * 3_000 / 32_767) as u16;
            inputs.analog.coil_current = piece.coil.unwrap_or(current);
            let supply = if outputs.enable { 2_700 } else { 0 };
            inputs.analog.valve_supply = piece.supply.unwrap_or(supply);
            valve = outputs.valve;
            laid += u32::from(outputs.valve > 2_000);
        }
    }
    Ok(laid)
}

/// The wires of one tick.
fn show(piece: &Piece, tick: u32, valve: i16, inputs: &mut Inputs) {
    inputs.now = Instant::from_micros(inputs.now.to_micros().saturating_add(piece.tick_us));
    inputs.switches = SwitchBits(hands(piece.hands) ^ piece.flip);
    inputs.analog.pressure = piece.pressure ^ (tick % 3) as u16;
    inputs.analog.gauge = 1_500;
    inputs.analog.reference = if piece.reference_off { 0 } else { 2_048 };
    inputs.weigh.counts = piece.weigh;
    inputs.weigh.sequence = inputs.weigh.sequence.wrapping_add(1);
    // Above the dead band the rollers turn with the valve, near enough.
    let turning = (u32::from(valve.unsigned_abs()).saturating_sub(5_000) / 6_000).min(3);
    for (roller, edges) in inputs.rollers.iter_mut().zip(piece.edges) {
        let edges = edges.unwrap_or(turning);
        roller.count = roller.count.wrapping_add(edges);
        if edges > 0 {
            roller.last_edge_us = inputs.now.to_micros() as u32;
        }
    }
    inputs.frames.clear();
    if tick.is_multiple_of(10) && !piece.silent_bus {
        let [low, high] = piece.ground_mm_s.to_le_bytes();
        let data = [low, high, 0, 0, 0, 0, 0xFF, 0xFD];
        inputs.frames.extend([Frame { id: 0x0CFE_4945, data }]);
    }
    inputs.frames.extend(piece.frame.map(|(id, data)| Frame { id, data }));
}
