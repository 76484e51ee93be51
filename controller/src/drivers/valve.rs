//! The proportional valve: signed duty onto two coils, with a dither that does not move the mean.

use embedded_hal::digital::OutputPin;
use embedded_hal::pwm::SetDutyCycle;

/// Full duty, as in [`crate::wires::Outputs::valve`].
const FULL: u16 = 32_767;

/// How the spool is kept in motion.
///
/// Ranges: proportional-output modules generate dither of 1 to 250 Hz with an amplitude up to half of
/// the nominal current (WAGO, 750-632 Proportional Valve Module, manual 1.3, functions `DG_FREQ` and
/// `DG_AMPL`); valves ask for 70 to 250 Hz (common practice, no source). With PWM of 100 to 400 Hz the
/// spool is in motion by itself and the amplitude is set to zero.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct DitherConfig {
    /// Calls of [`Valve::tick`] a second, 100 to 20,000.
    pub ticks_hz: u32,
    /// Dither frequency, 1 to 250 Hz and at most half of the ticks.
    pub frequency_hz: u32,
    /// Dither amplitude in thousandths of full duty, 0 to 500.
    pub amplitude_permille: u16,
    /// Ticks after which a command that was not given anew is dropped, 1 to 1,000.
    pub renew_ticks: u16,
}

/// A field of [`DitherConfig`] lies outside its range.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct DitherError;

/// A square wave around the command.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
struct Dither {
    amplitude: u16,
    half_period: u32,
    count: u32,
    up: bool,
}

impl Dither {
    /// The size of the duty in this tick. Near nothing and near full the amplitude shrinks, so that
    /// the mean over a period stays the command.
    fn apply(&mut self, size: u16) -> u16 {
        self.count = self.count.saturating_add(1);
        if self.count >= self.half_period {
            self.count = 0;
            self.up = !self.up;
        }
        let amplitude = self.amplitude.min(size).min(FULL.saturating_sub(size));
        if self.up { size.saturating_add(amplitude) } else { size.saturating_sub(amplitude) }
    }
}

/// What drives the two coils. Sizes are 0 to 32,767 of full duty; one of them is always zero.
pub trait Coils {
    /// What may go wrong.
    type Error;

    /// Drives the coils.
    ///
    /// # Errors
    /// That of the channel or pin; the coils may then be in any state, and the enable must be dropped.
    fn drive(&mut self, forward: u16, reverse: u16) -> Result<(), Self::Error>;
}

/// Two channels of PWM, one a coil.
#[derive(Debug)]
pub struct TwoChannels<F, R> {
    /// Channel of the forward coil.
    pub forward: F,
    /// Channel of the reverse coil.
    pub reverse: R,
}

impl<E, F: SetDutyCycle<Error = E>, R: SetDutyCycle<Error = E>> Coils for TwoChannels<F, R> {
    type Error = E;

    /// The coil that is let go is let go first: the two are never driven together.
    fn drive(&mut self, forward: u16, reverse: u16) -> Result<(), E> {
        if forward == 0 {
            set(&mut self.forward, 0)?;
            set(&mut self.reverse, reverse)
        } else {
            set(&mut self.reverse, 0)?;
            set(&mut self.forward, forward)
        }
    }
}

/// One channel of PWM and a pin that chooses the coil: high is reverse.
#[derive(Debug)]
pub struct ChannelAndDirection<P, D> {
    channel: P,
    direction: D,
    reversed: Option<bool>,
}

impl<P, D> ChannelAndDirection<P, D> {
    /// From a channel and a pin; both are set at the first drive.
    pub const fn new(channel: P, direction: D) -> Self {
        Self { channel, direction, reversed: None }
    }

    /// Gives the channel and the pin back.
    pub fn release(self) -> (P, D) {
        (self.channel, self.direction)
    }
}

/// What may go wrong with a channel and its pin.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum CoilError<P, D> {
    /// The channel.
    Channel(P),
    /// The pin.
    Direction(D),
}

