//! The bench's words for somebody who calls functions: arguments for options, functions for
//! commands.

/// What the program would say, and what is said here.
const NAMES: [(&str, &str); 5] = [
    ("run `chirrup fly --list`", "chirrup.scenarios() lists them"),
    ("`chirrup fly pull-ups --show` prints", "chirrup.scenario(\"pull-ups\") is"),
    ("`chirrup settings` lists them all", "chirrup.Settings().toml() lists them all"),
    ("--yes writes it all, or fly it with a lower --sensor-rate", "give a lower sensor_rate_hz"),
    ("--segment ", "segment="),
];
const COLUMNS: &str = "--columns";

/// `text` of the bench in the words of Python.
pub fn in_python(text: &str) -> String {
    let named = NAMES.iter().fold(text.to_owned(), |text, (from, to)| text.replace(from, to));
    let mut parts = named.split(COLUMNS);
    let mut made = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        made += "columns";
        match part.strip_prefix(' ').and_then(word) {
            Some((value, rest)) => {
                let escaped = value.replace('\\', "\\\\").replace('"', "\\\"");
                made += &format!("=\"{escaped}\"{rest}");
            }
            None => made += part,
        }
    }
    made
}

/// The shell's word at the beginning of `text`, and what follows; `None` where it is no value of
/// the option, which always has an equals sign.
fn word(text: &str) -> Option<(String, &str)> {
    let Some(mut rest) = text.strip_prefix('\'') else {
        let end = text.find([' ', ';', ')']).unwrap_or(text.len());
        let (value, rest) = text.split_at(end);
        return value.contains('=').then(|| (value.to_owned(), rest));
    };
    let mut value = String::new();
    loop {
        let (part, behind) = rest.split_once('\'')?;
        value += part;
        // The shell's way of a quote in quotes.
        let Some(more) = behind.strip_prefix(r"\''") else { return Some((value, behind)) };
        value.push('\'');
        rest = more;
    }
}
