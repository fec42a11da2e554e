// The instrument on the bench: a Pico with everything that the wiring table of docs/src/building.md
// names.
import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { barometer } from './barometers.mjs';
import { I2cWires } from './i2c.mjs';
import { Machine } from './machine.mjs';
import { Button, Probe, Supply } from './pins.mjs';
import { Speaker } from './sound.mjs';
import { UartCable, UsbComputer } from './serial.mjs';
import { at } from './trace.mjs';

const PINS = { sda: 4, scl: 5, speaker: 14, led: 25, volume: 10, mute: 11, mode: 12 };

/** Boards whose program has their name. */
const BOARDS = ['pico', 'pico-no-usb', 'pico2', 'nrf52840'];

/** Where firmware/build.sh leaves a board's program. */
export function built(target, name) {
  const boards = process.env.CHIRRUP_BOARDS_DIR ?? fileURLToPath(new URL('../../../target/boards', import.meta.url));
  const path = `${boards}/${target}/release/${name}`;
  if (!existsSync(path)) throw new Error(`${name} is not built yet; type: firmware/build.sh ${BOARDS.includes(name) ? name : 'qemu qemu-m0plus qemu-m33 wasm'}`);
  return path;
}

export const picoImage = () => built('thumbv6m-none-eabi', 'pico');

export class Bench {
  /**
   * @param trace points as src/trace.mjs gives them; the air stands still before the first and
   *   after the last
   * @param options image, startUs and boot as of Machine; usb: whether the cable is in; parts: more
   *   of them;
   *   volts: the supply; wireless: the board is a Pico W;
   *   barometers: in place of the one at 0x77; sensors: more of them on the same two wires
   */
  constructor(trace, { image = picoImage(), usb = false, parts = [], barometers, sensors = [], traceFromUs = 0, volts = 4.0, wireless = false, ...options } = {}) {
    this.trace = trace;
    this.barometers = barometers ?? [barometer((us) => at(trace, us - traceFromUs))];
    this.wires = new I2cWires(0, PINS, [...this.barometers, ...sensors]);
    this.speaker = new Speaker(PINS.speaker);
    this.led = new Probe(PINS.led);
    this.uart = new UartCable();
    this.usb = usb ? new UsbComputer() : null;
    this.supply = new Supply(volts, wireless);
    this.buttons = Object.fromEntries(['volume', 'mute', 'mode'].map((name) => [name, new Button(PINS[name])]));
    const all = [
      ...this.barometers, ...sensors, this.wires, this.speaker, this.led, this.uart, this.supply, ...Object.values(this.buttons),
      ...(this.usb ? [this.usb] : []), ...parts,
    ];
    this.machine = new Machine(image, { parts: all, ...options });
  }

  get barometer() { return this.barometers[0]; }
}
