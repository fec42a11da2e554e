//! The macros by which a stage declares its settings.

/// A choice of words: an enum, the word of each variant, and what it chooses.
///
/// The first variant is not the default unless it carries `#[default]`.
#[macro_export]
macro_rules! setting_words {
    (
        $(#[$meta:meta])*
        pub enum $name:ident {
            $( $(#[$variant_meta:meta])* $variant:ident = $word:literal, $what:literal; )+
        }
    ) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
        pub enum $name {
            $(
                #[doc = concat!("`", $word, "`: ", $what, ".")]
                $(#[$variant_meta])*
                $variant,
            )+
        }

        impl $name {
            /// Every choice, in the order in which they are listed.
            pub const ALL: [Self; [$($word),+].len()] = [$(Self::$variant),+];
            /// As the kind of a setting.
            pub const KIND: $crate::rows::Kind = $crate::rows::Kind::Word(&[
                $($crate::rows::Word { word: $word, what: $what }),+
            ]);

            /// Its word.
            pub fn name(self) -> &'static str {
                match self {
                    $(Self::$variant => $word,)+
                }
            }
        }

        impl $crate::rows::Setting for $name {
            fn value(&self) -> $crate::rows::Value {
                $crate::rows::Value::Word(*self as usize)
            }

            fn set(&mut self, value: $crate::rows::Value) -> bool {
                let $crate::rows::Value::Word(place) = value else { return false };
                let Some(choice) = Self::ALL.get(place) else { return false };
                *self = *choice;
                true
            }
        }
    };
}

/// An entry of a list: a struct of numbers, each with its unit, range and meaning.
#[macro_export]
macro_rules! setting_entry {
    (
        $(#[$meta:meta])*
        pub struct $name:ident {
            $( $field:ident: $unit:literal, $least:literal ..= $most:literal, $what:literal; )+
        }
    ) => {
        $(#[$meta])*
        #[derive(Clone, Copy, Debug, PartialEq)]
        pub struct $name {
            $(
                #[doc = concat!(
                    $what, "; ", stringify!($least), " to ", stringify!($most), " ", $unit, "."
                )]
                pub $field: f32,
            )+
        }

        impl $crate::rows::EntryRow for $name {
            const FIELDS: &'static [$crate::rows::Field] = &[
                $($crate::rows::Field {
                    name: stringify!($field),
                    unit: $unit,
                    least: $least,
                    most: $most,
                    what: $what,
                },)+
            ];

            fn to_entry(self) -> $crate::rows::Entry {
                let mut entry = $crate::rows::Entry::default();
                for (place, value) in entry.iter_mut().zip([$(self.$field),+]) {
                    *place = value;
                }
                entry
            }

            fn from_entry(entry: &$crate::rows::Entry) -> Self {
                let mut values = entry.iter().copied();
                Self { $($field: values.next().unwrap_or_default(),)+ }
            }
        }
    };
}

/// A group of settings: the struct, its default, and its rows.
///
/// `"lamp."` is what stands before the names of its settings in a settings file, empty where they
/// stand outside any table; `as "name"` gives a setting another name there than its field has.
///
/// ```
/// use chirrup_core::rows::{Group, Kind};
///
/// chirrup_core::setting_group! {
///     /// The settings of a lamp.
///     pub struct LampSettings = "lamp.", "What the lamp does." {
///         after_s: f32 = 2.0, "s", Kind::number(0.5, 30.0), "It goes out after this time.";
///         is_on: bool = false, "", Kind::Flag, "Whether it burns from the start.";
///     }
/// }
/// assert_eq!(LampSettings::ROWS[0].name, "lamp.after_s");
/// let lamp = LampSettings { after_s: 40.0, ..LampSettings::default() };
/// let error = lamp.check_ranges().unwrap_err();
/// assert_eq!(error.to_string(), "lamp.after_s is 40, expected 0.5 to 30");
/// ```
#[macro_export]
macro_rules! setting_group {
    (
        $(#[$meta:meta])*
        pub struct $group:ident = $prefix:literal, $about:literal {
            $(
                $field:ident $(as $key:literal)?: $type:ty = $default:expr,
                $unit:literal, $kind:expr, $what:literal;
            )+
        }
    ) => {
        $(#[$meta])*
        #[derive(Clone, Debug, PartialEq)]
        pub struct $group {
            $(
                #[doc = $what]
                ///
                #[doc = concat!(
                    "Unit: ", $unit, ". `", stringify!($kind), "`, default `",
                    stringify!($default), "`."
                )]
                pub $field: $type,
            )+
        }

        impl $group {
            /// What the group is about.
            pub const ABOUT: &'static str = $about;
            /// Its rows, in order.
            pub const ROWS: &'static [$crate::rows::Row] = &[
                $($crate::rows::Row {
                    name: $crate::setting_group!(@name $prefix, $field $(, $key)?),
                    unit: $unit,
                    kind: $kind,
                    what: $what,
                },)+
            ];
        }

        impl Default for $group {
            fn default() -> Self {
                Self { $($field: $default,)+ }
            }
        }

        impl $crate::rows::Group for $group {
            fn rows(&self) -> &'static [$crate::rows::Row] {
                Self::ROWS
            }

            fn setting(&self, place: usize) -> Option<&dyn $crate::rows::Setting> {
                let settings = [$(&self.$field as &dyn $crate::rows::Setting),+];
                settings.get(place).copied()
            }

            fn setting_mut(&mut self, place: usize) -> Option<&mut dyn $crate::rows::Setting> {
                let settings = [$(&mut self.$field as &mut dyn $crate::rows::Setting),+];
                settings.into_iter().nth(place)
            }
        }
    };

    (@name $prefix:literal, $field:ident) => { concat!($prefix, stringify!($field)) };
    (@name $prefix:literal, $field:ident, $key:literal) => { concat!($prefix, $key) };
}
