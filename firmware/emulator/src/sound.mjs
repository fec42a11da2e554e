// What the speaker's pin sounds like: edges to beeps, and edges to a WAV file.
import { writeFileSync } from 'node:fs';

/** Two rising edges further apart than this belong to two beeps: a period of 70 Hz. */
const SILENCE_US = 1e6 / 70;

/**
 * Beeps in the edges of a square wave: `[{ startUs, endUs, periods: [us, ...] }]`, `endUs` being
 * the last falling edge.
 */
export function beeps(edges) {
  const found = [];
  let current = null;
  for (const { us, high } of edges) {
    if (high) {
      if (!current || us - current.lastRiseUs > SILENCE_US) {
        current = { startUs: us, endUs: us, periods: [] };
        found.push(current);
      } else {
        current.periods.push(us - current.lastRiseUs);
      }
      current.lastRiseUs = us;
    } else if (current) {
      current.endUs = us;
    }
  }
  return found;
}

/** Pitch by the mean period of the middle of a beep. */
export function pitchHz({ periods }) {
  const cut = Math.floor(periods.length / 4);
  const middle = periods.slice(cut, periods.length - cut);
  return (1e6 * middle.length) / middle.reduce((sum, period) => sum + period, 0);
}

export const cents = (a, b) => 1200 * Math.log2(a / b);

/**
 * Collects a pin's edges as 16-bit samples: each is the share of its time that the pin was high,
 * less the mean (a speaker hears no DC).
 */
export class Recorder {
  constructor(pin, rateHz = 48_000) {
    Object.assign(this, { pin, rateHz, samples: [], high: false, sinceUs: 0, filled: 0, mean: 0 });
  }

  attach(machine) {
    this.machine = machine;
    machine.rp.gpio[this.pin].addListener(() => this.upTo(machine.us));
    this.level = () => machine.rp.gpio[this.pin].value === 1;
  }

  /** Takes the time until `us` with the level it had. */
  upTo(us) {
    const step = 1e6 / this.rateHz;
    while (this.sinceUs < us) {
      const end = (this.samples.length + 1) * step;
      const stop = Math.min(end, us);
      if (this.high) this.filled += stop - this.sinceUs;
      this.sinceUs = stop;
      if (stop >= end) {
        this.push(this.filled / step);
        this.filled = 0;
      }
    }
    this.high = this.level();
  }

  /** A high-pass of 20 Hz stands for the speaker's capacitor. */
  push(share) {
    this.mean += (share - this.mean) * ((2 * Math.PI * 20) / this.rateHz);
    this.samples.push(Math.max(-32767, Math.min(32767, Math.round((share - this.mean) * 20_000))));
  }

  /** Writes the WAV file (RIFF, PCM, one channel, 16 bits). */
  write(path) {
    this.upTo(this.machine.us);
    const data = Buffer.alloc(44 + 2 * this.samples.length);
    data.write('RIFF', 0);
    data.writeUInt32LE(36 + 2 * this.samples.length, 4);
    data.write('WAVEfmt ', 8);
    data.writeUInt32LE(16, 16);
    data.writeUInt16LE(1, 20);
    data.writeUInt16LE(1, 22);
    data.writeUInt32LE(this.rateHz, 24);
    data.writeUInt32LE(2 * this.rateHz, 28);
    data.writeUInt16LE(2, 32);
    data.writeUInt16LE(16, 34);
    data.write('data', 36);
    data.writeUInt32LE(2 * this.samples.length, 40);
    this.samples.forEach((sample, i) => data.writeInt16LE(sample, 44 + 2 * i));
    writeFileSync(path, data);
  }
}
