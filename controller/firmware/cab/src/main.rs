//! The controller on a board with an STM32F446.
//!
//! Built, sized and checked, never run: see the notes on first power before anything is wired. Pins
//! stand in [`wiring`], what is done with the devices in [`devices`], what interrupts bring in
//! [`interrupts`]; settings come over the
//! line in the first half second after a start and are kept in flash ([`kept`]); called later, a machine
//! at rest starts anew; however the program ends, the outputs are off first ([`ends`]).
//!
//! One loop, timed by the microsecond clock that the pulse sensors are captured with: each millisecond
//! switches and valve, each ten the controller and a strip of the screen. The processor's own watchdog
//! resets if the loop hangs; the one outside is fed by the controller alone.
#![no_std]
#![no_main]

mod devices;
mod ends;
mod interrupts;
mod kept;
mod wiring;

use defmt_rtt as _;
use devices::Cab;
use ends::Ended;
use interrupts::LAPTOP;
use stm32f4xx_hal::prelude::*;
use stm32f4xx_hal::serial::Event;
use strewn_controller::settings::Settings;
use strewn_controller::step::{State, step};
use strewn_controller::units::Instant;
use strewn_controller::wires::{Inputs, Outputs};
use strewn_link::keep::{Call, Porter};
use strewn_link::message::Answer;
use wiring::Line;

/// Microseconds from one round of switches and valve to the next.
const ROUND_US: u32 = 1_000;
/// Rounds in a tick of the controller.
const ROUNDS: u32 = 10;

#[cortex_m_rt::entry]
fn main() -> ! {
    let ended = ends::last();
    let Some((mut cab, mut line, flash)) = wiring::wire() else { ends::end(Ended::Refused) };
    defmt::info!("the last run ended: {}", ended);
    let Some(config) = kept::settings(&mut line, flash, cab.clock) else {
        ends::end(Ended::Refused)
    };
    // What is kept was checked before it was kept, and is checked again.
    let Ok(settings) = config.build() else { ends::end(Ended::Refused) };
    defmt::info!("settings are sound; the loop begins");
    cab.watch();
    line.listen(Event::RxNotEmpty);
    run(&mut cab, line, &settings, config.tickets.len())
}

/// Runs until a reset.
fn run(cab: &mut Cab, mut line: Line, settings: &Settings, tickets: usize) -> ! {
    let tickets = u8::try_from(tickets).unwrap_or(u8::MAX);
    let mut state = State::new(settings);
    let mut outputs = Outputs::default();
    let mut inputs = Inputs::default();
    let mut porter = Porter::default();
    let mut clock = Clock::default();
    let mut round_at = cab.clock.now_us();
    let mut round = 0;
    loop {
        let now_us = cab.clock.now_us();
        if now_us.wrapping_sub(round_at) < ROUND_US {
            continue;
        }
        round_at = round_at.wrapping_add(ROUND_US);
        let now = clock.at(now_us);
        cab.round(&mut inputs, outputs.view.phase, tickets, now);
        round += 1;
        if round < ROUNDS {
            continue;
        }
        round = 0;
        cab.read(&mut inputs, now);
        outputs = step(settings, &mut state, &inputs);
        inputs.sentences.clear();
        cab.obey(&outputs);
        attend(&mut line, &mut porter, &outputs);
    }
}

/// Hears whether the laptop calls. One order a tick, so that one who never stops takes no time from the
/// machine: an answer takes half a millisecond.
fn attend(line: &mut Line, porter: &mut Porter, outputs: &Outputs) {
    while let Some(byte) = LAPTOP.take() {
        // What was spoilt on the way spoils its order's checksum, whatever stands for it.
        match porter.hear(byte.unwrap_or_default(), outputs) {
            Some(Call::Restart) => ends::end(Ended::Called),
            Some(Call::Busy) => return kept::answer(line, &Answer::Busy),
            None => {}
        }
    }
}

/// The clock of 32 bits, which wraps every 71 minutes, made longer.
#[derive(Default)]
struct Clock {
    last_us: u32,
    total_us: u64,
}

impl Clock {
    /// The moment of a reading; to be asked at least once in 71 minutes.
    fn at(&mut self, now_us: u32) -> Instant {
        let passed = now_us.wrapping_sub(self.last_us);
        self.last_us = now_us;
        self.total_us = self.total_us.saturating_add(passed.into());
        Instant::from_micros(self.total_us)
    }
}
