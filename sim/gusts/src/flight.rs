//! A recording, as it is taken apart.

/// What stands beside the height.
#[derive(Clone, Copy, Debug)]
pub enum Beside<'a> {
    /// The kinetic height of the airspeed, V^2/2g, m.
    Kinetic(&'a [f64]),
    /// The energy height of a total-energy probe, m.
    Energy(&'a [f64]),
}

/// A recording on an even grid; as many values in each, two at least.
#[derive(Clone, Copy, Debug)]
pub struct Flight<'a> {
    /// From one value to the next, s: 1 s is enough, and quicker ones are mostly sensor noise.
    pub step_s: f64,
    /// Heights, m, each the mean about its moment.
    pub height_m: &'a [f64],
    /// What stands beside them.
    pub beside: Beside<'a>,
    /// Standard deviation of the sensor's noise in a height, and in what stands beside it, m.
    pub noise_m: [f64; 2],
}
