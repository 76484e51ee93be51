//! Writing a log, tick by tick.

use super::{CRC, Header, LONGEST_HEADER, MAGIC, VERSION, sum_of};
use crc::Digest;
use std::io::{self, Write};
use strewn_controller::record::{FRAME_MAX, digest, encode};
use strewn_controller::wires::{Inputs, Outputs};

/// Writes a log, tick by tick.
pub struct LogWriter<W: Write> {
    out: W,
    sum: Digest<'static, u32>,
    ticks: u32,
    previous: Inputs,
    commanded: u32,
    frame: [u8; FRAME_MAX],
}

impl<W: Write> LogWriter<W> {
    /// Starts a log.
    ///
    /// # Errors
    /// Those of `out`, and a header above 1 MiB.
    pub fn new(out: W, header: &Header) -> io::Result<Self> {
        let mut body = header.seed.to_le_bytes().to_vec();
        for part in [header.scenario.as_bytes(), &header.configuration] {
            body.extend(length(part)?.to_le_bytes());
            body.extend(part);
        }
        let mut writer = Self {
            out,
            sum: CRC.digest(),
            ticks: 0,
            previous: Inputs::default(),
            commanded: 0,
            frame: [0; FRAME_MAX],
        };
        writer.put(&MAGIC)?;
        writer.put(&VERSION.to_le_bytes())?;
        writer.put(&length(&body)?.to_le_bytes())?;
        writer.put(&body)?;
        writer.put(&writer.sum().to_le_bytes())?;
        Ok(writer)
    }

    /// Adds a tick.
    ///
    /// # Errors
    /// Those of `out`.
    pub fn tick(&mut self, inputs: &Inputs, outputs: &Outputs) -> io::Result<()> {
        self.commanded = digest(self.commanded, outputs);
        let length = encode(&self.previous, inputs, self.commanded, &mut self.frame)
            .map_err(|error| io::Error::other(format!("{error:?}")))?;
        let frame = &self.frame[..length];
        self.sum.update(sum_of(frame));
        self.ticks += 1;
        self.previous.clone_from(inputs);
        self.out.write_all(frame)
    }

    /// Ends the log and hands the sink back.
    ///
    /// # Errors
    /// Those of `out`.
    pub fn finish(mut self) -> io::Result<W> {
        let end = self.end()?;
        self.out.write_all(&end)?;
        self.out.flush()?;
        Ok(self.out)
    }

    /// Hands everything so far to the sink's keeper and gives the bytes that would end the log here: a
    /// copy of the log with them is whole, and the log goes on.
    ///
    /// # Errors
    /// Those of `out`.
    pub fn end(&mut self) -> io::Result<Vec<u8>> {
        self.out.flush()?;
        let mut end = 0u16.to_le_bytes().to_vec();
        end.extend(self.ticks.to_le_bytes());
        let mut sum = self.sum.clone();
        sum.update(&end);
        end.extend(sum.finalize().to_le_bytes());
        Ok(end)
    }

    fn put(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.sum.update(bytes);
        self.out.write_all(bytes)
    }

    fn sum(&self) -> u32 {
        self.sum.clone().finalize()
    }
}

fn length(part: &[u8]) -> io::Result<u32> {
    match u32::try_from(part.len()) {
        Ok(length) if part.len() <= LONGEST_HEADER => Ok(length),
        _ => Err(io::Error::new(io::ErrorKind::InvalidInput, "a part too long for a log")),
    }
}
