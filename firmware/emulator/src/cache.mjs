// The RP2040's cache before the flash, where execution in place waits for the serial chip.
//
// 16 KiB, two ways, lines of 8 bytes: RP2040 data sheet, "XIP cache" and "Cache flushing and
// maintenance" (16 kB / 8 bytes / 2 ways). A hit costs nothing more; a miss costs one serial read of
// 32 bits, as the second-stage loaders set it up ("single 32b read" in their source), so the two
// words of a line come one by one. Which of the ways goes is not in the data sheet: the one used
// longer ago. What a read costs is read from the serial interface's registers, as the loader left
// them: command, address and data, in clocks of the flash, one or four bits a clock.

const SETS = 1024;
const LINE_BITS = 3;
const SSI = 0x18000;
/** The bus, and the chip select's pause between two reads, in clocks of the processor (a guess). */
const AROUND = 12;

export class FlashCache {
  constructor() {
    this.tags = new Int32Array(2 * SETS);
    this.valid = new Uint8Array(2 * SETS); // a bit for each of the line's words
    this.older = new Uint8Array(SETS);
    this.flush();
    [this.hits, this.misses, this.stalled] = [0, 0, 0];
  }

  flush() { this.valid.fill(0); }

  /** Cycles that reads stalled since the last call. */
  takeStall() {
    const { stalled } = this;
    this.stalled = 0;
    return stalled;
  }

  /** A reader of memory that looks here first. */
  around(plain, rp) {
    const cost = missCycles(rp.peripherals[SSI]);
    return (address) => {
      if (address >>> 24 === 0x10) this.touch(address & 0xffffff, cost);
      return plain.call(rp, address);
    };
  }

  touch(address, cost) {
    const line = address >> LINE_BITS;
    const set = line & (SETS - 1);
    const word = 1 << ((address >> 2) & 1);
    const first = 2 * set;
    let way = this.tags[first] === line ? first : first + 1;
    if (this.tags[way] === line && this.valid[way] & word) {
      this.hits++;
    } else {
      this.misses++;
      this.stalled += cost;
      if (this.tags[way] !== line || this.valid[way] === 0) {
        way = first + this.older[set];
        this.tags[way] = line;
        this.valid[way] = 0;
      }
      this.valid[way] |= word;
    }
    this.older[set] = way === first ? 1 : 0;
  }
}

/**
 * Cycles of the processor that a read of 32 bits takes. Fields: RP2040 data sheet, "SSI: list of
 * registers", CTRLR0 (SPI_FRF) and SPI_CTRLR0.
 */
export function missCycles({ crtlr0, spictlr0, baudr }) {
  const lanes = [1, 2, 4][(crtlr0 >> 21) & 3] ?? 1;
  const kind = spictlr0 & 3; // 0: command and address by one wire, 1: command only, 2: neither
  const address = 4 * ((spictlr0 >> 2) & 15);
  const command = [0, 4, 8, 16][(spictlr0 >> 8) & 3];
  const waits = lanes === 1 ? 0 : (spictlr0 >> 11) & 31;
  const clocks = command / (kind === 2 ? lanes : 1) + address / (kind === 0 ? 1 : lanes) + waits + 32 / lanes;
  return clocks * (baudr || 4) + AROUND;
}
