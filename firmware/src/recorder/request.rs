//! What somebody at a port wants of the recorder.

/// It is answered by whoever has the flash; see [`super::keeper`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Request {
    /// A list of the flights.
    Flights,
    /// The rows of the flight of this number.
    Fetch(u16),
}

/// A request as it was made once.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Asked {
    /// Counts the requests of all ports, so that the same one made again is another.
    pub turn: u32,
    /// What for.
    pub request: Request,
}
