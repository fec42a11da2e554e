//! A number found by bisection, to turn a sensor's arithmetic round.

/// The least number of a span for which `is_enough` holds, if it holds from somewhere on.
pub(super) fn least((mut low, mut high): (u32, u32), is_enough: impl Fn(u32) -> bool) -> u32 {
    while low < high {
        let middle = low + (high - low) / 2;
        if is_enough(middle) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    low
}
