//! What feeds beside the controller, on the same bale.

use std::path::PathBuf;
use strewn::bench::MachineFile;
use strewn::rivals::Law;

/// The second lane.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Against {
    /// None.
    #[default]
    Nobody,
    /// The controller as the scenario sets it, without the changes made here.
    AsGiven,
    /// A rival.
    Rival(Law),
    /// The controller set by another file.
    File(PathBuf, MachineFile),
}

impl Against {
    /// What it is called.
    #[must_use]
    pub fn name(&self) -> String {
        match self {
            Self::Nobody => "nobody".to_owned(),
            Self::AsGiven => "controller as the scenario sets it".to_owned(),
            Self::Rival(law) => law.name().to_owned(),
            Self::File(path, _) => {
                let name = path.file_name().map(|name| name.to_string_lossy().into_owned());
                format!("controller set by {}", name.unwrap_or_default())
            }
        }
    }

    /// Law and settings; `None` for nobody.
    #[must_use]
    pub fn lane(&self) -> Option<(Law, MachineFile)> {
        match self {
            Self::Nobody => None,
            Self::AsGiven => Some((Law::Controller, MachineFile::default())),
            Self::Rival(law) => Some((*law, MachineFile::default())),
            Self::File(_, machine) => Some((Law::Controller, machine.clone())),
        }
    }
}