impl<P: SetDutyCycle, D: OutputPin> Coils for ChannelAndDirection<P, D> {
    type Error = CoilError<P::Error, D::Error>;

    /// The pin changes only while the channel is off.
    fn drive(&mut self, forward: u16, reverse: u16) -> Result<(), Self::Error> {
        let reversed = forward == 0 && reverse > 0;
        let size = forward.max(reverse);
        if self.reversed != Some(reversed) && (size > 0 || self.reversed.is_none()) {
            self.reversed = None;
            set(&mut self.channel, 0).map_err(CoilError::Channel)?;
            self.direction.set_state(reversed.into()).map_err(CoilError::Direction)?;
            self.reversed = Some(reversed);
        }
        set(&mut self.channel, size).map_err(CoilError::Channel)
    }
}

/// Sets a channel to a share of its own full duty, rounded to nearest.
fn set<P: SetDutyCycle>(channel: &mut P, size: u16) -> Result<(), P::Error> {
    channel.set_duty_cycle(share(size, channel.max_duty_cycle()))
}

/// `size` of 32,767 as a share of `full`; sizes above it count as it.
fn share(size: u16, full: u16) -> u16 {
    let wide = u32::from(size.min(FULL)).saturating_mul(u32::from(full));
    let share = wide.saturating_add(u32::from(FULL).wrapping_shr(1)).checked_div(u32::from(FULL));
    u16::try_from(share.unwrap_or(0)).unwrap_or(full)
}

/// The valve.
#[derive(Debug)]
pub struct Valve<C> {
    coils: C,
    dither: Dither,
    command: i16,
    renew_ticks: u16,
    age_ticks: u16,
}

impl<C: Coils> Valve<C> {
    /// With the valve off; nothing is driven before the first [`Valve::tick`].
    ///
    /// # Errors
    /// [`DitherError`] if a field of the configuration is out of its range.
    pub fn new(coils: C, config: DitherConfig) -> Result<Self, DitherError> {
        let DitherConfig { ticks_hz, frequency_hz, amplitude_permille, renew_ticks } = config;
        let twice = frequency_hz.saturating_mul(2);
        let sound = (100..=20_000).contains(&ticks_hz)
            && (1..=250).contains(&frequency_hz)
            && twice <= ticks_hz
            && amplitude_permille <= 500
            && (1..=1_000).contains(&renew_ticks);
        if !sound {
            return Err(DitherError);
        }
        let amplitude = u32::from(amplitude_permille).saturating_mul(u32::from(FULL));
        let dither = Dither {
            amplitude: u16::try_from(amplitude.checked_div(1_000).unwrap_or(0)).unwrap_or(0),
            half_period: ticks_hz.checked_div(twice).unwrap_or(1),
            count: 0,
            up: false,
        };
        Ok(Self { coils, dither, command: 0, renew_ticks, age_ticks: u16::MAX })
    }

    /// Takes the command of one step of the controller. It must come again within the configured
    /// number of ticks: a step that hangs does not keep the valve open.
    pub fn command(&mut self, valve: i16) {
        self.command = valve;
        self.age_ticks = 0;
    }

    /// Drives the coils; to be called from a timer.
    ///
    /// # Errors
    /// As [`Coils::drive`].
    pub fn tick(&mut self) -> Result<(), C::Error> {
        self.age_ticks = self.age_ticks.saturating_add(1);
        if self.age_ticks > self.renew_ticks {
            self.command = 0;
        }
        let size = self.command.unsigned_abs().min(FULL);
        let size = if size == 0 { 0 } else { self.dither.apply(size) };
        if self.command < 0 { self.coils.drive(0, size) } else { self.coils.drive(size, 0) }
    }

    /// Drops the command and drives the coils to nothing at once.
    ///
    /// # Errors
    /// As [`Coils::drive`].
    pub fn off(&mut self) -> Result<(), C::Error> {
        self.command = 0;
        self.coils.drive(0, 0)
    }

    /// Gives the coils back, as they were driven last.
    pub fn release(self) -> C {
        self.coils
    }
}
