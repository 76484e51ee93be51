//! Safe stop against what standards and regulations ask for, each named beside its check.
//!
//! They were read in the places and editions given, some only second-hand. No conformity is claimed.

use crate::machine::{HELD, Machine, SEATED};
use strewn_controller::safety::{Condition, Phase};
use strewn_controller::step::State;
use strewn_controller::wires::{Frame, LampBits, SwitchBits};

const STOPS: u16 = SwitchBits::STOP_CLEAR_A | SwitchBits::STOP_CLEAR_B;

type Act = fn(&mut Machine);

fn is_shut(machine: &Machine) -> bool {
    machine.outputs.valve == 0 && !machine.outputs.enable
}

/// Ten seconds with the hands as they are: nothing moves.
#[track_caller]
fn assert_stays_stopped(machine: &mut Machine) {
    for _ in 0..1_000 {
        machine.tick();
        assert!(is_shut(machine), "{:?}", machine.phase());
    }
}

/// EN 703:2021, Agricultural machinery - Silage loading, mixing and/or chopping and distributing
/// machines - Safety, 4.4.1 (second-hand; its scope excludes plain unrollers, so a guide only): tools of
/// mounted and trailed machines stand within 10 s.
#[test]
fn tools_run_down_within_ten_seconds() {
    let mut machine = Machine::laying();
    machine.switches &= !HELD;
    machine.run(10.0);
    let counts = machine.inputs.rollers.map(|roller| roller.count);
    machine.run(5.0);
    assert_eq!(machine.inputs.rollers.map(|roller| roller.count), counts);
}

/// 29 CFR 1928.57(a)(6), Guarding of farm field equipment, farmstead equipment, and cotton gins (OSHA,
/// read): wait for all movement to end before unclogging; make sure that everyone is clear before
/// starting.
#[test]
fn a_start_needs_an_all_clear_and_rollers_that_stand() {
    let mut machine = Machine::laying();
    machine.switches &= !HELD;
    machine.held_rollers = [Some(0.3); 2];
    machine.run(0.3);
    machine.press(SwitchBits::ARM);
    assert_ne!(machine.phase(), Phase::Armed, "rollers still turn");
    let mut machine = Machine::new();
    machine.run(0.5);
    machine.switches |= HELD;
    assert_stays_stopped(&mut machine);
}

/// 29 CFR 1928.57(b)(4) (OSHA, from memory): parts that go on turning after power is off need a sign that
/// can be seen or heard.
#[test]
fn a_lamp_shows_rollers_that_still_turn() {
    let mut machine = Machine::laying();
    machine.switches &= !HELD;
    machine.held_rollers = [Some(0.3); 2];
    machine.run(0.5);
    assert!(machine.outputs.lamps.has(LampBits::STILL_TURNING));
    machine.held_rollers = [Some(0.0); 2];
    machine.run(1.0);
    assert!(!machine.outputs.lamps.has(LampBits::STILL_TURNING));
}

/// IEC 60204-1:2016, Safety of machinery - Electrical equipment of machines - Part 1, 9.2.2 (second-hand):
/// categories 0 and 1 end with power removed; 2, power left on, is not for an emergency stop.
#[test]
fn a_stop_takes_the_supply_away_and_not_the_command_alone() {
    let mut machine = Machine::laying();
    machine.switches &= !STOPS;
    let outputs = machine.tick();
    assert_eq!((outputs.valve, outputs.enable), (0, false));
}

/// ISO 13850:2015, Safety of machinery - Emergency stop function - Principles for design (second-hand):
/// available and operational at all times and in every mode, held until reset by hand, and the reset
/// only permits a start.
#[test]
fn the_stop_overrides_every_mode_and_its_reset_starts_nothing() {
    let in_phase: [Act; 4] = [
        |_| {},
        |m| {
            m.switches |= SwitchBits::ARM;
            m.run_while(20, |m| m.phase() != Phase::Testing);
        },
        |m| m.press(SwitchBits::ARM),
        Machine::lay,
    ];
    for reach in in_phase {
        let mut machine = Machine::new();
        machine.run(0.5);
        reach(&mut machine);
        let phase = machine.phase();
        for held in [0, SwitchBits::ARM, HELD, SwitchBits::ARM | HELD] {
            machine.switches = SEATED & !STOPS | held;
            for _ in 0..100 {
                machine.tick();
                assert!(is_shut(&machine), "{phase:?}");
            }
        }
        machine.switches = SEATED | HELD;
        assert_stays_stopped(&mut machine);
        machine.switches = SEATED;
        assert_stays_stopped(&mut machine);
    }
}

