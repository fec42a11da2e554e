// The columns of a CSV that has other names than ours: chosen by hand where the file is refused.

/** The channels of `--columns` with their words, and which of them a trace must have. */
const CHANNELS = [["time", "columns.time", true], ["static", "columns.static", true],
  ["dynamic", "columns.dynamic", false], ["te", "columns.te", false]];
const UNIT_CHANNELS = { time: ["", "s", "ms"], static: ["", "Pa", "hPa", "m"] };
let refused = null;

const messageOf = (file, bytes) => ({ name: new TextEncoder().encode(file.name).buffer, bytes });

/** Offers the columns of a file that was refused; false of an IGC log or of what is no text. */
async function offerColumns(file) {
  refused = file;
  const { text } = await askOfFile("columns", messageOf(file, await file.arrayBuffer()));
  const names = text === "" ? [] : text.split("\n");
  by("columns").hidden = names.length < 2;
  if (names.length < 2) return false;
  by("columns-of").replaceChildren(...CHANNELS.map(([channel, words, isNeeded]) =>
    channelRow(channel, t(words), isNeeded, names)));
  // A guess: the time comes first, a pressure next.
  by("column-static").selectedIndex = 1;
  return true;
}

function channelRow(channel, title, isNeeded, names) {
  const choose = (id, options) => {
    const select = Object.assign(document.createElement("select"), { id });
    select.append(...options);
    return select;
  };
  const label = Object.assign(document.createElement("label"), {
    htmlFor: `column-${channel}`, textContent: title });
  const none = isNeeded ? [] : [new Option(t("columns.none"), "")];
  const row = document.createElement("div");
  row.className = "row";
  const columns = names.map((name) => new Option(name));
  row.append(label, choose(`column-${channel}`, [...none, ...columns]));
  if (UNIT_CHANNELS[channel]) {
    const unit = choose(`unit-${channel}`, UNIT_CHANNELS[channel].map((name) =>
      new Option(name === "" ? t("columns.unit") : name, name)));
    unit.setAttribute("aria-label", `${title}: ${t("columns.unit")}`);
    row.append(unit);
  }
  return row;
}

/** Reads the refused file again with the columns chosen. */
async function useColumns(event) {
  event.preventDefault();
  const named = CHANNELS.flatMap(([channel]) => {
    const { value } = by(`column-${channel}`);
    const unit = by(`unit-${channel}`)?.value;
    return value === "" ? [] : [`${channel}=${value}${unit ? `:${unit}` : ""}`];
  });
  await openTrace(refused, named.join(","));
}
