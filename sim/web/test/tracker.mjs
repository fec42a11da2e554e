// Listens to recorded frames: when it sounds, and at which pitch, by level and autocorrelation.
// It shares nothing with the page or the core.

const WINDOW_S = 0.024;
export const HOP_S = 0.004;
const LEAST_HZ = 190;
const MOST_HZ = 2800;
// A sound is louder than this share of full scale, rms.
const LOUD = 0.02;

/** For every hop: whether it sounds, and the pitch in Hz, 0 where it cannot be told. */
export function track(samples, rate) {
  const window = Math.round(WINDOW_S * rate);
  const hops = [];
  for (let hop = 0; ; hop += 1) {
    const middle = Math.round(hop * HOP_S * rate);
    if (middle >= samples.length) return hops;
    const near = samples.subarray(Math.max(0, middle - rate * 0.003), middle + rate * 0.003);
    const sounds = rms(near) > LOUD;
    const start = middle - window / 2;
    const whole = start >= 0 && start + window + rate / LEAST_HZ < samples.length;
    hops.push({ sounds, pitch: sounds && whole ? pitchOf(samples, start, window, rate) : 0 });
  }
}

const rms = (part) =>
  Math.sqrt(part.reduce((sum, sample) => sum + sample * sample, 0) / (part.length || 1)) / 32768;

/** The first peak of the normalised autocorrelation that is nearly as high as the highest. */
function pitchOf(samples, start, window, rate) {
  const least = Math.floor(rate / MOST_HZ);
  const most = Math.ceil(rate / LEAST_HZ);
  const likeness = new Float64Array(most + 2);
  for (let lag = least - 1; lag <= most + 1; lag += 1) {
    let [product, one, other] = [0, 0, 0];
    for (let place = start; place < start + window; place += 2) {
      const [a, b] = [samples[place], samples[place + lag]];
      product += a * b;
      one += a * a;
      other += b * b;
    }
    likeness[lag] = product / Math.sqrt(one * other || 1);
  }
  const highest = Math.max(...likeness.subarray(least, most + 1));
  if (highest < 0.8) return 0;
  for (let lag = least; lag <= most; lag += 1) {
    const [before, here, after] = likeness.subarray(lag - 1, lag + 2);
    if (here < 0.93 * highest || here < before || here < after) continue;
    const shift = (before - after) / (2 * (before - 2 * here + after) || 1);
    return rate / (lag + shift);
  }
  return 0;
}
