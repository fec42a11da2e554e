//! A 32-bit digest of all outputs of the instruments: FNV-1a, word by word.
//!
//! `digest = (digest xor word) x 16777619`, from 2166136261. Source: the FNV hash's published
//! constants for 32 bits (from memory); the only difference is words instead of bytes, because this
//! guards against accidents and not against attacks, and a small processor multiplies by the word.

use chirrup_core::{
    Aided, Climb, Felt, Hertz, Metre, MetrePerSecond, Micros, Netto, Pulse, Reading, Remark, Sound,
    Values, Voice,
};

/// The digest of all outputs so far.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Digest {
    value: u32,
    not_numbers: u32,
}

impl Default for Digest {
    fn default() -> Self {
        Self { value: 2_166_136_261, not_numbers: 0 }
    }
}

impl Digest {
    /// The digest.
    pub fn value(self) -> u32 {
        self.value
    }

    /// How many of the outputs were NaN.
    pub fn not_numbers(self) -> u32 {
        self.not_numbers
    }

    /// Takes a reading, field by field: a new field in the core is a compile error here until it is
    /// added.
    pub fn reading(&mut self, reading: &Reading) {
        let Reading { time, status, elapsed, source, values } = reading;
        self.micros(*time);
        self.text(status.name());
        self.micros(*elapsed);
        self.text(source.name());
        self.word(u32::from(values.is_some()));
        if let Some(values) = values {
            self.values(values);
        }
    }

    /// Takes the voice of one control tick.
    pub fn voice(&mut self, voice: Voice) {
        let Voice { pitch: Hertz(pitch_hz), gate, level, timbre, meaning } = voice;
        self.float(pitch_hz);
        self.word(u32::from(gate));
        self.float(level);
        self.word(timbre as u32);
        self.word(meaning as u32);
    }

    /// Takes the settings of a timer.
    pub fn pulse(&mut self, pulse: Pulse) {
        let Pulse { top, compare } = pulse;
        self.word(u32::from(top));
        self.word(u32::from(compare));
    }

    /// Takes samples of the sound.
    pub fn samples(&mut self, samples: &[i16]) {
        samples.iter().for_each(|sample| self.word(*sample as u32));
    }

    fn values(&mut self, values: &Values) {
        let Values {
            altitude: Metre(altitude_m),
            altimeter: Metre(altimeter_m),
            true_airspeed,
            vertical_speed: MetrePerSecond(vertical_mps),
            te_vertical_speed,
            deviation: MetrePerSecond(deviation_mps),
            inertial,
            average,
            climb,
            netto,
            sound,
        } = *values;
        for value in [altitude_m, altimeter_m, vertical_mps, deviation_mps] {
            self.float(value);
        }
        for speed in [true_airspeed, te_vertical_speed, average] {
            self.word(u32::from(speed.is_some()));
            self.float(speed.unwrap_or_default().0);
        }
        self.word(u32::from(inertial.is_some()));
        if let Some(inertial) = inertial {
            self.inertial(inertial);
        }
        self.word(u32::from(climb.is_some()));
        if let Some(climb) = climb {
            self.climb(climb);
        }
        self.word(u32::from(netto.is_some()));
        if let Some(netto) = netto {
            self.netto(netto);
        }
        self.sound(sound);
    }

    fn inertial(&mut self, aided: Aided) {
        let Aided { felt, trust, weight, remark } = aided;
        self.text(trust.name());
        self.float(weight);
        self.text(remark.map_or("", Remark::name));
        self.word(u32::from(felt.is_some()));
        if let Some(felt) = felt {
            let Felt { climb, deviation, vertical_speed, load_factor, bank } = felt;
            for MetrePerSecond(speed_mps) in [climb, deviation, vertical_speed] {
                self.float(speed_mps);
            }
            self.float(load_factor);
            self.float(bank);
        }
    }

    fn climb(&mut self, climb: Climb) {
        let Climb { gain: Metre(gain_m), lasted, average: MetrePerSecond(average_mps) } = climb;
        self.float(gain_m);
        self.micros(lasted);
        self.float(average_mps);
    }

    fn netto(&mut self, netto: Netto) {
        let Netto { air, relative, speed_to_fly, equivalent_airspeed } = netto;
        for MetrePerSecond(speed_mps) in [air, relative, speed_to_fly, equivalent_airspeed] {
            self.float(speed_mps);
        }
    }

    fn sound(&mut self, sound: Sound) {
        match sound {
            Sound::Silent => self.word(0),
            Sound::Beeps { pitch: Hertz(pitch_hz), cadence: Hertz(cadence_hz), on_fraction } => {
                self.word(1);
                self.float(pitch_hz);
                self.float(cadence_hz);
                self.float(on_fraction);
            }
            Sound::Steady { pitch: Hertz(pitch_hz) } => {
                self.word(2);
                self.float(pitch_hz);
            }
            Sound::Pairs {
                first: Hertz(first_hz),
                second: Hertz(second_hz),
                cadence: Hertz(cadence_hz),
            } => {
                self.word(3);
                self.float(first_hz);
                self.float(second_hz);
                self.float(cadence_hz);
            }
            Sound::Fault { pitch: Hertz(pitch_hz), every } => {
                self.word(4);
                self.float(pitch_hz);
                self.micros(every);
            }
        }
    }

    /// The bits of a float; every NaN counts as the same one.
    fn float(&mut self, value: f32) {
        self.not_numbers += u32::from(value.is_nan());
        self.word(if value.is_nan() { f32::NAN.to_bits() } else { value.to_bits() });
    }

    fn micros(&mut self, Micros(time): Micros) {
        self.word(time as u32);
        self.word((time >> 32) as u32);
    }

    fn text(&mut self, text: &str) {
        for byte in text.bytes() {
            self.word(u32::from(byte));
        }
    }

    fn word(&mut self, word: u32) {
        self.value = (self.value ^ word).wrapping_mul(16_777_619);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_smallest_difference_in_an_output_changes_the_digest() {
        let voice = Voice { pitch: Hertz(700.0), gate: true, ..Voice::default() };
        let next = Voice { pitch: Hertz(f32::from_bits(700.0_f32.to_bits() + 1)), ..voice };
        let digest_of = |voice| {
            let mut digest = Digest::default();
            digest.voice(voice);
            digest.value()
        };
        assert_ne!(digest_of(voice), digest_of(next));
        assert_ne!(digest_of(voice), digest_of(Voice { gate: false, ..voice }));
        // Plus and minus zero differ.
        assert_ne!(
            digest_of(Voice { pitch: Hertz(0.0), ..voice }),
            digest_of(Voice { pitch: Hertz(-0.0), ..voice })
        );
    }
}
