// The page: controls to messages, reports to words, keys.

const by = (id) => document.getElementById(id);
let choices;
let context = null;
let instrument = null;
let latest = null;
let lessonTold = null;
let words = 0;
let pictures = 0;
let drawn = 0;
const waiting = [];

function send(message, transfer = []) {
  if (instrument) instrument.port.postMessage(message, transfer);
  else waiting.push([message, transfer]);
}

const signed = (value, digits) => (value < 0 ? "−" : "+") + Math.abs(value).toFixed(digits);
const inKnots = (value) => value / (1852 / 3600);

const SAYS = {
  air: (v) => (v === 0 ? "not at all" : `${signed(v, 1)} m/s, ${signed(inKnots(v), 0)} kt`),
  speed: (v) => `${(v * 3.6).toFixed(0)} km/h, ${inKnots(v).toFixed(0)} kt`,
  bank: (v) => (v === 0 ? "straight on" : `${v.toFixed(0)}°`),
  thermal: (v) => `${v.toFixed(1)} m/s`,
  offset: (v) => `${v.toFixed(0)} m`,
  response: (v) => `${v.toFixed(1)} s`,
  noise: (v) => `${(v * 100).toFixed(0)} cm`,
  volume: (v) => v.toFixed(0),
  cockpit: (v) => (v <= -60 ? "none" : `${Math.abs(v).toFixed(0)} dB below full scale`),
};

/** Sets an element to a value and says it in words. */
function show(element, value) {
  if (element.type === "checkbox") element.checked = value === 1;
  else if (element.type === "radio") element.checked = Number(element.value) === value;
  else if (Number(element.value) !== value) element.value = value;
  const says = SAYS[element.id];
  if (!says) return;
  const text = says(value);
  const output = by(`${element.id}-says`);
  if (output.textContent !== text) {
    output.textContent = text;
    element.setAttribute("aria-valuetext", text);
  }
}

const valueOf = (element) => 
  Number(element.type === "checkbox" ? element.checked : element.value);

function turn(control, value) {
  choices.controls[control].value = value;
  turned.set(control, performance.now());
  send({ call: "turn", values: [control, value] });
  for (const element of document.querySelectorAll(`[data-control="${control}"]`))
    show(element, value);
  if (control === CONTROLS.indexOf("mute")) showMute(value === 1);
}

function nudge(name, steps) {
  const control = CONTROLS.indexOf(name);
  const { min, max, step, value } = choices.controls[control];
  turn(control, Math.min(Number(max), Math.max(Number(min), value + steps * Number(step))));
}

function showMute(muted) {
  by("mute").setAttribute("aria-pressed", String(muted));
}

function toggleMute() {
  turn(CONTROLS.indexOf("mute"), by("mute").getAttribute("aria-pressed") === "true" ? 0 : 1);
}

async function start() {
  if (!context) {
    by("start").disabled = true;
    try {
      context = new AudioContext({ latencyHint: "interactive" });
      instrument = await instrumentIn(context, window.chirrupTest?.live);
    } catch (error) {
      context = null;
      by("caption").textContent =
        `This browser cannot play the instrument (${error.message}). ` +
        "A current Firefox, Chrome or Safari can.";
      return;
    } finally {
      by("start").disabled = false;
    }
    instrument.port.onmessage = ({ data }) => hear(data);
    for (const [message, transfer] of waiting.splice(0)) 
      instrument.port.postMessage(message, transfer);
    by("caption").textContent = "Still air: silence. Lift the air, or play a lesson.";
  }
  if (context.state === "running" && by("start").textContent === "Pause") await context.suspend();
  else await context.resume();
  by("start").textContent = context.state === "running" ? "Pause" : "Go on";
}

async function ensureStarted() {
  if (!context || context.state !== "running") await start();
}

/** Calls the instrument and waits for what it says: a number and a text. */
const answersDue = new Map();
function ask(call, ...values) {
  const asks = answersDue.size + performance.now();
  return new Promise((done) => {
    answersDue.set(asks, done);
    send({ call, values, asks });
  });
}

function hear({ report, loaded, text, taken, frame, samples, asks, value, hunting }) {
  if (hunting) takeHunt(hunting);
  if (asks) {
    answersDue.get(asks)({ value, text: new TextDecoder().decode(text) });
    answersDue.delete(asks);
  }
  if (report) take(reportOf(report));
  if (loaded !== undefined) tellTrace(loaded, new TextDecoder().decode(text));
  if (taken) window.chirrupTest?.taken?.(taken, frame);
  if (samples) window.chirrupTest?.samples?.(samples);
}

