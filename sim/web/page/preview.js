// Before Start: the same instrument flies by itself, unheard, so that the page lives and explains
// itself. What it draws is what would sound.

const PREVIEW_RATE = 8000;
// When, what the air does (m/s), and the bank (degrees), over and over.
const PREVIEW_S = 36;
const PREVIEW_CUES = [[0, 0.5, 0], [3, 3.5, 0], [11, -3.5, 0], [17, 0, 40], [35, 0, 0]];
let preview = null;

async function beginPreview() {
  const { instance } = await WebAssembly.instantiate(await coreBytes, {});
  if (context) return;
  const core = instance.exports;
  core.start(PREVIEW_RATE, SEED);
  preview = { core, flown: 0, before: null };
  runPreview(6);
}

function endPreview() {
  preview = null;
  latest = null;
  forgetNotes();
  forgetPath();
}

function stepPreview(now) {
  if (!preview) return;
  const since = preview.before === null ? 0 : Math.min((now - preview.before) / 1000, 0.1);
  preview.before = now;
  runPreview(since);
}

function runPreview(seconds) {
  const { core } = preview;
  for (let left = seconds; left > 0; left -= 0.02) {
    const at = preview.flown % PREVIEW_S;
    const [, air, bank] = PREVIEW_CUES.filter(([from]) => from <= at).pop();
    core.turn(CONTROL.air, air);
    core.turn(CONTROL.bank, bank);
    core.turn(CONTROL.thermal, bank > 0 ? 4.5 : 0);
    core.turn(CONTROL.offset, 45);
    core.fill(PREVIEW_RATE * 0.02);
    preview.flown += 0.02;
    const report = new Float64Array(core.memory.buffer, core.report(), REPORT_LENGTH).slice();
    const start = core.notes();
    hearNotes(new Float32Array(core.memory.buffer, start, core.note_count()).slice());
    latest = reportOf(report);
    remember(latest);
  }
}
