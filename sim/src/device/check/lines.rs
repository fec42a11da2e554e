//! The leak tests: what is said before each, the one or two holds, and the finding.

use super::at_rest::Plumbing;
use super::figures::Figures;
use super::finding::{Finding, Measured, Verdict};
use super::guide::{Guide, NotHeld};
use super::leak::{self, Answer, Hold, Leak, Line};
use super::rows::Row;
use super::sheets::{self, Sheet};
use super::trial::{LEAST_PA, Test};
use crate::error::Result;
use chirrup_core::{Pascal, pressure_altitude};

/// What everybody must know before a line is touched.
pub const CAUTIONS: &str = "\
Pitot, static and probe lines are work for a licensed person, under your local rules.
- Never with the mouth, and never with compressed air: a syringe and a hose, slowly. A minute for
  the whole pressure spares every other variometer on the line; release it as slowly.
- Clamp the hose at the line, so that the syringe is not part of it, and test the syringe and hose
  alone first.
- Pressure on the pitot, suction on static and probe; the other way drives an airspeed indicator
  backward, which can break it. Know the limits of every instrument on the line, and never go
  beyond the end of the airspeed indicator's scale.
- Close drain holes and the other ports for the test, and open them all again after it.
- Let the instrument run for ten minutes before. Keep sun, hands and draughts off the hoses, most of
  all while a pressure is held: a degree is as much as the leak that is allowed.";

/// What must be undone after it, however it ended (FAA AC 43.13-1B, before 12-58).
pub const AFTERWARDS: &str = "
Let every pressure go slowly first; then open every port and drain hole, take off all tape and caps,
put every drain plug back, and have it checked.";

/// What is said after each test (FAA AC 43.13-1B, 12-59: the pressure is released slowly).
pub const RELEASE: &str = "  Let it go slowly, over a minute, and open the line";

/// Whether a line had a pressure at rest.
fn has_value(line: Line, at_rest: &Row) -> bool {
    match line {
        Line::Pitot => at_rest.dynamic_pa.is_some(),
        Line::Static => true,
        Line::Probe => at_rest.te_pa.is_some(),
    }
}

/// Highest pressure for a line, Pa: that of the common test, or four fifths of the range of the
/// differential sensor, which pitot and static both are on.
fn highest_pa(line: Line, figures: &Figures, plumbing: Plumbing) -> f64 {
    let sensor = figures.differential.as_ref().filter(|_| line != Line::Probe);
    let sheet = sensor.and_then(|sensor| sheets::of(&sensor.kind));
    let range = sheet.and_then(|sheet| sheet.scaled(plumbing.range_pa).range_pa);
    range.map_or(line.test_pa(), |range| line.test_pa().min(0.8 * range))
}

/// The sensor through which air leaves a line, as it is meant to.
fn lets_through(line: Line, figures: &Figures) -> Option<&'static Sheet> {
    let sensor = figures.differential.as_ref().filter(|_| line != Line::Probe)?;
    sheets::of(&sensor.kind).filter(|sheet| sheet.lets_air_through)
}

fn no_test(line: Line, why: &str, advice: &str) -> Finding {
    Finding {
        what: format!("leak of the {} line", line.name()),
        line: Some(line),
        value: None,
        measured: format!("not tested: {why}"),
        expected: String::new(),
        verdict: Verdict::Unclear,
        advice: advice.into(),
    }
}

/// The tests of an instrument's lines.
#[derive(Clone, Copy, Debug)]
pub struct Tests<'a> {
    /// Pressures before anything was done.
    pub at_rest: Row,
    /// The self-test's figures.
    pub figures: &'a Figures,
    /// What is connected.
    pub plumbing: Plumbing,
    /// How long to wait for a pressure or for rest, s.
    pub patience_s: f64,
}