/// NFPA 79 and older text of IEC 60204-1 (second-hand): a category 0 emergency stop must not rest on logic
/// or messages. Here it takes the valve's supply away by its own contacts; the program sees that, and
/// that the supply comes back starts nothing.
#[test]
fn a_hard_wired_stop_is_seen_and_its_release_starts_nothing() {
    let mut machine = Machine::laying();
    machine.held_supply = Some(0);
    machine.ticks_to_stop(20);
    assert_eq!(machine.outputs.view.cause, Some(Condition::SupplyMissing));
    machine.held_supply = None;
    machine.assert_latched(Condition::SupplyMissing);
}

/// ISO 4254-1:2013, Agricultural machinery - Safety - Part 1 (practice, from memory): losing the operator
/// stops what is dangerous; coming back does not start it.
#[test]
fn leaving_the_place_stops_and_coming_back_starts_nothing() {
    let mut machine = Machine::laying();
    machine.switches &= !SwitchBits::PRESENT;
    assert_eq!(machine.ticks_to_stop(1), 1);
    machine.run(0.5);
    machine.switches |= SwitchBits::PRESENT;
    assert_stays_stopped(&mut machine);
}

/// ISO 12100:2010, Safety of machinery - General principles for design, 6.2.11 (from memory): nothing
/// starts by itself when power, a guard, a link or a sensor comes back.
#[test]
fn nothing_starts_when_power_guard_link_or_sensor_comes_back() {
    let gone_and_back: [(Act, Act); 4] = [
        (|m| m.state = State::new(&m.settings), |_| {}),
        (|m| m.switches &= !SwitchBits::GUARD_SHUT, |m| m.switches |= SwitchBits::GUARD_SHUT),
        (|m| m.bus_mm_s = None, |m| m.bus_mm_s = Some(1_341)),
        (|m| m.reference_counts = 0, |m| m.reference_counts = 2_048),
    ];
    for (goes, comes_back) in gone_and_back {
        let mut machine = Machine::laying();
        goes(&mut machine);
        machine.run(1.0);
        assert!(is_shut(&machine));
        comes_back(&mut machine);
        assert_stays_stopped(&mut machine);
    }
}

/// ISO 11783-7:2022, Implement messages application layer, as coded in AgIsoStack++ (The Open-Agriculture
/// Developers, 2026; read): a speed above 64,255 (0xFAFF) is not valid, which is no speed and not zero.
#[test]
fn a_speed_that_is_not_valid_is_none() {
    for (raw, cause) in [
        (0xFB00, Condition::GroundSpeedLost),
        (0xFE00, Condition::GroundSpeedLost),
        (0xFFFF, Condition::GroundSpeedLost),
        (0, Condition::GroundStopped),
    ] {
        let mut machine = Machine::laying();
        machine.bus_mm_s = Some(raw);
        machine.ticks_to_stop(60);
        assert_eq!(machine.outputs.view.cause, Some(cause), "{raw}");
    }
}

/// The same library (2026, read) drops a speed after three periods of 100 ms. Patience of 200 ms follows.
#[test]
fn a_speed_is_stale_after_three_periods() {
    let mut machine = Machine::laying();
    // To the tick that brings a message.
    machine.run_while(10, |machine| machine.inputs.frames.is_empty());
    machine.bus_mm_s = None;
    let ticks = machine.ticks_to_stop(60);
    assert!((50..=52).contains(&ticks), "{ticks} ticks");
}

/// ISO 11783-7, exit codes as listed by the same library (2026, read): 1, operator presence not detected,
/// and 5, command timed out, are reasons of their own.
#[test]
fn a_lost_operator_and_a_lost_message_are_told_apart() {
    let named = |lose: Act| {
        let mut machine = Machine::laying();
        lose(&mut machine);
        machine.run(1.0);
        machine.outputs.view.cause
    };
    let away = named(|machine| machine.switches &= !SwitchBits::PRESENT);
    let silent = named(|machine| machine.bus_mm_s = None);
    assert_eq!((away, silent), (Some(Condition::OperatorAway), Some(Condition::GroundSpeedLost)));
}

/// ISO 11783-7, all implements stop operations switch state, group 0xFD02 (64,770) as listed by the same
/// library (2026, read): an implement stops on request.
#[test]
fn the_stop_button_for_all_implements_stops() {
    let frame = |state: u8| {
        let group = 64_770_u32 << 8;
        let data = [0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF, 1, 0xFC | state];
        Frame { id: 3 << 26 | group | 0x26, data }
    };
    let mut machine = Machine::laying();
    machine.frames = vec![frame(1)];
    machine.run(1.0);
    assert_eq!(machine.phase(), Phase::Laying);
    machine.frames = vec![frame(0)];
    assert!(machine.ticks_to_stop(11) <= 11);
    machine.frames = vec![frame(1)];
    machine.assert_latched(Condition::BusStop);
}
