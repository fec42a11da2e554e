//! Five instruments with different settings and equipment, which take turns of [`TURN`] samples.
//!
//! Between its turns an instrument is paused, including its flight and clock, so each flies a
//! complete flight.

use crate::air::{Air, Equipment};
use crate::digest::Digest;
use chirrup_core::{
    AltimeterSettings, AverageSettings, EnergyChoice, EnergySettings, FilterChoice, FilterSettings,
    Micros, Pipeline, PipelineState, PolarSettings, PwmTimer, Reading, ReadingSettings, Sample,
    Settings, SettingsError, SoundMode, TICK, TICKS_PER_SECOND, ToneSettings, VerticalScale, Voice,
    Waveform, WaveformState,
};

/// Samples that one instrument takes before the next has its turn.
pub const TURN: u32 = 250;
/// Instruments in the fleet.
pub const INSTRUMENTS: usize = 5;
/// The timer of a Pico's speaker.
const PICO_HZ: u32 = 125_000_000;
const PICO_DIVIDER: u16 = 255;
/// Samples a second of the sound that is compared: few, since the small processors are emulated.
const SOUND_HZ: u32 = 8_000;
const SOUND_A_TICK: usize = (SOUND_HZ / TICKS_PER_SECOND) as usize;
/// A gap in the samples is not sounded beyond this; the sound has long ended.
const MOST_TICKS: i64 = 1_500;

/// One instrument and its air.
pub struct Instrument {
    pipeline: Pipeline,
    state: PipelineState,
    air: Air,
    /// Sound time not yet played: less than a tick.
    owed: Micros,
    /// None only for a clock that is too slow for any pitch.
    timer: Option<PwmTimer>,
    /// The last voice: a timer is set when it changes.
    last: Option<Voice>,
    waveform: Waveform,
    wave: WaveformState,
}

/// The instruments and the digest of all their outputs.
pub struct Fleet {
    instruments: [Instrument; INSTRUMENTS],
    taken: u32,
    digest: Digest,
}

impl Instrument {
    fn new(seed: u32, equipment: Equipment, settings: &Settings) -> Result<Self, SettingsError> {
        let (pipeline, state) = (settings.build()?, PipelineState::default());
        Ok(Self {
            pipeline,
            state,
            air: Air::new(seed, equipment),
            owed: Micros(0),
            timer: PwmTimer::new(PICO_HZ, PICO_DIVIDER),
            last: None,
            waveform: Waveform::new(SOUND_HZ),
            wave: WaveformState::default(),
        })
    }

    fn tick(&mut self, digest: &mut Digest) {
        let voice = self.pipeline.tick(&mut self.state);
        digest.voice(voice);
        if self.last != Some(voice) {
            self.timer.iter().for_each(|timer| digest.pulse(timer.pulse(voice)));
            self.last = Some(voice);
        }
        let mut samples = [0; SOUND_A_TICK];
        self.waveform.fill(&mut self.wave, voice, &mut samples);
        digest.samples(&samples);
    }

    /// Runs the sound up to the next sample and takes it.
    fn step(&mut self, digest: &mut Digest) -> (Sample, Reading) {
        let sample = self.air.next_sample();
        let until = self.owed.0 + self.pipeline.time_until(&self.state, &sample).0;
        self.owed = Micros(until % TICK.0);
        for _ in 0..(until / TICK.0).min(MOST_TICKS) {
            self.tick(digest);
        }
        let reading = self.pipeline.step(&mut self.state, &sample);
        digest.reading(&reading);
        (sample, reading)
    }
}

