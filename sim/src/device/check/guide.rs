//! Leads the person at the bench through a leak test: says what to do, waits for the pressure,
//! shows how long it has to be held, and never waits without end.

use super::figures::Figures;
use super::held::{Step, Watch};
use super::leak::{Hold, Line, SECOND_SHARE};
use super::rows::Row;
use super::trend;
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
/// The least pressure that is tested, Pa: the range of the most sensitive sensors is 500.
pub const LEAST_PA: f64 = 200.0;
/// A line whose pressure is this near to that at rest is not under pressure, Pa: a weather of 1 hPa
/// an hour takes a third of it in twenty minutes.
const REST_PA: f64 = 100.0;
/// For how long it must be so, s: a hose that is bent and let go passes through zero.
const REST_S: f64 = 3.0;

/// The log and the person.
pub struct Guide<'a> {
    port: Port,
    rows: super::rows::Rows,
    interrupted: &'a AtomicBool,
    bar: ProgressBar,
}

/// How a hold ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Held {
    /// A minute, and how much the sensor's temperature changed.
    Yes(Hold),
    /// No pressure came in time.
    Nothing,
    /// It was gone before it was steady, each time.
    Lost,
}

/// What is tested, and how.
#[derive(Clone, Copy, Debug)]
pub struct Test {
    /// The line.
    pub line: Line,
    /// Pressures before anything was done.
    pub at_rest: Row,
    /// The least and the most pressure that is measured, Pa.
    pub pressures_pa: (f64, f64),
    /// More than this may harm an instrument on the line, Pa.
    pub most_pa: f64,
    /// More dynamic pressure than this may harm an airspeed indicator or a differential sensor, Pa.
    pub most_dynamic_pa: f64,
    /// How long to wait for the pressure, seconds of the instrument's clock.
    pub patience_s: f64,
}

impl Test {
    /// The second hold of a test, after one at `first_pa`.
    pub fn second(&self, first_pa: f64) -> Self {
        let (least, most) = SECOND_SHARE;
        Self { pressures_pa: (least * first_pa, most * first_pa), ..*self }
    }

    /// Pressure on the line less that outside, positive in the line's direction.
    fn gauge_pa(&self, row: &Row) -> Option<f64> {
        let rest = self.at_rest;
        let above = |row: &Row| match self.line {
            Line::Pitot => row.dynamic_pa,
            // The open one of two barometers measures the air outside.
            Line::Static => Some(row.static_pa - row.te_pa.unwrap_or(rest.static_pa)),
            Line::Probe => Some(row.te_pa? - row.static_pa),
        };
        Some(self.line.sign() * (above(row)? - above(&rest)?))
    }

    /// What must not be, and what to do at once.
    fn warning(&self, row: &Row, gauge_pa: f64) -> Option<(f64, &'static str)> {
        if gauge_pa < -LEAST_PA {
            return Some((
                gauge_pa,
                "the wrong way round for this line; let it go slowly, and swap",
            ));
        }
        if gauge_pa > self.most_pa {
            return Some((gauge_pa, "more than this test needs; let some go, slowly"));
        }
        // Suction on static adds to whatever is on the pitot.
        let dynamic_pa = row.dynamic_pa? - self.at_rest.dynamic_pa?;
        let words = "too much between pitot and static; let both go, slowly";
        (dynamic_pa > self.most_dynamic_pa).then_some((dynamic_pa, words))
    }

    fn absolute_pa(&self, gauge_pa: f64) -> f64 {
        self.at_rest.static_pa + self.line.sign() * gauge_pa
    }

    /// What weather may do in a minute where the air outside is not measured, Pa: 1 hPa an hour.
    fn outside_pa(&self) -> f64 {
        let is_alone = self.line == Line::Static && self.at_rest.te_pa.is_none();
        if is_alone { 2.0 } else { 0.0 }
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
        let (least, most) = test.pressures_pa;
        let mut watch = Watch::new(least, most);
        let (mut waiting_since, mut lost, mut warmth) = (None, 0, None);
        let mut warned = None;
        loop {
            let row = self.next()?;
            let Some(gauge_pa) = test.gauge_pa(&row) else { continue };
            if let Some((pa, words)) = test.warning(&row, gauge_pa)
                && warned.replace(words) != Some(words)
            {
                self.say(&format!("  {pa:.0} Pa: {words}"));
            }
            let step = watch.take(row.time_s, gauge_pa);
            self.show(test.line, &step, gauge_pa);
            match step {
                Step::Waiting | Step::Rising => {
                    let since = *waiting_since.get_or_insert(row.time_s);
                    if row.time_s - since > test.patience_s {
                        return Ok(Held::Nothing);
                    }
                }
                Step::Settling(_) => {
                    waiting_since = None;
                    warmth = None;
                }
                Step::Holding(_) if warmth.is_none() => {
                    warmth = Some(self.temperature(test.line)?);
                }
                Step::Holding(_) => {}
                Step::Lost => {
                    lost += 1;
                    if lost >= MOST_LOST {
                        return Ok(Held::Lost);
                    }
                    self.say("  the pressure is gone; once more");
                }
                Step::Done(samples) => {
                    let Some(pressure) = trend::of(&samples) else { return Ok(Held::Lost) };
                    let after = self.temperature(test.line)?;
                    let warmed = warmth.flatten().zip(after).map(|(before, after)| after - before);
                    return Ok(Held::Yes(Hold {
                        pressure,
                        absolute_pa: test.absolute_pa(pressure.mean_pa),
                        warmed_k: warmed.unwrap_or(0.0),
                        outside_pa: test.outside_pa(),
                    }));
                }
            }
        }
    }

    /// Whether no line is under pressure for some seconds, before so many seconds have passed.
    ///
    /// # Errors
    /// As [`Guide::next`].
    pub fn wait_for_rest(&mut self, at_rest: &Row, patience_s: f64) -> Result<bool> {
        self.say(&format!(
            "  waiting until every line is within {REST_PA:.0} Pa of rest, up to {patience_s:.0} s"
        ));
        let since_s = self.next()?.time_s;
        let mut moved_s = since_s;
        loop {
            let row = self.next()?;
            if !row.is_at(at_rest, REST_PA) {
                moved_s = row.time_s;
            }
            if row.time_s - moved_s >= REST_S {
                return Ok(true);
            }
            if row.time_s - since_s > patience_s {
                return Ok(false);
            }
            self.bar.set_message("waiting until no line is under pressure");
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
            Step::Lost | Step::Done(_) => String::new(),
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
