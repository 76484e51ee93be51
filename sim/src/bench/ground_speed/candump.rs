//! A log of the tractor's bus in the form of `candump -l`:
//! `(1436509052.249713) can0 0CFE4845#9426881300000314`.

use super::{Lines, Moment, Problem, Recording, RecordingError, in_m_s};
use strewn_controller::signals::isobus::Message;
use strewn_controller::wires::Frame;

pub(super) fn read(lines: Lines<'_>) -> Result<Recording, RecordingError> {
    let mut frames = Vec::new();
    let mut clock = None;
    for (line, text) in lines {
        let (now_s, frame) =
            parse(text).ok_or_else(|| RecordingError::at(line, Problem::NotCandump))?;
        let (first_s, last_s) = clock.unwrap_or((now_s, now_s));
        if now_s < last_s {
            return Err(RecordingError::backwards(line, last_s, now_s));
        }
        clock = Some((first_s, now_s));
        // An implement's filter lets the speeds and the stop button through, nothing else.
        if let Some((frame, message)) =
            frame.and_then(|frame| Some((frame, Message::decode(&frame)?)))
        {
            frames.push((line, microseconds(now_s - first_s), frame, message));
        }
    }
    let mut recording = Recording::default();
    let best = frames.iter().filter_map(|(.., message)| speed(message)).map(|(rank, _)| rank).min();
    for (line, time_s, frame, message) in frames {
        if let Some((_, speed_m_s)) = speed(&message).filter(|(rank, _)| Some(*rank) == best) {
            recording.add(line, Moment { time_s, speed_m_s, engine_turns_s: None })?;
        }
        recording.frames.push((time_s, frame));
    }
    Ok(recording)
}

/// Rounded to the resolution of the log.
fn microseconds(time_s: f64) -> f64 {
    (time_s * 1e6).round() / 1e6
}

/// Rank of a message as a source of the motion, the lowest best, and its speed if it has one.
fn speed(message: &Message) -> Option<(u8, f64)> {
    let (rank, motion) = match message {
        Message::Ground { motion } => (0, motion),
        Message::Selected { motion, .. } => (1, motion),
        Message::Wheel { motion, .. } => (2, motion),
        Message::Stop { .. } => return None,
    };
    motion.speed().map(|speed| (rank, in_m_s(speed.magnitude())))
}

/// Time and frame of a line; no frame for one that an implement never takes: an 11-bit identifier,
/// other than eight bytes, a remote request, a frame of the newer long kind. `None` if the line has
/// another form.
fn parse(text: &str) -> Option<(f64, Option<Frame>)> {
    let (time, rest) = text.strip_prefix('(')?.split_once(')')?;
    let time_s = time.parse().ok().filter(|time_s: &f64| (0.0..1e11).contains(time_s))?;
    let mut words = rest.split_ascii_whitespace();
    let (_bus, frame) = (words.next()?, words.next()?);
    if !matches!(words.next(), None | Some("R" | "T")) {
        return None;
    }
    let (id, data) = frame.split_once('#')?;
    let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_hexdigit());
    if !matches!(id.len(), 3 | 8) || !digits(id) {
        return None;
    }
    if data.starts_with(['#', 'R']) {
        return Some((time_s, None));
    }
    if data.len() > 16 || data.len() % 2 != 0 || !digits(data) {
        return None;
    }
    let id_bits = u32::from_str_radix(id, 16).ok()?;
    let whole = id.len() == 8 && data.len() == 16 && id_bits >> 29 == 0;
    let bytes = u64::from_str_radix(data, 16).unwrap_or_default().to_be_bytes();
    Some((time_s, whole.then_some(Frame { id: id_bits, data: bytes })))
}

/// Whether a line has the form that `candump` shows on a terminal:
/// `can0  0CFE4845   [8]  94 26 88 13 00 00 03 14`.
pub(super) fn is_without_time(text: &str) -> bool {
    let words: Vec<_> = text.split_ascii_whitespace().take(3).collect();
    match words[..] {
        [_, id, length] => {
            matches!(id.len(), 3 | 8)
                && id.bytes().all(|byte| byte.is_ascii_hexdigit())
                && length.starts_with('[')
                && length.ends_with(']')
        }
        _ => false,
    }
}
