// The strip: the last seconds of sound as notes. Each drawn point is a tick that sounded; high is
// high, dashes are beeps, a long line is a steady tone.

const STRIP_S = 15;
const STRIP_HZ = { least: 200, most: 2600 };
// Between the highest sink tone and the lowest beep.
const STRIP_MIDDLE_HZ = 470;
const NOTE_COLOURS = { 1: "climb", 2: "sink", 3: "climb", 4: "fault" };

/** Where the notes lie in the canvas, in CSS pixels; the tests read it too. */
function stripPlaces(pen, width, height, staves) {
  const names = ["strip.climb", "strip.sink", ...(staves > 1 ? ["stave.left", "stave.right"] : [])];
  const gutter = 20 + Math.max(...names.map((key) => pen.measureText(t(key)).width));
  return Array.from({ length: staves }, (_, place) => ({
    start: gutter, end: width - 14, top: (place * height) / staves + 8,
    bottom: ((place + 1) * height) / staves - 8 }));
}

const heightInStrip = ({ top, bottom }, pitch) => {
  const { least, most } = STRIP_HZ;
  const share = Math.log(pitch / least) / Math.log(most / least);
  return bottom - Math.min(Math.max(share, 0), 1) * (bottom - top);
};

/** Stretches that sounded without a break and mean the same: first and last tick. */
function stretches({ pitch, meaning }, first, last) {
  const found = [];
  let open = null;
  for (let tick = first; tick < last; tick += 1) {
    const place = tick % TICKS_KEPT;
    if (pitch[place] === 0) open = null;
    else if (open && open.meaning === meaning[place]) open.last = tick;
    else found.push(open = { first: tick, last: tick, meaning: meaning[place] });
  }
  return found;
}

function drawStrip(canvas, two) {
  const { pen, width, height } = fresh(canvas);
  const places = stripPlaces(pen, width, height, two ? 2 : 1);
  const last = heard.ticks;
  const first = Math.max(0, last - STRIP_S * TICKS_A_SECOND, last - TICKS_KEPT + 1);
  places.forEach((place, stave) => {
    const side = stave === 0 ? "left" : "right";
    const x = (tick) => 
      place.end - ((last - tick) * (place.end - place.start)) / (STRIP_S * TICKS_A_SECOND);
    drawStave(pen, place, two ? t(`stave.${side}`) : "", x);
    for (const stretch of stretches(heard[side], first, last))
      drawNote(pen, place, heard[side], stretch, x);
    if (!context) namePreview(pen, place);
    if (stave > 0) line(pen, 0, place.top - 8, width, place.top - 8, colours.edge, 2);
  });
}

/** Before Start nothing has sounded: the notes are a picture of what would. */
function namePreview(pen, { start, end, top, bottom }) {
  pen.textAlign = "center";
  pen.fillStyle = colours.soft;
  pen.fillText(t("strip.preview"), (start + end) / 2, bottom - 2, end - start);
}

function line(pen, x0, y0, x1, y1, colour, width, dash = []) {
  pen.strokeStyle = colour;
  pen.lineWidth = width;
  pen.setLineDash(dash);
  pen.beginPath();
  pen.moveTo(x0, y0);
  pen.lineTo(x1, y1);
  pen.stroke();
  pen.setLineDash([]);
}

function drawStave(pen, place, name, x) {
  const { start, end, top, bottom } = place;
  for (let back = 5; back < STRIP_S; back += 5) {
    const tick = heard.ticks - back * TICKS_A_SECOND;
    line(pen, x(tick), top, x(tick), bottom, colours.edge, 1);
  }
  const middle = heightInStrip(place, STRIP_MIDDLE_HZ);
  line(pen, start, middle, end, middle, colours.line, 1, [2, 6]);
  line(pen, end + 5, top, end + 5, bottom, colours.line, 2);
  pen.textAlign = "start";
  const from = gutterStart(start);
  pen.fillStyle = colours.soft;
  const isLow = bottom - top < 3.2 * fontSize();
  if (name) pen.fillText(name, from, (top + bottom) / 2 + fontSize() / 3);
  if (name && isLow) return;
  pen.fillStyle = colours.climb;
  pen.fillText(t("strip.climb"), from, top + fontSize());
  pen.fillStyle = colours.sink;
  pen.fillText(t("strip.sink"), from, bottom - 2);
}

const gutterStart = (gutter) => (document.documentElement.dir === "rtl" ? gutter - 8 : 10);

/** A band from the first tick to the end of the last, as thick everywhere, so that a rising note is
 * no longer than it sounded. */
function drawNote(pen, place, ear, { first, last, meaning }, x) {
  const half = Math.max(4, (place.bottom - place.top) / 14) / 2;
  const points = [];
  for (let tick = first; tick < last; tick += 5)
    points.push([x(tick), heightInStrip(place, ear.pitch[tick % TICKS_KEPT])]);
  const y = heightInStrip(place, ear.pitch[last % TICKS_KEPT]);
  points.push([x(last), y], [x(last + 1), y]);
  pen.fillStyle = colours[NOTE_COLOURS[meaning] ?? "ink"];
  pen.beginPath();
  for (const [x, y] of points) pen.lineTo(x, y - half);
  for (const [x, y] of points.reverse()) pen.lineTo(x, y + half);
  pen.fill();
}
