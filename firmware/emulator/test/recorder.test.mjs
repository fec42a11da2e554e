// The recorder in the Pico's own flash: a flight is the live log byte for byte, writing it is not
// heard and costs no sample, and power cut anywhere loses nothing before the cut.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Bench } from '../src/bench.mjs';
import { Lsm6dso } from '../src/lsm6dso.mjs';
import { Ms4525 } from '../src/ms4525.mjs';
import { FLIGHTS } from '../src/pages.mjs';
import { fromHeights } from '../src/trace.mjs';

/** A sink of 3 m/s from the first second on: a tone without a pause. */
const SINK = fromHeights([[0, 2500], [1, 2500], [601, 700]]);
const PAGE = 256;

const isRow = (line) => /^\d/.test(line);
const texts = (port, from = 0) => port.lines.slice(from).map(({ text }) => text);
const inFlights = ({ what, at }) => what === 'program' && at >= FLIGHTS.from && at < FLIGHTS.to;

/** Numbers that look random (Lehmer's generator, with the multiplier of Park and Miller 1993). */
function chance(seed) {
  let state = seed;
  return (below) => {
    state = (state * 48271) % 2147483647;
    return Math.floor((state / 2147483647) * below);
  };
}

test('a recorded flight is the live log byte for byte, and writing it costs neither sound nor sample', () => {
  // A page takes 0.7 ms, and an erasure 400 ms.
  const bench = new Bench(SINK, { usb: true, flash: 'slow' });
  bench.machine.run(300_000);
  bench.usb.answer('device.record = power');
  bench.usb.answer('log 50');
  bench.machine.run(30_000_000);
  const live = texts(bench.usb).filter(isRow);
  bench.usb.answer('log off');
  bench.usb.answer('device.record = off');
  const list = bench.usb.answer('flights');
  assert.match(list.join('\n'), /\n# 1,,[\d.]+,3\d\.\d,1\d\d\d,\d+,ended, begun in the air\n# ok$/);
  const fetched = bench.usb.answer('fetch 1').filter(isRow);
  const from = fetched.indexOf(live[0]);
  assert.ok(live.length > 1_450 && from >= 0, `${live.length} rows from ${from} on`);
  assert.deepEqual(fetched.slice(from, from + live.length), live);

  const { machine, speaker } = bench;
  const pages = machine.flash.work.filter(inFlights);
  assert.ok(pages.length > 12 && pages.every(({ tookUs }) => tookUs >= 700), `${pages.length} pages`);
  assert.equal(machine.flash.erases, 0, 'nothing is erased in flight');
  // The tone of the sink, 385 to 433 Hz, is there from the seventh second on.
  const edges = speaker.edges.map(({ us }) => us).filter((us) => us > 7e6 && us < 30e6);
  const gaps = edges.slice(1).map((us, i) => us - edges[i]);
  assert.ok(edges.length > 23 * 2 * 385 && Math.max(...gaps) < 4_000, `a gap of ${Math.max(...gaps)} us`);
  const steps = live.slice(1).map((row, i) => Number.parseInt(row, 10) - Number.parseInt(live[i], 10));
  assert.ok(steps.every((us) => Math.abs(us - 20_000) < 100), `steps of ${Math.min(...steps)} to ${Math.max(...steps)} us`);
});

/** As many in CI as its time allows; CHIRRUP_POWER_CUTS=200 takes three minutes more. */
const CUTS = Number(process.env.CHIRRUP_POWER_CUTS ?? 40);

test(`after ${CUTS} power cuts at any byte every page written before is there`, () => {
  // With all sensors a page is full in a quarter of a second.
  const felt = () => ({ force: [0, 0, 9.80665], turn: [0.1, 0, 0.2] });
  const sensors = [new Lsm6dso(felt), new Ms4525(() => 300)];
  const bench = new Bench(SINK, { sensors, flash: 'slow' });
  const { machine } = bench;
  machine.run(500_000);
  bench.uart.answer('device.record = power');
  bench.uart.answer('save');
  const below = chance(20261126);
  const kept = new Map();
  let cuts = 0;
  const check = () => kept.forEach((bytes, at) => {
    assert.deepEqual(Buffer.from(machine.rp.flash.subarray(at, at + PAGE)), bytes, `page at ${at} after ${cuts} cuts`);
  });
  machine.powerOn();
  while (cuts < CUTS) {
    machine.flash.work.length = 0;
    assert.ok(machine.cutPowerDuring(below(3 * PAGE), 5_000_000), 'the power was cut while a page was written');
    cuts += 1;
    // A page that was under way is not in this list, unless all of it was written.
    for (const { at } of machine.flash.work.filter(inFlights)) {
      assert.ok(!kept.has(at), `place ${at} was written again`);
      kept.set(at, Buffer.from(machine.rp.flash.subarray(at, at + PAGE)));
    }
  }
  check();
  assert.ok(kept.size > CUTS / 2, `${kept.size} pages`);
  machine.run(500_000);
  bench.uart.answer('device.record = off');
  const flights = bench.uart.answer('flights').filter((line) => /^# \d/.test(line)).map((line) => line.split(','));
  const bytes = flights.reduce((sum, fields) => sum + Number(fields[5]), 0);
  // A page whose power went with its last bytes may be whole; no more than the cuts.
  assert.ok(bytes >= kept.size * PAGE && bytes <= (kept.size + cuts) * PAGE, `${bytes} bytes, ${kept.size} pages`);
});
