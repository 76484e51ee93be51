//! The wiring: which device hangs on which pin, and what a round and a tick do with it.
//!
//! | pins | device |
//! | --- | --- |
//! | PA0, PA1, PB10 | edges: first roller, second roller, ground wheel (timer 2) |
//! | PA6, PA7 | valve, forward and reverse coil (timer 3) |
//! | PB0, PB1 | enable, watchdog outside |
//! | PC6 to PC9, PA8 | lamps in the order of [`strewn_controller::wires::LampBits`], the horn last |
//! | PB2, PB4 to PB9, PB12, PB14, PB15 | switches in the order of [`strewn_controller::wires::SwitchBits`] |
//! | PC13 | ticket button, low while pressed |
//! | PA4, PC0, PC1, PC4, PC5 | pressure, gauge, reference, coil current, valve supply |
//! | PC10, PC11 | weigh cells' amplifier, clock and data |
//! | PA11, PA12 | CAN, receive and transmit, to a transceiver |
//! | PA10 | satellite receiver (serial port 1, 9,600 baud) |
//! | PA2, PA3 | laptop (serial port 2, 115,200 baud) |
//! | PB13, PC3, PC2, PA15 | screen: clock, data, command, select |
//!
//! Everything needs the protection that the hardware notes list; no pin bears the tractor's voltage.

use crate::devices::{Cab, Coils, MicrosecondClock, Remembered, Scanner, Screen, Tractor};
use bxcan::filter::Mask32;
use bxcan::{Can, Fifo};
use embedded_hal_bus::spi::ExclusiveDevice;
use stm32f4xx_hal::adc::Adc;
use stm32f4xx_hal::adc::config::AdcConfig;
use stm32f4xx_hal::can;
use stm32f4xx_hal::flash::LockedFlash;
use stm32f4xx_hal::gpio::{Debugger, PA0, PA1, PA6, PA7, PA11, PA12, PA15, PB10, PB13, PC2, PC3};
use stm32f4xx_hal::pac::{self, NVIC};
use stm32f4xx_hal::prelude::*;
use stm32f4xx_hal::rcc::{Config as Clocks, Rcc};
use stm32f4xx_hal::serial::{self, Serial};
use stm32f4xx_hal::spi::{self, Spi};
use stm32f4xx_hal::timer::{CaptureExt, CapturePolarity, Event};
use stm32f4xx_hal::watchdog::IndependentWatchdog;
use strewn_controller::drivers::bridge::{Bridge, Gain};
use strewn_controller::drivers::bus::Bus;
use strewn_controller::drivers::display::Display;
use strewn_controller::drivers::outputs::Pins;
use strewn_controller::drivers::switches::Switches;
use strewn_controller::drivers::valve::{DitherConfig, TwoChannels, Valve};
use strewn_controller::view::View;

/// The line to the laptop.
pub type Line = Serial<pac::USART2>;

/// PWM of the coils: in this range it keeps the spool in motion by itself.
const PWM_HZ: u32 = 200;
const VALVE: DitherConfig = DitherConfig {
    ticks_hz: 1_000,
    frequency_hz: 100,
    amplitude_permille: 0,
    // Two ticks of the controller.
    renew_ticks: 20,
};
/// 250 kbit/s from 42 MHz: divided by 8, 1 + 16 + 4 parts, sampled at 81 %; a jump of one part.
const BIT_TIMING: u32 = 0x003F_0007;

