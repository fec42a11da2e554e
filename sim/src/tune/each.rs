//! Every recording in turn, two at a time: while one is read the other keeps the cores busy, and no
//! more than two are in memory.

use super::request::Request;
use crate::error::Result;
use crate::recording::Recording;
use rayon::prelude::*;
use std::sync::atomic::AtomicBool;

const TOGETHER: usize = 2;

/// What `of` makes of each recording of the request, in their order.
///
/// # Errors
/// The first error of a recording, or of `of`; an interruption.
pub(super) fn each<T: Send>(
    request: &Request,
    interrupted: &AtomicBool,
    of: impl Fn(Recording) -> Result<T> + Sync,
) -> Result<Vec<T>> {
    let read = |input| {
        let recording = Recording::read_unshown(input, &request.columns, interrupted)?;
        of(recording.segment(request.segment)?)
    };
    let mut all = Vec::with_capacity(request.inputs.len());
    for inputs in request.inputs.chunks(TOGETHER) {
        let some: Vec<Result<T>> = inputs.par_iter().map(read).collect();
        for one in some {
            all.push(one?);
        }
    }
    Ok(all)
}
