//! Leads the person at the bench through a leak test: says what to do, waits for the pressure,
//! shows how long it has to be held, and never waits without end.

use super::danger::{self, Alarm};
use super::figures::Figures;
use super::held::{Step, Watch};
use super::leak::{Hold, Line};
use super::patience::Patience;
use super::rows::Row;
use super::trend;
use super::trial::Test;
use crate::device::port::{Heard, Port};
use crate::device::talk;
use crate::error::{Error, Result};
use crate::words::shown_path;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::{IsTerminal, Write, stderr};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

/// Longest wait for the next row of the log.
const NO_ROW_FOR: Duration = Duration::from_secs(5);
/// How often a pressure may be lost before the line is said not to hold it.
const MOST_LOST: u32 = 3;
/// A sensor without a value for this time is lost, s.
const LOST_S: f64 = 5.0;
/// A pressure beside the range that stands still for this time is spoken of, s.
const ASTRAY_S: f64 = 5.0;
/// How often the wait for rest says what is not at rest, s.
const AGAIN_S: f64 = 10.0;
/// A line whose pressure is this near to that at rest is not under pressure, Pa: a weather of 1 hPa
/// an hour takes a third of it in twenty minutes.
const REST_PA: f64 = 100.0;
/// For how long it must be so, s: a hose that is bent and let go passes through zero.
const REST_S: f64 = 3.0;

/// What is said of a sensor that is lost.
const UNSEEN: &str =
    "  the sensor on this line is lost; let it go slowly (it may be beyond its range)";

/// The log and the person.
pub struct Guide<'a> {
    port: Port,
    rows: super::rows::Rows,
    interrupted: &'a AtomicBool,
    bar: ProgressBar,
}

/// A minute of a pressure, or why there is none.
pub type Held = std::result::Result<Hold, NotHeld>;

/// Why no pressure was held.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum NotHeld {
    /// No steady pressure came in so many seconds.
    Nothing(f64),
    /// It was gone before it was steady, each time.
    Lost,
    /// A sensor has no value any more.
    Unseen,
}

/// What a hold remembers from row to row.
struct Holding {
    watch: Watch,
    patience: Patience,
    alarm: Alarm,
    /// When every sensor had a value, s.
    seen_s: Option<f64>,
    /// Whether the pressure beside the range was spoken of since it moved.
    is_told: bool,
    lost: u32,
    /// The sensor's temperature at the start, once it was asked for.
    warmth: Option<Option<f64>>,
}

impl Holding {
    fn new(test: &Test) -> Self {
        Self {
            watch: Watch::new(test.pressures_pa, test.most_pa),
            patience: Patience::new(test.patience_s),
            alarm: Alarm::default(),
            seen_s: None,
            is_told: false,
            lost: 0,
            warmth: None,
        }
    }

    /// Whether a sensor has been without a value for too long.
    fn is_unseen(&mut self, test: &Test, row: &Row) -> bool {
        let seen_s = self.seen_s.get_or_insert(row.time_s);
        if test.is_seen(row) {
            *seen_s = row.time_s;
        }
        row.time_s - *seen_s >= LOST_S
    }

    /// What to do with a pressure that stands still beside the range, once.
    fn astray(&mut self, test: &Test, time_s: f64, gauge_pa: f64) -> Option<&'static str> {
        let is_still = self.patience.still_s(time_s) >= ASTRAY_S;
        let words = test.astray(gauge_pa).filter(|_| is_still && !self.is_told);
        self.is_told = is_still && (self.is_told || words.is_some());
        words
    }
}

