//! Any sequence of ticks: whatever the wires say, in any order and after any time.
//!
//! The judge knows nothing of the controller's state. It reads the wires as they were given and keeps
//! its own account of the two acts.

mod machine;

use machine::{Machine, config};
use proptest::collection::vec;
use proptest::prelude::*;
use strewn_controller::safety::Phase;
use strewn_controller::step::{State, step};
use strewn_controller::units::Instant;
use strewn_controller::wires::*;

/// The pulse that tests the path: 5 % of full command.
const TEST_VALVE: i16 = 1_639;
const VITAL: u16 = SwitchBits::PRESENT
    | SwitchBits::STOP_CLEAR_A
    | SwitchBits::STOP_CLEAR_B
    | SwitchBits::GUARD_SHUT;

/// The two acts as the wires show them.
#[derive(Default)]
struct Judge {
    /// Ticks since the arming button was newly closed, with run open.
    armed: Option<u32>,
    arm_was_closed: bool,
    run_was_closed: bool,
    /// Both acts were done, and the valve has not been shut since but for a flutter of the switch.
    begun: bool,
    shut_us: u64,
    now_us: u64,
}

impl Judge {
    /// Fails on an output that the wires do not allow.
    fn tick(&mut self, inputs: &Inputs, outputs: &Outputs) -> Result<(), String> {
        let switches = inputs.switches;
        let (arm, run) = (switches.has(SwitchBits::ARM), switches.has(machine::HELD));
        self.armed = match self.armed {
            _ if arm && !self.arm_was_closed && !run => Some(0),
            Some(ticks) if ticks < 800 => Some(ticks + 1),
            _ => None,
        };
        if run && !self.run_was_closed && self.armed.is_some_and(|ticks| ticks > 0) {
            (self.begun, self.shut_us) = (true, 0);
        }
        (self.arm_was_closed, self.run_was_closed) = (arm, run);
        let open = outputs.valve != 0 || outputs.enable;
        let moving = outputs.valve > TEST_VALVE || (open && outputs.view.phase != Phase::Testing);
        if open && !switches.has(VITAL) {
            return Err(format!("open with a vital wire open: {switches:?}"));
        }
        if outputs.valve < 0 || (outputs.valve != 0 && !outputs.enable) {
            return Err(format!("valve {} enable {}", outputs.valve, outputs.enable));
        }
        if moving && (!run || !self.begun || outputs.view.phase != Phase::Laying) {
            return Err(format!("motion without the two acts in {:?}", outputs.view.phase));
        }
        if open && !moving && self.armed.is_none() {
            return Err("a test pulse without the first act".into());
        }
        let tick_us = inputs.now.to_micros() - self.now_us;
        self.now_us = inputs.now.to_micros();
        self.shut_us = if open { 0 } else { self.shut_us + tick_us };
        // The seat's switch may flutter for 100 ms; the ledger shuts the valve but not the enable.
        if self.shut_us > 120_000 {
            self.begun = false;
        }
        Ok(())
    }
}

/// One piece of a sequence: so many ticks with something done to the wires.
#[derive(Clone, Debug)]
struct Piece {
    ticks: u32,
    tick_us: u64,
    flip: u16,
    pressure: u16,
    reference_off: bool,
    coil: Option<u16>,
    /// Edges of both rollers a tick; `None` as the valve makes them.
    edges: Option<u32>,
    silent_bus: bool,
    frame: Option<(u32, [u8; 8])>,
}

fn piece() -> impl Strategy<Value = Piece> {
    let wires =
        (0..4_096u16, prop::bool::weighted(0.03), prop::option::weighted(0.03, 0..4_096u16));
    let tick_us =
        prop_oneof![30 => Just(10_000u64), 1 => Just(0), 1 => 0..40_000u64, 1 => 0..1_000_000u64];
    let frame = prop::option::weighted(0.1, (any::<u32>(), any::<[u8; 8]>()));
    (
        (1..60u32, tick_us, prop_oneof![5 => Just(0u16), 1 => any::<u16>()]),
        (
            wires,
            prop_oneof![8 => Just(None), 1 => prop::option::of(any::<u32>())],
            prop::bool::weighted(0.05),
            frame,
        ),
    )
        .prop_map(
            |(
                (ticks, tick_us, flip),
                ((pressure, reference_off, coil), edges, silent_bus, frame),
            )| {
                Piece {
                    ticks,
                    tick_us,
                    flip,
                    pressure,
                    reference_off,
                    coil,
                    edges,
                    silent_bus,
                    frame,
                }
            },
        )
}

/// Hands that mostly do as they should, so that sequences reach every phase.
fn hands(number: usize) -> u16 {
    let rest = machine::SEATED;
    [rest, rest | SwitchBits::ARM, rest, rest | machine::HELD, rest | machine::HELD][number % 5]
}

