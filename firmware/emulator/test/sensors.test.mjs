// A barometer that is absent, lost, back, frozen, or on a bus that is held down: the instrument
// says so, is silent, and goes on.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { KIND, barometer } from '../src/barometers.mjs';
import { Bench } from '../src/bench.mjs';
import { beeps, cents, pitchHz } from '../src/sound.mjs';
import { at, fromHeights } from '../src/trace.mjs';

/**
 * Three notes of a quarter of a second that fall, by a major third each: the core's fault call
 * (core/src/sound/fault.rs).
 */
const FAULT_HZ = [433.3, 346.7, 277.3];
/** Up at 5 m/s from the third second on. */
const CLIMB = fromHeights([[0, 500], [3, 500], [40, 685]]);

/** What the console says of the static barometer. */
const said = (what) => new RegExp(`static: ${KIND} ${what}`);

/** How often the fault's notes were sounded from `fromUs` on. */
function faultsSounded(bench, fromUs) {
  const heard = beeps(bench.speaker.edges).filter(({ startUs, periods }) => startUs >= fromUs && periods.length > 20);
  const isNote = (beep, hz) => beep && Math.abs(cents(pitchHz(beep), hz)) < 10;
  return heard.filter((beep, i) => FAULT_HZ.every((hz, note) => isNote(heard[i + note], hz))).length;
}

const climbBeeps = (bench, fromUs, toUs) => beeps(bench.speaker.edges)
  .filter((beep) => beep.startUs >= fromUs && beep.endUs < toUs && beep.periods.length > 20 && pitchHz(beep) > 800).length;

test('absent at the start: reported, sounded, and found when it is plugged in', () => {
  const bench = new Bench(CLIMB);
  bench.barometer.absent = true;
  bench.machine.run(9e6);
  assert.match(bench.uart.textSince(0), /static: no sensor found: no answer/);
  assert.equal(faultsSounded(bench, 1e6), 1, 'the fault is heard');
  bench.barometer.absent = false;
  bench.machine.run(6e6);
  assert.match(bench.uart.textSince(0), said('at 0x77 is back'));
  assert.ok(climbBeeps(bench, 12e6, 15e6) > 5, 'and the climb after that');
});

test('lost in a climb: silence, then the warning, and the climb again once it is back', () => {
  const bench = new Bench(CLIMB);
  bench.machine.run(8e6);
  assert.ok(climbBeeps(bench, 5e6, 8e6) > 5);
  bench.barometer.absent = true;
  bench.machine.run(9e6);
  assert.equal(climbBeeps(bench, 10.3e6, 17e6), 0, 'no climb is heard from two seconds after the last sample on');
  assert.match(bench.uart.textSince(0), said('at 0x77 lost: no answer'));
  assert.equal(faultsSounded(bench, 8e6), 1);
  bench.barometer.absent = false;
  bench.machine.run(6e6);
  assert.ok(climbBeeps(bench, 20e6, 23e6) > 5);
});

test('frozen: the last climb does not sound on', () => {
  const bench = new Bench(CLIMB);
  bench.machine.run(8e6);
  bench.barometer.frozen = true;
  bench.machine.run(9e6);
  assert.equal(climbBeeps(bench, 11e6, 16e6), 0);
  assert.match(bench.uart.textSince(0), /repeats one value|frozen/);
  assert.equal(faultsSounded(bench, 8e6), 1);
});

test('a device that lost count is clocked free, and not a second of the climb is missing', () => {
  const bench = new Bench(CLIMB);
  bench.machine.run(8e6);
  bench.wires.jam(7);
  bench.machine.run(4e6);
  assert.equal(bench.wires.jammed, false);
  assert.ok(climbBeeps(bench, 8e6, 12e6) >= 13, `${climbBeeps(bench, 8e6, 12e6)} beeps`);
});

test('a short circuit of the bus is reported, and the rest of the instrument works', () => {
  const bench = new Bench(CLIMB);
  bench.machine.run(5e6);
  bench.wires.jam(Infinity);
  bench.machine.run(9e6);
  assert.match(bench.uart.textSince(0), /bus/);
  assert.equal(climbBeeps(bench, 8e6, 14e6), 0);
  assert.equal(faultsSounded(bench, 5e6), 1);
  assert.equal(bench.machine.resets.length, 0, 'no watchdog');
  assert.match(bench.uart.ask('version'), /chirrup/);
  bench.wires.jam(0);
  bench.machine.run(6e6);
  assert.ok(climbBeeps(bench, 17e6, 20e6) > 5);
});

test('a second barometer on a total-energy probe removes pitch inputs from the reading', () => {
  // The glider pulls up from 40 to 25 m/s within four seconds in still air: 50 m higher, and no
  // energy gained.
  const flight = fromHeights([[0, 500], [8, 500], [12, 550], [20, 550]]);
  const probe = fromHeights([[0, 582], [20, 582]]);
  const readings = (second) => {
    const barometers = [
      barometer((us) => at(flight, us)),
      barometer((us) => at(probe, us), { address: 0x76, seed: 2 }),
    ];
    const bench = new Bench(flight, { barometers });
    bench.machine.run(500_000);
    bench.uart.ask(`device.second_barometer = "${second}"`);
    bench.uart.type('log on\r\n');
    bench.machine.runUntil(13e6);
    const rows = bench.uart.lines.filter(({ text }) => /^\d/.test(text)).map(({ text }) => text.split(','));
    return rows.filter(([us]) => us > 8e6).map((row) => Number(row[4]) / 1000);
  };
  assert.ok(Math.max(...readings('none')) > 5, 'without it the pull-up looks like lift');
  assert.ok(Math.max(...readings('probe').map(Math.abs)) < 1, 'with it there is none');
});
