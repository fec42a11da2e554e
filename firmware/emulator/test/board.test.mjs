// Starting: through the loader, from UF2, across the wrap of the clock; and the watchdog.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { KIND } from '../src/barometers.mjs';
import { Bench, picoImage } from '../src/bench.mjs';
import { beeps, pitchHz } from '../src/sound.mjs';
import { fromHeights } from '../src/trace.mjs';

const STILL = fromHeights([[0, 500], [60, 500]]);
const HARD_FAULT = 3;

test('the UF2 file starts through the loader, with its checksum, as the ELF does without', () => {
  const lines = (options) => {
    const bench = new Bench(STILL, options);
    bench.machine.run(500_000);
    return bench.uart.textSince(0).replaceAll(/\d+\.\d+ s/g, 'T');
  };
  const direct = lines({});
  assert.match(direct, /^#! chirrup .* on pico;/m);
  assert.match(direct, new RegExp(`static: found ${KIND} at 0x77`));
  assert.equal(lines({ image: `${picoImage()}.uf2`, boot: 'loader' }), direct);
});

test('two runs are the same to the microsecond', () => {
  const edges = () => {
    const bench = new Bench(STILL);
    bench.machine.run(700_000);
    return bench.speaker.edges;
  };
  assert.deepEqual(edges(), edges());
});

test('when the 32-bit clock wraps after 71.6 minutes the beeps and the log go on', () => {
  // Wraps six seconds after the start, in the middle of a climb.
  const bench = new Bench(fromHeights([[0, 500], [3, 500], [12, 536]]), { startUs: 2 ** 32 - 6e6 });
  bench.uart.type('log on\r\n');
  bench.machine.runUntil(11e6);
  const times = bench.uart.lines.filter(({ text }) => /^\d/.test(text)).map(({ text }) => Number(text.split(',')[0]));
  assert.ok(times[0] < 2 ** 32 && times.at(-1) > 2 ** 32 + 4e6, `${times[0]} to ${times.at(-1)}`);
  const steps = times.slice(30).map((us, i) => us - times[29 + i]);
  assert.ok(steps.every((step) => Math.abs(step - 20_000) < 200), 'a row every 20 ms');
  const climb = beeps(bench.speaker.edges).filter(({ startUs }) => startUs > 5e6);
  assert.ok(climb.length > 16, `${climb.length} beeps`);
  climb.slice(1).forEach((beep, i) => {
    const cycle = beep.startUs - climb[i].startUs;
    assert.ok(Math.abs(cycle - 1e6 / 3.12) < 25_000, `a cycle of ${cycle} us`);
    assert.ok(Math.abs(pitchHz(beep) - 1256) < 60, `${pitchHz(beep)} Hz`);
  });
});

test('a program that hangs is started again by the watchdog, and says so', () => {
  const bench = new Bench(STILL);
  bench.machine.run(1.5e6);
  // No timer interrupt any more: every task waits for ever.
  bench.machine.rp.writeUint32(0x40054038, 0);
  bench.machine.run(2e6);
  assert.equal(bench.machine.resets.length, 1);
  assert.equal(bench.machine.resets[0].reason, 'watchdog');
  assert.ok(bench.machine.resets[0].us < 2.7e6, `after ${bench.machine.resets[0].us} us`);
  assert.match(bench.uart.textSince(0), /watchdog/);
  assert.match(bench.uart.ask('version'), /chirrup/);
});

test('a fault silences the speaker at once, and its reason is reported after the next start', () => {
  const bench = new Bench(fromHeights([[0, 500], [1, 500], [20, 538]]));
  bench.machine.run(6e6);
  assert.ok(bench.speaker.levels.at(-1) > 0);
  const before = bench.machine.us;
  bench.machine.rp.core.exceptionEntry(HARD_FAULT);
  bench.machine.rp.core.waiting = false;
  bench.machine.run(1_000);
  const [silentUs, level] = [bench.speaker.us.at(-1), bench.speaker.levels.at(-1)];
  assert.equal(bench.machine.resets.length, 1);
  assert.equal(level, 0);
  assert.ok(silentUs - before < 50, `silent after ${silentUs - before} us`);
  bench.machine.run(500_000);
  assert.match(bench.uart.textSince(0), /hard fault at 0x100/);
});
