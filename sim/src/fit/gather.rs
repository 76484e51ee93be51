//! What the fits need of a log: a row a tick for the drive, a row a weighing for the bales.

use crate::bench::{Moment, ReplayError, walk};
use strewn_controller::estimate::Hay;
use strewn_controller::units::{Mass, TurnRate, Turns};

/// One tick of valve and rollers.
#[derive(Clone, Copy, Debug)]
pub(super) struct DriveTick {
    /// Time since the last tick, s.
    pub(super) elapsed_s: f64,
    /// Roller speed, turns/s.
    pub(super) turns_s: f64,
    /// Turns of the first roller that edges told of in this tick, and the time that they took, s.
    pub(super) turned: (f64, f64),
    /// Pressure across the motors, MPa.
    pub(super) pressure_mpa: Option<f64>,
    /// Command until the next tick, -1 to 1; `None` while the valve is without current.
    pub(super) duty: Option<f64>,
}

/// One bale under the rollers.
#[derive(Clone, Debug)]
pub(super) struct BaleTrack {
    /// The ticket selected, counted from 0.
    pub(super) ticket: usize,
    /// Its mass by the ticket, kg.
    pub(super) ticket_kg: f64,
    /// One deviation of that, as a share.
    pub(super) ticket_share: f64,
    /// Bite of a full bale by the ticket, kg.
    pub(super) full_bite_kg: f64,
    /// Weighings while the rollers turned, and what the ticket lets expect until then.
    pub(super) weighings: Vec<Weighing>,
    /// Hay that the ticket lets expect for the turns made, kg.
    pub(super) expected_kg: f64,
    /// Share of the ticket's mass that was left when the next bale came; `None` if none came.
    pub(super) left_share: Option<f64>,
    /// Hay expected, each part weighted with the share of the bale gone by then, kg.
    gone_kg: f64,
    /// Clumps so far, kg.
    clumps_kg: f64,
    /// Hay left as the controller knew it, kg.
    left_kg: f64,
}

/// One weighing.
#[derive(Clone, Copy, Debug)]
pub(super) struct Weighing {
    /// Mass with the clumps so far put back, kg.
    pub(super) mass_kg: f64,
    /// Hay that the ticket lets expect for the turns so far, kg.
    pub(super) expected_kg: f64,
    /// The same weighted with the share of the bale gone, kg.
    pub(super) gone_kg: f64,
}

/// Ticks and bales of one log.
#[derive(Clone, Debug, Default)]
pub(super) struct Gathered {
    pub(super) ticks: Vec<DriveTick>,
    pub(super) bales: Vec<BaleTrack>,
}

impl Gathered {
    /// Reads a log by feeding it to the controller once more.
    pub(super) fn read(log: &[u8]) -> Result<Self, ReplayError> {
        let mut gathered = Self::default();
        walk(log, &mut |moment| gathered.take(moment))?;
        Ok(gathered)
    }

    fn take(&mut self, moment: &Moment<'_>) {
        let Moment { readings, estimates, outputs, .. } = *moment;
        let duty = f64::from(outputs.valve) / f64::from(i16::MAX);
        let pressure = readings.analog.pressure.good();
        let [roller, _] = readings.rollers;
        let span_s = roller.span.map(|span| f64::from(span.to_micros()) * 1e-6);
        let edge_turns = f64::from(moment.settings.estimate.turns_per_edge.to_bits())
            / f64::from(Turns::ONE.to_bits());
        self.ticks.push(DriveTick {
            turned: span_s
                .map_or((0.0, 0.0), |span_s| (f64::from(roller.edges) * edge_turns, span_s)),
            elapsed_s: f64::from(readings.tick.to_micros()) * 1e-6,
            turns_s: f64::from(estimates.roller.rate.to_bits())
                / f64::from(TurnRate::ONE.to_bits()),
            pressure_mpa: pressure.map(|pressure| f64::from(pressure.to_milli()) * 1e-6),
            duty: outputs.enable.then_some(duty),
        });
        let Some(hay) = moment.hay() else { return };
        if hay.loaded {
            self.load(moment);
        }
        if let Some(bale) = self.bales.last_mut() {
            bale.take(moment, hay);
        }
    }

    fn load(&mut self, moment: &Moment<'_>) {
        if let Some(last) = self.bales.last_mut() {
            last.left_share = Some(1.0 - last.gone_share());
        }
        // A bale that was only announced again.
        self.bales.retain(|bale| bale.expected_kg > 0.0);
        let settings = &moment.settings.estimate;
        let number = settings.known_ticket(moment.readings.ticket);
        let ticket = settings.ticket(number);
        let full = ticket.expected_bite(ticket.mass);
        self.bales.push(BaleTrack {
            ticket: usize::from(number),
            ticket_kg: kilograms(ticket.mass),
            ticket_share: f64::from(settings.ticket_mass_share.to_milli()) * 1e-3,
            full_bite_kg: f64::from(full.to_milli()) * 1e-3,
            weighings: Vec::new(),
            expected_kg: 0.0,
            left_share: None,
            gone_kg: 0.0,
            clumps_kg: 0.0,
            left_kg: kilograms(ticket.mass),
        });
    }
}

impl BaleTrack {
    /// The hay's turn.
    fn take(&mut self, moment: &Moment<'_>, hay: &Hay) {
        let Moment { settings, readings, .. } = *moment;
        let ticket = settings.estimate.ticket(settings.estimate.known_ticket(readings.ticket));
        let (left, _) = hay.left;
        self.left_kg = kilograms(left);
        let expected_kg = kilograms(ticket.expected_bite(left).over(hay.turned));
        self.expected_kg += expected_kg;
        self.gone_kg += expected_kg * self.gone_share();
        self.clumps_kg += hay.clump.map_or(0.0, kilograms);
        // A bale that is nearly gone is shreds, and says nothing of the law.
        let tells = self.expected_kg > 0.0 && self.gone_share() < 0.93;
        if let Some(mass) = readings.weigh.mass.good().filter(|_| readings.weigh.fresh && tells) {
            self.weighings.push(Weighing {
                mass_kg: kilograms(mass) + self.clumps_kg,
                expected_kg: self.expected_kg,
                gone_kg: self.gone_kg,
            });
        }
    }

    fn gone_share(&self) -> f64 {
        (1.0 - self.left_kg / self.ticket_kg).clamp(0.0, 1.0)
    }
}

fn kilograms(mass: Mass) -> f64 {
    f64::from(mass.to_milli()) * 1e-3
}
