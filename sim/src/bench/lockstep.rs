//! World and contender in lockstep: the world at 1 kHz, the contender at 100 Hz, wires between them.

use super::driver::{Cab, Driver, Hands};
use super::ground_speed::Recording;
use super::record::{BaleRun, Run, Sample};
use super::scenario::Scenario;
use crate::actuators::{self, Watchdog};
use crate::faults::{Fault, Injector, Kind, Wire};
use crate::instruments::{InstrumentSpec, Instruments};
use crate::random::Stream;
use crate::rivals::{Contender, Job, Law, Sight};
use crate::world::spec::Motion;
use crate::world::terrain::Terrain;
use crate::world::tractor::{Recorded, Tractor};
use crate::world::{STEP_S, World};
use strewn_controller::safety::{Condition, Phase};
use strewn_controller::settings::Settings;
use strewn_controller::units::Speed;
use strewn_controller::wires::{FRAMES, Inputs, Outputs, SENTENCES};

/// Ticks of the controller a second.
pub(super) const TICKS_S: u64 = 100;
/// One tick, s.
pub(super) const TICK_S: f64 = 1.0 / TICKS_S as f64;
/// Steps of the world in a tick.
const STEPS: u64 = 1000 / TICKS_S;
/// A sample is kept every so many ticks.
const SAMPLE_TICKS: u64 = 10;
/// After the drive is over, the run goes on until all hay has landed, s.
pub(super) const AFTERMATH_S: f64 = 2.0;
/// A machine with less than this on it is empty to the eye, kg.
const EMPTY_KG: f64 = 0.5;

/// What all contenders have in common.
#[derive(Clone, Copy, Debug)]
pub(super) struct Setup<'a> {
    /// The job.
    pub(super) scenario: &'a Scenario,
    /// The controller's settings.
    pub(super) settings: &'a Settings,
    /// What is fitted to the machine.
    pub(super) instruments: &'a InstrumentSpec,
    /// How the job is usually driven.
    pub(super) usual: Motion,
    /// Faults on the wires.
    pub(super) faults: &'a [Fault],
    /// Everything drawn follows from it.
    pub(super) seed: u64,
    /// Whether the run's samples are kept.
    pub(super) keep_samples: bool,
    /// The digest of the settings, if power goes off and on again between bales.
    pub(super) power_cycled: Option<u32>,
}

/// How the tractor comes to move. There is one a run, so its size does not matter.
#[allow(clippy::large_enum_variant)]
#[derive(Clone)]
enum Wheels {
    Driven { tractor: Tractor, wanted_m_s: f64 },
    Recorded { motion: Recorded, until_s: f64 },
}

/// One run in progress.
pub(super) struct Lockstep<'a> {
    scenario: Scenario,
    random: Stream,
    pub(super) world: World,
    wheels: Wheels,
    pub(super) motion: Motion,
    instruments: Instruments,
    watchdog: Watchdog,
    pub(super) driver: Driver,
    recorded: RecordedWires<'a>,
    pub(super) inputs: Inputs,
    pub(super) outputs: Outputs,
    pub(super) faults: Vec<Injector>,
    pub(super) tick: u64,
    pub(super) bales: Vec<BaleRun>,
    samples: Vec<Sample>,
    /// A row of fixed length has ended, and no hay of the next has left.
    row_ended: bool,
}

/// Runs one contender through the job, behind a recorded drive if there is one. `watch` sees inputs
/// and outputs of every tick.
pub(super) fn run(
    setup: &Setup<'_>,
    recording: Option<&Recording>,
    law: Law,
    watch: &mut dyn FnMut(&Inputs, &Outputs),
) -> Run {
    let mut lockstep = Lockstep::new(setup, recording);
    let mut contender = Contender::new(law, setup.job());
    let mut over_s = None;
    while over_s.is_none_or(|over_s| lockstep.world.time_s() < over_s + AFTERMATH_S) {
        let before = lockstep.driver.waits();
        let done = lockstep.sense(over_s.is_some(), None);
        if let Some(digest) = setup.power_cycled.filter(|_| !before && lockstep.driver.waits()) {
            contender.cycle_power(digest);
        }
        let outputs = contender.tick(&lockstep.sight(&|ticks| lockstep.coming_m_s(ticks)));
        lockstep.outputs = outputs;
        watch(&lockstep.inputs, &lockstep.outputs);
        if setup.keep_samples && lockstep.is_sampled() {
            lockstep.samples.push(lockstep.sample());
        }
        lockstep.advance();
        if done {
            over_s.get_or_insert(lockstep.world.time_s());
        }
    }
    lockstep.finish(law)
}

