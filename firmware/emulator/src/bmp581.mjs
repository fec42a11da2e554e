// An emulated BMP581 barometer: its registers, its check of itself, its times, noise by
// oversampling. Typed apart from the driver and from the fake of the host tests. Source: BMP581 data
// sheet BST-BMP581-DS004, tables of oversampling and memory map; times of a conversion from memory.
import { Noise } from './noise.mjs';

const NAMES = { identity: 0x01, source: 0x15, result: 0x1d, interrupts: 0x27, status: 0x28, filter: 0x31, oversampling: 0x36, mode: 0x37, command: 0x7e };
/** By oversampling 1, 2, 4 .. 128: noise in Pa, and microseconds of a pressure and a temperature. */
const NOISE_PA = [0.78, 0.58, 0.41, 0.3, 0.21, 0.15, 0.11, 0.08];
const PRESSURE_US = [1000, 1700, 2900, 5400, 10400, 20400, 40400, 80400];
const TEMPERATURE_US = [1000, 1100, 1500, 2100, 3300, 5800, 10800, 20800];
const RESET_US = 2000;
const FORCED = 2;
const DONE = 0x01;
const STARTED = 0x10;

export class Bmp581 {
  /**
   * @param pressureAt pascals at microseconds after power-on
   * @param options celsiusAt: the die's temperature, the same way; slow: its conversions take so
   *   much longer
   */
  constructor(pressureAt, { address = 0x47, celsiusAt = () => 22, slow = 1, noise = 1, seed = 11 } = {}) {
    Object.assign(this, { pressureAt, address, celsiusAt, slow, gain: noise, absent: false, frozen: false });
    this.noise = new Noise(seed);
    this.conversions = [];
    this.reset(-RESET_US);
  }

  attach() {}

  reset(us) {
    this.registers = new Uint8Array(128);
    this.registers[NAMES.identity] = 0x50;
    this.registers[NAMES.status] = 0x02; // its memory is loaded, without fault
    this.registers.fill(0x7f, NAMES.result, NAMES.result + 6);
    this.registers[NAMES.interrupts] = STARTED;
    this.deafUntil = us + RESET_US;
    this.running = null;
  }

  write([register, value], us) {
    if (us < this.deafUntil) return;
    this.finish(us);
    this.pointer = register;
    if (value === undefined) return;
    if (register === NAMES.command && value === 0xb6) { this.reset(us); return; }
    this.registers[register] = value;
    if (register === NAMES.mode && (value & 3) === FORCED) this.convert(us);
  }

  read(index, us) {
    if (us < this.deafUntil) return 0xff;
    this.finish(us);
    const register = (this.pointer + index) & 0x7f;
    const value = this.registers[register];
    if (register === NAMES.interrupts) this.registers[register] = 0;
    return value;
  }

  convert(us) {
    const setUp = this.registers[NAMES.oversampling];
    if (!(setUp & 0x40)) return; // only a temperature
    const [warm, times] = [setUp & 7, (setUp >> 3) & 7];
    const [warmUs, pressureUs] = [TEMPERATURE_US[warm] * this.slow, PRESSURE_US[times] * this.slow];
    const middle = us + warmUs + pressureUs / 2;
    this.conversions.push(middle);
    // Each degree moves what is left of the compensation: 0.5 Pa, the sheet's most.
    const drift = 0.5 * (this.celsiusAt(middle) - 22);
    const pascals = this.pressureAt(middle) + drift + this.gain * NOISE_PA[times] * this.noise.gaussian();
    this.running = { doneUs: us + warmUs + pressureUs, pascals, celsius: this.celsiusAt(middle) };
  }

  finish(us) {
    if (!this.running || us < this.running.doneUs) return;
    const { pascals, celsius } = this.running;
    this.running = null;
    this.registers[NAMES.interrupts] |= this.registers[NAMES.source] & DONE;
    if (this.frozen) return;
    const littleEndian = (count) => [count & 0xff, (count >> 8) & 0xff, (count >> 16) & 0xff];
    const counts = [...littleEndian(Math.round(celsius * 65536)), ...littleEndian(Math.round(pascals * 64))];
    this.registers.set(counts, NAMES.result);
  }
}
