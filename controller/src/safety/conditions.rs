//! The conditions under which rollers must not turn, as one ranked table.
//!
//! Later is worse, in the enumeration as in the table; the worst condition present decides what is
//! done and is named as the cause.

use super::observed::Observed;
use crate::settings::SafetySettings;
use crate::units::Span;
use serde::{Deserialize, Serialize};

/// What is done about a condition. Later is worse, and the worst one wins.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
pub enum Response {
    /// Laying goes on by the fallback that the remedy names; the driver is told.
    CarryOn,
    /// Rollers stop; the row has ended as the operator wished.
    EndRow,
    /// Rollers rest and go on by themselves if the condition goes soon and the person never lets go
    /// of the run switch, where the settings allow it; otherwise as [`Response::StopAndLatch`].
    Pause,
    /// Rollers stop and stay stopped until the condition is gone and the operator acts anew.
    StopAndLatch,
    /// Rollers stop, the enable is dropped and the watchdog no longer fed until power is switched
    /// off and on: what stops the rollers no longer does as it is told.
    StopAndIsolate,
}

/// When a condition counts.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum When {
    /// Always: it stops, and it forbids to start.
    Always,
    /// It stops a row, and forbids to begin one with the second act.
    Moving,
}

/// How long a condition must last before it counts; `None` for one that counts in the tick that shows it.
type Patience = Option<fn(&SafetySettings) -> Span>;

impl Response {
    /// Whether it ever stops the rollers.
    const fn stops(self) -> bool {
        !matches!(self, Self::CarryOn)
    }

    const fn isolates(self) -> bool {
        matches!(self, Self::StopAndIsolate)
    }
}

impl When {
    const fn is_always(self) -> bool {
        matches!(self, Self::Always)
    }
}

/// One row of the table.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    /// The condition.
    pub condition: Condition,
    /// What is done.
    pub response: Response,
    /// When it counts.
    pub when: When,
    /// How long it must last before it counts; `None` for one that counts at once. See [`Row::patience()`].
    pub patience: Patience,
    /// What usually lies behind it.
    pub behind: &'static str,
    /// What the driver reads.
    pub words: &'static str,
    /// What the driver can do about it, or what carries on in its place.
    pub remedy: &'static str,
}

