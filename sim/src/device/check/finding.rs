//! What a check found: a line of the report, with its verdict and what to do.

use super::leak::Line;
use serde::Serialize;
use std::fmt::{self, Display, Formatter};

/// Whether something is as it should be.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// As it should be.
    Passed,
    /// Not known well enough to say, or worth a look.
    Unclear,
    /// Not as it should be.
    Failed,
}

impl Verdict {
    /// The word in the report.
    pub fn word(self) -> &'static str {
        match self {
            Verdict::Passed => "passed",
            Verdict::Unclear => "unclear",
            Verdict::Failed => "FAILED",
        }
    }
}

/// A quantity with the half width of the interval that holds it 19 times in 20.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Measured {
    /// The value.
    pub value: f64,
    /// Half the width of its interval; 0 where it is not estimated.
    pub uncertainty: f64,
    /// Its unit.
    pub unit: &'static str,
}

/// One thing that was checked.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finding {
    /// What was checked.
    pub what: String,
    /// The line that was asked for, where it is about a leak.
    pub line: Option<Line>,
    /// The quantity that was judged; none where there is only a word.
    pub value: Option<Measured>,
    /// What was measured, for people.
    pub measured: String,
    /// What it should be.
    pub expected: String,
    /// The verdict.
    pub verdict: Verdict,
    /// What to do; empty where it passed.
    pub advice: String,
}

impl Finding {
    /// The same without advice where none is needed.
    pub fn settled(self) -> Self {
        let is_good = self.verdict == Verdict::Passed;
        Self { advice: if is_good { String::new() } else { self.advice }, ..self }
    }
}

impl Display for Finding {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let Self { what, measured, expected, verdict, advice, .. } = self;
        writeln!(f, "{:<8} {what}: {measured}", verdict.word())?;
        for (word, text) in [("should be", expected), ("do", advice)] {
            if !text.is_empty() {
                writeln!(f, "         {word}: {text}")?;
            }
        }
        Ok(())
    }
}
