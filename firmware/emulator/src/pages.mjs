// Pages of the recorder, to fill a flash with flights that were never flown; as
// firmware/src/recorder/page.rs describes them.

const SIZE = 256;
/** The number of the format, with which the CRC begins. */
const FORMAT = 2;
const FIRST = 1;
/** Where the recorder's part of the flash is: firmware/boards/pico/src/flash.rs. */
export const FLIGHTS = { from: 384 * 1024, to: 2032 * 1024 };
export const PLACES = (FLIGHTS.to - FLIGHTS.from) / SIZE;

/** CRC-32 as Ethernet has it, each bit shifted out at the lower end, from another beginning. */
function crc32(bytes) {
  let crc = bitsReversed(FORMAT);
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit++) crc = crc & 1 ? (crc >>> 1) ^ 0xedb88320 : crc >>> 1;
  }
  return ~crc >>> 0;
}

function bitsReversed(value) {
  let reversed = 0;
  for (let bit = 0; bit < 32; bit++) reversed |= ((value >>> bit) & 1) << (31 - bit);
  return reversed;
}

/** A page with one row, all of whose numbers are 0. */
export function page(sequence, flight, flags = 0) {
  const bytes = Buffer.alloc(SIZE);
  bytes[4] = flags;
  bytes[5] = 1;
  bytes.writeUInt32LE(sequence, 6);
  bytes.writeUInt16LE(flight, 10);
  bytes.writeUInt32LE(crc32(bytes.subarray(4)), 0);
  return bytes;
}

/** Fills the recorder's flash with flights of so many pages each. */
export function fill(flash, pages) {
  for (let sequence = 0; sequence < PLACES; sequence++) {
    const flight = Math.floor(sequence / pages) + 1;
    flash.set(page(sequence, flight, sequence % pages === 0 ? FIRST : 0), FLIGHTS.from + sequence * SIZE);
  }
}
