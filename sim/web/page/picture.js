// The moving picture: the glider in the air, its height, and a trace of the recent sound.

const SKY_S = 40;
const SCORE_S = 15;
const GROUND_M = 100;
const still = matchMedia("(prefers-reduced-motion: reduce)");
const history = [];

function remember(report) {
  const last = history[history.length - 1];
  // A new flight, or a jump in the trace.
  if (last && (report.time < last.time || report.time > last.time + 2)) history.length = 0;
  history.push(report);
  while (history[0].time < report.time - SKY_S) history.shift();
}

/** A canvas at the screen's own resolution, cleared, with the page's colours. */
function fresh(canvas) {
  const scale = devicePixelRatio || 1;
  const width = canvas.clientWidth;
  const height = canvas.clientHeight;
  if (canvas.width !== Math.round(width * scale) || canvas.height !== Math.round(height * scale)) {
    canvas.width = Math.round(width * scale);
    canvas.height = Math.round(height * scale);
  }
  const pen = canvas.getContext("2d");
  pen.setTransform(scale, 0, 0, scale, 0, 0);
  pen.clearRect(0, 0, width, height);
  pen.font = `${fontSize()}px system-ui, sans-serif`;
  pen.lineCap = "round";
  pen.lineJoin = "round";
  return { pen, width, height };
}

const fontSize = () => 0.85 * parseFloat(getComputedStyle(document.documentElement).fontSize);
let colours = {};
function readColours() {
  const style = getComputedStyle(document.documentElement);
  for (const name of ["paper", "ink", "soft", "line", "edge", "ground", "trace", "air", "glider",
    "left", "right", "sky"]) {
    colours[name] = style.getPropertyValue(`--${name}`).trim();
  }
}
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", readColours);

// How far the air has gone past the glider, and up past it, in metres.
const gone = { along: 0, up: 0, middle: 0, time: null };

function drawSky(canvas, now) {
  const { pen, width, height } = fresh(canvas);
  const metres = 150;
  const scale = height / metres;
  const since = gone.time === null ? Infinity : now.time - gone.time;
  // After a jump in time the picture jumps too.
  if (!(since >= 0 && since < 1)) gone.middle = now.height;
  const dt = Math.min(Math.max(since, 0), 0.2);
  const follow = still.matches ? 1 : 1 - Math.exp(-dt / 1.5);
  gone.middle += (now.height - gone.middle) * follow;
  gone.along += now.speed * dt;
  gone.up += now.air * dt;
  gone.time = now.time;
  const y = (metresUp) => height / 2 - (metresUp - gone.middle) * scale;
  const at = { x: width * 0.72, y: y(now.height) };
  const x = (time) => at.x - ((now.time - time) * at.x) / SKY_S;
  drawHeights(pen, width, height, y, metres);
  drawAir(pen, width, height, scale, at, now, x);
  drawTrace(pen, x, y);
  nameHeights(pen, width, y, metres);
  drawGlider(pen, at, now, Math.max(46, Math.min(width, 1400) * 0.085));
  if (now.radius > 0 && now.bank > 0.05) 
    drawFromAbove(pen, now, Math.min(height * 0.4, width * 0.3));
}

function drawHeights(pen, width, height, y, metres) {
  const ground = y(GROUND_M);
  if (ground < height) {
    pen.fillStyle = colours.ground;
    pen.fillRect(0, ground, width, height - ground);
  }
  pen.lineWidth = 1;
  pen.strokeStyle = colours.edge;
  for (const line of heightLines(metres)) {
    pen.beginPath();
    pen.moveTo(0, y(line));
    pen.lineTo(width, y(line));
    pen.stroke();
  }
}

function heightLines(metres) {
  const first = Math.ceil((gone.middle - metres / 2) / 25) * 25;
  return [0, 25, 50, 75, 100, 125, 150]
    .map((above) => first + above)
    .filter((line) => line < gone.middle + metres / 2);
}

