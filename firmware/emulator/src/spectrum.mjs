// What an ear hears of samples: when they sound, at what pitch, and how loud each harmonic is.

/** Silence of this many seconds ends a beep. */
const GAP_S = 0.008;
const HARMONICS = 6;
const [LOWEST_HZ, HIGHEST_HZ] = [80, 4000];

/** Beeps in samples that rest at `rest`: `[{ from, to }]` in samples, `to` being after the last. */
export function sounding(samples, rateHz, rest = 0) {
  const found = [];
  const gap = GAP_S * rateHz;
  samples.forEach((sample, place) => {
    if (Math.abs(sample - rest) < 1e-6) return;
    const last = found.at(-1);
    if (!last || place - last.to > gap) found.push({ from: place, to: place + 1 });
    else last.to = place + 1;
  });
  return found;
}

/** Amplitude and phase of a frequency, through Hann's window. */
function line(samples, rateHz, hz) {
  let [real, imaginary, sum] = [0, 0, 0];
  samples.forEach((sample, place) => {
    const window = Math.sin((Math.PI * (place + 0.5)) / samples.length) ** 2;
    const angle = (2 * Math.PI * hz * place) / rateHz;
    real += window * sample * Math.cos(angle);
    imaginary -= window * sample * Math.sin(angle);
    sum += window;
  });
  return { amplitude: (2 * Math.hypot(real, imaginary)) / sum, phase: Math.atan2(imaginary, real) };
}

/** The frequency near `hz`, by how its phase moves from the first to the second half. */
function refined(samples, rateHz, hz) {
  const half = samples.length >> 1;
  const [early, late] = [samples.slice(0, half), samples.slice(half, 2 * half)].map((part) => line(part, rateHz, hz).phase);
  const moved = late - early - (2 * Math.PI * hz * half) / rateHz;
  const turn = moved - 2 * Math.PI * Math.round(moved / (2 * Math.PI));
  return hz + (turn * rateHz) / (2 * Math.PI * half);
}

/** Pitch, and the amplitudes of the harmonics, of a part that sounds steadily. */
export function heard(samples, rateHz) {
  const mean = samples.reduce((sum, sample) => sum + sample, 0) / samples.length;
  const part = samples.map((sample) => sample - mean);
  const amplitude = (hz) => (hz < rateHz / 2 ? line(part, rateHz, hz).amplitude : 0);
  // The strongest line, and then the pitch of which it is a harmonic: the lowest with a line of its
  // own 26 dB below it or stronger.
  let strongest = { hz: 0, amplitude: 0 };
  const step = rateHz / samples.length;
  for (let hz = LOWEST_HZ; hz < HIGHEST_HZ; hz += step) {
    const found = amplitude(hz);
    if (found > strongest.amplitude) strongest = { hz, amplitude: found };
  }
  const peak = [1, 2].reduce((hz) => refined(part, rateHz, hz), strongest.hz);
  const divisor = [4, 3, 2].find((count) => peak / count > LOWEST_HZ && amplitude(peak / count) > 0.05 * strongest.amplitude) ?? 1;
  const pitchHz = peak / divisor;
  return { pitchHz, harmonics: Array.from({ length: HARMONICS }, (_, place) => amplitude((place + 1) * pitchHz)) };
}

export const decibels = (ratio) => 20 * Math.log10(ratio);
