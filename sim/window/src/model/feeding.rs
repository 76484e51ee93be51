//! The whole of it: a job, its lanes, time, hands and plugs.

use super::clock::Goal;
use super::{Against, Clock, Frame, Grip, Job, Lane, Note, WorldKnob};
use std::collections::BTreeSet;
use strewn::bench::record::Run;
use strewn::bench::scenario::Scenario;
use strewn::bench::{ContestError, Knob, Live, MachineFile};
use strewn::faults::{Kind, Wire};
use strewn::rivals::Law;

/// Ticks between two looks at whether the next picture is due.
const LOOK_TICKS: u64 = 50;
/// A machine with less on it takes the next bale, kg.
const EMPTY_KG: f64 = 0.5;

/// Everything that the window shows and does.
pub struct Feeding {
    /// The scenario.
    pub job: Job,
    /// Number that all chance is drawn from; counts from the next start on.
    pub seed: u64,
    /// How time runs.
    pub clock: Clock,
    /// Hands on the switches.
    pub grip: Grip,
    /// What came of the last act.
    pub note: Option<Note>,
    against: Against,
    machine: MachineFile,
    plugs: BTreeSet<(Wire, Kind)>,
    lanes: Vec<Lane>,
    /// A moment looked back at, s; `None` for now.
    shown_s: Option<f64>,
    core_was_near: bool,
    meddled: bool,
}

impl Feeding {
    /// A job before its first tick, time standing.
    ///
    /// # Errors
    /// A scenario beyond what the controller can be set to.
    pub fn new(job: Job, seed: u64) -> Result<Self, ContestError> {
        let mut feeding = Self {
            job,
            seed,
            clock: Clock::default(),
            grip: Grip::default(),
            note: None,
            against: Against::Nobody,
            machine: MachineFile::default(),
            plugs: BTreeSet::new(),
            lanes: Vec::new(),
            shown_s: None,
            core_was_near: false,
            meddled: false,
        };
        feeding.start()?;
        Ok(feeding)
    }

    /// Begins anew: same job, settings and seed, plugs in, hands off.
    ///
    /// # Errors
    /// As [`Live::new`]; everything stays as it was then.
    pub fn start(&mut self) -> Result<(), ContestError> {
        let lanes = self.lanes_for(&self.job.scenario, &self.machine, &self.against)?;
        self.place(lanes);
        Ok(())
    }

    fn lanes_for(
        &self,
        scenario: &Scenario,
        machine: &MachineFile,
        against: &Against,
    ) -> Result<Vec<Lane>, ContestError> {
        let lane = |law: Law, machine: &MachineFile, name: String| {
            Lane::new(scenario, law, machine, self.seed, name)
        };
        let mut lanes = vec![lane(Law::Controller, machine, "controller".to_owned())?];
        if let Some((law, machine)) = against.lane() {
            lanes.push(lane(law, &machine, against.name())?);
        }
        Ok(lanes)
    }

    fn place(&mut self, lanes: Vec<Lane>) {
        self.lanes = lanes;
        self.clock.stop();
        self.grip = Grip::default();
        self.plugs.clear();
        (self.shown_s, self.core_was_near, self.meddled) = (None, false, false);
    }

    pub(super) fn begin(&mut self, job: Job) -> Result<(), ContestError> {
        let machine = MachineFile::default();
        let lanes = self.lanes_for(&job.scenario, &machine, &self.against)?;
        (self.job, self.machine) = (job, machine);
        self.place(lanes);
        Ok(())
    }

    pub(super) fn begin_with(&mut self, machine: MachineFile) -> Result<(), ContestError> {
        let lanes = self.lanes_for(&self.job.scenario, &machine, &self.against)?;
        self.machine = machine;
        self.place(lanes);
        Ok(())
    }

    /// Feeds the same bales beside it in another way, both from the beginning.
    ///
    /// # Errors
    /// As [`Live::new`]; everything stays as it was then.
    pub fn compare(&mut self, against: Against) -> Result<(), ContestError> {
        let lanes = self.lanes_for(&self.job.scenario, &self.machine, &against)?;
        self.against = against;
        self.place(lanes);
        Ok(())
    }

