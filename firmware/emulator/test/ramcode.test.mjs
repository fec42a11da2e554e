// What writes the flash needs nothing of it, on either board: see src/ramcode.mjs.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { built } from '../src/bench.mjs';
import { codeOf, needsOfFlash } from '../src/ramcode.mjs';

const BOARDS = [['thumbv6m-none-eabi', 'pico'], ['thumbv8m.main-none-eabihf', 'pico2']];

for (const [target, board] of BOARDS) {
  test(`${board}: the function that writes the flash is in RAM and goes nowhere else`, () => {
    const written = codeOf(built(target, board), 'ram_helpers::write_flash_inner');
    assert.ok(written.from >= 0x20000000, `it is at 0x${written.from.toString(16)}`);
    assert.ok(written.code.length > 40, `${written.code.length} bytes`);
    assert.deepEqual(needsOfFlash(written), []);
  });
}

test('a call into flash, a branch to it and a constant of it are found', () => {
  const from = 0x20000000;
  const code = (...halves) => {
    const bytes = Buffer.alloc(2 * halves.length);
    halves.forEach((half, i) => bytes.writeUInt16LE(half, 2 * i));
    return { from, code: bytes };
  };
  // As an assembler writes them: bl and b.w 16 MB back, beq.w 1 MB back (T4, T4, T3), ldr r0 of a word.
  assert.match(needsOfFlash(code(0xf400, 0xd000)).join(), /0x20000000 branches to 0x1f000004/);
  assert.match(needsOfFlash(code(0xf400, 0x9000)).join(), /0x20000000 branches to 0x1f000004/);
  assert.match(needsOfFlash(code(0xf400, 0x8000)).join(), /0x20000000 branches to 0x1ff00004/);
  assert.match(needsOfFlash(code(0x4800, 0xbf00, 0x1234, 0x1000)).join(), /loads the address 0x10001234/);
  assert.match(needsOfFlash(code(0xf85f, 0x0ff4)).join(), /loads from 0x1fff/);
  assert.deepEqual(needsOfFlash(code(0xf000, 0xf800, 0x4798, 0x4770)), [], 'a call within RAM and one by a register');
});
