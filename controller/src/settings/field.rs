//! One line a setting: its words, range and typical value make the record, the check and the help.

/// One setting as a person may read it.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Field {
    /// Its name; the end of the name is the unit.
    pub name: &'static str,
    /// What it means.
    pub words: &'static str,
    /// Lowest value allowed.
    pub low: i32,
    /// Highest value allowed.
    pub high: i32,
    /// A value to start from.
    pub typical: i32,
}

/// Makes a record of integer settings from a table of `/// words` and `name: low..=high, typical;`.
macro_rules! config {
    ($(#[$meta:meta])* $name:ident {
        $($(#[doc = $words:literal])+ $field:ident: $low:literal..=$high:literal, $typical:literal;)+
    }) => {
        $(#[$meta])*
        #[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize, serde::Deserialize)]
        #[serde(default, deny_unknown_fields)]
        pub struct $name {
            $($(#[doc = $words])+ pub $field: i32,)+
        }

        impl $name {
            /// Values to start from.
            pub const TYPICAL: Self = Self { $($field: $typical,)+ };

            /// Every setting with its words, range and typical value.
            pub const FIELDS: &'static [$crate::settings::Field] = &[$($crate::settings::Field {
                name: stringify!($field),
                words: concat!($($words),+),
                low: $low,
                high: $high,
                typical: $typical,
            },)+];

            /// Whether every setting lies within its range.
            ///
            /// # Errors
            /// The first that does not.
            pub fn checked(&self) -> Result<&Self, $crate::settings::SettingError> {
                $($crate::settings::check(stringify!($field), self.$field, $low..=$high)?;)+
                Ok(self)
            }
        }

        impl Default for $name {
            fn default() -> Self {
                Self::TYPICAL
            }
        }
    };
}
pub(crate) use config;
