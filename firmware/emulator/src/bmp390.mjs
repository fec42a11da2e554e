// An emulated BMP390 barometer: its registers, its times, an invented calibration, and counts made
// from a pressure and the die's temperature by undoing the compensation. Source, from memory: BMP390
// data sheet, "memory map", "measurement time", "oversampling settings" and the appendix on
// compensation.
import { Die, warming, zeroOf } from './die.mjs';

const [CHIP_ID, STATUS, DATA, EVENT, POWER, OVERSAMPLING, CALIBRATION, COMMAND] = [0x00, 0x03, 0x04, 0x10, 0x1b, 0x1c, 0x31, 0x7e];
const IDENTITY = 0x60;
const RESTART_US = 2000;
/** EVENT after a reset: por_detected, which a read clears. */
const WAS_RESET = 0x01;
/** OSR after a reset: pressure four times, temperature once. */
const OVERSAMPLING_AFTER_RESET = 0x02;
/** T1 to T3 and P1 to P11 as they are stored, with the bytes and the power of two of each. */
const STORED = [
  [27600, 2, -8], [18500, 2, 30], [-8, 1, 48],
  [350, 2, 20], [-1900, 2, 29], [33, 1, 32], [1, 1, 37], [25800, 2, -3], [30100, 2, 6], [-12, 1, 8], [-9, 1, 15],
  [16900, 2, 48], [18, 1, 48], [-58, 1, 65],
];
/** P1 and P2 are stored less 2^14. */
const COEFFICIENTS = STORED.map(([value, , power], i) => (value - (i === 3 || i === 4 ? 16384 : 0)) / 2 ** power);
/** Noise of a single conversion: guesses, about the converter's step at four times and at once. */
const NOISE_PA = 1.3;
const NOISE_CELSIUS = 0.005;
/** 0.7 mA at 3.3 V while it converts; guesses: 200 K/W to the air, and the lag of 3 mm3 behind that. */
const DIE = { lagS: 1.5, kelvinPerWatt: 200, watts: 0.0023 };

export class Bmp390 {
  /**
   * @param pressureAt pascals at microseconds after power-on
   * @param options noise: pressure noise in units of this file's; pace: length of a conversion, of
   *   the typical one
   */
  constructor(pressureAt, { address = 0x77, celsiusAt = warming, noise = 1, pace = 1.05, seed = 1 } = {}) {
    Object.assign(this, { pressureAt, address, noise, pace, absent: false, frozen: false });
    this.stepPa = 1.5; // of the pressure at four times oversampling, and of the temperature at twice
    this.die = new Die(celsiusAt, { ...DIE, seed });
    this.conversions = [];
    this.reset();
  }

  attach(machine) { this.machine = machine; }

  reset() {
    this.registers = new Uint8Array(128);
    this.registers[CHIP_ID] = IDENTITY;
    this.registers[STATUS] = 0x10; // ready for a command
    this.registers[EVENT] = WAS_RESET;
    this.registers[OVERSAMPLING] = OVERSAMPLING_AFTER_RESET;
    this.registers.set([0, 0, 0x80, 0, 0, 0x80], DATA);
    let place = CALIBRATION;
    for (const [value, bytes] of STORED) {
      for (let byte = 0; byte < bytes; byte++) this.registers[place++] = (value >> (8 * byte)) & 0xff;
    }
    this.running = null;
    this.pointer = 0;
  }

  /** The supply dips: what was written is gone, and a conversion that runs is lost. */
  dip(us) {
    this.reset();
    this.offUntilUs = us + RESTART_US;
  }

  write(bytes, us) {
    if (us < this.offUntilUs) return;
    const [register, value] = bytes;
    this.pointer = register;
    if (bytes.length < 2) return;
    if (register === COMMAND && value === 0xb6) {
      this.dip(us);
    } else {
      this.registers[register] = value;
      if (register === POWER && (value >> 4 & 3) === 1) this.convert(us, value & 1, value >> 1 & 1);
    }
  }

  read(index, us) {
    if (us < this.offUntilUs) return 0xff; // it went in the middle of a transfer: nobody drives the line
    this.finish(us);
    const register = this.pointer + index;
    const value = this.registers[register] ?? 0xff;
    if (register === EVENT) this.registers[EVENT] = 0;
    return value;
  }

  /** A forced conversion; one that is asked for while one runs is not done. */
  convert(us, ofPressure, ofTemperature) {
    this.finish(us);
    if (this.running) return;
    const settings = this.registers[OVERSAMPLING];
    const [times, warmTimes] = [1 << (settings & 7), 1 << (settings >> 3 & 7)];
    // The temperature first, then the pressure.
    const before = (234 + ofTemperature * (163 + 2020 * warmTimes)) * this.pace;
    const pressing = ofPressure * (392 + 2020 * times) * this.pace;
    const lasts = before + pressing;
    const middle = us + before + pressing / 2;
    const celsius = this.die.converts(us, lasts);
    const warm = celsius + this.die.noise('temperature', NOISE_CELSIUS / Math.sqrt(warmTimes));
    const noise = this.die.noise('pressure', (NOISE_PA * this.noise) / Math.sqrt(times));
    const pressure = this.pressureAt(middle) + noise;
    const status = 0x10 | (ofPressure ? 0x20 : 0) | (ofTemperature ? 0x40 : 0);
    this.running = {
      doneUs: us + lasts, status,
      counts: [stepped(pressureCounts(pressure, celsius), times), stepped(temperatureCounts(warm), warmTimes)],
    };
    this.conversions.push(middle);
  }

  finish(us) {
    if (!this.running || us < this.running.doneUs) return;
    const { counts, status } = this.running;
    if (!this.frozen) counts.forEach((count, i) => three(count).forEach((byte, at) => { this.registers[DATA + 3 * i + at] = byte; }));
    this.registers[STATUS] = status;
    this.registers[POWER] &= 0x0f; // asleep again
    this.running = null;
  }
}

/** 16 of 24 bits for a single conversion, one more for each doubling. */
const stepped = (counts, times) => Math.round((counts * times) / 256) * (256 / times);
const three = (value) => [value & 0xff, (value >> 8) & 0xff, (value >> 16) & 0xff];

function celsiusOf(counts) {
  const [t1, t2, t3] = COEFFICIENTS;
  return (counts - t1) * t2 + (counts - t1) ** 2 * t3;
}

function pressureOf(counts, t) {
  const [, , , p1, p2, p3, p4, p5, p6, p7, p8, p9, p10, p11] = COEFFICIENTS;
  return p5 + p6 * t + p7 * t ** 2 + p8 * t ** 3 + counts * (p1 + p2 * t + p3 * t ** 2 + p4 * t ** 3)
    + counts ** 2 * (p9 + p10 * t) + counts ** 3 * p11;
}

const temperatureCounts = (celsius) => zeroOf((counts) => celsiusOf(counts) - celsius, 0, 2 ** 24);
/** More counts are less pressure. */
const pressureCounts = (pascals, celsius) => zeroOf((counts) => pascals - pressureOf(counts, celsius), 0, 2 ** 24);
