// How much of a board an ELF file takes.
import { readFileSync } from 'node:fs';
import { segments } from './image.mjs';
import { functions, readable } from './symbols.mjs';

const inRam = (address) => address >= 0x20000000 && address < 0x20082000;

/** Bytes of flash: everything that is stored. */
export function flashBytes(path) {
  return segments(path).filter(({ address }) => !inRam(address)).reduce((sum, { bytes }) => sum + bytes.length, 0);
}

/** Where static memory ends: `{ bytes, end }`. The stack has the rest. */
export function staticRam(path) {
  // Sections, since memory that is only set aside has no segment to load. Source: System V ABI,
  // "section header".
  const file = readFileSync(path);
  const [table, size, count] = [file.readUInt32LE(32), file.readUInt16LE(46), file.readUInt16LE(48)];
  let [bytes, end] = [0, 0x20000000];
  for (let i = 0; i < count; i++) {
    const [flags, address, , length] = [8, 12, 16, 20].map((field) => file.readUInt32LE(table + i * size + field));
    if (!(flags & 2) || !inRam(address)) continue; // SHF_ALLOC
    bytes += length;
    end = Math.max(end, address + length);
  }
  return { bytes, end };
}

/**
 * Names of all functions that can be reached from `roots` (parts of names) by direct calls and
 * jumps on a Cortex-M0+ (Thumb
 * BL and B.W have the one 32-bit form). Calls through pointers are not seen.
 */
export function reachable(path, roots) {
  const all = functions(path);
  const image = segments(path);
  const half = (address) => {
    const part = image.find(({ address: from, bytes }) => address >= from && address + 1 < from + bytes.length);
    return part ? part.bytes.readUInt16LE(address - part.address) : 0;
  };
  const owner = (address) => all.find(({ from, to }) => address >= from && address < to);
  const waiting = all.filter(({ name }) => roots.some((root) => readable(name).endsWith(root)));
  if (waiting.length < roots.length) throw new Error(`${path}: not all of ${roots.join(', ')} are in it`);
  const found = new Set(waiting);
  while (waiting.length) {
    const { from, to } = waiting.pop();
    for (let at = from; at + 3 < to; at += 2) {
      const [first, second] = [half(at), half(at + 2)];
      if (first >> 11 !== 0b11110 || (second & 0xd000) !== 0xd000) continue;
      const sign = (first >> 10) & 1;
      const [i1, i2] = [13, 11].map((bit) => 1 ^ ((second >> bit) & 1) ^ sign);
      const offset = ((sign ? -1 : 0) << 24) | (i1 << 23) | (i2 << 22) | ((first & 0x3ff) << 12) | ((second & 0x7ff) << 1);
      const next = owner(at + 4 + offset);
      if (next && !found.has(next)) {
        found.add(next);
        waiting.push(next);
      }
    }
  }
  return [...found].map(({ name }) => readable(name));
}
