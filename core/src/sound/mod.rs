//! From a vertical speed to a sound: which one, when it is on, how loud, and its waveform.

pub(crate) mod beep;
pub(crate) mod cruise;
pub(crate) mod ear;
pub(crate) mod fault;
pub(crate) mod power;
pub(crate) mod pwm;
pub(crate) mod settings;
pub(crate) mod shade;
pub(crate) mod sine;
pub(crate) mod sounder;
pub(crate) mod speaker;
pub(crate) mod timbre;
pub(crate) mod tone;
pub(crate) mod transposed;
pub(crate) mod volume;
pub(crate) mod waveform;
