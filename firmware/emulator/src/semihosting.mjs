// A computer behind the debugger: Arm's semihosting calls for the bench program, whose files stay
// in memory here. Source: Arm, "Semihosting for AArch32 and AArch64".

const CALLS = { OPEN: 0x01, CLOSE: 0x02, WRITE: 0x05, GET_CMDLINE: 0x15, EXIT: 0x18 };
const SEMIHOSTING = 0xab;
/** The bench's own: instructions so far in r0, cycles in r1. */
const CLOCK = 0xc0;

/**
 * Runs the bench program with `line` as its command line; gives what it printed and the files it
 * made.
 */
export function runBench(machine, line) {
  const files = new Map();
  const handles = [];
  let ended = null;
  machine.onBreakpoint = (code, rp) => {
    const r = rp.core.registers;
    if (code === CLOCK) {
      r[0] = machine.instructions;
      r[1] = machine.cycles;
      return true;
    }
    if (code !== SEMIHOSTING) return false;
    const field = (index) => rp.readUint32(r[1] + 4 * index);
    const bytes = (at, count) => Buffer.from(Array.from({ length: count }, (_, i) => rp.readUint8(at + i)));
    switch (r[0]) {
      case CALLS.OPEN: {
        const name = bytes(field(0), field(2)).toString();
        if (!files.has(name)) files.set(name, []);
        r[0] = handles.push(name);
        break;
      }
      case CALLS.WRITE:
        files.get(handles[field(0) - 1]).push(bytes(field(1), field(2)));
        r[0] = 0;
        break;
      case CALLS.GET_CMDLINE: {
        const text = Buffer.from(`bench ${line}`);
        text.forEach((byte, i) => rp.writeUint8(field(0) + i, byte));
        rp.writeUint32(r[1] + 4, text.length);
        r[0] = 0;
        break;
      }
      case CALLS.CLOSE:
        r[0] = 0;
        break;
      case CALLS.EXIT:
        ended = r[1];
        machine.stopWanted = true;
        break;
      default:
        throw new Error(`semihosting call 0x${r[0].toString(16)} is not answered here`);
    }
    return true;
  };
  while (ended === null) machine.run(1e6);
  const file = (name) => Buffer.concat(files.get(name) ?? []);
  return { good: ended === 0x20026, text: file(':tt').toString(), file };
}
