//! The speed report: a whole feeding, its parts, two threads and the log, in one run.
//!
//! `cargo bench -p strewn --bench report` prints it. All pieces are measured in turn, again and again,
//! and medians are told, so that what else the machine does falls on all of them alike; beside them the
//! least times, which it disturbed least. Times are those of this machine at this moment; the ratios are
//! what counts. Nothing is asserted: a busy machine is no defect.

use std::hint::black_box;
use std::sync::atomic::AtomicBool;
use std::time::Instant;
use strewn::bench::log::{Header, Log, LogWriter};
use strewn::bench::scenario::Scenario;
use strewn::bench::{MachineFile, Power, Trouble, configuration, contest, runs_in};
use strewn::faults::{Fault, Kind, Wire};
use strewn::instruments::{InstrumentSpec, Instruments, Panel};
use strewn::random::Stream;
use strewn::rivals::Law;
use strewn::study::pool;
use strewn::world::World;
use strewn::world::spec::{Command, Motion};
use strewn::world::tractor::Tractor;
use strewn_controller::record::decode;
use strewn_controller::settings::Settings;
use strewn_controller::step::{State, step};
use strewn_controller::wires::{Inputs, Outputs};

/// Rounds of which the median is told.
const ROUNDS: usize = 15;
/// Feedings that one and two threads share.
const SHARED: usize = 32;
/// Ticks held at a time: as near to the processor as they are in a run.
const WINDOW: usize = 16;
/// Steps of the world in a tick.
const STEPS: u64 = 10;

/// Time of a piece of work, s.
fn timed<T>(work: impl FnOnce() -> T) -> f64 {
    let begin = Instant::now();
    black_box(work());
    begin.elapsed().as_secs_f64()
}

/// The job that is measured, and what a run of it left.
struct Job {
    scenario: Scenario,
    log: Vec<u8>,
    settings: Settings,
    ticks: usize,
}

/// What one round measured, s.
struct Round {
    feeding: f64,
    world: f64,
    tractor: f64,
    instruments: f64,
    controller: f64,
    log: f64,
    threads: [f64; 2],
}

impl Job {
    fn new() -> Self {
        let scenario = Scenario::parse(Scenario::DEMO).expect("the demonstration is allowed");
        let log = contest(&scenario, None, 1, &mut |_| {}).expect("the demonstration feeds").log;
        let settings = configuration(&log).expect("a whole log").build().expect("its settings");
        let ticks = Log::read(&log).expect("a whole log").ticks.len();
        Self { scenario, log, settings, ticks }
    }

    /// The controller's run, with a fault on a wire that never comes to its onset.
    fn feed(&self, seed: u64) {
        let waiting = [Fault { wire: Wire::Clock, kind: Kind::Offset, onset_s: 86_400.0 }];
        let trouble = Trouble { faults: &waiting, power: Power::Stays };
        let laws = [Law::Controller];
        let machine = MachineFile::default();
        black_box(
            runs_in(trouble, &self.scenario, &machine, &laws, seed, false).expect("it feeds"),
        );
    }

    fn measure(&self) -> Round {
        let feedings = |threads| {
            let never = AtomicBool::new(false);
            let feed = |piece: usize| self.feed(piece as u64);
            timed(|| pool::map(SHARED, threads, &never, &feed, &mut |_| {}))
        };
        let world = timed(|| self.turn_world(|_| {}));
        let spec = InstrumentSpec {
            bus_speed: self.scenario.sensors.bus_speed,
            nmea_hz: self.scenario.sensors.nmea_hz,
            ..InstrumentSpec::default()
        };
        let mut instruments = Instruments::new(&spec, Stream::root(2));
        let mut inputs = Inputs::default();
        let watched = timed(|| {
            self.turn_world(|world| {
                instruments.watch(world);
                if world.steps().is_multiple_of(STEPS) {
                    instruments.read(world, Panel::default(), black_box(&mut inputs));
                }
            });
        });
        let (controller, log) = self.control();
        Round {
            feeding: timed(|| self.feed(1)),
            world,
            tractor: timed(|| self.drive()),
            instruments: watched - world,
            controller,
            log,
            threads: [feedings(1), feedings(2)],
        }
    }

    /// The world alone for as long as the run took, always with hay on the rollers.
    fn turn_world(&self, mut watch: impl FnMut(&World)) {
        let mut world = World::new(&self.scenario.machine, Stream::root(1));
        let motion =
            Motion { speed_m_s: 1.34, engine_turns_s: self.scenario.tractor.engine_turns_s };
        let mut bale = 0;
        for _ in 0..STEPS * self.ticks as u64 {
            if world.bale_is_gone() {
                world.load(&self.scenario.bales[0].spec, bale);
                bale += 1;
            }
            world.step(black_box(Command { duty: 0.3, enable: true }), motion);
            watch(&world);
        }
    }

