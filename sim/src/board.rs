//! The emulated board beside the library: the same ticks through both, compared bit for bit.
//!
//! The board is a program of its own ([QEMU](https://www.qemu.org), machine mps2-an386) that runs the
//! image of `controller/firmware/emulated`; orders and answers go over its serial port.

mod recorded;

pub use recorded::recorded;

use crate::bench::log::{Log, LogError};
use crate::bench::{ReplayError, configuration};
use std::ffi::OsString;
use std::io::{self, BufReader, Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::sync::mpsc::{self, Receiver};
use std::thread;
use std::time::Duration;
use strewn_controller::record::{decode, digest};
use strewn_controller::settings::SettingError;
use strewn_controller::step::{State, step};
use strewn_controller::wires::Inputs;
use strewn_link::frame::{self, LONGEST_FRAME};
use strewn_link::fuzz::config;
use strewn_link::message::{Answer, Greeting, Order};
use strewn_link::run::{self, Tally, Uncounted};

/// The emulator.
const EMULATOR: &str = "qemu-system-arm";
/// Where an image is looked for if none is named: this variable, then where cargo puts it.
const IMAGE_VARIABLE: &str = "STREWN_BOARD_IMAGE";
const IMAGE: &str =
    "controller/firmware/emulated/target/thumbv7em-none-eabi/release/strewn-emulated";
/// A board that says nothing for so long has hung.
const PATIENCE: Duration = Duration::from_secs(600);

/// Why nothing came of it.
#[derive(Debug, thiserror::Error)]
pub enum BoardError {
    /// No image.
    #[error(
        "there is no image of the emulated board at {0}; `tests/run board` builds one and says where"
    )]
    NoImage(PathBuf),
    /// No emulator, or it does not start.
    #[error(
        "the emulator {EMULATOR} cannot be started: {0}; Debian has it in the package qemu-system-arm"
    )]
    Emulator(io::Error),
    /// The board has stopped talking.
    #[error("the emulated board does not answer; is this the image of strewn's emulated board?")]
    Silent,
    /// The board does not do what it was told.
    #[error("the emulated board refuses an order; its image is of another version of strewn")]
    Refused,
    /// The settings are not allowed.
    #[error(transparent)]
    Setting(#[from] SettingError),
    /// The log cannot be read.
    #[error(transparent)]
    Log(#[from] LogError),
    /// Its configuration or a tick of it cannot be read.
    #[error(transparent)]
    Replay(#[from] ReplayError),
    /// The board and the library do not do the same.
    #[error("board and library differ in tick {0}")]
    Differs(usize),
    /// Ticks cannot be laid into the board's store.
    #[error("recorded ticks cannot be laid into the emulated board's store: {0}")]
    Store(io::Error),
    /// The same for many recorded ticks of which only a digest is known.
    #[error("board and library differ within {0} recorded ticks")]
    RecordDiffers(u32),
    /// The same for many steps of which only a digest is known.
    #[error("board and library differ within {steps} steps of seed {seed}")]
    FuzzDiffers {
        /// Which stories.
        seed: u32,
        /// How many steps.
        steps: u32,
    },
}

/// The image that was named, or the one that is found.
///
/// # Errors
/// [`BoardError::NoImage`].
pub fn image(named: Option<&Path>) -> Result<PathBuf, BoardError> {
    let found = named.map(Path::to_owned);
    let found = found.or_else(|| std::env::var_os(IMAGE_VARIABLE).map(PathBuf::from));
    let path = found.unwrap_or_else(|| PathBuf::from(IMAGE));
    if path.is_file() { Ok(path) } else { Err(BoardError::NoImage(path)) }
}

/// A running board.
#[derive(Debug)]
pub struct Board {
    emulator: Child,
    orders: ChildStdin,
    answers: Receiver<Answer>,
}

impl Board {
    /// Starts the emulator on an image and waits for the board's greeting. 64 ns of the board's time
    /// pass with each instruction, and none while it waits.
    ///
    /// # Errors
    /// No emulator, or no greeting.
    pub fn start(image: &Path) -> Result<(Self, Greeting), BoardError> {
        Self::start_logging(image, Path::new("/dev/null"))
    }

    /// As [`Self::start`]; what the board logs, in defmt's encoding, goes into the file `log`, whose
    /// path holds no comma.
    ///
    /// # Errors
    /// As [`Self::start`]; a file that cannot be written is an emulator that gives no greeting.
    pub fn start_logging(image: &Path, log: &Path) -> Result<(Self, Greeting), BoardError> {
        Self::start_with(image, log, &[])
    }

    /// As [`Self::start_logging`], with further words for the emulator.
    fn start_with(
        image: &Path,
        log: &Path,
        words: &[OsString],
    ) -> Result<(Self, Greeting), BoardError> {
        let mut file = OsString::from("file:");
        file.push(log);
        let mut emulator = Command::new(EMULATOR)
            .args(["-M", "mps2-an386", "-display", "none", "-monitor", "none"])
            .args(["-icount", "shift=6,sleep=off", "-serial", "stdio", "-serial"])
            .arg(file)
            .args(words)
            .arg("-kernel")
            .arg(image)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .map_err(BoardError::Emulator)?;
        let pipes = emulator.stdin.take().zip(emulator.stdout.take());
        let (orders, line) = pipes.ok_or(BoardError::Silent)?;
        let (sender, answers) = mpsc::channel();
        thread::spawn(move || listen(line, &sender));
        let board = Self { emulator, orders, answers };
        match board.answer()? {
            Answer::Greeting(greeting) => Ok((board, greeting)),
            _ => Err(BoardError::Refused),
        }
    }

    /// Gives an order and waits for the answer.
    ///
    /// # Errors
    /// [`BoardError::Silent`] if none comes.
    pub fn order(&mut self, order: &Order<'_>) -> Result<Answer, BoardError> {
        self.tell(order)?;
        self.answer()
    }

    /// Gives an order to a board that is talking anyway.
    ///
    /// # Errors
    /// [`BoardError::Silent`] if it has gone.
    pub fn tell(&mut self, order: &Order<'_>) -> Result<(), BoardError> {
        let mut bytes = [0; LONGEST_FRAME];
        let length = frame::encode(order, &mut bytes).ok_or(BoardError::Refused)?;
        let sent = self.orders.write_all(&bytes[..length]).and_then(|()| self.orders.flush());
        sent.map_err(|_| BoardError::Silent)
    }

    /// Waits for the next answer.
    ///
    /// # Errors
    /// [`BoardError::Silent`] if none comes.
    pub fn answer(&self) -> Result<Answer, BoardError> {
        self.answers.recv_timeout(PATIENCE).map_err(|_| BoardError::Silent)
    }
}

impl Drop for Board {
    fn drop(&mut self) {
        // Whatever state it is in, it is not needed any more.
        let _ = self.emulator.kill();
        let _ = self.emulator.wait();
    }
}

/// Takes answers off the line until it ends. What is no answer is left out; whoever waits for it tells.
fn listen(line: ChildStdout, answers: &mpsc::Sender<Answer>) {
    let mut receiver = frame::Receiver::new();
    for byte in BufReader::new(line).bytes().map_while(Result::ok) {
        let answer = receiver.push(byte).and_then(frame::decode::<Answer>);
        if answer.is_some_and(|answer| answers.send(answer).is_err()) {
            return;
        }
    }
}

/// What board and library found alike.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Alike {
    /// Ticks made by both.
    pub ticks: usize,
    /// Instructions of the board's dearest tick and of the one in the middle.
    pub worst: u32,
    /// See [`Self::worst`].
    pub median: u32,
}

/// Lets the board make every tick of a log in lockstep with the library. Outputs and the digest of the
/// whole state are compared in every tick. `progress` is told the share done.
///
/// # Errors
/// The first tick (counted from 1) that differs; a log that is not whole; a board that fails.
pub fn lockstep(
    board: &mut Board,
    log: &[u8],
    progress: &mut dyn FnMut(f64),
) -> Result<Alike, BoardError> {
    let config = configuration(log)?;
    let log = Log::read(log)?;
    let settings = config.build()?;
    let mut state = State::new(&settings);
    match board.order(&Order::Set(config))? {
        Answer::Ready(told) if told == digest(0, &state) => {}
        Answer::Ready(_) => return Err(BoardError::Differs(0)),
        _ => return Err(BoardError::Refused),
    }
    let mut previous = Inputs::default();
    let mut costs = Vec::with_capacity(log.ticks.len());
    for (number, tick) in (1..).zip(&log.ticks) {
        let (inputs, _, _) = decode(&previous, tick).map_err(|_| ReplayError::Tick(number))?;
        let expected = step(&settings, &mut state, &inputs);
        let Answer::Ticked { outputs, state: told, cost } = board.order(&Order::Tick(tick))? else {
            return Err(BoardError::Refused);
        };
        if outputs != expected || told != digest(0, &state) {
            return Err(BoardError::Differs(number));
        }
        costs.push(cost);
        previous = inputs;
        progress(number as f64 / log.ticks.len() as f64);
    }
    costs.sort_unstable();
    Ok(Alike {
        ticks: costs.len(),
        worst: costs.last().copied().unwrap_or_default(),
        median: costs.get(costs.len() / 2).copied().unwrap_or_default(),
    })
}

/// Lets board and library make the same steps of made-up wires, and compares the digest of every output
/// and of the whole state after every step. Gives the board's tally.
///
/// # Errors
/// Digests that differ; a board that fails.
pub fn fuzz(board: &mut Board, seed: u32, steps: u32) -> Result<Tally, BoardError> {
    let config = config(seed);
    let settings = config.build()?;
    let Answer::Ready(_) = board.order(&Order::Set(config))? else {
        return Err(BoardError::Refused);
    };
    // The library works while the board does.
    let library = thread::spawn(move || {
        let mut tally = Tally::new();
        run::fuzz(&settings, seed, steps, &mut Uncounted, &mut tally);
        tally
    });
    let answer = board.order(&Order::Fuzz { seed, steps })?;
    let library = library.join().map_err(|_| BoardError::Silent)?;
    match answer {
        Answer::Ran(tally) if (tally.steps, tally.digest) == (library.steps, library.digest) => {
            Ok(tally)
        }
        Answer::Ran(_) => Err(BoardError::FuzzDiffers { seed, steps }),
        _ => Err(BoardError::Refused),
    }
}
