// An emulated LSM6DSO inertial sensor: its registers, its memory that fills by its own clock, its own
// test, noise. Source: LSM6DSO data sheet DS12140, "register mapping" and the tables of
// sensitivities, from memory; typed apart from the driver's and from the fake's of the host tests.

import { Noise } from './noise.mjs';

const NAMES = { batch: 0x09, mode: 0x0a, identity: 0x0f, force: 0x10, turn: 0x11, control: 0x12, test: 0x14, status: 0x3a, memory: 0x78 };
const RATE_HZ = 208;
const HOLDS = 512; // words
/** One count in m/s2 and rad/s, by the bits of the range. */
const FORCE = [0.061, 0.488, 0.122, 0.244].map((milliG) => (milliG / 1000) * 9.80665);
const TURN = [8.75, 17.5, 35, 70].map((milliDegrees) => (milliDegrees / 1000) * (Math.PI / 180));
/** What its own test adds to every axis: 300 mg and 40 degrees a second. */
const TEST = { force: 0.3 * 9.80665, turn: 40 * (Math.PI / 180) };
const TAG = { turn: 1, force: 2, temperature: 3 };

export class Lsm6dso {
  /**
   * @param feltAt `{ force: [x, y, z], turn: [x, y, z] }` in m/s2 and rad/s at microseconds after
   *   power-on
   */
  constructor(feltAt, { address = 0x6a, celsius = 30, noise = { force: 0.01, turn: 0.0005 }, seed = 3 } = {}) {
    Object.assign(this, { feltAt, address, celsius, noise, absent: false, frozen: false, random: new Noise(seed) });
    this.reset();
  }

  reset() {
    this.registers = new Uint8Array(128);
    this.registers[NAMES.identity] = 0x6c;
    this.words = [];
    this.overrun = false;
  }

  /** Power comes, or the chip is started again: the sensor keeps its own power and goes on. */
  attach(machine) {
    this.machine = machine;
    [this.from, this.made] = [machine.us, 0];
  }

  write([register, value], us) {
    this.fill(us);
    this.pointer = register;
    if (value === undefined) return;
    if (register === NAMES.control && value & 1) { this.reset(); return; }
    this.registers[register] = value;
    if (register === NAMES.mode && (value & 7) === 0) [this.words, this.overrun] = [[], false];
    if (!this.stores) [this.from, this.made] = [us, 0];
  }

  get stores() {
    const { registers: r } = this;
    return r[NAMES.force] >> 4 === 5 && r[NAMES.turn] >> 4 === 5 && r[NAMES.batch] === 0x55 && (r[NAMES.mode] & 7) === 6;
  }

  fill(us) {
    if (!this.stores) { [this.from, this.made] = [us, 0]; return; }
    for (; this.from + ((this.made + 1) * 1e6) / RATE_HZ <= us; this.made++) {
      const felt = this.feltAt(this.from + ((this.made + 1) * 1e6) / RATE_HZ);
      if (!this.frozen) this.last = { force: this.counts(felt, 'force', FORCE), turn: this.counts(felt, 'turn', TURN) };
      this.store(TAG.turn, this.last.turn);
      this.store(TAG.force, this.last.force);
      if (this.made % 16 === 0) this.store(TAG.temperature, [Math.round((this.celsius - 25) * 256), 0, 0]);
    }
  }

  counts(felt, name, units) {
    const unit = units[(this.registers[NAMES[name]] >> 2) & 3];
    const tested = (this.registers[NAMES.test] & 0x0f) === 0x05 ? TEST[name] : 0;
    return felt[name].map((value) => {
      const count = Math.round((value + tested + this.noise[name] * this.random.gaussian()) / unit);
      return Math.max(-32768, Math.min(32767, count));
    });
  }

  store(tag, axes) {
    if (this.words.length >= HOLDS) { this.words.shift(); this.overrun = true; }
    this.words.push([tag << 3, ...axes.flatMap((axis) => [axis & 0xff, (axis >> 8) & 0xff])]);
  }

  /** The byte of a read; the memory gives word after word. */
  read(index) {
    if (this.pointer === NAMES.status) {
      const high = (this.words.length >> 8) & 3;
      return index === 0 ? this.words.length & 0xff : high | (this.overrun ? 0x48 : 0);
    }
    if (this.pointer !== NAMES.memory) return this.registers[(this.pointer + index) & 0x7f];
    if (index % 7 === 0) this.word = this.words.shift() ?? new Array(7).fill(0xff);
    return this.word[index % 7];
  }
}
