//! A machine small enough for stories: rollers that follow the valve, a bus that tells the speed.

use strewn_controller::safety::{Condition, Phase};
use strewn_controller::settings::{
    Config, Core, MeteringConfig, SafetyConfig, Settings, SignalConfig, TicketConfig,
};
use strewn_controller::step::{State, step};
use strewn_controller::units::Instant;
use strewn_controller::wires::{Frame, Inputs, Outputs, SwitchBits};

/// Microseconds from tick to tick.
pub(crate) const TICK_US: u64 = 10_000;
/// Edges of a roller sensor per turn, as in the typical settings.
const PULSES: f64 = 60.0;
/// Turns a second at full valve, as in the typical settings.
const FULL_RATE: f64 = 5.7;
const DEAD_BAND: f64 = 0.15;

/// Settings for the stories: everything typical, one lot of even bales.
pub(crate) fn config() -> Config {
    let ticket =
        TicketConfig { mass_g: 500_000, diameter_mm: 1_524, bite_g: 6_500, core: Core::Even };
    Config {
        signals: SignalConfig { ground: None, ..Default::default() },
        estimate: Default::default(),
        // A gentle valve law: the stories say by themselves what the rollers do.
        metering: MeteringConfig { valve_gain_permille: 60, ..MeteringConfig::TYPICAL },
        safety: SafetyConfig {
            guard_fitted: 1,
            hitch_fitted: 1,
            level_fitted: 1,
            run_pair_fitted: 1,
            coil_fitted: 1,
            supply_fitted: 1,
            ..SafetyConfig::TYPICAL
        },
        tickets: [ticket].into_iter().collect(),
    }
}

/// The machine, its driver's hands and the controller.
pub(crate) struct Machine {
    pub(crate) settings: Settings,
    pub(crate) state: State,
    pub(crate) outputs: Outputs,
    pub(crate) inputs: Inputs,
    /// Switch bits as the hands hold them.
    pub(crate) switches: u16,
    /// Ground speed on the bus, mm/s; `None` when the bus is silent.
    pub(crate) bus_mm_s: Option<u16>,
    /// Both rollers follow the valve, or are held at a speed (turns/s) whatever the valve says.
    pub(crate) held_rollers: [Option<f64>; 2],
    pub(crate) pressure_counts: u16,
    pub(crate) reference_counts: u16,
    /// Further frames on the bus, every 100 ms.
    pub(crate) frames: Vec<Frame>,
    /// Whether the tractor rolls backwards.
    pub(crate) reverse: bool,
    /// Counts of coil current, valve supply and scale whatever is true.
    pub(crate) held_coil: Option<u16>,
    pub(crate) held_supply: Option<u16>,
    pub(crate) held_kilograms: Option<f64>,
    /// Counts of the bale gauge: a whole bale unless told otherwise.
    pub(crate) gauge_counts: u16,
    /// The pressure wire gives exactly the same counts, or varies a little.
    pub(crate) frozen_pressure: bool,
    /// The clock tells half of the time that passes.
    pub(crate) half_speed: bool,
    coil: f64,
    turns: [f64; 2],
    rate: f64,
    pub(crate) kilograms: f64,
    ticks: u64,
}

/// The run switch is held: both contacts.
pub(crate) const HELD: u16 = SwitchBits::RUN | SwitchBits::RUN_B;
pub(crate) const SEATED: u16 = SwitchBits::PRESENT
    | SwitchBits::STOP_CLEAR_A
    | SwitchBits::STOP_CLEAR_B
    | SwitchBits::GUARD_SHUT
    | SwitchBits::HITCH_DOWN
    | SwitchBits::LEVEL;

impl Machine {
    pub(crate) fn new() -> Self {
        Self::under(&config())
    }

    /// A machine with a controller set like this.
    pub(crate) fn under(config: &Config) -> Self {
        let settings = config.build().expect("these settings are allowed");
        Self {
            state: State::new(&settings),
            settings,
            outputs: Outputs::default(),
            inputs: Inputs::default(),
            switches: SEATED,
            bus_mm_s: Some(1_341),
            held_rollers: [None, None],
            pressure_counts: 900,
            reference_counts: 2_048,
            frames: Vec::new(),
            reverse: false,
            held_coil: None,
            held_supply: None,
            held_kilograms: None,
            gauge_counts: 1_370,
            frozen_pressure: false,
            half_speed: false,
            coil: 0.0,
            turns: [0.0; 2],
            rate: 0.0,
            kilograms: 500.0,
            ticks: 0,
        }
    }