/// Everything wired, outputs off first; `None` if it was wired before or a device refuses.
pub fn wire() -> Option<(Cab, Line, LockedFlash)> {
    let device = pac::Peripherals::take()?;
    let clocks = Clocks::hse(8.MHz()).bypass_hse_oscillator().sysclk(84.MHz()).pclk1(42.MHz());
    let mut rcc = device.RCC.freeze(clocks);
    let a = device.GPIOA.split(&mut rcc);
    let b = device.GPIOB.split(&mut rcc);
    let c = device.GPIOC.split(&mut rcc);
    let enable = b.pb0.into_push_pull_output().erase();
    let outside = b.pb1.into_push_pull_output().erase();
    let lamps = [
        c.pc6.into_push_pull_output().erase(),
        c.pc7.into_push_pull_output().erase(),
        c.pc8.into_push_pull_output().erase(),
        c.pc9.into_push_pull_output().erase(),
        a.pa8.into_push_pull_output().erase(),
    ];
    let pins = Pins::new(enable, outside, lamps).ok()?;

    let valve = valve(device.TIM3, (a.pa6, a.pa7), &mut rcc)?;
    pulse_sensors(device.TIM2, (a.pa0, a.pa1, b.pb10), &mut rcc);
    let switches = Switches::new([
        b.pb2.into_pull_down_input().erase(),
        b.pb4.into_pull_down_input().erase(),
        b.pb5.into_pull_down_input().erase(),
        b.pb6.into_pull_down_input().erase(),
        b.pb7.into_pull_down_input().erase(),
        b.pb8.into_pull_down_input().erase(),
        b.pb9.into_pull_down_input().erase(),
        b.pb12.into_pull_down_input().erase(),
        b.pb14.into_pull_down_input().erase(),
        b.pb15.into_pull_down_input().erase(),
    ]);
    let converter = Adc::new(device.ADC1, true, AdcConfig::default(), &mut rcc);
    let scanner = Scanner::new(
        converter,
        (
            a.pa4.into_analog(),
            c.pc0.into_analog(),
            c.pc1.into_analog(),
            c.pc4.into_analog(),
            c.pc5.into_analog(),
        ),
    );
    let weigh_cells = Bridge::new(
        c.pc10.into_push_pull_output().erase(),
        c.pc11.into_input().erase(),
        device.TIM5.delay_us(&mut rcc),
        Gain::High,
    )
    .ok()?;

    let speed = serial::Config::default().baudrate(9_600.bps());
    let mut receiver = device.USART1.rx::<u8>(a.pa10, speed, &mut rcc).ok()?;
    receiver.listen();
    let speed = serial::Config::default().baudrate(115_200.bps());
    let line = device.USART2.serial((a.pa2, a.pa3), speed, &mut rcc).ok()?;

    // SAFETY: the handlers share nothing with the rest of the program but what interrupts guard.
    unsafe {
        NVIC::unmask(pac::Interrupt::TIM2);
        NVIC::unmask(pac::Interrupt::USART1);
        NVIC::unmask(pac::Interrupt::USART2);
    }
    let mut delay = device.TIM6.delay_us(&mut rcc);
    let cab = Cab {
        clock: MicrosecondClock,
        watchdog: IndependentWatchdog::new(device.IWDG),
        valve,
        pins,
        switches,
        ticket_button: c.pc13.into_input().erase(),
        scanner,
        weigh_cells,
        tractor: tractor(device.CAN1, (a.pa12, a.pa11), &mut rcc),
        screen: screen(device.SPI2, (b.pb13, c.pc3, c.pc2, a.pa15), &mut delay, &mut rcc),
        remembered: Remembered::default(),
        shown: (View::default(), 0),
    };
    Some((cab, line, LockedFlash::new(device.FLASH)))
}

/// The coils, driven to nothing.
fn valve(timer: pac::TIM3, pins: (PA6, PA7), rcc: &mut Rcc) -> Option<Valve<Coils>> {
    let (_, (forward, reverse, ..)) = timer.pwm_hz(PWM_HZ.Hz(), rcc);
    let (mut forward, mut reverse) = (forward.with(pins.0), reverse.with(pins.1));
    forward.enable();
    reverse.enable();
    let mut valve = Valve::new(TwoChannels { forward, reverse }, VALVE).ok()?;
    valve.off().ok()?;
    Some(valve)
}

/// Starts the clock of a microsecond and the captures of edges with it. Both live on in the interrupt.
fn pulse_sensors(timer: pac::TIM2, pins: (PA0, PA1, PB10), rcc: &mut Rcc) {
    let (mut timer, (first, second, ground, ..)) = timer.capture_hz(1.MHz(), rcc);
    let mut first = first.with(pins.0);
    let mut second = second.with(pins.1);
    let mut ground = ground.with(pins.2);
    first.set_polarity(CapturePolarity::ActiveHigh);
    second.set_polarity(CapturePolarity::ActiveHigh);
    ground.set_polarity(CapturePolarity::ActiveHigh);
    first.enable();
    second.enable();
    ground.enable();
    timer.listen(Event::C1 | Event::C2 | Event::C3);
}

/// The bus, listening only: no address is claimed unless the tractor's own valve is to be driven.
fn tractor(port: pac::CAN1, pins: (PA12, PA11), rcc: &mut Rcc) -> Tractor {
    let port: can::Can1 = port.can(pins, rcc);
    let mut bus = Can::builder(port).set_bit_timing(BIT_TIMING).leave_disabled();
    bus.modify_filters().enable_bank(0, Fifo::Fifo0, Mask32::accept_all());
    // Not waited for: the tractor may be off.
    let _ = bus.enable_non_blocking();
    Bus::new(bus, None)
}

/// The screen, if it answers.
fn screen(
    port: pac::SPI2,
    (clock, data, command, select): (PB13, PC3, PC2, PA15<Debugger>),
    delay: &mut impl embedded_hal::delay::DelayNs,
    rcc: &mut Rcc,
) -> Option<Screen> {
    let mode =
        spi::Mode { polarity: spi::Polarity::IdleLow, phase: spi::Phase::CaptureOnFirstTransition };
    let port = Spi::new(port, (Some(clock), None::<PC2>, Some(data)), mode, 21.MHz(), rcc);
    let select = select.into_push_pull_output().erase();
    let device = ExclusiveDevice::new_no_delay(port, select).ok()?;
    Display::new(device, command.into_push_pull_output().erase(), delay).ok()
}
