//! The step by itself, to be weighed and never run: what lies in this image is what the core needs.
#![no_std]
#![no_main]

use core::hint::black_box;
use core::sync::atomic::AtomicU8;
use strewn_controller::settings::Settings;
use strewn_controller::step::State;
use strewn_controller::wires::{Inputs, Outputs};
use strewn_link::run::one_step;

/// What the core keeps from tick to tick and what it is called with.
const KEPT: usize =
    size_of::<Settings>() + size_of::<State>() + size_of::<Inputs>() + size_of::<Outputs>();
static MEMORY: [AtomicU8; KEPT] = [const { AtomicU8::new(0) }; KEPT];

#[cortex_m_rt::entry]
fn main() -> ! {
    black_box(&MEMORY);
    black_box::<fn(&Settings, &mut State, &Inputs) -> Outputs>(one_step);
    loop {
        cortex_m::asm::nop();
    }
}

#[panic_handler]
fn on_panic(_: &core::panic::PanicInfo<'_>) -> ! {
    loop {
        cortex_m::asm::nop();
    }
}
