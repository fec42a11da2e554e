// An emulated MS4525DO differential pressure sensor of 1 psi and output type A: it measures by
// itself, and a read gives the last value. Source: MS4525DO data sheet, "output" and "interfacing",
// from memory.
import { Die, warming } from './die.mjs';

const FULL_SCALE_PA = 6894.76;
const COUNTS = 16383;
/** The sheet's response time; where it begins in the program's frame is chance. */
const UPDATE_US = 500;
const PHASE_US = 180;
/** A guess: the sheet has only a total error band. */
const NOISE_COUNTS = 1.5;
/** That band, 1 % of the span, spread over -10 to 85 degrees: a guess. */
const DRIFT_PA_PER_KELVIN = 1.45;

export class Ms4525 {
  /** @param pressureAt pitot less static, pascals, at microseconds after power-on */
  constructor(pressureAt, { address = 0x28, celsiusAt = warming, noise = 1, seed = 7 } = {}) {
    Object.assign(this, { pressureAt, address, celsiusAt, noise, seed, absent: false });
  }

  attach() {}

  write() {}

  /** Status 0, or 2 for a value that was read before; 14 bits of pressure, 11 of temperature. */
  read(index, us) {
    if (index === 0) {
      const update = Math.floor((us - PHASE_US) / UPDATE_US);
      const status = update === this.update ? 2 : 0;
      this.update = update;
      const [counts, warm] = this.measure(update);
      this.bytes = [status << 6 | counts >> 8, counts & 0xff, warm >> 3, (warm & 7) << 5];
    }
    return this.bytes[index] ?? 0xff;
  }

  /** Its noise belongs to the update, whoever reads it and when. */
  measure(update) {
    const us = update * UPDATE_US + PHASE_US;
    const celsius = this.celsiusAt(us);
    const pressure = this.pressureAt(us) + DRIFT_PA_PER_KELVIN * (celsius - this.celsiusAt(0));
    const random = new Die(() => 0, { seed: Math.imul(update + this.seed, 0x9e3779b1) | 1 });
    for (let i = 0; i < 4; i++) random.uniform(); // neighbouring seeds have like beginnings
    const noise = this.noise * NOISE_COUNTS * random.gaussian();
    const share = (pressure + FULL_SCALE_PA) / (2 * FULL_SCALE_PA);
    const counts = Math.round((0.1 + 0.8 * share) * COUNTS + noise);
    return [Math.max(0, Math.min(COUNTS, counts)), Math.round(((celsius + 50) / 200) * 2047)];
  }
}
