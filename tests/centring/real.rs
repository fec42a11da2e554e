//! Real flights.
