// "Find the core": the round runs in the audio thread; this sends the bank, shows what help there
// is, and afterwards the thermal and the path.

const HUNT = ["phase", "time", "east", "north", "heading", "bank", "wanted", "climb", "reading",
  "pitch", "cadence", "sounding", "meaning", "round"];
const HUNT_PHASE = { waiting: 0, listening: 1, counting: 2, over: 3 };
// So many kinds of help; further rounds have none. The air is that of the seed in all of them.
const HUNT_ROUNDS = 4;
const HUNT_STEP_DEG = 5;
const HUNT_MOST_DEG = 60;
const HUNT_TRAIL_S = 60;
const HUNT_MOST_SEED = 99999999;

const hunt = { isOpen: false, seed: 1, round: 1, now: null, bank: 0, trail: [], middle: null,
  result: null, told: "", ready: "" };

/** Text of a result, as src/hunt.rs writes it. */
function huntResultOf(text) {
  const records = text.trim().split("\n").map((line) => line.split("\t"));
  const of = (kind) => records.filter(([first]) => first === kind).map(([, ...rest]) => rest);
  const [[seed, round, share, climb, best, after, did, correlation]] = of("score");
  const [[shape, driftEast, driftNorth]] = of("thermal");
  const [[reach, side, rise]] = of("field");
  return { seed: Number(seed), round: Number(round), share: Number(share), climb: Number(climb),
    best: Number(best), after, did, correlation: Number(correlation), shape,
    drift: [Number(driftEast), Number(driftNorth)], circle: of("best")[0].map(Number),
    turns: of("turn").map((turn) => turn.map(Number)),
    path: of("path")[0][0].split(" ").map((point) => point.split(",").map(Number)),
    field: { reach: Number(reach), side: Number(side), rise: rise.split(" ").map(Number) } };
}

function huntShows(what) {
  const isOver = what === "debrief";
  by("hunt-view").dataset.shows = what;
  by("hunt-ready").hidden = what !== "ready";
  by("hunt-debrief").hidden = !isOver;
  by("hunt-dark").hidden = !(what === "round" && hunt.round >= 4);
  by("hunt-round").textContent = t("hunt.round", { round: hunt.round });
  by("hunt-canvas").setAttribute("aria-label", t(
    { ready: "hunt.canvasReady", round: "hunt.canvasRound", debrief: "hunt.canvasOver" }[what]));
}

function huntSays(text) {
  by("hunt-says").textContent = text;
}

/** Opens the view before a round; nothing sounds until it begins. */
function openHunt(seed, round) {
  leaveDrill();
  Object.assign(hunt, { isOpen: true, seed, round, now: null, result: null, ready: "" });
  by("hunt-seed").value = seed;
  for (const input of by("hunt-rounds").querySelectorAll("input"))
    input.checked = Number(input.value) === Math.min(round, 4);
  if (!by("hunt-view").open) by("hunt-view").showModal();
  huntShows("ready");
  if (context) prepareHunt();
  by("hunt-begin").focus();
  huntHash();
  requestAnimationFrame(drawHunt);
}

const huntKey = () => `${hunt.seed},${hunt.round}`;
const huntHash = () => {
  location.hash = `hunt=${hunt.round > 1 ? huntKey() : hunt.seed}`;
};

/** The air of the round; the flight pauses. */
async function prepareHunt() {
  hunt.ready = huntKey();
  await ask("hunt_open", hunt.seed, hunt.round);
}

async function beginHunt() {
  if (!hunt.isOpen || by("hunt-ready").hidden) return;
  hunt.seed = Math.min(Math.max(Math.floor(Number(by("hunt-seed").value)) || 0, 0), HUNT_MOST_SEED);
  by("hunt-seed").value = hunt.seed;
  huntHash();
  huntSays(t("hunt.finding"));
  await ensureStarted();
  if (hunt.ready !== huntKey()) await prepareHunt();
  hunt.ready = "";
  Object.assign(hunt, { trail: [], middle: null, told: "", bank: NaN });
  huntShows("round");
  by("hunt-left").focus();
  send({ call: "hunt_begin" });
}

function closeHunt() {
  if (!hunt.isOpen) return;
  hunt.isOpen = false;
  stopTilt();
  send({ call: "hunt_close" });
  if (by("hunt-view").open) by("hunt-view").close();
  location.hash = "";
  by("hunt-open").focus();
}

/** Numbers of a moment, from the audio thread. */
function takeHunt(numbers) {
  if (!hunt.isOpen) return;
  const now = Object.fromEntries(HUNT.map((name, place) => [name, numbers[place]]));
  const before = hunt.now;
  hunt.now = now;
  if (Number.isNaN(hunt.bank)) hunt.bank = now.wanted;
  if (now.phase === HUNT_PHASE.waiting) return;
  hunt.trail.push(now);
  while (hunt.trail[0].time < now.time - HUNT_TRAIL_S) hunt.trail.shift();
  tellHunt(now);
  const isNew = before && before.phase !== now.phase;
  if (isNew && now.phase === HUNT_PHASE.over) endHuntRound();
}

