//! What somebody at a port wants of the recorder.

/// It is answered by whoever has the flash; see [`super::keeper`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Request {
    /// A list of the flights.
    Flights,
    /// The rows of the flight of this number.
    Fetch(u16),
}
