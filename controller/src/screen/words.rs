//! What the screen says: the state in a word, what is the matter, what to do now.

use super::shade::Tone;
use crate::safety::{Condition, Phase, Row};
use crate::units::TurnRate;
use crate::view::View;

/// Rollers slower than this count as standing, for the eye: three turns a minute.
const STANDING: TurnRate = TurnRate::from_bits(3_277);

/// The words of one picture. All are plain ASCII.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Says {
    /// The state.
    pub title: &'static str,
    /// How urgent it is.
    pub tone: Tone,
    /// What is the matter.
    pub headline: &'static str,
    /// What to do now.
    pub advice: &'static str,
    /// What is wrong beside it and carried on with.
    pub also: Option<&'static str>,
    /// The tractor goes faster than the rate can be held.
    pub too_fast: bool,
    /// Rollers turn although nobody lays.
    pub still_turning: bool,
}

impl Says {
    /// The words for a view.
    #[must_use]
    pub fn of(view: &View) -> Self {
        let laying = view.phase == Phase::Laying;
        let too_fast = laying && view.ground_speed > view.advised_speed;
        let (headline, advice, is_carried_on) = message(view, too_fast);
        let first = view.carrying_on.rows().next();
        let still_turning = !laying && view.roller_speed.magnitude() > STANDING;
        // Whatever the state, rollers that turn are what a person must know of first.
        let (title, tone) = match still_turning {
            true => ("TURNING", Tone::Alarm),
            false => (title(view.phase), tone(view.phase)),
        };
        Self {
            title,
            tone,
            headline,
            advice,
            also: first.filter(|_| laying && !is_carried_on).map(|row| row.words),
            too_fast,
            still_turning,
        }
    }
}

const fn title(phase: Phase) -> &'static str {
    match phase {
        Phase::Resting => "AT REST",
        Phase::Testing => "TESTING",
        Phase::Armed => "ARMED",
        Phase::Laying => "LAYING",
        Phase::Paused => "WAITING",
        Phase::Latched => "STOPPED",
        Phase::Isolated => "LOCKED OFF",
    }
}

const fn tone(phase: Phase) -> Tone {
    match phase {
        Phase::Resting => Tone::Calm,
        Phase::Testing | Phase::Armed | Phase::Paused => Tone::Ready,
        Phase::Laying => Tone::Going,
        Phase::Latched | Phase::Isolated => Tone::Alarm,
    }
}

/// What is the matter, what to do, and whether that is about something carried on with.
fn message(view: &View, too_fast: bool) -> (&'static str, &'static str, bool) {
    let (headline, advice) = match (view.phase, view.cause) {
        (Phase::Laying, _) => return while_laying(view, too_fast),
        (Phase::Testing, _) => {
            ("The valve is being tested", "keep clear; hold the run switch once this says ARMED")
        }
        (Phase::Armed, _) => (
            "Rollers turn when you hold run",
            "look around first; hold the run switch to lay, let go to stop",
        ),
        (Phase::Paused, _) => (
            "Rollers start by themselves",
            "drive on and they lay again; let go of the run switch to end the row",
        ),
        (Phase::Resting | Phase::Latched, Some(cause)) => said_of(cause.row()),
        (Phase::Isolated, cause) => said_of(cause.unwrap_or(Condition::MemoryBroken).row()),
        (Phase::Resting, None) => (
            "Nothing turns",
            "is everybody clear? press the arming button and let go, then hold the run switch",
        ),
        (Phase::Latched, None) => {
            ("Rollers are stopped", "make sure all is clear, then arm and hold the run switch")
        }
    };
    (headline, advice, false)
}

fn said_of(row: &'static Row) -> (&'static str, &'static str) {
    (row.words, row.remedy)
}

/// The most pressing thing comes first: hay that already lies, then speed, then the core.
fn while_laying(view: &View, too_fast: bool) -> (&'static str, &'static str, bool) {
    let (headline, advice) = if view.holding {
        ("Clump laid: drive on", "rollers wait until the row has caught up with the hay that lies")
    } else if view.core_near && too_fast {
        ("Core ahead: slow down", "a dense core must come slowly; drive at most the speed shown")
    } else if too_fast {
        ("Slow down", "above the speed shown less hay lies than was asked for")
    } else if view.core_near {
        ("Core ahead: stay slow", "rollers turn slowly so that the core does not leave in a clump")
    } else if let Some(row) = view.carrying_on.rows().next() {
        return (row.words, row.remedy, true);
    } else {
        ("Watch the row", "let go of the run switch to stop")
    };
    (headline, advice, false)
}
