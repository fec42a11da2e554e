//! Estimates the compensation of total energy and the lateness of the channels from a recording's
//! own speed changes, each with an interval that covers.
//!
//! In a pull-up height and kinetic height are exchanged; the rest is drag and the air's motion:
//!
//! ```text
//! dK/dt = -c (dh/dt + S - w) + gusts             K a source's own height, late by d
//! dh/dt = rate of the altitude, S the glider's own sink, w the air's vertical speed
//! compensation_percent = 100 / c
//! ```
//!
//! A probe's line holds the sum, so that its rate is (1 - c) dh/dt - c (S - w); what follows holds
//! for both. What is not known is estimated together, as a Gaussian posterior whose prior is what a
//! gliding engineer would grant before seeing the recording:
//!
//! ```text
//! unknown            prior, one standard deviation        why
//! c                  1 +- 0.15, of a probe 0.25           a pitot's, a probe's usual error
//! d                  0 +- 3 s, of a probe 0.3 s           lines and recorders
//! parasitic drag     +- 20 % of a usual glider            the polar of the glider is seldom known,
//! induced drag       +- 20 % of it                        and grows differently with the load;
//! law beyond it      all of it or none, +- 1              with a polar of its own, half of these
//! lift with speed    +- 0.06 m/s a metre of K             a pilot is slow where the air rises,
//! lift with pulling  +- 0.06 the same, 4 s away           and pulls up as it begins
//! smear              +- 0.3 s2                            a channel smoothed more than the other
//! ```
//!
//! The priors are guesses. Both lift terms fade above 1 / (4 s), where pilots cannot follow; what a
//! delay does grows there, which tells them apart. Without them a dolphin flight gave 105 %.
//!
//! It is done in the frequency domain: spectra of pieces of 40 s (Welch), periods of 2.5 to 21 s,
//! in which pilots pull and push, none below six samples. Gusts along the path are `(V omega /
//! g)^2` of the vertical ones, since turbulence is about equal in all directions: so the source,
//! which has them, is regressed on the height, and what the vertical ones add to the height's own
//! power is subtracted (the usual correction for errors in a regressor). A pilot who chases the
//! airspeed, or a trimmed glider, turns some of a gust's kinetic height into height a little later,
//! which looks like lateness: 0.1 +- 0.06 of it a second is allowed for. The noise is the
//! residual's own spectrum, never less than what calm air leaves unknown, and its size in each
//! piece: one piece in a thermal counts little beside six in calm air. Where the residual at a
//! frequency goes with the height by more than noise would, height and source do not follow one law
//! (a recorder that smooths one of them): the likelihood is tempered by that misfit, and beyond
//! [`MOST_MISFIT`] the fit is not for a setting.
//!
//! **What the interval means.** The value plus and minus 1.96 errors covers 95 %: of 200 planted
//! gliders with drags up to 20 % off, delays of -0.3 to 1.5 s, gusts and flights along a street,
//! `tests/energy_cover` counts how many.
//!
//! Source: Welch 1967; Fuller, Measurement Error Models, 1987 (the subtraction);
//! Gelman, Bayesian Data Analysis (the posterior of a linear model); all from memory. Isotropic
//! turbulence is the usual first model in textbooks.
//!
//! | file | what |
//! |---|---|
//! | `waves` | a series moved and differentiated exactly |
//! | `sink` | the glider's own sink, in its unknown parts |
//! | `pieces` | which pieces have a change of speed; their spectra |
//! | `model` | the unknowns and what each does to the source |
//! | `estimate` | the posterior, the noise, the misfit |
//! | `solve` | small symmetric systems |

mod estimate;
mod model;
mod pieces;
mod sink;
mod solve;
mod waves;

use super::track::Track;
use chirrup_core::EnergySource;
use chirrup_core::stages::Polar;
use estimate::Estimate;
pub use estimate::MOST_MISFIT;
use model::Channels;
use serde::Serialize;

/// So many standard errors on both sides cover 95 % of a normal distribution (any table).
pub const COVERS_95: f64 = 1.96;
/// Less explained than this is air, not speed changes (a guess).
const LEAST_EXPLAINED: f64 = 0.6;
/// Wider errors than these say nothing that a setting could use (guesses).
const MOST_PERCENT_ERROR: f64 = 10.0;
const MOST_LATE_ERROR_MS: f64 = 100.0;
/// Samples further apart show no pull-up.
const SLOWEST_S: f64 = 2.0;

/// The energy fit of a recording.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct EnergyFit {
    /// The source: `electronic` or `probe`.
    pub source: &'static str,
    /// Number of pieces of 40 s, overlapping by half, with a sufficient speed change.
    pub manoeuvres: usize,
    /// The `compensation_percent` that leaves the least of the speed changes in the reading.
    pub percent: f64,
    /// Its standard error.
    pub percent_error: f64,
    /// The part of it that all recordings of the glider have in common: its drag and its pilot.
    #[serde(skip)]
    pub percent_shared: f64,
    /// How late the airspeed is against the static pressure; absent for a probe, whose line already
    /// holds the sum: in calm air it hardly changes, so its lateness can neither be seen nor
    /// matter.
    pub late: Option<Late>,
    /// Share of the variance of the source's rate, at the periods that count, that the height's
    /// explains.
    pub explained: f64,
    /// How much more of the residual goes with the height than noise would, as a ratio of
    /// variances; about 1 or less where height and speed follow one law.
    pub misfit: f64,
    /// Whether it is good enough for a setting; see [`EnergyFit::is_telling`].
    pub telling: bool,
}

