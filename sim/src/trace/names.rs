//! Names that other loggers give to the time and the static pressure (common practice, no source).

use super::columns::Channel;
use super::unit::{Quantity, Unit};

const TIME: [&str; 32] = [
    "time",
    "timestamp",
    "time_stamp",
    "t",
    "datetime",
    "date_time",
    "utc",
    "utc_time",
    "time_utc",
    "gmt",
    "clock",
    "epoch",
    "unix",
    "unixtime",
    "unix_time",
    "elapsed",
    "elapsed_time",
    "uptime",
    "log_time",
    "seconds",
    "millis",
    "micros",
    "milliseconds",
    "microseconds",
    "sec",
    "secs",
    "s",
    "ms",
    "us",
    "zeit",
    "tick",
    "ticks",
];

const STATIC: [&str; 22] = [
    "static",
    "static_pressure",
    "pressure_static",
    "p_static",
    "pstat",
    "ps",
    "pressure",
    "press",
    "p",
    "baro",
    "baro_pressure",
    "baro_p",
    "barometer",
    "barometric_pressure",
    "abs_pressure",
    "absolute_pressure",
    "pressure_abs",
    "p_abs",
    "air_pressure",
    "ambient_pressure",
    "atm_pressure",
    "atmospheric_pressure",
];

/// Whether a column of this name, with a unit or without, holds the time or the static pressure.
pub(super) fn is_of(channel: Channel, name: &str) -> bool {
    let (names, quantity): (&[&str], _) = match channel {
        Channel::Time => (&TIME, Quantity::Time),
        Channel::Static => (&STATIC, Quantity::Pressure),
        _ => return false,
    };
    let bare = match Unit::in_brackets(name) {
        Some(_) => name.rfind(['(', '[']).map_or(name, |at| name[..at].trim_end()),
        None => Unit::before(name, &[quantity]),
    };
    let bare = bare.to_lowercase().replace([' ', '-', '.', '/'], "_");
    names.contains(&bare.as_str())
}

/// The channel of a column whose name is like it and says no unit.
pub(super) fn without_unit(name: &str) -> Option<Channel> {
    match name.to_lowercase().replace([' ', '-', '.'], "_").as_str() {
        "ias" | "airspeed" | "air_speed" | "indicated_airspeed" => Some(Channel::Ias),
        "tas" | "true_airspeed" => Some(Channel::Tas),
        "dynamic" | "dynamic_pressure" | "pitot" | "pitot_pressure" => Some(Channel::Dynamic),
        "te" | "te_pressure" => Some(Channel::Te),
        _ => None,
    }
}

/// Whether a column's name is the letter that stands for a time and for a temperature.
pub(super) fn is_bare_t(name: &str) -> bool {
    name.eq_ignore_ascii_case("t")
}

/// Whether a column's name promises UTC.
pub(super) fn is_utc(name: &str) -> bool {
    let name = name.to_lowercase();
    ["utc", "gmt", "zulu"].iter().any(|word| name.contains(word))
}

/// Whether a column's name is that of a height.
pub(super) fn is_height(name: &str) -> bool {
    let name = name.to_lowercase();
    ["alt", "height", "elev"].iter().any(|word| name.contains(word))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_known_with_any_unit_and_without() {
        for name in ["time", "Timestamp", "t [ms]", "time (s)", "UTC time", "millis", "t/ms", "t"] {
            assert!(is_of(Channel::Time, name), "{name}");
        }
        for name in
            ["pressure_hPa", "p/hPa", "Baro", "pressure [furlong]", "Static Pressure", "p_pa"]
        {
            assert!(is_of(Channel::Static, name), "{name}");
        }
    }

    #[test]
    fn other_names_are_not() {
        for name in ["altitude", "baro_alt_m", "dynamic_pressure", "pitot", "temp", "te_pa", ""] {
            assert!(!is_of(Channel::Static, name), "{name}");
        }
        for name in ["date", "flight_time", "time_to_go", "gnss_age_s", ""] {
            assert!(!is_of(Channel::Time, name), "{name}");
        }
        assert!(is_utc("Time (UTC)") && !is_utc("time"));
    }
}
