//! What the samples of a trace hold and lack, for those who would trust it: taken as they come.
//!
//! ```text
//! no airspeed       none in the samples; or one that never changes, or stays below 8 m/s, while
//!                   the height changes by 50 m in a minute or more: not a measurement
//! no probe          none in the samples
//! dead pressure     the same from the first sample on for 10 s and 10 samples or more, and then,
//!                   if it ever changes, in steps finer than 2 Pa and hardly ever the same twice
//! ```
//!
//! The figures are guesses.

use chirrup_core::stages::{AirData, Held, NO_SPEED};
use chirrup_core::{Micros, Pascal, Sample, Speed, pressure_altitude};

const CHANGES_M: f32 = 50.0;
const LASTS: Micros = Micros(60_000_000);
/// Values that differ by less are the same number, written in another way.
const SAME: f32 = 1e-4;
const REPEATS_FOR: Micros = Micros(10_000_000);
const REPEATS: u32 = 10;
/// A sensor that repeats itself more often comes in coarse steps.
const COARSE_SHARE: f64 = 0.2;
/// A recorder of whole metres stands still on the ground: 1 m is 12 Pa there.
const COARSE_PA: f32 = 2.0;
/// So far within the pressures so far a pressure is no new height: heights are right to 1.5 cm, and
/// a pascal is 8 cm or more.
const WITHIN_PA: f32 = 1.0;

/// What the samples hold so far.
#[derive(Clone, Copy, Debug, Default)]
pub struct Contents {
    from: Option<Micros>,
    to: Micros,
    height_m: Option<Span>,
    pressure_pa: Option<Span>,
    /// As it is written, in its own unit.
    speed: Option<Span>,
    fastest_mps: f32,
    has_probe: bool,
    pressure: Pressure,
    /// What came without a static pressure belongs to the next sample that has one.
    held: Held,
}

#[derive(Clone, Copy, Debug)]
struct Span {
    low: f32,
    high: f32,
}

impl Span {
    fn with(span: Option<Self>, value: f32) -> Option<Self> {
        let Self { low, high } = span.unwrap_or(Self { low: value, high: value });
        Some(Self { low: low.min(value), high: high.max(value) })
    }

    fn is_one_value(self) -> bool {
        self.high - self.low <= SAME * self.high.abs().max(self.low.abs())
    }
}

/// The run of one pressure from the first sample on, and how often it repeats after.
#[derive(Clone, Copy, Debug, Default)]
struct Pressure {
    first_pa: f32,
    last_pa: f32,
    count: u32,
    run: u32,
    run_until: Micros,
    is_over: bool,
    after: u64,
    repeats: u64,
    /// The least change; none where it is 0.
    step_pa: f32,
}

impl Contents {
    /// Takes a sample, used or not.
    pub fn take(&mut self, sample: &Sample) {
        let sample = &self.held.fill(sample);
        let Some(pressure) = sample.usable_static_pressure() else { return };
        self.from.get_or_insert(sample.time);
        self.to = sample.time;
        self.take_height(pressure);
        if let Some(speed) = sample.usable_speed() {
            let written = match speed {
                Speed::Dynamic(pressure) => pressure.0,
                Speed::True(speed) | Speed::Calibrated(speed) => speed.0,
            };
            self.speed = Span::with(self.speed, written);
            self.take_true_airspeed(sample);
        }
        self.has_probe |= sample.usable_te_pressure().is_some();
        self.pressure.take(pressure.0, sample.time);
    }

    fn take_height(&mut self, pressure: Pascal) {
        let is_within =
            |span: Span| (span.low + WITHIN_PA..span.high - WITHIN_PA).contains(&pressure.0);
        if !self.pressure_pa.is_some_and(is_within) {
            self.height_m = Span::with(self.height_m, pressure_altitude(pressure).0);
            self.pressure_pa = Span::with(self.pressure_pa, pressure.0);
        }
    }

    /// Only whether it ever flies counts, so that one such sample is enough.
    fn take_true_airspeed(&mut self, sample: &Sample) {
        if self.fastest_mps < NO_SPEED.0
            && let Some(speed) = AirData::of(sample).and_then(|air| air.true_airspeed)
        {
            self.fastest_mps = self.fastest_mps.max(speed.0);
        }
    }

    /// Whether there is an airspeed that is a measurement.
    pub fn has_airspeed(&self) -> bool {
        self.speed.is_some() && !self.has_dead_airspeed()
    }

    /// Whether there is an airspeed that cannot be a measurement.
    pub fn has_dead_airspeed(&self) -> bool {
        let Some((speed, height_m)) = self.speed.zip(self.height_m) else { return false };
        let is_flight = height_m.high - height_m.low > CHANGES_M && self.lasts().0 >= LASTS.0;
        is_flight && (speed.is_one_value() || self.fastest_mps < NO_SPEED.0)
    }

    /// Whether nothing tells a pull of the stick from lift.
    pub fn follows_the_stick(&self) -> bool {
        self.height_m.is_some() && !self.has_airspeed() && !self.has_probe
    }

    fn lasts(&self) -> Micros {
        self.to.since(self.from.unwrap_or(self.to))
    }

    /// What a person should know, in sentences without a full stop.
    pub fn words(&self) -> Vec<String> {
        let mut words = Vec::new();
        if self.has_dead_airspeed() {
            let how = match self.speed {
                Some(speed) if speed.is_one_value() => "never changes".to_owned(),
                _ => format!("is never above {:.0} m/s", NO_SPEED.0),
            };
            words.push(format!("the airspeed {how} in all of the flight: it is no airspeed"));
        }
        if self.follows_the_stick() {
            words.push(FOLLOWS_THE_STICK.into());
        }
        words.extend(self.pressure.words(self.from.unwrap_or_default()));
        words
    }
}

