// A Pico W has no light where the Pico has one, and its supply is measured only while GP25 is high.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Bench } from '../src/bench.mjs';
import { fromHeights } from '../src/trace.mjs';

const STILL = fromHeights([[0, 500], [60, 500]]);

test('a Pico W is told apart and named, its supply is measured, and it says that the light stays dark', () => {
  for (const volts of [2.5, 4.0, 5.2]) {
    const bench = new Bench(STILL, { volts, wireless: true });
    bench.machine.run(3e6);
    assert.match(bench.uart.ask('version'), /on pico w, whose light stays dark/);
    assert.match(bench.uart.ask('selftest', 500_000), new RegExp(`battery: ${(volts - 0.01).toFixed(2)}|battery: ${volts.toFixed(2)}`));
  }
});

test('a Pico is taken for no Pico W, whatever its supply', () => {
  for (const volts of [0, 2.5, 5.2]) {
    const bench = new Bench(STILL, { volts });
    bench.machine.run(500_000);
    assert.match(bench.uart.ask('version'), /on pico$/m);
  }
});