    fn drive(&self) -> Motion {
        let mut tractor = Tractor::new(&self.scenario.tractor, Stream::root(3));
        let mut motion = Motion::default();
        for _ in 0..STEPS * self.ticks as u64 {
            motion = tractor.step(black_box(1.34));
        }
        motion
    }

    /// The controller's steps alone, on what it saw in the run; then the log of them: s each.
    fn control(&self) -> (f64, f64) {
        let log = Log::read(&self.log).expect("a whole log");
        let mut state = State::new(&self.settings);
        let mut writer = LogWriter::new(Vec::new(), &Header::default()).expect("memory");
        let (mut before, mut times) = (Inputs::default(), (0.0, 0.0));
        for window in log.ticks.chunks(WINDOW) {
            let read = window.iter().map(|frame| {
                before = decode(&before, frame).expect("a whole tick").0;
                before.clone()
            });
            let seen: Vec<Inputs> = read.collect();
            let mut outputs = vec![Outputs::default(); seen.len()];
            times.0 += timed(|| {
                for (inputs, outputs) in seen.iter().zip(&mut outputs) {
                    *outputs = step(&self.settings, &mut state, inputs);
                }
            });
            times.1 += timed(|| {
                for (inputs, outputs) in seen.iter().zip(&outputs) {
                    writer.tick(inputs, outputs).expect("memory");
                }
            });
        }
        times
    }
}

/// What is told of a round.
type Piece<'a> = &'a dyn Fn(&Round) -> f64;

/// Median and least of what was measured of a piece, or of the ratio of two.
struct Measured(Vec<Round>);

impl Measured {
    fn of(&self, value: Piece<'_>) -> [f64; 2] {
        let mut values: Vec<f64> = self.0.iter().map(value).collect();
        values.sort_by(f64::total_cmp);
        [values[values.len() / 2], values[0]]
    }

    /// The median ratio, and that of the least times.
    fn ratio(&self, upper: Piece<'_>, lower: Piece<'_>) -> [f64; 2] {
        let [median, _] = self.of(&|round| upper(round) / lower(round));
        [median, self.of(upper)[1] / self.of(lower)[1]]
    }
}

fn main() {
    // `cargo bench -- --test` only asks whether it runs.
    let rounds = if std::env::args().any(|word| word == "--test") { 1 } else { ROUNDS };
    let job = Job::new();
    let measured = Measured((0..rounds).map(|_| job.measure()).collect());
    println!(
        "speed report: {rounds} rounds, all pieces in turn, on this machine    median     least"
    );
    let line = |name: &str, [median, least]: [f64; 2], aim: &str| {
        println!("  {name:<62}{median:9.2}{least:10.2}  {aim}");
    };
    let whole: Piece<'_> = &|round| round.feeding;
    let simulated_s = job.ticks as f64 * 0.01;
    let times = measured.of(whole).map(|real_s| simulated_s / real_s);
    line("one core, 1 kHz and 100 Hz, over real time", times, "(10,000 or more)");
    let threads = measured.ratio(&|round| round.threads[0], &|round| round.threads[1]);
    line("two threads over one", threads, "(1.85 or more)");
    let log = measured.ratio(&|round| round.log, whole).map(|share| 100.0 * share);
    line("writing the log, % of the run", log, "(20 or less)");
    let bytes = job.log.len() as f64 / job.ticks as f64;
    line("the log, bytes a tick", [bytes; 2], "(64 or less)");
    println!("where a tick of 10 ms goes                         ns: median     least  %: median");
    let parts: [(&str, Piece<'_>); 4] = [
        ("world, ten steps", &|round| round.world),
        ("tractor, ten steps", &|round| round.tractor),
        ("instruments, ten looks and a reading", &|round| round.instruments),
        ("controller, a step", &|round| round.controller),
    ];
    let [median_s, least_s] = measured.of(whole);
    let share = |name: &str, part_s: [f64; 2]| {
        let [median_ns, least_ns] = part_s.map(|all_s| all_s / job.ticks as f64 * 1e9);
        let percent = 100.0 * part_s[0] / median_s;
        println!("  {name:<49}{median_ns:10.0}{least_ns:10.0}{percent:11.1}");
    };
    let mut rest_s = [median_s, least_s];
    for (name, part) in parts {
        let part_s = measured.of(part);
        share(name, part_s);
        rest_s = [rest_s[0] - part_s[0], rest_s[1] - part_s[1]];
    }
    share("driver, faults and wires: the rest", rest_s);
    share("the whole", [median_s, least_s]);
}
