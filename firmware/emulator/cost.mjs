#!/usr/bin/env node
// Cost of the instrument; see firmware/cost.sh.
import { readFileSync, writeFileSync } from 'node:fs';
import { Bench, built } from './src/bench.mjs';
import { Lsm6dso } from './src/lsm6dso.mjs';
import { Ms4525 } from './src/ms4525.mjs';
import { m0plus, m4f } from './src/processors.mjs';
import { Satellites } from './src/satellites.mjs';
import { flashBytes, reachable, staticRam } from './src/size.mjs';
import { symbols } from './src/symbols.mjs';
import { fromHeights } from './src/trace.mjs';

const PAGE = new URL('../../docs/src/cost.md', import.meta.url);
const [BEGIN, END] = ['<!-- cost: begin -->', '<!-- cost: end -->'];
/** A figure may exceed the table's by this factor. */
const ALLOWED = 1.1;
const SAMPLES_A_SECOND = 50;
const TICKS_A_SECOND = 500;
const CLOCK_HZ = 125e6;

/** One row of the table; `aim` is the target. */
const row = (what, value, unit, aim = '') => ({ what, value, unit, aim });

function benchRows() {
  const figures = new Map();
  for (const line of `${m4f('cost').text}${m0plus('cost').text}`.trim().split('\n')) {
    const [machine, flight, part, unit, mean, worst] = line.split(' ');
    figures.set(`${machine} ${flight} ${part} ${unit}`, { mean: Number(mean), worst: Number(worst) });
  }
  const figure = (name) => figures.get(name) ?? fail(`the bench did not report '${name}'`);
  const flights = [
    ['static', 'static pressure alone', 3000, 4],
    ['pitot_netto', 'with pitot and polar', 3000, 4],
    ['probe', 'with a total-energy probe', 3000, 4],
    ['inertial', 'with pitot, polar and inertial sensor', 15000, ''],
  ];
  const rows = [];
  for (const [flight, words, aim] of flights) {
    const sample = figure(`m4f ${flight} sample instructions`);
    rows.push(row(`Cortex-M4F, a sample, ${words}`, sample.mean, 'instructions', aim));
    rows.push(row(`Cortex-M4F, the worst such sample`, sample.worst, 'instructions'));
  }
  rows.push(row('Cortex-M4F, a control tick', figure('m4f pitot_netto tick instructions').mean, 'instructions'));
  for (const [flight, words] of flights) {
    const sample = figure(`m0plus ${flight} sample cycles`);
    rows.push(row(`Cortex-M0+, a sample, ${words}`, sample.mean, 'cycles'));
    rows.push(row(`Cortex-M0+, the worst such sample`, sample.worst, 'cycles'));
  }
  const tick = figure('m0plus pitot_netto tick cycles').mean;
  rows.push(row('Cortex-M0+, a control tick', tick, 'cycles'));
  for (const [flight, words, , aim] of flights) {
    const cycles = figure(`m0plus ${flight} sample cycles`).mean * SAMPLES_A_SECOND + tick * TICKS_A_SECOND;
    rows.push(row(`RP2040 at 125 MHz, core at 50 Hz with sound, ${words}`, (100 * cycles) / CLOCK_HZ, '% of its time', aim));
  }
  const deepest = (machine) => Math.max(...flights.map(([flight]) => figure(`${machine} ${flight} stack bytes`).worst));
  rows.push(row('Cortex-M4F, stack of a sample', deepest('m4f'), 'bytes', 16384));
  rows.push(row('Cortex-M0+, stack of a sample', deepest('m0plus'), 'bytes', 16384));
  return rows;
}

function boardRows() {
  const [pico, noUsb] = [built('thumbv6m-none-eabi', 'pico'), built('thumbv6m-none-eabi', 'pico-no-usb')];
  const nrf = built('thumbv7em-none-eabihf', 'nrf52840');
  const { start, stack, busy } = runPico(pico);
  return [
    row('Pico, flash', flashBytes(pico), 'bytes', '131072'),
    row('Pico, flash without the USB console', flashBytes(noUsb), 'bytes'),
    row('Pico, static RAM, with what runs for every sample', staticRam(pico).bytes, 'bytes', '229376'),
    row('Pico, stack of the start, before anything else runs', start, 'bytes', '12288'),
    row('Pico, deepest stack seen from then on', stack, 'bytes', '12288'),
    row('Pico, share of the time awake, all tasks, waiting for its flash', 100 * busy, '% of its time'),
    ...EQUIPMENT.map(([words, aim, ...parts]) => row(`The same ${words}`, 100 * awake(pico, ...parts), '% of its time', aim)),
    row('nRF52840, flash', flashBytes(nrf), 'bytes'),
    row('nRF52840, static RAM', staticRam(nrf).bytes, 'bytes'),
  ];
}

const felt = (us) => ({ force: [0.5 * Math.sin(2e-6 * us), 0, 9.80665], turn: [0.3 * Math.cos(3e-6 * us), 0, 0.1] });
const overGround = (us) => [25_000 + us / 1e4, -3_000, 400];
const pitot = () => new Ms4525(() => 400);
const imu = () => new Lsm6dso(felt);

