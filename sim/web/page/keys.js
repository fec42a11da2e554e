// Keys and the six large pads that do the same: wherever the focus is, except while typing, and
// except the keys that a slider or a list needs itself.

// Another part of the page may take the keys while it is open: a function that returns whether it
// has used the event.
let keysTaker = null;

const KEYS = {
  ArrowUp: () => nudge("air", 1),
  ArrowDown: () => nudge("air", -1),
  ArrowLeft: () => nudge("speed", -1),
  ArrowRight: () => nudge("speed", 1),
  0: () => stillAir(),
  c: () => toggleCircle(),
  m: () => toggleMute(),
  r: () => readOut(),
  " ": () => start(),
};

const PADS = [["ArrowUp", "▲", "pad.up"], ["ArrowDown", "▼", "pad.down"],
  ["ArrowLeft", "◀", "pad.pull"], ["ArrowRight", "▶", "pad.push"], ["c", "↻", "pad.circle"],
  ["0", "0", "pad.still"]];
const REPEAT_MS = 220;

/** After a choice by the pointer the arrows fly again; who chooses by keys keeps them there. */
function freeArrows() {
  let byPointer = false;
  addEventListener("pointerdown", () => { byPointer = true; }, true);
  addEventListener("keydown", () => { byPointer = false; }, true);
  addEventListener("click", ({ target }) =>
    byPointer && target.matches("input[type=radio][data-control]") && target.blur());
}

/** Whether the focused element needs this key for itself. */
function isNeededBy(element, key) {
  if (!(element instanceof HTMLElement) || element.isContentEditable) return false;
  if (/^(TEXTAREA|SELECT)$/.test(element.tagName)) return true;
  if (key === " ") return /^(BUTTON|SUMMARY|INPUT|A)$/.test(element.tagName);
  if (element.tagName !== "INPUT") return false;
  if (/^(range|radio)$/.test(element.type)) return key.startsWith("Arrow");
  return !/^(checkbox|button|file)$/.test(element.type);
}

async function fly(act) {
  if (!context) await start();
  act();
}

function onKey(event) {
  if (event.defaultPrevented || event.ctrlKey || event.altKey || event.metaKey) return;
  if (by("check").open) return;
  if (keysTaker?.(event)) {
    event.preventDefault();
    return;
  }
  if (!by("keys-on").checked && !by("fly").contains(event.target)) return;
  const key = event.key.length === 1 ? event.key.toLowerCase() : event.key;
  if (isNeededBy(event.target, key)) return;
  const lesson = /^[1-9]$/.test(key) ? choices.lessons[Number(key) - 1] : undefined;
  if (key === " " || key === "m" || key === "r") KEYS[key]();
  else if (KEYS[key]) fly(KEYS[key]);
  else if (lesson) playLesson(Number(key) - 1);
  else return;
  event.preventDefault();
}

function showPads() {
  by("pads").replaceChildren(...PADS.map(([key, sign, word]) => {
    const button = Object.assign(document.createElement("button"), { type: "button" });
    button.append(Object.assign(document.createElement("b"), { textContent: sign,
      ariaHidden: "true" }), Object.assign(document.createElement("span"), {
      textContent: t(word) }));
    repeatWhileHeld(button, () => fly(KEYS[key]), key.startsWith("Arrow"));
    return button;
  }));
  by("keys").textContent = t("keys.what");
}

/** Acts at once when pressed, again while held, and once for a key or a screen reader. */
function repeatWhileHeld(button, act, repeats) {
  let timer = null;
  const release = () => clearInterval(timer);
  button.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    act();
    if (repeats) timer = setInterval(act, REPEAT_MS);
  });
  for (const end of ["pointerup", "pointercancel", "pointerleave"])
    button.addEventListener(end, release);
  button.addEventListener("click", (event) => event.detail === 0 && act());
}

const stillAir = () => {
  for (const name of ["air", "bank", "thermal"]) turn(CONTROL[name], 0);
};

/** Into a thermal, a little off its centre, and out of it. */
function toggleCircle() {
  const isCircling = choices.controls[CONTROL.bank].value > 0;
  const wanted = isCircling ? { bank: 0, thermal: 0 }
    : { bank: 40, thermal: 4, offset: 40, speed: 24, air: 0 };
  for (const [name, value] of Object.entries(wanted)) turn(CONTROL[name], value);
}
