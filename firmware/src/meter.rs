//! What gathers the figures of a sensor while it runs.

/// Gathers a sensor's figures while it runs.
pub trait Meter<M>: Default {
    /// The figures of one window.
    type Figures;

    /// Takes the next measurement.
    fn step(&mut self, measurement: M);
    /// Begins its window again.
    fn restart(&mut self);
    /// The last whole window's figures.
    fn latest(&self) -> Option<Self::Figures>;
}
