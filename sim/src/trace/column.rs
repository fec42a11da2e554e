//! One column of a trace.

use super::number::{self, Field, Style};
use super::unit::{Quantity, Unit};
use chirrup_core::{Metre, pressure_at};

/// One column of a trace: where it is, and the way to the core's unit.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Column {
    /// Place in the row, the first being 0.
    pub index: usize,
    /// Its name in the header, shortened for messages.
    pub name: String,
    /// Its unit.
    pub unit: &'static Unit,
    /// How its numbers are written.
    pub style: Style,
}

impl Column {
    /// The number in a trimmed field.
    pub fn number(&self, text: &[u8]) -> Field {
        number::field(text, self.style)
    }

    /// `value` in the core's unit, an altitude as the standard atmosphere's pressure there; `None`
    /// beyond `f32`.
    pub fn convert(&self, value: f64) -> Option<f32> {
        let converted = self.unit.convert(value) as f32;
        let converted =
            if self.is_altitude() { pressure_at(Metre(converted)).0 } else { converted };
        converted.is_finite().then_some(converted)
    }

    /// Whether it is a pressure altitude.
    pub fn is_altitude(&self) -> bool {
        self.unit.quantity == Quantity::Altitude
    }
}
