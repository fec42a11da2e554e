// Settings: changed, saved, and intact after any power cut.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Bench } from '../src/bench.mjs';
import { fromHeights } from '../src/trace.mjs';

const STILL = fromHeights([[0, 500], [60, 500]]);
const CLIMB = fromHeights([[0, 500], [2, 500], [200, 1292]]);

const response = (bench) => Number(bench.uart.ask('settings response_s', 200_000).match(/response_s = ([\d.]+)/)[1]);

test('saved settings are there after a power cut, unsaved ones are not', () => {
  const bench = new Bench(STILL);
  bench.machine.run(500_000);
  bench.uart.ask('response_s = 0.6');
  assert.match(bench.uart.ask('save', 800_000), /ok/);
  bench.uart.ask('response_s = 2.5');
  assert.equal(response(bench), 2.5);
  bench.machine.powerOn();
  bench.machine.run(500_000);
  assert.equal(response(bench), 0.6);
});

test('a value out of range is rejected with a reason, and nothing changes', () => {
  const bench = new Bench(STILL);
  bench.machine.run(500_000);
  assert.match(bench.uart.ask('response_s = 70'), /error: .*response_s.*0\.1.*10/);
  assert.match(bench.uart.ask('respnse_s = 1'), /error/);
  assert.equal(response(bench), 1);
});

test('power cut anywhere in a save leaves the old settings or the new', () => {
  const bench = new Bench(STILL);
  bench.machine.run(300_000);
  bench.uart.ask('response_s = 0.6', 100_000);
  bench.uart.ask('save', 600_000);
  const seen = new Set();
  let [old, bytes, cut] = [0.6, 0, true];
  // Later and later into the save, until one is over before the cut would come.
  for (; cut; bytes += 37) {
    const wanted = old === 0.6 ? 2.5 : 0.6;
    bench.uart.ask(`response_s = ${wanted}`, 100_000);
    bench.uart.type('save\r\n');
    cut = bench.machine.cutPowerDuring(bytes, 600_000);
    if (!cut) bench.machine.powerOn();
    bench.machine.run(250_000);
    const found = response(bench);
    assert.ok(found === old || found === wanted, `after ${bytes} bytes it is ${found}, neither ${old} nor ${wanted}`);
    seen.add(found === wanted ? 'new' : 'old');
    if (!cut) assert.equal(found, wanted);
    old = found;
  }
  assert.ok(bytes > 300, `only ${bytes} bytes`);
  assert.deepEqual([...seen].sort(), ['new', 'old']);
});

test('damaged settings give the defaults, and that is reported', () => {
  const bench = new Bench(STILL);
  bench.machine.run(300_000);
  bench.uart.ask('response_s = 0.6', 100_000);
  bench.uart.ask('save', 600_000);
  // Sixteen bytes of the first item go wrong, in each of the four sectors.
  const { flash } = bench.machine.rp;
  for (let at = 0x1fc000 + 64; at < 0x200000; at += 4096) flash.fill(0, at, at + 16);
  bench.machine.powerOn();
  const before = bench.uart.lines.length;
  bench.machine.run(500_000);
  assert.match(bench.uart.textSince(before), /settings: the defaults/);
  assert.equal(response(bench), 1);
});

test('in flight a save only programs; what needs erasing waits until the sound is off or the next start', () => {
  const bench = new Bench(CLIMB, { flash: 'slow' });
  const { flash } = bench.machine;
  bench.machine.run(9e6); // launched: ten metres up
  flash.work.length = 0;
  const save = () => bench.uart.ask('save', 250_000).split('\n').filter((line) => !line.startsWith('#!')).join('\n');
  let saves = 0;
  while (save() === '# ok' && saves < 100) saves++;
  assert.ok(saves > 20, `${saves} saves`);
  assert.equal(flash.erases, 0);
  assert.ok(flash.longestUs < 1_000, `${flash.longestUs} us`);
  assert.match(save(), /error: flash must be erased first/);
  assert.equal(flash.erases, 0);
  bench.buttons.mute.press(120_000);
  assert.match(bench.uart.ask('save', 2e6), /# ok/);
  assert.ok(flash.erases > 0);
  // Power comes again: erased before the first sample, and the saves of a day erase nothing.
  for (let i = 0; i < 20; i++) bench.uart.ask('save', 1e6);
  flash.work.length = 0;
  bench.machine.powerOn();
  bench.machine.run(3e6);
  const found = bench.uart.lines.findLast(({ text }) => / found ms5611/.test(text)).us;
  const early = flash.work.filter(({ what, us, tookUs }) => what === 'erase' && us + tookUs < found).length;
  assert.ok(early >= 1, 'there was something to erase');
  assert.equal(flash.erases, early);
  bench.machine.run(6e6);
  for (let i = 0; i < 20; i++) assert.equal(save(), '# ok');
  assert.equal(flash.erases, early);
});
