//! The moments of a job in which faults begin.

/// In which moment of the job a fault begins.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Moment {
    /// After the first act, before the second.
    Armed,
    /// The rollers come up to speed.
    SoftStart,
    /// In the middle of a bale.
    Laying,
    /// Slowly, as in a turn.
    Turning,
    /// In the dense core.
    Core,
    /// The rollers wait for the ground.
    Hold,
    /// One bale ends, the next is put on.
    Seam,
    /// The driver has just let go.
    Stopping,
    /// The stop was pressed and is released.
    Latched,
}

impl Moment {
    /// All of them, in the order of a job.
    pub const ALL: [Self; 9] = [
        Self::Armed,
        Self::SoftStart,
        Self::Laying,
        Self::Turning,
        Self::Core,
        Self::Hold,
        Self::Seam,
        Self::Stopping,
        Self::Latched,
    ];

    /// What people call it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Armed => "armed",
            Self::SoftStart => "soft start",
            Self::Laying => "laying",
            Self::Turning => "turning",
            Self::Core => "core",
            Self::Hold => "hold",
            Self::Seam => "seam",
            Self::Stopping => "stopping",
            Self::Latched => "latched",
        }
    }

    /// Where its window begins on the timetable below, s; the others are found while running.
    pub(super) fn begins_s(self) -> Option<f64> {
        Some(match self {
            Self::Armed => 4.55,
            Self::SoftStart => 5.0,
            Self::Laying => 12.0,
            Self::Turning => 27.0,
            Self::Stopping => 40.0,
            Self::Latched => 51.1,
            Self::Core | Self::Hold | Self::Seam => return None,
        })
    }

    /// Length of its window, s.
    pub(super) fn lasts_s(self) -> f64 {
        match self {
            Self::Armed => 0.4,
            Self::SoftStart => 0.6,
            Self::Laying | Self::Turning => 5.0,
            Self::Core | Self::Seam => 3.0,
            Self::Hold => 0.5,
            Self::Stopping => 0.3,
            Self::Latched => 1.5,
        }
    }
}
