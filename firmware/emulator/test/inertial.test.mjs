// The instrument with an inertial sensor, and with a satellite receiver: found, read, logged, and the
// log replays; the pressures are those of an instrument without.
import assert from 'node:assert/strict';
import { before, test } from 'node:test';
import { Bench } from '../src/bench.mjs';
import { replay } from '../src/chirrup.mjs';
import { Lsm6dso } from '../src/lsm6dso.mjs';
import { Ms4525 } from '../src/ms4525.mjs';
import { Satellites } from '../src/satellites.mjs';
import { fromHeights } from '../src/trace.mjs';

const FLIGHT = fromHeights([[0, 500], [4, 500], [12, 516], [14, 516]]);
const END_US = 14e6;
/** A slow roll to and fro, and a push forward, as a glider has them; z of the sensor is up. */
const felt = (us) => {
  const s = us / 1e6;
  return { force: [0.5 * Math.sin(2 * s), 0, 9.80665], turn: [0.3 * Math.cos(3 * s), 0, 0.1] };
};
const velocity = (us) => [25_000 + us / 1e4, -3_000, 400];

const rows = (bench) => bench.uart.lines.map(({ text }) => text).filter((line) => /^(\d|time_us)/.test(line));

/** A flight that is logged from the start. */
function flown(sensors, parts = []) {
  const bench = new Bench(FLIGHT, { sensors, parts });
  bench.machine.run(1e6);
  bench.uart.ask('device.log_hz = 50');
  bench.uart.ask('save', 1e6);
  bench.machine.powerOn();
  bench.uart.lines.length = 0;
  bench.machine.runUntil(END_US);
  return bench;
}

/** Rows as objects, each by the header above it. */
function readings(lines) {
  let names;
  const found = [];
  for (const line of lines) {
    const fields = line.split(',');
    if (fields[0] === 'time_us') names = fields;
    else found.push(Object.fromEntries(fields.map((field, i) => [names[i], field])));
  }
  return found;
}

let with_;
let without;
let sky;
before(() => {
  // Without noise: which of its values is read depends on microseconds.
  const pitot = () => new Ms4525(() => 400, { noise: 0 });
  without = flown([pitot()]);
  sky = new Satellites(velocity);
  with_ = flown([pitot(), new Lsm6dso(felt)], [sky]);
});

test('it is found, tests itself, and its means are what was felt', () => {
  assert.match(with_.uart.textSince(0), /inertial: found lsm6dso at 0x6a/);
  const inertial = readings(rows(with_)).filter((row) => row.accel_x_mps2);
  assert.ok(inertial.length > 620, `${inertial.length} rows with an inertial part`);
  for (const row of inertial) {
    // Read 10 ms into the frame, 6 ms after the time of the pressure: the middle of what came.
    const { force, turn } = felt(Number(row.time_us) - 4_400);
    const wanted = [...force, ...turn];
    const found = ['accel_x_mps2', 'accel_y_mps2', 'accel_z_mps2', 'gyro_x_radps', 'gyro_y_radps', 'gyro_z_radps'];
    found.forEach((name, i) => assert.ok(Math.abs(row[name] - wanted[i]) < 0.03, `${name} is ${row[name]}, felt was ${wanted[i]}`));
    assert.ok(row.accel_deviation_mps2 > 0 && row.accel_deviation_mps2 < 0.05, row.accel_deviation_mps2);
  }
});

test('pressures and their times are those of an instrument without it', () => {
  // A longer row takes longer to send: at the end the last may not have come.
  const begun = (row) => row.time_us < END_US - 50_000;
  const [one, other] = [readings(rows(without)).filter(begun), readings(rows(with_)).filter(begun)];
  assert.ok(one.length > 680 && other.length === one.length, `${one.length} and ${other.length} rows`);
  // The processor's other work, a byte of the receiver or a row of the log, moves a conversion by
  // some microseconds: 0.003 Pa in this climb, which a few times is a step of the converter more. A
  // sample with a velocity of the receiver is worked out until after the next conversion of a BMP390
  // is due: 0.15 ms. The first conversion of an MS5611 comes 0.22 ms apart, while sensors are found.
  const later = one.map((row, i) => Math.abs(row.time_us - other[i].time_us));
  assert.ok(Math.max(...later) < 300, `${Math.max(...later)} us`);
  const apart = one.map((row, i) => row.static_pa - other[i].static_pa);
  const { stepPa } = without.barometer;
  apart.forEach((pa, i) => assert.ok(Math.abs(pa) < stepPa, `${pa} Pa at ${one[i].time_us} us`));
  const mean = apart.reduce((sum, pa) => sum + pa, 0) / apart.length;
  assert.ok(Math.abs(mean) < 0.02, `${mean} Pa in the mean`);
  one.forEach((row, i) => assert.equal(row.dynamic_pa, other[i].dynamic_pa));
});

test('the receiver is found at its own bit rate, told, and its velocities are logged once', () => {
  const text = with_.uart.textSince(0);
  assert.match(text, /satellites: the receiver is heard/);
  assert.match(text, /satellites: it was 2026-07-14 11:22:33 UTC a moment ago/);
  const velocities = readings(rows(with_)).filter((row) => row.gnss_vn_mps);
  assert.ok(velocities.length >= 10, `${velocities.length} velocities`);
  for (const row of velocities) {
    assert.deepEqual([row.gnss_ve_mps, row.gnss_vd_mps], ['-3.000', '0.400']);
    // True so long before the row: its age, and what the receiver took.
    const sinceUs = (Number(row.gnss_vn_mps) * 1000 - 25_000) * 1e4;
    const lateUs = Number(row.time_us) - sinceUs - Number(row.gnss_age_s) * 1e6;
    assert.ok(Math.abs(lateUs - sky.lateUs) < 25_000, `${lateUs} us late`);
  }
});

test('the log replays to the readings that the instrument had', () => {
  const lines = rows(with_);
  const logged = readings(lines);
  const bench = replay(lines);
  assert.equal(bench.readings.length, logged.length);
  bench.readings.forEach((reading, i) => {
    const mmps = 1000 * Number(reading.te_vertical_speed_mps || reading.vertical_speed_mps);
    if (logged[i].vertical_speed_mmps === '') return;
    assert.ok(Math.abs(mmps - logged[i].vertical_speed_mmps) <= 1, `at ${reading.time_s} s: ${mmps} and ${logged[i].vertical_speed_mmps} mm/s`);
  });
  assert.ok(logged.every((row) => row.dropped === '0'), 'no row was dropped');
});

test('the self-test names it with its figures', () => {
  const said = with_.uart.ask('selftest', 500_000);
  assert.match(said, /inertial: lsm6dso at 0x6a, 20[78]\.\d readings\/s, force 9\.8\d m\/s2.*own test passed/);
  assert.match(said, /satellites: \d+ velocities so far/);
});

test('lost in flight: said, and the variometer goes on; back: said again', () => {
  const sensor = new Lsm6dso(felt);
  const bench = flown([sensor]);
  sensor.absent = true;
  bench.machine.run(1e6);
  assert.match(bench.uart.textSince(0), /inertial: lsm6dso at 0x6a lost: no answer/);
  const before = readings(rows(bench)).length;
  bench.machine.run(1e6);
  assert.ok(readings(rows(bench)).length - before >= 49, 'samples go on');
  sensor.reset();
  sensor.absent = false;
  bench.machine.run(2e6);
  assert.match(bench.uart.textSince(0), /inertial: lsm6dso at 0x6a is back/);
});
