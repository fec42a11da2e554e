// Sound that holds: where the audio thread does not keep up, sound is lost, and the context's clock
// falls behind the computer's. After a few such breaks the flight moves, as it is, into a new
// context with a longer latency.

const WATCH_MS = 100;
// The clock of the sound moves in steps of a buffer: the least lag of so many looks is its true one.
const LOOKS = 6;
// A break loses a buffer of the device, some 10 ms; less than half of that is no break.
const BREAK_S = 0.01;
const BREAKS_ALLOWED = 3;
// The first second in a context is not judged: devices start late.
const SETTLES_MS = 1500;

let trouble = null;
let notice = null;
let watched = null;
let watching = null;
// A test that runs the instrument on at once stops the clock itself.
let isJudged = true;

function watchSound() {
  watched = null;
  watching ??= setInterval(watch, WATCH_MS);
}

/** How far the clock of the sound is behind the computer's, s. A browser's own count of breaks, where
 * it has one, stayed at zero while sound was lost, so it is not asked. */
const lagOfSound = () => performance.now() / 1000 - context.currentTime;

function watch() {
  if (!isJudged || !context || moving || context.state !== "running" || document.hidden) {
    watched = null;
    return;
  }
  const now = performance.now();
  watched ??= { since: now, lags: [], base: Infinity, breaks: 0 };
  if (now - watched.since < SETTLES_MS) return;
  watched.lags = [window.chirrupTest?.lag?.() ?? lagOfSound(), ...watched.lags].slice(0, LOOKS);
  if (watched.lags.length < LOOKS) return;
  const lag = Math.min(...watched.lags);
  const lost = lag - watched.base;
  if (lost > BREAK_S / 2) watched.breaks += Math.max(1, Math.round(lost / BREAK_S));
  if (lost > BREAK_S / 2 || lost < 0) watched.base = lag;
  if (watched.breaks >= BREAKS_ALLOWED) moveToLonger();
}

const NOTICE_MS = 12_000;
function tellOf(key) {
  notice = { key, until: performance.now() + NOTICE_MS };
}

/** Asks the instrument to hand over its memory, and goes on in a context of longer latency. */
function moveToLonger() {
  if (latency + 1 >= LATENCIES.length) {
    tellOf("notice.busy");
    watched = null;
    return;
  }
  latency += 1;
  instrument.port.postMessage({ call: "handOver" });
  moving = true;
}

async function handedOver(memory) {
  const before = context;
  const { sampleRate } = before;
  instrument.disconnect();
  try {
    [context, instrument] = await openSound(LATENCIES[latency], memory, sampleRate);
  } finally {
    moving = false;
  }
  unshown.length = 0;
  sendWaiting();
  await before.close();
  await resumed();
  showStart();
  tellOf("notice.longer");
}
