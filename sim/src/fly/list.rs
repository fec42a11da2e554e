//! The list of built-in scenarios, as `chirrup fly --list` prints it.

use crate::error::Result;
use chirrup_flight::plan::builtin::{ALL, BuiltIn, ROUGH};
use chirrup_flight::plan::check;
use serde::Serialize;
use std::fmt;

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
    /// A built-in scenario that is wrong, which a test excludes.
    pub fn new() -> Result<Self> {
        let entry = |built_in: BuiltIn| {
            let (scenario, _) = check::read(built_in.name, built_in.text)?;
            Ok(Entry { name: built_in.name, title: scenario.name, about: scenario.about })
        };
        Ok(Self(ALL.into_iter().chain(ROUGH).map(entry).collect::<Result<_>>()?))
    }
}

impl fmt::Display for List {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for Entry { name, title, about } in &self.0 {
            writeln!(f, "{name:<20} {title}\n{:20} {about}", "")?;
        }
        writeln!(
            f,
            "\nFly one with `chirrup fly pull-ups -o trace.csv`; write your own from `chirrup fly \
             pull-ups --show`."
        )
    }
}
