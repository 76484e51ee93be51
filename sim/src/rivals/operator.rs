//! An operator who watches the row and moves the lever.

use super::hand::Hand;
use super::{Choice, Job, Rival, Sight};

/// What an attentive operator is assumed to do; no published measurement is known.
struct OperatorLaw {
    /// Assumed, 0.1 to 0.3: deviation of a rate judged by eye, as a share of it.
    eye_error: f64,
    /// Assumed, 1 to 3: the row is looked at this long before it is judged, s.
    look_s: f64,
    /// Assumed, 1 to 3: shortest time from judging to moving the lever, s.
    least_delay_s: f64,
    /// Assumed, 3 to 6: longest one, s.
    most_delay_s: f64,
    /// Assumed, 0.05 to 0.2: a rate within this share of the target is left alone.
    content: f64,
    /// Assumed, 0.05 to 0.2: one step of the lever, as a share of where it stands.
    step: f64,
}

const LAW: OperatorLaw = OperatorLaw {
    eye_error: 0.15,
    look_s: 2.0,
    least_delay_s: 2.0,
    most_delay_s: 4.0,
    content: 0.1,
    step: 0.1,
};

/// Hay on the machine that comes at once is a new bale, kg.
const NEW_BALE_KG: f64 = 50.0;

/// Begins each bale as [`super::hand::Hand`] does; then looks at the row for a while, judges it by
/// eye, moves the lever a step after a delay, and looks again.
pub(super) struct Operator {
    job: Job,
    hand: Hand,
    /// Flow that the lever gives over that for which it was set for the lot.
    lever: f64,
    doing: Doing,
    /// Hay on the machine at the last tick, kg.
    left_kg: f64,
    looks: u64,
}

#[derive(Clone, Copy)]
enum Doing {
    /// Begins to look at the next tick.
    Idle,
    /// Looks since a moment, a place and a mass on the ground.
    Looks { since_s: f64, from_m: f64, fed_kg: f64 },
    /// Will move the lever by a factor.
    Moves { at_s: f64, factor: f64 },
}

impl Operator {
    pub(super) fn new(job: Job) -> Self {
        let hand = Hand::new(job.clone());
        Self { job, hand, lever: 1.0, doing: Doing::Idle, left_kg: 0.0, looks: 0 }
    }

    fn watch(&mut self, sight: &Sight<'_>) {
        let (time_s, odometer_m) = (sight.world.time_s(), sight.world.odometer_m());
        let fed_kg = -sight.world.left_kg();
        match self.doing {
            Doing::Idle => {
                self.doing = Doing::Looks { since_s: time_s, from_m: odometer_m, fed_kg };
            }
            Doing::Looks { since_s, from_m, fed_kg: before_kg } => {
                if time_s >= since_s + LAW.look_s && odometer_m > from_m {
                    let laid_kg_m = (fed_kg - before_kg) / (odometer_m - from_m);
                    self.doing = self.judge(laid_kg_m / self.job.target_kg_m, time_s);
                }
            }
            Doing::Moves { at_s, factor } if time_s >= at_s => {
                self.lever *= factor;
                self.doing = Doing::Idle;
            }
            Doing::Moves { .. } => {}
        }
    }

    fn judge(&mut self, relative: f64, time_s: f64) -> Doing {
        self.looks += 1;
        let eye = self.job.random.named("eye").normal(self.looks);
        let seen = relative * (1.0 + LAW.eye_error * eye);
        let factor = if seen > 1.0 + LAW.content {
            1.0 / (1.0 + LAW.step)
        } else if seen < 1.0 - LAW.content {
            1.0 + LAW.step
        } else {
            return Doing::Idle;
        };
        let drawn = self.job.random.named("delay").uniform(self.looks);
        let delay_s = LAW.least_delay_s + (LAW.most_delay_s - LAW.least_delay_s) * drawn;
        Doing::Moves { at_s: time_s + delay_s, factor }
    }

    /// A new bale: the lever goes back to where the lot was set.
    fn note_bale(&mut self, sight: &Sight<'_>) {
        let left_kg = sight.world.left_kg();
        if left_kg > self.left_kg + NEW_BALE_KG {
            self.lever = 1.0;
            self.doing = Doing::Idle;
        }
        self.left_kg = left_kg;
    }
}

impl Rival for Operator {
    fn choose(&mut self, sight: &Sight<'_>) -> Choice {
        self.note_bale(sight);
        self.watch(sight);
        let Choice { turns_s, duty } = self.hand.stands(sight);
        // A hand feels where the rollers begin to turn and moves the lever from there.
        let begin = self.job.machine.dead_band;
        Choice { turns_s: turns_s * self.lever, duty: begin + (duty - begin) * self.lever }
    }

    fn wait(&mut self, sight: &Sight<'_>) {
        self.note_bale(sight);
        self.doing = Doing::Idle;
    }
}
