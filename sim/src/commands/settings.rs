//! `chirrup settings`: every setting with its default, its range and its meaning.

use super::common::SettingsArgs;
use super::say::{say, say_json};
use chirrup::error::Result;
use chirrup::settings_file::{self, All};
use clap::Args;

/// Shown below the help.
const HELP: &str = "\
Examples:
  chirrup settings > my.toml
  chirrup settings --settings old.toml --settings response_s=0.6 > new.toml
  chirrup settings --schema > chirrup-settings.json";

/// Arguments of `settings`.
#[derive(Args, Debug)]
#[command(after_help = HELP)]
pub struct SettingsCommandArgs {
    #[command(flatten)]
    settings: SettingsArgs,
    /// Print the JSON schema of a settings file instead, for an editor that completes and checks
    #[arg(long, conflicts_with = "settings")]
    schema: bool,
}

/// Prints the settings as a settings file with comments, or its schema.
pub fn run(args: &SettingsCommandArgs) -> Result<()> {
    if args.schema {
        return say_json(&settings_file::schema::<All>());
    }
    say(&settings_file::with_comments(&args.settings.load()?.all()))
}
