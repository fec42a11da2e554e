//! From heights to motion: the vertical speed, its averages, the climb, the launch, the polar.

pub(crate) mod average;
pub(crate) mod climb;
pub(crate) mod estimator;
pub(crate) mod launch;
pub(crate) mod models;
pub(crate) mod noise;
pub(crate) mod polar;
pub(crate) mod steady;