impl Setup<'_> {
    /// What contenders are told before the job.
    pub(super) fn job(&self) -> Job {
        Job {
            settings: self.settings.clone(),
            target_kg_m: self.scenario.target_kg_m,
            usual: self.usual,
            machine: self.scenario.machine.clone(),
            random: Stream::root(self.seed).named("contender"),
        }
    }
}

impl<'a> Lockstep<'a> {
    pub(super) fn new(setup: &Setup<'_>, recording: Option<&'a Recording>) -> Self {
        let Setup { scenario, seed, .. } = *setup;
        let random = Stream::root(seed);
        let tickets = scenario.bales.iter().map(|bale| bale.ticket as u8).collect();
        let terrain = Terrain::new(&scenario.tractor.terrain, random.named("terrain"));
        let wheels = match recording {
            Some(recording) => {
                let motion = recording.motion(scenario.tractor.engine_turns_s);
                let until_s = motion.last().map_or(0.0, |(time_s, _)| *time_s);
                Wheels::Recorded { motion: Recorded::new(motion), until_s }
            }
            None => Wheels::Driven {
                tractor: Tractor::new(&scenario.tractor, random.named("tractor"))
                    .over(terrain.clone()),
                wanted_m_s: 0.0,
            },
        };
        Self {
            scenario: scenario.clone(),
            random,
            world: World::new(&scenario.machine, random.named("world")).over(terrain),
            wheels,
            motion: Motion::default(),
            instruments: Instruments::new(setup.instruments, random.named("instruments")),
            watchdog: Watchdog::default(),
            driver: Driver::new(
                &scenario.drive,
                tickets,
                scenario.heed,
                scenario.between_bales_s,
                recording.is_some(),
            ),
            recorded: RecordedWires::new(recording),
            inputs: Inputs::default(),
            outputs: Outputs::default(),
            faults: injectors(setup.faults, random.named("faults")),
            tick: 0,
            bales: Vec::new(),
            samples: Vec::new(),
            row_ended: false,
        }
    }

    /// What the driver does - or the hands of somebody in his place - and the instruments read at the
    /// start of a tick. Gives whether the drive is over.
    pub(super) fn sense(&mut self, over: bool, instead: Option<Hands>) -> bool {
        let cab = Cab {
            lamps: self.outputs.lamps,
            advised_m_s: advised_m_s(&self.outputs),
            speed_m_s: self.motion.speed_m_s,
            empty: self.world.left_kg() < EMPTY_KG,
            row_laid: row_is_laid(&self.outputs),
        };
        let hands = instead.unwrap_or_else(|| self.driver.tick(&cab, TICK_S));
        if let Some(bale) = hands.loads {
            self.load(bale);
        }
        let time_s = self.world.time_s();
        let mut done = over || hands.done;
        match &mut self.wheels {
            Wheels::Driven { wanted_m_s, .. } => {
                *wanted_m_s = if done { 0.0 } else { hands.wanted_m_s };
            }
            Wheels::Recorded { until_s, .. } => done |= time_s >= *until_s,
        }
        let panel = if done { self.driver.hands_off() } else { hands.panel };
        self.instruments.read(&self.world, panel, &mut self.inputs);
        self.recorded.deliver(time_s, &mut self.inputs);
        for fault in &mut self.faults {
            fault.on_inputs(self.tick, &mut self.inputs);
        }
        done
    }

