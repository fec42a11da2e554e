// The barometers and airspeed sensors that one buys now, each found by itself, at rest for a minute
// while it warms, lost and frozen.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Bench } from '../src/bench.mjs';
import { Bmp390 } from '../src/bmp390.mjs';
import { Bmp581 } from '../src/bmp581.mjs';
import { Dps310 } from '../src/dps310.mjs';
import { Sdp3x } from '../src/sdp3x.mjs';
import { beeps, pitchHz } from '../src/sound.mjs';
import { at, fromHeights } from '../src/trace.mjs';

const STILL = fromHeights([[0, 500], [60, 500]]);
/** Up at 5 m/s from the third second on. */
const CLIMB = fromHeights([[0, 500], [3, 500], [30, 635]]);
/** 3 degrees a minute, up for 33 seconds and down again. */
const WARM_AND_COLD = (us) => 20 - Math.abs(us - 33e6) * (3 / 60e6);

const SENSORS = [
  { name: 'bmp581', address: '0x47', make: (air, celsiusAt) => new Bmp581(air, { celsiusAt }) },
  { name: 'dps310', address: '0x77', make: (air, celsiusAt) => new Dps310(air, { celsiusAt, wrongFuses: true }) },
];

const benchWith = (trace, make, more = {}) => new Bench(trace, { barometers: [make((us) => at(trace, us))], ...more });
const soundsAfter = (bench, fromUs) => beeps(bench.speaker.edges).filter(({ startUs }) => startUs > fromUs);
const climbBeeps = (bench, fromUs, toUs) => soundsAfter(bench, fromUs)
  .filter((beep) => beep.endUs < toUs && beep.periods.length > 20 && pitchHz(beep) > 800).length;
/** Rows of the log as numbers. */
const rows = (bench) => bench.uart.lines.filter(({ text }) => /^\d/.test(text)).map(({ text }) => text.split(',').map(Number));

for (const { name, address, make } of SENSORS) {
  test(`${name}: found, and a minute of still air while it warms and cools is silent`, () => {
    const bench = benchWith(STILL, (pressureAt) => make(pressureAt, WARM_AND_COLD));
    bench.machine.run(1e6);
    assert.match(bench.uart.textSince(0), new RegExp(`static: found ${name} at ${address}`));
    bench.uart.type('log on\r\n');
    bench.machine.runUntil(60e6);
    assert.deepEqual(soundsAfter(bench, 3e6), []);
    const log = rows(bench).filter(([us]) => us > 3e6);
    assert.ok(log.length > 2_800, `${log.length} rows`);
    const middles = bench.barometer.conversions;
    const isAMiddle = ([us]) => middles.some((middle) => Math.abs(us - middle) < 400);
    assert.ok(log.slice(0, 100).every(isAMiddle), 'a row has the time of the middle of a conversion');
    for (let from = 0; from + 200 <= log.length; from += 200) {
      const errors = log.slice(from, from + 200).map(([, pascals]) => pascals - at(STILL, 0));
      const mean = errors.reduce((sum, error) => sum + error, 0) / errors.length;
      assert.ok(Math.abs(mean) < 2.5, `${mean} Pa off at row ${from}`);
    }
  });

  test(`${name}: lost in a climb, then silence, and the climb again once it is back`, () => {
    const bench = benchWith(CLIMB, (pressureAt) => make(pressureAt));
    bench.machine.run(8e6);
    assert.ok(climbBeeps(bench, 5e6, 8e6) > 5);
    bench.barometer.absent = true;
    bench.machine.run(6e6);
    assert.equal(climbBeeps(bench, 10.3e6, 14e6), 0);
    assert.match(bench.uart.textSince(0), new RegExp(`static: ${name} at ${address} lost: no answer`));
    bench.barometer.absent = false;
    bench.machine.run(6e6);
    assert.ok(climbBeeps(bench, 17e6, 20e6) > 5);
  });

  test(`${name}: frozen, and the last climb does not sound on`, () => {
    const bench = benchWith(CLIMB, (pressureAt) => make(pressureAt));
    bench.machine.run(8e6);
    bench.barometer.frozen = true;
    bench.machine.run(6e6);
    assert.equal(climbBeeps(bench, 11e6, 14e6), 0);
    assert.match(bench.uart.textSince(0), /repeats one value|frozen/);
  });
}

/** Frames of 20 ms without a row of the log from `fromUs` to `toUs`. */
const framesWithout = (bench, fromUs, toUs) => {
  const frames = new Set(rows(bench).map(([us]) => Math.floor(us / 20_000)));
  const all = Array.from({ length: Math.floor((toUs - fromUs) / 20_000) }, (_, i) => Math.floor(fromUs / 20_000) + i);
  return all.filter((frame) => !frames.has(frame)).length;
};