impl<'a> Guide<'a> {
    /// Turns the log on.
    ///
    /// # Errors
    /// The port is gone.
    pub fn begin(port: Port, interrupted: &'a AtomicBool) -> Result<Self> {
        port.send("log 50")?;
        let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden());
        let style = ProgressStyle::with_template("{spinner} {msg}");
        bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_spinner()));
        if stderr().is_terminal() {
            bar.set_draw_target(ProgressDrawTarget::stderr());
        }
        Ok(Self { port, rows: Default::default(), interrupted, bar })
    }

    /// Says something to the person, on standard error.
    pub fn say(&self, text: &str) {
        self.bar.suspend(|| {
            // Nobody reads it where standard error is closed.
            let _ = writeln!(stderr(), "{text}");
        });
    }

    /// The rows of the next `seconds`.
    ///
    /// # Errors
    /// As [`Guide::next`].
    pub fn collect(&mut self, seconds: f64) -> Result<Vec<Row>> {
        let mut rows = vec![self.next()?];
        while rows[rows.len() - 1].time_s - rows[0].time_s < seconds {
            rows.push(self.next()?);
        }
        Ok(rows)
    }

    /// The next row of the log.
    ///
    /// # Errors
    /// Ctrl-C, the port is gone, or the log has stopped.
    pub fn next(&mut self) -> Result<Row> {
        let asked = Instant::now();
        while asked.elapsed() < NO_ROW_FOR {
            if self.interrupted.load(Ordering::Relaxed) {
                return Err(Error::Interrupted);
            }
            match self.port.hear() {
                Heard::Line(line) => {
                    if let Some(row) = self.rows.take(&line) {
                        return Ok(row);
                    }
                }
                Heard::Nothing => {}
                Heard::Gone => return Err(self.refused("the port is gone")),
            }
        }
        Err(self.refused("the log has stopped: no row in 5 s; is a barometer lost?"))
    }

    /// The self-test's figures now.
    ///
    /// # Errors
    /// No answer.
    pub fn figures(&mut self) -> Result<Figures> {
        let lines = talk::demand(&mut self.port, "selftest", self.interrupted)?;
        Ok(Figures::of(&lines))
    }

    /// Waits for a pressure on a line and for a minute of it.
    ///
    /// # Errors
    /// As [`Guide::next`].
    pub fn hold(&mut self, test: &Test) -> Result<Held> {
        let mut holding = Holding::new(test);
        loop {
            let row = self.next()?;
            if let Some(words) = holding.alarm.take(row.time_s, test.danger(&row)) {
                self.say(&words);
            }
            if holding.is_unseen(test, &row) {
                self.say(UNSEEN);
                return Ok(Err(NotHeld::Unseen));
            }
            if let Some(gauge_pa) = test.gauge_pa(&row)
                && let Some(held) = self.step(test, &mut holding, row.time_s, gauge_pa)?
            {
                return Ok(held);
            }
        }
    }

    /// Takes a pressure; how the hold ended, if it did.
    fn step(
        &mut self,
        test: &Test,
        holding: &mut Holding,
        time_s: f64,
        gauge_pa: f64,
    ) -> Result<Option<Held>> {
        let step = holding.watch.take(time_s, gauge_pa);
        self.show(test.line, &step, gauge_pa);
        match step {
            Step::Waiting | Step::Rising => {
                if let Some(waited_s) = holding.patience.take(time_s, gauge_pa) {
                    return Ok(Some(Err(NotHeld::Nothing(waited_s))));
                }
                if let Some(words) = holding.astray(test, time_s, gauge_pa) {
                    self.say(&format!("  {gauge_pa:.0} Pa: {words}"));
                }
            }
            Step::Settling(_) => {
                holding.patience.rest();
                holding.warmth = None;
            }
            Step::Holding(_) if holding.warmth.is_none() => {
                holding.warmth = Some(self.temperature(test.line)?);
            }
            Step::Holding(_) => {}
            Step::Pumped => {
                self.say("  it rises: still being pumped, or a hand on the hose; again")
            }
            Step::Lost => {
                holding.lost += 1;
                if holding.lost >= MOST_LOST {
                    return Ok(Some(Err(NotHeld::Lost)));
                }
                self.say("  the pressure is gone; once more");
            }
            Step::Done(samples) => {
                return self.done(test, &samples, holding.warmth.flatten()).map(Some);
            }
        }
        Ok(None)
    }

    fn done(&mut self, test: &Test, samples: &[(f64, f64)], before: Option<f64>) -> Result<Held> {
        let Some(pressure) = trend::of(samples) else { return Ok(Err(NotHeld::Lost)) };
        let after = self.temperature(test.line)?;
        Ok(Ok(Hold {
            pressure,
            absolute_pa: test.absolute_pa(pressure.mean_pa),
            warmed_k: before.zip(after).map_or(0.0, |(before, after)| after - before),
            outside_pa: test.outside_pa(),
        }))
    }

    /// Waits until no line is under pressure for some seconds; what is not at rest, if it is not
    /// before so many seconds have passed.
    ///
    /// # Errors
    /// As [`Guide::next`].
    pub fn wait_for_rest(&mut self, at_rest: &Row, patience_s: f64) -> Result<Option<String>> {
        self.say(&format!(
            "  waiting until every line is within {REST_PA:.0} Pa of rest, up to {patience_s:.0} s"
        ));
        let since_s = self.next()?.time_s;
        let (mut moved_s, mut alarm, mut said_s) = (since_s, Alarm::default(), since_s);
        let mut whole_s = since_s;
        loop {
            let row = self.next()?;
            // A single row without a value is no loss of the sensor.
            if row.is_whole(at_rest) {
                whole_s = row.time_s;
            } else if row.time_s - whole_s < LOST_S {
                continue;
            }
            if let Some(words) = alarm.take(row.time_s, danger::backward(at_rest, &row)) {
                self.say(&words);
            }
            let away = row.away_from(at_rest, REST_PA);
            if away.is_some() {
                moved_s = row.time_s;
            }
            if row.time_s - moved_s >= REST_S {
                return Ok(None);
            }
            if row.time_s - since_s > patience_s {
                return Ok(Some(away.unwrap_or_else(|| "it came to rest only now".into())));
            }
            let Some(away) = away else { continue };
            // Where there is no terminal, the bar is not seen.
            if self.bar.is_hidden() && row.time_s - said_s >= AGAIN_S {
                said_s = row.time_s;
                self.say(&format!("  {away}"));
            }
            self.bar.set_message(format!("waiting for rest: {away}"));
            self.bar.tick();
        }
    }

    fn temperature(&mut self, line: Line) -> Result<Option<f64>> {
        let figures = self.figures()?;
        let own = match line {
            Line::Pitot => figures.differential.or(figures.second),
            Line::Static => figures.static_barometer,
            Line::Probe => figures.second,
        };
        Ok(own.and_then(|sensor| sensor.temperature_c))
    }

    fn show(&self, line: Line, step: &Step, gauge_pa: f64) {
        let name = line.name();
        self.bar.set_message(match step {
            Step::Waiting => format!("{name}: waiting for the pressure, {gauge_pa:.0} Pa now"),
            Step::Rising => format!("{name}: {gauge_pa:.0} Pa; close the line and hold it"),
            Step::Settling(left) => format!("{name}: {gauge_pa:.0} Pa settles, {left:.0} s"),
            Step::Holding(left) => format!("{name}: {gauge_pa:.1} Pa, hold it for {left:.0} s"),
            Step::Pumped | Step::Lost | Step::Done(_) => String::new(),
        });
        self.bar.tick();
    }

    fn refused(&self, why: &str) -> Error {
        Error::Refused(format!("{}: {why}", shown_path(self.port.path())))
    }
}

impl Drop for Guide<'_> {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
        // If the port is gone, there is no log to end.
        let _ = self.port.send("log off");
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sensor_that_gives_no_value_for_five_seconds_is_lost() {
        let at_rest = Row { dynamic_pa: Some(0.0), ..Row::default() };
        for (line, gap_s, is_lost) in [
            (Line::Pitot, 4.0, false),
            (Line::Pitot, 6.0, true),
            // Without it nobody sees that the airspeed indicator is driven backward.
            (Line::Static, 6.0, true),
        ] {
            let test = Test {
                line,
                at_rest,
                pressures_pa: (200.0, 4_000.0),
                most_pa: 4_000.0,
                most_dynamic_pa: 4_000.0,
                patience_s: 120.0,
            };
            let mut holding = Holding::new(&test);
            let unseen = (0..2_000).map(|n| f64::from(n) / 50.0).any(|time_s| {
                let is_gone = (time_s % 20.0) > 20.0 - gap_s;
                let dynamic_pa = if is_gone { None } else { Some(3_000.0) };
                holding.is_unseen(&test, &Row { time_s, dynamic_pa, ..at_rest })
            });
            assert_eq!(unseen, is_lost, "{line:?}, {gap_s} s");
        }
    }
}
