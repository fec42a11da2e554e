//! The scenarios that are part of the program, from sim/scenarios. Gliders, places and days are
//! invented.

use super::check;
use crate::error::Result;
use serde::Serialize;
use std::fmt;

/// A scenario of the program's own.
#[derive(Clone, Copy, Debug)]
pub struct BuiltIn {
    /// What to type for it.
    pub name: &'static str,
    /// Its text.
    pub text: &'static str,
}

macro_rules! built_in {
    ($($name:literal),* $(,)?) => {
        [$(BuiltIn { name: $name, text: include_str!(concat!("../../scenarios/", $name, ".toml")) }),*]
    };
}

/// All of them.
pub const ALL: [BuiltIn; 10] = built_in![
    "winch-and-circuit",
    "aerotow-and-thermal",
    "weak-blue-day",
    "cloud-street",
    "ridge",
    "wave",
    "pull-ups",
    "spin",
    "aerobatics",
    "blocked-static",
];

/// The one of that name.
pub fn find(name: &str) -> Option<BuiltIn> {
    ALL.into_iter().find(|built_in| built_in.name == name)
}

/// A line of the list.
#[derive(Clone, Debug, Serialize)]
pub struct Entry {
    /// What to type.
    pub name: &'static str,
    /// What the flight is called.
    pub title: String,
    /// What it shows.
    pub about: String,
}

/// The list, for people; serialise its entries for programs.
pub struct List(pub Vec<Entry>);

impl List {
    /// What there is.
    ///
    /// # Errors
    /// None that a test has not excluded: a built-in scenario that is wrong.
    pub fn new() -> Result<Self> {
        let entry = |built_in: BuiltIn| {
            let (scenario, _) = check::read(built_in.name, built_in.text)?;
            Ok(Entry { name: built_in.name, title: scenario.name, about: scenario.about })
        };
        Ok(Self(ALL.into_iter().map(entry).collect::<Result<_>>()?))
    }
}

impl fmt::Display for List {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for Entry { name, title, about } in &self.0 {
            writeln!(f, "{name:<20} {title}\n{:20} {about}", "")?;
        }
        writeln!(
            f,
            "\nFly one with `chirrup fly pull-ups -o trace.csv`; write your own from `chirrup fly pull-ups --show`."
        )
    }
}