test('bmp390: forty dips of the supply in still air are noticed, cost two frames each at most, and are silent', () => {
  const bench = benchWith(STILL, (pressureAt) => new Bmp390(pressureAt));
  bench.machine.run(3e6);
  bench.uart.type('log on\r\n');
  for (let i = 0; i < 40; i++) {
    const dipUs = 4e6 + i * 501_000; // a different part of the frame each time
    bench.machine.runUntil(dipUs);
    bench.barometer.dip(dipUs);
    bench.machine.runUntil(dipUs + 100_000);
    assert.equal(bench.barometer.registers[0x1c], 0x0a, `dip ${i}: its oversampling is written again`);
  }
  bench.machine.runUntil(25e6);
  assert.deepEqual(soundsAfter(bench, 3e6), []);
  const lost = framesWithout(bench, 4e6, 24.5e6);
  assert.ok(lost >= 30 && lost <= 80, `${lost} frames without a pressure`);
  const wrong = rows(bench).filter(([us, pascals]) => us > 4e6 && Math.abs(pascals - at(STILL, 0)) > 6);
  assert.deepEqual(wrong, []);
  assert.doesNotMatch(bench.uart.textSince(0), /lost/);
});

test('bmp390: one whose supply dips in every frame is lost, and the console says why', () => {
  const bench = benchWith(CLIMB, (pressureAt) => new Bmp390(pressureAt));
  bench.machine.run(8e6);
  for (let us = 8_012_000; us < 12e6; us += 20_000) {
    bench.machine.runUntil(us);
    bench.barometer.dip(us);
  }
  assert.match(bench.uart.textSince(0), /static: bmp390 at 0x77 lost: restarts by itself: check its supply/);
  assert.equal(climbBeeps(bench, 10.3e6, 12e6), 0);
  bench.machine.run(6e6);
  assert.ok(climbBeeps(bench, 15e6, 18e6) > 5, 'the climb sounds again');
});

test('a second one on a probe, of another kind than the first, is found too', () => {
  const barometers = [
    new Dps310((us) => at(STILL, us)),
    new Bmp581((us) => at(STILL, us) - 500, { address: 0x46 }),
  ];
  const bench = new Bench(STILL, { barometers });
  bench.machine.run(500_000);
  bench.uart.ask('device.second_barometer = "probe"');
  bench.machine.run(2e6);
  assert.match(bench.uart.textSince(0), /second: found bmp581 at 0x46/);
});

/** The dynamic pressure at 25 m/s. */
const CRUISE_PA = 383;
const airspeed = (trace, pascals, options) => new Sdp3x(() => pascals.now, (us) => at(trace, us), options);

test('sdp31: found without a setting, its reading made good for height, and a minute is silent', () => {
  const high = fromHeights([[0, 3000], [60, 3000]]);
  const pascals = { now: CRUISE_PA };
  const bench = new Bench(high, { sensors: [airspeed(high, pascals)] });
  bench.machine.run(1e6);
  assert.match(bench.uart.textSince(0), /differential: found sdp31 at 0x21/);
  bench.uart.type('log on\r\n');
  bench.machine.runUntil(60e6);
  assert.deepEqual(soundsAfter(bench, 3e6), []);
  const dynamic = rows(bench).filter(([us]) => us > 3e6).map((row) => row[2]);
  assert.ok(dynamic.length > 2_800);
  assert.ok(dynamic.every((found) => Math.abs(found - CRUISE_PA) < 1), `${Math.min(...dynamic)} to ${Math.max(...dynamic)} Pa`);
});

test('sdp31: too fast for it is told, and the speed comes back', () => {
  const pascals = { now: CRUISE_PA };
  const bench = new Bench(STILL, { sensors: [airspeed(STILL, pascals, { address: 0x22 })] });
  bench.machine.run(3e6);
  pascals.now = 900;
  bench.machine.run(2e6);
  assert.match(bench.uart.textSince(0), /differential: sdp31 at 0x22 lost: pressure is beyond its range/);
  pascals.now = CRUISE_PA;
  bench.machine.run(2e6);
  assert.match(bench.uart.textSince(0), /differential: sdp31 at 0x22 is back/);
});

test('sdp33: removed and plugged in again in flight', () => {
  const bench = new Bench(STILL, { sensors: [airspeed(STILL, { now: 1200 }, { address: 0x23, scale: 20 })] });
  bench.machine.run(3e6);
  const [, sensor] = bench.wires.devices;
  sensor.absent = true;
  bench.machine.run(2e6);
  assert.match(bench.uart.textSince(0), /differential: sdp33 at 0x23 lost: no answer/);
  sensor.absent = false;
  bench.machine.run(2e6);
  assert.match(bench.uart.textSince(0), /differential: sdp33 at 0x23 is back/);
});