    pub(super) fn sight<'b>(&'b self, coming_m_s: &'b dyn Fn(usize) -> Vec<f64>) -> Sight<'b> {
        let inputs = &self.inputs;
        Sight { inputs, world: &self.world, motion: self.motion, coming_m_s, tick_s: TICK_S }
    }

    /// Ground speed at the end of each tick to come, m/s, if the driver goes on like this.
    pub(super) fn coming_m_s(&self, ticks: usize) -> Vec<f64> {
        let mut wheels = self.wheels.clone();
        let mut time_s = self.world.time_s();
        let mut tick = || {
            let mut speed_m_s = 0.0;
            for _ in 0..STEPS {
                speed_m_s = wheels.step(time_s).speed_m_s;
                time_s += STEP_S;
            }
            speed_m_s
        };
        (0..ticks).map(|_| tick()).collect()
    }

    fn load(&mut self, bale: usize) {
        self.close_bale();
        let Some(next) = self.scenario.bales.get(bale).cloned() else { return };
        self.world.load(&next.spec, bale as u64);
        let (time_s, odometer_m) = (self.world.time_s(), self.world.odometer_m());
        self.bales.push(BaleRun {
            name: next.name,
            mass_kg: next.spec.mass_kg,
            left_kg: next.spec.mass_kg,
            target_kg_m: self.scenario.target_kg_m,
            time_s: (time_s, time_s),
            strip_m: (odometer_m, odometer_m),
            between_rows_m: Vec::new(),
            clumps: Vec::new(),
        });
    }

    /// Notes how the bale on the machine stands, and has ended if another one follows.
    pub(super) fn close_bale(&mut self) {
        let Some(bale) = self.bales.last_mut() else { return };
        bale.left_kg = self.world.left_kg();
        bale.clumps = self.world.clumps().to_vec();
    }

    /// Ten steps of the world under the present command.
    pub(super) fn advance(&mut self) {
        let mut reached = self.outputs;
        for fault in &mut self.faults {
            fault.on_outputs(self.tick, &mut reached);
        }
        let reached = self.watchdog.pass(&reached, TICK_S);
        self.tick += 1;
        let command = actuators::command(&reached);
        for _ in 0..STEPS {
            self.motion = self.wheels.step(self.world.time_s());
            self.world.step(command, self.motion);
            self.instruments.watch(&self.world);
        }
        self.note_strip();
    }

    /// First and last moment and place of the present bale's hay.
    fn note_strip(&mut self) {
        self.row_ended |= row_is_laid(&self.outputs);
        let Some(bale) = self.bales.last_mut() else { return };
        let (time_s, odometer_m) = (self.world.time_s(), self.world.odometer_m());
        let begun = self.world.left_kg() < bale.mass_kg;
        if !begun {
            bale.time_s = (time_s, time_s);
            bale.strip_m = (odometer_m, odometer_m);
        } else if self.world.in_air_kg() > 0.0 {
            // What is still in the air when a row has ended belongs to it.
            if self.row_ended && self.outputs.view.phase == Phase::Laying {
                self.row_ended = false;
                bale.between_rows_m.push((bale.strip_m.1, odometer_m));
            }
            bale.time_s.1 = time_s;
            bale.strip_m.1 = odometer_m;
        }
    }

    /// Whether this tick is one of those of which a sample is kept.
    pub(super) fn is_sampled(&self) -> bool {
        self.tick.is_multiple_of(SAMPLE_TICKS)
    }

    pub(super) fn sample(&self) -> Sample {
        let view = &self.outputs.view;
        let kg = |mass: strewn_controller::units::Mass| f64::from(mass.to_milli()) * 1e-3;
        let bite = |bite: strewn_controller::units::Bite| f64::from(bite.to_milli()) * 1e-3;
        Sample {
            time_s: self.world.time_s(),
            odometer_m: self.world.odometer_m(),
            ground_speed_m_s: self.motion.speed_m_s,
            advised_speed_m_s: advised_m_s(&self.outputs).unwrap_or(f64::INFINITY),
            roller_asked: f64::from(view.roller_asked.to_milli()) * 1e-3,
            roller_turns_s: self.world.roller_turns_s(),
            pressure_pa: self.world.pressure_pa(),
            bite_kg: self.world.bite_kg(),
            bite_estimate_kg: (bite(view.bite), bite(view.bite_deviation)),
            left_kg: self.world.left_kg(),
            left_estimate_kg: (kg(view.left), kg(view.left_deviation)),
            duty: f64::from(self.outputs.valve) / f64::from(i16::MAX),
            phase: view.phase,
            cause: view.cause,
            core_near: view.core_near,
            holding: view.holding,
        }
    }

