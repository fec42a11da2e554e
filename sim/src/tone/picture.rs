//! The tone law as a picture, 1200 by 990 pixels: pitch, cadence, loudness, level above a cockpit's
//! noise, and the just noticeable steps for each 0.1 m/s.

use super::law::{Law, LawRow};
use crate::output::plot::chart::{Chart, sheet_of};
use crate::output::plot::key::{self, Key, Mark};
use crate::output::plot::layout::{KEY_TOP, LEFT, RIGHT};
use crate::output::plot::scale::Scale;
use crate::output::plot::style;
use crate::output::plot::svg::{Area, Pen, Svg};
use chirrup_core::SoundMode;

const HEIGHT: u32 = 990;
/// The panels, from the top: upper and lower edges.
const PANELS: [(f32, f32); 5] =
    [(130.0, 320.0), (368.0, 468.0), (516.0, 616.0), (664.0, 764.0), (812.0, 930.0)];

const BEEPS: Pen = Pen { width: 3.0, ..style::BEEPS };
const STEADY: Pen = Pen { width: 4.0, ..style::STEADY };
const PAIRS: Pen = Pen { width: 3.0, ..style::COMPENSATED };

/// The picture of `law`.
pub fn draw(law: &Law) -> String {
    let title = "What the sound says";
    let subtitle = format!("{}: {}", law.name, law.what());
    let mut svg = sheet_of(HEIGHT, title, &subtitle);
    heading(&mut svg, law);
    let across = across(law);
    pitch(&mut svg, law, across);
    cadence(&mut svg, law, across);
    loudness(&mut svg, law, across);
    above_noise(&mut svg, law, across);
    steps(&mut svg, law, across);
    svg.finish()
}

fn heading(svg: &mut Svg, law: &Law) {
    let has = |sound: &str| law.rows.iter().any(|row| row.sound.contains(sound));
    let mut keys = Vec::new();
    if has("steady") {
        keys.push(Key::new(Mark::Line(STEADY), "steady tone"));
    }
    if has("beeps") {
        keys.push(Key::new(Mark::Beeps(BEEPS), "beeps"));
    }
    if has("pair") {
        keys.push(Key::new(Mark::Beeps(PAIRS), "pairs of notes"));
    }
    keys.push(Key::new(Mark::Line(style::THIRD), "just noticeable steps in noise"));
    keys.push(Key::new(Mark::Line(style::OTHER), "in quiet"));
    key::heading(svg, KEY_TOP, "Sound", &keys);
}

/// The axis of the values; one value alone has some room beside it.
fn across(law: &Law) -> Scale {
    let first = law.rows.first().map_or(0.0, |row| row.value_mps) as f32;
    let last = law.rows.last().map_or(0.0, |row| row.value_mps) as f32;
    if last > first {
        Scale::between(first, last)
    } else {
        Scale::between(first - 1.0, first + 1.0)
    }
}

fn chart(panel: usize, across: Scale, up: Scale) -> Chart {
    let (top, bottom) = PANELS[panel];
    Chart { area: Area { left: LEFT, top, right: RIGHT, bottom }, across, up }
}

fn pitch(svg: &mut Svg, law: &Law, across: Scale) {
    let pitches = || law.rows.iter().flat_map(|row| [row.pitch_hz, row.second_hz]).flatten();
    let (low, high) =
        pitches().fold((500.0_f64, 1000.0_f64), |(low, high), hz| (low.min(hz), high.max(hz)));
    let chart = chart(0, across, Scale::logarithmic(low as f32, high as f32));
    chart.ground(svg, "Pitch (Hz)", "");
    each_run(law, |run, pen| {
        for pitch_of in
            [(|row: &LawRow| row.pitch_hz) as fn(&LawRow) -> Option<f64>, |row| row.second_hz]
        {
            svg.path(&points(&chart, run, pitch_of), pen);
        }
    });
    chart.frame(svg);
}

fn cadence(svg: &mut Svg, law: &Law, across: Scale) {
    from_zero(svg, law, (1, across), ("Beeps or pairs a second", 4.0), |row| row.cadence_hz);
}

fn loudness(svg: &mut Svg, law: &Law, across: Scale) {
    from_zero(svg, law, (2, across), ("Loudness (sone)", 8.0), |row| row.loudness_sone);
}

