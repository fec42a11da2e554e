//! The listening folder: six clips, cut from flights that the program flies and replays, and a page
//! that plays them without a network.

use crate::clips::{CLIPS, Clip, SECONDS};
use crate::command::{command, run};
use crate::files::{made, name_below};
use crate::release::Release;
use anyhow::{Context, Result, bail, ensure};
use hound::{WavReader, WavSpec, WavWriter};
use std::fs;
use std::path::{Path, PathBuf};

/// The page around the clips.
const PAGE: &str = include_str!("../page/listening.html");
/// One clip in it.
const FIGURE: &str = include_str!("../page/clip.html");
/// Faded in and out, s, so that a cut beep does not click.
const FADE_S: f64 = 0.02;
/// Quieter than this, of 32767, is silence.
const SILENT: u16 = 60;
/// Silence as long as this, s, is between two sounds. Inside the steady tone there is none.
const PAUSE_S: f64 = 0.03;

/// Makes the folder.
///
/// # Errors
/// When a flight cannot be flown, or a clip does not have the sounds that its words say.
pub fn make(release: &Release) -> Result<()> {
    let folder = release.folder().join("listening");
    made(&folder)?;
    let mut figures = String::new();
    for clip in &CLIPS {
        let sound = cut(&replayed(release, clip)?, clip)?;
        let found = sounds(&sound.samples, sound.spec.sample_rate);
        ensure!(
            clip.sounds.contains(&found),
            "listening: {} has {found} sounds, not {:?}; choose another moment in clips.rs",
            clip.file,
            clip.sounds
        );
        sound.write(&folder.join(format!("{}.wav", clip.file)))?;
        figures += &figure(clip);
    }
    let page = PAGE.replace("{clips}", figures.trim_end()).replace("{version}", &release.version);
    Ok(fs::write(folder.join("index.html"), page)?)
}

/// The sound of the whole flight of a clip, as a WAV file among the working files.
fn replayed(release: &Release, clip: &Clip) -> Result<PathBuf> {
    let work = release.work.join("listening");
    made(&work)?;
    let (scenario, seed) = clip.flight;
    let (trace, sound) = (work.join("flight.csv"), work.join("flight.wav"));
    let mut fly = command(release, release.program());
    fly.args(["fly", scenario, "--seed", &seed.to_string(), "-o"]);
    run(release, "listening", fly.arg(&trace))?;
    let mut replay = command(release, release.program());
    replay.arg("replay").arg(&trace).arg("--wav").arg(&sound);
    run(release, "listening", replay.args(clip.fault.iter().flat_map(|what| ["--inject", what])))?;
    Ok(sound)
}

/// Samples of one ear.
struct Sound {
    spec: WavSpec,
    samples: Vec<i16>,
}

impl Sound {
    fn write(&self, path: &Path) -> Result<()> {
        let mut file = WavWriter::create(path, self.spec)?;
        for sample in &self.samples {
            file.write_sample(*sample)?;
        }
        Ok(file.finalize()?)
    }
}

/// The clip's part of the flight's sound, faded at both ends.
fn cut(flight: &Path, clip: &Clip) -> Result<Sound> {
    let mut reader = WavReader::open(flight)?;
    let spec = reader.spec();
    if spec.channels != 1 || spec.bits_per_sample != 16 {
        bail!("{}: not one channel of 16 bits", name_below(Path::new("/"), flight)?);
    }
    reader.seek(clip.from_s * spec.sample_rate).context("a clip begins after its flight")?;
    let length = (SECONDS * spec.sample_rate) as usize;
    let samples: Vec<i16> = reader.samples().take(length).collect::<Result<_, _>>()?;
    ensure!(samples.len() == length, "listening: {} ends after its flight", clip.file);
    Ok(Sound { spec, samples: faded(samples, spec.sample_rate) })
}

fn faded(mut samples: Vec<i16>, rate_hz: u32) -> Vec<i16> {
    let length = (FADE_S * f64::from(rate_hz)) as usize;
    let last = samples.len() - 1;
    for place in 0..length.min(last) {
        let part = place as f64 / length as f64;
        for at in [place, last - place] {
            samples[at] = (f64::from(samples[at]) * part) as i16;
        }
    }
    samples
}

/// How many sounds there are with pauses between them.
fn sounds(samples: &[i16], rate_hz: u32) -> usize {
    let pause = (PAUSE_S * f64::from(rate_hz)) as usize;
    let (mut count, mut quiet) = (0, pause);
    for sample in samples {
        if sample.unsigned_abs() < SILENT {
            quiet += 1;
        } else {
            count += usize::from(quiet >= pause);
            quiet = 0;
        }
    }
    count
}

fn figure(clip: &Clip) -> String {
    FIGURE
        .replace("{file}", clip.file)
        .replace("{title}", clip.title)
        .replace("{heard}", clip.heard)
        .replace("{means}", clip.means)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Beeps of `on_s` every `period_s`: a square wave of 1000 Hz, 24000 samples a second.
    fn beeps(on_s: f64, period_s: f64, seconds: f64) -> Vec<i16> {
        let sample = |place: usize| {
            let time_s = place as f64 / 24_000.0;
            let half = if (place / 12).is_multiple_of(2) { 8000 } else { -8000 };
            if time_s % period_s < on_s { half } else { 0 }
        };
        (0..(seconds * 24_000.0) as usize).map(sample).collect()
    }

    #[test]
    fn sounds_are_counted_by_the_pauses_between_them() {
        assert_eq!(sounds(&beeps(0.2, 0.5, 15.0), 24_000), 30);
        assert_eq!(sounds(&beeps(1.0, 1.0, 15.0), 24_000), 1);
        assert_eq!(sounds(&[0; 24_000], 24_000), 0);
    }

    #[test]
    fn a_cut_ends_in_silence_and_leaves_the_middle_alone() {
        let whole = beeps(1.0, 1.0, 15.0);
        let cut = faded(whole.clone(), 24_000);
        assert_eq!((cut[0], cut[cut.len() - 1]), (0, 0));
        assert_eq!(cut[480..whole.len() - 480], whole[480..whole.len() - 480]);
        assert!(cut[6].abs() < whole[6].abs(), "{} {}", cut[6], whole[6]);
    }

    #[test]
    fn every_clip_is_in_the_page_with_its_words() {
        for clip in &CLIPS {
            let figure = figure(clip);
            assert!(figure.contains(&format!("{}.wav", clip.file)), "{figure}");
            assert!(figure.contains(clip.means) && !figure.contains(['{', '}']), "{figure}");
        }
        assert_eq!(PAGE.matches("{clips}").count(), 1);
    }
}
