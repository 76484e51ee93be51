//! The controller for programs in C, as a static library. `include/strewn.h` is drawn from this crate
//! and says who owns what; a test holds the two together.
//!
//! The only code beside the boards' own that touches memory by pointer: each function checks for null,
//! reads and writes within what its documentation asks for, and calls the same safe controller.
#![cfg_attr(target_os = "none", no_std)]

mod wires;

pub use wires::{
    STREWN_FRAMES, STREWN_SENTENCE_BYTES, STREWN_SENTENCES, StrewnFrame, StrewnInputs,
    StrewnOutputs, StrewnPulses, StrewnSentence,
};

use core::mem::{align_of, size_of};
use core::slice;
use strewn_controller::learned::{LEARNED_BYTES, Learned, settings_digest};
use strewn_controller::record;
use strewn_controller::settings::{Config, Settings};
use strewn_controller::step::{State, step};
use strewn_controller::wires::Outputs;

/// Eight bytes each of a controller's memory.
pub const STREWN_CONTROLLER_WORDS: usize = 512;

/// Bytes of what a controller has learned.
pub const STREWN_LEARNED_BYTES: usize = 84;

const _: () = assert!(STREWN_LEARNED_BYTES == LEARNED_BYTES);

/// A controller: its settings and everything it remembers. Its content is none of the caller's business.
#[repr(C)]
pub struct StrewnController {
    words: [u64; STREWN_CONTROLLER_WORDS],
}

/// What came of a call.
#[repr(C)]
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum StrewnStatus {
    /// It was done.
    Done = 0,
    /// A pointer that is needed is null.
    Null = 1,
    /// The memory holds no controller: strewn_start has not been called on it, or refused.
    NotStarted = 2,
    /// The bytes are no settings record of this version, or a setting is out of its range.
    Settings = 3,
    /// The bytes are no whole frame of a log.
    Frame = 4,
    /// The bytes are not what a controller of this version has learned under these settings, or damaged.
    Learned = 5,
    /// The memory for the bytes is too short.
    Room = 6,
}

/// Stands at the head of memory that holds a controller.
const MARK: u64 = 0x5354_5245_574E_0001;

/// In C's layout, so that the mark is the first word.
#[repr(C)]
struct Inner {
    mark: u64,
    settings: Settings,
    /// What is learned under other settings is told from ours by this.
    settings_digest: u32,
    state: State,
    outputs: Outputs,
}

const _: () = assert!(size_of::<Inner>() <= size_of::<StrewnController>());
const _: () = assert!(align_of::<Inner>() <= align_of::<StrewnController>());

/// The controller in the memory, if there is one.
///
/// # Safety
/// `controller` is null or points to a `StrewnController` whose bytes were set (to zero, or by
/// [`strewn_start`]) and that nobody else uses during the call.
unsafe fn inner<'a>(controller: *mut StrewnController) -> Result<&'a mut Inner, StrewnStatus> {
    if controller.is_null() {
        return Err(StrewnStatus::Null);
    }
    // SAFETY: the first word is set, as the caller promises.
    if unsafe { controller.cast::<u64>().read() } != MARK {
        return Err(StrewnStatus::NotStarted);
    }
    // SAFETY: only `strewn_start` writes the mark, after a whole `Inner`; size and alignment fit, as
    // asserted above; the caller promises that there is no other user.
    Ok(unsafe { &mut *controller.cast::<Inner>() })
}

/// Sets a controller as after power-on: at rest, nothing known, valve shut.
///
/// `settings` are `length` bytes: a settings record in postcard's encoding, as it stands at the head of
/// a log. What is refused leaves a controller that strewn_step refuses in turn.
///
/// # Safety
/// `controller` is null or points to memory for one that nobody else uses during the call; `settings` is
/// null or points to `length` readable bytes.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn strewn_start(
    controller: *mut StrewnController,
    settings: *const u8,
    length: usize,
) -> StrewnStatus {
    if controller.is_null() || settings.is_null() {
        return StrewnStatus::Null;
    }
    // SAFETY: not null, and the caller's memory for a controller, whose first word this is.
    unsafe { controller.cast::<u64>().write(0) };
    // SAFETY: not null, `length` readable bytes.
    let bytes = unsafe { slice::from_raw_parts(settings, length) };
    let Some((settings, settings_digest)) = read_settings(bytes) else {
        return StrewnStatus::Settings;
    };
    let (state, outputs) = (State::new(&settings), Outputs::default());
    let inner = Inner { mark: MARK, settings, settings_digest, state, outputs };
    // SAFETY: size and alignment fit, as asserted above; what was there needs no clean-up.
    unsafe { controller.cast::<Inner>().write(inner) };
    StrewnStatus::Done
}

/// The settings and their digest.
fn read_settings(bytes: &[u8]) -> Option<(Settings, u32)> {
    let config: Config = postcard::from_bytes(bytes).ok()?;
    Some((config.build().ok()?, settings_digest(&config)))
}

