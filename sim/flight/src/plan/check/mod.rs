//! What is wrong with a scenario, in one line: the file, the line, the key, its value and what was
//! expected.

mod air;
mod glider;
mod legs;
mod old;
mod page;
mod sensors;

use super::Wrong;
use super::scenario::Scenario;
use crate::physics::glider::Glider;
use page::{Page, Place};

pub use page::line_of_leg;

/// The hint after the parser's message.
const HELP: &str = "`chirrup fly pull-ups --show` prints a scenario to start from";

/// Reads and checks the scenario in `text`, called `file` in messages.
///
/// # Errors
/// The first error, with its line.
pub fn read(file: &str, text: &str) -> Result<(Scenario, Glider), Wrong> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let page = Page { file, text };
    page.is_of_today()?;
    let scenario: Scenario = toml::from_str(text).map_err(|error| page.unreadable(&error, HELP))?;
    page.words(&scenario)?;
    let glider = page.glider(&scenario)?;
    page.surroundings(&scenario)?;
    page.lift(&scenario)?;
    page.legs(&scenario)?;
    page.sensors(&scenario)?;
    Ok((scenario, glider))
}

impl Page<'_> {
    fn words(&self, scenario: &Scenario) -> Result<(), Wrong> {
        for (key, words) in [("name", &scenario.name), ("about", &scenario.about)] {
            if words.trim().is_empty() || words.contains(char::is_control) {
                return self.wrong(Place::ROOT, key, format!("{words:?}"), "words in one line");
            }
        }
        Ok(())
    }
}
