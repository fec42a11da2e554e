//! From the text of an option to its value: numbers in their range, shares, kinds of picture.

use chirrup::output::files::PlotFormat;
use clap::builder::{PathBufValueParser, TypedValueParser};
use std::fmt;
use std::path::{Path, PathBuf};

/// An invalid value: the text says what was expected.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Expected(pub String);

impl fmt::Display for Expected {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "expected {}", self.0)
    }
}

impl std::error::Error for Expected {}

/// Reads a number from `least` to `most`.
pub fn number(least: f64, most: f64) -> impl Fn(&str) -> Result<f64, Expected> + Clone {
    move |text| {
        let value = text.parse().ok().filter(|value| (least..=most).contains(value));
        value.ok_or_else(|| Expected(format!("{least} to {most}")))
    }
}

/// Reads a number from `least` to `most` whose unit is said where it is wrong.
pub fn quantity(
    least: f64,
    most: f64,
    unit: &'static str,
) -> impl Fn(&str) -> Result<f64, Expected> + Clone {
    move |text| number(least, most)(text).map_err(|Expected(range)| Expected(range + " " + unit))
}

/// Reads a QNH in hPa.
pub fn qnh(text: &str) -> Result<f64, Expected> {
    let in_hpa = quantity(870.0, 1_085.0, "hPa")(text);
    // An altimeter's window in inches of mercury has 26 to 32.
    let inches = text.parse().is_ok_and(|value: f64| (25.0..33.0).contains(&value));
    in_hpa.map_err(|Expected(range)| {
        Expected(if inches { range + "; it looks like inches of mercury" } else { range })
    })
}

/// Reads a whole number from `least` to `most`.
pub fn whole<T: TryFrom<u64>>(
    least: u64,
    most: u64,
) -> impl Fn(&str) -> Result<T, Expected> + Clone {
    move |text| {
        let value = text.parse().ok().filter(|value| (least..=most).contains(value));
        let value = value.and_then(|value| T::try_from(value).ok());
        value.ok_or_else(|| Expected(format!("{least} to {most}, a whole number")))
    }
}

/// Reads a random seed, any whole number that fits.
pub fn seed(text: &str) -> Result<u64, Expected> {
    whole(0, u64::MAX)(text)
}

/// Reads `5%` or `0.05` as a share.
pub fn share(text: &str) -> Result<f64, Expected> {
    let (number, scale) = text.strip_suffix('%').map_or((text, 1.0), |number| (number, 0.01));
    let value = number.trim().parse::<f64>().ok().map(|value| value * scale);
    value
        .filter(|value| (0.0..=10.0).contains(value))
        .ok_or_else(|| Expected("a share such as 5% or 0.05, up to 1000%".into()))
}

/// Reads `60/h` or `1/min` as so many a minute.
pub fn rate(text: &str) -> Result<f64, Expected> {
    let (number, per_min) = match text.split_once('/') {
        Some((number, "h")) => (number, 1.0 / 60.0),
        Some((number, "min")) => (number, 1.0),
        _ => ("", 1.0),
    };
    let value = number.trim().parse::<f64>().ok().map(|value| value * per_min);
    value
        .filter(|value| (0.0..=1000.0).contains(value))
        .ok_or_else(|| Expected("a rate such as 60/h or 1/min".into()))
}

/// Reads `1s`, `1 s` or `1` as seconds.
pub fn seconds(text: &str) -> Result<f64, Expected> {
    let number = text.strip_suffix('s').unwrap_or(text);
    let value = number.trim().parse::<f64>().ok();
    value
        .filter(|value| (0.0..=60.0).contains(value))
        .ok_or_else(|| Expected("a time such as 1s, up to 60s".into()))
}

/// Path and kind of a picture.
pub type Drawing = (PathBuf, PlotFormat);

/// Reads the path of a picture; the ending gives its kind.
pub fn drawing() -> impl TypedValueParser<Value = Drawing> {
    PathBufValueParser::new().try_map(|path| plot_format(&path).map(|format| (path, format)))
}

/// The kind of picture for the ending of `path`; SVG for standard output.
fn plot_format(path: &Path) -> Result<PlotFormat, &'static str> {
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_ascii_lowercase());
    match ending.as_deref() {
        Some("svg") => Ok(PlotFormat::Svg),
        Some("png") => Ok(PlotFormat::Png),
        None if path == Path::new("-") => Ok(PlotFormat::Svg),
        _ => Err("found no known ending, expected .svg or .png"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_are_read_with_and_without_their_sign() {
        assert_eq!(share("5%").unwrap(), 0.05);
        assert_eq!(share("0.2").unwrap(), 0.2);
        assert!(share("five").unwrap_err().to_string().contains("expected a share such as 5%"));
        assert!(share("-1%").is_err());
    }

    #[test]
    fn rates_and_times_have_units() {
        assert_eq!(rate("60/h"), Ok(1.0));
        assert_eq!(rate("2/min"), Ok(2.0));
        assert_eq!(seconds("1s"), Ok(1.0));
        assert_eq!(seconds("0.5"), Ok(0.5));
        for text in ["60", "60/d", "/h", "-1/h", "x/min"] {
            assert!(rate(text).unwrap_err().to_string().contains("60/h or 1/min"), "{text}");
        }
        assert!(seconds("1ms").unwrap_err().to_string().contains("such as 1s"));
    }

    #[test]
    fn numbers_are_read_to_the_ends_of_their_range_and_no_further() {
        assert_eq!(number(0.1, 200.0)("0.1"), Ok(0.1));
        assert_eq!(number(0.1, 200.0)("200"), Ok(200.0));
        for text in ["0.09", "200.1", "NaN", "inf", "", "five", "1,5"] {
            let wrong = number(0.1, 200.0)(text).unwrap_err();
            assert_eq!(wrong.to_string(), "expected 0.1 to 200", "{text}");
        }
        assert_eq!(whole(1, 50)("50"), Ok(50_u8));
        for text in ["0", "51", "1.5", "-1", "99999999999999999999"] {
            let wrong = whole::<u8>(1, 50)(text).unwrap_err();
            assert_eq!(wrong.to_string(), "expected 1 to 50, a whole number", "{text}");
        }
    }
}
