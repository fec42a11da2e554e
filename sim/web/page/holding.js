// Sound that holds: where the audio thread does not keep up, sound is lost, and the context's clock
// falls behind the computer's. After a few such breaks the flight moves, as it is, into a new
// context with a longer latency.

const WATCH_MS = 500;
// The clocks are read this roughly, s: a break loses at least so much sound.
const LEAST_BREAK_S = 0.004;
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

/** Seconds of sound lost so far, by the browser's own count or by the clocks. */
function lostSound() {
  const stats = context.playbackStats ?? context.playoutStats;
  if (stats?.underrunEvents !== undefined) return { events: stats.underrunEvents };
  const { contextTime, performanceTime } = context.getOutputTimestamp();
  return { behind_s: (performanceTime ?? performance.now()) / 1000 - (contextTime ?? 0) };
}

function watch() {
  if (!isJudged || !context || moving || context.state !== "running" || document.hidden) {
    watched = null;
    return;
  }
  const now = performance.now();
  const lost = window.chirrupTest?.lost?.() ?? lostSound();
  watched ??= { since: now, breaks: 0, base: null };
  if (now - watched.since < SETTLES_MS) return;
  if (watched.base === null) {
    watched.base = lost;
    return;
  }
  if (lost.events !== undefined) watched.breaks = lost.events - watched.base.events;
  else if (lost.behind_s - watched.base.behind_s > LEAST_BREAK_S) {
    watched.breaks += 1;
    watched.base = lost;
  } else if (lost.behind_s < watched.base.behind_s) watched.base = lost;
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
