// The workspace's own programs: `chirrup` on what the emulated instrument logged, and the reference
// of the comparison of bits.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../../..', import.meta.url));

/**
 * Runs a program of the workspace: the one in the folder CHIRRUP_PROGRAMS where that is set, else
 * as cargo builds it.
 */
export function run(program, words) {
  const folder = process.env.CHIRRUP_PROGRAMS;
  const [command, before] = folder
    ? [join(folder, program), []]
    : ['cargo', ['run', '--quiet', '--release', '-p', program, '--']];
  return execFileSync(command, [...before, ...words], { cwd: root, maxBuffer: 1 << 30, stdio: ['ignore', 'pipe', 'inherit'] });
}

/** Replays the lines of a log; returns the path of its sound, and its readings. */
export function replay(lines, ...more) {
  const folder = mkdtempSync(join(tmpdir(), 'chirrup-'));
  const [log, wav, csv] = ['log.csv', 'sound.wav', 'readings.csv'].map((name) => join(folder, name));
  writeFileSync(log, `${lines.join('\n')}\n`);
  run('chirrup', ['replay', log, '--wav', wav, '--csv', csv, ...more]);
  const [header, ...rows] = readFileSync(csv, 'utf8').trim().split('\n').map((line) => line.split(','));
  return { wav, readings: rows.map((row) => Object.fromEntries(row.map((field, i) => [header[i], field]))) };
}
