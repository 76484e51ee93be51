//! A board that keeps settings, without a board: the code of the board's side at the end of a line in
//! memory, over flash in memory. Shared by the tests of handing over.
#![allow(dead_code, reason = "each test uses what it needs")]

#[path = "../../../controller/tests/drivers/flash.rs"]
mod flash;

pub(crate) use flash::PowerCut;
use std::collections::VecDeque;
use std::io::{self, ErrorKind, Read, Write};
use strewn_controller::drivers::store::{Store, StoreError};
use strewn_controller::settings::Config;
use strewn_controller::wires::Outputs;
use strewn_link::frame::{LONGEST_FRAME, encode};
use strewn_link::keep::{Call, Keeper, Porter};
use strewn_link::message::Answer;

pub(crate) type Flash = flash::Flash<4>;

const START: u32 = 1_024;
const SLOT: u32 = 1_024;

/// A flash that keeps these settings.
pub(crate) fn flash_with(config: &Config) -> Flash {
    let mut store = Store::open(Flash::new(7), START, SLOT).expect("a store");
    store.save(&postcard::to_stdvec(config).expect("settings")).expect("the power holds");
    Flash { done: 0, ..store.release() }
}

/// What a board finds in its flash when the power comes on.
pub(crate) fn kept(flash: &Flash) -> Option<Config> {
    let flash = Flash { left: None, ..flash.clone() };
    let store = Store::open(flash, START, SLOT).expect("a store");
    Keeper::new(store).config().expect("reading needs no power here")
}

/// What the board is doing.
pub(crate) enum Doing<'a> {
    /// Its loop runs, with these outputs.
    Running(Box<Porter>, Outputs, &'a mut Flash),
    /// It listens, as after each start.
    Listening(Box<Keeper<&'a mut Flash>>),
    /// The power is off.
    Off,
}

/// The board, and the line to it seen from the laptop.
pub(crate) struct Board<'a> {
    pub(crate) doing: Doing<'a>,
    /// On the way to the laptop.
    pub(crate) back: VecDeque<u8>,
    /// Bytes from the laptop until the line is cut.
    pub(crate) cut_after: Option<usize>,
    /// Flips a bit in each byte that comes back.
    pub(crate) noisy: bool,
    /// Answers this instead of what it would say.
    pub(crate) instead: Option<Answer>,
    /// How often it has started anew.
    pub(crate) starts: usize,
}

impl<'a> Board<'a> {
    fn of(doing: Doing<'a>) -> Self {
        let back = VecDeque::new();
        Self { doing, back, cut_after: None, noisy: false, instead: None, starts: 0 }
    }

    /// Just switched on.
    pub(crate) fn starting(flash: &'a mut Flash) -> Self {
        Self::of(listening(flash))
    }

    /// In its loop.
    pub(crate) fn running(flash: &'a mut Flash, outputs: Outputs) -> Self {
        Self::of(Doing::Running(Box::default(), outputs, flash))
    }

    /// Switched off.
    pub(crate) fn off() -> Self {
        Self::of(Doing::Off)
    }

    fn hear(&mut self, byte: u8) {
        let answer = match &mut self.doing {
            Doing::Off => None,
            Doing::Listening(keeper) => match keeper.hear(byte) {
                Ok(answer) => answer,
                Err(StoreError::Flash(PowerCut)) => {
                    self.doing = Doing::Off;
                    None
                }
                Err(error) => panic!("{error:?}"),
            },
            Doing::Running(porter, outputs, _) => match porter.hear(byte, outputs) {
                Some(Call::Busy) => Some(Answer::Busy),
                Some(Call::Restart) => {
                    self.restart();
                    None
                }
                None => None,
            },
        };
        if let Some(answer) = answer {
            self.answer(&answer);
        }
    }

    fn restart(&mut self) {
        if let Doing::Running(_, _, flash) = std::mem::replace(&mut self.doing, Doing::Off) {
            self.doing = listening(flash);
            self.starts += 1;
        }
    }

    fn answer(&mut self, answer: &Answer) {
        let mut frame = [0; LONGEST_FRAME];
        let answer = self.instead.as_ref().unwrap_or(answer);
        let length = encode(answer, &mut frame).expect("room");
        let harm = u8::from(self.noisy) << 6;
        self.back.extend(frame[..length].iter().map(|byte| byte ^ harm));
    }
}

fn listening(flash: &mut Flash) -> Doing<'_> {
    Doing::Listening(Box::new(Keeper::new(Store::open(flash, START, SLOT).expect("a store"))))
}

impl Write for Board<'_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        for byte in bytes {
            match &mut self.cut_after {
                Some(0) => return Err(ErrorKind::BrokenPipe.into()),
                Some(left) => *left -= 1,
                None => {}
            }
            self.hear(*byte);
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

impl Read for Board<'_> {
    /// What has come back so far, or a silence.
    fn read(&mut self, bytes: &mut [u8]) -> io::Result<usize> {
        let used = self.back.read(bytes)?;
        if used == 0 { Err(ErrorKind::TimedOut.into()) } else { Ok(used) }
    }
}
