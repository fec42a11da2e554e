// A boot ROM of our own: the RP2040's table look-up, and the functions that firmware asks of it,
// done here.
//
// The maker's ROM is not free to pass on. Firmware finds ROM functions by two letters (RP2040 data
// sheet, "bootrom contents"): at 0x14 stands where the table is, at 0x18 the look-up. Each function
// here is a breakpoint and a return; the emulator stops at the breakpoint and calls JavaScript.
// Floating point is not offered: the firmware must not ask for it.

const TABLE = 0x100;
const LOOK_UP = 0x40;
const FUNCTIONS = 0x60;
const FIRST_BREAKPOINT = 0xe0;

// r0 = table of (code u16, address u16), r1 = code; returns the address, or 0 at the table's end.
const LOOK_UP_CODE = [0x8802, 0x2a00, 0xd005, 0x428a, 0xd001, 0x3004, 0xe7f8, 0x8840, 0x4770, 0x2000, 0x4770];

/**
 * Puts the ROM in place; `chip` is the flash of src/flash.mjs. Returns `(breakpoint) => true` where
 * the breakpoint was one of the ROM's.
 */
export function installRom(rp, chip) {
  const { core } = rp;
  const r = core.registers;
  const half = (at, value) => {
    const shift = (at & 2) * 8;
    rp.bootrom[at >> 2] = (rp.bootrom[at >> 2] & ~(0xffff << shift)) | (value << shift);
  };
  const inFlash = (address) => address & 0xffffff;
  const copy = () => { for (let i = 0; i < r[2]; i++) rp.writeUint8(r[0] + i, rp.readUint8(r[1] + i)); };
  const fill = () => { for (let i = 0; i < r[2]; i++) rp.writeUint8(r[0] + i, r[1] & 0xff); };
  const erase = () => chip.erase(inFlash(r[0]), r[1]);
  const program = () => chip.program(inFlash(r[0]), Uint8Array.from({ length: r[2] }, (_, i) => rp.readUint8(r[1] + i)));
  const exit = () => chip.readable(false);
  const enter = () => chip.readable(true);
  const flush = () => chip.machine.cache?.flush();
  const functions = functionsOf({ r, copy, fill, erase, program, exit, enter, flush });
  LOOK_UP_CODE.forEach((code, i) => half(LOOK_UP + 2 * i, code));
  let at = TABLE;
  functions.forEach(([name], i) => {
    half(FUNCTIONS + 4 * i, 0xbe00 | (FIRST_BREAKPOINT + i)); // BKPT
    half(FUNCTIONS + 4 * i + 2, 0x4770); // BX LR
    half(at, name.charCodeAt(0) | (name.charCodeAt(1) << 8));
    half(at + 2, FUNCTIONS + 4 * i + 1);
    at += 4;
  });
  half(0x14, TABLE);
  half(0x16, at); // an empty table of data
  half(0x18, LOOK_UP + 1);
  return (breakpoint) => {
    const found = functions[breakpoint - FIRST_BREAKPOINT];
    found?.[1]();
    return Boolean(found);
  };
}

function functionsOf({ r, copy, fill, erase, program, exit, enter, flush }) {
  return [
    ['IF', () => {}], // connect_internal_flash
    ['EX', exit], // flash_exit_xip
    ['FC', flush], // flash_flush_cache
    ['CX', enter], // flash_enter_cmd_xip
    ['RE', erase], // flash_range_erase
    ['RP', program], // flash_range_program
    ['MC', copy], ['C4', copy], // memcpy, memcpy44
    ['MS', fill], ['S4', fill], // memset, memset4
    ['P3', () => { let v = r[0], n = 0; while (v) { n += v & 1; v >>>= 1; } r[0] = n; }], // popcount32
    ['L3', () => { r[0] = Math.clz32(r[0]); }], // clz32
    ['T3', () => { const v = r[0]; r[0] = v ? 31 - Math.clz32(v & -v) : 32; }], // ctz32
    ['R3', () => { let v = r[0], n = 0; for (let i = 0; i < 32; i++) { n = (n << 1) | (v & 1); v >>>= 1; } r[0] = n; }], // reverse32
    ['UB', () => { throw new Error('the firmware asked for the USB boot loader'); }], // reset_usb_boot
  ];
}
