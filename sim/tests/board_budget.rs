//! What the core takes on the board, read off an image that holds nothing else. `tests/run board` builds
//! it and runs this.
//!
//! Stack: the compiler tells the frame of every function; calls are read out of the machine code (Arm,
//! ARMv7-M Architecture Reference Manual, DDI 0403E, A7.7.12 B, A7.7.18 BL, A7.7.19 BLX), and the
//! deepest chain below one step counts. A call by pointer may go to any function whose address stands in
//! the image's constants. A function that calls itself or one whose frame is not told fails: then there
//! is no bound.

mod budget;

use object::{Object, ObjectSection, ObjectSymbol, SymbolKind};
use std::collections::{BTreeMap, BTreeSet};

/// A function of the image.
struct Function {
    name: String,
    /// Own frame, bytes.
    frame: Option<u64>,
    calls: BTreeSet<u64>,
    /// Whether it calls by pointer.
    by_pointer: bool,
}

/// All functions by address.
struct Image {
    functions: BTreeMap<u64, Function>,
    /// Those whose address stands among the constants.
    pointed_at: BTreeSet<u64>,
}

/// The number that `bytes` begin with, seven bits a byte, and what follows.
fn leb128(bytes: &[u8]) -> (u64, &[u8]) {
    let end = bytes.iter().position(|byte| byte & 0x80 == 0).expect("an end") + 1;
    let bits = |sum, (place, byte): (usize, &u8)| sum | u64::from(byte & 0x7F) << (7 * place);
    (bytes[..end].iter().enumerate().fold(0, bits), &bytes[end..])
}

fn frames(file: &object::File<'_>) -> BTreeMap<u64, u64> {
    let mut frames = BTreeMap::new();
    for section in file.sections().filter(|section| section.name() == Ok(".stack_sizes")) {
        let mut bytes = section.data().expect("its bytes");
        while let Some((address, rest)) = bytes.split_first_chunk() {
            let (frame, rest) = leb128(rest);
            frames.insert(u64::from(u32::from_le_bytes(*address)) & !1, frame);
            bytes = rest;
        }
    }
    assert!(!frames.is_empty(), "the image was built without -Z emit-stack-sizes");
    frames
}

/// What the instruction at the start of `code` does: its length and, for a call or jump, its target.
enum Flow {
    On,
    To(u64),
    Pointer,
}

fn instruction(at: u64, code: &[u8]) -> (usize, Flow) {
    let half = |place: usize| u32::from(code[place]) | u32::from(code[place + 1]) << 8;
    let first = half(0);
    if first >> 11 < 0b11101 {
        // BLX by register; BX by register other than the return is a jump by pointer.
        let pointer = first & 0xFF80 == 0x4780 || (first & 0xFF80 == 0x4700 && first != 0x4770);
        return (2, if pointer { Flow::Pointer } else { Flow::On });
    }
    if code.len() < 4 {
        return (4, Flow::On);
    }
    let second = half(2);
    // BL and B.W: a sign, 10 bits, two bits folded with the sign, 11 bits, times 2.
    if first >> 11 != 0b11110 || !matches!(second & 0xD000, 0xD000 | 0x9000) {
        return (4, Flow::On);
    }
    let sign = first >> 10 & 1;
    let folded = |bit: u32| (second >> bit & 1) ^ sign ^ 1;
    let offset = sign << 24
        | folded(13) << 23
        | folded(11) << 22
        | (first & 0x3FF) << 12
        | (second & 0x7FF) << 1;
    let offset = i64::from((offset << 7).cast_signed() >> 7);
    (4, Flow::To(at.wrapping_add(4).wrapping_add_signed(offset)))
}

impl Image {
    fn read(bytes: &[u8]) -> Self {
        let file = object::File::parse(bytes).expect("an image");
        let frames = frames(&file);
        let symbols: Vec<_> = file.symbols().collect();
        // `$d` begins data among the code, `$t` code again.
        let mut marks: Vec<_> = symbols
            .iter()
            .filter_map(|symbol| Some((symbol.address(), symbol.name().ok()?)))
            .filter(|(_, name)| name.starts_with("$d") || name.starts_with("$t"))
            .map(|(at, name)| (at, name.starts_with("$t")))
            .collect();
        marks.sort_unstable();
        let is_code = |at: u64| {
            let next = marks.partition_point(|(mark, _)| *mark <= at);
            next.checked_sub(1).is_none_or(|last| marks[last].1)
        };
        let text = file.section_by_name(".text").expect("code");
        let code = text.data().expect("its bytes");
        let mut functions = BTreeMap::new();
        for symbol in symbols.iter().filter(|symbol| symbol.kind() == SymbolKind::Text) {
            let start = symbol.address() & !1;
            let name = symbol.name().unwrap_or_default().to_owned();
            let Some(offset) = start.checked_sub(text.address()) else { continue };
            let end = (offset + symbol.size()).min(text.size()) as usize;
            let mut function = Function {
                name,
                frame: frames.get(&start).copied(),
                calls: BTreeSet::new(),
                by_pointer: false,
            };
            let mut place = offset as usize;
            while place + 1 < end {
                let at = text.address() + place as u64;
                if !is_code(at) {
                    place += 2;
                    continue;
                }
                let (length, flow) = instruction(at, &code[place..end]);
                match flow {
                    Flow::On => {}
                    Flow::Pointer => function.by_pointer = true,
                    Flow::To(target) => {
                        function.calls.insert(target);
                    }
                }
                place += length;
            }
            if symbol.size() != 0 {
                functions.insert(start, function);
            }
        }
        let constants = file.section_by_name(".rodata").expect("constants");
        let words = constants.data().expect("their bytes").chunks_exact(4);
        let words =
            words.map(|word| word.iter().rev().fold(0, |sum, byte| sum << 8 | u64::from(*byte)));
        // The lowest bit of a pointer to code is set.
        let pointed_at = words.filter(|word| word & 1 == 1).map(|word| word - 1);
        let pointed_at = pointed_at.filter(|at| functions.contains_key(at)).collect();
        Self { functions, pointed_at }
    }

