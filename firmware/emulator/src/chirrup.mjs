// The bench's own program, `chirrup`, on what the emulated instrument logged.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const root = fileURLToPath(new URL('../../..', import.meta.url));

/** Replays the lines of a log; gives the paths of its sound and, read, its readings. */
export function replay(lines, ...more) {
  const folder = mkdtempSync(join(tmpdir(), 'chirrup-'));
  const [log, wav, csv] = ['log.csv', 'sound.wav', 'readings.csv'].map((name) => join(folder, name));
  writeFileSync(log, `${lines.join('\n')}\n`);
  const command = ['run', '--quiet', '--release', '-p', 'chirrup', '--', 'replay', log, '--wav', wav, '--csv', csv, ...more];
  execFileSync('cargo', command, { cwd: root, stdio: ['ignore', 'pipe', 'pipe'] });
  const [header, ...rows] = readFileSync(csv, 'utf8').trim().split('\n').map((line) => line.split(','));
  return { wav, readings: rows.map((row) => Object.fromEntries(row.map((field, i) => [header[i], field]))) };
}
