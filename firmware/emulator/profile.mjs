#!/usr/bin/env node
// Profile of the bench: `node profile.mjs ELF [COMMAND]` runs the bench on the emulated Cortex-M0+
// and lists its functions by the share of instructions that are their own, not their callees'.
import { Machine } from './src/machine.mjs';
import { runBench } from './src/semihosting.mjs';
import { functions, readable } from './src/symbols.mjs';

const [elf, ...command] = process.argv.slice(2);
if (!elf) {
  console.error('usage: node profile.mjs ELF [parity SAMPLES | cost]');
  process.exit(2);
}
const found = functions(elf);
const owner = new Int32Array(1 << 20).fill(-1); // by half word of the first 2 MiB of flash
found.forEach(({ from, to }, index) => owner.fill(index, (from & 0xffffff) >> 1, (to & 0xffffff) >> 1));
const counts = new Float64Array(found.length + 1);
const machine = new Machine(elf);
const { core } = machine.rp;
const execute = core.executeInstruction.bind(core);
core.executeInstruction = () => {
  const at = core.registers[15];
  counts[at >>> 24 === 0x10 ? owner[(at & 0x1fffff) >> 1] + 1 : 0]++;
  return execute();
};
runBench(machine, command.join(' ') || 'parity 1000');
const total = counts.reduce((sum, count) => sum + count, 0);
[...counts.entries()].sort((a, b) => b[1] - a[1]).slice(0, 30).forEach(([index, count]) => {
  const name = index ? readable(found[index - 1].name) : 'elsewhere';
  console.log(`${(100 * count / total).toFixed(1).padStart(5)} %  ${Math.round(count).toString().padStart(10)}  ${name}`);
});
console.log(`${total} instructions`);
