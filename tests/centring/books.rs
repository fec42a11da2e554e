//! What the book says.
