// The drill: the WebAssembly makes, plays, times and scores the questions; this shows them.

let drilling = null;
let answersGiven = "";

async function beginDrill() {
  const kind = Number(document.querySelector("input[name=kind]:checked").value);
  const number = (id) =>
    Math.min(Math.max(Number(by(id).value) || 0, Number(by(id).min)), Number(by(id).max));
  drilling = { kind: choices.kinds[kind], sounding: false };
  closeTrace();
  by("drill-score").hidden = true;
  by("answers").replaceChildren(...drilling.kind.answers.map(answerButton));
  by("drill-asks").textContent = drilling.kind.question;
  await ensureStarted();
  send({ call: "begin_drill", values: [kind, number("drill-seed"), number("wanted")] });
  by("caption").textContent = 
    "Drill: listen, then answer. Keys 1 to 5 answer while the focus is in the drill.";
  by("drill-choose").hidden = true;
  by("drill-run").hidden = false;
  await nextQuestion();
}

function answerButton(name, place) {
  const button = Object.assign(document.createElement("button"), {
    type: "button", textContent: `${place + 1}  ${name}` });
  button.addEventListener("click", () => giveAnswer(place));
  return button;
}

async function nextQuestion() {
  const { value } = await ask("ask");
  if (!drilling) return;
  drilling.sounding = value === 1;
  if (value !== 1) return endDrill();
  by("drill-says").textContent = "Listen.";
  showDrillButtons();
  by("answers").firstElementChild.focus();
}

function showDrillButtons() {
  for (const button of by("answers").children) button.disabled = !drilling.sounding;
  by("drill-next").disabled = drilling.sounding;
  by("drill-again").disabled = !drilling.sounding;
}

async function giveAnswer(place) {
  if (!drilling?.sounding) return;
  drilling.sounding = false;
  // Delay from the instrument to the ear.
  const late = context.outputLatency || context.baseLatency || 0;
  const { value, text } = await ask("answer", place, late);
  if (value !== 1 || !drilling) return;
  const records = text.trim().split("\n").map((line) => line.split("\t"));
  const [, right, asked, given, seconds] = records.find(([kind]) => kind === "outcome");
  const [, sentence, more] = records.find(([kind]) => kind === "score");
  const when = seconds === "" ? ", but before the change could be heard" : `, after ${seconds} s`;
  const result = right === "1" ? `Right: ${asked}` : `It was: ${asked}. You said: ${given}`;
  by("drill-says").textContent = `${result}${when}. ${sentence}.`;
  showTable(records.filter(([kind]) => kind === "row"));
  showDrillButtons();
  if (more === "1") by("drill-next").focus();
  else endDrill();
}

function showTable(rows) {
  const cell = (tag, text, scope) => {
    const made = Object.assign(document.createElement(tag), { textContent: text });
    if (scope) made.scope = scope;
    return made;
  };
  const line = (...cells) => {
    const made = document.createElement("tr");
    made.append(...cells);
    return made;
  };
  const caption = cell("caption", "Down: what it was. Across: what you said.");
  const names = drilling.kind.answers.map((name) => cell("th", name, "col"));
  const body = rows.map(([, name, ...counts]) =>
    line(cell("th", name, "row"), ...counts.map((count) => cell("td", count))));
  by("drill-table").replaceChildren(caption, line(cell("td", ""), ...names), ...body);
  by("drill-score").hidden = false;
}

/** Back to the choices and to the flight; the answers stay to be looked at and saved. */
async function endDrill() {
  drilling = null;
  by("drill-run").hidden = true;
  by("drill-choose").hidden = false;
  by("caption").textContent = "The drill is over; the flight goes on.";
  by("drill-begin").focus();
  answersGiven = (await ask("results")).text;
  send({ call: "end_drill" });
}

/** Something else is to be heard. */
function leaveDrill() {
  if (drilling) endDrill();
}

function saveAnswers() {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([answersGiven], { type: "text/csv" }));
  link.download = "chirrup-drill.csv";
  link.click();
  URL.revokeObjectURL(link.href);
}

function wireDrill() {
  by("drill-begin").addEventListener("click", beginDrill);
  by("drill-next").addEventListener("click", nextQuestion);
  by("drill-again").addEventListener("click", async () => {
    await ask("ask");
    by("answers").firstElementChild.focus();
  });
  by("drill-end").addEventListener("click", endDrill);
  by("drill-save").addEventListener("click", saveAnswers);
  by("drill-run").addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || !/^[1-5]$/.test(event.key)) return;
    const button = by("answers").children[Number(event.key) - 1];
    if (button && !button.disabled) button.click();
  });
}
