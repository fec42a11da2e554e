//! From heights to motion: the vertical speed, its averages, the climb, the launch, the polar.

pub(crate) mod average;
mod bursts;
pub(crate) mod channel;
pub(crate) mod climb;
pub(crate) mod estimator;
pub(crate) mod fixed;
mod gusts;
pub(crate) mod launch;
mod means;
pub(crate) mod models;
pub(crate) mod noise;
mod outlook;
pub(crate) mod plain;
pub(crate) mod polar;
#[cfg(test)]
mod random;
pub(crate) mod steady;
mod suspicion;
mod track;
