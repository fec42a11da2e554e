// The sound of the pin against the bench's sound for the instrument's own log: as a DAC it is the
// same in every harmonic.
import assert from 'node:assert/strict';
import { before, test } from 'node:test';
import { Bench } from '../src/bench.mjs';
import { replay } from '../src/chirrup.mjs';
import { cents } from '../src/sound.mjs';
import { decibels, heard, sounding } from '../src/spectrum.mjs';
import { fromHeights } from '../src/trace.mjs';
import { readWav } from '../src/wav.mjs';

/** Still, up at 4 m/s, still, down at 3 m/s, still: seconds and metres. */
const FLIGHT = [[0, 500], [7, 500], [23, 564], [25, 564], [33, 540], [35, 540]];
/** The start-up sound is the instrument's own; a log says nothing of it. */
const STARTED_US = 2e6;
const END_US = 35e6;
/** The samples of the DAC (firmware/src/dac.rs). */
const RATE_HZ = 25_000;
/**
 * From the middle of a conversion, which is a sample's time, to its sound: half of the conversion,
 * the bus, the sample's calculation, up to a tick, and the 4 ms of the DAC.
 */
const MOST_LATE_MS = 14;
const median = (values) => values.toSorted((a, b) => a - b)[values.length >> 1];
const isRow = (line) => /^\d/.test(line);

let pairs;
let late;
before(() => {
  const board = new Bench(fromHeights(FLIGHT));
  board.uart.type('log on\r\n');
  board.machine.runUntil(END_US);
  const rows = board.uart.lines.map(({ text }) => text);
  const { samples, beeps } = played(board.speaker, STARTED_US, END_US);
  const wav = readWav(replay(rows, '--sound-rate', String(RATE_HZ)).wav);
  assert.equal(wav.rateHz, RATE_HZ);
  const start = Number(rows.find(isRow).split(',')[0]);
  const expected = sounding(wav.samples, RATE_HZ).map((beep) => ({ ...beep, us: start }))
    .filter(({ from, us }) => us + from * 40 > STARTED_US).filter(({ to, us }) => us + to * 40 < END_US - 50_000);
  const found = beeps.filter(({ to }) => to * 40 < END_US - STARTED_US - 50_000);
  assert.equal(found.length, expected.length);
  assert.ok(found.length > 20, `${found.length} beeps`);
  pairs = found.map((beep, i) => ({
    beginMs: (STARTED_US + beep.from * 40 - start - expected[i].from * 40) / 1000,
    endMs: (STARTED_US + beep.to * 40 - start - expected[i].to * 40) / 1000,
    played: samples.slice(beep.from, beep.to),
    bench: wav.samples.slice(expected[i].from, expected[i].to),
  }));
  late = median(pairs.flatMap(({ beginMs, endMs }) => [beginMs, endMs]));
});

/** Samples of the speaker, on the DAC's own grid, and its beeps. */
function played(speaker, fromUs, untilUs) {
  const grid = speaker.us.find((us) => us > fromUs) % 40;
  const from = Math.floor(fromUs / 40) * 40 + grid;
  const samples = speaker.samples(RATE_HZ, from, untilUs);
  return { samples, beeps: sounding(samples, RATE_HZ, median([...samples])) };
}

test('every beep begins and ends where the bench has it, within 2 ms of the same delay', (context) => {
  context.diagnostic(`the sound comes ${late.toFixed(1)} ms after the bench's`);
  assert.ok(late > 4 && late < MOST_LATE_MS, `${late} ms late`);
  pairs.forEach(({ beginMs, endMs }, i) => {
    assert.ok(Math.abs(beginMs - late) < 2, `beep ${i} begins ${beginMs - late} ms late`);
    assert.ok(Math.abs(endMs - late) < 2, `beep ${i} ends ${endMs - late} ms late`);
  });
});

/** The middle of a beep, long enough to tell a cent, at most a tenth of a second. */
function middle(samples) {
  const length = Math.min(2500, Math.floor(0.7 * samples.length));
  const from = (samples.length - length) >> 1;
  return samples.slice(from, from + length);
}

/** A beep whose pitch stands still: its halves agree. */
function isSteady(samples) {
  const half = samples.length >> 1;
  const [first, second] = [samples.slice(0, half), samples.slice(half)].map((part) => heard(part, RATE_HZ).pitchHz);
  return Math.abs(cents(first, second)) < 1;
}

const steady = () => pairs.map(({ played: own, bench }) => [own, bench].map(middle)).filter(([, bench]) => isSteady(bench));

test('every steady beep has the pitch of the bench within 1 cent and its harmonics within 3 dB', (context) => {
  const all = steady();
  assert.ok(all.length > 5, `${all.length} beeps stand still`);
  let [worstDb, worstCents, harmonics] = [0, 0, 0];
  for (const [own, bench] of all) {
    const [found, expected] = [own, bench].map((samples) => heard(samples, RATE_HZ));
    worstCents = Math.max(worstCents, Math.abs(cents(found.pitchHz, expected.pitchHz)));
    const loudest = Math.max(...expected.harmonics);
    expected.harmonics.forEach((amplitude, i) => {
      const [own, bench] = [decibels(found.harmonics[i] / loudest), decibels(amplitude / loudest)];
      if (bench < -60) return assert.ok(own < -55, `harmonic ${i + 1}: ${own} dB, where the bench has ${bench}`);
      harmonics++;
      worstDb = Math.max(worstDb, Math.abs(own - bench));
      return assert.ok(Math.abs(own - bench) < 3, `harmonic ${i + 1}: ${own} dB, where the bench has ${bench}`);
    });
  }
  context.diagnostic(`${all.length} beeps, ${harmonics} harmonics: at most ${worstDb.toFixed(2)} dB and ${worstCents.toFixed(3)} cents apart`);
  assert.ok(worstCents < 1, `${worstCents} cents`);
});

test('a sink tone has the harmonics of its timbre', () => {
  const sink = pairs.toSorted((a, b) => b.bench.length - a.bench.length)[0];
  const [own, bench] = [sink.played, sink.bench].map((samples) => heard(middle(samples), RATE_HZ));
  assert.ok(bench.harmonics[1] > 2 * bench.harmonics[0], 'the octave is the strongest of a small loudspeaker\'s sink');
  [0, 1, 2].forEach((i) => assert.ok(Math.abs(decibels(own.harmonics[i] / bench.harmonics[i])) < 3, `harmonic ${i + 1}`));
});

test('every step of the volume is 3 dB', (context) => {
  const board = new Bench(fromHeights([[0, 500], [60, 500]]));
  board.machine.runUntil(STARTED_US);
  const levels = Array.from({ length: 10 }, (_, i) => {
    board.uart.ask(`tone.volume = ${i + 1}`);
    board.uart.ask('tone 2.5', 100_000);
    const from = board.machine.us;
    board.machine.run(900_000);
    const { samples, beeps } = played(board.speaker, from, board.machine.us);
    const whole = beeps.filter((beep) => beep.from > 50 && beep.to < samples.length - 50)[0];
    const part = middle(samples.slice(whole.from, whole.to));
    board.machine.run(2.5e6);
    return decibels(Math.max(...heard(part, RATE_HZ).harmonics));
  });
  const steps = levels.slice(1).map((level, i) => level - levels[i]);
  context.diagnostic(`steps of ${steps.map((step) => step.toFixed(2)).join(', ')} dB`);
  steps.forEach((step) => assert.ok(Math.abs(step - 3) < 0.5, `${steps}`));
});