    pub(super) fn show_log(&mut self, lane: Lane) {
        let begin_s = lane.history().span_s().0;
        self.place(vec![lane]);
        self.shown_s = Some(begin_s);
    }

    /// Whether a log is shown instead of a feeding.
    #[must_use]
    pub fn is_log(&self) -> bool {
        self.lanes.first().is_some_and(|lane| lane.live().is_none())
    }

    /// The contenders, the controller's first; never empty.
    #[must_use]
    pub fn lanes(&self) -> &[Lane] {
        &self.lanes
    }

    /// What feeds beside it.
    #[must_use]
    pub fn against(&self) -> &Against {
        &self.against
    }

    /// Settings that differ from those made from the scenario.
    #[must_use]
    pub fn machine(&self) -> &MachineFile {
        &self.machine
    }

    pub(super) fn first_live(&mut self) -> Option<&mut Live> {
        self.lanes.first_mut().and_then(Lane::live_mut)
    }

    pub(super) fn is_meddled(&self) -> bool {
        self.meddled
    }

    pub(super) fn all_runs(&mut self) -> Option<Vec<Run>> {
        let twin = match self.against {
            Against::AsGiven => Some("controller as given"),
            Against::File(..) => Some("controller, other file"),
            Against::Nobody | Against::Rival(_) => None,
        };
        let mut runs: Vec<Run> = self.lanes.iter_mut().map(Lane::run).collect::<Option<_>>()?;
        if let (Some(twin), Some(run)) = (twin, runs.get_mut(1)) {
            run.contender = twin;
        }
        Some(runs)
    }

    /// Lets time run on by as much as is due after `elapsed_s` of a person's time, as long as `go_on`
    /// agrees.
    pub fn advance(&mut self, elapsed_s: f64, go_on: &mut dyn FnMut() -> bool) {
        if self.is_log() {
            self.play_log(elapsed_s);
            return;
        }
        for tick in 1..=self.clock.due(elapsed_s, Live::TICKS_S) {
            if !self.tick() || tick.is_multiple_of(LOOK_TICKS) && !go_on() {
                break;
            }
        }
    }

    fn play_log(&mut self, elapsed_s: f64) {
        let due = self.clock.due(elapsed_s, Live::TICKS_S);
        if due > 0 {
            let to_s = self.lanes[0].history().span_s().1;
            let shown_s = self.now_s() + due as f64 / Live::TICKS_S as f64;
            self.shown_s = Some(shown_s.min(to_s));
            if shown_s >= to_s {
                self.clock.stop();
            }
        }
    }

    /// One tick of every lane, and the picture is that of now. Gives whether time goes on after it.
    pub fn tick(&mut self) -> bool {
        self.shown_s = None;
        let next = self.next_bale();
        let hands = self.grip.tick(next);
        self.meddled |= hands.is_some();
        let mut kept = false;
        for lane in self.lanes.iter_mut().rev() {
            kept = lane.tick(hands);
        }
        let reached = kept && self.has_reached();
        if reached {
            self.clock.stop();
        }
        let over = hands.is_none() && self.is_over();
        if over && self.clock.running {
            let missed = matches!(self.clock.goal, Some(Goal::Core));
            let more = if missed { " No core came." } else { "" };
            self.note = Some(Note::good(format!("The drive is over.{more}")));
            self.clock.stop();
        }
        !reached && !over
    }

    /// Whether every lane's drive is over.
    #[must_use]
    pub fn is_over(&self) -> bool {
        self.lanes.iter().filter_map(Lane::live).all(Live::is_over)
    }

    fn has_reached(&mut self) -> bool {
        let Some(sample) = self.lanes.first().and_then(|lane| lane.history().last()) else {
            return false;
        };
        let sample = sample.sample;
        let came = sample.core_near && !self.core_was_near;
        self.core_was_near = sample.core_near;
        match self.clock.goal {
            Some(Goal::Core) => came,
            Some(Goal::Time(time_s)) => sample.time_s >= time_s,
            None => false,
        }
    }

