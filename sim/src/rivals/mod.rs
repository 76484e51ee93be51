//! What the controller is compared with.
//!
//! All contenders share supervisor, gate and operator: they differ in nothing but how they choose the
//! valve command while hay may be laid. The last three are no rivals but bounds: each knows what
//! nobody can know, one more thing than the one before it.

mod future;
mod hand;
mod operator;
mod perfect;
mod proportional;
mod tufts;
mod weigh_cells;

use crate::random::Stream;
use crate::world::World;
use crate::world::spec::{MachineSpec, Motion};
use strewn_controller::learned::Learned;
use strewn_controller::safety::Phase;
use strewn_controller::settings::Settings;
use strewn_controller::step::{State, step};
use strewn_controller::units::{Mass, TurnRate};
use strewn_controller::wires::{Inputs, Outputs};

/// Share of a bale at whose bite a hand or a fixed proportion is set: half of it eaten.
const SET_AT: f64 = 0.5;

/// How the valve command is chosen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Law {
    /// By the controller.
    Controller,
    /// Set once by hand for each lot, on its first bale, so that an average bale of the ticket at the
    /// usual ground speed and engine speed is laid at the target; then left alone.
    SetByHand,
    /// Set by hand, then moved a step at a time by an operator who looks back at the row.
    Operator,
    /// In proportion to the true ground speed, with the ticket's bite and nothing learned.
    SpeedProportional,
    /// By a proportional and integral law on the weigh cells alone.
    WeighCells,
    /// From the true bite (without tufts), the true ground speed and the true valve map of this
    /// moment. Nothing that only the future knows, nothing remembered.
    PerfectKnowledge,
    /// The same, and what hangs on the rollers, when it will fall and what has left them already.
    PerfectWithTufts,
    /// The same, and the ground speed and the bite that are to come within valve lag and fall.
    PerfectWithFuture,
}

impl Law {
    /// Every law, the controller first, the bounds last.
    pub const ALL: [Self; 8] = [
        Self::Controller,
        Self::SetByHand,
        Self::Operator,
        Self::SpeedProportional,
        Self::WeighCells,
        Self::PerfectKnowledge,
        Self::PerfectWithTufts,
        Self::PerfectWithFuture,
    ];
    /// The few that tell most about a single job.
    pub const FEW: [Self; 4] =
        [Self::Controller, Self::SetByHand, Self::SpeedProportional, Self::PerfectKnowledge];

    /// What people call it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Controller => "controller",
            Self::SetByHand => "valve set by hand",
            Self::Operator => "attentive operator",
            Self::SpeedProportional => "speed-proportional",
            Self::WeighCells => "PI on weigh cells",
            Self::PerfectKnowledge => "perfect knowledge",
            Self::PerfectWithTufts => "perfect with tufts",
            Self::PerfectWithFuture => "perfect with future",
        }
    }

    /// Whether it is a measure that no machine can be built for. Knowledge of the present remembers
    /// nothing: who makes errors good can lay more evenly.
    #[must_use]
    pub fn is_bound(self) -> bool {
        matches!(self, Self::PerfectKnowledge | Self::PerfectWithTufts | Self::PerfectWithFuture)
    }
}

/// What a contender is told before the job.
#[derive(Clone, Debug)]
pub struct Job {
    /// The controller's settings, with the tickets.
    pub settings: Settings,
    /// Hay wanted on the ground, kg/m.
    pub target_kg_m: f64,
    /// How the job is usually driven: for a valve that is set once.
    pub usual: Motion,
    /// The machine.
    pub machine: MachineSpec,
    /// What a contender draws, as an operator's eye errs.
    pub random: Stream,
}

impl Job {
    /// The bite, kg a turn, that a ticket lets expect of a bale half eaten.
    fn ticket_bite_kg(&self, number: u8) -> f64 {
        let ticket = self.settings.estimate.ticket(number);
        let left = f64::from(ticket.mass.to_bits()) * SET_AT;
        let bite = ticket.expected_bite(Mass::from_bits(left as i32));
        f64::from(bite.to_bits()) / f64::from(1u32 << 16)
    }

