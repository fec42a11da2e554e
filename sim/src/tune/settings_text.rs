//! Settings as a TOML file, with the reasons for them as comments.

use crate::error::{Error, Result};
use chirrup_core::settings::Settings;

/// The text of `settings`, after comments of one line each.
///
/// # Errors
/// None that checked settings can cause.
pub fn toml_of(settings: &Settings, comments: &[String]) -> Result<String> {
    let refused = |error: toml::ser::Error| Error::Refused(error.to_string());
    let mut table = toml::Table::try_from(settings).map_err(refused)?;
    table.iter_mut().for_each(|(_, value)| shorten(value));
    let comments: String = comments
        .iter()
        .map(|comment| format!("# {}\n", comment.replace(char::is_control, " ")))
        .collect();
    Ok(comments + "\n" + &toml::to_string(&table).map_err(refused)?)
}

/// The fewest digits that mean the same `f32`: 0.3 and not 0.30000001192092896.
fn shorten(value: &mut toml::Value) {
    match value {
        toml::Value::Float(number) => {
            *number = (*number as f32).to_string().parse().unwrap_or(*number)
        }
        toml::Value::Array(values) => values.iter_mut().for_each(shorten),
        toml::Value::Table(table) => table.iter_mut().for_each(|(_, value)| shorten(value)),
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_reads_back_the_same_and_in_few_digits() {
        let settings = Settings { response_s: 0.37, ..Settings::default() };
        let text = toml_of(&settings, &["tuned".into()]).unwrap();
        assert!(text.starts_with("# tuned\n\n") && text.contains("response_s = 0.37\n"), "{text}");
        assert_eq!(toml::from_str::<Settings>(&text).unwrap(), settings);
    }
}
