//! Raw wires into what reaches the valve.

use crate::world::spec::Command;
use strewn_controller::wires::Outputs;

/// The command that the outputs of a tick give: full duty at +/-32767; -32768 counts as -32767.
#[must_use]
pub fn command(outputs: &Outputs) -> Command {
    Command {
        duty: (f64::from(outputs.valve) / f64::from(i16::MAX)).max(-1.0),
        enable: outputs.enable,
    }
}
