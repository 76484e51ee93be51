//! Single bit flips anywhere in the controller's memory, at any moment: never motion that the hands
//! did not ask for, never deaf to them afterwards.
//!
//! The state is saved as a tree of values; a flip changes one bit of one number, one flag, turns one
//! choice into another, or makes something of nothing and nothing of something. The judge is that of the
//! sequences of ticks; it has watched the sound machine until then.

#[path = "../../controller/tests/safety/sequence/judge.rs"]
#[allow(dead_code, reason = "the sequences of ticks use the rest")]
mod judge;

use judge::Judge;
use serde_json::Value;
use strewn::random::Stream;
use strewn_controller::safety::{Condition, Phase, TABLE};
use strewn_controller::settings::{
    Config, Core, SafetyConfig, Settings, SignalConfig, TicketConfig,
};
use strewn_controller::signals::Quality;
use strewn_controller::step::{State, step};
use strewn_controller::units::Instant;
use strewn_controller::wires::*;

const SEATED: u16 = SwitchBits::PRESENT | SwitchBits::STOP_CLEAR_A | SwitchBits::STOP_CLEAR_B;
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
    judge: Judge,
}

impl Machine {
    fn tick(&mut self, settings: &Settings, switches: u16) -> Result<Outputs, String> {
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
        self.judge.tick(inputs, &self.outputs).map(|()| self.outputs)
    }
}

/// A machine in each kind of phase, and what the hands hold there.
fn starts(settings: &Settings) -> Vec<(Phase, Machine, u16)> {
    let mut machine = Machine {
        state: State::new(settings),
        inputs: Inputs::default(),
        outputs: Outputs::default(),
        tick: 0,
        judge: Judge::new(&settings.safety),
    };
    let mut found = Vec::new();
    let mut hold = |machine: &mut Machine, ticks: u32, switches: u16| {
        for _ in 0..ticks {
            machine.tick(settings, switches).expect("sound");
        }
        found.push((machine.outputs.view.phase, machine.clone(), switches));
    };
    let run = SEATED | SwitchBits::RUN;
    hold(&mut machine, 60, SEATED);
    hold(&mut machine, 15, SEATED | SwitchBits::ARM);
    hold(&mut machine, 40, SEATED);
    hold(&mut machine, 100, run);
    hold(&mut machine, 50, SEATED & !SwitchBits::STOP_CLEAR_A);
    hold(&mut machine, 50, SEATED);
    found
}

/// Leaves of a tree.
fn leaves<'a>(value: &'a mut Value, found: &mut Vec<&'a mut Value>) {
    match value {
        Value::Array(parts) => parts.iter_mut().for_each(|part| leaves(part, found)),
        Value::Object(parts) => parts.values_mut().for_each(|part| leaves(part, found)),
        leaf => found.push(leaf),
    }
}

/// The names of all choices that stand in the state.
fn choices() -> Vec<Vec<String>> {
    let words = |words: &[&str]| words.iter().map(|word| (*word).to_owned()).collect();
    let qualities = [Quality::Good, Quality::Stale, Quality::Invalid, Quality::Absent];
    vec![
        words(&["Resting", "Testing", "Armed", "Laying", "Paused", "Latched", "Isolated"]),
        TABLE.iter().map(|row| format!("{:?}", row.condition)).collect(),
        qualities.iter().map(|quality| format!("{quality:?}")).collect(),
        words(&["Stop", "Contradiction", "Clear"]),
    ]
}

/// What a flip makes of a leaf; the first that gives a state is taken.
fn flips_of(leaf: &Value, choices: &[Vec<String>], random: Stream) -> Vec<Value> {
    let bit = random.bits(1) % 32;
    let pick = |words: &Vec<String>| -> Value {
        words[(random.bits(2) % words.len() as u64) as usize].clone().into()
    };
    match leaf {
        _ if random.bits(4).is_multiple_of(16) && !leaf.is_null() => vec![Value::Null],
        Value::Bool(flag) => vec![(!flag).into()],
        Value::Number(number) => {
            number.as_i64().map(|n| (n ^ (1 << bit)).into()).into_iter().collect()
        }
        Value::String(word) => {
            choices.iter().filter(|words| words.contains(word)).map(pick).collect()
        }
        // Something of nothing: a number of any size, or any choice.
        Value::Null => {
            let number: Value = (random.bits(5) & ((1 << (1 + bit)) - 1)).into();
            std::iter::once(number).chain(choices.iter().map(pick)).collect()
        }
        _ => Vec::new(),
    }
}

/// The state of a tree with one leaf flipped; `None` where the flip gives no value of the type.
fn flipped(tree: &Value, choices: &[Vec<String>], random: Stream) -> Option<State> {
    let mut tree = tree.clone();
    let mut found = Vec::new();
    leaves(&mut tree, &mut found);
    let count = found.len() as u64;
    let place = (random.bits(0) % count) as usize;
    let flips = flips_of(found.get(place)?, choices, random);
    flips.into_iter().find_map(|flip| {
        let mut found = Vec::new();
        leaves(&mut tree, &mut found);
        **found.get_mut(place)? = flip;
        serde_json::from_value(tree.clone()).ok()
    })
}

/// What follows a flip: half a second with the hands as they were, half a second in which they end it, and
/// then the second act alone. A sentence if something moved that should not.
fn follow(
    settings: &Settings,
    machine: &mut Machine,
    hands: u16,
    ending: u64,
) -> Result<(), String> {
    const STOPS: u16 = SwitchBits::STOP_CLEAR_A | SwitchBits::STOP_CLEAR_B;
    for _ in 0..50 {
        machine.tick(settings, hands)?;
    }
    let open = [SwitchBits::RUN, STOPS, SwitchBits::STOP_CLEAR_B, SwitchBits::PRESENT];
    let ended = hands & !(SwitchBits::ARM | open[(ending & 3) as usize]);
    for _ in 0..50 {
        machine.tick(settings, ended)?;
    }
    for _ in 0..20 {
        machine.tick(settings, SEATED)?;
    }
    for _ in 0..20 {
        machine.tick(settings, SEATED | SwitchBits::RUN)?;
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
    let trees: Vec<Value> =
        starts.iter().map(|start| serde_json::to_value(start.1.state).unwrap()).collect();
    let choices = choices();
    let (mut tried, mut met) = (0, 0);
    let mut unsafe_ones = Vec::new();
    for draw in 0..flips() {
        let random = Stream::root(9).numbered(draw);
        let start = (random.bits(3) % starts.len() as u64) as usize;
        let (phase, machine, hands) = &starts[start];
        let Some(state) = flipped(&trees[start], &choices, random) else { continue };
        tried += 1;
        let mut machine = Machine { state, ..machine.clone() };
        if let Err(told) = follow(&settings, &mut machine, *hands, random.bits(6)) {
            unsafe_ones.push(format!("flip {draw} in {phase:?}: {told}"));
        }
        met += u64::from(machine.outputs.view.cause == Some(Condition::MemoryBroken));
    }
    assert!(unsafe_ones.is_empty(), "{} unsafe: {unsafe_ones:#?}", unsafe_ones.len());
    assert!(tried > flips() / 2, "{tried} flips gave a state");
    assert!(met > 0, "no flip met the copies");
    println!("{tried} flips of {}, 0 unsafe, {met} met by the copies", flips());
}
