//! A controller's log into feedings: what was fed of which ticket, and when.

use super::{Clock, Feeding};
use crate::bench::{Moment, ReplayError, walk};
use crate::units::KG_PER_LB;
use strewn_controller::units::Mass;

/// Less than this is no feeding: rollers cleared, not hay fed, kg.
const LEAST_KG: f64 = 1.0;

/// What a log tells of one lot fed without another in between.
#[derive(Clone, Debug, PartialEq)]
pub struct LogFeeding {
    /// The ticket selected, counted from 0.
    pub ticket: u8,
    /// Bales and parts of bales.
    pub bales: f64,
    /// Hay fed as the controller knew it, lb, and one standard deviation.
    pub fed_lb: (f64, f64),
    /// When its first bale lay on the rollers, and when its last hay left, s after the log began.
    pub time_s: (f64, f64),
}

impl LogFeeding {
    /// The entry that it makes. What a log does not know comes with `known`; hours come from when the
    /// log began, if that is told.
    #[must_use]
    pub fn entry(&self, known: &Feeding, began: Option<Clock>) -> Feeding {
        let deviation_lb = self.fed_lb.1.round();
        let from_log = format!("from the controller's log, pounds +/- {deviation_lb}");
        let note = match known.note.as_str() {
            "" => from_log,
            note => format!("{note}; {from_log}"),
        };
        Feeding {
            bales: self.bales,
            fed_lb: self.fed_lb.0,
            entered: began.map(|began| began.later_by(self.time_s.0)),
            left: began.map(|began| began.later_by(self.time_s.1)),
            note,
            ..known.clone()
        }
    }
}

/// What a log tells.
#[derive(Clone, Debug, PartialEq)]
pub struct LogFeedings {
    /// In the order fed.
    pub feedings: Vec<LogFeeding>,
    /// Tells this log from another.
    pub mark: String,
}

/// Reads a log by feeding it to the controller once more.
///
/// Hay fed is what the controller knew to lie on the machine when the rollers first turned under a
/// bale, less what it knew to be left at its end: with weigh cells a weighing, without them a ticket.
///
/// # Errors
/// As [`crate::bench::replay`].
pub fn feedings(log: &[u8]) -> Result<LogFeedings, ReplayError> {
    let mut series = Series::default();
    let report = walk(log, &mut |moment| series.take(moment))?;
    series.close_bale();
    let mark = format!("{}-{}-{:08x}", report.seed, report.ticks, report.digest);
    Ok(LogFeedings { feedings: series.feedings, mark })
}

#[derive(Default)]
struct Series {
    feedings: Vec<LogFeeding>,
    time_s: f64,
    bale: Option<Bale>,
}

/// The bale on the rollers.
#[derive(Clone, Copy)]
struct Bale {
    ticket: u8,
    whole_kg: f64,
    loaded_s: f64,
    last_s: f64,
    /// Hay on it when the rollers first turned, and one deviation.
    first_kg: Option<(f64, f64)>,
    left_kg: (f64, f64),
}

impl Series {
    fn take(&mut self, moment: &Moment<'_>) {
        let Moment { settings, readings, estimates, .. } = *moment;
        self.time_s += f64::from(readings.tick.to_micros()) * 1e-6;
        if moment.hay().is_some_and(|hay| hay.loaded) {
            self.close_bale();
            let ticket = settings.estimate.known_ticket(readings.ticket);
            self.bale = Some(Bale {
                ticket,
                whole_kg: kilograms(settings.estimate.ticket(ticket).mass),
                loaded_s: self.time_s,
                last_s: self.time_s,
                first_kg: None,
                left_kg: (0.0, 0.0),
            });
        }
        let Some(bale) = &mut self.bale else { return };
        let (left, deviation) = estimates.hay.left;
        bale.left_kg = (kilograms(left), kilograms(deviation));
        if estimates.roller.turned.to_bits() > 0 {
            bale.first_kg.get_or_insert(bale.left_kg);
            bale.last_s = self.time_s;
        }
    }

    /// The bale is off: it makes a feeding, or adds to the last one of the same ticket.
    fn close_bale(&mut self) {
        let Some(bale) = self.bale.take() else { return };
        let Some(first_kg) = bale.first_kg else { return };
        let fed_kg = first_kg.0 - bale.left_kg.0;
        if fed_kg < LEAST_KG {
            return;
        }
        let deviation_lb = first_kg.1.hypot(bale.left_kg.1) / KG_PER_LB;
        let tenth = |value: f64| (value * 10.0).round() / 10.0;
        // A bale that is nearly gone is one bale, whatever it weighed.
        let bales =
            if bale.left_kg.0 < 0.1 * bale.whole_kg { 1.0 } else { tenth(fed_kg / first_kg.0) };
        let fed_lb = fed_kg / KG_PER_LB;
        match self.feedings.last_mut().filter(|last| last.ticket == bale.ticket) {
            Some(last) => {
                last.bales += bales;
                last.fed_lb = (tenth(last.fed_lb.0 + fed_lb), last.fed_lb.1.hypot(deviation_lb));
                last.time_s.1 = bale.last_s;
            }
            None => self.feedings.push(LogFeeding {
                ticket: bale.ticket,
                bales,
                fed_lb: (tenth(fed_lb), deviation_lb),
                time_s: (bale.loaded_s, bale.last_s),
            }),
        }
    }
}

fn kilograms(mass: Mass) -> f64 {
    f64::from(mass.to_milli()) * 1e-3
}