/** What is soldered on besides the barometer, and the aim for it. */
const EQUIPMENT = [
  ['with a pitot, in flight', '', () => [pitot()], () => []],
  ['with a pitot and an inertial sensor', 20, () => [pitot(), imu()], () => []],
  ['with those and a satellite receiver', '', () => [pitot(), imu()], () => [new Satellites(overGround)]],
];

/** Share of five seconds in which the processor is awake. */
function awake(image, sensors, parts) {
  const { machine } = new Bench(fromHeights([[0, 500], [4, 500], [12, 516], [14, 516]]), { image, sensors: sensors(), parts: parts(), cache: true });
  machine.runUntil(8e6);
  return awakeUntil(machine, 13e6);
}

/** Share of the time from now on in which the processor is awake. */
function awakeUntil(machine, endUs) {
  const [us, idleNs] = [machine.us, machine.idleNs];
  machine.runUntil(endUs);
  return 1 - (machine.idleNs - idleNs) / 1000 / (machine.us - us);
}

const PAINT = 0xa5;
const STACK_TOP = 0x20040000;

/**
 * Paints what the stack may take, starts the instrument, paints it again, uses the instrument in
 * every way, and sees each time how much paint is left.
 */
function runPico(image) {
  const { end } = staticRam(image);
  const bench = new Bench(fromHeights([[0, 800], [4, 800], [9, 825], [14, 810]]), { image, usb: true, cache: true });
  const { machine } = bench;
  const room = () => machine.rp.sram.subarray(end - 0x20000000, STACK_TOP - 0x20000000);
  const deepest = () => room().length - room().findIndex((byte) => byte !== PAINT);
  room().fill(PAINT);
  machine.run(2e6);
  const start = deepest();
  room().fill(PAINT, 0, machine.rp.core.SP - end);
  for (const line of ['help', 'settings', 'set response_s 0.7', 'selftest', 'log on 50', 'save', 'tone 2.5', 'defaults', 'save']) {
    bench.uart.ask(line, 400_000);
    bench.usb.ask(line, 100_000);
  }
  return { start, busy: awakeUntil(machine, 14e6), stack: deepest() };
}

/** Code reachable from a sample or a tick must neither panic with a message nor format text. */
function checkSamplePath() {
  const path = reachable(built('thumbv6m-none-eabi', 'chirrup-bench'), ['cost::Subject::step', 'cost::Subject::tick']);
  const unwanted = path.filter((name) => /panic|core::fmt|flt2dec|dec2flt|unwrap_failed|expect_failed/.test(name));
  if (unwanted.length) fail(`the sample path can reach ${unwanted.join(', ')}`);
  return path.length;
}

/** The board's numbers are written and read by the core's `decimal`: the standard library's way is 20 KB. */
function checkNoFloatText() {
  const unwanted = symbols(built('thumbv6m-none-eabi', 'pico')).filter(({ name }) => /dec2flt|flt2dec|float_to_decimal/.test(name));
  if (unwanted.length) fail(`the board's program has ${unwanted.map(({ name }) => name).join(', ')}: an f32 is formatted or parsed somewhere; see core/src/decimal.rs`);
}

const shown = ({ value, unit }) => (unit.startsWith('%') ? value.toFixed(2) : String(Math.round(value)));

function table(rows) {
  const lines = ['| what | figure | unit | aim |', '|---|---:|---|---:|'];
  rows.forEach((one) => lines.push(`| ${one.what} | ${shown(one)} | ${one.unit} | ${one.aim ? `below ${one.aim}` : ''} |`));
  return lines.join('\n');
}

function kept() {
  const text = readFileSync(PAGE, 'utf8');
  const [from, to] = [text.indexOf(BEGIN), text.indexOf(END)];
  if (from < 0 || to < from) fail('docs/src/cost.md has no place for the table');
  return { text, from: from + BEGIN.length, to };
}

function check(rows) {
  const { text, from, to } = kept();
  const before = text.slice(from, to).split('\n').filter((line) => line.startsWith('| ')).slice(1)
    .map((line) => line.split('|').map((field) => field.trim()));
  const wrong = [];
  rows.forEach((one, index) => {
    const [, what, figure] = before[index] ?? [];
    if (what !== one.what) wrong.push(`${one.what}: not in the table`);
    else if (one.value > Number(figure) * ALLOWED) wrong.push(`${one.what}: ${shown(one)}, and the table says ${figure}`);
  });
  if (wrong.length) fail(`more than a tenth above the table in docs/src/cost.md:\n  ${wrong.join('\n  ')}\nIf that is intended: firmware/cost.sh --write`);
  console.log('no figure is more than a tenth above the table');
}

function fail(what) {
  console.error(`cost: ${what}`);
  process.exit(1);
}

const mode = process.argv[2] ?? '--print';
if (!['--print', '--check', '--write'].includes(mode)) fail(`'${mode}' is not known; there are --check and --write`);
const rows = [...benchRows(), ...boardRows()];
console.log(table(rows));
if (mode === '--check') check(rows);
if (mode === '--write') {
  const { text, from, to } = kept();
  writeFileSync(PAGE, `${text.slice(0, from)}\n${table(rows)}\n${text.slice(to)}`);
}
checkNoFloatText();
console.log(`the sample path reaches ${checkSamplePath()} functions, none of which panics or formats`);
