//! The real schedule: a tick of the board's own timer a hundred times a second, the watchdog fed by a
//! tick that came to its end, outputs on the pins and on the line.

use crate::ends::{self, IN_STEP};
use crate::ports::{
    PINS, TIMER_CONTROL, TIMER_RELOAD, TIMER_VALUE, WATCHDOG_CLEAR, WATCHDOG_CONTROL, WATCHDOG_LOAD,
};
use crate::{Desk, kept, serial};
use core::sync::atomic::{AtomicU32, Ordering};
use cortex_m::peripheral::SYST;
use cortex_m_rt::exception;
use strewn_controller::record::decode;
use strewn_controller::settings::Settings;
use strewn_controller::step::State;
use strewn_controller::units::Instant;
use strewn_controller::wires::{Inputs, Outputs, SwitchBits};
use strewn_link::frame;
use strewn_link::fuzz::Fuzz;
use strewn_link::message::{Answer, Lived, Order, PIN_ENABLE, PIN_VALVE, Wires};
use strewn_link::random::Random;
use strewn_link::run::one_step;

/// Timer counts in a tick: 10 ms at 25 MHz.
const TICK: u32 = 250_000;
/// Counts after which an unfed watchdog warns: four ticks, so that the outputs are off 50 ms after the
/// program has hung. At twice that it resets.
const WATCHDOG: u32 = 4 * TICK;
/// A tick's work is over well within so many timer counts; resets come within them.
const BUSY: u32 = 24_000;

/// Ticks of the timer since the start.
static TICKS: AtomicU32 = AtomicU32::new(0);

#[exception]
fn SysTick() {
    TICKS.fetch_add(1, Ordering::Relaxed);
}

/// Runs until a reset.
pub fn live(desk: &mut Desk, settings: &Settings, wires: Wires) -> ! {
    let mut state = State::new(settings);
    let mut source = Source::new(wires);
    desk.timer.set_reload(TICK - 1);
    desk.timer.clear_current();
    desk.timer.enable_interrupt();
    desk.timer.enable_counter();
    WATCHDOG_LOAD.write(WATCHDOG);
    WATCHDOG_CLEAR.write(1);
    WATCHDOG_CONTROL.write(0b11);
    let mut outputs = Outputs::default();
    let mut seen = TICKS.load(Ordering::Relaxed);
    loop {
        source.listen(desk);
        let tick = TICKS.load(Ordering::Relaxed);
        if tick == seen {
            cortex_m::asm::wfi();
            continue;
        }
        seen = tick;
        let inputs = source.wires(tick, &outputs);
        IN_STEP.store(true, Ordering::Relaxed);
        outputs = one_step(settings, &mut state, inputs);
        IN_STEP.store(false, Ordering::Relaxed);
        drive(&outputs);
        WATCHDOG_CLEAR.write(1);
        let lived = Lived { tick, since_start_us: since_start_us(), outputs, pins: PINS.read() };
        serial::send(&Answer::Lived(lived));
    }
}

/// The outputs on the pins.
fn drive(outputs: &Outputs) {
    let enable = if outputs.enable { PIN_ENABLE } else { 0 };
    let valve = if outputs.valve != 0 { PIN_VALVE } else { 0 };
    PINS.write(enable | valve);
}

/// Time of the program so far.
fn since_start_us() -> u32 {
    let within = (TICK - 1).saturating_sub(SYST::get_current()) / 25;
    TICKS.load(Ordering::Relaxed).saturating_mul(10_000).saturating_add(within)
}

/// Where the wires of a tick come from.
struct Source {
    kind: Wires,
    inputs: Inputs,
    /// Tick in which wires last came over the line.
    fresh: u32,
    rehearsal: Rehearsal,
}

impl Source {
    fn new(kind: Wires) -> Self {
        let rehearsal = Rehearsal::new(kind);
        Self { kind, inputs: Inputs::default(), fresh: 0, rehearsal }
    }

    /// Takes wires off the line.
    fn listen(&mut self, desk: &mut Desk) {
        let Some(content) = serial::receive(&mut desk.receiver) else { return };
        match frame::decode(content) {
            Some(Order::Tick(bytes)) => {
                if let Ok((inputs, _, _)) = decode(&self.inputs, bytes) {
                    self.inputs = inputs;
                    self.fresh = TICKS.load(Ordering::Relaxed);
                }
            }
            Some(Order::Break(how)) => crate::break_down(how),
            _ => {}
        }
    }

    fn wires(&mut self, tick: u32, outputs: &Outputs) -> &Inputs {
        match self.kind {
            Wires::Serial if tick.wrapping_sub(self.fresh) > Wires::PATIENCE => {
                self.inputs = Inputs::default();
            }
            Wires::Serial => {}
            Wires::Rehearsal { .. } => {
                self.inputs.clone_from(self.rehearsal.wires(tick, outputs));
            }
        }
        self.inputs.now = Instant::from_micros(u64::from(tick).saturating_mul(10_000));
        &self.inputs
    }
}

/// A machine that is armed, feeds, and is reset.
struct Rehearsal {
    machine: Fuzz,
    /// Switches held when the last round was reset.
    hands: u16,
    /// Tick of the reset, and timer counts into it.
    reset: (u32, u32),
}

/// Ticks of a round: the hands stay as they were, are taken off, press the arming button, and hold the
/// run switch; the reset comes in between.
const HANDS_OFF: u32 = 60;
const ARM: u32 = 70;
const ARMED: u32 = 80;
const RUN: u32 = 85;
const FIRST_RESET: u32 = 70;
const LAST_RESET: u32 = 150;

impl Rehearsal {
    fn new(kind: Wires) -> Self {
        let (seed, round, hands) = match (kind, kept::rehearsal()) {
            (_, Some(kept)) => kept,
            (Wires::Rehearsal { seed }, None) => (seed, 0, 0),
            (Wires::Serial, None) => (0, 0, 0),
        };
        let mut random = Random::new(seed.wrapping_add(round));
        let tick = FIRST_RESET.saturating_add(random.below(LAST_RESET - FIRST_RESET));
        let reset = (tick, random.below(BUSY).saturating_add(1));
        if matches!(kind, Wires::Rehearsal { .. }) {
            kept::begin_round(seed, round.wrapping_add(1));
        }
        Self { machine: Fuzz::calm(seed), hands, reset }
    }

    fn wires(&mut self, tick: u32, outputs: &Outputs) -> &Inputs {
        let (at, counts) = self.reset;
        if tick == at {
            TIMER_VALUE.write(counts);
            TIMER_RELOAD.write(counts);
            TIMER_CONTROL.write(0b1001);
        }
        let held = match tick {
            ..HANDS_OFF => self.hands,
            HANDS_OFF..ARM => 0,
            ARM..ARMED => SwitchBits::ARM,
            ARMED..RUN => 0,
            RUN.. => SwitchBits::RUN | SwitchBits::RUN_B,
        };
        kept::hold(held);
        self.machine.held(held, outputs)
    }
}

/// Safe outputs at the very start, whatever the pins were.
pub fn start_safe() -> u32 {
    let found = PINS.read();
    ends::make_safe();
    found
}
