// The page: brings its parts together; controls to messages, reports to what is shown.

const by = (id) => document.getElementById(id);
let choices;
let pictures = 0;
let drawn = 0;
let told = 0;

const inKnots = (value) => value / (1852 / 3600);

const SAYS = {
  air: (v) => (v === 0 ? t("says.air.still") : `${signed(v, 1)} m/s`),
  speed: (v) => t("says.speed", { kmh: number(v * 3.6, 0), kt: number(inKnots(v), 0) }),
  bank: (v) => (v === 0 ? t("says.straight") : `${number(v, 0)}°`),
  thermal: (v) => `${number(v, 1)} m/s`,
  offset: (v) => `${number(v, 0)} m`,
  response: (v) => `${number(v, 1)} s`,
  noise: (v) => `${number(v * 100, 0)} cm`,
  volume: (v) => number(v, 0),
  "check-volume": (v) => number(v, 0),
  cockpit: (v) => (v <= -60 ? t("says.none") : t("says.db", { db: number(Math.abs(v), 0) })),
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

const OF_THE_FLIGHT = ["air", "speed", "bank", "thermal", "offset", "fault"];
const turned = new Map();
const turnedLately = (control) => performance.now() - (turned.get(control) ?? -1e9) < 300;

function turn(control, value) {
  if (OF_THE_FLIGHT.includes(CONTROLS[control])) byHand();
  // Its captions speak of the right ear.
  if (control === CONTROL.two && choices.lessons[latest?.lesson]?.key === "stick") endLesson();
  turned.set(control, performance.now());
  send({ call: "turn", values: [control, value] });
  showControl(control, value);
}

function showControl(control, value) {
  choices.controls[control].value = value;
  for (const element of document.querySelectorAll(`[data-control="${control}"]`))
    show(element, value);
  if (control === CONTROL.mute) {
    for (const id of ["mute", "hunt-mute"]) by(id).setAttribute("aria-pressed", String(value === 1));
  }
  by("hunt-muted").hidden = valueAt("mute") === 0 && valueAt("volume") > 0;
}

const valueAt = (name) => choices.controls[CONTROL[name]].value;

function nudge(name, steps) {
  const { min, max, step, value } = choices.controls[CONTROL[name]];
  turn(CONTROL[name], Math.min(Number(max), Math.max(Number(min), value + steps * Number(step))));
}

function toggleMute() {
  turn(CONTROL.mute, choices.controls[CONTROL.mute].value === 1 ? 0 : 1);
}

function take(report) {
  followLesson(report, latest);
  latest = report;
  remember(report);
  report.controls.forEach((value, control) => {
    if (choices.controls[control].value === value) return;
    // A change by hand is still on its way.
    if (!turnedLately(control)) showControl(control, value);
  });
}

function afresh() {
  leaveDrill();
  byHand();
  forgetPath();
  closeTrace();
  send({ call: "afresh" });
  restarted = performance.now() + 4000;
}

function draw(now) {
  requestAnimationFrame(draw);
  // With reduced motion the picture changes twice a second.
  if (still.matches && now - drawn < 500) return;
  if (preview) stepPreview(now);
  showHeard();
  drawn = now;
  pictures += 1;
  showCaption();
  if (!latest) return;
  drawSky(by("sky"), latest);
  if (latest.length > 0) drawProfile(latest);
  drawStrip(by("score"), hasTwo(latest));
  // The words of the sound change at once, the figures five times a second.
  if (now - told > 200 || soundNow("left").meaning !== Number(by("ear-left").dataset.sounds)) {
    told = now;
    tell(latest);
  }
}

function wireControls() {
  for (const element of document.querySelectorAll("[data-control]")) {
    const control = Number(element.dataset.control);
    const { min, max, step, value } = choices.controls[control];
    if (element.type === "range") Object.assign(element, { min, max, step });
    show(element, value);
    element.addEventListener("input", () => {
      if (element.type !== "radio" || element.checked) turn(control, valueOf(element));
    });
  }
  onWords.push(() => choices.controls.forEach(({ value }, control) => showControl(control, value)));
}

function wire() {
  wireControls();
  by("start").addEventListener("click", start);
  by("begin").addEventListener("click", start);
  by("mute").addEventListener("click", toggleMute);
  by("still").addEventListener("click", stillAir);
  by("afresh").addEventListener("click", afresh);
  by("read").addEventListener("click", readOut);
  addEventListener("keydown", onKey);
  freeArrows();
  by("hunt-mute").addEventListener("click", toggleMute);
  onWords.push(showLessons, showPads, showStart, showTrace);
  wireTrace();
  wireDrag();
  wireCheck();
  wireDrill();
  wireHunt();
}

async function begin() {
  loadWords();
  choices = await described();
  readColours();
  wire();
  showWords();
  huntFromHash();
  requestAnimationFrame(draw);
  await beginPreview();
  document.documentElement.dataset.ready = "true";
}

begin().catch((error) => {
  trouble = { key: "trouble.browser", error: error.message };
  showCaption();
});
