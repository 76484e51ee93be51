//! One machine and its driver from moment to moment, as long as all is sound.

use super::TICK_S;
use super::moment::Moment;
use super::worlds::Drawn;
use crate::actuators::{self, Watchdog};
use crate::faults::Injector;
use crate::instruments::{Instruments, Panel};
use crate::world::World;
use crate::world::spec::Motion;
use crate::world::tractor::Tractor;
use strewn_controller::safety::Phase;
use strewn_controller::settings::Settings;
use strewn_controller::step::{State, step};
use strewn_controller::wires::{Inputs, Outputs, SwitchBits};

/// Steps of the world in a tick.
const STEPS: u64 = 10;
/// Ground speed in a turn and under a brake, m/s.
const TURN_M_S: f64 = 0.6;
const BRAKED_M_S: f64 = 0.3;
/// A job in which a moment has not come by now has none, s.
const LONGEST_S: f64 = 300.0;
/// A machine with less on it is empty, kg.
const EMPTY_KG: f64 = 0.5;

/// Usual ground speed, m/s.
pub(super) const USUAL_M_S: f64 = 1.34;
/// Hands off everything, sitting, all shut and clear.
pub(super) const SEATED: u16 = SwitchBits::PRESENT
    | SwitchBits::STOP_CLEAR_A
    | SwitchBits::STOP_CLEAR_B
    | SwitchBits::GUARD_SHUT
    | SwitchBits::HITCH_DOWN
    | SwitchBits::LEVEL;
pub(super) const STOPS: u16 = SwitchBits::STOP_CLEAR_A | SwitchBits::STOP_CLEAR_B;
pub(super) const RUN: u16 = SwitchBits::RUN | SwitchBits::RUN_B;

/// One tick of a controller; that of the core, or one with a defect planted in it.
pub(super) type Step = fn(&Settings, &mut State, &Inputs) -> Outputs;

/// A machine and its driver at one moment.
#[derive(Clone)]
pub(super) struct Machine<'a> {
    pub(super) drawn: &'a Drawn,
    step: Step,
    state: State,
    pub(super) world: World,
    tractor: Tractor,
    instruments: Instruments,
    watchdog: Watchdog,
    pub(super) motion: Motion,
    pub(super) outputs: Outputs,
    /// What the hands did in the last tick.
    pub(super) hands: SwitchBits,
    pub(super) tick: u64,
    empty_s: Option<f64>,
    loaded: usize,
    /// What the controller was shown in every tick, if it is to be kept.
    pub(super) shown: Option<Vec<Inputs>>,
}

impl<'a> Machine<'a> {
    pub(super) fn new(drawn: &'a Drawn) -> Self {
        let Drawn { scenario, settings, instruments, random } = drawn;
        let mut world = World::new(&scenario.machine, random.named("world"));
        if let Some(bale) = scenario.bales.first() {
            world.load(&bale.spec, 0);
        }
        Self {
            drawn,
            step,
            state: State::new(settings),
            world,
            tractor: Tractor::new(&scenario.tractor, random.named("tractor")),
            instruments: Instruments::new(instruments, random.named("instruments")),
            watchdog: Watchdog::default(),
            motion: Motion::default(),
            outputs: Outputs::default(),
            hands: SwitchBits::default(),
            tick: 0,
            empty_s: None,
            loaded: 0,
            shown: None,
        }
    }

    /// The same machine from now on under another controller.
    #[cfg(test)]
    pub(super) fn under(self, step: Step) -> Self {
        Self { step, ..self }
    }

    pub(super) fn time_s(&self) -> f64 {
        self.tick as f64 * TICK_S
    }

    /// The sound machine at the beginning of each moment.
    pub(super) fn moments(mut self) -> Vec<(Moment, Self)> {
        let mut found: Vec<(Moment, Self)> = Vec::new();
        while found.len() < Moment::ALL.len() && self.time_s() < LONGEST_S {
            for moment in Moment::ALL {
                if self.is_at(moment) && found.iter().all(|(seen, _)| *seen != moment) {
                    found.push((moment, self.clone()));
                }
            }
            self.go_on();
        }
        found.sort_by_key(|(moment, _)| *moment);
        found
    }

    /// On to the beginning of a moment, each tick with what its controller is shown kept from now on.
    pub(super) fn kept_until(mut self, moment: Moment) -> Self {
        self.shown = Some(Vec::new());
        while !self.is_at(moment) && self.time_s() < LONGEST_S {
            self.go_on();
        }
        self
    }