    /// The machine and the tractor are others from now on; what moves goes on moving. Tickets, bales,
    /// drive and ground stay.
    pub(super) fn refit(&mut self, scenario: &Scenario) {
        self.scenario.machine.clone_from(&scenario.machine);
        self.scenario.target_kg_m = scenario.target_kg_m;
        self.world.refit(&scenario.machine);
        if let Wheels::Driven { tractor, .. } = &mut self.wheels {
            tractor.refit(&scenario.tractor);
        }
    }

    /// These faults from the next tick on, and no others. One that was there already goes on.
    pub(super) fn plug(&mut self, faults: &[(Wire, Kind)]) {
        self.faults.retain(|fault| faults.contains(&fault.place()));
        for (wire, kind) in faults {
            if self.faults.iter().any(|fault| fault.place() == (*wire, *kind)) {
                continue;
            }
            // A tick without it first: some kinds go on from what they saw last.
            let fault =
                Fault { wire: *wire, kind: *kind, onset_s: (self.tick + 1) as f64 * TICK_S };
            let random = self.random.named("plugs").numbered(self.tick).named(wire.word());
            self.faults.push(Injector::new(fault, TICKS_S as f64, random.named(kind.word())));
        }
    }

    fn finish(mut self, law: Law) -> Run {
        self.close_bale();
        Run {
            contender: law.name(),
            bales: self.bales,
            samples: self.samples,
            ground_kg: self.world.ground_kg().to_vec(),
            energy_j: self.world.energy_j(),
        }
    }
}

fn injectors(faults: &[Fault], random: Stream) -> Vec<Injector> {
    let numbered = (0..).zip(faults);
    numbered
        .map(|(number, fault)| Injector::new(*fault, TICKS_S as f64, random.numbered(number)))
        .collect()
}

impl Wheels {
    fn step(&mut self, time_s: f64) -> Motion {
        match self {
            Self::Driven { tractor, wanted_m_s } => tractor.step(*wanted_m_s),
            Self::Recorded { motion, .. } => motion.at(time_s),
        }
    }
}

/// Whether the screen says that a row of fixed length has ended.
fn row_is_laid(outputs: &Outputs) -> bool {
    outputs.view.cause == Some(Condition::MarkReached)
}

/// The advised ground speed, m/s; `None` when any will do.
fn advised_m_s(outputs: &Outputs) -> Option<f64> {
    let advised = outputs.view.advised_speed;
    (advised != Speed::MAX).then(|| f64::from(advised.to_milli()) * 1e-3)
}

/// Recorded sentences and frames, handed out when their time has come.
struct RecordedWires<'a> {
    recording: Option<&'a Recording>,
    sentences: usize,
    frames: usize,
}

impl<'a> RecordedWires<'a> {
    fn new(recording: Option<&'a Recording>) -> Self {
        Self { recording, sentences: 0, frames: 0 }
    }

    /// Adds what has arrived. What does not fit into one tick comes with the next.
    fn deliver(&mut self, time_s: f64, inputs: &mut Inputs) {
        let Some(recording) = self.recording else { return };
        while inputs.sentences.len() < SENTENCES
            && let Some((at_s, sentence)) = recording.sentences.get(self.sentences)
            && *at_s <= time_s
            && inputs.sentences.push(sentence.clone()).is_ok()
        {
            self.sentences += 1;
        }
        while inputs.frames.len() < FRAMES
            && let Some((at_s, frame)) = recording.frames.get(self.frames)
            && *at_s <= time_s
            && inputs.frames.push(*frame).is_ok()
        {
            self.frames += 1;
        }
    }
}
