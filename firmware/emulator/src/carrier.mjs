// The timer's slices as rp2040js 1.4.1 has them, mended: see mends.mjs.

const WRAP0 = 24; // the DMA request of slice 0's wrap: RP2040 data sheet, "DREQ table"
const FREE_RUNNING = 0;
const [ENABLED, PHASE_CORRECT, A_INVERTED, B_INVERTED] = [1, 2, 4, 8];
/** A slice with shorter periods than this is a carrier. */
const CARRIER_NS = 25_000;

// A slice asks the DMA for one transfer at each wrap; the request stayed up for ever, and with it a
// channel ran without pace.
export function requestByPulse({ dma }) {
  const isWrap = (request) => request >= WRAP0 && request < WRAP0 + 8;
  const set = dma.setDREQ.bind(dma);
  dma.setDREQ = (request) => {
    if (!isWrap(request)) return set(request);
    dma.channels.filter((channel) => channel.treq === request && channel.active).forEach((channel) => channel.transfer());
    return undefined;
  };
  dma.channels.forEach((channel) => {
    const schedule = channel.scheduleTransfer.bind(channel);
    channel.scheduleTransfer = () => { if (!isWrap(channel.treq)) schedule(); };
  });
}

// CHAN_ABORT read as all ones, that is, as if no channel ever stopped.
export function abortAtOnce({ dma }) {
  const CHAN_ABORT = 0x444;
  const read = dma.readUint32.bind(dma);
  dma.readUint32 = (offset) => (offset === CHAN_ABORT ? 0 : read(offset));
}

// The bits of EN could be written but not read, so that setting one cleared the others.
export function readableEnable({ pwm }) {
  pwm.channels.forEach((channel) => {
    const { set } = Object.getOwnPropertyDescriptor(Object.getPrototypeOf(channel), 'en');
    Object.defineProperty(channel, 'en', { get: () => Boolean(channel.csr & ENABLED), set });
  });
}

/**
 * Not a fault but a matter of time: the edges of a carrier take longer to emulate than the program.
 * While a slice is one, its pin is high wherever its share is above 0, and `pwm.onShare(slice,
 * nanos, share)` says from when on the pin is high for which share of a period; null where it is a
 * carrier no more. A new compare value counts from the next wrap on, as on the chip.
 */
export function carrierAsShare(rp) {
  const { pwm } = rp;
  pwm.channels.forEach((channel) => {
    const { timer, index } = channel;
    const [write, enable] = [channel.writeRegister.bind(channel), channel.updateEnable.bind(channel)];
    let [isCarrier, hasEdges] = [false, false];
    const tell = (nanos, share) => pwm.onShare?.(index, nanos, share);
    const share = () => Math.min(1, (channel.cc & 0xffff) / (timer.top + 1));
    channel.updateEnable = () => {
      enable();
      const was = isCarrier;
      isCarrier = timer.enable && channel.divMode === FREE_RUNNING && timer.toNanos(timer.top + 1) < CARRIER_NS
        && !(channel.csr & (PHASE_CORRECT | A_INVERTED | B_INVERTED)) && !(pwm.intEnable & (1 << index));
      channel.alarmBottom.enable = !isCarrier;
      channel.alarmA.enable = channel.alarmB.enable = !isCarrier && hasEdges;
      if (isCarrier) {
        tell(rp.clock.nanos, share());
        channel.setA(share() > 0);
      } else if (was) tell(rp.clock.nanos, null);
    };
    channel.writeRegister = (offset, value) => {
      write(offset, value);
      if (offset === 0x0c && value !== 0 && !hasEdges) {
        hasEdges = true; // a slice that only counts has none, which would take as long to emulate
        channel.updateEnable();
      }
      if (!isCarrier || offset !== 0x0c) return;
      const left = timer.toNanos(timer.top + 1 - timer.rawCounter);
      tell(rp.clock.nanos + left, share());
      channel.setA(share() > 0);
    };
  });
}
