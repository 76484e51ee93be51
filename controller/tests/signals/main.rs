//! Stories of single wires, told tick by tick, and what any input at all may do.

mod analog;
mod any;
mod pulses;
mod speed;
mod switches;
mod turns;
mod weigh;

use strewn_controller::settings::{SignalConfig, SignalSettings};
use strewn_controller::signals::{Readings, Signals, Turn};
use strewn_controller::units::Span;
use strewn_controller::wires::{AnalogWires, Inputs};

/// A controller's first floor on a bench: time passes in ticks of 10 ms, wires keep what they have.
struct Bench {
    settings: SignalSettings,
    signals: Signals,
    inputs: Inputs,
}

impl Bench {
    /// Everything fitted, analog channels at rest, one tick gone by.
    fn new() -> Self {
        Self::with(&SignalConfig::TYPICAL)
    }

    fn with(config: &SignalConfig) -> Self {
        let settings = config.build().expect("a sound configuration");
        let analog =
            AnalogWires { pressure: 410, gauge: 410, reference: 2_048, ..AnalogWires::default() };
        let inputs = Inputs { analog, ..Inputs::default() };
        let mut bench = Self { settings, signals: Signals::default(), inputs };
        bench.tick();
        bench
    }

    /// 10 ms pass; whatever has to wait for its turn has it at once.
    fn tick(&mut self) -> Readings {
        self.inputs.now = self.inputs.now.later_by(Span::from_millis(10));
        let mut readings = *self.signals.update(&self.settings, &self.inputs);
        self.inputs.frames.clear();
        self.inputs.sentences.clear();
        let (mut ground, mut hay) = (readings.turn == Turn::Ground, readings.turn == Turn::Hay);
        while !(ground && hay) {
            let later = self.signals.update(&self.settings, &self.inputs);
            match later.turn {
                Turn::Ground => {
                    (readings.speeds, ground) = (later.speeds, true);
                    readings.analog.gauge = later.analog.gauge;
                }
                Turn::Hay => (readings.weigh, hay) = (later.weigh, true),
                Turn::Row | Turn::Sentence => {}
            }
        }
        readings
    }

    /// This many milliseconds pass, a multiple of 10; the last tick's readings.
    #[track_caller]
    fn pass(&mut self, millis: u32) -> Readings {
        (0..millis / 10).map(|_| self.tick()).last().expect("at least a tick")
    }
}

#[test]
fn the_time_between_ticks_is_told_and_a_standing_clock_shows() {
    let mut bench = Bench::new();
    assert_eq!(bench.tick().tick, Span::from_millis(10));
    let again = bench.signals.update(&bench.settings, &bench.inputs);
    assert_eq!(again.tick, Span::ZERO);
}
