//! Claims of addresses among units on one bus.

use proptest::prelude::*;
use strewn_controller::drivers::address::{
    AddressClaim, CLAIMED, GLOBAL, NOBODY, Name, NameParts, REQUEST,
};
use strewn_controller::signals::isobus::Identifier;
use strewn_controller::units::Instant;
use strewn_controller::wires::Frame;

/// A recorded claim as taken apart in the tests of canboatjs (group 60928), Scott Bender, 2017.
#[test]
fn a_recorded_name_has_its_parts() {
    let parts = NameParts {
        identity: 1_072,
        manufacturer: 717,
        unit_instance: 0,
        function_instance: 0,
        function: 130,
        class: 75,
        class_instance: 0,
        industry: 4,
        chooses: true,
    };
    let recorded = [0x30, 0x04, 0xA0, 0x59, 0x00, 0x82, 0x97, 0xC0];
    // That unit sets the reserved bit below the class as well.
    let reserved = 1 << 48;
    assert_eq!(Name::new(parts).0 | reserved, u64::from_le_bytes(recorded));
    assert!(Name::new(parts).chooses());
}

fn at(ms: u64) -> Instant {
    Instant::from_micros(ms * 1_000)
}

fn name(identity: u32, chooses: bool) -> Name {
    Name::new(NameParts {
        identity,
        manufacturer: 2_000,
        unit_instance: 0,
        function_instance: 0,
        function: 0,
        class: 0,
        class_instance: 0,
        industry: 2,
        chooses,
    })
}

fn claim_frame(source: u8, name: Name) -> Frame {
    let id = 0x18EE_FF00 | u32::from(source);
    Frame { id, data: name.0.to_le_bytes() }
}

#[test]
fn an_address_is_used_a_quarter_of_a_second_after_its_claim() {
    let mut unit = AddressClaim::new(name(5, true), 0x90);
    assert_eq!(unit.poll(at(0)), Some(claim_frame(0x90, name(5, true))));
    for ms in 1..250 {
        assert_eq!((unit.poll(at(ms)), unit.address()), (None, None));
    }
    assert_eq!((unit.poll(at(250)), unit.address()), (None, Some(0x90)));
}

#[test]
fn a_request_is_answered() {
    let mut unit = AddressClaim::new(name(5, true), 0x90);
    unit.poll(at(0));
    for (receiver, answered) in [(GLOBAL, true), (0x90, true), (0x91, false)] {
        let group = REQUEST | u32::from(receiver);
        let id = Identifier { priority: 6, group, source: 0x26 }.encode();
        let [low, high, ..] = CLAIMED.to_le_bytes();
        let request = Frame { id, data: [low, high, 0, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF] };
        unit.take(&request, at(1_000));
        let answer = unit.poll(at(1_000));
        assert_eq!(answer, answered.then(|| claim_frame(0x90, name(5, true))), "{receiver:#x}");
    }
}

#[test]
fn the_lower_name_keeps_the_address() {
    let mut unit = AddressClaim::new(name(5, true), 0x90);
    unit.poll(at(0));
    unit.take(&claim_frame(0x90, name(6, true)), at(10));
    assert_eq!(unit.poll(at(10)), Some(claim_frame(0x90, name(5, true))), "defended");
    unit.take(&claim_frame(128, name(9, true)), at(20));
    unit.take(&claim_frame(0x90, name(4, true)), at(30));
    assert_eq!(unit.poll(at(30)), Some(claim_frame(129, name(5, true))), "the next free one");
}

#[test]
fn who_may_not_choose_says_that_it_has_none_and_falls_silent() {
    let mut unit = AddressClaim::new(name(5, false), 0x90);
    unit.poll(at(0));
    unit.take(&claim_frame(0x90, name(4, false)), at(10));
    let said: Vec<Frame> = (10..2_000).filter_map(|ms| unit.poll(at(ms))).collect();
    assert_eq!(said, [claim_frame(NOBODY, name(5, false))]);
    assert_eq!(unit.address(), None);
}

proptest! {
    /// Units that all want one address end with one each, and the lowest name has the wanted one.
    #[test]
    fn units_on_one_bus_end_with_an_address_each(
        identities in proptest::collection::hash_set(0u32..1_000_000, 2..20),
        starts in proptest::collection::vec(0u64..500, 20),
        wanted in 0u8..=253,
    ) {
        let names: Vec<Name> = identities.iter().map(|identity| name(*identity, true)).collect();
        let mut units: Vec<_> = names.iter().map(|name| AddressClaim::new(*name, wanted)).collect();
        for ms in 0..20_000 {
            let mut sent = Vec::new();
            for (place, unit) in units.iter_mut().enumerate().filter(|(place, _)| ms >= starts[*place]) {
                sent.extend(unit.poll(at(ms)).map(|frame| (place, frame)));
            }
            for (sender, frame) in sent {
                for (place, unit) in units.iter_mut().enumerate() {
                    if place != sender && ms >= starts[place] {
                        unit.take(&frame, at(ms));
                    }
                }
            }
        }
        let mut held: Vec<(u8, Name)> = Vec::new();
        for (unit, name) in units.iter().zip(&names) {
            let Some(address) = unit.address() else {
                return Err(TestCaseError::fail("a unit has none"));
            };
            prop_assert!(held.iter().all(|(other, _)| *other != address));
            held.push((address, *name));
        }
        let holder = held.iter().find(|(address, _)| *address == wanted);
        prop_assert_eq!(holder.map(|(_, name)| *name), names.iter().min().copied());
    }

    /// No frame at all makes a unit speak more than once for it.
    #[test]
    fn any_frames_are_answered_at_most_once_each(
        frames in proptest::collection::vec((any::<u32>(), any::<[u8; 8]>()), 1..50),
    ) {
        let mut unit = AddressClaim::new(name(5, true), 0x90);
        let mut said = usize::from(unit.poll(at(0)).is_some());
        for (ms, (id, data)) in (1..).zip(&frames) {
            // Half of them claims, half anything.
            let id = if id & 1 == 0 { 0x18EE_FF90 } else { id & 0x1FFF_FFFF };
            unit.take(&Frame { id, data: *data }, at(ms));
            said += usize::from(unit.poll(at(ms)).is_some());
        }
        prop_assert!(said <= frames.len() + 1);
    }
}
