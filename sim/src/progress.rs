//! A progress bar on standard error, for runs longer than a second.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::cell::Cell;
use std::io::{IsTerminal, stderr};
use std::rc::Rc;
use std::time::{Duration, Instant};

/// Time before the bar is shown.
const PATIENCE: Duration = Duration::from_secs(1);
/// Calls between two looks at the clock.
const STRIDE: u32 = 1_024;

/// Progress through a trace, by its bytes.
pub struct Progress {
    bar: ProgressBar,
    read: Rc<Cell<u64>>,
    started: Instant,
    calls: u32,
}

impl Progress {
    /// A bar over `length` bytes, or a bare count where the length is not known, fed by the counter
    /// `read`.
    pub fn new(length: Option<u64>, read: Rc<Cell<u64>>) -> Self {
        let template = match length {
            Some(_) => "{wide_bar} {percent:>3} % {eta} left",
            None => "{spinner} {bytes} read",
        };
        Self::shown_as(template, length, read)
    }

    /// A bare count of something else than bytes, shown by indicatif's `template`, fed by the
    /// counter `done`.
    pub fn counting(template: &str, done: Rc<Cell<u64>>) -> Self {
        Self::shown_as(template, None, done)
    }

    fn shown_as(template: &str, length: Option<u64>, read: Rc<Cell<u64>>) -> Self {
        let style =
            ProgressStyle::with_template(template).unwrap_or_else(|_| ProgressStyle::default_bar());
        let bar =
            ProgressBar::with_draw_target(length, ProgressDrawTarget::hidden()).with_style(style);
        Self { bar, read, started: Instant::now(), calls: 0 }
    }

    /// To be called for every sample; cheap.
    pub fn tick(&mut self) {
        self.calls = self.calls.wrapping_add(1);
        if self.calls.is_multiple_of(STRIDE) {
            self.show();
        }
    }

    fn show(&mut self) {
        if self.bar.is_hidden() && self.started.elapsed() > PATIENCE && stderr().is_terminal() {
            self.bar.set_draw_target(ProgressDrawTarget::stderr());
        }
        self.bar.set_position(self.read.get());
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}

/// Progress through so many pieces of work, from any thread.
pub struct Work {
    bar: ProgressBar,
    started: Instant,
}

impl Work {
    /// A bar over `pieces`.
    pub fn new(pieces: u64) -> Self {
        let style = ProgressStyle::with_template("{wide_bar} {pos} of {len} {eta} left");
        let style = style.unwrap_or_else(|_| ProgressStyle::default_bar());
        let bar = ProgressBar::with_draw_target(Some(pieces), ProgressDrawTarget::hidden())
            .with_style(style);
        Self { bar, started: Instant::now() }
    }

    /// One piece is done.
    pub fn step(&self) {
        if self.bar.is_hidden() && self.started.elapsed() > PATIENCE && stderr().is_terminal() {
            self.bar.set_draw_target(ProgressDrawTarget::stderr());
        }
        self.bar.inc(1);
    }
}

impl Drop for Work {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}
