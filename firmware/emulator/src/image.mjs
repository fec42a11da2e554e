// Firmware images into an emulated RP2040's memory: ELF as the linker writes it, UF2 as copied onto
// a board.
import { readFileSync } from 'node:fs';

const FLASH = 0x10000000;
const SRAM = 0x20000000;

/**
 * The loadable parts of an ELF or UF2 file: `[{ address, bytes, zeros }]`, `zeros` being the memory
 * it asks to be cleared behind.
 */
export function segments(path) {
  const file = readFileSync(path);
  return file.readUInt32LE(0) === 0x464c457f ? elfSegments(file, path) : uf2Segments(file, path);
}

function elfSegments(file, path) {
  // ELF32, little-endian. Source: System V ABI, "ELF header" and "program header".
  const [table, size, count] = [file.readUInt32LE(28), file.readUInt16LE(42), file.readUInt16LE(44)];
  const found = [];
  for (let i = 0; i < count; i++) {
    const at = table + i * size;
    if (file.readUInt32LE(at) !== 1) continue; // PT_LOAD
    const [offset, , address, inFile, inMemory] = [4, 8, 12, 16, 20].map((field) => file.readUInt32LE(at + field));
    found.push({ address, bytes: file.subarray(offset, offset + inFile), zeros: inMemory - inFile });
  }
  if (found.length === 0) throw new Error(`${path}: an ELF file with nothing to load`);
  return found;
}

function uf2Segments(file, path) {
  const found = [];
  for (let at = 0; at + 512 <= file.length; at += 512) {
    const magics = [file.readUInt32LE(at), file.readUInt32LE(at + 4), file.readUInt32LE(at + 508)];
    if (magics[0] !== 0x0a324655 || magics[1] !== 0x9e5d5157 || magics[2] !== 0x0ab16f30) {
      throw new Error(`${path}: block ${at / 512} is not a UF2 block`);
    }
    const [address, length] = [file.readUInt32LE(at + 12), file.readUInt32LE(at + 16)];
    found.push({ address, bytes: file.subarray(at + 32, at + 32 + length), zeros: 0 });
  }
  return found;
}

/** Writes an image into flash, and what is linked to RAM into RAM. */
export function load(rp, path) {
  for (const { address, bytes } of segments(path)) {
    if (bytes.length === 0) continue;
    if (address >= FLASH && address + bytes.length <= FLASH + rp.flash.length) rp.flash.set(bytes, address - FLASH);
    else if (address >= SRAM && address + bytes.length <= SRAM + rp.sram.length) rp.sram.set(bytes, address - SRAM);
    else throw new Error(`${path}: a segment at 0x${address.toString(16)} is neither in flash nor in RAM`);
  }
}
