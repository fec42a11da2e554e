// An emulated SDP31 or SDP33 differential pressure sensor: its commands, its checksums, its mean
// until it is read, and that it measures a flow. Typed apart from the driver and from the fake of
// the host tests. Source: data sheets SDP3x-Digital and SDP33, from memory.
import { Noise } from './noise.mjs';

const CONVERSION_US = 500;
const FIRST_US = 8000;
const CALIBRATED_AT_PA = 96600;
/** Noise of a conversion in Pa by the scale: a guess, a few counts. */
const NOISE_PA = { 60: 0.1, 20: 0.3 };

export class Sdp3x {
  /** @param pressureAt, staticAt pitot less static, and static: pascals at microseconds */
  constructor(pressureAt, staticAt, { address = 0x21, scale = 60, celsius = 20, seed = 13 } = {}) {
    Object.assign(this, { pressureAt, staticAt, address, scale, celsius, absent: false, frozen: false });
    this.noise = new Noise(seed);
    this.since = null;
    this.answer = [];
  }

  attach() {}

  write(bytes, us) {
    const command = (bytes[0] << 8) | bytes[1];
    if (command === 0x3ff9) { this.since = null; return; }
    if (this.since !== null) throw new Error('sdp3x: a command while it measures');
    if (command === 0xe102 && this.before === 0x367c) this.answer = words([0x0301, 0x0101]);
    if (command === 0x3615) [this.began, this.since] = [us, us];
    this.before = command;
  }

  read(index, us) {
    if (index === 0 && this.since !== null) this.answer = this.result(us);
    return this.answer[index] ?? 0xff;
  }

  result(us) {
    if (us < this.began + FIRST_US || us - this.since < CONVERSION_US) throw new Error('sdp3x: read too early, which it does not acknowledge');
    const count = Math.floor((us - this.since) / CONVERSION_US);
    let sum = 0;
    for (let i = 0; i < count; i++) {
      const at = us - (i + 0.5) * CONVERSION_US;
      sum += (this.pressureAt(at) * this.staticAt(at)) / CALIBRATED_AT_PA + NOISE_PA[this.scale] * this.noise.gaussian();
    }
    this.since = us;
    if (!this.frozen) this.counts = Math.max(-32768, Math.min(32767, Math.round((sum / count) * this.scale)));
    return words([this.counts & 0xffff, Math.round(this.celsius * 200), this.scale]);
  }
}

function words(values) {
  return values.flatMap((value) => [value >> 8, value & 0xff, checksum([value >> 8, value & 0xff])]);
}

/** CRC-8, x^8 + x^5 + x^4 + 1, started at 0xFF. */
function checksum(bytes) {
  let crc = 0xff;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit++) crc = ((crc << 1) ^ (crc & 0x80 ? 0x31 : 0)) & 0xff;
  }
  return crc;
}