function tellHunt({ phase, time }) {
  const left = Math.ceil((180 - time) / 60);
  const words = phase === HUNT_PHASE.listening ? t("hunt.listen")
    : time < 50 ? t("hunt.counts")
    : left > 1 ? t("hunt.minutes", { left }) : t("hunt.minute");
  if (phase !== HUNT_PHASE.over && words !== hunt.told) {
    hunt.told = words;
    huntSays(words);
  }
}

async function endHuntRound() {
  const { text } = await ask("hunt_result");
  stopTilt();
  hunt.result = huntResultOf(text);
  huntShows("debrief");
  showDebrief(hunt.result);
}

/** Turns the wanted bank to the next step on a side: -1 left, 1 right. */
function huntSteer(side) {
  if (by("hunt-view").dataset.shows !== "round" || Number.isNaN(hunt.bank)) return;
  const steps = side * hunt.bank / HUNT_STEP_DEG;
  setHuntBank(side * (Math.floor(steps + 1e-6) + 1) * HUNT_STEP_DEG);
}

function setHuntBank(bank) {
  hunt.bank = Math.min(Math.max(bank, -HUNT_MOST_DEG), HUNT_MOST_DEG);
  send({ call: "hunt_bank", values: [hunt.bank] });
}

function onHuntKey(event) {
  if (event.ctrlKey || event.altKey || event.metaKey || event.key === "Tab") return;
  event.stopPropagation();
  const { shows } = by("hunt-view").dataset;
  const { tagName, type } = event.target;
  if (event.key.toLowerCase() === "m" && type !== "text") toggleMute();
  else if (shows === "round") {
    if (event.key === "ArrowLeft") huntSteer(-1);
    else if (event.key === "ArrowRight") huntSteer(1);
    else if (event.key === " ") setHuntBank(0);
    else return;
  } else if (shows !== "ready") return;
  else if (event.key === "Enter" ? tagName === "INPUT"
    : event.key === " " && !/^(BUTTON|INPUT)$/.test(tagName)) beginHunt();
  else return;
  event.preventDefault();
}

/** Steers while a finger or a button of the mouse is down. */
function steerWhileHeld(element, sideOf) {
  let timer = null;
  const release = () => clearInterval(timer);
  element.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    const side = sideOf(event);
    huntSteer(side);
    clearInterval(timer);
    timer = setInterval(() => huntSteer(side), 300);
  });
  for (const end of ["pointerup", "pointercancel", "pointerleave"])
    element.addEventListener(end, release);
  element.addEventListener("click", (event) => event.detail === 0 && huntSteer(sideOf(event)));
}

// Tilting: the device is held like a steering wheel; its roll is the bank.
let tilts = false;
function onTilt({ beta, gamma }) {
  if (gamma === null || by("hunt-view").dataset.shows !== "round") return;
  const turn = screen.orientation?.angle ?? 0;
  const roll = { 0: gamma, 90: beta, 180: -gamma, 270: -beta }[turn] ?? gamma;
  const bank = Math.round(roll);
  if (Math.abs(bank - hunt.bank) >= 2) setHuntBank(bank);
}

async function askForTilt() {
  if (tilts) return stopTilt();
  const refused = (await DeviceOrientationEvent.requestPermission?.().catch(() => "denied"))
    === "denied";
  if (refused) return huntSays(t("hunt.tiltRefused"));
  tilts = true;
  addEventListener("deviceorientation", onTilt);
  by("hunt-tilt").setAttribute("aria-pressed", "true");
}

function stopTilt() {
  tilts = false;
  removeEventListener("deviceorientation", onTilt);
  by("hunt-tilt").setAttribute("aria-pressed", "false");
}

// After the round.

const percent = (share) => `${share < 0 ? "−" : ""}${Math.abs(100 * share).toFixed(0)} %`;

function huntNext({ did, after, turns }) {
  const last = turns[turns.length - 1];
  if (after !== "" && last && last[5] <= 25) return t("hunt.next.centred");
  if (did === "neither") return t("hunt.next.kept");
  return t(`hunt.next.${did}`);
}

function huntSide({ turns, circle }) {
  if (turns.length === 0) return t("hunt.noTurn");
  const [, , east, north, , off] = turns[0];
  if (off <= 25) return t("hunt.sideNear");
  const bearing = Math.atan2(circle[0] - east, circle[1] - north);
  const wind = t(`hunt.wind.${(Math.round(bearing / (Math.PI / 4)) + 8) % 8}`);
  return t("hunt.side", { metres: number(off, 0), where: wind });
}

function showDebrief(result) {
  by("hunt-share").textContent = percent(result.share);
  by("hunt-bar").style.inlineSize = `${Math.min(Math.max(100 * result.share, 0), 100)}%`;
  by("hunt-climb").textContent =
    t("hunt.climb", { you: signed(result.climb, 1), best: signed(result.best, 1) });
  by("hunt-after").textContent = huntAfter(result.after);
  by("hunt-side").textContent = huntSide(result);
  by("hunt-did").textContent = t(`hunt.did.${result.did}`);
  by("hunt-next").textContent = huntNext(result);
  by("hunt-on").textContent =
    `${t("hunt.round", { round: result.round + 1 })} · ${t("hunt.seed")} ${huntNextSeed()}`;
  by("hunt-done").textContent = "";
  showHuntLine();
  by("hunt-debrief").scrollTop = 0;
  by("hunt-on").focus({ preventScroll: true });
  huntSays(`${t("hunt.over")} ${percent(result.share)} ${t("hunt.ofBest")}. ` +
    `${by("hunt-after").textContent} ${by("hunt-did").textContent}`);
}

