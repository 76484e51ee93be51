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

/// Makes a record of integer settings from a table of `/// words` and `name: low..=high, typical;`. After a
/// setting, `fitted { name: Record; }` holds the records of sensors that a machine may lack. `in "name."`
/// says within what the record stands, for errors.
macro_rules! config {
    ($(#[$meta:meta])* $name:ident { $($body:tt)+ }) => {
        $crate::settings::field::config! { $(#[$meta])* $name in "" { $($body)+ } }
    };
    ($(#[$meta:meta])* $name:ident in $place:literal {
        $($(#[doc = $words:literal])+ $field:ident: $low:literal..=$high:literal, $typical:literal;
        $(fitted { $($(#[doc = $what:literal])+ $sensor:ident: $record:ident;)+ })?)+
    }) => {
        $(#[$meta])*
        #[derive(Clone, Copy, PartialEq, Eq, Debug, serde::Serialize, serde::Deserialize)]
        #[serde(default, deny_unknown_fields)]
        pub struct $name {
            $($(#[doc = $words])+ pub $field: i32,
            // A sensor that a text does not name is not fitted, whatever is typical.
            $($($(#[doc = $what])+ #[serde(default)] pub $sensor: Option<$record>,)+)?)+
        }

        impl $name {
            /// Values to start from.
            pub const TYPICAL: Self = Self {
                $($field: $typical, $($($sensor: Some($record::TYPICAL),)+)?)+
            };

            /// The highest values allowed.
            pub const HIGHEST: Self = Self {
                $($field: $high, $($($sensor: Some($record::HIGHEST),)+)?)+
            };

            /// Every setting with its words, range and typical value; without those of sensors.
            pub const FIELDS: &'static [$crate::settings::Field] = &[$($crate::settings::Field {
                name: stringify!($field),
                words: concat!($($words),+),
                low: $low,
                high: $high,
                typical: $typical,
            },)+];

            /// Whether every setting lies within its range; those of sensors are not looked at.
            ///
            /// # Errors
            /// The first that does not.
            pub fn checked(&self) -> Result<&Self, $crate::settings::SettingError> {
                $($crate::settings::check(
                    concat!($place, stringify!($field)),
                    self.$field,
                    $low..=$high,
                )?;)+
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
