//! Work without the interpreter's lock, which Ctrl-C ends.

use crate::errors::{raised, refused};
use chirrup::error::Result;
use pyo3::prelude::*;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{self, RecvTimeoutError};
use std::thread;
use std::time::Duration;

/// Time between two looks for a signal: nobody notices that Ctrl-C waits for it.
const LOOK: Duration = Duration::from_millis(50);

/// Does `work` in a thread of its own; raises what it is given when a signal's handler raises, such
/// as Ctrl-C's.
///
/// # Errors
/// Those of `work`, and those of a signal's handler.
pub fn run<T: Send>(
    py: Python<'_>,
    work: impl FnOnce(&AtomicBool) -> Result<T> + Send,
) -> PyResult<T> {
    let interrupted = AtomicBool::new(false);
    let (ended, signal) = py.detach(|| {
        thread::scope(|scope| {
            let (end, ends) = mpsc::channel::<()>();
            let flag = &interrupted;
            let worker = scope.spawn(move || {
                // Dropped at the end, which the other side sees.
                let _end = end;
                work(flag)
            });
            let signal = wait(&ends, flag);
            (worker.join(), signal)
        })
    });
    match (ended, signal) {
        (_, Some(signal)) => Err(signal),
        (Ok(result), None) => result.map_err(raised),
        (Err(_), None) => Err(refused(
            "a fault in chirrup itself, not in what it was given; please report it with the trace",
        )),
    }
}

/// Waits for the end of the work; what a signal's handler raised meanwhile.
fn wait(ends: &mpsc::Receiver<()>, interrupted: &AtomicBool) -> Option<PyErr> {
    loop {
        match ends.recv_timeout(LOOK) {
            Err(RecvTimeoutError::Timeout) => {
                if let Err(signal) = Python::attach(|py| py.check_signals()) {
                    interrupted.store(true, Ordering::Relaxed);
                    return Some(signal);
                }
            }
            Ok(()) | Err(RecvTimeoutError::Disconnected) => return None,
        }
    }
}
