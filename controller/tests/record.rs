//! Log frames: what is written is read back, and harm is noticed.

use proptest::collection::vec;
use proptest::prelude::*;
use strewn_controller::record::{FRAME_MAX, RecordError, decode, digest, encode};
use strewn_controller::safety::{Condition, Phase};
use strewn_controller::units::{Bite, Instant, LineRate, Mass, Speed, TurnRate};
use strewn_controller::view::View;
use strewn_controller::wires::*;

fn pulses() -> impl Strategy<Value = PulseWire> {
    (any::<u32>(), any::<u32>()).prop_map(|(count, last_edge_us)| PulseWire { count, last_edge_us })
}

fn sentence() -> impl Strategy<Value = Sentence> {
    vec(any::<u8>(), 0..=SENTENCE_BYTES).prop_map(|bytes| bytes.into_iter().collect())
}

fn frame() -> impl Strategy<Value = Frame> {
    (any::<u32>(), any::<[u8; 8]>()).prop_map(|(id, data)| Frame { id, data })
}

fn inputs() -> impl Strategy<Value = Inputs> {
    let rest = (any::<(i32, u8)>(), any::<[u16; 5]>(), any::<u16>(), any::<u8>());
    let lists = (vec(frame(), 0..=FRAMES), vec(sentence(), 0..=SENTENCES));
    (any::<u64>(), [pulses(), pulses()], pulses(), rest, lists).prop_map(
        |(now, rollers, ground, ((counts, sequence), analog, switches, ticket), lists)| Inputs {
            now: Instant::from_micros(now),
            rollers,
            ground,
            weigh: WeighWire { counts, sequence },
            analog: AnalogWires {
                pressure: analog[0],
                gauge: analog[1],
                reference: analog[2],
                coil_current: analog[3],
                valve_supply: analog[4],
            },
            switches: SwitchBits(switches),
            ticket,
            frames: lists.0.into_iter().collect(),
            sentences: lists.1.into_iter().collect(),
        },
    )
}

/// An ordinary tick of 10 ms: both rollers and the ground wheel gave an edge, all analog channels
/// moved a little, the weigh cells converted.
fn ordinary() -> (Inputs, Inputs) {
    let before = Inputs {
        now: Instant::from_micros(3_600_000_000),
        rollers: [PulseWire { count: 70_000, last_edge_us: 3_599_990_123 }; 2],
        ground: PulseWire { count: 900_000, last_edge_us: 3_599_998_456 },
        weigh: WeighWire { counts: 512_345, sequence: 250 },
        analog: AnalogWires {
            pressure: 1_500,
            gauge: 2_200,
            reference: 2_048,
            coil_current: 1_400,
            valve_supply: 2_730,
        },
        switches: SwitchBits(0x17),
        ..Inputs::default()
    };
    let mut after = before.clone();
    after.now = Instant::from_micros(3_600_010_000);
    for wire in after.rollers.iter_mut().chain([&mut after.ground]) {
        wire.count += 1;
        wire.last_edge_us += 9_876;
    }
    after.weigh = WeighWire { counts: 511_111, sequence: 251 };
    after.analog = AnalogWires {
        pressure: 1_477,
        gauge: 2_201,
        reference: 2_047,
        coil_current: 1_390,
        valve_supply: 2_731,
    };
    (before, after)
}

