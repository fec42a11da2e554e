// Pressure over time: a trace file, or a few points of height, as the emulated barometers feel it.
import { readFileSync } from 'node:fs';

/** The columns of an inertial sensor in a trace: body axes, x forward, y right, z down. */
export const INERTIAL = ['accel_x_mps2', 'accel_y_mps2', 'accel_z_mps2', 'gyro_x_radps', 'gyro_y_radps', 'gyro_z_radps'];

/**
 * Reads a CSV trace with `time_s` or `time_us`, `static_pa`, and where it has them `te_pa`,
 * `dynamic_pa` and the six columns of an inertial sensor; times begin at zero.
 * Gives `[{ us, staticPa, tePa?, dynamicPa?, accel_x_mps2?, .. }]`. The bench (`chirrup replay`) reads more kinds of
 * file; this one needs only these.
 */
export function readTrace(path) {
  const lines = readFileSync(path, 'utf8').split(/\r?\n/);
  const header = lines.findIndex((line) => /(^|[,;\t])"?time_u?s"?([,;\t]|$)/.test(line));
  if (header < 0) throw new Error(`${path}: no header line with time_s or time_us`);
  const names = lines[header].split(/[,;\t]/).map((name) => name.replace(/"/g, '').trim());
  const column = (name) => names.indexOf(name);
  const [timeAt, timeUs] = column('time_us') >= 0 ? [column('time_us'), 1] : [column('time_s'), 1e6];
  const [staticAt, teAt, dynamicAt] = ['static_pa', 'te_pa', 'dynamic_pa'].map(column);
  const inertialAt = INERTIAL.map(column);
  if (staticAt < 0) throw new Error(`${path}: no column static_pa`);
  const points = [];
  for (const line of lines.slice(header + 1)) {
    if (line === '' || line.startsWith('#')) continue;
    const fields = line.split(/[,;\t]/).map(Number);
    const point = { us: fields[timeAt] * timeUs, staticPa: fields[staticAt] };
    if (teAt >= 0) point.tePa = fields[teAt];
    if (dynamicAt >= 0) point.dynamicPa = fields[dynamicAt];
    inertialAt.forEach((place, i) => { if (place >= 0) point[INERTIAL[i]] = fields[place]; });
    if (Number.isFinite(point.us) && Number.isFinite(point.staticPa)) points.push(point);
  }
  if (points.length < 2) throw new Error(`${path}: fewer than two samples`);
  const start = points[0].us;
  return points.map((point) => ({ ...point, us: point.us - start }));
}

/** The pressure of a standard atmosphere below 11 km. Source: ISO 2533. */
export const pressureAt = (heightM) => 101325 * (1 - heightM / 44330.77) ** 5.2558797;

/** A trace from heights: `[[seconds, metres], ...]`, straight between them, a point every 10 ms. */
export function fromHeights(corners) {
  const points = [];
  const end = corners.at(-1)[0];
  for (let s = 0; s <= end; s += 0.01) {
    const next = corners.findIndex(([at]) => at > s);
    const [[s0, h0], [s1, h1]] = next < 0 ? [corners.at(-1), corners.at(-1)] : [corners[next - 1], corners[next]];
    const height = s1 > s0 ? h0 + ((h1 - h0) * (s - s0)) / (s1 - s0) : h0;
    points.push({ us: Math.round(s * 1e6), staticPa: pressureAt(height) });
  }
  return points;
}

/** `field` of the trace at `us`, straight between its points; before and after them it stays. */
export function at(points, us, field = 'staticPa') {
  let [low, high] = [0, points.length - 1];
  if (us <= points[low].us) return points[low][field];
  if (us >= points[high].us) return points[high][field];
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (points[middle].us <= us) low = middle;
    else high = middle;
  }
  const share = (us - points[low].us) / (points[high].us - points[low].us);
  return points[low][field] + share * (points[high][field] - points[low][field]);
}
