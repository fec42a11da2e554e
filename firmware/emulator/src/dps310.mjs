// An emulated DPS310 barometer: its registers, its coefficients, its two thermometers, its times,
// and counts made from a pressure by undoing the compensation. Typed apart from the driver and from
// the fake of the host tests. Source: DPS310 data sheet, "register map", "calibration coefficients",
// "how to calculate compensated values"; noise from memory.
import { Noise } from './noise.mjs';

/** A sensor that its owner published: Infineon/DPS310-Pressure-Sensor, issue 30. */
const C = { c0: 222, c1: -297, c00: 79832, c10: -56308, c01: -2295, c11: 1444, c20: -9701, c21: 111, c30: -1289 };
/** By oversampling 1, 2, 4 .. 128. */
const SCALE = [524288, 1572864, 3670016, 7864320, 253952, 516096, 1040384, 2088960];
const NOISE_PA = [2.5, 1, 0.5, 0.4, 0.35, 0.3, 0.2, 0.2];
const CONVERSION_US = [3600, 5200, 8400, 14800, 27600, 53200, 104400, 206800];
const TEMPERATURE_NOISE = 0.01; // degrees of a single one: a guess, its last digit in the sheet
const SENSOR_READY_US = 12_000;
const COEFFICIENTS_READY_US = 40_000;
const DONE = { pressure: 0x10, temperature: 0x20 };

export class Dps310 {
  /**
   * @param pressureAt pascals at microseconds after power-on
   * @param options celsiusAt: the die's temperature, the same way; wrongFuses: one of those that
   *   read 60 degrees in a room
   */
  constructor(pressureAt, { address = 0x77, celsiusAt = () => 22, wrongFuses = false, noise = 1, seed = 12 } = {}) {
    Object.assign(this, { pressureAt, address, celsiusAt, wrongFuses, gain: noise, absent: false, frozen: false });
    this.noise = new Noise(seed);
    this.conversions = [];
    this.reset(0);
  }

  attach() {}

  reset(us) {
    this.registers = new Uint8Array(128);
    this.registers[0x0d] = 0x10;
    this.registers.set(packed(), 0x10);
    this.registers[0x28] = 0x80; // the coefficients are those of the thermometer in the cell
    this.registers[0x32] = this.wrongFuses ? 0 : 0x02;
    this.resetAt = us;
    this.status = 0;
    this.running = null;
  }

  write([register, value], us) {
    this.finish(us);
    this.pointer = register;
    if (value === undefined) return;
    if (register === 0x0c && (value & 0x0f) === 0x09) { this.reset(us); return; }
    if (register >= 0x10 && register !== 0x62) return; // what cannot be written
    this.registers[register] = value;
    const unlocked = this.registers[0x0e] === 0xa5 && this.registers[0x0f] === 0x96;
    if (register === 0x62 && unlocked && value === 0x02) this.wrongFuses = false;
    if (register === 0x08) this.convert(us, value & 7);
  }

  read(index, us) {
    this.finish(us);
    const register = (this.pointer + index) & 0x7f;
    if (register === 0x02) this.status &= ~DONE.pressure;
    if (register === 0x05) this.status &= ~DONE.temperature;
    if (register !== 0x08) return this.registers[register];
    const since = us - this.resetAt;
    return this.status | (since >= SENSOR_READY_US ? 0x40 : 0) | (since >= COEFFICIENTS_READY_US ? 0x80 : 0);
  }

  convert(us, command) {
    if (command !== 1 && command !== 2) return;
    const ofPressure = command === 1;
    const times = this.registers[ofPressure ? 0x06 : 0x07] & 7;
    if (times > 3) throw new Error('dps310: so many times need the shift of register 0x09');
    const middle = us + CONVERSION_US[times] / 2;
    const counts = ofPressure ? this.pressureCounts(middle, times) : this.temperatureCounts(middle, times);
    if (ofPressure) this.conversions.push(middle);
    this.running = { doneUs: us + CONVERSION_US[times], counts, at: ofPressure ? 0x00 : 0x03, done: ofPressure ? DONE.pressure : DONE.temperature };
  }

  finish(us) {
    if (!this.running || us < this.running.doneUs) return;
    const { counts, at, done } = this.running;
    this.running = null;
    this.status |= done;
    if (!this.frozen) this.registers.set([(counts >> 16) & 0xff, (counts >> 8) & 0xff, counts & 0xff], at);
  }

  /** Degrees to a share of all counts: T = c0 / 2 + c1 t. */
  share(celsius) { return (celsius - C.c0 / 2) / C.c1; }

  temperatureCounts(us, times) {
    let celsius = this.celsiusAt(us) + (TEMPERATURE_NOISE / Math.sqrt(2 ** times)) * this.noise.gaussian();
    if (!(this.registers[0x07] & 0x80)) celsius -= 28; // the other thermometer, by issue 30
    if (this.wrongFuses) celsius += 38;
    return Math.round(this.share(celsius) * SCALE[times]);
  }

  /** P = c00 + p (c10 + p (c20 + p c30)) + t c01 + t p (c11 + p c21), solved for p by halves. */
  pressureCounts(us, times) {
    const wanted = this.pressureAt(us) + this.gain * NOISE_PA[times] * this.noise.gaussian();
    const t = this.share(this.celsiusAt(us));
    const pascals = (p) => C.c00 + p * (C.c10 + p * (C.c20 + p * C.c30)) + t * (C.c01 + p * (C.c11 + p * C.c21));
    let [low, high] = [-1, 1]; // less pressure, the more counts
    for (let i = 0; i < 50; i++) {
      const middle = (low + high) / 2;
      if (pascals(middle) > wanted) low = middle;
      else high = middle;
    }
    return Math.round(low * SCALE[times]);
  }
}

/** The coefficients as registers 0x10 to 0x21 have them: 12, 12, 20, 20 and five times 16 bits. */
function packed() {
  const fields = [[C.c0, 12], [C.c1, 12], [C.c00, 20], [C.c10, 20], [C.c01, 16], [C.c11, 16], [C.c20, 16], [C.c21, 16], [C.c30, 16]];
  const bits = fields.map(([value, width]) => (value & (2 ** width - 1)).toString(2).padStart(width, '0')).join('');
  return bits.match(/.{8}/g).map((byte) => parseInt(byte, 2));
}
