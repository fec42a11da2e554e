//! A climb's centring in a few lines.
