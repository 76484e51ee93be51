//! A dense core: it hangs together, lets go in clumps when turned fast, is worked loose when turned
//! slowly, and may tumble out whole when it has become small without that.

use crate::random::Stream;

/// What a dense core is assumed to do; no published measurement is known.
#[derive(Clone, Debug, PartialEq)]
pub struct CoreLaw {
    /// Assumed, 0.3 to 0.8: roller speed, turns/s, up to which a core does not clump.
    pub slow_turns_s: f64,
    /// Assumed, 0.1 to 0.8: clumps expected a turn at twice that speed with the core whole; it grows
    /// with the cube of the speed above it.
    pub clumps_per_turn: f64,
    /// Assumed, 0.05 to 0.4: share of coherence lost a turn at standstill; falls with speed.
    pub loosening_per_turn: f64,
    /// Assumed, 3 to 8: lightest clump, kg.
    pub clump_least_kg: f64,
    /// Assumed, 15 to 40: heaviest clump, kg.
    pub clump_most_kg: f64,
    /// Assumed, 0 to 30: extra torque while a clump is dragged out, Nm a kilogram.
    pub clump_drag_nm_kg: f64,
    /// Assumed, 0.05 to 0.4: turns that this takes.
    pub clump_drag_turns: f64,
    /// Assumed, 10 to 40: what is left of a core, kg, when it is small enough to tumble out whole.
    pub tumble_kg: f64,
    /// Assumed, 0.05 to 0.5: chance a turn that it then does with all its coherence; falls with the
    /// fourth power of coherence.
    pub tumbles_per_turn: f64,
}

impl Default for CoreLaw {
    fn default() -> Self {
        Self {
            slow_turns_s: 0.5,
            clumps_per_turn: 0.18,
            loosening_per_turn: 0.15,
            clump_least_kg: 5.0,
            clump_most_kg: 25.0,
            clump_drag_nm_kg: 10.0,
            clump_drag_turns: 0.15,
            tumble_kg: 20.0,
            tumbles_per_turn: 0.3,
        }
    }
}

/// The core of the bale on the rollers.
///
/// Clumps come as a process with a hazard: it is summed up over the turns, and each clump has drawn
/// beforehand the sum at which it lets go. So nothing is drawn a step, and the draw of a clump
/// depends on its number alone.
#[derive(Clone, Debug)]
pub(super) struct Core {
    law: CoreLaw,
    random: Stream,
    core_kg: f64,
    loose_kg: f64,
    coherence: f64,
    clump: u64,
    hazard_left: f64,
    tumble_left: f64,
    drag_nm: f64,
    drag_turns: f64,
}

impl Core {
    /// A whole core of this mass, zero for none; the last `loose_kg` of it cannot clump.
    pub(super) fn new(law: &CoreLaw, core_kg: f64, loose_kg: f64, random: Stream) -> Self {
        let mut core = Self {
            law: law.clone(),
            random,
            core_kg,
            loose_kg,
            coherence: 1.0,
            clump: 0,
            hazard_left: 0.0,
            tumble_left: -libm::log(1.0 - random.named("tumble").uniform(0)),
            drag_nm: 0.0,
            drag_turns: 0.0,
        };
        core.await_clump();
        core
    }

    /// Turns the rollers with `left_kg` on them; gives the clump, kg, that lets go now, or zero.
    pub(super) fn turn(&mut self, turns: f64, turns_s: f64, left_kg: f64) -> f64 {
        if left_kg > self.core_kg {
            return 0.0;
        }
        self.drag_turns -= turns;
        let speed = turns_s / self.law.slow_turns_s;
        let excess = (speed - 1.0).max(0.0);
        self.hazard_left -=
            self.law.clumps_per_turn * self.coherence * excess * excess * excess * turns;
        self.coherence -=
            self.coherence * self.law.loosening_per_turn * turns / (1.0 + speed * speed);
        if left_kg < self.law.tumble_kg && self.tumbles(turns, left_kg) {
            return left_kg;
        }
        if self.hazard_left > 0.0 {
            return 0.0;
        }
        self.let_go(left_kg - self.loose_kg)
    }

    /// Whether what is left of the core leaves whole. Happens once at most: nothing is left.
    fn tumbles(&mut self, turns: f64, left_kg: f64) -> bool {
        let whole = self.coherence * self.coherence;
        self.tumble_left -= self.law.tumbles_per_turn * whole * whole * turns;
        self.tumble_left <= 0.0 && left_kg > self.loose_kg
    }

    fn let_go(&mut self, most_kg: f64) -> f64 {
        let span_kg = self.law.clump_most_kg - self.law.clump_least_kg;
        let drawn = self.random.named("mass").uniform(self.clump);
        let clump_kg = (self.law.clump_least_kg + span_kg * drawn).min(most_kg);
        self.await_clump();
        if clump_kg < self.law.clump_least_kg {
            return 0.0;
        }
        self.drag_nm = self.law.clump_drag_nm_kg * clump_kg;
        self.drag_turns = self.law.clump_drag_turns;
        clump_kg
    }

    fn await_clump(&mut self) {
        self.clump += 1;
        self.hazard_left = -libm::log(1.0 - self.random.named("hazard").uniform(self.clump));
    }

    /// Extra torque of a clump on its way out, Nm.
    pub(super) fn drag_nm(&self) -> f64 {
        if self.drag_turns > 0.0 { self.drag_nm } else { 0.0 }
    }
}