fn written(before: &Inputs, after: &Inputs, digest: u32) -> Vec<u8> {
    let mut out = [0; FRAME_MAX];
    let length = encode(before, after, digest, &mut out).expect("there is room");
    out[..length].to_vec()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1_000))]

    #[test]
    fn what_is_written_is_read_back(before in inputs(), after in inputs(), digest: u32) {
        let frame = written(&before, &after, digest);
        prop_assert!(frame.len() <= FRAME_MAX);
        prop_assert_eq!(decode(&before, &frame), Ok((after, digest, frame.len())));
    }

    #[test]
    fn a_stream_of_frames_is_walked(ticks in vec(inputs(), 1..5)) {
        let (mut log, mut before) = (Vec::new(), Inputs::default());
        for tick in &ticks {
            log.extend(written(&before, tick, 7));
            before = tick.clone();
        }
        let (mut rest, mut before) = (log.as_slice(), Inputs::default());
        for tick in &ticks {
            let (inputs, _, length) = decode(&before, rest).expect("whole");
            prop_assert_eq!(&inputs, tick);
            (before, rest) = (inputs, &rest[length..]);
        }
        prop_assert!(rest.is_empty());
    }

    #[test]
    fn any_bytes_give_a_frame_or_an_error(before in inputs(), bytes in vec(any::<u8>(), 0..400)) {
        // Chance alone does not make a checksum.
        prop_assert!(decode(&before, &bytes).is_err());
    }

    #[test]
    fn a_changed_byte_or_a_cut_is_noticed(before in inputs(), after in inputs(), change in 1..=255u8) {
        let frame = written(&before, &after, 0x1234_5678);
        for at in 0..frame.len() {
            let mut harmed = frame.clone();
            harmed[at] ^= change;
            prop_assert!(decode(&before, &harmed).is_err(), "byte {}", at);
            prop_assert!(decode(&before, &frame[..at]).is_err(), "cut at {}", at);
        }
    }

    #[test]
    fn too_little_room_is_an_error(before in inputs(), after in inputs()) {
        let length = written(&before, &after, 0).len();
        for room in 0..length {
            let mut out = [0; FRAME_MAX];
            let answer = encode(&before, &after, 0, &mut out[..room]);
            prop_assert_eq!(answer, Err(RecordError::NoRoom));
        }
    }
}

#[test]
fn every_single_bit_of_an_ordinary_frame_matters() {
    let (before, after) = ordinary();
    let frame = written(&before, &after, 99);
    for bit in 0..frame.len() * 8 {
        let mut harmed = frame.clone();
        harmed[bit / 8] ^= 1 << (bit % 8);
        harmed.resize(FRAME_MAX, 0);
        assert!(decode(&before, &harmed).is_err(), "bit {bit}");
    }
}

#[test]
fn an_ordinary_tick_takes_under_40_bytes() {
    let (before, mut after) = ordinary();
    let length = written(&before, &after, u32::MAX).len();
    assert!(length < 40, "{length} bytes");
    // Nothing new at all: length, time, flags, digest, checksum.
    after = Inputs { now: after.now, ..before.clone() };
    assert_eq!(written(&before, &after, u32::MAX).len(), 2 + 2 + 1 + 4 + 4);
}

#[test]
fn the_longest_frame_is_the_stated_one() {
    let far = PulseWire { count: u32::MAX, last_edge_us: u32::MAX };
    let full = std::iter::repeat_n(0xFF, SENTENCE_BYTES).collect::<Sentence>();
    let longest = Inputs {
        now: Instant::from_micros(u64::MAX),
        rollers: [far; 2],
        ground: far,
        weigh: WeighWire { counts: i32::MIN, sequence: 255 },
        analog: AnalogWires {
            pressure: 0x8000,
            gauge: 0x8000,
            reference: 0x8000,
            coil_current: 0x8000,
            valve_supply: 0x8000,
        },
        switches: SwitchBits(u16::MAX),
        ticket: 255,
        frames: [Frame { id: u32::MAX, data: [0xFF; 8] }; FRAMES].into_iter().collect(),
        sentences: [full.clone(), full].into_iter().collect(),
    };
    assert_eq!(written(&Inputs::default(), &longest, u32::MAX).len(), FRAME_MAX);
}

/// A frame with a right length and checksum around this difference and the digest 0.
fn framed(difference: &[u8]) -> Vec<u8> {
    let length = u16::try_from(difference.len() + 10).expect("short");
    let mut frame = [&length.to_le_bytes()[..], difference, &[0; 4]].concat();
    // CRC-32 as in Ethernet (IEEE 802.3), bit by bit, from memory.
    let sum = frame.iter().fold(!0u32, |sum, byte| {
        (0..8).fold(sum ^ u32::from(*byte), |sum, _| (sum >> 1) ^ ((sum & 1) * 0xEDB8_8320))
    });
    frame.extend((!sum).to_le_bytes());
    frame
}

