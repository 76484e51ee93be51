//! The devices of the cab: what is done with them each millisecond and each tick.

use crate::ends::Ended;
use crate::interrupts::{RECEIVER, pulses};
use bxcan::Can;
use embedded_hal_bus::spi::{ExclusiveDevice, NoDelay};
use stm32f4xx_hal::adc::Adc;
use stm32f4xx_hal::adc::config::SampleTime;
use stm32f4xx_hal::can::Can1;
use stm32f4xx_hal::gpio::{Analog, AnyPin, Input, Output, PA4, PC0, PC1, PC4, PC5};
use stm32f4xx_hal::pac;
use stm32f4xx_hal::prelude::*;
use stm32f4xx_hal::spi::Spi;
use stm32f4xx_hal::timer::{DelayUs, PwmChannel};
use stm32f4xx_hal::watchdog::IndependentWatchdog;
use strewn_controller::drivers::bridge::Bridge;
use strewn_controller::drivers::bus::Bus;
use strewn_controller::drivers::converter::mean;
use strewn_controller::drivers::display::{Display, STRIPS};
use strewn_controller::drivers::outputs::Pins;
use strewn_controller::drivers::serial::Framer;
use strewn_controller::drivers::switches::{Switches, TicketButton};
use strewn_controller::drivers::valve::{TwoChannels, Valve};
use strewn_controller::safety::Phase;
use strewn_controller::units::Instant;
use strewn_controller::view::View;
use strewn_controller::wires::{AnalogWires, Inputs, Outputs, SENTENCES};

/// The coils' channels.
pub type Coils = TwoChannels<PwmChannel<pac::TIM3, 0>, PwmChannel<pac::TIM3, 1>>;
/// The weigh cells' amplifier.
pub type WeighCells = Bridge<AnyPin<Output>, AnyPin<Input>, DelayUs<pac::TIM5>>;
/// The tractor's bus.
pub type Tractor = Bus<Can<Can1>>;
/// The screen.
pub type Screen = Display<ExclusiveDevice<Spi<pac::SPI2>, AnyPin<Output>, NoDelay>, AnyPin<Output>>;

/// Scans of the converter in a tick: one a round, over two whole periods of the coils' PWM.
const SCANS: usize = 10;
/// The processor's watchdog: five ticks.
const WATCHDOG_MS: u32 = 50;

/// Microseconds since the start, as timer 2 counts them; wraps every 71 minutes.
#[derive(Clone, Copy)]
pub struct MicrosecondClock;

impl MicrosecondClock {
    /// The present count.
    pub fn now_us(self) -> u32 {
        // SAFETY: a count is read; reading changes nothing.
        unsafe { &*pac::TIM2::ptr() }.cnt().read().bits()
    }
}

/// The converter, its five pins, and a scan a round, the oldest overwritten.
pub struct Scanner {
    converter: Adc<pac::ADC1>,
    pins: ScannerPins,
    scans: [[u16; 5]; SCANS],
    next: usize,
}

/// Pressure, gauge, reference, coil current, valve supply.
pub type ScannerPins = (PA4<Analog>, PC0<Analog>, PC1<Analog>, PC4<Analog>, PC5<Analog>);

impl Scanner {
    /// Before the first scan, which reads as a broken reference.
    pub fn new(converter: Adc<pac::ADC1>, pins: ScannerPins) -> Self {
        Self { converter, pins, scans: [[0; 5]; SCANS], next: 0 }
    }

    fn scan(&mut self) {
        let (pressure, gauge, reference, current, supply) = &self.pins;
        let adc = &mut self.converter;
        let scan = [
            adc.convert(pressure, SampleTime::Cycles_56),
            adc.convert(gauge, SampleTime::Cycles_56),
            adc.convert(reference, SampleTime::Cycles_56),
            adc.convert(current, SampleTime::Cycles_56),
            adc.convert(supply, SampleTime::Cycles_56),
        ];
        if let Some(place) = self.scans.get_mut(self.next) {
            *place = scan;
        }
        self.next = if self.next + 1 < SCANS { self.next + 1 } else { 0 };
    }

    fn wires(&self) -> AnalogWires {
        mean(&self.scans)
    }
}

/// The satellite receiver's sentences and the ticket button, which remember what came before.
#[derive(Default)]
pub struct Remembered {
    receiver: Framer,
    ticket: TicketButton,
}

/// Every device.
pub struct Cab {
    /// The clock.
    pub clock: MicrosecondClock,
    pub(crate) watchdog: IndependentWatchdog,
    pub(crate) valve: Valve<Coils>,
    pub(crate) pins: Pins<AnyPin<Output>>,
    pub(crate) switches: Switches<AnyPin<Input>>,
    pub(crate) ticket_button: AnyPin<Input>,
    pub(crate) scanner: Scanner,
    pub(crate) weigh_cells: WeighCells,
    pub(crate) tractor: Tractor,
    /// `None` if it did not answer at the start; lamps and horn go on.
    pub(crate) screen: Option<Screen>,
    pub(crate) remembered: Remembered,
    /// What the screen is showing, and strips of it sent so far.
    pub(crate) shown: (View, u16),
}

impl Cab {
    /// Starts the processor's watchdog. It cannot be stopped again.
    pub fn watch(&mut self) {
        self.watchdog.start(WATCHDOG_MS.millis());
    }

    /// What is done each millisecond.
    pub fn round(&mut self, inputs: &mut Inputs, phase: Phase, tickets: u8, now: Instant) {
        // Channels of a timer of one's own cannot fail.
        let _ = self.valve.tick();
        inputs.switches = self.switches.sample();
        let (pressed, locked) = (self.ticket_button.is_low(), phase != Phase::Resting);
        inputs.ticket = self.remembered.ticket.sample(pressed, locked, tickets, now);
        self.scanner.scan();
        let Ok(wire) = self.weigh_cells.poll();
        inputs.weigh = wire;
        self.listen(inputs);
        self.watchdog.feed();
    }

    /// Takes what the satellite receiver has sent; the newest sentences stay.
    fn listen(&mut self, inputs: &mut Inputs) {
        let framer = &mut self.remembered.receiver;
        while let Some(byte) = RECEIVER.take() {
            let Some(byte) = byte else {
                framer.on_error();
                continue;
            };
            let Some(sentence) = framer.take(byte) else { continue };
            if inputs.sentences.len() == SENTENCES {
                inputs.sentences.remove(0);
            }
            // There is room now.
            let _ = inputs.sentences.push(sentence);
        }
    }

    /// What is read just before a step.
    pub fn read(&mut self, inputs: &mut Inputs, now: Instant) {
        inputs.now = now;
        let [first, second, ground] = pulses();
        (inputs.rollers, inputs.ground) = ([first, second], ground);
        inputs.analog = self.scanner.wires();
        // A bus that fails falls silent, which floor 1 judges.
        let (frames, _) = self.tractor.poll(now);
        inputs.frames = frames;
    }

    /// Obeys a step, and sends a strip of the picture.
    pub fn obey(&mut self, outputs: &Outputs) {
        if self.pins.obey(outputs).is_err() {
            crate::ends::end(Ended::Refused);
        }
        self.valve.command(outputs.valve);
        let (view, strips) = &mut self.shown;
        if *strips == 0 {
            *view = outputs.view;
        }
        *strips = (*strips + 1) % STRIPS;
        if let Some(screen) = &mut self.screen {
            // A strip that failed is sent anew.
            let _ = screen.show_strip(view);
        }
    }
}
