// A flight of the reader's own: dropped or chosen, replayed, with a slider for the moment.

let traceTold = null;
let opened = null;

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
  traceTold = () => (loaded ? `${t("trace.playing")} ${text}` : `${text}.`);
  showTrace();
  by("columns").hidden = true;
  // What was playing goes on where a file is refused.
  if (!loaded) return offerColumns(opened);
  by("playing").hidden = false;
  forgetPath();
  return readProfile();
}

const showTrace = () => {
  by("trace-says").textContent = traceTold ? traceTold() : "";
};

function closeTrace() {
  by("playing").hidden = true;
  by("columns").hidden = true;
  traceTold = null;
  showTrace();
}

const clock = (seconds) =>
  `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`;

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
