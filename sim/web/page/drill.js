// The drill: the WebAssembly makes, plays, times and scores the questions; this shows them.

let drilling = null;
let answersGiven = "";
/** Records of the last answer, for every language. */
let drillLast = null;
/** The answer of whoever does not know: BLANK of src/lib.rs. */
const BLANK = 4294967295;

const answerName = (kind, place) => t(`kind.${kind.key}.${place}`);

async function beginDrill() {
  const kind = Number(document.querySelector("input[name=kind]:checked").value);
  // The field shows the number that is asked.
  const number = (id) => {
    const { value, min, max } = by(id);
    by(id).value = Math.min(Math.max(Math.floor(Number(value)) || 0, Number(min)), Number(max));
    return Number(by(id).value);
  };
  const wanted = number("wanted");
  drilling = { kind: choices.kinds[kind], wanted, number: 0, sounding: false };
  drillLast = null;
  keysTaker = takeDrillKey;
  closeTrace();
  by("drill-score").hidden = true;
  drillSays = "caption.drill";
  showQuestion();
  await ensureStarted();
  send({ call: "begin_drill", values: [kind, number("drill-seed"), wanted] });
  by("drill-choose").hidden = true;
  by("drill-run").hidden = false;
  await nextQuestion();
}

/** All of the drill, in the present language. */
function showDrillWords() {
  showQuestion();
  tellDrill();
}

function tellDrill() {
  if (drilling) by("drill-number").textContent = t("drill.number", drilling);
  if (drillLast) showTable(drillLast);
  const { outcome, score, ear } = drillLast ?? {};
  by("drill-says").textContent = drilling?.sounding ? t("drill.listen")
    : drillLast ? `${outcomeText(outcome)}. ${scoreText(score, ear)}.` : "";
}

/** The question and its answers. */
function showQuestion() {
  if (!drilling) return;
  const { kind } = drilling;
  by("answers").replaceChildren(...kind.answers.map((_, place) =>
    answerButton(`${place + 1}  ${answerName(kind, place)}`, place)),
  answerButton(`0  ${t("drill.do.not.know")}`, BLANK));
  by("drill-asks").textContent = t(`kind.${kind.key}.question`);
  showDrillButtons();
}

function answerButton(name, choice) {
  const button = Object.assign(document.createElement("button"), {
    type: "button", textContent: name });
  button.addEventListener("click", () => giveAnswer(choice));
  return button;
}

async function nextQuestion() {
  await ensureStarted();
  const { value } = await ask("ask");
  if (!drilling) return;
  drilling.sounding = value === 1;
  if (value !== 1) return endDrill();
  drilling.number += 1;
  tellDrill();
  showDrillButtons();
  focusAnswers();
}

// Not one of the answers: Space and Enter would give it.
const focusAnswers = () => by("answers").focus();

async function hearAgain() {
  await ensureStarted();
  await ask("ask");
  focusAnswers();
}

/** While the sound is paused there is nothing to answer. */
const canAnswer = () => drilling?.sounding && context?.state === "running";

function showDrillButtons() {
  if (!drilling) return;
  for (const button of by("answers").children) button.disabled = !canAnswer();
  by("drill-next").disabled = drilling.sounding;
  by("drill-again").disabled = !drilling.sounding;
}

async function giveAnswer(choice) {
  if (!canAnswer()) return;
  drilling.sounding = false;
  // Delay from the instrument to the ear.
  const late = context.outputLatency || context.baseLatency || 0;
  const { value, text } = await ask("answer", choice, late);
  if (value !== 1 || !drilling) return;
  const records = text.trim().split("\n").map((line) => line.split("\t"));
  const of = (kind) => records.filter(([first]) => first === kind).map((record) => record.slice(1));
  const [score] = of("score");
  drillLast = { kind: drilling.kind, outcome: of("outcome")[0], score, ear: of("ear")[0],
    rows: of("row") };
  tellDrill();
  showDrillButtons();
  if (score[7] === "1") by("drill-next").focus();
  else endDrill();
}

/** The records of src/describe.rs in words. */
function outcomeText([right, asked, given, seconds, early]) {
  const { kind } = drillLast;
  const names = { asked: answerName(kind, asked) };
  if (given === "-1") return t("drill.was", names);
  names.given = answerName(kind, given);
  const result = t(right === "1" ? "drill.right" : "drill.wrong", names);
  const when = early === "1" ? t("drill.early")
    : t("drill.after", { seconds: number(Number(seconds), 2) });
  return result + when;
}

function scoreText([right, total, guessing, luck, mean, early, blank], ear) {
  const [mps, error, known, least, most] = ear ?? [];
  const parts = [t("drill.so.far", { right, total })];
  if (!ear) {
    const by = { count: number(Number(guessing), 1) };
    parts.push(t(luck === "1" ? "drill.luck" : "drill.guessing", by));
  } else if (Number(mps) > 1.5) parts.push(t("drill.beyond"));
  else if (known === "0") {
    const between = { least: number(Number(least), 2), most: number(Number(most), 2) };
    parts.push(t("drill.unknown", between));
  }
  else parts.push(t("drill.ear", { mps: number(Number(mps), 2), percent: number(100 * error, 0) }));
  if (mean !== "") parts.push(t("drill.mean", { seconds: number(Number(mean), 2) }));
  if (blank !== "0") parts.push(t("drill.blanks", { count: blank }));
  if (early !== "0") parts.push(t("drill.earlies", { count: early }));
  return parts.join("");
}

function showTable({ kind, rows }) {
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
  const caption = cell("caption", t("drill.table"));
  const answers = kind.answers.map((_, place) => answerName(kind, place));
  const names = [...answers, t("drill.none")].map((name) => cell("th", name, "col"));
  const body = rows.map((counts, place) =>
    line(cell("th", answers[place], "row"), ...counts.map((count) => cell("td", count))));
  by("drill-table").replaceChildren(caption, line(cell("td", ""), ...names), ...body);
  by("drill-score").hidden = false;
}

/** Back to the choices and to the flight; the answers stay to be looked at and saved. */
async function endDrill() {
  drilling = null;
  keysTaker = null;
  tellDrill();
  by("drill-run").hidden = true;
  by("drill-choose").hidden = false;
  drillSays = null;
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
  onWords.push(showDrillWords);
  by("drill-begin").addEventListener("click", beginDrill);
  by("drill-next").addEventListener("click", nextQuestion);
  by("drill-again").addEventListener("click", hearAgain);
  by("drill-end").addEventListener("click", endDrill);
  by("drill-save").addEventListener("click", saveAnswers);
  for (const choice of document.querySelectorAll("input[name=kind]")) {
    choice.addEventListener("change", () => {
      by("wanted").value = choices.kinds[Number(choice.value)].wanted;
    });
  }
}

/** The digits and N belong to a drill that runs, wherever the focus is: no digit is a lesson. */
function takeDrillKey({ key, target, repeat }) {
  if (!/^[0-9n]$/i.test(key) || isNeededBy(target, key)) return false;
  if (!by("keys-on").checked && !by("drill").contains(target)) return false;
  const [...answers] = by("answers").children;
  const blank = answers.pop();
  const button = /n/i.test(key) ? by("drill-next") : key === "0" ? blank : answers[key - 1];
  if (!repeat && !button?.disabled) button?.click();
  return true;
}
