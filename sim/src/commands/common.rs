//! Options that several commands have. Each is defined here once, so that it means the same in all
//! of them.

use super::say::say_beside;
use super::values::whole;
use chirrup::error::{Error, Result};
use chirrup::settings_file::{self, Instrument};
use chirrup::time::Moment;
use chirrup::trace::columns::ColumnMap;
use chirrup_core::Settings;
use clap::Args;

/// Heading of the options for reading a trace.
pub const TRACE: &str = "Trace";
/// Heading of the options that set up the instrument.
pub const INSTRUMENT: &str = "Instrument";
/// Heading of the options for outputs.
pub const OUTPUTS: &str = "Outputs";

/// `--settings`.
#[derive(Args, Debug)]
pub struct SettingsArgs {
    /// Settings: a TOML file (`chirrup settings` prints one to start from) or
    /// key=value[,key=value]. May be given several times; later ones win over earlier ones
    #[arg(long, value_name = "FILE|KEY=VALUE", help_heading = INSTRUMENT)]
    pub settings: Vec<String>,
}

impl SettingsArgs {
    /// The instrument with these settings, or with the defaults.
    ///
    /// # Errors
    /// A file that cannot be read, or an invalid setting.
    pub fn load(&self) -> Result<Instrument> {
        let instrument = settings_file::load_layers(&self.settings, &Settings::default())?;
        for old in &instrument.old {
            say_beside(&format!("note: {old}\n"), true)?;
        }
        Ok(instrument)
    }
}

/// `--columns`.
#[derive(Args, Debug)]
pub struct ColumnsArg {
    /// Names of a CSV trace's columns where they are not Chirrup's own: CHANNEL=COLUMN[:UNIT],
    /// separated by commas, as in time=t_ms,static=baro:hPa. A number names a column too: static=#2
    /// is the second. Without a unit here or in the column's name, the values say which it is, if
    /// they can only be one. Channels are time, static, dynamic,
    /// ias, tas, te and oat; of an inertial sensor accel_x, accel_y, accel_z, gyro_x, gyro_y and
    /// gyro_z; of a satellite receiver gnss_vn, gnss_ve, gnss_vd, gnss_age, lat, lon and gnss_alt
    #[arg(long, value_name = "MAP", help_heading = TRACE)]
    columns: Option<ColumnMap>,
}

impl ColumnsArg {
    /// The names to look for in a trace.
    pub fn map(&self) -> ColumnMap {
        self.columns.clone().unwrap_or_default()
    }
}

/// `--from` and `--to`.
#[derive(Args, Debug)]
pub struct SpanArgs {
    /// Begin here: seconds, m:ss or h:mm:ss of the trace's time, or UTC as 13:05:00Z
    #[arg(long, value_name = "TIME", allow_hyphen_values = true, help_heading = TRACE)]
    pub from: Option<Moment>,
    /// End here; written like --from
    #[arg(long, value_name = "TIME", allow_hyphen_values = true, help_heading = TRACE)]
    pub to: Option<Moment>,
}

impl SpanArgs {
    /// Refuses an end that is not after the beginning.
    ///
    /// # Errors
    /// Nothing lies between them.
    pub fn check(&self) -> Result<()> {
        match (self.from, self.to) {
            (Some(Moment::Trace(from)), Some(Moment::Trace(to))) if from >= to => {
                Err(Error::Usage(format!(
                    "--from {from} is not before --to {to} (seconds); there is nothing between them"
                )))
            }
            _ => Ok(()),
        }
    }
}

/// `--segment`.
#[derive(Args, Debug)]
pub struct SegmentArg {
    /// Use this segment of a trace that is cut into several, the first being 1; otherwise the
    /// longest with a flight. A trace is cut where nothing came for ten minutes or its clock was
    /// set back
    #[arg(long = "segment", value_name = "N", value_parser = whole::<usize>(1, 1_000_000),
          allow_negative_numbers = true, help_heading = TRACE)]
    pub number: Option<usize>,
}

/// `--yes`.
#[derive(Args, Debug)]
pub struct LargeArg {
    /// Write sound and readings even if they are more than 1 GB
    #[arg(long, help_heading = OUTPUTS)]
    pub yes: bool,
}

/// `--json`.
#[derive(Args, Debug)]
pub struct JsonArg {
    /// Print the result as JSON
    #[arg(long, help_heading = OUTPUTS)]
    pub json: bool,
}

/// `--sound-rate`.
#[derive(Args, Debug)]
pub struct SoundRateArg {
    /// Samples a second of the WAV file, 8000 to 192000
    #[arg(long = "sound-rate", alias = "rate", value_name = "HZ", default_value_t = 24_000,
          value_parser = whole::<u32>(8_000, 192_000),
          allow_negative_numbers = true, help_heading = OUTPUTS)]
    pub hz: u32,
}
