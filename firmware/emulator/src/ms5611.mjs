// An emulated MS5611 barometer: its commands, its times, its calibration, and counts made from a
// pressure by undoing the compensation. Source: MS5611-01BA03 data sheet: commands, conversion
// times, the flow charts, and CRC-4 of the PROM.

/** C1 to C6 of the data sheet's example. */
const CALIBRATION = [40127, 36924, 23317, 23282, 33464, 28312];
/**
 * Longest conversion by oversampling 256 to 4096, in microseconds: "ADC conversion time", maximum.
 */
const CONVERSION_US = [600, 1170, 2280, 4540, 9040];
const RESET_US = 2800;
/** Noise at the highest oversampling: 0.012 mbar rms. */
const NOISE_PA = 1.2;

export class Ms5611 {
  /** @param pressureAt pascals at microseconds after power-on */
  constructor(pressureAt, { address = 0x77, celsius = 22, noisePa = NOISE_PA, seed = 1 } = {}) {
    Object.assign(this, { pressureAt, address, celsius, noisePa, absent: false, frozen: false });
    this.random = seed;
    this.prom = withChecksum([0, ...CALIBRATION, 0]);
    this.conversions = [];
    this.reading = [0, 0, 0];
    this.lastCounts = 0;
  }

  attach(machine) { this.machine = machine; }

  write(bytes, us) {
    const command = bytes[0];
    if (command === 0x1e) this.readyUs = us + RESET_US;
    else if (us < (this.readyUs ?? 0)) return; // still loading its PROM: deaf
    else if (command >= 0xa0 && command <= 0xae) this.reading = word(this.prom[(command - 0xa0) >> 1]);
    else if (command >= 0x40 && command <= 0x58) this.convert(command, us);
    else if (command === 0x00) this.finish(us);
  }

  read(index) { return this.reading[index] ?? 0xff; }

  convert(command, us) {
    const lasts = CONVERSION_US[(command & 0x0f) >> 1];
    const ofPressure = command < 0x50;
    this.running = { doneUs: us + lasts, counts: ofPressure ? this.pressureCounts(us + lasts / 2) : this.temperatureCounts() };
    if (ofPressure) this.conversions.push(us + lasts / 2);
  }

  /** Reading before the end gives zero, and the conversion is lost. */
  finish(us) {
    const done = this.running && us >= this.running.doneUs;
    this.reading = three(done ? this.running.counts : 0);
    this.running = null;
  }

  temperatureCounts() {
    const [, , , , c5, c6] = CALIBRATION;
    return Math.round(((this.celsius * 100 - 2000) * 2 ** 23) / c6 + c5 * 256);
  }

  /**
   * P = (D1 SENS / 2^21 - OFF) / 2^15, solved for D1; above 20 degrees, so without second order.
   */
  pressureCounts(us) {
    if (this.frozen) return this.lastCounts;
    const [c1, c2, c3, c4, c5] = CALIBRATION;
    const dT = this.temperatureCounts() - c5 * 256;
    const offset = c2 * 65536 + (c4 * dT) / 128;
    const sensitivity = c1 * 32768 + (c3 * dT) / 256;
    const pressure = this.pressureAt(us) + this.noisePa * this.gaussian();
    this.lastCounts = Math.round(((pressure * 32768 + offset) * 2097152) / sensitivity);
    return this.lastCounts;
  }

  /** Twelve uniform numbers less six: near enough to normal, and the same on every run. */
  gaussian() {
    let sum = -6;
    for (let i = 0; i < 12; i++) {
      this.random = (Math.imul(this.random, 1664525) + 1013904223) >>> 0;
      sum += this.random / 2 ** 32;
    }
    return sum;
  }
}

const word = (value) => [value >> 8, value & 0xff];
const three = (value) => [(value >> 16) & 0xff, (value >> 8) & 0xff, value & 0xff];

/**
 * The PROM with its CRC-4 in the low bits of the last word. Polynomial x^4 + x + 1, over all bytes
 * but that nibble.
 */
function withChecksum(words) {
  const checked = [...words];
  checked[7] &= 0xff00;
  let remainder = 0;
  for (let i = 0; i < 16; i++) {
    remainder ^= i % 2 ? checked[i >> 1] & 0xff : checked[i >> 1] >> 8;
    for (let bit = 0; bit < 8; bit++) remainder = remainder & 0x8000 ? (remainder << 1) ^ 0x3000 : remainder << 1;
  }
  checked[7] |= (remainder >> 12) & 0xf;
  return checked;
}
