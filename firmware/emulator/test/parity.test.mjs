// The same bits on every processor: see firmware/parity.
import assert from 'node:assert/strict';
import { before, test } from 'node:test';
import { hasQemu, here, m0plus, m33, m4f, shown, webAssembly } from '../src/processors.mjs';

const SAMPLES = 100_000;
/** The emulated Cortex-M0+ takes 3 ms a sample. */
const SAMPLES_M0PLUS = 5_000;

let reference;
before(() => { reference = here(SAMPLES); });

function same(name, digests, count) {
  assert.equal(digests.length, count);
  const first = digests.findIndex((digest, sample) => digest !== reference[sample]);
  if (first >= 0) {
    assert.fail(`${name} differs first at sample ${first}; this computer gives:\n${shown(first)}`);
  }
}

test('WebAssembly gives the same result for every sample, to the last bit', () => {
  same('WebAssembly', webAssembly(SAMPLES), SAMPLES);
});

test('a Cortex-M4F gives the same result for every sample, to the last bit', needsQemu(), () => {
  same('the Cortex-M4F', m4f(`parity ${SAMPLES}`).digests, SAMPLES);
});

test('a Cortex-M33, a Pico 2\'s processor, gives the same result, to the last bit', needsQemu(), () => {
  same('the Cortex-M33', m33(`parity ${SAMPLES}`).digests, SAMPLES);
});

test('a Cortex-M0+ gives the same result for every sample, to the last bit', () => {
  same('the Cortex-M0+', m0plus(`parity ${SAMPLES_M0PLUS}`).digests, SAMPLES_M0PLUS);
});

test('one wrong bit in one sample is found, and the sample is named', () => {
  const wrong = reference.slice();
  wrong[777] ^= 1;
  assert.throws(() => same('a broken processor', wrong, SAMPLES), /a broken processor differs first at sample 777/);
});

/**
 * Without QEMU this is skipped on a developer's machine, and a failure where CHIRRUP_REQUIRE_ALL is
 * set.
 */
function needsQemu() {
  const skip = !hasQemu() && !process.env.CHIRRUP_REQUIRE_ALL;
  return { skip: skip && 'qemu-system-arm is not installed' };
}
