#!/usr/bin/env node
// Runs the tests of test/, those of the board once with every barometer: CHIRRUP_BAROMETER names it.
// Once is enough for what has nothing to do with the kind, or takes every kind by itself.
import { spawnSync } from 'node:child_process';
import { readFileSync, readdirSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { BAROMETERS } from './src/barometers.mjs';

const folder = fileURLToPath(new URL('./test/', import.meta.url));
const all = readdirSync(folder).filter((name) => name.endsWith('.test.mjs')).map((name) => folder + name);
const ONCE = ['barometers', 'flash', 'hammer', 'recorder', 'room', 'settings', 'sound', 'wireless'].map((name) => `${folder}${name}.test.mjs`);
const ofTheBoard = all.filter((path) => !ONCE.includes(path)).filter((path) => /from '\.\.\/src\/bench\.mjs'/.test(readFileSync(path, 'utf8')));

const [major, minor] = process.versions.node.split('.').map(Number);
// Node knows it from 20.10 on.
const concurrently = major > 20 || (major === 20 && minor >= 10) ? ['--test-concurrency=2'] : [];

const failed = Object.keys(BAROMETERS).filter((kind, i) => {
  console.log(`\n== with the ${kind}`);
  const files = i === 0 ? all : ofTheBoard;
  const env = { ...process.env, CHIRRUP_BAROMETER: kind };
  return spawnSync(process.execPath, ['--test', ...concurrently, ...process.argv.slice(2), ...files], { stdio: 'inherit', env }).status !== 0;
});
if (failed.length > 0) {
  console.error(`failed with: ${failed.join(', ')}`);
  process.exit(1);
}