    /// One tick, its clock `late_us` late.
    pub(crate) fn tick_late(&mut self, late_us: u64) -> Outputs {
        let tick_us = if self.half_speed { TICK_US / 2 } else { TICK_US };
        let now = self.inputs.now.to_micros() + tick_us + late_us;
        self.ticks += 1;
        self.turn_rollers(now);
        self.inputs.now = Instant::from_micros(now);
        self.inputs.switches = SwitchBits(self.switches);
        let ripple = if self.frozen_pressure { 0 } else { (self.ticks % 5) as u16 };
        self.inputs.analog.pressure = self.pressure_counts + ripple;
        self.feed_back();
        // A face that is torn at is never quite still.
        self.inputs.analog.gauge = self.gauge_counts + ripple;
        self.inputs.analog.reference = self.reference_counts;
        self.inputs.weigh.sequence = self.inputs.weigh.sequence.wrapping_add(1);
        self.inputs.weigh.counts =
            (self.held_kilograms.unwrap_or(self.kilograms) * 1e3) as i32 + (self.ticks % 7) as i32;
        self.inputs.frames.clear();
        if let Some(speed) = self.bus_mm_s
            && self.ticks.is_multiple_of(10)
        {
            let [low, high] = speed.to_le_bytes();
            let data = [low, high, 0, 0, 0, 0, 0xFF, if self.reverse { 0xFC } else { 0xFD }];
            self.inputs.frames.push(Frame { id: 0x0CFE_4945, data }).expect("one frame fits");
        }
        if self.ticks.is_multiple_of(10) {
            self.inputs.frames.extend(self.frames.iter().copied());
        }
        self.outputs = step(&self.settings, &mut self.state, &self.inputs);
        self.outputs
    }

    pub(crate) fn tick(&mut self) -> Outputs {
        self.tick_late(0)
    }

    /// Lets time pass.
    pub(crate) fn run(&mut self, seconds: f64) {
        for _ in 0..(seconds * 100.0).round() as u64 {
            self.tick();
        }
    }

    /// Ticks while something holds; fails if it still does after `most` of them.
    #[track_caller]
    pub(crate) fn run_while(&mut self, most: u64, mut holds: impl FnMut(&Self) -> bool) {
        for _ in 0..=most {
            if !holds(self) {
                return;
            }
            self.tick();
        }
        panic!("{:?} after {most} ticks", self.phase());
    }

    /// One that has lain still for a while and now lays hay.
    pub(crate) fn laying() -> Self {
        let mut machine = Self::new();
        machine.run(0.5);
        machine.lay();
        machine
    }

    /// Both acts, and a second of laying.
    #[track_caller]
    pub(crate) fn lay(&mut self) {
        self.run(0.5);
        self.press(SwitchBits::ARM);
        assert_eq!(self.phase(), Phase::Armed, "{:?}", self.outputs.view.cause);
        self.switches |= HELD;
        self.run(1.0);
        assert_eq!(self.phase(), Phase::Laying);
        assert!(self.outputs.valve > 0 && self.outputs.enable);
    }

    /// Presses a button for a fifth of a second and lets it go.
    pub(crate) fn press(&mut self, button: u16) {
        self.switches |= button;
        self.run(0.2);
        self.switches &= !button;
        self.run(0.2);
    }

    pub(crate) fn phase(&self) -> Phase {
        self.outputs.view.phase
    }

    /// Ticks until the valve is shut and the enable off; fails after `most` of them.
    #[track_caller]
    pub(crate) fn ticks_to_stop(&mut self, most: u64) -> u64 {
        for count in 1..=most {
            self.tick();
            if self.outputs.valve == 0 && !self.outputs.enable {
                return count;
            }
        }
        panic!("valve {} after {most} ticks", self.outputs.valve);
    }

    /// It has stopped for this cause, and stays stopped while the hands hold everything as it is.
    #[track_caller]
    pub(crate) fn assert_latched(&mut self, cause: Condition) {
        for _ in 0..300 {
            self.tick();
            assert_eq!((self.outputs.valve, self.outputs.enable), (0, false));
            assert_eq!(self.phase(), Phase::Latched);
            assert_eq!(self.outputs.view.cause, Some(cause));
        }
    }

    /// Coil current and valve supply, as the command of the last tick made them.
    fn feed_back(&mut self) {
        let duty = f64::from(self.outputs.valve) / f64::from(i16::MAX);
        let driven = if self.outputs.enable { duty } else { 0.0 };
        self.coil += (driven - self.coil) * 0.5;
        self.inputs.analog.coil_current = self.held_coil.unwrap_or((self.coil * 3e3) as u16 + 9);
        let supply = if self.outputs.enable { 2_700 } else { 30 };
        self.inputs.analog.valve_supply = self.held_supply.unwrap_or(supply);
    }

    fn turn_rollers(&mut self, now_us: u64) {
        let seconds = (now_us - self.inputs.now.to_micros()) as f64 * 1e-6;
        let duty = f64::from(self.outputs.valve) / f64::from(i16::MAX);
        let enabled = if self.outputs.enable { duty } else { 0.0 };
        let wanted = ((enabled - DEAD_BAND) / (1.0 - DEAD_BAND)).max(0.0) * FULL_RATE;
        self.rate += (wanted - self.rate) * (seconds / 0.12).min(1.0);
        if self.rate < 0.02 {
            self.rate = 0.0;
        }
        for roller in 0..2 {
            let rate = self.held_rollers[roller].unwrap_or(self.rate);
            let before = (self.turns[roller] * PULSES).floor();
            self.turns[roller] += rate * seconds;
            let after = (self.turns[roller] * PULSES).floor();
            if after > before {
                let since = (self.turns[roller] * PULSES - after) / (PULSES * rate);
                let edge = now_us - (since * 1e6) as u64;
                self.inputs.rollers[roller].count += (after - before) as u32;
                self.inputs.rollers[roller].last_edge_us = edge as u32;
            }
        }
        self.kilograms -= 6.5 * self.held_rollers[0].unwrap_or(self.rate) * seconds;
    }
}
