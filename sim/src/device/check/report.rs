//! The report for people, and the verdict that becomes the exit code.

use super::finding::{Finding, Verdict};
use crate::error::{Error, Result};
use crate::words::shown_path;
use std::path::Path;

/// The report for people; and an error if anything failed, or if a line that was asked for is not
/// known to be tight.
pub fn report(path: &Path, findings: &[Finding]) -> (String, Result<()>) {
    let text: String = findings.iter().map(ToString::to_string).collect();
    let failed = names(findings, |one| one.verdict == Verdict::Failed);
    let unclear = names(findings, |one| one.verdict == Verdict::Unclear && one.line.is_some());
    let parts = [("failed", failed), ("unclear", unclear)];
    let parts = parts.into_iter().filter(|(_, names)| !names.is_empty());
    let parts: Vec<String> = parts.map(|(word, names)| format!("{word}: {names}")).collect();
    let verdict = if parts.is_empty() {
        Ok(())
    } else {
        Err(Error::Refused(format!("{}: {}", shown_path(path), parts.join("; "))))
    };
    (text + &last_line(findings), verdict)
}

fn names(findings: &[Finding], is_wanted: impl Fn(&Finding) -> bool) -> String {
    let wanted = findings.iter().filter(|one| is_wanted(one)).map(|one| one.what.as_str());
    wanted.collect::<Vec<&str>>().join(", ")
}

/// How many of each verdict, and which lines are not known.
fn last_line(findings: &[Finding]) -> String {
    let verdicts = [Verdict::Passed, Verdict::Unclear, Verdict::Failed];
    let counts = verdicts.map(|verdict| {
        let count = findings.iter().filter(|one| one.verdict == verdict).count();
        (count > 0).then(|| format!("{count} {}", verdict.word()))
    });
    let counts = counts.into_iter().flatten().collect::<Vec<String>>().join(", ");
    let unclear = findings.iter().filter(|one| one.verdict == Verdict::Unclear);
    let lines = unclear.filter_map(|one| {
        let is = if one.value.is_some() { "is not known to be tight" } else { "was not tested" };
        Some(format!("the {} line {is}", one.line?.name()))
    });
    let lines = lines.collect::<Vec<String>>().join(", ");
    let colon = if lines.is_empty() { "" } else { ": " };
    format!("{counts}{colon}{lines}\n")
}

#[cfg(test)]
mod tests {
    use super::super::finding::Measured;
    use super::super::leak::Line;
    use super::*;

    #[test]
    fn a_line_that_was_asked_for_and_is_not_known_is_named_and_no_success() {
        let found = |what: &str, line, value, verdict| Finding {
            what: what.to_owned(),
            line,
            value,
            measured: String::new(),
            expected: String::new(),
            verdict,
            advice: String::new(),
        };
        let told = |findings: &[Finding]| {
            let (text, verdict) = report(Path::new("/dev/x"), findings);
            let last = text.lines().last().expect("there are lines").to_owned();
            (last, verdict.err().map(|error| error.to_string()))
        };
        let good = found("self-test", None, None, Verdict::Passed);
        let noise = found("noise", None, None, Verdict::Unclear);
        assert_eq!(told(&[good.clone(), noise.clone()]), ("1 passed, 1 unclear".into(), None));
        let value = Some(Measured { value: 300.0, uncertainty: 200.0, unit: "Pa/min" });
        let vague = found("leak of the pitot line", Some(Line::Pitot), value, Verdict::Unclear);
        let absent = found("leak of the static line", Some(Line::Static), None, Verdict::Unclear);
        let (last, error) = told(&[good.clone(), vague, absent]);
        assert_eq!(
            last,
            "1 passed, 2 unclear: the pitot line is not known to be tight, the static line was \
             not tested"
        );
        let error = error.expect("it is no success");
        let lines = "unclear: leak of the pitot line, leak of the static line";
        assert!(error.ends_with(lines), "{error}");
        let bad = found("pitot zero", None, None, Verdict::Failed);
        let (last, error) = told(&[good, bad]);
        assert_eq!(last, "1 passed, 1 FAILED");
        assert!(error.is_some_and(|error| error.ends_with("failed: pitot zero")));
    }
}
