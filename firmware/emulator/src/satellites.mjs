// An emulated satellite receiver on a UART: velocities over the ground in UBX-NAV-PVT, at the bit rate
// that it has; at another rate the instrument hears rubbish. Source: u-blox M8 receiver description
// UBX-13003221, from memory.

const EVERY_US = 200_000;
const BITS = 10;

export class Satellites {
  /** @param velocityAt `[north, east, down]` in mm/s at microseconds after power-on */
  constructor(velocityAt, { number = 1, baud = 9600, lateUs = 80_000 } = {}) {
    Object.assign(this, { velocityAt, number, baud, lateUs, told: [] });
  }

  attach(machine) {
    this.machine = machine;
    this.uart = machine.rp.uart[this.number];
    [this.heard, this.waiting] = [[], []];
    this.uart.onByte = (byte) => this.hear(byte);
    this.line = machine.rp.clock.createAlarm(() => this.send());
    this.epoch = machine.rp.clock.createAlarm(() => this.measure());
    this.epoch.schedule(EVERY_US * 1000);
  }

  measure() {
    const velocity = this.velocityAt(this.machine.us - this.lateUs);
    const idle = this.waiting.length === 0;
    this.waiting.push(...navPvt(velocity));
    if (idle) this.line.schedule((1e9 * BITS) / this.baud);
    this.epoch.schedule(EVERY_US * 1000);
  }

  send() {
    const byte = this.waiting.shift();
    const same = Math.abs(this.uart.baudRate / this.baud - 1) < 0.03;
    this.uart.feedByte(same ? byte : (byte * 37 + 11) & 0xff);
    if (this.waiting.length) this.line.schedule((1e9 * BITS) / this.baud);
  }

  /** Obeys the bit rate in CFG-PRT, and remembers every message by class and kind. */
  hear(byte) {
    if (Math.abs(this.uart.baudRate / this.baud - 1) >= 0.03) return;
    this.heard.push(byte);
    const [a, b, type, kind, low] = this.heard;
    if (a !== 0xb5 || (b !== undefined && b !== 0x62)) { this.heard.shift(); return; }
    if (low === undefined || this.heard.length < low + 8) return;
    const message = this.heard.splice(0, low + 8);
    const sum = checksum(message.slice(2, -2));
    if (sum[0] !== message.at(-2) || sum[1] !== message.at(-1)) return;
    this.told.push([type, kind]);
    if (type === 0x06 && kind === 0x00) this.baud = Buffer.from(message).readUInt32LE(6 + 8);
  }
}

function navPvt([north, east, down]) {
  const message = Buffer.alloc(100);
  message.set([0xb5, 0x62, 0x01, 0x07, 92, 0]);
  message.writeUInt16LE(2026, 6 + 4);
  message.set([7, 14, 11, 22, 33, 0x07], 6 + 6);
  message.set([3, 1], 6 + 20);
  [north, east, down].forEach((mmps, i) => message.writeInt32LE(Math.round(mmps), 6 + 48 + 4 * i));
  message.writeUInt32LE(300, 6 + 68);
  message.set(checksum(message.subarray(2, 98)), 98);
  return message;
}

function checksum(bytes) {
  let [a, b] = [0, 0];
  for (const byte of bytes) { a = (a + byte) & 0xff; b = (b + a) & 0xff; }
  return [a, b];
}