/// A panel of a quantity, from zero to its greatest value or to `least`.
fn from_zero(
    svg: &mut Svg,
    law: &Law,
    (panel, across): (usize, Scale),
    (name, least): (&str, f64),
    value: impl Fn(&LawRow) -> Option<f64>,
) {
    let most = law.rows.iter().filter_map(&value).fold(least, f64::max);
    let chart = chart(panel, across, Scale::between(0.0, 1.05 * most as f32));
    chart.ground(svg, name, "");
    each_run(law, |run, pen| svg.path(&points(&chart, run, &value), pen));
    chart.frame(svg);
}

fn above_noise(svg: &mut Svg, law: &Law, across: Scale) {
    let levels = law.rows.iter().filter_map(|row| row.above_noise_db);
    let (low, high) =
        levels.fold((0.0, 20.0), |(low, high): (f64, f64), db| (low.min(db), high.max(db)));
    let chart = chart(3, across, Scale::between(low as f32, 1.05 * high as f32));
    chart.ground(svg, "Above the noise of a loud cockpit (dB; dashed: heard now and then)", "");
    let ends = [law.rows.first(), law.rows.last()].into_iter().flatten();
    svg.path(&chart.line(ends.map(|row| (row.value_mps, 0.0))), style::WANTED);
    each_run(law, |run, pen| svg.path(&points(&chart, run, |row| row.above_noise_db), pen));
    chart.frame(svg);
}

fn steps(svg: &mut Svg, law: &Law, across: Scale) {
    let most = law.rows.iter().filter_map(|row| row.steps).fold(3.0, f64::max) as f32;
    // The zero stands clear of the labels below.
    let chart = chart(4, across, Scale::between(-0.1 * most, 1.05 * most));
    chart.ground(
        svg,
        "Just noticeable steps in 0.1 m/s (dashed: two)",
        axis(law.settings.tone.mode),
    );
    let ends = [law.rows.first(), law.rows.last()].into_iter().flatten();
    svg.path(&chart.line(ends.map(|row| (row.value_mps, 2.0))), style::WANTED);
    each_run(law, |run, _| {
        svg.path(&points(&chart, run, |row| row.steps), style::OTHER);
        svg.path(&points(&chart, run, |row| row.steps_in_noise), style::THIRD);
    });
    chart.frame(svg);
}

/// What the values are, below their axis.
fn axis(mode: SoundMode) -> &'static str {
    match mode {
        SoundMode::Climb => "vertical speed (m/s)",
        SoundMode::Netto => "netto (m/s): above zero the pairs rise, below they fall",
        SoundMode::Speed => {
            "airspeed less the speed to fly (m/s): below zero the pairs rise, above they fall"
        }
    }
}

/// The line of a quantity along a run of rows.
fn points(chart: &Chart, run: &[LawRow], value: impl Fn(&LawRow) -> Option<f64>) -> String {
    chart.line(run.iter().filter_map(|row| Some((row.value_mps, value(row)?))))
}

/// Each stretch of one sound, with the pen it is drawn with.
fn each_run(law: &Law, mut draw: impl FnMut(&[LawRow], Pen)) {
    for run in law.rows.chunk_by(|a, b| a.sound == b.sound) {
        match run[0].sound {
            "silent" => {}
            "steady" => draw(run, STEADY),
            "beeps" => draw(run, BEEPS),
            _ => draw(run, PAIRS),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::sweep::{Sweep, What};
    use super::*;
    use crate::output::plot::testing::{assert_readable_within, texts};
    use crate::settings_file;
    use chirrup_core::Settings;
    use chirrup_core::stages::Sounder;

    fn drawn(settings: &str, what: What) -> String {
        let instrument = settings_file::load(settings, &Settings::default()).unwrap();
        let sounder = Sounder::new(&instrument.settings.tone).unwrap();
        draw(&Law::new(&instrument, &sounder, what))
    }

    #[test]
    fn pictures_of_every_mode_and_of_one_value_can_be_read() {
        let sweep = What::Sweep(Sweep { from_mps: -5.0, to_mps: 10.0, seconds: 1.0 });
        for settings in
            ["tone.mode=climb", "tone.mode=netto", "tone.mode=speed,tone.even_loudness=false"]
        {
            for what in [
                sweep,
                What::One { value_mps: 2.5, seconds: 1.0 },
                What::One { value_mps: 0.0, seconds: 1.0 },
            ] {
                let svg = drawn(settings, what);
                assert_readable_within(HEIGHT as f32, settings, &svg);
                assert!(texts(&svg).iter().any(|(words, _)| words.contains(settings)));
            }
        }
    }
}
