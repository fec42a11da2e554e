// The caption: what happens now, in a sentence, made from the present state at every look, so that
// it cannot be left behind.

const CALM_MPS = 0.05;
let lessonOver = null;
let drillSays = null;

/** The sentence for the present state. */
function captionNow() {
  if (trouble) return t(trouble.key, { error: trouble.error ?? "" });
  if (!context) return t("caption.first");
  if (context.state !== "running" && !moving) return t("caption.paused");
  if (checkStep !== null) return t("caption.check");
  if (drillSays) return t(drillSays);
  if (!latest) return t("caption.starting");
  if (latest.lesson >= 0) {
    const { key } = choices.lessons[latest.lesson];
    return t(`lesson.${key}.${Math.max(0, latest.caption)}`);
  }
  if (lessonOver) {
    const question = t(`lesson.${lessonOver}.question`);
    return t("caption.over", { title: t(`lesson.${lessonOver}.title`), question });
  }
  return latest.length > 0 ? captionOfTrace(latest) : captionOfFlight(latest);
}

function captionOfTrace({ time, length }) {
  return t(time >= length - 0.05 ? "caption.trace.over" : "caption.trace");
}

function captionOfFlight({ air, bank, left, controls }) {
  const status = choices.statuses[left.status];
  if (DOUBTS[status]) return t(`caption.${DOUBTS[status]}`);
  if (!left.good) return t("caption.settling");
  if (performance.now() < restarted) return t("caption.restarted");
  if (bank > 0.05) return t(controls[CONTROL.thermal] > 0 ? "caption.circling" : "caption.turning");
  if (Math.abs(air) < CALM_MPS) return t("caption.still");
  if (air < 0) return t("caption.sinking");
  return t(left.reading > 0.05 ? "caption.rising" : "caption.slowly");
}

/** Statuses in which the figures are missing or doubtful, and their words. */
const DOUBTS = { frozen: "frozen", suspect: "suspect", bad_pressure: "no.pressure",
  check_tubes: "tubes", check_static: "static" };

// Until when it is said that a new flight has begun.
let restarted = 0;

function showCaption() {
  const text = captionNow();
  if (by("caption").textContent !== text) by("caption").textContent = text;
  const isNotice = notice !== null && notice.until > performance.now();
  if (isNotice) by("notice").textContent = t(notice.key);
  by("notice").hidden = !isNotice;
}

/** Notes the ends of lessons and new flights, in the order in which reports come. */
function followLesson(report, before) {
  if (before && report.restarts > before.restarts) restarted = performance.now() + 8000;
  const lesson = before && before.lesson >= 0 ? choices.lessons[before.lesson] : null;
  // A lesson that a hand has ended is not over.
  if (lesson && report.lesson < 0 && before.time > lesson.seconds - 0.5) lessonOver = lesson.key;
  if (report.lesson >= 0 || report.length > 0) lessonOver = null;
  if (before?.lesson === report.lesson) return;
  for (const [place, button] of document.querySelectorAll("#lessons button").entries())
    button.setAttribute("aria-pressed", String(place === report.lesson));
}

/** A hand on the flight ends what is said of the last lesson. */
function byHand() {
  lessonOver = null;
}
