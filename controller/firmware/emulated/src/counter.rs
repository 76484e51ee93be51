//! Instructions of a step, by the processor's own timer.

use cortex_m::peripheral::SYST;
use strewn_link::run::Counter;

/// Range of the timer: it counts down from here at 25 MHz.
const RANGE: u32 = 0xFF_FFFF;

/// Counts instructions, if the emulator runs with `-icount shift=6`: 64 ns an instruction, while a
/// tick of the timer is 40 ns.
pub struct Instructions {
    begin: u32,
    /// What counting itself costs, timer ticks.
    empty: u32,
}

impl Instructions {
    /// Takes the timer for itself, without its interrupt.
    pub fn new(timer: &mut SYST) -> Self {
        timer.disable_interrupt();
        timer.set_reload(RANGE);
        timer.clear_current();
        timer.enable_counter();
        let mut counter = Self { begin: 0, empty: 0 };
        counter.start();
        counter.empty = counter.ticks();
        counter
    }

    fn ticks(&self) -> u32 {
        self.begin.wrapping_sub(SYST::get_current()) & RANGE
    }
}

impl Counter for Instructions {
    fn start(&mut self) {
        self.begin = SYST::get_current();
    }

    fn stop(&mut self) -> u32 {
        self.ticks().saturating_sub(self.empty).saturating_mul(5) >> 3
    }
}
