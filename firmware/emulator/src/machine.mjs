// An RP2040 board in emulated time: deterministic and independent of real time.
//
// What is outside the chip (sensors, wires, a person's finger) is a part: an object with
// `attach(machine)`, called again at each start, so that a power cut or a watchdog leaves the
// outside as it was.
import { RP2040, LogLevel } from 'rp2040js';
import { FlashCache } from './cache.mjs';
import { FlashChip } from './flash.mjs';
import { load } from './image.mjs';
import { mend } from './mends.mjs';
import { installRom } from './rom.mjs';

const VECTORS = 0x10000100; // behind the second-stage loader

/** Thrown out of a run by `Machine.cutPowerDuring`. */
class PowerCut extends Error {}

export class Machine {
  /**
   * @param image path of an ELF or UF2 file
   * @param options parts: what is around the chip; startUs: what the chip's clock says at power-on,
   *   to be near its wrap;
   *   boot: 'direct', or 'loader' to go through the second-stage loader as the real ROM does, its
   *   checksum included; flash: how long the flash takes, a name of TIMES in src/flash.mjs;
   *   cache: whether execution waits for flash that is not in the cache, which makes the emulator
   *   slower and needs the loader
   */
  constructor(image, { parts = [], startUs = 0, boot = 'direct', flash = 'typical', cache = false } = {}) {
    Object.assign(this, { image, parts, startUs, boot: cache ? 'loader' : boot });
    this.flash = new FlashChip(flash);
    this.cache = cache ? new FlashCache() : null;
    this.instructions = 0;
    this.cycles = 0;
    this.idleNs = 0;
    this.resets = [];
    this.onBreakpoint = () => false;
    this.powerOn();
  }

  /** Microseconds since power-on of the chip's clock, less where it began. */
  get us() { return this.rp.clock.nanos / 1000 - this.startUs; }

  /** Power comes: flash is as it was, all else forgotten, the chip's clock back at its start. */
  powerOn() {
    const flash = this.rp?.flash;
    this.rp = new RP2040();
    this.rp.clock.nanosCounter = this.startUs * 1000;
    if (flash) this.rp.flash.set(flash);
    else load(this.rp, this.image);
    this.start();
  }

  /** The watchdog's reset, or the program's own: RAM, scratch registers and the cause are kept. */
  reset() {
    const { flash, sram, clock } = this.rp;
    const before = this.watchdog;
    this.rp = new RP2040();
    this.rp.clock.nanosCounter = clock.nanos;
    this.rp.flash.set(flash);
    this.rp.sram.set(sram);
    this.watchdog.scratchData.set(before.scratchData);
    this.watchdog.reason = before.reason;
    this.resets.push({ us: this.us, reason: before.reason === 1 ? 'watchdog' : 'software' });
    this.start();
  }

  get watchdog() { return this.rp.peripherals[0x40058]; }

  start() {
    const { rp } = this;
    rp.logger = strict(rp);
    mend(rp, () => this.cache?.flush());
    this.cache?.flush();
    this.flash.attach(this);
    const rom = installRom(rp, this.flash);
    rp.onBreak = (code) => {
      if (rom(code) || this.onBreakpoint(code, rp)) return;
      throw new Error(`a breakpoint or an undefined instruction (${code}) at ${hex(rp.core.PC)}, ${this.us} us`);
    };
    // The emulator's watchdog fires again and again unless it is stopped here.
    this.watchdog.onWatchdogTrigger = () => {
      this.watchdog.timer.enable = false;
      this.resetWanted = true;
    };
    this.resetWanted = false;
    if (this.boot === 'direct') bootDirect(rp);
    else bootThroughLoader(rp);
    this.parts.forEach((part) => part.attach(this));
  }

  /** Runs until `us` after power-on. */
  runUntil(us) {
    const end = (us + this.startUs) * 1000;
    while (this.rp.clock.nanos < end) {
      this.runStretch(end);
      if (this.resetWanted) this.reset();
      if (this.stopWanted) return;
    }
  }

