//! Sentences of a satellite receiver: what they say, and when they came.

use super::{Lines, Moment, Problem, Recording, RecordingError, in_m_s};
use strewn_controller::signals::nmea::speed_over_ground;
use strewn_controller::wires::Sentence;

const DAY_S: f64 = 86_400.0;

pub(super) fn read(lines: Lines<'_>) -> Result<Recording, RecordingError> {
    let mut recording = Recording::default();
    let mut clock = Clock::default();
    for (line, sentence) in lines {
        let fields: Vec<_> = checked_body(line, sentence)?.split(',').collect();
        let time_s = match fields[0].get(2..) {
            Some("RMC") => clock.on_rmc(line, fields.get(1).copied().unwrap_or_default())?,
            Some("VTG") => clock.on_untimed(),
            _ => continue,
        };
        let raw = Sentence::from_slice(sentence.as_bytes())
            .map_err(|_| RecordingError::at(line, Problem::NotNmea))?;
        if let Some(speed_m_s) = speed_m_s(line, &raw)? {
            recording.add(line, Moment { time_s, speed_m_s, engine_turns_s: None })?;
        }
        recording.sentences.push((time_s, raw));
    }
    Ok(recording)
}

/// The text between `$` and `*` of a sentence of any kind and length, its checksum proved.
fn checked_body(line: usize, sentence: &str) -> Result<&str, RecordingError> {
    let not_nmea = || RecordingError::at(line, Problem::NotNmea);
    let text = sentence.strip_prefix('$').ok_or_else(not_nmea)?;
    let (body, given) = text.rsplit_once('*').ok_or_else(not_nmea)?;
    let printable = body.bytes().all(|byte| (b' '..=b'~').contains(&byte));
    let digits = given.len() == 2 && given.bytes().all(|byte| byte.is_ascii_hexdigit());
    if body.is_empty() || !printable || !digits {
        return Err(not_nmea());
    }
    let computed = format!("{:02X}", body.bytes().fold(0, |sum, byte| sum ^ byte));
    if given.eq_ignore_ascii_case(&computed) {
        return Ok(body);
    }
    Err(RecordingError::at(line, Problem::Checksum { given: given.to_owned(), computed }))
}

/// The speed as the controller reads it; `None` if the sentence says that there is none.
fn speed_m_s(line: usize, sentence: &Sentence) -> Result<Option<f64>, RecordingError> {
    match speed_over_ground(sentence) {
        Ok(speed) => Ok(speed.map(in_m_s)),
        Err(_) => {
            let text = String::from_utf8_lossy(sentence);
            let what = "the speed in this sentence".to_owned();
            Err(RecordingError::text(line, what, &text, "a number in knots or km/h"))
        }
    }
}

/// Times of arrival, s since the first.
#[derive(Default)]
struct Clock {
    /// Time of day of the first and the last RMC, and midnights passed.
    timed: Option<(f64, f64)>,
    midnights: f64,
    /// Sentences before the first time: a second each.
    untimed: f64,
}

impl Clock {
    fn on_rmc(&mut self, line: usize, field: &str) -> Result<f64, RecordingError> {
        if field.is_empty() {
            return Ok(self.on_untimed());
        }
        let now_s = time_of_day_s(field).ok_or_else(|| {
            let what = "the time in this sentence".to_owned();
            RecordingError::text(line, what, field, "hours, minutes, seconds such as 134502.00")
        })?;
        let (first_s, last_s) = self.timed.unwrap_or((now_s, now_s));
        if last_s - now_s > DAY_S / 2.0 {
            self.midnights += 1.0;
        } else if now_s < last_s {
            return Err(RecordingError::backwards(line, last_s, now_s));
        }
        self.timed = Some((first_s, now_s));
        Ok(self.elapsed_s(first_s, now_s))
    }

    /// A sentence without a time of its own.
    fn on_untimed(&mut self) -> f64 {
        if let Some((first_s, last_s)) = self.timed {
            return self.elapsed_s(first_s, last_s);
        }
        let time_s = self.untimed;
        self.untimed += 1.0;
        time_s
    }

    /// In whole milliseconds, so that the sum of decimal seconds shows no rounding.
    fn elapsed_s(&self, first_s: f64, now_s: f64) -> f64 {
        ((self.untimed + now_s - first_s + self.midnights * DAY_S) * 1_000.0).round() / 1_000.0
    }
}

/// `hhmmss` or `hhmmss.ss` in s since midnight.
fn time_of_day_s(field: &str) -> Option<f64> {
    let (whole, fraction) = field.split_once('.').unwrap_or((field, ""));
    let digits = |text: &str| text.bytes().all(|byte| byte.is_ascii_digit());
    if whole.len() != 6 || fraction.len() > 6 || !digits(whole) || !digits(fraction) {
        return None;
    }
    let part = |range: std::ops::Range<usize>| whole[range].parse::<f64>().ok();
    let (hours, minutes) = (part(0..2)?, part(2..4)?);
    let seconds: f64 = field[4..].parse().ok()?;
    let real = hours < 24.0 && minutes < 60.0 && seconds < 61.0;
    real.then_some(hours * 3_600.0 + minutes * 60.0 + seconds)
}