impl Fleet {
    /// The fleet before its first sample.
    ///
    /// # Errors
    /// None, while the settings here are in their ranges.
    pub fn new() -> Result<Self, SettingsError> {
        let defaults = Settings::default();
        let energy = EnergySettings {
            choice: EnergyChoice::Electronic,
            compensation_percent: 85.0,
            ..EnergySettings::default()
        };
        let quick = Settings {
            filter: FilterSettings { choice: FilterChoice::Fixed, response_s: 0.3, noise_m: 0.0 },
            energy,
            reading: ReadingSettings { scale: VerticalScale::Corrected, stale_after_s: 0.5 },
            ..Settings::default()
        };
        let probe = Settings {
            filter: FilterSettings { noise_m: 0.05, ..FilterSettings::default() },
            average: AverageSettings { span_s: 5.0 },
            energy: EnergySettings { choice: EnergyChoice::Probe, ..EnergySettings::default() },
            ..Settings::default()
        };
        let polar = PolarSettings {
            ballast_kg: 80.0,
            contamination_percent: 15.0,
            ..PolarSettings::default()
        };
        let energy = EnergySettings {
            static_delay_ms: 80.0,
            airspeed_delay_ms: 30.0,
            ..EnergySettings::default()
        };
        let netto = Settings {
            polar: Some(polar),
            altimeter: AltimeterSettings { subscale_hpa: 998.0, ..AltimeterSettings::default() },
            energy,
            filter: FilterSettings { response_s: 3.0, ..FilterSettings::default() },
            average: AverageSettings { span_s: 60.0 },
            tone: ToneSettings { mode: SoundMode::Speed, ..ToneSettings::default() },
            ..Settings::default()
        };
        let instruments = [
            Instrument::new(1, Equipment::Static, &defaults)?,
            Instrument::new(2, Equipment::Indicated, &quick)?,
            Instrument::new(3, Equipment::Probe, &probe)?,
            Instrument::new(4, Equipment::Pitot, &netto)?,
            Instrument::new(5, Equipment::Inertial, &netto)?,
        ];
        Ok(Self { instruments, taken: 0, digest: Digest::default() })
    }

    /// Takes one more sample; returns it, its reading, and which instrument took it.
    pub fn step(&mut self) -> (usize, Sample, Reading) {
        let turn = (self.taken / TURN) as usize % INSTRUMENTS;
        self.taken += 1;
        let (sample, reading) = self.instruments[turn].step(&mut self.digest);
        (turn, sample, reading)
    }

    /// The digest of all outputs so far.
    pub fn digest(&self) -> Digest {
        self.digest
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chirrup_core::{EnergySource, Sound, Status};
    use std::collections::BTreeMap;

    #[test]
    fn the_flight_meets_every_status_every_source_and_every_sound() {
        let mut fleet = Fleet::new().unwrap();
        let (mut statuses, mut sources, mut sounds) = (BTreeMap::new(), BTreeMap::new(), [0; 4]);
        let mut netto = 0;
        for _ in 0..100_000 {
            let (_, _, reading) = fleet.step();
            *statuses.entry(reading.status.name()).or_insert(0) += 1;
            *sources.entry(reading.source.name()).or_insert(0) += 1;
            let Some(values) = reading.values else { continue };
            netto += i32::from(values.netto.is_some());
            sounds[match values.sound {
                Sound::Silent => 0,
                Sound::Beeps { .. } => 1,
                Sound::Steady { .. } => 2,
                Sound::Pairs { .. } | Sound::Fault { .. } => 3,
            }] += 1;
        }
        assert_eq!(statuses.len(), Status::ALL.len(), "{statuses:?}");
        assert!(statuses["ok"] > 40_000, "{statuses:?}");
        for source in [EnergySource::None, EnergySource::Electronic, EnergySource::Probe] {
            assert!(sources.get(source.name()).is_some_and(|&count| count > 5_000), "{sources:?}");
        }
        assert!(sounds.iter().all(|&count| count > 1_000), "{sounds:?}");
        assert!(netto > 2_000, "{netto} readings with netto");
    }

    #[test]
    fn no_output_is_ever_a_nan() {
        let mut fleet = Fleet::new().unwrap();
        for _ in 0..100_000 {
            fleet.step();
        }
        assert_eq!(fleet.digest().not_numbers(), 0);
    }
}
