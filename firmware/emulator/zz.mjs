import { Bench } from './src/bench.mjs';
import { Lsm6dso } from './src/lsm6dso.mjs';
import { Ms4525 } from './src/ms4525.mjs';
import { Satellites } from './src/satellites.mjs';
import { fromHeights } from './src/trace.mjs';
const image = process.argv[2];
const felt = (us) => ({ force: [0.5 * Math.sin(2e-6 * us), 0, 9.80665], turn: [0.3 * Math.cos(3e-6 * us), 0, 0.1] });
for (const cache of [false, true]) for (const [n, s, p] of [['baro', () => [], () => []], ['all', () => [new Ms4525(() => 400), new Lsm6dso(felt)], () => [new Satellites((us) => [25_000 + us / 1e4, -3_000, 400])]]]) {
  const { machine } = new Bench(fromHeights([[0, 500], [4, 500], [12, 516], [14, 516]]), { image, cache, sensors: s(), parts: p() });
  machine.runUntil(6e6);
  const [us, idle] = [machine.us, machine.idleNs];
  machine.runUntil(8e6);
  console.log(cache, n, (100 * (1 - (machine.idleNs - idle) / 1000 / (machine.us - us))).toFixed(2));
}