impl Tests<'_> {
    /// Tests lines one after the other, each only once no line is under pressure any more: what is
    /// left on one adds to the next at the airspeed indicator and at a differential sensor. What
    /// was found is there also after an error, which is one of [`Guide::next`].
    pub fn each(&self, guide: &mut Guide<'_>, lines: &[Line]) -> (Vec<Finding>, Result<()>) {
        let mut findings = Vec::new();
        let mut is_released = true;
        let ended = lines.iter().try_for_each(|&line| {
            findings.push(self.one(guide, line, &mut is_released)?);
            Ok(())
        });
        let ended = ended.and_then(|()| self.rest(guide, is_released));
        for &line in &lines[findings.len()..] {
            findings.push(no_test(line, "stopped", "open every line, and test it from the start"));
        }
        (findings, ended)
    }

    /// Tests a line, if it can be tested and the one before is let go.
    fn one(&self, guide: &mut Guide<'_>, line: Line, is_released: &mut bool) -> Result<Finding> {
        if let Some(sheet) = lets_through(line, self.figures) {
            let why = format!("air flows through the {}, as it is made", sheet.name);
            let advice = "a licensed person closes the line before it, and uses a gauge";
            return Ok(no_test(line, &why, advice));
        }
        if !has_value(line, &self.at_rest) {
            let advice = "`selftest` on its console names the sensor; check its wires and solder";
            return Ok(no_test(line, "its sensor gave no value at rest", advice));
        }
        if !*is_released && let Some(away) = guide.wait_for_rest(&self.at_rest, self.patience_s)? {
            let why = format!("the pressure of the test before is still on a line: {away}");
            guide.say(&format!("  {} is not tested: {why}", line.name()));
            let advice = "open every line, and test again when nothing is left on any";
            return Ok(no_test(line, &why, advice));
        }
        *is_released = false;
        let found = self.test(guide, line);
        guide.say(RELEASE);
        found
    }

    /// Waits for rest after the last line, and says so if it does not come.
    fn rest(&self, guide: &mut Guide<'_>, is_released: bool) -> Result<()> {
        if !is_released && let Some(away) = guide.wait_for_rest(&self.at_rest, self.patience_s)? {
            guide.say(&format!("  NOT at rest: {away}; let it go slowly before you open a line"));
        }
        Ok(())
    }

    fn test(&self, guide: &mut Guide<'_>, line: Line) -> Result<Finding> {
        let highest = |line| highest_pa(line, self.figures, self.plumbing);
        let most_pa = 1.15 * highest(line);
        let test = Test {
            line,
            at_rest: self.at_rest,
            pressures_pa: (LEAST_PA, most_pa),
            most_pa,
            most_dynamic_pa: 1.15 * highest(Line::Pitot),
            patience_s: self.patience_s,
        };
        guide.say(&first_words(line, highest(line)));
        let first = match guide.hold(&test)? {
            Ok(first) => first,
            Err(why) => return Ok(not_held(line, &why)),
        };
        if let Some(leak) = leak::settled_by_one(line, &first) {
            return Ok(finding(line, &first, &leak));
        }
        let second = test.second(first.pressure.mean_pa);
        guide.say(&second_words(&first, second.pressures_pa));
        Ok(match guide.hold(&second)? {
            Ok(second) => finding(line, &first, &leak::of_two(line, &first, &second)),
            Err(_) => finding(line, &first, &leak::of_one(line, &first)),
        })
    }
}

fn second_words(first: &Hold, (least_pa, most_pa): (f64, f64)) -> String {
    format!(
        "  it {} by {:.0} Pa a minute. A second pressure tells a leak from warmth, which may\n  \
         hide it: let go slowly to about {:.0} Pa (between {least_pa:.0} and {most_pa:.0} Pa),\n  \
         close it again, hands off, and hold that",
        if first.pressure.pa_per_min < 0.0 { "falls" } else { "rises" },
        first.pressure.pa_per_min.abs(),
        leak::ASKED_SHARE * first.pressure.mean_pa
    )
}

fn first_words(line: Line, highest_pa: f64) -> String {
    let what = if line == Line::Pitot { "pressure" } else { "suction" };
    // Suction on static shows as airspeed as well; that on a probe does not.
    let speed = if line != Line::Probe {
        format!(
            "\n  ({:.0} km/h on an airspeed indicator; never beyond the end of its scale)",
            speed_kmh(highest_pa)
        )
    } else {
        String::new()
    };
    let name = line.name();
    format!(
        "\n{name}: put {what} on the {name} line, up to {highest_pa:.0} Pa{speed}.\n  Clamp the \
         hose at the line, so that the syringe is not part of it, take your hands off and wait"
    )
}

/// Airspeed by Bernoulli at sea level, for the eye: 1 % too much at 250 km/h.
fn speed_kmh(dynamic_pa: f64) -> f64 {
    3.6 * (2.0 * dynamic_pa.max(0.0) / 1.225).sqrt()
}

