//! Floor 4: conditions, ranked responses, supervisor, gate.

use serde::{Deserialize, Serialize};

/// What the machine is doing.
#[derive(Clone, Copy, PartialEq, Eq, Default, Debug, Serialize, Deserialize)]
pub enum Phase {
    /// Stopped; a deliberate act is needed before anything may turn.
    #[default]
    Resting,
    /// The first act was done; the second may follow for a short while.
    Armed,
    /// Hay is being laid while the person holds the switch.
    Laying,
    /// Stopped by a condition, latched until it is cleared and acknowledged.
    Latched,
}

/// Why the rollers must not turn.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub enum Condition {
    /// The stop switch is open on at least one channel.
    StopSwitch,
}
