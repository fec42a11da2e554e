// Parts on single pins: a probe that records edges, a button, a voltage.
import { GPIOPinState } from 'rp2040js';

/** Records every change of an output pin: `edges` is `[{ us, high }]`. */
export class Probe {
  constructor(pin) {
    Object.assign(this, { pin, edges: [], high: false });
  }

  attach(machine) {
    const note = (state) => {
      const high = state === GPIOPinState.High;
      if (high === this.high) return;
      this.high = high;
      this.edges.push({ us: machine.us, high });
    };
    note(GPIOPinState.Low); // a chip that is being reset drives nothing
    machine.rp.gpio[this.pin].addListener(note);
  }
}

/** A button from a pin to ground; the pin is pulled up. */
export class Button {
  constructor(pin) {
    Object.assign(this, { pin, down: false });
  }

  attach(machine) {
    this.machine = machine;
    this.set(this.down);
  }

  set(down) {
    this.down = down;
    this.machine.rp.gpio[this.pin].setInputValue(!down);
  }

  /** Down for `us` and up again, bouncing for 3 ms both times. */
  press(us) {
    this.bounce(true);
    this.machine.run(us);
    this.bounce(false);
    this.machine.run(50_000);
  }

  bounce(down) {
    for (const one of [down, !down, down, !down, down]) {
      this.set(one);
      this.machine.run(600);
    }
  }
}

/**
 * The supply, as the board's divider by three shows it to the converter's channel 3 (GPIO29). On a
 * Pico W that pin is also the clock of the wireless chip: it shows the supply while GPIO25, which
 * selects that chip, is high, and nothing else while it is low (Pico W data sheet, from memory).
 */
export class Supply {
  constructor(volts, wireless = false) { Object.assign(this, { volts, wireless, shown: !wireless }); }

  attach(machine) {
    this.machine = machine;
    this.shown = !this.wireless;
    if (this.wireless) {
      machine.rp.gpio[25].addListener((state) => {
        this.shown = state === GPIOPinState.High;
        this.set(this.volts);
      });
    }
    this.set(this.volts);
  }

  set(volts) {
    this.volts = volts;
    this.machine.rp.adc.channelValues[3] = this.shown ? Math.round(((volts / 3) * 4096) / 3.3) : 0;
  }
}
