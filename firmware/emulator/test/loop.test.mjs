// The loop closed: what the instrument plays is what the bench plays for the samples that the
// instrument logged.
import assert from 'node:assert/strict';
import { before, test } from 'node:test';
import { Bench } from '../src/bench.mjs';
import { replay } from '../src/chirrup.mjs';
import { beeps, cents, pitchHz } from '../src/sound.mjs';
import { fromHeights } from '../src/trace.mjs';
import { wavBeeps } from '../src/wav.mjs';

/** Still, up at 4 m/s, still, down at 3 m/s, still: seconds and metres. */
const FLIGHT = [[0, 500], [7, 500], [15, 532], [17, 532], [25, 508], [27, 508]];
/** The start-up sound is the instrument's own; a log says nothing of it. */
const STARTED_US = 2e6;
const END_US = 27e6;

let played;
let logged;
let usb;
let bench;
before(() => {
  const board = new Bench(fromHeights(FLIGHT), { usb: true });
  board.machine.run(1e6);
  board.uart.ask('device.log_hz = 50');
  board.uart.ask('save', 1e6);
  board.machine.powerOn();
  board.uart.lines.length = board.usb.lines.length = 0;
  board.speaker.clear();
  board.machine.runUntil(END_US);
  played = beeps(board.speaker.edges).filter(({ startUs }) => startUs > STARTED_US);
  logged = board.uart.lines.map(({ text }) => text);
  usb = board.usb.lines.map(({ text }) => text);
  bench = replay(logged, '--sound-rate', '25000');
});

const isRow = (line) => /^\d/.test(line);

test('a climb beeps and a sink sounds on, at the pitches of the law', () => {
  const climb = played.filter(({ startUs, endUs }) => startUs > 9e6 && endUs < 15e6);
  assert.ok(climb.length > 15, `${climb.length} beeps in six seconds of climb`);
  // The default law: 4 m/s is 1256 Hz, -3 m/s is between 433 and 385 Hz.
  climb.forEach((beep) => assert.ok(Math.abs(cents(pitchHz(beep), 1256)) < 60, `${pitchHz(beep)} Hz`));
  const sink = played.find(({ startUs, endUs }) => startUs < 20e6 && endUs > 24e6);
  assert.ok(sink && pitchHz(sink) > 385 && pitchHz(sink) < 433, 'a steady low tone while it sinks');
});

/**
 * Pairs of beeps, the instrument's and the bench's, in the instrument's time; a beep that the end
 * cuts off is left out.
 */
function pairs() {
  const start = Number(logged.find(isRow).split(',')[0]);
  const moved = (beep) => ({ ...beep, startUs: beep.startUs + start, endUs: beep.endUs + start });
  const isWhole = ({ endUs }) => endUs < END_US - 50_000;
  const expected = wavBeeps(bench.wav).map(moved).filter(isWhole);
  const found = played.filter(isWhole);
  assert.equal(found.length, expected.length);
  assert.ok(found.length > 20, `${found.length} beeps`);
  return found.map((beep, i) => [beep, expected[i]]);
}

test('every beep whose pitch stands still has the pitch of the bench, within 3 cents', () => {
  const steady = pairs().filter(([beep, expected]) => spread(beep) < 10 && spread(expected) < 10);
  assert.ok(steady.length > 15, `${steady.length} beeps stand still`);
  steady.forEach(([beep, expected]) => {
    const apart = cents(pitchHz(beep), pitchHz(expected));
    assert.ok(Math.abs(apart) < 3, `at ${beep.startUs} us: ${apart} cents`);
  });
});

test('where the pitch moves, every period is one that the bench has within 20 ms, within 3 cents', () => {
  // In the edges a count of the DAC is much beside the wave.
  for (const [beep, expected] of pairs()) {
    const there = timed(expected);
    for (const { us, period } of timed(beep).slice(6, -6)) {
      const near = there.filter((one) => Math.abs(one.us - us) < 20_000).map((one) => one.period);
      const [high, low] = [cents(Math.max(...near), period), cents(Math.min(...near), period)];
      assert.ok(high > -3 && low < 3, `a period of ${period} us at ${us} us, where the bench has ${near}`);
    }
  }
});

/** How far the pitch moves within the middle half of a beep, in cents. */
function spread({ periods }) {
  const middle = periods.slice(Math.floor(periods.length / 4), Math.ceil((3 * periods.length) / 4));
  return cents(Math.max(...middle), Math.min(...middle));
}

/** The periods of a beep with the time at which each ends. */
function timed({ startUs, periods }) {
  let us = startUs;
  return periods.map((period) => ({ us: (us += period), period }));
}

test('the log replays to the readings that the instrument had', () => {
  const rows = logged.filter(isRow).map((line) => line.split(',').map(Number));
  assert.equal(bench.readings.length, rows.length);
  bench.readings.forEach((reading, i) => {
    assert.equal(Math.round(Number(reading.time_s) * 1e6), rows[i][0]);
    const mmps = 1000 * Number(reading.te_vertical_speed_mps || reading.vertical_speed_mps);
    assert.ok(Math.abs(mmps - rows[i][4]) <= 1, `at ${reading.time_s} s the bench reads ${mmps} mm/s, the instrument ${rows[i][4]}`);
  });
  assert.ok(rows.every((row) => row[5] === 0), 'no row was dropped');
  const times = rows.map(([us]) => us).filter((us) => us > 200_000);
  assert.ok(times.slice(1).every((us, i) => Math.abs(us - times[i] - 20_000) < 200), 'a sample every 20 ms');
});

test('both ports send the same rows', () => {
  const sent = new Set(logged.filter(isRow));
  const rows = usb.filter(isRow);
  assert.ok(rows.length > 1200, `${rows.length} rows on USB`);
  rows.slice(0, -1).forEach((row) => assert.ok(sent.has(row), `only on USB: ${row}`));
});
