// The flash chip beside the RP2040: what erasing and programming take, and that nothing can be read
// meanwhile.
//
// The processor waits in the boot ROM while the chip works; clock, timers, PWM and devices go on,
// and what interrupts meanwhile waits. From the ROM's flash_exit_xip until the second-stage loader
// has set up the serial interface again, a read of flash would be a crash on the chip: here it ends
// the run.

const SECTOR = 4096;
const PAGE = 256;
/** Size and time a block erase (D8h) works on. */
const BLOCK = 65536;
const SSI = 0x18000;
const SSIENR = 0x08;

/**
 * W25Q16JV data sheet, "AC electrical characteristics": sector erase tSE, block erase tBE2, page
 * program tPP; from memory. `typical` and `worst` are its two columns; `slow` is the worst erasing
 * with a page of a worn chip.
 */
export const TIMES = {
  typical: { sectorUs: 45_000, blockUs: 150_000, pageUs: 400 },
  slow: { sectorUs: 400_000, blockUs: 2_000_000, pageUs: 700 },
  worst: { sectorUs: 400_000, blockUs: 2_000_000, pageUs: 3_000 },
};
/** A page goes to the chip bit by bit at an eighth of the system clock (a guess). */
const TRANSFER_US = 130;

/** What was asked of the chip: `[{ what, at, us, tookUs }]`, kept over resets. */
export class FlashChip {
  constructor(times) {
    if (!TIMES[times]) throw new Error(`no flash is '${times}'; there are ${Object.keys(TIMES).join(', ')}`);
    Object.assign(this, { times: TIMES[times], work: [] });
  }

  /** Erasures so far, and the longest time that the processor waited for one order, in us. */
  get erases() { return this.work.filter(({ what }) => what === 'erase').length; }

  get longestUs() { return Math.max(0, ...this.work.map(({ tookUs }) => tookUs)); }

  attach(machine) {
    Object.assign(this, { machine, rp: machine.rp });
    this.readable(true);
    const ssi = this.rp.peripherals[SSI];
    const write = ssi.writeUint32.bind(ssi);
    ssi.writeUint32 = (offset, value) => {
      write(offset, value);
      if (offset === SSIENR && value & 1) this.readable(true);
    };
  }

  /** Whether reads of flash reach it; through the cache, where the machine has one. */
  readable(yes) {
    const { rp, machine } = this;
    for (const name of ['readUint8', 'readUint16', 'readUint32']) {
      const plain = Object.getPrototypeOf(rp)[name];
      rp[name] = yes ? machine.cache?.around(plain, rp) ?? plain : refused(plain, rp);
    }
  }

  erase(at, count) {
    for (let place = at; place < at + count;) {
      const block = place % BLOCK === 0 && place + BLOCK <= at + count;
      const size = block ? BLOCK : SECTOR;
      this.machine.onFlash?.('erase', place, size);
      this.rp.flash.fill(0xff, place, place + size);
      this.busy('erase', place, block ? this.times.blockUs : this.times.sectorUs);
      place += size;
    }
  }

  // NOR flash: programming only clears bits.
  program(at, bytes) {
    for (let page = 0; page < bytes.length; page += PAGE) {
      bytes.slice(page, page + PAGE).forEach((byte, i) => {
        this.machine.onFlash?.('program', at + page + i, 1);
        this.rp.flash[at + page + i] &= byte;
      });
      this.busy('program', at + page, TRANSFER_US + this.times.pageUs);
    }
  }

  busy(what, at, tookUs) {
    this.work.push({ what, at, us: this.machine.us, tookUs });
    this.rp.clock.tick(tookUs * 1000);
  }
}

const refused = (plain, rp) => (address) => {
  if (address >>> 26 === 0x10000000 >>> 26) throw new Error(`0x${(address >>> 0).toString(16)} was read while the flash cannot be`);
  return plain.call(rp, address);
};
