// What the speaker's pin sounds like: its level over time to edges, beeps, samples and a WAV file.
import { writeFileSync } from 'node:fs';
import { GPIOPinState } from 'rp2040js';

/** Two rising edges further apart than this belong to two beeps: a period of 70 Hz. */
const SILENCE_US = 1e6 / 70;
/** A carrier's share changes once in this time at most: a sample. */
const SAMPLE_US = 40;
/** A pin's function while it belongs to the timer: RP2040 data sheet, table "GPIO functions". */
const OF_THE_TIMER = 4;
/** Where a carrier rests. */
const MIDDLE = 0.5;

/**
 * Beeps in the edges of a wave: `[{ startUs, endUs, periods: [us, ...] }]`, `endUs` being the last
 * falling edge. A wave with strong harmonics has several edges a period: the periods are those
 * after which it repeats.
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
  return found.map((beep) => ({ ...beep, periods: repeating(beep.periods) }));
}

/** Where samples cross zero, by the straight line between two: `[{ us, high }]`. */
export function crossings(samples, usOf) {
  const found = [];
  for (let i = 1; i < samples.length; i++) {
    const [before, now] = [samples[i - 1], samples[i]];
    if (now > 0 === before > 0) continue;
    found.push({ us: usOf(i - 1 + before / (before - now)), high: now > 0 });
  }
  return found;
}

/** Times between edges, joined by the fewest after which they repeat. */
function repeating(times) {
  for (const count of [1, 2, 3, 4]) {
    const joined = [];
    for (let i = 0; i + count <= times.length; i += count) joined.push(times.slice(i, i + count).reduce((sum, time) => sum + time));
    const shifted = times.slice(1).map((_, i) => times.slice(i + 1, i + 1 + count).reduce((sum, time) => sum + time, 0)).slice(0, 1 - count || undefined);
    const apart = shifted.slice(1).map((time, i) => Math.abs(time / shifted[i] - 1)).sort((a, b) => a - b);
    if (apart.length < 4 || apart[Math.floor(0.7 * apart.length)] < 0.03) return joined;
  }
  return times;
}

/** Pitch by the mean period of the middle of a beep. */
export function pitchHz({ periods }) {
  const cut = Math.floor(periods.length / 4);
  const middle = periods.slice(cut, periods.length - cut);
  return (1e6 * middle.length) / middle.reduce((sum, period) => sum + period, 0);
}

export const cents = (a, b) => 1200 * Math.log2(a / b);

/**
 * Records the level of the speaker's pin, from 0 to 1: of pulses 0 and 1, of a carrier its share.
 * `us` and `levels` are the times at which it changed and what it became.
 */
export class Speaker {
  constructor(pin) {
    Object.assign(this, { pin, slice: (pin >> 1) & 7, us: [], levels: [], share: null, isHigh: false });
  }

  attach(machine) {
    this.machine = machine;
    this.share = null;
    const pin = (state) => {
      this.isHigh = state === GPIOPinState.High;
      // A pin that has left the timer hears no carrier.
      if (!this.isHigh) this.share = null;
      if (this.share === null) this.note(machine.us, this.isHigh ? 1 : 0);
    };
    pin(GPIOPinState.Low); // a chip that is being reset drives nothing
    machine.rp.gpio[this.pin].addListener(pin);
    const { gpio } = machine.rp;
    machine.rp.pwm.onShare = (slice, nanos, share) => {
      // A slice counts on after the pin has left it, unheard.
      if (slice !== this.slice || gpio[this.pin].functionSelect !== OF_THE_TIMER) return;
      const left = this.share !== null && share === null;
      this.share = share;
      if (share !== null) this.note(nanos / 1000 - machine.startUs, share);
      else if (left) this.note(machine.us, this.isHigh ? 1 : 0);
    };
  }

  note(us, level) {
    if (level === this.levels.at(-1)) return;
    this.us.push(us);
    this.levels.push(level);
  }

  /** Forgets what was so far. */
  clear() {
    const level = this.levels.at(-1) ?? 0;
    Object.assign(this, { us: [this.machine.us], levels: [level] });
  }

  /** Crossings of the middle: `[{ us, high }]`. */
  get edges() {
    const found = [];
    let isHigh = false;
    for (let i = 0; i < this.us.length; i++) {
      const now = this.levels[i] - MIDDLE;
      if (now > 0 === isHigh) continue;
      isHigh = now > 0;
      const before = i > 0 ? this.levels[i - 1] - MIDDLE : -MIDDLE;
      const isPulse = Math.abs(now) === MIDDLE && Math.abs(before) === MIDDLE;
      const step = i > 0 && !isPulse ? Math.min(SAMPLE_US, this.us[i] - this.us[i - 1]) : 0;
      found.push({ us: this.us[i] - (step * now) / (now - before), high: isHigh });
    }
    return found;
  }

  /** Means of the level over each sample, from -1 to 1. */
  samples(rateHz, fromUs = 0, untilUs = this.machine.us) {
    const step = 1e6 / rateHz;
    const sums = new Float64Array(Math.max(0, Math.ceil((untilUs - fromUs) / step)));
    this.us.forEach((us, i) => {
      const [begin, end] = [Math.max(us, fromUs), Math.min(this.us[i + 1] ?? untilUs, untilUs)];
      for (let at = begin; at < end;) {
        const place = Math.floor((at - fromUs) / step + 1e-9);
        const stop = Math.min(end, fromUs + (place + 1) * step);
        if (place < sums.length) sums[place] += ((stop - at) / step) * (2 * this.levels[i] - 1);
        at = Math.max(stop, at + 1e-6);
      }
    });
    return sums;
  }

  /** Writes a WAV file (RIFF, PCM, one channel, 16 bits); 20 Hz for an amplifier's capacitor. */
  write(path, rateHz = 48_000) {
    let mean = -1;
    const samples = this.samples(rateHz).map((sample) => {
      mean += (sample - mean) * ((2 * Math.PI * 20) / rateHz);
      return Math.max(-32767, Math.min(32767, Math.round((sample - mean) * 32_767)));
    });
    const data = Buffer.alloc(44 + 2 * samples.length);
    data.write('RIFF', 0);
    data.writeUInt32LE(36 + 2 * samples.length, 4);
    data.write('WAVEfmt ', 8);
    data.writeUInt32LE(16, 16);
    data.writeUInt16LE(1, 20);
    data.writeUInt16LE(1, 22);
    data.writeUInt32LE(rateHz, 24);
    data.writeUInt32LE(2 * rateHz, 28);
    data.writeUInt16LE(2, 32);
    data.writeUInt16LE(16, 34);
    data.write('data', 36);
    data.writeUInt32LE(2 * samples.length, 40);
    samples.forEach((sample, i) => data.writeInt16LE(sample, 44 + 2 * i));
    writeFileSync(path, data);
  }
}
