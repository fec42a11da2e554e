// An emulated MS4525DO differential pressure sensor of 1 psi and output type A. Source: MS4525DO data
// sheet, "output" and "interfacing", from memory.

const FULL_SCALE_PA = 6894.76;
const COUNTS = 16383;

export class Ms4525 {
  /** @param pressureAt pitot less static, pascals, at microseconds after power-on */
  constructor(pressureAt, { address = 0x28, celsius = 20 } = {}) {
    Object.assign(this, { pressureAt, address, celsius, absent: false });
  }

  attach() {}

  write() {}

  /** Every read is a new measurement: status 0, 14 bits of pressure, 11 bits of temperature. */
  read(index, us) {
    if (index === 0) {
      const share = (this.pressureAt(us) + FULL_SCALE_PA) / (2 * FULL_SCALE_PA);
      const counts = Math.max(0, Math.min(COUNTS, Math.round((0.1 + 0.8 * share) * COUNTS)));
      const warm = Math.round(((this.celsius + 50) / 200) * 2047) << 5;
      this.bytes = [counts >> 8, counts & 0xff, warm >> 8, warm & 0xff];
    }
    return this.bytes[index] ?? 0xff;
  }
}
