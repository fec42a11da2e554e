// The two wires of an I2C bus with devices on them, for a machine's controller.
//
// A device is `{ address, absent, write(bytes, us), read(index, us) }`. Bytes take their time at
// 400 kHz. A device may hold the data line down (`jam`): then the controller gets nowhere, and only
// clocks on the wire, by a program that turns the pins into plain ones, free it.
import { GPIOPinState, I2CMode } from 'rp2040js';

const BYTE_NS = 22_500; // nine bits at 400 kHz

export class I2cWires {
  constructor(controller, { sda, scl }, devices) {
    Object.assign(this, { controller, sda, scl, devices });
    this.clocksToFree = 0;
  }

  /**
   * A device loses count in the middle of a byte; so many clocks make it let go (`Infinity`: a
   * short circuit).
   */
  jam(clocks) {
    this.clocksToFree = clocks;
    this.drive();
  }

  get jammed() { return this.clocksToFree > 0; }

  attach(machine) {
    this.machine = machine;
    const { rp } = machine;
    const i2c = rp.i2c[this.controller];
    let [device, mode, written, index] = [null, null, [], 0];
    const later = (run) => {
      const abandoned = i2c.abandoned; // what is answered after the controller gave up is for nobody
      rp.clock.createAlarm(() => { if (i2c.abandoned === abandoned) run(); }).schedule(BYTE_NS);
    };
    const flush = () => {
      if (device && mode === I2CMode.Write && written.length) device.write(written, machine.us);
      written = [];
    };
    i2c.onStart = () => {
      flush();
      if (!this.jammed) i2c.completeStart();
    };
    i2c.onConnect = (address, asked) => {
      [mode, index] = [asked, 0];
      const answers = (one) => one.address === address && !one.absent && !(machine.us < one.offUntilUs);
      device = this.devices.find(answers) ?? null;
      later(() => i2c.completeConnect(Boolean(device)));
    };
    i2c.onWriteByte = (byte) => {
      written.push(byte);
      later(() => i2c.completeWrite(true));
    };
    i2c.onReadByte = () => {
      const byte = device.read(index++, machine.us);
      later(() => i2c.completeRead(byte));
    };
    i2c.onStop = () => {
      flush();
      device = null;
      i2c.completeStop();
    };
    let clock = true;
    rp.gpio[this.scl].addListener((state) => {
      const high = state !== GPIOPinState.Low;
      if (clock && !high && Number.isFinite(this.clocksToFree) && this.jammed) {
        this.clocksToFree--;
        this.drive();
      }
      clock = high;
    });
    rp.gpio[this.sda].addListener(() => this.drive());
    this.drive();
  }

  /** The wires as a plain pin reads them: high by the pull-ups unless someone holds them down. */
  drive() {
    const { gpio } = this.machine.rp;
    gpio[this.scl].setInputValue(gpio[this.scl].value !== GPIOPinState.Low);
    gpio[this.sda].setInputValue(!this.jammed && gpio[this.sda].value !== GPIOPinState.Low);
  }
}
