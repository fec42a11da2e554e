// An emulated MS5611 barometer: its commands, its times, its calibration, and counts made from a
// pressure and the die's temperature by undoing the compensation. Source: MS5611-01BA03 data sheet:
// commands, the table of conversion times and resolutions, the flow charts, and CRC-4 of the PROM.
import { Die, warming, zeroOf } from './die.mjs';

/** C1 to C6 of the data sheet's example. */
const CALIBRATION = [40127, 36924, 23317, 23282, 33464, 28312];
/** By oversampling 256 to 4096: microseconds of a conversion, typical. */
const CONVERSION_US = [540, 1060, 2080, 4130, 8220];
/** Noise of a pressure: 0.065 to 0.012 mbar rms; of a temperature, degrees rms. */
const NOISE_PA = [6.5, 4.2, 2.7, 1.8, 1.2];
const NOISE_CELSIUS = [0.012, 0.008, 0.005, 0.003, 0.002];
const RESET_US = 2800;
/**
 * 1.4 mA while it converts, at 3 V; guesses: 200 K/W to the air, and the lag of 15 mm3 of ceramics
 * and steel behind that.
 */
const DIE = { lagS: 9, kelvinPerWatt: 200, watts: 0.0042 };

export class Ms5611 {
  /**
   * @param pressureAt pascals at microseconds after power-on
   * @param options noise: pressure noise in units of the sheet's; pace: length of a conversion, of
   *   the typical one (the sheet allows 0.9 to 1.1)
   */
  constructor(pressureAt, { address = 0x77, celsiusAt = warming, noise = 1, pace = 1.05, seed = 1 } = {}) {
    Object.assign(this, { pressureAt, address, noise, pace, absent: false, frozen: false });
    this.stepPa = 0.042; // a count of pressure, one of temperature, and 1/64 Pa
    this.die = new Die(celsiusAt, { ...DIE, seed });
    this.prom = withChecksum([0, ...CALIBRATION, 0]);
    this.conversions = [];
    this.reading = [0, 0, 0];
    this.last = [0, 0];
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

  /** A command in the middle of a conversion spoils both. */
  convert(command, us) {
    const oversampling = (command & 0x0f) >> 1;
    const lasts = CONVERSION_US[oversampling] * this.pace;
    const quantity = command < 0x50 ? 0 : 1;
    const celsius = this.die.converts(us, lasts);
    const counts = quantity === 0
      ? this.pressureCounts(us + lasts / 2, celsius, NOISE_PA[oversampling] * this.noise)
      : dOfCelsius(celsius + this.die.noise('temperature', NOISE_CELSIUS[oversampling]));
    if (!this.frozen) this.last[quantity] = Math.round(counts);
    const spoilt = this.running && us < this.running.doneUs;
    this.running = { doneUs: us + lasts, counts: spoilt ? 0 : this.last[quantity] };
    if (quantity === 0) this.conversions.push(us + lasts / 2);
  }

  /** Reading before the end gives zero, and the conversion is lost. */
  finish(us) {
    const done = this.running && us >= this.running.doneUs;
    this.reading = three(done ? this.running.counts : 0);
    this.running = null;
  }

  pressureCounts(us, celsius, noisePa) {
    const pressure = this.pressureAt(us) + this.die.noise('pressure', noisePa);
    const { offset, sensitivity } = compensation(dOfCelsius(celsius));
    return ((pressure * 32768 + offset) * 2097152) / sensitivity;
  }
}

/** First and second order of the flow charts, for temperature counts; below -15 degrees too. */
function compensation(d2) {
  const [c1, c2, c3, c4, c5, c6] = CALIBRATION;
  const dT = d2 - c5 * 256;
  let temp = 2000 + (dT * c6) / 8388608;
  let offset = c2 * 65536 + (c4 * dT) / 128;
  let sensitivity = c1 * 32768 + (c3 * dT) / 256;
  if (temp < 2000) {
    const low = (temp - 2000) ** 2;
    const lowest = temp < -1500 ? (temp + 1500) ** 2 : 0;
    temp -= dT ** 2 / 2147483648;
    offset -= (5 * low) / 2 + 7 * lowest;
    sensitivity -= (5 * low) / 4 + (11 * lowest) / 2;
  }
  return { celsius: temp / 100, offset, sensitivity };
}

const dOfCelsius = (celsius) => zeroOf((d2) => compensation(d2).celsius - celsius, 6e6, 12e6);

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
