// A flight of the reader's own: dropped or chosen, replayed, with a slider for the moment.

let traceTold = null;

async function openTrace(file) {
  leaveDrill();
  const bytes = await file.arrayBuffer();
  const name = new TextEncoder().encode(file.name).buffer;
  traceTold = () => t("trace.reading", { name: file.name });
  showTrace();
  send({ call: "load", file: { name, bytes } }, [name, bytes]);
  await ensureStarted();
}

/** The instrument has replayed the file, or says in English why not. */
function tellTrace(loaded, text) {
  by("playing").hidden = !loaded;
  traceTold = () => (loaded ? `${t("trace.playing")} ${text}` : `${text}.`);
  showTrace();
  if (loaded) forgetPath();
}

const showTrace = () => {
  by("trace-says").textContent = traceTold ? traceTold() : "";
};

function closeTrace() {
  by("playing").hidden = true;
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
  by("seek").addEventListener("input", ({ target }) => {
    turned.set("seek", performance.now());
    forgetPath();
    send({ call: "seek", values: [Number(target.value)] });
  });
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
