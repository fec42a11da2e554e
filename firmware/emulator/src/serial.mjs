// The other ends of the instrument's two ports: a UART cable, and a computer with the USB cable in.
import { createSetupPacket, DataDirection, SetupRecipient, SetupType, USBCDC } from 'rp2040js';

/** Collects lines with the time of their end, and lets a person type. */
class Lines {
  constructor() {
    this.lines = [];
    this.rest = '';
  }

  take(bytes) {
    for (const byte of bytes) {
      if (byte === 10) {
        this.lines.push({ us: this.machine.us, text: this.rest.replace(/\r$/, '') });
        this.rest = '';
      } else {
        this.rest += String.fromCharCode(byte);
      }
    }
    this.onBytes?.(bytes);
  }

  /** The output after the first `count` lines, as one text. */
  textSince(count) { return this.lines.slice(count).map(({ text }) => text).join('\n'); }

  /** Types a line, runs `us`, and returns the output meanwhile. */
  ask(line, us = 300_000) {
    const before = this.lines.length;
    this.type(`${line}\r\n`);
    this.machine.run(us);
    return this.textSince(before);
  }

  /** Types a line and waits for the end of its answer, at most so long: the lines of it. */
  answer(line, mostUs = 20_000_000) {
    const before = this.lines.length;
    const until = this.machine.us + mostUs;
    this.type(`${line}\r\n`);
    while (this.machine.us < until) {
      this.machine.run(50_000);
      const lines = this.lines.slice(before).map(({ text }) => text);
      const end = lines.findIndex((text) => text === '# ok' || text.startsWith('# error'));
      if (end >= 0) return lines.slice(0, end + 1);
    }
    throw new Error(`no answer to ${line}`);
  }
}

export class UartCable extends Lines {
  constructor(number = 0, baud = 115200) {
    super();
    Object.assign(this, { number, characterNs: 1e10 / baud, typing: [] });
  }

  attach(machine) {
    this.machine = machine;
    this.rest = '';
    const uart = machine.rp.uart[this.number];
    uart.onByte = (byte) => this.take([byte]);
    this.alarm = machine.rp.clock.createAlarm(() => {
      if (this.typing.length) uart.feedByte(this.typing.shift());
      if (this.typing.length) this.alarm.schedule(this.characterNs);
    });
  }

  type(text) {
    const idle = this.typing.length === 0;
    this.typing.push(...Buffer.from(text));
    if (idle) this.alarm.schedule(this.characterNs);
  }
}

/** DTR and RTS: a program has the port open. */
const OPEN = 0b11;

// Source: USB class definitions for communication devices, PSTN subclass, "SetControlLineState".
const lineState = (state) => createSetupPacket({
  dataDirection: DataDirection.HostToDevice,
  type: SetupType.Class,
  recipient: SetupRecipient.Interface,
  bRequest: 0x22,
  wValue: state,
  wIndex: 0,
  wLength: 0,
});

export class UsbComputer extends Lines {
  constructor() {
    super();
    this.typing = [];
  }

  attach(machine) {
    this.machine = machine;
    this.rest = '';
    const usb = machine.rp.usbCtrl;
    const host = new USBCDC(usb);
    this.host = host;
    this.openForReading = null;
    // The emulator's computer asked the device instead of the interface to open the port, which a
    // device may refuse.
    host.cdcSetControlLineState = (state = OPEN) => {
      usb.sendSetupPacket(lineState(state));
      host.initialized = true;
    };
    host.onSerialData = (bytes) => this.take(bytes);
    // The emulator took a buffer from the program at once, full or not, and answered with nothing,
    // again and again. A real computer takes its time: the buffer stays the controller's
    // (AVAILABLE, bit 10 of its control word) until bytes came.
    const control = (endpoint) => 0x84 + 8 * endpoint;
    const available = (endpoint, on) => {
      const word = machine.rp.usbDPRAMView.getUint32(control(endpoint), true);
      machine.rp.usbDPRAMView.setUint32(control(endpoint), on ? word | 0x400 : word & ~0x400, true);
    };
    usb.onEndpointRead = (endpoint, size) => {
      if (endpoint !== host.outEndpoint) return;
      available(endpoint, true);
      this.openForReading = size;
      this.deliver();
    };
    const finish = usb.finishRead.bind(usb);
    usb.finishRead = (endpoint, bytes) => {
      available(endpoint, false);
      finish(endpoint, bytes);
    };
  }

  /** A program opens or closes the port. */
  open(open) { this.host.cdcSetControlLineState(open ? OPEN : 0); }

  type(text) {
    this.typing.push(...Buffer.from(text));
    this.deliver();
  }

  deliver() {
    if (this.openForReading === null || this.typing.length === 0) return;
    const bytes = Uint8Array.from(this.typing.splice(0, this.openForReading));
    this.openForReading = null;
    this.machine.rp.usbCtrl.endpointReadDone(this.host.outEndpoint, bytes);
  }
}
