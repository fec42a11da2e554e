// The flash chip takes its time, cannot be read meanwhile, and execution waits for what the cache
// does not have.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { Bench } from '../src/bench.mjs';
import { missCycles } from '../src/cache.mjs';
import { busyShare } from '../src/machine.mjs';
import { fromHeights } from '../src/trace.mjs';

const STILL = fromHeights([[0, 500], [60, 500]]);
const CLIMB = fromHeights([[0, 500], [2, 500], [60, 732]]);

test('a page takes 0.4 ms on a good chip and 3 ms on the worst, and the clock runs on', () => {
  for (const [flash, us] of [['typical', 400], ['worst', 3_000]]) {
    const bench = new Bench(STILL, { flash });
    bench.machine.run(500_000);
    bench.machine.flash.work.length = 0;
    bench.uart.ask('save', 500_000);
    const { work } = bench.machine.flash;
    assert.ok(work.length >= 3, `${work.length} orders`);
    for (const [i, { what, us: at, tookUs }] of work.entries()) {
      assert.equal(what, 'program');
      assert.ok(tookUs >= us && tookUs < us + 200, `${tookUs} us`);
      if (i > 0) assert.ok(at - work[i - 1].us >= tookUs, 'one after the other');
    }
  }
});

test('the sound has faded before the processor waits for the chip, and comes back', () => {
  const bench = new Bench(fromHeights([[0, 500], [2, 500], [60, 326]]), { flash: 'worst' });
  bench.machine.run(8e6);
  bench.machine.flash.work.length = 0;
  bench.uart.ask('save', 500_000);
  const [{ us, tookUs }] = bench.machine.flash.work;
  const edges = (from, to) => bench.speaker.edges.filter((edge) => edge.us > from && edge.us < to).length;
  // A steady tone of some 400 Hz while it sinks.
  assert.ok(edges(us - 200_000, us - 100_000) > 60 && edges(us + tookUs + 200_000, us + tookUs + 300_000) > 60);
  assert.equal(edges(us, us + tookUs), 0);
  const before = bench.speaker.us.findLastIndex((at) => at <= us);
  assert.equal(bench.speaker.levels[before], 0.5, 'the pin rests in the middle');
});

test('whoever reads flash while it cannot be read ends the run', () => {
  const bench = new Bench(STILL);
  bench.machine.run(500_000);
  const { rp } = bench.machine;
  bench.machine.onFlash = () => rp.readUint32(0x10000100);
  assert.throws(() => bench.uart.ask('save', 500_000), /0x10000100 was read while the flash cannot be/);
});

test('the loader reads four bits a clock, and waiting for flash is a share of the time', () => {
  const shares = [false, true].map((cache) => {
    const bench = new Bench(CLIMB, { cache });
    bench.machine.run(4e6);
    const before = bench.machine.cache?.misses ?? 0;
    const busy = busyShare(bench.machine, () => bench.machine.run(4e6));
    return { bench, busy, misses: (bench.machine.cache?.misses ?? 0) - before };
  });
  const [none, waits] = shares;
  const { machine } = waits.bench;
  // Address and mode bits, four waits, data, at half the system's clock, and the way to the chip.
  assert.equal(missCycles(machine.rp.peripherals[0x18000]), (8 + 4 + 8) * 2 + 12);
  assert.ok(machine.cache.misses > 10_000 && machine.cache.hits > 5 * machine.cache.misses);
  // What runs for every sample is in RAM (boards/pico/memory.x): the rest waits, but little. Each
  // miss in those four seconds makes it busy for so long: 500 million cycles in all.
  const waited = (waits.misses * missCycles(machine.rp.peripherals[0x18000])) / 500e6;
  assert.ok(waited > 0.005 && Math.abs(waits.busy - none.busy - waited) < 0.1 * waited, `${waits.busy} and ${none.busy}, ${waited}`);
  assert.ok(waits.busy < 1.3 * none.busy, `${waits.busy} and ${none.busy}`);
});