#[test]
fn a_whole_frame_of_another_version_is_told_from_a_harmed_one() {
    let read = |frame: &[u8]| decode(&Inputs::default(), frame);
    // No time passed, no part changed: the shortest difference.
    assert_eq!(read(&framed(&[0, 0])), Ok((Inputs::default(), 0, 12)));
    // A flag that is not known; a byte more than the parts take; a byte less.
    for difference in [&[0, 0x80, 0x08][..], &[0, 0, 0], &[0]] {
        assert_eq!(read(&framed(difference)), Err(RecordError::Content));
    }
    let mut harmed = framed(&[0, 0]);
    harmed[5] ^= 1;
    assert_eq!(read(&harmed), Err(RecordError::Checksum));
}

#[test]
fn a_length_that_no_frame_has_is_told_from_a_cut() {
    let read = |frame: &[u8]| decode(&Inputs::default(), frame);
    let longest = framed(&[0; FRAME_MAX - 10]);
    assert_eq!(read(&longest), Err(RecordError::Content));
    assert_eq!(read(&longest[..FRAME_MAX - 1]), Err(RecordError::Short));
    assert_eq!(read(&framed(&[0; FRAME_MAX - 9])), Err(RecordError::Length));
    assert_eq!(read(&[9, 0, 0, 0, 0, 0, 0, 0, 0]), Err(RecordError::Length));
    assert_eq!(read(&[12]), Err(RecordError::Short));
    assert_eq!(read(&[]), Err(RecordError::Short));
}

#[test]
fn every_output_field_reaches_the_digest() {
    let base = Outputs::default();
    let view = |change: fn(&mut View)| {
        let mut outputs = base;
        change(&mut outputs.view);
        outputs
    };
    let others = [
        Outputs { valve: 1, ..base },
        Outputs { enable: true, ..base },
        Outputs { lamps: LampBits(LampBits::HORN), ..base },
        view(|view| view.phase = Phase::Laying),
        view(|view| view.cause = Some(Condition::StopSwitch)),
        view(|view| view.target = LineRate::from_bits(1)),
        view(|view| view.laid = LineRate::from_bits(1)),
        view(|view| view.ground_speed = Speed::from_bits(1)),
        view(|view| view.advised_speed = Speed::from_bits(1)),
        view(|view| view.roller_asked = TurnRate::from_bits(1)),
        view(|view| view.roller_speed = TurnRate::from_bits(1)),
        view(|view| view.left = Mass::from_bits(1)),
        view(|view| view.left_deviation = Mass::from_bits(1)),
        view(|view| view.bite = Bite::from_bits(1)),
        view(|view| view.bite_deviation = Bite::from_bits(1)),
        view(|view| view.core_near = true),
        view(|view| view.holding = true),
    ];
    let mut digests: Vec<u32> = others.iter().map(|outputs| digest(0, outputs)).collect();
    digests.push(digest(0, &base));
    digests.push(digest(1, &base));
    let count = digests.len();
    digests.sort_unstable();
    digests.dedup();
    assert_eq!(digests.len(), count);
}

#[test]
fn what_is_no_record_of_integers_has_no_digest() {
    assert_eq!(digest(5, &"text"), !5);
    assert_eq!(digest(5, &1.5f64), !5);
}

proptest! {
    #[test]
    fn a_single_change_always_shows(
        before in any::<u32>(),
        numbers in any::<[i64; 4]>(),
        at in 0usize..4,
        flip in 0u32..64,
    ) {
        let mut changed = numbers;
        changed[at] ^= 1 << flip;
        prop_assert_ne!(digest(before, &numbers), digest(before, &changed));
    }

    #[test]
    fn order_and_presence_count(a in any::<u32>(), b in any::<u32>()) {
        prop_assume!(a != b);
        prop_assert_ne!(digest(0, &(a, b)), digest(0, &(b, a)));
        prop_assert_ne!(digest(0, &Some(a)), digest(0, &None::<u32>));
    }
}

#[test]
fn the_digest_remembers_an_old_difference() {
    let (base, other) = (Outputs::default(), Outputs { valve: -1, ..Outputs::default() });
    let run = |first: &Outputs| (0..100).fold(digest(0, first), |sum, _| digest(sum, &base));
    assert_ne!(run(&base), run(&other));
}
