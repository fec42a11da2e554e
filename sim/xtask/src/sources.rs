//! The sources of the measured numbers, one row each, in the order of the page.

use crate::figures::{self, table};
use crate::measured::Measured;
use crate::release::Release;
use crate::{benches, counts, others};
use anyhow::Result;

/// One source: a section of the page.
pub struct Source {
    /// What the command line calls it.
    pub name: &'static str,
    /// What is done, for whoever waits.
    pub what: &'static str,
    /// The section's heading.
    pub heading: &'static str,
    /// What stands below it.
    pub words: &'static str,
    /// Whether it needs a whole release of this commit.
    pub of_release: bool,
    /// Measures.
    pub measure: fn(&Release) -> Result<Measured>,
}

/// All of them.
pub const SOURCES: [Source; 5] = [
    Source {
        name: "response",
        what: "rough air and tone, by the release build",
        heading: "Rough air and tone",
        words: "\
The same on every machine. `chirrup response --only rough --json` gives the cases in rough air, each
the worst of five flights of ten minutes ([rough air](rough-air.md) says what each is); `chirrup
tone --json` the tone, as an ear by a model hears it.",
        of_release: false,
        measure: |release| Ok(Measured::of(table(&figures::of_program(release)?))),
    },
    Source {
        name: "instructions",
        what: "what was counted, from sim/benches/instructions.json",
        heading: "Instructions",
        words: "\
Of the program for each further sample, counted by valgrind, which shows a program the same
processor everywhere: nearly the same on every machine, whatever else it does. `just
rewrite-instructions` counts them; CI counts again and fails at 5 % more or less (`just
instructions`).",
        of_release: false,
        measure: counts::measured,
    },
    Source {
        name: "speed",
        what: "beside pandas, scipy, polars and numba",
        heading: "Speed beside other libraries",
        words: "\
`just speed`: CPU seconds on one core, everything in one run and in turns, the least of several
rounds. A ratio of 1 or more is met. The libraries do less: a fixed filter, no checks, no averages.
With a load of more than one for each core all figures are too slow; the ratios suffer less.",
        of_release: false,
        measure: others::measured,
    },
    Source {
        name: "bench",
        what: "the benchmarks of just bench",
        heading: "On this machine",
        words: "\
Benchmarks of `just bench`, one core each: the fastest and the median of many runs. The load is that
of the whole machine meanwhile; with more than one for each core the figures are too slow.",
        of_release: false,
        measure: |release| Ok(Measured::of(benches::table(&benches::measured(release)?))),
    },
    Source {
        name: "release",
        what: "sizes of the release and its demonstration",
        heading: "The release",
        words: "\
Files of the release that `cargo xtask dist` makes, and its program making the demonstration. A
release with parts missing, or of another commit, is refused.",
        of_release: true,
        measure: |release| Ok(Measured::of(table(&figures::of_release(release)?))),
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_source_has_a_name_and_a_heading_of_its_own() {
        for (place, source) in SOURCES.iter().enumerate() {
            for other in &SOURCES[place + 1..] {
                assert_ne!(source.name, other.name);
                assert_ne!(source.heading, other.heading);
            }
        }
    }
}
