//! What is wrong with a scenario, in one line.

use std::fmt;

/// What is wrong with a scenario: the file as its reader named it, the line, the key, what was
/// found and what was expected, in one line.
#[derive(Clone, Debug, Eq, PartialEq)]
pub struct Wrong(pub(super) String);

impl fmt::Display for Wrong {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for Wrong {}
