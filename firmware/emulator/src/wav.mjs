// A WAV file of the bench: its samples, and the beeps in them.
import { readFileSync } from 'node:fs';
import { beeps, crossings } from './sound.mjs';

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

/** Beeps in a WAV file of the bench. */
export function wavBeeps(path) {
  const { rateHz, samples } = readWav(path);
  return beeps(crossings(samples, (place) => (1e6 * place) / rateHz));
}
