//! A proportional and integral law on the weigh cells alone.

use super::{Choice, Job, Rival, Sight};
use crate::instruments::weigh::COUNTS_PER_KG;

/// How the law is tuned.
struct Tuning {
    /// Time constant of each of the two filters behind the cells, s.
    filter_s: f64,
    /// Roller speed for an error of the flow, turns for each kg.
    proportional: f64,
    /// Its gain with time, turns for each kg and s.
    integral: f64,
}

/// The best median over 3 ft, and beside that the best of nine tenths, among filters of 0.3 to 3 s, 0.02
/// to 0.2 and 0.01 to 0.1 turns: tried on thirty bales of the usual population under a seed kept for
/// tuning (999,999), then left alone.
const TUNING: Tuning = Tuning { filter_s: 0.7, proportional: 0.06, integral: 0.03 };

/// Takes the change of what the cells say for the flow and steers the rollers by its error. Begins each
/// bale where a hand would set it. Without weigh cells it stays there.
pub(super) struct WeighCells {
    job: Job,
    sequence: Option<u8>,
    /// What the cells say behind one filter, and the flow behind another.
    smooth_kg: Option<f64>,
    flow_kg_s: f64,
    /// Sum of the error, as turns/s beyond where a hand would set it.
    learned_turns_s: f64,
}

impl WeighCells {
    pub(super) fn new(job: Job) -> Self {
        Self { job, sequence: None, smooth_kg: None, flow_kg_s: 0.0, learned_turns_s: 0.0 }
    }

    /// Takes a conversion if there is a new one. A jump upwards is a new bale.
    fn weigh(&mut self, sight: &Sight<'_>) {
        const NEW_BALE_KG: f64 = 50.0;
        let wire = sight.inputs.weigh;
        if self.sequence.replace(wire.sequence).is_none_or(|before| before == wire.sequence) {
            return;
        }
        let kg = f64::from(wire.counts) / COUNTS_PER_KG;
        let smooth_kg = *self.smooth_kg.get_or_insert(kg);
        if kg > smooth_kg + NEW_BALE_KG {
            *self = Self { sequence: self.sequence, ..Self::new(self.job.clone()) };
            return;
        }
        // Conversions come about once a tick; the filters take one for a tick.
        let share = sight.tick_s / TUNING.filter_s;
        self.smooth_kg = Some(smooth_kg + share * (kg - smooth_kg));
        let flow_kg_s = (smooth_kg - kg) / TUNING.filter_s;
        self.flow_kg_s += share * (flow_kg_s - self.flow_kg_s);
    }
}

impl Rival for WeighCells {
    fn choose(&mut self, sight: &Sight<'_>) -> Choice {
        self.weigh(sight);
        let set_turns_s = self.job.usual_turns_s(sight.inputs.ticket);
        let wanted_kg_s = self.job.target_kg_m * sight.motion.speed_m_s;
        let error_kg_s = if self.smooth_kg.is_some() { wanted_kg_s - self.flow_kg_s } else { 0.0 };
        let most_turns_s = sight.world.flow_limit_turns_s(sight.motion);
        let change = TUNING.integral * error_kg_s * sight.tick_s;
        self.learned_turns_s =
            (self.learned_turns_s + change).clamp(-set_turns_s, most_turns_s - set_turns_s);
        let turns_s = set_turns_s + self.learned_turns_s + TUNING.proportional * error_kg_s;
        Choice::hold(turns_s.clamp(0.0, most_turns_s), sight)
    }

    fn wait(&mut self, sight: &Sight<'_>) {
        self.weigh(sight);
    }
}