fn not_held(line: Line, why: &NotHeld) -> Finding {
    let (measured, verdict, advice) = match why {
        NotHeld::Lost => (
            "does not hold a pressure until it is steady".to_owned(),
            Verdict::Failed,
            "look for a line that is open or off; test it from its end, piece by piece",
        ),
        NotHeld::Unseen => (
            "not tested: the sensor on this line was lost".to_owned(),
            Verdict::Unclear,
            "`selftest` on its console names the sensor; if it is well, the pressure was beyond \
             its range, or on the wrong line",
        ),
        NotHeld::Nothing(waited_s) => (
            format!("no steady pressure within {waited_s:.0} s"),
            Verdict::Unclear,
            "again with a pressure; if there was one, the hose is on another line, or pressure and \
             suction are the wrong way round, or the line is open: drain hole, other port, tape",
        ),
    };
    Finding {
        what: format!("leak of the {} line", line.name()),
        line: Some(line),
        value: None,
        measured,
        expected: format!("a steady pressure of at least {LEAST_PA:.0} Pa"),
        verdict,
        advice: advice.into(),
    }
}

fn finding(line: Line, first: &Hold, leak: &Leak) -> Finding {
    let (verdict, advice) = match leak.answer() {
        Answer::Tight => (Verdict::Passed, ""),
        Answer::Leaks => (
            Verdict::Failed,
            "a licensed person finds it by halving: close the line nearer and nearer to the \
             instrument; joints, T-pieces and old hose first",
        ),
        Answer::ProbablyLeaks => (
            Verdict::Unclear,
            "treat it as leaking until a gauge shows otherwise; to know more, let all of it come \
             to rest, hands off, and test again",
        ),
        Answer::Unclear if leak.warmth_pa_per_min.is_none() => (
            Verdict::Unclear,
            "hold the second pressure as well: one alone does not tell a leak from warmth",
        ),
        Answer::Unclear => (
            Verdict::Unclear,
            "the temperature of the air in the line may have done it, or hidden it: let all of it \
             come to rest, hands off, and again, with more pressure if it is allowed",
        ),
    };
    let mean_pa = first.pressure.mean_pa;
    let value = Measured {
        value: leak.pa_per_min,
        uncertainty: leak.uncertainty_pa_per_min,
        unit: "Pa/min",
    };
    let warmth = leak.warmth_pa_per_min.filter(|warmth| *warmth != 0.0);
    let warmth = warmth.map_or(String::new(), |pa| format!("; warmth {pa:+.0} Pa/min"));
    let is_probable = leak.answer() == Answer::ProbablyLeaks;
    let probably = if is_probable { "probably leaks: " } else { "" };
    Finding {
        what: format!("leak of the {} line", line.name()),
        line: Some(line),
        value: Some(value),
        measured: format!(
            "{probably}{:.0} ± {:.0} Pa/min of {mean_pa:.0} Pa ({}){warmth}",
            whole(value.value),
            value.uncertainty,
            in_flight(line, first, leak.pa_per_min)
        ),
        expected: format!("at most {:.0} Pa/min, {}", leak.limit_pa_per_min, rule(line)),
        verdict,
        advice: advice.into(),
    }
}

/// What a fall would show on the instruments.
fn in_flight(line: Line, hold: &Hold, fall_pa: f64) -> String {
    let pa = hold.pressure.mean_pa;
    if line == Line::Pitot {
        return format!("{:.1} km/h a minute", speed_kmh(pa) - speed_kmh(pa - fall_pa));
    }
    let height = |pa: f64| f64::from(pressure_altitude(Pascal(pa as f32)).0);
    let lost = height(hold.absolute_pa) - height(hold.absolute_pa + fall_pa);
    format!("{:.0} m a minute", whole(lost))
}

/// Without a fraction, and without the sign of a zero.
fn whole(value: f64) -> f64 {
    value.round() + 0.0
}

fn rule(line: Line) -> &'static str {
    match line {
        Line::Pitot => "as 10 kt of 150 kt (FAA AC 43.13-1B, 12-59)",
        Line::Static => "as 100 ft at 1 inHg (14 CFR 23.1325, from memory)",
        Line::Probe => "as for the static line; no rule is known",
    }
}