function take(report) {
  if (latest && report.restarts > latest.restarts)
    by("caption").textContent = "Too low or too high: a new flight begins in still air.";
  latest = report;
  remember(report);
  report.controls.forEach((value, control) => {
    if (choices.controls[control].value === value) return;
    // A lesson turned it, or the change is still on its way.
    if (report.lesson >= 0 || !turnedLately(control)) {
      choices.controls[control].value = value;
      for (const element of document.querySelectorAll(`[data-control="${control}"]`))
        show(element, value);
      if (CONTROLS[control] === "mute") showMute(value === 1);
    }
  });
  tellLesson(report);
}

const turned = new Map();
const turnedLately = (control) => performance.now() - (turned.get(control) ?? -1e9) < 300;

function tellLesson({ lesson, caption }) {
  const key = `${lesson}:${caption}`;
  if (key === lessonTold) return;
  const before = lessonTold;
  lessonTold = key;
  for (const [place, button] of document.querySelectorAll("#lessons button").entries()) {
    button.setAttribute("aria-pressed", String(place === lesson));
  }
  if (lesson >= 0) by("caption").textContent = choices.lessons[lesson].cues[caption].caption;
  else if (before && !before.startsWith("-1")) {
    const { title, question } = choices.lessons[Number(before.split(":")[0])];
    by("caption").textContent = `“${title}” is over. To ask: ${question}`;
  }
}

async function playLesson(place) {
  leaveDrill();
  // A second press stops it.
  const stop = latest?.lesson === place;
  history.length = 0;
  lessonTold = stop ? lessonTold : null;
  send({ call: "lesson", values: [stop ? 4294967295 : place] });
  closeTrace();
  await ensureStarted();
  // On a small screen the flight may be scrolled out of view.
  if (!stop) by("caption").scrollIntoView({ block: "nearest" });
}

const TONES = {
  [MEANING.nothing]: () => "Silence",
  [MEANING.climb]: ({ pitch, cadence }) =>
    `Beeps: ${cadence.toFixed(1)} a second, ${pitch.toFixed(0)} Hz`,
  [MEANING.sink]: ({ pitch }) => `Steady low tone, ${pitch.toFixed(0)} Hz`,
  [MEANING.cruise]: () => "Pairs of notes",
  [MEANING.fault]: () => "Three falling notes: it does not know",
};

const STATUSES = {
  settling: "Settling",
  frozen: "Sensor sticks",
  suspect: "Cannot be right",
  bad_pressure: "No pressure",
  check_tubes: "Check the tubes",
  check_static: "Check the static line",
};

function tellEar(side, ear) {
  const status = choices.statuses[ear.status];
  const number = Math.abs(ear.reading).toFixed(1);
  const word = ear.good ? (number === "0.0" ? "Level" : ear.reading > 0 ? "Climb" : "Sink")
    : STATUSES[status] ?? "No reading";
  by(`word-${side}`).textContent = word;
  by(`number-${side}`).textContent = ear.good ? `${number} m/s` : "";
  by(`tone-${side}`).textContent = TONES[ear.meaning](ear);
}

const FOLLOWS_THE_STICK = "no airspeed: follows the stick";
const ENERGY_NAMES = ["not compensated", "compensated", "compensated by a probe"];

function tell(report) {
  const two = report.controls[CONTROLS.indexOf("two")] === 1;
  tellEar("left", report.left);
  if (two) tellEar("right", report.right);
  by("ear-right").hidden = !two;
  const isBare = choices.statuses[report.left.status] === "no_compensation";
  const energy = isBare ? FOLLOWS_THE_STICK
    : ENERGY_NAMES[report.controls[CONTROLS.indexOf("energy")]];
  by("name-left").textContent = `${two ? "Left ear" : "Both ears"}: ${energy}`;
  by("height").textContent = `${report.height.toFixed(0)} m`;
  by("airspeed").textContent =
    report.speed > 0.5 ? `${(report.speed * 3.6).toFixed(0)} km/h` : "–";
  by("rise").textContent = Math.abs(report.air) < 0.05 ? "still" : `${signed(report.air, 1)} m/s`;
  if (report.length > 0) showSeek(report);
}

const clock = (seconds) =>
  `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`;

function showSeek({ time, length }) {
  const seek = by("seek");
  seek.max = Math.ceil(length);
  if (document.activeElement !== seek || !turnedLately("seek")) seek.value = time;
  const text = `${clock(time)} of ${clock(length)}`;
  by("seek-says").textContent = text;
  seek.setAttribute("aria-valuetext", text);
}