/// Makes the enumeration, its ranks and the table from one list.
macro_rules! conditions {
    ($($rank:literal $(#[doc = $doc:literal])+ $name:ident: $response:ident $when:ident
        $patience:expr, $behind:literal, $words:literal, $remedy:literal;)+) => {
        /// Why the rollers must not turn, or what is carried on without. Later is worse.
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug, Serialize, Deserialize)]
        pub enum Condition {
            $($(#[doc = $doc])+ $name,)+
        }

        impl Condition {
            /// Its place in the ranking, from 0.
            #[must_use]
            pub const fn rank(self) -> u32 {
                match self {
                    $(Self::$name => $rank,)+
                }
            }
        }

        impl Observed {
            /// The conditions that ever stop the rollers.
            pub(super) const STOPPING: Self =
                Self::NONE$(.with(Condition::$name, Response::$response.stops()))+;
            /// Those of them that count whatever the machine is doing.
            pub(super) const ALWAYS: Self =
                Self::NONE$(.with(Condition::$name, When::$when.is_always()))+.and(Self::STOPPING);
            /// Those that isolate.
            pub(super) const ISOLATING: Self =
                Self::NONE$(.with(Condition::$name, Response::$response.isolates()))+;
            /// Those that count in the tick that shows them.
            pub(super) const AT_ONCE: Self =
                Self::NONE$(.with(Condition::$name, {
                    const PATIENCE: Patience = $patience;
                    PATIENCE.is_none()
                }))+;
        }

        /// Every condition once, mildest first.
        pub const TABLE: [Row; [$($rank),+].len()] = [$(Row {
            condition: Condition::$name,
            response: Response::$response,
            when: When::$when,
            patience: $patience,
            behind: $behind,
            words: $words,
            remedy: $remedy,
        },)+];
    };
}

conditions! {
    0 /// The rollers stay well below the speed asked for.
    RollersBehind: CarryOn Moving Some(|_| BEHIND),
        "too little oil, a tough bale, a sticking spool",
        "rollers do not keep up", "the advised ground speed falls; drive slower or raise the engine speed";
    1 /// The bale gauge is fitted but cannot be believed.
    GaugeLost: CarryOn Moving None,
        "cable cut or shorted, readings that hang or cannot be",
        "bale gauge lost", "hay left is taken from the other sensors and the ticket; mend the gauge";
    2 /// The pressure sensor is fitted but cannot be believed.
    PressureLost: CarryOn Moving None,
        "cable cut or shorted",
        "pressure lost", "the bite is taken from weighing and the ticket; mend the sensor soon: no jam is felt";
    3 /// The weigh cells are fitted but cannot be believed.
    WeighLost: CarryOn Moving None,
        "cable cut, counts frozen, out of range or such as cannot be, amplifier silent",
        "scale lost", "hay left is taken from gauge, pressure and the ticket; mend the scale";
    4 /// A source of ground speed has fallen out and another one has taken its place.
    SpeedSourceLost: CarryOn Moving None,
        "receiver without a fix, a message that no longer comes",
        "a speed source lost", "ground speed is taken from the next source; mend the lost one";
    5 /// The operator let go of the run switch.
    RunReleased: EndRow Moving None,
        "the person lets go, the cable is cut, or a loose contact keeps the valve shut",
        "run switch let go", "arm and hold the switch to go on";
    6 /// A row of fixed length has all its hay.
    MarkReached: EndRow Moving None,
        "the length set for the row is laid",
        "row is laid", "let go of the run switch; drive to the next row, then arm";
    7 /// The tractor stands or creeps.
    GroundStopped: Pause Moving Some(|s| s.speed_patience),
        "the tractor stops",
        "tractor stands", "drive on, then arm";
    8 /// A sensor that watches for the dense core has fallen out in the row.
    CoreUnwatched: StopAndLatch Moving Some(|_| UNWATCHED),
        "cable of the scale or of the pressure sensor cut while a bale with a dense core is fed",
        "core no longer watched", "arm again to go on by the ticket alone; mend the sensor";
    9 /// The rollers turn but the scale does not go down.
    NothingLeaves: StopAndLatch Moving None,
        "net, twine or hay wound around a roller; the bale bridges",
        "hay does not leave", "shut down, wait until all stands, look for a wrap around the rollers";
    10 /// Arming button and run switch are closed together.
    SwitchesContradict: StopAndLatch Moving Some(|s| s.switch_patience),
        "a short between the two switches, a jammed button",
        "arm and run together", "let go of both; arm first, then hold run";
    11 /// The two contacts of the run switch differ.
    RunSwitchBroken: StopAndLatch Always Some(|s| s.switch_patience),
        "one contact stuck or its cable cut",
        "run switch broken", "have both contacts of the run switch looked at";
    12 /// Two sources of ground speed differ for too long.
    SpeedsDisagree: StopAndLatch Moving Some(|s| s.speeds_patience),
        "a frozen, slipping or wrongly set speed source",
        "ground speeds disagree", "check the speed sources against each other";
    13 /// No source tells the ground speed.
    GroundSpeedLost: StopAndLatch Moving Some(|s| s.speed_patience),
        "bus or receiver silent, speed not valid",
        "ground speed lost", "check the speed source and its cable";
    14 /// The tractor rolls backwards.
    Reversing: StopAndLatch Moving Some(|s| s.speed_patience),
        "the driver reverses over the row",
        "tractor reverses", "drive forward, then arm";
    15 /// The hitch or lift is not down in its working place.
    HitchRaised: StopAndLatch Always Some(|s| s.switch_patience),
        "the lift is up, or its cable is cut",
        "hitch raised", "lower the machine to its working place";
    16 /// The machine stands on too steep a slope or has tipped over.
    Tilted: StopAndLatch Always Some(|s| s.switch_patience),
        "a slope too steep, a rollover, or a cut cable",
        "slope too steep", "drive to level ground";
    17 /// The pressure reads exactly the same while the rollers turn.
    PressureFrozen: StopAndLatch Moving Some(|s| s.frozen_patience),
        "sensor or converter frozen",
        "pressure frozen", "check the pressure sensor";
    18 /// The rollers do not turn although they are asked to.
    RollersNotTurning: StopAndLatch Moving Some(|s| s.start_patience),
        "no oil, spool stuck shut, both roller sensors dead",
        "rollers do not turn", "check oil supply, stall and roller sensors";
    19 /// The rollers stand although the pressure is near its limit.
    RollersStalled: StopAndLatch Moving Some(|s| s.stall_patience),
        "a jam, a wrap, a bale too tough",
        "rollers stalled", "shut down, wait until all stands, look for a jam";
    20 /// The two rollers tell different speeds.
    RollersDisagree: StopAndLatch Moving Some(|s| s.disagree_patience),
        "one roller sensor dead or losing pulses, a broken drive",
        "rollers disagree", "check both roller sensors and the drive";
    21 /// A roller sensor gives pulses that cannot be.
    RollerPulsesBroken: StopAndLatch Moving Some(|s| s.pulse_patience),
        "noise on the cable, a loose sensor, a broken capture",
        "roller pulses broken", "check the roller sensors and their cables";
    22 /// The rollers turn well above the speed asked for.
    RollersAboveAsked: StopAndLatch Moving Some(|s| s.above_patience),
        "a sticking spool, a valve set wrong",
        "rollers above command", "have the valve looked at";
    23 /// Pressure across the motors stays above its limit.
    PressureHigh: StopAndLatch Moving Some(|s| s.pressure_patience),
        "a jam, a tough core, relief set too high",
        "pressure too high", "shut down, look for a jam";
    24 /// The rollers turn faster than they ever may.
    RollersTooFast: StopAndLatch Always None,
        "a valve that opens too far, noise on a roller sensor",
        "rollers too fast", "isolate the hydraulics, have the valve looked at";
    25 /// The rollers turn after a stop, or although nobody has asked them to since they last stood.
    RollersTurned: StopAndLatch Always Some(|s| s.rest_patience),
        "somebody or something turns them, a valve that creeps",
        "rollers are being turned", "keep away; wait until they stand";
    26 /// The reference of the analog converter is off: no analog value can be trusted.
    ReferenceLost: StopAndLatch Always None,
        "sensor supply lost, converter broken",
        "sensor supply off", "check the sensor supply and its fuse";
    27 /// The enable is on but no supply reaches the valve.
    SupplyMissing: StopAndLatch Moving Some(|s| s.coil_patience),
        "emergency stop pressed, fuse blown, enable switch dead",
        "valve without supply", "release the emergency stop, check fuse and enable switch";
    28 /// The valve is commanded but draws no current.
    CoilOpen: StopAndLatch Moving Some(|s| s.coil_patience),
        "coil or cable open, driver dead",
        "valve coil open", "check the valve's plug and cable";
    29 /// The valve draws more current than it can.
    CoilShorted: StopAndLatch Always None,
        "coil or cable shorted",
        "valve coil shorted", "switch off; check the valve's coil and cable";
    30 /// The pulse that tests the valve's path at arming was not answered as it must.
    ValveTestFailed: StopAndLatch Always None,
        "coil, driver, enable switch or supply of the valve",
        "valve test failed", "check the valve's plug, fuse and enable switch, then arm again";
    31 /// Too many ticks come late, each by little.
    TicksSlow: StopAndLatch Always None,
        "the program is overloaded",
        "controller too slow", "switch off and on; have it looked at";
    32 /// The controller was called late.
    TickLate: StopAndLatch Always None,
        "the program hung, a dip of the supply",
        "controller was late", "switch off and on; have it looked at";
    33 /// The clock stands still, runs backwards or at half its speed: no age can be trusted.
    ClockBroken: StopAndLatch Always None,
        "oscillator or timer broken, time told at half its speed",
        "clock broken", "switch off and on; have it looked at";
    34 /// The bus told of its stop button for all implements and no longer does.
    BusStopLost: StopAndLatch Always None,
        "bus cable, tractor control unit off",
        "stop button of the bus lost", "check the bus cable; without that button switch off and on";
    35 /// The stop button for all implements on the bus is pressed.
    BusStop: StopAndLatch Always None,
        "somebody stops all implements",
        "all implements stopped", "make sure all is clear, release the stop";
    36 /// The operator has left the place.
    OperatorAway: StopAndLatch Always None,
        "the person leaves the seat, or the cable is cut",
        "operator away", "take the seat";
    37 /// A guard is open.
    GuardOpen: StopAndLatch Always None,
        "guard or gate open, or its cable cut",
        "guard open", "shut the guard";
    38 /// The two channels of the stop switch contradict each other.
    StopSwitchBroken: StopAndLatch Always None,
        "one channel cut or shorted",
        "stop switch broken", "have both channels of the stop switch looked at";
    39 /// The stop switch is open.
    StopSwitch: StopAndLatch Always None,
        "somebody stops, or a cable is cut",
        "stop pressed", "make sure all is clear, release the stop";
    40 /// The valve draws current although it is commanded to rest.
    CoilUnasked: StopAndIsolate Always Some(|s| s.coil_patience),
        "driver stuck on, short to supply",
        "valve driven by itself", "isolate the hydraulics at the tractor; switch off and on";
    41 /// The valve has supply although the enable is off.
    SupplyUnasked: StopAndIsolate Always Some(|s| s.coil_patience),
        "enable switch welded, short to supply",
        "valve supply stuck on", "isolate the hydraulics at the tractor; switch off and on";
    42 /// The rollers have not stood since the valve was last commanded open.
    RollersRunOn: StopAndIsolate Always None,
        "spool stuck open",
        "rollers run on", "isolate the hydraulics at the tractor; switch off and on";
    43 /// The controller's own memory contradicts itself.
    MemoryBroken: StopAndIsolate Always None,
        "a flipped bit, a program gone astray",
        "controller memory broken", "switch off and on; have it looked at";
}

/// How long rollers may lag before the driver is told.
const BEHIND: Span = Span::from_millis(5_000);

/// A sensor that is back so soon has not left the core unwatched.
const UNWATCHED: Span = Span::from_millis(200);

impl Row {
    /// Time from its cause on the wires, as they are read, until it counts: what it takes to be seen
    /// at all, and its patience. Conditions that take a number of turns or ticks are not so measured.
    #[must_use]
    pub fn within(&self, settings: &SafetySettings) -> Span {
        let seen_after = match self.condition {
            Condition::RollersRunOn => settings.rest_patience,
            Condition::CoilUnasked => settings.coil_decay,
            Condition::SupplyUnasked | Condition::SupplyMissing => settings.supply_patience,
            _ => Span::ZERO,
        };
        seen_after.saturating_add(self.patience(settings))
    }

    /// How long it must last before it counts; zero stops in the tick that shows it.
    #[must_use]
    pub fn patience(&self, settings: &SafetySettings) -> Span {
        self.patience.map_or(Span::ZERO, |patience| patience(settings))
    }
}

impl Condition {
    /// Its row in the table.
    #[must_use]
    pub fn row(self) -> &'static Row {
        let [first, ..] = &TABLE;
        TABLE.iter().find(|row| row.condition == self).unwrap_or(first)
    }

    /// What the driver reads.
    #[must_use]
    pub fn words(self) -> &'static str {
        self.row().words
    }
}

#[cfg(test)]
mod tests {
    use super::TABLE;

    #[test]
    fn the_table_names_every_condition_once_in_the_order_of_its_rank() {
        let ranks = TABLE.map(|row| row.condition.rank());
        assert_eq!(ranks, core::array::from_fn(|index| u32::try_from(index).unwrap()));
        assert!(TABLE.windows(2).all(|pair| pair[0].condition < pair[1].condition));
        assert!(TABLE.windows(2).all(|pair| pair[0].response <= pair[1].response));
    }

    #[test]
    fn no_two_conditions_tell_the_driver_the_same() {
        for (index, row) in TABLE.iter().enumerate() {
            assert!(![row.words, row.remedy, row.behind].contains(&""));
            assert!(row.words.len() <= 28, "{}: too long for a line of the screen", row.words);
            assert!(TABLE[..index].iter().all(|other| other.words != row.words), "{}", row.words);
        }
    }
}