function nameHeights(pen, width, y, metres) {
  pen.textAlign = "right";
  pen.lineWidth = 6;
  pen.strokeStyle = colours.sky;
  pen.fillStyle = colours.ink;
  for (const line of heightLines(metres)) {
    if (line % 50 !== 0 || y(line) < fontSize()) continue;
    // Keeps the text legible over the arrows.
    pen.strokeText(`${line} m`, width - 10, y(line) - 5);
    pen.fillText(`${line} m`, width - 10, y(line) - 5);
  }
}

/** Arrows that drift with the air: up in rising air, longer for faster air, dots in still air. */
function drawAir(pen, width, height, scale, at, now, x) {
  const apart = Math.max(64, width / 14);
  const along = still.matches ? 0 : gone.along * 3;
  const up = still.matches ? 0 : gone.up * scale;
  pen.strokeStyle = colours.air;
  pen.fillStyle = colours.air;
  pen.lineWidth = 2;
  const shift = along / apart;
  const firstColumn = Math.floor(shift);
  for (let column = firstColumn - 1; column <= firstColumn + width / apart + 1; column += 1) {
    const px = (column - shift) * apart;
    const air = airAt(px, at, now, x);
    const firstRow = Math.floor(up / apart);
    for (let row = firstRow - 1; row <= firstRow + height / apart + 1; row += 1) {
      const jitter = 0.5 + 0.5 * Math.sin(column * 12.9898 + row * 78.233);
      const py = height - (row - up / apart) * apart - ((column & 1) * 0.5 + 0.3 * jitter) * apart;
      arrow(pen, px + 0.3 * jitter * apart, py, air);
    }
  }
}

/** What the air did when the glider was there; ahead of it what it does now. */
function airAt(px, at, now, x) {
  if (px >= at.x) return now.air;
  for (let place = history.length - 1; place >= 0; place -= 6) {
    if (x(history[place].time) <= px) return history[place].air;
  }
  return 0;
}

function arrow(pen, x, y, air) {
  const length = Math.min(Math.abs(air) * 9, 52);
  if (length < 4) {
    pen.beginPath();
    pen.arc(x, y, 2, 0, 2 * Math.PI);
    pen.fill();
    return;
  }
  const up = air > 0 ? -1 : 1;
  const tip = y + (up * length) / 2;
  pen.beginPath();
  pen.moveTo(x, y - (up * length) / 2);
  pen.lineTo(x, tip);
  pen.moveTo(x - 5, tip - up * 7);
  pen.lineTo(x, tip);
  pen.lineTo(x + 5, tip - up * 7);
  pen.stroke();
}

function drawTrace(pen, x, y) {
  if (history.length === 0) return;
  pen.strokeStyle = colours.trace;
  pen.lineWidth = 4;
  pen.beginPath();
  // A report comes every hundredth of a second; one point in eight is smooth enough. The choice
  // depends only on the time, so that the line does not flicker.
  for (const { time, height } of history.filter(({ time }) => Math.round(time * 50) % 4 === 0))
    pen.lineTo(x(time), y(height));
  pen.lineTo(x(history[history.length - 1].time), y(history[history.length - 1].height));
  pen.stroke();
}

/** A glider from the side, nose to the right and along its path; in a bank the near wing drops. */
function drawGlider(pen, { x, y }, { path, bank }, size) {
  pen.save();
  pen.translate(x, y);
  pen.rotate(-path);
  pen.fillStyle = colours.glider;
  pen.strokeStyle = colours.sky;
  pen.lineWidth = 2;
  const shape = new Path2D();
  shape.moveTo(0.52 * size, 0.01 * size);
  shape.quadraticCurveTo(0.4 * size, -0.1 * size, 0.14 * size, -0.085 * size);
  shape.lineTo(-0.5 * size, -0.03 * size);
  shape.lineTo(-0.62 * size, -0.2 * size);
  shape.lineTo(-0.68 * size, -0.2 * size);
  shape.lineTo(-0.62 * size, 0.02 * size);
  shape.quadraticCurveTo(0.1 * size, 0.1 * size, 0.52 * size, 0.01 * size);
  pen.stroke(shape);
  pen.fill(shape);
  const wing = new Path2D();
  const drop = Math.sin(bank) * 0.7 * size;
  wing.moveTo(0.16 * size, -0.03 * size);
  wing.lineTo(-0.05 * size, -0.03 * size);
  wing.lineTo(-0.12 * size, 0.06 * size + drop);
  wing.lineTo(-0.03 * size, 0.06 * size + drop);
  wing.closePath();
  pen.stroke(wing);
  pen.fill(wing);
  pen.restore();
}

