//! One contender and what it has left behind: moments, the row, clumps.

use super::row::{Stretch, stretches};
use super::{Frame, History};
use strewn::bench::record::{BaleRun, Run};
use strewn::bench::scenario::Scenario;
use strewn::bench::{ContestError, Hands, Live, MachineFile, ReplayReport};
use strewn::rivals::Law;

/// A moment is kept every so many ticks.
const KEEP_TICKS: u64 = 10;

/// A feeding that goes on, or one that a log holds.
enum Source {
    Live(Box<Live>),
    Log(ReplayReport),
}

/// One contender, or one log.
pub struct Lane {
    /// What it is called.
    pub name: String,
    source: Source,
    history: History,
    /// Where clumps fell: odometer, m, and mass, kg.
    clumps: Vec<(f64, f64)>,
    /// Clumps of the bale on the machine that are among them.
    seen: (usize, usize),
    /// Targets, kg/m, each from an odometer, m, on.
    targets: Vec<(f64, f64)>,
}

impl Lane {
    /// A contender before its first tick.
    ///
    /// # Errors
    /// As [`Live::new`].
    pub fn new(
        scenario: &Scenario,
        law: Law,
        machine: &MachineFile,
        seed: u64,
        name: String,
    ) -> Result<Self, ContestError> {
        let live = Live::new(scenario, law, machine, seed)?;
        let mut history = History::default();
        history.push(Frame::of(&live));
        Ok(Self {
            name,
            source: Source::Live(Box::new(live)),
            history,
            clumps: Vec::new(),
            seen: (0, 0),
            targets: vec![(0.0, scenario.target_kg_m)],
        })
    }

    /// A log that was replayed.
    #[must_use]
    pub fn of_log(name: String, report: ReplayReport, history: History) -> Self {
        Self {
            name,
            source: Source::Log(report),
            history,
            clumps: Vec::new(),
            seen: (0, 0),
            targets: Vec::new(),
        }
    }

    /// The feeding itself, unless this is a log.
    #[must_use]
    pub fn live(&self) -> Option<&Live> {
        match &self.source {
            Source::Live(live) => Some(live),
            Source::Log(_) => None,
        }
    }

    pub(super) fn live_mut(&mut self) -> Option<&mut Live> {
        match &mut self.source {
            Source::Live(live) => Some(live),
            Source::Log(_) => None,
        }
    }

    /// What the replay of the log found, if this is one.
    #[must_use]
    pub fn report(&self) -> Option<&ReplayReport> {
        match &self.source {
            Source::Log(report) => Some(report),
            Source::Live(_) => None,
        }
    }

    /// One tick; keeps the moment if it is its turn, and says so.
    pub(super) fn tick(&mut self, hands: Option<Hands>) -> bool {
        let Source::Live(live) = &mut self.source else { return false };
        live.tick(hands);
        let kept = live.ticks().is_multiple_of(KEEP_TICKS);
        if kept {
            self.history.push(Frame::of(live));
            self.note_clumps();
        }
        kept
    }

    fn note_clumps(&mut self) {
        let Source::Live(live) = &self.source else { return };
        let bale = live.bales().len();
        let before = if self.seen.0 == bale { self.seen.1 } else { 0 };
        let here = live.world().clumps();
        let odometer_m = live.world().odometer_m();
        self.clumps.extend(here.iter().skip(before).map(|(_, kg)| (odometer_m, *kg)));
        self.seen = (bale, here.len());
    }

    pub(super) fn refit(
        &mut self,
        scenario: &Scenario,
        machine: &MachineFile,
    ) -> Result<(), ContestError> {
        let Source::Live(live) = &mut self.source else { return Ok(()) };
        live.refit(scenario, machine)?;
        let here = (live.world().odometer_m(), scenario.target_kg_m);
        if self.targets.last().is_none_or(|(_, target)| *target != here.1) {
            self.targets.push(here);
        }
        Ok(())
    }

    /// The moments kept.
    #[must_use]
    pub fn history(&self) -> &History {
        &self.history
    }

    /// The moment at a time, s, or the newest one.
    #[must_use]
    pub fn frame(&self, time_s: Option<f64>) -> Frame {
        let frame = match (time_s, self.live()) {
            (Some(time_s), _) => self.history.at(time_s).copied(),
            (None, Some(live)) => Some(Frame::of(live)),
            (None, None) => self.history.last().copied(),
        };
        frame.unwrap_or_default()
    }

    /// Bales put on the machine so far; none in a log.
    #[must_use]
    pub fn bales(&self) -> &[BaleRun] {
        self.live().map_or(&[], Live::bales)
    }

    /// Hay on the ground, kg in each bin of [`Run::BIN_M`]; nothing in a log.
    #[must_use]
    pub fn ground_kg(&self) -> &[f64] {
        self.live().map_or(&[], |live| live.world().ground_kg())
    }

    /// Where clumps fell: odometer, m, and mass, kg.
    #[must_use]
    pub fn clumps(&self) -> &[(f64, f64)] {
        &self.clumps
    }

    /// Hay wanted at an odometer, m: kg/m.
    #[must_use]
    pub fn target_at(&self, odometer_m: f64) -> f64 {
        let from = self.targets.iter().rev().find(|(from_m, _)| *from_m <= odometer_m);
        from.or(self.targets.first()).map_or(1.0, |(_, target)| *target)
    }

    /// Stretches of so many bins of the row between two odometers, m.
    #[must_use]
    pub fn stretches(&self, from_m: f64, to_m: f64, bins: usize) -> Vec<Stretch> {
        stretches(self, from_m, to_m, bins)
    }

    /// The run so far, for score and page; `None` for a log.
    pub(super) fn run(&mut self) -> Option<Run> {
        let samples = self.history.all().map(|frame| frame.sample).collect();
        self.live_mut().map(|live| live.run(samples))
    }
}
