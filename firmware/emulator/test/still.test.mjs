// A minute of still air with the noise and the warmth of real sensors: no beep.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { KIND, barometer } from '../src/barometers.mjs';
import { Bench } from '../src/bench.mjs';
import { Ms4525 } from '../src/ms4525.mjs';
import { beeps } from '../src/sound.mjs';
import { fromHeights } from '../src/trace.mjs';

const STILL = fromHeights([[0, 500], [70, 500]]);
/** The start-up sound is over. */
const STARTED_US = 2e6;
const END_US = STARTED_US + 60e6;
const cooling = (us) => 35 - us * (3 / 60e6);

function soundsIn(sensors, options) {
  const bench = new Bench(STILL, { barometers: [barometer(() => STILL[0].staticPa, options)], sensors });
  bench.machine.runUntil(END_US);
  assert.match(bench.uart.textSince(0), new RegExp(`static: found ${KIND} at 0x77`));
  assert.ok(bench.barometer.conversions.length > 3000, 'it measured all the time');
  return beeps(bench.speaker.edges).filter(({ startUs }) => startUs > STARTED_US);
}

test('warming by 3 degrees a minute, alone', () => {
  assert.deepEqual(soundsIn([], { seed: 11 }), []);
});

test('cooling by 3 degrees a minute, a quieter one with an airspeed sensor', () => {
  const sensors = [new Ms4525(() => 400, { celsiusAt: cooling })];
  assert.deepEqual(soundsIn(sensors, { celsiusAt: cooling, noise: 0.3, seed: 12 }), []);
});