    /// Bytes of stack from the function down whose name holds this.
    fn below(&self, name: &str) -> u64 {
        let found = self.functions.iter().find(|(_, function)| function.name.contains(name));
        let (at, _) = found.unwrap_or_else(|| panic!("no function is called {name}"));
        self.deepest(*at, &mut Vec::new())
    }

    /// Bytes of stack from this function down. `above` are those that wait for it.
    fn deepest(&self, at: u64, above: &mut Vec<u64>) -> u64 {
        let function = &self.functions[&at];
        let name = &function.name;
        assert!(!above.contains(&at), "{name} calls itself");
        let frame = function.frame;
        let frame = frame.unwrap_or_else(|| panic!("the frame of {name} is not told"));
        above.push(at);
        let pointed_at = function.by_pointer.then_some(&self.pointed_at);
        assert!(pointed_at.is_none_or(|all| !all.is_empty()), "{name} calls nothing that is known");
        let calls = function.calls.iter().chain(pointed_at.into_iter().flatten());
        // A jump within a function is no call; nor is a target that begins no function.
        let calls = calls.filter(|target| **target != at && self.functions.contains_key(target));
        let below = calls.map(|target| self.deepest(*target, above)).max().unwrap_or(0);
        above.pop();
        frame + below
    }
}

/// Sections in flash, and in memory.
const FLASH: [&str; 4] = [".vector_table", ".text", ".rodata", ".data"];
const STATIC: [&str; 3] = [".data", ".bss", ".uninit"];
/// What an interrupt itself puts on the stack, bytes.
const INTERRUPT: u64 = 32;

/// The image that a variable of the environment names.
fn image(variable: &str) -> Vec<u8> {
    let path = std::env::var_os(variable).unwrap_or_else(|| panic!("no image in {variable}"));
    std::fs::read(path).expect("an image")
}

fn size(bytes: &[u8], names: &[&str]) -> u64 {
    let file = object::File::parse(bytes).expect("an image");
    let wanted = |name: Result<&str, _>| name.is_ok_and(|name| names.contains(&name));
    file.sections().filter(|section| wanted(section.name())).map(|section| section.size()).sum()
}

#[test]
#[ignore = "needs the image of the core: tests/run board"]
fn the_core_keeps_within_its_budget() {
    let bytes = image("STREWN_CORE_IMAGE");
    budget::hold("flash_bytes", size(&bytes, &FLASH));
    budget::hold("static_bytes", size(&bytes, &STATIC));
    budget::hold("stack_bytes", Image::read(&bytes).below("one_step"));
}

#[test]
#[ignore = "needs the image for the cab's board: tests/run board"]
fn the_program_fits_the_board_of_the_cab() {
    let bytes = image("STREWN_CAB_IMAGE");
    budget::hold("cab_flash_bytes", size(&bytes, &FLASH));
    let image = Image::read(&bytes);
    // Handlers all have one priority: at most one of them, or a fault, stands on the loop.
    let handlers = ["TIM2", "USART1", "USART2", "HardFault", "DefaultHandler"];
    let handler = handlers.iter().map(|name| image.below(name)).max();
    let stack = image.below("__cortex_m_rt_main") + handler.expect("a handler") + INTERRUPT;
    budget::hold("cab_memory_bytes", size(&bytes, &STATIC) + stack);
}

#[test]
fn calls_are_read_out_of_machine_code() {
    // Bytes as the architecture manual lays out the fields: BL forward by 0, BL back by 4, B.W, a move
    // wide, BLX and BX by register, the return.
    let to = |code: &[u8]| match instruction(0x100, code) {
        (_, Flow::On) => None,
        (_, Flow::To(target)) => Some(target),
        (_, Flow::Pointer) => Some(0),
    };
    assert_eq!(to(&[0x00, 0xF0, 0x00, 0xF8]), Some(0x104));
    assert_eq!(to(&[0xFF, 0xF7, 0xFE, 0xFF]), Some(0x100));
    assert_eq!(to(&[0x00, 0xF0, 0x02, 0xB8]), Some(0x108));
    assert_eq!(to(&[0x40, 0xF2, 0x00, 0x00]), None);
    assert_eq!(to(&[0x98, 0x47]), Some(0));
    assert_eq!(to(&[0x18, 0x47]), Some(0));
    assert_eq!(to(&[0x70, 0x47]), None);
    assert_eq!(leb128(&[0xE5, 0x8E, 0x26, 9]), (624_485, &[9][..]));
}