    /// The bale that is put on next, if the machine is empty and there is one.
    #[must_use]
    pub fn next_bale(&self) -> Option<usize> {
        let live = self.lanes.first().and_then(Lane::live)?;
        let next = live.bales().len();
        (live.world().left_kg() < EMPTY_KG && next < self.job.scenario.bales.len()).then_some(next)
    }

    /// Takes the switches out of the driver's hands.
    pub fn take_switches(&mut self) {
        let frame = self.frame(0);
        let ticket = frame.bale.and_then(|bale| self.job.scenario.bales.get(usize::from(bale)));
        let ticket = ticket.and_then(|bale| u8::try_from(bale.ticket).ok()).unwrap_or(0);
        self.grip.take(frame.sample.ground_speed_m_s, ticket);
    }

    /// Gives them back.
    pub fn give_back_switches(&mut self) {
        self.grip = Grip::default();
    }

    /// Looks at an earlier moment, s, time standing; `None` looks at now.
    pub fn look_at(&mut self, time_s: Option<f64>) {
        if time_s.is_some() {
            self.clock.stop();
        }
        self.shown_s = if self.is_log() { Some(time_s.unwrap_or(f64::MAX)) } else { time_s };
    }

    /// The moment looked back at, s; `None` for now.
    #[must_use]
    pub fn shown_s(&self) -> Option<f64> {
        self.shown_s
    }

    /// Time of the moment shown, s.
    #[must_use]
    pub fn now_s(&self) -> f64 {
        let end_s = self.lanes.first().map_or(0.0, |lane| lane.history().span_s().1);
        self.shown_s.unwrap_or(end_s).min(end_s)
    }

    /// The moment shown of a lane, counted from 0; an empty one beyond the last.
    #[must_use]
    pub fn frame(&self, lane: usize) -> Frame {
        self.lanes.get(lane).map_or_else(Frame::default, |lane| lane.frame(self.shown_s))
    }

    /// Plugs that are out, and how.
    #[must_use]
    pub fn plugs(&self) -> &BTreeSet<(Wire, Kind)> {
        &self.plugs
    }

    /// Lets a fault sit on a wire of every lane from now on, or takes it away.
    pub fn plug(&mut self, wire: Wire, kind: Kind, faulty: bool) {
        let changed =
            if faulty { self.plugs.insert((wire, kind)) } else { self.plugs.remove(&(wire, kind)) };
        if changed {
            self.meddled = true;
            self.put_plugs();
        }
    }

    /// Takes every fault away.
    pub fn mend_all(&mut self) {
        self.plugs.clear();
        self.put_plugs();
    }

    fn put_plugs(&mut self) {
        let plugs: Vec<(Wire, Kind)> = self.plugs.iter().copied().collect();
        for live in self.lanes.iter_mut().filter_map(Lane::live_mut) {
            live.plug(&plugs);
        }
    }

    /// Moves a slider of the world.
    pub fn set_world(&mut self, knob: &WorldKnob, value: f64) {
        match self.job.set(knob, value) {
            Ok(()) => self.refit(),
            Err(error) => self.note = Some(Note::bad(error)),
        }
    }

    /// Moves a slider of the controller's settings.
    pub fn set_setting(&mut self, knob: &Knob, value: i32) {
        let before = self.machine.clone();
        self.machine.set(knob, value);
        self.refit();
        if self.note.as_ref().is_some_and(|note| note.tone == super::Tone::Bad) {
            self.machine = before;
        }
    }

    fn refit(&mut self) {
        self.meddled = true;
        let beside = self.against.lane().map(|(_, machine)| machine).unwrap_or_default();
        let machines = [self.machine.clone(), beside];
        self.note = None;
        for (lane, machine) in self.lanes.iter_mut().zip(&machines) {
            if let Err(error) = lane.refit(&self.job.scenario, machine) {
                self.note = Some(Note::bad(error));
            }
        }
    }

    /// The controller's settings that may be changed, as they are; none for a log.
    #[must_use]
    pub fn knobs(&self) -> Vec<Knob> {
        let live = self.lanes.first().and_then(Lane::live);
        live.map_or_else(Vec::new, |live| MachineFile::knobs(live.config()))
    }
}
