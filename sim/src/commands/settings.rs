//! `chirrup settings`: every setting with its default and its range.

use super::say::say;
use chirrup::error::Result;
use chirrup::settings_file;

/// Shown below the help.
pub const HELP: &str = "\
Example:
  chirrup settings > my.toml";

/// Prints the default settings as a settings file.
pub fn run() -> Result<()> {
    say(settings_file::DEFAULTS_TOML)
}
