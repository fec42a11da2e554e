// A flash that is full when power comes: the instrument measures at once, erases the rest on the
// ground and in silence, and the flight that follows is complete.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { barometer } from '../src/barometers.mjs';
import { Bench } from '../src/bench.mjs';
import { FLIGHTS, fill } from '../src/pages.mjs';
import { replay } from '../src/chirrup.mjs';
import { at, fromHeights } from '../src/trace.mjs';

const isRow = (line) => /^\d/.test(line);
const isErased = ({ what, at }) => what === 'erase' && at >= FLIGHTS.from && at < FLIGHTS.to;
/** Sectors that may be erased before the first sample. */
const FIRST = 20;

/** What a port answers to a line, however long it takes: a full flash is long to list. */
const answer = (port, line) => port.answer(line, 200_000_000);

/** An instrument whose flash was full when power came, in air that is given from power-on. */
function powerOnFull(air, options = {}) {
  const bench = new Bench(air, { usb: true, ...options });
  bench.machine.run(300_000);
  fill(bench.machine.rp.flash, 700);
  bench.machine.flash.work.length = 0;
  bench.machine.powerOn();
  bench.speaker.clear();
  return bench;
}

/** Times between the samples of rows, in us. */
const steps = (rows) => rows.slice(1).map((row, i) => Number.parseInt(row, 10) - Number.parseInt(rows[i], 10));

test('with a full flash the first reading comes within 1.5 s, and the first minute in flight is complete', () => {
  // On the ground for 50 s, then a sink of 3 m/s: a tone without a pause.
  const bench = powerOnFull(fromHeights([[0, 1500], [50, 1500], [120, 1290]]));
  const { machine, speaker, usb } = bench;
  machine.run(1_500_000);
  const erasedFirst = machine.flash.work.filter(isErased).length;
  assert.ok(erasedFirst > 15 && erasedFirst <= FIRST, `${erasedFirst} sectors before the first sample`);
  assert.match(answer(usb, 'reading').join('\n'), /vertical speed/);
  assert.match(answer(usb, 'selftest').join('\n'), /\n# recorder: room for (\d+ minutes, )?3\d\d pages\n/);
  machine.runUntil(48e6);
  const onTheGround = machine.flash.work.filter(isErased);
  assert.ok(onTheGround.length > FIRST + 50, `${onTheGround.length} sectors`);
  const silent = speaker.edges.filter(({ us }) => onTheGround.some((order) => us > order.us && us < order.us + order.tookUs));
  assert.equal(silent.length, 0, 'nothing sounds while a sector is erased');
  assert.match(answer(usb, 'selftest').join('\n'), /static: .* (49\.9|50\.0)\d samples\/s/);
  // A launch is noticed within two seconds.
  machine.runUntil(52e6);
  machine.flash.work.length = 0;
  machine.runUntil(120e6);
  assert.equal(machine.flash.erases, 0, 'nothing is erased in flight');
  const edges = speaker.edges.map(({ us }) => us).filter((us) => us > 60e6 && us < 120e6);
  const gaps = edges.slice(1).map((us, i) => us - edges[i]);
  assert.ok(edges.length > 40_000 && Math.max(...gaps) < 4_000, `a gap of ${Math.max(...gaps)} us, ${edges.length} edges`);
  answer(usb, 'device.record = off');
  const number = answer(usb, 'flights').at(-2).match(/^# (\d+),/)[1];
  const flight = answer(usb, `fetch ${number}`);
  const rows = flight.filter(isRow);
  const flown = rows.filter((row) => Number.parseInt(row, 10) > 52e6);
  assert.ok(flown.length > 67 * 50, `${flown.length} rows`);
  assert.ok(steps(flown).every((us) => Math.abs(us - 20_000) < 1_000), `steps of ${Math.max(...steps(flown))} us`);
  assert.equal(replay(flight.filter((line) => !line.startsWith('# ok'))).readings.length, rows.length);
});

test('after two restarts in one flight its three parts are there, and nothing was erased in the air', () => {
  const air = fromHeights([[0, 500], [40, 500], [400, 1580]]);
  let flownUs = 0;
  const bench = new Bench(air, { usb: true, barometers: [barometer((us) => at(air, us + flownUs))] });
  const { machine, usb } = bench;
  machine.run(300_000);
  fill(machine.rp.flash, 700);
  machine.powerOn();
  machine.runUntil(65e6);
  const parts = [];
  const ends = () => Number(answer(usb, 'flights').at(-2).match(/^# (\d+),/)[1]);
  parts.push(ends());
  for (let restart = 0; restart < 2; restart++) {
    flownUs += machine.us;
    machine.flash.work.length = 0;
    machine.powerOn();
    machine.runUntil(40e6);
    const late = machine.flash.work.filter((order) => isErased(order) && order.us > 2e6);
    assert.equal(late.length, 0, 'nothing is erased after the first sample');
    parts.push(ends());
  }
  const list = answer(usb, 'flights');
  assert.deepEqual(parts, [parts[0], parts[0] + 1, parts[0] + 2], list.join('\n'));
  answer(usb, 'device.record = off');
  for (const part of parts) {
    const rows = answer(usb, `fetch ${part}`).filter(isRow);
    assert.ok(rows.length > 30 * 50, `${rows.length} rows of part ${part}`);
    // A launch is noticed within two seconds; after a start the frames begin anew.
    const flown = part === parts[0] ? rows.filter((row) => Number.parseInt(row, 10) > 42e6) : rows.slice(50);
    // None is missing; a list of flights that was asked for may make one 2 ms late.
    const missing = steps(flown).filter((us) => Math.abs(us - 20_000) >= 10_000);
    assert.deepEqual(missing, [], `part ${part}`);
  }
  for (const part of parts.slice(1)) {
    assert.match(list.find((line) => line.startsWith(`# ${part},`)), /begun in the air/);
  }
});
