//! What a pilot remembers of what he heard.

/// As long as two slow circles.
const REMEMBERED: usize = 3_000;

/// Every how many steps a value is looked at: ten a second are enough.
pub(super) const EVERY: usize = 5;

/// What was heard lately, and on which heading the pilot believed to be.
#[derive(Clone, Debug)]
pub(super) struct Hearing {
    step_s: f64,
    /// A ring: climb, heading.
    past: Vec<(f64, f64)>,
    count: usize,
}

impl Hearing {
    pub(super) fn new(step_s: f64) -> Self {
        Self { step_s, past: vec![(0.0, 0.0); REMEMBERED], count: 0 }
    }

    /// Takes what sounds now. Silence is taken for no climb.
    pub(super) fn note(&mut self, heard_mps: Option<f64>, heading_rad: f64) {
        self.past[self.count % REMEMBERED] = (heard_mps.unwrap_or(0.0), heading_rad);
        self.count += 1;
    }

    /// Climb heard and heading believed so long ago; the oldest remembered where it was earlier.
    pub(super) fn ago(&self, ago_s: f64) -> (f64, f64) {
        self.steps_ago(self.steps(ago_s))
    }

    /// The same by steps.
    pub(super) fn steps_ago(&self, steps: usize) -> (f64, f64) {
        let last = self.count.saturating_sub(1);
        let steps = steps.min(last).min(REMEMBERED - 1);
        self.past[(last - steps) % REMEMBERED]
    }

    /// Mean climb heard over `count` steps, the latest of them so many steps ago.
    pub(super) fn mean_mps(&self, steps: usize, count: usize) -> f64 {
        let heard = (steps..steps + count).step_by(EVERY).map(|steps| self.steps_ago(steps).0);
        heard.clone().sum::<f64>() / heard.count() as f64
    }

    /// Steps in a time.
    pub(super) fn steps(&self, time_s: f64) -> usize {
        libm::round(time_s / self.step_s) as usize
    }

    /// The most steps ago that can be asked for.
    pub(super) fn oldest(&self) -> usize {
        self.count.min(REMEMBERED).saturating_sub(1)
    }
}
