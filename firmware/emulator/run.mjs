#!/usr/bin/env node
// Runs the instrument on an emulated board: pressure in, WAV file out, with an optional console.
import { renameSync, writeFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { barometer } from './src/barometers.mjs';
import { Bench, picoImage } from './src/bench.mjs';
import { Lsm6dso } from './src/lsm6dso.mjs';
import { Ms4525 } from './src/ms4525.mjs';
import { INERTIAL, at, readTrace } from './src/trace.mjs';

const USAGE = `usage: node run.mjs --trace FLIGHT.csv [--wav OUT.wav | --log OUT.csv | --console] [options]

  --trace FILE    what the emulated sensors feel: a CSV trace with time_s and static_pa, and where it
                  has them dynamic_pa, te_pa, and accel_x_mps2 to gyro_z_radps
  --wav FILE      what the speaker's pin sounds like
  --from S        begin S seconds into the trace (default 0)
  --seconds S     stop after S seconds (default: the end of the trace)
  --log FILE      log of the instrument, a trace for 'chirrup replay'
  --type LINE     type a line at its console once it has started; may be given several times
  --console       its console on stdin and stdout, as its serial port would carry it, until stdin
                  ends; after the trace the air stands still
  --image FILE    another program than the one firmware/build.sh made (ELF or UF2)

The emulated board is slower than a real one when the air is lively: a minute takes about half a minute.`;

/** The instrument is ready: its start-up sound is over. */
const STARTED_US = 1e6;

function options() {
  const { values } = parseArgs({
    options: {
      trace: { type: 'string' }, wav: { type: 'string' }, log: { type: 'string' }, image: { type: 'string' },
      from: { type: 'string', default: '0' }, seconds: { type: 'string' },
      type: { type: 'string', multiple: true, default: [] }, console: { type: 'boolean' }, help: { type: 'boolean', short: 'h' },
    },
  });
  if (values.help) {
    console.log(USAGE);
    process.exit(0);
  }
  if (!values.trace) throw new Error(`--trace is missing\n${USAGE}`);
  if (!values.wav && !values.log && !values.console) throw new Error(`none of --wav, --log and --console: nothing would be written\n${USAGE}`);
  if (values.console && (values.wav || values.log || values.seconds)) throw new Error('--console goes on until stdin ends, and writes no file: leave out --wav, --log and --seconds');
  const number = (name) => {
    const value = Number(values[name]);
    if (!Number.isFinite(value) || value < 0) throw new Error(`--${name} is '${values[name]}', expected seconds`);
    return value;
  };
  return { ...values, from: number('from'), seconds: values.seconds === undefined ? undefined : number('seconds') };
}

/** A differential sensor and an inertial one, where the trace has what they feel. */
function otherSensors(trace) {
  const sensors = [];
  if (Number.isFinite(trace[0].dynamicPa)) sensors.push(new Ms4525((us) => at(trace, us, 'dynamicPa')));
  if (INERTIAL.every((name) => Number.isFinite(trace[0][name]))) {
    const values = (us) => INERTIAL.map((name) => at(trace, us, name));
    sensors.push(new Lsm6dso((us) => ({ force: values(us).slice(0, 3), turn: values(us).slice(3) })));
  }
  return sensors;
}

/** Carries the console until stdin ends. The board goes on as fast as this computer lets it. */
async function carry({ machine, uart }) {
  let open = true;
  uart.onBytes = (bytes) => process.stdout.write(Buffer.from(bytes));
  process.stdin.on('data', (bytes) => uart.type(bytes));
  process.stdin.on('end', () => { open = false; });
  while (open) {
    machine.run(20_000);
    await new Promise(setImmediate);
  }
}

async function main() {
  const wanted = options();
  const trace = readTrace(wanted.trace).map((point) => ({ ...point, us: point.us - wanted.from * 1e6 }));
  const endUs = wanted.seconds === undefined ? trace.at(-1).us : wanted.seconds * 1e6;
  if (endUs <= 0) throw new Error(`${wanted.trace} ends before ${wanted.from} s`);
  const barometers = [barometer((us) => at(trace, us))];
  if (trace[0].tePa !== undefined) barometers.push(barometer((us) => at(trace, us, 'tePa'), { address: 0x76, seed: 2 }));
  const sensors = otherSensors(trace);
  if (wanted.console) return carry(new Bench(trace, { image: wanted.image ?? picoImage(), barometers, sensors }));
  const { machine, speaker, uart } = new Bench(trace, { image: wanted.image ?? picoImage(), barometers, sensors });
  const typed = [...wanted.type, ...(wanted.log ? ['log on'] : [])];
  if (trace[0].tePa !== undefined) typed.unshift('device.second_barometer = "probe"');
  machine.runUntil(Math.min(STARTED_US, endUs));
  for (const line of typed) {
    uart.type(`${line}\r\n`);
    machine.run(50_000);
  }
  const terminal = process.stderr.isTTY;
  for (let us = machine.us; us < endUs; us = machine.us) {
    machine.runUntil(Math.min(us + 1e6, endUs));
    if (terminal) process.stderr.write(`\r${(machine.us / 1e6).toFixed(0)} of ${(endUs / 1e6).toFixed(0)} s `);
  }
  if (terminal) process.stderr.write('\r\x1b[K');
  const isRow = (text) => /^(\d|time_us)/.test(text);
  uart.lines.filter(({ text }) => !isRow(text)).forEach(({ text }) => console.log(text));
  const write = (path, fill) => {
    fill(`${path}.part`);
    renameSync(`${path}.part`, path);
    console.log(`written  ${path}`);
  };
  if (wanted.wav) write(wanted.wav, (path) => speaker.write(path));
  if (wanted.log) write(wanted.log, (path) => writeFileSync(path, `${uart.lines.map(({ text }) => text).join('\n')}\n`));
}

main().catch((error) => {
  console.error(`run: ${error.message}`);
  process.exit(1);
});