impl EnergyFit {
    /// Whether it is good enough for a setting: the speed changes stand out of the air's motion,
    /// height and speed follow one law, and the errors are small enough to be of use. Only of such
    /// a fit are the errors tested.
    pub fn is_telling(&self) -> bool {
        self.telling
    }

    /// Why not, where it is not.
    pub fn why_not(&self) -> Option<WhyNot> {
        let is_late_known = self.late.is_none_or(|late| late.error_ms <= MOST_LATE_ERROR_MS);
        if self.misfit > MOST_MISFIT {
            Some(WhyNot::NoOneLaw)
        } else if self.explained < LEAST_EXPLAINED {
            Some(WhyNot::Air)
        } else if self.percent_error > MOST_PERCENT_ERROR || !is_late_known {
            Some(WhyNot::Wide)
        } else {
            None
        }
    }
}

/// Why a fit is not good enough for a setting.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WhyNot {
    /// Height and speed do not follow one law at all periods: a recorder smooths one of them.
    NoOneLaw,
    /// The air moved more than the speed changes did.
    Air,
    /// The errors are too large to be of use.
    Wide,
}

/// How late a source is against the static pressure.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Late {
    /// In milliseconds; negative where the static pressure is later.
    pub ms: f64,
    /// Its standard error.
    pub error_ms: f64,
    /// The part of it that all recordings of the glider have in common: its drag and its pilot.
    #[serde(skip)]
    pub shared_ms: f64,
}

/// The most that `airspeed_delay_ms` and `static_delay_ms` hold.
pub const MOST_DELAY_MS: f64 = 500.0;

/// The sentence about a lateness in ms, with its standard error, that no setting can hold.
pub(crate) fn too_late(late_ms: f64, error_ms: f64) -> String {
    let (line, other, key) = if late_ms > 0.0 {
        ("airspeed", "static pressure", "airspeed_delay_ms")
    } else {
        ("static pressure", "airspeed", "static_delay_ms")
    };
    format!(
        "the {line} comes {:.0} ms (± {:.0}, 95 % sure) later than the {other}, and {key} ends at \
         {MOST_DELAY_MS:.0}: no setting corrects that and none is changed; look for a long or \
         narrow line, or a recorder that smooths, and record it again",
        late_ms.abs(),
        COVERS_95 * error_ms
    )
}

/// Why there is no fit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NoFit {
    /// The recording has neither airspeed nor probe.
    NoSource,
    /// Fewer than four pieces with a speed change.
    TooFewManoeuvres,
    /// Less than one sample in two seconds.
    TooSlow,
}

/// Fits the speed changes of `track`. The polar is the glider's, or a typical one is taken.
///
/// # Errors
/// The reason why there is no fit.
pub fn fit(track: &Track, source: EnergySource, polar: Option<&Polar>) -> Result<EnergyFit, NoFit> {
    let is_probe = source == EnergySource::Probe;
    let heights = if is_probe { &track.probe_m } else { &track.kinetic_m };
    if heights.is_empty() || source == EnergySource::None {
        return Err(NoFit::NoSource);
    }
    let step_s = usual_step_s(&track.times_s);
    if step_s > SLOWEST_S {
        return Err(NoFit::TooSlow);
    }
    let channels = Channels::of(track, is_probe, step_s, polar).ok_or(NoFit::TooFewManoeuvres)?;
    let Estimate { gain, gain_error, late_s, late_error_s, manoeuvres, explained, misfit } =
        estimate::of(&channels).ok_or(NoFit::TooFewManoeuvres)?;
    let fit = EnergyFit {
        source: source.name(),
        manoeuvres,
        percent: 100.0 / gain,
        percent_error: 100.0 * gain_error.whole / (gain * gain),
        percent_shared: 100.0 * gain_error.shared / (gain * gain),
        late: (!is_probe).then_some(Late {
            ms: 1e3 * late_s,
            error_ms: 1e3 * late_error_s.whole,
            shared_ms: 1e3 * late_error_s.shared,
        }),
        explained,
        misfit,
        telling: false,
    };
    Ok(EnergyFit { telling: fit.why_not().is_none(), ..fit })
}

/// The median time between samples: pauses do not count.
fn usual_step_s(times_s: &[f64]) -> f64 {
    let mut steps: Vec<f64> = times_s.windows(2).map(|pair| pair[1] - pair[0]).collect();
    if steps.is_empty() {
        return f64::INFINITY;
    }
    let middle = steps.len() / 2;
    *steps.select_nth_unstable_by(middle, f64::total_cmp).1
}
