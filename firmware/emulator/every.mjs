#!/usr/bin/env node
// Runs the tests of test/, those of the board once with every barometer: CHIRRUP_BAROMETER names it.
import { spawnSync } from 'node:child_process';
import { readFileSync, readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { BAROMETERS } from './src/barometers.mjs';

const folder = fileURLToPath(new URL('./test/', import.meta.url));
const all = readdirSync(folder).filter((name) => name.endsWith('.test.mjs')).map((name) => folder + name);
const ofTheBoard = all.filter((path) => /from '\.\.\/src\/bench\.mjs'/.test(readFileSync(path, 'utf8')));

const failed = Object.keys(BAROMETERS).filter((kind, i) => {
  console.log(`\n== with the ${kind}`);
  const files = i === 0 ? all : ofTheBoard;
  const env = { ...process.env, CHIRRUP_BAROMETER: kind };
  return spawnSync(process.execPath, ['--test', ...process.argv.slice(2), ...files], { stdio: 'inherit', env }).status !== 0;
});
if (failed.length > 0) {
  console.error(`failed with: ${failed.join(', ')}`);
  process.exit(1);
}
