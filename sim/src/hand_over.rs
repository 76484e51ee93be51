//! Settings into a board that keeps them, over its serial line: the laptop's side. The board's, and what
//! the two say to each other, stands in [`strewn_link::keep`].

use crate::bench::SECTIONS;
use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, BufRead, BufReader, ErrorKind, Read, Write};
use std::path::Path;
use std::time::Duration;
use strewn_controller::settings::Config;
use strewn_link::frame::{self, LONGEST_FRAME, Receiver};
use strewn_link::keep::{VERSION, sound};
use strewn_link::message::{Answer, Kept, Order};

/// The speed of the line, bits a second.
const BAUD: u32 = 115_200;
/// How long a read of the line waits.
const SILENCE: Duration = Duration::from_millis(200);
/// Silences through which a board is asked: 5 s, in which one that starts anew has come up.
const ASKED: usize = 25;
/// Silences in which a board that keeps settings may be busy with its flash: 10 s.
const KEEPING: usize = 50;
/// Bytes without a whole answer after which a line is noise.
const NOISE: usize = 4 * LONGEST_FRAME;

/// Why settings were not handed over.
#[derive(Debug, thiserror::Error)]
pub enum HandOverError {
    /// Nothing came back.
    #[error("the board does not answer; is it on, and is this its port?")]
    Silent,
    /// Something came back, but never an answer that was whole.
    #[error(
        "what comes back is damaged; look after cable, plugs and ground, and whether this is the board's port"
    )]
    Damaged,
    /// The board speaks otherwise.
    #[error(
        "the board's program is of another version of strewn; use the command of the same version"
    )]
    OtherProgram,
    /// The board has other settings.
    #[error(
        "the board's settings are of version {0}, this command's of version {VERSION}; use the command of the same version"
    )]
    OtherSettings(u32),
    /// The machine is not at rest.
    #[error(
        "the machine is not at rest, or stopped by a fault; let it rest, or switch it off and on, and hand over again"
    )]
    Busy,
    /// The board finds the settings unfit.
    #[error("the board refuses these settings and keeps those that it had")]
    Refused,
    /// It is not known what came of it.
    #[error(
        "the line broke off before the board said what it keeps: the old settings or the new ones, but whole; hand over again"
    )]
    Lost,
    /// What was read back is not what was sent.
    #[error("what the board keeps is not what was sent; hand over again")]
    Differs,
    /// The line itself.
    #[error("the line failed: {0}")]
    Line(#[from] io::Error),
}

/// Opens a serial port as a board's line.
///
/// # Errors
/// Those of the system.
pub fn open(port: &Path) -> io::Result<serial2::SerialPort> {
    let mut line = serial2::SerialPort::open(port, BAUD)?;
    line.set_read_timeout(SILENCE)?;
    Ok(line)
}

/// Names of the serial ports that the system tells of.
#[must_use]
pub fn ports() -> Vec<String> {
    let ports = serial2::SerialPort::available_ports().unwrap_or_default();
    ports.iter().map(|port| port.display().to_string()).collect()
}

/// A board at the end of a line. A read of the line that waited in vain is [`ErrorKind::TimedOut`].
pub struct Board<L> {
    line: BufReader<L>,
    receiver: Receiver,
    /// Bytes that came, whatever they were.
    bytes: usize,
}

impl<L: Read + Write> Board<L> {
    /// At this line.
    pub fn new(line: L) -> Self {
        Self { line: BufReader::new(line), receiver: Receiver::new(), bytes: 0 }
    }

    /// The settings that the board keeps, if it keeps any. A board whose machine rests starts anew for it.
    ///
    /// # Errors
    /// A board that does not answer, or not now, or as one of another version.
    pub fn ask(&mut self) -> Result<Option<Config>, HandOverError> {
        for _ in 0..ASKED {
            self.say(&Order::Ask)?;
            match self.answer(1)? {
                Some(Answer::Holds(Kept { version: VERSION, bytes })) => return Ok(sound(&bytes)),
                Some(Answer::Holds(Kept { version, .. })) => {
                    return Err(HandOverError::OtherSettings(version));
                }
                Some(Answer::Busy) => return Err(HandOverError::Busy),
                Some(_) => return Err(HandOverError::OtherProgram),
                None => {}
            }
        }
        Err(if self.bytes == 0 { HandOverError::Silent } else { HandOverError::Damaged })
    }

