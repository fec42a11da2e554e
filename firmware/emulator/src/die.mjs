// The silicon of an emulated pressure sensor: how warm it is, and the noise of what it converts.
//
// Pressure counts depend on the die's temperature, about 200 Pa for each degree; a program that
// takes off another temperature than the one of the conversion reads a pressure that is not there.

/** The emulated instrument warms by 3 degrees a minute unless a test says otherwise. */
const KELVIN_PER_US = 3 / 60e6;
export const warming = (us) => 22 + us * KELVIN_PER_US;
/**
 * Flicker noise (1/f) as a sum of random values, each held twice as long as the one before: Voss and
 * McCartney's way. So many give 1/f from one conversion to 20 minutes of them.
 */
const OCTAVES = 16;

export class Die {
  /**
   * @param around degrees Celsius around it at microseconds after power-on
   * @param what lagS: of the die behind what is around it; kelvinPerWatt: what its own heat makes of
   *   it in the end; watts: while it converts; flicker: variance of each octave of 1/f noise, in
   *   units of the white noise's
   */
  constructor(around, { lagS, kelvinPerWatt, watts, flicker = 0.0014, seed = 1 }) {
    Object.assign(this, { around, lagS, kelvinPerWatt, watts, flicker: Math.sqrt(flicker), random: seed });
    this.held = { pressure: [], temperature: [] };
    this.count = { pressure: 0, temperature: 0 };
    this.own = 0;
  }

  /** Degrees at the middle of a conversion; then what the conversion adds. Times are in order. */
  converts(us, lastsUs) {
    const middle = us + lastsUs / 2;
    const passedS = Math.max(0, middle - (this.us ?? middle)) / 1e6;
    const kept = Math.exp(-passedS / this.lagS);
    this.us = middle;
    this.followed = this.around(middle) + ((this.followed ?? this.around(middle)) - this.around(middle)) * kept;
    this.own *= kept;
    const celsius = this.followed + this.own;
    this.own += (this.watts * lastsUs * this.kelvinPerWatt) / (1e6 * this.lagS);
    return celsius;
  }

  /** White and flicker noise of a conversion of this quantity whose white noise is `rms`. */
  noise(quantity, rms) {
    const held = this.held[quantity];
    const count = this.count[quantity]++;
    for (let octave = 0; octave < OCTAVES; octave++) {
      if (count % 2 ** octave === 0) held[octave] = this.gaussian();
    }
    const slow = held.reduce((sum, value) => sum + value, 0) * this.flicker;
    return rms * (this.gaussian() + slow);
  }

  /** Box and Muller's, of a 32-bit xorshift: the same on every run. */
  gaussian() {
    const radius = Math.sqrt(-2 * Math.log(this.uniform()));
    return radius * Math.cos(2 * Math.PI * this.uniform());
  }

  uniform() {
    let x = this.random | 0 || 0x2545f491;
    x ^= x << 13;
    x ^= x >>> 17;
    x ^= x << 5;
    this.random = x;
    return ((x >>> 0) + 1) / 4294967297;
  }
}

/** Where a function that grows from `low` to `high` is zero. */
export function zeroOf(grows, low, high) {
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    if (grows(middle) < 0) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
