// The five processors that run the invented flight, and the two whose cost is measured.
import { execFileSync, spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { built } from './bench.mjs';
import { run } from './chirrup.mjs';
import { Machine } from './machine.mjs';
import { runBench } from './semihosting.mjs';

/** Digests of the flight, one a sample, by this computer's own processor. */
export const here = (samples) => words(run('chirrup-parity', [String(samples)]));

/** One sample and its reading, for investigating a difference. */
export const shown = (sample) => run('chirrup-parity', [String(sample + 1), String(sample)]).toString();

export function webAssembly(samples) {
  const { exports } = new WebAssembly.Instance(new WebAssembly.Module(readFileSync(built('wasm32-unknown-unknown', 'chirrup_wasm.wasm'))));
  if (!exports.start()) throw new Error('the flight did not begin');
  return Uint32Array.from({ length: samples }, () => exports.digest());
}

export const hasQemu = () => spawnSync('qemu-system-arm', ['--version']).status === 0;

/** Runs the bench on the Cortex-M4F in QEMU, an instruction a nanosecond. */
export const m4f = (line) => inQemu('mps2-an386', 'thumbv7em-none-eabihf', line);

/** Runs the bench on the Cortex-M33 in QEMU: the processor of a Pico 2. */
export const m33 = (line) => inQemu('mps2-an505', 'thumbv8m.main-none-eabihf', line);

function inQemu(board, target, line) {
  const folder = mkdtempSync(join(tmpdir(), 'chirrup-'));
  try {
    const said = ['bench', ...line.split(' ')].map((word) => `arg=${word}`).join(',');
    const text = execFileSync('qemu-system-arm', [
      '-M', board, '-nographic', '-monitor', 'none', '-serial', 'none', '-icount', 'shift=0',
      '-semihosting-config', `enable=on,target=native,${said}`, '-kernel', built(target, 'chirrup-bench'),
    ], { cwd: folder, timeout: 120_000 }).toString();
    const file = (name) => readFileSync(join(folder, name));
    return { text, digests: line.startsWith('parity') ? words(file('digests.bin')) : null };
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** Runs the bench on the emulated Cortex-M0+. */
export function m0plus(line) {
  const { good, text, file } = runBench(new Machine(built('thumbv6m-none-eabi', 'chirrup-bench')), line);
  if (!good) throw new Error(`the bench failed: ${text}`);
  return { text, digests: line.startsWith('parity') ? words(file('digests.bin')) : null };
}

const words = (bytes) => Uint32Array.from({ length: bytes.length / 4 }, (_, i) => bytes.readUInt32LE(4 * i));