    /// Has the board keep settings, and compares what it keeps then byte for byte.
    ///
    /// # Errors
    /// As [`Self::ask`]; [`HandOverError::Lost`] if no answer comes.
    pub fn keep(&mut self, config: &Config) -> Result<(), HandOverError> {
        let bytes = postcard::to_stdvec(config).map_err(|_| HandOverError::Refused)?;
        let order = Order::Keep { version: VERSION, bytes: &bytes };
        self.say(&order).map_err(|_| HandOverError::Lost)?;
        loop {
            match self.answer(KEEPING).map_err(|_| HandOverError::Lost)? {
                // To a question that was asked twice.
                Some(Answer::Holds(_)) => {}
                Some(Answer::Kept(kept)) if *kept.bytes == *bytes => return Ok(()),
                Some(Answer::Kept(_)) => return Err(HandOverError::Differs),
                Some(Answer::Busy) => return Err(HandOverError::Busy),
                Some(_) => return Err(HandOverError::Refused),
                None => return Err(HandOverError::Lost),
            }
        }
    }

    /// Sends an order; a zero first, which ends whatever noise has begun.
    fn say(&mut self, order: &Order<'_>) -> Result<(), HandOverError> {
        let mut bytes = [0; LONGEST_FRAME + 1];
        let length = frame::encode(order, &mut bytes[1..]).ok_or(HandOverError::Refused)?;
        let line = self.line.get_mut();
        line.write_all(&bytes[..=length]).and_then(|()| line.flush())?;
        Ok(())
    }

    /// The next whole answer; `None` after so many silences, or as much noise.
    fn answer(&mut self, mut silences: usize) -> Result<Option<Answer>, HandOverError> {
        let most = self.bytes + NOISE;
        while silences > 0 && self.bytes < most {
            let byte = match self.line.fill_buf() {
                Ok([byte, ..]) => *byte,
                Ok([]) => return Err(io::Error::from(ErrorKind::UnexpectedEof).into()),
                Err(error) if error.kind() == ErrorKind::TimedOut => {
                    silences -= 1;
                    continue;
                }
                Err(error) if error.kind() == ErrorKind::Interrupted => continue,
                Err(error) => return Err(error.into()),
            };
            self.line.consume(1);
            self.bytes += 1;
            if let Some(plain) = self.receiver.push(byte).and_then(frame::whole) {
                let answer = postcard::from_bytes(plain);
                return answer.map(Some).map_err(|_| HandOverError::OtherProgram);
            }
        }
        Ok(None)
    }
}

/// What becomes of each setting that is not as before, in words and in order of their names.
#[must_use]
pub fn changes(before: Option<&Config>, after: &Config) -> Vec<String> {
    let (old, new) = (before.map(values).unwrap_or_default(), values(after));
    let names: BTreeSet<_> = old.keys().chain(new.keys()).collect();
    let told = names.into_iter().filter(|name| old.get(*name) != new.get(*name)).map(|name| {
        let change = match (old.get(name), new.get(name)) {
            (Some(old), Some(new)) => format!("from {old} to {new}"),
            (None, Some(new)) => format!("is {new}"),
            (_, None) => "is no more".to_owned(),
        };
        format!("{name} {change}{}", words(name))
    });
    told.collect()
}

/// What a setting means, if it is one of those that have words.
fn words(name: &str) -> String {
    let (table, name) = name.rsplit_once(' ').unwrap_or_default();
    let section = SECTIONS.iter().find(|section| section.name.replace('.', " ") == table);
    let known = section.map_or(&[][..], |section| section.fields);
    let field = known.iter().find(|field| field.name == name);
    field.map_or_else(String::new, |field| format!(" - {}", field.words.trim()))
}

/// Every setting by its name.
fn values(config: &Config) -> BTreeMap<String, String> {
    let mut values = BTreeMap::new();
    if let Ok(table) = toml::Table::try_from(config) {
        flatten("", &table.into(), &mut values);
    }
    values
}

/// Every value below another by its path.
fn flatten(path: &str, value: &toml::Value, values: &mut BTreeMap<String, String>) {
    let below =
        |name: &str| if path.is_empty() { name.to_owned() } else { format!("{path} {name}") };
    match value {
        toml::Value::Table(table) => {
            for (name, value) in table {
                flatten(&below(name), value, values);
            }
        }
        toml::Value::Array(array) if array.iter().any(toml::Value::is_table) => {
            for (number, value) in (1..).zip(array) {
                flatten(&below(&number.to_string()), value, values);
            }
        }
        value => {
            values.insert(path.to_owned(), value.to_string());
        }
    }
}