/** The circle and the thermal from above. */
function drawFromAbove(pen, { radius, offset, heading }, size) {
  const middle = { x: 16 + size / 2, y: 16 + size / 2 };
  const scale = size / 2 / 230;
  pen.fillStyle = colours.paper;
  pen.strokeStyle = colours.line;
  pen.lineWidth = 1.5;
  pen.beginPath();
  pen.arc(middle.x, middle.y, size / 2, 0, 2 * Math.PI);
  pen.fill();
  pen.stroke();
  pen.setLineDash([3, 5]);
  for (const ring of [40, 80, 120]) {
    pen.beginPath();
    pen.arc(middle.x, middle.y, ring * scale, 0, 2 * Math.PI);
    pen.stroke();
  }
  pen.setLineDash([]);
  const circle = { x: middle.x + offset * scale, y: middle.y };
  pen.strokeStyle = colours.trace;
  pen.lineWidth = 3;
  pen.beginPath();
  pen.arc(circle.x, circle.y, radius * scale, 0, 2 * Math.PI);
  pen.stroke();
  pen.fillStyle = colours.glider;
  pen.beginPath();
  pen.arc(circle.x + radius * scale * Math.cos(heading),
    circle.y + radius * scale * Math.sin(heading), 7, 0, 2 * Math.PI);
  pen.fill();
  pen.fillStyle = colours.ink;
  pen.textAlign = "center";
  pen.fillText("from above", middle.x, middle.y + size / 2 + 1.3 * fontSize());
}

/** Notes on a strip: dashes are beeps, a long line is a steady tone; high is high. */
function drawScore(canvas, now, two) {
  const { pen, width, height } = fresh(canvas);
  const staves = two ? [["left", "Left"], ["right", "Right"]] : [["left", "Heard"]];
  const tall = height / staves.length;
  const label = fontSize() * 4.2;
  staves.forEach(([ear, name], place) => {
    const top = place * tall;
    const y = (pitch) =>
      top + tall - 10 - ((Math.log2(pitch) - Math.log2(200)) / Math.log2(2400 / 200)) * (tall - 20);
    const x = (time) => width - 12 - ((now.time - time) * (width - 12 - label)) / SCORE_S;
    pen.strokeStyle = colours.line;
    pen.lineWidth = 1;
    pen.setLineDash([2, 6]);
    pen.beginPath();
    pen.moveTo(label, y(455));
    pen.lineTo(width, y(455));
    pen.stroke();
    pen.setLineDash([]);
    pen.fillStyle = colours.ink;
    pen.textAlign = "left";
    pen.fillText(name, 10, top + tall / 2 + 5);
    pen.fillStyle = colours.soft;
    if (tall > 5 * fontSize()) {
      pen.fillText("climb", 10, top + 1.3 * fontSize());
      pen.fillText("sink", 10, top + tall - 8);
    }
    pen.strokeStyle = colours[ear];
    pen.lineWidth = Math.max(4, tall / 16);
    pen.lineCap = "butt";
    pen.beginPath();
    let open = false;
    let py = 0;
    for (const { time, ...moment } of history) {
      if (time < now.time - SCORE_S) continue;
      const { sounding, pitch, cadence } = moment[ear];
      // A beep is drawn level, at its first pitch. A fault call has no pitch in the report; it is
      // drawn at the bottom.
      if (!open || cadence === 0) py = y(pitch > 0 ? pitch : 215);
      if (sounding && open) pen.lineTo(x(time), py);
      else if (sounding) pen.moveTo(x(time), py);
      open = Boolean(sounding);
    }
    pen.stroke();
    if (place > 0) {
      pen.strokeStyle = colours.edge;
      pen.lineWidth = 2;
      pen.beginPath();
      pen.moveTo(0, top);
      pen.lineTo(width, top);
      pen.stroke();
    }
  });
}