    /// The roller speed, turns/s, that lays the target with the ticket's bite at the usual speed.
    fn usual_turns_s(&self, ticket: u8) -> f64 {
        self.target_kg_m * self.usual.speed_m_s / self.ticket_bite_kg(ticket)
    }
}

/// What a contender may look at in one tick. The laws differ in how much of it they use.
pub struct Sight<'a> {
    /// What the controller sees.
    pub inputs: &'a Inputs,
    /// The truth.
    pub world: &'a World,
    /// How the tractor moves now.
    pub motion: Motion,
    /// True ground speed, m/s, at the end of each of so many ticks to come, if the driver goes on
    /// wanting what he wants now.
    pub coming_m_s: &'a dyn Fn(usize) -> Vec<f64>,
    /// Length of a tick, s.
    pub tick_s: f64,
}

/// What a rival does with the valve: the roller speed it is after and the duty for it.
struct Choice {
    turns_s: f64,
    duty: f64,
}

impl Choice {
    /// To hold a roller speed at the present pressure, with the true valve map.
    fn hold(turns_s: f64, sight: &Sight<'_>) -> Self {
        Self { turns_s, duty: sight.world.duty_for(turns_s, sight.motion) }
    }
}

/// A law at work.
trait Rival {
    /// A tick in which hay may be laid.
    fn choose(&mut self, sight: &Sight<'_>) -> Choice;

    /// A tick in which none may be.
    fn wait(&mut self, _sight: &Sight<'_>) {}
}

/// The law at work; `None` for the controller itself.
fn rival(law: Law, job: Job) -> Option<Box<dyn Rival>> {
    Some(match law {
        Law::Controller => return None,
        Law::SetByHand => Box::new(hand::Hand::new(job)),
        Law::Operator => Box::new(operator::Operator::new(job)),
        Law::SpeedProportional => Box::new(proportional::Proportional::new(job)),
        Law::WeighCells => Box::new(weigh_cells::WeighCells::new(job)),
        Law::PerfectKnowledge => Box::new(perfect::Perfect::new(job)),
        Law::PerfectWithTufts => Box::new(tufts::Tufts::new(job)),
        Law::PerfectWithFuture => Box::new(future::Future::new(job)),
    })
}

/// One contender at work.
pub struct Contender {
    settings: Settings,
    state: State,
    /// `None` for the controller itself.
    rival: Option<Box<dyn Rival>>,
}

impl Contender {
    /// A contender as after power-on.
    #[must_use]
    pub fn new(law: Law, job: Job) -> Self {
        let settings = job.settings.clone();
        Self { state: State::new(&settings), settings, rival: rival(law, job) }
    }

    /// The job is another one from now on: the controller keeps what it has learned and does not stop,
    /// a rival begins anew.
    pub fn resettle(&mut self, law: Law, job: Job) {
        self.settings = job.settings.clone();
        self.rival = rival(law, job);
    }

    /// Power goes off and on again: what was learned comes back through the bytes that a board keeps,
    /// under settings of this digest; nothing else does.
    pub fn cycle_power(&mut self, settings_digest: u32) {
        let kept = self.state.learned().to_bytes(settings_digest);
        self.state = Learned::from_bytes(&kept, settings_digest).map_or_else(
            |_| State::new(&self.settings),
            |learned| State::with_learned(&self.settings, &learned),
        );
    }

    /// One tick: what the controller would do, with the valve command of this contender's law. The
    /// driver is advised as the controller advises, whoever feeds.
    pub fn tick(&mut self, sight: &Sight<'_>) -> Outputs {
        let Some(rival) = &mut self.rival else {
            return step(&self.settings, &mut self.state, sight.inputs);
        };
        let mut outputs = step(&self.settings, &mut self.state, sight.inputs);
        if outputs.view.phase != Phase::Laying || !outputs.enable {
            rival.wait(sight);
            return outputs;
        }
        let Choice { turns_s, duty } = rival.choose(sight);
        outputs.valve = (duty.clamp(0.0, 1.0) * f64::from(i16::MAX)).round() as i16;
        outputs.view.roller_asked = TurnRate::from_milli((turns_s * 1e3).round() as i32);
        self.state.commanded(outputs.valve, outputs.view.roller_asked);
        outputs
    }
}
