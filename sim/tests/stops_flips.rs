//! Single bit flips anywhere in the controller's memory, at any moment: never motion that the hands
//! did not ask for, never deaf to them afterwards.
//!
//! The state is saved as a tree of values; a flip changes one bit of one number, one flag, or turns one
//! choice into another. What a flip makes of the memory of options that are empty is not tried.

use serde_json::Value;
use strewn::random::Stream;
use strewn_controller::safety::{Condition, Phase};
use strewn_controller::settings::{
    Config, Core, SafetyConfig, Settings, SignalConfig, TicketConfig,
};
use strewn_controller::step::{State, step};
use strewn_controller::units::Instant;
use strewn_controller::wires::*;

const SEATED: u16 = SwitchBits::PRESENT | SwitchBits::STOP_CLEAR_A | SwitchBits::STOP_CLEAR_B;
const TEST_VALVE: i16 = 1_639;
const PHASES: [&str; 7] =
    ["Resting", "Testing", "Armed", "Laying", "Paused", "Latched", "Isolated"];

fn settings() -> Settings {
    let ticket =
        TicketConfig { mass_g: 500_000, diameter_mm: 1_524, bite_g: 6_500, core: Core::Even };
    let safety = SafetyConfig { coil_fitted: 1, supply_fitted: 1, ..SafetyConfig::TYPICAL };
    Config {
        signals: SignalConfig { ground: None, weigh: None, gauge: None, ..Default::default() },
        estimate: Default::default(),
        metering: Default::default(),
        safety,
        tickets: [ticket].into_iter().collect(),
    }
    .build()
    .unwrap()
}

/// A machine that does as it is told, tick by tick.
#[derive(Clone)]
struct Machine {
    state: State,
    inputs: Inputs,
    outputs: Outputs,
    tick: u64,
}

impl Machine {
    fn tick(&mut self, settings: &Settings, switches: u16) -> Outputs {
        self.tick += 1;
        let inputs = &mut self.inputs;
        inputs.now = Instant::from_micros(self.tick * 10_000);
        inputs.switches = SwitchBits(switches);
        inputs.analog.reference = 2_048;
        inputs.analog.pressure = 900 + (self.tick % 5) as u16;
        inputs.analog.coil_current = (i32::from(self.outputs.valve) * 3_000 / 32_767) as u16;
        inputs.analog.valve_supply = if self.outputs.enable { 2_700 } else { 0 };
        if self.outputs.valve > 6_000 {
            for roller in &mut inputs.rollers {
                roller.count = roller.count.wrapping_add(1);
                roller.last_edge_us = (self.tick * 10_000) as u32;
            }
        }
        inputs.frames.clear();
        if self.tick.is_multiple_of(10) {
            let data = [0x3D, 5, 0, 0, 0, 0, 0xFF, 0xFD];
            inputs.frames.extend([Frame { id: 0x0CFE_4945, data }]);
        }
        self.outputs = step(settings, &mut self.state, inputs);
        self.outputs
    }
}

/// A machine in each kind of phase, and what the hands hold there.
fn starts(settings: &Settings) -> Vec<(Phase, Machine, u16)> {
    let state = State::new(settings);
    let mut machine =
        Machine { state, inputs: Inputs::default(), outputs: Outputs::default(), tick: 0 };
    let mut found = Vec::new();
    let mut hold = |machine: &mut Machine, ticks: u32, switches: u16| {
        for _ in 0..ticks {
            machine.tick(settings, switches);
        }
        found.push((machine.outputs.view.phase, machine.clone(), switches));
    };
    let run = SEATED | SwitchBits::RUN;
    hold(&mut machine, 60, SEATED);
    hold(&mut machine, 8, SEATED | SwitchBits::ARM);
    hold(&mut machine, 40, SEATED);
    hold(&mut machine, 100, run);
    hold(&mut machine, 50, SEATED & !SwitchBits::STOP_CLEAR_A);
    hold(&mut machine, 50, SEATED);
    found
}

