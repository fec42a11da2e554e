//! Notices by itself when a pressure has been put on a line and is held, and collects a minute of
//! it.
//!
//! ```text
//! WAITING --more than the least--> RISING --steady for 3 s--> SETTLING -15 s-> HOLDING -60 s->
//!    ^                               ^  |                        |                  |        done
//!    +------ less than half the least, counted ----------------- +------------------+
//!                                    +--- a jump, or more than may be, or a rise --+
//!                                         beyond what warmth does
//! ```
//!
//! Fifteen seconds, so that gas warmed by compression has cooled: in a hose it takes a tenth of a
//! second, in a syringe of 20 ml one second, in a bottle of half a litre thirteen (conduction
//! alone, r^2 / 5.8 a with a = 2.1e-5 m2/s); what is left bends the line, which
//! [`super::trend`] sees.

use std::collections::VecDeque;

/// Time that the gas is given to cool, s.
pub const SETTLE_S: f64 = 15.0;
/// Time for which it is held, s.
pub const HOLD_S: f64 = 60.0;
/// A pressure is steady if it changes by no more than this share in [`STEADY_S`].
const STEADY: f64 = 0.03;
const STEADY_S: f64 = 3.0;
/// A change of this share within a second is no leak but a hand.
const JUMP: f64 = 0.05;
/// A rise beyond this in the minute is a hand that still pumps, Pa: what 2 degrees do at sea level
/// (a guess that air in a hose warms by less).
const MOST_RISE_PA: f64 = 2.0 * 101_325.0 / 293.15;
/// Changes below this are noise, Pa.
const NOISE_PA: f64 = 10.0;

/// What the pressure does.
#[derive(Clone, Debug, PartialEq)]
pub enum Step {
    /// None is on the line, or less than the least, or more than the most.
    Waiting,
    /// It is on the line and not yet steady.
    Rising,
    /// It is steady; so many seconds until the measurement begins.
    Settling(f64),
    /// It is being measured; so many seconds are left.
    Holding(f64),
    /// It rose while it was measured, more than air that warms does.
    Pumped,
    /// It was on the line and is gone.
    Lost,
    /// The minute, as times in s and pressures in Pa.
    Done(Vec<(f64, f64)>),
}

/// Watches the pressure of one line.
#[derive(Clone, Debug)]
pub struct Watch {
    least_pa: f64,
    most_pa: f64,
    /// Above this nothing is measured on, Pa.
    harm_pa: f64,
    /// The last few seconds.
    recent: VecDeque<(f64, f64)>,
    /// Whether there is a pressure.
    is_on: bool,
    /// Since when it is steady.
    steady_since_s: Option<f64>,
    held: Vec<(f64, f64)>,
}

impl Watch {
    /// A watch for pressures whose magnitude is in this range when they are steady, Pa, and never
    /// above `harm_pa` while they are held.
    pub fn new((least_pa, most_pa): (f64, f64), harm_pa: f64) -> Self {
        Self {
            least_pa,
            most_pa,
            harm_pa,
            recent: VecDeque::new(),
            is_on: false,
            steady_since_s: None,
            held: Vec::new(),
        }
    }

    /// Takes the next pressure, which is positive in the direction that is asked for.
    pub fn take(&mut self, time_s: f64, pressure_pa: f64) -> Step {
        self.recent.push_back((time_s, pressure_pa));
        while self.recent.front().is_some_and(|(first, _)| time_s - first > STEADY_S) {
            self.recent.pop_front();
        }
        let now_pa = self.mean(time_s - 1.0, time_s);
        if now_pa < 0.5 * self.least_pa && self.is_on {
            *self = Self::new((self.least_pa, self.most_pa), self.harm_pa);
            return Step::Lost;
        }
        self.is_on |= now_pa >= self.least_pa && now_pa <= self.most_pa;
        if !self.is_on {
            return Step::Waiting;
        }
        match self.steady_since_s {
            None => self.rise(time_s, now_pa),
            Some(since_s) => self.hold(time_s - since_s, (time_s, pressure_pa), now_pa),
        }
    }

    fn rise(&mut self, time_s: f64, now_pa: f64) -> Step {
        let before_pa = self.mean(time_s - STEADY_S, time_s - STEADY_S + 1.0);
        let is_full = self.recent.front().is_some_and(|(t, _)| time_s - t > 0.9 * STEADY_S);
        let most = (STEADY * now_pa).max(NOISE_PA);
        let is_in_range = (self.least_pa..=self.most_pa).contains(&now_pa);
        if is_full && (now_pa - before_pa).abs() <= most && is_in_range {
            self.steady_since_s = Some(time_s);
        }
        Step::Rising
    }

    fn hold(&mut self, steady_s: f64, sample: (f64, f64), now_pa: f64) -> Step {
        let before_pa = self.mean(sample.0 - 2.0, sample.0 - 1.0);
        let is_jump = (now_pa - before_pa).abs() > (JUMP * now_pa).max(NOISE_PA);
        if is_jump || now_pa > self.harm_pa {
            return self.again(Step::Rising);
        }
        if self.held.first().is_some_and(|(_, first_pa)| now_pa - first_pa > MOST_RISE_PA) {
            return self.again(Step::Pumped);
        }
        if steady_s < SETTLE_S {
            return Step::Settling(SETTLE_S - steady_s);
        }
        self.held.push(sample);
        if steady_s < SETTLE_S + HOLD_S {
            return Step::Holding(SETTLE_S + HOLD_S - steady_s);
        }
        Step::Done(std::mem::take(&mut self.held))
    }

    fn again(&mut self, step: Step) -> Step {
        self.steady_since_s = None;
        self.held.clear();
        step
    }

    /// Mean of the recent pressures between two times; that of the last one if there are none.
    fn mean(&self, from_s: f64, to_s: f64) -> f64 {
        let within = self.recent.iter().filter(|(t, _)| (from_s..=to_s).contains(t));
        let (count, sum) = within.fold((0.0, 0.0), |(count, sum), (_, p)| (count + 1.0, sum + p));
        let last = self.recent.back().map_or(0.0, |(_, p)| *p);
        if count > 0.0 { sum / count } else { last }
    }
}