/// What it means that there is neither an airspeed nor a probe.
pub const FOLLOWS_THE_STICK: &str = "there is neither an airspeed nor a total-energy probe: the \
                                     reading cannot be compensated; it follows the stick, and a \
                                     pull sounds like lift";

impl Pressure {
    fn take(&mut self, pa: f32, time: Micros) {
        if self.count == 0 {
            (self.first_pa, self.last_pa) = (pa, pa);
        }
        self.count = self.count.saturating_add(1);
        if !self.is_over && pa == self.first_pa {
            (self.run, self.run_until) = (self.run.saturating_add(1), time);
        } else {
            self.is_over = true;
            self.after += 1;
            self.repeats += u64::from(pa == self.last_pa);
            let change_pa = (pa - self.last_pa).abs();
            if change_pa > 0.0 && (self.step_pa == 0.0 || change_pa < self.step_pa) {
                self.step_pa = change_pa;
            }
        }
        self.last_pa = pa;
    }

    fn words(&self, from: Micros) -> Option<String> {
        let for_s = self.run_until.since(from).0 as f64 * 1e-6;
        if self.run < REPEATS || self.run_until.since(from).0 < REPEATS_FOR.0 {
            return None;
        }
        if !self.is_over {
            return Some(format!(
                "the static pressure is {} Pa in all {} samples: the sensor is dead",
                self.first_pa, self.count
            ));
        }
        let is_coarse =
            self.step_pa > COARSE_PA || self.repeats as f64 > COARSE_SHARE * self.after as f64;
        (!is_coarse).then(|| {
            format!(
                "the static pressure repeats for the first {for_s:.0} s, as no working sensor \
                 does; what is read there is not the air's"
            )
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::{MetrePerSecond, Pascal};

    fn contents(seconds: i64, of: impl Fn(i64) -> (f32, Option<f32>)) -> Contents {
        let mut contents = Contents::default();
        for second in 0..seconds {
            let (pa, mps) = of(second);
            let sample = Sample::of_static(Micros(second * 1_000_000), Pascal(pa));
            let speed = mps.map(|mps| Speed::True(MetrePerSecond(mps)));
            contents.take(&Sample { speed, ..sample });
        }
        contents
    }

    #[test]
    fn an_airspeed_that_never_changes_in_flight_is_none() {
        let climbs = |second: i64| 95_000.0 - 30.0 * second as f32;
        for (mps, is_dead) in [(0.0, true), (31.0, true), (5.0, true)] {
            let found = contents(120, |second| (climbs(second), Some(mps)));
            assert_eq!((found.has_dead_airspeed(), found.has_airspeed()), (is_dead, !is_dead));
            assert!(found.follows_the_stick() && found.words().len() == 2, "{:?}", found.words());
        }
        let flown = contents(120, |second| (climbs(second), Some(28.0 + (second % 7) as f32)));
        assert!(flown.has_airspeed() && flown.words().is_empty(), "{:?}", flown.words());
        // On the ground an airspeed of nothing is right.
        let stands = contents(120, |second| (95_000.0 + (second % 3) as f32, Some(0.0)));
        assert!(stands.has_airspeed() && stands.words().is_empty());
        assert_eq!(contents(120, |second| (climbs(second), None)).words(), [FOLLOWS_THE_STICK]);
    }

    #[test]
    fn heights_are_those_of_all_pressures_though_few_are_worked_out() {
        // Wanders through all pressures there are, in steps of all sizes.
        let pressure = |step: i64| {
            let wide = 55_000.0 + 49_000.0 * (step as f32 * 0.003).sin();
            wide + 3.0 * (step as f32 * 1.7).sin()
        };
        let mut taken = Contents::default();
        let mut all: Option<Span> = None;
        for step in 0..20_000 {
            let pressure = Pascal(pressure(step));
            taken.take(&Sample::of_static(Micros(step * 20_000), pressure));
            all = Span::with(all, pressure_altitude(pressure).0);
            let [taken, all] = [taken.height_m, all].map(|span| span.expect("it is there"));
            assert_eq!((taken.low, taken.high), (all.low, all.high), "step {step}");
        }
    }

    #[test]
    fn an_airspeed_in_rows_of_its_own_counts_for_the_pressures_between_them() {
        let mut contents = Contents::default();
        for step in 0..1_200 {
            let (time, pa) = (Micros(step * 50_000), 95_000.0 - step as f32);
            let of_pressure = Sample::of_static(time, Pascal(pa));
            let speed = Some(Speed::Dynamic(Pascal(500.0 + (step % 40) as f32)));
            let of_speed = Sample { static_pressure: None, speed, ..of_pressure };
            contents.take(if step % 2 == 0 { &of_pressure } else { &of_speed });
        }
        assert!(contents.has_airspeed() && contents.words().is_empty(), "{:?}", contents.words());
    }

    #[test]
    fn a_pressure_that_repeats_from_the_first_sample_on_is_dead_and_one_in_steps_is_not() {
        let words = |of: &dyn Fn(i64) -> f32| contents(200, |s| (of(s), Some(20.0))).words();
        assert!(words(&|_| 95_000.0)[0].ends_with("in all 200 samples: the sensor is dead"));
        let late = |second: i64| 95_000.0 - (second - 60).max(0) as f32;
        assert!(words(&late)[0].contains("for the first 60 s"), "{:?}", words(&late));
        // Steps of a metre on the ground, as flight recorders write them.
        assert!(words(&|second| 95_000.0 - 12.0 * (second / 40) as f32).is_empty());
        assert!(words(&|second| 95_000.0 + (second % 5) as f32).is_empty());
    }
}
