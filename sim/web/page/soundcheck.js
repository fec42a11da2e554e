// A minute for the ears: on which loudspeaker is steep sink heard, and at which volume. The sounds
// are the instrument's own; the flight pauses meanwhile.

// What is heard in each step, m/s: steep sink, weak climb, strong climb.
const CHECK_STEPS = [{ key: "sink", value: -8 }, { key: "weak", value: 0.3 },
  { key: "strong", value: 8 }];
// In the order in which they are offered: numbers of the control.
const CHECK_KINDS = [[1, "small"], [0, "flat"], [2, "piezo"]];
let checkStep = null;
let wasPaused = false;

async function openCheck() {
  leaveDrill();
  wasPaused = context?.state === "suspended";
  turn(CONTROL.mute, 0);
  by("check").showModal();
  checkStep = 0;
  await ensureStarted();
  showCheck();
}

function showCheck() {
  if (checkStep === null) return;
  const { key, value } = CHECK_STEPS[checkStep];
  const kind = choices.controls[CONTROL.speaker].value;
  send({ call: "check", values: [kind, value] });
  by("check-says").textContent = t(`check.${key}`);
  by("check-kinds").hidden = checkStep > 0;
  by("check-kinds").replaceChildren(...CHECK_KINDS.map(([value, name]) => {
    const button = Object.assign(document.createElement("button"), {
      type: "button", textContent: t(`check.${name}`) });
    button.setAttribute("aria-pressed", String(value === kind));
    button.addEventListener("click", () => chooseKind(value));
    return button;
  }));
  by("check-next").textContent =
    t(checkStep + 1 < CHECK_STEPS.length ? "check.next" : "check.done");
}

function chooseKind(value) {
  turn(CONTROL.speaker, value);
  showCheck();
  by("check-kinds").querySelector("[aria-pressed=true]").focus();
}

function nextCheck() {
  checkStep += 1;
  if (checkStep < CHECK_STEPS.length) showCheck();
  else by("check").close();
}

function endCheck() {
  checkStep = null;
  send({ call: "end_check" });
  if (wasPaused) context.suspend().then(showStart);
}

function wireCheck() {
  by("check-open").addEventListener("click", openCheck);
  by("check-next").addEventListener("click", nextCheck);
  by("check-close").addEventListener("click", () => by("check").close());
  by("check").addEventListener("close", endCheck);
  // The check's own level is set anew, since it has an instrument of its own.
  by("check-volume").addEventListener("input", showCheck);
  onWords.push(showCheck);
}
