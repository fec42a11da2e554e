//! What one source of the measured numbers gave.

/// What a source gave.
pub struct Measured {
    /// Its table.
    pub table: String,
    /// What the table of the machine says besides: what, value.
    pub further: Vec<(String, String)>,
}

impl Measured {
    /// A table alone.
    pub fn of(table: String) -> Self {
        Self { table, further: Vec::new() }
    }
}
