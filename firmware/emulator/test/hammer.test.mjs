// Nothing that is typed or saved delays a sample, nor is its time stamp wrong by as much as a beat of
// the bus: both ports are asked everything at once, with both logs on, in a climb.
import assert from 'node:assert/strict';
import { before, test } from 'node:test';
import { Bench } from '../src/bench.mjs';
import { Lsm6dso } from '../src/lsm6dso.mjs';
import { Ms4525 } from '../src/ms4525.mjs';
import { fromHeights } from '../src/trace.mjs';

const LINES = [
  'help', 'settings', 'selftest', 'inertial', 'version', 'reading', 'response_s = 0.9', 'begin', 'volume = 8', 'commit',
  'save', 'nonsense', 'settings tone', 'tone 2.5',
];
/** From the end of the command on the wires to the middle of what is converted (MS5611, OSR 4096, maximum 9.04 ms, typical 8.22). */
const TO_THE_MIDDLE_US = 8_220 / 2;
const FRAME_US = 20_000;
/** The MS5611's "convert D1" (data sheet, "commands"). */
const isPressure = (byte) => (byte & 0xf0) === 0x40;

/** What is on the wires, whether the processor waits for its flash, and how late a conversion may be. */
const SETUPS = [
  { name: 'a barometer', options: () => ({}), lateUs: 1_000 },
  { name: 'all sensors, waiting for the flash', options: () => ({ cache: true, sensors: all() }), lateUs: 2_500 },
];
const felt = (us) => ({ force: [0.5 * Math.sin(2e-6 * us), 0, 9.80665], turn: [0.3 * Math.cos(3e-6 * us), 0, 0.1] });
const all = () => [new Ms4525(() => 400), new Lsm6dso(felt)];

/** When conversions began, and the rows that each port had, while both are asked everything. */
function hammered(options) {
  const bench = new Bench(fromHeights([[0, 500], [3, 500], [60, 614]]), { usb: true, ...options });
  const { machine, barometer, uart, usb } = bench;
  const begun = [];
  const write = barometer.write.bind(barometer);
  barometer.write = (bytes, us) => {
    if (isPressure(bytes[0])) begun.push(us);
    return write(bytes, us);
  };
  machine.run(6e6);
  for (const port of [uart, usb]) port.ask('log on', 200_000);
  begun.length = uart.lines.length = usb.lines.length = 0;
  for (const line of LINES) {
    for (const port of [uart, usb]) port.type(`${line}\r\n`);
    machine.run(300_000);
  }
  const logged = [uart, usb].map(({ lines }) => lines.map(({ text }) => text).filter((text) => /^\d+,/.test(text)).slice(1, -2));
  return { begun, logged };
}

for (const { name, options, lateUs } of SETUPS) {
  let begun;
  let logged;
  before(() => { ({ begun, logged } = hammered(options())); });

  test(`${name}: no conversion begins as late as ${lateUs} us, and none is left out`, () => {
    const steps = begun.slice(1).map((us, i) => us - begun[i]);
    assert.ok(steps.length > 200, `${steps.length} conversions`);
    const late = Math.max(...steps.map((step) => Math.abs(step - FRAME_US)));
    assert.ok(late < lateUs, `${late} us`);
  });

  test(`${name}: a sample is stamped when it was measured, within 100 us, on both ports`, () => {
    for (const rows of logged) {
      const times = rows.map((row) => Number(row.split(',')[0]));
      assert.ok(times.length > 60, `${times.length} rows`);
      const wrong = times.map((us) => Math.min(...begun.map((at) => Math.abs(us - at - TO_THE_MIDDLE_US))));
      assert.ok(Math.max(...wrong) < 100, `${Math.max(...wrong)} us`);
    }
  });
}
