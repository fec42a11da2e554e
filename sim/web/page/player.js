// Playing: one audio context with the instrument in its audio thread, messages to and from it, and
// reports shown when their sound is heard.

// From the quickest to the one that survives a busy machine, in seconds of latency.
const LATENCIES = ["interactive", "playback", 0.5];

let context = null;
let instrument = null;
let latest = null;
let latency = 0;
let moving = false;
const waiting = [];
const unshown = [];

function send(message, transfer = []) {
  if (instrument && !moving) instrument.port.postMessage(message, transfer);
  else waiting.push([message, transfer]);
}

function sendWaiting() {
  for (const [message, transfer] of waiting.splice(0))
    instrument.port.postMessage(message, transfer);
}

/** Calls the instrument and waits for what it says: a number and a text. */
const answersDue = new Map();
let asked = 0;
const ask = (call, ...values) => askWith({ call, values });
const askOfFile = (call, file) => askWith({ call, file });

function askWith(message) {
  asked += 1;
  const asks = asked;
  return new Promise((done) => {
    answersDue.set(asks, done);
    send({ ...message, asks });
  });
}

function hear({ report, notes, loaded, text, taken, frame, samples, asks, value, memory,
  hunting }) {
  if (hunting) takeHunt(hunting);
  if (asks) {
    answersDue.get(asks)({ value, text: new TextDecoder().decode(text) });
    answersDue.delete(asks);
  }
  if (memory) handedOver(memory);
  if (report) unshown.push({ report: reportOf(report), notes, frame });
  if (loaded !== undefined) tellTrace(loaded, new TextDecoder().decode(text));
  if (taken) window.chirrupTest?.taken?.(taken, frame);
  if (samples) window.chirrupTest?.samples?.(samples);
  // No picture is drawn while the page is hidden.
  if (document.hidden) showHeard(Infinity);
}

/** Shows the reports whose sound has reached the ear. */
function showHeard(now = context ? context.currentTime - (context.outputLatency || 0) : Infinity) {
  while (unshown.length > 0 && unshown[0].frame <= now * context.sampleRate + 128) {
    const { report, notes } = unshown.shift();
    hearNotes(notes);
    take(report);
  }
}

/** Opens an instrument with a latency, a new one or one that goes on from a memory. */
async function openSound(hint, memory, sampleRate) {
  const made = new AudioContext({ latencyHint: hint, ...(sampleRate ? { sampleRate } : {}) });
  try {
    const node = await instrumentIn(made, { ...window.chirrupTest?.live, ...(memory && { memory }) });
    node.port.onmessage = ({ data }) => hear(data);
    return [made, node];
  } catch (error) {
    await made.close();
    throw error;
  }
}

async function start() {
  if (!context) {
    for (const id of ["start", "begin"]) by(id).disabled = true;
    try {
      endPreview();
      [context, instrument] = await openSound(LATENCIES[latency]);
    } catch (error) {
      context = null;
      trouble = { key: "trouble.browser", error: error.message };
      return;
    } finally {
      for (const id of ["start", "begin"]) by(id).disabled = false;
    }
    sendWaiting();
    by("first").hidden = true;
  }
  if (context.state === "running" && by("start").dataset.word === "pause") await context.suspend();
  else await resumed();
  showStart();
}

/** Without a device a context may never run: the reader is told at once. */
async function resumed() {
  const late = new Promise((done) => setTimeout(done, 2500));
  await Promise.race([context.resume(), late]);
  trouble = context.state === "running" ? null : { key: "trouble.device" };
  context.onstatechange = showStart;
  watchSound();
}

function showStart() {
  const word = !context ? "start" : context.state === "running" ? "pause" : "go.on";
  by("start").dataset.word = word;
  by("start").textContent = t(word);
  showDrillButtons();
}

async function ensureStarted() {
  if (!context || context.state !== "running") await start();
}