/// Leaves of a tree that can be flipped.
fn leaves<'a>(value: &'a mut Value, found: &mut Vec<&'a mut Value>) {
    match value {
        Value::Array(parts) => parts.iter_mut().for_each(|part| leaves(part, found)),
        Value::Object(parts) => parts.values_mut().for_each(|part| leaves(part, found)),
        Value::Null => {}
        leaf => found.push(leaf),
    }
}

/// The state with one bit flipped; `None` where the flip gives no value of the type.
fn flipped(state: &State, random: Stream) -> Option<State> {
    let mut tree = serde_json::to_value(state).unwrap();
    let mut found = Vec::new();
    leaves(&mut tree, &mut found);
    let count = found.len() as u64;
    let leaf = found.into_iter().nth((random.bits(0) % count) as usize)?;
    let bit = random.bits(1) % 32;
    match leaf {
        Value::Bool(flag) => *flag = !*flag,
        Value::Number(number) => {
            let flip = number.as_i64()? ^ (1 << bit);
            *leaf = flip.into();
        }
        Value::String(word) => {
            *word = PHASES[(random.bits(2) % 7) as usize].to_owned();
        }
        _ => return None,
    }
    serde_json::from_value(tree).ok()
}

/// What follows a flip: half a second with the hands as they were, then hands off for half a second.
/// A sentence if something moved that should not.
fn follow(
    settings: &Settings,
    mut machine: Machine,
    phase: Phase,
    hands: u16,
) -> Result<(), String> {
    for tick in 0..50 {
        let outputs = machine.tick(settings, hands);
        let open =
            outputs.valve > TEST_VALVE || (outputs.enable && outputs.view.phase != Phase::Testing);
        if phase != Phase::Laying && open {
            return Err(format!("moves after {tick} ticks from {phase:?}"));
        }
        if outputs.valve < 0 || (outputs.valve != 0 && !outputs.enable) {
            return Err(format!("valve {} enable {}", outputs.valve, outputs.enable));
        }
    }
    let hands = hands & !(SwitchBits::RUN | SwitchBits::ARM);
    for tick in 0..50 {
        let outputs = machine.tick(settings, hands);
        let open =
            outputs.valve > TEST_VALVE || (outputs.enable && outputs.view.phase != Phase::Testing);
        if open {
            return Err(format!("goes on {tick} ticks after letting go from {phase:?}"));
        }
    }
    Ok(())
}

/// Flips to try; STREWN_FLIPS sets another number.
fn flips() -> u64 {
    std::env::var("STREWN_FLIPS").ok().and_then(|text| text.parse().ok()).unwrap_or(6_000)
}

#[test]
fn no_single_bit_of_memory_moves_anything() {
    let settings = settings();
    let starts = starts(&settings);
    let phases: Vec<_> = starts.iter().map(|start| start.0).collect();
    for phase in [Phase::Resting, Phase::Testing, Phase::Armed, Phase::Laying, Phase::Latched] {
        assert!(phases.contains(&phase), "{phase:?} is not among {phases:?}");
    }
    let (mut tried, mut isolated) = (0, 0);
    for draw in 0..flips() {
        let random = Stream::root(9).numbered(draw);
        let (phase, machine, hands) = &starts[(random.bits(3) % starts.len() as u64) as usize];
        let Some(state) = flipped(&machine.state, random) else { continue };
        let mut machine = Machine { state, ..machine.clone() };
        let result = follow(&settings, machine.clone(), *phase, *hands);
        assert_eq!(result, Ok(()), "flip {draw}");
        tried += 1;
        let view = machine.tick(&settings, *hands).view;
        isolated += u64::from(view.cause == Some(Condition::MemoryBroken));
    }
    assert!(tried > flips() / 3, "{tried} flips gave a state");
    assert!(isolated > 0, "no flip met the copies");
    println!("{tried} flips, {isolated} met by the copies");
}
