//! Beside the floors: one record of settings per floor, in physical integers for people and in
//! machine numbers for the tick.

mod error;
mod signals;

pub use error::{SettingError, check};
pub use signals::{
    AnalogConfig, AnalogLine, GroundConfig, GroundSettings, SignalConfig, SignalSettings,
    WeighConfig, WeighSettings,
};
