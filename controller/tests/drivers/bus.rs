//! The tractor's bus in memory: which frames reach the controller, what is sent and when.

use embedded_can::{ErrorKind, ExtendedId, Frame as _, Id, StandardId};
use std::collections::VecDeque;
use strewn_controller::drivers::address::{AddressClaim, Name};
use strewn_controller::drivers::auxiliary::{AuxiliaryValve, command};
use strewn_controller::drivers::bus::Bus;
use strewn_controller::signals::isobus::{Direction, Flag, Message, Motion};
use strewn_controller::units::Instant;
use strewn_controller::wires::{FRAMES, Frame};

/// A frame on the wire.
#[derive(Clone, PartialEq, Debug)]
struct OnWire {
    id: Id,
    data: Vec<u8>,
    remote: bool,
}

impl embedded_can::Frame for OnWire {
    fn new(id: impl Into<Id>, data: &[u8]) -> Option<Self> {
        (data.len() <= 8).then(|| Self { id: id.into(), data: data.to_vec(), remote: false })
    }

    fn new_remote(id: impl Into<Id>, _: usize) -> Option<Self> {
        Some(Self { id: id.into(), data: Vec::new(), remote: true })
    }

    fn is_extended(&self) -> bool {
        matches!(self.id, Id::Extended(_))
    }

    fn is_remote_frame(&self) -> bool {
        self.remote
    }

    fn id(&self) -> Id {
        self.id
    }

    fn dlc(&self) -> usize {
        self.data.len()
    }

    fn data(&self) -> &[u8] {
        &self.data
    }
}

/// One end of the bus: what will be received, what was sent, how many more it takes.
#[derive(Default)]
struct Memory {
    coming: VecDeque<Result<OnWire, ErrorKind>>,
    sent: Vec<OnWire>,
    takes: usize,
}

impl embedded_can::nb::Can for Memory {
    type Frame = OnWire;
    type Error = ErrorKind;

    fn transmit(&mut self, frame: &OnWire) -> nb::Result<Option<OnWire>, ErrorKind> {
        if self.sent.len() >= self.takes {
            return Err(nb::Error::WouldBlock);
        }
        self.sent.push(frame.clone());
        Ok(None)
    }

    fn receive(&mut self) -> nb::Result<OnWire, ErrorKind> {
        match self.coming.pop_front() {
            Some(next) => next.map_err(nb::Error::Other),
            None => Err(nb::Error::WouldBlock),
        }
    }
}

fn on_wire(frame: Frame) -> OnWire {
    OnWire::new(ExtendedId::new(frame.id).unwrap(), &frame.data).unwrap()
}

/// A bus on which these frames wait.
fn waiting(frames: impl IntoIterator<Item = OnWire>) -> Memory {
    Memory { coming: frames.into_iter().map(Ok).collect(), takes: 10, ..Memory::default() }
}

fn ground_speed(speed_mm_s: u16) -> Frame {
    let motion = Motion { speed_mm_s, distance_mm: 0, direction: Direction::Forward };
    Message::Ground { motion }.encode(0x45)
}

fn stop(permitted: Flag, source: u8) -> Frame {
    Message::Stop { permitted, transitions: 1 }.encode(source)
}

const START: Instant = Instant::START;

#[test]
fn only_long_data_frames_of_the_groups_read_come_through() {
    let id = StandardId::new(0x123).unwrap();
    let remote = OnWire::new_remote(ExtendedId::new(ground_speed(1).id).unwrap(), 8).unwrap();
    let other = Frame { id: 0x18FE_F600, data: [0; 8] };
    let short = OnWire::new(id, &[1, 2]).unwrap();
    let frames = [short, remote, on_wire(other), on_wire(ground_speed(900))];
    let mut bus = Bus::new(waiting(frames), None);
    let (kept, result) = bus.poll(START);
    assert_eq!((kept.as_slice(), result), (&[ground_speed(900)][..], Ok(())));
    assert!(bus.release().sent.is_empty(), "a bus without a claim only listens");
}

#[test]
fn of_one_speed_the_latest_stays() {
    let frames = (0..40).map(|speed| on_wire(ground_speed(speed)));
    let (kept, _) = Bus::new(waiting(frames), None).poll(START);
    assert_eq!(kept.as_slice(), [ground_speed(39)]);
}

#[test]
fn a_stop_finds_room_on_a_full_bus_and_is_not_pushed_out() {
    let speeds = (0..8u8).map(|source| {
        let mut frame = ground_speed(1);
        frame.id |= u32::from(source) << 1;
        frame
    });
    let clear = (0..8u8).map(|source| stop(Flag::On, source));
    let asked = stop(Flag::Off, 0x99);
    let frames = speeds.clone().chain([asked]).chain(speeds).chain(clear);
    let (kept, _) = Bus::new(waiting(frames.map(on_wire)), None).poll(START);
    assert_eq!(kept.len(), FRAMES);
    assert!(kept.contains(&asked), "{kept:?}");
}

#[test]
fn an_error_of_the_bus_is_told_behind_the_frames() {
    let mut memory = waiting([on_wire(ground_speed(5))]);
    memory.coming.push_back(Err(ErrorKind::Overrun));
    let (kept, result) = Bus::new(memory, None).poll(START);
    assert_eq!((kept.len(), result), (1, Err(ErrorKind::Overrun)));
}

#[test]
fn a_claim_goes_out_and_a_bus_that_takes_nothing_keeps_the_latest_commands() {
    let claim = AddressClaim::new(Name(7), 0x80);
    let mut bus = Bus::new(Memory { takes: 1, ..Memory::default() }, Some(claim));
    assert_eq!(bus.poll(START).1, Ok(()));
    for duty in 1..=6 {
        bus.send(command(0, 0x80, duty * 1_000));
        assert_eq!(bus.poll(Instant::from_micros(300_000)).1, Ok(()));
    }
    assert_eq!((bus.address(), bus.dropped()), (Some(0x80), 2));
    let sent = bus.release().sent;
    assert_eq!(
        sent,
        [OnWire::new(ExtendedId::new(0x18EE_FF80).unwrap(), &[7, 0, 0, 0, 0, 0, 0, 0]).unwrap()]
    );
}

/// ISO 11783-7 as coded in Open SAE J1939, Daniel Mårtensson, 2026: valve 0 from address 26h, half of
/// the flow, extend.
#[test]
fn the_published_command_to_a_valve() {
    let frame = command(0, 0x26, 16_384);
    assert_eq!(frame.id, 0x0CFE_3026);
    assert_eq!(frame.data, [0x7D, 0xFF, 0x31, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF]);
    assert_eq!(command(15, 0x26, 0).id, 0x0CFE_3F26);
    assert_eq!(command(0, 0x26, 0).data[..3], [0, 0xFF, 0x30]);
    assert_eq!(command(0, 0x26, i16::MIN).data[..3], [250, 0xFF, 0x32]);
}

#[test]
fn a_command_goes_out_every_tenth_of_a_second_and_a_stop_at_once() {
    let mut valve = AuxiliaryValve::new(3);
    let duties = |ms: u64| if ms < 155 { 10_000 } else { 0 };
    let sent: Vec<u64> = (0..400)
        .filter(|ms| valve.poll(duties(*ms), 0x80, Instant::from_micros(ms * 1_000)).is_some())
        .collect();
    assert_eq!(sent, [0, 100, 155, 255, 355]);
}
