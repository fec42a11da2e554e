// A flight of the reader's own: dropped or chosen, replayed, with a slider for the moment.

let traceTold = null;
let opened = null;
let playing = null;

/** Reads a file; `columns` names those of a CSV that have other names than ours. */
async function openTrace(file, columns = "") {
  leaveDrill();
  traceTold = () => t("trace.reading", { name: file.name });
  showTrace();
  opened = file;
  send({ call: "nameColumns", text: new TextEncoder().encode(columns) });
  send({ call: "load", file: messageOf(file, await file.arrayBuffer()) });
  await ensureStarted();
}

/** The instrument has replayed the file, or says in English why not. */
function tellTrace(loaded, text) {
  by("columns").hidden = true;
  if (!loaded) return tellRefused(text);
  playing = opened;
  traceTold = () => `${t("trace.playing", { name: playing.name })} ${text}`;
  showTrace();
  by("playing").hidden = false;
  forgetPath();
  return readProfile();
}

/** What was playing goes on; where columns can be chosen, that says enough. */
async function tellRefused(text) {
  const { name } = opened;
  const isOffered = await offerColumns(opened);
  const goesOn = () => (playing ? ` ${t("trace.goes.on", { name: playing.name })}` : "");
  traceTold = () => (isOffered ? t("columns.refused", { name }) : `${text}.`) + goesOn();
  showTrace();
}

const showTrace = () => {
  by("trace-says").textContent = traceTold ? traceTold() : "";
};

function closeTrace() {
  by("playing").hidden = true;
  by("columns").hidden = true;
  playing = null;
  traceTold = null;
  showTrace();
}

const clock = (seconds) => {
  const two = (value) => String(Math.floor(value)).padStart(2, "0");
  const minutes = Math.floor(seconds / 60);
  return minutes < 60 ? `${minutes}:${two(seconds % 60)}`
    : `${Math.floor(minutes / 60)}:${two(minutes % 60)}:${two(seconds % 60)}`;
};

function showSeek({ time, length }) {
  const seek = by("seek");
  seek.max = Math.ceil(length);
  if (document.activeElement !== seek || !turnedLately("seek")) seek.value = time;
  const text = t("trace.time", { time: clock(time), length: clock(length) });
  set(by("seek-says"), text);
  seek.setAttribute("aria-valuetext", text);
}

function wireTrace() {
  by("file").addEventListener("change", ({ target }) =>
    target.files[0] && openTrace(target.files[0]));
  by("seek").addEventListener("input", ({ target }) => seekTo(Number(target.value)));
  by("columns").addEventListener("submit", useColumns);
  onWords.push(() => by("columns").hidden || offerColumns(refused));
  wireProfile();
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
