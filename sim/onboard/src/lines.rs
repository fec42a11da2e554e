//! Bytes of a port as whole lines.

use std::collections::VecDeque;

/// Lines that have come, and the beginning of the next.
#[derive(Clone, Debug, Default)]
pub struct Lines {
    whole: VecDeque<String>,
    begun: Vec<u8>,
}

impl Lines {
    /// Takes bytes as they come.
    pub fn take(&mut self, bytes: &[u8]) {
        for byte in bytes {
            match byte {
                b'\r' => {}
                b'\n' => {
                    let line = std::mem::take(&mut self.begun);
                    self.whole.push_back(String::from_utf8_lossy(&line).into_owned());
                }
                byte => self.begun.push(*byte),
            }
        }
    }

    /// The oldest whole line.
    pub fn next(&mut self) -> Option<String> {
        self.whole.pop_front()
    }
}
