//! Faults on wires: each kind on each wire does something, begins when it must, and repeats.

use proptest::prelude::*;
use strewn::faults::{Fault, Injector, Kind, Wire};
use strewn::random::Stream;
use strewn_controller::units::Instant;
use strewn_controller::wires::*;

const TICKS_S: f64 = 100.0;
const ONSET: u64 = 100;
const TICKS: u64 = 700;

/// Wires of a machine at work, every one of them changing now and then.
fn sound(tick: u64) -> (Inputs, Outputs) {
    let wave = (tick % 40) as u16;
    let edge = PulseWire { count: tick as u32 / 2, last_edge_us: (tick / 2 * 20_000) as u32 };
    let speed = (1_341 + wave).to_le_bytes();
    let sentence = b"$GPVTG,090.0,T,,M,002.61,N,004.83,K,A*0E";
    let mut inputs = Inputs {
        now: Instant::from_micros(1_000_000 + tick * 10_000),
        rollers: [edge, PulseWire { count: edge.count + tick as u32 / 3, ..edge }],
        ground: PulseWire { count: (tick + tick / 3) as u32, last_edge_us: (tick * 10_000) as u32 },
        weigh: WeighWire { counts: 500_000 - tick as i32 * 30, sequence: tick as u8 },
        analog: AnalogWires {
            pressure: 900 + wave,
            gauge: 1_500 + 2 * wave,
            reference: 2_048 + wave % 2,
            coil_current: 800 + 3 * wave,
            valve_supply: 2_700 + wave % 5,
        },
        switches: SwitchBits((Stream::root(1).bits(tick / 20) & 0x3FF) as u16),
        ticket: (tick / 50 % 4) as u8,
        ..Inputs::default()
    };
    if tick.is_multiple_of(10) {
        let data = [speed[0], speed[1], 0, 0, 0, 0, 0xFF, 0xFD];
        inputs.frames.extend([Frame { id: 0x0CFE_4945, data }]);
        let mut sentence: Sentence = sentence.iter().copied().collect();
        // A digit that changes, and a checksum that follows it.
        let digit = b'0' + (tick / 10 % 10) as u8;
        let change = sentence[23] ^ digit;
        sentence[23] = digit;
        let sum = 0x0E ^ change;
        let hex = format!("{sum:02X}");
        let end = sentence.len() - 2;
        sentence[end..].copy_from_slice(hex.as_bytes());
        inputs.sentences.extend([sentence]);
    }
    let valve = if tick % 50 < 25 { 9_000 + wave as i16 } else { 0 };
    let lamps = LampBits(if tick % 60 < 30 { LampBits::LAYING } else { 0 });
    (inputs, Outputs { valve, enable: tick % 70 < 35, lamps, ..Outputs::default() })
}

/// What is shown from first to last tick.
fn shown(wire: Wire, kind: Kind, seed: u64) -> (Vec<(Inputs, Outputs)>, bool) {
    let fault = Fault { wire, kind, onset_s: ONSET as f64 / TICKS_S };
    let mut injector = Injector::new(fault, TICKS_S, Stream::root(seed));
    let ticks = (0..TICKS).map(|tick| {
        let (mut inputs, mut outputs) = sound(tick);
        injector.on_inputs(tick, &mut inputs);
        injector.on_outputs(tick, &mut outputs);
        (inputs, outputs)
    });
    let ticks = ticks.collect();
    (ticks, injector.has_altered())
}

