// Fixes for differences between rp2040js 1.4.1 and the chip, applied to each machine without a
// fork. Each fix names the fault; when a new version no longer has it, the fix can be removed.
import { BasePeripheral } from 'rp2040js';
import { abortAtOnce, carrierAsShare, readableEnable, requestByPulse } from './carrier.mjs';

const UART_CHARACTER_BITS = 10; // start, eight, stop
const UART_FIFO = 32;

/** Applies all of them; `flush` empties the cache before the flash. */
export function mend(rp, flush) {
  wakeWithoutTheException(rp);
  carryIntoTheSign(rp);
  answerForTheFlashCache(rp, flush);
  rp.i2c.forEach((bus) => interruptsByLevel(bus));
  rp.i2c.forEach((bus) => resetWhenDisabled(bus));
  rp.uart.forEach((uart) => paceTransmission(rp, uart));
  requestByPulse(rp);
  abortAtOnce(rp);
  readableEnable(rp);
  carrierAsShare(rp);
}

// WFI that wakes with PRIMASK set must only wake; the exception was taken too.
function wakeWithoutTheException({ core }) {
  const check = core.checkForInterrupts.bind(core);
  core.checkForInterrupts = () => (core.waiting && core.PM
    ? Boolean(core.pendingInterrupts & core.enabledInterrupts) || core.pendingSystick || core.pendingPendSV
    : check());
}

// SBCS and ADCS added the carry to the second operand before looking at its sign: with 0x7fffffff
// and a carry the overflow flag was wrong, and a comparison of 64 bits with i64::MAX with it.
function carryIntoTheSign(rp) {
  const { core } = rp;
  const [subtract, add] = [core.substractUpdateFlags.bind(core), core.addUpdateFlags.bind(core)];
  const instruction = () => rp.readUint16(core.PC - 2) >> 6;
  core.substractUpdateFlags = (minuend, subtrahend) => {
    const carried = subtrahend === 0x80000000 && !core.C && instruction() === 0b0100000110;
    const result = subtract(minuend, subtrahend);
    if (carried) core.V = (minuend | 0) < 0;
    return result;
  };
  core.addUpdateFlags = (first, second) => {
    const carried = second === 0x80000000 && core.C && instruction() === 0b0100000101;
    const result = add(first, second);
    if (carried) core.V = (first | 0) >= 0;
    return result;
  };
}

// XIP_CTRL (0x14000000) is not there: code that flushes the cache waits for its status for ever.
function answerForTheFlashCache(rp, flush) {
  class FlashCache extends BasePeripheral {
    readUint32(offset) { return offset === 8 ? 0b11 : 0; } // STAT: FIFO empty, flush ready
    writeUint32(offset) { if (offset === 4) flush(); } // FLUSH
  }
  rp.peripherals[0x14000] = new FlashCache(rp, 'XIP_CTRL');
}

// Writes to IC_INTR_MASK were ignored, and RX_FULL and TX_EMPTY were edges; they are levels of the
// FIFOs.
function interruptsByLevel(bus) {
  const [write, read, next] = ['writeUint32', 'readUint32', 'nextCommand'].map((name) => bus[name].bind(bus));
  const level = () => {
    const full = bus.rxFIFO.itemCount > bus.rxThreshold;
    const empty = bus.txFIFO.itemCount <= bus.txThreshold;
    bus.intRaw = (bus.intRaw & ~0x14) | (full ? 4 : 0) | (empty ? 16 : 0);
    bus.checkInterrupts();
  };
  bus.writeUint32 = (offset, value) => {
    if (offset === 0x30) bus.intEnable = value & 0x1fff;
    else write(offset, value);
    level();
  };
  bus.readUint32 = (offset) => {
    const value = read(offset);
    if (offset === 0x10) level();
    return value;
  };
  bus.nextCommand = () => { next(); level(); };
}

// Switching a bus off (IC_ENABLE 0) must end what it was doing; it stayed busy for ever.
function resetWhenDisabled(bus) {
  const write = bus.writeUint32;
  bus.writeUint32 = (offset, value) => {
    write(offset, value);
    if (offset === 0x6c && !(value & 1) && bus.state !== 0) {
      bus.state = 0;
      bus.busy = bus.stop = bus.pendingRestart = false;
      bus.abandoned = (bus.abandoned ?? 0) + 1; // what the other side answers late is for nobody
    }
  };
}

// Transmission took no time and its FIFO had no end: bytes leave at the baud rate, and the flags
// and the interrupt follow. And there was no UARTDMACR (0x48), which then read as all DMA switched
// on.
function paceTransmission(rp, uart) {
  const [write, read] = [uart.writeUint32.bind(uart), uart.readUint32.bind(uart)];
  const waiting = [];
  let dma = 0;
  const half = UART_FIFO / 2;
  const mask = () => rp.setInterrupt(uart.irq, Boolean(uart.interruptStatus & uart.interruptMask));
  uart.checkInterrupts = mask; // TX was raised by every look at the interrupts
  const alarm = rp.clock.createAlarm(() => {
    const byte = waiting.shift();
    if (waiting.length === half) uart.interruptStatus |= 1 << 5; // the FIFO passes half on its way down
    if (waiting.length > 0) schedule();
    mask();
    uart.onByte?.(byte);
  });
  const schedule = () => alarm.schedule((1e9 * UART_CHARACTER_BITS) / (uart.baudRate || 115200));
  uart.writeUint32 = (offset, value) => {
    if (offset === 0x48) { dma = value; return undefined; }
    if (offset !== 0) return write(offset, value);
    if (waiting.length >= UART_FIFO) return undefined; // lost, as on the chip
    waiting.push(value & 0xff);
    // The first byte goes straight to the shift register, which leaves the FIFO below half.
    if (waiting.length === 1) { schedule(); uart.interruptStatus |= 1 << 5; mask(); }
    return undefined;
  };
  uart.readUint32 = (offset) => {
    if (offset === 0x48) return dma;
    if (offset !== 0x18) return read(offset);
    const flags = read(offset) & ~(1 << 7);
    return flags | (waiting.length === 0 ? 1 << 7 : 1 << 3) | (waiting.length >= UART_FIFO ? 1 << 5 : 0);
  };
}