    /// One tick in which all is sound.
    pub(super) fn go_on(&mut self) {
        let (hands, wanted_m_s) = self.timetable();
        self.advance(hands, wanted_m_s, &mut []);
    }

    fn is_at(&self, moment: Moment) -> bool {
        let time_s = self.time_s();
        let first_bale = self.loaded == 0;
        let bale_kg = self.drawn.scenario.bales.first().map_or(0.0, |bale| bale.spec.mass_kg);
        let left_kg = self.world.left_kg();
        let laying = self.outputs.view.phase == Phase::Laying;
        match moment {
            Moment::Core => first_bale && time_s > 72.0 && laying && left_kg < 0.22 * bale_kg,
            // Where the ledger never waits, the brake itself has to do.
            Moment::Hold => {
                laying && (64.0..70.0).contains(&time_s) && self.outputs.view.holding
                    || time_s > 66.0
            }
            Moment::Seam => first_bale && time_s > 72.0 && left_kg < 12.0,
            other => other.begins_s().is_some_and(|begins_s| time_s >= begins_s - 1e-9),
        }
    }

    /// What the hands do and which speed the driver wants while all is sound. Loads the second bale.
    pub(super) fn timetable(&mut self) -> (SwitchBits, f64) {
        let time_s = self.time_s();
        if self.world.left_kg() < EMPTY_KG {
            self.empty_s.get_or_insert(time_s);
        }
        let wanted_m_s = match time_s {
            t if t < 0.5 => 0.0,
            t if (24.0..34.0).contains(&t) => TURN_M_S,
            t if (64.0..70.0).contains(&t) => BRAKED_M_S,
            _ => USUAL_M_S,
        };
        let bits = match self.empty_s {
            Some(empty_s) => self.seam(time_s - empty_s),
            None => match time_s {
                t if (0.3..0.6).contains(&t) => SwitchBits::NEW_BALE,
                t if (4.0..4.3).contains(&t) => SwitchBits::ARM,
                t if (5.0..40.0).contains(&t) => RUN,
                t if (42.0..42.3).contains(&t) => SwitchBits::ARM,
                t if (43.0..50.0).contains(&t) => RUN,
                t if (54.0..54.3).contains(&t) => SwitchBits::ARM,
                t if t >= 55.0 => RUN,
                _ => 0,
            },
        };
        let stop = if (50.0..51.0).contains(&time_s) { STOPS } else { 0 };
        (SwitchBits((SEATED | bits) & !stop), wanted_m_s)
    }

    fn seam(&mut self, since_s: f64) -> u16 {
        match since_s {
            s if s < 2.0 => 0,
            s if s < 2.3 => {
                if self.loaded == 0
                    && let Some(bale) = self.drawn.scenario.bales.get(1)
                {
                    self.world.load(&bale.spec, 1);
                    self.loaded = 1;
                }
                SwitchBits::NEW_BALE
            }
            s if (3.0..3.3).contains(&s) => SwitchBits::ARM,
            s if s >= 4.0 => RUN,
            _ => 0,
        }
    }

    /// One tick; what the controller was shown and what reached the valve.
    pub(super) fn advance(
        &mut self,
        hands: SwitchBits,
        wanted_m_s: f64,
        faults: &mut [Injector],
    ) -> (Inputs, Outputs) {
        let mut inputs = Inputs::default();
        // A press of the new-bale button goes with a turn of the ticket's selector.
        let panel = Panel { switches: hands, ticket: u8::from(hands.has(SwitchBits::NEW_BALE)) };
        self.hands = hands;
        self.instruments.read(&self.world, panel, &mut inputs);
        for fault in &mut *faults {
            fault.on_inputs(self.tick, &mut inputs);
        }
        if let Some(shown) = &mut self.shown {
            shown.push(inputs.clone());
        }
        self.outputs = (self.step)(&self.drawn.settings, &mut self.state, &inputs);
        let mut reached = self.outputs;
        for fault in faults {
            fault.on_outputs(self.tick, &mut reached);
        }
        let reached = self.watchdog.pass(&reached, TICK_S);
        let command = actuators::command(&reached);
        for _ in 0..STEPS {
            self.motion = self.tractor.step(wanted_m_s);
            self.world.step(command, self.motion);
            self.instruments.watch(&self.world);
        }
        self.tick += 1;
        (inputs, reached)
    }
}
