//! One row a setting: its name, unit, default, range and meaning, written once.
//!
//! A stage declares its settings with [`setting_group!`](crate::setting_group), one row each. From
//! the rows come the struct, its default and the check of its ranges, and whatever reads or writes
//! settings walks them: the settings file with its comments, its JSON schema, the table in the
//! documentation, the keys of an instrument's console. A new setting is one new row.
//!
//! ```text
//! Groups   all settings         Settings, group by group
//! Group    one struct           ToneSettings: the table [tone] of a settings file
//! Row      one setting          tone.volume: a number from 0 to 10
//! Setting  the field itself     an f32, a bool, a choice of words, a list of entries
//! ```

#[macro_use]
mod declare;
mod group;
mod packed;
mod row;
mod setting;

pub use group::{Group, GroupRows, Groups, find};
pub use packed::{pack, unpack};
pub use row::{Entry, EntryRow, Field, Kind, MOST_FIELDS, Row, Value, Word};
pub use setting::Setting;
