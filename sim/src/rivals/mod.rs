//! What the controller is compared with.
//!
//! All contenders share supervisor, gate and operator: they differ in nothing but how they choose the
//! valve command while hay may be laid.

use crate::world::World;
use crate::world::spec::Motion;
use strewn_controller::safety::Phase;
use strewn_controller::settings::Settings;
use strewn_controller::step::{State, step};
use strewn_controller::units::Mass;
use strewn_controller::wires::{Inputs, Outputs};

/// Share of a bale at whose bite a hand or a fixed proportion is set: half of it eaten.
const SET_AT: f64 = 0.5;

/// How the valve command is chosen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Law {
    /// By the controller.
    Controller,
    /// Set once by hand for each lot, so that an average bale of the ticket at the usual ground
    /// speed (m/s) and engine speed is laid at the target.
    SetByHand(Motion),
    /// In proportion to the true ground speed, with the ticket's bite and nothing learned.
    SpeedProportional,
    /// From the true bite (without tufts), the true ground speed and the true valve map of this
    /// moment. Nothing that only the future knows.
    PerfectKnowledge {
        /// Lag of the valve, s, that is made up for.
        lag_s: f64,
    },
}

impl Law {
    /// What people call it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Controller => "controller",
            Self::SetByHand(_) => "valve set by hand",
            Self::SpeedProportional => "speed-proportional",
            Self::PerfectKnowledge { .. } => "perfect knowledge",
        }
    }
}

/// One contender at work.
#[derive(Clone, Debug)]
pub struct Contender<'a> {
    law: Law,
    settings: &'a Settings,
    state: State,
    target_kg_m: f64,
    asked_turns_s: Option<f64>,
}

impl<'a> Contender<'a> {
    /// A contender as after power-on.
    #[must_use]
    pub fn new(law: Law, settings: &'a Settings, target_kg_m: f64) -> Self {
        Self { law, settings, state: State::new(settings), target_kg_m, asked_turns_s: None }
    }

    /// One tick: what the controller would do, with the valve command of this contender's law.
    pub fn tick(&mut self, inputs: &Inputs, world: &World, motion: Motion, tick_s: f64) -> Outputs {
        let mut outputs = step(self.settings, &mut self.state, inputs);
        if self.law == Law::Controller {
            return outputs;
        }
        if outputs.view.phase != Phase::Laying || !outputs.enable {
            self.asked_turns_s = None;
            return outputs;
        }
        let (asked_turns_s, duty) = self.choose(inputs, world, motion, tick_s);
        outputs.valve = (duty.clamp(0.0, 1.0) * f64::from(i16::MAX)).round() as i16;
        outputs.view.roller_asked = turn_rate(asked_turns_s);
        self.state.commanded(outputs.valve, outputs.view.roller_asked);
        outputs
    }

    fn choose(
        &mut self,
        inputs: &Inputs,
        world: &World,
        motion: Motion,
        tick_s: f64,
    ) -> (f64, f64) {
        let flow_kg_s = self.target_kg_m * motion.speed_m_s;
        match self.law {
            Law::Controller => (0.0, 0.0),
            Law::SetByHand(usual) => {
                let turns_s =
                    self.target_kg_m * usual.speed_m_s / self.ticket_bite_kg(inputs.ticket);
                (turns_s, world.duty_for(turns_s, usual))
            }
            Law::SpeedProportional => {
                let turns_s = flow_kg_s / self.ticket_bite_kg(inputs.ticket);
                (turns_s, world.duty_for(turns_s, motion))
            }
            Law::PerfectKnowledge { lag_s } => {
                let bite_kg = world.bite_kg();
                let turns_s = if bite_kg > 0.0 { flow_kg_s / bite_kg } else { 0.0 };
                let before = self.asked_turns_s.replace(turns_s).unwrap_or(turns_s);
                let ahead = (turns_s + lag_s * (turns_s - before) / tick_s).max(0.0);
                (turns_s, world.duty_for(ahead, motion))
            }
        }
    }

    fn ticket_bite_kg(&self, number: u8) -> f64 {
        let ticket = self.settings.estimate.ticket(number);
        let left = f64::from(ticket.mass.to_bits()) * SET_AT;
        let bite = ticket.expected_bite(Mass::from_bits(left as i32));
        f64::from(bite.to_bits()) / f64::from(1u32 << 16)
    }
}

fn turn_rate(turns_s: f64) -> strewn_controller::units::TurnRate {
    strewn_controller::units::TurnRate::from_milli((turns_s * 1e3).round() as i32)
}
