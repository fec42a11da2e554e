// Buttons, battery and light, as a person meets them.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Bench } from '../src/bench.mjs';
import { beeps, pitchHz } from '../src/sound.mjs';
import { fromHeights } from '../src/trace.mjs';

const CLIMB = fromHeights([[0, 500], [2, 500], [60, 732]]);

/** The loudest of what is heard from `fromUs` to `toUs`, in decibels of full scale. */
function decibels(bench, fromUs, toUs) {
  const { us, levels } = bench.speaker;
  return 20 * Math.log10(Math.max(...levels.filter((_, i) => us[i] >= fromUs && us[i] <= toUs).map((level) => 2 * level - 1)));
}

const heard = (bench, fromUs, toUs) => beeps(bench.speaker.edges)
  .filter(({ startUs, endUs, periods }) => startUs < toUs && endUs > fromUs && periods.length > 3);

test('mute silences at a short press that bounces, and the next press is heard again', () => {
  const bench = new Bench(CLIMB);
  bench.machine.run(6e6);
  bench.buttons.mute.press(120_000);
  bench.machine.runUntil(8e6);
  assert.equal(heard(bench, 6.5e6, 8e6).length, 0);
  bench.buttons.mute.press(120_000);
  bench.machine.runUntil(10e6);
  assert.ok(heard(bench, 8.5e6, 10e6).length > 3);
});

test('a mute that is held too long in flight begins no sound check, and the climb goes on', () => {
  const bench = new Bench(CLIMB);
  bench.machine.run(8e6);
  assert.match(bench.uart.ask('sound check', 500_000), /error: no sound check: the glider moves/);
  bench.buttons.mute.press(1_500_000);
  assert.match(bench.uart.ask('sound', 2_500_000), /# no sound check/);
  const from = bench.machine.us;
  bench.machine.run(2e6);
  // The check's lowest sink tone is at 310 Hz; a climb of 4 m/s beeps above 1000.
  const tones = heard(bench, from + 100_000, from + 1.9e6).map(pitchHz);
  assert.ok(tones.length > 3 && tones.every((hz) => hz > 1000), tones.join(' '));
});

test('volume gets louder by six decibels, and quieter while it is held', () => {
  const bench = new Bench(CLIMB);
  bench.machine.run(6e6);
  const before = decibels(bench, 5e6, 6e6);
  bench.buttons.volume.press(120_000);
  bench.machine.runUntil(8e6);
  const louder = decibels(bench, 7e6, 8e6);
  assert.ok(Math.abs(louder - before - 6) < 0.2, `${before} to ${louder} dB`);
  bench.buttons.volume.press(2_500_000);
  bench.machine.runUntil(12e6);
  const quieter = decibels(bench, 11e6, 12e6);
  assert.ok(quieter < louder - 11, `${louder} to ${quieter} dB`);
});

test('mode goes round: two ticks for netto, three for speed to fly, one for climb', () => {
  const bench = new Bench(fromHeights([[0, 500], [60, 500]]));
  bench.machine.run(3e6);
  const ticks = [0, 1, 2].map(() => {
    const from = bench.machine.us;
    bench.buttons.mode.press(120_000);
    bench.machine.run(800_000);
    return heard(bench, from, bench.machine.us).filter((beep) => Math.abs(pitchHz(beep) - 1000) < 5).length;
  });
  assert.deepEqual(ticks, [2, 3, 1]);
});

test('mode held for long switches the log on', () => {
  const bench = new Bench(CLIMB);
  bench.machine.run(3e6);
  const before = bench.uart.lines.length;
  bench.buttons.mode.press(1_500_000);
  bench.machine.run(1e6);
  assert.match(bench.uart.textSince(before), /^time_us,static_pa/m);
});

test('a low battery is reported once, sounded, and shown', () => {
  const bench = new Bench(CLIMB, { volts: 4.0 });
  bench.machine.run(5e6);
  assert.doesNotMatch(bench.uart.textSince(0), /battery/);
  bench.supply.set(3.3);
  bench.machine.run(15e6); // low is what stays low for ten seconds
  assert.equal(bench.uart.textSince(0).match(/battery low/g)?.length, 1, bench.uart.textSince(0));
  // It sounds over the climb: 440 Hz, then 350 for 0.3 s.
  const periods = heard(bench, 5e6, 20e6).flatMap((beep) => beep.periods);
  const low = periods.filter((period) => Math.abs(period - 1e6 / 350) < 2).length;
  assert.ok(low > 95 && low < 106, `${low} periods of the lower of the two notes`);
  assert.match(bench.uart.ask('selftest', 500_000), /battery: 3\.(29|30|31) V/);
});

test('the light blinks once in two seconds while it reads, and eight times without a sensor', () => {
  const blinks = (bench, fromUs) => bench.led.edges.filter(({ us, high }) => high && us >= fromUs && us < fromUs + 4e6).length;
  const reading = new Bench(fromHeights([[0, 500], [60, 500]]));
  reading.machine.run(14e6);
  assert.equal(blinks(reading, 10e6), 2);
  const alone = new Bench(CLIMB);
  alone.barometer.absent = true;
  alone.machine.run(14e6);
  assert.equal(blinks(alone, 10e6), 16);
});
