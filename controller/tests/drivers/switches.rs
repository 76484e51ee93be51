//! Switches on scripted pins, the ticket button, the capture of edges.

use embedded_hal_mock::eh1::MockError;
use embedded_hal_mock::eh1::digital::{Mock as Pin, State, Transaction as Level};
use proptest::prelude::*;
use std::io::ErrorKind;
use strewn_controller::drivers::capture::Capture;
use strewn_controller::drivers::switches::{Filter, NUMBER, Switches, TicketButton};
use strewn_controller::units::Instant;
use strewn_controller::wires::SwitchBits;

#[test]
fn pins_become_bits_after_three_readings_and_a_broken_pin_is_open() {
    let closed = vec![Level::get(State::High); 3];
    let open = vec![Level::get(State::Low); 3];
    let broken = MockError::Io(ErrorKind::NotConnected);
    let fails = [Level::get(State::High).with_error(broken), closed[0].clone(), closed[0].clone()];
    let mut pins: [Pin; NUMBER] = core::array::from_fn(|place| match place {
        1 | 9 => Pin::new(&closed),
        3 => Pin::new(&fails),
        _ => Pin::new(&open),
    });
    let mut switches = Switches::new(pins.clone());
    assert_eq!(switches.sample(), SwitchBits(0));
    assert_eq!(switches.sample(), SwitchBits(0));
    assert_eq!(switches.sample(), SwitchBits(SwitchBits::STOP_CLEAR_A | SwitchBits::RUN_B));
    assert_eq!(switches.bits().0.count_ones(), 2);
    for pin in &mut pins {
        pin.done();
    }
}

proptest! {
    /// Open at once; closed only if the last three readings say so.
    #[test]
    fn only_three_readings_close(readings in proptest::collection::vec(any::<u16>(), 1..50)) {
        let mut filter = Filter::default();
        for (place, reading) in readings.iter().enumerate() {
            let before = |steps: usize| place.checked_sub(steps).map_or(0, |at| readings[at]);
            prop_assert_eq!(filter.take(*reading), reading & before(1) & before(2));
        }
    }

    /// The edge's time is the captured one, however late the interrupt and wherever the clocks wrap.
    #[test]
    fn an_edge_keeps_its_time(edge_us in any::<u32>(), late_us in 0u32..65_536, offset in any::<u16>()) {
        let timer = |us: u32| u16::try_from(us & 0xFFFF).unwrap().wrapping_add(offset);
        let now_us = edge_us.wrapping_add(late_us);
        let mut capture = Capture::new();
        capture.on_edge(timer(edge_us), timer(now_us), now_us);
        prop_assert_eq!((capture.wire().count, capture.wire().last_edge_us), (1, edge_us));
    }
}

#[test]
fn a_lost_edge_is_counted() {
    let mut capture = Capture::new();
    capture.on_edge(5, 10, 100);
    capture.on_overrun();
    assert_eq!((capture.wire().count, capture.wire().last_edge_us), (2, 95));
}

#[test]
fn a_press_steps_the_ticket_once() {
    let mut button = TicketButton::default();
    let mut now_ms = 0u64;
    let mut hold = |closed: bool, locked: bool, ms: u64| {
        let mut ticket = 0;
        for _ in 0..ms {
            now_ms += 1;
            ticket = button.sample(closed, locked, 3, Instant::from_micros(now_ms * 1_000));
        }
        ticket
    };
    assert_eq!(hold(true, false, 100), 0, "held at the start: says nothing");
    assert_eq!(hold(false, false, 60), 0);
    assert_eq!(hold(true, false, 2), 0, "too short");
    assert_eq!(hold(false, false, 60), 0);
    assert_eq!(hold(true, false, 100), 1);
    assert_eq!(hold(false, false, 10), 1, "bounces");
    assert_eq!(hold(true, false, 100), 1);
    assert_eq!(hold(false, false, 60), 1);
    assert_eq!(hold(true, true, 100), 1, "locked");
    assert_eq!(hold(false, false, 60), 1);
    for expected in [2, 0, 1] {
        assert_eq!(hold(true, false, 10), expected);
        hold(false, false, 60);
    }
}
