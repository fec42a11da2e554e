// The barometers that the instrument may have. A test runs with the one that CHIRRUP_BAROMETER names,
// and every.mjs runs the tests with each: a test that asks for `barometer()` needs to know no kind.
import { Bmp390 } from './bmp390.mjs';
import { Ms5611 } from './ms5611.mjs';

/** By the name that the instrument's console has for it. Add a line for another. */
export const BAROMETERS = { ms5611: Ms5611, bmp390: Bmp390 };
/** The name of the one that the tests run with. */
export const KIND = process.env.CHIRRUP_BAROMETER ?? 'ms5611';

/** A barometer of that kind; `options` as of src/ms5611.mjs. */
export function barometer(pressureAt, options) {
  const Kind = BAROMETERS[KIND];
  if (!Kind) throw new Error(`CHIRRUP_BAROMETER is '${KIND}', expected ${Object.keys(BAROMETERS).join(' or ')}`);
  return new Kind(pressureAt, options);
}