/// One tick: reads `inputs`, writes `outputs`. Any inputs give outputs; broken or missing wires stop the
/// machine. Whatever is wrong with the call itself, `outputs` (unless null) are the safe ones.
///
/// # Safety
/// Each pointer is null or points to one of its kind; the controller's bytes were set (to zero, or by
/// strewn_start); nobody else uses any of them during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn strewn_step(
    controller: *mut StrewnController,
    inputs: *const StrewnInputs,
    outputs: *mut StrewnOutputs,
) -> StrewnStatus {
    // SAFETY: null or one of its kind, as the caller promises.
    let Some(out) = (unsafe { outputs.as_mut() }) else { return StrewnStatus::Null };
    *out = StrewnOutputs::default();
    // SAFETY: null or one of its kind, as the caller promises.
    let Some(inputs) = (unsafe { inputs.as_ref() }) else { return StrewnStatus::Null };
    // SAFETY: the caller promises what `inner` asks for.
    let inner = match unsafe { inner(controller) } {
        Ok(inner) => inner,
        Err(status) => return status,
    };
    inner.outputs = step(&inner.settings, &mut inner.state, &inputs.to_wires());
    *out = StrewnOutputs::from(&inner.outputs);
    StrewnStatus::Done
}

/// Takes everything that the last strewn_step commanded into a running digest (0 before the first): two
/// runs with equal digests commanded the same, on whatever computer. Without a controller it stays.
///
/// # Safety
/// As for strewn_step.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn strewn_digest(controller: *mut StrewnController, previous: u32) -> u32 {
    // SAFETY: the caller promises what `inner` asks for.
    let inner = unsafe { inner(controller) };
    inner.map_or(previous, |inner| record::digest(previous, &inner.outputs))
}

/// Copies what the controller has learned of lots, of the bale in hand and of its valve to `bytes`, which
/// have room for `length`: STREWN_LEARNED_BYTES are written, or none. The copy is the caller's, to be kept
/// where it outlasts power-off, and holds its own checksum. It is whole between any two steps; after each
/// bale, and whenever a row has ended, is often enough.
///
/// # Safety
/// As for strewn_step; `bytes` is null or points to `length` writable bytes.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn strewn_learned(
    controller: *mut StrewnController,
    bytes: *mut u8,
    length: usize,
) -> StrewnStatus {
    // SAFETY: the caller promises what `inner` asks for.
    let inner = match unsafe { inner(controller) } {
        Ok(inner) => inner,
        Err(status) => return status,
    };
    if bytes.is_null() {
        return StrewnStatus::Null;
    }
    if length < LEARNED_BYTES {
        return StrewnStatus::Room;
    }
    let learned = inner.state.learned().to_bytes(inner.settings_digest);
    // SAFETY: not null, and at least so many writable bytes; any alignment will do for bytes.
    unsafe { bytes.cast::<[u8; LEARNED_BYTES]>().write(learned) };
    StrewnStatus::Done
}

/// Sets a controller as after power-on, as strewn_start has left it, but with what strewn_learned gave
/// before power was off: `length` bytes, which are read and not kept. To be called once, between
/// strewn_start and the first strewn_step; later it stops the machine, as any power-on does. What is
/// refused - damaged, of another version, learned under other settings - changes nothing: the controller
/// goes on without. Another rate or other limits of safety are no other settings.
///
/// # Safety
/// As for strewn_step; `bytes` is null or points to `length` readable bytes.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn strewn_start_learned(
    controller: *mut StrewnController,
    bytes: *const u8,
    length: usize,
) -> StrewnStatus {
    // SAFETY: the caller promises what `inner` asks for.
    let inner = match unsafe { inner(controller) } {
        Ok(inner) => inner,
        Err(status) => return status,
    };
    if bytes.is_null() {
        return StrewnStatus::Null;
    }
    // SAFETY: not null, `length` readable bytes.
    let bytes = unsafe { slice::from_raw_parts(bytes, length) };
    let Ok(learned) = Learned::from_bytes(bytes, inner.settings_digest) else {
        return StrewnStatus::Learned;
    };
    inner.state = State::with_learned(&inner.settings, &learned);
    inner.outputs = Outputs::default();
    StrewnStatus::Done
}

/// Reads the frame of a log at `bytes`. `inputs` hold those of the tick before (all bytes zero in the
/// first tick) and become those of this tick; `used` becomes the length of the frame, after which the
/// next one begins. What is no whole frame changes neither.
///
/// # Safety
/// `inputs` and `used` are null or point to one of their kind, `bytes` is null or points to `length`
/// readable bytes; nobody else uses any of them during the call.
#[unsafe(no_mangle)]
pub unsafe extern "C" fn strewn_read_frame(
    inputs: *mut StrewnInputs,
    bytes: *const u8,
    length: usize,
    used: *mut usize,
) -> StrewnStatus {
    // SAFETY: null or one of its kind, as the caller promises.
    let (Some(inputs), Some(used)) = (unsafe { (inputs.as_mut(), used.as_mut()) }) else {
        return StrewnStatus::Null;
    };
    if bytes.is_null() {
        return StrewnStatus::Null;
    }
    // SAFETY: not null, `length` readable bytes.
    let bytes = unsafe { slice::from_raw_parts(bytes, length) };
    let Ok((wires, _, frame)) = record::decode(&inputs.to_wires(), bytes) else {
        return StrewnStatus::Frame;
    };
    *inputs = StrewnInputs::from(&wires);
    *used = frame;
    StrewnStatus::Done
}

/// Nothing here can panic; should it do so all the same, the program stands still and whatever watches
/// over the processor resets it.
#[cfg(target_os = "none")]
#[panic_handler]
fn on_panic(_: &core::panic::PanicInfo<'_>) -> ! {
    loop {
        core::hint::spin_loop();
    }
}