#[test]
fn every_kind_on_every_wire_changes_that_wire_after_its_onset_and_no_other() {
    for wire in Wire::ALL {
        for kind in Kind::ALL {
            let (ticks, altered) = shown(*wire, *kind, 3);
            let told = format!("{wire}:{kind}");
            assert!(altered, "{told} changed nothing");
            for (tick, (inputs, outputs)) in (0..).zip(&ticks) {
                let (mut was, were) = sound(tick);
                if tick < ONSET {
                    assert_eq!((inputs, outputs), (&was, &were), "{told} before its onset");
                }
                // Put back what the fault may touch: then all is as it was.
                match wire {
                    Wire::Clock => was.now = inputs.now,
                    Wire::RollerA => was.rollers[0] = inputs.rollers[0],
                    Wire::RollerB => was.rollers[1] = inputs.rollers[1],
                    Wire::Ground => was.ground = inputs.ground,
                    Wire::Weigh => was.weigh = inputs.weigh,
                    Wire::Pressure => was.analog.pressure = inputs.analog.pressure,
                    Wire::Gauge => was.analog.gauge = inputs.analog.gauge,
                    Wire::Reference => was.analog.reference = inputs.analog.reference,
                    Wire::Coil => was.analog.coil_current = inputs.analog.coil_current,
                    Wire::Supply => was.analog.valve_supply = inputs.analog.valve_supply,
                    Wire::Ticket => was.ticket = inputs.ticket,
                    Wire::Bus => was.frames.clone_from(&inputs.frames),
                    Wire::Receiver => was.sentences.clone_from(&inputs.sentences),
                    Wire::Valve | Wire::Enable => {}
                    _ => {
                        let change = was.switches.0 ^ inputs.switches.0;
                        assert!(change.count_ones() <= 1, "{told}: {change:b}");
                        was.switches = inputs.switches;
                    }
                }
                assert_eq!(inputs, &was, "{told} at {tick}");
                let touched = matches!(wire, Wire::Valve | Wire::Enable);
                assert!(touched || outputs == &were, "{told} at {tick}");
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn a_fault_repeats_with_its_seed(
        wire in proptest::sample::select(Wire::ALL), kind in proptest::sample::select(Kind::ALL), seed: u64,
    ) {
        prop_assert_eq!(shown(wire, kind, seed), shown(wire, kind, seed));
    }
}

#[test]
fn a_fault_is_read_as_it_is_written() {
    let fault: Fault = "roller-b:bit-flipped@12.5".parse().unwrap();
    assert_eq!(fault, Fault { wire: Wire::RollerB, kind: Kind::BitFlipped, onset_s: 12.5 });
    for (text, wanted) in [
        ("bus", "WIRE:KIND@SECONDS"),
        ("bus:off", "WIRE:KIND@SECONDS"),
        ("bus:off@soon", "WIRE:KIND@SECONDS"),
        ("bus:off@-1", "allowed is 0 to 86,400"),
        ("bus:off@NaN", "allowed is 0 to 86,400"),
        ("rail:off@1", "no wire is called \"rail\"; there are clock"),
        ("bus:broken@1", "no kind of fault is called \"broken\"; there are off"),
    ] {
        let told = text.parse::<Fault>().unwrap_err();
        assert!(told.contains(wanted), "{text}: {told}");
    }
}

#[test]
fn what_a_cut_and_a_short_show_is_what_the_table_says() {
    let at_end = |wire, kind| shown(wire, kind, 1).0.pop().unwrap();
    assert_eq!(at_end(Wire::Pressure, Kind::Off).0.analog.pressure, 0);
    assert_eq!(at_end(Wire::Pressure, Kind::Stuck).0.analog.pressure, 4_095);
    assert!(!at_end(Wire::StopA, Kind::Off).0.switches.has(SwitchBits::STOP_CLEAR_A));
    assert!(at_end(Wire::StopA, Kind::Stuck).0.switches.has(SwitchBits::STOP_CLEAR_A));
    assert_eq!(at_end(Wire::Valve, Kind::Off).1.valve, 0);
    assert_eq!(at_end(Wire::Valve, Kind::Stuck).1.valve, 32_767);
    assert!(!at_end(Wire::Enable, Kind::Off).1.enable);
    let (ticks, _) = shown(Wire::Bus, Kind::Off, 1);
    assert!(ticks[ONSET as usize..].iter().all(|(inputs, _)| inputs.frames.is_empty()));
}