const huntAfter = (seconds) => (seconds === "" ? t("hunt.never")
  : t("hunt.after", { seconds: number(Number(seconds), 0) }));

// For a table: the same in every language.
const HUNT_COLUMNS = ["name", "air", "round", "share_percent", "centred_s", "while_improving"];

/** One line for a table of a class, under its header, with tabs. */
function huntLine({ seed, round, share, after, did }, name) {
  const line = [name.replace(/\s+/g, " ").trim(), seed, round, (100 * share).toFixed(0),
    after === "" ? "" : Number(after).toFixed(0), did];
  return `${HUNT_COLUMNS.join("\t")}\n${line.join("\t")}\n`;
}

function showHuntLine() {
  by("hunt-line").value = huntLine(hunt.result, by("hunt-who").value).trimEnd();
}

async function copyHunt(text, done) {
  try {
    await navigator.clipboard.writeText(text);
    huntDone(done);
  } catch {
    huntDone(t("hunt.notCopied"));
    by("hunt-line").select();
  }
}

function huntDone(text) {
  by("hunt-done").textContent = text;
  huntSays(text);
}

// The debrief shows the thermal: less help is no test in the same one.
const huntNextSeed = () => Math.min(hunt.seed + 1, HUNT_MOST_SEED);

/** The address of a file is another one on every computer: its end is what all have in common. */
function copyHuntLink() {
  const { hash, href, protocol } = location;
  if (protocol === "file:") copyHunt(hash, t("hunt.linkedFile", { hash }));
  else copyHunt(href, t("hunt.linked"));
}

function huntFromHash() {
  const [, seed, round] = location.hash.match(/^#hunt=(\d{1,8})(?:,(\d{1,2}))?$/) ?? [];
  if (seed === undefined) return;
  const wanted = Math.min(Math.max(Number(round ?? 1), 1), 16);
  if (hunt.isOpen && hunt.seed === Number(seed) && hunt.round === wanted) return;
  openHunt(Number(seed), wanted);
}

/** What is not in the HTML, in the present language. */
function showHuntWords() {
  by("hunt-line").setAttribute("aria-label", t("hunt.copy"));
  by("hunt-rounds").querySelectorAll("span").forEach((name, place) => {
    name.textContent = t(`hunt.round.${place + 1}`);
  });
  if (!hunt.isOpen) return;
  huntShows(by("hunt-view").dataset.shows);
  if (hunt.result) showDebrief(hunt.result);
}

function wireHunt() {
  for (let round = 1; round <= HUNT_ROUNDS; round += 1) {
    const input = Object.assign(document.createElement("input"), { type: "radio",
      name: "hunt-round", value: round, checked: round === 1 });
    input.addEventListener("change", () => {
      hunt.round = round;
      huntShows("ready");
    });
    const label = document.createElement("label");
    label.append(input, " ", document.createElement("span"));
    by("hunt-rounds").append(label);
  }
  onWords.push(showHuntWords);
  const right = ({ offsetX, target }) => (offsetX > target.clientWidth / 2 ? 1 : -1);
  steerWhileHeld(by("hunt-canvas"), right);
  for (const [id, side] of [["hunt-left", -1], ["hunt-right", 1]]) {
    steerWhileHeld(by(id), () => side);
  }
  by("hunt-open").addEventListener("click", () => openHunt(hunt.seed, hunt.round));
  by("hunt-other").addEventListener("click", () => {
    by("hunt-seed").value = 1 + Math.floor(9999 * Math.random());
  });
  by("hunt-begin").addEventListener("click", beginHunt);
  by("hunt-leave").addEventListener("click", closeHunt);
  by("hunt-view").addEventListener("close", closeHunt);
  by("hunt-view").addEventListener("keydown", onHuntKey);
  const canTilt = window.DeviceOrientationEvent && matchMedia("(pointer: coarse)").matches;
  by("hunt-tilt").hidden = !canTilt;
  by("hunt-tilt").addEventListener("click", askForTilt);
  by("hunt-level").addEventListener("click", () => setHuntBank(0));
  by("hunt-on").addEventListener("click", () =>
    openHunt(huntNextSeed(), Math.min(hunt.round + 1, 16)));
  by("hunt-again").addEventListener("click", () => openHunt(hunt.seed, hunt.round));
  by("hunt-who").addEventListener("input", showHuntLine);
  by("hunt-copy").addEventListener("click", () =>
    copyHunt(huntLine(hunt.result, by("hunt-who").value), t("hunt.copied")));
  by("hunt-link").addEventListener("click", copyHuntLink);
  addEventListener("hashchange", huntFromHash);
}