function readOut() {
  if (!latest) return;
  const { left, right, height, speed, controls } = latest;
  const ear = (name, { reading, good, meaning }) => {
    const tone = TONES[meaning]({ pitch: 0, cadence: 0 }).split(":")[0].split(",")[0];
    return `${name}${good ? `${signed(reading, 1)} metres a second` : "no reading"}, ${tone}. `;
  };
  const both = controls[CONTROLS.indexOf("two")] === 1;
  by("read-out").textContent =
    `${ear(both ? "Left " : "", left)}${both ? ear("Right ", right) : ""}` +
    `Height ${height.toFixed(0)} metres, ${(speed * 3.6).toFixed(0)} kilometres an hour.`;
}

async function openTrace(file) {
  leaveDrill();
  const bytes = await file.arrayBuffer();
  const name = new TextEncoder().encode(file.name).buffer;
  by("trace-says").textContent = `Reading ${file.name}.`;
  send({ call: "load", file: { name, bytes } }, [name, bytes]);
  await ensureStarted();
}

function tellTrace(loaded, text) {
  by("playing").hidden = !loaded;
  by("trace-says").textContent = loaded ? `Playing the trace. ${text}` : `${text}.`;
  if (loaded) {
    history.length = 0;
    by("caption").textContent = "A trace plays. “Begin again” goes back to the flight.";
  }
}

function closeTrace() {
  by("playing").hidden = true;
  by("trace-says").textContent = "";
}

function afresh() {
  leaveDrill();
  history.length = 0;
  closeTrace();
  send({ call: "afresh" });
  by("caption").textContent = "A new flight in still air.";
}

const KEYS = {
  ArrowUp: () => nudge("air", 1),
  ArrowDown: () => nudge("air", -1),
  ArrowLeft: () => nudge("speed", -1),
  ArrowRight: () => nudge("speed", 1),
  0: () => stillAir(),
  m: () => toggleMute(),
  r: () => readOut(),
};

const stillAir = () => {
  for (const name of ["air", "bank", "thermal"]) turn(CONTROLS.indexOf(name), 0);
};

function onKey(event) {
  if (event.ctrlKey || event.altKey || event.metaKey) return;
  const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  const lesson = Number(key) - 1;
  if (KEYS[key]) KEYS[key]();
  else if (choices.lessons[lesson]) playLesson(lesson);
  else return;
  event.preventDefault();
}

function draw(now) {
  requestAnimationFrame(draw);
  if (!latest) return;
  // With reduced motion the picture changes twice a second.
  if (still.matches && now - drawn < 500) return;
  drawn = now;
  pictures += 1;
  drawSky(by("sky"), latest);
  drawScore(by("score"), latest, latest.controls[CONTROLS.indexOf("two")] === 1);
  // The words change five times a second; faster would be unreadable.
  if (now - words > 200) {
    words = now;
    tell(latest);
  }
}

function wire() {
  for (const element of document.querySelectorAll("[data-control]")) {
    const control = Number(element.dataset.control);
    const { min, max, step, value } = choices.controls[control];
    if (element.type === "range") 
      Object.assign(element, { min, max, step: Number(step) > 0.5 ? step : Number(step) });
    show(element, value);
    element.addEventListener("input", () => {
      if (element.type !== "radio" || element.checked) turn(control, valueOf(element));
    });
  }
  choices.lessons.forEach(({ title, seconds }, place) => {
    const button = Object.assign(document.createElement("button"), {
      type: "button", textContent: `${place + 1}  ${title}, ${seconds.toFixed(0)} s` });
    button.setAttribute("aria-pressed", "false");
    button.addEventListener("click", () => playLesson(place));
    const item = document.createElement("li");
    item.append(button);
    by("lessons").append(item);
  });
  by("start").addEventListener("click", start);
  by("mute").addEventListener("click", toggleMute);
  by("still").addEventListener("click", stillAir);
  by("afresh").addEventListener("click", afresh);
  by("read").addEventListener("click", readOut);
  by("fly").addEventListener("keydown", onKey);
  by("file").addEventListener("change", ({ target }) =>
    target.files[0] && openTrace(target.files[0]));
  by("seek").addEventListener("input", ({ target }) => {
    turned.set("seek", performance.now());
    history.length = 0;
    send({ call: "seek", values: [Number(target.value)] });
  });
  wireDrill();
  wireHunt();
  addEventListener("dragover", (event) => {
    event.preventDefault();
    document.body.classList.add("dropping");
  });
  addEventListener("dragleave", () => document.body.classList.remove("dropping"));
  addEventListener("drop", (event) => {
    event.preventDefault();
    document.body.classList.remove("dropping");
    const [file] = event.dataTransfer.files;
    if (file) openTrace(file);
  });
}

async function begin() {
  choices = await described();
  readColours();
  wire();
  requestAnimationFrame(draw);
  document.documentElement.dataset.ready = "true";
}

begin().catch((error) => {
  by("caption").textContent =
    `This browser cannot run the instrument (${error.message}). ` +
    "A current Firefox, Chrome or Safari can.";
});