/// Runs a sequence; the number of ticks in which hay was laid.
fn run(pieces: &[Piece], state: &mut State) -> Result<u32, String> {
    let settings = config().build().expect("allowed");
    let (mut judge, mut inputs) = (Judge::default(), Inputs::default());
    let (mut laid, mut tick, mut moved) = (0, 0u64, false);
    for (number, piece) in pieces.iter().enumerate() {
        for _ in 0..piece.ticks {
            tick += 1;
            inputs.now = Instant::from_micros(inputs.now.to_micros() + piece.tick_us);
            inputs.switches = SwitchBits(hands(number) ^ piece.flip);
            inputs.analog.pressure = piece.pressure ^ (tick % 3) as u16;
            inputs.analog.reference = if piece.reference_off { 0 } else { 2_048 };
            for roller in &mut inputs.rollers {
                let turning = if moved { 1 } else { 0 };
                roller.count = roller.count.wrapping_add(piece.edges.unwrap_or(turning));
                roller.last_edge_us = inputs.now.to_micros() as u32;
            }
            inputs.frames.clear();
            if tick % 10 == 0 && !piece.silent_bus {
                let data = [0x3D, 5, 0, 0, 0, 0, 0xFF, 0xFD];
                inputs.frames.extend([Frame { id: 0x0CFE_4945, data }]);
            }
            inputs.frames.extend(piece.frame.map(|(id, data)| Frame { id, data }));
            let outputs = step(&settings, state, &inputs);
            judge.tick(&inputs, &outputs)?;
            // Coil and supply as the command makes them.
            let current = (u32::from(outputs.valve.unsigned_abs()) * 3_000 / 32_767) as u16;
            inputs.analog.coil_current = piece.coil.unwrap_or(current);
            inputs.analog.valve_supply = if outputs.enable { 2_700 } else { 0 };
            moved = outputs.valve > TEST_VALVE;
            laid += u32::from(moved);
        }
    }
    Ok(laid)
}

fn fresh() -> State {
    State::new(&config().build().expect("allowed"))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn no_sequence_of_ticks_moves_anything_without_the_two_acts(pieces in vec(piece(), 1..80)) {
        prop_assert!(run(&pieces, &mut fresh()).map_err(TestCaseError::fail)? < u32::MAX);
    }
}

/// Beside it: such sequences do reach motion, so that the judge has something to judge.
#[test]
fn undisturbed_sequences_do_lay() {
    let piece = Piece {
        ticks: 40,
        tick_us: 10_000,
        flip: 0,
        pressure: 900,
        reference_off: false,
        coil: None,
        edges: None,
        silent_bus: false,
        frame: None,
    };
    let laid = run(&vec![piece; 20], &mut fresh()).expect("allowed");
    assert!(laid > 100, "{laid} ticks");
}

/// The judge catches what it is there for: outputs that a broken controller could give.
#[test]
fn the_judge_catches_planted_defects() {
    let mut machine = Machine::new();
    machine.run(0.5);
    machine.lay();
    let (inputs, sound) = (machine.inputs.clone(), machine.outputs);
    let begun = || Judge { begun: true, run_was_closed: true, ..Judge::default() };
    assert_eq!(begun().tick(&inputs, &sound), Ok(()));
    let with =
        |bits: u16| Inputs { switches: SwitchBits(inputs.switches.0 & !bits), ..inputs.clone() };
    let resting = {
        let mut outputs = sound;
        outputs.view.phase = Phase::Resting;
        outputs
    };
    let cases = [
        (begun(), with(SwitchBits::STOP_CLEAR_A), sound, "deaf to stop A"),
        (begun(), with(SwitchBits::STOP_CLEAR_B), sound, "deaf to stop B"),
        (begun(), with(SwitchBits::PRESENT), sound, "deaf to presence"),
        (begun(), with(SwitchBits::GUARD_SHUT), sound, "deaf to the guard"),
        (begun(), with(SwitchBits::RUN), sound, "deaf to the run switch"),
        (Judge::default(), inputs.clone(), sound, "starts with run alone"),
        (begun(), inputs.clone(), Outputs { enable: false, ..sound }, "valve without enable"),
        (begun(), inputs.clone(), Outputs { valve: -5, ..sound }, "reverse"),
        (begun(), inputs.clone(), resting, "moves at rest"),
        (
            Judge::default(),
            with(SwitchBits::RUN),
            Outputs { enable: true, ..Outputs::default() },
            "enable at rest",
        ),
    ];
    for (mut judge, inputs, outputs, defect) in cases {
        assert!(judge.tick(&inputs, &outputs).is_err(), "{defect}");
    }
}
