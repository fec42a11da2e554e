// Beeps in a WAV file of the bench: the same shape as src/sound.mjs finds in edges, by the zero
// crossings of the wave.
import { readFileSync } from 'node:fs';

/** Zero crossings further apart than this belong to two beeps. */
const SILENCE_S = 1 / 70;

/** Samples of a WAV file of one channel, from -1 to 1, and their rate. */
export function readWav(path) {
  const file = readFileSync(path);
  let [rateHz, channels, data] = [0, 0, null];
  for (let at = 12; at + 8 <= file.length; at += 8 + file.readUInt32LE(at + 4)) {
    const name = file.toString('latin1', at, at + 4);
    if (name === 'fmt ') [channels, rateHz] = [file.readUInt16LE(at + 10), file.readUInt32LE(at + 12)];
    if (name === 'data') data = file.subarray(at + 8, at + 8 + file.readUInt32LE(at + 4));
  }
  if (channels !== 1) throw new Error(`${path}: ${channels} channels, where one is expected`);
  return { rateHz, samples: Float64Array.from({ length: data.length / 2 }, (_, i) => data.readInt16LE(2 * i) / 32_768) };
}

export function wavBeeps(path) {
  const { rateHz: rate, samples } = readWav(path);
  const found = [];
  let [current, quietSince] = [null, 0];
  for (let i = 1; i < samples.length; i++) {
    const [before, now] = [samples[i - 1], samples[i]];
    if (now !== 0) quietSince = i;
    // A rising crossing, between the samples where the straight line through them is zero.
    if (!(before <= 0 && now > 0)) {
      if (current) current.endUs = (1e6 * quietSince) / rate;
      continue;
    }
    const us = (1e6 * (i - 1 + (now === before ? 0 : -before / (now - before)))) / rate;
    if (!current || us - current.lastUs > 1e6 * SILENCE_S) {
      current = { startUs: us, endUs: us, periods: [] };
      found.push(current);
    } else {
      current.periods.push(us - current.lastUs);
    }
    current.lastUs = us;
  }
  return found;
}
