//! Floor 4: conditions, ranked responses, supervisor, gate.
//!
//! [`Watch`] looks at what the lower floors know and names the conditions present; the
//! [`Supervisor`] decides from them and from the operator's acts whether the rollers may turn; the
//! [`Gate`] has the last word on the valve. [`TABLE`] is the one place that says which condition is
//! answered how.

mod conditions;
mod gate;
mod hay;
mod observed;
mod supervisor;
mod twin;
mod valve_path;
mod watch;

pub use conditions::{Condition, Response, Row, TABLE, When};
pub use gate::{Gate, Passed, Permit, is_standing};
pub use observed::Observed;
pub use supervisor::{Acts, Phase, Supervisor};
pub use valve_path::Tested;
pub use watch::{Scene, Watch};
