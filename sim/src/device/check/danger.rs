//! What must not be while a person puts pressure on lines, and how often it is said: at once, at
//! each further tenth, and every five seconds while it lasts.

use super::rows::Row;

/// Dynamic pressure this far below rest drives an airspeed indicator backward, Pa: more than a
/// gust into a pitot that stands still does (a guess).
pub const BACKWARD_PA: f64 = 200.0;
/// A danger that has grown by this share is said again.
const GROWN: f64 = 0.1;
/// One that lasts is said again after this time, s.
const AGAIN_S: f64 = 5.0;
/// One that was gone for this time is a new one, s: noise at the limit is no news.
const GONE_S: f64 = 1.0;

/// Something that must not be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Danger {
    /// The pressure, Pa.
    pub pa: f64,
    /// What it does, and what to do at once.
    pub words: &'static str,
}

/// Whether the airspeed indicator is driven backward, whatever line is tested: the hose may be on
/// another one than the program thinks.
pub fn backward(at_rest: &Row, row: &Row) -> Option<Danger> {
    let pa = row.dynamic_pa? - at_rest.dynamic_pa?;
    let words = "drives the airspeed indicator backward; let it go slowly; wrong hose, or swapped";
    (pa < -BACKWARD_PA).then_some(Danger { pa, words })
}

/// Decides when a danger is said.
#[derive(Clone, Copy, Debug, Default)]
pub struct Alarm {
    /// The danger as it was said last, and when, s.
    said: Option<(f64, Danger)>,
    /// When a danger was last there, s.
    seen_s: f64,
}

impl Alarm {
    /// Takes what is dangerous now; the line to say, if it is time.
    pub fn take(&mut self, time_s: f64, danger: Option<Danger>) -> Option<String> {
        let Some(danger) = danger else {
            self.said = self.said.filter(|_| time_s - self.seen_s < GONE_S);
            return None;
        };
        self.seen_s = time_s;
        let is_news = self.said.is_none_or(|(said_s, said)| {
            said.words != danger.words
                || danger.pa.abs() > (1.0 + GROWN) * said.pa.abs()
                || time_s - said_s >= AGAIN_S
        });
        is_news.then(|| {
            self.said = Some((time_s, danger));
            format!("  {:.0} Pa: {}", danger.pa, danger.words)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// How often a pressure that is a function of time is warned of above 4000 Pa in a minute.
    fn warnings(pressure: impl Fn(f64) -> f64) -> usize {
        let mut alarm = Alarm::default();
        let said = (0..3_000).filter_map(|n| {
            let (time_s, pa) = (f64::from(n) / 50.0, pressure(f64::from(n) / 50.0));
            alarm.take(time_s, (pa > 4_000.0).then_some(Danger { pa, words: "too much" }))
        });
        said.count()
    }

    #[test]
    fn a_danger_is_said_again_as_it_lasts_grows_or_returns() {
        assert_eq!(warnings(|_| 3_900.0), 0);
        assert_eq!(warnings(|_| 4_100.0), 12, "every five seconds");
        let grows = warnings(|t| 4_100.0 * 1.1_f64.powf(t));
        assert!((50..=60).contains(&grows), "{grows}: at each tenth, one a second");
        let returns = warnings(|t| if t % 3.0 < 1.0 { 4_100.0 } else { 3_900.0 });
        assert_eq!(returns, 20, "each time it comes back");
        let flickers = warnings(|t| if t % 0.04 < 0.01 { 4_001.0 } else { 3_999.0 });
        assert_eq!(flickers, 12, "noise at the limit is no news");
    }

    #[test]
    fn suction_on_the_pitot_or_pressure_on_static_drives_the_indicator_backward() {
        let at_rest = Row { dynamic_pa: Some(3.0), ..Row::default() };
        let row = |dynamic_pa| Row { dynamic_pa, ..at_rest };
        assert_eq!(backward(&at_rest, &row(Some(-150.0))), None);
        assert_eq!(backward(&at_rest, &row(None)), None);
        assert!(backward(&at_rest, &row(Some(-250.0))).is_some_and(|danger| danger.pa == -253.0));
    }
}
