//! Whether a file is an IGC log: by the ending of its name, else by its first lines.

use super::record;
use crate::trace::first::is_passed_over;
use crate::trace::lines::UTF8_MARK;

/// As many lines are looked at, blank ones and comments apart (a guess): a log has its date in its
/// second line or soon after.
const MOST_LINES: usize = 64;

/// Whether this is an IGC file.
///
/// One that is named `.csv` is told by its first line, the recorder's, and a later one. `start` may
/// be as much of the file as is at hand, if it is clear or no more is to be had.
pub fn looks_like_igc(name: &str, start: &[u8]) -> bool {
    judged(name, lines_of(start)).unwrap_or(false)
}

/// Whether the whole lines of `start` suffice for [`looks_like_igc`], whatever comes behind them.
pub(in crate::trace) fn is_clear(name: &str, start: &[u8]) -> bool {
    let end = start.iter().rposition(|byte| matches!(byte, b'\n' | b'\r'));
    let whole = end.into_iter().flat_map(|end| lines_of(&start[..end]));
    judged(name, whole).is_some()
}

fn lines_of(start: &[u8]) -> impl Iterator<Item = &[u8]> {
    let text = start.strip_prefix(UTF8_MARK).unwrap_or(start);
    text.split(|byte| matches!(byte, b'\n' | b'\r'))
}

/// What the first line that decides says; `None` where none of them does.
fn judged<'a>(name: &str, lines: impl Iterator<Item = &'a [u8]>) -> Option<bool> {
    let name = name.to_ascii_lowercase();
    let has_ending = |ending: &str| name.strip_suffix(".gz").unwrap_or(&name).ends_with(ending);
    if has_ending(".igc") {
        return Some(true);
    }
    let (is_named_csv, mut has_recorder, mut seen) = (has_ending(".csv"), false, 0);
    for (index, line) in lines.enumerate() {
        has_recorder |= index == 0 && is_recorder(line);
        if is_named_csv && !has_recorder {
            return Some(false);
        }
        if is_of_a_log(line) {
            return Some(true);
        }
        seen += usize::from(!is_passed_over(line));
        if seen >= MOST_LINES || !has_recorder && is_of_a_table(line) {
            return Some(false);
        }
    }
    None
}

/// The date or a fix.
fn is_of_a_log(line: &[u8]) -> bool {
    record::date(line).is_some()
        || (line.first() == Some(&b'B') && record::fix(line.trim_ascii_end()).is_ok())
}

/// The maker and the number of a flight recorder.
fn is_recorder(line: &[u8]) -> bool {
    let is_code = |byte: &u8| byte.is_ascii_uppercase() || byte.is_ascii_digit();
    line.first() == Some(&b'A')
        && line.get(1..4).is_some_and(|maker| maker.iter().all(is_code))
        && !line.iter().any(separates)
}

/// Several fields, of which the first does not begin as a record does.
fn is_of_a_table(line: &[u8]) -> bool {
    let is_record = line.first().is_some_and(u8::is_ascii_uppercase);
    !is_record && !is_passed_over(line) && line.iter().any(separates)
}

fn separates(byte: &u8) -> bool {
    matches!(byte, b',' | b';' | b'\t' | b'|')
}
