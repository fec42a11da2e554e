// Code that runs while the flash cannot be read: where it goes, and what it loads.
//
// While flash is erased or programmed nothing in it can be fetched: an instruction or a constant
// there stops the processor for good. embassy-rp's issue 4506 reports such a stop of release builds
// on an RP2350, and suspects a pointer into flash. No emulator of that chip is to be had, so the
// built program is read instead.
import { readFileSync } from 'node:fs';
import { functions, readable } from './symbols.mjs';

const RAM = [0x20000000, 0x20082000];
const isRam = (address) => address >= RAM[0] && address < RAM[1];

/** The function of a program whose name ends like this: `{ from, code }`. */
export function codeOf(elf, name) {
  const found = functions(elf).filter((one) => readable(one.name).endsWith(name));
  if (found.length !== 1) throw new Error(`${elf}: ${found.length} functions are named ${name}`);
  const [{ from, to }] = found;
  return { from, code: atAddress(readFileSync(elf), from, to - from) };
}

// ELF32: the program header of which the virtual address holds it (System V ABI).
function atAddress(file, address, length) {
  const [table, size, count] = [file.readUInt32LE(28), file.readUInt16LE(42), file.readUInt16LE(44)];
  for (let i = 0; i < count; i++) {
    const [offset, virtual, inFile] = [4, 8, 16].map((field) => file.readUInt32LE(table + i * size + field));
    if (address >= virtual && address + length <= virtual + inFile) {
      return file.subarray(offset + address - virtual, offset + address - virtual + length);
    }
  }
  throw new Error(`nothing is loaded at 0x${address.toString(16)}`);
}

/**
 * What code at `from` would need of flash: direct branches out of RAM, constants out of RAM, and
 * constants that are addresses of flash. Calls through registers are the ROM's.
 *
 * Source of the encodings: Armv8-M Architecture Reference Manual, "T32 instruction set encoding":
 * BL and B.W (T1, T4), conditional B.W (T3), LDR literal (T1, T2).
 */
export function needsOfFlash({ from, code }) {
  const found = [];
  const branch = (at, to) => { if (!isRam(to)) found.push(`${hex(at)} branches to ${hex(to)}`); };
  const load = (at, to) => {
    if (!isRam(to)) found.push(`${hex(at)} loads from ${hex(to)}`);
    else if (to - from + 4 <= code.length && isFlash(code.readUInt32LE(to - from))) {
      found.push(`${hex(at)} loads the address ${hex(code.readUInt32LE(to - from))}`);
    }
  };
  for (let at = 0; at + 2 <= code.length;) {
    const [address, first] = [from + at, code.readUInt16LE(at)];
    const isLong = first >> 11 >= 0b11101;
    if (!isLong) {
      if (first >> 11 === 0b01001) load(address, ((address + 4) & ~3) + 4 * (first & 0xff));
      at += 2;
      continue;
    }
    const second = code.readUInt16LE(at + 2);
    if (first >> 11 === 0b11110 && second >> 15 === 1) {
      const target = longBranch(address, first, second);
      if (target !== null) branch(address, target);
    }
    if ((first & 0xff7f) === 0xf85f) {
      const offset = second & 0xfff;
      load(address, ((address + 4) & ~3) + (first & 0x80 ? offset : -offset));
    }
    at += 4;
  }
  return found;
}

const isFlash = (value) => value >= 0x10000000 && value < 0x14000000;
const hex = (value) => `0x${(value >>> 0).toString(16)}`;

function longBranch(address, first, second) {
  const [s, j1, j2] = [(first >> 10) & 1, (second >> 13) & 1, (second >> 11) & 1];
  const signed = (value, bits) => (value << (32 - bits)) >> (32 - bits);
  if (second & 0x5000) { // B.W T4 and BL: 25 bits
    const [i1, i2] = [1 ^ j1 ^ s, 1 ^ j2 ^ s];
    const offset = (s << 24) | (i1 << 23) | (i2 << 22) | ((first & 0x3ff) << 12) | ((second & 0x7ff) << 1);
    return address + 4 + signed(offset, 25);
  }
  if (((first >> 6) & 0xf) >= 0xe) return null; // a barrier or a system instruction
  const offset = (s << 20) | (j2 << 19) | (j1 << 18) | ((first & 0x3f) << 12) | ((second & 0x7ff) << 1);
  return address + 4 + signed(offset, 21);
}
