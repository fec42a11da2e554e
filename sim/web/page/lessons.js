// Lessons: their keys, and playing one.

const NO_LESSON = 4294967295;

function endLesson() {
  byHand();
  send({ call: "lesson", values: [NO_LESSON] });
}

async function playLesson(place) {
  leaveDrill();
  // A second press stops it.
  const stop = latest?.lesson === place && Boolean(context);
  forgetPath();
  if (stop) byHand();
  send({ call: "lesson", values: [stop ? NO_LESSON : place] });
  closeTrace();
  await ensureStarted();
  // Far down the page the flight is out of view.
  if (!stop) by("caption").scrollIntoView({ block: "nearest" });
}

function showLessons() {
  by("lessons").replaceChildren(...choices.lessons.map(({ key, seconds }, place) => {
    const button = Object.assign(document.createElement("button"), { type: "button" });
    const name = t(`lesson.${key}.title`);
    button.append(Object.assign(document.createElement("kbd"), { textContent: place + 1 }),
      ` ${name}`);
    button.title = t("lesson.length", { seconds: number(seconds, 0) });
    button.setAttribute("aria-pressed", String(latest?.lesson === place));
    button.addEventListener("click", () => playLesson(place));
    const item = document.createElement("li");
    item.append(button);
    return item;
  }));
}
