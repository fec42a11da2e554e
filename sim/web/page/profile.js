// A whole trace at a glance: its height, and its climbs to jump to.

let profile = { points: [], climbs: [] };

async function readProfile() {
  const { text } = await ask("profile");
  const records = text.split("\n").map((line) => line.split("\t"));
  const of = (kind) =>
    records.filter(([first]) => first === kind).map((record) => record.slice(1).map(Number));
  profile = { points: of("point"), climbs: of("climb") };
  by("profile").hidden = profile.points.length < 2;
  showClimbs();
}

function seekTo(seconds) {
  turned.set("seek", performance.now());
  forgetPath();
  send({ call: "seek", values: [seconds] });
}

/** A button for each climb: when it begins, and what it gains. */
function showClimbs() {
  const buttons = profile.climbs.map(([begin, , gained]) => {
    const button = Object.assign(document.createElement("button"), {
      type: "button", textContent: `${clock(begin)}  +${number(gained, 0)} m` });
    button.addEventListener("click", () => seekTo(begin));
    const item = document.createElement("li");
    item.append(button);
    return item;
  });
  by("climbs").replaceChildren(...buttons);
}

/** Where a moment and a height lie in the canvas. */
function profilePlaces(width, height) {
  const { points } = profile;
  const heights = points.map(([, metres]) => metres);
  const [least, most] = [Math.min(...heights), Math.max(...heights)];
  const length = points[points.length - 1][0];
  const top = 1.6 * fontSize();
  return {
    least,
    most,
    length,
    x: (seconds) => 6 + (seconds / length) * (width - 12),
    y: (metres) =>
      height - 8 - ((metres - least) / Math.max(most - least, 50)) * (height - 8 - top),
  };
}

function drawProfile(now) {
  const canvas = by("profile");
  if (canvas.hidden || profile.points.length < 2) return;
  const { pen, width, height } = fresh(canvas);
  const { x, y, least, most, length } = profilePlaces(width, height);
  pen.fillStyle = colours.airUp;
  pen.globalAlpha = 0.25;
  for (const [begin, end] of profile.climbs)
    pen.fillRect(x(begin), 0, Math.max(x(end) - x(begin), 2), height);
  pen.globalAlpha = 1;
  pen.strokeStyle = colours.ink;
  pen.lineWidth = 2;
  pen.beginPath();
  for (const [seconds, metres] of profile.points) pen.lineTo(x(seconds), y(metres));
  pen.stroke();
  pen.fillStyle = colours.ink;
  pen.textAlign = "left";
  pen.fillText(`${number(least, 0)} – ${number(most, 0)} m`, 8, 1.1 * fontSize());
  pen.textAlign = "right";
  pen.fillText(clock(length), width - 8, 1.1 * fontSize());
  line(pen, x(now.time), 0, x(now.time), height, colours.climb, 3);
}

function wireProfile() {
  by("profile").addEventListener("click", ({ offsetX, target }) => {
    const share = (offsetX - 6) / (target.clientWidth - 12);
    const { length } = profilePlaces(target.clientWidth, target.clientHeight);
    seekTo(Math.min(Math.max(share, 0), 1) * length);
  });
  by("pace").addEventListener("change", ({ target }) =>
    send({ call: "pace", values: [Number(target.value)] }));
  onWords.push(showClimbs);
}
