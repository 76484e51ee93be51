//! Wires as numbers: where each stands in inputs and outputs, and how far it reaches.

use super::Wire;
use strewn_controller::units::Instant;
use strewn_controller::wires::{Inputs, Outputs, SwitchBits};

/// Ends of a wire's range, both included.
pub(super) type Reach = (i64, i64);

/// The bit of a switch.
pub(super) fn switch_bit(wire: Wire) -> Option<u16> {
    Some(match wire {
        Wire::Present => SwitchBits::PRESENT,
        Wire::StopA => SwitchBits::STOP_CLEAR_A,
        Wire::StopB => SwitchBits::STOP_CLEAR_B,
        Wire::Arm => SwitchBits::ARM,
        Wire::RunA => SwitchBits::RUN,
        Wire::RunB => SwitchBits::RUN_B,
        Wire::NewBale => SwitchBits::NEW_BALE,
        Wire::Guard => SwitchBits::GUARD_SHUT,
        Wire::Hitch => SwitchBits::HITCH_DOWN,
        Wire::Level => SwitchBits::LEVEL,
        _ => return None,
    })
}

/// Range of a wire that is a number; for switches 0 to 1.
pub(super) fn reach(wire: Wire) -> Reach {
    match wire {
        Wire::Weigh => (-600_000, 8_388_607),
        Wire::Ticket => (0, 255),
        Wire::Pressure | Wire::Gauge | Wire::Reference | Wire::Coil | Wire::Supply => (0, 4_095),
        Wire::Valve => (-32_767, 32_767),
        _ => (0, 1),
    }
}

/// The value of a wire that is a number or a switch.
pub(super) fn get(wire: Wire, inputs: &Inputs) -> i64 {
    let analog = &inputs.analog;
    match wire {
        Wire::Weigh => i64::from(inputs.weigh.counts),
        Wire::Pressure => i64::from(analog.pressure),
        Wire::Gauge => i64::from(analog.gauge),
        Wire::Reference => i64::from(analog.reference),
        Wire::Coil => i64::from(analog.coil_current),
        Wire::Supply => i64::from(analog.valve_supply),
        Wire::Ticket => i64::from(inputs.ticket),
        other => switch_bit(other).map_or(0, |bit| i64::from(inputs.switches.has(bit))),
    }
}

/// Sets it; the value lies within its reach.
pub(super) fn set(wire: Wire, inputs: &mut Inputs, value: i64) {
    let short = u16::try_from(value).unwrap_or(0);
    match wire {
        Wire::Weigh => inputs.weigh.counts = i32::try_from(value).unwrap_or(0),
        Wire::Pressure => inputs.analog.pressure = short,
        Wire::Gauge => inputs.analog.gauge = short,
        Wire::Reference => inputs.analog.reference = short,
        Wire::Coil => inputs.analog.coil_current = short,
        Wire::Supply => inputs.analog.valve_supply = short,
        Wire::Ticket => inputs.ticket = u8::try_from(value).unwrap_or(0),
        other => {
            let bit = switch_bit(other).unwrap_or(0);
            let bits = inputs.switches.0;
            inputs.switches.0 = if value == 0 { bits & !bit } else { bits | bit };
        }
    }
}

/// The wire whose value a swapped one takes.
pub(super) fn neighbour(wire: Wire) -> Wire {
    match wire {
        Wire::Pressure => Wire::Gauge,
        Wire::Gauge => Wire::Pressure,
        Wire::Reference | Wire::Supply => Wire::Coil,
        Wire::Coil => Wire::Supply,
        Wire::Present => Wire::Arm,
        Wire::StopA => Wire::RunA,
        Wire::StopB | Wire::Guard => Wire::NewBale,
        Wire::Arm => Wire::RunA,
        Wire::RunA => Wire::Arm,
        Wire::RunB => Wire::Present,
        Wire::NewBale | Wire::Hitch | Wire::Level => Wire::RunB,
        other => other,
    }
}

pub(super) fn now_us(inputs: &Inputs) -> u64 {
    inputs.now.to_micros()
}

pub(super) fn set_now_us(inputs: &mut Inputs, now_us: u64) {
    inputs.now = Instant::from_micros(now_us);
}

/// Value of an outgoing wire.
pub(super) fn get_out(wire: Wire, outputs: &Outputs) -> i64 {
    if wire == Wire::Valve { i64::from(outputs.valve) } else { i64::from(outputs.enable) }
}

/// Sets it.
pub(super) fn set_out(wire: Wire, outputs: &mut Outputs, value: i64) {
    if wire == Wire::Valve {
        outputs.valve = i16::try_from(value).unwrap_or(0);
    } else {
        outputs.enable = value != 0;
    }
}
