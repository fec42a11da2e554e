// The drill: the WebAssembly makes, plays, times and scores the questions; this shows them.

let drilling = null;
let answersGiven = "";
/** The answer of whoever does not know: BLANK of src/lib.rs. */
const BLANK = 4294967295;

const DRILL_WORDS = {
  begins: "Drill: listen, then answer, by keys 1 to 5 or 0. N for the next question.",
  number: (n, of) => `Question ${n} of ${of}`,
  listen: "Listen.",
  doNotKnow: "I do not know",
  right: (asked) => `Right: ${asked}`,
  wrong: (asked, given) => `It was: ${asked}. You said: ${given}`,
  blank: (asked) => `It was: ${asked}`,
  after: (seconds) => `, after ${seconds} s`,
  early: ", but before the change could be heard",
  score: (right, total) => `${right} of ${total} right`,
  guessing: (count, luck) => `, where guessing gets ${count}${luck ? " and may get as many" : ""}`,
  threshold: (mps, percent) =>
    `; you hear a change of ${mps} m/s three times out of four (± ${percent} %)`,
  beyond: "; no change is told from guessing yet",
  mean: (seconds) => `; ${seconds} s on average`,
  blanks: (count) => `; ${count} left blank`,
  earlies: (count) => `; ${count} before the change could be heard`,
  table: "Down: what it was. Across: what you said.",
  none: "nothing",
  over: "The drill is over; the flight goes on.",
};

async function beginDrill() {
  const kind = Number(document.querySelector("input[name=kind]:checked").value);
  const number = (id) =>
    Math.min(Math.max(Number(by(id).value) || 0, Number(by(id).min)), Number(by(id).max));
  const wanted = number("wanted");
  drilling = { kind: choices.kinds[kind], wanted, number: 0, sounding: false };
  closeTrace();
  by("drill-score").hidden = true;
  by("answers").replaceChildren(...drilling.kind.answers.map((name, place) =>
    answerButton(`${place + 1}  ${name}`, place)),
  answerButton(`0  ${DRILL_WORDS.doNotKnow}`, BLANK));
  by("drill-asks").textContent = drilling.kind.question;
  await ensureStarted();
  send({ call: "begin_drill", values: [kind, number("drill-seed"), wanted] });
  by("caption").textContent = DRILL_WORDS.begins;
  by("drill-choose").hidden = true;
  by("drill-run").hidden = false;
  await nextQuestion();
}

function answerButton(name, choice) {
  const button = Object.assign(document.createElement("button"), {
    type: "button", textContent: name });
  button.addEventListener("click", () => giveAnswer(choice));
  return button;
}

async function nextQuestion() {
  const { value } = await ask("ask");
  if (!drilling) return;
  drilling.sounding = value === 1;
  if (value !== 1) return endDrill();
  drilling.number += 1;
  by("drill-number").textContent = DRILL_WORDS.number(drilling.number, drilling.wanted);
  by("drill-says").textContent = DRILL_WORDS.listen;
  showDrillButtons();
  by("answers").firstElementChild.focus();
}

function showDrillButtons() {
  for (const button of by("answers").children) button.disabled = !drilling.sounding;
  by("drill-next").disabled = drilling.sounding;
  by("drill-again").disabled = !drilling.sounding;
}

async function giveAnswer(choice) {
  if (!drilling?.sounding) return;
  drilling.sounding = false;
  // Delay from the instrument to the ear.
  const late = context.outputLatency || context.baseLatency || 0;
  const { value, text } = await ask("answer", choice, late);
  if (value !== 1 || !drilling) return;
  const records = text.trim().split("\n").map((line) => line.split("\t"));
  const of = (kind) => records.filter(([first]) => first === kind).map((record) => record.slice(1));
  const [score] = of("score");
  const [outcome, ear] = [of("outcome")[0], of("ear")[0]];
  by("drill-says").textContent = `${outcomeText(outcome)}. ${scoreText(score, ear)}.`;
  showTable(of("row"));
  showDrillButtons();
  if (score[7] === "1") by("drill-next").focus();
  else endDrill();
}

/** The records of src/describe.rs in words. */
function outcomeText([right, asked, given, seconds, early]) {
  const { answers } = drilling.kind;
  if (given === "-1") return DRILL_WORDS.blank(answers[asked]);
  const result = right === "1" ? DRILL_WORDS.right(answers[asked])
    : DRILL_WORDS.wrong(answers[asked], answers[given]);
  return result + (early === "1" ? DRILL_WORDS.early : DRILL_WORDS.after(seconds));
}

function scoreText([right, total, guessing, luck, mean, early, blank], ear) {
  const [mps, error] = ear ?? [];
  const told = !ear ? DRILL_WORDS.guessing(guessing, luck === "1")
    : Number(mps) > 1.5 ? DRILL_WORDS.beyond
    : DRILL_WORDS.threshold(Number(mps).toFixed(2), (100 * error).toFixed(0));
  return DRILL_WORDS.score(right, total) + told
    + (mean === "" ? "" : DRILL_WORDS.mean(mean))
    + (blank === "0" ? "" : DRILL_WORDS.blanks(blank))
    + (early === "0" ? "" : DRILL_WORDS.earlies(early));
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
  const caption = cell("caption", DRILL_WORDS.table);
  const { answers } = drilling.kind;
  const names = [...answers, DRILL_WORDS.none].map((name) => cell("th", name, "col"));
  const body = rows.map((counts, place) =>
    line(cell("th", answers[place], "row"), ...counts.map((count) => cell("td", count))));
  by("drill-table").replaceChildren(caption, line(cell("td", ""), ...names), ...body);
  by("drill-score").hidden = false;
}

/** Back to the choices and to the flight; the answers stay to be looked at and saved. */
async function endDrill() {
  drilling = null;
  by("drill-run").hidden = true;
  by("drill-choose").hidden = false;
  by("caption").textContent = DRILL_WORDS.over;
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
  for (const choice of document.querySelectorAll("input[name=kind]")) {
    choice.addEventListener("change", () => {
      by("wanted").value = choices.kinds[Number(choice.value)].wanted;
    });
  }
  by("drill-run").addEventListener("keydown", onDrillKey);
}

function onDrillKey(event) {
  if (event.ctrlKey || event.altKey || event.metaKey) return;
  const key = event.key.toLowerCase();
  const { length } = by("answers").children;
  const place = key === "0" ? length - 1 : Number(key) - 1;
  const button = key === "n" ? by("drill-next") : /^[0-5]$/.test(key) && place < length
    ? by("answers").children[place] : null;
  if (!button || button.disabled) return;
  event.preventDefault();
  button.click();
}
