//! What a recording is like: `chirrup inspect`.

pub mod energy_fit;
pub mod noise;
pub mod series;
pub mod timing;
pub mod track;
