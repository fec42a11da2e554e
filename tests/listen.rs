//! A sound analyser for the tests: spectrum, pitch, envelope, edges; it shares no code with the
//! synthesiser.

use realfft::RealFftPlanner;

/// A WAV file as numbers from -1 to 1, one vector a channel.
pub struct Sound {
    /// Samples a second.
    pub rate_hz: f64,
    /// Left, and right where there are two.
    pub channels: Vec<Vec<f64>>,
}

impl Sound {
    /// Reads a WAV file of 16 bits.
    pub fn read(path: &str) -> Self {
        let reader = hound::WavReader::open(path).expect("the file is a WAV");
        let spec = reader.spec();
        assert_eq!(spec.bits_per_sample, 16);
        let mut channels = vec![Vec::new(); usize::from(spec.channels)];
        for (place, sample) in reader.into_samples::<i16>().enumerate() {
            channels[place % usize::from(spec.channels)]
                .push(f64::from(sample.expect("the file is whole")) / 32_768.0);
        }
        Self { rate_hz: f64::from(spec.sample_rate), channels }
    }

    /// The only channel.
    pub fn mono(&self) -> &[f64] {
        assert_eq!(self.channels.len(), 1);
        &self.channels[0]
    }

    /// The highest sample of all channels.
    pub fn peak(&self) -> f64 {
        self.channels.iter().flatten().fold(0.0, |peak: f64, sample| peak.max(sample.abs()))
    }

    /// Length.
    pub fn seconds(&self) -> f64 {
        self.channels[0].len() as f64 / self.rate_hz
    }

    /// What is heard between two times.
    pub fn part(&self, from_s: f64, to_s: f64) -> &[f64] {
        &self.mono()[(from_s * self.rate_hz) as usize..(to_s * self.rate_hz) as usize]
    }
}

/// How a stretch is faded in and out before its spectrum is taken; the argument goes from 0 to 1.
pub type Window = fn(f64) -> f64;

/// For a stretch of a continuous sound.
pub const HANN: Window = |place| 0.5 - 0.5 * (std::f64::consts::TAU * place).cos();

/// For a stretch that is silent at both ends.
pub const NONE: Window = |_| 1.0;

/// For what lies far below the sound: side lobes 92 dB down (Harris 1978, four terms).
pub const BLACKMAN_HARRIS: Window = |place| {
    let turn = std::f64::consts::TAU * place;
    0.358_75 - 0.488_29 * turn.cos() + 0.141_28 * (2.0 * turn).cos() - 0.011_68 * (3.0 * turn).cos()
};

/// Power spectrum of a windowed stretch, padded to at least `size`; returns (bin width in Hz,
/// powers).
fn spectrum(samples: &[f64], rate_hz: f64, window: Window, size: usize) -> (f64, Vec<f64>) {
    let size = (2 * samples.len()).next_power_of_two().max(size);
    let mut input = vec![0.0; size];
    for (place, sample) in samples.iter().enumerate() {
        input[place] = sample * window(place as f64 / samples.len() as f64);
    }
    let plan = RealFftPlanner::<f64>::new().plan_fft_forward(size);
    let mut output = plan.make_output_vec();
    plan.process(&mut input, &mut output).expect("the sizes fit");
    (rate_hz / size as f64, output.iter().map(|bin| bin.norm_sqr()).collect())
}

/// The strongest frequency.
pub fn pitch_hz(samples: &[f64], rate_hz: f64) -> f64 {
    let (width, powers) = spectrum(samples, rate_hz, HANN, 1 << 17);
    let strongest =
        powers.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1)).expect("there are bins").0;
    strongest as f64 * width
}

/// How often the wave repeats itself: the pitch that is heard, whichever harmonic is the strongest.
/// By the autocorrelation of the stretch: the shortest time after which it is most like itself.
pub fn repeated_hz(samples: &[f64], rate_hz: f64) -> f64 {
    let lags = (rate_hz / 2_500.0) as usize..(rate_hz / 150.0) as usize;
    let likeness = |lag: usize| {
        let (early, late) = (&samples[..samples.len() - lag], &samples[lag..]);
        let product = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        product(early, late) / (product(early, early) * product(late, late)).sqrt()
    };
    let all: Vec<(usize, f64)> = lags.map(|lag| (lag, likeness(lag))).collect();
    let most = all.iter().fold(f64::MIN, |most, (_, like)| most.max(*like));
    let peak = all.windows(3).find(|three| {
        let [before, here, after] = [three[0].1, three[1].1, three[2].1];
        here > 0.97 * most && here >= before && here >= after
    });
    let three = peak.expect("it repeats itself");
    let ([before, here, after], lag) = ([three[0].1, three[1].1, three[2].1], three[1].0 as f64);
    // The top of the parabola through the three.
    rate_hz / (lag + 0.5 * (before - after) / (before - 2.0 * here + after))
}

/// Loudness over time: the peak within 1 ms either way, smoothed over a period of the tone.
pub fn envelope(samples: &[f64], rate_hz: f64) -> Vec<f64> {
    let reach = (0.001 * rate_hz) as usize;
    let silence = vec![0.0; reach];
    let mut highest: Vec<f64> =
        [&silence[..], samples, &silence[..]].concat().iter().map(|sample| sample.abs()).collect();
    // The highest of ever more neighbours, by doubling.
    let mut reached = 1;
    while reached < 2 * reach {
        let step = reached.min(2 * reach - reached);
        for place in 0..highest.len() - step {
            highest[place] = highest[place].max(highest[place + step]);
        }
        reached += step;
    }
    highest.truncate(samples.len());
    highest
}

/// Times at which the envelope passes half of `peak`: (onsets, ends).
pub fn edges(samples: &[f64], rate_hz: f64, peak: f64) -> (Vec<f64>, Vec<f64>) {
    let (mut onsets, mut ends) = (Vec::new(), Vec::new());
    for (place, pair) in envelope(samples, rate_hz).windows(2).enumerate() {
        let time = place as f64 / rate_hz;
        if pair[0] < peak / 2.0 && pair[1] >= peak / 2.0 {
            onsets.push(time);
        } else if pair[0] >= peak / 2.0 && pair[1] < peak / 2.0 {
            ends.push(time);
        }
    }
    (onsets, ends)
}

/// The share of the power that lies outside `low_hz` to `high_hz`, in decibels below that inside.
pub fn outside_db(samples: &[f64], rate_hz: f64, window: Window, low_hz: f64, high_hz: f64) -> f64 {
    let (width, powers) = spectrum(samples, rate_hz, window, 1 << 13);
    let inside: f64 = powers[(low_hz / width) as usize..=(high_hz / width) as usize].iter().sum();
    10.0 * ((powers.iter().sum::<f64>() - inside) / inside).log10()
}