  /** Runs for `us` more. */
  run(us) { this.runUntil(this.us + us); }

  runStretch(end) {
    const { rp } = this;
    const { core, clock } = rp;
    let clk = rp.clkSys;
    let cycleNs = 1e9 / clk;
    while (clock.nanos < end && !this.resetWanted && !this.stopWanted) {
      if (core.waiting) {
        // WFI with an interrupt pending already never woke.
        if (core.pendingInterrupts & core.enabledInterrupts) { core.waiting = false; core.interruptsUpdated = true; continue; }
        const idle = clock.nextAlarm ? Math.min(clock.nanosToNextAlarm, end - clock.nanos) : end - clock.nanos;
        this.idleNs += idle;
        clock.tick(idle);
        continue;
      }
      if (rp.clkSys !== clk) { clk = rp.clkSys; cycleNs = 1e9 / clk; } // the program set up its clocks
      let took = core.executeInstruction();
      if (this.cache) took += this.cache.takeStall();
      this.instructions++;
      this.cycles += took;
      // The clock's own tick() looks for an alarm each time; most instructions meet none.
      const next = clock.nanosCounter + took * cycleNs;
      if (clock.nextAlarm && clock.nextAlarm.nanos <= next) clock.tick(took * cycleNs);
      else clock.nanosCounter = next;
    }
  }

  /**
   * Runs until the program has written `bytes` of flash, and cuts the power there, in the middle;
   * false where it wrote no more. An erase counts as one byte, and is not done by half.
   */
  cutPowerDuring(bytes, withinUs) {
    let left = bytes;
    this.onFlash = (what, at, count) => {
      left -= what === 'erase' ? 1 : count;
      if (left < 0) throw new PowerCut();
    };
    try {
      this.run(withinUs);
    } catch (cut) {
      if (!(cut instanceof PowerCut)) throw cut;
      this.onFlash = null;
      this.powerOn();
      return true;
    }
    this.onFlash = null;
    return false;
  }
}

/** Share of the time that the processor did not sleep, while `run` ran. */
export function busyShare(machine, run) {
  const [us, idle] = [machine.us, machine.idleNs];
  run();
  return 1 - (machine.idleNs - idle) / 1000 / (machine.us - us);
}

function bootDirect(rp) {
  rp.core.VTOR = VECTORS;
  rp.core.SP = rp.readUint32(VECTORS);
  rp.core.PC = rp.readUint32(VECTORS + 4) & ~1;
}

// What the mask ROM does (RP2040 data sheet, "flash boot sequence"): the first 256 bytes end with
// their CRC-32, are copied to the top of the RAM and run there.
function bootThroughLoader(rp) {
  let crc = 0xffffffff;
  for (let i = 0; i < 252; i++) {
    crc ^= rp.flash[i] << 24;
    for (let bit = 0; bit < 8; bit++) crc = crc & 0x80000000 ? (crc << 1) ^ 0x04c11db7 : crc << 1;
  }
  const wanted = rp.readUint32(0x100000fc);
  if (crc >>> 0 !== wanted) throw new Error(`the loader's checksum is ${hex(crc)}, it should be ${hex(wanted)}`);
  rp.sram.set(rp.flash.subarray(0, 256), 0x41f00);
  rp.core.SP = rp.core.PC = 0x20041f00;
  rp.core.LR = 0;
}

// The emulator only warns of what would be a fault on the chip. It also reports SEV without
// executing it, so the event is registered here.
function strict({ core }) {
  const fail = (part, text) => { throw new Error(`${part}: ${text}`); };
  const warn = (part, text) => { if (/invalid memory|undefined address|aligned/i.test(text)) fail(part, text); };
  const info = (part, text) => { if (text === 'SEV') core.eventRegistered = true; };
  return { debug: () => {}, info, warn, error: fail, level: LogLevel.Info };
}

const hex = (value) => `0x${(value >>> 0).toString(16)}`;
