//! The controller on an emulated Cortex-M4 board: QEMU's machine mps2-an386.
//!
//! The laptop sits at the serial line ([`serial`]) and gives orders ([`strewn_link::message::Order`]):
//! single ticks in lockstep, many ticks of which only a digest comes back, or the real schedule
//! ([`live`]) with timer, watchdog and pins. Log messages leave by the second port ([`log`]). However
//! the program ends ([`ends`]), the outputs are off first, and the next start tells why ([`kept`]).
#![no_std]
#![no_main]

mod counter;
mod ends;
mod kept;
mod live;
mod log;
mod ports;
mod serial;

use cortex_m::Peripherals;
use cortex_m::interrupt::InterruptNumber;
use cortex_m::peripheral::syst::SystClkSource;
use cortex_m::peripheral::{NVIC, SYST};
use counter::Instructions;
use ports::WATCHDOG_CLEAR;
use strewn_controller::record::{decode, digest};
use strewn_controller::settings::Settings;
use strewn_controller::step::State;
use strewn_controller::wires::Inputs;
use strewn_link::frame::{self, Receiver};
use strewn_link::message::{Answer, Break, Greeting, Order, Wires};
use strewn_link::run::{self, Tally, counted_step};

/// What every mode of working needs.
pub struct Desk {
    timer: SYST,
    receiver: Receiver,
}

/// What the board is set to and where it stands in a lockstep.
struct Bench {
    settings: Settings,
    state: State,
    previous: Inputs,
}

/// An interrupt by its number.
#[derive(Clone, Copy)]
struct Interrupt(i16);

// SAFETY: the number is returned as it is, so that the same one is always the same.
unsafe impl InterruptNumber for Interrupt {
    fn number(self) -> u16 {
        self.0.unsigned_abs()
    }
}

#[cortex_m_rt::entry]
fn main() -> ! {
    let found = live::start_safe();
    let (ended, starts) = kept::on_start();
    serial::start();
    log::start();
    // `main` runs once, so that there is a set of peripherals.
    let Some(mut peripherals) = Peripherals::take() else { cortex_m::peripheral::SCB::sys_reset() };
    peripherals.SYST.set_clock_source(SystClkSource::Core);
    for number in [ends::SERIAL, ends::TIMER] {
        // SAFETY: no data is shared with the handlers but atomics.
        unsafe { NVIC::unmask(Interrupt(number)) };
    }
    let mut desk = Desk { timer: peripherals.SYST, receiver: Receiver::new() };
    serial::send(&Answer::Greeting(Greeting { starts, ended, found }));
    defmt::info!("start {=u32}, pins were {=u32:#x}", starts, found);
    if let Some((seed, _, _)) = kept::rehearsal() {
        if let Ok(settings) = strewn_link::fuzz::config(seed).build() {
            live::live(&mut desk, &settings, Wires::Rehearsal { seed });
        }
    }
    let mut bench = None;
    loop {
        let Some(content) = serial::receive(&mut desk.receiver) else {
            // It counts before it is turned on, and what has run out then resets at once. Nor may the
            // processor sleep: an emulated clock that waits for nothing else jumps to its end.
            WATCHDOG_CLEAR.write(1);
            continue;
        };
        let answer = match frame::decode(content) {
            Some(Order::Live(wires)) => match &bench {
                Some(Bench { settings, .. }) => {
                    let settings = settings.clone();
                    defmt::info!("live");
                    live::live(&mut desk, &settings, wires)
                }
                None => Answer::Refused,
            },
            Some(Order::Greet) => Answer::Greeting(Greeting { starts, ended, found }),
            Some(order) => obey(order, &mut bench, &mut desk.timer),
            None => Answer::Refused,
        };
        serial::send(&answer);
    }
}

/// An order that is over when it has been answered.
fn obey(order: Order<'_>, bench: &mut Option<Bench>, timer: &mut SYST) -> Answer {
    if let Order::Set(config) = order {
        let Ok(settings) = config.build() else { return Answer::Refused };
        let state = State::new(&settings);
        let state_digest = digest(0, &state);
        *bench = Some(Bench { settings, state, previous: Inputs::default() });
        defmt::info!("set, state {=u32:08x}", state_digest);
        return Answer::Ready(state_digest);
    }
    let Some(Bench { settings, state, previous }) = bench else { return Answer::Refused };
    let mut counter = Instructions::new(timer);
    let mut tally = Tally::new();
    match order {
        Order::Tick(bytes) => {
            let Ok((inputs, _, _)) = decode(previous, bytes) else { return Answer::Refused };
            let outputs = counted_step((settings, state), &inputs, &mut counter, &mut tally);
            *previous = inputs;
            Answer::Ticked { outputs, state: digest(0, state), cost: tally.worst }
        }
        Order::Fuzz { seed, steps } => {
            run::fuzz(settings, seed, steps, &mut counter, &mut tally);
            defmt::info!("{=u32} steps, digest {=u32:08x}", tally.steps, tally.digest);
            Answer::Ran(tally)
        }
        Order::Replay { bytes } => {
            let Some(bytes) = ports::store(bytes) else { return Answer::Refused };
            match run::replay(settings, bytes, &mut counter, &mut tally) {
                Ok(()) => Answer::Ran(tally),
                Err(_) => Answer::Refused,
            }
        }
        Order::Break(how) => {
            break_down(how);
            Answer::Refused
        }
        // There is no flash to keep settings in.
        Order::Ask | Order::Keep { .. } => Answer::Refused,
        Order::Greet | Order::Set(_) | Order::Live(_) => Answer::Refused,
    }
}

/// Breaks down as ordered, in an image built for that.
#[cfg(feature = "breaks")]
pub fn break_down(how: Break) {
    use core::hint::black_box;
    // Never so; but the checks of the image must find what it stands for.
    if black_box(false) {
        let float = black_box(1.5f32) * black_box(2.5f32);
        defmt::info!("{=f32}", float);
    }
    match how {
        Break::Panic => {
            let list = [1u8, 2, 3];
            defmt::info!("{=u8}", list[black_box(3)]);
        }
        Break::Fault => cortex_m::asm::udf(),
        Break::Hang => loop {
            cortex_m::asm::nop();
        },
    }
}

/// Does not break down.
#[cfg(not(feature = "breaks"))]
pub fn break_down(_: Break) {}
