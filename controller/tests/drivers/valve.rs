//! The proportional valve on scripted channels, and what dither does to the mean.

use core::convert::Infallible;
use embedded_hal_mock::eh1::digital::{Mock as Pin, State, Transaction as Level};
use embedded_hal_mock::eh1::pwm::{Mock as Channel, Transaction as Duty};
use proptest::prelude::*;
use strewn_controller::drivers::valve::{
    ChannelAndDirection, Coils, DitherConfig, DitherError, TwoChannels, Valve,
};

/// Without dither: the spool is in motion by slow PWM.
const STEADY: DitherConfig =
    DitherConfig { ticks_hz: 1_000, frequency_hz: 100, amplitude_permille: 0, renew_ticks: 30 };

fn duty(duty: u16) -> [Duty; 2] {
    [Duty::max_duty_cycle(1_000), Duty::set_duty_cycle(duty)]
}

#[test]
fn two_channels_never_drive_both_coils() {
    let mut forward = Channel::new(&[duty(500), duty(0), duty(0)].concat());
    let mut reverse = Channel::new(&[duty(0), duty(1_000), duty(0)].concat());
    let coils = TwoChannels { forward: forward.clone(), reverse: reverse.clone() };
    let mut valve = Valve::new(coils, STEADY).unwrap();
    for command in [16_384, i16::MIN, 0] {
        valve.command(command);
        valve.tick().unwrap();
    }
    forward.done();
    reverse.done();
}

#[test]
fn a_direction_changes_only_while_the_channel_is_off() {
    let mut channel =
        Channel::new(&[duty(0), duty(250), duty(0), duty(0), duty(750), duty(0)].concat());
    let mut direction = Pin::new(&[Level::set(State::Low), Level::set(State::High)]);
    let coils = ChannelAndDirection::new(channel.clone(), direction.clone());
    let mut valve = Valve::new(coils, STEADY).unwrap();
    for command in [8_192, 0, -24_575] {
        valve.command(command);
        valve.tick().unwrap();
    }
    valve.off().unwrap();
    channel.done();
    direction.done();
}

/// Keeps all that it was driven with, forward positive.
#[derive(Default)]
struct Seen(Vec<i32>);

impl Coils for Seen {
    type Error = Infallible;

    fn drive(&mut self, forward: u16, reverse: u16) -> Result<(), Infallible> {
        assert!(forward == 0 || reverse == 0, "both coils at once");
        self.0.push(i32::from(forward) - i32::from(reverse));
        Ok(())
    }
}

#[test]
fn a_command_that_is_not_renewed_is_dropped() {
    let mut valve = Valve::new(Seen::default(), STEADY).unwrap();
    valve.command(20_000);
    for _ in 0..STEADY.renew_ticks + 2 {
        valve.tick().unwrap();
    }
    let seen = valve.release().0;
    assert_eq!(seen[usize::from(STEADY.renew_ticks) - 1..], [20_000, 0, 0]);
}

proptest! {
    /// Dither keeps the spool in motion, within the duty that there is, and the mean where it was.
    #[test]
    fn dither_does_not_move_the_mean(
        command in any::<i16>(),
        amplitude_permille in 0u16..=500,
        frequency_hz in 1u32..=250,
    ) {
        let config =
            DitherConfig { ticks_hz: 10_000, frequency_hz, amplitude_permille, renew_ticks: 1 };
        let half_period = usize::try_from(10_000 / (2 * frequency_hz)).unwrap();
        let mut valve = Valve::new(Seen::default(), config).unwrap();
        for _ in 0..4 * half_period {
            valve.command(command);
            valve.tick().unwrap();
        }
        let seen = valve.release().0;
        let asked = i32::from(command).clamp(-32_767, 32_767);
        let sum: i32 = seen[..2 * half_period].iter().map(|driven| driven - asked).sum();
        prop_assert_eq!(sum, 0);
        prop_assert!(seen.iter().all(|driven| driven.abs() <= 32_767 && driven * asked >= 0));
        let amplitude = i32::from(amplitude_permille) * 32_767 / 1_000;
        let room = asked.abs().min(32_767 - asked.abs());
        let swing = seen.iter().map(|driven| (driven - asked).abs());
        prop_assert_eq!(swing.clone().min(), Some(amplitude.min(room)));
        prop_assert_eq!(swing.max(), Some(amplitude.min(room)));
    }
}

#[test]
fn ranges_of_the_configuration_are_held() {
    let wrong = [
        DitherConfig { ticks_hz: 99, ..STEADY },
        DitherConfig { frequency_hz: 0, ..STEADY },
        DitherConfig { frequency_hz: 251, ..STEADY },
        DitherConfig { ticks_hz: 150, ..STEADY },
        DitherConfig { amplitude_permille: 501, ..STEADY },
        DitherConfig { renew_ticks: 0, ..STEADY },
    ];
    for config in wrong {
        assert_eq!(Valve::new(Seen::default(), config).err(), Some(DitherError), "{config:?}");
    }
}
